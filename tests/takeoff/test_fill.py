"""Fill of each kind of pathway by its own rule, its limit with its source, hooks, pull points and jams."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from estimator.spec.model import Project
from estimator.takeoff.fill import Fill, SegmentFill, fill_alerts, fill_families, fill_pathways
from estimator.takeoff.worked import explain
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
    assert worked.meaning == "conduit: share filled; 1 circuits have no route and aren't in it"
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
    assert figures == {"segment.H1.fill": 1.25, "segment.H2.fill": 0.25, "segment.H1.hooks": 8, "segment.H2.hooks": 11}
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


# Source: ANSI/TIA-569: no more than 180 degrees and 100 ft (30.48 m) between pull points.
@pytest.mark.parametrize(
    ("segment", "values"),
    [
        ("length: 28 m, rise: 2.48 m, bends: 180 deg", []),
        ("length: 28 m, rise: 2.58 m, bends: 180 deg", ["30.6 m"]),
        ("length: 9 m, bends: 181 deg", ["181 deg"]),
        ("length: 31 m, bends: 270 deg", ["270 deg", "31.0 m"]),
    ],
)
def test_pull_points_are_told_over_their_limits(segment: str, values: list[str], tmp_path: Path) -> None:
    """The vertical leg counts in the length; a tray has no pull points."""
    found, project = only(tmp_path, f'{segment}, kind: conduit, trade_size: "1"', cables=1)
    tray, _ = only(tmp_path, f"{segment}, kind: tray, width: 4 in, depth: 4 in", cables=1)
    alerts = [list(fill_alerts(Fill(segments=(one,), unrouted=()), project)) for one in (found, tray)]

    assert [alert.value for alert in alerts[0]] == values
    assert {alert.kind for alert in alerts[0]} <= {"pull point"}
    assert {alert.limit for alert in alerts[0]} <= {"180 deg", "30.5 m"}
    assert alerts[1] == []


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
