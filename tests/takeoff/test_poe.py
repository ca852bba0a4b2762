"""Powered devices at the end of their cable, and the budget of their switches."""

from __future__ import annotations

import time
from pathlib import Path

from estimator.takeoff.conductors import Conductors, conductor_alerts, conductor_families
from estimator.takeoff.poe import CANNOT, TOO_LOW, WORKS, PoE, work_out_poe
from estimator.takeoff.poe_figures import poe_alerts, poe_families
from tests.takeoff.evaluated import held, measured, near

ROOM = """
rooms: [{id: 1A}]
cables:
  - {id: C6, type: cat6_utp_riser}
  - {id: C5, type: cat5e_utp_riser}
"""


def kinds(folder: Path, text: str) -> tuple[PoE, list[str]]:
    """Return the powered devices and the kinds of warnings of a job."""
    project, footage = measured(folder, ROOM + text)
    poe = work_out_poe(project, footage)
    held(poe_families(poe, project))
    return poe, [alert.kind for alert in poe_alerts(poe, project)]


# Source: worked example after the loss model of IEEE 802.3 clause 145: class 8 device, 55 V,
# 80 m of 23 AWG at 20 C: loop 2.672 ohm, 1.3903 A, 51.29 V, 76.46 W, 5.16 W lost in the cable.
def test_class_8_device_on_23_awg(tmp_path: Path) -> None:
    project, footage = measured(
        tmp_path,
        ROOM
        + """
rules: {poe_cords: 0 m}
devices: [{id: CAM, cable: C6, poe_class: 8}]
switches: [{id: S, room: 1A, ports: 24, poe_type: 4, poe_budget: 740 W, port_voltage: 55 V, own_load: 60 W}]
drops: [{id: D1, room: 1A, device: CAM, length: 80 m, switch: S}]
""",
    )
    conductors = Conductors(project)
    poe = work_out_poe(project, footage, conductors)
    figures = held([*poe_families(poe, project), *conductor_families(conductors)])

    # 66.80 ohm/km is printed; ASTM B258 gives 66.786, which moves the loop by 0.0006 ohm.
    assert figures["poe.D1.supply_loop"] == near(2.672, 0.001)
    assert figures["poe.D1.current"] == near(1.3903, 0.0002)
    assert figures["poe.D1.device_volts"] == near(51.29, 0.005)
    assert figures["poe.D1.source_watts"] == near(76.46, 0.006)
    assert figures["switch.S.allocated"] == 90.0
    assert figures["switch.S.ports_free"] == 23.0
    # Source: definition of the unit, 1 W is 3.412142 BTU/h: (60 + 5.16) W.
    assert figures["switch.S.heat"] == near(3.412142 * 65.16, 0.03)


# Source: worked example after IEEE 802.3 clause 33: class 4 at 50 V over 9.38 ohm (a conductor of
# 9.38 ohm in 100 m): 0.5712 A, 44.64 V, 28.56 W.
def test_class_4_at_the_least_volts_of_its_type(tmp_path: Path) -> None:
    project, footage = measured(
        tmp_path,
        """
rooms: [{id: 1A}]
rules: {poe_cords: 10 m}
cables: [{id: C6, type: cat6_utp_riser, ohm_per_m: 0.0938}]
devices: [{id: CAM, cable: C6, poe_class: 4}]
switches: [{id: S, room: 1A, ports: 24, poe_budget: 370 W}]
drops: [{id: D1, room: 1A, device: CAM, length: 90 m, switch: S}]
""",
    )
    poe = work_out_poe(project, footage)
    figures = held(poe_families(poe, project))

    assert figures["poe.D1.supply_loop"] == near(9.38, 0.005)
    assert figures["poe.D1.current"] == near(0.5712, 0.00005)
    assert figures["poe.D1.device_volts"] == near(44.64, 0.005)
    assert figures["poe.D1.source_watts"] == near(28.56, 0.005)
    assert poe.devices[0].word == WORKS


# Source: IEEE 802.3 allocation by class: 8 x 30 + 12 x 15.4 + 4 x 7 = 452.8 W.
def test_budget_adds_up_classes(tmp_path: Path) -> None:
    text = """
devices: [{id: A, cable: C6, poe_class: 4}, {id: B, cable: C6, poe_class: 3}, {id: C, cable: C6, poe_class: 2}]
switches: [{id: S, room: 1A, ports: 48, poe_budget: %s}]
drops:
  - {id: A01..A08, room: 1A, device: A, length: 10 m, switch: S}
  - {id: B01..B12, room: 1A, device: B, length: 10 m, switch: S}
  - {id: C01..C04, room: 1A, device: C, length: 10 m, switch: S}
"""
    poe, alerts = kinds(tmp_path, text % "452.8 W")

    assert poe.switches[0].allocated_w == near(452.8, 1e-9)
    assert alerts == []

    poe, alerts = kinds(tmp_path, text % "452.7 W")

    assert alerts == ["over budget"]


# Source: IEEE 802.3, allocation by class: 24 x 15.4 = 369.6 W; 20 % of 400 W kept free leaves 320 W.
def test_reserve_and_draw_are_house_rules(tmp_path: Path) -> None:
    text = """
rules: {poe_reserve_percent: 20, poe_budget_by: %s}
devices: [{id: B, cable: C6, draw: 9 W, poe_class: 3}]
switches: [{id: S, room: 1A, ports: 24, poe_budget: 400 W}]
drops: [{id: B01..B24, room: 1A, device: B, length: 10 m, switch: S}]
"""
    poe, alerts = kinds(tmp_path, text % "class")

    assert poe.switches[0].allocated_w == near(369.6, 1e-9)
    assert poe.switches[0].usable_w == near(320.0, 1e-9)
    assert alerts == ["uses the reserve"]

    poe, alerts = kinds(tmp_path, text % "draw")

    assert 24 * 9 < poe.switches[0].needed_w < 24 * 9.1
    assert alerts == []


