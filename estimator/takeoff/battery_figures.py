"""Figures of batteries: currents, need, size, installed set, charge and volts over the time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from estimator.calc.battery import AMPERE_HOURS, RECHARGE, TOTAL, need_expression
from estimator.reference.lookup import table
from estimator.spec.rules import nac_start
from estimator.takeoff.batteries import INSTALLED, SPARE, VOLTS, Batteries, BatterySheet
from estimator.takeoff.battery_care import acceptance_input, care_families, charge_within, set_input
from estimator.takeoff.battery_factors import exponent_of, rated_hours
from estimator.takeoff.battery_run import METHOD
from estimator.takeoff.columns import column, filled
from estimator.takeoff.worked import MARGIN_ABOVE, Family, Input, Judged
from estimator.units.rounding import over, significant, under

NEED_SOURCE: Final = "NFPA 72 battery calculation; IEEE Std 485 for aging and temperature"


def battery_families(batteries: Batteries) -> Iterable[Family]:
    """Yield currents, need, size, installed set, charge, care and volts of each unit, in the order they build."""
    sheets = batteries.sheets
    sums = "NFPA 72 battery calculation, sum of all loads"
    yield from filled(
        (
            column(("battery", "standby_current", "current of the whole system in standby", "A"), TOTAL, sums, sheets,
                   lambda one: one.standby_a, lambda one: _list(one, alarm=False)),
            column(("battery", "alarm_current", "current of the whole system in alarm", "A"), TOTAL, sums, sheets,
                   lambda one: one.alarm_a, lambda one: _list(one, alarm=True)),
            column(("battery", "standby_ah", "ampere-hours drawn in standby", "Ah"), AMPERE_HOURS, NEED_SOURCE, sheets,
                   lambda one: AMPERE_HOURS(current_a=one.standby_a, time_s=one.standby.time_s),
                   lambda one: _drawn_inputs(one, "standby")),
            column(("battery", "alarm_ah", "ampere-hours drawn in alarm", "Ah"), AMPERE_HOURS, NEED_SOURCE, sheets,
                   lambda one: AMPERE_HOURS(current_a=one.alarm_a, time_s=one.alarm.time_s),
                   lambda one: _drawn_inputs(one, "alarm")),
            column(("battery", "rate", "factor of a fast discharge", ""), None, "Peukert's law, rated-hours form",
                   sheets, _rate, _rate_inputs,
                   method="rated capacity that just lasts, found by halving, over the ampere-hours drawn; "
                   "no credit below the rated current"),
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
            *care_families(sheets),
            column(("battery", "standby_end_volts", "volts of the set when the standby ends, an estimate", "V"), None,
                   "published volts by state of charge; Peukert's law", sheets, standby_end_v, _run_inputs,
                   judge=judged_start, method=METHOD),
            column(("battery", "alarm_end_volts", "volts of the set when the alarm ends, an estimate", "V"), None,
                   "published volts by state of charge; Peukert's law", sheets, alarm_end_v, _run_inputs,
                   method=METHOD),
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
    return {**_steps_inputs(one), **{factor.name: Input(factor.value, "", factor.origin) for factor in one.factors}}


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
    return {
        "capacity_ah": set_input(one),
        "acceptance": acceptance_input(),
        "charger_a": Input(one.unit.charger_a or 0.0, "A", f"control unit, {one.unit.source.at('charger_current')}"),
        "standing_a": Input(0.0, "A", "the stated charging current goes into the battery alone"),
    }


def _drawn_inputs(one: BatterySheet, when: str) -> Mapping[str, Input]:
    amps, period = (one.standby_a, one.standby) if when == "standby" else (one.alarm_a, one.alarm)
    return {
        "current_a": Input(amps, "A", f"battery.{one.id}.{when}_current"),
        "time_s": Input(period.time_s, "s", f"as in battery.{one.id}.need"),
    }


def _rate(one: BatterySheet) -> float | None:
    return next((factor.value for factor in one.factors if factor.name == "rate"), None)


def _rate_inputs(one: BatterySheet) -> Mapping[str, Input]:
    hours = rated_hours()
    return {
        **_steps_inputs(one, f"as in battery.{one.id}.need"),
        "rated_h": Input(hours.number("value"), "h", hours.source),
        "exponent": exponent_of(one.unit.battery),
    }


def _steps_inputs(one: BatterySheet, times: str = "") -> Mapping[str, Input]:
    """Return the currents and times that a battery goes through; ``times`` in short where another figure tells."""
    standby, alarm = f"battery.{one.id}.standby_current", f"battery.{one.id}.alarm_current"
    return {
        "standby_a": Input(one.standby_a, "A", standby),
        "standby_s": Input(one.standby.time_s, "s", times or one.standby.origin),
        "alarm_a": Input(one.alarm_a, "A", alarm),
        "alarm_s": Input(one.alarm.time_s, "s", times or one.alarm.origin),
    }


def standby_end_v(one: BatterySheet) -> float | None:
    """Return a set's volts when the standby ends [V], an estimate; None where it is empty before."""
    return None if one.run is None or one.run.standby_end is None else one.run.standby_end.volts


def alarm_end_v(one: BatterySheet) -> float | None:
    """Return a set's volts when the alarm ends [V], an estimate; None where it is empty before."""
    return None if one.run is None or one.run.alarm_end is None else one.run.alarm_end.volts


def _run_inputs(one: BatterySheet) -> Mapping[str, Input]:
    assert one.run is not None
    return {
        **_steps_inputs(one, f"as in battery.{one.id}.need"),
        "capacity_ah": one.run.capacity,
        "rated_h": one.run.rated,
        "exponent": one.run.exponent,
    }


def judged_start(one: BatterySheet) -> Judged | None:
    """Return the volts at the end of standby against those that the unit's notification circuits start from."""
    volts = standby_end_v(one)
    if volts is None or not one.life_safety:
        return None
    if one.unit.start_v is not None:
        start_v, source = one.unit.start_v, f"control unit, {one.unit.source.at('start_voltage')}"
    else:
        start_v, source = nac_start(one.unit.nominal_v)
    word = "below the start of its circuits" if under(volts, start_v) else "above the start of its circuits"
    return Judged(word, MARGIN_ABOVE(value=volts, limit=start_v), start_v, source)


def judged_installed(one: BatterySheet) -> Judged | None:
    """Return the installed set against the need [Ah], or None where no battery is typed."""
    if one.installed_ah is None:
        return None
    word = "too small" if under(one.installed_ah, one.need_ah) else "carries the need"
    return Judged(word, MARGIN_ABOVE(value=one.installed_ah, limit=one.need_ah), one.need_ah, f"battery.{one.id}.need")


def _judged_recharge(one: BatterySheet) -> Judged | None:
    within = charge_within(one)
    if within is None or one.recharge_s is None:
        return None
    limit, source = within
    return Judged("too slow" if over(one.recharge_s, limit) else "in time", limit - one.recharge_s, limit, source)


def _judged_volts(one: BatterySheet) -> Judged:
    assert one.installed_v is not None
    nominal = one.unit.nominal_v
    same = significant(one.installed_v) == significant(nominal)
    origin = f"control unit, {one.unit.source.at('voltage')}"
    return Judged("fits" if same else "wrong volts", -abs(one.installed_v - nominal), nominal, origin)
