"""Delays that are too long for their lengths, against the other circuits of the job: kinks and water.

A tester makes a length of a delay by the velocity it is set to, so the two say the same thing. Only a
length from elsewhere tells: the marks on the jacket, else the length that the route leads to expect.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from estimator.acceptance.columns import PAIRS
from estimator.acceptance.pairs import pair_name
from estimator.calc.copper_link import delay_s
from estimator.calc.robust import center
from estimator.field.signs import sign
from estimator.field.verdicts import CircuitResult, Finding
from estimator.spec.model import Project
from estimator.units.rounding import over
from estimator.units.table import FACTORS

SLOW: Final = "slow for its length"
_LEAST: Final = 12  # circuits of one cable, from which the spread of the job is known


@dataclass(frozen=True, slots=True)
class _Timed:
    """A circuit with its delays over those of its length: the median of its pairs, and each pair's."""

    one: CircuitResult
    length_m: float
    marked: bool
    off: float
    pairs: dict[str, float]


def slow_cables(judged: Iterable[CircuitResult], project: Project) -> Iterable[Finding]:
    """Yield a finding on every circuit whose delay is longer for its length than the job's others are."""
    by_cable: dict[str, list[_Timed]] = {}
    for one in judged:
        timed = _timed(one)
        if timed is not None:
            by_cable.setdefault(one.criteria.cable, []).append(timed)
    for members in by_cable.values():
        if len(members) >= _LEAST:
            yield from _slow(members, project)


def _timed(one: CircuitResult) -> _Timed | None:
    nvp = one.criteria.settings.nvp
    if one.criteria.medium != "balanced_pair" or nvp is None or one.criteria.link == "channel":
        return None
    delays = {each.position: each.value for each in one.readings if each.test == "delay"}
    known = {pair: value for pair, value in delays.items() if pair in PAIRS and isinstance(value, float) and value > 0}
    marks = [each.value for each in one.readings if each.test == "length" and each.text.startswith("marks")]
    marked = next((value for value in marks if isinstance(value, float) and value > 0), None)
    length = marked or one.criteria.expected_m
    if not known or not length:
        return None
    due = delay_s(length_m=length, nvp=nvp)
    pairs = {pair: value / due - 1 for pair, value in known.items()}
    return _Timed(one, length, marked is not None, median(pairs.values()), pairs)


def _slow(members: Sequence[_Timed], project: Project) -> Iterable[Finding]:
    usual = center([each.off for each in members])
    least = max(sign("slow_spreads") * usual.spread, sign("slow"))
    for each in members:
        if over(each.off - usual.middle, least):
            yield _found(each, usual.middle, least, "", project)
            continue
        late = {pair: off for pair, off in each.pairs.items() if over(off - each.off, max(least, 2 * sign("slow")))}
        for pair in late:
            yield _found(each, usual.middle, least, pair, project)


def _found(each: _Timed, middle: float, least: float, pair: str, project: Project) -> Finding:
    unit = project.header.lengths_in
    off = each.pairs[pair] if pair else each.off
    length = each.length_m / FACTORS["length"][unit]
    by = "by its jacket" if each.marked else "as expected"
    evidence = (
        f"delay {off - middle:.1%} longer than the job's others for {length:.1f} {unit} {by}; "
        f"they scatter within {least:.1%}"
    )
    one = f"pair {pair_name(pair)} alone is slow" if pair else "all pairs are slow for this length"
    look = "a kink or a crushed spot: walk the route" if pair else "water in the cable: low and outdoor stretches"
    instead = "a pair with another twist, in a cable of another make" if pair else "a longer cable than its label says"
    return Finding(kind=SLOW, circuit=each.one.id, text=one, evidence=evidence, look=look, instead=instead,
                   cause=each.one.word == "fail")  # fmt: skip
