"""Criteria of speakers and speaker lines, of batteries, and of bonding points."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.acceptance.basis import Basis, fire_alarm, length_criterion, words
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.acceptance.lines import CLEAR, loop_criterion, system_of
from estimator.calc.speaker_line import tap_ohm
from estimator.calc.speaker_network import least_modulus_ohm
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit, ControlUnit, TestPoint
from estimator.spec.life_safety import circuit_is_life_safety, point_is_life_safety
from estimator.takeoff.footage import Length
from estimator.takeoff.speaker_circuits import line_volts, network_ohm, number, tap_on

_TWELVE_V: Final = 12.0


def speaker_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what a speaker, or a line of several, must show."""
    circuit = length.circuit
    tests = basis.tests_of(length, "speaker")
    found = [
        words("open_short", "Open or short", CLEAR, "a DC meter proves open and short only", "open_short" in tests),
        length_criterion(basis, length, tests),
        loop_criterion(basis, length, "resistance" in tests),
        *(_line_impedance(basis, circuit, tests) if circuit else _one_speaker(length, tests)),
        words("polarity", "Polarity of each speaker", ("correct",), "sound-system practice", "polarity" in tests),
    ]
    safety = circuit_is_life_safety(circuit, basis.project) if circuit else fire_alarm(length)
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium="speaker",
        link=circuit.kind if circuit else "",
        room=length.room,
        system="audio" if circuit else system_of(length, "audio"),
        far_end=far_end,
        cable=length.cable.id,
        expected_m=length.expected_m,
        expected_loop_ohm=basis.loop_ohm(length),
        life_safety=safety,
        criteria=tuple(found),
    )


def _one_speaker(length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    device = length.run.device if length.run else None
    if device is not None and device.impedance_ohm is not None:
        yield _least_modulus(device.impedance_ohm, "impedance" in tests)


def _least_modulus(rated_ohm: float, required: bool) -> Criterion:
    row = table("speaker_facts").find(name="least_modulus")
    return Criterion(
        test="impedance",
        label="Impedance",
        unit="ohm",
        low=least_modulus_ohm(rated_ohm=rated_ohm, percent=row.number("value")),
        expected=rated_ohm,
        required=required,
        source=row.source,
        confidence=row.confidence,
    )


def _line_impedance(basis: Basis, circuit: Circuit, tests: frozenset[str]) -> Iterable[Criterion]:
    required = "impedance" in tests
    devices = [(basis.project.devices[stop.device], stop.count) for stop in circuit.stops]
    if circuit.kind == "low_impedance_speaker":
        each = [device.impedance_ohm for device, count in devices for _ in range(count)]
        known = [ohm for ohm in each if ohm is not None]
        if known and len(known) == len(each):
            yield _least_modulus(network_ohm(known, circuit), required)
        return
    line_v = line_volts(circuit, basis.project)
    if line_v is None:
        return
    volts = number(line_v)
    watts = sum(tap_on(device, volts) * count for device, count in devices)
    if watts <= 0:
        return
    row = table("speaker_facts").find(name="line_impedance_tolerance")
    ohm, share = tap_ohm(line_v=volts, tap_w=watts), row.number("value") / 100
    yield Criterion(
        test="impedance",
        label="Impedance of the whole line",
        unit="ohm",
        low=ohm * (1 - share),
        high=ohm * (1 + share),
        expected=ohm,
        required=required,
        source=f"sum of the taps; {row.source}",
        confidence=row.confidence,
    )


def battery_criteria(basis: Basis, point: TestPoint, unit: ControlUnit | None) -> Criteria:
    """Return what each block of a battery set must show, at rest and under the stated load.

    Without a control unit the point is one block of unknown volts: only typed limits judge it.
    """
    battery = unit.battery if unit else None
    count = battery.blocks * battery.strings if battery else 1
    block_v = battery.block_v if battery else (unit.nominal_v if unit else None)
    rows = tuple(str(number) for number in range(1, count + 1))
    tests = frozenset(("open_circuit_volts", "load_volts"))
    found = tuple(c for row in rows for c in _block(basis, point, block_v, row, tests))
    return Criteria(
        id=point.id,
        circuit=point.id,
        rows=rows,
        medium="battery",
        system=unit.system if unit else "power",
        room=unit.room if unit else "",
        far_end=(unit.name or unit.id) if unit else point.note,
        life_safety=point_is_life_safety(point, basis.project),
        expected_volts=block_v,
        criteria=found,
    )


def _block(
    basis: Basis, point: TestPoint, block_v: float | None, row: str, tests: frozenset[str]
) -> Iterable[Criterion]:
    acceptance = basis.project.acceptance
    typed = acceptance.battery_open_v
    charts = table("battery_open_circuit")
    yield Criterion(
        test="open_circuit_volts",
        position=row,
        label=f"Open-circuit volts, block {row}",
        unit="V",
        decimals=2,
        low=typed,
        required="open_circuit_volts" in tests,
        source=f"acceptance, {acceptance.source.at('battery_open_volts')}" if typed else f"recorded; {charts.source}",
    )
    yield Criterion(
        test="float_volts",
        position=row,
        label=f"Float volts, block {row}",
        unit="V",
        decimals=2,
        required="float_volts" in tests,
        source=f"recorded; {table('battery_voltages').find(state='float').source}",
    )
    ended = table("battery_voltages").find(state="end_of_discharge")
    load, tabled = acceptance.battery_end_v, None
    if block_v is not None:
        cells = table("battery_facts").find(name="cells_in_12_v").number("value") * block_v / _TWELVE_V
        tabled = ended.number("low_v") * cells
    under = f" under {point.load_a:g} A" if point.load_a is not None else " under load"
    yield Criterion(
        test="load_volts",
        position=row,
        label=f"Volts{under}, block {row}",
        unit="V",
        decimals=2,
        low=tabled if load is None else load,
        required="load_volts" in tests and point.load_a is not None,
        confidence=ended.confidence if load is None else "",
        source=ended.source if load is None else f"acceptance, {acceptance.source.at('battery_load_volts')}",
    )


def bonding_criteria(basis: Basis, point: TestPoint) -> Criteria:
    """Return what a bonding or grounding point must show."""
    return Criteria(
        id=point.id,
        circuit=point.id,
        medium="bonding",
        system="grounding",
        room="",
        far_end=point.note,
        criteria=(
            Criterion(
                test="bonding",
                label="Bonding resistance",
                unit="ohm",
                decimals=3,
                high=point.limit_ohm,
                required=True,
                source=f"test point, {point.source.at('limit')}" if point.limit_ohm is not None else "no limit typed",
            ),
        ),
    )
