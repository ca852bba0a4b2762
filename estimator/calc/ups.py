"""Uninterruptible supplies: watts, runtime by energy, battery ampere-hours, heat."""

from __future__ import annotations

from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression

WATTS: Final = Expression("apparent_va * power_factor")
RUNTIME: Final = Expression("3600 * battery_v * capacity_ah * efficiency * ageing / load_w")
BATTERY: Final = Expression(
    "load_w * runtime_s / 3600 * temperature * ageing * design / (efficiency * cell_end_v * cells)"
)
HEAT: Final = Expression("lost_w * btu_per_h_per_w")


def load_w(*, apparent_va: float, power_factor: float) -> float:
    """Return the true watts of a load stated in volt-amperes [W].

    Source: circuit theory; sizing guides of supplies.
    Raises: ValueError if volt-amperes or power factor is not above zero, or the factor is over one.

    >>> load_w(apparent_va=5000, power_factor=0.9)
    4500.0
    """
    positive(apparent_va=apparent_va, power_factor=power_factor)
    if power_factor > 1.0:
        raise ValueError(f"power_factor must be at most 1, not {power_factor!r}")
    return WATTS(apparent_va=apparent_va, power_factor=power_factor)


def runtime_s(*, battery_v: float, capacity_ah: float, load_w: float, efficiency: float, ageing: float = 1.0) -> float:
    """Return the time that a battery's energy lasts [s]; too long for high rates.

    Source: IEEE Std 1184, energy formula.
    Raises: ValueError if a quantity is not above zero.

    >>> round(runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9) / 3600, 3)
    1.296
    """
    positive(battery_v=battery_v, capacity_ah=capacity_ah, load_w=load_w, efficiency=efficiency, ageing=ageing)
    return RUNTIME(battery_v=battery_v, capacity_ah=capacity_ah, load_w=load_w, efficiency=efficiency, ageing=ageing)


def battery_ah(
    *,
    load_w: float,
    runtime_s: float,
    efficiency: float,
    cell_end_v: float,
    cells: int,
    temperature: float = 1.0,
    ageing: float = 1.0,
    design: float = 1.0,
) -> float:
    """Return the ampere-hours at the runtime's own rate that a supply needs [Ah].

    Source: IEEE Std 485 factors; petroleum-company engineering standard, battery sheet.
    Raises: ValueError if a quantity is not above zero.

    >>> round(battery_ah(load_w=8000, runtime_s=1800, efficiency=0.85, cell_end_v=1.75, cells=108,
    ...     ageing=1.25, design=1.1), 2)
    34.24
    """
    positive(load_w=load_w, runtime_s=runtime_s, efficiency=efficiency, cell_end_v=cell_end_v, cells=cells)
    positive(temperature=temperature, ageing=ageing, design=design)
    return BATTERY(
        load_w=load_w,
        runtime_s=runtime_s,
        efficiency=efficiency,
        cell_end_v=cell_end_v,
        cells=cells,
        temperature=temperature,
        ageing=ageing,
        design=design,
    )


def heat_btu_per_h(*, lost_w: float, btu_per_h_per_w: float) -> float:
    """Return the heat that a room must shed [BTU/h].

    Source: definition of the unit.
    Raises: ValueError if the watts are below zero.

    >>> heat_btu_per_h(lost_w=1500, btu_per_h_per_w=3.412)
    5118.0
    """
    not_negative(lost_w=lost_w)
    return HEAT(lost_w=lost_w, btu_per_h_per_w=btu_per_h_per_w)
