"""Fill of each kind of pathway by its own rule, its limit with its source, hooks, pull points and jams."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from estimator.spec.model import Project
from estimator.takeoff.fill import Fill, SegmentFill, fill_pathways
from estimator.takeoff.fill_figures import fill_alerts, fill_families
from estimator.takeoff.fill_limits import fill_authority
from estimator.takeoff.worked import explain
from estimator.units.rounding import over
from tests.takeoff.evaluated import held, measured

INCH = 0.0254
CABLE_M2 = math.pi / 4 * (0.2 * INCH) ** 2
PLANT = """\
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}, {id: c}, {id: d}]
cables:
  - {id: C6, type: cat6_utp_plenum, od: 0.2 in}
  - {id: FA, type: fplp_14_2, od: 0.4 in}
"""


def filled(folder: Path, text: str) -> tuple[Fill, Project]:
    """Return the fill of a text; every printed formula gives its figure on its printed inputs."""
    project, footage = measured(folder, PLANT + text)
    fill = fill_pathways(footage, project)
    held(fill_families(fill, project))
    return fill, project


def only(folder: Path, segment: str, *, cables: int, more: str = "") -> tuple[SegmentFill, Project]:
    """Return the fill of the one segment from the room to node a, with so many cables of 0.2 in."""
    drops = f"drops: [{{id: D1..D{cables}, room: 1A, at: a, cable: C6}}]\n"
    fill, project = filled(folder, f"pathways: [{{id: S, from: 1A, to: a, {segment}}}]\n{drops}{more}")
    return fill.segments[0], project


def test_tray_counts_six_inches_of_its_depth(tmp_path: Path) -> None:
    """Source: ANSI/TIA-569, 25 % design fill, NFPA 70 392.22(A), a deeper tray counts with 6 in."""
    share = 10 * CABLE_M2 / (4 * 6 * INCH**2)
    found, _ = only(tmp_path, "length: 9 m, kind: tray, width: 4 in, depth: 8 in", cables=10)

    assert found.share == pytest.approx(share, rel=1e-12)
    assert found.limit is not None
    assert (found.limit.share, found.word) == (0.25, "within")
    assert found.limit.source.startswith("default max_fill_tray")


def test_surface_raceway_counts_its_whole_depth(tmp_path: Path) -> None:
    """Not a tray of 6 in; the 40 % of a conduit holds whatever the number of cables."""
    found, _ = only(tmp_path, "length: 9 m, kind: surface_raceway, width: 4 in, depth: 8 in", cables=1)

    assert found.share == pytest.approx(CABLE_M2 / (4 * 8 * INCH**2), rel=1e-12)
    assert found.limit is not None
    assert found.limit.share == 0.4


def test_sleeve_is_held_to_its_firestop_listing(tmp_path: Path) -> None:
    """Trade size 1 EMT is 1.049 in inside (NFPA 70 Chapter 9 Table 4); the listing typed here allows 25 %."""
    segment = 'length: 1 m, kind: sleeve, trade_size: "1", firestop: {system: S-9, max_fill_percent: 25}'
    found, project = only(tmp_path, segment, cables=8)

    assert found.share == pytest.approx(8 * 0.2**2 / 1.049**2, rel=1e-9)
    assert found.limit is not None
    assert (found.limit.share, found.limit.source) == (0.25, "firestop system S-9, its listing")
    assert found.is_over
    [alert] = fill_alerts(Fill(segments=(found,), unrouted=()), project)
    assert str(alert).endswith(
        "job.yaml:8:17: overfull: sleeve S holds 8 cables: 29.1%, limit 25.0% (firestop system S-9, its listing); "
        "use a larger size, a second one, or send circuits `via` another way"
    )


@pytest.mark.parametrize(
    ("more", "cables", "limit"),
    [
        ("", 1, 0.53),  # Source: NFPA 70 Chapter 9 Table 1: one, two, over two cables
        ("", 2, 0.31),
        ("", 3, 0.40),
        (", nipple: true", 3, 0.60),  # Source: NFPA 70 Chapter 9 Note 4
        (", max_fill_percent: 35", 3, 0.35),
        (", max_fill_percent: 35", 2, 0.31),
    ],
)
def test_conduit_by_the_number_of_its_cables(more: str, cables: int, limit: float, tmp_path: Path) -> None:
    """A segment's own fill only lowers the limit."""
    found, _ = only(tmp_path, f'length: 0.5 m, kind: conduit, trade_size: "1"{more}', cables=cables)

    assert found.limit is not None
    assert found.limit.share == pytest.approx(limit, rel=1e-12)
    assert found.cables == cables


