"""Copper conductors: gauge, resistance at a temperature, and what a pair or a pairset resists.

Three loops are told apart, because they differ by a factor of two each: one pair (there on one
conductor, back on the other), a pairset (two conductors in parallel each way, as two-pair power
uses them) and four pairs (four conductors each way).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import finite, not_negative, positive
from estimator.calc.formula import Expression

M_PER_KFT: Final = 304.8
"""Meters in a thousand feet, exactly."""

DIAMETER: Final = Expression("anchor_m * ratio ** ((anchor_awg - awg) / steps)")
AREA: Final = Expression("3.141592653589793 / 4 * diameter_m ** 2")
CORRECTION: Final = Expression("1 + coefficient_per_k * (temperature_c - reference_c)")
COEFFICIENT: Final = Expression("coefficient_per_k / (1 + coefficient_per_k * (temperature_c - reference_c))")
RESISTANCE: Final = Expression(
    "resistivity_ohm_m / area_m2 * (1 + coefficient_per_k * (temperature_c - reference_c)) * factor"
)
CORRECTED: Final = Expression("reference_ohm_per_m * (1 + coefficient_per_k * (temperature_c - reference_c)) * factor")
PAIR_LOOP: Final = Expression("2 * length_m * ohm_per_m")
PAIRSET_LOOP: Final = Expression("length_m * ohm_per_m")
FOUR_PAIR_LOOP: Final = Expression("length_m * ohm_per_m / 2")


@dataclass(frozen=True, kw_only=True, slots=True)
class Gauge:
    """The definition of a wire gauge: one anchored diameter and a constant ratio a step."""

    anchor_awg: float
    anchor_m: float  # diameter of the anchor size
    ratio: float  # of the largest to the smallest diameter that define the gauge
    steps: float  # sizes between those two


@dataclass(frozen=True, kw_only=True, slots=True)
class Metal:
    """A conductor metal at its reference temperature."""

    resistivity_ohm_m: float
    coefficient_per_k: float  # of resistance, taken at the reference temperature
    reference_c: float


def diameter_m(*, awg: int, gauge: Gauge) -> float:
    """Return the diameter of a solid wire [m].

    ``awg`` is the gauge number; 1/0 to 4/0 count as 0 to -3.
    Source: ASTM B258, definition of the nominal diameters.
    Raises: ValueError if the gauge is no number or its definition is not above zero.

    >>> awg = Gauge(anchor_awg=36, anchor_m=0.000127, ratio=92, steps=39)
    >>> round(diameter_m(awg=24, gauge=awg) * 1000, 4)
    0.5106
    """
    finite(awg=awg, anchor_awg=gauge.anchor_awg)
    positive(anchor_m=gauge.anchor_m, ratio=gauge.ratio, steps=gauge.steps)
    return DIAMETER(anchor_m=gauge.anchor_m, ratio=gauge.ratio, anchor_awg=gauge.anchor_awg, awg=awg, steps=gauge.steps)


def area_m2(*, diameter_m: float) -> float:
    """Return the cross-section of a round wire [m2].

    Source: geometry of the circle.
    Raises: ValueError if the diameter is not above zero.

    >>> round(area_m2(diameter_m=0.001) * 1e6, 4)
    0.7854
    """
    positive(diameter_m=diameter_m)
    return AREA(diameter_m=diameter_m)


def temperature_factor(*, temperature_c: float, reference_c: float, coefficient_per_k: float) -> float:
    """Return what a resistance is multiplied by at another temperature [unitless].

    The coefficient [1/K] is the one that belongs to the reference temperature.
    Source: IEC 60028, linear law of the resistance of copper.
    Raises: ValueError if the law leaves its range and the factor is not above zero.

    >>> round(temperature_factor(temperature_c=45, reference_c=20, coefficient_per_k=0.00393), 5)
    1.09825
    """
    finite(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)
    factor = CORRECTION(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)
    if factor <= 0.0:
        raise ValueError(f"temperature_c {temperature_c!r} is outside the linear law of resistance")
    return factor


def coefficient_at(*, temperature_c: float, reference_c: float, coefficient_per_k: float) -> float:
    """Return the temperature coefficient that belongs to another temperature [1/K].

    Source: IEC 60028, the same straight line taken from another reference.
    Raises: ValueError if the line leaves its range.

    >>> round(coefficient_at(temperature_c=75, reference_c=20, coefficient_per_k=0.00393), 5)
    0.00323
    """
    temperature_factor(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)
    return COEFFICIENT(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)


def solid_ohm_per_m(*, area_m2: float, metal: Metal, temperature_c: float, factor: float = 1.0) -> float:
    """Return the resistance of one conductor of a known section [ohm/m].

    ``factor`` [unitless] multiplies it: the lay of strands, or another metal's ratio to copper.
    Source: IEC 60028, resistivity and temperature coefficient.
    Raises: ValueError if section, resistivity or factor is not above zero.

    >>> copper = Metal(resistivity_ohm_m=1e-6 / 58, coefficient_per_k=0.00393, reference_c=20)
    >>> round(solid_ohm_per_m(area_m2=1e-6, metal=copper, temperature_c=20), 6)
    0.017241
    """
    positive(area_m2=area_m2, resistivity_ohm_m=metal.resistivity_ohm_m, factor=factor)
    temperature_factor(
        temperature_c=temperature_c, reference_c=metal.reference_c, coefficient_per_k=metal.coefficient_per_k
    )
    return RESISTANCE(
        resistivity_ohm_m=metal.resistivity_ohm_m,
        area_m2=area_m2,
        coefficient_per_k=metal.coefficient_per_k,
        temperature_c=temperature_c,
        reference_c=metal.reference_c,
        factor=factor,
    )


def gauge_ohm_per_m(*, awg: int, gauge: Gauge, metal: Metal, temperature_c: float, factor: float = 1.0) -> float:
    """Return the resistance of one conductor of a gauge at a temperature [ohm/m].

    Source: ASTM B258 for the section, IEC 60028 for the metal.
    Raises: ValueError as the two steps do.

    >>> wire = Gauge(anchor_awg=36, anchor_m=0.000127, ratio=92, steps=39)
    >>> copper = Metal(resistivity_ohm_m=1e-6 / 58, coefficient_per_k=0.00393, reference_c=20)
    >>> round(1000 * gauge_ohm_per_m(awg=24, gauge=wire, metal=copper, temperature_c=20), 4)
    84.2151
    """
    section = area_m2(diameter_m=diameter_m(awg=awg, gauge=gauge))
    return solid_ohm_per_m(area_m2=section, metal=metal, temperature_c=temperature_c, factor=factor)


def ohm_per_m_from_kft(*, ohm_per_kft: float) -> float:
    """Return a resistance that a table prints in ohm per 1000 ft [ohm/m].

    Source: the international foot, 0.3048 m.
    Raises: ValueError if the resistance is not above zero.

    >>> round(ohm_per_m_from_kft(ohm_per_kft=3.048), 9)
    0.01
    """
    positive(ohm_per_kft=ohm_per_kft)
    return ohm_per_kft / M_PER_KFT


def corrected_ohm_per_m(
    *,
    reference_ohm_per_m: float,
    temperature_c: float,
    reference_c: float,
    coefficient_per_k: float,
    factor: float = 1.0,
) -> float:
    """Return a tabled resistance at another temperature, and of another metal or lay [ohm/m].

    Source: NFPA 70, Chapter 9, Table 8, note 2, for the table's 75 °C values.
    Raises: ValueError if the resistance or the factor is not above zero.

    >>> at_75 = ohm_per_m_from_kft(ohm_per_kft=7.77)
    >>> round(304.8 * corrected_ohm_per_m(reference_ohm_per_m=at_75, temperature_c=20,
    ...     reference_c=75, coefficient_per_k=0.00323), 2)
    6.39
    """
    positive(reference_ohm_per_m=reference_ohm_per_m, factor=factor)
    temperature_factor(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)
    return CORRECTED(
        reference_ohm_per_m=reference_ohm_per_m,
        coefficient_per_k=coefficient_per_k,
        temperature_c=temperature_c,
        reference_c=reference_c,
        factor=factor,
    )


def pair_loop_ohm(*, length_m: float, ohm_per_m: float) -> float:
    """Return the loop of two conductors, there and back, over a one-way length [ohm].

    Source: circuit theory; what a meter reads on one pair with the far end shorted.
    Raises: ValueError if length or resistance is below zero.

    >>> round(pair_loop_ohm(length_m=100, ohm_per_m=0.0842151), 4)
    16.843
    """
    not_negative(length_m=length_m, ohm_per_m=ohm_per_m)
    return PAIR_LOOP(length_m=length_m, ohm_per_m=ohm_per_m)


def pairset_loop_ohm(*, length_m: float, ohm_per_m: float) -> float:
    """Return the loop of two-pair power, two conductors in parallel each way [ohm].

    Source: IEEE 802.3 clause 33, powered pairs of one Alternative; circuit theory.
    Raises: ValueError if length or resistance is below zero.

    >>> round(pairset_loop_ohm(length_m=100, ohm_per_m=0.0842151), 4)
    8.4215
    """
    not_negative(length_m=length_m, ohm_per_m=ohm_per_m)
    return PAIRSET_LOOP(length_m=length_m, ohm_per_m=ohm_per_m)


def four_pair_loop_ohm(*, length_m: float, ohm_per_m: float) -> float:
    """Return the loop of four-pair power, four conductors in parallel each way [ohm].

    Source: IEEE 802.3 clause 145, two pairsets in parallel; circuit theory.
    Raises: ValueError if length or resistance is below zero.

    >>> round(four_pair_loop_ohm(length_m=100, ohm_per_m=0.0842151), 4)
    4.2108
    """
    not_negative(length_m=length_m, ohm_per_m=ohm_per_m)
    return FOUR_PAIR_LOOP(length_m=length_m, ohm_per_m=ohm_per_m)
