"""Criteria of alarm and DC circuits, and of voice lines."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.acceptance.basis import Basis, fire_alarm, length_criterion, limit_row, loop_bound, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion
from estimator.calc.loop_circuit import expected_at_unit
from estimator.calc.voice_line import on_hook_v, set_v
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit, ControlUnit
from estimator.spec.life_safety import circuit_is_life_safety
from estimator.spec.model import Run
from estimator.takeoff.dc_lines import number
from estimator.takeoff.footage import Length
from estimator.takeoff.voice_lines import fact as voice_fact
from estimator.takeoff.wire_loops import tolerance_of

CLEAR: Final = ("clear", "OL")


def system_of(length: Length, fallback: str) -> str:
    """Return the system that a run belongs to."""
    return length.run.device.system if length.run and length.run.device else fallback


def loop_criterion(basis: Basis, length: Length, required: bool, *bounds: Bound) -> Criterion:
    """Return the criterion of a loop with its far end joined: typed, given, or just closed."""
    found = (*loop_bound(basis, length.cable), *bounds) or (_closed(),)
    least = min(found, key=lambda bound: bound.value)
    return Criterion(
        test="resistance",
        label="Loop resistance",
        unit="ohm",
        decimals=2,
        high=least.value,
        required=required,
        source=f"{least.name}: {least.source}",
        confidence=least.confidence,
        bounds=found,
        expected=basis.loop_ohm(length),
    )


def _closed() -> Bound:
    row = limit_row("closed_loop")
    return Bound(name="closed loop", value=row.number("high"), source=row.source)


def conductor_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what an alarm or DC circuit, or a run of two or more conductors, must show."""
    circuit = length.circuit
    safety = circuit_is_life_safety(circuit, basis.project) if circuit else fire_alarm(length)
    tests = basis.tests_of(length, "conductors", safety)
    feed = basis.project.feed(circuit.feed) if circuit else None
    system = feed.system if isinstance(feed, ControlUnit) else system_of(length, "other")
    if circuit is not None and not isinstance(feed, ControlUnit) and circuit.stops:
        system = basis.project.devices[circuit.stops[0].device].system
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium="conductors",
        link=circuit.kind if circuit else "",
        system=system,
        room=length.room,
        far_end=far_end,
        cable=length.cable.id,
        expected_m=length.expected_m,
        expected_loop_ohm=basis.loop_ohm(length),
        life_safety=safety,
        criteria=tuple(_conductor_criteria(basis, length, tests)),
    )


