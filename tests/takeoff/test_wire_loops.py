"""Loops of listed control units: limits, isolators, devices, zones, and what a meter reads."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.acceptance.basis import basis_of
from estimator.acceptance.criterion import Criteria
from estimator.acceptance.lines import conductor_criteria
from estimator.takeoff.conductors import Conductors
from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_circuits import work_out_dc
from estimator.takeoff.dc_figures import dc_families
from tests.takeoff.evaluated import held, measured, near

JOB = """
rules: {ambient: 20 C}
rooms: [{id: R}]
cables:
  - {id: W, type: fplp_18_2, ohm_per_m: 0.02}
  - {id: F18, type: fplp_18_2, stranding: solid}
  - {id: THIN, type: c22_2, gauge: 24}
devices:
  - {id: SMOKE, standby_current: 50 uA, least_voltage: 15 V}
  - {id: ISO, standby_current: 50 uA, isolator: 0.5 ohm}
control_units: [{id: P, system: fire_alarm, room: R, standby_current: 0.1 A, alarm_current: 0.2 A%s}]
circuits:
"""
SLC = "  - {id: L, kind: signaling, source: P, cable: %s%s, devices: [%s]}\n"
ZONE = (
    "  - {id: Z%s, kind: initiating, source: P, cable: %s, end_of_line: 4.7 kohm, "
    "devices: [{device: SMOKE, distance: %s}]}\n"
)
LOOP = "{device: SMOKE, qty: 3, distance: 100 m}, {device: ISO, qty: 4, distance: 150 m}"


def worked(folder: Path, circuits: str, unit: str = "") -> tuple[Mapping[str, float], list[str], Criteria]:
    """Return figures, warnings and the criteria of the first circuit."""
    project, footage = measured(folder, JOB % unit + circuits)
    dc = work_out_dc(project, footage, Conductors(project))
    figures = held(dc_families(dc, project))
    first = footage.by_id[next(iter(project.circuits))]
    criteria = conductor_criteria(basis_of(project, footage, dc), first, "far end")
    return figures, [str(alert) for alert in dc_alerts(dc, project)], criteria


def test_a_signaling_line_has_its_isolators_in_its_loop(tmp_path: Path) -> None:
    """By hand: 2 x 250 m x 0.02 ohm at 20 C are 10 ohm, 1.21615 times that at 75 C, and four isolators 2 ohm."""
    figures, alerts, criteria = worked(tmp_path, SLC % ("W", "", LOOP))

    assert figures["loop.L.wire_resistance"] == near(12.1615, 5e-5)
    assert figures["loop.L.resistance"] == near(14.1615, 5e-5)
    assert figures["loop.L.metered"] == near(12.0, 1e-9)
    assert figures["loop.L.devices"] == 7
    assert alerts == []
    assert criteria.expected_loop_ohm == pytest.approx(12.0)
    assert "loop.L.longest_run" not in figures  # without a limit


# By hand: (50 - 2) ohm of 2 x 0.024323 ohm a meter are 986.7 m; 13 ohm leave 11, which are 226.1 m.
@pytest.mark.parametrize(("ohm", "reach_m", "over"), [(50, 986.72, False), (14.17, 250.2, False), (13, 226.12, True)])
def test_loop_limit_of_the_listing_warns_and_judges(tmp_path: Path, ohm: float, reach_m: float, over: bool) -> None:
    """The control unit's limit holds for its signaling lines in the estimate and in the field."""
    figures, alerts, criteria = worked(tmp_path, SLC % ("W", "", LOOP), f", signaling_loop_limit: {ohm} ohm")
    loop = criteria.criterion("resistance")

    assert figures["loop.L.longest_run"] == near(reach_m, 0.1)
    assert loop is not None
    assert (loop.high, loop.bounds[0].name) == (ohm, "largest loop that its source allows")
    assert "control unit, " in loop.source
    assert bool(alerts) is over
    if over:
        assert "loop resistance: the wire of L resists too much: 14.2 ohm, limit 13 ohm (control unit, " in alerts[0]
        assert alerts[0].endswith("; W works up to 226.1 m; else split it")


def test_the_circuits_own_limit_comes_before_the_units(tmp_path: Path) -> None:
    """A limit typed for one circuit is that circuit's."""
    text = SLC % ("W", ", loop_limit: 40 ohm, device_limit: 7", LOOP)
    _, alerts, criteria = worked(tmp_path, text, ", signaling_loop_limit: 1 ohm, signaling_device_limit: 6")
    loop = criteria.criterion("resistance")

    assert loop is not None
    assert loop.high == 40
    assert alerts == []


def test_too_many_devices_for_the_listing(tmp_path: Path) -> None:
    """Seven devices, six allowed; seven allowed is enough."""
    _, alerts, _ = worked(tmp_path, SLC % ("W", "", LOOP), ", signaling_device_limit: 6")
    assert [alert.split(": ")[1] for alert in alerts] == ["too many devices"]
    assert "7 devices, limit 6 devices (control unit, " in alerts[0]
    assert worked(tmp_path, SLC % ("W", "", LOOP), ", signaling_device_limit: 7")[1] == []


def test_limits_of_signaling_are_none_of_initiating(tmp_path: Path) -> None:
    """Each kind of circuit has a limit of its own."""
    text = SLC.replace("signaling", "initiating") % ("W", ", end_of_line: 4.7 kohm", LOOP)
    unit = ", signaling_loop_limit: 1 ohm, signaling_device_limit: 1, initiating_loop_limit: %s ohm"

    assert worked(tmp_path, text, unit % 15)[1] == []
    assert [alert.split(": ")[1] for alert in worked(tmp_path, text, unit % 14)[1]] == ["loop resistance"]


