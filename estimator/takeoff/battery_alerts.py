"""Warnings of batteries: what is too small, too slow, too warm, or held against another time than the code's."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.batteries import Batteries, BatterySheet, implied_row, implied_s
from estimator.takeoff.battery_care import charge_within, charger_too_strong_a
from estimator.takeoff.battery_factors import temperature_range_c
from estimator.takeoff.battery_figures import NEED_SOURCE
from estimator.takeoff.battery_service import battery_rules, replace_by
from estimator.takeoff.conductors import fact
from estimator.takeoff.loads import SPEAKER_KINDS
from estimator.units.quantity import beside
from estimator.units.rounding import over, significant, under
from estimator.units.table import FACTORS, HOUR_S

_SECOND_SUPPLY: Final = "carry part of the load on a second supply or booster with a battery of its own"
_ADVICE: Final = {
    "stock": f"{_SECOND_SUPPLY}, or type larger blocks in `stocked_sizes:`",
    "charger": f"{_SECOND_SUPPLY}, or fit a charger that the unit is listed with",
    "cabinet": f"fit a battery cabinet that the unit is listed with, or {_SECOND_SUPPLY}",
}
"""What to do where no block fits, by the limit that stops it."""


def battery_alerts(batteries: Batteries, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with a battery, its charger or the times it is sized for."""
    for one in batteries.sheets:
        yield from _time_alerts(one, project)
        yield from _factor_alerts(one, project)
        yield from _size_alerts(one)
        yield from _charger_alerts(one)
        yield from _run_alerts(one)
        yield from _installed_alerts(one)
        yield from _due_alerts(one, project)
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
                shown_time(period.time_s), shown_time(implied), row.source,
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
    """Yield what stops every stocked block, and each way out of it."""
    if one.size.size_ah is not None:
        return
    unit, first = one.unit, one.size.first_ah
    keys = {"charger": "charger_limit", "cabinet": "cabinet_limit", "stock": "stocked_sizes"}
    limits = {"charger": unit.charger_max_ah, "cabinet": unit.cabinet_max_ah}
    stopped = [f"{limits[name]:g} Ah of the {name}" for name in one.size.limits if name in limits]
    strings = f"{one.strings} strings of " if one.strings > 1 else ""
    ways = list(dict.fromkeys(_ADVICE[name] for name in one.size.limits))
    if one.other_strings is not None:
        more, block = one.other_strings
        ways.append(f"or type {more} strings of {block:g} Ah in parallel, where the unit is listed for them")
    yield Alert(
        unit.source.at(keys[one.size.limits[0]]), "no battery fits", one.id,
        f"no stocked block fits {one.id}: {' and '.join(one.size.limits)} stop{'' if len(stopped) > 1 else 's'} it",
        f"need {one.need_ah:.2f} Ah" + (f", {strings}block of {first:g} Ah" if first is not None else ""),
        " and ".join(stopped) or "the largest stocked block",
        " and ".join(f"{name} as stated" for name in one.size.limits), "; ".join(ways),
    )  # fmt: skip


def _charger_alerts(one: BatterySheet) -> Iterable[Alert]:
    place, within, most = one.unit.source.at("charger_current"), charge_within(one), charger_too_strong_a(one)
    if within is not None and one.recharge_s is not None and over(one.recharge_s, within[0]):
        yield Alert(
            place, "recharge too slow", one.id, f"the set of {one.id} charges too slowly",
            f"{one.recharge_s / 3600:.1f} h", f"{within[0] / 3600:g} h", within[1], "use a stronger charger",
        )  # fmt: skip
    if most is not None:
        row = fact("first_charge_current_most", "battery_facts")
        yield Alert(
            place, "charger too strong", one.id, f"the charger of {one.id} may harm its set",
            f"{one.unit.charger_a:g} A", f"{most:g} A", f"{row.number('value'):g} of the capacity: {row.source}",
            "check the block's data sheet, or use a larger set",
        )  # fmt: skip


def _run_alerts(one: BatterySheet) -> Iterable[Alert]:
    """Yield what the volts over the time show, where the set is not too small by the rule already."""
    if one.run is None or (one.installed_ah is not None and under(one.installed_ah, one.need_ah)):
        return
    if one.run.empty_s is not None:
        whole_s = one.standby.time_s + one.alarm.time_s
        yield Alert(
            one.unit.source.at("battery"), "runs out in alarm", one.id,
            f"the set of {one.id} is empty before its alarm time ends, by estimate",
            f"{one.run.empty_s / 3600:.2f} h", f"{whole_s / 3600:.2f} h", one.run.source,
            "take the next size, or type the block's `one_hour_capacity:` from its data sheet",
        )  # fmt: skip


def _installed_alerts(one: BatterySheet) -> Iterable[Alert]:
    held, unit = one.unit.battery, one.unit
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
            f"{one.installed_ah:g} Ah", f"{beside(one.need_ah, one.installed_ah, 2)} Ah", NEED_SOURCE,
            "fit the next standard size",
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


def _due_alerts(one: BatterySheet, project: Project) -> Iterable[Alert]:
    """Yield a life-safety battery whose month of replacement lies before the date of the job."""
    held, day = one.unit.battery, project.header.shown_date or project.header.bid_date
    if held is None or day is None or not one.life_safety:
        return
    rules = [rule for rule in battery_rules(project.codes.fire_alarm) if rule.counts_from]
    points = (point for point in project.test_points.values() if point.control_unit == one.id)
    due = replace_by(held.date_code, next((point.installed for point in points if point.installed), ""), tuple(rules))
    if due is not None and due < f"{day:%Y-%m}":
        yield Alert(
            held.source.at("date_code"), "battery past its date", one.id,
            f"the battery of {one.id} was to be replaced before this job", due, f"not before {day:%Y-%m}",
            ", ".join(dict.fromkeys(rule.source for rule in rules)), "fit a new set, and type its month",
        )  # fmt: skip


def shown_time(time_s: float) -> str:
    """Return a time in hours, or in minutes where it is under one."""
    return f"{time_s / HOUR_S:g} h" if time_s >= HOUR_S else f"{time_s / FACTORS['time']['min']:g} min"
