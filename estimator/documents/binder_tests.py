"""The binder's tests: summary by system, samples, instruments, then one line a circuit by room."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import Final, NamedTuple

from estimator.documents import common
from estimator.documents.binder_parts import only
from estimator.documents.closeout_records import finding_table, instrument_table, punch_table
from estimator.documents.closeout_results import system_table
from estimator.documents.description import Block, Cell, Column, Paragraph, Section, Table
from estimator.documents.drawn import result_pictures
from estimator.documents.job_readings import current_try, shown_reading, standing
from estimator.documents.job_words import MEDIA_WORDS
from estimator.documents.shown import shown
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult, Reading
from estimator.spec.model import Project


def test_sections(project: Project, job: Job, status: Sequence[Paragraph]) -> Iterable[Section]:
    """Yield the summary and the detail of the tests; ``status`` says what reported and backed mean."""
    summary: list[Block] = [system_table(job), *_samples(job), *status, instrument_table(project, job)]
    yield Section(title="Test summary", blocks=tuple(summary), landscape=True)
    yield Section(title="Tests drawn", blocks=tuple(result_pictures(project, job)), level=2)
    columns = ("circuit", "room", "state", "what", "look", "found", "cleared")
    yield Section(title="Punch list", blocks=(only(punch_table(job), columns), finding_table(job)), landscape=True)
    text = "One line a circuit: its readings that count, pair by pair. The closeout workbook holds each reading with "
    text += "its limit and its margin, and every earlier round."
    yield Section(title="Test detail", blocks=(Paragraph(text),), landscape=True)
    rooms: dict[str, list[CircuitResult]] = {}
    for one in job.result.circuits:
        rooms.setdefault(one.criteria.room, []).append(one)
    for number, (room, members) in enumerate(rooms.items()):
        known = project.rooms.get(room)
        name = f"{room}: {known.name}" if known and known.name else room or "Points without a room"
        yield Section(title=name, blocks=tuple(_details(project, number, members)), level=2, landscape=True)


def _samples(job: Job) -> Iterable[Table]:
    if not job.result.samples:
        return
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="circuits", head="Circuits", kind="whole"),
        Column(key="needed", head="To be tested", kind="whole"),
        Column(key="tested", head="Tested", kind="whole"),
        Column(key="failed", head="Failed in the sample"),
        Column(key="rule", head="Rule"),
    )
    rows = [
        (one.cable, one.circuits, one.needed, one.tested, ", ".join(one.failed), one.rule) for one in job.result.samples
    ]
    yield Table(name="samples", title="Samples", columns=columns, rows=rows)


_DETAIL: Final = (
    Column(key="circuit", head="Circuit"),
    Column(key="end", head="Far end", width=26),
    Column(key="readings", head="Readings"),
    Column(key="verdict", head="Verdict", kind="verdict"),
    Column(key="day", head="Tested", kind="date"),
    Column(key="standing", head="Standing", width=34),
)

_SHORT: Final = {
    "Loop resistance": "Loop",
    "PoE volts at the device": "PoE",
    "PoE watts at the device": "PoE",
    "Between conductors": "Conductors",
}
"""Names of readings that come often, cut for one line a circuit."""


def _details(project: Project, number: int, members: Sequence[CircuitResult]) -> Iterable[Table]:
    for medium, title in MEDIA_WORDS.items():
        own = [one for one in members if one.criteria.medium == medium]
        if own:
            rows = [_detail(one, project.header.lengths_in) for one in own]
            yield Table(name=f"detail_{number}_{medium}", title=title, columns=_DETAIL, rows=rows)


def _detail(one: CircuitResult, lengths_in: str) -> tuple[Cell, ...]:
    latest = current_try(one)
    row = one.readings[0].row if one.readings else None
    return (
        one.id,
        one.criteria.far_end,
        "; ".join(filter(None, (reading_words(one, lengths_in) or one.why, *_doubts(one)))),
        common.verdict(one.word),
        latest.day if latest else None,
        standing(row) if row else None,
    )


def _doubts(one: CircuitResult) -> Iterable[str]:
    """Yield why readings that count are believed less."""
    return (f"in doubt: {doubt}" for doubt in one.doubts)


def reading_words(one: CircuitResult, lengths_in: str) -> str:
    """Return a circuit's readings on one line, the pairs or blocks of a test side by side."""
    groups: dict[tuple[str, str], list[_Said]] = {}
    for reading in one.readings:
        key = reading.test, _group(reading.label, reading.criterion is None)
        groups.setdefault(key, []).append(_said(reading, lengths_in))
    return "; ".join([_group_words(label, said) for (_, label), said in groups.items()])


@cache
def _group(label: str, recorded: bool) -> str:
    """Return the name under which a reading stands: lengths of pairs apart from the length of their link."""
    name, _, rest = label.partition(",")
    return f"{name} by pair" if rest and recorded else name


class _Said(NamedTuple):
    """A reading's value in words, its unit, and whether it is a number."""

    value: str
    unit: str
    numeric: bool


_SAID: Final[dict[tuple[object, ...], _Said]] = {}
"""Words by what makes them: a job has many readings and few different values."""


def _said(reading: Reading, lengths_in: str) -> _Said:
    criterion = reading.criterion
    # The text as typed tells apart what compares as equal: zero and minus zero.
    key: tuple[object, ...] = (
        (reading.text, reading.value, criterion.unit, criterion.si, criterion.decimals)
        if criterion is not None
        else (reading.text, reading.value, reading.row.sheet, reading.test, reading.position, lengths_in)
    )
    known = _SAID.get(key)
    if known is None:
        seen = shown_reading(reading, lengths_in)
        value = shown(seen.cell, "number", seen.decimals)
        known = _SAID[key] = _Said(value, seen.unit, any(map(str.isdigit, value)))
    return known


def _group_words(label: str, said: Sequence[_Said]) -> str:
    values = " / ".join([each.value for each in said])
    unit = said[0].unit if any(each.numeric for each in said) else ""
    return f"{_SHORT.get(label, label)} {values} {unit}".strip()
