"""Expected lengths, orders and fill of small jobs, by hand and against another library."""

from __future__ import annotations

import random
from pathlib import Path

import networkx
import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.footage import measure
from estimator.takeoff.takeoff import Takeoff, alerts_of, take_off

FOOT = 0.3048
HEAD = """\
dropledger: 1
project: {name: T}
rooms: [{id: 1A, floor: "1"}]
nodes: [{id: n1, floor: "1"}, {id: n2, floor: "1"}]
cables: [{id: C6, type: cat6_utp_plenum, od: 0.225 in}]
devices: [{id: data, cable: C6}]
"""


def taken(folder: Path, text: str) -> Takeoff:
    """Return the takeoff of a text. Fails with its faults where it has any."""
    (folder / "t.yaml").write_text(text, encoding="utf-8")
    loaded = load(folder / "t.yaml")
    assert loaded.project is not None, [str(f) for f in loaded.faults]
    return take_off(loaded.project)


def test_a_length_is_the_sum_of_its_parts(tmp_path: Path) -> None:
    """By hand: 40 + 8 ft route, 10 ft room leg, 12.5 ft last leg, 10 + 1 ft slack, two loops of 5 ft."""
    job = taken(
        tmp_path,
        HEAD
        + """\
rules: {service_loop: 5 ft, loop_at: both}
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, rise: 8 ft, kind: open}]
drops: [{id: X, room: 1A, at: n1, device: data, last_leg: 12 ft 6 in}]
""",
    )
    assert job.footage.lengths[0].expected_m == pytest.approx((48 + 10 + 12.5 + 10 + 1 + 10) * FOOT)


def test_the_nearest_word_decides_a_part(tmp_path: Path) -> None:
    """The drop over its device over its cable over the rule."""
    job = taken(
        tmp_path,
        HEAD.replace(
            "devices: [{id: data, cable: C6}]",
            """\
devices:
  - {id: data, cable: C6}
  - {id: wap, cable: C6, service_loop: 6 ft}
rules: {service_loop: 2 ft}""",
        )
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, kind: open}]
drops:
  - {id: A1, room: 1A, at: n1, device: data}
  - {id: A2, room: 1A, at: n1, device: wap}
  - {id: A3, room: 1A, at: n1, device: wap, service_loop: 9 ft}
""",
    )
    assert [length.service_loop_m / FOOT for length in job.footage.lengths] == pytest.approx([2, 6, 9])


def test_exactly_ninety_meters_is_not_over(tmp_path: Path) -> None:
    """Source: ANSI/TIA-568, 90 m permanent link; 0.2 + 73.9 + 15.9 m is 90 m though floats add up to more."""
    text = (
        HEAD.replace("pathways", "x")
        + """\
rules: {room_leg: 0.2 m, slack_room: 0 m, slack_device: 0 m}
pathways: [{id: T1, from: 1A, to: n1, length: 73.9 m, kind: open}]
drops: [{id: X, room: 1A, at: n1, device: data, last_leg: 15.9 m}]
"""
    )
    assert not alerts_of(taken(tmp_path, text))
    over = alerts_of(taken(tmp_path, text.replace("15.9 m", "15.91 m")))
    assert [alert.kind for alert in over] == ["over length"]


def test_routes_are_those_of_another_library(tmp_path: Path) -> None:
    """Reference: networkx Dijkstra on the same random graph of 60 nodes and 140 segments."""
    pick = random.Random(7)
    nodes = [f"n{i}" for i in range(60)]
    pairs = [(nodes[i - 1] if i else "1A", nodes[i]) for i in range(60)]
    pairs += [tuple(pick.sample(nodes, 2)) for _ in range(80)]  # type: ignore[misc]
    segments = [(f"S{i}", a, b, pick.randint(5, 90)) for i, (a, b) in enumerate(pairs)]
    drops = [f"  - {{id: D{i}, room: 1A, at: {node}, device: data}}" for i, node in enumerate(nodes)]
    text = HEAD.split("nodes:")[0] + "nodes:\n" + "".join(f"  - {{id: {n}}}\n" for n in nodes)
    text += HEAD.split('n2, floor: "1"}]\n')[1] + "pathways:\n"
    text += "".join(f"  - {{id: {s}, from: {a}, to: {b}, length: {x} ft, kind: open}}\n" for s, a, b, x in segments)
    (tmp_path / "t.yaml").write_text(text + "drops:\n" + "\n".join(drops) + "\n", encoding="utf-8")
    project = load(tmp_path / "t.yaml").project
    assert project is not None
    graph = networkx.MultiGraph()
    graph.add_weighted_edges_from([(a, b, x) for _, a, b, x in segments])
    expected = networkx.single_source_dijkstra_path_length(graph, "1A")
    found = measure(project, Faults())
    assert [length.route_m / FOOT for length in found.lengths] == pytest.approx([expected[n] for n in nodes])


# Source: NFPA 70, Chapter 9, Table 4: 1 in EMT 1.049 in inside; Table 1: 40 % over two cables.
# By hand: n x pi/4 x 0.225^2 over pi/4 x 1.049^2 is n x 0.0460; eight are 36.8 %, nine are 41.41 %.
@pytest.mark.parametrize(("cables", "share", "kinds"), [(8, 0.3680, []), (9, 0.4141, ["overfull"])])
def test_the_ninth_cable_overfills_a_one_inch_emt(cables: int, share: float, kinds: list[str], tmp_path: Path) -> None:
    """Fill counts the circuits that really route there."""
    job = taken(
        tmp_path,
        HEAD
        + f"""\
