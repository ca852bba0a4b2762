"""The job judged: rows and decisions against criteria, circuit by circuit, each time from the beginning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.acceptance.criterion import Criteria, Criterion
from estimator.field.causes import findings_for
from estimator.field.expectation import OFF_EXPECTATION
from estimator.field.interpret import Said, interpret
from estimator.field.ordering import Unbelieved, believe, latest, newest, rounds, without_duplicates
from estimator.field.punch import punch_list
from estimator.field.readings import Bench, judge_row, worst
from estimator.field.rows import Decision, ReadRow
from estimator.field.sampling import Signatures, acceptance_of, excused_tests, sample, signatures, without_readings
from estimator.field.standing import Placed, place
from estimator.field.suspect import Suspect
from estimator.field.suspicions import job_findings
from estimator.field.verdicts import (
    CircuitResult,
    CircuitWord,
    Finding,
    JobResult,
    Reading,
    Try,
    Unplaced,
    circuit_word,
)
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage

BY_TEST: Final = "by_test"


@dataclass(frozen=True, slots=True)
class _Desk:
    """What judging one circuit needs of the whole job."""

    project: Project
    footage: Footage
    bench: Bench
    signed: Signatures


def judge(
    project: Project,
    footage: Footage,
    criteria: Sequence[Criteria],
    rows: Sequence[ReadRow],
    decisions: Sequence[Decision] = (),
) -> JobResult:
    """Return the whole job judged; the same rows and decisions give the same result."""
    bench = Bench(
        project.acceptance,
        project.rules,
        {point.id: point.load_a for point in project.test_points.values() if point.load_a is not None},
    )
    placed, unplaced = place(rows, decisions, criteria)
    said, clocks = believe([_interpret(one, project) for one in placed])
    said, repeats = without_duplicates(said)
    unplaced += [Unplaced(twice.row, "duplicate", f"the same as {first.row.place}") for twice, first in repeats]
    signed = signatures(project, decisions, criteria)
    desk = _Desk(project, footage, bench, signed)
    grouped = _grouped(said)
    judged = [judge_circuit(one, grouped.get(one.id, []), desk) for one in criteria]
    samples, judged = sample(project, judged)
    shared = job_findings(judged, said, bench)
    judged = _with_findings(judged, (*shared, *_clock_findings(clocks)))
    return JobResult(
        circuits=tuple(judged),
        by_id={one.id: one for one in judged},
        unplaced=tuple(unplaced),
        samples=samples,
        findings=tuple(finding for one in judged for finding in one.findings),
        punch=punch_list(judged, unplaced),
        problems=signed.problems,
    )


def _interpret(one: Placed, project: Project) -> Said:
    return interpret(one.row, one.criteria, one.position, project.acceptance, project.header.lengths_in)


def _grouped(said: Iterable[Said]) -> Mapping[str, list[Said]]:
    found: dict[str, list[Said]] = {}
    for one in said:
        found.setdefault(one.criteria.id, []).append(one)
    return found


def _clock_findings(clocks: Iterable[Unbelieved]) -> tuple[Finding, ...]:
    look = "set the instrument's clock; its date orders nothing"
    return tuple(
        Finding(kind="clock", circuit=one.said.criteria.id, text=one.why, evidence=one.said.row.place, look=look)
        for one in clocks
    )


def _with_findings(judged: Sequence[CircuitResult], more: Sequence[Finding]) -> list[CircuitResult]:
    extra: dict[str, list[Finding]] = {}
    for finding in more:
        extra.setdefault(finding.circuit, []).append(finding)
    return [replace(one, findings=(*one.findings, *extra[one.id])) if one.id in extra else one for one in judged]


def judge_circuit(criteria: Criteria, said: Sequence[Said], desk: _Desk) -> CircuitResult:
    """Return one circuit's verdict with its history, or its state without readings."""
    sign = desk.signed
    waived = sign.waived.get(criteria.id.casefold()) or sign.waived.get(criteria.circuit.casefold())
    if not any(one.readings for one in said):
        word, why = without_readings(criteria, desk.project.acceptance, waived)
        return CircuitResult(criteria=criteria, word=word, why=why, waived=waived)
    by_row = {id(one): _keyed(one, desk.bench) for one in said}
    current = _current(said, desk.bench.rules.retest)
    readings = _merged(current, by_row)
    excused = excused_tests(sign, criteria)
    required = tuple(c for c in criteria.required if c.test not in excused)
    word, why = circuit_word(readings, required)
    if word == "incomplete" and waived is not None and not waived.test:
        word, why = "waived", f"{why}; waived: {waived.reason}"
    judged = {one.key for one in readings if one.word != "not judged"}
    standing = {id(one) for rows in current.values() for one in rows}
    near = frozenset(one.test for one in readings if one.word == "marginal pass")
    accepted = acceptance_of(sign, criteria, near) if word == "marginal pass" else None
    rows = tuple(one for one in said if id(one) in standing)
    suspect = Suspect(criteria, rows, readings, {one.key: one for one in readings})
    findings = findings_for(suspect, desk.project, desk.footage)
    word, why = _by_expectation(word, why, findings, desk.bench.rules.off_expectation)
    return CircuitResult(
        criteria=criteria,
        word=word,
        why=why,
        readings=readings,
        missing=tuple(c for c in required if c.key not in judged),
        history=tuple(_try(group, by_row, standing, required) for group in rounds(said)),
        findings=findings,
        accepted=accepted,
        waived=waived,
    )


