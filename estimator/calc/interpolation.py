"""Straight lines between the rows of a table."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise

from estimator.calc.checked import finite
from estimator.units.rounding import over, under


def between(*, points: Sequence[tuple[float, float]], at: float) -> float:
    """Return the value at a place between the rows of a table [unit of the second column].

    ``points`` are the table's rows as (place, value), places rising.
    Source: linear interpolation.
    Raises: ValueError if the table is empty or out of order, a number is none, or the place lies outside.

    >>> between(points=[(0, 10), (10, 30)], at=2.5)
    15.0
    """
    finite(at=at)
    for number, (place, value) in enumerate(points):
        if not (math.isfinite(place) and math.isfinite(value)):
            raise ValueError(f"points[{number}] must hold two finite numbers, not {(place, value)!r}")
    places = [place for place, _ in points]
    if not places or any(a >= b for a, b in pairwise(places)):
        raise ValueError(f"places must rise from row to row, not {places!r}")
    if under(at, places[0]) or over(at, places[-1]):
        raise ValueError(f"{at!r} is outside the table, which spans {places[0]!r} to {places[-1]!r}")
    after = min(max(bisect_left(places, at), 1), len(points) - 1)
    if len(points) == 1:
        return float(points[0][1])
    (low, low_value), (high, high_value) = points[after - 1], points[after]
    return low_value + (high_value - low_value) * (at - low) / (high - low)
