"""Wire of notification, signaling and initiating circuits, there and back, against its source's listing.

The loop is worked out twice: as hot as the design has it, which the listing's limit judges, and as warm
as the building is, which a meter at the control unit reads. Isolators stand in series with both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.formula import Expression
from estimator.calc.loop_circuit import LOOP, Band, expected_at_unit, longest_loop_m
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit, ControlUnit, PowerSupply
from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductor
from estimator.takeoff.footage import Length
from estimator.takeoff.loads import most_drawn, volts_of
from estimator.takeoff.worked import Input

DEVICES: Final = Expression("sum(quantity)")
"""Devices on a circuit [pieces]."""

SIGNALING, INITIATING = "signaling", "initiating"


OVER_LISTING: Final = tuple(
    Expression(f"where({limit} > 0, {value}, 0) > {limit}")
    for value, limit in (("design_ohm", "limit_ohm"), ("devices", "most"), ("current", "rating"))
)
"""Whether a circuit is over a limit of its listing; a limit of zero is none, and judges nothing."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WireLoop:
    """A circuit's wire there and back; its end-of-line resistor comes on top."""

    circuit: Circuit
    length: Length
    conductor: Conductor
    metered: Conductor  # as warm as the building is
    isolators_ohm: float
    limit: Input | None  # largest loop
    device_limit: Input | None
    tolerance: Input | None  # of the end-of-line resistor, a share
    each_a: tuple[float, ...]  # largest lasting current of a device at each place
    rating: Input | None

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.circuit.id

    @property
    def wire_ohm(self) -> float:
        """Return the wire there and back at the temperature of the design [ohm]."""
        return PAIR_LOOP(length_m=self.length.expected_m, ohm_per_m=self.conductor.ohm_per_m)

    @property
    def loop_ohm(self) -> float:
        """Return wire and isolators at the temperature of the design [ohm]."""
        return LOOP(wire_ohm=self.wire_ohm, isolators_ohm=self.isolators_ohm)

    @property
    def metered_wire_ohm(self) -> float:
        """Return the wire there and back as warm as the building is [ohm]."""
        return PAIR_LOOP(length_m=self.length.expected_m, ohm_per_m=self.metered.ohm_per_m)

    @property
    def metered_ohm(self) -> float:
        """Return what a meter reads from the source with the far end joined [ohm]."""
        return LOOP(wire_ohm=self.metered_wire_ohm, isolators_ohm=self.isolators_ohm)

    @property
    def quantity(self) -> tuple[float, ...]:
        """Return the devices at each place, in their order."""
        return tuple(float(stop.count) for stop in self.circuit.stops)

    @property
    def devices(self) -> float:
        """Return the devices on the circuit [pieces]."""
        return DEVICES(quantity=self.quantity)

    @property
    def total_a(self) -> float:
        """Return the current with every device at its largest [A]."""
        return TOTAL(quantity=self.quantity, each_a=self.each_a)

    @property
    def band(self) -> Band | None:
        """Return what a meter may read with the resistor in place, or None where there is none."""
        resistor, tolerance = self.circuit.end_of_line_ohm, self.tolerance
        if not resistor or tolerance is None:
            return None
        assert not isinstance(tolerance.value, tuple)
        return expected_at_unit(loop_ohm=self.metered_ohm, end_of_line_ohm=resistor, tolerance=tolerance.value)

    @property
    def longest_m(self) -> float | None:
        """Return how far the circuit may go within its limit [m], its return counted, or None without one."""
        if self.limit is None:
            return None
        assert not isinstance(self.limit.value, tuple)
        return longest_loop_m(
            limit_ohm=self.limit.value, ohm_per_m=self.conductor.ohm_per_m, isolators_ohm=self.isolators_ohm
        )


def wire_loop(circuit: Circuit, length: Length, conductor: Conductor, metered: Conductor, project: Project) -> WireLoop:
    """Return a circuit's loop with what its source's listing allows."""
    feed = project.feed(circuit.feed)
    assert isinstance(feed, ControlUnit | PowerSupply)
    return WireLoop(
        circuit=circuit,
        length=length,
        conductor=conductor,
        metered=metered,
        isolators_ohm=isolators_of(circuit, project),
        limit=loop_limit(circuit, feed),
        device_limit=_device_limit(circuit, feed),
        tolerance=tolerance_of(circuit) if circuit.end_of_line_ohm else None,
        each_a=tuple(most_drawn(project.devices[stop.device], stop.setting, volts_of(feed)) for stop in circuit.stops),
        rating=typed_rating(circuit),
    )


def typed_rating(circuit: Circuit) -> Input | None:
    """Return the rating typed for a circuit [A], or None where none is."""
    if circuit.rating_a is None:
        return None
    return Input(circuit.rating_a, "A", f"circuit, {circuit.source.at('rating')}")


def isolators_of(circuit: Circuit, project: Project) -> float:
    """Return what the isolators of a circuit's devices put in series with its wire [ohm]."""
    each = ((project.devices[stop.device].isolator_ohm or 0.0) * stop.count for stop in circuit.stops)
    return math.fsum(each)


def loop_limit(circuit: Circuit, feed: object) -> Input | None:
    """Return the largest loop that the circuit or its control unit's listing allows [ohm]."""
    if circuit.loop_max_ohm is not None:
        return Input(circuit.loop_max_ohm, "ohm", f"circuit, {circuit.source.at('loop_limit')}")
    if isinstance(feed, ControlUnit):
        listed = {SIGNALING: feed.signaling_max_ohm, INITIATING: feed.initiating_max_ohm}.get(circuit.kind)
        if listed is not None:
            return Input(listed, "ohm", f"control unit, {feed.source.at(f'{circuit.kind}_loop_limit')}")
    return None


def _device_limit(circuit: Circuit, feed: object) -> Input | None:
    if circuit.device_limit is not None:
        return Input(float(circuit.device_limit), "pieces", f"circuit, {circuit.source.at('device_limit')}")
    if isinstance(feed, ControlUnit) and circuit.kind == SIGNALING and feed.signaling_devices is not None:
        at = feed.source.at("signaling_device_limit")
        return Input(float(feed.signaling_devices), "pieces", f"control unit, {at}")
    return None


def tolerance_of(circuit: Circuit | None) -> Input:
    """Return the tolerance typed for a circuit's resistor, else the usual one [share]."""
    if circuit is not None and circuit.end_of_line_tolerance is not None:
        at = circuit.source.at("end_of_line_tolerance_percent")
        return Input(circuit.end_of_line_tolerance, "share", f"circuit, {at}")
    row = table("acceptance_limits").find(name="end_of_line")
    return Input(row.number("high"), "share", row.source)
