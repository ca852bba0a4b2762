"""A small job of every medium, for the tests of criteria and of judging."""

from __future__ import annotations

from pathlib import Path

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage, measure

JOB = """
dropledger: 1
project: {name: Clinic, lengths_in: m}
rules: {room_leg: 0 m, last_leg: 0 m, slack_room: 0 m, slack_device: 0 m%(rules)s}
rooms: [{id: 1A}, {id: 1B}]
nodes: [{id: N1}, {id: N2}]
pathways:
  - {id: T1, from: 1A, to: N1, length: 30 m, kind: tray, width: 300 mm, depth: 100 mm}
  - {id: T2, from: N1, to: N2, length: 20 m, kind: tray, width: 300 mm, depth: 100 mm}
cables:
  - {id: C6, type: cat6_utp_plenum, nvp_percent: 70}
  - {id: RG6, type: rg6%(rg6)s}
  - {id: FA, type: fplp_16_2}
  - {id: SPK, type: c16_2}
  - {id: OM4, type: of_12_om4_ofnp, strands: 2, put_up: 1000 m}
devices:
  - {id: outlet, system: data, cable: C6}
  - {id: cam, system: video, cable: C6, end: plug, poe_class: 4, draw: 12 W}
  - {id: analog, system: video, cable: RG6, end: bnc}
  - {id: horn, system: fire_alarm, standby_current: 0 A, alarm_current: 0.1 A, least_voltage: 16 V}
  - {id: ceiling, system: audio, tap: 5 W}
drops:
  - {id: 1A-A02, room: 1A, device: outlet, at: N2}
  - {id: 1A-A10, room: 1A, device: outlet, at: N2}
  - {id: 1A-A01, room: 1A, device: cam, length: 80 m}
  - {id: 1A-V1, room: 1A, device: analog, length: 60 m}
control_units:
  - id: FACP
    system: fire_alarm
    room: 1B
    standby_current: 0.1 A
    alarm_current: 0.2 A
    battery: {capacity: 7 Ah, blocks: 2}
amplifiers: [{id: AMP, room: 1B, power: 100 W, line_voltage: 70.7 V}]
circuits:
  - id: NAC-1
    kind: notification
    source: FACP
    cable: FA
    end_of_line: 10 kohm
    devices: [{device: horn, distance: 50 m}, {device: horn, distance: 50 m}]
  - {id: SP-1, kind: speaker, source: AMP, cable: SPK, devices: [{device: ceiling, distance: 20 m, qty: 10}]}
backbone:
  - {id: 1A/1B-1, from: 1A, to: 1B, cable: OM4, length: 300 m, reference: one_cord, application: 10GBASE-SR}
test_points:
  - {id: BAT-1, kind: battery, control_unit: FACP, load: 3 A}
  - {id: GND-1, kind: bonding, limit: 0.1 ohm}
acceptance:%(acceptance)s
"""

PLAIN = """
  instruments:
    - {id: T1, kind: cable tester, media: balanced_pair, length_accuracy: 1 m, delay_accuracy: 5 ns}
    - {id: M1, kind: meter, voltage_accuracy: 0.1 V}
"""


def job(
    folder: Path, acceptance: str = PLAIN, rules: str = "", rg6: str = ""
) -> tuple[Project, Footage, tuple[Criteria, ...]]:
    """Return the project, its footage and its criteria."""
    path = folder / "clinic.yaml"
    path.write_text(JOB % {"acceptance": acceptance, "rules": rules, "rg6": rg6}, encoding="utf-8")
    loaded = load(path)
    assert loaded.project is not None, "\n".join(map(str, loaded.faults))
    footage = measure(loaded.project, Faults())
    return loaded.project, footage, criteria_for(loaded.project, footage)
