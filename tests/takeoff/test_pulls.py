"""Pulls through conduit: tension both ways, what a cable bears, side walls, bends, pull points and boxes."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from estimator.spec.model import Project
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.pull_figures import pull_alerts, pull_families
from estimator.takeoff.pulls import Pull, pull_conduits
from estimator.takeoff.worked import explain
from tests.takeoff.evaluated import held, measured

G = 9.80665
LBF = 4.4482216152605
FT = 0.3048
PLANT = """\
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}]
cables:
  - {id: C6, type: cat6_utp_plenum, weight: 40 kg/km}
  - {id: FA, type: fplp_14_2, weight: 50 kg/km, put_up: 300 m}
  - {id: OF, type: of_12_om4_ofnp, weight: 40 kg/km, put_up: 300 m, reference: one_cord}
  - {id: BARE, medium: two_conductor, gauge: 18, conductors: 2, jacket: CL2P, class: class_2, od: 4 mm, put_up: 300 m}
"""


def pulled(folder: Path, segments: str, cables: str = "C6", more: str = "") -> tuple[tuple[Pull, ...], Project]:
    """Return the pulls of a text; every printed formula gives its figure on its printed inputs."""
    drops = "".join(f"  - {{id: D{i}, room: 1A, at: a, cable: {c}}}\n" for i, c in enumerate(cables.split()))
    paths = (
        f"pathways:\n{segments}"
        if segments.startswith("  -")
        else f"pathways: [{{id: S, from: 1A, to: a, {segments}}}]"
    )
    project, footage = measured(folder, f"{PLANT}{more}{paths}\ndrops:\n{drops}")
    pulls = pull_conduits(fill_pathways(footage, project), project)
    held(pull_families(pulls))
    return pulls, project


def only(folder: Path, segment: str, cables: str = "C6", more: str = "") -> Pull:
    """Return the pull through the one conduit."""
    (pull,), _ = pulled(folder, f"{segment}, kind: conduit", cables, more)
    return pull


def warned(folder: Path, segment: str, cables: str = "C6", more: str = "") -> list[tuple[str, str, str, str]]:
    """Return kind, value, limit and advice of each warning."""
    pulls, project = pulled(folder, f"{segment}, kind: conduit", cables, more)
    return [(alert.kind, alert.value, alert.limit, alert.advice) for alert in pull_alerts(pulls, project)]


# Source: ANSI/TIA-569: no more than 180 degrees and 100 ft (30.48 m) between pull points.
@pytest.mark.parametrize(
    ("segment", "values", "points"),
    [
        ("length: 28 m, rise: 2.48 m, bends: 180 deg", [], 0),
        ("length: 28 m, rise: 2.58 m, bends: 180 deg", ["30.6 m"], 1),
        ("length: 9 m, bends: 181 deg", ["181 deg"], 1),
        ("length: 31 m, bends: 270 deg", ["270 deg", "31.0 m"], 1),
        ("length: 100 m, bends: 360 deg", ["360 deg", "100.0 m"], 3),
    ],
)
def test_pull_points_are_told_over_their_limits(segment: str, values: list[str], points: int, tmp_path: Path) -> None:
    """The vertical leg counts in the length; each section then keeps both limits."""
    alerts = warned(tmp_path, f'{segment}, trade_size: "1"')
    assert [value for kind, value, _, _ in alerts if kind == "pull point"] == values
    assert {limit for kind, _, limit, _ in alerts if kind == "pull point"} <= {"180 deg", "30.5 m"}
    assert only(tmp_path, f'{segment}, trade_size: "1"').points == points


def test_trays_and_nipples_have_no_pull(tmp_path: Path) -> None:
    """Nothing is pulled through them."""
    for segment in (
        "length: 40 m, bends: 270 deg, kind: tray, width: 4 in, depth: 4 in",
        'length: 0.5 m, kind: conduit, trade_size: "1", nipple: true',
    ):
        assert pulled(tmp_path, segment)[0] == ()


def test_tension_with_all_bends_at_the_pulled_end(tmp_path: Path) -> None:
    """Ten cables of 40 g/m over 20 m and 4 m up at 0.5: (24 x 0.5 + 4) x 0.4 g x e^(0.5 x pi) N (by hand)."""
    pull = only(tmp_path, 'length: 20 m, rise: 4 m, bends: 180 deg, trade_size: "1-1/4"', "C6 " * 10)
    assert pull.tension is not None
    assert pull.tension.tension_n == pytest.approx(16 * 0.4 * G * math.exp(0.5 * math.pi), rel=1e-12)
    assert (pull.tension.feed, pull.tension.other_n) == ("", None)
    assert pull.tension.at_bend_n == pull.tension.tension_n
    assert pull.tension.bearing is not None
    # Source: ANSI/TIA-568, four-pair cable 110 N (25 lbf); each of ten bears a tenth.
    assert pull.tension.bearing.tension_n == pytest.approx(pull.tension.tension_n / 10, rel=1e-12)
    assert pull.tension.bearing.limit.value == 110
    assert pull.word == "within"


def test_a_straight_pull_has_no_side_wall(tmp_path: Path) -> None:
    """Without bends there is no radius to keep either."""
    pull = only(tmp_path, 'length: 20 m, trade_size: "1"')
    assert (pull.turn, pull.sidewall_n_per_m) == (None, None)
    assert pull.tension is not None
    assert pull.tension.tension_n == pytest.approx(20 * 0.5 * 0.04 * G, rel=1e-12)


def test_the_better_end_is_told_where_bends_are_typed_one_by_one(tmp_path: Path) -> None:
    """A bend 2 m from one end of 32 m: fed from that end 2 e^(pi/4) + 30, from the other 30 e^(pi/4) + 2 (by hand)."""
    turn, unit = math.exp(math.pi / 4), 0.5 * 0.04 * G
    for at, feed in (("2 m", "1A"), ("30 m", "a")):
        segment = f'length: 32 m, trade_size: "1", bends_at: [{{at: {at}, angle: 90 deg}}]'
        pull = only(tmp_path, segment)
        assert pull.tension is not None
        assert pull.tension.feed == feed
        assert pull.tension.tension_n == pytest.approx((2 * turn + 30) * unit, rel=1e-12)
        assert pull.tension.other_n == pytest.approx((30 * turn + 2) * unit, rel=1e-12)
        assert pull.tension.at_bend_n == pytest.approx(2 * turn * unit, rel=1e-12)
        worked = explain(pull_families((pull,)), "segment.S.pull_tension")
        assert worked is not None
        assert worked.formula is None
        assert worked.method == "section by section from either end; the better end counts"
        assert worked.inputs["bend_1_at"].value == pytest.approx(float(at.split()[0]))


def test_a_bend_in_the_middle_leaves_the_choice(tmp_path: Path) -> None:
    """Both ends are the same, so none is told."""
    pull = only(tmp_path, 'length: 32 m, trade_size: "1", bends_at: [{at: 16 m, angle: 90 deg}]')
    assert pull.tension is not None
    assert pull.tension.feed == ""
    assert pull.tension.other_n == pytest.approx(pull.tension.tension_n, rel=1e-12)


def test_the_cable_nearest_to_what_it_may_bear_is_told(tmp_path: Path) -> None:
    """At equal weight a four-pair cable (110 N) comes before fiber (660 N); fire alarm bears by its copper."""
    assert_bears = {"OF C6": "C6", "C6 OF": "C6", "FA OF": "FA"}
    for cables, name in assert_bears.items():
        pull = only(tmp_path, 'length: 20 m, trade_size: "1"', cables)
        assert pull.tension is not None
        assert pull.tension.bearing is not None
        assert pull.tension.bearing.cable.id == name
    # Source: wire technical guide (single), 0.008 lbf a circular mil; 14 AWG has 4,110 (NFPA 70 Chapter 9 Table 8).
    assert pull.tension.bearing.limit.value / LBF == pytest.approx(2 * 4110 * 0.008, rel=1e-3)
    assert pull.tension.bearing.tension_n == pytest.approx(pull.tension.tension_n * 5 / 9, rel=1e-12)


def test_a_hard_pull_is_warned_of_with_a_way_out(tmp_path: Path) -> None:
    """30 m and 270 degrees at 0.7: 8.24 N x e^(3.30) is 223 N on one cable, two times 110 N (by hand)."""
    segment = 'length: 30 m, bends: 270 deg, friction: 0.7, trade_size: "1"'
    tension = 30 * 0.7 * 0.04 * G * math.exp(0.7 * 1.5 * math.pi)
    hard = [one for one in warned(tmp_path, segment) if one[0] == "pull tension"]
    assert [(value, limit) for _, value, limit, _ in hard] == [(f"{tension:.0f} N", "110 N")]
    assert hard[0][3] == (
        "add a pull point, pull fewer cables at once, or type the `friction:` of a lubricant, "
        "type `bends_at:` (all bends count at the pulled end)"
    )
    placed = segment.replace("bends: 270 deg", "bends_at: [{at: 29 m, angle: 270 deg}]")
    assert [one for one in warned(tmp_path, placed) if one[0] == "pull tension"] == []  # fed from the other end


def test_a_typed_tension_stands_before_the_tables(tmp_path: Path) -> None:
    """The data sheet's own figure governs; so do weight and friction."""
    plant = "  - {id: OWN, type: cat6_utp_plenum, weight: 30 lb/kft, pull_tension: 5 lbf}\n"
    pull = only(tmp_path, 'length: 100 ft, friction: 0.4, trade_size: "1"', "OWN", more=plant)
    assert pull.tension is not None
    # 100 ft x 0.4 x 0.03 lbf/ft = 1.2 lbf (by hand).
    assert pull.tension.tension_n / LBF == pytest.approx(1.2, rel=1e-9)
    assert pull.tension.bearing is not None
    assert pull.tension.bearing.limit.value == pytest.approx(5 * LBF)
    assert pull.tension.bearing.limit.source.startswith("cable, ")
    assert pull.friction.source.startswith("segment, ")


