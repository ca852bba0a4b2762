"""The number in a workbook's cell as text: full precision, point decimals, dates year first, no locale.

A workbook keeps dates, times and shares as plain numbers; the cell's number format says which it is.
"""

from __future__ import annotations

import math
import re
from datetime import date, timedelta
from decimal import Decimal
from typing import Final, Literal

Shape = Literal["plain", "date", "elapsed", "percent"]

_DATES: Final = frozenset((*range(14, 23), *range(27, 37), 45, 47, *range(50, 59)))
_PERCENT: Final = frozenset((9, 10))
_ELAPSED: Final = 46
_QUOTED: Final = re.compile(r'"[^"]*"|\\.|_.|\*.')
_ELAPSED_CODE: Final = re.compile(r"\[[hms]+\]", re.IGNORECASE)
_BRACKETS: Final = re.compile(r"\[[^\]]*\]")
_DATE_LETTER: Final = re.compile("[ymdhs]", re.IGNORECASE)
_LAST_DAY: Final = 2_958_466  # the day after 9999-12-31, where spreadsheets end
_PHANTOM_DAY: Final = 60  # spreadsheets count a 29 February 1900, which never was
_DAY_S: Final = 86_400


def built_in_shape(number: int) -> Shape:
    """Return what a built-in number format shows."""
    if number in _DATES:
        return "date"
    if number in _PERCENT:
        return "percent"
    return "elapsed" if number == _ELAPSED else "plain"


def shape_of(code: str) -> Shape:
    """Return what a typed number format shows.

    >>> shape_of('0.0%'), shape_of('[Red]dd/mm/yyyy'), shape_of('[h]:mm'), shape_of('0.00 "ohm"')
    ('percent', 'date', 'elapsed', 'plain')
    """
    first = _QUOTED.sub("", code.split(";", 1)[0])
    if _ELAPSED_CODE.search(first):
        return "elapsed"
    bare = _BRACKETS.sub("", first)
    if "%" in bare:
        return "percent"
    return "date" if bare.lower() != "general" and _DATE_LETTER.search(bare) else "plain"


def number_text(raw: str, shape: Shape, *, from_1904: bool = False) -> str:
    """Return a stored number as text; what is no usable number is returned as it stands.

    >>> number_text("0.30000000000000004", "plain"), number_text("0.07", "percent"), number_text("46085.5", "date")
    ('0.30000000000000004', '7%', '2026-03-04 12:00')
    """
    raw = raw.strip()
    try:
        value = float(raw)
    except ValueError:
        return raw
    if not math.isfinite(value):
        return raw
    if shape == "percent":
        return f"{_plain(Decimal(repr(value)) * 100)}%"
    if shape == "date" and 0 <= value < _LAST_DAY:
        return _moment(value, from_1904)
    if shape == "elapsed" and 0 <= value < _LAST_DAY:
        return _clock(_seconds(value))
    return _plain(Decimal(repr(value)))


def _plain(value: Decimal) -> str:
    """Return a number without exponent where a person would write it so."""
    if value and not Decimal("1e-15") <= abs(value) < Decimal("1e21"):
        return str(value.normalize())
    text = format(value if value else abs(value), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _seconds(days: float) -> int:
    """Return whole seconds [s]; a float of days holds a time no more exactly than that."""
    return math.floor(days * _DAY_S + 0.5)


def _clock(seconds: int) -> str:
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    return f"{hour:02d}:{minute:02d}:{second:02d}" if second else f"{hour:02d}:{minute:02d}"


def _moment(value: float, from_1904: bool) -> str:
    days, seconds = divmod(_seconds(value), _DAY_S)
    if not days:
        return _clock(seconds)
    start = date(1904, 1, 1) if from_1904 else date(1899, 12, 30 if days >= _PHANTOM_DAY else 31)
    try:
        day = start + timedelta(days=days)
    except OverflowError:
        return _plain(Decimal(repr(value)))
    return day.isoformat() + (f" {_clock(seconds)}" if seconds else "")
