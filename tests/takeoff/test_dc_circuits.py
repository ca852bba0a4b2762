"""Notification circuits, DC branches, devices at a supply, loops and ratings."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.takeoff.conductors import Conductors, conductor_families
from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_circuits import DcCircuits, drawn_by, work_out_dc
from estimator.takeoff.dc_figures import dc_families
from tests.takeoff.evaluated import held, measured, near

FOOT = 0.3048
UNIT = """
rooms: [{id: 1A}]
cables:
  - {id: F16, type: fplp_16_2, stranding: stranded}
  - {id: F14, type: fplp_14_2, stranding: solid}
  - {id: F18, type: fplp_18_2, stranding: solid, coated: yes}
  - {id: C18, type: c18_2, stranding: solid}
  - {id: C22, type: c22_2, stranding: solid}
devices:
  - {id: HORN, cable: F16, alarm_current: 0.1 A}
  - {id: BIG, cable: F16, alarm_current: 2 A}
  - {id: CAM, cable: C18, voltage: 12 V, power: 6 W}
  - {id: PIR, cable: C18, current: 0.5 A}
  - {id: BEAM, system: fire_alarm, cable: C18, current: 0.1 A}
  - {id: MAG, cable: C18, current: 0.5 A, fail: safe, release_on_alarm: yes}
  - {id: STRIKE, cable: C18, current: 0.5 A, inrush: 2 A, least_voltage: 10 V, fail: secure}
  - {id: SMOKE, cable: F18, standby_current: 50 uA}
  - {id: CANDELA, cable: F14, settings: {15cd: 60 mA, 110cd: 150 mA}}
"""


def worked(folder: Path, text: str) -> tuple[DcCircuits, Mapping[str, float], list[str], str]:
    """Return the wiring, all figures, the kinds of warnings and their texts of a job."""
    project, footage = measured(folder, UNIT + text)
    conductors = Conductors(project)
    dc = work_out_dc(project, footage, conductors)
    figures = held([*dc_families(dc, project), *conductor_families(conductors)])
    # These small jobs type no circuit ratings and few resistors; those warnings have tests of their own.
    left_out = ("no rating", "no end-of-line resistor")
    alerts = [alert for alert in dc_alerts(dc, project) if alert.kind not in left_out]
    return dc, figures, [alert.kind for alert in alerts], "\n".join(str(alert) for alert in alerts)


def panel(more: str = "") -> str:
    """Return a fire-alarm control unit with more keys."""
    return (
        "control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0.1 A, alarm_current: 0.2 A"
        f"{more}}}]\n"
    )


# Source: point-to-point example with NEC Table 8, 16 AWG of seven strands, 4.99 ohm per 1000 ft:
# four appliances of 0.1 A at 80, 40, 40, 40 ft: 20.081, 19.961, 19.881, 19.841 V; lumped 19.602 V.
def test_four_appliances_point_to_point(tmp_path: Path) -> None:
    dc, figures, alerts, _ = worked(
        tmp_path,
        panel()
        + """
circuits:
  - id: N1
    kind: notification
    source: P
    cable: F16
    end_of_line: 4.7 kohm
    devices:
      - {device: HORN, distance: 80 ft}
      - {device: HORN, distance: 40 ft}
      - {device: HORN, distance: 40 ft}
      - {device: HORN, distance: 40 ft}
