"""Batteries of secondary supplies: ampere-hours needed, the size to buy, recharge, aging and care.

How a battery's volts fall over its time stands in ``discharge``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.checked import each, finite, not_negative, positive
from estimator.calc.formula import Expression
from estimator.calc.interpolation import between
from estimator.units.rounding import over, under

TOTAL: Final = Expression("sumproduct(quantity, each_a)")
AMPERE_HOURS: Final = Expression("current_a * time_s / 3600")
AGEING: Final = Expression("1 / end_of_life_share")
RECHARGE: Final = Expression("3600 * capacity_ah * acceptance / (charger_a - standing_a)")
CHARGER: Final = Expression("3600 * capacity_ah * acceptance / recharge_s + standing_a")
COVERED: Final = Expression("need_ah / (reserve * installed_ah)")
LIFE: Final = Expression("reference_life_s * 0.5 ** ((temperature_c - reference_c) / halving_k)")
FLOAT: Final = Expression("cells * (reference_v + per_k_v * (temperature_c - reference_c))")

_NEED: Final = "(standby_a * standby_s + alarm_a * alarm_s) / 3600"


@dataclass(frozen=True, kw_only=True, slots=True)
class Size:
    """The block to buy for a need, or why there is none."""

    need_ah: float
    size_ah: float | None  # one block; None where nothing fits
    first_ah: float | None  # the smallest that carries the need, whatever the limits
    limits: tuple[str, ...]  # what stops it: "stock", or "charger" and "cabinet"; empty where a block fits


@dataclass(frozen=True, kw_only=True, slots=True)
class Bank:
    """A set of equal blocks: strings in series add volts, strings in parallel add ampere-hours."""

    volts: float
    capacity_ah: float
    blocks: int


def total_a(*, quantity: Sequence[float], each_a: Sequence[float]) -> float:
    """Return the current of a list of devices [A].

    ``quantity`` [pieces] and ``each_a`` [A] go together, one of each a kind of load.
    Source: NFPA 72 battery calculation, sum of all loads.
    Raises: ValueError if the lists differ in length, or hold a number below zero.

    >>> round(total_a(quantity=[1, 4], each_a=[0.06, 0.0068]), 4)
    0.0872
    """
    each(not_negative, quantity=quantity, each_a=each_a)
    return TOTAL(quantity=quantity, each_a=each_a)


def ampere_hours(*, current_a: float, time_s: float) -> float:
    """Return what a current takes out of a battery over a time [Ah].

    Source: definition of the ampere-hour.
    Raises: ValueError if current or time is below zero.

    >>> ampere_hours(current_a=0.25, time_s=24 * 3600)
    6.0
    """
    not_negative(current_a=current_a, time_s=time_s)
    return AMPERE_HOURS(current_a=current_a, time_s=time_s)


@cache
def need_expression(factors: tuple[str, ...]) -> Expression:
    """Return the formula of the ampere-hours needed, with each factor under its own name.

    Source: NFPA 72 battery calculation; IEEE Std 485 for aging and temperature.

    >>> need_expression(("margin",)).text
    '(standby_a * standby_s + alarm_a * alarm_s) / 3600 * margin'
    """
    return Expression(" * ".join((_NEED, *factors)))


def need_ah(
    *, standby_a: float, standby_s: float, alarm_a: float, alarm_s: float, factors: Mapping[str, float]
) -> float:
    """Return the ampere-hours that a battery must be rated for [Ah].

    ``factors`` [unitless] by name, such as the edition's margin, aging or temperature.
    Source: NFPA 72 battery calculation; IEEE Std 485 for aging and temperature.
    Raises: ValueError if a current or time is below zero, or a factor is not above zero.

    >>> need_ah(standby_a=0.25, standby_s=86400, alarm_a=1.5, alarm_s=300, factors={"margin": 1.2})
    7.35
    """
    not_negative(standby_a=standby_a, standby_s=standby_s, alarm_a=alarm_a, alarm_s=alarm_s)
    if not all(math.isfinite(factor) and factor > 0.0 for factor in factors.values()):
        raise ValueError(f"factors must each be above zero, not {dict(factors)!r}")
    return need_expression(tuple(factors))(
        standby_a=standby_a, standby_s=standby_s, alarm_a=alarm_a, alarm_s=alarm_s, **factors
    )


def aging_factor(*, end_of_life_share: float) -> float:
    """Return what a new battery needs over its load, to carry it at its end of life [unitless].

    Source: IEEE Std 485, replacement at a share of rated capacity.
    Raises: ValueError if the share is not above zero, or above one.

    >>> aging_factor(end_of_life_share=0.8)
    1.25
    """
    positive(end_of_life_share=end_of_life_share)
    if over(end_of_life_share, 1.0):
        raise ValueError(f"end_of_life_share must be at most 1, not {end_of_life_share!r}")
    return AGEING(end_of_life_share=end_of_life_share)


def temperature_factor(*, points: Sequence[tuple[float, float]], temperature_c: float) -> float:
    """Return what a cold battery needs over its load [unitless], between the rows of a table.

    ``points`` are (temperature [°C], factor).
    Source: IEEE Std 485, Table 1, interpolated.
    Raises: ValueError if the temperature lies outside the table, or a factor is not above zero.

    >>> round(temperature_factor(points=[(21.1, 1.04), (25.0, 1.0)], temperature_c=23.05), 2)
    1.02
    """
    finite(temperature_c=temperature_c)
    for point in points:
        if not all(math.isfinite(value) for value in point) or point[1] <= 0.0:
            raise ValueError(f"points must be temperatures and factors above zero, not {point!r}")
    return between(points=points, at=temperature_c)


def standard_size(
    *,
    need_ah: float,
    sizes_ah: Sequence[float],
    charger_max_ah: float = math.inf,
    cabinet_max_ah: float = math.inf,
    parallel: int = 1,
) -> Size:
    """Return the smallest stocked block [Ah] that carries the need within charger and cabinet.

    With strings in ``parallel`` the ampere-hours of the whole set are compared. Every limit that
    stops the block is named.
    Source: NFPA 72 practice; UL 864 for the charger's stated maximum.
    Raises: ValueError if the need is below zero, a size or limit is not above zero, or there is no string.

    >>> standard_size(need_ah=7.35, sizes_ah=[7, 8, 12]).size_ah
    8
    """
    not_negative(need_ah=need_ah)
    each(positive, sizes_ah=sizes_ah)
    if parallel < 1:
        raise ValueError(f"parallel must be at least 1, not {parallel!r}")
    for name, limit_ah in (("charger_max_ah", charger_max_ah), ("cabinet_max_ah", cabinet_max_ah)):
        if not limit_ah > 0.0:  # none is infinite
            raise ValueError(f"{name} must be above zero, not {limit_ah!r}")
    first_ah = next((size for size in sorted(sizes_ah) if not under(size * parallel, need_ah)), None)
    if first_ah is None:
        return Size(need_ah=need_ah, size_ah=None, first_ah=None, limits=("stock",))
    set_ah = first_ah * parallel
    limits = (("charger", charger_max_ah), ("cabinet", cabinet_max_ah))
    stopped = tuple(name for name, limit_ah in limits if over(set_ah, limit_ah))
    return Size(need_ah=need_ah, size_ah=None if stopped else first_ah, first_ah=first_ah, limits=stopped)


def bank(*, block_v: float, block_ah: float, series: int, parallel: int) -> Bank:
    """Return volts [V] and ampere-hours [Ah] of equal blocks in series and parallel.

    Source: circuit theory; series adds volts, parallel adds ampere-hours.
    Raises: ValueError if a block has no volts or capacity, or there is no string.

    >>> bank(block_v=12, block_ah=18, series=2, parallel=1)
    Bank(volts=24, capacity_ah=18, blocks=2)
    """
    positive(block_v=block_v, block_ah=block_ah, series=series, parallel=parallel)
    return Bank(volts=block_v * series, capacity_ah=block_ah * parallel, blocks=series * parallel)


def recharge_s(*, capacity_ah: float, charger_a: float, acceptance: float, standing_a: float = 0.0) -> float:
    """Return the time to charge an empty set [s]; infinite where the standing load takes all.

    ``acceptance`` [unitless] is what must go back for each ampere-hour taken out.
    Source: UL 864 and NFPA 72 10.6.10, recharge; sealed-cell makers' instructions for acceptance.
    Raises: ValueError if capacity or acceptance is not above zero.

    >>> round(recharge_s(capacity_ah=18, charger_a=1.0, acceptance=1.1, standing_a=0.45) / 3600, 6)
    36.0
    """
    positive(capacity_ah=capacity_ah, acceptance=acceptance)
    not_negative(charger_a=charger_a, standing_a=standing_a)
    if not over(charger_a, standing_a):
        return math.inf
    return RECHARGE(capacity_ah=capacity_ah, acceptance=acceptance, charger_a=charger_a, standing_a=standing_a)


def charger_a(*, capacity_ah: float, recharge_s: float, acceptance: float, standing_a: float = 0.0) -> float:
    """Return the charger current that recharges a set in time beside its standing load [A].

    Source: UL 864 and NFPA 72 10.6.10, recharge; sealed-cell makers' instructions for acceptance.
    Raises: ValueError if capacity, time or acceptance is not above zero.

    >>> round(charger_a(capacity_ah=18, recharge_s=48 * 3600, acceptance=1.1), 4)
    0.4125
    """
    positive(capacity_ah=capacity_ah, recharge_s=recharge_s, acceptance=acceptance)
    not_negative(standing_a=standing_a)
    return CHARGER(capacity_ah=capacity_ah, acceptance=acceptance, recharge_s=recharge_s, standing_a=standing_a)


def carried_share(*, need_ah: float, reserve: float, installed_ah: float) -> float:
    """Return the share of its rating to which a set may age and still carry the load [unitless].

    ``reserve`` [unitless] is what the need holds for aging: the edition's margin, the aging factor, or both.
    Source: IEEE Std 485, a factor of 1 / 0.80 carries the load to 80 % of the rating.
    Raises: ValueError if the need is below zero, or reserve or installed capacity is not above zero.

    >>> carried_share(need_ah=10, reserve=1.25, installed_ah=10)
    0.8
    """
    not_negative(need_ah=need_ah)
    positive(reserve=reserve, installed_ah=installed_ah)
    return COVERED(need_ah=need_ah, reserve=reserve, installed_ah=installed_ah)


def life_s(*, reference_life_s: float, temperature_c: float, reference_c: float, halving_k: float) -> float:
    """Return the life of a battery at a yearly mean temperature [s].

    Source: stationary-battery service practice, life halves every so many kelvins [K].
    Raises: ValueError if life or halving step is not above zero, or a temperature is no number.

    >>> life_s(reference_life_s=5, temperature_c=35, reference_c=25, halving_k=10)
    2.5
    """
    positive(reference_life_s=reference_life_s, halving_k=halving_k)
    finite(temperature_c=temperature_c, reference_c=reference_c)
    return LIFE(
        reference_life_s=reference_life_s,
        temperature_c=temperature_c,
        reference_c=reference_c,
        halving_k=halving_k,
    )


def float_v(
    *, reference_v: float, per_k_v: float, temperature_c: float, reference_c: float, cells: float = 1.0
) -> float:
    """Return the float volts of so many cells in series at a temperature [V].

    ``reference_v`` [V] and ``per_k_v`` [V/K] are those of one cell.
    Source: battery textbooks, compensation in volts per kelvin and cell.
    Raises: ValueError if the reference volts or the cells are not above zero.

    >>> round(float_v(reference_v=2.3, per_k_v=-0.003, temperature_c=35, reference_c=25), 2)
    2.27
    """
    positive(reference_v=reference_v, cells=cells)
    finite(per_k_v=per_k_v, temperature_c=temperature_c, reference_c=reference_c)
    return FLOAT(
        cells=cells, reference_v=reference_v, per_k_v=per_k_v, temperature_c=temperature_c, reference_c=reference_c
    )
