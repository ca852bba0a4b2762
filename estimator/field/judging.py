"""The job judged: rows and decisions against criteria, circuit by circuit, each time from the beginning."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.acceptance.criterion import Criteria, Criterion
from estimator.field.attempts import Told, twice, unordered
from estimator.field.causes import findings_for
from estimator.field.expectation import OFF_EXPECTATION
from estimator.field.fiber_patterns import references
from estimator.field.interpret import interpret
from estimator.field.job_delays import slow_cables
from estimator.field.length_findings import length_findings
from estimator.field.lengths import learn, sound_lengths_of
from estimator.field.ordering import Unbelieved, believe, latest, rounds, without_duplicates
from estimator.field.punch import punch_list
from estimator.field.readings import Bench, judge_row, worst, wrong_limit
from estimator.field.rows import SHORT, Decision, ReadRow
from estimator.field.said import Said
from estimator.field.sampling import Signatures, acceptance_of, excused_tests, sample, signatures, without_readings
from estimator.field.sight import Sights
from estimator.field.standing import Placed, place
from estimator.field.suspect import Site, Suspect
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
    judged_keys,
)
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage

BY_TEST: Final = "by_test"
_WHOLE: Final = ("pass", "marginal pass")  # words of readings that answer all that is required


@dataclass(frozen=True, slots=True)
class _Desk:
    """What judging one circuit needs of the whole job."""

    project: Project
    site: Site
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
    placed, unplaced = place(rows, decisions, criteria)
    said, clocks = believe([_interpret(one, project) for one in placed])
    said, repeats = without_duplicates(said)
    unplaced += [Unplaced(twice.row, "duplicate", _same_as(first.row, twice.row)) for twice, first in repeats]
    signed = signatures(project, decisions, criteria)
    learned = learn(sound_lengths_of(said, project.acceptance, footage.by_id))
    bench = Bench(
        project.acceptance,
        project.rules,
        {point.id: point.load_a for point in project.test_points.values() if point.load_a is not None},
        learned,
        {name: length.cable.id for name, length in footage.by_id.items()},
    )
    desk = _Desk(project, Site(project, footage, Sights(learned)), bench, signed)
    grouped = _grouped(said)
    judged = [judge_circuit(one, grouped.get(one.id, []), desk) for one in criteria]
    samples, judged = sample(project, judged)
    shared = (*references(judged), *slow_cables(judged, project), *job_findings(judged, said, bench),
              *length_findings(learned, project))  # fmt: skip
    judged = _with_findings(judged, (*shared, *_clock_findings(clocks)))
    return JobResult(
        circuits=tuple(judged),
        by_id={one.id: one for one in judged},
        unplaced=tuple(unplaced),
        samples=samples,
        findings=tuple(finding for one in judged for finding in one.findings),
        punch=punch_list(judged, unplaced),
        problems=signed.problems,
        learned=learned,
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
    return [replace(one, findings=_joined(extra[one.id], one.findings)) if one.id in extra else one for one in judged]


def _joined(more: Sequence[Finding], own: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return the findings with causes first; what shows over many circuits explains what shows on one."""
    first = [one for one in more if one.cause]
    return (*first, *own, *(one for one in more if not one.cause))


def _same_as(first: ReadRow, twice: ReadRow) -> str:
    """Return which row a duplicate repeats; a file that was sent again under its name is told by its batch."""
    batch = f", batch {first.batch[:SHORT]}" if first.place == twice.place else ""
    return f"the same as {first.place}{batch}"


def judge_circuit(criteria: Criteria, said: Sequence[Said], desk: _Desk) -> CircuitResult:
    """Return one circuit's verdict with its history, or its state without readings."""
    sign = desk.signed
    waived = sign.waived.get(criteria.id.casefold()) or sign.waived.get(criteria.circuit.casefold())
    if not any(one.readings for one in said):
        word, why = without_readings(criteria, desk.project.acceptance, waived)
        return CircuitResult(criteria=criteria, word=word, why=why, waived=waived)
    by_row = {id(one): judge_row(one, desk.bench) for one in said}
    sorted_out = _sorted_out(said, by_row, desk.bench.rules.retest)
    readings, standing = sorted_out.readings, sorted_out.standing
    excused = excused_tests(sign, criteria)
    required = tuple([c for c in criteria.criteria if c.required and c.test not in excused])
    whole, why = circuit_word(readings, required)
    word = whole
    if word == "incomplete" and waived is not None and not waived.test:
        word, why = "waived", f"{why}; waived: {waived.reason}"
    near = frozenset(one.test for one in readings if one.word == "marginal pass")
    accepted = acceptance_of(sign, criteria, near) if word == "marginal pass" else None
    rows = tuple([one for one in said if id(one) in standing])
    suspect = Suspect(criteria, rows, readings, {(one.test, one.position): one for one in readings})
    findings = (*findings_for(suspect, desk.site), *sorted_out.findings)
    word, why = _by_expectation(word, why, findings, desk.bench.rules.off_expectation)
    return CircuitResult(
        criteria=criteria,
        word=word,
        why=why,
        readings=readings,
        missing=() if whole in _WHOLE else _missing(required, readings),
        history=tuple([_try(group, by_row, sorted_out, required, whole) for group in sorted_out.tries]),
        findings=findings,
        accepted=accepted,
        waived=waived,
    )


