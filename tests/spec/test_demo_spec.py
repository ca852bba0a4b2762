"""The demo job loads without a fault and holds what the manual says it shows."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.footage import ON_PLAN, ROUTED, measure
from estimator.units.rounding import over

SPECS = Path(__file__).parents[2] / "specs"
_FOOT_M = 0.3048

DEVICES = {
    "data_jack": 83, "wap": 5, "wap_high": 4, "camera_dome": 7, "camera_ptz": 3, "camera_analog": 4, "phone": 4,
    "reader": 2, "strike": 1, "maglock": 1, "door_monitor": 4, "contact": 4, "motion": 1, "keypad": 1,
}  # fmt: skip
"""Cable runs by device type; a door monitor has two cables."""

CIRCUITS = {"notification", "signaling", "dc", "speaker", "low_impedance_speaker"}


def loaded(name: str) -> Project:
    """Return a project of the specs folder, which must have no fault."""
    found = load(SPECS / name)
    assert found.faults == ()
    assert found.project is not None
    return found.project


@pytest.fixture(scope="module")
def library() -> Project:
    return loaded("library/library.yaml")


def test_the_library_holds_its_devices(library: Project) -> None:
    assert Counter(run.device.id for run in library.runs if run.device) == DEVICES


def test_every_circuit_id_is_used_once(library: Project) -> None:
    ids = [run.id for run in library.runs] + [*library.circuits, *library.backbone, *library.test_points]
    assert max(Counter(name.lower() for name in ids).values()) == 1


def test_every_declared_device_stands_somewhere(library: Project) -> None:
    stops = {stop.device for circuit in library.circuits.values() for stop in circuit.stops}
    assert stops | DEVICES.keys() == library.devices.keys()


def test_the_library_shows_every_kind_of_feed(library: Project) -> None:
    assert {circuit.kind for circuit in library.circuits.values()} == CIRCUITS
    assert {unit.system for unit in library.control_units.values()} == {"fire_alarm", "intrusion", "access"}
    assert {point.kind for point in library.test_points.values()} == {"battery", "bonding"}
    for group in (library.switches, library.ups, library.supplies, library.amplifiers, library.backbone):
        assert group


def test_every_cable_of_the_library_is_accepted_by_rule(library: Project) -> None:
    ruled = {kind.cable for kind in library.acceptance.cables}
    laid_only = {laid.cable for segment in library.segments.values() for laid in segment.laid}
    assert ruled == library.cables.keys() - laid_only


def test_every_drop_of_the_library_has_a_route(library: Project) -> None:
    faults = Faults()
    footage = measure(library, faults)
    assert not faults.found
    drops = [length for length in footage.lengths if length.kind == "drop"]
    assert Counter(length.method for length in drops) == {ROUTED: 117, ON_PLAN: 7}
    assert all(footage.segments(length) for length in drops)
    assert [length.id for length in drops if over(length.expected_m, 90)] == ["2A-B08"]
    assert all(60 < length.expected_m / _FOOT_M < 260 for length in drops if length.id != "2A-B08")


def test_ten_drops_are_ten() -> None:
    project = loaded("small/ten.yaml")
    assert len(project.runs) == 10
    assert {run.panel for run in project.runs} == {"A"}
    assert len((SPECS / "small/ten.yaml").read_text(encoding="utf-8").splitlines()) <= 40
