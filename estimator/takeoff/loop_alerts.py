"""Warnings about the wire of notification, signaling and initiating circuits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from estimator.calc.dc_circuit import smallest_gauge
from estimator.calc.loop_circuit import LOOP
from estimator.spec.feeds import ControlUnit
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.conductors import Conductors, fact
from estimator.takeoff.dc_reach import shown_reach
from estimator.takeoff.loop_figures import judged_current, judged_devices, judged_loop
from estimator.takeoff.wire_loops import INITIATING, SIGNALING, WireLoop
from estimator.takeoff.worked import Judged
from estimator.units.quantity import beside
from estimator.units.rounding import over


def loop_alerts(loops: Iterable[WireLoop], project: Project) -> Iterable[Alert]:
    """Yield loops over their limit, too many devices, missing isolators, thin wire and too many zones."""
    known = Conductors(project)
    for loop in loops:
        yield from _loop_alert(loop, known, project)
        yield from _device_alert(loop)
        yield from _rating_alert(loop)
        yield from _isolators_alert(loop, project)
        yield from _thin_alert(loop)
        yield from _resistor_alert(loop)
    yield from _zone_alerts(project)


def _loop_alert(loop: WireLoop, known: Conductors, project: Project) -> Iterable[Alert]:
    judged = judged_loop(loop)
    if judged is None or not over(loop.loop_ohm, judged.limit):
        return
    yield Alert(
        loop.circuit.source.at("loop_limit"),
        "loop resistance",
        loop.id,
        f"the wire of {loop.id} resists too much",
        f"{beside(loop.loop_ohm, judged.limit, 1)} ohm",
        f"{judged.limit:g} ohm",
        judged.source,
        _advice(loop, judged.limit, known, project),
    )


def _advice(loop: WireLoop, limit_ohm: float, known: Conductors, project: Project) -> str:
    def works(ohm_per_m: float) -> bool:
        wire_ohm = loop.wire_ohm * ohm_per_m / loop.conductor.ohm_per_m
        return not over(LOOP(wire_ohm=wire_ohm, isolators_ohm=loop.isolators_ohm), limit_ohm)

    cable = loop.conductor.cable
    heavier = smallest_gauge(ohm_per_m=known.stocked(cable, loop.conductor.life_safety), works=works)
    words = [] if heavier is None else [f"{heavier} AWG works"]
    if loop.longest_m:
        wire = f"{cable.awg} AWG" if cable.awg is not None and cable.ohm_per_m is None else cable.id
        counted = ", its return counted" if loop.circuit.return_m else ""
        words.append(f"{wire} works up to {shown_reach(loop.longest_m, project)}{counted}")
    return f"{', or '.join(words)}; else split it" if words else "split it: its isolators alone are too much"


def _device_alert(loop: WireLoop) -> Iterable[Alert]:
    judged = judged_devices(loop)
    if judged is not None and over(loop.devices, judged.limit):
        shown = f"{loop.devices:g} devices", f"{judged.limit:g} devices"
        yield _overloaded(loop, "devices", "too many devices", "has too many devices", shown, judged)


def _rating_alert(loop: WireLoop) -> Iterable[Alert]:
    judged = judged_current(loop)
    if judged is not None and over(loop.total_a, judged.limit):
        shown = f"{loop.total_a:.3f} A", f"{judged.limit:g} A"
        yield _overloaded(loop, "rating", "over the circuit's rating", "draws too much", shown, judged)


def _overloaded(loop: WireLoop, key: str, kind: str, what: str, shown: tuple[str, str], judged: Judged) -> Alert:
    """Return the warning for a circuit that carries more than its limit, at the key that says so."""
    place = loop.circuit.source.at(key)
    advice = "move devices to another circuit"
    return Alert(place, kind, loop.id, f"{loop.id} {what}", *shown, judged.source, advice)


def _isolators_alert(loop: WireLoop, project: Project) -> Iterable[Alert]:
    """Yield a warning for a class X line none of whose devices has an isolator."""
    circuit = loop.circuit
    if circuit.circuit_class != "X" or circuit.kind != SIGNALING:
        return
    if all(project.devices[stop.device].isolator_ohm is None for stop in circuit.stops):
        yield Alert(
            circuit.source.at("class"),
            "no isolators",
            loop.id,
            f"class X circuit {loop.id} has no isolator",
            "no device types `isolator:`",
            "isolators that part a short from the rest",
            "NFPA 72 chapter 12, class X works past one short",
            "type `isolator:` with its resistance for the devices that have one, or add isolators",
        )


def _resistor_alert(loop: WireLoop) -> Iterable[Alert]:
    """Yield a warning for a life-safety circuit of class B that no resistor at its end lets anyone test."""
    circuit = loop.circuit
    supervised = circuit.circuit_class == "B" and circuit.kind != SIGNALING and loop.conductor.life_safety
    if supervised and not circuit.end_of_line_ohm:
        yield Alert(
            circuit.source.at("id"),
            "no end-of-line resistor",
            loop.id,
            f"class B circuit {loop.id} types no end-of-line resistor",
            "no `end_of_line:`",
            "the resistor of the control unit's listing",
            "common practice, no published source: class B wire is watched through its last resistor",
            "type `end_of_line:`, so that its reading is a criterion of the field sheet",
        )


def _thin_alert(loop: WireLoop) -> Iterable[Alert]:
    """Yield a warning for an initiating circuit on wire thinner than alarm practice takes."""
    row, cable = fact("minimum_awg_protective_circuit"), loop.length.cable
    if loop.circuit.kind == INITIATING and cable.awg is not None and cable.awg > row.number("value"):
        yield Alert(
            loop.circuit.source.at("cable"),
            "thin wire",
            loop.id,
            f"initiating circuit {loop.id} runs on thin wire",
            f"{cable.awg} AWG",
            f"{row.number('value'):g} AWG or heavier",
            row.source,
            "choose a heavier cable",
        )


def _zone_alerts(project: Project) -> Iterable[Alert]:
    used = Counter(circuit.feed for circuit in project.circuits.values() if circuit.kind == INITIATING)
    for name, circuits in used.items():
        unit = project.feed(name)
        if isinstance(unit, ControlUnit) and unit.zones is not None and circuits > unit.zones:
            yield Alert(
                unit.source.at("zones"),
                "too many zones",
                name,
                f"{name} has too many initiating circuits",
                f"{circuits} circuits",
                f"{unit.zones} zones",
                "listing of the control unit, as typed",
                "join circuits, add an expander, or use another unit",
            )