@pytest.mark.parametrize(("cables", "limit", "ruled"), [(2, 0.31, False), (3, 0.3, True)])
def test_house_rule_lowers_the_fill_of_three_and_more(cables: int, limit: float, ruled: bool, tmp_path: Path) -> None:
    """Two cables have their own share (NFPA 70 Chapter 9 Table 1), which the rule doesn't speak of."""
    segment = 'length: 9 m, kind: conduit, trade_size: "1"'
    found, _ = only(tmp_path, segment, cables=cables, more="rules: {max_fill_conduit_percent: 30}\n")

    assert found.limit is not None
    assert found.limit.share == limit
    assert found.limit.source.startswith("house rule") is ruled


def test_bends_take_their_share_off(tmp_path: Path) -> None:
    """Handbook derating of 15 % a bend: 180 degrees leave 40 % x 0.7 = 28 % (arithmetic)."""
    segment = 'length: 9 m, kind: conduit, trade_size: "1", bends: 180 deg'
    found, _ = only(tmp_path, segment, cables=3, more="rules: {bend_derating_percent: 15}\n")

    assert found.limit is not None
    assert found.limit.share == pytest.approx(0.28, rel=1e-12)


def test_what_lies_there_already_counts_in_area_and_number(tmp_path: Path) -> None:
    """Two cables laid and three of 0.4 in there before: (2 x 0.04 + 3 x 0.16) / 1.049² is 50.9 % (by hand)."""
    found, project = only(
        tmp_path, 'length: 9 m, kind: conduit, trade_size: "1", existing: [{cable: FA, qty: 3}]', cables=2
    )

    assert (found.cables, found.lies) == (2, 5)
    assert found.share == pytest.approx(0.56 / 1.049**2, rel=1e-9)
    assert found.limit is not None
    assert found.limit.share == 0.4
    # Both kinds of cable have their authority: the code binds the fire alarm's, exempts the other.
    assert found.limit.source.startswith("ANSI/TIA-569 or specification for communications cable")
    assert "NFPA 70 300.17" in found.limit.source
    worked = explain(fill_families(Fill(segments=(found,), unrouted=("X",)), project), "segment.S.fill")
    assert worked is not None
    assert worked.judged is not None
    assert (worked.judged.word, worked.judged.limit) == ("overfull", 0.4)
    assert worked.judged.margin == pytest.approx(0.4 - 0.56 / 1.049**2)
    assert worked.meaning == "conduit: share filled; without a route, and not in it: 1 circuit"
    assert worked.inputs["inside_area"].origin.startswith("emt 1: NFPA 70")


@pytest.mark.parametrize(("edition", "clause"), [("2017", "800.110(B)"), ("2020", "800.110"), ("2023", "800.110")])
def test_edition_chooses_the_clause_that_exempts(edition: str, clause: str, tmp_path: Path) -> None:
    """Source: NFPA 70, renumbered in 2020."""
    segment = 'length: 9 m, kind: conduit, trade_size: "1"'
    found, _ = only(tmp_path, segment, cables=3, more=f'codes: {{electrical: "{edition}"}}\n')

    assert found.limit is not None
    assert f"(exempt by NFPA 70 {clause});" in found.limit.source


