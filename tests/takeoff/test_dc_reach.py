"""How far a line reaches and its thinnest gauge, by whatever decides it."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductors
from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_circuits import work_out_dc
from estimator.takeoff.dc_figures import dc_families
from estimator.takeoff.dc_lines import DcLine
from tests.takeoff.evaluated import held, measured

FOOT = 0.3048
JOB = """
rules: {%(rules)s}
rooms: [{id: R}]
cables:
  - {id: W16, type: fplp_16_2, stranding: stranded}
  - {id: C18, type: c18_2, stranding: solid}
  - {id: TYPED, type: c18_2, ohm_per_m: 0.02}
devices:
  - {id: HORN, alarm_current: 0.5 A, least_voltage: 16 V}
  - {id: LOCK, cable: C18, current: 0.5 A, least_voltage: 10 V, fail: safe, release_on_alarm: yes}
  - {id: SURGE, cable: C18, current: 0.1 A, inrush: 2 A, least_voltage: 10 V}
  - {id: CAM, cable: C18, power: 6 W, least_voltage: 9 V}
  - {id: IDLE, cable: C18, current: 0 A}
control_units: [{id: P, system: fire_alarm, room: R, standby_current: 0.1 A, alarm_current: 0.2 A%(unit)s}]
power_supplies: [{id: S, room: R, voltage: 12 V, rating: 9 A}]
"""


def lines_of(
    folder: Path, text: str, rules: str = "", unit: str = ", circuit_rating: 9 A"
) -> tuple[Project, dict[str, DcLine], list[str]]:
    """Return the project, its lines by id, and the texts of its warnings."""
    project, footage = measured(folder, JOB % {"rules": rules, "unit": unit} + text)
    dc = work_out_dc(project, footage, Conductors(project))
    held(dc_families(dc, project))
    return project, {line.id: line for line in dc.lines}, [str(alert) for alert in dc_alerts(dc, project)]


def nac(feet: tuple[float, ...], more: str = "") -> str:
    """Return a notification circuit with a horn at each distance."""
    stops = ", ".join(f"{{device: HORN, distance: {one} ft}}" for one in feet)
    return f"circuits: [{{id: N, kind: notification, source: P, cable: W16, devices: [{stops}]{more}}}]\n"


# NEC Table 8, 16 AWG of seven strands: 4.99 ohm per 1000 ft. By hand, two horns of 0.5 A at 100 and 200 ft:
# point to point 4.4 V = 2 r (1.0 x 100 + 0.5 x 200), so that r may be 11 ohm per 1000 ft;
# at the end 4.4 V = 2 r 1.0 x 300, so that r may be 7.333; 10 % of 20.4 V at the end: 3.4 ohm.
@pytest.mark.parametrize(
    ("rules", "largest", "gauge"),
    [
        ("nac_decides: point_to_point", 11.0, 18),
        ("nac_decides: end_of_line", 4.4 / 0.6, 16),
        ("nac_decides: percent", 2.04 / 0.6, 14),
        ("nac_decides: percent, nac_drop_percent: 30", 6.12 / 0.6, 18),
    ],
)
def test_a_notification_circuit_reaches_by_what_decides_it(
    tmp_path: Path, rules: str, largest: float, gauge: int
) -> None:
    """One largest resistance gives the longest run in proportion and the thinnest gauge of Table 8."""
    _, lines, _ = lines_of(tmp_path, nac((100, 200)), rules)
    reach = lines["N"].reach

    assert reach.largest_ohm_per_m is not None
    assert reach.largest_ohm_per_m * 1000 * FOOT == pytest.approx(largest, rel=1e-9)
    assert reach.longest_m is not None
    assert reach.longest_m / FOOT == pytest.approx(300 * largest / 4.99, rel=1e-9)
    # Table 8, seven strands: 7.95, 4.99 and 3.14 ohm per 1000 ft for 18, 16 and 14 AWG.
    assert reach.awg == gauge


def test_a_loop_reaches_as_its_worst_opening_does(tmp_path: Path) -> None:
    """Class A, 100 ft to each horn and 100 ft back: opened at an end wire 2 r (100 + 0.5 x 100) ft may lose 4.4 V."""
    _, lines, _ = lines_of(tmp_path, nac((100, 100), ", class: A, return: 100 ft"))

    assert lines["N"].reach.largest_ohm_per_m == pytest.approx(4.4 / 300 / FOOT, rel=1e-9)


def fed(device: str, feet: float) -> str:
    """Return one device on a cable of its own at a 12 V supply."""
    return f"drops: [{{id: D, room: R, device: {device}, length: {feet} ft, supply: S}}]\n"


# By hand for 12 V: 5 % of it with a lock on the line, 10 % else, or as typed; 2 V to the least volts at inrush.
@pytest.mark.parametrize(
    ("device", "rules", "loop_ohm"),
    [
        ("LOCK", "", 0.6 / 0.5),
        ("LOCK", "dc_drop_percent: 10", 1.2 / 0.5),
        ("LOCK", "dc_drop_percent: 50", 2.0 / 0.5),
        ("SURGE", "", 2.0 / 2),
        ("CAM", "", 1.2 * 10.8 / 6),
        ("CAM", "dc_drop_percent: 50", 3.0 * 9.0 / 6),
    ],
)
def test_a_single_device_reaches_by_its_minimum_its_percent_and_its_inrush(
    tmp_path: Path, device: str, rules: str, loop_ohm: float
) -> None:
    """The closed form is what the largest loop makes of the length."""
    _, lines, _ = lines_of(tmp_path, fed(device, 50), rules)

    assert lines["D"].reach.largest_ohm_per_m == pytest.approx(loop_ohm / (2 * 50 * FOOT), rel=1e-12)


@pytest.mark.parametrize("device", ["LOCK", "SURGE", "CAM"])
def test_what_a_reach_says_works_and_a_little_more_does_not(tmp_path: Path, device: str) -> None:
    """The line worked out again at its own longest run stands at the edge."""
    _, lines, _ = lines_of(tmp_path, fed(device, 50))
    longest = lines["D"].reach.longest_m
    assert longest is not None
    edge = longest / FOOT

    assert lines_of(tmp_path, fed(device, edge * 0.99999))[1]["D"].word == "works"
    assert lines_of(tmp_path, fed(device, edge * 1.00001))[1]["D"].word != "works"


def test_what_a_thinnest_gauge_says_works_and_the_next_thinner_does_not(tmp_path: Path) -> None:
    """12 V, 0.5 A, 5 % at 100 ft (lock chart's strict cell): 16 AWG, not the 18 AWG it hangs on."""
    _, lines, alerts = lines_of(tmp_path, fed("LOCK", 100))

    assert lines["D"].word == "drop over the limit"
    assert lines["D"].reach.awg == 16
    [warning] = alerts
    # 18 AWG, 6.385 ohm per 1000 ft: 0.6385 V of 12 V are 5.32 %; 0.6 V reach 93.97 ft, 28.6 m.
    assert "D: drop over the limit, 18 AWG is 0.3 % of its volts over: 5.3 %, limit 5 %" in warning
    assert "(a lock on the line: lock maker's wire charts based on 5 %)" in warning
    assert warning.endswith("; 16 AWG works, or 18 AWG works up to 28.6 m one way; else split the circuit")


def test_a_line_that_works_on_no_wire_says_so(tmp_path: Path) -> None:
    """20.4 V never reach an appliance of 21 V."""
    text = nac((10,)).replace("HORN", "HIGH")
    job = JOB.replace("  - {id: LOCK", "  - {id: HIGH, alarm_current: 0.1 A, least_voltage: 21 V}\n  - {id: LOCK")
    project, footage = measured(tmp_path, job % {"rules": "", "unit": ", circuit_rating: 9 A"} + text)
    dc = work_out_dc(project, footage)
    [line] = dc.lines

    assert (line.reach.largest_ohm_per_m, line.reach.longest_m, line.reach.awg) == (None, None, None)
    assert "no wire helps" in "\n".join(str(alert) for alert in dc_alerts(dc, project))


def test_a_line_without_a_current_reaches_anywhere(tmp_path: Path) -> None:
    """Nothing is lost, so that no length and the thinnest of all gauges are told."""
    _, lines, _ = lines_of(tmp_path, fed("IDLE", 50))

    assert lines["D"].reach.largest_ohm_per_m == float("inf")
    assert (lines["D"].reach.longest_m, lines["D"].reach.awg) == (None, 22)


def test_typed_wire_has_a_reach_and_no_gauge(tmp_path: Path) -> None:
    """What resists as typed is like no stocked gauge."""
    _, lines, alerts = lines_of(tmp_path, fed("LOCK", 100).replace("device: LOCK", "device: LOCK, cable: TYPED"))

    assert lines["D"].reach.awg is None
    # 0.02 ohm a meter at 20 C: 1.2 ohm are 30 m of circuit.
    assert lines["D"].reach.longest_m == pytest.approx(30.0, rel=1e-9)
    assert alerts[0].endswith("; TYPED works up to 30.0 m one way; else split the circuit")


def test_what_is_printed_as_a_longest_run_is_cut_never_raised(tmp_path: Path) -> None:
    """A run of 28.64 m is told as 28.6 m, one of 30.59 m as 30.5 m."""
    typed = fed("LOCK", 200).replace("device: LOCK", "device: LOCK, cable: TYPED")
    job = JOB.replace("ohm_per_m: 0.02}", "ohm_per_m: 0.019614}")
    project, footage = measured(tmp_path, job % {"rules": "", "unit": ""} + typed)
    dc = work_out_dc(project, footage)

    assert "works up to 30.5 m" in "\n".join(str(alert) for alert in dc_alerts(dc, project))


def test_a_coax_says_how_its_camera_is_fed(tmp_path: Path) -> None:
    """Its gauge is the center's: typing one would change nothing."""
    typed = fed("LOCK", 100).replace("device: LOCK", "device: LOCK, cable: RG")
    job = JOB.replace("cables:", "cables:\n  - {id: RG, type: rg59_siamese_18_2, gauge: 18}", 1)
    project, footage = measured(tmp_path, job % {"rules": "", "unit": ""} + typed)
    (unsolved,) = work_out_dc(project, footage).unsolved

    assert unsolved.missing == "nothing tells the wires beside the center of coax RG"
    assert "as a second cable of the device" in unsolved.advice
