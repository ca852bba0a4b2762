"""Closeout tables of the tests: verdict by circuit, readings with limits and margins, history."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cache
from typing import Final

from estimator.acceptance.compare import MARGINAL_PASS, NOT_JUDGED, RECORDED, margin_formula
from estimator.documents import common
from estimator.documents.description import Cell, Column, Formula, Matching, Table
from estimator.documents.job_readings import Shown, current_try, said, shown_readings, standing
from estimator.documents.job_words import MEDIA_WORDS, sentence, system_name, words_of
from estimator.field.job import Job
from estimator.field.progress import CIRCUITS, COUNTED, DONE_SHARE, Progress, by_system, counted_as
from estimator.field.readings import NO_CRITERION
from estimator.field.rows import ReadRow
from estimator.field.verdicts import CircuitResult, Reading, SignedOff, Try
from estimator.spec.model import Project

_FLAGS: Final = (
    ("passed", "Passed"),
    ("marginal", "Marginal pass"),
    ("failed", "Failed"),
    ("incomplete", "Incomplete"),
    ("without", "Not tested"),
    ("excused", "Waived or not sampled"),
    ("left", "Left to do"),
)
_FLAG_WIDTH: Final = 14
CIRCUIT_COLUMNS: Final = 10
"""Columns of the circuits that people read; the ones behind them feed the summary."""


def verdict_table(job: Job) -> Table:
    """Return one row a circuit: its verdict, why, and what is left to do."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="system", head="System"),
        Column(key="medium", head="Medium"),
        Column(key="room", head="Room"),
        Column(key="end", head="Far end"),
        Column(key="verdict", head="Verdict", kind="verdict"),
        Column(key="why", head="Why", width=30),
        Column(key="rounds", head="Rounds", kind="whole"),
        Column(key="day", head="Tested", kind="date"),
        Column(key="signed", head="Accepted or waived by"),
        *(Column(key=key, head=head, kind="whole", total="sum", width=_FLAG_WIDTH) for key, head in _FLAGS),
    )
    rows = [_verdict_row(one) for one in job.result.circuits]
    return Table(
        name="circuits",
        title="Circuits",
        columns=columns,
        rows=rows,
        key="circuit",
        totals=True,
        caption="One row a circuit, strand, battery set or bonding point. The columns of ones feed the summary.",
    )


def _verdict_row(one: CircuitResult) -> tuple[Cell, ...]:
    flag = counted_as(one)
    flags: list[Cell] = [1 if key == flag or (key == "left" and not one.complete) else None for key, _ in _FLAGS]
    latest = current_try(one)
    sign = one.accepted or one.waived
    word = "accepted" if one.word == MARGINAL_PASS and one.accepted else one.word
    return (
        one.id,
        system_name(one.criteria.system),
        MEDIA_WORDS[one.criteria.medium],
        one.criteria.room,
        one.criteria.far_end,
        common.verdict(word),
        "; ".join(filter(None, (one.why, *(f"in doubt: {doubt}" for doubt in one.doubts)))),
        len(one.history),
        latest.day if latest else None,
        f"{sign.name}, {words_of(sign.role)}, {sign.day}" if sign else "",
        *flags,
    )


def system_table(job: Job) -> Table:
    """Return the count of circuits by system, live over the circuits' table."""
    columns = (
        Column(key="system", head="System"),
        Column(
            key="circuits",
            head="Circuits",
            kind="whole",
            total="sum",
            formula=CIRCUITS,
            inputs={"flags": Matching("circuits", "left", "system", "system")},
        ),
        *(
            Column(
                key=key,
                head=head,
                kind="whole",
                total="sum",
                formula=COUNTED,
                inputs={"flags": Matching("circuits", key, "system", "system")},
            )
            for key, head in _FLAGS
        ),
        Column(key="done", head="Complete", kind="percent", decimals=0, formula=DONE_SHARE),
    )
    rows = [_system_row(one) for one in by_system(job.result)]
    return Table(name="systems", title="By system", columns=columns, rows=rows, key="system", totals=True)


def _system_row(one: Progress) -> tuple[Cell, ...]:
    counts = (one.passed, one.marginal, one.failed, one.incomplete, one.without, one.excused, one.left)
    return system_name(one.name), one.circuits, *counts, one.share


RESULT_COLUMNS: Final = (
    Column(key="circuit", head="Circuit"),
    Column(key="reading_name", head="Reading"),
    Column(key="reading", head="Read", kind="number"),
    Column(key="unit", head="Unit"),
    Column(key="least", head="At least", kind="number"),
    Column(key="most", head="At most", kind="number"),
    Column(key="words", head="Good if"),
    Column(key="margin", head="Margin", kind="number"),
    Column(key="verdict", head="Verdict", kind="verdict"),
    Column(key="why", head="Why"),
    Column(key="doubt", head="In doubt"),
    Column(key="day", head="Tested", kind="date"),
    Column(key="person", head="By"),
    Column(key="instrument", head="Instrument"),
    Column(key="standing", head="Standing"),
    Column(key="source", head="Limit from"),
)


