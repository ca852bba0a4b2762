"""The verdict that a field sheet gives while somebody types: one rule, as formula and as word.

A row adds up one figure a reading, each a power of a thousand so that none hides another: a reading
that isn't needed 0, a good one 1, a missing one 1,000, text that means nothing 1,001, a bad one
1,000,000. The largest kind present is the row's word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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
    keys = dict.fromkeys(key for limits in place.table.judged for key in _keys(limits))
    readings = "&".join(_address(place, key) for key in keys)
    words = f'{{"","{PASS}","{INCOMPLETE}","{FAIL}"}}'
    steps = f"{{{_NEEDLESS},{_GOOD},{_MISSING},{_BAD}}}"
    return checked_formula(f'IF(TRIM({readings})="","",LOOKUP({figures},{steps},{words}))')


def _keys(limits: Limits) -> tuple[str, ...]:
    return limits.reading, *limits.instead, *limits.between


def _address(place: TablePlace, key: str | None) -> str:
    return f"{letters(place.column(key))}{ROW}" if key else ""


def _figure(place: TablePlace, limits: Limits) -> str:
    """Return the figure of one reading; a limit cell is looked at only where there is a column."""
    reading = _address(place, limits.reading)
    low, high = _address(place, limits.low), _address(place, limits.high)
    accepted = _address(place, limits.accepted)
    bounds = ",".join(bound for bound in (low, high) if bound)
    text = f'"|"&UPPER(TRIM({reading}))&"|"'
    number = _believed(limits, reading, f"{_GOOD}")
    unlimited = _BAD if limits.needed is None else f"IF(ISNUMBER({reading}),{number},{_wanted(place, limits, _UNREAD)})"
    measured = f"{unlimited}"
    if bounds:
        measured = f"IF(COUNT({bounds})=0,{unlimited},{_measured(place, limits, text)})"
    if accepted:
        measured = (
            f'IF(ISNUMBER(FIND({text},"|"&UPPER({accepted})&"|")),{_GOOD},{_not_a_word(limits, accepted, measured)})'
        )
    typed = f'IF(TRIM({reading})="",{_blank(place, limits)},{measured})'
    needless = [f"COUNT({bounds})=0"] if bounds else []
    needless += [f'TRIM({accepted})=""'] if accepted else []
    if limits.needed is not None or not needless:
        return typed
    both = needless[0] if len(needless) == 1 else f"AND({','.join(needless)})"
    return f"IF({both},{_NEEDLESS},{typed})"


def _not_a_word(limits: Limits, accepted: str, measured: str) -> str:
    """Return the figure of what is no accepted word: bad where words are all that counts."""
    if limits.needed is None or limits.low or limits.high:
        return measured
    return f'IF(TRIM({accepted})="",{measured},{_BAD})'


def _wanted(place: TablePlace, limits: Limits, figure: int) -> str:
    """Return the figure where the row needs the reading, else that of a needless one."""
    if limits.needed is None:
        return f"{figure}"
    return f'IF(ISNUMBER(FIND(", {limits.need},",", "&{_address(place, limits.needed)}&",")),{figure},{_NEEDLESS})'


def _blank(place: TablePlace, limits: Limits) -> str:
    figure = _wanted(place, limits, _MISSING)
    if limits.between:
        first, second = (_address(place, key) for key in limits.between)
        figure = f"IF(COUNT({first},{second})<2,{figure},{_held(place, limits, f'ABS({first}-{second})')})"
    if limits.instead:
        numbers = ",".join(_address(place, key) for key in limits.instead)
        figure = f"IF(COUNT({numbers})=0,{figure},{_held(place, limits, f'MIN({numbers})')})"
    return figure


def _held(place: TablePlace, limits: Limits, value: str) -> str:
    """Return the figure of a number that stands in for the reading."""
    low, high = _address(place, limits.low), _address(place, limits.high)
    figure = f"IF({_outside(value, low, high)},{_BAD},{_GOOD})" if low or high else f"{_GOOD}"
    return _believed(limits, value, figure)


def _believed(limits: Limits, value: str, figure: str) -> str:
    """Return the figure of a number; one that can't be a reading counts like text that means nothing."""
    if limits.least is None:
        return figure
    # Far from any real reading, so that its twelfth digit needn't be rounded: formulas have a longest length.
    return f"IF({value}<{limits.least:.4g},{_UNREAD},{figure})"


def _outside(reading: str, low: str, high: str) -> str:
    wrong = [
        f"IF(ISNUMBER({bound}),{spreadsheet_significant(reading)}{sign}{spreadsheet_significant(bound)},FALSE)"
        for bound, sign in ((low, "<"), (high, ">"))
        if bound
    ]
    return wrong[0] if len(wrong) == 1 else f"OR({','.join(wrong)})"


