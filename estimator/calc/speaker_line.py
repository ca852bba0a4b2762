"""Loudspeaker lines: constant voltage with transformer taps, and low impedance.

The amplifier holds its volts, each loudspeaker is a fixed impedance at its place. Levels are
computed in volts and ohms; decibels are for display.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.conductor import pair_loop_ohm
from estimator.calc.formula import Expression
from estimator.calc.ladder import Load, solve
from estimator.units.rounding import over

TAP_OHM: Final = Expression("line_v ** 2 / tap_w")
TAP_AT: Final = Expression("marked_w * (line_v / marked_v) ** 2")
LOAD: Final = Expression("sumproduct(quantity, tap_w)")
LOSS: Final = Expression("-20 * log10(speaker_v / line_v)")
END_LOSS: Final = Expression("20 * log10(1 + loop_ohm / load_ohm)")
LOOP_FOR_LOSS: Final = Expression("load_ohm * (10 ** (limit_db / 20) - 1)")
LONGEST: Final = Expression("load_ohm * (10 ** (limit_db / 20) - 1) / (2 * ohm_per_m)")
AMPLIFIER_SHARE: Final = Expression("100 * load_w / amplifier_w")
DELIVERED: Final = Expression("load_ohm * (amplifier_v / (load_ohm + loop_ohm)) ** 2")
CABLE_WATTS: Final = Expression("loop_ohm * (amplifier_v / (load_ohm + loop_ohm)) ** 2")
GRID: Final = Expression("each_ohm * in_series / strings")
DAMPING: Final = Expression("load_ohm / (load_ohm / amplifier_damping + loop_ohm)")

WITHIN_RESERVE: Final = "within reserve"
USES_RESERVE: Final = "uses the reserve"
OVER_RATING: Final = "over rating"


@dataclass(frozen=True, kw_only=True, slots=True)
class Speaker:
    """One loudspeaker of a line and the cable that leads to it from the one before."""

    segment_m: float  # one way
    ohm: float  # its impedance on the line


@dataclass(frozen=True, kw_only=True, slots=True)
class Level:
    """What arrives at one loudspeaker."""

    volts: float
    watts: float
    loss_db: float


def tap_ohm(*, line_v: float, tap_w: float) -> float:
    """Return the impedance that a tap puts on its line [ohm]; the same for a line's whole load.

    Source: sound-system design manuals, Z = V²/P.
    Raises: ValueError if volts or watts are not above zero.

    >>> round(tap_ohm(line_v=70.7, tap_w=100), 2)
    49.98
    """
    positive(line_v=line_v, tap_w=tap_w)
    return TAP_OHM(line_v=line_v, tap_w=tap_w)


def tap_at_w(*, marked_w: float, marked_v: float, line_v: float) -> float:
    """Return what a tap takes on a line of other volts than it is marked for [W].

    Source: loudspeaker data sheets; power goes with the square of the volts.
    Raises: ValueError if a quantity is not above zero.

    >>> round(tap_at_w(marked_w=5, marked_v=70.7, line_v=100), 1)
    10.0
    """
    positive(marked_w=marked_w, marked_v=marked_v, line_v=line_v)
    return TAP_AT(marked_w=marked_w, marked_v=marked_v, line_v=line_v)


def load_w(*, quantity: Sequence[float], tap_w: Sequence[float]) -> float:
    """Return the load of a line [W], the sum of its taps.

    Source: sound-system design manuals, constant-voltage lines.
    Raises: ValueError if the two lists differ in length.

    >>> load_w(quantity=[1, 2], tap_w=[6, 10])
    26.0
    """
    return LOAD(quantity=quantity, tap_w=tap_w)


def line_levels(*, line_v: float, ohm_per_m: float, speakers: Sequence[Speaker]) -> tuple[Level, ...]:
    """Return what arrives at each loudspeaker of a line, in order from the amplifier.

    Method: ladder of fixed impedances, solved exactly from the far end.
    Source: Kirchhoff's laws; constant-voltage source.
    Raises: ValueError if volts or an impedance is not above zero.

    >>> [level] = line_levels(line_v=70, ohm_per_m=0.5, speakers=[Speaker(segment_m=10, ohm=60)])
    >>> round(level.volts, 6), round(level.loss_db, 3)
    (60.0, 1.339)
    """
    for speaker in speakers:
        positive(ohm=speaker.ohm)
    branch = [
        Load(loop_ohm=pair_loop_ohm(length_m=one.segment_m, ohm_per_m=ohm_per_m), conductance_s=1.0 / one.ohm)
        for one in speakers
    ]
    solution = solve(source_v=line_v, branches=[branch])
    places = () if solution is None else solution[0]
    return tuple(
        Level(
            volts=place.volts,
            watts=place.volts * place.load_a,
            loss_db=LOSS(speaker_v=place.volts, line_v=line_v),
        )
        for place in places
    )


def worst_level(levels: Sequence[Level]) -> int:
    """Return the place of the loudspeaker with the greatest loss, the first of equals.

    Source: the worst loudspeaker decides a line.
    Raises: ValueError if the line has no loudspeaker.
    """
    if not levels:
        raise ValueError("a line without a loudspeaker has no loss")
    return max(range(len(levels)), key=lambda place: levels[place].loss_db)


def end_loss_db(*, load_ohm: float, loop_ohm: float) -> float:
    """Return the level loss with the whole load at the end of the line [dB].

    Source: technical notes on constant-voltage lines; fixed-voltage source.
    Raises: ValueError if the load is not above zero.

    >>> round(end_loss_db(load_ohm=8, loop_ohm=0.5108), 3)
    0.538
    """
    positive(load_ohm=load_ohm)
    not_negative(loop_ohm=loop_ohm)
    return END_LOSS(load_ohm=load_ohm, loop_ohm=loop_ohm)


def loop_for_loss_ohm(*, load_ohm: float, limit_db: float) -> float:
    """Return the loop resistance that costs a load so much level [ohm].

    Source: NFPA 72-2025 speaker-circuit guidance, 0.05925 of the load for 0.5 dB.
    Raises: ValueError if the load is not above zero.

    >>> round(loop_for_loss_ohm(load_ohm=1, limit_db=0.5), 6)
    0.059254
    """
    positive(load_ohm=load_ohm)
    not_negative(limit_db=limit_db)
    return LOOP_FOR_LOSS(load_ohm=load_ohm, limit_db=limit_db)


def longest_m(*, load_ohm: float, limit_db: float, ohm_per_m: float) -> float:
    """Return the longest one-way run with the whole load at its end [m].

    Source: NFPA 72-2025 speaker-circuit guidance; listed fire-alarm audio manuals.
    Raises: ValueError if load or resistance is not above zero.

    >>> round(longest_m(load_ohm=625 / 30, limit_db=0.5, ohm_per_m=13 / 2 / 304.8) / 0.3048)
    95
    """
    positive(load_ohm=load_ohm, ohm_per_m=ohm_per_m)
    not_negative(limit_db=limit_db)
    return LONGEST(load_ohm=load_ohm, limit_db=limit_db, ohm_per_m=ohm_per_m)


def amplifier_share(*, load_w: float, amplifier_w: float) -> float:
    """Return the load as a share of the amplifier's rating [%].

    Source: amplifier makers' articles on choosing taps.
    Raises: ValueError if the rating is not above zero.

    >>> amplifier_share(load_w=24, amplifier_w=30)
    80.0
    """
    positive(amplifier_w=amplifier_w)
    not_negative(load_w=load_w)
    return AMPLIFIER_SHARE(load_w=load_w, amplifier_w=amplifier_w)


def amplifier_verdict(*, load_w: float, amplifier_w: float, most_percent: float) -> str:
    """Return the word for a load: within reserve, uses the reserve, or over rating.

    ``most_percent`` [%] is the share of the rating that leaves the reserve alone.
    Source: amplifier makers' articles, 80 % rule; a load may equal the rating.
    Raises: ValueError if the rating is not above zero.

    >>> amplifier_verdict(load_w=25, amplifier_w=30, most_percent=80)
    'uses the reserve'
    """
    share = amplifier_share(load_w=load_w, amplifier_w=amplifier_w)
    if over(share, 100.0):
        return OVER_RATING
    return USES_RESERVE if over(share, most_percent) else WITHIN_RESERVE


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


def _check_speakers(ohms: Sequence[float]) -> None:
    if not ohms:
        raise ValueError("a network without a loudspeaker has no impedance")
    for ohm in ohms:
        positive(ohm=ohm)
