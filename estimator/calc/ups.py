"""Uninterruptible supplies: what they carry, and how long their battery lasts.

Three ways lead to a runtime. The battery's own discharge curve is the best: between two of its
points the time is a straight line over the load on log-log paper, which is Peukert's law with the
exponent of those two points. Peukert's law over the whole range comes next. The energy formula knows
nothing of high rates and promises too much, the more so the shorter the runtime.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

WATTS: Final = Expression("apparent_va * power_factor")
RUNTIME: Final = Expression("3600 * battery_v * capacity_ah * efficiency * aging / load_w")
BATTERY: Final = Expression(
    "load_w * runtime_s / 3600 * temperature * aging * design / (efficiency * cell_end_v * cells)"
)
DESIGN: Final = Expression("load_w * (1 + growth)")
APPARENT: Final = Expression("load_w / power_factor")
CURVE_TIME: Final = Expression("lower_s * (higher_s / lower_s) ** (log10(load / lower) / log10(higher / lower))")
BLOCK_WATTS: Final = Expression("load_w / (efficiency * blocks * aging)")
STRING_AMPERES: Final = Expression("load_w / (efficiency * cell_end_v * cells * strings * aging)")
LASTS: Final = Expression(
    "min(3600 * rated_h * (capacity_ah / (current_a * rated_h)) ** exponent, 3600 * capacity_ah / current_a)"
)
"""Peukert's law in its rated-hours form, without credit for a current below the rated one [s]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Reach:
    """How long a battery lasts by its discharge curve, and the two points between which that was found.

    Lighter than the curve's lightest point, the time is that point's and the true one is longer.
    """

    time_s: float
    lower: float  # load of the point below, in the curve's own unit
    lower_s: float
    higher: float
    higher_s: float
    at_least: bool


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


def runtime_s(*, battery_v: float, capacity_ah: float, load_w: float, efficiency: float, aging: float = 1.0) -> float:
    """Return the time that a battery's energy lasts [s]; too long for high rates.

    Source: IEEE Std 1184, energy formula.
    Raises: ValueError if a quantity is not above zero.

    >>> round(runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9) / 3600, 3)
    1.296
    """
    positive(battery_v=battery_v, capacity_ah=capacity_ah, load_w=load_w, efficiency=efficiency, aging=aging)
    return RUNTIME(battery_v=battery_v, capacity_ah=capacity_ah, load_w=load_w, efficiency=efficiency, aging=aging)


def battery_ah(
    *,
    load_w: float,
    runtime_s: float,
    efficiency: float,
    cell_end_v: float,
    cells: int,
    temperature: float = 1.0,
    aging: float = 1.0,
    design: float = 1.0,
) -> float:
    """Return the ampere-hours at the runtime's own rate that a supply needs [Ah].

    Source: IEEE Std 485 factors; petroleum-company engineering standard, battery sheet.
    Raises: ValueError if a quantity is not above zero.

    >>> round(battery_ah(load_w=8000, runtime_s=1800, efficiency=0.85, cell_end_v=1.75, cells=108,
    ...     aging=1.25, design=1.1), 2)
    34.24
    """
    positive(load_w=load_w, runtime_s=runtime_s, efficiency=efficiency, cell_end_v=cell_end_v, cells=cells)
    positive(temperature=temperature, aging=aging, design=design)
    return BATTERY(
        load_w=load_w,
        runtime_s=runtime_s,
        efficiency=efficiency,
        cell_end_v=cell_end_v,
        cells=cells,
        temperature=temperature,
        aging=aging,
        design=design,
    )


def design_w(*, load_w: float, growth: float) -> float:
    """Return the load that a supply is bought for [W]: today's and its ``growth`` [share of it].

    Source: sizing guides of supplies, growth allowance.
    Raises: ValueError if load or growth is below zero.

    >>> design_w(load_w=800, growth=0.25)
    1000.0
    """
    not_negative(load_w=load_w, growth=growth)
    return DESIGN(load_w=load_w, growth=growth)


