"""How far the testing is, by room and by system: tested, passed, failed, left, and why not."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from estimator.acceptance.compare import MARGINAL_PASS, PASS
from estimator.field.verdicts import INCOMPLETE, CircuitResult, JobResult


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
    left: int
    why_not: Mapping[str, int] = field(default_factory=dict)

    @property
    def share(self) -> float:
        """Return the share of circuits with nothing left to do [unitless]."""
        return (self.circuits - self.left) / self.circuits if self.circuits else 1.0


def by_room(job: JobResult) -> tuple[Progress, ...]:
    """Return the progress of each room, in test order."""
    return _grouped(job.circuits, lambda one: one.criteria.room or "no room")


def by_system(job: JobResult) -> tuple[Progress, ...]:
    """Return the progress of each system, in the order in which they come up."""
    return _grouped(job.circuits, lambda one: one.criteria.system or "other")


def by_medium(job: JobResult) -> tuple[Progress, ...]:
    """Return the progress of each medium."""
    return _grouped(job.circuits, lambda one: one.criteria.medium)


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
    words: dict[str, int] = {}
    for one in listed:
        words[one.word] = words.get(one.word, 0) + 1
    usual = (PASS, MARGINAL_PASS, "fail", INCOMPLETE)
    return Progress(
        name=name,
        circuits=len(listed),
        tested=sum(one.tested for one in listed),
        passed=words.get(PASS, 0),
        marginal=words.get(MARGINAL_PASS, 0),
        failed=words.get("fail", 0),
        incomplete=words.get(INCOMPLETE, 0),
        left=sum(not one.complete for one in listed),
        why_not={word: count for word, count in sorted(words.items()) if word not in usual},
    )