# Source: IEEE 802.3 clause 33, load at constant power: 50 V over 30 ohm gives 2500/120 = 20.8 W at most.
def test_device_that_no_cable_can_feed_counts_its_class(tmp_path: Path) -> None:
    poe, alerts = kinds(
        tmp_path,
        """
devices: [{id: A, cable: C5, poe_class: 4}]
switches: [{id: S, room: 1A, ports: 24, poe_budget: 370 W}]
drops: [{id: A1, room: 1A, device: A, length: 346.2 m, switch: S}]
""",
    )
    one = poe.devices[0]

    assert one.loop_ohm == near(30.0, 0.01)
    assert one.word == CANNOT
    assert one.device_v is None
    assert poe.switches[0].computed_w == 30.0
    assert alerts == ["cannot be fed"]


def test_own_least_volts_are_judged(tmp_path: Path) -> None:
    text = """
devices: [{id: A, cable: C6, poe_class: 3, least_voltage: %s}]
switches: [{id: S, room: 1A, ports: 24, poe_type: 1, poe_budget: 370 W, port_voltage: 48 V}]
drops: [{id: A1, room: 1A, device: A, length: 80 m, switch: S}]
"""
    poe, alerts = kinds(tmp_path, text % "47 V")

    assert poe.devices[0].word == TOO_LOW
    assert alerts == ["volts too low"]
    assert kinds(tmp_path, text % "46 V")[1] == []


def test_device_without_switch_and_class_above_it_warn(tmp_path: Path) -> None:
    _, alerts = kinds(
        tmp_path,
        """
devices: [{id: A, cable: C6, poe_class: 6}, {id: B, cable: C6, draw: 5 W}]
switches: [{id: S, room: 1A, ports: 24, poe_ports: 0, poe_budget: 370 W}]
drops:
  - {id: A1, room: 1A, device: A, length: 20 m, switch: S}
  - {id: B1..B9, room: 1A, device: B, length: 20 m}
""",
    )

    assert alerts == ["no switch", "class above the switch", "too few ports"]


def test_class_follows_from_the_draw(tmp_path: Path) -> None:
    poe, _ = kinds(
        tmp_path,
        """
devices: [{id: A, cable: C6, draw: 12.95 W}, {id: B, cable: C6, draw: 12.96 W}]
drops: [{id: A1, room: 1A, device: A, length: 20 m}, {id: B1, room: 1A, device: B, length: 20 m}]
""",
    )

    # Source: IEEE 802.3 classes by allocation: 15.4 W covers 12.95 W, above it class 4.
    assert [one.power_class.source_w for one in poe.devices] == [15.4, 30.0]


def test_heat_raises_the_loop(tmp_path: Path) -> None:
    text = """
rules: {ambient: %s, bundle_rise_k: %s, poe_cords: 0 m}
devices: [{id: A, cable: C5, poe_class: 3}]
drops: [{id: A1, room: 1A, device: A, length: 100 m}]
"""
    cold, _ = kinds(tmp_path, text % ("20 C", "0"))
    hot, alerts = kinds(tmp_path, text % ("35 C", "10"))

    # Source: ASTM B258 and IEC 60028: 100 m of 24 AWG, 8.42 ohm a pairset at 20 C, x 1.09825 at 45 C.
    assert cold.devices[0].loop_ohm == near(8.4215, 0.00005)
    assert hot.devices[0].loop_ohm / cold.devices[0].loop_ohm == near(1.09825, 0.000005)
    assert alerts == ["no switch"]
    assert "hot bundle" in kinds(tmp_path, text % ("20 C", "15.1"))[1]


def test_high_power_and_clad_cables_warn(tmp_path: Path) -> None:
    project, footage = measured(
        tmp_path,
        """
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_riser, material: cca}]
devices: [{id: A, cable: C6, poe_class: 8}, {id: B, cable: C6, poe_class: 4, draw: 26 W}]
switches: [{id: S, room: 1A, ports: 24, poe_type: 4, poe_budget: 740 W}]
drops:
  - {id: A1..A3, room: 1A, device: A, length: 20 m, switch: S}
  - {id: B1, room: 1A, device: B, length: 20 m, switch: S}
""",
    )
    conductors = Conductors(project)
    poe = work_out_poe(project, footage, conductors)

    assert [alert.kind for alert in poe_alerts(poe, project)] == ["draw above the class", "ampacity of bundles"]
    assert [alert.kind for alert in conductor_alerts(conductors)] == ["clad conductor"]


def test_a_large_job_takes_few_times_its_reading(tmp_path: Path) -> None:
    start = time.process_time()
    project, footage = measured(
        tmp_path,
        ROOM
        + """
devices: [{id: A, cable: C6, poe_class: 4, draw: 20 W}]
switches: [{id: S, room: 1A, ports: 10000, poe_budget: 90 kW}]
drops:
  - {id: A0001..A3000, room: 1A, device: A, length: 60 m, switch: S}
  - {id: B0001..B5000, room: 1A, cable: C6, length: 60 m}
  - {id: C0001..C2000, room: 1A, cable: C6, length: 60 m}
""",
    )
    read, taken = time.process_time() - start, []
    for _ in range(3):
        start = time.process_time()
        poe = work_out_poe(project, footage)
        families = list(poe_families(poe, project))
        alerts = list(poe_alerts(poe, project))
        taken.append(time.process_time() - start)

    assert len(families) == 14
    assert alerts == []
    # About as long is usual, for four lines of ranges. A ratio of processor times holds on a busy machine too.
    assert min(taken) < 3 * read