def apparent_va(*, load_w: float, power_factor: float) -> float:
    """Return the volt-amperes of a load stated in watts [VA].

    Source: circuit theory; sizing guides of supplies.
    Raises: ValueError if the load is below zero, or the power factor is not above zero or is over one.

    >>> apparent_va(load_w=4500, power_factor=0.9)
    5000.0
    """
    not_negative(load_w=load_w)
    positive(power_factor=power_factor)
    if power_factor > 1.0:
        raise ValueError(f"power_factor must be at most 1, not {power_factor!r}")
    return APPARENT(load_w=load_w, power_factor=power_factor)


def block_w(*, load_w: float, efficiency: float, blocks: int, aging: float = 1.0) -> float:
    """Return what each battery block gives [W], as a table of constant power counts it.

    ``blocks`` are all of them, ``aging`` the share of its capacity that an old one has: at 0.8
    it lasts as long as a new one under a load larger by a quarter.
    Source: IEEE Std 1184, constant-power tables; IEEE Std 485 for aging.
    Raises: ValueError if load, efficiency, blocks or aging is not above zero.

    >>> block_w(load_w=850, efficiency=0.85, blocks=4)
    250.0
    """
    positive(load_w=load_w, efficiency=efficiency, blocks=blocks, aging=aging)
    return BLOCK_WATTS(load_w=load_w, efficiency=efficiency, blocks=blocks, aging=aging)


def string_a(
    *, load_w: float, efficiency: float, cell_end_v: float, cells: int, strings: int, aging: float = 1.0
) -> float:
    """Return the current of each string at the end of its discharge [A], the largest that it gives.

    ``cells`` are those in series, ``aging`` the share of its capacity that an old battery has.
    Source: petroleum-company engineering standard, battery sheet; IEEE Std 485 for aging.
    Raises: ValueError if a quantity is not above zero.

    >>> round(string_a(load_w=8000, efficiency=0.85, cell_end_v=1.75, cells=108, strings=1), 2)
    49.8
    """
    positive(load_w=load_w, efficiency=efficiency, cell_end_v=cell_end_v, cells=cells, strings=strings, aging=aging)
    return STRING_AMPERES(
        load_w=load_w, efficiency=efficiency, cell_end_v=cell_end_v, cells=cells, strings=strings, aging=aging
    )


def on_curve(*, points: Sequence[tuple[float, float]], load: float) -> Reach | None:
    """Return how long a battery carries a load by its discharge curve [s], None beyond the heaviest point.

    ``points`` are (load, seconds), in watts or amperes, loads rising and times falling. Between two of
    them the line is straight on log-log paper; beyond the heaviest nothing is known.
    Source: Peukert's law between two published points; IEEE Std 1184 for the use of a maker's curve.
    Raises: ValueError if there are fewer than two points, one is not above zero or they are out of order,
    or the load is not above zero.

    >>> reach = on_curve(points=[(100, 7200), (200, 2880), (400, 1152)], load=200)
    >>> reach.time_s
    2880.0
    """
    positive(load=load)
    for point in points:
        if not all(math.isfinite(value) and value > 0.0 for value in point):
            raise ValueError(f"points must hold loads and times above zero, not {point!r}")
    if len(points) < 2 or any(a[0] >= b[0] or a[1] <= b[1] for a, b in pairwise(points)):
        raise ValueError(f"points must be two at least, with rising load and falling time, not {points!r}")
    if over(load, points[-1][0]):
        return None
    low, high = next((a, b) for a, b in pairwise(points) if not over(load, b[0]))
    light = under(load, low[0])
    time_s = CURVE_TIME(
        lower_s=low[1], higher_s=high[1], lower=low[0], higher=high[0], load=low[0] if light else min(load, high[0])
    )
    return Reach(time_s=time_s, lower=low[0], lower_s=low[1], higher=high[0], higher_s=high[1], at_least=light)
