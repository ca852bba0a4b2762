"""Numbers, dates and times as people typed them, by the stated decimal sign and order; never guessed."""

from __future__ import annotations

import math
import re
from datetime import date, time
from typing import Final

from estimator.acceptance.columns import BEYOND
from estimator.units.quantity import QuantityError, read_quantity
from estimator.units.table import dimension_of

NOTHING: Final = frozenset(("", "-", "--", "—", "–", "n/a", "na", "n.a."))
"""What people write where there is no reading."""

_POINT: Final = re.compile(r"[-+−]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_COMMA: Final = re.compile(r"[-+−]?(?:\d+,?\d*|,\d+)(?:[eE][-+]?\d+)?")
_WITH_UNIT: Final = re.compile(r"(.*\d)\s*([A-Za-zΩµμ'\"°%][A-Za-z]*)")
_FEET_INCHES: Final = re.compile(r".*\d *(?:'|ft|feet|foot) *-? *\d.*")
_QUOTES: Final = str.maketrans("\u2018\u2019\u2032\u201c\u201d\u2033", "'''\"\"\"")
"""Quotes and primes that typing programs make of those for feet and inches."""
_DAY: Final = re.compile(r"(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})")
_DATED: Final = re.compile(rf"{_DAY.pattern}[T ]\s*")
_TIME: Final = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?\s*([aApP][mM])?")
_LONGEST: Final = 40  # characters of a length in feet and inches
_CENTURY: Final = 2000
_NOON_H: Final = 12


def bare(text: str) -> str:
    """Return a cell's text without the apostrophe that a spreadsheet fence leaves, and trimmed."""
    typed = text.strip()
    return typed[1:].strip() if typed[:1] == "'" else typed


def read_value(text: str, unit: str, si: float, decimal: str) -> float:
    """Return a typed number in the unit of readings; infinity for a value beyond range.

    ``unit`` and ``si`` are those of the column's head; a unit typed behind the number wins over it,
    and a length may be typed in feet and inches.
    Raises: ValueError saying what is wrong.

    >>> read_value("100,5", "m", 1.0, "comma"), read_value("OL", "ohm", 1.0, "point")
    (100.5, inf)
    >>> read_value("118 ft 6 in", "ft", 0.3048, "point")
    36.1188
    """
    typed = bare(text)
    plain = _shape(decimal).fullmatch(typed)
    if plain:
        return _float(typed.replace(",", ".")) * si
    if typed.upper().rstrip(".") in BEYOND:
        return math.inf
    if len(typed) < _LONGEST and dimension_of(unit) == "length":
        imperial = typed.translate(_QUOTES).casefold()
        if _FEET_INCHES.fullmatch(imperial):
            return _feet_and_inches(text, imperial)
    own = _WITH_UNIT.fullmatch(typed)
    if own:
        return _with_unit(own.group(1), own.group(2), unit, si, decimal)
    return _number(typed, decimal) * si


def _shape(decimal: str) -> re.Pattern[str]:
    return _COMMA if decimal == "comma" else _POINT


def _number(typed: str, decimal: str) -> float:
    if not _shape(decimal).fullmatch(typed):
        raise ValueError(f"{typed!r} is no number with a decimal {decimal}")
    return _float(typed.replace(",", "."))


def _float(typed: str) -> float:
    value = float(typed.replace("−", "-"))
    if not math.isfinite(value):
        raise ValueError(f"{typed!r} is no usable number")
    return value


def _with_unit(typed: str, own: str, unit: str, si: float, decimal: str) -> float:
    if own == unit:
        return _number(typed, decimal) * si
    dimension = dimension_of(unit)
    if dimension is None:
        raise ValueError(f"{own!r} is not the column's unit")
    _number(typed, decimal)
    try:
        return read_quantity(f"{typed.replace(',', '.')} {own}", dimension)
    except QuantityError as wrong:
        raise ValueError(f"{own!r} is no unit of {dimension}") from wrong


def _feet_and_inches(text: str, typed: str) -> float:
    try:
        return read_quantity(typed, "length")
    except QuantityError as wrong:
        raise ValueError(f"{text!r} is no length in feet and inches") from wrong


def half_step(text: str, si: float) -> float:
    """Return half of the last digit typed, in the unit of readings: how far rounding may have moved it.

    >>> half_step("48.3", 1.0)
    0.05
    """
    digits = re.split(r"[.,]", re.sub(r"[^0-9.,]", "", text))
    decimals = len(digits[-1]) if len(digits) > 1 else 0
    return float(0.5 * 10.0**-decimals * si)


def read_day(text: str, order: str) -> date:
    """Return a typed date; year first with four digits is plain, all else goes by the stated order.

    Two-digit years are of this century.
    Raises: ValueError where the text is no date in that order.

    >>> read_day("3/14/2026", "mdy"), read_day("14.3.26", "dmy"), read_day("2026-03-14", "mdy")
    (datetime.date(2026, 3, 14), datetime.date(2026, 3, 14), datetime.date(2026, 3, 14))
    """
    typed = bare(text).split("T")[0].split(" ")[0]
    match = _DAY.fullmatch(typed)
    if match is None:
        raise ValueError(f"{text!r} is no date")
    parts = (match.group(1), match.group(3), match.group(4))
    shape = "ymd" if len(parts[0]) == 4 else order
    named = dict(zip(shape, parts, strict=True))
    if len(named["y"]) not in (2, 4):
        raise ValueError(f"{text!r} is no date with the order {order}")
    year = int(named["y"]) + (_CENTURY if len(named["y"]) == 2 else 0)
    try:
        return date(year, int(named["m"]), int(named["d"]))
    except ValueError as wrong:
        raise ValueError(f"{text!r} is no date with the order {order}") from wrong


def two_orders(text: str) -> bool:
    """Return whether a typed date is one day with the month first and another with the day first.

    >>> two_orders("3/4/2026"), two_orders("3/14/2026"), two_orders("4/4/2026"), two_orders("2026-03-04")
    (True, False, False, False)
    """
    try:
        return read_day(text, "mdy") != read_day(text, "dmy")
    except ValueError:
        return False


def read_time(text: str) -> time:
    """Return a typed time of day.

    Raises: ValueError where the text is none.

    A date before it is left out, whatever its order.

    >>> read_time("2:05 pm"), read_time("2026-03-14 08:30"), read_time("14.03.2026 08:30")
    (datetime.time(14, 5), datetime.time(8, 30), datetime.time(8, 30))
    """
    typed = bare(text)
    dated = _DATED.match(typed)
    if dated is not None:
        typed = typed[dated.end() :]
    match = _TIME.fullmatch(typed)
    if match is None:
        raise ValueError(f"{text!r} is no time")
    hour = int(match.group(1))
    half = (match.group(4) or "").lower()
    if half:
        if not 1 <= hour <= _NOON_H:
            raise ValueError(f"{text!r} is no time")
        hour = hour % _NOON_H + (_NOON_H if half == "pm" else 0)
    try:
        return time(hour, int(match.group(2)), int(match.group(3) or 0))
    except ValueError as wrong:
        raise ValueError(f"{text!r} is no time") from wrong
