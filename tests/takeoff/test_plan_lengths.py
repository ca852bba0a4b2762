"""Averages before routes are drawn, and conduit ends that lie nearer than the tray."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.takeoff import alerts_of, families_of
from tests.takeoff.test_footage import FOOT, HEAD, taken

AVERAGED = HEAD.replace('{id: 1A, floor: "1"}', '{id: 1A, floor: "1", longest_run: 180 ft, shortest_run: 40 ft}')
RULES = "rules: {room_leg: 0 ft, last_leg: 0 ft, slack_room: 10 ft, slack_device: 10 ft}\n"
DROPS = "drops:\n  - {id: A01..A24, room: 1A, device: data}\n"


# Source: general-wiring quantity formula of the trade press (single): 0.55 x (180 + 40) ft and 20 ft of ends.
def test_a_drop_without_a_place_takes_its_rooms_average(tmp_path: Path) -> None:
    job = taken(tmp_path, AVERAGED + RULES + DROPS)

    assert {length.method for length in job.footage.lengths} == {"averaged"}
    assert [length.expected_m / FOOT for length in job.footage.lengths] == pytest.approx([141] * 24)
    assert len(fill_pathways(job.footage, job.project).unrouted) == 24


# Source: trade practice of whole runs a box: floor(1000 / 141) = 7 a box, 24 / 7 are four boxes.
def test_boxes_of_averaged_drops_are_whole_runs_a_box(tmp_path: Path) -> None:
    (order,) = taken(tmp_path, AVERAGED + RULES + DROPS).orders

    assert order.by_plan == 4


def test_the_average_is_a_figure_with_its_inputs(tmp_path: Path) -> None:
    job = taken(tmp_path, AVERAGED + "rules: {average_allowance_percent: 20}\n" + DROPS)
    families = {(family.what, family.name): family for family in families_of(job)}
    average = families["room", "average_route"]
    inputs = average.inputs(0)

    assert average.values[0] / FOOT == pytest.approx(132)
    assert {name: item.value for name, item in inputs.items()} == pytest.approx(
        {"longest": 180 * FOOT, "shortest": 40 * FOOT, "allowance": 0.2}
    )
    assert "average_allowance" in inputs["allowance"].origin
    assert families["drop", "expected_length"].inputs(0)["route"].origin == "room.1A.average_route"


def test_averages_are_warned_with_the_longest_they_hide(tmp_path: Path) -> None:
    """180 ft and 20 ft of ends."""
    (alert,) = [one for one in alerts_of(taken(tmp_path, AVERAGED + RULES + DROPS)) if one.kind == "averaged"]

    assert alert.subject == "1A"
    assert alert.text == "room 1A has drops with an average for a length (24 C6)"
    assert alert.value == "up to 200.0 ft (61.0 m) on the longest"
    assert alert.limit == "295.3 ft (90.0 m)"


@pytest.mark.parametrize(
    ("room", "wrong"),
    [
        ("longest_run: 180 ft", "room '1A' has `longest_run` alone"),
        ("shortest_run: 40 ft", "room '1A' has `shortest_run` alone"),
        (
            "longest_run: 40 ft, shortest_run: 180 ft",
            "room '1A' has a shortest run of 180 ft and a longest one of 40 ft",
        ),
    ],
)
def test_an_average_takes_a_longest_and_a_shortest_run(room: str, wrong: str, tmp_path: Path) -> None:
    text = HEAD.replace('{id: 1A, floor: "1"}', f'{{id: 1A, floor: "1", {room}}}')
    (tmp_path / "t.yaml").write_text(text + "drops: [{id: X, room: 1A, at: n1, device: data}]\n"
                                     "pathways: [{id: T, from: 1A, to: n1, length: 9 ft, kind: open}]\n")  # fmt: skip

    assert [fault.wrong for fault in load(tmp_path / "t.yaml").faults] == [wrong]


def test_a_drop_without_a_place_is_a_fault_where_its_room_has_no_average(tmp_path: Path) -> None:
    (tmp_path / "t.yaml").write_text(HEAD + DROPS)

    assert "drop 'A01..A24' has no place and no length" in [fault.wrong for fault in load(tmp_path / "t.yaml").faults]


DRAWN = (
    HEAD.replace('{id: 1A, floor: "1"}', '{id: 1A, floor: "1", x: 0, y: 0}')
    .replace('{id: n1, floor: "1"}', '{id: n1, floor: "1", x: 100, y: 0}')
    .replace('{id: n2, floor: "1"}', '{id: n2, floor: "1", x: 60, y: 40}')
    + """\
plan: {unit: 1 ft}
pathways:
  - {id: T1, from: 1A, to: n1, length: 100 ft, kind: tray, width: 12 in, depth: 4 in}
  - {id: C1, from: n1, to: n2, length: 60 ft, kind: conduit, trade_size: "1"}
"""
)


@pytest.mark.parametrize(
    ("y", "kinds"),
    [
        (38, ["nearer conduit"]),  # 38 ft from the tray, 2 ft from the conduit's end
        (26, ["nearer conduit"]),  # 26 ft and 14 ft: nearer by 12 ft, more than the 10 ft drop height
        (24, []),  # 24 ft and 16 ft
    ],
)
def test_a_conduit_end_that_is_nearer_than_the_tray_is_named(y: int, kinds: list[str], tmp_path: Path) -> None:
    job = taken(tmp_path, DRAWN + f"drops: [{{id: X, room: 1A, x: 60, y: {y}, device: data}}]\n")
    alerts = alerts_of(job)

    assert [alert.kind for alert in alerts] == kinds
    if y == 38:
        assert alerts[0].value == "38.0 ft (11.6 m) off, n2 2.0 ft (0.6 m)"
        assert alerts[0].advice.startswith("type `at: n2`")


def test_a_typed_via_says_that_the_tray_is_meant(tmp_path: Path) -> None:
    job = taken(tmp_path, DRAWN + "drops: [{id: X, room: 1A, x: 60, y: 38, via: T1, device: data}]\n")

    assert alerts_of(job) == ()


def test_cables_pulled_at_once_come_from_boxes_of_their_own(tmp_path: Path) -> None:
    """24 short runs would come out of four boxes; twelve at a time need twelve."""
    (order,) = taken(tmp_path, AVERAGED + RULES.replace("{", "{pull_at_once: 12, ", 1) + DROPS).orders

    assert order.by_plan == 12
    boxes = list(order.plan.box_of)
    assert len(set(boxes[:12])) == len(set(boxes[12:])) == 12
