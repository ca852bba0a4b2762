"""Figures and warnings of batteries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from estimator.calc.battery import RECHARGE, TOTAL, need_expression
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.batteries import (
    INSTALLED,
    SPARE,
    VOLTS,
    Batteries,
    BatterySheet,
    implied_row,
    implied_s,
    temperature_range_c,
)
from estimator.takeoff.columns import column, filled
from estimator.takeoff.conductors import fact
from estimator.takeoff.loads import SPEAKER_KINDS
from estimator.takeoff.worked import MARGIN_ABOVE, Family, Input, Judged
from estimator.units.rounding import over, significant, under

NEED_SOURCE: Final = "NFPA 72 battery calculation; IEEE Std 485 for aging and temperature"


def battery_families(batteries: Batteries) -> Iterable[Family]:
    """Yield currents, need, size, installed set, spare share, recharge time and volts of each unit."""
    sheets = batteries.sheets
    sums = "NFPA 72 battery calculation, sum of all loads"
    yield from filled(
        (
            column(("battery", "standby_current", "current of the whole system in standby", "A"), TOTAL, sums, sheets,
                   lambda one: one.standby_a, lambda one: _list(one, alarm=False)),
            column(("battery", "alarm_current", "current of the whole system in alarm", "A"), TOTAL, sums, sheets,
                   lambda one: one.alarm_a, lambda one: _list(one, alarm=True)),
            *_needs(sheets),
            column(("battery", "size", "block to buy", "Ah"), None, "NFPA 72 practice; charger and cabinet as stated",
                   sheets, lambda one: one.size.size_ah, _size_inputs,
                   method="smallest stocked block at or above the need that charger and cabinet take"),
            column(("battery", "installed", "installed set", "Ah"), INSTALLED,
                   "series adds volts, parallel ampere-hours", sheets, lambda one: one.installed_ah,
                   _installed_inputs, judge=judged_installed),
            column(("battery", "spare", "installed over the need, share of the need", ""), SPARE, "house figure",
                   sheets, lambda one: one.spare, _spare_inputs),
            column(("battery", "recharge_time", "time to charge the whole set", "s"), RECHARGE,
                   "UL 864; NFPA 72 10.6.10", sheets, lambda one: one.recharge_s, _recharge_inputs,
                   judge=_judged_recharge),
            column(("battery", "volts", "nominal volts of the installed set", "V"), VOLTS,
                   "series adds volts, parallel ampere-hours", sheets, lambda one: one.installed_v, _volts_inputs,
                   judge=_judged_volts),
        )
    )  # fmt: skip


def _needs(sheets: tuple[BatterySheet, ...]) -> Iterable[Family]:
    """Yield one family for each list of factors, because each has a formula of its own."""
    lists = dict.fromkeys(tuple(factor.name for factor in one.factors) for one in sheets)
    for names in lists:
        members = [one for one in sheets if tuple(factor.name for factor in one.factors) == names]
        yield column(("battery", "need", "ampere-hours needed", "Ah"), need_expression(names), NEED_SOURCE, members,
                     lambda one: one.need_ah, _need_inputs)  # fmt: skip


def _list(one: BatterySheet, *, alarm: bool) -> Mapping[str, Input]:
    loads = one.carried
    each = tuple((load.alarm if alarm else load.standby).amps for load in loads)
    names = "; ".join(f"{load.name} ({load.where})" for load in loads)
    shed = [load.name for load in one.loads if load.shed]
    tail = f"; shed: {', '.join(shed)}" if shed else ""
    return {
        "quantity": Input(tuple(load.quantity for load in loads), "pieces", f"{names}{tail}"),
        "each_a": Input(each, "A", "; ".join((load.alarm if alarm else load.standby).origin for load in loads)),
    }


def _need_inputs(one: BatterySheet) -> Mapping[str, Input]:
    return {
        "standby_a": Input(one.standby_a, "A", f"battery.{one.id}.standby_current"),
        "standby_s": Input(one.standby.time_s, "s", one.standby.origin),
        "alarm_a": Input(one.alarm_a, "A", f"battery.{one.id}.alarm_current"),
        "alarm_s": Input(one.alarm.time_s, "s", one.alarm.origin),
        **{factor.name: Input(factor.value, "", factor.origin) for factor in one.factors},
    }


def _need(one: BatterySheet) -> Input:
    return Input(one.need_ah, "Ah", f"battery.{one.id}.need")


def _size_inputs(one: BatterySheet) -> Mapping[str, Input]:
    stated = one.unit.stocked_ah
    sizes = stated or tuple(row.number("size_ah") for row in table("battery_sizes"))
    origin = f"control unit, {one.unit.source.at('stocked_sizes')}" if stated else table("battery_sizes").source
    inputs = {"need_ah": _need(one), "sizes_ah": Input(sizes, "Ah", origin)}
    inputs["strings"] = Input(float(one.strings), "", "strings in parallel")
    limits = (("charger_max_ah", "charger_limit"), ("cabinet_max_ah", "cabinet_limit"))
    for name, key in limits:
        limit = getattr(one.unit, name)
        if limit is not None:
            inputs[name] = Input(limit, "Ah", f"control unit, {one.unit.source.at(key)}")
    return inputs


def _installed_inputs(one: BatterySheet) -> Mapping[str, Input]:
    assert one.unit.battery is not None
    held = one.unit.battery
    return {
        "capacity_ah": Input(held.capacity_ah, "Ah", f"battery, {held.source.at('capacity')}"),
        "strings": Input(float(held.strings), "", f"battery, {held.source.at('strings')}"),
    }


def _volts_inputs(one: BatterySheet) -> Mapping[str, Input]:
    assert one.unit.battery is not None
    held = one.unit.battery
    return {
        "block_v": Input(held.block_v, "V", f"battery, {held.source.at('block_voltage')}"),
        "blocks": Input(float(held.blocks), "", f"battery, {held.source.at('blocks')}"),
    }


def _spare_inputs(one: BatterySheet) -> Mapping[str, Input]:
    installed = Input(one.installed_ah or 0.0, "Ah", f"battery.{one.id}.installed")
    return {"installed_ah": installed, "need_ah": _need(one)}


def _recharge_inputs(one: BatterySheet) -> Mapping[str, Input]:
    row = fact("charge_acceptance", "battery_facts")
    which = "installed" if one.installed_ah is not None else "size"
    charger = Input(one.unit.charger_a or 0.0, "A", f"control unit, {one.unit.source.at('charger_current')}")
    return {
        "capacity_ah": Input(one.set_ah or 0.0, "Ah", f"whole set, battery.{one.id}.{which}"),
        "acceptance": Input(row.number("value"), "", row.source),
        "charger_a": charger,
        "standing_a": Input(0.0, "A", "the stated charging current goes into the battery alone"),
    }


def judged_installed(one: BatterySheet) -> Judged | None:
    """Return the installed set against the need [Ah], or None where no battery is typed."""
    if one.installed_ah is None:
        return None
    word = "too small" if under(one.installed_ah, one.need_ah) else "carries the need"
    return Judged(word, MARGIN_ABOVE(value=one.installed_ah, limit=one.need_ah), one.need_ah, f"battery.{one.id}.need")


def recharge_limit() -> tuple[float, str]:
    """Return the longest time to charge a fire-alarm battery [s] and its source."""
    row = fact("recharge_most", "battery_facts")
    return row.number("value") * 3600.0, row.source


def _judged_recharge(one: BatterySheet) -> Judged | None:
    if not one.life_safety or one.recharge_s is None:
        return None
    limit, source = recharge_limit()
    return Judged("too slow" if over(one.recharge_s, limit) else "in time", limit - one.recharge_s, limit, source)


def _judged_volts(one: BatterySheet) -> Judged:
    assert one.installed_v is not None
    nominal = one.unit.nominal_v
    same = significant(one.installed_v) == significant(nominal)
    origin = f"control unit, {one.unit.source.at('voltage')}"
    return Judged("fits" if same else "wrong volts", -abs(one.installed_v - nominal), nominal, origin)


def battery_alerts(batteries: Batteries, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with a battery, its charger or the times it is sized for."""
    for one in batteries.sheets:
        yield from _time_alerts(one, project)
        yield from _factor_alerts(one, project)
        yield from _size_alerts(one)
        yield from _installed_alerts(one)
        for circuit in project.circuits.values():
            if circuit.feed == one.id and circuit.kind in SPEAKER_KINDS:
                yield Alert(
                    circuit.source.at("source"), "speakers not in the battery", circuit.id,
                    f"circuit {circuit.id} draws its audio from {one.id}", "current not known", "a typed load",
                    NEED_SOURCE, f"type its amplifier's currents under `loads:` of {one.id}",
                )  # fmt: skip


