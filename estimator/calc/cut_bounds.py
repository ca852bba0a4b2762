"""What whole runs can fill: sums that pieces reach, and boxes that no cut plan can do without.

All lengths are whole cutting steps. A set of sums is one whole number whose bit *s* says that some
of the pieces are *s* steps long together, so that adding a piece is one shift.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from estimator.calc.checked import each, not_negative

_MOST_BITS: Final = 20_000_000  # shifted bits above which sums are not worked out: fine steps on long reels
_PARTS: Final = 12  # a box is looked at in up to so many parts; shorter pieces count by their length


class Sums:
    """The sums that whole pieces reach, none above ``most`` steps."""

    __slots__ = ("bits", "most")

    def __init__(self, most: int) -> None:
        """Start without a piece: the only sum is nothing."""
        self.most: Final = most
        self.bits = 1

    def add(self, piece: int, count: int) -> None:
        """Add up to ``count`` pieces of one size."""
        mask, taken = (1 << (self.most + 1)) - 1, 1
        count = min(count, self.most // piece)
        while count > 0:  # 1, 2, 4, ... pieces at a time reach every number of them
            taken = min(taken, count)
            self.bits |= (self.bits << (taken * piece)) & mask
            count -= taken
            taken *= 2

    def fullest(self, held: int) -> int:
        """The most that whole pieces take out of a box that holds so many steps."""
        return (self.bits & ((1 << (held + 1)) - 1)).bit_length() - 1


def _by_length(sizes: Mapping[int, int], put_up: int, stock: Sequence[int]) -> int:
    """All length over the most that whole pieces take out of a box."""
    need, most = sum(piece * count for piece, count in sizes.items()), max((put_up, *stock))
    if most * len(sizes) > _MOST_BITS:
        return -(-(need - sum(stock)) // put_up)
    sums = Sums(most)
    for piece, count in sizes.items():
        sums.add(piece, count)
    return -(-(need - sum(map(sums.fullest, stock))) // sums.fullest(put_up))


def _by_parts(sizes: Mapping[int, int], put_up: int, stock: Sequence[int], parts: int) -> int:
    """Boxes where a piece counts as whole parts: one just over a third of a box fits twice, not 2.9 times."""

    def weight(piece: int) -> int:
        whole, rest = divmod((parts + 1) * piece, put_up)
        return whole * (parts + 1) if rest or piece > put_up else whole * parts

    need = sum(weight(piece) * count for piece, count in sizes.items()) - sum(map(weight, stock))
    return -(-need // (parts * (parts + 1)))


def _by_pairs(sizes: Mapping[int, int], put_up: int, stock: Sequence[int], short: int) -> int:
    """Boxes where pieces below ``short`` count nothing, and one that leaves less than that takes its box."""

    def weight(piece: int) -> int:
        if piece > put_up:  # a longer reel on hand: no less than what it can give
            return piece * put_up // (put_up - short + 1)
        return put_up if piece > put_up - short else piece * (piece >= short)

    need = sum(weight(piece) * count for piece, count in sizes.items()) - sum(map(weight, stock))
    return -(-need // put_up)


def least_new_boxes(needs: Sequence[int], put_up: int, stock: Sequence[int] = ()) -> int:
    """Return a number of new boxes that no cut plan can do without [boxes].

    ``needs`` and ``put_up`` are whole steps, ``stock`` what partial boxes hold. The highest of: all
    length over the most that whole runs take out of a box; each run as whole parts of a box, for
    halves, thirds and so on; long runs that leave room for no other.
    Method: sums of whole pieces, and dual feasible functions. Source: bin-packing literature, lower
    bounds by dual feasible functions (rounding to parts of a box, and threshold).
    Raises: ValueError for a number of steps below zero.
    """
    not_negative(put_up=put_up)
    if min(*needs, *stock, 0, 0) < 0:
        each(not_negative, needs=needs, stock=stock)
    sizes = Counter(need for need in needs if 0 < need <= put_up)
    if not sizes:
        return 0
    bounds = [0, _by_length(sizes, put_up, stock)]
    bounds += [_by_parts(sizes, put_up, stock, parts) for parts in range(1, _PARTS + 1)]
    longest = max(sizes)
    bounds += [
        _by_pairs(sizes, put_up, stock, short)
        for short in sorted({put_up - piece + 1 for piece in sizes if 2 * piece > put_up})
        if longest > put_up - short and 2 * short <= put_up
    ]
    return max(bounds)
