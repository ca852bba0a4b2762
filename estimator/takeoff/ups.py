"""Uninterruptible supplies: what each carries and how long its battery lasts.

A switch counts with its mains power: its own consumption and what its ports really give. A rating
and a runtime are judged with the growth of the load.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.heat import SUPPLY_LOSS
from estimator.calc.ups import APPARENT, BATTERY, DESIGN, WATTS
from estimator.spec.backup import Ups
from estimator.spec.model import Project
from estimator.takeoff.conductors import fact
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.poe import PoE
from estimator.takeoff.ups_runtime import Runtime, runtime_of, string_inputs
from estimator.takeoff.worked import Input
from estimator.units.rounding import over, under

CARRIED: Final = Expression("sumproduct(quantity, watts)")
"""What a UPS carries today [W]."""

SHARE: Final = Expression("load_w / rating_w")
"""Today's load over the rating."""

OLD: Final = Expression("1 / aging_factor")
"""Share of its capacity that a battery has when it is replaced."""

STATED: Final = Expression("watts")
"""Watts as a load's label states them [W]."""


def _beyond(load: str) -> tuple[Expression, Expression]:
    """Return the conditions on watts and on volt-amperes; where those aren't stated, they judge nothing."""
    apparent = f"where(rating_va > 0, {load} / power_factor, 0) > rating_va"
    return Expression(f"{load} > rating_w"), Expression(apparent)


BEYOND_RATING: Final = _beyond("load_w")
GROWN_BEYOND_RATING: Final = _beyond("design_w")
"""Whether a load is over the rating in watts or in volt-amperes, today and with its growth."""

WITHIN, RESERVE, OVER = "within rating", "uses the reserve", "over rating"
LASTS_LONG, SHORT, UNKNOWN = "lasts", "too short", "not judged"


@dataclass(frozen=True, kw_only=True, slots=True)
class Carried:
    """One load of a UPS: a switch of the job, or something that its block names."""

    name: str
    quantity: int
    each_w: float
    formula: Expression
    inputs: Mapping[str, Input]
    switch: str | None = None
    elsewhere: bool = False

    @property
    def total_w(self) -> float:
        """Return what all of them take [W]."""
        return self.quantity * self.each_w


@dataclass(frozen=True, kw_only=True, slots=True)
class UpsSheet:
    """One UPS: its load, its rating and its runtime."""

    ups: Ups
    carried: tuple[Carried, ...]
    untyped: tuple[str, ...]  # switches without an own consumption
    load_w: float
    growth: Input
    design_w: float
    power_factor: Input
    design_va: float
    share: float
    word: str
    efficiency: Input
    aging_factor: Input  # what a new battery has over its need
    aging: Input  # share of its capacity at its end
    loss_w: float
    today: Runtime
    runtime: Runtime
    runtime_word: str

    @property
    def id(self) -> str:
        """Return the name of the UPS."""
        return self.ups.id

    @property
    def need_ah(self) -> float | None:
        """Return the ampere-hours, at that rate, that the runtime asked for needs [Ah]; None without one or a set."""
        inputs = need_inputs(self)
        return BATTERY(**{name: one.value for name, one in inputs.items()}) if inputs and self.load_w > 0.0 else None


def work_out_ups(project: Project, poe: PoE) -> tuple[UpsSheet, ...]:
    """Return load, rating and runtime of every UPS."""
    return tuple(_sheet(ups, project, poe) for ups in project.ups.values())


