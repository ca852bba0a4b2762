"""Factors on a battery's ampere-hours: margin, aging, temperature and rate, each with its origin.

A life-safety battery takes the margin of the adopted edition, every other one the house's aging
factor; the two are multiplied only where the house rule says so. A temperature counts only where it
is typed, and warmth gives no credit; the rate counts where a battery types its one-hour capacity.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import prod

from estimator.calc.battery import temperature_factor
from estimator.calc.discharge import peukert_exponent, rate_factor
from estimator.reference.lookup import Row, table
from estimator.spec.feeds import BatterySet, ControlUnit
from estimator.spec.life_safety import LIFE_SAFETY
from estimator.spec.model import Project
from estimator.spec.rules import edition_row
from estimator.takeoff.conductors import fact
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.worked import Input
from estimator.units.rounding import over

Steps = Sequence[tuple[float, float]]
"""Currents [A] with their times [s]: standby, then alarm."""

FOR_AGE = ("margin", "aging")
"""Factors that a new battery holds in reserve for the day it is old."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Factor:
    """One factor on the ampere-hours, with its origin."""

    name: str
    value: float
    origin: str


def factors_of(unit: ControlUnit, project: Project, hours: Row, steps: Steps) -> tuple[Factor, ...]:
    """Return every factor on a unit's ampere-hours; ``hours`` is the row that its times come from."""
    return (*_for_age(unit, project, hours), *_temperature_typed(unit), *_rate(unit, project, steps))


def reserve_of(factors: Sequence[Factor]) -> float:
    """Return what of the factors is held for aging, all of it multiplied [unitless]."""
    return prod(factor.value for factor in factors if factor.name in FOR_AGE)


def _for_age(unit: ControlUnit, project: Project, hours: Row) -> tuple[Factor, ...]:
    aging = Factor(
        name="aging", value=project.rules.battery_ageing, origin=rule_origin(project, "battery_ageing")
    )  # fmt: skip
    if unit.system not in LIFE_SAFETY:
        return (aging,)
    margin = _margin(project, hours)
    which = project.rules.battery_factors
    if which == "both":
        why = rule_origin(project, "battery_factors")
        return (margin, Factor(name="aging", value=aging.value, origin=f"{aging.origin}, on top of the margin: {why}"))
    if which == "larger" and over(aging.value, margin.value):
        least = f"larger than the margin of {margin.value:g} ({margin.origin})"
        return (Factor(name="aging", value=aging.value, origin=f"{aging.origin}, {least}"),)
    return (margin,)


def _margin(project: Project, hours: Row) -> Factor:
    """Return the edition's margin, or the larger one of the house or of the practice that the hours follow."""
    row = edition_row("battery_margin", project.codes.fire_alarm)
    chosen = Factor(name="margin", value=row.number("factor"), origin=f"edition's margin: {row.source}")
    practice = hours.optional("margin")
    if practice is not None and over(practice, chosen.value):
        chosen = Factor(name="margin", value=practice, origin=f"margin of {hours.text('title')}: {hours.source}")
    if over(project.rules.battery_margin, chosen.value):
        origin = f"{rule_origin(project, 'battery_margin')}, over {chosen.value:g} ({chosen.origin})"
        chosen = Factor(name="margin", value=project.rules.battery_margin, origin=origin)
    return chosen


def _temperature_typed(unit: ControlUnit) -> Iterator[Factor]:
    if unit.temperature_c is not None:
        value, origin = temperature_of(unit.temperature_c)
        place = unit.source.at("temperature")
        yield Factor(name="temperature", value=value, origin=f"{unit.temperature_c:g} C, {place}: {origin}")


def temperature_range_c() -> tuple[float, float]:
    """Return the temperatures that the table of factors spans [°C]."""
    listed = [row.number("temperature_c") for row in table("battery_temperature")]
    return min(listed), max(listed)


def temperature_of(temperature_c: float) -> tuple[float, str]:
    """Return the factor of a temperature, at least one, held at the ends of the table, and its source."""
    rows = table("battery_temperature")
    low, high = temperature_range_c()
    points = [(row.number("temperature_c"), row.number("factor")) for row in rows]
    held = min(max(temperature_c, low), high)
    factor = temperature_factor(points=points, temperature_c=held)
    return max(1.0, factor), f"{rows.source}, between rows, no credit for warmth"


def exponent_of(held: BatterySet | None) -> Input:
    """Return a battery's Peukert exponent: from its data sheet, else the largest of its kind's published ones."""
    if held is not None and held.one_hour_ah is not None:
        rated_h = rated_hours().number("value")
        value = peukert_exponent(rated_h=rated_h, rated_ah=held.capacity_ah, short_h=1.0, short_ah=held.one_hour_ah)
        place = held.source.at("one_hour_capacity")
        words = f"{held.capacity_ah:g} Ah over {rated_h:g} h and {held.one_hour_ah:g} Ah over one"
        return Input(value, "", f"battery, {place}: {words}")
    row = table("peukert").find(kind="agm")
    return Input(row.number("high"), "", f"largest published one of absorbed-glass-mat batteries: {row.source}")


def rated_hours() -> Row:
    """Return the hours that a block's capacity is rated over, with their source."""
    return fact("rated_hours", "battery_facts")


def _rate(unit: ControlUnit, project: Project, steps: Steps) -> Iterator[Factor]:
    held = unit.battery
    typed = held is not None and held.one_hour_ah is not None
    if typed or project.rules.battery_rate == "always":
        exponent = exponent_of(held)
        assert not isinstance(exponent.value, tuple)
        value = rate_factor(steps=steps, rated_h=rated_hours().number("value"), exponent=exponent.value)
        origin = f"Peukert's law, exponent {exponent.value:.3f}: {exponent.origin}"
        yield Factor(name="rate", value=value, origin=origin)
