"""Trays, hooks and supports come out as code quizzes, handbooks and counting rules have them."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.pathway import circle_area
from estimator.calc.support import (
    conduit_supports,
    hook_count,
    hook_load,
    hook_weight_kg,
    least_width,
    tray_count,
    tray_share,
    weight_kg_per_m,
)
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check

INCH, FT = 0.0254, 0.3048
INCH2 = INCH**2
SIX_INCHES = table("tray_fill").find(tray="ladder").number("depth_m")


def tray(width_in: float, depth_in: float, cable_m2: float, bottom: str) -> int:
    """Return how many cables fit into a tray by the code's share for its bottom."""
    return tray_count(
        width_m=width_in * INCH,
        depth_m=depth_in * INCH,
        depth_counted_m=SIX_INCHES,
        share=table("tray_fill").find(tray=bottom).number("ultimate"),
        cable_area_m2=cable_m2,
    )


CHECKS = [
    # Source: trade magazine code quiz: 18 x 4 in tray, 0.5 in control cable, ladder 50 %, solid 40 %.
    *(
        Check(
            discipline="pathway",
            what=f"0.5 in cables in an 18 x 4 in {bottom} tray",
            source="NEC 2005 392.9(B) and (D), code quiz in a trade magazine; single",
            expected=expected,
            tolerance=0,
            obtained=lambda bottom=bottom: tray(18, 4, circle_area(0.5 * INCH), bottom),
        )
        for bottom, expected in (("ladder", 183), ("solid", 146))
    ),
    # Source: cable tray handbook, 6 x 4 in tray, 0.224 in cable, its area rounded to 0.04 in2.
    Check(
        discipline="pathway",
        what="0.224 in cables in a 6 x 4 in tray, cable area as printed",
        source="NEC 2002 392.9(B), cable tray handbook; single",
        expected=300,
        tolerance=0,
        obtained=lambda: tray(6, 4, 0.04 * INCH2, "ladder"),
    ),
    # The same with the cable's exact area: 12 in2 over pi/4 x 0.224^2.
    Check(
        discipline="pathway",
        what="0.224 in cables in a 6 x 4 in tray, exact cable area",
        source="NEC 2002 392.9(B), cable tray handbook, with the exact cable area; computed",
        expected=304,
        tolerance=0,
        obtained=lambda: tray(6, 4, circle_area(0.224 * INCH), "ladder"),
    ),
    # Source: spacing of ANSI/TIA-569, 5 ft; 100 ft from a room are 20 hooks.
    Check(
        discipline="pathway",
        what="hooks on 100 ft from a room",
        source="ANSI/TIA-569 spacing, counting formula; computed",
        expected=20,
        tolerance=0,
        obtained=lambda: hook_count(
            length_m=100 * FT,
            spacing_m=table("j_hooks").find(rule="spacing_max").number("value"),
            starts_at_room=True,
        ),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    """Each comes out of the computation within what its source prints."""
    check.hold()


def test_a_deeper_tray_counts_with_six_inches() -> None:
    """Source: NFPA 70 392.22(A): a depth over 6 in is computed with 6 in."""
    cable = circle_area(0.5 * INCH)
    assert tray(18, 8, cable, "ladder") == tray(18, 6, cable, "ladder") > tray(18, 5.9, cable, "ladder")


def test_tray_with_nothing_in_it_yet() -> None:
    """Ten cables of 30 mm² in 100 mm by 50 mm are 6 % (arithmetic)."""
    share = tray_share(counts=[10], areas_m2=[30e-6], width_m=0.1, depth_m=0.05, depth_counted_m=0.15)
    assert share == pytest.approx(0.06, rel=1e-12)


def test_what_lies_in_a_tray_already_counts() -> None:
    """2 x 0.1 and 0.3 before over 2 by 0.5 are one half (arithmetic)."""
    share = tray_share(counts=[2], areas_m2=[0.1], width_m=2, depth_m=1, depth_counted_m=0.5, existing_m2=0.3)
    assert share == pytest.approx(0.5)


@settings(max_examples=60, deadline=None)
@given(st.floats(1e-4, 0.05), st.floats(0.02, 0.3), st.floats(0.1, 0.5))
def test_a_tray_of_the_least_width_is_filled_to_its_share(area_m2: float, depth_m: float, allowed: float) -> None:
    """The width is the fill formula solved for it."""
    width_m = least_width(area_m2=area_m2, allowed=allowed, depth_m=depth_m, depth_counted_m=SIX_INCHES)
    share = tray_share(counts=[1], areas_m2=[area_m2], width_m=width_m, depth_m=depth_m, depth_counted_m=SIX_INCHES)
    assert share == pytest.approx(allowed, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 500), st.floats(0.003, 0.02), st.floats(0.05, 1), st.floats(0.02, 0.3))
def test_one_more_cable_never_lowers_a_trays_fill(count: int, od_m: float, width_m: float, depth_m: float) -> None:
    """And a wider one is never fuller."""
    known = {"areas_m2": [circle_area(od_m)], "depth_m": depth_m, "depth_counted_m": SIX_INCHES}
    share = tray_share(counts=[count], width_m=width_m, **known)
    assert tray_share(counts=[count + 1], width_m=width_m, **known) > share
    assert tray_share(counts=[count], width_m=width_m * 1.01, **known) < share


@pytest.mark.parametrize(
    ("length_ft", "room", "hooks"),
    [(0, True, 0), (0, False, 1), (5, True, 1), (5, False, 2), (5.01, False, 3), (50, True, 10)],
)
def test_hooks_are_rounded_up_and_one_stands_at_the_start(length_ft: float, room: bool, hooks: int) -> None:
    """One each started spacing; a room's own rack carries the start."""
    assert hook_count(length_m=length_ft * FT, spacing_m=5 * FT, starts_at_room=room) == hooks


def test_hook_load_is_a_share_of_the_capacity() -> None:
    """Twenty-five of fifty are one half."""
    assert hook_load(cables=25, capacity=50) == 0.5


def test_weight_is_added_up_by_cable_type_and_hangs_by_spans() -> None:
    """24 cables of 40 g/m and 2 of 150 g/m: 1.26 kg/m; 1.5 m between hooks hang 1.89 kg on each (by hand)."""
    weight = weight_kg_per_m(counts=[24, 2], weights_kg_per_m=[0.040, 0.150])
    assert weight == pytest.approx(1.26, rel=1e-12)
    assert hook_weight_kg(spacing_m=1.5, weight_kg_per_m=weight) == pytest.approx(1.89, rel=1e-12)


# Spacing and distance of NFPA 70 358.30, EMT: 10 ft, and 3 ft from each box; counted by hand.
@pytest.mark.parametrize(
    ("length_ft", "supports"),
    [(0, 1), (3, 1), (6, 1), (6.01, 2), (16, 2), (16.01, 3), (26, 3), (100, 11)],
)
def test_conduit_supports_reach_both_boxes(length_ft: float, supports: int) -> None:
    """One within 3 ft of each end, the rest no farther than 10 ft apart."""
    row = table("conduit_supports").find(kind="emt")
    found = conduit_supports(
        length_m=length_ft * FT, spacing_m=row.number("spacing_m"), from_box_m=row.number("from_box_ft") * FT
    )
    assert found == supports


REFUSED = [
    Refused(
        possible=partial(tray_share, counts=[1], areas_m2=[0.1], width_m=1.0, depth_m=1.0, depth_counted_m=1.0),
        above_zero="width_m depth_m depth_counted_m",
        zero_or_more="existing_m2",
        wrong=(("counts", [-1]), ("areas_m2", [0.0])),
    ),
    Refused(
        possible=partial(tray_count, width_m=1.0, depth_m=1.0, depth_counted_m=1.0, share=0.4, cable_area_m2=0.1),
        above_zero="width_m depth_m depth_counted_m cable_area_m2",
        zero_or_more="share",
    ),
    Refused(
        possible=partial(least_width, area_m2=0.0, allowed=0.25, depth_m=0.1, depth_counted_m=0.15),
        above_zero="allowed depth_m depth_counted_m",
        zero_or_more="area_m2",
    ),
    Refused(
        possible=partial(hook_count, length_m=0.0, spacing_m=1.5, starts_at_room=True),
        above_zero="spacing_m",
        zero_or_more="length_m",
    ),
    Refused(possible=partial(hook_load, cables=0, capacity=50), above_zero="capacity", zero_or_more="cables"),
    Refused(
        possible=partial(weight_kg_per_m, counts=[0], weights_kg_per_m=[0.0]),
        wrong=(("counts", [-1]), ("weights_kg_per_m", [-0.1])),
    ),
    Refused(
        possible=partial(hook_weight_kg, spacing_m=1.5, weight_kg_per_m=0.0),
        above_zero="spacing_m",
        zero_or_more="weight_kg_per_m",
    ),
    Refused(
        possible=partial(conduit_supports, length_m=0.0, spacing_m=3.0, from_box_m=0.9),
        above_zero="spacing_m",
        zero_or_more="length_m from_box_m",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused(refused: Refused) -> None:
    """The quantity and its value are named."""
    refused.hold()
