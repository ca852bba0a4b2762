"""Bends, boxes and pulling tension come out as the code and the construction manuals print them."""

from __future__ import annotations

import math

import pytest

from estimator.calc.pulling import (
    INSIDE_RADIUS,
    SIDEWALL_RADIUS,
    Section,
    added_pull_points,
    angle_box_distance,
    cable_radius,
    conduit_radius,
    copper_tension,
    longest_straight,
    pull_point_findings,
    sidewall_pressure,
    straight_box_length,
    tension_after,
    tensions_along,
    third_bend_excused,
    total_bends,
)
from estimator.reference.lookup import table
from tests.published import Check

INCH, FT, LBF = 0.0254, 0.3048, 4.4482216152605
BENDS = table("bend_rules")
STRAIGHT = table("pull_boxes_code").find(rule="straight").number("multiple")
ANGLE = table("pull_boxes_code").find(rule="angle").number("multiple")
SPACING = table("pull_boxes_code").find(rule="same_conductor_spacing").number("multiple")


def bend(name: str) -> float:
    return BENDS.find(rule=name).number("value")


def angle_box_in(*trades_in: float) -> float:
    return angle_box_distance(rows_m=[[trade * INCH for trade in trades_in]], multiple=ANGLE) / INCH


def out_lbf(tension_in_lbf: float, section: Section, friction: float = 0.5) -> float:
    tension = tension_after(
        tension_in_n=tension_in_lbf * LBF, section=section, weight_n_per_m=0.144 * LBF / FT, friction=friction
    )
    return tension / LBF


