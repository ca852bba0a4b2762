"""Secondary supplies: what each control unit draws, for how long, and the battery that carries it.

The hours are typed, or implied by the kind of system and the adopted edition; the factors stand in
``battery_factors``, the volts over the time in ``battery_run``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.battery import RECHARGE, TOTAL, Size, bank, need_ah, standard_size
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.feeds import ControlUnit
from estimator.spec.life_safety import LIFE_SAFETY
from estimator.spec.model import Project
from estimator.spec.rules import edition_row
from estimator.takeoff.battery_factors import Factor, factors_of, reserve_of
from estimator.takeoff.battery_run import Discharge, work_out_run
from estimator.takeoff.conductors import fact
from estimator.takeoff.loads import Drawn, Fed, system_loads

INSTALLED: Final = Expression("capacity_ah * strings")
"""Ampere-hours of the installed set [Ah]."""

LEAST_BLOCK: Final = Expression("round(need_ah / strings, 9)")
"""The smallest block that carries the need, each of so many strings its part [Ah]."""

BLOCK: Final = Expression("where(min(blocks) > most, 0, min(blocks))")
"""The smallest stocked block that carries the need, zero where charger or cabinet take none so large [Ah]."""

NONE_FITS: Final = Expression("size_ah < 0.001")
"""Whether no stocked block is large enough and taken by charger and cabinet."""

CHOSEN_SET: Final = Expression("size_ah * strings")
"""Ampere-hours of the set to buy [Ah]."""

VOLTS: Final = Expression("block_v * blocks")
"""Volts of the installed set [V]."""

SPARE: Final = Expression("installed_ah / need_ah - 1")
"""What the installed set has over the need, as a share of the need."""

MOST_STRINGS: Final = 4
"""Strings in parallel up to which another way is looked for where no block fits."""

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
class BatterySheet:
    """The battery of one control unit: loads, times, factors, need, size and what is installed."""

    unit: ControlUnit
    loads: tuple[Drawn, ...]
    standby_a: float
    alarm_a: float
    standby: Period
    alarm: Period
    hours: Row
    edition: str
    factors: tuple[Factor, ...]
    need_ah: float
    strings: int
    size: Size
    other_strings: tuple[int, float] | None  # more strings in parallel, and their block, where none fits as typed
    installed_ah: float | None
    installed_v: float | None
    spare: float | None
    recharge_s: float | None
    run: Discharge | None

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
        return _chosen(self.size, self.strings)

    @property
    def most_block_ah(self) -> float | None:
        """Return the largest block that charger and cabinet take [Ah], or None where neither is limited."""
        charger, cabinet = self.unit.charger_max_ah, self.unit.cabinet_max_ah
        limits = [
            *([charger / self.strings] if charger is not None else []),
            *([cabinet] if cabinet is not None else []),
        ]
        return min(limits, default=None)

    @property
    def reserve(self) -> float:
        """Return what the need holds for aging: margin and aging factor, multiplied [unitless]."""
        return reserve_of(self.factors)


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
    standby_a, alarm_a = _sums([load for load in loads if not load.shed])
    hours = implied_row(unit, project)
    standby, alarm = periods(unit, hours)
    steps = ((standby_a, standby.time_s), (alarm_a, alarm.time_s))
    factors = factors_of(unit, project, hours, steps)
    need = need_ah(
        standby_a=standby_a,
        standby_s=standby.time_s,
        alarm_a=alarm_a,
        alarm_s=alarm.time_s,
        factors={factor.name: factor.value for factor in factors},
    )
    strings = unit.battery.strings if unit.battery else 1
    size = _size(unit, need, strings)
    installed_ah, installed_v = _installed(unit)
    set_ah = installed_ah if installed_ah is not None else _chosen(size, strings)
    return BatterySheet(
        unit=unit,
        loads=loads,
        standby_a=standby_a,
        alarm_a=alarm_a,
        standby=standby,
        alarm=alarm,
        hours=hours,
        edition=edition_row("battery_margin", project.codes.fire_alarm).text("edition"),
        factors=factors,
        need_ah=need,
        strings=strings,
        size=size,
        other_strings=_other_strings(unit, need, strings) if size.size_ah is None else None,
        installed_ah=installed_ah,
        installed_v=installed_v,
        spare=SPARE(installed_ah=installed_ah, need_ah=need) if installed_ah is not None and need > 0 else None,
        recharge_s=_recharge(unit, set_ah),
        run=None if set_ah is None else work_out_run(unit, set_ah, steps),
    )


def _sums(carried: list[Drawn]) -> tuple[float, float]:
    """Return the currents of all loads in standby and in alarm [A]."""
    quantity = [load.quantity for load in carried]
    standby_a = TOTAL(quantity=quantity, each_a=[load.standby.amps for load in carried])
    return standby_a, TOTAL(quantity=quantity, each_a=[load.alarm.amps for load in carried])


def periods(unit: ControlUnit, row: Row) -> tuple[Period, Period]:
    """Return the standby and the alarm time of a unit: as typed, else those of its row of hours."""
    standby_s, alarm_s = implied_s(row)
    both = []
    for key, typed, hours in (("standby", unit.standby_s, standby_s), ("alarm", unit.alarm_s, alarm_s)):
        if typed is not None:
            both.append(Period(time_s=typed, implied=False, origin=f"control unit, {unit.source.at(key)}"))
        else:
            why = f"hours_as {unit.hours_as}" if unit.hours_as else f"system {unit.system}"
            words = f"implied by {why}: {row.source}, {row.text('title')}"
            none = "" if hours else ", which names no such time"
            both.append(Period(time_s=hours, implied=True, origin=f"{words}{none}"))
    return both[0], both[1]


def implied_row(unit: ControlUnit, project: Project) -> Row:
    """Return the row of hours that a unit names, else the one that its system implies, of the adopted edition."""
    return edition_row("battery_durations", project.codes.fire_alarm, unit.hours_as or IMPLIED[unit.system])


def implied_s(row: Row) -> tuple[float, float]:
    """Return standby and alarm time of a row [s]; a time that the row leaves open is zero."""
    return row.number("standby_h") * 3600.0, (row.optional("alarm_min") or 0.0) * 60.0


def _chosen(size: Size, strings: int) -> float | None:
    return None if size.size_ah is None else size.size_ah * strings


def stocked_ah(unit: ControlUnit) -> tuple[float, ...]:
    """Return the blocks that a unit's battery may be made of [Ah]: as typed, else the usual ones."""
    return unit.stocked_ah or tuple(row.number("size_ah") for row in table("battery_sizes"))


