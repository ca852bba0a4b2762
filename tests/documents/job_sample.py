"""The invented library job, worked out once for the tests of its documents, and readings made up for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Final

from estimator.acceptance.columns import PAIRS, sheet
from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.field.batches import Stored
from estimator.field.job import Job
from estimator.field.judging import judge
from estimator.field.rows import ReadRow
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff, take_off

LIBRARY = Path(__file__).parents[2] / "specs" / "library" / "library.yaml"

FAILED: Final = "1A-A05"
MENDED: Final = "1A-A06"
UNTESTED: Final = "1A-A39"
BACKED: Final = "1A-A01"
UNKNOWN: Final = "9Z-A01"

_INSTRUMENTS: Final = {"balanced_pair": "CT-1", "fiber": "FL-1", "battery": "BT-1"}


@cache
def project() -> Project:
    """Return the library's project."""
    found = load(LIBRARY).project
    assert found is not None
    return found


@cache
def takeoff() -> Takeoff:
    """Return the library's takeoff."""
    return take_off(project())


@cache
def circuits() -> tuple[Criteria, ...]:
    """Return the criteria of the library's circuits in test order."""
    return criteria_for(project(), takeoff().footage)


@cache
def job() -> Job:
    """Return the library judged: one circuit fails, one was mended, some wait, a row is of no circuit."""
    rows = tuple(_rows())
    result = judge(project(), takeoff().footage, circuits(), rows, ())
    return Job(circuits=circuits(), stored=Stored(rows=rows, decisions=(), batches=(), faults=()), result=result)


@cache
def empty_job() -> Job:
    """Return the library before anything was read."""
    result = judge(project(), takeoff().footage, circuits(), (), ())
    return Job(circuits=circuits(), stored=Stored(rows=(), decisions=(), batches=(), faults=()), result=result)


def _rows() -> Iterator[ReadRow]:
    order = 0
    for one in circuits():
        if one.circuit in (UNTESTED, "2A-A28", "1A-V03"):
            continue
        for row in one.rows or (one.row,):
            order += 1
            cells = _cells(one, row, order)
            yield _row(one, row, order, "1", cells)
            if one.medium == "coax":
                order += 1
                level = f"{_level(one):.2f}"
                taken = {key: cells[key] for key in ("person", "date", "instrument")}
                yield _row(one, row, order, "1", taken | {"far_end": "terminated", "video_level": level})
            if one.circuit == MENDED:
                order += 1
                yield _row(one, row, order, "2", _cells(one, row, order) | {"wire_map": "pass", "date": "9/12/2026"})
    stray = next(circuits().__iter__())
    yield _row(stray, "", order + 1, "1", _cells(stray, "", order + 1) | {"circuit": UNKNOWN})


def _row(one: Criteria, row: str, order: int, number: str, cells: Mapping[str, str]) -> ReadRow:
    kept = {key: text for key, text in cells.items() if key != "circuit"}
    return ReadRow(
        batch="ab" * 32, file="field-crew-1.xlsx", sheet=one.medium, row=order + 10, order=order,
        circuit=cells.get("circuit", one.circuit), round=number, cells=kept, tab=sheet(one.medium).title, lengths="ft",
        backing=kept.get("evidence", ""),
    )  # fmt: skip


def _level(one: Criteria) -> float:
    found = one.criterion("video_level", "terminated")
    assert found is not None
    assert found.expected is not None
    return found.expected


def _cells(one: Criteria, row: str, order: int) -> dict[str, str]:
    """Return good readings of a row: what is expected, or well within the limit, no two rows alike."""
    cells = {
        "person": "J. Doe (invented)",
        "date": "9/10/2026",
        "instrument": _INSTRUMENTS.get(one.medium, "DMM-1"),
    }
    if one.circuit == BACKED:
        cells["evidence"] = "links-0910.dat, record 1"
    if one.circuit in (FAILED, MENDED):
        cells["wire_map"] = "open"
    form = sheet(one.medium)
    for column in form.readings:
        criterion = one.for_column(column, row if one.rows else "")
        if criterion is None or not criterion.required or column.key in cells or column.key == "video_level":
            continue
        if criterion.accepted:
            cells[column.key] = criterion.accepted[0]
            continue
        value = criterion.expected
        if value is None:
            low, high = criterion.low, criterion.high
            value = low * 1.05 if low is not None else high * 0.3 if high is not None else 12.7
        cells[column.key] = f"{value / column.si * (1 + order % 17 / 1000):.3f}"
    if one.medium == "balanced_pair":
        cells |= {f"delay_{pair}": f"{(one.expected_m or 0) / 0.3048 * 1.45 + order % 5:.0f}" for pair in PAIRS}
    if one.row:
        cells |= {"strand": one.row, "reference": one.settings.reference}
    elif one.rows:
        cells["block"] = row
        cells["far_end"] = "charger off"
    if one.medium == "coax":
        cells["far_end"] = "shorted"
    return cells