""",
    )
    [line] = dc.lines

    assert [round(volts, 3) for volts in line.volts] == [20.081, 19.961, 19.881, 19.841]
    assert figures["nac.N1.worst_volts"] == near(19.841, 0.0005)
    assert figures["nac.N1.end_of_line_volts"] == near(19.602, 0.0005)
    assert figures["nac.N1.percent_drop"] == near(100 * (20.4 - 19.602) / 20.4, 0.003)
    assert figures["nac.N1.current"] == near(0.4, 1e-12)
    # Source: NEC Table 8, 2 x 200 ft x 4.99 ohm per 1000 ft = 1.996 ohm.
    assert figures["loop.N1.wire_resistance"] == near(1.996, 0.0005)
    # A meter sees it cold: 4.016 ohm per 1000 ft at 20 C (handbook), 2 % more for its strands; 4.7 kohm of 10 %.
    assert figures["loop.N1.metered"] == near(0.4 * 4.016 * 1.02, 0.0005)
    assert figures["loop.N1.with_resistor"] == near(4701.638, 0.0005)
    assert figures["loop.N1.with_resistor_least"] == near(4230, 1e-9)
    assert figures["loop.N1.with_resistor_most"] == near(5171.638, 0.0005)
    assert alerts == []


# Source: equation method of listed control units' manuals: 20.4 V, 2 A, 16 V, 14 AWG solid of
# 3.07 ohm per 1000 ft reaches 358.3 ft one way.
@pytest.mark.parametrize(("feet", "kinds"), [(358.3, []), (358.4, ["volts too low"])])
def test_longest_run_of_two_amperes(tmp_path: Path, feet: float, kinds: list[str]) -> None:
    circuit = f"""
circuits:
  - {{id: N1, kind: notification, source: P, cable: F14, devices: [{{device: BIG, distance: {feet} ft}}]}}
"""
    _, _, alerts, text = worked(tmp_path, panel() + circuit)

    assert alerts == kinds
    # The next gauge, 12 AWG, reaches 555.6 ft by the same method.
    advice = "14 AWG is less than 0.01 V short: 15.999 V at BIG, limit 16 V"
    assert (advice in text) == bool(kinds)
    assert ("12 AWG works, or 14 AWG works up to 109.2 m one way; else split the circuit" in text) == bool(kinds)


# Source: listed control-unit manual, equation method: sag 0.20 V/A, twenty appliances of 0.1 A,
# 0.002 ohm per ft: starts at 20.0 V and reaches 500 ft. The resistance is that of the wire in use,
# so that it is typed at 20 C for 75 C here: 0.002 / 1.21615.
def test_sagging_supply(tmp_path: Path) -> None:
    ohm_per_m = 0.002 / FOOT / 1.21615
    text = f"""
rooms: [{{id: 1A}}]
cables: [{{id: W, type: fplp_14_2, ohm_per_m: {ohm_per_m:.9f}}}]
devices: [{{id: HORN, cable: W, alarm_current: 0.1 A}}]
circuits:
  - {{id: N1, kind: notification, source: P, cable: W, devices: [{{device: HORN, qty: 20, distance: 500 ft}}]}}
"""
    project, footage = measured(tmp_path, panel(", sag_per_ampere: 0.2") + text)
    figures = held(dc_families(work_out_dc(project, footage), project))

    assert figures["nac.N1.worst_volts"] == near(16.0, 0.0005)
    assert figures["nac.N1.end_of_line_volts"] == near(16.0, 0.0005)


# Source: Kirchhoff's laws by hand: an opened loop feeds its three loads of 1 A one way, so that its
# wires carry 3, 2 and 1 A in turn.
def test_class_a_opened_at_its_worst_wire(tmp_path: Path) -> None:
    text = """
cables: [{id: W, type: c18_2, ohm_per_m: 0.01}]
rooms: [{id: 1A}]
devices: [{id: HORN, cable: W, alarm_current: 1 A, least_voltage: %s}]
power_supplies: [{id: S, room: 1A, voltage: 24 V, rating: 10 A}]
circuits:
  - id: N1
    kind: notification
    class: A
    source: S
    cable: W
    return: 10 m
    devices: [{device: HORN, distance: 10 m}, {device: HORN, distance: 10 m}, {device: HORN, distance: 10 m}]