def _measured(place: TablePlace, limits: Limits, text: str) -> str:
    reading, high = _address(place, limits.reading), _address(place, limits.high)
    fails = _outside(reading, _address(place, limits.low), high)
    beyond = "".join(f"|{word.upper()}" for word in place.table.beyond).replace('"', '""')
    open_end = f"IF(ISNUMBER({high}),{_BAD},{_GOOD})" if high else f"{_GOOD}"
    unread = f'IF(ISNUMBER(FIND({text},"{beyond}|")),{open_end},{_wanted(place, limits, _UNREAD)})'
    number = _believed(limits, reading, f"IF({fails},{_BAD},{_GOOD})")
    return f"IF(ISNUMBER({reading}),{number},{unread})"


@dataclass(frozen=True, slots=True)
class Judged:
    """One reading of a row with its limits; ``needed`` is None where limits alone say that it is."""

    reading: Cell = None
    low: Cell = None
    high: Cell = None
    accepted: Cell = None
    needed: bool | None = None
    instead: tuple[Cell, ...] = ()
    between: tuple[Cell, ...] = ()
    least: float | None = None


def verdict_words(place: TablePlace) -> list[str]:
    """Return the verdict of each row as its formula gives it."""
    table = place.table
    at = {column.key: index for index, column in enumerate(table.columns)}
    return [verdict_word([_judged_cell(row, at, one) for one in table.judged], table.beyond) for row in table.rows]


def _judged_cell(row: Sequence[Cell], at: Mapping[str, int], limits: Limits) -> Judged:
    low, high, accepted = (None if key is None else row[at[key]] for key in (limits.low, limits.high, limits.accepted))
    needed = None if limits.needed is None else f", {limits.need}," in f", {shown(row[at[limits.needed]])},"
    instead, between = (tuple(row[at[key]] for key in keys) for keys in (limits.instead, limits.between))
    return Judged(row[at[limits.reading]], low, high, accepted, needed, instead, between, limits.least)


def verdict_word(readings: Sequence[Judged | Sequence[Cell]], beyond: Sequence[str] = ("OL",)) -> str:
    """Return the word for one row: reading, low limit, high limit and accepted words of each reading.

    >>> verdict_word([(12.0, None, 12.0, None), ("Pass", None, None, "pass|n/a")])
    'pass'
    >>> verdict_word([("OL", None, 12.0, None)]), verdict_word([(None, None, 12.0, None)])
    ('fail', '')
    """
    judged = [one if isinstance(one, Judged) else _plain(one) for one in readings]
    if not any(_text(cell) for one in judged for cell in (one.reading, *one.instead, *one.between)):
        return ""
    figure = sum(_judged(one, beyond) for one in judged)
    if figure >= _BAD:
        return FAIL
    if figure >= _MISSING:
        return INCOMPLETE
    return PASS if figure >= _GOOD else ""


def _plain(four: Sequence[Cell]) -> Judged:
    reading, low, high, accepted = four
    return Judged(reading, low, high, accepted)


def _judged(one: Judged, beyond: Sequence[str]) -> int:
    least, most = _number(one.low), _number(one.high)
    words = shown(one.accepted).upper()
    limited = least is not None or most is not None
    if one.needed is None and not limited and not words.strip():
        return _NEEDLESS
    typed, unread = _text(one.reading), _NEEDLESS if one.needed is False else _UNREAD
    if not typed:
        return _stand_in(one, least, most)
    if typed in words.split("|"):
        return _GOOD
    if not limited and (one.needed is None or words.strip()):
        return _BAD
    value = _number(one.reading)
    if value is not None:
        return _number_figure(one, value, least, most)
    if typed not in [word.upper() for word in beyond] or not limited:
        return unread
    return _GOOD if most is None else _BAD


def _stand_in(one: Judged, least: float | None, most: float | None) -> int:
    numbers = [value for cell in one.instead if (value := _number(cell)) is not None]
    marks = [value for cell in one.between if (value := _number(cell)) is not None]
    if numbers or len(marks) == 2:
        stands_in = min(numbers) if numbers else abs(marks[0] - marks[1])
        return _number_figure(one, stands_in, least, most)
    return _NEEDLESS if one.needed is False else _MISSING


def _number_figure(one: Judged, value: float, least: float | None, most: float | None) -> int:
    if one.least is not None and under(value, one.least):
        return _UNREAD
    return _BAD if _wrong(value, least, most) else _GOOD


def _wrong(value: float, least: float | None, most: float | None) -> bool:
    return (least is not None and under(value, least)) or (most is not None and over(value, most))


def _number(cell: Cell) -> float | None:
    value = cell.value if isinstance(cell, Formula) else cell
    return float(value) if isinstance(value, int | float | Decimal) and not isinstance(value, bool) else None


def _text(cell: Cell) -> str:
    """Return what a cell says, in capitals, spaces as a spreadsheet's TRIM leaves them."""
    if isinstance(cell, int | float | Decimal | Formula) and not isinstance(cell, bool):
        return f"{_number(cell):.15g}"
    return " ".join(piece for piece in shown(cell).split(" ") if piece).upper()
