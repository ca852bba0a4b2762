"""Hours of labor, the burdened rate of a crew, and crew days."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, finite, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

HOURS: Final = Expression("quantity / per * hours * factor")
"""Hours of a task: quantity over the unit's quantity, times its hours and the difficulty factors [h].

The hours of all other tasks are the quantity of one that is a share of them, such as closeout.
"""

BURDENED_RATE: Final = Expression("wage * (1 + sum(burdens)) + sum(adders)")
"""Wage with burden: shares of the wage, and amounts an hour [money/h]."""

CREW_RATE: Final = Expression("sumproduct(people, rates) / sum(people)")
"""Rate of an hour of a crew's mix of people [money/h]."""

CREW_DAYS: Final = Expression("hours / (people * hours_a_day)")
"""Days that a crew works; shown to a tenth, never rounded into the price [d]."""

EFFECTIVE_HOURS: Final = Expression("hours * (1 - loss)")
"""Hours of output in a week of overtime, the loss being a share of all its hours [h]."""

OVERTIME_FACTOR: Final = Expression("1 / (1 - loss)")
"""What overtime multiplies hours by, so that the output stays the same [unitless]."""

BREAK_EVEN: Final = Expression("(hours - usual_hours) / hours")
"""Loss at which a longer week gives no more output than the usual one [unitless]."""

ADDED_FACTOR: Final = Expression("1 + add")
"""The factor of what is added to the hours, or taken off below zero [unitless]."""


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
    Raises: ValueError for one of the ``factors`` that is not above zero.

    >>> combined_factor([1.5, 0.5])
    0.75
    """
    each(positive, factors=factors)
    return math.prod(factors)


def task_hours(*, quantity: float, hours: float, per: float = 1.0, factors: Sequence[float] = ()) -> float:
    """Return the hours of a task [h].

    ``quantity`` is what is installed, ``hours`` [h] go with each ``per`` of it (1,000 for hours a
    thousand feet), ``factors`` are the difficulty factors [unitless].
    Equation: HOURS. Source: labor-unit method of estimating.
    Raises: ValueError where ``per`` or a factor is not above zero, or a quantity or hours are below it.

    >>> task_hours(quantity=8, hours=2.0, factors=[0.75])
    12.0
    """
    positive(per=per)
    not_negative(quantity=quantity, hours=hours)
    return HOURS(quantity=quantity, per=per, hours=hours, factor=combined_factor(factors))


def ladder_add(*, height_m: float, steps: Sequence[LadderStep]) -> float | None:
    """Return what work at a height adds to the hours [unitless]; None above the table.

    ``height_m`` [m]; the highest step not above it counts, below the first nothing is added.
    Source: electrical estimating handbook, ladder work by height.
    Raises: ValueError for a height below zero.
    """
    not_negative(height_m=height_m)
    if not steps or over(height_m, max(step.above_m for step in steps)):
        return None
    reached = [step for step in steps if not under(height_m, step.above_m)]
    return max(reached, key=lambda step: step.above_m).add if reached else 0.0


def repetition_add(*, repeats: int, steps: Sequence[Repetition]) -> float | None:
    """Return what repeats add to the hours [unitless], below zero as they go faster; None off the table.

    Source: electrical estimating handbook, repetition.
    Raises: ValueError where nothing is done at all.
    """
    positive(repeats=repeats)
    for step in steps:
        if step.from_repeats <= repeats <= step.to_repeats:
            return step.add
    return None


def burdened_rate(*, wage: float, burdens: Sequence[float], adders: Sequence[float] = ()) -> float:
    """Return an hour's wage with its burden [money/h], unrounded.

    ``wage`` [money/h], ``burdens`` shares of it [unitless], ``adders`` amounts an hour [money/h].
    Equation: BURDENED_RATE. Source: worked labor-burden tables of contractors' pages.
    Raises: ValueError for a wage or a burden below zero, or an adder that is no number.
    """
    not_negative(wage=wage)
    each(not_negative, burdens=burdens)
    each(finite, adders=adders)
    return BURDENED_RATE(wage=wage, burdens=burdens, adders=adders)


def crew_rate(*, people: Sequence[float], rates: Sequence[float]) -> float:
    """Return the rate of an hour of a crew's mix [money/h], unrounded.

    ``people`` counts each trade, ``rates`` [money/h] are their burdened rates.
    Equation: CREW_RATE. Source: estimating practice, weighted mean of the crew.
    Raises: ValueError for a crew without people, counts or rates below zero, or counts that don't pair with rates.

    >>> crew_rate(people=[1, 3], rates=[60.0, 40.0])
    45.0
    """
    each(not_negative, people=people, rates=rates)
    positive(all_people=math.fsum(people))
    return CREW_RATE(people=people, rates=rates)


def crew_days(*, hours: float, people: float, hours_a_day: float) -> float:
    """Return the days that a crew works [d], unrounded.

    ``hours`` [h] in all, ``people`` in the crew, ``hours_a_day`` [h] of each.
    Equation: CREW_DAYS. Source: estimating practice.
    Raises: ValueError for a crew without people or a day without hours, or hours below zero.

    >>> crew_days(hours=96.0, people=2, hours_a_day=8.0)
    6.0
    """
    positive(people=people, hours_a_day=hours_a_day)
    not_negative(hours=hours)
    return CREW_DAYS(hours=hours, people=people, hours_a_day=hours_a_day)


def effective_hours(*, hours: float, loss: float) -> float:
    """Return the hours of output in a week of overtime [h].

    ``hours`` [h] are worked in the week, ``loss`` [unitless] is the share of all of them that fatigue takes.
    Equation: EFFECTIVE_HOURS. Source: construction claims article on overtime.
    Raises: ValueError for hours below zero or a loss that is not from 0 to below 1.

    >>> effective_hours(hours=50, loss=0.20)
    40.0
    """
    not_negative(hours=hours)
    return EFFECTIVE_HOURS(hours=hours, loss=_checked_loss(loss))


def overtime_factor(*, loss: float) -> float:
    """Return what hours grow by in weeks of overtime for the same output [unitless].

    ``loss`` [unitless] is the share of all hours of such a week that fatigue takes.
    Equation: OVERTIME_FACTOR. Source: construction claims article on overtime.
    Raises: ValueError for a loss that is not from 0 to below 1.

    >>> overtime_factor(loss=0.20)
    1.25
    """
    return OVERTIME_FACTOR(loss=_checked_loss(loss))


def break_even_loss(*, hours: float, usual_hours: float) -> float:
    """Return the loss at which a longer week gives no more output than the usual one [unitless].

    ``hours`` [h] of the long week, ``usual_hours`` [h] of the usual one.
    Equation: BREAK_EVEN. Source: construction claims article on overtime.
    Raises: ValueError for hours that are not above zero, or a week no longer than the usual one.

    >>> break_even_loss(hours=50, usual_hours=40)
    0.2
    """
    positive(hours=hours, usual_hours=usual_hours)
    if not over(hours, usual_hours):
        raise ValueError(f"hours must be more than the usual {usual_hours!r}, not {hours!r}")
    return BREAK_EVEN(hours=hours, usual_hours=usual_hours)


def _checked_loss(loss: float) -> float:
    if not 0 <= loss < 1:
        raise ValueError(f"loss must be from 0 to below 1, not {loss!r}")
    return loss
