"""How long the battery of a UPS lasts under a load, by the best that is typed of it.

Points of a printed curve come first, then Peukert's law where an exponent is known, then the energy
alone, which promises too much. The battery is an old one: its capacity is what is left at its end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from estimator.calc.battery import bank
from estimator.calc.discharge import peukert_exponent
from estimator.calc.formula import Expression
from estimator.calc.ups import BLOCK_WATTS, CURVE_TIME, LASTS, RUNTIME, STRING_AMPERES, on_curve
from estimator.reference.lookup import table
from estimator.spec.backup import Ups
from estimator.spec.checks_backup import curve_load
from estimator.spec.feeds import BatterySet
from estimator.takeoff.conductors import fact
from estimator.takeoff.worked import Input

OUTPUT: Final = Expression("load_w / aging")
"""Load to look for on the chart of a UPS: an old battery under it lasts as long as a new one under more [W]."""

CHART, BLOCKS, STRINGS = "chart of the UPS", "table of block power", "table of string current"
PEUKERT, ENERGY = "Peukert's law", "energy, which promises too much"
NONE, IDLE = "no battery and no chart is typed", "nothing is carried"


@dataclass(frozen=True, kw_only=True, slots=True)
class Runtime:
    """How long a battery lasts under one load, and the way in which that was found."""

    way: str
    time_s: float | None  # None beyond the curve, or without a battery
    formula: Expression | None = None
    inputs: Mapping[str, Input] = field(default_factory=dict)
    drain: float | None = None  # what is looked for on a curve or put into Peukert's law
    drain_unit: str = ""
    drain_formula: Expression | None = None
    drain_inputs: Mapping[str, Input] = field(default_factory=dict)
    at_least: bool = False  # the load is lighter than the curve's lightest point


def runtime_of(ups: Ups, known: Mapping[str, Input]) -> Runtime:
    """Return how long a battery lasts by the best that is typed of it.

    ``known`` are ``load_w`` [W], ``efficiency`` and ``aging``, the share of its capacity that is left.
    """
    if known["load_w"].value == 0.0:
        return Runtime(way=IDLE, time_s=None)
    if ups.curve:
        return _on_curve(ups, known)
    if ups.battery is None:
        return Runtime(way=NONE, time_s=None)
    exponent = exponent_of(ups, ups.battery)
    return _by_energy(ups, ups.battery, known) if exponent is None else _by_law(ups, ups.battery, exponent, known)


def _by_energy(ups: Ups, battery: BatterySet, known: Mapping[str, Input]) -> Runtime:
    place = f"UPS, {ups.source.at('battery')}"
    made = bank(block_v=battery.block_v, block_ah=battery.capacity_ah, series=battery.blocks, parallel=battery.strings)
    inputs = {
        "battery_v": Input(made.volts, "V", place),
        "capacity_ah": Input(made.capacity_ah, "Ah", place),
        **known,
    }
    return Runtime(way=ENERGY, time_s=_value(RUNTIME, inputs), formula=RUNTIME, inputs=inputs)


def _on_curve(ups: Ups, known: Mapping[str, Input]) -> Runtime:
    points = sorted((curve_load(point), point.time_s) for point in ups.curve)
    bare = _drain(ups, known)
    assert bare.drain is not None
    reach = on_curve(points=points, load=bare.drain)
    if reach is None:
        return bare
    place, unit = str(ups.source.at("runtime_curve")), bare.drain_unit
    looked = reach.lower if reach.at_least else min(bare.drain, reach.higher)
    origin = f"{known['load_w'].origin}, as the curve counts it"
    inputs = {
        "lower_s": Input(reach.lower_s, "s", place),
        "higher_s": Input(reach.higher_s, "s", place),
        "load": Input(looked, unit, f"the curve's lightest point, {place}" if reach.at_least else origin),
        "lower": Input(reach.lower, unit, place),
        "higher": Input(reach.higher, unit, place),
    }
    return replace(bare, time_s=reach.time_s, formula=CURVE_TIME, inputs=inputs, at_least=reach.at_least)


def _drain(ups: Ups, known: Mapping[str, Input]) -> Runtime:
    """Return what is looked for on a curve, without a time yet."""
    first, battery = ups.curve[0], ups.battery
    if first.load_w is not None:
        return _drained(CHART, "W", OUTPUT, {name: known[name] for name in ("load_w", "aging")})
    assert battery is not None
    if first.block_w is not None:
        place = f"blocks and strings of its battery, {ups.source.at('battery')}"
        blocks = Input(float(battery.blocks * battery.strings), "blocks", place)
        return _drained(BLOCKS, "W", BLOCK_WATTS, {**known, "blocks": blocks})
    return _drained(STRINGS, "A", STRING_AMPERES, {**known, **string_inputs(ups, battery)})


def _drained(way: str, unit: str, formula: Expression, inputs: Mapping[str, Input]) -> Runtime:
    drain = _value(formula, inputs)
    return Runtime(way=way, time_s=None, drain=drain, drain_unit=unit, drain_formula=formula, drain_inputs=inputs)


def string_inputs(ups: Ups, battery: BatterySet) -> dict[str, Input]:
    """Return the cells and strings of a battery, and the volts of a cell at the end of its discharge."""
    end = table("battery_voltages").find(state="end_of_discharge")
    per_12_v = fact("cells_in_12_v", "battery_facts")
    place = f"its battery, {ups.source.at('battery')}"
    cells = battery.blocks * battery.block_v * per_12_v.number("value") / 12.0
    return {
        "cell_end_v": Input(end.number("low_v"), "V", f"end of discharge: {end.source}"),
        "cells": Input(cells, "cells", f"{per_12_v.source}; {place}"),
        "strings": Input(float(battery.strings), "strings", place),
    }


def exponent_of(ups: Ups, battery: BatterySet) -> Input | None:
    """Return the Peukert exponent of a battery: typed, from its sheet, the worse end of its kind's, or None."""
    if ups.exponent is not None:
        return Input(ups.exponent, "", f"UPS, {ups.source.at('peukert_exponent')}")
    hours = fact("rated_hours", "battery_facts")
    if battery.one_hour_ah is not None:
        value = peukert_exponent(
            rated_h=hours.number("value"), rated_ah=battery.capacity_ah, short_h=1.0, short_ah=battery.one_hour_ah
        )
        return Input(value, "", f"its battery, {battery.source.at('one_hour_capacity')}")
    if ups.battery_kind is not None:
        row = table("peukert").find(kind=ups.battery_kind)
        return Input(row.number("high"), "", f"worse end of {ups.battery_kind}: {row.source}")
    return None


def _by_law(ups: Ups, battery: BatterySet, exponent: Input, known: Mapping[str, Input]) -> Runtime:
    bare = _drained(PEUKERT, "A", STRING_AMPERES, {**known, **string_inputs(ups, battery)})
    assert bare.drain is not None
    hours = fact("rated_hours", "battery_facts")
    inputs = {
        "rated_h": Input(hours.number("value"), "h", hours.source),
        "capacity_ah": Input(battery.capacity_ah, "Ah", f"one string of its battery, {ups.source.at('battery')}"),
        "current_a": Input(bare.drain, "A", f"{known['load_w'].origin}, as a current of each string"),
        "exponent": exponent,
    }
    return replace(bare, time_s=_value(LASTS, inputs), formula=LASTS, inputs=inputs)


def _value(formula: Expression, inputs: Mapping[str, Input]) -> float:
    return formula(**{name: one.value for name, one in inputs.items()})