def test_class_x_asks_for_isolators(tmp_path: Path) -> None:
    """A short is parted from the rest by nothing else; class A only works past an open."""
    plain, more = "{device: SMOKE, distance: 100 m}", ", class: %s, return: 100 m"

    _, alerts, _ = worked(tmp_path, SLC % ("W", more % "X", plain))
    assert [alert.split(": ")[1] for alert in alerts] == ["no isolators"]
    assert worked(tmp_path, SLC % ("W", more % "A", plain))[1] == []
    assert worked(tmp_path, SLC % ("W", more % "X", plain + ", {device: ISO, distance: 1 m}"))[1] == []


def test_a_return_counts_in_the_loop(tmp_path: Path) -> None:
    """Class A or X wire goes there and comes back: by hand 2 x 200 m x 0.02 ohm."""
    figures, _, _ = worked(tmp_path, SLC % ("W", ", class: A, return: 100 m", "{device: SMOKE, distance: 100 m}"), "")

    assert figures["loop.L.metered"] == near(8.0, 1e-9)


def test_zones_of_a_control_unit_are_counted(tmp_path: Path) -> None:
    """Two initiating circuits on a unit that takes one."""
    text = ZONE % (1, "F18", "10 m") + ZONE % (2, "F18", "10 m") + SLC % ("F18", "", "{device: SMOKE, distance: 10 m}")

    assert worked(tmp_path, text, ", zones: 2")[1] == []
    [alert] = worked(tmp_path, text, ", zones: 1")[1]
    assert "too many zones: P has too many initiating circuits: 2 circuits, limit 1 zones" in alert


def test_initiating_wire_is_no_thinner_than_22(tmp_path: Path) -> None:
    """22 AWG is the least of an alarm trade association's installation standard."""
    [alert] = worked(tmp_path, ZONE % ("", "THIN", "10 m"))[1]
    assert "thin wire: initiating circuit Z runs on thin wire: 24 AWG, limit 22 AWG or heavier" in alert
    assert worked(tmp_path, ZONE % ("", "F18", "10 m"))[1] == []


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    # By hand: 4.7 kohm less and plus 10 % as usual or 1 % as typed; 8 ohm of loop come on top of the most.
    [("", 4230.0, 5170 + 8.0), (", end_of_line_tolerance_percent: 1", 4653.0, 4747 + 8.0)],
)
def test_resistor_is_expected_at_the_control_unit(tmp_path: Path, typed: str, low: float, high: float) -> None:
    """Estimate and field sheet say the same: resistor and loop, within the resistor's tolerance."""
    text = f"  - {{id: Z, kind: initiating, source: P, cable: W, end_of_line: 4.7 kohm{typed}, devices: [%s]}}\n"
    figures, _, criteria = worked(tmp_path, text % "{device: SMOKE, distance: 200 m}")
    read = criteria.criterion("end_of_line")

    assert read is not None
    assert read.required
    assert (read.low, read.expected, read.high) == (pytest.approx(low), pytest.approx(4708), pytest.approx(high))
    assert figures["loop.Z.with_resistor"] == near(4708, 1e-9)
    assert figures["loop.Z.with_resistor_least"] == read.low
    assert figures["loop.Z.with_resistor_most"] == read.high


@pytest.mark.parametrize(
    ("circuit", "kinds"),
    [
        ("kind: initiating, source: P", ["no end-of-line resistor"]),
        ("kind: initiating, source: P, end_of_line: 0 ohm", ["no end-of-line resistor"]),
        ("kind: initiating, source: P, end_of_line: 4.7 kohm", []),
        ("kind: initiating, source: P, class: A, return: 10 m", []),
        ("kind: signaling, source: P", []),
        ("kind: initiating, source: I", []),
    ],
)
def test_class_b_of_life_safety_ends_in_a_resistor(tmp_path: Path, circuit: str, kinds: list[str]) -> None:
    """Without one nothing on the field sheet tells a whole circuit from a broken one."""
    unit = "}, {id: I, system: intrusion, room: R, standby_current: 0.1 A, alarm_current: 0.2 A"
    text = f"  - {{id: Z, cable: W, {circuit}, devices: [{{device: SMOKE, distance: 10 m}}]}}\n"

    assert [alert.split(": ")[1] for alert in worked(tmp_path, text, unit)[1]] == kinds


def test_thinnest_gauge_for_a_loop_limit(tmp_path: Path) -> None:
    """100 ohm, 6,500 ft: 18 AWG uncoated reaches 6,435 ft, 16 AWG of Table 8 is 63.6 ohm."""
    [alert] = worked(tmp_path, ZONE % ("", "F18", "6500 ft"), ", initiating_loop_limit: 100 ohm")[1]

    assert alert.endswith("; 16 AWG works, or 18 AWG works up to 1961.3 m; else split it")


@pytest.mark.parametrize(("rating", "kinds"), [("40 mA", []), ("39 mA", ["over the circuit's rating"])])
def test_a_signaling_line_draws_no_more_than_its_rating(tmp_path: Path, rating: str, kinds: list[str]) -> None:
    """By hand: two devices of 20 mA in alarm; a notification circuit has a current of its own."""
    text = SLC % ("W", f", rating: {rating}", "{device: LAMP, qty: 2, distance: 10 m}")
    lamp = "  - {id: LAMP, standby_current: 1 mA, alarm_current: 20 mA}\n"
    project, footage = measured(tmp_path, (JOB % "").replace("control_units:", f"{lamp}control_units:") + text)
    dc = work_out_dc(project, footage)

    assert held(dc_families(dc, project))["loop.L.current"] == near(0.04, 1e-12)
    assert [alert.kind for alert in dc_alerts(dc, project)] == kinds
