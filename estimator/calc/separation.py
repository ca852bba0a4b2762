"""What may share a pathway, and which jacket a space asks for.

The rules are data handed in; one function judges a pair of circuit classes, one a jacket. What no
rule speaks of is reported as unknown, never passed over.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final, Literal

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

Within = Literal["raceway", "tray", "open"]
JacketWord = Literal["fits", "substitute", "does not fit", "unknown jacket", "not judged"]

ANY: Final = "any"
TOGETHER: Final = "together"
UNKNOWN: Final = "unknown"

CLEARANCE: Final = Expression("distance - least")
"""How much farther apart two circuits lie than they must; below zero they are too near [m]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SharingRule:
    """What the code says of two circuit classes in one pathway."""

    a: str
    b: str
    within: str  # raceway, tray, open, or any
    verdict: str  # together, if, ask, or apart
    condition: str
    rule: str  # name under which the clauses by edition stand


@dataclass(frozen=True, kw_only=True, slots=True)
class Clause:
    """Where a rule stands from an edition on."""

    rule: str
    since: int
    clause: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Shared:
    """The judgment on two circuit classes that share a segment."""

    a: str
    b: str
    verdict: str
    condition: str
    clause: str


@dataclass(frozen=True, kw_only=True, slots=True)
class AudioClass:
    """A wiring class of speaker lines with the largest volts and watts it holds for."""

    circuit_class: str
    volts_max: float | None
    watts_max: float | None


RuleIndex = Mapping[tuple[str, str, str], SharingRule]


def index_rules(rules: Iterable[SharingRule]) -> RuleIndex:
    """Return the rules by pair and kind of pathway, both ways around.

    Source: the rules' own table. Raises: ValueError where two rules speak of the same pair and kind.
    """
    index: dict[tuple[str, str, str], SharingRule] = {}
    for rule in rules:
        for pair in {(rule.a, rule.b), (rule.b, rule.a)}:
            if (*pair, rule.within) in index:
                raise ValueError(f"two rules for {rule.a!r} and {rule.b!r} within {rule.within!r}")
            index[(*pair, rule.within)] = rule
    return index


def clause_of(rule: str, *, edition: int, clauses: Sequence[Clause]) -> str:
    """Return the clause where a rule stands in an edition; empty where it isn't known to stand.

    ``edition`` [year]. Source: the clauses' own table, by the first edition that has the number.
    Raises: ValueError if the year is not above zero.
    """
    positive(edition=edition)
    holding = [clause for clause in clauses if clause.rule == rule and clause.since <= edition]
    return max(holding, key=lambda clause: clause.since).clause if holding else ""


def judge_pair(a: str, b: str, *, within: Within, rules: RuleIndex, clauses: Sequence[Clause], edition: int) -> Shared:
    """Return the judgment on two circuit classes in one pathway.

    A class shares with itself. A rule for the kind of pathway comes before one for any; a pair that
    no rule speaks of is unknown. ``edition`` [year] is the adopted code's.
    Source: NFPA 70, Articles 725, 760, 770 and 800, by the rules handed in.
    Raises: ValueError if the year is not above zero.
    """
    positive(edition=edition)
    if a == b:
        return Shared(a=a, b=b, verdict=TOGETHER, condition="", clause="")
    rule = rules.get((a, b, within)) or rules.get((a, b, ANY))
    if rule is None:
        return Shared(a=a, b=b, verdict=UNKNOWN, condition="no rule speaks of this pair", clause="")
    clause = clause_of(rule.rule, edition=edition, clauses=clauses)
    return Shared(a=a, b=b, verdict=rule.verdict, condition=rule.condition, clause=clause)


def judge_shared(
    classes: Collection[str],
    *,
    within: Within,
    rules: RuleIndex,
    clauses: Sequence[Clause],
    edition: int,
) -> tuple[Shared, ...]:
    """Return every pair of a segment's circuit classes that may not simply lie together.

    Pairs come in the order of their names. ``edition`` [year]. Source: as ``judge_pair``.
    Raises: ValueError if the year is not above zero.
    """
    positive(edition=edition)
    judged = (
        judge_pair(a, b, within=within, rules=rules, clauses=clauses, edition=edition)
        for a, b in combinations(sorted(set(classes)), 2)
    )
    return tuple(shared for shared in judged if shared.verdict != TOGETHER)


def too_near(*, distance_m: float, least_m: float) -> bool:
    """Return whether two circuits lie nearer than they must; at the distance itself they don't.

    Distances [m]. Source: NFPA 70, 725.136(I), 760.136, 800.133.
    Raises: ValueError if a distance is below zero.
    """
    not_negative(distance_m=distance_m, least_m=least_m)
    return under(distance_m, least_m)


def judge_jacket(
    jacket: str, *, required: str | None, replaced_by: Collection[str], known: Collection[str]
) -> JacketWord:
    """Return how a cable's jacket stands to what a space asks for.

    ``required`` is the jacket that the space and the circuit's family ask for, None where jacket
    letters don't decide (outdoor, wet); ``replaced_by`` are its permitted substitutes, ``known`` all
    jackets of the table.
    Source: NFPA 70, Tables 725.154(A), 760.154(A), 770.154(b) and 800.154(b), as handed in.
    """
    if jacket not in known:
        return "unknown jacket"
    if required is None:
        return "not judged"
    if jacket == required:
        return "fits"
    return "substitute" if jacket in replaced_by else "does not fit"


def audio_class(*, volts: float, watts: float, classes: Sequence[AudioClass]) -> str:
    """Return the wiring class of a speaker line whose amplifier's marking is not typed.

    ``volts`` [V] of the line and ``watts`` [W] of its amplifier, against the classes in their order;
    the first that holds both counts. Source: NFPA 70, 640.9(C), by handbook rule of thumb.
    Raises: ValueError if a number is not above zero, or where no class holds them.
    """
    positive(volts=volts, watts=watts)
    for entry in classes:
        volts_fit = entry.volts_max is None or not over(volts, entry.volts_max)
        watts_fit = entry.watts_max is None or not over(watts, entry.watts_max)
        if volts_fit and watts_fit:
            return entry.circuit_class
    raise ValueError(f"no wiring class holds {volts!r} V and {watts!r} W")
