"""Readings as documents show them: value and limits in one unit, with standing and who took them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from estimator.acceptance.columns import sheet
from estimator.documents.description import Cell
from estimator.documents.remembered import remembered
from estimator.documents.shown import OPEN
from estimator.field.rows import ReadRow
from estimator.field.verdicts import CircuitResult, JobResult, Reading, Try

REPORTED = "reported"
"""Standing of a reading that somebody typed; nothing more is claimed of it."""


class Shown(NamedTuple):
    """One reading in its shown unit; ``number`` is None for a word, and for a value beyond range."""

    cell: Cell
    number: float | None
    unit: str
    decimals: int
    low: float | None
    high: float | None
    words: str


def shown_reading(reading: Reading, lengths_in: str) -> Shown:
    """Return a reading and its limits in the unit of its criterion, else of its column."""
    criterion, value = reading.criterion, reading.value
    low = high = None
    words = ""
    if criterion is not None:
        unit, si, decimals = criterion.unit, criterion.si, criterion.decimals
        low = None if criterion.low is None else criterion.low / si
        high = None if criterion.high is None else criterion.high / si
        words = " or ".join(criterion.accepted)
    else:
        unit, si, decimals = _column_unit(reading.row.sheet, reading.test, reading.position, lengths_in)
    if not isinstance(value, float):
        return Shown(value if isinstance(value, str) else reading.text, None, unit, decimals, low, high, words)
    number = value / si if math.isfinite(value) else None
    cell = number if number is not None else OPEN if math.isinf(value) else reading.text
    return Shown(cell, number, unit, decimals, low, high, words)


@remembered
def shown_readings(result: JobResult, lengths_in: str) -> Mapping[int, Shown]:
    """Return the current readings of a job as shown, by identity: results and pictures both ask for all of them."""
    return {id(reading): shown_reading(reading, lengths_in) for one in result.circuits for reading in one.readings}


@cache
def _column_unit(medium: str, test: str, position: str, lengths_in: str) -> tuple[str, float, int]:
    for column in sheet(medium, lengths_in).readings:
        if column.test == test and column.position in (position, ""):
            return column.unit, column.si, column.decimals
    return "", 1.0, 2


def standing(row: ReadRow) -> str:
    """Return whether a reading is only reported, or which kept file of an instrument backs it."""
    if row.backing:
        return f"backed by {row.backing}"
    named = row.cells.get("evidence", "").strip()
    return f"{REPORTED}; names {named}, no such file is kept" if named else REPORTED


def said(row: ReadRow, key: str) -> str | None:
    """Return what a row says in a column, or None where it says nothing."""
    return row.cells.get(key, "").strip() or None


def current_try(one: CircuitResult) -> Try | None:
    """Return the round that makes a circuit's verdict, the latest where several do."""
    return next((each for each in reversed(one.history) if each.current), None)
