"""How a lead-acid battery empties: its time at a current, the rate factor, its volts over the time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import positive
from estimator.calc.formula import Expression
from estimator.calc.interpolation import between
from estimator.units.rounding import over, under

PEUKERT: Final = Expression("3600 * rated_h * (capacity_ah / (current_a * rated_h)) ** exponent")
PEUKERT_ONE_AMPERE: Final = Expression("3600 * one_ampere_ah / current_a ** exponent")
EXPONENT: Final = Expression("log10(rated_h / short_h) / log10(short_ah * rated_h / (short_h * rated_ah))")

_HALVINGS: Final = 60  # of an interval that is at most the answer itself: beyond a double's digits


@dataclass(frozen=True, kw_only=True, slots=True)
class Moment:
    """A battery at one moment of a discharge; between two moments its volts run straight."""

    time_s: float
    volts: float
    used_ah: float
    left: float  # share of its charge


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


def peukert_exponent(*, rated_h: float, rated_ah: float, short_h: float, short_ah: float) -> float:
    """Return the exponent between two capacities of one battery [no unit].

    ``rated_ah`` over ``rated_h`` is the label's, ``short_ah`` over ``short_h`` that of a faster discharge.
    Source: Peukert's law, rated-hours form, solved for the exponent.
    Raises: ValueError if a quantity is not above zero, or the faster discharge is no shorter or faster or gives more.

    >>> round(peukert_exponent(rated_h=20, rated_ah=40, short_h=1, short_ah=24), 3)
    1.206
    """
    positive(rated_h=rated_h, rated_ah=rated_ah, short_h=short_h, short_ah=short_ah)
    if not under(short_h, rated_h):
        raise ValueError(f"short_h must be under the {rated_h!r} h of the rating, not {short_h!r}")
    if over(short_ah, rated_ah):
        raise ValueError(f"short_ah must be at most the {rated_ah!r} Ah of the rating, not {short_ah!r}")
    if not over(short_ah / short_h, rated_ah / rated_h):
        raise ValueError(f"short_ah must be over what the rated current takes in {short_h!r} h, not {short_ah!r}")
    return EXPONENT(rated_h=rated_h, rated_ah=rated_ah, short_h=short_h, short_ah=short_ah)


def lasts_s(*, capacity_ah: float, rated_h: float, current_a: float, exponent: float) -> float:
    """Return how long a full battery lasts at a current [s], without credit for a slow discharge.

    Below the current of its rating a battery gives its rated ampere-hours, never more.
    Source: Peukert's law, rated-hours form, from the rated current upward.
    Raises: ValueError if a quantity is not above zero, or the exponent is under one.

    >>> lasts_s(capacity_ah=10, rated_h=20, current_a=0.1, exponent=1.2) / 3600
    100.0
    """
    positive(capacity_ah=capacity_ah, rated_h=rated_h, current_a=current_a)
    _exponent(exponent)
    if over(current_a * rated_h, capacity_ah):
        return peukert_s(capacity_ah=capacity_ah, rated_h=rated_h, current_a=current_a, exponent=exponent)
    return 3600.0 * capacity_ah / current_a


def rated_need_ah(*, steps: Sequence[tuple[float, float]], rated_h: float, exponent: float) -> float:
    """Return the rated capacity that just lasts through steps of current [Ah].

    ``steps`` are (current [A], time [s]). Found by halving an interval: a step above the rated
    current takes its ampere-hours times (current x rated hours / capacity) ** (exponent - 1).
    Source: Peukert's law, rated-hours form, no credit below the rated current.
    Raises: ValueError if a step is below zero, the hours are not above zero, or the exponent is under one.

    >>> round(rated_need_ah(steps=[(24.0, 3600.0)], rated_h=20, exponent=1.206))
    40
    """
    _steps(steps)
    positive(rated_h=rated_h)
    _exponent(exponent)

    def taken_ah(capacity_ah: float) -> float:
        hasty = ((current * rated_h / capacity_ah, current * time / 3600.0) for current, time in steps)
        return math.fsum(ah * max(1.0, ratio) ** (exponent - 1.0) for ratio, ah in hasty)

    low = math.fsum(current * time / 3600.0 for current, time in steps)
    if low == 0.0:
        return 0.0
    high = taken_ah(low)  # what is taken falls with the capacity, so that the answer lies between the two
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if taken_ah(middle) > middle:
            low = middle
        else:
            high = middle
    return high


def rate_factor(*, steps: Sequence[tuple[float, float]], rated_h: float, exponent: float) -> float:
    """Return what a fast discharge needs over its ampere-hours [unitless], never under one.

    ``steps`` are (current [A], time [s]), standby first, then alarm.
    Source: Peukert's law, rated-hours form, no credit below the rated current.
    Raises: ValueError if a step is below zero, the hours are not above zero, or the exponent is under one.

    >>> round(rate_factor(steps=[(24.0, 3600.0)], rated_h=20, exponent=1.206), 2)
    1.67
    """
    need_ah = rated_need_ah(steps=steps, rated_h=rated_h, exponent=exponent)
    drawn_ah = math.fsum(current * time / 3600.0 for current, time in steps)
    return need_ah / drawn_ah if drawn_ah > 0.0 else 1.0


def discharge_curve(
    *,
    steps: Sequence[tuple[float, float]],
    capacity_ah: float,
    rated_h: float,
    exponent: float,
    volts: Sequence[tuple[float, float]],
) -> tuple[Moment, ...]:
    """Return how a full battery's volts fall through steps of current [V], until it is empty.

    ``steps`` are (current [A], time [s]); ``volts`` are (share of charge left, volts), from 0 to 1.
    An estimate: each step takes charge at the pace of Peukert's law, and the charge left gives the
    volts by straight lines between the published ones. The step down of the volts when a larger
    current starts is not in it, because it hangs on the battery's inner resistance.
    Source: Peukert's law; published volts by state of charge, as handed in.
    Raises: ValueError if a quantity cannot be, or the volts do not span an empty and a full battery.

    >>> line = discharge_curve(steps=[(1.0, 36000.0)], capacity_ah=20, rated_h=20, exponent=1.2,
    ...     volts=[(0, 10.5), (1, 12.8)])
    >>> [(one.time_s / 3600, round(one.volts, 2), one.left) for one in line]
    [(0.0, 12.8, 1.0), (10.0, 11.65, 0.5)]
    """
    _steps(steps)
    positive(capacity_ah=capacity_ah, rated_h=rated_h)
    _exponent(exponent)
    _volts(volts)
    shares = sorted((share for share, _ in volts), reverse=True)
    found = [Moment(time_s=0.0, volts=between(points=volts, at=1.0), used_ah=0.0, left=1.0)]
    for current_a, time_s in steps:
        start = found[-1]
        if start.left == 0.0 or time_s == 0.0:
            continue
        whole_s = math.inf
        if current_a > 0.0:
            whole_s = lasts_s(capacity_ah=capacity_ah, rated_h=rated_h, current_a=current_a, exponent=exponent)
        empties = over(time_s, start.left * whole_s)
        end = 0.0 if empties else max(0.0, start.left - time_s / whole_s)
        for left in (*(share for share in shares if end < share < start.left), end):
            passed_s = time_s if left == end and not empties else (start.left - left) * whole_s
            found.append(
                Moment(
                    time_s=start.time_s + passed_s,
                    volts=between(points=volts, at=left),
                    used_ah=start.used_ah + current_a * passed_s / 3600.0,
                    left=left,
                )
            )
    return tuple(found)


def _exponent(exponent: float) -> None:
    positive(exponent=exponent)
    if under(exponent, 1.0):
        raise ValueError(f"exponent must be at least 1, not {exponent!r}")


def _steps(steps: Sequence[tuple[float, float]]) -> None:
    for step in steps:
        if not all(math.isfinite(value) and value >= 0.0 for value in step):
            raise ValueError(f"steps must be currents and times of zero or more, not {step!r}")


def _volts(volts: Sequence[tuple[float, float]]) -> None:
    for point in volts:
        if not (0.0 <= point[0] <= 1.0 and math.isfinite(point[1]) and point[1] > 0.0):
            raise ValueError(f"volts must be shares from 0 to 1 with volts above zero, not {point!r}")
    if {0.0, 1.0} - {share for share, _ in volts}:
        raise ValueError(f"volts must span an empty and a full battery, not {list(volts)!r}")
