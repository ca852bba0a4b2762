"""Balanced-pair links: length and delay, skew, loop resistance and its unbalance, cords."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over

LIGHT_M_PER_S: Final = 299_792_458.0
"""Speed of light, exactly, by the definition of the meter."""

LENGTH: Final = Expression("nvp * light_m_per_s * delay_s")
DELAY: Final = Expression("length_m / (nvp * light_m_per_s)")
VELOCITY: Final = Expression("length_m / (delay_s * light_m_per_s)")
CORRECTED_LENGTH: Final = Expression("measured_m * true_nvp / set_nvp")
FIELD_LIMIT: Final = Expression("design_m * (1 + field_allowance)")
SKEW: Final = Expression("max(delays_s) - min(delays_s)")
PARALLEL: Final = Expression("first_ohm * second_ohm / (first_ohm + second_ohm)")
UNBALANCE: Final = Expression("100 * abs(first_ohm - second_ohm) / (first_ohm + second_ohm)")
UNBALANCE_ALLOWED: Final = Expression("max(percent / 100 * (first_ohm + second_ohm), floor_ohm)")
CORDS: Final = Expression("(base_m - horizontal_m) / (1 + derating)")
WORK_AREA_CORD: Final = Expression("max(0, min(cords_m - room_cords_m, most_m))")
HORIZONTAL: Final = Expression("max(0, min(base_m - cords_m * (1 + derating), whole_m - cords_m))")
WARM_LENGTH: Final = Expression("length_m / factor")

_NANOSECOND: Final = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class Unbalance:
    """Difference of two resistances against the larger of a percentage and a floor."""

    percent: float
    ohm: float
    allowed_ohm: float
    within: bool


def length_m(*, delay_s: float, nvp: float) -> float:
    """Return the length that a one-way delay stands for [m].

    ``nvp`` [unitless] is the velocity as a share of the speed of light.
    Source: definition of the nominal velocity of propagation.
    Raises: ValueError if the delay is below zero or the velocity not above zero.

    >>> round(length_m(delay_s=483.426e-9, nvp=0.69), 3)
    100.0
    """
    not_negative(delay_s=delay_s)
    positive(nvp=nvp)
    return LENGTH(nvp=nvp, light_m_per_s=LIGHT_M_PER_S, delay_s=delay_s)


def delay_s(*, length_m: float, nvp: float) -> float:
    """Return the one-way delay of a length [s].

    Source: definition of the nominal velocity of propagation.
    Raises: ValueError if the length is below zero or the velocity not above zero.

    >>> round(delay_s(length_m=100, nvp=0.69) * 1e9, 3)
    483.426
    """
    not_negative(length_m=length_m)
    positive(nvp=nvp)
    return DELAY(length_m=length_m, nvp=nvp, light_m_per_s=LIGHT_M_PER_S)


def velocity(*, length_m: float, delay_s: float) -> float:
    """Return the velocity that a known length and its delay show [share of light's].

    Source: definition of the nominal velocity of propagation.
    Raises: ValueError if length or delay is not above zero.

    >>> round(velocity(length_m=100, delay_s=545.4e-9), 3)
    0.612
    """
    positive(length_m=length_m, delay_s=delay_s)
    return VELOCITY(length_m=length_m, delay_s=delay_s, light_m_per_s=LIGHT_M_PER_S)


def corrected_length_m(*, measured_m: float, set_nvp: float, true_nvp: float) -> float:
    """Return the length an instrument would show with the right velocity set [m].

    Source: definition of the nominal velocity of propagation.
    Raises: ValueError if the length is below zero or a velocity not above zero.

    >>> round(corrected_length_m(measured_m=90, set_nvp=0.78, true_nvp=0.77), 2)
    88.85
    """
    not_negative(measured_m=measured_m)
    positive(set_nvp=set_nvp, true_nvp=true_nvp)
    return CORRECTED_LENGTH(measured_m=measured_m, set_nvp=set_nvp, true_nvp=true_nvp)


def field_limit_m(*, design_m: float, field_allowance: float) -> float:
    """Return the length up to which a measured link passes [m]; a design may not use it.

    ``field_allowance`` [unitless] covers the uncertainty of the velocity.
    Source: ANSI/TIA-1152 clause 2.3.1.
    Raises: ValueError if the design length is not above zero or the allowance below zero.

    >>> round(field_limit_m(design_m=90, field_allowance=0.1), 6)
    99.0
    """
    positive(design_m=design_m)
    not_negative(field_allowance=field_allowance)
    return FIELD_LIMIT(design_m=design_m, field_allowance=field_allowance)


def delay_limit_s(*, expression: Expression, frequency_mhz: float) -> float:
    """Return the propagation delay that a table's expression allows at a frequency [s].

    The table gives nanoseconds over ``f_mhz`` [MHz].
    Source: ANSI/TIA-568-C.2 clause 6.
    Raises: ValueError if the frequency is not above zero.

    >>> round(delay_limit_s(expression=Expression("534 + 36/sqrt(f_mhz)"), frequency_mhz=100) * 1e9, 1)
    537.6
    """
    positive(frequency_mhz=frequency_mhz)
    return expression(f_mhz=frequency_mhz) * _NANOSECOND


def skew_s(*, delays_s: Sequence[float]) -> float:
    """Return the difference of the slowest and the fastest pair of a cable [s].

    Source: ANSI/TIA-568-C.2 clause 6, delay skew.
    Raises: ValueError if there is no pair, or a delay is below zero.

    >>> round(skew_s(delays_s=[480e-9, 484e-9, 500e-9, 490e-9]) * 1e9, 6)
    20.0
    """
    if not delays_s:
        raise ValueError("delays_s must hold the delay of a pair")
    each(not_negative, delays_s=delays_s)
    return SKEW(delays_s=delays_s)


def parallel_ohm(*, first_ohm: float, second_ohm: float) -> float:
    """Return the resistance of a pair's two conductors side by side [ohm].

    Source: IEEE 802.3 clause 145, pair resistance for unbalance between pairs.
    Raises: ValueError if a resistance is not above zero.

    >>> round(parallel_ohm(first_ohm=8.9, second_ohm=8.6), 4)
    4.3737
    """
    positive(first_ohm=first_ohm, second_ohm=second_ohm)
    return PARALLEL(first_ohm=first_ohm, second_ohm=second_ohm)


def unbalance(*, first_ohm: float, second_ohm: float, percent: float, floor_ohm: float) -> Unbalance:
    """Return the unbalance of two resistances [% and ohm] and whether it is allowed.

    Two conductors of a pair, or two pairs by their parallel resistance; the greater of
    ``percent`` [%] of the sum and ``floor_ohm`` is allowed.
    Source: ANSI/TIA-568.2-D; ISO/IEC 11801-1.
    Raises: ValueError if a resistance is not above zero, or a limit below zero.

    >>> unbalance(first_ohm=0.62, second_ohm=0.58, percent=3, floor_ohm=0.2).within
    True
    """
    positive(first_ohm=first_ohm, second_ohm=second_ohm)
    not_negative(percent=percent, floor_ohm=floor_ohm)
    ohm = abs(first_ohm - second_ohm)
    allowed_ohm = UNBALANCE_ALLOWED(percent=percent, first_ohm=first_ohm, second_ohm=second_ohm, floor_ohm=floor_ohm)
    return Unbalance(
        percent=UNBALANCE(first_ohm=first_ohm, second_ohm=second_ohm),
        ohm=ohm,
        allowed_ohm=allowed_ohm,
        within=not over(ohm, allowed_ohm),
    )


def cords_m(*, horizontal_m: float, base_m: float, derating: float) -> float:
    """Return the cords that a shorter horizontal cable leaves room for [m], all together.

    ``derating`` [unitless] is how much more a cord loses than the cable.
    Source: ANSI/TIA-568-C.1, open-office cabling.
    Raises: ValueError if a length or the derating is below zero.

    >>> cords_m(horizontal_m=90, base_m=102, derating=0.2)
    10.0
    """
    not_negative(horizontal_m=horizontal_m, base_m=base_m, derating=derating)
    return max(0.0, CORDS(horizontal_m=horizontal_m, base_m=base_m, derating=derating))


def horizontal_m(*, cords_m: float, base_m: float, derating: float, whole_m: float) -> float:
    """Return the longest horizontal cable that cords of a length leave room for [m].

    ``derating`` [unitless] is how much more a cord loses than the cable, ``whole_m`` the length
    of the channel that no cord may lengthen.
    Source: ANSI/TIA-568-C.1, open-office cabling, solved for the horizontal cable.
    Raises: ValueError if a length or the derating is below zero.

    >>> horizontal_m(cords_m=15, base_m=102, derating=0.2, whole_m=100)
    84.0
    """
    not_negative(cords_m=cords_m, base_m=base_m, derating=derating, whole_m=whole_m)
    return HORIZONTAL(cords_m=cords_m, base_m=base_m, derating=derating, whole_m=whole_m)


def work_area_cord_m(*, cords_m: float, room_cords_m: float, most_m: float) -> float:
    """Return what is left of the cords for the work area [m].

    Source: ANSI/TIA-568-C.1, open-office cabling.
    Raises: ValueError if a length is below zero.

    >>> work_area_cord_m(cords_m=27, room_cords_m=5, most_m=22)
    22.0
    """
    not_negative(cords_m=cords_m, room_cords_m=room_cords_m, most_m=most_m)
    return WORK_AREA_CORD(cords_m=cords_m, room_cords_m=room_cords_m, most_m=most_m)


def warm_length_m(*, length_m: float, factor: float) -> float:
    """Return the length whose loss in the warm equals a length's at 20 °C [m].

    Source: ANSI/TIA-568-C.2 Annex G, from the loss factor of clause 6.4.7.
    Raises: ValueError if the factor is not above zero.

    >>> round(warm_length_m(length_m=90, factor=1.08), 1)
    83.3
    """
    not_negative(length_m=length_m)
    positive(factor=factor)
    return WARM_LENGTH(length_m=length_m, factor=factor)
