"""Searches behind a cut plan: best fit, filling box by box, and trying all fillings of a few boxes.

All lengths are whole cutting steps. A ``Shelf`` holds the boxes that a pull may cut from; each
search gives a ``Cuts``: which piece is taken from which box, boxes beyond the shelf being new ones.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from estimator.calc.cut_bounds import Sums, least_new_boxes

_FEW: Final = 40  # pieces for which all plans may be tried
_LEAST_STEPS: Final = 12  # steps that filling one box may take at the least
_MOST_STEPS: Final = 400  # and at the most
_PACK_SHARE: Final = 4  # part of the steps left that one search of all fillings may take
_SPARES: Final = (0.0, 1.0, 0.5, 2.0)  # shares of the average waste that one box may leave

Shelf = list[tuple[int, int]]
"""Boxes that are open, as (what is left in it, its number), the emptiest first."""


@dataclass(slots=True)
class Cuts:
    """Pieces by box, as (box, size): a box from ``first_new`` on is new."""

    put_up: int
    first_new: int
    taken: list[tuple[int, int]] = field(default_factory=list)
    left: dict[int, int] = field(default_factory=dict)  # of the boxes that were looked at
    opened: int = 0
    uncut: list[int] = field(default_factory=list)  # pieces that got no box

    def open(self) -> int:
        """Open a new box, and return its number."""
        box = self.first_new + self.opened
        self.left[box] = self.put_up
        self.opened += 1
        return box

    def take(self, box: int, size: int) -> None:
        """Cut a piece from a box."""
        self.taken.append((box, size))
        self.left[box] -= size

    def put_back(self, box: int) -> None:
        """Undo the last cut, which was from this box."""
        self.left[box] += self.taken.pop()[1]

    def add(self, later: Cuts) -> None:
        """Add what was cut afterwards, from the same boxes and new ones."""
        self.taken += later.taken
        self.left |= later.left
        self.opened += later.opened
        self.uncut += later.uncut

    @property
    def rank(self) -> tuple[int, int, int]:
        """The lower the better: pieces without a box, new boxes, then few long ends before many short ones."""
        return len(self.uncut), self.opened, -sum(left * left for left in self.left.values())


@dataclass(slots=True)
class Effort:
    """Steps that all searches of a plan share, so that a large job costs no more than it may."""

    steps: int

    def spend(self, steps: int) -> bool:
        """Take steps off; whether there were any left."""
        self.steps -= steps
        return self.steps > 0


class Pool:
    """Pieces still to be cut: how many of each size, and the different sizes in order."""

    __slots__ = ("counts", "pieces", "sizes", "total")

    def __init__(self, sizes: Sequence[int]) -> None:
        """Count the pieces."""
        self.counts: Final = Counter(sizes)
        self.sizes: Final = sorted(self.counts)
        self.pieces = len(sizes)
        self.total = sum(sizes)

    def take(self, size: int) -> None:
        """Take a piece of a size out of the pool."""
        self.counts[size] -= 1
        self.pieces -= 1
        self.total -= size
        if not self.counts[size]:
            self.sizes.pop(bisect_left(self.sizes, size))

    def put_back(self, size: int) -> None:
        """Put a piece of a size back."""
        if not self.counts[size]:
            insort(self.sizes, size)
        self.counts[size] += 1
        self.pieces += 1
        self.total += size

    def all(self) -> list[int]:
        """All pieces left, the longest first."""
        return [size for size in reversed(self.sizes) for _ in range(self.counts[size])]

    def longest(self, held: int) -> int:
        """The longest piece that a box can give, -1 where there is none."""
        at = bisect_right(self.sizes, held) - 1
        return self.sizes[at] if at >= 0 else -1

    def fullest(self, gap: int, effort: Effort, spare: int) -> list[int]:
        """The sizes that fill a gap best, larger ones tried first, within a few steps.

        The first choice that leaves no more than ``spare`` is taken, which keeps small pieces for later.
        """
        sizes, counts, steps = self.sizes, self.counts, max(_LEAST_STEPS, min(_MOST_STEPS, effort.steps))
        best, taken = list[int](), list[int]()
        room = left = gap
        tops = [len(sizes) - 1]  # by depth, the largest size still to be tried
        before = steps
        while tops and room > spare and steps:
            steps -= 1
            top = min(tops[-1], bisect_right(sizes, left) - 1)
            while top >= 0 and taken.count(sizes[top]) >= counts[sizes[top]]:
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
        effort.spend(max(1, before - steps))
        return best


def _fillings(pool: Pool, held: int, waste: int) -> Iterator[list[int]]:
    """Every choice of sizes that leaves no more than ``waste`` and no room for one more, long pieces first.

    ``sums[i]`` holds what the sizes below the i-th reach, so that a branch that leads nowhere is not entered.
    """
    sizes = pool.sizes[: bisect_right(pool.sizes, held)]
    counts = [pool.counts[size] for size in sizes]
    reached, sums, chosen = Sums(held), [1], list[int]()
    for size, count in zip(sizes, counts, strict=True):
        reached.add(size, count)
        sums.append(reached.bits)

    def reaches(index: int, left: int) -> bool:
        return bool((sums[index] >> max(0, left - waste)) & ((1 << (min(waste, left) + 1)) - 1))

    def choose(index: int, left: int) -> Iterator[list[int]]:
        index = min(index, bisect_right(sizes, left))
        if index == 0:
            if left <= waste and not any(
                size <= left and chosen.count(size) < count for size, count in zip(sizes, counts, strict=True)
            ):
                yield chosen[:]
            return
        size = sizes[index - 1]
        for count in range(min(counts[index - 1], left // size), -1, -1):
            if reaches(index - 1, left - count * size):
                chosen.extend([size] * count)
                yield from choose(index - 1, left - count * size)
                del chosen[len(chosen) - count :]

    if reaches(len(sizes), held):
        yield from choose(len(sizes), held)


class _Packing:
    """The search for a plan with a given number of new boxes: box after box, all fillings that may lead there."""

    def __init__(self, sizes: Sequence[int], shelf: Shelf, cuts: Cuts, new: int, effort: Effort) -> None:
        self.pool: Final = Pool(sizes)
        self.cuts: Final = cuts
        self.boxes: Final = [*shelf, *((cuts.put_up, cuts.open()) for _ in range(new))]
        self.effort: Final = effort

    def run(self) -> bool:
        """Whether all pieces found a box."""
        return self._next(0, sum(left for left, _ in self.boxes) - self.pool.total)

    def _next(self, index: int, waste: int) -> bool:
        """Fill the boxes from this one on, which may leave ``waste`` in all."""
        if not self.pool.pieces:
            return True
        if waste < 0 or index == len(self.boxes) or not self.effort.spend(30):
            return False
        held, box = self.boxes[index]
        first = []
        if box >= self.cuts.first_new:  # all boxes that follow are alike: the longest piece may lie in this one
            longest = self.pool.longest(held)
            if longest != self.pool.sizes[-1]:
                return False
            first = [longest]
            self._take(first, box)
        gap, fair = self.cuts.left[box], waste // (len(self.boxes) - index)
        for low, high in ((-1, fair), (fair, waste)):
            for filling in _fillings(self.pool, gap, high):
                left = gap - sum(filling)
                if left <= low:
                    continue
                if not self.effort.spend(10):
                    return False
                self._take(filling, box)
                if self._next(index + 1, waste - left):
                    return True
                self._put_back(filling, box)
        self._put_back(first, box)
        return False

    def _take(self, sizes: Sequence[int], box: int) -> None:
        for size in sizes:
            self.pool.take(size)
            self.cuts.take(box, size)

    def _put_back(self, sizes: Sequence[int], box: int) -> None:
        for size in sizes:
            self.pool.put_back(size)
            self.cuts.put_back(box)


class CutSearch:
    """The searches for one put-up, which share a number of steps so that a large job costs no more than it may."""

    __slots__ = ("effort", "put_up")

    def __init__(self, put_up: int, steps: int) -> None:
        """Search for boxes of a put-up, within so many steps."""
        self.put_up: Final = put_up
        self.effort: Final = Effort(steps)

    def cuts(self, shelf: Shelf, first_new: int) -> Cuts:
        """Nothing cut yet."""
        return Cuts(self.put_up, first_new, left={box: left for left, box in shelf})

    def best_fit(self, sizes: Sequence[int], shelf: Shelf, first_new: int, at_once: int = 1) -> Cuts:
        """Longest piece first, each from the box in which it leaves least; pieces pulled at once from others."""
        cuts, rest = self.cuts(shelf, first_new), shelf[:]
        for start in range(0, len(sizes), at_once):
            used = []
            for size in sizes[start : start + at_once]:
                at = bisect_left(rest, (size, -1))
                if at < len(rest):
                    box = rest.pop(at)[1]
                elif size <= self.put_up:
                    box = cuts.open()
                else:
                    cuts.uncut.append(size)
                    continue
                cuts.take(box, size)
                used.append((cuts.left[box], box))
            for remainder in used:
                insort(rest, remainder)
        return cuts

    def fill(self, sizes: Sequence[int], shelf: Shelf, first_new: int, *, spare: int, keep: int = 0) -> Cuts:
        """One box after the other, each filled as fully as a short search finds: those on the shelf first.

        Stops where no more than ``keep`` pieces are left, which are then ``uncut``.
        """
        cuts, pool = self.cuts(shelf, first_new), Pool(sizes)
        for left, box in shelf:
            if pool.pieces <= keep:
                break
            for size in pool.fullest(left, self.effort, spare):
                pool.take(size)
                cuts.take(box, size)
        while pool.pieces > keep and (longest := pool.longest(self.put_up)) >= 0:
            box = cuts.open()
            pool.take(longest)
            cuts.take(box, longest)
            left = cuts.left[box]
            for size in pool.all() if pool.total <= left else pool.fullest(left, self.effort, spare):
                pool.take(size)
                cuts.take(box, size)
        cuts.uncut = pool.all()
        return cuts

    def pack(self, sizes: Sequence[int], shelf: Shelf, first_new: int, *, new: int) -> Cuts | None:
        """A plan with no more than so many new boxes, or None where none is found within the effort.

        Method: box by box, all fillings that leave no more than the whole plan may leave; a new box holds
        the longest piece left. Where the effort does not run out, None proves that there is no such plan.
        """
        cuts, part = self.cuts(shelf, first_new), Effort(self.effort.steps // _PACK_SHARE)
        before = part.steps
        found = _Packing(sizes, shelf, cuts, new, part).run()
        self.effort.spend(before - part.steps)
        return cuts if found else None

    def best(self, sizes: Sequence[int], shelf: Shelf, first_new: int) -> Cuts:
        """The best plan that the searches find for one pull, its pieces longest first."""
        best = self.best_fit(sizes, shelf, first_new)
        if best.opened + len(shelf) < 2 or len(sizes) == 1 or not sizes[-1]:
            return best  # one box or one run, or a run without length: nothing to choose
        if len(sizes) > 2 * _FEW:
            return min(best, self._in_two(sizes, shelf, first_new), key=lambda cuts: cuts.rank)
        held = sum(left for left, _ in shelf) + best.opened * self.put_up
        waste = max(0, held - sum(sizes)) // (len(shelf) + best.opened)
        for share in _SPARES:
            if self.effort.steps <= 0:
                break
            other = self.fill(sizes, shelf, first_new, spare=int(waste * share))
            best = min(best, other, key=lambda cuts: cuts.rank)
        return self._fewer(best, sizes, shelf, first_new)

    def _in_two(self, sizes: Sequence[int], shelf: Shelf, first_new: int) -> Cuts:
        """Box by box while there are many pieces to choose from, then the best plan for the last few."""
        cuts = self.fill(sizes, shelf, first_new, spare=0, keep=_FEW)
        rest, cuts.uncut = cuts.uncut, []
        ends = sorted((left, box) for box, left in cuts.left.items() if rest and left >= rest[-1])
        cuts.add(self.best(rest, ends, first_new + cuts.opened))
        return cuts

    def _fewer(self, best: Cuts, sizes: Sequence[int], shelf: Shelf, first_new: int) -> Cuts:
        """The plan, or one with fewer new boxes if there is one."""
        if best.uncut or self.effort.steps <= 0:
            return best
        for new in range(least_new_boxes(sizes, self.put_up, [left for left, _ in shelf]), best.opened):
            found = self.pack(sizes, shelf, first_new, new=new)
            if found is not None:
                return found
        return best
