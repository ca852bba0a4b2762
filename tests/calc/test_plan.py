"""Distances on the plan, and the point of a segment where a cable leaves it."""

from __future__ import annotations

import math
import random
import time
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.plan import (
    ALONG_AXES,
    STRAIGHT,
    Point,
    SegmentIndex,
    along_axes,
    nearest_along_axes,
    nearest_straight,
    straight,
)
from tests.calc.refusals import Refused
from tests.published import Check

POINTS = st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))

CHECKS = [
    # Source: the 3-4-5 triangle: seven along its legs, five across.
    Check(
        discipline="plan",
        what="legs of the 3-4-5 triangle [m]",
        source="geometry; computed",
        expected=7,
        tolerance=0,
        obtained=lambda: ALONG_AXES(x=3, y=4, from_x=0, from_y=0),
    ),
    Check(
        discipline="plan",
        what="hypotenuse of the 3-4-5 triangle [m]",
        source="geometry; computed",
        expected=5,
        tolerance=0,
        obtained=lambda: STRAIGHT(factor=1, x=3, y=4, from_x=0, from_y=0),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


def test_functions_agree_with_their_printed_formulas() -> None:
    assert along_axes((7.5, -2.0), (1.25, 3.0)) == ALONG_AXES(x=7.5, y=-2, from_x=1.25, from_y=3)
    assert straight((7.5, -2.0), (1.25, 3.0), factor=1.3) == pytest.approx(
        STRAIGHT(factor=1.3, x=7.5, y=-2, from_x=1.25, from_y=3), rel=1e-14
    )


REFUSED = [
    Refused(
        possible=partial(straight, (0.0, 0.0), (3.0, 4.0), factor=1.2),
        wrong=(("factor", 0.9), ("factor", math.nan), ("factor", math.inf)),
    )
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_a_factor_below_one_is_refused(refused: Refused) -> None:
    refused.hold()


@settings(max_examples=100, deadline=None)
@given(place=POINTS, by=POINTS, to=POINTS)
def test_a_way_over_a_third_point_is_never_shorter(place: Point, by: Point, to: Point) -> None:
    """Splitting a distance on the plan never shortens it, and cable along the axes is no shorter than straight."""
    for distance in (along_axes, straight):
        assert distance(place, by) + distance(by, to) >= distance(place, to) - 1e-6
    assert along_axes(place, to) >= straight(place, to) - 1e-9
    assert along_axes(place, to) <= math.sqrt(2) * straight(place, to) + 1e-9


@pytest.mark.parametrize("nearest", [nearest_along_axes, nearest_straight])
def test_nearest_point_beyond_an_end_is_that_end(nearest: object) -> None:
    found = nearest((-3.0, 4.0), (0.0, 0.0), (10.0, 0.0))  # type: ignore[operator]

    assert (found.share, found.x_m, found.y_m) == (0.0, 0.0, 0.0)

    found = nearest((13.0, -4.0), (0.0, 0.0), (10.0, 0.0))  # type: ignore[operator]

    assert (found.share, found.x_m, found.y_m) == (1.0, 10.0, 0.0)


@pytest.mark.parametrize("nearest", [nearest_along_axes, nearest_straight])
def test_nearest_point_is_where_the_segment_was_drawn(nearest: object) -> None:
    along = nearest((4.0, 3.0), (2.0, 5.0), (10.0, 5.0))  # type: ignore[operator]
    up = nearest((4.0, 3.0), (2.0, 1.0), (2.0, 9.0))  # type: ignore[operator]

    assert (along.x_m, along.y_m, along.distance_m) == (4.0, 5.0, 2.0)
    assert (up.x_m, up.y_m, up.distance_m) == (2.0, 3.0, 2.0)


@pytest.mark.parametrize("nearest", [nearest_along_axes, nearest_straight])
def test_a_segment_drawn_as_a_point_is_that_point(nearest: object) -> None:
    found = nearest((3.0, 4.0), (0.0, 0.0), (0.0, 0.0))  # type: ignore[operator]

    assert (found.share, found.x_m, found.y_m) == (0.0, 0.0, 0.0)


def test_an_even_slope_leaves_where_the_way_is_straightest() -> None:
    # Every point from (0, 0) to (4, 4) is 4 m off along the axes; the ends are straight legs.
    found = nearest_along_axes((4.0, 0.0), (0.0, 0.0), (8.0, 8.0))

    assert found.distance_m == 4.0
    assert found.share == 0.0  # of two legs of 4 m, the one nearer to the segment's start


@pytest.mark.parametrize("case", range(30))
def test_no_sampled_point_is_nearer(case: int) -> None:
    chance = random.Random(case)
    place, start, end = ((chance.uniform(-9, 9), chance.uniform(-9, 9)) for _ in range(3))
    along, direct = nearest_along_axes(place, start, end), nearest_straight(place, start, end)

    for found in (along, direct):
        assert 0 <= found.share <= 1
        on_it = [a + (b - a) * found.share for a, b in zip(start, end, strict=True)]
        assert [found.x_m, found.y_m] == pytest.approx(on_it, abs=1e-12)
    for step in range(1001):
        share = step / 1000
        x, y = (a + (b - a) * share for a, b in zip(start, end, strict=True))
        assert abs(place[0] - x) + abs(place[1] - y) >= along.distance_m - 1e-9
        assert math.dist(place, (x, y)) >= direct.distance_m - 1e-9


def drawn_at_random(
    case: int, *, segments: int, side: float = 100.0, corner: tuple[float, float] = (0.0, 0.0)
) -> list[tuple[str, tuple[float, float], tuple[float, float]]]:
    """Short segments, half of them along an axis, on a coarse grid so that equal distances happen."""
    chance = random.Random(case)
    drawn = []
    for i in range(segments):
        x, y = (low + float(chance.randint(0, int(side))) for low in corner)
        across, up = chance.choice([(9.0, 0.0), (0.0, 14.0), (float(chance.randint(-20, 20)), 7.0), (0.0, 0.0)])
        drawn.append((f"S{chance.randint(0, 999):03}-{i}", (x, y), (x + across, y + up)))
    return drawn


@pytest.mark.parametrize("measure", [nearest_along_axes, nearest_straight])
@pytest.mark.parametrize("corner", [(0.0, 0.0), (-700.0, 40.0), (300.0, -2000.0)])
@pytest.mark.parametrize("case", range(8))
def test_the_index_finds_what_looking_at_all_segments_finds(
    case: int, corner: tuple[float, float], measure: object
) -> None:
    drawn = drawn_at_random(case, segments=60, corner=corner)
    # Two long slopes make the plan much wider than high, and pass many columns of cells.
    for name, start, end in (("L1", (0.0, 0.0), (600.0, 90.0)), ("L2", (20.0, 95.0), (500.0, 10.0))):
        ends = [(corner[0] + x, corner[1] + y) for x, y in (start, end)]
        drawn.append((name, ends[0], ends[1]))
    index = SegmentIndex(drawn, measure=measure)  # type: ignore[arg-type]
    chance = random.Random(case)

    for _ in range(60):
        place = (corner[0] + chance.randint(-40, 700), corner[1] + chance.randint(-40, 140))
        everywhere = ((measure(place, a, b), name) for name, a, b in drawn)  # type: ignore[operator]
        distance, name = min((float(f"{found.distance_m:.12g}"), name) for found, name in everywhere)
        found = index.nearest(place)
        assert found is not None
        assert (found[0], found[1].distance_m) == (name, pytest.approx(distance))


def test_the_index_looks_at_accepted_segments_only() -> None:
    drawn = [("A", (0.0, 0.0), (10.0, 0.0)), ("B", (0.0, 90.0), (10.0, 90.0))]
    index = SegmentIndex(drawn)

    found = index.nearest((5.0, 1.0), accept=lambda name: name == "B")
    assert found is not None
    assert (found[0], found[1].distance_m) == ("B", 89.0)
    assert index.nearest((5.0, 1.0), accept=lambda name: False) is None
    assert SegmentIndex([]).nearest((5.0, 1.0)) is None


def test_a_place_far_off_the_plan_is_found_all_the_same() -> None:
    drawn = drawn_at_random(4, segments=60)

    found = SegmentIndex(drawn).nearest((1e12, -3e9))
    assert found is not None
    assert found[1].distance_m == min(nearest_along_axes((1e12, -3e9), a, b).distance_m for _, a, b in drawn)


def test_equally_near_segments_go_by_the_first_id() -> None:
    drawn = [("B", (0.0, 0.0), (10.0, 0.0)), ("A", (0.0, 8.0), (10.0, 8.0))]

    found = SegmentIndex(drawn).nearest((5.0, 4.0))
    assert found is not None
    assert found[0] == "A"


def test_ten_thousand_places_find_their_segment_in_a_blink() -> None:
    index = SegmentIndex(drawn_at_random(1, segments=2000, side=500.0))
    chance = random.Random(2)

    began = time.perf_counter()
    found = [index.nearest((chance.uniform(0, 500), chance.uniform(0, 500))) for _ in range(10_000)]
    took = time.perf_counter() - began

    assert None not in found
    assert took < 8  # about 0.6 s on an idle machine; looking at all segments takes minutes
