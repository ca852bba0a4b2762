"""Cables packed in a conduit: held to shapely's geometry and to published walls of few equal circles."""

from __future__ import annotations

import math
from functools import partial
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point

from estimator.calc import packing
from estimator.calc.packing import Circle, packed
from tests.calc.refusals import Refused

REFUSED = [
    Refused(
        possible=partial(packing.packed, radii_m=[0.003], wall_m=0.01),
        above_zero="wall_m",
        wrong=(("radii_m", [0.003, -0.1]), ("radii_m", [math.inf])),
    ),
]

CORNERS = 256  # of a quarter of shapely's circle, which lies inside the true one by 2e-5 of its radius
INSIDE = 4e-5  # of the wall's radius: what two such circles may be off together


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the docstring says it raises, with the value in the message."""
    refused.hold()


# Source: tables of the smallest circle around equal circles, proven optimal up to seven of them (Graham 1968):
# radius of the wall over that of a circle, printed to three places; rounded up here, so that they still fit.
@pytest.mark.parametrize(
    ("count", "ratio"), [(1, 1.0), (2, 2.0), (3, 2.155), (4, 2.415), (5, 2.702), (6, 3.0), (7, 3.0)]
)
def test_few_equal_circles_fit_the_smallest_wall(count: int, ratio: float) -> None:
    """What is proven to be the smallest wall holds them, and a wall one percent smaller does not."""
    assert len(packed(radii_m=[0.5] * count, wall_m=0.5 * ratio)) == count
    assert len(packed(radii_m=[0.5] * count, wall_m=0.5 * ratio * 0.99)) < count


def test_seven_equal_circles_lie_as_a_ring_around_one() -> None:
    """In a wall of three diameters one lies in the middle and six around it, the lowest below it."""
    laid = packed(radii_m=[1.0] * 7, wall_m=3.0)
    away = sorted(math.hypot(one.x_m, one.y_m) for one in laid)
    assert away == pytest.approx([0.0, *[2.0] * 6], abs=1e-8)
    assert min(one.y_m for one in laid) == pytest.approx(-2.0, abs=1e-8)


def _shape(circle: Circle) -> Point:
    return Point(circle.x_m, circle.y_m).buffer(circle.radius_m, quad_segs=CORNERS)


@settings(max_examples=60, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(0.05, 0.6), st.integers(1, 14)), min_size=1, max_size=4),
    wall=st.floats(0.3, 1.5),
)
def test_none_overlaps_another_or_crosses_the_wall(sizes: list[tuple[float, int]], wall: float) -> None:
    """An independent geometry finds no area that two circles share, and none outside the wall."""
    radii = [radius for radius, count in sizes for _ in range(count)]
    laid = packed(radii_m=radii, wall_m=wall)
    inside = Point(0, 0).buffer(wall, quad_segs=CORNERS)
    shapes = [_shape(one) for one in laid]
    least = INSIDE * wall * wall
    assert all(shape.difference(inside).area <= least for shape in shapes)
    assert all(one.intersection(other).area <= least for one, other in combinations(shapes, 2))
    assert sorted(one.radius_m for one in laid) == sorted(one.radius_m for one in laid if one.radius_m in radii)


@settings(max_examples=40, deadline=None)
@given(count=st.integers(1, 60), radius=st.floats(0.01, 0.2))
def test_cables_up_to_two_fifths_of_a_conduit_all_find_room(count: int, radius: float) -> None:
    """A conduit that is legally filled is drawn with all of its cables, however many they are.

    Three or more may fill 40 % (NFPA 70, Chapter 9, Table 1); equal circles then always find room.
    """
    wall = radius * math.sqrt(max(count, 3) / 0.4)
    assert len(packed(radii_m=[radius] * count, wall_m=wall)) == count


@pytest.mark.parametrize(("radii", "wall"), [([], 1.0), ([2.0], 1.0)])
def test_nothing_is_laid_where_nothing_fits(radii: list[float], wall: float) -> None:
    """No cable, or one wider than its conduit, leaves an empty picture."""
    assert packed(radii_m=radii, wall_m=wall) == ()


def test_the_same_cables_lie_the_same_way() -> None:
    """The order in which cables are typed does not move them."""
    radii = [0.3, 0.2, 0.2, 0.45, 0.3]
    assert packed(radii_m=radii, wall_m=1.0) == packed(radii_m=radii[::-1], wall_m=1.0)