"""
    project, footage = measured(tmp_path, text % "16 V")
    dc = work_out_dc(project, footage)
    figures = held(dc_families(dc, project))

    # Each wire is 0.2 ohm there and back. All three fed one way: 20.4 - 0.2 x (3 + 2 + 1) = 19.2 V.
    assert figures["nac.N1.worst_volts"] == near(19.2, 1e-9)
    assert figures["nac.N1.opened_volts"] == near(19.2, 1e-9)

    text = text.replace("return: 10 m", "return: 30 m")
    project, footage = measured(tmp_path, text % "18.5 V")
    dc = work_out_dc(project, footage)

    # Opened at the first wire, the return of 0.6 ohm carries all: 20.4 - 0.6 x 3 - 0.2 x 2 - 0.2 = 18.0 V.
    assert held(dc_families(dc, project))["nac.N1.opened_volts"] == near(18.0, 1e-9)
    kinds = [alert.kind for alert in dc_alerts(dc, project)]
    assert kinds == ["volts too low with a wire open", "no rating", "no standby power"]


def test_house_rule_decides_a_notification_circuit(tmp_path: Path) -> None:
    text = """
circuits:
  - id: N1
    kind: notification
    source: P
    cable: F16
    devices: [{device: HORN, qty: 10, distance: 10 ft}, {device: BIG, distance: 150 ft}]
"""
    # Source: NEC Table 8, 4.99 ohm per 1000 ft: lumped 20.4 - 3 A x 2 x 0.160 x 4.99 = 15.61 V (23.5 %);
    # point to point 20.4 - 3 x 2 x 0.010 x 4.99 - 2 x 2 x 0.150 x 4.99 = 17.11 V.
    _, figures, alerts, _ = worked(tmp_path, panel() + text)
    assert figures["nac.N1.end_of_line_volts"] == near(15.610, 0.0005)
    assert figures["nac.N1.worst_volts"] == near(17.1066, 0.00005)
    assert alerts == []
    assert worked(tmp_path, panel() + text + "rules: {nac_decides: end_of_line}")[2] == ["volts too low"]
    assert worked(tmp_path, panel() + text + "rules: {nac_decides: percent}")[2] == ["drop over the limit"]
    assert worked(tmp_path, panel() + text + "rules: {nac_decides: percent, nac_drop_percent: 24}")[2] == []


def test_ratings_of_circuit_and_supply(tmp_path: Path) -> None:
    text = """
circuits:
  - {id: N1, kind: notification, source: P, cable: F14, devices: [{device: BIG, distance: 10 ft}]}
  - {id: N2, kind: notification, source: P, cable: F14, devices: [{device: HORN, qty: 5, distance: 10 ft}]}
"""
    assert worked(tmp_path, panel(", circuit_rating: 2 A, supply_rating: 2.5 A") + text)[2] == []
    _, figures, alerts, _ = worked(tmp_path, panel(", circuit_rating: 1.9 A, supply_rating: 2.4 A") + text)
    assert figures["supply.P.load"] == near(2.5, 1e-12)
    assert alerts == ["over the circuit's rating", "over the supply's rating"]


# Source: camera cable example: 12 V, 6 W, 200 ft of 18 AWG at 20 C (6.385 ohm per 1000 ft):
# loop 2.554 ohm, 10.547 V at constant power, 0.5689 A; at a constant 0.5 A 10.723 V.
def test_single_device_at_constant_power_and_current(tmp_path: Path) -> None:
    dc, figures, alerts, _ = worked(
        tmp_path,
        """
rules: {dc_drop_percent: 12}
power_supplies: [{id: S, room: 1A, voltage: 12 V, rating: 5 A}]
drops:
  - {id: D1, room: 1A, device: CAM, length: 200 ft, supply: S}
  - {id: D2, room: 1A, device: PIR, length: 200 ft, supply: S}
