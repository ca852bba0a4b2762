"""Cut plans: which run comes from which box, what is left, and how many boxes to order.

Every run is one unspliced piece. Lengths become whole numbers of ``cut_to`` steps, up for a piece
and down for what a box holds, so that nothing is decided by float noise. Pull after pull is cut
from the open boxes first, partial ones on hand among them; what a pull leaves is stock for the next.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.cut_bounds import least_new_boxes
from estimator.calc.cut_search import CutSearch, Shelf
from estimator.calc.formula import Expression
from estimator.units.rounding import round_down, round_up

PIECE: Final = Expression("ceil(length / cut_to) * cut_to")
"""The piece that is cut for a run: its expected length rounded up to the cutting step [m]."""

FOOTAGE_BOXES: Final = Expression("ceil(max(0, length * (1 + waste) - on_hand) / put_up)")
"""Boxes by footage: total expected length and waste, less what is on hand, over the put-up [boxes]."""

ORDER_BOXES: Final = Expression("max(by_plan, by_footage)")
"""Boxes to order: the larger of the cut plan and the footage [boxes]."""

ORDERED_LENGTH: Final = Expression("boxes * put_up")
"""Length that is bought in so many boxes [m]."""

CUT_TO_ORDER: Final = Expression("ceil(length * (1 + waste) / cut_to) * cut_to")
"""Length ordered for a run of a cable that has no put-up and is cut to order, such as optical fiber [m]."""

_STEPS: Final = 25_000  # steps that all searches of a plan share
_STEPS_A_RUN: Final = 8  # and more of them for a larger job
_DOUBTFUL: Final = 1e-6  # nearer than this to a whole step, the house's rounding decides


@dataclass(frozen=True, kw_only=True, slots=True)
class CutPlan:
    """Which run comes from which box; runs and boxes are numbered from zero.

    The first ``on_hand`` boxes are the partial boxes handed in, the rest are new.
    """

    box_of: tuple[int | None, ...]  # by run; None where no box is long enough
    piece_m: tuple[float, ...]  # by run, rounded up to the cutting step
    box_m: tuple[float, ...]  # by box, what it held
    left_m: tuple[float, ...]  # by box, what is left in it
    on_hand: int
    too_long: tuple[int, ...]  # runs that no box can give in one piece
    least_boxes: int  # no plan needs fewer new boxes: what whole runs can fill

    @property
    def new_boxes(self) -> int:
        """Number of boxes to open beyond those on hand."""
        return len(self.box_m) - self.on_hand

    def runs_of(self, box: int) -> tuple[int, ...]:
        """Return the runs cut from a box, in the order they were handed in."""
        return tuple(run for run, source in enumerate(self.box_of) if source == box)


def _steps_up(lengths_m: Sequence[float], step_m: float) -> list[int]:
    known: dict[float, int] = {}
    steps = []
    for length_m in lengths_m:
        whole = known.get(length_m)
        if whole is None:
            if not math.isfinite(length_m) or length_m < 0:
                each(not_negative, lengths_m=lengths_m)
            exact = length_m / step_m
            whole = math.ceil(exact)
            if not _DOUBTFUL < whole - exact < 1 - _DOUBTFUL:
                whole = round_up(exact)
            known[length_m] = whole
        steps.append(whole)
    return steps


def _groups(needs: Sequence[int], pulls: Sequence[str]) -> list[list[int]]:
    """Each pull's runs, longest first, pulls in the order in which they first appear."""
    groups: dict[str, list[int]] = {}
    for run, pull in enumerate(pulls):
        groups.setdefault(pull, []).append(run)
    for group in groups.values():
        group.sort(key=lambda run: (-needs[run], run))
    return list(groups.values())


class _Work:
    """Boxes while the pulls are served one after the other; what one pull leaves is stock for the next."""

    def __init__(self, needs: Sequence[int], put_up: int, stock: Sequence[int]) -> None:
        self.needs: Final = needs
        self.left: Final[list[int]] = [*stock]
        self.box_of: Final[list[int | None]] = [None] * len(needs)
        self.search: Final = CutSearch(put_up, _STEPS + _STEPS_A_RUN * len(needs))
        self.shortest: Final = min(needs, default=0)  # a box that holds less is of no use any more
        self.shelf: Shelf = sorted((left, box) for box, left in enumerate(stock))

    def serve(self, runs: Sequence[int], at_once: int) -> None:
        """Cut the runs of a pull, which come longest first."""
        sizes = [self.needs[run] for run in runs]
        usable = self.shelf[bisect_left(self.shelf, (sizes[-1], -1)) :]
        if at_once == 1:
            cuts = self.search.best(sizes, usable, len(self.left))
        else:
            cuts = self.search.best_fit(sizes, usable, len(self.left), at_once)
        self.left.extend([0] * cuts.opened)
        for box, left in cuts.left.items():
            self.left[box] = left
        opened = ((left, box) for box, left in cuts.left.items() if left >= self.shortest)
        self.shelf = sorted([*self.shelf[: len(self.shelf) - len(usable)], *opened])
        boxes: dict[int, list[int]] = {}
        # Runs of one length go box by box; those of a bundle as they were cut, for their boxes differ.
        for box, size in reversed(cuts.taken if at_once > 1 else sorted(cuts.taken)):
            boxes.setdefault(size, []).append(box)
        for run, size in zip(runs, sizes, strict=True):
            if boxes.get(size):
                self.box_of[run] = boxes[size].pop()


