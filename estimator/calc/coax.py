"""Coaxial links: loss at a frequency, loop resistance, return loss, composite video level."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from estimator.calc.checked import finite, not_negative, positive
from estimator.calc.conductor import M_PER_KFT
from estimator.calc.formula import Expression
from estimator.calc.interpolation import between

M_PER_100FT: Final = M_PER_KFT / 10
DB_PER_NEPER: Final = 20 / math.log(10)
"""Decibels of one neper, by the definitions of both."""

FITTED: Final = Expression("k1 * sqrt(frequency_mhz) + k2 * frequency_mhz")
LINE_LOSS: Final = Expression("db_per_100ft * length_m / m_per_100ft * factor")
WARM: Final = Expression("1 + coefficient_per_k * (temperature_c - reference_c)")
LOOP: Final = Expression("length_m * (center_ohm_per_m + shield_ohm_per_m)")
MODEL_LOOP: Final = Expression("2 * impedance_ohm * constant_db_per_100ft / db_per_neper / m_per_100ft")
MOST_LOOP: Final = Expression("length_m * most_ohm_per_m * (1 + tolerance) + leads_ohm")
LEVEL: Final = Expression("emf_vpp / (1 + source_ohm * loads / load_ohm) * 10 ** (-loss_db / 20)")
CAPACITANCE: Final = Expression("1 / (velocity * light_m_per_s * impedance_ohm)")
DISTANCE: Final = Expression("velocity * light_m_per_s * round_trip_s / 2")
REFLECTED: Final = Expression("10 ** (-return_loss_db / 20)")
VSWR: Final = Expression("(1 + reflected) / (1 - reflected)")
MISMATCH: Final = Expression("-20 * log10(abs(load_ohm - system_ohm) / (load_ohm + system_ohm))")


def table_loss_db(*, points: Sequence[tuple[float, float]], frequency_mhz: float) -> float:
    """Return the loss between two rows of a table [dB per length of the table].

    ``points`` are (frequency [MHz], loss [dB]); the line is straight over the root of the
    frequency, as the skin effect has it.
    Source: cable television practice; skin effect.
    Raises: ValueError if the frequency lies outside the table, or a row holds no frequency and loss.

    >>> round(table_loss_db(points=[(100, 1.0), (400, 2.0)], frequency_mhz=225), 6)
    1.5
    """
    positive(frequency_mhz=frequency_mhz)
    for place, (at_mhz, loss_db) in enumerate(points):
        if not (math.isfinite(at_mhz) and at_mhz > 0.0 and math.isfinite(loss_db) and loss_db >= 0.0):
            raise ValueError(f"points[{place}] must hold a frequency above zero and a loss, not {(at_mhz, loss_db)!r}")
    rooted = [(math.sqrt(frequency), loss) for frequency, loss in points]
    return between(points=rooted, at=math.sqrt(frequency_mhz))


def fitted_loss_db(*, k1: float, k2: float, frequency_mhz: float) -> float:
    """Return the loss from two coefficients [dB per 100 ft].

    Source: public transmission-line models, conductor and dielectric loss.
    Raises: ValueError if the frequency is not above zero, or a coefficient below zero.

    >>> round(fitted_loss_db(k1=0.319915, k2=0.001754, frequency_mhz=5) * 10, 2)
    7.24
    """
    positive(frequency_mhz=frequency_mhz)
    not_negative(k1=k1, k2=k2)
    return FITTED(k1=k1, k2=k2, frequency_mhz=frequency_mhz)


def warm_factor(*, temperature_c: float, reference_c: float, coefficient_per_k: float) -> float:
    """Return what loss is multiplied by at another temperature [unitless].

    Source: cable television technical tip, about 1 % per 10 °F.
    Raises: ValueError if the coefficient is below zero or a temperature is not a number.

    >>> round(warm_factor(temperature_c=37.7778, reference_c=20, coefficient_per_k=0.00198), 4)
    1.0352
    """
    not_negative(coefficient_per_k=coefficient_per_k)
    finite(temperature_c=temperature_c, reference_c=reference_c)
    return WARM(temperature_c=temperature_c, reference_c=reference_c, coefficient_per_k=coefficient_per_k)


def line_loss_db(*, db_per_100ft: float, length_m: float, factor: float = 1.0) -> float:
    """Return the loss of a run [dB].

    Source: loss is proportional to length.
    Raises: ValueError if loss or length is below zero, or the factor is not above zero.

    >>> round(line_loss_db(db_per_100ft=5.6, length_m=15.24), 6)
    2.8
    """
    not_negative(db_per_100ft=db_per_100ft, length_m=length_m)
    positive(factor=factor)
    return LINE_LOSS(db_per_100ft=db_per_100ft, length_m=length_m, m_per_100ft=M_PER_100FT, factor=factor)


def loop_ohm(*, length_m: float, center_ohm_per_m: float, shield_ohm_per_m: float) -> float:
    """Return what a meter reads into a shorted cable [ohm]: center and shield in series.

    Source: circuit theory.
    Raises: ValueError if length or resistance is below zero.

    >>> round(loop_ohm(length_m=100, center_ohm_per_m=0.021, shield_ohm_per_m=0.009), 6)
    3.0
    """
    not_negative(length_m=length_m, center_ohm_per_m=center_ohm_per_m, shield_ohm_per_m=shield_ohm_per_m)
    return LOOP(length_m=length_m, center_ohm_per_m=center_ohm_per_m, shield_ohm_per_m=shield_ohm_per_m)


def loop_ohm_per_m(*, constant_db_per_100ft: float, impedance_ohm: float) -> float:
    """Return center and shield together from the constant term of a loss model [ohm/m].

    That term is what direct current loses: half the resistance over the impedance, in nepers.
    Source: public transmission-line models, loss of a low-loss line.
    Raises: ValueError if the impedance is not above zero or the term is below zero.

    >>> round(loop_ohm_per_m(constant_db_per_100ft=0.042271, impedance_ohm=75) * 304.8, 1)
    7.3
    """
    positive(impedance_ohm=impedance_ohm)
    not_negative(constant_db_per_100ft=constant_db_per_100ft)
    return MODEL_LOOP(
        impedance_ohm=impedance_ohm,
        constant_db_per_100ft=constant_db_per_100ft,
        db_per_neper=DB_PER_NEPER,
        m_per_100ft=M_PER_100FT,
    )


def most_loop_ohm(*, length_m: float, most_ohm_per_m: float, tolerance: float, leads_ohm: float) -> float:
    """Return the largest loop that a sound cable of a length can show on a meter [ohm].

    ``most_ohm_per_m`` is center and shield together, ``tolerance`` [unitless] a share of it,
    ``leads_ohm`` what leads and adapters add.
    Source: circuit theory; the tolerance is a house rule.
    Raises: ValueError if a quantity is below zero.

    >>> round(most_loop_ohm(length_m=100, most_ohm_per_m=0.036, tolerance=0.15, leads_ohm=0.5), 3)
    4.64
    """
    not_negative(length_m=length_m, most_ohm_per_m=most_ohm_per_m, tolerance=tolerance, leads_ohm=leads_ohm)
    return MOST_LOOP(length_m=length_m, most_ohm_per_m=most_ohm_per_m, tolerance=tolerance, leads_ohm=leads_ohm)


def video_level_vpp(*, emf_vpp: float, source_ohm: float, loads: int, load_ohm: float, loss_db: float = 0.0) -> float:
    """Return the composite video level at the far end [V peak to peak].

    ``loads`` terminations of ``load_ohm`` hang on it; none where it is open or bridged by a
    high-impedance instrument.
    Source: matched-source model of EIA RS-170 video; line loss at the color subcarrier.
    Raises: ValueError if EMF or an impedance is not above zero, or loads or loss are below zero.

    >>> video_level_vpp(emf_vpp=2.0, source_ohm=75, loads=1, load_ohm=75)
    1.0
    """
    positive(emf_vpp=emf_vpp, source_ohm=source_ohm, load_ohm=load_ohm)
    not_negative(loads=loads, loss_db=loss_db)
    return LEVEL(emf_vpp=emf_vpp, source_ohm=source_ohm, loads=loads, load_ohm=load_ohm, loss_db=loss_db)


def nearest_state(*, level_vpp: float, expected_vpp: Mapping[str, float]) -> str:
    """Return the state whose expected level is nearest to a measured one, by ratio.

    ``expected_vpp`` [V peak to peak] is by state, line loss already taken off.
    Source: comparison of levels in decibels.
    Raises: ValueError if a level is not above zero or there is no state.

    >>> nearest_state(level_vpp=0.7, expected_vpp={"terminated": 1.0, "two_loads": 0.6667})
    'two_loads'
    """
    positive(level_vpp=level_vpp)
    if not expected_vpp:
        raise ValueError("expected_vpp must hold the level of a state")
    if not all(math.isfinite(level) and level > 0.0 for level in expected_vpp.values()):
        raise ValueError(f"expected_vpp must hold levels above zero, not {dict(expected_vpp)!r}")
    return min(expected_vpp, key=lambda state: abs(math.log(level_vpp / expected_vpp[state])))


def capacitance_f_per_m(*, velocity: float, impedance_ohm: float, light_m_per_s: float) -> float:
    """Return the capacitance of a cable from velocity and impedance [F/m].

    ``velocity`` is a share of light's.
    Source: transmission-line theory, C = 1/(v·Z0).
    Raises: ValueError if a quantity is not above zero.

    >>> round(capacitance_f_per_m(velocity=0.66, impedance_ohm=75, light_m_per_s=299792458.0) * 1e12, 1)
    67.4
    """
    positive(velocity=velocity, impedance_ohm=impedance_ohm, light_m_per_s=light_m_per_s)
    return CAPACITANCE(velocity=velocity, light_m_per_s=light_m_per_s, impedance_ohm=impedance_ohm)


def fault_distance_m(*, velocity: float, round_trip_s: float, light_m_per_s: float) -> float:
    """Return how far away a reflection comes from [m].

    Source: time-domain reflectometry, half the round trip at the cable's velocity.
    Raises: ValueError if the velocity is not above zero or the time below zero.

    >>> round(fault_distance_m(velocity=0.66, round_trip_s=1e-6, light_m_per_s=299792458.0), 1)
    98.9
    """
    positive(velocity=velocity, light_m_per_s=light_m_per_s)
    not_negative(round_trip_s=round_trip_s)
    return DISTANCE(velocity=velocity, light_m_per_s=light_m_per_s, round_trip_s=round_trip_s)


def vswr(*, return_loss_db: float) -> float:
    """Return the standing-wave ratio of a return loss [unitless].

    Source: transmission-line theory.
    Raises: ValueError if the return loss is not above zero.

    >>> round(vswr(return_loss_db=20), 3)
    1.222
    """
    positive(return_loss_db=return_loss_db)
    return VSWR(reflected=REFLECTED(return_loss_db=return_loss_db))


def mismatch_return_loss_db(*, load_ohm: float, system_ohm: float) -> float:
    """Return the return loss of a load of another impedance [dB]; infinite for the same one.

    Source: transmission-line theory.
    Raises: ValueError if an impedance is not above zero.

    >>> round(mismatch_return_loss_db(load_ohm=50, system_ohm=75), 2)
    13.98
    """
    positive(load_ohm=load_ohm, system_ohm=system_ohm)
    return math.inf if load_ohm == system_ohm else MISMATCH(load_ohm=load_ohm, system_ohm=system_ohm)