""",
    )

    assert figures["dc.D1.loop"] == near(2.554, 0.0005)
    assert figures["dc.D1.worst_volts"] == near(10.547, 0.0005)
    assert figures["dc.D1.current"] == near(0.5689, 0.00005)
    assert figures["dc.D2.worst_volts"] == near(10.723, 0.0005)
    # Neither types a least voltage, and the listed range of appliances is none of theirs.
    assert [place.minimum_v for line in dc.lines for place in line.basis.places] == [0.0, 0.0]
    # 1.453 V of 12 V are 12.1 %, 1.277 V are 10.6 %.
    assert figures["dc.D1.percent_drop"] == near(12.1, 0.05)
    assert figures["supply.S.load"] == near(1.0, 1e-12)
    assert alerts == ["drop over the limit"]


# Source: lock maker's wire chart of 5 %, whole load at the end: 0.5 A at 12 V and 100 ft of 18 AWG is
# 5.3 %, which the chart still accepts and a strict test does not.
def test_branch_of_locks_at_rest_and_at_inrush(tmp_path: Path) -> None:
    text = """
rules: {dc_drop_percent: %s}
power_supplies: [{id: S, room: 1A, voltage: 12 V, rating: 1 A}]
circuits:
  - {id: L1, kind: dc, source: S, cable: C18, devices: [{device: %s, distance: 100 ft}]}
"""
    _, figures, alerts, _ = worked(tmp_path, text % (5, "MAG"))
    assert figures["dc.L1.percent_drop"] == near(5.3, 0.05)
    assert alerts == ["drop over the limit"]
    assert worked(tmp_path, text % (6, "MAG"))[2] == []
    # Source: Ohm's law: 2 A x 1.277 ohm leave 9.45 V of 12 V; 2 A are over the supply's 1 A too.
    _, figures, alerts, _ = worked(tmp_path, text % (6, "STRIKE"))
    assert figures["dc.L1.inrush_volts"] == near(9.446, 0.0005)
    assert alerts == ["volts too low at inrush", "inrush over the rating", "release not stated"]


def test_two_cameras_on_one_branch_take_more_the_lower_the_volts(tmp_path: Path) -> None:
    _, figures, _, _ = worked(
        tmp_path,
        """
power_supplies: [{id: S, room: 1A, voltage: 12 V, rating: 5 A}]
circuits:
  - id: B
    kind: dc
    source: S
    cable: C18
    devices: [{device: CAM, distance: 50 ft}, {device: CAM, distance: 50 ft}]
""",
    )

    volts, total = figures["dc.B.worst_volts"], figures["dc.B.current"]
    # Source: Kirchhoff's laws, substituted back: 0.6385 ohm a span, 6 W at each place.
    near_v = 12 - 0.63855 * total
    assert volts == near(near_v - 0.63855 * 6 / volts, 0.0005)
    assert total == near(6 / volts + 6 / near_v, 0.0005)


def test_load_that_cannot_be_fed_and_wrong_supply(tmp_path: Path) -> None:
    text = """
power_supplies: [{id: S, room: 1A, voltage: %s, rating: 5 A}]
drops: [{id: D1, room: 1A, device: CAM, length: %s, supply: S}]
"""
    # Source: circuit theory: V²/4R of 12 V over 6.1 ohm (145.6 m of 18 AWG) is 5.9 W, less than 6 W.
    assert worked(tmp_path, text % ("12 V", "145.6 m"))[2] == ["cannot be fed"]
    # Source: float of a lead-acid cell 2.30 V: 13.8 V for a 12 V device.
    assert worked(tmp_path, text % ("13.8 V", "10 m"))[2] == []
    assert worked(tmp_path, text % ("24 V", "10 m"))[2] == ["wrong voltage"]


# Source: owner's manual of a listed control unit: 100 ohm is a loop of 12376 ft of coated 18 AWG,
# 8.08 ohm per 1000 ft (NEC Table 8), that is 6188 ft one way.
def test_initiating_circuit_of_100_ohm(tmp_path: Path) -> None:
    text = """
circuits:
  - id: I1
    kind: initiating
    source: P
    cable: F18
    end_of_line: 2.2 kohm
    loop_limit: %s
    devices: [{device: SMOKE, distance: 3000 ft}, {device: SMOKE, distance: 3188 ft}]
