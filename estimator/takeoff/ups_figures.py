"""Figures and warnings of uninterruptible supplies."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.heat import SUPPLY_LOSS
from estimator.calc.ups import APPARENT, BATTERY, DESIGN
from estimator.reference.lookup import table
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.conductors import fact
from estimator.takeoff.ups import CARRIED, SHARE, SHORT, UNKNOWN, WITHIN, UpsSheet, need_inputs
from estimator.takeoff.ups_runtime import ENERGY, PEUKERT, Runtime
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over, under
from estimator.units.table import HOUR_S

SIZING: Final = "sizing guides of supplies"
MINUTE_S: Final = 60.0


def ups_families(sheets: Sequence[UpsSheet]) -> Iterable[Family]:
    """Yield load, rating, battery and runtime of every UPS."""
    yield from filled((*_load_families(sheets), *_battery_families(sheets), *_runtime_families(sheets)))


def _load_families(sheets: Sequence[UpsSheet]) -> Iterable[Family]:
    yield column(("ups", "load", "what the UPS carries today", "W"), CARRIED, "sum of its loads", sheets,
                 lambda one: one.load_w, _carried)  # fmt: skip
    yield column(("ups", "design_load", "what it carries with its growth", "W"), DESIGN, SIZING, sheets,
                 lambda one: one.design_w, lambda one: {"load_w": _load(one), "growth": one.growth},
                 judge=lambda one: Judged(one.word, one.ups.rating_w - one.design_w, one.ups.rating_w,
                                          f"UPS, {one.ups.source.at('rating')}"))  # fmt: skip
    yield column(("ups", "apparent_load", "volt-amperes with its growth", "VA"), APPARENT, "circuit theory", sheets,
                 lambda one: one.design_va,
                 lambda one: {"load_w": _design(one), "power_factor": one.power_factor})  # fmt: skip
    yield column(("ups", "load_share", "today's load over the rating", ""), SHARE, SIZING, sheets,
                 lambda one: one.share, lambda one: {"load_w": _load(one), "rating_w": _rating_w(one)})  # fmt: skip
    yield column(("ups", "loss", "power that the UPS turns into heat", "W"), SUPPLY_LOSS, "conservation of energy",
                 sheets, lambda one: one.loss_w,
                 lambda one: {"load_w": _load(one), "efficiency": one.efficiency})  # fmt: skip


def _rating_w(one: UpsSheet) -> Input:
    return Input(one.ups.rating_w, "W", f"UPS, {one.ups.source.at('rating')}")


def _carried(one: UpsSheet) -> Mapping[str, Input]:
    names = ", ".join(load.name for load in one.carried) or "nothing"
    return {
        "quantity": Input(tuple(float(load.quantity) for load in one.carried), "pieces", f"pieces of {names}"),
        "watts": Input(tuple(load.each_w for load in one.carried), "W", f"watts of {names}"),
    }


def _load(one: UpsSheet) -> Input:
    return Input(one.load_w, "W", f"ups.{one.id}.load")


def _design(one: UpsSheet) -> Input:
    return Input(one.design_w, "W", f"ups.{one.id}.design_load")


def _battery_families(sheets: Sequence[UpsSheet]) -> Iterable[Family]:
    source = "IEEE Std 485 factors; petroleum-company engineering standard, battery sheet"
    yield column(("ups", "battery_need", "ampere-hours at the rate of the runtime asked for", "Ah"), BATTERY, source,
                 sheets, lambda one: one.need_ah, need_inputs)  # fmt: skip


def _runtime_families(sheets: Sequence[UpsSheet]) -> Iterable[Family]:
    """Yield runtimes with the growth, which are judged, and with today's load."""
    end = "how long its battery lasts at the end of its life"
    yield from _by_formula("runtime", f"{end}, with the growth", sheets, lambda one: one.runtime, _judged)
    yield from _by_formula("runtime_today", f"{end}, with today's load", sheets, lambda one: one.today, None)
    yield from _drain_families(sheets)


def _by_formula(
    name: str,
    meaning: str,
    sheets: Sequence[UpsSheet],
    runtime_of: Callable[[UpsSheet], Runtime],
    judge: Callable[[UpsSheet], Judged | None] | None,
) -> Iterable[Family]:
    """Yield a family for each formula by which a runtime was found."""
    for formula in dict.fromkeys(runtime_of(one).formula for one in sheets):
        members = [one for one in sheets if runtime_of(one).formula == formula]
        yield column(("ups", name, meaning, "s"), formula, "the battery's curve, Peukert's law or its energy", members,
                     lambda one: runtime_of(one).time_s, lambda one: runtime_of(one).inputs, judge=judge)  # fmt: skip