def _time_alerts(one: BatterySheet, project: Project) -> Iterable[Alert]:
    if not one.life_safety:
        return
    row = implied_row(one.unit, project)
    for period, implied, key in zip((one.standby, one.alarm), implied_s(row), ("standby", "alarm"), strict=True):
        if under(period.time_s, implied):
            yield Alert(
                one.unit.source.at(key), "time below the code", one.id, f"{key} time of {one.id} is short",
                f"{period.time_s / 3600:g} h", f"{implied / 3600:g} h", row.source,
                "type the code's time, or name what allows less in `codes.amendments`",
            )  # fmt: skip


def _factor_alerts(one: BatterySheet, project: Project) -> Iterable[Alert]:
    margin = next((factor for factor in one.factors if factor.name == "margin"), None)
    if margin is not None and margin.value == 1.0:
        yield Alert(
            project.codes.source.at("fire_alarm"), "no margin", one.id,
            f"edition {one.edition} names no battery margin for {one.id}", "factor 1", "a margin",
            margin.origin, "ask the authority; later editions ask for 20 to 25 %",
        )  # fmt: skip
    temperature_c = one.unit.temperature_c
    low, high = temperature_range_c()
    if temperature_c is not None and (under(temperature_c, low) or over(temperature_c, high)):
        yield Alert(
            one.unit.source.at("temperature"), "temperature outside the table", one.id,
            f"no factor is listed for the battery of {one.id}", f"{temperature_c:g} C", f"{low:g} to {high:g} C",
            table("battery_temperature").source, "move the battery to a tempered room",
        )  # fmt: skip


