"""The verdict that a field sheet gives while somebody types: one rule, as formula and as word.

A row adds up one figure a reading, each a power of a thousand so that none hides another: a reading
that isn't needed 0, a good one 1, a missing one 1,000, text that means nothing 1,001, a bad one
1,000,000. The largest kind present is the row's word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final, Literal

from estimator.calc.formula import spreadsheet_significant
from estimator.documents.description import Cell, Formula, Limits
from estimator.documents.shown import shown
from estimator.documents.xlsx_cells import ROW, checked_formula, letters
from estimator.documents.xlsx_plan import TablePlace
from estimator.units.rounding import over, under

PASS: Final = "pass"
INCOMPLETE: Final = "incomplete"
FAIL: Final = "fail"

TONES: Final[Mapping[str, Literal["good", "poor", "bad"]]] = {PASS: "good", INCOMPLETE: "poor", FAIL: "bad"}

_NEEDLESS, _GOOD, _MISSING, _UNREAD, _BAD = 0, 1, 1_000, 1_001, 1_000_000


def verdict_formula(place: TablePlace) -> str:
    """Return the row's verdict as a formula escaped for XML, with ROW where the row's number goes.

    Raises: ValueError where it grows longer than a spreadsheet takes.
    """
    figures = "+".join(_figure(place, limits) for limits in place.table.judged)
    readings = "&".join(_address(place, limits.reading) for limits in place.table.judged)
    words = f'{{"","{PASS}","{INCOMPLETE}","{FAIL}"}}'
    steps = f"{{{_NEEDLESS},{_GOOD},{_MISSING},{_BAD}}}"
    return checked_formula(f'IF(TRIM({readings})="","",LOOKUP({figures},{steps},{words}))')


def _address(place: TablePlace, key: str | None) -> str:
    return f"{letters(place.column(key))}{ROW}" if key else ""


def _figure(place: TablePlace, limits: Limits) -> str:
    """Return the figure of one reading; a limit cell is looked at only where there is a column."""
    reading = _address(place, limits.reading)
    low, high = _address(place, limits.low), _address(place, limits.high)
    accepted = _address(place, limits.accepted)
    bounds = ",".join(bound for bound in (low, high) if bound)
    text = f'"|"&UPPER(TRIM({reading}))&"|"'
    measured = f"IF(COUNT({bounds})=0,{_BAD},{_measured(place, reading, text, low, high)})" if bounds else f"{_BAD}"
    if accepted:
        measured = f'IF(ISNUMBER(FIND({text},"|"&UPPER({accepted})&"|")),{_GOOD},{measured})'
    needed = [f"COUNT({bounds})=0"] if bounds else []
    needed += [f'TRIM({accepted})=""'] if accepted else []
    needless = needed[0] if len(needed) == 1 else f"AND({','.join(needed)})"
    return f'IF({needless},{_NEEDLESS},IF(TRIM({reading})="",{_MISSING},{measured}))'


def _measured(place: TablePlace, reading: str, text: str, low: str, high: str) -> str:
    wrong = [
        f"IF(ISNUMBER({bound}),{spreadsheet_significant(reading)}{sign}{spreadsheet_significant(bound)},FALSE)"
        for bound, sign in ((low, "<"), (high, ">"))
        if bound
    ]
    fails = wrong[0] if len(wrong) == 1 else f"OR({','.join(wrong)})"
    beyond = "".join(f"|{word.upper()}" for word in place.table.beyond).replace('"', '""')
    open_end = f"IF(ISNUMBER({high}),{_BAD},{_GOOD})" if high else f"{_GOOD}"
    unread = f'IF(ISNUMBER(FIND({text},"{beyond}|")),{open_end},{_UNREAD})'
    return f"IF(ISNUMBER({reading}),IF({fails},{_BAD},{_GOOD}),{unread})"


def verdict_words(place: TablePlace) -> list[str]:
    """Return the verdict of each row as its formula gives it."""
    table = place.table
    indexes = [
        tuple(None if key is None else place.column(key) - 1 for key in (one.reading, one.low, one.high, one.accepted))
        for one in table.judged
    ]
    return [
        verdict_word([[None if at is None else row[at] for at in four] for four in indexes], table.beyond)
        for row in table.rows
    ]


def verdict_word(readings: Sequence[Sequence[Cell]], beyond: Sequence[str] = ("OL",)) -> str:
    """Return the word for one row: reading, low limit, high limit and accepted words of each reading.

    >>> verdict_word([(12.0, None, 12.0, None), ("Pass", None, None, "pass|n/a")])
    'pass'
    >>> verdict_word([("OL", None, 12.0, None)]), verdict_word([(None, None, 12.0, None)])
    ('fail', '')
    """
    if not any(_text(four[0]) for four in readings):
        return ""
    figure = sum(_judged(four, beyond) for four in readings)
    if figure >= _BAD:
        return FAIL
    if figure >= _MISSING:
        return INCOMPLETE
    return PASS if figure >= _GOOD else ""


def _judged(four: Sequence[Cell], beyond: Sequence[str]) -> int:
    reading, low, high, accepted = four
    least, most = _number(low), _number(high)
    words = shown(accepted).upper()
    if least is None and most is None and not words.strip():
        return _NEEDLESS
    typed = _text(reading)
    if not typed:
        return _MISSING
    if typed in words.split("|"):
        return _GOOD
    if least is None and most is None:
        return _BAD
    value = _number(reading)
    if value is None:
        if typed not in [word.upper() for word in beyond]:
            return _UNREAD
        return _GOOD if most is None else _BAD
    outside = (least is not None and under(value, least)) or (most is not None and over(value, most))
    return _BAD if outside else _GOOD


def _number(cell: Cell) -> float | None:
    value = cell.value if isinstance(cell, Formula) else cell
    return float(value) if isinstance(value, int | float | Decimal) and not isinstance(value, bool) else None


def _text(cell: Cell) -> str:
    """Return what a cell says, in capitals, spaces as a spreadsheet's TRIM leaves them."""
    if isinstance(cell, int | float | Decimal | Formula) and not isinstance(cell, bool):
        return f"{_number(cell):.15g}"
    return " ".join(piece for piece in shown(cell).split(" ") if piece).upper()
