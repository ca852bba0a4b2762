"""Hours of labor, the burdened rate of a crew, and crew days."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

HOURS: Final = Expression("quantity / per * hours * factor")
"""Hours of a task: quantity over the unit's quantity, times its hours and the difficulty factors [h]."""

SHARE_HOURS: Final = Expression("share * hours")
"""Hours of a task that is a share of other hours, such as programming or closeout [h]."""

BURDENED_RATE: Final = Expression("wage * (1 + sum(burdens)) + sum(adders)")
"""Wage with burden: shares of the wage, and amounts an hour [money/h]."""

CREW_RATE: Final = Expression("sumproduct(people, rates) / sum(people)")
"""Rate of an hour of a crew's mix of people [money/h]."""

CREW_DAYS: Final = Expression("hours / (people * hours_a_day)")
"""Days that a crew works; shown to a tenth, never rounded into the price [d]."""

EFFECTIVE_HOURS: Final = Expression("hours * (1 - loss)")
"""Hours of output in a week of overtime, the loss being a share of all its hours [h]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LadderStep:
    """What work at a height and above adds to the hours."""

    above_m: float
    add: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Repetition:
    """What doing the same so many times adds to the hours, below zero where it takes off."""

    from_repeats: int
    to_repeats: int
    add: float


def combined_factor(factors: Sequence[float]) -> float:
    """Return the product of named difficulty factors [unitless]; one where there is none.

    Source: electrical estimating handbook, factors on the hours; multiplied in this house.
    Raises: ValueError for a factor that is not above zero.

    >>> combined_factor([1.5, 0.5])
    0.75
    """
    for factor in factors:
        if not (math.isfinite(factor) and factor > 0):
            raise ValueError(f"difficulty factor {factor!r} is not above zero")
    return math.prod(factors)


def task_hours(*, quantity: float, hours: float, per: float = 1.0, factors: Sequence[float] = ()) -> float:
    """Return the hours of a task [h].

    ``quantity`` is what is installed, ``hours`` [h] go with each ``per`` of it (1,000 for hours a
    thousand feet), ``factors`` are the difficulty factors [unitless].
    Equation: HOURS. Source: labor-unit method of estimating.
    Raises: ValueError where ``per`` is not above zero or a quantity or hours are below it.

    >>> task_hours(quantity=8, hours=2.0, factors=[0.75])
    12.0
    """
    if not per > 0 or not quantity >= 0 or not hours >= 0:
        raise ValueError(f"quantity {quantity!r}, hours {hours!r} and per {per!r} don't make a task")
    return HOURS(quantity=quantity, per=per, hours=hours, factor=combined_factor(factors))


def ladder_add(*, height_m: float, steps: Sequence[LadderStep]) -> float | None:
    """Return what work at a height adds to the hours [unitless]; None above the table.

    ``height_m`` [m]; the highest step not above it counts, below the first nothing is added.
    Source: electrical estimating handbook, ladder work by height.
    """
    if not steps or over(height_m, max(step.above_m for step in steps)):
        return None
    reached = [step for step in steps if not under(height_m, step.above_m)]
    return max(reached, key=lambda step: step.above_m).add if reached else 0.0


def repetition_add(*, repeats: int, steps: Sequence[Repetition]) -> float | None:
    """Return what repeats add to the hours [unitless], below zero as they go faster; None off the table.

    Source: electrical estimating handbook, repetition.
    """
    for step in steps:
        if step.from_repeats <= repeats <= step.to_repeats:
            return step.add
    return None


def burdened_rate(*, wage: float, burdens: Sequence[float], adders: Sequence[float] = ()) -> float:
    """Return an hour's wage with its burden [money/h], unrounded.

    ``wage`` [money/h], ``burdens`` shares of it [unitless], ``adders`` amounts an hour [money/h].
    Equation: BURDENED_RATE. Source: worked labor-burden tables of contractors' pages.
    Raises: ValueError for a wage below zero.
    """
    if not wage >= 0:
        raise ValueError(f"wage {wage!r} is below zero")
    return BURDENED_RATE(wage=wage, burdens=burdens, adders=adders)


def crew_rate(*, people: Sequence[float], rates: Sequence[float]) -> float:
    """Return the rate of an hour of a crew's mix [money/h], unrounded.

    ``people`` counts each trade, ``rates`` [money/h] are their burdened rates.
    Equation: CREW_RATE. Source: estimating practice, weighted mean of the crew.
    Raises: ValueError for a crew without people or counts that don't pair with rates.

    >>> crew_rate(people=[1, 3], rates=[60.0, 40.0])
    45.0
    """
    if not math.fsum(people) > 0 or min(people) < 0:
        raise ValueError(f"a crew of {list(people)!r} has no people")
    return CREW_RATE(people=people, rates=rates)


def crew_days(*, hours: float, people: float, hours_a_day: float) -> float:
    """Return the days that a crew works [d], unrounded.

    ``hours`` [h] in all, ``people`` in the crew, ``hours_a_day`` [h] of each.
    Equation: CREW_DAYS. Source: estimating practice.
    Raises: ValueError for a crew without people or a day without hours.

    >>> crew_days(hours=96.0, people=2, hours_a_day=8.0)
    6.0
    """
    if not (people > 0 and hours_a_day > 0):
        raise ValueError(f"a crew of {people!r} for {hours_a_day!r} h a day does no work")
    return CREW_DAYS(hours=hours, people=people, hours_a_day=hours_a_day)
