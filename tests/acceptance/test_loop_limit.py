"""The largest loop at which a circuit's worst device still works."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criterion
from estimator.acceptance.loop_limit import NAME
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.footage import measure
from estimator.takeoff.takeoff import take_off

JOB = """
dropledger: 1
project: {name: Doors, lengths_in: ft}
rules: {room_leg: 0 ft, last_leg: 0 ft, slack_room: 0 ft, slack_device: 0 ft%(rules)s}
rooms: [{id: TR}]
cables:
  - {id: W18, type: c18_2, ohm_per_m: 0.02}
devices:
  - {id: lock, system: access, cable: W18, voltage: 24 V, least_voltage: 21.6 V, current: 500 mA}
  - {id: surging, system: access, cable: W18, voltage: 24 V, least_voltage: 21.6 V, current: 0.2 A, inrush: 0.8 A}
  - {id: camera, system: video, cable: W18, voltage: 24 V, least_voltage: 18 V, power: 9 W}
  - {id: plain, system: access, cable: W18, voltage: 24 V, current: 500 mA}
  - {id: horn, system: fire_alarm, standby_current: 0 A, alarm_current: 0.1 A, least_voltage: 16 V}
power_supplies: [{id: PS, name: Supply, room: TR, voltage: 24 V, rating: 5 A}]
control_units: [{id: FACP, system: fire_alarm, room: TR, standby_current: 0.1 A, alarm_current: 0.2 A}]
drops:
  - {id: L1, room: TR, device: lock, length: 100 ft, supply: PS}
  - {id: L2, room: TR, device: lock, length: 30 ft, supply: PS}
  - {id: L3, room: TR, device: surging, length: 30 ft, supply: PS}
  - {id: L4, room: TR, device: camera, length: 30 ft, supply: PS}
  - {id: L5, room: TR, device: plain, length: 30 ft, supply: PS}
  - {id: L6, room: TR, device: lock, length: 30 ft}
circuits:
  - id: NAC-1
    kind: notification
    source: FACP
    cable: W18
    devices: [{device: horn, distance: 100 ft}, {device: horn, distance: 300 ft}]
"""


def loops(folder: Path, rules: str = "") -> dict[str, Criterion]:
    """Return the criterion of each circuit's loop."""
    path = folder / "doors.yaml"
    path.write_text(JOB % {"rules": rules}, encoding="utf-8")
    loaded = load(path)
    assert loaded.project is not None, "\n".join(map(str, loaded.faults))
    criteria = criteria_for(loaded.project, measure(loaded.project, Faults()))
    return {one.id: found for one in criteria if (found := one.criterion("resistance")) is not None}


# Ohm's law, by hand: what may be lost over the current that flows. The camera holds its watts, so that
# at its 18 V it draws 9 W / 18 V = 0.5 A, and 6 V over 0.5 A are 12 ohm.
@pytest.mark.parametrize(
    ("circuit", "ohm"),
    [
        ("L1", (24 - 21.6) / 0.5),
        ("L2", (24 - 21.6) / 0.5),
        ("L3", (24 - 21.6) / 0.8),
        ("L4", (24 - 18) * 18 / 9),
    ],
)
def test_a_supply_fed_device_has_the_loop_at_which_it_gets_its_least_volts(
    tmp_path: Path, circuit: str, ohm: float
) -> None:
    """One device: start less minimum, over the current; the largest current is the one at inrush."""
    found = loops(tmp_path)[circuit]
    # A millionth of a millionth of an ohm is left by halving.
    assert found.high == pytest.approx(ohm, rel=1e-9)
    assert found.source.startswith(f"{NAME}: 24 V (PS, ")
    assert [bound.name for bound in found.bounds] == [NAME, "closed loop"]


@pytest.mark.parametrize("circuit", ["L5", "L6"])
def test_without_least_volts_or_supply_the_loop_is_only_closed(tmp_path: Path, circuit: str) -> None:
    """Nothing is made up where the design says nothing."""
    assert [bound.name for bound in loops(tmp_path)[circuit].bounds] == ["closed loop"]


# By hand: the wire of 100 ft carries 0.2 A and the next 300 ft 0.1 A; what 20.4 V then leave over 16 V may
# be lost before the first device, at 0.2 A.
def test_a_notification_circuit_may_have_what_its_worst_device_leaves(tmp_path: Path) -> None:
    """The excess is taken to lie before the first device, where all of the current flows."""
    high = loops(tmp_path)["NAC-1"].high
    planned = planned_ohm(tmp_path)
    worst_v = 20.4 - 0.2 * planned * 100 / 400 - 0.1 * planned * 300 / 400
    assert high == pytest.approx(planned + (worst_v - 16) / 0.2, rel=1e-9)


def test_a_house_that_lumps_its_loads_has_the_lumped_limit(tmp_path: Path) -> None:
    """All current at the far end: what 20.4 V have over 16 V, over 0.2 A."""
    high = loops(tmp_path, ", nac_decides: end_of_line")["NAC-1"].high
    assert high == pytest.approx((20.4 - 16) / 0.2, rel=1e-9)


def test_a_design_that_fails_as_planned_has_the_lumped_limit(tmp_path: Path) -> None:
    """A percent limit that the plan itself is over leaves the loop at which the far end has its volts."""
    high = loops(tmp_path, ", nac_decides: percent, nac_drop_percent: 1")["NAC-1"].high
    assert high == pytest.approx((20.4 - 16) / 0.2, rel=1e-9)


def test_the_percent_limit_of_a_branch_is_no_limit_of_its_device(tmp_path: Path) -> None:
    """The camera works below the house's percent."""
    assert loops(tmp_path, ", dc_drop_percent: 1")["L4"].high == pytest.approx(12.0, rel=1e-9)


def planned_ohm(folder: Path) -> float:
    """Return the notification circuit's wire there and back as the estimate has it [ohm]."""
    loaded = load(folder / "doors.yaml")
    assert loaded.project is not None
    return next(loop.wire_ohm for loop in take_off(loaded.project).power.dc.loops if loop.id == "NAC-1")