def _drain_families(sheets: Sequence[UpsSheet]) -> Iterable[Family]:
    formulas: dict[tuple[Expression | None, str], list[UpsSheet]] = {}
    for one in sheets:
        formulas.setdefault((one.runtime.drain_formula, one.runtime.drain_unit), []).append(one)
    for (formula, unit), members in formulas.items():
        yield column(("ups", "drain", "load to look for on the curve, with growth and age", unit), formula,
                     "IEEE Std 1184; IEEE Std 485 for age", members,
                     lambda one: one.runtime.drain, lambda one: one.runtime.drain_inputs)  # fmt: skip


def _judged(one: UpsSheet) -> Judged | None:
    asked, found = one.ups.runtime_s, one.runtime.time_s
    if asked is None or found is None:
        return None
    return Judged(one.runtime_word, found - asked, asked, f"UPS, {one.ups.source.at('runtime')}")


def ups_alerts(sheets: Sequence[UpsSheet]) -> Iterable[Alert]:
    """Yield what is wrong with a UPS: too small, too short, or not known well enough."""
    for one in sheets:
        yield from _rating(one)
        yield from _untyped(one)
        yield from _runtime(one)
        yield from _exponent(one)


def _rating(one: UpsSheet) -> Iterable[Alert]:
    if one.word == WITHIN:
        return
    ups = one.ups
    tight = ups.rating_va is not None and over(one.design_va, ups.rating_va) and not over(one.design_w, ups.rating_w)
    value, limit, key = f"{one.design_w:.0f} W", f"{ups.rating_w:g} W", "rating"
    if tight:
        value, limit, key = f"{one.design_va:.0f} VA", f"{ups.rating_va:g} VA", "apparent_rating"
    yield Alert(
        ups.source.at(key), one.word, one.id,
        f"UPS {one.id} carries {one.load_w:.0f} W today, and with {one.growth.value:.0%} of growth", value, limit,
        f"its rating; growth: {one.growth.origin}", "take a larger UPS or put a load elsewhere",
    )  # fmt: skip


def _untyped(one: UpsSheet) -> Iterable[Alert]:
    if one.untyped:
        names = ", ".join(one.untyped)
        yield Alert(
            one.ups.source.at(), "load not known", one.id, f"UPS {one.id} carries a switch whose own draw is not typed",
            names, "every load typed", "sum of its loads", "type the `own_load:` of the switch from its data sheet",
        )  # fmt: skip


def _runtime(one: UpsSheet) -> Iterable[Alert]:
    asked, found = one.ups.runtime_s, one.runtime.time_s
    if asked is not None and one.runtime_word == SHORT:
        value = "beyond the heaviest point of its curve" if found is None else f"{found / MINUTE_S:.1f} min"
        yield Alert(
            one.ups.source.at("runtime"), "runtime too short", one.id,
            f"UPS {one.id} does not last as long as asked under {one.design_w:.0f} W", value,
            f"{asked / MINUTE_S:g} min", f"{one.runtime.way}; battery at {one.aging.value:.0%}: {one.aging.origin}",
            "add batteries, take a larger set, or let go of a load",
        )  # fmt: skip
    elif asked is not None and one.runtime_word == UNKNOWN and one.load_w > 0.0:
        value = one.runtime.way if found is None else f"{found / MINUTE_S:.1f} min or more"
        yield Alert(
            one.ups.source.at("runtime"), "runtime not known", one.id, f"nothing tells how long UPS {one.id} lasts",
            value, f"{asked / MINUTE_S:g} min", "IEEE Std 1184",
            "type points of its chart beside that load as `runtime_curve:`, or its `battery:`",
        )  # fmt: skip
    row = fact("energy_formula_least", "ups_facts")
    if one.runtime.way == ENERGY and found is not None and under(found, row.number("value") * HOUR_S):
        yield Alert(
            one.ups.source.at("battery"), "runtime promised too long", one.id,
            f"the runtime of UPS {one.id} is that of its energy alone", f"{found / MINUTE_S:.1f} min",
            f"{row.number('value'):g} h at the least", row.source,
            "type points of its curve as `runtime_curve:`, or `peukert_exponent:` or `battery_kind:`",
        )  # fmt: skip


def _exponent(one: UpsSheet) -> Iterable[Alert]:
    ups = one.ups
    if one.runtime.way != PEUKERT or ups.exponent is None or ups.battery_kind is None:
        return
    row = table("peukert").find(kind=ups.battery_kind)
    low, high = row.number("low"), row.number("high")
    if under(ups.exponent, low) or over(ups.exponent, high):
        yield Alert(
            ups.source.at("peukert_exponent"), "unusual exponent", one.id,
            f"the exponent of UPS {one.id} is not usual for {ups.battery_kind}", f"{ups.exponent:g}",
            f"{low:g} to {high:g}", row.source, "compare with its data sheet",
        )  # fmt: skip
