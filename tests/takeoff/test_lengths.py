"""Each way to have a length: its parts, whose word each part is, and the figure that is printed."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.footage import (
    Footage,
    backbone_parts,
    length_alerts,
    length_families,
    measure,
    pull_of,
    rule_origin,
    shown_length,
)
from estimator.takeoff.worked import Input, Worked, explain
from tests.takeoff.evaluated import held, measured, project_of

JOB = """\
rooms:
  - {id: 1A, floor: "1", x: 0, y: 0, room_leg: 2 m}
  - {id: 1B, floor: "1", x: 0, y: 30, room_leg: 3 m, slack_room: 4 m}
plan: {unit: 1 m}
nodes: [{id: n1, floor: "1", x: 40, y: 0}]
pathways:
  - {id: T1, from: 1A, to: n1, length: 40 m, kind: tray, width: 100 mm, depth: 100 mm}
  - {id: T2, from: n1, to: 1B, length: 20 m, rise: 5 m, kind: open}
cables:
  - {id: C6, type: cat6_utp_plenum, service_loop: 1.5 m}
  - {id: FA, type: fplp_14_2}
  - {id: OM4, type: of_12_om4_ofnp, put_up: 500 m, reference: one_cord}
devices: [{id: data, cable: C6, last_leg: 6 m}, {id: horn, cable: FA, alarm_current: 0.1 A}]
rules: {room_leg: 1 m, slack_room: 2.5 m, slack_device: 0.5 m, slack_fiber: 7 m, loop_at: both, drop_height: 3.5 m}
drops:
  - {id: D1, room: 1A, at: n1, device: data, zone: east}
  - {id: D2, room: 1A, floor: "1", x: 10, y: 4, cable: C6}
  - {id: D3, room: 1B, length: 95 m, device: data, pull: P7}
  - {id: D4, room: 1A, at: n1, device: data, slack_device: 0.25 m, loop_at: room}
  - {id: D5, room: 1A, at: n1, cable: OM4, last_leg: 1 m, service_loop: 0 m}
control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0 A, alarm_current: 0 A}]
circuits:
  - {id: N1, kind: notification, source: P, cable: FA, class: A, return: 12 m,
     devices: [{device: horn, distance: 8 m}, {device: horn, distance: 5 m}]}
backbone:
  - {id: B1, from: 1A, to: 1B, cable: OM4}
  - {id: B2, from: 1A, to: 1B, cable: C6}
  - {id: B3, from: 1A, to: 1B, cable: C6, length: 77 m, pull: P9}
"""
FIGURES = {
    # By hand: route 40, legs 2 and 6, slack 2.5 and 0.5, two loops of 1.5 m.
    "drop.D1.expected_length": 54.0,
    # By hand: 10 m along the tray and 4 m across, leg 2, drop height 3.5, slack 2.5 and 0.5, two loops.
    "drop.D2.expected_length": 25.5,
    "drop.D3.expected_length": 95.0,
    # As D1, with a quarter of slack less and one loop.
    "drop.D4.expected_length": 52.25,
    # Route 40, legs 2 and 1, and the fiber's slack of 7 m at both ends.
    "drop.D5.expected_length": 57.0,
    "circuit.N1.expected_length": 25.0,
    # By hand: route 65, legs 2 and 3; fiber slack 7 m in the first room, 4 m typed in the second.
    "backbone.B1.expected_length": 81.0,
    # As B1, with 2.5 m of slack in the first room.
    "backbone.B2.expected_length": 76.5,
    "backbone.B3.expected_length": 77.0,
}


@pytest.fixture
def job(tmp_path: Path) -> tuple[Project, Footage]:
    """Return the job and its footage."""
    return measured(tmp_path, JOB)


def worked(job: tuple[Project, Footage], name: str) -> Worked:
    """Return one expected length worked out."""
    found = explain(length_families(job[1], job[0]), f"{name}.expected_length")
    assert found is not None
    return found


def origins(inputs: Mapping[str, Input]) -> dict[str, str]:
    """Return the first words of each input's origin; all lengths are in meters."""
    assert all(one.unit == "m" for name, one in inputs.items() if name != "loops")
    return {name: one.origin.split(",")[0] for name, one in inputs.items()}


def test_every_way_to_a_length_adds_up(job: tuple[Project, Footage]) -> None:
    """Routed, on the plan, typed, device to device, between rooms: by hand, and by the printed formula."""
    assert held(length_families(job[1], job[0])) == pytest.approx(FIGURES, rel=1e-12)


def test_each_part_says_whose_word_it_is(job: tuple[Project, Footage]) -> None:
    """Drop, device, cable, room or rule; the plan's height and the fiber's slack under their own names."""
    assert origins(worked(job, "drop.D1").inputs) == {
        "route": "shortest route over T1",
        "room_leg": "room",
        "last_leg": "device",
        "slack_room": "rules.slack_room",
        "slack_device": "rules.slack_device",
        "service_loop": "cable",
        "loops": "loop_at both",
    }
    on_plan = origins(worked(job, "drop.D2").inputs)
    assert (on_plan["route"], on_plan["last_leg"]) == ("route and distance on the plan over T1", "rules.drop_height")
    own = origins(worked(job, "drop.D4").inputs)
    assert (own["slack_device"], own["loops"]) == ("drop", "loop_at room")
    assert origins(worked(job, "backbone.B1").inputs) == {
        "route": "shortest route over the pathway graph",
        "leg_start": "room 1A",
        "slack_start": "rules.slack_fiber",
        "leg_end": "room 1B",
        "slack_end": "room 1B",
    }
    assert origins(worked(job, "backbone.B2").inputs)["slack_start"] == "rules.slack_room"
    fiber = origins(worked(job, "drop.D5").inputs)
    assert (fiber["slack_room"], fiber["slack_device"]) == ("rules.slack_fiber", "rules.slack_fiber")
    assert origins(worked(job, "drop.D3").inputs) == {"length": "drop"}
    assert origins(worked(job, "backbone.B3").inputs) == {"length": "typed"}
    assert origins(worked(job, "circuit.N1").inputs) == {"distances": "distances", "back": "`return` of the circuit"}
    assert rule_origin(job[0], "waste").startswith("default waste_percent: ")


