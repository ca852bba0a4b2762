"""Criteria of coax, of alarm and DC circuits, and of voice lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from estimator.acceptance.basis import Basis, fire_alarm, length_criterion, limit_row, loop_bound, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.calc.coax import fitted_loss_db, line_loss_db, video_level_vpp
from estimator.calc.formula import Expression
from estimator.calc.loop_circuit import expected_at_unit
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit, ControlUnit
from estimator.spec.life_safety import circuit_is_life_safety
from estimator.spec.model import Cable, Run
from estimator.takeoff.dc_lines import number
from estimator.takeoff.footage import Length
from estimator.takeoff.wire_loops import tolerance_of

VIDEO_LEAST: Final = Expression("low_vpp * sent_vpp / nominal_vpp * 10 ** (-loss_db / 20)")
"""Least video level at the far end: the band's low end for the level sent, less the line's loss."""

FITTED: Final[Mapping[str, str]] = {"rg59": "rg59_solid", "rg6": "series_6_solid_copper", "rg11": "rg11_foam"}
"""Row of the loss table for a coax family, as baseband video asks for it: solid copper centers."""

VIDEO_STATES: Final = ("terminated", "bridging")
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
        expected=None if length.cable.medium == "coax" else basis.loop_ohm(length),
    )


def _closed() -> Bound:
    row = limit_row("closed_loop")
    return Bound(name="closed loop", value=row.number("high"), source=row.source)


def coax_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what a coaxial circuit must show."""
    cable, tests = length.cable, basis.required(length.cable, "coax")
    found = [
        words("open_short", "Center to shield, far end open", CLEAR, "continuity practice", "open_short" in tests),
        length_criterion(basis, length, tests),
        loop_criterion(basis, length, "resistance" in tests),
        *_video(basis, length, tests),
    ]
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium="coax",
        system=system_of(length, "coax"),
        room=length.room,
        far_end=far_end,
        cable=cable.id,
        expected_m=length.expected_m,
        settings=Settings(nvp=cable.nvp, nvp_typed="nvp" not in cable.typical),
        criteria=tuple(found),
        expected_volts=next((c.expected for c in found if c.test == "video_level" and c.required), None),
    )


def video_loss_db(cable: Cable, length_m: float) -> tuple[float, str]:
    """Return the loss of a video line at the color subcarrier [dB] and its source."""
    fit = table("coax_fit").find(cable=FITTED[cable.coax_type or "rg59"])
    mhz = table("video_facts").find(name="subcarrier_ntsc").number("value")
    per_100ft = fitted_loss_db(k1=fit.number("k1"), k2=fit.number("k2"), frequency_mhz=mhz)
    return line_loss_db(db_per_100ft=per_100ft, length_m=length_m), fit.source


def _video(basis: Basis, length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    device = length.run.device if length.run else None
    if "video_level" not in tests and (device is None or device.system != "video"):
        return
    levels, facts = table("video_levels"), table("video_facts")
    nominal = levels.find(state="terminated").number("level_vpp")
    sent = device.video_level_v if device and device.video_level_v is not None else nominal
    loss, source = video_loss_db(length.cable, length.expected_m)
    asked = basis.asked(length.cable)
    planned = (asked.video_state if asked else None) or "terminated"
    ohm = facts.find(name="impedance").number("value")
    for state in VIDEO_STATES:
        row = levels.find(state=state)
        low = VIDEO_LEAST(low_vpp=row.number("low_vpp"), sent_vpp=sent, nominal_vpp=nominal, loss_db=loss)
        expected = video_level_vpp(
            emf_vpp=2 * sent, source_ohm=ohm, loads=int(row.number("loads")), load_ohm=ohm, loss_db=loss
        )
        yield Criterion(
            test="video_level",
            position=state,
            label=f"Video level, {state}",
            unit="V",
            decimals=2,
            state=state,
            low=low,
            high=row.number("high_vpp") * sent / nominal,
            expected=expected,
            confidence=row.confidence,
            required="video_level" in tests and state == planned,
            source=f"{row.source}; line loss: {source}",
        )


def conductor_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what an alarm or DC circuit, or a run of two or more conductors, must show."""
    circuit = length.circuit
    safety = circuit_is_life_safety(circuit, basis.project) if circuit else fire_alarm(length)
    tests = basis.required(length.cable, "conductors", safety)
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
    yield length_criterion(basis, length, tests)
    designed = tuple(basis.loops.bounds(length))
    yield loop_criterion(basis, length, "resistance" in tests, *designed, *((_closed(),) if designed else ()))
    yield from _end_of_line(basis, length, "end_of_line" in tests)
    yield words("polarity", "Polarity at each device", ("correct",), practice, "polarity" in tests)
    if length.circuit is not None and length.circuit.kind in ("notification", "dc"):
        yield from _last_volts(basis, length.circuit, "line_volts" in tests)
    if length.run is not None:
        yield from _device_volts(length.run, "line_volts" in tests)


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
    tests = basis.required(length.cable, "voice")
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
