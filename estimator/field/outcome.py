"""What newly collected rows change, by judging the job: what they supersede, what of them isn't used and why."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from estimator.acceptance.compare import NOT_JUDGED
from estimator.field.job import Job
from estimator.field.preview import Listed
from estimator.field.readings import NO_CRITERION
from estimator.field.rows import ReadRow
from estimator.field.verdicts import CircuitResult, Try

_TOLD = "unknown circuit"  # told when the sheet is taken in, with the nearest id


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """Tries of earlier sheets that no longer count, new rows that don't, and new readings that can't be judged."""

    superseded: tuple[Listed, ...]
    not_used: tuple[Listed, ...]
    not_judged: tuple[Listed, ...]


def outcome_of(job: Job, batches: Collection[str]) -> Outcome:
    """Return what the rows of new batches change in a judged job."""
    superseded: list[Listed] = []
    not_used: list[Listed] = []
    not_judged: list[Listed] = []
    for circuit in job.result.circuits:
        if any(row.batch in batches for each in circuit.history for row in each.rows):
            superseded.extend(_superseded(circuit, batches))
            not_used.extend(_late(circuit, batches))
            not_judged.extend(_not_judged(circuit, batches))
    for one in job.result.unplaced:
        if one.row.batch in batches and one.kind != _TOLD:
            remark = f"{one.kind}: {one.why}; the row is kept and not used"
            not_used.append(Listed(place=one.row.place, circuit=one.row.circuit, remark=remark))
    return Outcome(superseded=tuple(superseded), not_used=tuple(not_used), not_judged=tuple(not_judged))


def _is_new(each: Try, batches: Collection[str]) -> bool:
    return any(row.batch in batches for row in each.rows)


def _superseded(circuit: CircuitResult, batches: Collection[str]) -> Iterator[Listed]:
    """Yield the last earlier try that a new one stands over; those before it were history already."""
    news = [each for each in circuit.history if each.current and _is_new(each, batches)]
    olds = [each for each in circuit.history if not each.current and not _is_new(each, batches)]
    if news and olds:
        remark = f"{circuit.id}: {olds[-1].name} ({olds[-1].word}) is history, {news[-1].name} ({news[-1].word}) stands"
        yield Listed(place=_place(olds[-1].rows), circuit=circuit.id, remark=remark)


def _late(circuit: CircuitResult, batches: Collection[str]) -> Iterator[Listed]:
    """Yield new tries that come too late: a later one stands already."""
    stands = [each for each in circuit.history if each.current]
    for each in circuit.history:
        if stands and not each.current and _is_new(each, batches):
            last = stands[-1]
            other = f"the one of {_place(last.rows)}" if last.name == each.name else last.name
            remark = f"{circuit.id}: {each.name} is kept as history, {other} stands"
            yield Listed(place=_place(each.rows), circuit=circuit.id, remark=remark)


def _not_judged(circuit: CircuitResult, batches: Collection[str]) -> Iterator[Listed]:
    """Yield each reason why readings of a new row can't be judged; what nobody asked for needs none."""
    told: dict[tuple[str, str], list[str]] = {}
    for each in circuit.history:
        for reading in each.readings:
            if reading.row.batch in batches and reading.word == NOT_JUDGED and reading.why != NO_CRITERION:
                told.setdefault((reading.row.place, reading.why), []).append(reading.label)
    for (place, why), labels in told.items():
        more = f" and {len(labels) - 1} more" if len(labels) > 1 else ""
        yield Listed(place=place, circuit=circuit.id, remark=f"{labels[0]}{more}: {why}")


def _place(rows: tuple[ReadRow, ...]) -> str:
    return rows[0].place
