"""Circuits without readings, signatures for waivers and accepted marginals, and stated samples."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.acceptance.criterion import Criteria
from estimator.field.rows import Decision
from estimator.field.verdicts import (
    NOT_SAMPLED,
    NOT_TESTED,
    WAIVED,
    CircuitResult,
    CircuitWord,
    SampleResult,
    SignedOff,
)
from estimator.spec.model import Project
from estimator.spec.quality import Acceptance, Sampling, Waiver
from estimator.units.rounding import round_up

OWN_LEAD: Final = "own_lead"
_STATES: Final[Mapping[str, CircuitWord]] = {
    "not_reachable": "not reachable",
    "in_service": "in service",
    "not_sampled": "not sampled",
}


@dataclass(frozen=True, slots=True)
class Signatures:
    """Who signed what, by circuit in lower case; ``problems`` are signatures that don't count."""

    waived: Mapping[str, SignedOff]
    excused: Mapping[str, frozenset[str]]  # tests waived on a circuit
    accepted: Mapping[str, tuple[SignedOff, ...]]
    problems: tuple[str, ...]


def acceptance_of(signed: Signatures, criteria: Criteria, near: frozenset[str]) -> SignedOff | None:
    """Return the signature that accepts a circuit's marginal tests, or None where one is left open.

    What is signed for a cable holds for each of its strands; a signature for a test holds for that alone.
    """
    names = dict.fromkeys((criteria.circuit.casefold(), criteria.id.casefold()))
    listed = [sign for name in names for sign in signed.accepted.get(name, ())]
    whole = [sign for sign in listed if not sign.test]
    if whole:
        return whole[-1]
    named = [sign for sign in listed if sign.test in near]
    return named[-1] if near <= {sign.test for sign in named} else None


def excused_tests(signed: Signatures, criteria: Criteria) -> frozenset[str]:
    """Return the tests that are waived on a circuit or on its whole cable."""
    if not signed.excused:
        return frozenset()
    names = (criteria.circuit.casefold(), criteria.id.casefold())
    return frozenset().union(*(signed.excused.get(name, frozenset()) for name in names))


def signatures(project: Project, decisions: Sequence[Decision], criteria: Iterable[Criteria]) -> Signatures:
    """Return the waivers and acceptances that count: with name, role, date and reference, by somebody
    who may sign for the owner, and no marginal life-safety result.
    """
    acceptance = project.acceptance
    typed = [("waive", one.circuit, _of_waiver(one)) for one in acceptance.waivers]
    typed += [("accept", one.circuit, _of_waiver(one)) for one in acceptance.accepted]
    ordered = sorted(decisions, key=lambda one: one.order)
    typed += [(one.kind, one.target, _of_decision(one)) for one in ordered if one.kind in ("waive", "accept")]
    safety, known = set(), set()
    for one in criteria:
        names = {one.id.casefold(), one.circuit.casefold()}
        known |= names
        if one.life_safety:
            safety |= names
    waived: dict[str, SignedOff] = {}
    excused: dict[str, frozenset[str]] = {}
    accepted: dict[str, tuple[SignedOff, ...]] = {}
    problems = []
    for kind, circuit, sign in typed:
        name = circuit.casefold()
        wrong = _wrong(kind, sign, name in safety, name in known)
        if wrong:
            problems.append(f"{'acceptance' if kind == 'accept' else 'waiver'} of {circuit}: {wrong}")
        elif kind == "accept":
            accepted[name] = (*accepted.get(name, ()), sign)
        elif sign.test:
            excused[name] = excused.get(name, frozenset()) | {sign.test}
        else:
            waived[name] = sign
    return Signatures(waived, excused, accepted, tuple(problems))


def _of_waiver(one: Waiver) -> SignedOff:
    return SignedOff(reason=one.reason, name=one.name, role=one.role, day=one.day.isoformat(), reference=one.reference)


def _of_decision(one: Decision) -> SignedOff:
    role = one.role.strip().casefold().replace(" ", "_").replace("-", "_")
    test = one.to.strip().casefold().replace(" ", "_")
    return SignedOff(reason=one.reason, name=one.name, role=role, day=one.date, reference=one.reference, test=test)


def _wrong(kind: str, sign: SignedOff, life_safety: bool, known: bool) -> str:
    if not known:
        return "the job has no such circuit"
    lacking = [key for key in ("name", "role", "day", "reference") if not getattr(sign, key).strip()]
    if lacking:
        return f"it has no {' and no '.join(lacking).replace('day', 'date')}"
    if sign.role == OWN_LEAD:
        return "an own lead can't sign for the owner"
    if kind == "accept" and life_safety:
        return "nobody accepts a marginal life-safety result"
    return ""


def without_readings(criteria: Criteria, acceptance: Acceptance, waived: SignedOff | None) -> tuple[CircuitWord, str]:
    """Return what a circuit without readings is, and why."""
    if waived is not None:
        return WAIVED, waived.reason
    names = (criteria.id.casefold(), criteria.circuit.casefold())
    for status in acceptance.statuses:
        if status.circuit.casefold() in names:
            return _STATES[status.state], status.reason
    return NOT_TESTED, ""


def sample(project: Project, judged: Sequence[CircuitResult]) -> tuple[tuple[SampleResult, ...], list[CircuitResult]]:
    """Return the stated samples and the circuits with those outside a good sample marked.

    A circuit that failed in any round fails its sample, even if it was mended since.
    """
    found = []
    circuits = list(judged)
    for rule in project.acceptance.sampling:
        mine = [place for place, one in enumerate(circuits) if one.criteria.cable == rule.cable]
        result = _sampled(rule, [circuits[place] for place in mine])
        found.append(result)
        enough = result.tested >= result.needed
        for place in mine:
            circuits[place] = _outside(circuits[place], enough, result)
    if not project.acceptance.sampling:
        return (), circuits
    return tuple(found), circuits


def _sampled(rule: Sampling, circuits: Sequence[CircuitResult]) -> SampleResult:
    tested = [one for one in circuits if one.tested]
    failed = tuple(one.id for one in tested if any(each.word == "fail" for each in one.history))
    share = rule.share
    if failed:
        share = 1.0 if rule.on_failure == "test_all" else min(2 * share, 1.0)
    needed = min(round_up(share * len(circuits)), len(circuits))
    words = {"test_all": "all are tested", "double": "the sample is doubled"}[rule.on_failure]
    rule_text = f"{rule.share:.0%} of {rule.cable}" + (f"; one failed, so {words}" if failed else "")
    return SampleResult(
        cable=rule.cable, circuits=len(circuits), needed=needed, tested=len(tested), failed=failed, rule=rule_text
    )


def _outside(one: CircuitResult, enough: bool, result: SampleResult) -> CircuitResult:
    if one.tested or one.word not in (NOT_TESTED, NOT_SAMPLED):
        return one
    if enough:
        return replace(one, word=NOT_SAMPLED, why=f"outside the sample: {result.rule}")
    short = f"sample: {result.tested} of {result.needed} tested"
    return replace(one, word=NOT_TESTED, why=f"{short}; {result.rule}")