def _by_expectation(word: CircuitWord, why: str, findings: Sequence[Finding], rule: str) -> tuple[CircuitWord, str]:
    """Return a circuit's verdict; where the house says so, a reading that doesn't fit its circuit fails it."""
    odd = [f"{one.text}: {one.evidence}" for one in findings if one.kind in OFF_EXPECTATION]
    return ("fail", "; ".join(odd)) if rule == "fail" and word != "fail" and odd else (word, why)


Key = tuple[str, str]


def _current(said: Sequence[Said], retest: str) -> dict[Key, list[Said]]:
    """Return, by test and position, the rows whose reading counts.

    A later round replaces the earlier one whole, block by block in a battery set; with ``by_test``
    it replaces only the tests that it repeats. Within a round date and time order the rows.
    """
    found: dict[Key, list[Said]] = {}
    if retest == BY_TEST:
        for one in said:
            for typed in one.readings:
                found.setdefault(typed.key, []).append(one)
        return {key: newest(latest(rows)) for key, rows in found.items()}
    positions: dict[str, list[Said]] = {}
    for one in said:
        positions.setdefault(one.position, []).append(one)
    for rows in positions.values():
        for one in latest(rows):
            for typed in one.readings:
                found.setdefault(typed.key, []).append(one)
    return {key: newest(rows) for key, rows in found.items()}


Judged = Mapping[Key, Reading]


def _keyed(said: Said, bench: Bench) -> Judged:
    """Return a row's readings by the keys under which they were typed."""
    return {typed.key: reading for typed, reading in zip(said.readings, judge_row(said, bench), strict=True)}


def _merged(current: Mapping[Key, Sequence[Said]], by_row: Mapping[int, Judged]) -> tuple[Reading, ...]:
    """Return one reading a test and position: the worse where nothing orders several.

    Readings of one column may belong to several criteria, as a video level by its state.
    """
    found: dict[Key, list[Reading]] = {}
    for key, rows in current.items():
        for one in rows:
            reading = by_row[id(one)][key]
            found.setdefault(reading.key, []).append(reading)
    return tuple(worst(readings) for readings in found.values())


def _of_group(group: Sequence[Said], by_row: Mapping[int, Judged]) -> tuple[Reading, ...]:
    keys: dict[Key, list[Said]] = {}
    for one in group:
        for typed in one.readings:
            keys.setdefault(typed.key, []).append(one)
    return _merged({key: newest(rows) for key, rows in keys.items()}, by_row)


def _try(
    group: Sequence[Said],
    by_row: Mapping[int, Judged],
    standing: set[int],
    required: tuple[Criterion, ...],
) -> Try:
    readings = tuple(by_row[id(group[0])].values()) if len(group) == 1 else _of_group(group, by_row)
    word, _ = circuit_word(readings, required)
    moments = [one.moment for one in group if one.moment]
    days = [one.day for one in group if one.day]
    return Try(
        round=group[0].round, moment=max(moments, default=None), day=max(days, default=None),
        rows=tuple(one.row for one in group), readings=readings, word=word,
        current=any(id(one) in standing for one in group),
    )  # fmt: skip
