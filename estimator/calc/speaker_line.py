"""Constant-voltage loudspeaker lines with transformer taps, and the amplifiers that drive them.

The amplifier holds its volts, each loudspeaker is a fixed impedance at its place. Levels are
computed in volts and ohms; decibels are for display.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.conductor import pair_loop_ohm
from estimator.calc.formula import Expression
from estimator.calc.ladder import Load, solve
from estimator.units.rounding import over, round_down

TAP_OHM: Final = Expression("line_v ** 2 / tap_w")
TAP_AT: Final = Expression("marked_w * (line_v / marked_v) ** 2")
LOAD: Final = Expression("sumproduct(quantity, tap_w)")
LOSS: Final = Expression("-20 * log10(speaker_v / line_v)")
END_LOSS: Final = Expression("20 * log10(1 + loop_ohm / load_ohm)")
LOOP_FOR_LOSS: Final = Expression("load_ohm * (10 ** (limit_db / 20) - 1)")
LONGEST: Final = Expression("load_ohm * (10 ** (limit_db / 20) - 1) / (2 * ohm_per_m)")
HOME_RUN: Final = Expression("line_ohm * (worst_share * 10 ** (limit_db / 20) - 1) / (2 * ohm_per_m)")
LOOP_FOR_SHARE: Final = Expression("load_ohm * percent / (100 - percent)")
VOLTS_LOST: Final = Expression("100 * (1 - 10 ** (-loss_db / 20))")
AMPLIFIER_SHARE: Final = Expression("100 * load_w / amplifier_w")
LEAST_RATING: Final = Expression("100 * load_w / most_percent")
RATING_ON_TOP: Final = Expression("load_w * times")
TAP_EACH: Final = Expression("amplifier_w * most_percent / 100 / count")

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
    Raises: ValueError if the two lists differ in length, or a number is below zero.

    >>> load_w(quantity=[1, 2], tap_w=[6, 10])
    26.0
    """
    each(not_negative, quantity=quantity, tap_w=tap_w)
    return LOAD(quantity=quantity, tap_w=tap_w)


def line_levels(*, line_v: float, ohm_per_m: float, speakers: Sequence[Speaker]) -> tuple[Level, ...]:
    """Return what arrives at each loudspeaker of a line, in order from the amplifier.

    Method: ladder of fixed impedances, solved exactly from the far end.
    Source: Kirchhoff's laws; constant-voltage source.
    Raises: ValueError if volts or an impedance is not above zero, or a resistance or length below it.

    >>> [level] = line_levels(line_v=70, ohm_per_m=0.5, speakers=[Speaker(segment_m=10, ohm=60)])
    >>> round(level.volts, 6), round(level.loss_db, 3)
    (60.0, 1.339)
    """
    positive(line_v=line_v)
    not_negative(ohm_per_m=ohm_per_m)
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


def seen_ohm(*, line_v: float, levels: Sequence[Level]) -> float:
    """Return the impedance of a line with its cable, as the amplifier sees it [ohm].

    ``levels`` are what arrives at each loudspeaker; the amplifier holds ``line_v`` [V].
    Source: Ohm's law; what an impedance meter reads at the amplifier's end.
    Raises: ValueError if volts are not above zero, or the line has no loudspeaker.

    >>> levels = line_levels(line_v=70, ohm_per_m=0.5, speakers=[Speaker(segment_m=10, ohm=60)])
    >>> round(seen_ohm(line_v=70, levels=levels), 6)
    70.0
    """
    positive(line_v=line_v)
    worst_level(levels)
    return line_v / math.fsum(level.watts / level.volts for level in levels)


def home_run_m(*, line_ohm: float, worst_share: float, limit_db: float, ohm_per_m: float) -> float:
    """Return how much the cable to a line's first loudspeaker may still grow [m]; below zero, how much it is too long.

    ``line_ohm`` [ohm] is the line as the amplifier sees it now, ``worst_share`` [unitless] the part of
    the volts that reaches the worst loudspeaker. Fixed impedances divide the volts in the same shares
    whatever reaches the first, so that the added cable only has the whole line to feed.
    Source: Kirchhoff's laws; constant-voltage source.
    Raises: ValueError if a quantity is not above zero.

    >>> round(home_run_m(line_ohm=60, worst_share=1.0, limit_db=1.3389, ohm_per_m=0.5), 2)
    10.0
    """
    positive(line_ohm=line_ohm, worst_share=worst_share, limit_db=limit_db, ohm_per_m=ohm_per_m)
    return HOME_RUN(line_ohm=line_ohm, worst_share=worst_share, limit_db=limit_db, ohm_per_m=ohm_per_m)


