"""Low-impedance loudspeakers on one output: their network, and what the cable takes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.formula import Expression

GRID: Final = Expression("each_ohm * in_series / strings")
DRIVEN: Final = Expression("amplifier_v ** 2 / (load_ohm + loop_ohm)")
DELIVERED: Final = Expression("load_ohm * (amplifier_v / (load_ohm + loop_ohm)) ** 2")
CABLE_WATTS: Final = Expression("loop_ohm * (amplifier_v / (load_ohm + loop_ohm)) ** 2")
CABLE_SHARE: Final = Expression("100 * loop_ohm / (load_ohm + loop_ohm)")
RESISTANCE_SHARE: Final = Expression("100 * loop_ohm / load_ohm")
DAMPING: Final = Expression("load_ohm / (load_ohm / amplifier_damping + loop_ohm)")
LONGEST_BY_SHARE: Final = Expression("load_ohm * percent / 100 / (2 * ohm_per_m)")
LEAST_MODULUS: Final = Expression("rated_ohm * percent / 100")


def series_ohm(ohms: Sequence[float]) -> float:
    """Return the impedance of loudspeakers in series [ohm].

    Source: circuit theory.
    Raises: ValueError if there is none, or one is not above zero.

    >>> series_ohm([8, 8])
    16.0
    """
    _check_speakers(ohms)
    return math.fsum(ohms)


def parallel_ohm(ohms: Sequence[float]) -> float:
    """Return the impedance of loudspeakers in parallel [ohm].

    Source: circuit theory.
    Raises: ValueError if there is none, or one is not above zero.

    >>> round(parallel_ohm([8, 8, 8]), 3)
    2.667
    """
    _check_speakers(ohms)
    return 1.0 / math.fsum(1.0 / ohm for ohm in ohms)


def grid_ohm(*, each_ohm: float, in_series: int, strings: int) -> float:
    """Return the impedance of equal strings of equal loudspeakers [ohm].

    Source: circuit theory, series strings in parallel.
    Raises: ValueError if an impedance or a count is not above zero.

    >>> grid_ohm(each_ohm=8, in_series=2, strings=2)
    8.0
    """
    positive(each_ohm=each_ohm, in_series=in_series, strings=strings)
    return GRID(each_ohm=each_ohm, in_series=in_series, strings=strings)


def damping(*, load_ohm: float, amplifier_damping: float, loop_ohm: float) -> float:
    """Return the damping factor at the loudspeaker [unitless].

    Source: published loudspeaker cable length criteria.
    Raises: ValueError if load or damping is not above zero.

    >>> round(damping(load_ohm=8, amplifier_damping=400, loop_ohm=0.3))
    25
    """
    positive(load_ohm=load_ohm, amplifier_damping=amplifier_damping)
    not_negative(loop_ohm=loop_ohm)
    return DAMPING(load_ohm=load_ohm, amplifier_damping=amplifier_damping, loop_ohm=loop_ohm)


def driven_w(*, amplifier_v: float, load_ohm: float, loop_ohm: float) -> float:
    """Return the watts that an amplifier gives into load and cable together [W].

    Source: circuit theory; amplifier owner's manual.
    Raises: ValueError if volts or load are not above zero.

    >>> round(driven_w(amplifier_v=24.5, load_ohm=8, loop_ohm=0.3264), 2)
    72.09
    """
    positive(amplifier_v=amplifier_v, load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return DRIVEN(amplifier_v=amplifier_v, load_ohm=load_ohm, loop_ohm=loop_ohm)


def delivered_w(*, amplifier_v: float, load_ohm: float, loop_ohm: float) -> float:
    """Return the watts that reach a low-impedance load [W].

    Source: circuit theory; amplifier makers' notes on long loudspeaker cables.
    Raises: ValueError if volts or load are not above zero.

    >>> round(delivered_w(amplifier_v=24.5, load_ohm=8, loop_ohm=0.3264), 2)
    69.26
    """
    positive(amplifier_v=amplifier_v, load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return DELIVERED(amplifier_v=amplifier_v, load_ohm=load_ohm, loop_ohm=loop_ohm)


def cable_w(*, amplifier_v: float, load_ohm: float, loop_ohm: float) -> float:
    """Return the watts that stay in the cable of a low-impedance load [W].

    Source: circuit theory; amplifier owner's manual.
    Raises: ValueError if volts or load are not above zero.

    >>> round(cable_w(amplifier_v=24.5, load_ohm=8, loop_ohm=0.3264), 2)
    2.83
    """
    positive(amplifier_v=amplifier_v, load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return CABLE_WATTS(amplifier_v=amplifier_v, load_ohm=load_ohm, loop_ohm=loop_ohm)


def cable_share(*, load_ohm: float, loop_ohm: float) -> float:
    """Return the share of the amplifier's watts that the cable takes [%].

    Source: technical note on loss by wire length; circuit theory.
    Raises: ValueError if the load is not above zero or the loop is below it.

    >>> round(cable_share(load_ohm=9, loop_ohm=1))
    10
    """
    positive(load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return CABLE_SHARE(load_ohm=load_ohm, loop_ohm=loop_ohm)


def resistance_share(*, load_ohm: float, loop_ohm: float) -> float:
    """Return the loop resistance as a share of the load [%].

    Source: loudspeaker wiring articles, cable at most 5 % of the impedance.
    Raises: ValueError if the load is not above zero or the loop is below it.

    >>> resistance_share(load_ohm=8, loop_ohm=0.4)
    5.0
    """
    positive(load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return RESISTANCE_SHARE(load_ohm=load_ohm, loop_ohm=loop_ohm)


def longest_by_share_m(*, load_ohm: float, percent: float, ohm_per_m: float) -> float:
    """Return the longest one-way run whose loop is a share of the load [m].

    Source: loudspeaker wiring articles, cable at most 5 % of the impedance.
    Raises: ValueError if load, share or resistance is not above zero.

    >>> round(longest_by_share_m(load_ohm=8, percent=5, ohm_per_m=0.02))
    10
    """
    positive(load_ohm=load_ohm, percent=percent, ohm_per_m=ohm_per_m)
    return LONGEST_BY_SHARE(load_ohm=load_ohm, percent=percent, ohm_per_m=ohm_per_m)


def least_modulus_ohm(*, rated_ohm: float, percent: float) -> float:
    """Return the smallest impedance that a loudspeaker may show anywhere in its range [ohm].

    Source: IEC 60268-5, rated impedance; 80 % of it.
    Raises: ValueError if impedance or share is not above zero.

    >>> least_modulus_ohm(rated_ohm=8, percent=80)
    6.4
    """
    positive(rated_ohm=rated_ohm, percent=percent)
    return LEAST_MODULUS(rated_ohm=rated_ohm, percent=percent)


def _check_speakers(ohms: Sequence[float]) -> None:
    if not ohms:
        raise ValueError("a network without a loudspeaker has no impedance: ohms is []")
    each(positive, ohms=ohms)