def test_hooks_by_spacing_and_their_load(tmp_path: Path) -> None:
    """12 m at 1.5 m are 8 hooks; from a node one more at its start; 30 cables on hooks for 24 are 125 %."""
    fill, project = filled(
        tmp_path,
        """\
pathways:
  - {id: H1, from: 1A, to: a, length: 12 m, kind: j_hooks, spacing: 1.5 m, hook_cables: 24,
     existing: [{cable: C6, qty: 20}]}
  - {id: H2, from: a, to: b, length: 12 m, kind: j_hooks}
drops: [{id: D1..D10, room: 1A, at: b, cable: C6}]
rules: {hook_spacing: 1.2 m, hook_cables: 40}
""",
    )
    first, second = fill.segments

    assert (first.hooks, second.hooks) == (8, 11)
    assert (first.share, second.share) == (1.25, 0.25)
    assert (first.word, second.word) == ("overfull", "within")
    sources = [one.limit.source for one in fill.segments if one.limit is not None]
    assert sources[0].startswith("segment, ")
    assert sources[1].startswith("rules.hook_cables, ")
    figures = held(fill_families(fill, project))
    assert figures == {
        "segment.H1.fill": 1.25,
        "segment.H2.fill": 0.25,
        "segment.H1.hooks": 8,
        "segment.H2.hooks": 11,
        "segment.H1.spare": 0,
        "segment.H2.spare": 30,
    }
    assert [alert.text for alert in fill_alerts(fill, project)] == ["j hooks H1 holds 30 cables"]


def test_open_segments_are_not_judged(tmp_path: Path) -> None:
    """No inside, no share; the cables in it are counted all the same."""
    found, _ = only(tmp_path, "length: 9 m, kind: open", cables=3)

    assert (found.cables, found.share, found.limit, found.hooks) == (3, None, None, 0)
    assert (found.is_over, found.word) == (False, "within")


@pytest.mark.parametrize(
    ("sizes", "jams"),
    [
        ("C6 C6 C6", True),  # 0.622 in over 0.2 in is 3.11 (NFPA 70 Chapter 9, informational note on jamming)
        ("C6 C6", False),
        ("C6 C6 C6 C6", False),
        ("C6 C6 FA", False),  # not three equal ones
    ],
)
def test_three_equal_cables_may_jam(sizes: str, jams: bool, tmp_path: Path) -> None:
    """Two, four or unequal cables don't."""
    drops = "".join(f"  - {{id: D{i}, room: 1A, at: a, cable: {size}}}\n" for i, size in enumerate(sizes.split()))
    fill, project = filled(
        tmp_path,
        f"pathways: [{{id: S, from: 1A, to: a, length: 9 m, kind: conduit, trade_size: 1/2}}]\ndrops:\n{drops}",
    )
    found = fill.segments[0]

    assert found.jams is jams
    assert (found.jam_ratio is not None) is jams
    assert [alert.value for alert in fill_alerts(fill, project) if alert.kind == "may jam"] == ["ratio 3.11"] * jams


def test_every_circuit_counts_once_wherever_it_leaves(tmp_path: Path) -> None:
    """Three circuits to a, two past it to b, one typed by its length: five and two, one without a route."""
    fill, _ = filled(
        tmp_path,
        """\
pathways:
  - {id: T1, from: 1A, to: a, length: 9 m, kind: tray, width: 4 in, depth: 4 in}
  - {id: T2, from: a, to: b, length: 9 m, kind: tray, width: 4 in, depth: 4 in}
drops:
  - {id: D1..D2, room: 1A, at: a, cable: C6}
  - {id: D3, room: 1A, at: a, cable: FA}
  - {id: D4..D5, room: 1A, at: b, cable: C6}
  - {id: D6, room: 1A, length: 30 m, cable: C6}
""",
    )
    assert [[(cable.id, count) for cable, count in one.counts] for one in fill.segments] == [
        [("C6", 4), ("FA", 1)],
        [("C6", 2)],
    ]
    assert fill.unrouted == ("D6",)


# Source: NFPA 70 Chapter 9 Tables 1 and 4, EMT: at 0.2 in a cable, 1.049 in hold 11 at 40 %, 0.824 in hold 6 (by hand).
@pytest.mark.parametrize(
    ("cables", "spare", "smallest"),
    [(1, 10, "1/2"), (3, 8, "1/2"), (4, 7, "3/4"), (11, 0, "1"), (12, 0, "1-1/4")],
)
def test_what_is_left_and_the_size_that_holds_it(cables: int, spare: int, smallest: str, tmp_path: Path) -> None:
    """Cables of the commonest type, to the limit of the count that results; sizes of the same kind."""
    found, project = only(tmp_path, 'length: 9 m, kind: conduit, trade_size: "1"', cables=cables)

    assert found.room is not None
    assert (found.room.spare.cables, found.room.smallest) == (spare, smallest)
    advice = [alert.advice for alert in fill_alerts(Fill(segments=(found,), unrouted=()), project)]
    assert advice == (
        ["use trade size 1-1/4 or larger in EMT, a second one, or send circuits `via` another way"]
        if cables > 11
        else []
    )


