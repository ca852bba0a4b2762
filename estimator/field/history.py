"""Everything that was ever read or decided about a circuit, in order, with what of it counts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from estimator.field.job import Job
from estimator.field.rows import SHORT, Decision, points_at
from estimator.field.typed import bare
from estimator.field.verdicts import CircuitResult, Unplaced


@dataclass(frozen=True, kw_only=True, slots=True)
class History:
    """One circuit as judged, the rows about it that aren't used, and the decisions about it.

    ``withdrawn`` are decisions that were voided since.
    """

    circuit: CircuitResult
    aside: tuple[Unplaced, ...]
    decisions: tuple[Decision, ...]
    withdrawn: tuple[Decision, ...] = ()

    @property
    def empty(self) -> bool:
        """Return whether nothing was ever read or decided about it."""
        return not (self.circuit.history or self.aside or self.decisions or self.withdrawn)


def concerns(one: History, target: str) -> bool:
    """Return whether a circuit has rows, or decisions, of the row or batch that a decision points at."""
    rows = [row for each in one.circuit.history for row in each.rows] + [each.row for each in one.aside]
    made = (decision.batch for decision in (*one.decisions, *one.withdrawn))
    pointed = (name for row in rows for name in (row.key, row.batch[:SHORT]))
    return target in (*pointed, *(batch[:SHORT] for batch in made))


def histories(job: Job, name: str = "") -> tuple[History, ...]:
    """Return the history of a circuit, of every strand of a cable, or of all; empty for a name that none has."""
    wanted = name.strip().casefold()
    found = (one for one in job.result.circuits if not wanted or wanted in _names(one))
    moved: dict[str, list[str]] = {}
    for decision in job.stored.decisions:
        if decision.kind == "remap":
            moved.setdefault(decision.to.casefold(), []).append(bare(decision.target).casefold())
    aside: dict[str, list[Unplaced]] = {}
    for one in job.result.unplaced:
        aside.setdefault(bare(one.row.circuit).casefold(), []).append(one)
    return tuple(_history(job, one, aside, moved) for one in found)


def _names(one: CircuitResult) -> tuple[str, str]:
    return one.id.casefold(), one.criteria.circuit.casefold()


def _history(job: Job, one: CircuitResult, aside: dict[str, list[Unplaced]], moved: dict[str, list[str]]) -> History:
    names = dict.fromkeys(_names(one))
    typed = dict.fromkeys((*names, *(other for name in names for other in moved.get(name, ()))))
    unused = tuple(each for name in typed for each in aside.get(name, ()))
    rows = [row for each in one.history for row in each.rows] + [each.row for each in unused]

    def about(made: Decision) -> bool:
        named = made.target.casefold() in typed or made.to.casefold() in names
        return named or any(points_at(made.target, row) for row in rows)

    standing, withdrawn = (filter(about, made) for made in (job.stored.decisions, job.stored.withdrawn))
    return History(circuit=one, aside=unused, decisions=tuple(standing), withdrawn=tuple(withdrawn))


def said_in_words(made: Decision) -> str:
    """Return a decision as one line."""
    what = f"{made.kind} {made.target}"
    if made.to:
        what += f" to {made.to}" if made.kind == "remap" else f", {made.to} alone"
    paper = f", {made.reference}" if made.reference else ""
    said = f"{made.reason} ({made.name}, {made.role.replace('_', ' ')}, {made.date}{paper})"
    return f"{what}: {said}; batch {made.batch[:SHORT]}"


def loose_decisions(job: Job, shown: Iterable[History]) -> tuple[Decision, ...]:
    """Return the decisions that belong to none of the circuits shown, such as a batch voided whole."""
    told = {id(made) for one in shown for made in one.decisions}
    return tuple(made for made in job.stored.decisions if id(made) not in told)
