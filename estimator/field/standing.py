"""Which rows stand: decisions applied in order, corrections, and the circuit that each row belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.acceptance.criterion import Criteria
from estimator.field.rows import Decision, ReadRow, points_at
from estimator.field.typed import bare
from estimator.field.verdicts import Unplaced
from estimator.spec.faults import nearest

_NEAREST_AT_MOST: Final = 50
"""Unknown circuits that get a suggestion; comparing thousands with thousands would take minutes."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A row that stands, with its circuit and, on a battery's sheet, its block."""

    row: ReadRow
    criteria: Criteria
    position: str


class Register:
    """The job's circuits by id, whatever the case, with strands and blocks."""

    def __init__(self, criteria: Iterable[Criteria]) -> None:
        """Index the criteria."""
        self.by_id: dict[str, Criteria] = {}
        self.strands: dict[str, dict[str, Criteria]] = {}
        for one in criteria:
            self.by_id[one.id.casefold()] = one
            if one.row:
                self.strands.setdefault(one.circuit.casefold(), {})[one.row] = one
        self._suggested = 0

    def find(self, row: ReadRow, circuit: str) -> Placed | Unplaced:
        """Return where a row belongs, or why it belongs nowhere."""
        name = bare(circuit).casefold()
        found = self.by_id.get(name)
        if name in self.strands and found is None:
            found = self.strands[name].get(_counted(row.cells.get("strand", ""), name))
            if found is None:
                return Unplaced(row, "unknown position", f"cable {circuit!r} has no strand {_said(row, 'strand')}")
        if found is None:
            return Unplaced(row, "unknown circuit", self._unknown(name, circuit))
        if found.medium != row.sheet:
            why = f"circuit {found.id!r} is tested on sheet {found.medium}, not {row.sheet}"
            return Unplaced(row, "other sheet", why)
        if not found.rows:
            return Placed(row, found, "")
        block = _counted(row.cells.get("block", ""), name) or ("1" if len(found.rows) == 1 else "")
        if block not in found.rows:
            return Unplaced(row, "unknown position", f"battery {circuit!r} has no block {_said(row, 'block')}")
        return Placed(row, found, block)

    def _unknown(self, name: str, circuit: str) -> str:
        why = f"no circuit {circuit!r} in the job" if name else "no circuit is named"
        if name and self._suggested < _NEAREST_AT_MOST:
            self._suggested += 1
            close = nearest(name, [*self.by_id, *self.strands])
            if close is not None:
                return f"{why}; the nearest is {self.by_id[close].id if close in self.by_id else close!r}"
        return why


def _said(row: ReadRow, key: str) -> str:
    return repr(row.cells.get(key, "")) if row.cells.get(key) else "(blank)"


def _counted(text: str, circuit: str) -> str:
    """Return a strand or block as its number: ``03``, ``strand 3`` and ``1A/1B-1.3`` are 3."""
    typed = bare(text).casefold().removeprefix(circuit + ".")
    for word in ("strand", "block", "#"):
        typed = typed.removeprefix(word).strip()
    typed = typed.removesuffix(".0")
    return str(int(typed)) if typed.isdecimal() and len(typed) < 6 else typed


def place(
    rows: Sequence[ReadRow], decisions: Sequence[Decision], criteria: Iterable[Criteria]
) -> tuple[list[Placed], list[Unplaced]]:
    """Return the rows that stand, in received order, and those that are kept and not used."""
    register = Register(criteria)
    ordered = sorted(rows, key=lambda row: row.order)
    by_order = sorted(decisions, key=lambda decision: decision.order)
    voids = [decision for decision in by_order if decision.kind in ("void", "restore")]
    remaps = [decision for decision in by_order if decision.kind == "remap"]
    placed: list[Placed] = []
    unplaced: list[Unplaced] = []
    for row in ordered:
        reason = _voided(row, voids)
        if reason is not None:
            unplaced.append(Unplaced(row, "voided", reason))
            continue
        found = register.find(row, _circuit(row, remaps))
        if isinstance(found, Placed):
            placed.append(found)
        else:
            unplaced.append(found)
    return _corrected(placed, unplaced)


def _voided(row: ReadRow, voids: Sequence[Decision]) -> str | None:
    """Return why a row is void: the last decision that points at it or its batch counts."""
    reason = None
    for decision in voids:
        if points_at(decision.target, row):
            reason = f"{decision.reason} ({decision.name}, {decision.date})" if decision.kind == "void" else None
    return reason


def _circuit(row: ReadRow, remaps: Sequence[Decision]) -> str:
    circuit = row.circuit
    typed = bare(row.circuit).casefold()
    for decision in remaps:
        if points_at(decision.target, row) or bare(decision.target).casefold() == typed:
            circuit = decision.to
    return circuit


def _corrected(placed: list[Placed], unplaced: list[Unplaced]) -> tuple[list[Placed], list[Unplaced]]:
    """Take out what a corrected sheet replaces: the same circuit and round of the batch it names."""
    corrections: dict[tuple[str, str, str], list[Placed]] = {}
    for one in placed:
        if one.row.stated.get("corrects"):
            corrections.setdefault(_same(one), []).append(one)
    if not corrections:
        return placed, unplaced
    kept = []
    for one in placed:
        after = next((c for c in corrections.get(_same(one), ()) if _replaces(c.row, one.row)), None)
        if after is None:
            kept.append(one)
        else:
            unplaced.append(Unplaced(one.row, "corrected", f"corrected by {after.row.place}"))
    return kept, unplaced


def _same(one: Placed) -> tuple[str, str, str]:
    return one.criteria.id, one.position, one.row.round.strip()


def _replaces(later: ReadRow, earlier: ReadRow) -> bool:
    named = later.stated["corrects"].strip()
    return (
        later.order > earlier.order
        and later.batch != earlier.batch
        and named
        in (
            earlier.batch,
            earlier.batch[: len(named)] if len(named) >= 8 else "",
            earlier.file,
        )
    )
