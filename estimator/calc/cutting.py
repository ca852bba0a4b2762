"""Cut plans: which run comes from which box, what is left, and how many boxes to order.

Every run is one unspliced piece. Lengths become whole numbers of ``cut_to`` steps, up for a piece
and down for what a box holds, so that nothing is decided by float noise. Plans are made by
best fit and by filling one box after the other, and the one with the fewest new boxes is kept.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

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
"""Length ordered of a cable that has no put-up and is cut to order, such as optical fiber [m]."""

AVERAGE_BOXES: Final = Expression("ceil(drops / floor(put_up / average))")
"""Boxes from an average run before there are routes: whole runs a box, its tail scrap [boxes]."""

_SEARCH_STEPS: Final = 40_000  # steps that all boxes of a plan share while they are filled
_LEAST_STEPS: Final = 12  # steps that one box may take at the least
_MOST_VISITS: Final = 5_000  # pulls times boxes, above which only the quick plan is made
_SPARES: Final = (0.0, 1.0, 0.5, 2.0, 0.25, 1.5, 3.0)  # shares of the average waste, each tried once
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
    least_boxes: int  # no plan needs fewer new boxes than the length alone asks for

    @property
    def new_boxes(self) -> int:
        """Number of boxes to open beyond those on hand."""
        return len(self.box_m) - self.on_hand

    def runs_of(self, box: int) -> tuple[int, ...]:
        """Return the runs cut from a box, in the order they were handed in."""
        return tuple(run for run, source in enumerate(self.box_of) if source == box)


@dataclass(slots=True)
class _Layout:
    """A plan in the making, all lengths in whole steps."""

    put_up: int
    box: list[int]
    left: list[int]
    box_of: list[int | None]

    def take(self, run: int, need: int, box: int) -> None:
        """Cut a run from a box, opening it where it is the next new one."""
        if box == len(self.box):
            self.box.append(self.put_up)
            self.left.append(self.put_up)
        self.left[box] -= need
        self.box_of[run] = box


def _steps_up(lengths_m: Iterable[float], step_m: float) -> list[int]:
    known: dict[float, int] = {}
    steps = []
    for length_m in lengths_m:
        whole = known.get(length_m)
        if whole is None:
            if not math.isfinite(length_m) or length_m < 0:
                raise ValueError(f"run length {length_m!r} m is not zero or more")
            exact = length_m / step_m
            whole = math.ceil(exact)
            if not _DOUBTFUL < whole - exact < 1 - _DOUBTFUL:
                whole = round_up(exact)
            known[length_m] = whole
        steps.append(whole)
    return steps


def _bundles(needs: Sequence[int], pulls: Sequence[str], at_once: int) -> list[list[list[int]]]:
    """Each pull's runs, longest first, in bundles that are pulled at once."""
    groups: dict[str, list[int]] = {}
    for run, pull in enumerate(pulls):
        groups.setdefault(pull, []).append(run)
    bundled = []
    for group in groups.values():
        group.sort(key=lambda run: (-needs[run], run))
        bundled.append([group[at : at + at_once] for at in range(0, len(group), at_once)])
    return bundled


def _best_fit(needs: Sequence[int], pulls: list[list[list[int]]], layout: _Layout) -> None:
    """Longest run first, each from the box in which it leaves least; a bundle's boxes all differ."""
    shelf = sorted((left, box) for box, left in enumerate(layout.left))
    for bundle in (bundle for pull in pulls for bundle in pull):
        used = []
        for run in bundle:
            at = bisect_left(shelf, (needs[run], -1))
            if at < len(shelf):
                box = shelf.pop(at)[1]
            elif needs[run] <= layout.put_up:
                box = len(layout.box)
            else:
                continue
            layout.take(run, needs[run], box)
            used.append((layout.left[box], box))
        for remainder in used:
            insort(shelf, remainder)


class _Pool:
    """Runs still to be cut, by size; ``sizes`` keeps their different sizes in order."""

    __slots__ = ("runs", "sizes")

    def __init__(self, runs: Iterable[int], needs: Sequence[int]) -> None:
        self.runs: Final[dict[int, list[int]]] = {}
        for run in sorted(runs, reverse=True):
            self.runs.setdefault(needs[run], []).append(run)
        self.sizes: Final = sorted(self.runs)

    def take(self, size: int) -> int:
        """Take a run of a size out of the pool."""
        run = self.runs[size].pop()
        if not self.runs[size]:
            self.sizes.pop(bisect_left(self.sizes, size))
        return run

    def fullest(self, gap: int, steps: int, spare: int) -> list[int]:
        """The sizes that fill a gap best, larger ones tried first, within so many steps.

        The first choice that leaves no more than ``spare`` is taken, which keeps small runs for later.
        """
        sizes, best, taken = self.sizes, list[int](), list[int]()
        room = left = gap
        tops = [len(sizes) - 1]  # by depth, the largest size still to be tried
        while tops and room > spare and steps:
            steps -= 1
            top = min(tops[-1], bisect_right(sizes, left) - 1)
            while top >= 0 and taken.count(sizes[top]) >= len(self.runs[sizes[top]]):
                top -= 1
            if top < 0:
                tops.pop()
                if tops:  # put the last piece back and go on with the next smaller one
                    left += taken.pop()
                    tops[-1] -= 1
                continue
            tops[-1] = top
            tops.append(top)
            taken.append(sizes[top])
            left -= sizes[top]
            if left < room:
                best, room = taken[:], left
        return best


