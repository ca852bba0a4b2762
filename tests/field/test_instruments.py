"""Instruments: whose rows are whose, and whether the calibration held on the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from estimator.acceptance.instruments import past_due
from estimator.field.instruments import NOT_NAMED, InstrumentUse, instrument_use
from estimator.field.job import Job
from tests.documents.job_sample import job, project

# specs/library/library.yaml: CT-1 falls due on 2027-02-10.
DUE = date(2027, 2, 10)


def _ct1_use(days: tuple[date | None, ...]) -> InstrumentUse:
    one = next(one for one in project().acceptance.instruments if one.id == "CT-1")
    return InstrumentUse(instrument=one, days=days)


def test_calibration_holds_through_the_day_on_which_it_falls_due() -> None:
    """The due day is still in date, the next is not; without dates nothing is past due."""
    one = _ct1_use(()).instrument
    assert one.calibration_due == DUE
    assert not past_due(one, DUE)
    assert past_due(one, DUE + timedelta(days=1))
    assert not past_due(one, None)
    assert not past_due(replace(one, calibration_due=None), DUE)


def test_rows_past_the_due_day_are_counted() -> None:
    """A row without a day counts as a row, and neither as late nor as the last use."""
    use = _ct1_use((DUE - timedelta(days=1), None, DUE + timedelta(days=3)))
    assert (use.rows, use.late, use.last) == (3, 1, DUE + timedelta(days=3))


def test_rows_of_an_unlisted_instrument_are_told_apart() -> None:
    """A row that names none or one that is not listed is no listed instrument's."""
    first = next(one for one in job().result.circuits if one.history)
    row = first.history[0].rows[0]
    rows = tuple(replace(row, cells={**row.cells, "instrument": name}) for name in ("", "XX-9", "ex-4471"))
    round_one = replace(first.history[0], rows=rows)
    result = replace(job().result, circuits=(replace(first, history=(round_one,)),))
    other: Job = replace(job(), result=result)
    uses, strangers = instrument_use(project(), other)
    # EX-4471 is the serial number of CT-1; case makes no difference.
    assert {use.instrument.id: use.rows for use in uses if use.rows} == {"CT-1": 1}
    assert [(one.name, one.rows) for one in strangers] == [("XX-9", 1), (NOT_NAMED, 1)]
