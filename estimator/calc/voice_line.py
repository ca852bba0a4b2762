"""Analog telephone lines: loop resistance and current, volts, ringers, distance to an open."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.formula import Expression

LOOP_CURRENT: Final = Expression("battery_v / (feed_ohm + loop_ohm + set_ohm)")
SET_VOLTS: Final = Expression("battery_v * set_ohm / (feed_ohm + loop_ohm + set_ohm)")
MOST_LOOP: Final = Expression("battery_v / current_a - feed_ohm - set_ohm")
REACH: Final = Expression("loop_ohm / (2 * ohm_per_m)")
RINGER: Final = Expression("scale * limit_ohm / least_ohm")
RINGERS: Final = Expression("sum(ringers)")
OPEN_AT: Final = Expression("capacitance_f / farad_per_m")


def loop_current_a(*, battery_v: float, feed_ohm: float, loop_ohm: float, set_ohm: float) -> float:
    """Return the current of a line off hook [A].

    ``loop_ohm`` counts both wires of the pair.
    Source: telephone engineering texts; Ohm's law.
    Raises: ValueError if the battery or the set is not above zero, or a resistance below zero.

    >>> round(loop_current_a(battery_v=48, feed_ohm=400, loop_ohm=1300, set_ohm=200) * 1000, 1)
    25.3
    """
    positive(battery_v=battery_v, set_ohm=set_ohm)
    not_negative(feed_ohm=feed_ohm, loop_ohm=loop_ohm)
    return LOOP_CURRENT(battery_v=battery_v, feed_ohm=feed_ohm, loop_ohm=loop_ohm, set_ohm=set_ohm)


def set_v(*, battery_v: float, feed_ohm: float, loop_ohm: float, set_ohm: float) -> float:
    """Return the volts at an off-hook set [V].

    Source: telephone engineering texts; voltage divider.
    Raises: ValueError if the battery or the set is not above zero, or a resistance below zero.

    >>> round(set_v(battery_v=48, feed_ohm=400, loop_ohm=521.5, set_ohm=200), 2)
    8.56
    """
    positive(battery_v=battery_v, set_ohm=set_ohm)
    not_negative(feed_ohm=feed_ohm, loop_ohm=loop_ohm)
    return SET_VOLTS(battery_v=battery_v, feed_ohm=feed_ohm, loop_ohm=loop_ohm, set_ohm=set_ohm)


def on_hook_v(*, battery_v: float, loop_ohm: float, leak_ohm: float, meter_ohm: float, feed_ohm: float) -> float:
    """Return the volts that a meter reads across an idle line [V].

    ``leak_ohm`` is the idle set and the insulation, ``meter_ohm`` the instrument beside it.
    Source: 47 CFR 68.312, on-hook resistance; voltage divider.
    Raises: ValueError if battery, leak or meter is not above zero, or loop or feed is below zero.

    >>> round(on_hook_v(battery_v=48, loop_ohm=1300, leak_ohm=5e6, meter_ohm=10e6, feed_ohm=400), 1)
    48.0
    """
    positive(battery_v=battery_v, leak_ohm=leak_ohm, meter_ohm=meter_ohm)
    not_negative(loop_ohm=loop_ohm, feed_ohm=feed_ohm)
    beside_ohm = leak_ohm * meter_ohm / (leak_ohm + meter_ohm)
    return set_v(battery_v=battery_v, feed_ohm=feed_ohm, loop_ohm=loop_ohm, set_ohm=beside_ohm)


def most_loop_ohm(*, battery_v: float, current_a: float, feed_ohm: float, set_ohm: float) -> float:
    """Return the largest loop that still carries a current [ohm]; zero if even none does.

    Source: telephone engineering texts; Ohm's law.
    Raises: ValueError if battery or current is not above zero.

    >>> most_loop_ohm(battery_v=48, current_a=0.020, feed_ohm=400, set_ohm=200)
    1800.0
    """
    positive(battery_v=battery_v, current_a=current_a)
    not_negative(feed_ohm=feed_ohm, set_ohm=set_ohm)
    return max(0.0, MOST_LOOP(battery_v=battery_v, current_a=current_a, feed_ohm=feed_ohm, set_ohm=set_ohm))


def reach_m(*, loop_ohm: float, ohm_per_m: float) -> float:
    """Return the one-way length at which a pair comes to a loop resistance [m].

    Source: circuit theory, both wires counted.
    Raises: ValueError if the conductor's resistance is not above zero.

    >>> round(reach_m(loop_ohm=16.843, ohm_per_m=0.084215))
    100
    """
    not_negative(loop_ohm=loop_ohm)
    positive(ohm_per_m=ohm_per_m)
    return REACH(loop_ohm=loop_ohm, ohm_per_m=ohm_per_m)


def ringer_equivalence(*, limit_ohm: float, least_ohm: float, scale: float) -> float:
    """Return the ringer equivalence number of a set [REN].

    ``least_ohm`` is the lowest impedance measured at the ringing frequencies, ``scale`` the
    ringers of the limit impedance that one line carries.
    Source: TIA-968-A, Table 6 and the clause on ringer equivalence.
    Raises: ValueError if an impedance is not above zero.

    >>> ringer_equivalence(limit_ohm=1400, least_ohm=7000, scale=5)
    1.0
    """
    positive(limit_ohm=limit_ohm, least_ohm=least_ohm, scale=scale)
    return RINGER(limit_ohm=limit_ohm, least_ohm=least_ohm, scale=scale)


def ringer_total(*, ringers: Sequence[float]) -> float:
    """Return the ringers on one line together [REN].

    Source: 47 CFR 68, total on a line.
    Raises: ValueError if a ringer is below zero.

    >>> round(ringer_total(ringers=[1.0, 0.8, 1.5, 0.6]), 6)
    3.9
    """
    each(not_negative, ringers=ringers)
    return RINGERS(ringers=ringers)


def open_at_m(*, capacitance_f: float, farad_per_m: float) -> float:
    """Return the distance to an open from the capacitance up to it [m].

    Source: telephone engineering text of 1984, capacitance of the cable.
    Raises: ValueError if the cable's capacitance is not above zero.

    >>> round(open_at_m(capacitance_f=0.166e-6, farad_per_m=0.083e-6 / 1609.344))
    3219
    """
    not_negative(capacitance_f=capacitance_f)
    positive(farad_per_m=farad_per_m)
    return OPEN_AT(capacitance_f=capacitance_f, farad_per_m=farad_per_m)