def cut_plan(
    lengths_m: Sequence[float],
    *,
    put_up_m: float,
    cut_to_m: float,
    on_hand_m: Sequence[float] = (),
    pulls: Sequence[str] | None = None,
    at_once: int = 1,
) -> CutPlan:
    """Return a plan that cuts each run [m] in one piece from boxes of one put-up [m].

    Each length is rounded up to ``cut_to_m`` [m]; ``on_hand_m`` are the lengths [m] left in partial
    boxes, used before a new box is opened. ``pulls`` names the pull of each run: the plan goes pull
    by pull in the order in which they first appear. A crew that pulls ``at_once`` cables together
    needs as many boxes: the runs of such a bundle come from different boxes.
    Method, pull by pull: best-fit decreasing by bisection, filling box by box with bounded searches,
    and for a few dozen runs all fillings of a given number of boxes; fewest new boxes count, then one
    long end before several short ones, as it is stock for the next pull. Bundles: best fit alone.
    Source: cutting-stock practice; one piece a run as a home run has no splice.
    Raises: ValueError for a put-up, step or bundle that is not above zero, a length or a partial box
    below it, or another number of pulls than of runs.
    """
    positive(put_up_m=put_up_m, cut_to_m=cut_to_m, at_once=at_once)
    each(not_negative, on_hand_m=on_hand_m)
    names = pulls if pulls is not None else [""] * len(lengths_m)
    if len(names) != len(lengths_m):
        raise ValueError(f"{len(names)} pulls are named for {len(lengths_m)} runs")
    needs = _steps_up(lengths_m, cut_to_m)
    put_up = round_down(put_up_m / cut_to_m)
    stock = [round_down(left / cut_to_m) for left in on_hand_m]
    work = _Work(needs, put_up, stock)
    for runs in _groups(needs, names):
        work.serve(runs, at_once)
    return CutPlan(
        box_of=tuple(work.box_of),
        piece_m=tuple(need * cut_to_m for need in needs),
        box_m=(*on_hand_m, *([put_up_m] * (len(work.left) - len(stock)))),
        left_m=tuple(left * cut_to_m for left in work.left),
        on_hand=len(stock),
        too_long=tuple(run for run, box in enumerate(work.box_of) if box is None),
        least_boxes=least_new_boxes(needs, put_up, stock),
    )


def cut_to_order(
    lengths_m: Sequence[float], *, cut_to_m: float, waste: float, on_hand_m: Sequence[float] = ()
) -> CutPlan:
    """Return a plan that orders each run [m] on a reel of its own, where what is on hand does not give it.

    Each reel is the run and its waste, rounded up to ``cut_to_m`` [m]; ``waste`` a share [unitless];
    ``on_hand_m`` are the lengths [m] on hand, used longest run first.
    Equation: CUT_TO_ORDER. Source: trade practice, optical fiber by measured run and slack, no standard put-up.
    Raises: ValueError for a step that is not above zero, or a length, waste or reel on hand below it.
    """
    positive(cut_to_m=cut_to_m)
    not_negative(waste=waste)
    given = cut_plan(lengths_m, put_up_m=cut_to_m, cut_to_m=cut_to_m, on_hand_m=on_hand_m, at_once=1)
    stock = len(on_hand_m)
    box_of = [box if box is not None and box < stock else None for box in given.box_of]
    reels_m, lefts_m = list[float](), list[float]()
    for run, box in enumerate(box_of):
        if box is None:
            box_of[run] = stock + len(reels_m)
            reels_m.append(CUT_TO_ORDER(length=lengths_m[run], waste=waste, cut_to=cut_to_m))
            lefts_m.append(max(0.0, reels_m[-1] - given.piece_m[run]))
    return CutPlan(
        box_of=tuple(box_of),
        piece_m=given.piece_m,
        box_m=(*on_hand_m, *reels_m),
        left_m=(*given.left_m[:stock], *lefts_m),
        on_hand=stock,
        too_long=(),
        least_boxes=len(reels_m),
    )


def footage_boxes(*, length_m: float, waste: float, put_up_m: float, on_hand_m: float = 0.0) -> int:
    """Return the boxes that total expected length and waste ask for, rounded up [boxes].

    ``length_m`` [m] is the sum of the expected lengths, ``waste`` a share [unitless], ``put_up_m``
    [m] what a box holds, ``on_hand_m`` [m] what partial boxes hold.
    Equation: FOOTAGE_BOXES. Source: estimating practice (footage method).
    Raises: ValueError if the put-up is not above zero or another input is below it.

    >>> footage_boxes(length_m=2900.0, waste=0.05, put_up_m=304.8)
    10
    """
    positive(put_up_m=put_up_m)
    not_negative(length_m=length_m, waste=waste, on_hand_m=on_hand_m)
    return round_up(FOOTAGE_BOXES(length=length_m, waste=waste, put_up=put_up_m, on_hand=on_hand_m))