def test_a_pull_without_a_weight_is_not_judged(tmp_path: Path) -> None:
    """The cable is named; bends and pull points are judged all the same."""
    pull = only(tmp_path, 'length: 9 m, bends: 270 deg, trade_size: "1"', "BARE C6")
    assert (pull.tension, pull.unweighed, pull.word) == (None, ("BARE",), "not judged")
    assert pull.points == 1
    assert pull.sidewall_n_per_m is None


def test_what_lies_there_before_is_not_pulled(tmp_path: Path) -> None:
    """A conduit without cables of this job has no tension."""
    pulls, _ = pulled(
        tmp_path,
        '  - {id: S, from: 1A, to: a, length: 9 m, kind: conduit, trade_size: "1", existing: [{cable: FA, qty: 3}]}\n'
        '  - {id: T, from: a, to: b, length: 9 m, kind: conduit, trade_size: "1", existing: [{cable: FA, qty: 3}]}',
    )
    assert [pull.tension is None for pull in pulls] == [False, True]
    assert pulls[0].tension is not None
    assert pulls[0].tension.weight_n_per_m == pytest.approx(0.04 * G)


def test_side_wall_pressure_on_the_inside_of_a_sweep(tmp_path: Path) -> None:
    """Centerline 0.2 m less half of 1.049 in; tension over it (by hand); limit 300 lbf a foot of radius."""
    segment = 'length: 20 m, bends: 90 deg, bend_radius: 0.2 m, trade_size: "1"'
    pull = only(tmp_path, segment)
    assert pull.turn is not None
    radius = 0.2 - 1.049 * 0.0254 / 2
    assert pull.turn.radius_m == pytest.approx(radius, rel=1e-12)
    tension = 20 * 0.5 * 0.04 * G * math.exp(math.pi / 4)
    assert pull.sidewall_n_per_m == pytest.approx(tension / radius, rel=1e-12)


