"""Secondary supplies: what each control unit draws, for how long, and the battery that carries it.

A life-safety battery takes the margin of the adopted edition, every other one the house's aging
factor; the two are never multiplied. A temperature counts only where it is typed, and warmth gives
no credit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from estimator.calc.battery import RECHARGE, TOTAL, Size, bank, need_ah, standard_size, temperature_factor
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.feeds import ControlUnit
from estimator.spec.life_safety import LIFE_SAFETY
from estimator.spec.model import Project
from estimator.takeoff.conductors import fact
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.loads import Drawn, Fed, system_loads

INSTALLED: Final = Expression("capacity_ah * strings")
"""Ampere-hours of the installed set [Ah]."""

VOLTS: Final = Expression("block_v * blocks")
"""Volts of the installed set [V]."""

SPARE: Final = Expression("installed_ah / need_ah - 1")
"""What the installed set has over the need, as a share of the need."""

IMPLIED: Final = {
    "fire_alarm": "protected_premises",
    "voice_evacuation": "evacs",
    "household_fire": "household",
    "intrusion": "burglar_best_practice",
    "access": "access_level_IV",
}
"""The row of hours that a kind of system implies; access control takes the longest level."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Period:
    """A time that the battery must carry, typed or implied [s]."""

    time_s: float
    implied: bool
    origin: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Factor:
    """One factor on the ampere-hours, with its origin."""

    name: str
    value: float
    origin: str


@dataclass(frozen=True, kw_only=True, slots=True)
class BatterySheet:
    """The battery of one control unit: loads, times, factors, need, size and what is installed."""

    unit: ControlUnit
    loads: tuple[Drawn, ...]
    standby_a: float
    alarm_a: float
    standby: Period
    alarm: Period
    edition: str
    factors: tuple[Factor, ...]
    need_ah: float
    strings: int
    size: Size
    installed_ah: float | None
    installed_v: float | None
    spare: float | None
    recharge_s: float | None

    @property
    def id(self) -> str:
        """Return the unit's name."""
        return self.unit.id

    @property
    def life_safety(self) -> bool:
        """Return whether the fire-alarm code stands over it."""
        return self.unit.system in LIFE_SAFETY

    @property
    def carried(self) -> tuple[Drawn, ...]:
        """Return the loads that the battery carries: those not switched off on loss of mains."""
        return tuple(load for load in self.loads if not load.shed)

    @property
    def set_ah(self) -> float | None:
        """Return the set that is charged: the installed one, else the one to buy [Ah]."""
        if self.installed_ah is not None:
            return self.installed_ah
        return None if self.size.size_ah is None else self.size.size_ah * self.strings


@dataclass(frozen=True, kw_only=True, slots=True)
class Batteries:
    """The batteries of the job, one sheet a control unit."""

    sheets: tuple[BatterySheet, ...]


def work_out_batteries(project: Project, fed: Fed | None = None) -> Batteries:
    """Return the battery sheet of every control unit."""
    sources = fed or Fed(project)
    return Batteries(sheets=tuple(_sheet(unit, project, sources) for unit in project.control_units.values()))


def _sheet(unit: ControlUnit, project: Project, fed: Fed) -> BatterySheet:
    loads = system_loads(unit, project, fed)
    carried = [load for load in loads if not load.shed]
    quantity = [load.quantity for load in carried]
    standby_a = TOTAL(quantity=quantity, each_a=[load.standby.amps for load in carried])
    alarm_a = TOTAL(quantity=quantity, each_a=[load.alarm.amps for load in carried])
    standby, alarm = periods(unit, project)
    factors = _factors(unit, project)
    need = need_ah(
        standby_a=standby_a,
        standby_s=standby.time_s,
        alarm_a=alarm_a,
        alarm_s=alarm.time_s,
        factors={factor.name: factor.value for factor in factors},
    )
    strings = unit.battery.strings if unit.battery else 1
    size = _size(unit, need, strings)
    installed = _installed(unit)
    return BatterySheet(
        unit=unit,
        loads=loads,
        standby_a=standby_a,
        alarm_a=alarm_a,
        standby=standby,
        alarm=alarm,
        edition=edition_row("battery_margin", project.codes.fire_alarm).text("edition"),
        factors=factors,
        need_ah=need,
        strings=strings,
        size=size,
        installed_ah=installed[0] if installed else None,
        installed_v=installed[1] if installed else None,
        spare=SPARE(installed_ah=installed[0], need_ah=need) if installed and need > 0 else None,
        recharge_s=_recharge(unit, installed[0] if installed else size.size_ah or 0.0),
    )


