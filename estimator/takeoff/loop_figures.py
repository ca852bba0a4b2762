"""Figures of the wire of notification, signaling and initiating circuits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.loop_circuit import LEAST_READ, LONGEST, LOOP, MOST_READ, WITH_RESISTOR
from estimator.takeoff.columns import column
from estimator.takeoff.conductors import Conductor
from estimator.takeoff.wire_loops import DEVICES, INITIATING, SIGNALING, WireLoop
from estimator.takeoff.worked import MARGIN, Family, Input, Judged
from estimator.units.rounding import over

_THEORY: Final = "circuit theory"
_LISTING: Final = "listing of the control unit, as typed"


def loop_families(loops: Iterable[WireLoop]) -> Iterable[Family]:
    """Yield each circuit's wire, what a meter reads with and without its resistor, its reach and its devices."""
    loops = tuple(loops)
    yield column(("loop", "wire_resistance", "wire there and back", "ohm"), PAIR_LOOP, _THEORY, loops,
                 lambda one: one.wire_ohm, lambda one: _wire(one, one.conductor))  # fmt: skip
    yield column(("loop", "resistance", "wire and isolators, far end joined", "ohm"), LOOP, _THEORY, loops,
                 lambda one: one.loop_ohm, lambda one: _loop(one, "wire_resistance"), judge=judged_loop)  # fmt: skip
    yield column(("loop", "metered_wire", "wire there and back, as warm as the building is", "ohm"), PAIR_LOOP, _THEORY,
                 loops, lambda one: one.metered_wire_ohm, lambda one: _wire(one, one.metered))  # fmt: skip
    yield column(("loop", "metered", "what a meter reads with the far end joined", "ohm"), LOOP, _THEORY, loops,
                 lambda one: one.metered_ohm, lambda one: _loop(one, "metered_wire"))  # fmt: skip
    ended = [one for one in loops if one.band is not None]
    yield column(("loop", "with_resistor", "what a meter reads with the end-of-line resistor", "ohm"), WITH_RESISTOR,
                 _THEORY, ended, lambda one: one.band.expected_ohm if one.band else None, _expected)  # fmt: skip
    yield column(("loop", "with_resistor_least", "least that a meter may read with the resistor", "ohm"), LEAST_READ,
                 _THEORY, ended, lambda one: one.band.least_ohm if one.band else None, _least)  # fmt: skip
    yield column(("loop", "with_resistor_most", "most that a meter may read with the resistor", "ohm"), MOST_READ,
                 _THEORY, ended, lambda one: one.band.most_ohm if one.band else None, _most)  # fmt: skip
    yield column(("loop", "longest_run", "longest circuit within its loop limit, return counted", "m"), LONGEST,
                 _LISTING, loops, lambda one: one.longest_m, _longest)  # fmt: skip
    yield column(("loop", "devices", "devices on the circuit", "pieces"), DEVICES, "count", loops,
                 lambda one: one.devices, _counted, judge=judged_devices)  # fmt: skip
    talking = [one for one in loops if one.circuit.kind in (SIGNALING, INITIATING)]
    yield column(("loop", "current", "current with every device at its largest", "A"), TOTAL, "sum of its devices",
                 talking, lambda one: one.total_a, _currents, judge=judged_current)  # fmt: skip


def judged_loop(one: WireLoop) -> Judged | None:
    """Return the loop of a circuit against its source's limit [ohm], or None where none is typed."""
    return _judged(one.loop_ohm, one.limit)


def judged_devices(one: WireLoop) -> Judged | None:
    """Return the devices of a circuit against its source's limit [pieces], or None where none is typed."""
    return _judged(one.devices, one.device_limit)


def judged_current(one: WireLoop) -> Judged | None:
    """Return the current of a signaling or initiating circuit against its rating [A], or None where none is typed."""
    judged = _judged(one.total_a, one.rating) if one.circuit.kind in (SIGNALING, INITIATING) else None
    return (
        None if judged is None else replace(judged, word="over rating" if judged.word != "within" else "within rating")
    )


def _judged(value: float, limit: Input | None) -> Judged | None:
    if limit is None or isinstance(limit.value, tuple):
        return None
    word = "over the limit" if over(value, limit.value) else "within"
    return Judged(word, MARGIN(limit=limit.value, value=value), limit.value, limit.origin)


def _wire(one: WireLoop, conductor: Conductor) -> Mapping[str, Input]:
    length = Input(one.length.expected_m, "m", f"circuit.{one.id}.expected_length, return in it")
    if conductor is one.conductor:
        return {"length_m": length, "ohm_per_m": conductor.as_input()}
    warm = conductor.inputs["temperature_c"].value
    origin = f"conductor of {conductor.id} at {warm:g} \N{DEGREE SIGN}C, {conductor.source}"
    return {"length_m": length, "ohm_per_m": Input(conductor.ohm_per_m, "ohm/m", origin)}


def _loop(one: WireLoop, wire: str) -> Mapping[str, Input]:
    ohm = one.wire_ohm if wire == "wire_resistance" else one.metered_wire_ohm
    return {
        "wire_ohm": Input(ohm, "ohm", f"loop.{one.id}.{wire}"),
        "isolators_ohm": Input(one.isolators_ohm, "ohm", "isolators of its devices, as typed"),
    }


def _expected(one: WireLoop) -> dict[str, Input]:
    at = one.circuit.source.at("end_of_line")
    return {
        "loop_ohm": Input(one.metered_ohm, "ohm", f"loop.{one.id}.metered"),
        "end_of_line_ohm": Input(one.circuit.end_of_line_ohm or 0.0, "ohm", f"circuit, {at}"),
    }


def _most(one: WireLoop) -> Mapping[str, Input]:
    assert one.tolerance is not None
    return {**_expected(one), "tolerance": one.tolerance}


def _least(one: WireLoop) -> Mapping[str, Input]:
    return {name: item for name, item in _most(one).items() if name != "loop_ohm"}


def _longest(one: WireLoop) -> Mapping[str, Input]:
    assert one.limit is not None
    isolators = _loop(one, "wire_resistance")["isolators_ohm"]
    return {"limit_ohm": one.limit, "ohm_per_m": one.conductor.as_input(), "isolators_ohm": isolators}


def _currents(one: WireLoop) -> Mapping[str, Input]:
    names = ", ".join(stop.device for stop in one.circuit.stops)
    return {
        "quantity": Input(one.quantity, "pieces", names),
        "each_a": Input(one.each_a, "A", f"largest of standby and alarm of {names}"),
    }


def _counted(one: WireLoop) -> Mapping[str, Input]:
    return {"quantity": Input(one.quantity, "pieces", ", ".join(stop.device for stop in one.circuit.stops))}
