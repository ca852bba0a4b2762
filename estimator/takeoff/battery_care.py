"""What keeps a battery good: the charger it needs, how far it may age, its life where it is warm, its float volts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Final

from estimator.calc.battery import CHARGER, COVERED, FLOAT, LIFE, aging_factor
from estimator.reference.lookup import table
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.battery_run import cells_of
from estimator.takeoff.columns import column
from estimator.takeoff.conductors import fact
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over, under

FACTS: Final = "battery_facts"

Inputs = Mapping[str, Input]


def care_families(sheets: tuple[BatterySheet, ...]) -> Iterable[Family]:
    """Yield the charger needed, the share to which a set may age, its life where warm and its float volts."""
    float_source = "sealed-cell maker's instructions; battery textbook"
    yield column(("battery", "charger_needed", "charging current that fills the set in the longest time", "A"),
                 CHARGER, "UL 864; NFPA 72 10.6.10; sealed-cell maker's instructions", sheets,
                 charger_needed_a, _charger_inputs, judge=_judged_charger)  # fmt: skip
    yield column(("battery", "carried_share", "share of its rating to which the set may age", ""), COVERED,
                 "IEEE Std 485, replacement at a share of the rating", sheets, carried_share, _covered_inputs,
                 judge=_judged_share)  # fmt: skip
    yield column(("battery", "life_share", "share of its life that a warm battery keeps", ""), LIFE,
                 "stationary-battery service note, by yearly mean temperature", sheets, life_share,
                 _life_inputs)  # fmt: skip
    for name, words, edge in (("float_low", "least", "low_v"), ("float_high", "most", "high_v")):
        yield column(("battery", name, f"{words} float volts of the set", "V"), FLOAT, float_source, sheets,
                     partial(_float_v, edge), partial(_float_inputs, edge))  # fmt: skip


def charge_within(one: BatterySheet) -> tuple[float, str] | None:
    """Return the longest time to charge a set [s] and its source, or None where nobody names one."""
    own = one.hours.optional("recharge_h")
    if own is not None:
        return own * 3600.0, one.hours.source
    if not one.life_safety:
        return None
    row = fact("recharge_most", FACTS)
    return row.number("value") * 3600.0, row.source


def charger_needed_a(one: BatterySheet) -> float | None:
    """Return the charging current that fills the whole set in the longest time allowed [A]."""
    return None if charge_within(one) is None or not one.set_ah else CHARGER(**_values(_charger_inputs(one)))


def carried_share(one: BatterySheet) -> float | None:
    """Return the share of its rating to which the installed set may age and still carry the load."""
    return None if one.spare is None else COVERED(**_values(_covered_inputs(one)))


def life_share(one: BatterySheet) -> float | None:
    """Return the share of its life that a battery keeps where it is warm, or None where it isn't."""
    reference_c = fact("reference_temperature", FACTS).number("value")
    warm = one.unit.temperature_c is not None and over(one.unit.temperature_c, reference_c)
    return LIFE(**_values(_life_inputs(one))) if warm else None


def _values(inputs: Inputs) -> Mapping[str, float]:
    return {name: one.value for name, one in inputs.items() if not isinstance(one.value, tuple)}


def set_input(one: BatterySheet) -> Input:
    """Return the set that is charged as an input: the installed one, else the one to buy."""
    which = "installed" if one.installed_ah is not None else "size"
    return Input(one.set_ah or 0.0, "Ah", f"whole set, battery.{one.id}.{which}")


def acceptance_input() -> Input:
    """Return what must go back into a battery for each ampere-hour taken out, as an input."""
    row = fact("charge_acceptance", FACTS)
    return Input(row.number("value"), "", row.source)


def _charger_inputs(one: BatterySheet) -> Inputs:
    within = charge_within(one)
    assert within is not None
    return {
        "capacity_ah": set_input(one),
        "acceptance": acceptance_input(),
        "recharge_s": Input(within[0], "s", within[1]),
        "standing_a": Input(0.0, "A", "the charging current goes into the battery alone"),
    }


def _judged_charger(one: BatterySheet) -> Judged | None:
    needed = charger_needed_a(one)
    if needed is None or one.unit.charger_a is None:
        return None
    stated = one.unit.charger_a
    word = "more than the charger gives" if over(needed, stated) else "within the charger"
    return Judged(word, stated - needed, stated, f"control unit, {one.unit.source.at('charger_current')}")


def _covered_inputs(one: BatterySheet) -> Inputs:
    names = " and ".join(factor.name for factor in one.factors if factor.name in ("margin", "aging"))
    return {
        "need_ah": Input(one.need_ah, "Ah", f"battery.{one.id}.need"),
        "reserve": Input(one.reserve, "", f"factors for age in it: {names}"),
        "installed_ah": Input(one.installed_ah or 0.0, "Ah", f"battery.{one.id}.installed"),
    }


def _judged_share(one: BatterySheet) -> Judged:
    """Judge against the share at which a battery is replaced: what it still carries then is enough, or not."""
    share, row = carried_share(one) or 0.0, fact("end_of_life", FACTS)
    limit = row.number("value") / 100
    if not over(share, limit):
        return Judged("still carries the load when due for replacement", limit - share, limit, row.source)
    factor = aging_factor(end_of_life_share=limit)
    word = f"no longer carries the load when due for replacement; {factor:g} times the load would"
    return Judged(word, limit - share, limit, row.source)


def _life_inputs(one: BatterySheet) -> Inputs:
    reference, halving = fact("reference_temperature", FACTS), fact("life_halving", FACTS)
    place = f"control unit, {one.unit.source.at('temperature')}"
    return {
        "reference_life_s": Input(1.0, "", "one whole life at the reference temperature"),
        "temperature_c": Input(one.unit.temperature_c or 0.0, "C", place),
        "reference_c": Input(reference.number("value"), "C", reference.source),
        "halving_k": Input(halving.number("value"), "K", halving.source),
    }


def _float_v(edge: str, one: BatterySheet) -> float | None:
    return None if one.unit.battery is None else FLOAT(**_values(_float_inputs(edge, one)))


def _float_inputs(edge: str, one: BatterySheet) -> Inputs:
    held, cell = one.unit.battery, table("battery_voltages").find(state="float")
    assert held is not None
    per_k, reference = fact("float_compensation", FACTS), fact("reference_temperature", FACTS)
    place = f"control unit, {one.unit.source.at('temperature')}"
    typed_c = one.unit.temperature_c
    warm = Input(typed_c, "C", place) if typed_c is not None else Input(reference.number("value"), "C", "none typed")
    return {
        "cells": Input(cells_of(held.block_v, held.blocks), "", f"battery, {held.source.at('blocks')}"),
        "reference_v": Input(cell.number(edge), "V", cell.source),
        "per_k_v": Input(per_k.number("value"), "V/K", per_k.source),
        "temperature_c": warm,
        "reference_c": Input(reference.number("value"), "C", reference.source),
    }


def charger_too_strong_a(one: BatterySheet) -> float | None:
    """Return the strongest charging current that the set takes [A] where the stated one is above it."""
    stated = one.unit.charger_a
    if stated is None or one.set_ah is None:
        return None
    most = fact("first_charge_current_most", FACTS).number("value") * one.set_ah
    return most if under(most, stated) else None
