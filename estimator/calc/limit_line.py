"""Limits of a balanced-pair link over frequency, and what adds up to them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, finite, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

NEXT_SUM: Final = Expression("-20 * log10(10 ** (-cable_db / 20) + connections * 10 ** (-connection_db / 20))")
POWER_SUM: Final = Expression("-10 * log10(10 ** (-first_db / 10) + 10 ** (-second_db / 10) + 10 ** (-third_db / 10))")
EXPECTED_LOSS: Final = Expression("cable_db_per_100m * length_m / 100 + connections * connection_db")
WARM_FACTOR: Final = Expression(
    "1 + low_per_k * (min(max(temperature_c, reference_c), knee_c) - reference_c)"
    " + high_per_k * max(temperature_c - knee_c, 0)"
)
WORST_RETURN_LOSS: Final = Expression(
    "-20 * log10(abs(cable_ohm ** 2 - system_ohm ** 2) / (cable_ohm ** 2 + system_ohm ** 2))"
)
MOST: Final = "max"
LEAST: Final = "min"


@dataclass(frozen=True, kw_only=True, slots=True)
class Segment:
    """One stretch of a limit line, over ``f_mhz``."""

    low_mhz: float
    high_mhz: float
    expression: Expression


@dataclass(frozen=True, kw_only=True, slots=True)
class LimitLine:
    """A limit over frequency: loss must not be above it, crosstalk loss not below it."""

    segments: tuple[Segment, ...]
    sense: str  # "max": pass at or below; "min": pass at or above
    cap_db: float | None = None  # bounds the expression from above
    floor_db: float | None = None  # bounds it from below


@dataclass(frozen=True, kw_only=True, slots=True)
class Worst:
    """The point of a sweep that lies nearest to its limit, or farthest beyond it."""

    frequency_mhz: float
    measured_db: float
    limit_db: float
    margin_db: float


def limit_line(
    *,
    low_mhz: Sequence[float],
    high_mhz: Sequence[float],
    expr: Sequence[str],
    sense: str = MOST,
    cap_db: float | None = None,
    floor_db: float | None = None,
) -> LimitLine:
    """Return a limit line from a table's columns: segments over frequency [MHz] in dB.

    Source: form of the limits in ANSI/TIA-568-C.2 clause 6.
    Raises: ValueError if the columns differ in length, the sense is unknown, a frequency is not above
    zero, or cap or floor is no number.

    >>> line = limit_line(low_mhz=[1, 20], high_mhz=[20, 100], expr=["17", "17 - 10*log10(f_mhz/20)"],
    ...     sense="min")
    >>> round(limit_db(line=line, frequency_mhz=100), 1)
    10.0
    """
    if sense not in (MOST, LEAST):
        raise ValueError(f"sense must be 'max' or 'min', not {sense!r}")
    each(positive, low_mhz=low_mhz, high_mhz=high_mhz)
    finite(**{name: value for name, value in (("cap_db", cap_db), ("floor_db", floor_db)) if value is not None})
    segments = tuple(
        Segment(low_mhz=low, high_mhz=high, expression=Expression(text))
        for low, high, text in zip(low_mhz, high_mhz, expr, strict=True)
    )
    return LimitLine(segments=segments, sense=sense, cap_db=cap_db, floor_db=floor_db)


def limit_db(*, line: LimitLine, frequency_mhz: float) -> float:
    """Return the limit at a frequency [dB]; where two stretches meet, the lower one decides.

    Source: form of the limits in ANSI/TIA-568-C.2 clause 6.
    Raises: ValueError if the frequency [MHz] is not above zero or lies outside the line.

    >>> line = limit_line(low_mhz=[1], high_mhz=[250], expr=["44.3 - 15*log10(f_mhz/100)"], cap_db=65.0)
    >>> limit_db(line=line, frequency_mhz=1), limit_db(line=line, frequency_mhz=100)
    (65.0, 44.3)
    """
    positive(frequency_mhz=frequency_mhz)
    for segment in line.segments:
        inside = not under(frequency_mhz, segment.low_mhz) and not over(frequency_mhz, segment.high_mhz)
        if inside:
            value = segment.expression(f_mhz=frequency_mhz)
            if line.cap_db is not None:
                value = min(value, line.cap_db)
            return value if line.floor_db is None else max(value, line.floor_db)
    spans = ", ".join(f"{s.low_mhz:g} to {s.high_mhz:g}" for s in line.segments)
    raise ValueError(f"frequency_mhz {frequency_mhz!r} is outside the limit line, which spans {spans}")


def margin_db(*, sense: str, measured_db: float, limit_db: float) -> float:
    """Return how far a measured value lies on the good side of its limit [dB].

    Source: ANSI/TIA-568-C.2, a positive margin passes.
    Raises: ValueError if the sense is neither 'max' nor 'min', or a value is not a number.

    >>> margin_db(sense="max", measured_db=20.0, limit_db=21.5)
    1.5
    """
    if sense not in (MOST, LEAST):
        raise ValueError(f"sense must be 'max' or 'min', not {sense!r}")
    finite(measured_db=measured_db, limit_db=limit_db)
    return limit_db - measured_db if sense == MOST else measured_db - limit_db


def judged_at(*, loss_db: float | None, below_loss_db: float | None) -> bool:
    """Tell whether a parameter is judged where its pair loses ``loss_db`` [dB].

    Where the pair loses less than ``below_loss_db`` [dB] it is recorded and not judged; a loss that
    nobody measured exempts nothing.
    Source: ANSI/TIA-568-C.2, return loss; ISO/IEC 11801.
    Raises: ValueError if a loss is not a number.

    >>> judged_at(loss_db=2.9, below_loss_db=3.0), judged_at(loss_db=3.0, below_loss_db=3.0)
    (False, True)
    """
    given = {"loss_db": loss_db, "below_loss_db": below_loss_db}
    finite(**{name: value for name, value in given.items() if value is not None})
    return loss_db is None or below_loss_db is None or not under(loss_db, below_loss_db)


def worst_point(
    *,
    line: LimitLine,
    points: Sequence[tuple[float, float]],
    losses_db: Sequence[float] | None = None,
    below_loss_db: float | None = None,
) -> Worst | None:
    """Return the worst margin of a sweep [dB] with its frequency; None where no point is judged.

    ``points`` are (frequency [MHz], measured [dB]), ``losses_db`` the pair's loss [dB] at each of
    them. The worst value may lie at another frequency than the worst margin.
    Source: ANSI/TIA-1152, worst margin over frequency; ANSI/TIA-568-C.2, low-loss exemption.
    Raises: ValueError if losses and points differ in number, one is no number, or a point lies outside the line.

    >>> line = limit_line(low_mhz=[1], high_mhz=[100], expr=["20 - 10*log10(f_mhz)"], sense="min")
    >>> worst_point(line=line, points=[(10, 12.0), (100, 1.5)]).frequency_mhz
    100
    """
    if losses_db is not None and len(losses_db) != len(points):
        raise ValueError(f"losses_db must hold a loss for each of {len(points)} points, not {list(losses_db)!r}")
    each(finite, losses_db=losses_db or ())
    for place, (frequency_mhz, measured_db) in enumerate(points):
        if not (math.isfinite(frequency_mhz) and math.isfinite(measured_db)):
            raise ValueError(f"points[{place}] must hold two finite numbers, not {(frequency_mhz, measured_db)!r}")
    worst: Worst | None = None
    known: Sequence[float | None] = losses_db if losses_db is not None else [None] * len(points)
    for (frequency_mhz, measured_db), loss_db in zip(points, known, strict=True):
        at_db = limit_db(line=line, frequency_mhz=frequency_mhz)
        margin = margin_db(sense=line.sense, measured_db=measured_db, limit_db=at_db)
        judged = judged_at(loss_db=loss_db, below_loss_db=below_loss_db)
        if judged and (worst is None or margin < worst.margin_db):
            worst = Worst(frequency_mhz=frequency_mhz, measured_db=measured_db, limit_db=at_db, margin_db=margin)
    return worst


def link_next_db(*, cable_db: float, connection_db: float, connections: int) -> float:
    """Return near-end crosstalk loss of a link from cable and near connections [dB].

    Volts add: a permanent link counts one connection, a channel two. Caps of the components
    stay out of the sum.
    Source: ANSI/TIA-568-C.2 clause 6, worst-case sum of cable and connecting hardware.
    Raises: ValueError if a value is not a number or there are fewer than no connections.

    >>> round(link_next_db(cable_db=44.3, connection_db=54, connections=2), 1)
    39.9
    """
    finite(cable_db=cable_db, connection_db=connection_db)
    not_negative(connections=connections)
    return NEXT_SUM(cable_db=cable_db, connection_db=connection_db, connections=connections)


def power_sum_db(*, losses_db: Sequence[float]) -> float:
    """Return the power sum of the three other pairs [dB].

    Source: ANSI/TIA-568-C.2, definition of power-sum crosstalk.
    Raises: ValueError if there are not three pair losses, or one is not a number.

    >>> round(power_sum_db(losses_db=[41.2, 44.6, 52.3]), 2)
    39.34
    """
    if len(losses_db) != 3:
        raise ValueError(f"losses_db must hold the three other pairs, not {list(losses_db)!r}")
    each(finite, losses_db=losses_db)
    first_db, second_db, third_db = losses_db
    return POWER_SUM(first_db=first_db, second_db=second_db, third_db=third_db)


def expected_loss_db(*, length_m: float, cable_db_per_100m: float, connections: int, connection_db: float) -> float:
    """Return the insertion loss that cable and connections of a link should show [dB].

    Source: ANSI/TIA-568-C.2 clause 6, sum of the components.
    Raises: ValueError if length, loss or connections are below zero.

    >>> round(expected_loss_db(length_m=45, cable_db_per_100m=19.8, connections=2, connection_db=0.2), 2)
    9.31
    """
    not_negative(
        length_m=length_m,
        cable_db_per_100m=cable_db_per_100m,
        connections=connections,
        connection_db=connection_db,
    )
    return EXPECTED_LOSS(
        length_m=length_m,
        cable_db_per_100m=cable_db_per_100m,
        connections=connections,
        connection_db=connection_db,
    )


def warm_factor(
    *, temperature_c: float, reference_c: float, knee_c: float, low_per_k: float, high_per_k: float
) -> float:
    """Return what insertion loss is multiplied by in the warm [unitless]; one when colder.

    ``low_per_k`` [1/K] counts up to the knee, ``high_per_k`` [1/K] is added beyond it.
    Source: ANSI/TIA-568-C.2 clause 6.4.7; that the two rates add is this house's reading.
    Raises: ValueError if a rate is below zero or a temperature is not a number.

    >>> round(warm_factor(temperature_c=60, reference_c=20, knee_c=40, low_per_k=0.004, high_per_k=0.006), 3)
    1.2
    """
    not_negative(low_per_k=low_per_k, high_per_k=high_per_k)
    finite(temperature_c=temperature_c, reference_c=reference_c, knee_c=knee_c)
    return WARM_FACTOR(
        temperature_c=temperature_c,
        reference_c=reference_c,
        knee_c=knee_c,
        low_per_k=low_per_k,
        high_per_k=high_per_k,
    )


def worst_return_loss_db(*, cable_ohm: float, system_ohm: float) -> float:
    """Return the least return loss of a lossless cable of another impedance [dB].

    The worst length is a quarter of the wave, where the cable turns the load into Z²/Z0.
    Source: transmission-line theory.
    Raises: ValueError if an impedance is not above zero, or both are the same.

    >>> round(worst_return_loss_db(cable_ohm=115, system_ohm=100), 2)
    17.15
    """
    positive(cable_ohm=cable_ohm, system_ohm=system_ohm)
    if cable_ohm == system_ohm:
        raise ValueError(f"cable_ohm {cable_ohm!r} matches the system: nothing is returned")
    return WORST_RETURN_LOSS(cable_ohm=cable_ohm, system_ohm=system_ohm)