"""
    dc, figures, alerts, _ = worked(tmp_path, panel() + text % "100 ohm")
    assert figures["loop.I1.wire_resistance"] == near(100.0, 0.005)
    # Handbook: 6.385 ohm per 1000 ft at 20 C, of which a meter reads 12.376.
    assert figures["loop.I1.with_resistor"] == near(2200 + 12.376 * 6.385, 0.01)
    assert dc.lines == ()  # detectors are no load whose volts are judged
    assert alerts == []
    assert worked(tmp_path, panel() + text % "99.9 ohm")[2] == ["loop resistance"]


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    _, _, alerts, text = worked(
        tmp_path,
        panel()
        + """
power_supplies: [{id: S, room: 1A, voltage: 24 V, rating: 5 A}]
circuits:
  - {id: N1, kind: notification, source: P, cable: F14, devices: [{device: SMOKE, distance: 10 ft}]}
  - {id: N2, kind: notification, source: P, cable: F14, devices: [{device: CANDELA, distance: 10 ft}]}
drops: [{id: D1, room: 1A, cable: C22, length: 10 m, supply: S}]
""",
    )

    assert alerts == ["not computed", "not computed", "setting not typed"]
    assert "device SMOKE types no current" in text
    assert "type its current from the data sheet" in text
    assert "drop D1 names no device" in text


def test_12_volt_circuit_starts_at_10_2(tmp_path: Path) -> None:
    # Source: 85 % of 12 V; listed range of regulated 12 V appliances from 8 V.
    dc, _, _, _ = worked(
        tmp_path,
        panel(", voltage: 12 V")
        + """
circuits:
  - {id: N1, kind: notification, source: P, cable: F14, devices: [{device: HORN, distance: 10 ft}]}
""",
    )

    assert dc.lines[0].basis.source_v == 10.2
    assert dc.lines[0].basis.places[0].minimum_v == 8.0


@pytest.mark.parametrize(
    ("rules", "branch", "alarm"),
    [
        # NFPA 70 Chapter 9 Table 8: 14 AWG solid uncoated copper 3.07 ohm/kft at 75 C; by its diameter
        # (ASTM B258: 0.127 mm x 92^(22/39) = 1.62773 mm; IEC 60028: 1/58) 8.2855 ohm/km at 20 C.
        ("", 0.0082855, 0.0100722),
        ("rules: {conductor_basis: nec_table_8}", 0.0100722, 0.0100722),
        ("rules: {conductor_basis: diameter}", 0.0082855, 0.0082855),
    ],
)
def test_a_house_may_put_all_conductors_on_one_basis(tmp_path: Path, rules: str, branch: float, alarm: float) -> None:
    """Life safety by the code's table and the rest by diameter, or all by either of them; a meter's never by it."""
    project, footage = measured(
        tmp_path,
        f"""
{rules}
rooms: [{{id: 1A}}]
cables: [{{id: C14, type: fplp_14_2, stranding: solid}}]
devices: [{{id: horn, alarm_current: 0.1 A}}, {{id: lock, current: 0.1 A}}]
control_units: [{{id: F, system: fire_alarm, room: 1A, standby_current: 0 A, alarm_current: 0 A}},
  {{id: A, system: access, room: 1A, standby_current: 0 A, alarm_current: 0 A}}]
circuits:
  - {{id: N, kind: notification, source: F, cable: C14, devices: [{{device: horn, distance: 10 m}}]}}
  - {{id: D, kind: dc, source: A, cable: C14, devices: [{{device: lock, distance: 10 m}}]}}