def test_a_heavy_pull_presses_on_its_side_wall(tmp_path: Path) -> None:
    """Sixty cables at 0.7 through 270 degrees: over 4,378 N/m, and over 1,000 lbf on one grip."""
    segment = 'length: 30 m, bends: 270 deg, friction: 0.7, trade_size: "4"'
    found = warned(tmp_path, segment, "C6 " * 60)
    kinds = [(kind, limit) for kind, _, limit, _ in found]
    tension = 30 * 0.7 * 60 * 0.04 * G * math.exp(0.7 * 1.5 * math.pi)
    sweep_mm = 1000 * tension / (300 * LBF / FT)
    assert found[-1][3].startswith(f"use sweeps of {sweep_mm:.3g} mm or more inside; add a pull point")
    assert kinds == [
        ("pull point", "180 deg"),
        ("pull tension", "110 N"),
        ("pull tension", "4448 N"),
        ("side wall", "4378 N/m"),
    ]


# Source: ANSI/TIA-569: six inside diameters up to 2 in, ten above or with fiber; EMT of NFPA 70 Chapter 9 Table 4.
@pytest.mark.parametrize(
    ("trade", "cable", "multiple", "inside_in"),
    [("1", "C6", 6, 1.049), ("2", "C6", 10, 2.067), ("1", "OF", 10, 1.049)],
)
def test_least_radius_of_a_bend(trade: str, cable: str, multiple: int, inside_in: float, tmp_path: Path) -> None:
    """It stands where no radius is typed."""
    pull = only(tmp_path, f'length: 9 m, bends: 90 deg, trade_size: "{trade}"', cable)
    assert pull.turn is not None
    assert pull.turn.radius_m == pull.turn.least_m == pytest.approx(multiple * inside_in * 0.0254, rel=1e-12)
    assert pull.turn.word == "within"