MANUAL = "trunk-cable conduit construction manual (single)"
BOXES = "NEC 314.28(A), public question pages (single)"
CHECKS = [
    # Source: construction manual: 500 ft of 0.144 lbf/ft at 0.5 friction from a free reel.
    Check(
        discipline="pulling",
        what="tension after 500 ft straight [lbf]",
        source=MANUAL,
        expected=36,
        tolerance=0.5,
        obtained=lambda: out_lbf(0, Section(length_m=500 * FT)),
    ),
    # Source: the same manual: 36 lbf into a 90 degree bend at 0.5 friction.
    Check(
        discipline="pulling",
        what="tension after a 90 degree bend [lbf]",
        source=MANUAL,
        expected=79,
        tolerance=0.5,
        obtained=lambda: out_lbf(36, Section(bend_deg=90)),
    ),
    # Source: the same manual, limit of 340 lbf, weight and friction as before.
    Check(
        discipline="pulling",
        what="longest straight pull at 340 lbf [ft]",
        source="construction manual; formula also in a wire technical guide (single)",
        expected=4722,
        tolerance=0.5,
        obtained=lambda: longest_straight(tension_max_n=340 * LBF, weight_n_per_m=0.144 * LBF / FT, friction=0.5) / FT,
    ),
    # Source: trade magazine of 2001: 3,600 lbf at 1,200 lbf/ft (a power-cable limit).
    Check(
        discipline="pulling",
        what="least side-wall radius [ft]",
        source="trade magazine of November 2001 (single)",
        expected=3.0,
        tolerance=0.05,
        obtained=lambda: SIDEWALL_RADIUS(tension=3600 * LBF, sidewall_max=1200 * LBF / FT) / FT,
    ),
    # Source: public question pages on 314.28(A): straight 3 in; angles of 3 + 3, 4 + 2 + 2 and 3 + 2 in.
    Check(
        discipline="pulling",
        what="straight box for trade 3 [in]",
        source=BOXES,
        expected=24,
        tolerance=1e-9,  # exact but for the division by an inch
        obtained=lambda: straight_box_length(largest_m=3 * INCH, multiple=STRAIGHT) / INCH,
    ),
    *(
        Check(
            discipline="pulling",
            what=f"angle box for trades {trades} [in]",
            source=BOXES,
            expected=expected,
            tolerance=1e-9,  # exact but for the division by an inch
            obtained=lambda trades=trades: angle_box_in(*trades),
        )
        for trades, expected in (((3, 3), 21), ((4, 2, 2), 28), ((3, 2), 20))
    ),
    # Source: public how-to page on 314.28(A): entries of the same cable, trade 3.
    Check(
        discipline="pulling",
        what="spacing of entries of the same cable, trade 3 [in]",
        source=BOXES,
        expected=18,
        tolerance=1e-9,  # exact but for the division by an inch
        obtained=lambda: straight_box_length(largest_m=3 * INCH, multiple=SPACING) / INCH,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


# Source: trunk-cable conduit construction manual, bend multipliers by friction (single).
# Its 60 degrees at 0.5 prints 1.68 where the formula gives 1.688: the last digit is cut, not rounded.
@pytest.mark.parametrize(
    ("angle", "printed"),
    [
        (15, (1.20, 1.17, 1.14, 1.11, 1.08, 1.04)),
        (30, (1.44, 1.37, 1.30, 1.23, 1.17, 1.08)),
        (45, (1.73, 1.60, 1.48, 1.37, 1.27, 1.13)),
        (60, (2.08, 1.87, 1.688, 1.52, 1.37, 1.17)),
        (75, (2.50, 2.19, 1.92, 1.69, 1.48, 1.22)),
        (90, (3.00, 2.57, 2.19, 1.87, 1.60, 1.27)),
    ],
)
def test_bend_multipliers_of_the_manual(angle: float, printed: tuple[float, ...]) -> None:
    found = [out_lbf(1, Section(bend_deg=angle), friction) for friction in (0.7, 0.6, 0.5, 0.4, 0.3, 0.15)]

    assert found == pytest.approx(printed, abs=0.0051)


def test_a_pull_is_added_up_section_by_section() -> None:
    run = (Section(length_m=30, bend_deg=90), Section(length_m=10))

    tensions = tensions_along(run, weight_n_per_m=2.0, friction=0.5)

    first = 30.0 * math.exp(0.5 * math.pi / 2)
    assert tensions == pytest.approx((first, first + 10.0), rel=1e-12)
    assert tensions_along(run[::-1], weight_n_per_m=2.0, friction=0.5)[-1] != pytest.approx(tensions[-1])
    assert tensions_along((), weight_n_per_m=2.0, friction=0.5) == ()


@pytest.mark.parametrize(
    ("bends", "length_ft", "findings"),
    [
        (0, 0, ()),
        (180, 100, ()),
        (180.5, 100, ("bends over the design rule",)),
        (180, 100.1, ("length over the design rule",)),
        (360, 50, ("bends over the design rule",)),
        (361, 50, ("bends over the code", "bends over the design rule")),
    ],
)
def test_pull_point_rules_at_and_over_their_limits(bends: float, length_ft: float, findings: tuple[str, ...]) -> None:
    assert (
        pull_point_findings(
            bends_deg=bends,
            length_m=length_ft * FT,
            code_bends_deg=bend("code_total_degrees"),
            design_bends_deg=bend("tia_total_degrees"),
            design_length_m=bend("tia_length"),
        )
        == findings
    )


@pytest.mark.parametrize(
    ("bends", "length_ft", "points"),
    [(0, 0, 0), (180, 100, 0), (181, 100, 1), (180, 100.5, 1), (360, 250, 2), (541, 10, 3)],
)
def test_pull_points_are_added_where_a_section_is_over(bends: float, length_ft: float, points: int) -> None:
    assert (
        added_pull_points(
            bends_deg=bends,
            length_m=length_ft * FT,
            most_bends_deg=bend("tia_total_degrees"),
            longest_m=bend("tia_length"),
        )
        == points
    )


@pytest.mark.parametrize(
    ("bends_from_feed_in", "length_m", "upsized", "excused"),
    [
        ([12], 25, False, True),
        ([12.1], 25, False, False),
        ([60], 10, False, True),
        ([60], 25, True, True),
        ([60, 12], 25, False, True),
        ([], 25, False, False),
    ],
)
def test_a_third_bend_is_excused_near_the_feed_on_a_short_run_or_upsized(
    bends_from_feed_in: list[float], length_m: float, upsized: bool, excused: bool
) -> None:
    found = third_bend_excused(
        bends_from_feed_m=[distance * INCH for distance in bends_from_feed_in],
        length_m=length_m,
        upsized=upsized,
        feed_distance_m=bend("third_bend_feed_distance"),
        short_run_m=bend("third_bend_short_run"),
    )

    assert found is excused


def test_bends_are_added_up_and_none_is_below_zero() -> None:
    assert total_bends([90, 45, 0, 45, 30.5]) == 210.5
    assert total_bends([]) == 0
    with pytest.raises(ValueError, match="bend -90 degrees is below zero"):
        total_bends([90, -90])


@pytest.mark.parametrize(("inside_in", "multiple"), [(1.0, 6), (2.0, 6), (2.067, 10)])
def test_conduit_radius_changes_above_two_inches(inside_in: float, multiple: float) -> None:
    radius = conduit_radius(
        inside_m=inside_in * INCH,
        small_multiple=bend("radius_multiple_small"),
        large_multiple=bend("radius_multiple_large"),
        small_up_to_m=BENDS.find(rule="radius_multiple_small").number("up_to_id_m"),
    )

    assert radius == pytest.approx(multiple * inside_in * INCH)


def test_cable_radius_is_a_multiple_of_the_cable() -> None:
    # Source: ANSI/TIA-568.0-D: four diameters for four-pair cable after installation (confirmed).
    multiple = table("cable_bend_radius").find(cable="four_pair").number("no_load")

    assert cable_radius(diameter_m=0.235 * INCH, multiple=multiple) == pytest.approx(0.94 * INCH)


def test_the_row_that_needs_most_sizes_an_angle_box() -> None:
    assert angle_box_distance(rows_m=[[2, 2, 2], [3], []], multiple=6) == 18
    assert angle_box_distance(rows_m=[[2, 2, 2, 2], [3]], multiple=6) == 18
    assert angle_box_distance(rows_m=[[1, 3], [2]], multiple=6) == 19
    with pytest.raises(ValueError, match="no raceway"):
        angle_box_distance(rows_m=[[]], multiple=6)


def test_copper_bears_tension_by_its_circular_mils() -> None:
    # Source: wire technical guide (single): 0.008 lbf per circular mil; 12 AWG has 6,530.
    per_cmil = table("pulling_factors").find(factor="copper_tension").number("value")

    tension = copper_tension(cmil=6530, conductors=3, tension_per_cmil_n=per_cmil)

    assert tension / LBF == pytest.approx(156.72, abs=0.005)


def test_side_wall_pressure_is_tension_over_radius() -> None:
    limit = table("pulling_factors").find(factor="sidewall").number("value")

    assert sidewall_pressure(tension_n=600 * LBF, radius_m=2 * FT) == pytest.approx(limit, rel=1e-9)
    assert INSIDE_RADIUS(centerline_radius=18.0, inside_diameter=2.0) == 17.0
    with pytest.raises(ValueError, match="radius 0 is not above zero"):
        sidewall_pressure(tension_n=1, radius_m=0)


def test_impossible_pulls_are_refused_with_their_value() -> None:
    with pytest.raises(ValueError, match=r"weight -1\.0 is not zero or more"):
        tensions_along([Section()], weight_n_per_m=-1.0, friction=0.5)
    with pytest.raises(ValueError, match=r"friction -0\.5 is not zero or more"):
        tensions_along([Section()], weight_n_per_m=1, friction=-0.5)
    with pytest.raises(ValueError, match="tension inf is not zero or more"):
        tensions_along([Section()], weight_n_per_m=1, friction=0.5, tension_in_n=math.inf)
    with pytest.raises(ValueError, match=r"weight 0 and friction 0\.5 must be above zero"):
        longest_straight(tension_max_n=1, weight_n_per_m=0, friction=0.5)
    with pytest.raises(ValueError, match="friction 0 must be above zero"):
        longest_straight(tension_max_n=1, weight_n_per_m=1, friction=0)