def periods(unit: ControlUnit, project: Project) -> tuple[Period, Period]:
    """Return the standby and the alarm time of a unit: as typed, else as its system implies."""
    row = implied_row(unit, project)
    standby_s, alarm_s = implied_s(row)
    both = []
    for key, typed, hours in (("standby", unit.standby_s, standby_s), ("alarm", unit.alarm_s, alarm_s)):
        if typed is not None:
            both.append(Period(time_s=typed, implied=False, origin=f"control unit, {unit.source.at(key)}"))
        else:
            words = f"implied by system {unit.system}: {row.source}, {row.text('title')}"
            none = "" if hours else ", which names no such time"
            both.append(Period(time_s=hours, implied=True, origin=f"{words}{none}"))
    return both[0], both[1]


def implied_row(unit: ControlUnit, project: Project) -> Row:
    """Return the row of hours that a unit's system and the adopted edition imply."""
    return edition_row("battery_durations", project.codes.fire_alarm, IMPLIED[unit.system])


def implied_s(row: Row) -> tuple[float, float]:
    """Return standby and alarm time of a row [s]; a time that the row leaves open is zero."""
    return row.number("standby_h") * 3600.0, (row.optional("alarm_min") or 0.0) * 60.0


def edition_row(name: str, adopted: str, system: str | None = None) -> Row:
    """Return a table's row of the adopted edition: the last one up to it, else the first there is."""
    rows = [row for row in table(name) if system is None or row.cells["system"] == system]
    dated = sorted((row for row in rows if row.text("edition").isdigit()), key=lambda row: row.text("edition"))
    year = re.search(r"\d{4}", adopted)
    if not dated or year is None:
        return dated[-1] if dated else rows[0]
    up_to = [row for row in dated if row.text("edition") <= year.group()]
    return up_to[-1] if up_to else dated[0]


def _factors(unit: ControlUnit, project: Project) -> tuple[Factor, ...]:
    if unit.system in LIFE_SAFETY:
        row = edition_row("battery_margin", project.codes.fire_alarm)
        factors = [Factor(name="margin", value=row.number("factor"), origin=f"edition's margin: {row.source}")]
    else:
        origin = rule_origin(project, "battery_ageing")
        factors = [Factor(name="aging", value=project.rules.battery_ageing, origin=origin)]
    if unit.temperature_c is not None:
        value, origin = _temperature(unit.temperature_c)
        place = unit.source.at("temperature")
        factors.append(Factor(name="temperature", value=value, origin=f"{unit.temperature_c:g} C, {place}: {origin}"))
    return tuple(factors)


def temperature_range_c() -> tuple[float, float]:
    """Return the temperatures that the table of factors spans [°C]."""
    listed = [row.number("temperature_c") for row in table("battery_temperature")]
    return min(listed), max(listed)


def _temperature(temperature_c: float) -> tuple[float, str]:
    """Return the factor of a temperature, at least one, held at the ends of the table."""
    rows = table("battery_temperature")
    low, high = temperature_range_c()
    points = [(row.number("temperature_c"), row.number("factor")) for row in rows]
    held = min(max(temperature_c, low), high)
    factor = temperature_factor(points=points, temperature_c=held)
    return max(1.0, factor), f"{rows.source}, between rows, no credit for warmth"


def _size(unit: ControlUnit, need: float, strings: int) -> Size:
    sizes = unit.stocked_ah or tuple(row.number("size_ah") for row in table("battery_sizes"))
    limits = {}
    if unit.charger_max_ah is not None:
        limits["charger_max_ah"] = unit.charger_max_ah
    if unit.cabinet_max_ah is not None:
        # The cabinet's limit is that of one block, the formula compares the whole set.
        limits["cabinet_max_ah"] = unit.cabinet_max_ah * strings
    return standard_size(need_ah=need, sizes_ah=sizes, parallel=strings, **limits)


def _installed(unit: ControlUnit) -> tuple[float, float] | None:
    if unit.battery is None:
        return None
    held = unit.battery
    made = bank(block_v=held.block_v, block_ah=held.capacity_ah, series=held.blocks, parallel=held.strings)
    return made.capacity_ah, made.volts


def _recharge(unit: ControlUnit, set_ah: float) -> float | None:
    """Return the time to charge the whole set [s]; the stated charging current goes into it alone."""
    if not unit.charger_a or not set_ah:
        return None
    acceptance = fact("charge_acceptance", "battery_facts").number("value")
    return RECHARGE(capacity_ah=set_ah, acceptance=acceptance, charger_a=unit.charger_a, standing_a=0.0)
