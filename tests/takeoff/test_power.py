"""Everything that powers a job, taken together."""

from __future__ import annotations

from pathlib import Path

from estimator.takeoff.power import power_alerts, power_families, work_out_power
from tests.takeoff.evaluated import held, measured, near

JOB = """
rooms: [{id: 1A}, {id: 2A}]
cables:
  - {id: C6, type: cat6_utp_riser}
  - {id: F14, type: fplp_14_2}
  - {id: C18, type: c18_2}
  - {id: OF, type: of_12_om4_ofnr, put_up: 1 km}
devices:
  - {id: AP, cable: C6, poe_class: 4}
  - {id: HS, cable: F14, standby_current: 0 A, settings: {75cd: 120 mA}}
  - {id: MAG, cable: [C6, C18], current: 0.5 A, fail: safe, release_on_alarm: yes}
  - {id: SPK, cable: C18, tap: 5 W}
switches: [{id: S1, room: 1A, ports: 24, poe_budget: 370 W}]
control_units:
  - id: P
    system: fire_alarm
    room: 1A
    standby_current: 0.15 A
    alarm_current: 0.3 A
    circuit_rating: 2 A
    battery: {capacity: 7 Ah}
power_supplies: [{id: PS, room: 1A, voltage: 24 V, rating: 2 A}]
amplifiers: [{id: A, room: 1A, power: 60 W, line_voltage: 70.7 V}]
drops:
  - {id: W1..W4, room: 1A, device: AP, length: 60 m, switch: S1}
  - {id: D1, room: 1A, device: MAG, length: 30 m, supply: PS}
circuits:
  - id: N1
    kind: notification
    source: P
    cable: F14
    end_of_line: 10 kohm
    devices: [{device: HS, setting: 75cd, qty: 2, distance: 20 m}]
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: SPK, qty: 4, distance: 30 m}]}
backbone: [{id: B1, from: 1A, to: 2A, cable: OF, length: 80 m, reference: one_cord, application: 10GBASE-SR}]
"""


def test_every_figure_follows_from_its_printed_formula(tmp_path: Path) -> None:
    project, footage = measured(tmp_path, JOB)
    power = work_out_power(project, footage)
    figures = held(power_families(power, project))

    # Source: sum of all loads and NFPA 72-2019: (0.15 x 24 + 0.54 / 12) x 1.2.
    assert figures["battery.P.need"] == near(4.374, 1e-9)
    assert figures["switch.S1.allocated"] == 120.0
    assert figures["nac.N1.current"] == near(0.24, 1e-12)
    assert figures["amplifier.A.load"] == 20.0
    assert figures["fiber.B1.limit_850"] == near(1.74, 1e-9)
    assert figures["supply.PS.load"] == 0.5
    assert list(power_alerts(power, project)) == []


def test_a_device_takes_its_supply_over_its_power_cable(tmp_path: Path) -> None:
    project, footage = measured(tmp_path, JOB)
    power = work_out_power(project, footage)

    assert [line.id for line in power.dc.lines] == ["N1", "D1.2"]


def test_the_same_job_gives_the_same_figures(tmp_path: Path) -> None:
    project, footage = measured(tmp_path, JOB)
    once = held(power_families(work_out_power(project, footage), project))

    assert once == held(power_families(work_out_power(project, footage), project))


def test_a_job_without_power_has_no_figures(tmp_path: Path) -> None:
    project, footage = measured(tmp_path, "rooms: [{id: 1A}]\n")
    power = work_out_power(project, footage)

    assert held(power_families(power, project)) == {}
    assert list(power_alerts(power, project)) == []


def test_life_safety_without_battery_or_rating_and_dc_without_supply_are_told(tmp_path: Path) -> None:
    """What a plan reviewer would send back: each with what is missing."""
    project, footage = measured(
        tmp_path,
        """\
rooms: [{id: 1A}]
nodes: [{id: n1}]
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, kind: open}]
cables: [{id: FA, type: fplp_14_2}, {id: L, type: c18_2}]
devices:
  - {id: horn, system: fire_alarm, alarm_current: 90 mA}
  - {id: lock, system: access, cable: L, voltage: 24 V, current: 0.5 A}
control_units: [{id: FACU, system: fire_alarm, room: 1A, standby_current: 0.1 A, alarm_current: 0.2 A}]
circuits:
  - {id: N1, kind: notification, source: FACU, cable: FA, devices: [{device: horn, distance: 90 ft}]}
drops: [{id: D1, room: 1A, at: n1, device: lock}]
""",
    )
    told = {(alert.kind, alert.subject) for alert in power_alerts(work_out_power(project, footage), project)}
    assert {("no battery", "FACU"), ("no rating", "N1"), ("no supply", "D1")} <= told
