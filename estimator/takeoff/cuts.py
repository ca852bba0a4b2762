"""The cut plan as a crew works it: run by run in the order of the pulls, and what each box gives."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.takeoff.footage import Footage, Length
from estimator.takeoff.orders import CableOrder

CHANGED_BY: Final = Expression("round(abs(now - length), 6)")
"""How much a run's expected length differs from the one that the cut plan was made for [m]."""

LEFT: Final = Expression("held - cut")
"""What remains in a box after a piece is cut from it [m]."""

CUT_IN_ALL: Final = Expression("sum(pieces)")
"""All that is cut from a box [m]."""

RUNS: Final = Expression("count(pieces)")
"""How many runs come from a box."""


OLDER: Final = Expression("sum(changed) > 0")
"""Whether any run's length has changed since the cut plan was made."""

HOLDS: Final = "holds"
OLDER_WORD: Final = "older than the lengths"
"""How a cut plan stands to the expected lengths."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Cut:
    """One run cut from a box: what the box held before, the piece, what is left; no box where none is long enough."""

    length: Length
    box: str | None
    held_m: float | None
    piece_m: float
    left_m: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Box:
    """A box or reel with the pieces cut from it."""

    name: str
    cable: str
    on_hand: bool
    held_m: float
    pieces_m: tuple[float, ...]

    @property
    def cut_m(self) -> float:
        """Return all that is cut from it [m]."""
        return CUT_IN_ALL(pieces=self.pieces_m)

    @property
    def left_m(self) -> float:
        """Return what is left in it in the end [m]."""
        return LEFT(held=self.held_m, cut=self.cut_m)


def cuts_by_pull(orders: Sequence[CableOrder], footage: Footage) -> Iterator[Cut]:
    """Yield every run, pull by pull as they come up, then by cable and box."""
    held = [list(order.plan.box_m) for order in orders]
    for place, index in _by_pull(orders, footage):
        order = orders[place]
        box, piece = order.plan.box_of[index], order.plan.piece_m[index]
        if box is None:
            yield Cut(length=order.lengths[index], box=None, held_m=None, piece_m=piece, left_m=None)
            continue
        before = held[place][box]
        left = held[place][box] = LEFT(held=before, cut=piece)
        name = order.box_name(box)
        yield Cut(length=order.lengths[index], box=name, held_m=before, piece_m=piece, left_m=left)


def _by_pull(orders: Sequence[CableOrder], footage: Footage) -> list[tuple[int, int]]:
    """Return each run as its order's place and its own, in the order of the pulls."""
    first: dict[str, int] = {}
    for length in footage.lengths:
        first.setdefault(length.pull, len(first))
    keyed = []
    for place, order in enumerate(orders):
        for index, length in enumerate(order.lengths):
            box = order.plan.box_of[index]
            keyed.append((first[length.pull], place, -1 if box is None else box, index))
    return [(place, index) for _, place, _, index in sorted(keyed)]


def boxes_of(orders: Sequence[CableOrder]) -> Iterator[Box]:
    """Yield every box and reel of the cut plans, partial ones on hand first."""
    for order in orders:
        pieces: list[list[float]] = [[] for _ in order.plan.box_m]
        for box, piece in zip(order.plan.box_of, order.plan.piece_m, strict=True):
            if box is not None:
                pieces[box].append(piece)
        for box, held in enumerate(order.plan.box_m):
            yield Box(
                name=order.box_name(box),
                cable=order.cable.id,
                on_hand=box < order.plan.on_hand,
                held_m=held,
                pieces_m=tuple(pieces[box]),
            )