def test_one_cable_leaves_room_by_the_share_of_the_count_that_results(tmp_path: Path) -> None:
    """0.4 in in 0.622 in: one is 41.4 % of 53 %; two would be held to 31 %, so nothing is spare (by hand)."""
    drops = "drops: [{id: D1, room: 1A, at: a, cable: FA}]\n"
    fill, _ = filled(
        tmp_path, f"pathways: [{{id: S, from: 1A, to: a, length: 9 m, kind: conduit, trade_size: 1/2}}]\n{drops}"
    )
    found = fill.segments[0]
    assert found.word == "within"
    assert found.room is not None
    assert (found.room.spare.cables, found.room.spare.allowed) == (0, 0.31)


def test_no_size_holds_what_is_too_much(tmp_path: Path) -> None:
    """ENT ends at trade size 2; the advice then names none."""
    segment = 'length: 9 m, kind: conduit, material: ent, trade_size: "2"'
    found, project = only(tmp_path, segment, cables=60)
    assert found.room is not None
    assert found.room.smallest is None
    [alert] = fill_alerts(Fill(segments=(found,), unrouted=()), project)
    assert alert.advice.startswith("use a larger size, a second one")


def test_a_tray_is_told_the_width_it_would_need(tmp_path: Path) -> None:
    """40 cables of 0.2 in at 25 % in 1 in of depth: 5.03 in, 128 mm (by hand)."""
    found, project = only(tmp_path, "length: 9 m, kind: tray, width: 4 in, depth: 1 in", cables=40)
    assert found.room is not None
    assert found.room.width_m == pytest.approx(40 * CABLE_M2 / (0.25 * INCH), rel=1e-12)
    [alert] = fill_alerts(Fill(segments=(found,), unrouted=()), project)
    assert alert.advice.startswith("use one at least 128 mm wide at this depth, a second one")


def test_most_cables_of_the_job_decide_what_is_counted_as_spare(tmp_path: Path) -> None:
    """The type typed first where two are as many; what lies there before only where the job lays nothing."""
    paths = """\
pathways:
  - {id: S, from: 1A, to: a, length: 9 m, kind: conduit, trade_size: "1", existing: [{cable: C6, qty: 2}]}
  - {id: T, from: 1A, to: b, length: 9 m, kind: conduit, trade_size: "1", existing: [{cable: C6, qty: 2}]}
  - {id: U, from: 1A, to: c, length: 9 m, kind: conduit, trade_size: "1"}
"""
    for drops, commonest in (("FA", "FA"), ("C6 FA", "C6"), ("FA FA C6", "FA")):
        lines = "".join(f"  - {{id: D{i}, room: 1A, at: a, cable: {c}}}\n" for i, c in enumerate(drops.split()))
        fill, _ = filled(tmp_path, f"{paths}drops:\n{lines}")
        rooms = [one.room for one in fill.segments]
        assert [room.cable.id if room else None for room in rooms] == [commonest, "C6", None]


@pytest.mark.parametrize(
    ("kind", "listed", "share", "source"),
    [
        ("surface_raceway", "", 0.4, "ANSI/TIA-569 or specification"),
        ("surface_raceway", ", listed_fill_percent: 60", 0.6, "its own listing"),
        ("cabinet", ", listed_fill_percent: 50", 0.5, "its own listing"),
        ("cabinet", ", listed_fill_percent: 50, max_fill_percent: 30", 0.3, "segment, "),
    ],
)
def test_a_listing_of_its_own_says_how_far_a_raceway_may_be_filled(
    kind: str, listed: str, share: float, source: str, tmp_path: Path
) -> None:
    """Typed as the listing prints it; the house's conduit fill stands where none is typed."""
    found, _ = only(tmp_path, f"length: 9 m, kind: {kind}, width: 4 in, depth: 4 in{listed}", cables=3)
    assert found.limit is not None
    assert found.limit.share == pytest.approx(share, rel=1e-12)
    assert found.limit.source.startswith(source)