def _size_alerts(one: BatterySheet) -> Iterable[Alert]:
    if one.size.size_ah is not None:
        return
    first = one.size.first_ah
    keys = {"charger": "charger_limit", "cabinet": "cabinet_limit", "stock": "id"}
    limits = {"charger": one.unit.charger_max_ah, "cabinet": one.unit.cabinet_max_ah}
    limit = limits.get(one.size.limit)
    yield Alert(
        one.unit.source.at(keys[one.size.limit]), "no battery fits", one.id,
        f"no stocked block fits the {one.size.limit} of {one.id}",
        f"need {one.need_ah:.2f} Ah" + (f", block of {first:g} Ah" if first is not None else ""),
        f"{limit:g} Ah" if limit is not None else "the stocked sizes", f"{one.size.limit} as stated",
        "use a larger cabinet or charger, more strings, or split the system",
    )  # fmt: skip


def _installed_alerts(one: BatterySheet) -> Iterable[Alert]:
    held, unit = one.unit.battery, one.unit
    limit_s, source = recharge_limit()
    if one.life_safety and one.recharge_s is not None and over(one.recharge_s, limit_s):
        yield Alert(
            unit.source.at("charger_current"), "recharge too slow", one.id, f"the set of {one.id} charges too slowly",
            f"{one.recharge_s / 3600:.1f} h", f"{limit_s / 3600:g} h", source, "use a stronger charger",
        )  # fmt: skip
    if held is None and one.life_safety:
        yield Alert(
            unit.source.at("id"), "no battery", one.id, f"no battery is typed for {one.id}", "none",
            f"{one.need_ah:.2f} Ah", NEED_SOURCE, "type `battery:` as it will be installed",
        )  # fmt: skip
    if held is None or one.installed_ah is None or one.installed_v is None:
        return
    if under(one.installed_ah, one.need_ah):
        yield Alert(
            held.source.at("capacity"), "battery too small", one.id, f"the battery of {one.id} is too small",
            f"{one.installed_ah:g} Ah", f"{one.need_ah:.2f} Ah", NEED_SOURCE, "fit the next standard size",
        )  # fmt: skip
    if significant(one.installed_v) != significant(unit.nominal_v):
        yield Alert(
            held.source.at("blocks"), "wrong battery volts", one.id, f"the battery of {one.id} has other volts",
            f"{one.installed_v:g} V", f"{unit.nominal_v:g} V", "nominal voltage of the unit", "mend `blocks:`",
        )  # fmt: skip
    limits = ((unit.charger_max_ah, one.installed_ah, "charger"), (unit.cabinet_max_ah, held.capacity_ah, "cabinet"))
    for limit, there, what in limits:
        if limit is not None and over(there, limit):
            yield Alert(
                unit.source.at(f"{what}_limit"), f"battery over the {what}", one.id,
                f"the battery of {one.id} is larger than its {what} takes", f"{there:g} Ah", f"{limit:g} Ah",
                f"{what} as stated", f"use a smaller set or another {what}",
            )  # fmt: skip