def _fill_boxes(needs: Sequence[int], pulls: list[list[list[int]]], layout: _Layout, steps: int, spare: int) -> None:
    """One box after the other, each filled as fully as a short search finds."""
    for pull in pulls:
        pool = _Pool((run for bundle in pull for run in bundle), needs)
        for left, box in sorted((left, box) for box, left in enumerate(layout.left)):
            for size in pool.fullest(left, steps, spare):
                layout.take(pool.take(size), size, box)
        while pool.sizes and pool.sizes[0] <= layout.put_up:
            box, longest = len(layout.box), pool.sizes[bisect_right(pool.sizes, layout.put_up) - 1]
            layout.take(pool.take(longest), longest, box)
            for size in pool.fullest(layout.left[box], steps, spare):
                layout.take(pool.take(size), size, box)


def _better_filled(needs: Sequence[int], pulls: list[list[list[int]]], plan: _Layout, stock: list[int]) -> _Layout:
    """The plan, or one made by filling box by box where that opens fewer boxes.

    Several fillings are tried, each content with another share of what the boxes may waste.
    """
    boxes, visits = len(plan.box), len(pulls) * len(plan.box)
    if visits > _MOST_VISITS:
        return plan
    uncut = plan.box_of.count(None)
    length = sum(need for need, box in zip(needs, plan.box_of, strict=True) if box is not None)
    waste = max(0, sum(plan.box) - plan.put_up - length) // boxes
    tries = _SPARES if visits * len(_SPARES) <= _MOST_VISITS else _SPARES[:1]
    for spare in tries:
        other = _Layout(plan.put_up, stock[:], stock[:], [None] * len(needs))
        steps = max(_LEAST_STEPS, _SEARCH_STEPS // (visits * len(tries)))
        _fill_boxes(needs, pulls, other, steps, int(waste * spare))
        if len(other.box) < len(plan.box) and other.box_of.count(None) <= uncut:
            plan = other
    return plan


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
    Method: best-fit decreasing by bisection; where that is above the length bound and bundles don't
    forbid it, also filling box by box with bounded searches; the plan with fewest new boxes counts.
    Source: cutting-stock practice; one piece a run as a home run has no splice.
    Raises: ValueError for a put-up, step, length or bundle that is not above zero.
    """
    for name, value in (("put-up", put_up_m), ("cutting step", cut_to_m), ("cables at once", at_once)):
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} {value!r} is not above zero")
    names = pulls if pulls is not None else [""] * len(lengths_m)
    if len(names) != len(lengths_m):
        raise ValueError(f"{len(names)} pulls are named for {len(lengths_m)} runs")
    needs = _steps_up(lengths_m, cut_to_m)
    put_up = round_down(put_up_m / cut_to_m)
    stock = [round_down(left / cut_to_m) for left in on_hand_m]
    grouped = _bundles(needs, names, at_once)
    plan = _Layout(put_up, stock[:], stock[:], [None] * len(needs))
    _best_fit(needs, grouped, plan)
    length = sum(need for need in needs if need <= put_up)
    least = max(0, -(-(length - sum(stock)) // put_up)) if put_up else 0
    if at_once == 1 and len(plan.box) - len(stock) > least:
        plan = _better_filled(needs, grouped, plan, stock)
    return CutPlan(
        box_of=tuple(plan.box_of),
        piece_m=tuple(need * cut_to_m for need in needs),
        box_m=(*on_hand_m, *([put_up_m] * (len(plan.box) - len(stock)))),
        left_m=tuple(left * cut_to_m for left in plan.left),
        on_hand=len(stock),
        too_long=tuple(run for run, box in enumerate(plan.box_of) if box is None),
        least_boxes=least,
    )


def footage_boxes(*, length_m: float, waste: float, put_up_m: float, on_hand_m: float = 0.0) -> int:
    """Return the boxes that total expected length and waste ask for, rounded up [boxes].

    ``length_m`` [m] is the sum of the expected lengths, ``waste`` a share [unitless], ``put_up_m``
    [m] what a box holds, ``on_hand_m`` [m] what partial boxes hold.
    Equation: FOOTAGE_BOXES. Source: estimating practice (footage method).
    Raises: ValueError if the put-up is not above zero or the waste is below it.

    >>> footage_boxes(length_m=2900.0, waste=0.05, put_up_m=304.8)
    10
    """
    if not put_up_m > 0 or waste < 0:
        raise ValueError(f"put-up {put_up_m!r} m must be above zero, waste {waste!r} zero or more")
    return round_up(FOOTAGE_BOXES(length=length_m, waste=waste, put_up=put_up_m, on_hand=on_hand_m))


def average_boxes(*, drops: int, average_m: float, put_up_m: float) -> int:
    """Return the boxes for so many drops of an average length, whole drops from a box [boxes].

    Equation: AVERAGE_BOXES. Source: trade articles on general wiring; each home run is one piece.
    Raises: ValueError if a box doesn't hold one average drop.

    >>> average_boxes(drops=24, average_m=45.0, put_up_m=304.8)
    4
    """
    if not average_m > 0 or round_down(put_up_m / average_m) < 1:
        raise ValueError(f"an average drop of {average_m!r} m does not come out of {put_up_m!r} m")
    return round_up(AVERAGE_BOXES(drops=drops, average=average_m, put_up=put_up_m))
