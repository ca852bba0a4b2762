"""Places on the drawn plan: distance along the two axes, and the nearest point of a segment."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.units.rounding import significant

ALONG_AXES: Final = Expression("abs(x - from_x) + abs(y - from_y)")
"""Distance on the plan along its two axes, as cable is laid with the building's lines [m]."""

STRAIGHT: Final = Expression("factor * sqrt((x - from_x) ** 2 + (y - from_y) ** 2)")
"""Straight distance on the plan times a factor for the way around things [m]."""

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Nearest:
    """The point of a segment that lies nearest to a place on the plan."""

    share: float  # how far along the segment, 0 at its start
    x_m: float
    y_m: float
    distance_m: float


def along_axes(place: Point, other: Point) -> float:
    """Return the distance between two points along the two axes [m].

    Equation: ALONG_AXES, on coordinates [m]. Source: estimating practice (takeoff along building lines).

    >>> along_axes((0.0, 0.0), (3.0, 4.0))
    7.0
    """
    return abs(place[0] - other[0]) + abs(place[1] - other[1])


def straight(place: Point, other: Point, *, factor: float = 1.0) -> float:
    """Return the straight distance between two points times a factor [m].

    ``factor`` [unitless]. Equation: STRAIGHT, on coordinates [m].
    Source: estimating practice (scaled plan distance).
    Raises: ValueError if the factor is below one, since no cable is shorter than the straight line.

    >>> straight((0.0, 0.0), (3.0, 4.0), factor=1.2)
    6.0
    """
    if not 1 <= factor < math.inf:
        raise ValueError(f"plan distance factor {factor!r} is not one or more")
    return factor * math.hypot(place[0] - other[0], place[1] - other[1])


def _between(share: float, start: Point, end: Point) -> Point:
    # Weighted this way both ends come out exactly as they were drawn.
    return (
        start[0] * (1 - share) + end[0] * share,
        start[1] * (1 - share) + end[1] * share,
    )


def _share(value: float, start: float, end: float) -> float:
    return 0.0 if start == end else min(1.0, max(0.0, (value - start) / (end - start)))


def nearest_along_axes(place: Point, start: Point, end: Point) -> Nearest:
    """Return the point of a straight segment nearest to a place, measured along the axes [m].

    That distance is made of straight pieces over the segment, so it is least at an end or where
    the segment crosses one of the place's two axes; of equal ones the straightest way counts,
    then the one nearer to the segment's start.
    Source: geometry.

    >>> nearest_along_axes((4.0, 3.0), (0.0, 0.0), (10.0, 0.0)).share
    0.4
    """
    if start[0] == end[0] or start[1] == end[1]:  # drawn along an axis: only its own axis moves it
        axis = 0 if start[1] == end[1] else 1
        share = _share(place[axis], start[axis], end[axis])
        point = _between(share, start, end)
        return Nearest(share=share, x_m=point[0], y_m=point[1], distance_m=along_axes(place, point))
    shares = (0.0, 1.0, _share(place[0], start[0], end[0]), _share(place[1], start[1], end[1]))
    best = min(
        (significant(along_axes(place, point)), significant(math.dist(place, point)), share, point)
        for share in shares
        for point in (_between(share, start, end),)
    )
    return Nearest(share=best[2], x_m=best[3][0], y_m=best[3][1], distance_m=along_axes(place, best[3]))


def nearest_straight(place: Point, start: Point, end: Point) -> Nearest:
    """Return the point of a straight segment nearest to a place, in a straight line [m].

    Source: geometry (foot of the perpendicular, held between the ends).

    >>> nearest_straight((4.0, 3.0), (0.0, 0.0), (10.0, 0.0)).distance_m
    3.0
    """
    across, up = end[0] - start[0], end[1] - start[1]
    squared = across * across + up * up
    along = (place[0] - start[0]) * across + (place[1] - start[1]) * up
    share = min(1.0, max(0.0, along / squared)) if squared > 0 else 0.0
    point = _between(share, start, end)
    return Nearest(share=share, x_m=point[0], y_m=point[1], distance_m=math.dist(place, point))