def loop_for_share_ohm(*, load_ohm: float, percent: float) -> float:
    """Return the loop resistance that takes a share [%] of the volts, and of the watts, from a load [ohm].

    Source: technical note on loss in 70 V and 100 V lines, share of the power that stays in the cable.
    Raises: ValueError if the load is not above zero or the share is not from 0 to below 100.

    >>> round(loop_for_share_ohm(load_ohm=100, percent=10), 2)
    11.11
    """
    positive(load_ohm=load_ohm)
    not_negative(percent=percent)
    if not percent < 100:
        raise ValueError(f"percent must be below 100, not {percent!r}")
    return LOOP_FOR_SHARE(load_ohm=load_ohm, percent=percent)


def volts_lost(*, loss_db: float) -> float:
    """Return the share of the line's volts behind a level loss [%].

    Source: definition of the decibel; the source holds its volts.
    Raises: ValueError if the loss is below zero.

    >>> round(volts_lost(loss_db=3.0), 1)
    29.2
    """
    not_negative(loss_db=loss_db)
    return VOLTS_LOST(loss_db=loss_db)


def least_rating_w(*, load_w: float, most_percent: float) -> float:
    """Return the smallest rating of which a load is at most a share [W].

    ``most_percent`` [%] is the share of the rating that leaves the reserve alone.
    Source: amplifier makers' articles, load at most 80 % of the rating.
    Raises: ValueError if the share is not above zero or the load is below it.

    >>> least_rating_w(load_w=100, most_percent=80)
    125.0
    """
    positive(most_percent=most_percent)
    not_negative(load_w=load_w)
    return LEAST_RATING(load_w=load_w, most_percent=most_percent)


def rating_on_top_w(*, load_w: float, times: float) -> float:
    """Return the rating with a reserve put on top of the load [W].

    ``times`` [unitless] is 1.2 for a fifth on top, another convention than a share of the rating.
    Source: loudspeaker maker's installation manual.
    Raises: ValueError if the factor is not above zero or the load is below it.

    >>> rating_on_top_w(load_w=100, times=1.2)
    120.0
    """
    positive(times=times)
    not_negative(load_w=load_w)
    return RATING_ON_TOP(load_w=load_w, times=times)


def tap_each_w(*, amplifier_w: float, most_percent: float, count: int) -> float:
    """Return the largest equal tap of so many loudspeakers on an amplifier [W].

    Source: loudspeaker supplier's note on 25 and 70 V systems.
    Raises: ValueError if rating, share or count is not above zero.

    >>> tap_each_w(amplifier_w=50, most_percent=100, count=10)
    5.0
    """
    positive(amplifier_w=amplifier_w, most_percent=most_percent, count=count)
    return TAP_EACH(amplifier_w=amplifier_w, most_percent=most_percent, count=count)


def most_speakers(*, amplifier_w: float, most_percent: float, tap_w: float) -> int:
    """Return how many loudspeakers of one tap an amplifier carries [count].

    Source: amplifier maker's article on choosing taps.
    Raises: ValueError if rating, share or tap is not above zero.

    >>> most_speakers(amplifier_w=30, most_percent=80, tap_w=5)
    4
    """
    positive(amplifier_w=amplifier_w, most_percent=most_percent, tap_w=tap_w)
    return round_down(amplifier_w * most_percent / 100 / tap_w)


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
    Raises: ValueError if the rating or the share is not above zero.

    >>> amplifier_verdict(load_w=25, amplifier_w=30, most_percent=80)
    'uses the reserve'
    """
    positive(most_percent=most_percent)
    share = amplifier_share(load_w=load_w, amplifier_w=amplifier_w)
    if over(share, 100.0):
        return OVER_RATING
    return USES_RESERVE if over(share, most_percent) else WITHIN_RESERVE
