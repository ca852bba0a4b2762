"""How far the testing is, by room, system, day and person: tested, passed, failed, left, and why not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, Literal

from estimator.acceptance.compare import FAIL, MARGINAL_PASS, PASS
from estimator.calc.formula import Expression
from estimator.field.verdicts import INCOMPLETE, NOT_SAMPLED, WAIVED, CircuitResult, JobResult, Try

Count = Literal["passed", "marginal", "failed", "incomplete", "without", "excused"]

COUNTS: Final[Mapping[str, Count]] = {
    PASS: "passed",
    MARGINAL_PASS: "marginal",
    FAIL: "failed",
    INCOMPLETE: "incomplete",
    WAIVED: "excused",
    NOT_SAMPLED: "excused",
}
"""Under what a circuit's word is counted; a word that isn't here is without a usable verdict."""

DONE_SHARE: Final = Expression("where(circuits > 0, 1 - left / circuits, 1)")
"""Share of circuits with nothing left to do [unitless]."""

CIRCUITS: Final = Expression("count(flags)")
"""Circuits of a group."""

COUNTED: Final = Expression("sum(flags)")
"""Circuits of a group that are counted under one word."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """Counts of one room or system. ``left`` is what is still to be done; ``why_not`` counts the
    words of circuits without a usable verdict.
    """

    name: str
    circuits: int
    tested: int
    passed: int
    marginal: int
    failed: int
    incomplete: int
    excused: int
    without: int
    left: int
    why_not: Mapping[str, int] = field(default_factory=dict)

    @property
    def share(self) -> float:
        """Return the share of circuits with nothing left to do [unitless]."""
        return DONE_SHARE(circuits=self.circuits, left=self.left)


def counted_as(one: CircuitResult) -> Count:
    """Return under what a circuit is counted."""
    return COUNTS.get(one.word, "without")


def by_room(job: JobResult) -> tuple[Progress, ...]:
    """Return the progress of each room, in test order."""
    return _grouped(job.circuits, lambda one: one.criteria.room or "no room")


def by_system(job: JobResult) -> tuple[Progress, ...]:
    """Return the progress of each system, in the order in which they come up."""
    return _grouped(job.circuits, lambda one: one.criteria.system or "other")


def overall(job: JobResult) -> Progress:
    """Return the progress of the whole job."""
    return _counted("the job", job.circuits)


def _grouped(circuits: Iterable[CircuitResult], name: Callable[[CircuitResult], str]) -> tuple[Progress, ...]:
    groups: dict[str, list[CircuitResult]] = {}
    for one in circuits:
        groups.setdefault(name(one), []).append(one)
    return tuple(_counted(key, members) for key, members in groups.items())


def _counted(name: str, circuits: Iterable[CircuitResult]) -> Progress:
    listed = list(circuits)
    words = Counter(one.word for one in listed)
    counts = Counter(counted_as(one) for one in listed)
    usual = (PASS, MARGINAL_PASS, FAIL, INCOMPLETE)
    return Progress(
        name=name,
        circuits=len(listed),
        tested=sum(one.tested for one in listed),
        passed=counts["passed"],
        marginal=counts["marginal"],
        failed=counts["failed"],
        incomplete=counts["incomplete"],
        excused=counts["excused"],
        without=counts["without"],
        left=sum(not one.complete for one in listed),
        why_not={word: count for word, count in sorted(words.items()) if word not in usual},
    )


NOBODY: Final = "nobody named"
NO_DAY: Final = "no date"


@dataclass(frozen=True, kw_only=True, slots=True)
class Effort:
    """What one day or one person brought: circuits tried, again, and with which word.

    ``left`` is what the job still had to do at the end of the day; None for a person and for tries
    without a date.
    """

    name: str
    circuits: int
    again: int  # circuits among them that had been tried before
    passed: int
    marginal: int
    failed: int
    incomplete: int
    left: int | None = None


def by_day(job: JobResult) -> tuple[Effort, ...]:
    """Return what each day brought, earliest first, and how many circuits were left after it; tries
    without a date stand last.
    """
    tries = _tries(job.circuits, lambda one: (one.day.isoformat(),) if one.day else (NO_DAY,))
    to_do = sum(one.word not in (WAIVED, NOT_SAMPLED) for one in job.circuits)
    done: Counter[str] = Counter()
    for circuit in job.circuits:
        if circuit.complete and circuit.history and circuit.word not in (WAIVED, NOT_SAMPLED):
            days = [one.day.isoformat() for one in circuit.history if one.day and one.current]
            done[max(days, default=NO_DAY)] += 1
    efforts = []
    for name in sorted(tries, key=lambda name: (name == NO_DAY, name)):
        to_do -= sum(done.pop(day) for day in sorted(done) if day != NO_DAY and day <= name)
        efforts.append(_effort(name, tries[name], None if name == NO_DAY else to_do))
    return tuple(efforts)


def by_person(job: JobResult) -> tuple[Effort, ...]:
    """Return what each person of the crew brought, in the order in which they come up."""
    tries = _tries(job.circuits, _people)
    return tuple(_effort(name, own) for name, own in tries.items())


def _people(one: Try) -> tuple[str, ...]:
    named = dict.fromkeys(row.cells.get("person", "").strip() for row in one.rows)
    return tuple(name for name in named if name) or (NOBODY,)


def _tries(
    circuits: Iterable[CircuitResult], names: Callable[[Try], Iterable[str]]
) -> dict[str, list[tuple[str, Try, bool]]]:
    """Return the tries under each name: circuit, try, and whether the circuit had been tried before."""
    found: dict[str, list[tuple[str, Try, bool]]] = {}
    for circuit in circuits:
        for place, one in enumerate(circuit.history):
            for name in names(one):
                found.setdefault(name, []).append((circuit.id, one, place > 0))
    return found


def _effort(name: str, tries: Iterable[tuple[str, Try, bool]], left: int | None = None) -> Effort:
    last: dict[str, str] = {}
    again: set[str] = set()
    for circuit, one, before in tries:
        last[circuit] = one.word
        if before:
            again.add(circuit)
    words = Counter(last.values())
    return Effort(
        name=name,
        circuits=len(last),
        again=len(again),
        passed=words[PASS],
        marginal=words[MARGINAL_PASS],
        failed=words[FAIL],
        incomplete=words[INCOMPLETE],
        left=left,
    )
