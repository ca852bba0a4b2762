"""A job with every medium for the table of fault cases: an invented school, Harbor Row."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.field.judging import judge
from estimator.field.rows import ReadRow
from estimator.field.verdicts import JobResult
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage, measure

SCHOOL = """
dropledger: 1
project: {name: Harbor Row, lengths_in: m}
rules: {room_leg: 0 m, last_leg: 0 m, slack_room: 0 m, slack_device: 0 m}
codes: {fire_alarm: "2022"}
rooms: [{id: 1A}, {id: 1B}]
nodes: [{id: N1}, {id: N2}]
pathways:
  - {id: T1, from: 1A, to: N1, length: 30 m, kind: tray, width: 300 mm, depth: 100 mm}
  - {id: T2, from: N1, to: N2, length: 20 m, kind: tray, width: 300 mm, depth: 100 mm}
cables:
  - {id: C6, type: cat6_utp_plenum, nvp_percent: 70}
  - {id: C6S, type: cat6_utp_plenum, nvp_percent: 70}
  - {id: RG6, type: rg6}
  - {id: FA, type: fplp_16_2}
  - {id: SPK, type: c16_2}
  - {id: V, medium: voice, pairs: 3, gauge: 24, jacket: CMP, class: communications, od: 4.6 mm, put_up: 300 m}
  - {id: OM4, type: of_12_om4_ofnp, strands: 6, put_up: 1000 m}
devices:
  - {id: outlet, system: data, cable: C6}
  - {id: desk, system: data, cable: C6, application: 1000BASE-T}
  - {id: split, system: data, cable: C6S}
  - {id: cam, system: video, cable: C6, end: plug, poe_class: 4, draw: 12 W}
  - {id: analog, system: video, cable: RG6, end: bnc}
  - {id: phone, system: voice, cable: V}
  - {id: horn, system: fire_alarm, standby_current: 0 A, alarm_current: 0.1 A, least_voltage: 16 V}
  - {id: ceiling, system: audio, tap: 5 W}
  - {id: low, system: audio, impedance: 8 ohm}
drops:
  - {id: D1, room: 1A, device: outlet, at: N2}
  - {id: D2, room: 1A, device: outlet, at: N2}
  - {id: D3, room: 1A, device: desk, at: N2}
  - {id: D4, room: 1A, device: split, at: N2}
  - {id: CAM, room: 1A, device: cam, length: 80 m}
  - {id: X1, room: 1A, device: analog, length: 60 m}
  - {id: P1, room: 1A, device: phone, length: 8 m}
control_units:
  - {id: FACP, system: fire_alarm, room: 1A, standby_current: 0.3 A, alarm_current: 2 A,
     battery: {capacity: 7 Ah, blocks: 2}}
  - {id: BURG, system: intrusion, room: 1A, voltage: 12 V, standby_current: 0.05 A, alarm_current: 0.3 A,
     battery: {capacity: 7 Ah, blocks: 1}}
amplifiers: [{id: AMP, room: 1A, power: 100 W, line_voltage: 70.7 V}]
circuits:
  - {id: NAC, kind: notification, source: FACP, cable: FA, class: A, end_of_line: 10 kohm, return: 60 m,
     devices: [{device: horn, distance: 50 m}, {device: horn, distance: 50 m}]}
  - {id: SPL, kind: speaker, source: AMP, cable: SPK, devices: [{device: ceiling, distance: 20 m, qty: 4}]}
backbone:
  - {id: FB, from: 1A, to: 1B, cable: OM4, length: 300 m, reference: one_cord, application: 10GBASE-SR}
test_points:
  - {id: BAT, kind: battery, control_unit: FACP, load: 3 A, installed: 2024-01}
  - {id: ALARM, kind: battery, control_unit: BURG, load: 250 mA}
  - {id: GND, kind: bonding, limit: 0.1 ohm}
acceptance:
  cables:
    - {cable: C6S, tests: wire_map split_pair}
    - {cable: RG6, tests: open_short length video_level, video_state: bridging}
  instruments:
    - {id: CT, kind: continuity tester, media: balanced_pair}
    - {id: CERT, kind: cable certifier, media: balanced_pair, sees_split_pairs: yes}
    - {id: ALL, kind: bench of the tests, length_accuracy_percent: 2, length_accuracy: 0.3 m, delay_accuracy: 5 ns,
       resistance_accuracy_percent: 1, resistance_accuracy: 0.02 ohm, voltage_accuracy_percent: 0.5,
       voltage_accuracy: 0.02 V, loss_accuracy: 0.1 dB}
    - {id: OLD, kind: cable tester, media: balanced_pair, calibration_due: 2026-01-31}
"""


@cache
def school() -> tuple[Project, Footage, tuple[Criteria, ...]]:
    """Return the job, its footage and its criteria.

    Raises: ValueError where the project file has faults.
    """
    with TemporaryDirectory() as folder:
        path = Path(folder) / "school.yaml"
        path.write_text(SCHOOL, encoding="utf-8")
        loaded = load(path)
    if loaded.project is None:
        raise ValueError("\n".join(map(str, loaded.faults)))
    footage = measure(loaded.project, Faults())
    return loaded.project, footage, criteria_for(loaded.project, footage)


def judged_school(*rows: ReadRow) -> JobResult:
    """Return the school judged with these rows."""
    project, footage, criteria = school()
    return judge(project, footage, criteria, rows)