def _conductor_criteria(basis: Basis, length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    stray = limit_row("stray_volts")
    yield Criterion(
        test="stray_volts",
        label="Stray voltage",
        unit="V",
        high=stray.number("high"),
        source=stray.source,
        confidence=stray.confidence,
        required="stray_volts" in tests,
    )
    practice = "continuity practice; NFPA 72 test methods for fire-alarm conductors"
    yield words("open_short", "Between conductors, far end open", CLEAR, practice, "open_short" in tests)
    yield words("insulation", "Ground fault", ("clear",), practice, "insulation" in tests)
    yield Criterion(
        test="insulation",
        position="ohm",
        label="Insulation to ground",
        unit="ohm",
        decimals=0,
        source="recorded; the control unit's listing says what it bears",
    )
    yield length_criterion(basis, length, tests)
    designed = tuple(basis.loops.bounds(length))
    yield loop_criterion(basis, length, "resistance" in tests, *designed, *((_closed(),) if designed else ()))
    yield from _end_of_line(basis, length, "end_of_line" in tests)
    yield words("polarity", "Polarity at each device", ("correct",), practice, "polarity" in tests)
    if length.circuit is not None and length.circuit.return_m:
        yield _return_leg(required="return_leg" in tests or "resistance" in tests)
    if length.circuit is not None and length.circuit.kind in ("notification", "dc"):
        yield from _last_volts(basis, length.circuit, "line_volts" in tests)
    if length.run is not None:
        yield from _device_volts(length.run, "line_volts" in tests)


def _return_leg(*, required: bool) -> Criterion:
    """Return the criterion of a class A circuit's way back: it works with the line opened anywhere."""
    source = "NFPA 72, class A: operation past a single open; common practice of testing it from both ends"
    return words("return_leg", "Class A, with the line opened", ("pass",), source, required)


def _end_of_line(basis: Basis, length: Length, required: bool) -> Iterable[Criterion]:
    device = length.run.device if length.run else None
    resistor, at = None, None
    if length.circuit is not None:
        resistor, at = length.circuit.end_of_line_ohm, length.circuit.source.at("end_of_line")
    elif device is not None:
        resistor, at = device.end_of_line_ohm, device.source.at("end_of_line")
    if not resistor:
        return
    tolerance = tolerance_of(length.circuit)
    band = expected_at_unit(
        loop_ohm=basis.loop_ohm(length) or 0.0, end_of_line_ohm=resistor, tolerance=number(tolerance)
    )
    typed = length.circuit is not None and length.circuit.end_of_line_tolerance is not None
    yield Criterion(
        test="end_of_line",
        label="With the end-of-line resistor",
        unit="ohm",
        decimals=0,
        required=required,
        low=band.least_ohm,
        high=band.most_ohm,
        source=f"resistor typed at {at}; {'its tolerance, ' if typed else ''}{tolerance.origin}",
        confidence="" if typed else limit_row("end_of_line").confidence,
        expected=band.expected_ohm,
    )


def _device_volts(run: Run, required: bool) -> Iterable[Criterion]:
    """Yield the least volts of a device that its own cable feeds."""
    device = run.device
    if device is None or device.least_v is None or device.volts is None or not run.first:
        return
    yield Criterion(
        test="line_volts",
        label="Volts at the device, load on",
        unit="V",
        low=device.least_v,
        required=required and run.drop.supply is not None,
        source=f"least voltage of the device, typed at {device.source.at('least_voltage')}",
    )


def _last_volts(basis: Basis, circuit: Circuit, required: bool) -> Iterable[Criterion]:
    feed = basis.project.feed(circuit.feed)
    volts = feed.nominal_v if isinstance(feed, ControlUnit) else getattr(feed, "volts", None)
    known = [basis.project.devices[stop.device].least_v for stop in circuit.stops]
    typed = [least for least in known if least is not None]
    ranges = table("nac_appliance_range")
    row = None
    if circuit.kind == "notification" and len(typed) < len(known) and volts is not None and ranges.has(nominal_v=volts):
        row = ranges.find(nominal_v=volts)
    least = max([*typed, *([row.number("minimum_v")] if row else [])], default=None)
    if least is None:
        return
    listed = row is not None and least == row.number("minimum_v")
    yield Criterion(
        test="line_volts",
        label="Volts at the last device, worst load on",
        unit="V",
        low=least,
        required=required,
        source=row.source if listed and row else "highest least voltage of the circuit's devices, as typed",
        confidence=row.confidence if listed and row else "",
    )


def voice_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what a voice line must show."""
    tests = basis.tests_of(length, "voice")
    facts = table("voice_facts")
    design = facts.find(name="design_loop")
    bound = Bound(name="loop design", value=design.number("value"), source=design.source, confidence=design.confidence)
    scheme = length.run.drop.wire_map if length.run else "USOC"
    found = [
        words("wire_map", f"Pin pairs, {scheme}", ("pass",), table("voice_pins").source, "wire_map" in tests),
        words("open_short", "Open or short, far end open", CLEAR, "continuity practice", "open_short" in tests),
        length_criterion(basis, length, tests),
        loop_criterion(basis, length, "resistance" in tests, bound),
    ]
    expected = dict(_expected_volts(basis, length))
    for name, label in (("on_hook", "Volts on hook"), ("off_hook", "Volts off hook")):
        row = facts.find(name=name)
        found.append(
            Criterion(
                test="line_volts",
                position=name,
                label=label,
                unit="V",
                low=row.number("low"),
                high=row.number("high"),
                required="line_volts" in tests and name == "on_hook",
                expected=expected.get(name),
                source=row.source,
                confidence=row.confidence,
            )
        )
    found.append(words("polarity", "Polarity, tip and ring", ("correct",), facts.source, "polarity" in tests))
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium="voice",
        system=system_of(length, "voice"),
        room=length.room,
        far_end=far_end,
        cable=length.cable.id,
        scheme=scheme,
        expected_m=length.expected_m,
        expected_loop_ohm=basis.loop_ohm(length),
        life_safety=fire_alarm(length),
        criteria=tuple(found),
    )


def _expected_volts(basis: Basis, length: Length) -> Iterable[tuple[str, float]]:
    """Yield the volts on and off hook that a meter should show, where the line's loop up to the room is typed."""
    drop, own = length.run.drop if length.run else None, basis.loop_ohm(length)
    if drop is None or drop.line_loop_ohm is None or own is None:
        return
    office = {
        "battery_v": voice_fact("on_hook").number("value"),
        "feed_ohm": voice_fact("feed_resistance").number("value"),
        "loop_ohm": drop.line_loop_ohm + own,
    }
    leak, meter = (voice_fact(name).number("value") for name in ("on_hook_resistance_least", "meter_resistance"))
    yield "on_hook", on_hook_v(**office, leak_ohm=leak, meter_ohm=meter)
    yield "off_hook", set_v(**office, set_ohm=voice_fact("set_resistance").number("value"))