pathways:
  - {{id: C1, from: 1A, to: n1, length: 40 ft, kind: conduit, trade_size: "1"}}
  - {{id: C2, from: n1, to: n2, length: 40 ft, kind: conduit, trade_size: "1"}}
drops:
  - {{id: A01..A{cables:02d}, room: 1A, at: n1, device: data}}
  - {{id: T1, room: 1A, length: 90 ft, device: data}}
""",
    )
    first, second = job.fill.segments
    assert first.share == pytest.approx(share, abs=5e-5)
    assert second.share == 0
    assert job.fill.unrouted == ("T1",)
    assert [alert.kind for alert in alerts_of(job)] == kinds


def test_boxes_to_order_are_the_larger_of_cut_plan_and_footage(tmp_path: Path) -> None:
    """By hand: 4 runs of 260 ft; 1,040 ft x 1.05 / 1,000 is 2 boxes, and a box gives 3 runs: 2 boxes.
    With 7 runs of 260 ft: footage 1,911 ft is 2 boxes, the cut plan needs 3.
    """
    for runs, by_plan, by_footage in ((4, 2, 2), (7, 3, 2)):
        job = taken(tmp_path, HEAD + f"drops: [{{id: A1..A{runs}, room: 1A, length: 260 ft, device: data}}]\n")
        order = job.orders[0]
        assert (order.by_plan, order.by_footage, order.boxes) == (by_plan, by_footage, max(by_plan, by_footage))


@pytest.mark.parametrize(("x", "y", "route", "distance"), [(30, 12, 30, 12), (0, 5, 0, 5), (60, -7, 50, 17)])
def test_a_place_on_the_plan_leaves_at_the_nearest_point(
    x: int, y: int, route: int, distance: int, tmp_path: Path
) -> None:
    """By hand on a straight tray of 50 ft: along it to the nearest point, then along the two axes."""
    job = taken(
        tmp_path,
        f"""\
dropledger: 1
project: {{name: T}}
plan: {{unit: 1 ft}}
rooms: [{{id: 1A, floor: "1", x: 0, y: 0}}]
nodes: [{{id: n1, floor: "1", x: 50, y: 0}}]
cables: [{{id: C6, type: cat6_utp_plenum}}]
pathways: [{{id: T1, from: 1A, to: n1, length: 50 ft, kind: tray, width: 6 in, depth: 4 in, space: plenum}}]
drops: [{{id: X, room: 1A, floor: "1", x: {x}, y: {y}, cable: C6}}]
""",
    )
    assert job.footage.lengths[0].route_m == pytest.approx((route + distance) * FOOT)
    assert job.footage.lengths[0].last_leg_m == pytest.approx(10 * FOOT)


def test_a_riser_jacket_in_a_plenum_is_the_costliest_mistake(tmp_path: Path) -> None:
    """Source: NFPA 70, 800.154: CMR is no substitute for CMP; inside complete metal raceway it may lie."""
    text = (
        HEAD.replace("cat6_utp_plenum", "cat6_utp_riser")
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, kind: j_hooks, space: plenum}]
drops: [{id: X, room: 1A, at: n1, device: data}]
"""
    )
    assert [alert.kind for alert in alerts_of(taken(tmp_path, text))] == ["jacket"]
    metal = text.replace("kind: j_hooks", 'kind: conduit, trade_size: "2"')
    assert not alerts_of(taken(tmp_path, metal))


