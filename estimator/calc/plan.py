"""Places on the drawn plan: distance along the two axes, and the nearest point of a segment."""

from __future__ import annotations

import math
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

    Equation: STRAIGHT, on coordinates [m]. Source: estimating practice (scaled plan distance).
    Raises: ValueError if the factor is below one, since no cable is shorter than the straight line.

    >>> straight((0.0, 0.0), (3.0, 4.0), factor=1.2)
    6.0
    """
    if not factor >= 1:
        raise ValueError(f"plan distance factor {factor!r} is below 1")
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
