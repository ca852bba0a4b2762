"""What every medium's criteria are built from: the project, its copper, its units and its wishes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from estimator.acceptance.criterion import Bound, Criterion
from estimator.acceptance.loop_limit import LoopLimits
from estimator.reference.lookup import Row, table
from estimator.spec.life_safety import FIRE_ALARM_CLASSES, run_is_life_safety
from estimator.spec.model import Cable, Project
from estimator.spec.quality import CableAcceptance
from estimator.takeoff.coax_runs import CoaxCables
from estimator.takeoff.conductors import Conductors
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.footage import Footage, Length
from estimator.takeoff.wire_loops import isolators_of
from estimator.units.table import FACTORS

USUAL: Final[Mapping[str, tuple[str, ...]]] = {
    "balanced_pair": ("wire_map", "length"),
    "coax": ("open_short", "length"),
    "conductors": ("open_short", "resistance", "end_of_line", "polarity"),
    "voice": ("wire_map", "line_volts"),
    "speaker": ("open_short", "impedance", "polarity"),
    "battery": ("open_circuit_volts", "load_volts"),
    "fiber": ("loss", "length", "polarity"),
    "bonding": ("bonding",),
}
"""What is tested where the project file names no tests; the rest is judged if it was read."""

LIFE_SAFETY_TESTS: Final = ("stray_volts", "insulation", "open_short", "resistance", "end_of_line", "polarity")
"""What a fire-alarm circuit is tested for beside what the project file names."""

SHEET_OF: Final[Mapping[str, str]] = {
    "balanced_pair": "balanced_pair",
    "coax": "coax",
    "two_conductor": "conductors",
    "multi_conductor": "conductors",
    "voice": "voice",
    "speaker": "speaker",
    "fiber": "fiber",
}
"""Sheet on which a cable's readings stand."""


@dataclass(frozen=True, slots=True)
class Basis:
    """A project with its footage and copper, asked by the builders of criteria."""

    project: Project
    footage: Footage
    conductors: Conductors
    by_cable: Mapping[str, CableAcceptance]
    loops: LoopLimits
    coax: CoaxCables
    alike: dict[tuple[str | float | bool, ...], tuple[Criterion, ...]] = field(default_factory=dict)
    """Criteria that circuits share, by what makes these alike: thousands differ in nothing but their length."""

    @property
    def feet(self) -> str:
        """Return the unit of lengths on this job's sheets."""
        return self.project.header.lengths_in

    def asked(self, cable: Cable | None) -> CableAcceptance | None:
        """Return what the project file asks of a cable type, or None."""
        return self.by_cable.get(cable.id) if cable else None

    def category(self, length: Length) -> str:
        """Return the category that a balanced pair is judged by: as typed, else its cable's; empty without one."""
        asked = self.asked(length.cable)
        return (asked.category if asked else None) or length.cable.category or ""

    def required(self, cable: Cable | None, medium: str, life_safety: bool = False) -> frozenset[str]:
        """Return the tests without which a circuit of the medium is incomplete."""
        asked = self.asked(cable)
        tests = asked.tests if asked and asked.tests else USUAL[medium]
        return frozenset((*tests, *LIFE_SAFETY_TESTS)) if life_safety and medium == "conductors" else frozenset(tests)

    def tests_of(self, length: Length, medium: str, life_safety: bool = False) -> frozenset[str]:
        """Return the tests of a circuit: its cable type's, with what its device or the circuit itself adds."""
        device = length.run.device if length.run else None
        added = (*(device.tests if device else ()), *(length.circuit.tests if length.circuit else ()))
        return self.required(length.cable, medium, life_safety) | frozenset(added)

    def loop_ohm(self, length: Length) -> float | None:
        """Return what a meter should read over a circuit's pair with the far end joined [ohm].

        A meter sees the cable as warm as the building is: never the hot conductor of a design.
        """
        conductor = self.conductors.of(length.cable)
        if conductor is None:
            return None
        isolators = isolators_of(length.circuit, self.project) if length.circuit else 0.0
        return 2 * conductor.ohm_per_m * length.expected_m + isolators


def basis_of(project: Project, footage: Footage, dc: DcCircuits | None = None) -> Basis:
    """Return the basis of a project's criteria; its DC circuits are worked out where they aren't given."""
    by_cable = {asked.cable: asked for asked in project.acceptance.cables}
    return Basis(
        project,
        footage,
        Conductors(project, measured=True),
        by_cable,
        LoopLimits(project, footage, dc),
        CoaxCables(project),
    )


def limit_row(name: str) -> Row:
    """Return one row of the limits that no cabling standard tables."""
    return table("acceptance_limits").find(name=name)


def fire_alarm(length: Length) -> bool:
    """Return whether a cable belongs to a fire alarm, by its device or itself."""
    if length.run is not None:
        return run_is_life_safety(length.run)
    return length.cable.circuit_class in FIRE_ALARM_CLASSES


def length_criterion(basis: Basis, length: Length, tests: frozenset[str], *bounds: Bound) -> Criterion:
    """Return the criterion of a length: the tightest of the limits, or a record where there is none."""
    asked = basis.asked(length.cable)
    found = list(bounds)
    if asked and asked.length_max_m is not None:
        found.append(Bound(name="project limit", value=asked.length_max_m, source=f"acceptance, {asked.source.at()}"))
    least = min(found, key=lambda bound: bound.value) if found else None
    return Criterion(
        test="length",
        label="Length",
        unit=basis.feet,
        si=FACTORS["length"][basis.feet],
        decimals=1,
        high=least.value if least else None,
        required="length" in tests,
        bounds=tuple(found),
        source=f"{least.name}: {least.source}" if least else "no limit of a standard; compared with expectation",
        confidence=least.confidence if least else "",
        expected=length.expected_m,
    )


def loop_bound(basis: Basis, cable: Cable) -> tuple[Bound, ...]:
    """Return the loop-resistance limit that the project file types, if it does."""
    asked = basis.asked(cable)
    if asked is None or asked.loop_max_ohm is None:
        return ()
    return (Bound(name="project limit", value=asked.loop_max_ohm, source=f"acceptance, {asked.source.at()}"),)


def words(test: str, label: str, accepted: tuple[str, ...], source: str, required: bool) -> Criterion:
    """Return a criterion of accepted words."""
    return Criterion(test=test, label=label, accepted=accepted, source=source, required=required)