@pytest.mark.parametrize(
    ("bottom", "cable", "share"), [("solid", "FA", 0.4), ("ladder", "FA", 0.5), ("solid", "C6", 0.5)]
)
def test_the_code_limits_a_tray_by_its_bottom(bottom: str, cable: str, share: float, tmp_path: Path) -> None:
    """Source: NFPA 70 392.22(A)(2) and (4), control and signal cables; communications follow TIA-569."""
    text = f"""\
pathways: [{{id: S, from: 1A, to: a, length: 9 m, kind: tray, width: 4 in, depth: 4 in, bottom: {bottom}}}]
drops: [{{id: D1, room: 1A, at: a, cable: {cable}}}]
rules: {{max_fill_tray_percent: 50}}
"""
    fill, _ = filled(tmp_path, text)
    limit = fill.segments[0].limit
    assert limit is not None
    assert limit.share == share
    assert ("392.22(A)(4)" in limit.source) is (share == 0.4)


@pytest.mark.parametrize(
    ("cable", "edition", "clause"),
    [
        ("class_1", "2020", "300.17 by 725.3(A)"),
        ("class_1", "2023", "300.17 by 724.3(A)"),
        ("class_2", "2017", "300.17 by 725.3(A) or 760.3"),
        ("pl_fire_alarm", "2023", "300.17 by 722.3(A)"),
        ("npl_fire_alarm", "2023", "300.17 by 760.3(H)"),
    ],
)
def test_each_class_has_its_way_to_the_fill_rule(cable: str, edition: str, clause: str) -> None:
    """Source: informational note of NFPA 70 300.17, by edition."""
    assert fill_authority([cable], edition).startswith(f"NFPA 70 {clause}; ")


# Spacing of NFPA 70: EMT 358.30 10 ft; RMC 1 in Table 344.30(B) 12 ft; PVC 1 in Table 352.30(B) 3 ft; 3 ft from boxes.
@pytest.mark.parametrize(
    ("material", "trade", "supports"),
    [("emt", "1", 11), ("rmc", "1", 9), ("rmc", "3", 6), ("pvc40", "1", 33), ("fmc", "1", None)],
)
def test_supports_by_kind_and_size(material: str, trade: str, supports: int | None, tmp_path: Path) -> None:
    """100 ft in all: the first and last near their boxes, the rest by spacing (by hand)."""
    segment = f'length: 90 ft, rise: 10 ft, kind: conduit, material: {material}, trade_size: "{trade}"'
    found, _ = only(tmp_path, segment, cables=1)
    assert found.supports == supports
    nipple, _ = only(tmp_path, 'length: 1 ft, kind: conduit, trade_size: "1", nipple: true', cables=1)
    assert nipple.supports is None


@pytest.mark.parametrize("kind", ["emt", "pvc80"])
def test_typed_in_feet_or_meters_a_job_gets_the_same_verdicts(kind: str, tmp_path: Path) -> None:
    """The same conduit and cables in other units: word, spare and size stay."""
    found = []
    for od, length in (("0.2 in", "29.5275590551 ft"), ("5.08 mm", "9 m"), ("0.508 cm", "900 cm")):
        text = PLANT.replace("od: 0.2 in", f"od: {od}")
        project, footage = measured(
            tmp_path,
            f"{text}pathways: [{{id: S, from: 1A, to: a, length: {length}, kind: conduit, material: {kind}, "
            'trade_size: "1"}]\ndrops: [{id: D1..D9, room: 1A, at: a, cable: C6}]\n',
        )
        one = fill_pathways(footage, project).segments[0]
        assert one.room is not None
        assert one.share is not None
        found.append((one.word, one.room.spare, one.room.smallest, one.supports, over(one.share, 0.4)))
    assert found[0] == found[1] == found[2]