def _missing(required: Sequence[Criterion], readings: Sequence[Reading]) -> tuple[Criterion, ...]:
    judged = judged_keys(readings)
    return tuple([c for c in required if (c.test, c.position) not in judged])


def _by_expectation(word: CircuitWord, why: str, findings: Sequence[Finding], rule: str) -> tuple[CircuitWord, str]:
    """Return a circuit's verdict; where the house says so, a reading that doesn't fit its circuit fails it."""
    odd = [f"{one.text}: {one.evidence}" for one in findings if one.kind in OFF_EXPECTATION]
    return ("fail", "; ".join(odd)) if rule == "fail" and word != "fail" and odd else (word, why)


Key = tuple[str, str]
Judged = Mapping[int, tuple[Reading, ...]]


@dataclass(frozen=True, slots=True)
class _SortedOut:
    """A circuit's rows sorted out: the readings that count, the rows they stand in, all tries, and what is odd."""

    readings: tuple[Reading, ...]
    standing: set[int]
    tries: Sequence[Sequence[Said]]
    findings: tuple[Finding, ...] = ()


def _sorted_out(said: Sequence[Said], by_row: Judged, retest: str) -> _SortedOut:
    """Return which readings count; those of a row that is alone all do."""
    if len(said) == 1:
        return _SortedOut(_worst_of(said, by_row), {id(said[0])}, [said])
    told = {id(one): _told(one, by_row[id(one)]) for one in said}
    current, standing = _current(said, by_row, told, retest)
    readings = tuple(worst(several) for several in current.values())
    tries = rounds(said, told)
    return _SortedOut(readings, standing, tries, (*twice(tries, standing), *unordered(said, told, standing)))


def _told(said: Said, readings: Sequence[Reading]) -> Mapping[Key, str]:
    """Return what a row claims by test and position: what another row of its round may add to or contradict.

    A reading that its state alone forbids to judge, or that nobody asked for, claims nothing. A row
    that can't be used claims something else than one that can, whatever it says.
    """
    forbidden = said.trouble or wrong_limit(said)
    return {
        reading.key: f"{reading.text.casefold()} {forbidden}".strip()
        for typed, reading in zip(said.readings, readings, strict=False)  # split pairs may stand behind
        if forbidden or typed.why or reading.word != "not judged"
    }


def _current(
    said: Sequence[Said], by_row: Judged, told: Told, retest: str
) -> tuple[dict[Key, list[Reading]], set[int]]:
    """Return, by test and position, the readings of which the worst counts, and the rows they stand in.

    A later round replaces the earlier one whole, block by block in a battery set; with ``by_test``
    it replaces only the tests that it repeats. Within a round date and time order the attempts.
    Readings of one column may belong to several criteria, as a video level by its state.
    """
    found: dict[Key, list[Reading]] = {}
    stand: set[int] = set()
    groups: dict[object, list[Said]] = {}
    for one in said:
        keys = [reading.key for reading in by_row[id(one)]] if retest == BY_TEST else [one.position]
        for key in keys:
            groups.setdefault(key, []).append(one)
    for group, rows in groups.items():
        own = told if retest != BY_TEST else {id(one): _only(told[id(one)], group) for one in rows}
        for one in latest(rows, own):
            for reading in by_row[id(one)]:
                if retest != BY_TEST or reading.key == group:
                    found.setdefault(reading.key, []).append(reading)
                    stand.add(id(one))
    return found, stand


def _only(told: Mapping[Key, str], key: object) -> Mapping[Key, str]:
    return {each: text for each, text in told.items() if each == key}


def _worst_of(rows: Sequence[Said], by_row: Judged) -> tuple[Reading, ...]:
    """Return one reading a test and position of rows that agree; a row that holds each once, as it is."""
    alone = by_row[id(rows[0])]
    if len(rows) == 1 and len({(one.test, one.position) for one in alone}) == len(alone):
        return alone
    found: dict[Key, list[Reading]] = {}
    for one in rows:
        for reading in by_row[id(one)]:
            found.setdefault((reading.test, reading.position), []).append(reading)
    return tuple([worst(readings) for readings in found.values()])


def _try(
    group: Sequence[Said],
    by_row: Judged,
    sorted_out: _SortedOut,
    required: tuple[Criterion, ...],
    whole: CircuitWord,
) -> Try:
    """Return a try with its verdict; ``whole`` is that of the readings that count."""
    readings = by_row[id(group[0])] if len(group) == 1 else _worst_of(group, by_row)
    moments = [one.moment for one in group if one.moment]
    days = [one.day for one in group if one.day]
    return Try(
        round=group[0].round,
        moment=max(moments, default=None),
        day=max(days, default=None),
        rows=tuple([one.row for one in group]),
        readings=readings,
        word=whole if readings is sorted_out.readings else circuit_word(readings, required)[0],
        current=any(id(one) in sorted_out.standing for one in group),
    )