def _sheet(ups: Ups, project: Project, poe: PoE) -> UpsSheet:
    switches = [one for one in poe.switches if one.switch.ups == ups.id]
    carried = (
        *(
            Carried(
                name=f"switch {one.id}", quantity=1, each_w=one.mains_w, switch=one.id, formula=STATED,
                inputs={"watts": Input(one.mains_w, "W", f"switch.{one.id}.mains")},
            )
            for one in switches
        ),
        *_named(ups),
    )  # fmt: skip
    load_w = CARRIED(quantity=[float(one.quantity) for one in carried], watts=[one.each_w for one in carried])
    growth, efficiency = _share_of(ups, "growth"), _share_of(ups, "efficiency")
    aged = Input(project.rules.battery_ageing, "", rule_origin(project, "battery_ageing"))
    aging = Input(OLD(aging_factor=project.rules.battery_ageing), "", f"1 / {aged.value:g}: {aged.origin}")
    power_factor = _factor(ups)
    design_w = DESIGN(load_w=load_w, growth=growth.value)
    known = {"efficiency": efficiency, "aging": aging}
    runtime = runtime_of(ups, {"load_w": Input(design_w, "W", f"ups.{ups.id}.design_load"), **known})
    return UpsSheet(
        ups=ups,
        carried=carried,
        untyped=tuple(one.id for one in switches if one.switch.load_w is None),
        load_w=load_w,
        growth=growth,
        design_w=design_w,
        power_factor=power_factor,
        design_va=APPARENT(load_w=design_w, power_factor=power_factor.value),
        share=SHARE(load_w=load_w, rating_w=ups.rating_w),
        word=_rating_word(ups, load_w, design_w, power_factor),
        efficiency=efficiency,
        aging_factor=aged,
        aging=aging,
        loss_w=SUPPLY_LOSS(load_w=load_w, efficiency=efficiency.value),
        today=runtime_of(ups, {"load_w": Input(load_w, "W", f"ups.{ups.id}.load"), **known}),
        runtime=runtime,
        runtime_word=_runtime_word(ups, runtime),
    )


def _named(ups: Ups) -> tuple[Carried, ...]:
    found = []
    for load in ups.loads:
        if load.power_w is not None:
            formula, inputs = STATED, {"watts": Input(load.power_w, "W", str(load.source.at("power")))}
        else:
            factor = Input(load.power_factor or 0.0, "", str(load.source.at("power_factor")))
            volt_amperes = Input(load.apparent_va or 0.0, "VA", str(load.source.at("apparent_power")))
            formula = WATTS
            inputs = {"apparent_va": volt_amperes, "power_factor": factor if load.power_factor else _factor(ups)}
        found.append(
            Carried(
                name=load.name,
                quantity=load.count,
                each_w=formula(**{name: one.value for name, one in inputs.items()}),
                formula=formula,
                inputs=inputs,
                elsewhere=load.elsewhere,
            )
        )
    return tuple(found)


def _factor(ups: Ups) -> Input:
    if ups.power_factor is not None:
        return Input(ups.power_factor, "", f"UPS, {ups.source.at('power_factor')}")
    row = fact("power_factor_unknown_load", "ups_facts")
    return Input(row.number("value"), "", f"load of unknown factor: {row.source}")


def _share_of(ups: Ups, name: str) -> Input:
    typed = ups.growth if name == "growth" else ups.efficiency
    if typed is not None:
        return Input(typed, "", f"UPS, {ups.source.at(f'{name}_percent')}")
    row = fact(name, "ups_facts")
    value = row.number("value") / 100 if row.text("unit") == "%" else row.number("value")
    return Input(value, "", f"none is typed: {row.source}")


def _rating_word(ups: Ups, load_w: float, design_w: float, power_factor: Input) -> str:
    def fits(watts: float) -> bool:
        apparent = APPARENT(load_w=watts, power_factor=power_factor.value)
        return not over(watts, ups.rating_w) and not (ups.rating_va is not None and over(apparent, ups.rating_va))

    return OVER if not fits(load_w) else WITHIN if fits(design_w) else RESERVE


def _runtime_word(ups: Ups, runtime: Runtime) -> str:
    if ups.runtime_s is None:
        return ""
    if runtime.time_s is None:
        return SHORT if runtime.drain is not None else UNKNOWN
    if under(runtime.time_s, ups.runtime_s):
        return UNKNOWN if runtime.at_least else SHORT
    return LASTS_LONG


def need_inputs(one: UpsSheet) -> dict[str, Input]:
    """Return what the ampere-hours for a runtime come from; nothing without a runtime asked for, or a battery."""
    ups = one.ups
    if ups.runtime_s is None or ups.battery is None:
        return {}
    string = string_inputs(ups, ups.battery)
    return {
        "load_w": Input(one.design_w, "W", f"ups.{one.id}.design_load"),
        "runtime_s": Input(ups.runtime_s, "s", f"UPS, {ups.source.at('runtime')}"),
        "efficiency": one.efficiency,
        "cell_end_v": string["cell_end_v"],
        "cells": string["cells"],
        "temperature": Input(1.0, "", "a room at the temperature of the rating"),
        "aging": one.aging_factor,
        "design": Input(1.0, "", "growth stands in the load"),
    }