def test_tight_bends_are_warned_of(tmp_path: Path) -> None:
    """4 in to the centerline leave 3.48 in: under 6 x 1.049 in; fiber asks for 20 x 0.236 in itself (by hand)."""
    segment = 'length: 9 m, bends: 90 deg, bend_radius: 4 in, trade_size: "1"'
    radius = (4 - 1.049 / 2) * 25.4
    plain = warned(tmp_path, segment)
    assert [(kind, value, limit) for kind, value, limit, _ in plain] == [
        ("bend radius", f"{radius:.3g} mm", f"{6 * 1.049 * 25.4:.3g} mm or more")
    ]
    both = warned(tmp_path, segment, "OF")
    assert [kind for kind, *_ in both] == ["bend radius"] * 2
    pull = only(tmp_path, segment, "OF")
    assert pull.turn is not None
    assert pull.turn.tightest is not None
    # Source: ANSI/TIA-568.0-D: fiber 20 outside diameters while it is pulled (confirmed).
    assert pull.turn.tightest[1].value == pytest.approx(20 * pull.turn.tightest[0].od_m, rel=1e-12)
    assert pull.turn.word == "too tight"


def test_a_typed_cable_radius_stands_before_the_table(tmp_path: Path) -> None:
    """The data sheet's own; a cable of no published kind asks for none."""
    plant = "  - {id: OWN, type: cat6_utp_plenum, bend_radius: 200 mm}\n"
    segment = 'length: 9 m, bends: 90 deg, trade_size: "1"'
    assert [(kind, limit) for kind, _, limit, _ in warned(tmp_path, segment, "OWN C6", more=plant)] == [
        ("bend radius", "200 mm or more")
    ]
    pull = only(tmp_path, segment, "BARE")
    assert pull.turn is not None
    assert pull.turn.tightest is None


# Source: TIA/EIA-569-A Table 4.4-2 (memory), in inches; NFPA 70 314.28(A) where conductors are 4 AWG and larger.
@pytest.mark.parametrize(
    ("trade", "cables", "advice"),
    [
        ("1", "C6", "add a pull box of at least 101.6 x 406.4 x 76.2 mm (TIA/EIA-569-A"),
        ("3/4", "C6", "add a pull box of at least 152.4 mm length (NFPA 70"),
        (
            "2",
            "C6 BIG",
            "add a pull box of at least 406.4 mm length, 304.8 mm to the opposite wall of an angle pull (NFPA 70",
        ),
    ],
)
def test_a_pull_point_has_its_least_box(trade: str, cables: str, advice: str, tmp_path: Path) -> None:
    """The code's rule binds for large conductors only, and stands as good practice below the standard's sizes."""
    big = (
        "  - {id: BIG, medium: two_conductor, gauge: 4, conductors: 1, jacket: CL2P, class: class_2, "
        "od: 8 mm, put_up: 300 m, weight: 200 kg/km}\n"
    )
    alerts = warned(tmp_path, f'length: 20 m, bends: 270 deg, trade_size: "{trade}"', cables, more=big)
    assert alerts[0][0] == "pull point"
    assert alerts[0][3].startswith(advice)