_Taken = tuple[date | None, str | None, str | None, str]
"""Day, person, instrument and standing of the readings of a row."""


def results_table(project: Project, job: Job) -> Table:
    """Return every current reading with its limits, its live margin, its verdict and its standing."""
    every = shown_readings(job.result, project.header.lengths_in)
    rows = [row for one in job.result.circuits for row in _result_rows(one, every)]
    return Table(
        name="results",
        title="Results",
        columns=RESULT_COLUMNS,
        rows=rows,
        empty="No reading has been collected.",
        caption="Margin: what is left to the nearest limit, below zero outside it. Recorded: kept without a limit of "
        "its own. In doubt: it counts, and is believed less. Reported: typed by a person.",
    )


def _result_rows(one: CircuitResult, every: Mapping[int, Shown]) -> Iterator[tuple[Cell, ...]]:
    taken: dict[int, _Taken] = {}  # readings of one row share when, by whom and with what it was taken
    for reading in one.readings:
        own = taken.get(id(reading.row)) or taken.setdefault(id(reading.row), _taken(one, reading.row))
        yield _result_row(one.id, reading, every[id(reading)], own)


def _taken(one: CircuitResult, row: ReadRow) -> _Taken:
    latest = next((each for each in one.history if row in each.rows), None)
    return latest.day if latest else None, said(row, "person"), said(row, "instrument"), standing(row)


def _result_row(circuit: str, reading: Reading, seen: Shown, taken: _Taken) -> tuple[Cell, ...]:
    criterion = reading.criterion
    kept = reading.why in (NO_CRITERION, RECORDED.why) or (criterion is not None and not criterion.judges)
    kept = kept and (reading.word != NOT_JUDGED or reading.why == NO_CRITERION)
    return (
        circuit,
        reading.label,
        seen.cell,
        seen.unit,
        seen.low,
        seen.high,
        seen.words,
        margin_cell(seen) if not reading.why else None,
        common.verdict("recorded" if kept else reading.word),
        "" if kept else reading.why,
        "; ".join(doubt for doubt in reading.doubts if doubt != reading.why) if reading.doubts else "",
        *taken,
        _source(criterion.source) if criterion is not None else "",
    )


_source = cache(common.without_place)


def margin_cell(seen: Shown) -> Formula | None:
    """Return the live margin of a reading to its nearest limit, or None where there is none."""
    expression = margin_formula(seen.low, seen.high)
    if seen.number is None or expression is None:
        return None
    given = {"reading": seen.number, "least": seen.low, "most": seen.high}
    inputs = {name: value for name, value in given.items() if value is not None and name in expression.names}
    return Formula(expression, expression(**inputs))


def history_table(job: Job) -> Table:
    """Return every round of every circuit, the earlier ones too, with the place of its rows."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="round", head="Round", kind="whole"),
        Column(key="day", head="Date", kind="date"),
        Column(key="verdict", head="Verdict", kind="verdict"),
        Column(key="counts", head="Standing in job"),
        Column(key="failed", head="What failed"),
        Column(key="readings", head="Readings", kind="whole", total="sum"),
        Column(key="person", head="By"),
        Column(key="standing", head="Standing"),
        Column(key="place", head="File and row"),
    )
    rows = [_round(one, each) for one in job.result.circuits for each in one.history]
    return Table(
        name="history", title="Rounds", columns=columns, rows=rows, totals=True, empty="No round has been collected."
    )


def _round(one: CircuitResult, each: Try) -> tuple[Cell, ...]:
    failed = "; ".join(f"{reading.label} {reading.text}" for reading in each.readings if reading.failed)
    people = ", ".join(_distinct(said(row, "person") for row in each.rows))
    return (
        one.id,
        each.round,
        each.day,
        common.verdict(each.word),
        "current" if each.current else "superseded",
        failed,
        len(each.readings),
        people,
        ", ".join(_distinct(standing(row) for row in each.rows)),
        "; ".join(_distinct(row.place for row in each.rows)),
    )


def _distinct(texts: Iterable[str | None]) -> list[str]:
    return list(dict.fromkeys(text for text in texts if text))


def signed_table(job: Job) -> Table:
    """Return who waived or accepted what, in which role, when and by which paper."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="kind", head="Decision"),
        Column(key="reason", head="Why"),
        Column(key="name", head="By"),
        Column(key="role", head="Role"),
        Column(key="day", head="Date"),
        Column(key="reference", head="Reference"),
    )
    rows = [row for one in job.result.circuits for row in _signed(one)]
    return Table(
        name="signed", title="Waived and accepted", columns=columns, rows=rows, empty="Nothing was waived or accepted."
    )


def _signed(one: CircuitResult) -> Iterable[tuple[Cell, ...]]:
    both: tuple[tuple[str, SignedOff | None], ...] = (("waived", one.waived), ("accepted", one.accepted))
    for kind, sign in both:
        if sign is not None:
            what = f"{kind}, {words_of(sign.test)} only" if sign.test else kind
            yield one.id, sentence(what), sign.reason, sign.name, words_of(sign.role), sign.day, sign.reference
