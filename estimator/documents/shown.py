"""How a value is shown to people: digits, signs and dates as the writers print them."""

from __future__ import annotations

import math
from datetime import date
from decimal import Decimal

from estimator.documents.description import Cell, Column, Formula, Kind, Verdict
from estimator.units.rounding import cents, round_half_up

OPEN = "OL"
"""What an instrument shows for a value beyond its range; stored as infinity."""

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def long_date(day: date) -> str:
    """Return a date as US letters write it, whatever the machine's language.

    >>> long_date(date(2026, 3, 1))
    'March 1, 2026'
    """
    return f"{_MONTHS[day.month - 1]} {day.day}, {day.year}"


def shown(cell: Cell, kind: Kind = "text", decimals: int = 2) -> str:
    """Return a cell's text: rounded half up, thousands parted by commas, dates year first.

    >>> shown(1234.565, "number"), shown(0.4, "percent", 0), shown(None)
    ('1,234.57', '40 %', '')
    """
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, Verdict):
        return cell.word
    if isinstance(cell, date):
        return cell.isoformat()
    return _number(cell.value if isinstance(cell, Formula) else cell, kind, decimals)


def _number(value: int | float | Decimal, kind: Kind, decimals: int) -> str:
    if isinstance(value, float) and not math.isfinite(value):
        return "" if math.isnan(value) else OPEN if value > 0 else f"-{OPEN}"
    if kind == "money":
        return f"{cents(value):,}"
    if kind == "percent":
        return f"{round_half_up(float(value) * 100, decimals):,.{decimals}f} %"
    if kind == "whole" or (isinstance(value, int) and kind != "number"):
        return f"{round_half_up(float(value)):,.0f}"
    if isinstance(value, Decimal):
        return f"{value:,}"
    return f"{round_half_up(float(value), decimals):,.{decimals}f}"


def shown_with_unit(cell: Cell, kind: Kind, decimals: int, unit: str) -> str:
    """Return a cell's text with its unit behind a space that does not break, where it has one."""
    text = shown(cell, kind, decimals)
    return f"{text}\N{NO-BREAK SPACE}{unit}" if text and unit else text


def head(column: Column) -> str:
    """Return a column's head with its unit in brackets, for documents in which no value is live.

    >>> head(Column(key="length", head="Length", kind="number", unit="ft"))
    'Length [ft]'
    """
    return f"{column.head} [{column.unit}]" if column.unit else column.head