def test_a_drop_on_the_plan_stays_on_its_floor(tmp_path: Path) -> None:
    """Two floors drawn one above the other: the drop takes its room's tray, not the one with the earlier id."""
    job = taken(
        tmp_path,
        """\
dropledger: 1
project: {name: T}
plan: {unit: 1 ft}
rooms: [{id: 1A, floor: "1", x: 0, y: 0}, {id: 2A, floor: "2", x: 0, y: 0}]
nodes: [{id: N1, floor: "1", x: 100, y: 0}, {id: N2, floor: "2", x: 100, y: 0}]
pathways:
  - {id: T1, from: 1A, to: N1, length: 100 ft, kind: tray, width: 6 in, depth: 2 in}
  - {id: A2, from: 2A, to: N2, length: 100 ft, kind: tray, width: 6 in, depth: 2 in}
  - {id: R, from: 1A, to: 2A, length: 1 ft, rise: 14 ft, kind: open}
cables: [{id: C6, type: cat6_utp_plenum}]
devices: [{id: data, cable: C6}]
drops:
  - {id: X, room: 1A, device: data, x: 50, y: 3}
  - {id: Y, room: 1A, device: data, x: 50, y: 3, floor: "2"}
""",
    )
    assert [job.footage.segments(length) for length in job.footage.lengths] == [("T1",), ("R", "A2")]


def test_a_circuit_that_cannot_pass_its_via_is_a_fault(tmp_path: Path) -> None:
    """Its cable would be missing in the fill without a word."""
    job = taken(
        tmp_path,
        HEAD
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 9 ft, kind: open}, {id: T2, from: n1, to: n2, length: 9 ft, kind: open}]
power_supplies: [{id: P, room: 1A, voltage: 24 V, rating: 4 A}]
circuits: [{id: B1, kind: dc, source: P, cable: c18_2, at: n1, via: T2 T1, devices: [{device: data, distance: 9 ft}]}]
""",
    )
    assert [fault.wrong for fault in job.faults] == ["no route of circuit 'B1' passes T2, T1 in that order"]


def test_a_segments_own_fill_only_lowers_its_limit(tmp_path: Path) -> None:
    """Two cables may fill 31 % (NFPA 70 Chapter 9 Table 1): 35 % typed changes nothing, 20 % does."""
    text = (
        HEAD
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 9 ft, kind: conduit, trade_size: "1", max_fill_percent: 35}]
drops: [{id: X1..X2, room: 1A, at: n1, device: data}]
"""
    )
    limits = []
    for typed in ("35", "20"):
        limit = taken(tmp_path, text.replace("percent: 35", f"percent: {typed}")).fill.segments[0].limit
        assert limit is not None
        limits.append(limit.share)
    assert limits == [0.31, 0.2]


def test_the_jam_ratio_may_allow_for_an_oval_bend(tmp_path: Path) -> None:
    """Trade size 1/2 EMT is 0.622 in inside (NFPA 70 Chapter 9 Table 4): over 0.2 in 3.11, times 1.05 3.27."""
    text = (
        HEAD.replace("od: 0.225 in", "od: 0.2 in")
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 9 ft, kind: conduit, trade_size: 1/2}]
drops: [{id: X1..X3, room: 1A, at: n1, device: data}]
"""
    )
    plain, oval = (taken(tmp_path, text + rules) for rules in ("", "rules: {jam_allowance: 1.05}\n"))
    assert [job.fill.segments[0].jams for job in (plain, oval)] == [True, False]
    assert plain.fill.segments[0].jam_ratio == pytest.approx(3.11, abs=0.005)
    assert [alert.limit for alert in alerts_of(plain) if alert.kind == "may jam"] == ["outside 2.8 to 3.2"]


@pytest.mark.parametrize(
    ("cable", "source"),
    [
        ("cat6_utp_plenum", "ANSI/TIA-569 or specification for communications cable (exempt by NFPA 70 800.110); "),
        ("fplp_14_2", "NFPA 70 300.17 by 722.3(A); "),
    ],
)
def test_fill_names_who_asks_for_it(cable: str, source: str, tmp_path: Path) -> None:
    """The code asks it of fire alarm and Class 2 and 3 alone (NFPA 70 300.17 and 800.110)."""
    job = taken(
        tmp_path,
        HEAD.replace("type: cat6_utp_plenum, od: 0.225 in", f"type: {cable}")
        + """\
pathways: [{id: T1, from: 1A, to: n1, length: 9 ft, kind: conduit, trade_size: "1"}]
drops: [{id: X1..X4, room: 1A, at: n1, device: data}]
""",
    )
    limit = job.fill.segments[0].limit
    assert limit is not None
    assert limit.source.startswith(source)
    assert limit.source.endswith("Chapter 9, Table 1 and Notes 4, 7 and 9")


def test_links_that_land_on_no_port_are_told(tmp_path: Path) -> None:
    """A slip in an id must not lose a port in silence."""
    text = HEAD.replace('floor: "1"}]\nnodes', 'floor: "1", patch_panels: [{id: A, ports: 48}]}]\nnodes')
    drops = [f"  - {{id: 1A-{port}, room: 1A, length: 90 ft, device: data}}" for port in ("A01", "Z02")]
    (alert,) = alerts_of(taken(tmp_path, text + "\n".join(["drops:", *drops, ""])))
    assert (alert.kind, alert.subject, alert.value) == ("no port", "1A-Z02", "1 without a port")