""",
    )
    conductors = Conductors(project)
    work_out_dc(project, footage, conductors)
    figures = held(conductor_families(conductors))
    assert figures["cable.C14.conductor"] == near(branch, 5e-8)
    assert figures["cable.C14.life_safety_conductor"] == near(alarm, 5e-8)
    seen = Conductors(project, measured=True).of(project.cables["C14"])
    assert seen is not None
    assert seen.ohm_per_m == near(0.0082855, 5e-8)


def test_supply_carries_the_larger_current_of_everything_on_it(tmp_path: Path) -> None:
    """By hand: 2 x 0.3 A of the unit's own loads, 3 x 0.1 A of appliances, 0.5 A of a lock with 2 A inrush."""
    _, figures, alerts, text = worked(
        tmp_path,
        panel(
            ", supply_rating: 1.3 A, loads: [{name: door holder, qty: 2, standby_current: 0.3 A, alarm_current: 0.1 A}]"
        )
        + """
circuits:
  - {id: N1, kind: notification, source: P, cable: F14, devices: [{device: HORN, qty: 3, distance: 10 ft}]}
  - {id: B1, kind: dc, source: P, cable: C18, devices: [{device: STRIKE, distance: 10 ft}]}
""",
    )
    assert figures["supply.P.load"] == near(1.4, 1e-12)
    assert figures["supply.P.inrush"] == near(2.9, 1e-12)
    assert "over the supply's rating" in alerts
    assert "1.3 A" in text


@pytest.mark.parametrize(
    ("standby", "alarm", "amps"),
    [("0.3 A", "0.2 A", 0.3), ("0.1 A", "0.2 A", 0.2), ("0.1 A", None, 0.1), (None, "0.2 A", 0.2)],
)
def test_what_types_no_running_current_draws_the_larger_of_both(
    standby: str | None, alarm: str | None, amps: float, tmp_path: Path
) -> None:
    """A device at a DC supply may be one that is known by standby and alarm alone."""
    typed = "".join(
        f", {key}: {value}" for key, value in (("standby_current", standby), ("alarm_current", alarm)) if value
    )
    project, _ = measured(tmp_path, f"rooms: [{{id: 1A}}]\ndevices: [{{id: D{typed}}}]\n")
    drawn = drawn_by(project.devices["D"], 24.0)

    assert drawn is not None
    assert drawn.amps == amps


def test_start_of_a_line_is_the_nearest_word(tmp_path: Path) -> None:
    """The circuit's own, else the unit's with its listing, else 85 % of nominal; a DC branch starts at nominal."""
    dc, _, _, _ = worked(
        tmp_path,
        panel(", start_voltage: 22 V, start_listing: listed regulated")
        + """
power_supplies: [{id: S, room: 1A, voltage: 24 V, rating: 5 A}]
circuits:
  - {id: N1, kind: notification, source: P, cable: F14, start_voltage: 19 V, devices: [{device: HORN, distance: 1 m}]}
  - {id: N2, kind: notification, source: P, cable: F14, devices: [{device: HORN, distance: 1 m}]}
  - {id: N3, kind: notification, source: S, cable: F14, devices: [{device: HORN, distance: 1 m}]}
  - {id: B1, kind: dc, source: S, cable: C18, devices: [{device: PIR, distance: 1 m}]}
""",
    )
    found = {line.basis.id: line.basis for line in dc.lines}

    # Source: 85 % of 24 V, NFPA 72 and UL 864 practice.
    assert {name: basis.source.value for name, basis in found.items()} == {"N1": 19, "N2": 22, "N3": 20.4, "B1": 24}
    assert {basis.source.unit for basis in found.values()} == {"V"}
    assert found["N1"].source.origin.startswith("circuit, ")
    assert found["N2"].source.origin.endswith(", listing listed regulated")
    assert [loop.circuit.id for loop in dc.loops] == ["N1", "N2", "N3"]  # a branch is no loop that a meter reads
    assert {(basis.sag.value, basis.sag.unit, basis.sag.origin) for basis in found.values()} == {
        (0.0, "V/A", "no sag is typed")
    }
    # The listed range of appliances holds for notification alone (UL 1971 and UL 464: 16 to 33 V).
    assert {name: basis.places[0].minimum_v for name, basis in found.items()} == {"N1": 16, "N2": 16, "N3": 16, "B1": 0}