def test_conduits_side_by_side_share_a_box(tmp_path: Path) -> None:
    """Source: TIA/EIA-569-A Table 4.4-2 (memory): trade 2 8 in wide, 5 in for each further one; the largest rules."""
    pulls, project = pulled(
        tmp_path,
        '  - {id: S, from: 1A, to: a, length: 40 m, kind: conduit, trade_size: "2"}\n'
        '  - {id: T, from: a, to: 1A, length: 41 m, kind: conduit, trade_size: "1"}\n'
        '  - {id: U, from: a, to: b, length: 41 m, kind: conduit, trade_size: "4"}',
    )
    boxes = [pull.box for pull in pulls]
    assert [box.conduits if box else 0 for box in boxes] == [2, 2, 1]
    assert boxes[0] is not None
    assert boxes[0].width_m == pytest.approx(13 * 0.0254)
    assert " for 2 conduits (TIA/EIA-569-A" in next(iter(pull_alerts(pulls, project))).advice


@pytest.mark.parametrize(
    ("segment", "excuse"),
    [
        ("length: 10 m, bends: 270 deg", "the run is short"),
        ("length: 10.1 m, bends: 270 deg", "the conduit is a trade size larger"),
        ("length: 10 m, bends: 280 deg", None),  # more than a third bend
        ("length: 10 m, bends: 180 deg", None),  # nothing to excuse
        (
            "length: 20 m, bends_at: [{at: 0.2 m, angle: 90 deg}, {at: 9 m, angle: 180 deg}]",
            "a bend lies near the feed",
        ),
    ],
)
def test_a_third_bend_may_stay_with_a_reason(segment: str, excuse: str | None, tmp_path: Path) -> None:
    """Source: installer handbook after ANSI/TIA-569; the warning stays, and says so."""
    pull = only(tmp_path, f'{segment}, trade_size: "1"')
    assert pull.excuse == excuse
    advice = [one[3] for one in warned(tmp_path, f'{segment}, trade_size: "1"') if one[0] == "pull point"]
    assert advice or excuse is None
    assert all(one.endswith(f"; the third bend may stay, as {excuse}") is (excuse is not None) for one in advice)


@pytest.mark.parametrize(
    ("bends", "excuse"),
    [
        ("{at: 0.2 m, angle: 90 deg}, {at: 10 m, angle: 90 deg}, {at: 19.8 m, angle: 90 deg}", True),  # either end
        ("{at: 0.2 m, angle: 180 deg}, {at: 15 m, angle: 90 deg}", True),  # at the better end
        ("{at: 1 m, angle: 180 deg}, {at: 19.8 m, angle: 90 deg}", False),  # at the end it isn't fed from
    ],
)
def test_a_bend_near_the_feed_is_one_near_the_end_it_is_fed_from(bends: str, excuse: bool, tmp_path: Path) -> None:
    """Three cables fill trade size 1/2, which therefore isn't a size larger; 20 m are no short run."""
    pull = only(tmp_path, f"length: 20 m, bends_at: [{bends}], trade_size: 1/2", "C6 " * 3)
    assert pull.excuse == ("a bend lies near the feed" if excuse else None)


def test_a_third_bend_without_a_reason(tmp_path: Path) -> None:
    """Full at its size, long, and no bend near the end it is fed from."""
    pull = only(tmp_path, "length: 20 m, bends: 270 deg, trade_size: 1/2", "C6 " * 3)
    assert pull.excuse is None


def test_a_run_within_its_limits_is_not_spoken_of(tmp_path: Path) -> None:
    """A plain run within all its limits has no warning."""
    assert warned(tmp_path, 'length: 20 m, bends: 180 deg, trade_size: "1"', "C6 " * 6) == []
