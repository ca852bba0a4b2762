"""Batteries of secondary supplies: the ampere-hours needed, the size to buy, recharge and aging."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression
from estimator.calc.interpolation import between
from estimator.units.rounding import over, under

TOTAL: Final = Expression("sumproduct(quantity, each_a)")
AMPERE_HOURS: Final = Expression("current_a * time_s / 3600")
AGEING: Final = Expression("1 / end_of_life_share")
RECHARGE: Final = Expression("3600 * capacity_ah * acceptance / (charger_a - standing_a)")
CHARGER: Final = Expression("3600 * capacity_ah * acceptance / recharge_s + standing_a")
PEUKERT: Final = Expression("3600 * rated_h * (capacity_ah / (current_a * rated_h)) ** exponent")
PEUKERT_ONE_AMPERE: Final = Expression("3600 * one_ampere_ah / current_a ** exponent")
LIFE: Final = Expression("reference_life_s * 0.5 ** ((temperature_c - reference_c) / halving_k)")
FLOAT: Final = Expression("reference_v + per_k_v * (temperature_c - reference_c)")

_NEED: Final = "(standby_a * standby_s + alarm_a * alarm_s) / 3600"


@dataclass(frozen=True, kw_only=True, slots=True)
class Size:
    """The block to buy for a need, or why there is none."""

    need_ah: float
    size_ah: float | None  # one block; None where nothing fits
    first_ah: float | None  # the smallest that carries the need, whatever the limits
    limit: str  # "" where a block fits, else "stock", "charger" or "cabinet"


@dataclass(frozen=True, kw_only=True, slots=True)
class Bank:
    """A set of equal blocks: strings in series add volts, strings in parallel add ampere-hours."""

    volts: float
    capacity_ah: float
    blocks: int


def total_a(*, quantity: Sequence[float], each_a: Sequence[float]) -> float:
    """Return the current of a list of devices [A].

    Source: NFPA 72 battery calculation, sum of all loads.
    Raises: ValueError if the two lists differ in length.

    >>> round(total_a(quantity=[1, 4], each_a=[0.06, 0.0068]), 4)
    0.0872
    """
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
    positive(**factors)
    return need_expression(tuple(factors))(
        standby_a=standby_a, standby_s=standby_s, alarm_a=alarm_a, alarm_s=alarm_s, **factors
    )


def ageing_factor(*, end_of_life_share: float) -> float:
    """Return what a new battery needs over its load, to carry it at its end of life [unitless].

    Source: IEEE Std 485, replacement at a share of rated capacity.
    Raises: ValueError if the share is not above zero, or above one.

    >>> ageing_factor(end_of_life_share=0.8)
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
    Raises: ValueError if the temperature lies outside the table.

    >>> round(temperature_factor(points=[(21.1, 1.04), (25.0, 1.0)], temperature_c=23.05), 2)
    1.02
    """
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

    With strings in ``parallel`` the ampere-hours of the whole set are compared.
    Source: NFPA 72 practice; UL 864 for the charger's stated maximum.
    Raises: ValueError if the need is below zero or there is no string.

    >>> standard_size(need_ah=7.35, sizes_ah=[7, 8, 12]).size_ah
    8
    """
    not_negative(need_ah=need_ah)
    if parallel < 1:
        raise ValueError(f"parallel must be at least 1, not {parallel!r}")
    first_ah = next((size for size in sorted(sizes_ah) if not under(size * parallel, need_ah)), None)
    limit = ""
    if first_ah is None:
        limit = "stock"
    elif over(first_ah * parallel, charger_max_ah):
        limit = "charger"
    elif over(first_ah * parallel, cabinet_max_ah):
        limit = "cabinet"
    return Size(need_ah=need_ah, size_ah=None if limit else first_ah, first_ah=first_ah, limit=limit)


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


def peukert_s(*, capacity_ah: float, rated_h: float, current_a: float, exponent: float) -> float:
    """Return how long a battery lasts at a current [s], its capacity rated over so many hours.

    Source: Peukert's law, rated-hours form.
    Raises: ValueError if a quantity is not above zero.

    >>> round(peukert_s(capacity_ah=100, rated_h=20, current_a=5, exponent=1.2) / 3600, 1)
    20.0
    """
    positive(capacity_ah=capacity_ah, rated_h=rated_h, current_a=current_a, exponent=exponent)
    return PEUKERT(capacity_ah=capacity_ah, rated_h=rated_h, current_a=current_a, exponent=exponent)


def peukert_one_ampere_s(*, one_ampere_ah: float, current_a: float, exponent: float) -> float:
    """Return how long a battery lasts at a current [s], its capacity stated at one ampere.

    Not to be mixed with the rated-hours form: the same 100 Ah at 5 A give 14.5 h here.
    Source: Peukert's law, one-ampere form.
    Raises: ValueError if a quantity is not above zero.

    >>> round(peukert_one_ampere_s(one_ampere_ah=100, current_a=5, exponent=1.2) / 3600, 1)
    14.5
    """
    positive(one_ampere_ah=one_ampere_ah, current_a=current_a, exponent=exponent)
    return PEUKERT_ONE_AMPERE(one_ampere_ah=one_ampere_ah, current_a=current_a, exponent=exponent)


def life_s(*, reference_life_s: float, temperature_c: float, reference_c: float, halving_k: float) -> float:
    """Return the life of a battery at a yearly mean temperature [s].

    Source: stationary-battery service practice, life halves every so many kelvins [K].
    Raises: ValueError if life or halving step is not above zero.

    >>> life_s(reference_life_s=5, temperature_c=35, reference_c=25, halving_k=10)
    2.5
    """
    positive(reference_life_s=reference_life_s, halving_k=halving_k)
    return LIFE(
        reference_life_s=reference_life_s,
        temperature_c=temperature_c,
        reference_c=reference_c,
        halving_k=halving_k,
    )


def float_v(*, reference_v: float, per_k_v: float, temperature_c: float, reference_c: float) -> float:
    """Return the float volts of a cell at a temperature [V].

    Source: battery textbooks, compensation in volts per kelvin and cell.
    Raises: ValueError if the reference volts are not above zero.

    >>> round(float_v(reference_v=2.3, per_k_v=-0.003, temperature_c=35, reference_c=25), 2)
    2.27
    """
    positive(reference_v=reference_v)
    return FLOAT(reference_v=reference_v, per_k_v=per_k_v, temperature_c=temperature_c, reference_c=reference_c)