Measure = Callable[[Point, Point, Point], Nearest]
Drawn = tuple[str, Point, Point]


class SegmentIndex:
    """Segments sorted into square cells of the plan, so that a place looks at those around it only."""

    __slots__ = ("_cell", "_cells", "_drawn", "_high", "_low", "_measure")

    def __init__(self, drawn: Iterable[Drawn], *, measure: Measure = nearest_along_axes) -> None:
        """Sort segments, each an id and its two ends [m]; ``measure`` gives a segment's nearest point."""
        self._measure: Final = measure
        self._drawn: Final = tuple(drawn)
        ends = [end for _, *both in self._drawn for end in both] or [(0.0, 0.0)]
        self._low: Final = (min(x for x, _ in ends), min(y for _, y in ends))
        wide = max(max(x for x, _ in ends) - self._low[0], max(y for _, y in ends) - self._low[1])
        self._cell: Final = wide / max(1.0, math.sqrt(len(self._drawn))) or 1.0
        self._high: Final = self._place((max(x for x, _ in ends), max(y for _, y in ends)))
        self._cells: Final[dict[tuple[int, int], list[int]]] = {}
        for index, (_, start, end) in enumerate(self._drawn):
            for cell in self._crossed(start, end):
                self._cells.setdefault(cell, []).append(index)

    def _place(self, point: Point) -> tuple[int, int]:
        return (
            math.floor((point[0] - self._low[0]) / self._cell),
            math.floor((point[1] - self._low[1]) / self._cell),
        )

    def _crossed(self, start: Point, end: Point) -> Iterator[tuple[int, int]]:
        """Cells that a segment passes, column by column; float noise may take a neighbor instead."""
        left, right = sorted((start, end))
        columns = range(self._place(left)[0], self._place(right)[0] + 1)
        for column in columns:
            edges = (self._low[0] + (column + side) * self._cell for side in (0, 1))
            shares = [_share(min(max(x, left[0]), right[0]), left[0], right[0]) for x in edges]
            if left[0] == right[0]:
                shares = [0.0, 1.0]
            rows = sorted(self._place(_between(share, left, right))[1] for share in shares)
            yield from ((column, row) for row in range(rows[0], rows[1] + 1))

    def nearest(self, place: Point, *, accept: Callable[[str], bool] = lambda _: True) -> tuple[str, Nearest] | None:
        """Return the nearest segment and its nearest point; of equally near ones the first id.

        ``place`` [m]; only segments that ``accept`` takes are looked at; None where there is none.
        Method: rings of cells around the place, until no farther ring can hold a nearer one.
        Source: geometry.
        """
        column, row = self._place(place)
        ring = max(0, -column, -row, column - self._high[0], row - self._high[1])
        last = max(abs(column), abs(row), abs(self._high[0] - column), abs(self._high[1] - row)) + 1
        seen: set[int] = set()
        best: tuple[float, str, Nearest] | None = None
        # One ring more than geometry asks, since float noise may have sorted a segment next door.
        while ring <= last and (best is None or best[0] >= (ring - 1) * self._cell):
            far_off = ring > len(self._drawn)  # a ring of more cells than there are segments
            for index in range(len(self._drawn)) if far_off else self._around(column, row, ring):
                name, start, end = self._drawn[index]
                if index in seen or not accept(name):
                    continue
                seen.add(index)
                found = self._measure(place, start, end)
                rank = (significant(found.distance_m), name)
                if best is None or rank < best[:2]:
                    best = (*rank, found)
            ring = last + 1 if far_off else ring + 1
        return None if best is None else best[1:]

    def _around(self, column: int, row: int, ring: int) -> Iterator[int]:
        for x in range(column - ring, column + ring + 1):
            edge = abs(x - column) == ring
            for y in range(row - ring, row + ring + 1, 1 if edge else max(1, 2 * ring)):
                yield from self._cells.get((x, y), ())