def test_balanced_pair_links_have_a_design_limit(job: tuple[Project, Footage]) -> None:
    """Source: ANSI/TIA-568, 90 m permanent link; 95 m is over it by 5 m. A copper backbone is a link too."""
    over, within = worked(job, "drop.D3").judged, worked(job, "drop.D1").judged

    assert over is not None
    assert within is not None
    assert (over.word, over.margin, over.limit) == ("over length", -5.0, 90.0)
    assert (within.word, within.margin) == ("within", pytest.approx(36.0))
    assert [worked(job, name).judged for name in ("circuit.N1", "backbone.B1")] == [None, None]
    backbone = worked(job, "backbone.B2").judged
    assert backbone is not None
    assert (backbone.word, backbone.margin) == ("within", pytest.approx(13.5))
    assert [(alert.subject, alert.value, alert.limit) for alert in length_alerts(job[1], job[0])] == [
        ("D3", "95.0 m", "90.0 m")
    ]


def test_pulls_and_zones_group_what_is_pulled_together(job: tuple[Project, Footage]) -> None:
    """Typed, else the room with its zone; a circuit or backbone cable is a pull of its own."""
    found = {one.id: (one.pull, one.zone, one.room, one.kind) for one in job[1].lengths}

    assert found == {
        "D1": ("1A/east", "east", "1A", "drop"),
        "D2": ("1A", "", "1A", "drop"),
        "D3": ("P7", "", "1B", "drop"),
        "D4": ("1A", "", "1A", "drop"),
        "D5": ("1A", "", "1A", "drop"),
        "N1": ("N1", "", "1A", "circuit"),
        "B1": ("B1", "", "1A", "backbone"),
        "B2": ("B2", "", "1A", "backbone"),
        "B3": ("P9", "", "1A", "backbone"),
    }
    assert [pull_of(run.drop) for run in job[0].runs] == ["1A/east", "1A", "P7", "1A", "1A"]


def test_each_length_knows_its_segments(job: tuple[Project, Footage]) -> None:
    """A routed backbone passes both, a place on the plan leaves on the way, what is typed has no route."""
    footage = job[1]
    found = {one.id: footage.segments(one) for one in footage.lengths}

    assert (found["D1"], found["D2"], found["B1"]) == (("T1",), ("T1",), ("T1", "T2"))
    assert (found["D3"], found["N1"]) == (None, None)
    assert backbone_parts(footage.by_id["B1"], job[0]) == {
        "route": 65.0, "leg_start": 2.0, "slack_start": 7.0, "leg_end": 3.0, "slack_end": 4.0,
    }  # fmt: skip


def test_lengths_are_shown_in_the_unit_of_the_project(tmp_path: Path) -> None:
    """Feet carry meters beside them: 30.48 m are 100 ft (international foot)."""
    project = project_of(tmp_path, "rooms: [{id: 1A}]\n")
    assert shown_length(30.48, project) == "30.5 m"

    path = tmp_path / "feet"
    path.mkdir()
    (path / "job.yaml").write_text("dropledger: 1\nproject: {name: T, lengths_in: ft}\n", encoding="utf-8")
    feet = load(path / "job.yaml").project
    assert feet is not None
    assert shown_length(30.48, feet) == "100.0 ft (30.5 m)"


def test_a_drop_without_a_way_is_a_fault_at_its_place(tmp_path: Path) -> None:
    """A via that can't be passed at the via, a floor without a drawn pathway at x."""
    text = JOB.replace("at: n1, device: data, zone: east", "at: n1, device: data, via: T2 T1").replace(
        'floor: "1", x: 10, y: 4', 'floor: "9", x: 10, y: 4'
    )
    faults = Faults()
    footage = measure(project_of(tmp_path, text), faults)

    assert [str(fault).partition("; ")[0] for fault in faults.found] == [
        "job.yaml:18:51: no route of drop 'D1' passes T2, T1 in that order",
        "job.yaml:19:39: drop 'D2' is on a plan where no pathway of its floor is drawn",
    ]
    assert "D1" not in footage.by_id
    assert "D3" in footage.by_id


def test_a_length_just_over_its_limit_shows_by_how_much(tmp_path: Path) -> None:
    """295.3 ft are 90.0074 m (by hand), which to a tenth reads like the limit."""
    text = "rooms: [{id: 1A}]\ncables: [{id: C6, type: cat6_utp_plenum}]\n"
    project, footage = measured(tmp_path, f"{text}drops: [{{id: D1, room: 1A, cable: C6, length: 295.3 ft}}]\n")
    (alert,) = length_alerts(footage, project)
    assert (alert.value, alert.limit) == ("90.01 m", "90.00 m")