def _size(unit: ControlUnit, need: float, strings: int) -> Size:
    sizes = stocked_ah(unit)
    limits = {}
    if unit.charger_max_ah is not None:
        limits["charger_max_ah"] = unit.charger_max_ah
    if unit.cabinet_max_ah is not None:
        # The cabinet's limit is that of one block, the formula compares the whole set.
        limits["cabinet_max_ah"] = unit.cabinet_max_ah * strings
    return standard_size(need_ah=need, sizes_ah=sizes, parallel=strings, **limits)


def _other_strings(unit: ControlUnit, need: float, strings: int) -> tuple[int, float] | None:
    """Return the fewest strings beyond the typed ones with which a stocked block fits, and the block [Ah]."""
    for more in range(strings + 1, MOST_STRINGS + 1):
        block = _size(unit, need, more).size_ah
        if block is not None:
            return more, block
    return None


def _installed(unit: ControlUnit) -> tuple[float, float] | tuple[None, None]:
    if unit.battery is None:
        return None, None
    held = unit.battery
    made = bank(block_v=held.block_v, block_ah=held.capacity_ah, series=held.blocks, parallel=held.strings)
    return made.capacity_ah, made.volts


def _recharge(unit: ControlUnit, set_ah: float | None) -> float | None:
    """Return the time to charge the whole set [s]; the stated charging current goes into it alone."""
    if not unit.charger_a or set_ah is None:
        return None
    acceptance = fact("charge_acceptance", "battery_facts").number("value")
    return RECHARGE(capacity_ah=set_ah, acceptance=acceptance, charger_a=unit.charger_a, standing_a=0.0)
