"""Direct-current circuits: notification appliances, locks, cameras, each load at its place.

Distances are one way, resistances are those of one conductor, so that every drop counts twice
the length. Point to point is a ladder; end of line treats all the current as drawn at the far end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import finite, not_negative, positive
from estimator.calc.conductor import pair_loop_ohm
from estimator.calc.formula import Expression
from estimator.calc.ladder import Load, Place, Solution, solve
from estimator.units.rounding import over

DROP: Final = Expression("2 * length_m * ohm_per_m * current_a")
END_OF_LINE: Final = Expression("source_v - total_a * (source_ohm + 2 * length_m * ohm_per_m)")
PERCENT_DROP: Final = Expression("100 * (source_v - end_v) / source_v")
START: Final = Expression("source_v - total_a * source_ohm")
RUN: Final = Expression("length_m * largest_ohm_per_m / ohm_per_m")
LONGEST: Final = Expression("(source_v - total_a * source_ohm - minimum_v) / (total_a * 2 * ohm_per_m)")
CONSTANT_POWER: Final = Expression("(source_v + sqrt(max(0, source_v ** 2 - 4 * loop_ohm * power_w))) / 2")
GREATEST_POWER: Final = Expression("source_v ** 2 / (4 * loop_ohm)")

Works = Callable[[float], bool]
"""Whether a line works with one conductor's resistance [ohm/m]."""

_HALVINGS: Final = 60  # beyond the digits that a comparison keeps
_MOST_DOUBLED: Final = 2.0**20


@dataclass(frozen=True, kw_only=True, slots=True)
class Tap:
    """One device on a circuit and the cable that leads to it from the one before."""

    segment_m: float  # one way
    current_a: float = 0.0
    power_w: float = 0.0
    minimum_v: float = 0.0
    series_ohm: float = 0.0  # in its wire, such as an isolator


@dataclass(frozen=True, kw_only=True, slots=True)
class Voltages:
    """The state of a whole circuit, its devices in their order from the source."""

    places: tuple[Place, ...]
    total_a: float
    worst: int  # the device with the least volts above its own minimum, the first of equals
    margin_v: float  # of that device


@dataclass(frozen=True, kw_only=True, slots=True)
class Opening:
    """A class A circuit with its loop opened at the worst wire."""

    wire: int  # 0 is the wire to the first device, one after the last is the return
    voltages: Voltages | None  # None where the loads cannot be fed


def drop_v(*, length_m: float, ohm_per_m: float, current_a: float) -> float:
    """Return the volts lost in both conductors of a run [V].

    Source: Ohm's law; NFPA 70, Chapter 9, Table 8 is the usual resistance.
    Raises: ValueError if length, resistance or current is below zero.

    >>> round(drop_v(length_m=30.48, ohm_per_m=4.99 / 304.8, current_a=4), 3)
    3.992
    """
    not_negative(length_m=length_m, ohm_per_m=ohm_per_m, current_a=current_a)
    return DROP(length_m=length_m, ohm_per_m=ohm_per_m, current_a=current_a)


def percent_drop(*, source_v: float, end_v: float) -> float:
    """Return a drop as a share of the source's volts [%].

    Source: the usual definition of percent voltage drop.
    Raises: ValueError if the source's volts are not above zero, or the end's are no number.

    >>> percent_drop(source_v=24, end_v=18)
    25.0
    """
    positive(source_v=source_v)
    finite(end_v=end_v)
    return PERCENT_DROP(source_v=source_v, end_v=end_v)


def start_v(*, source_v: float, total_a: float, source_ohm: float) -> float:
    """Return the volts that a sagging source still has at its terminals [V].

    ``source_ohm`` is the sag of the listing in volts per ampere.
    Source: installation manuals of listed control units, equation method.
    Raises: ValueError if the source's volts are not above zero, or current or sag is below it.

    >>> start_v(source_v=20.4, total_a=2.0, source_ohm=0.2)
    20.0
    """
    positive(source_v=source_v)
    not_negative(total_a=total_a, source_ohm=source_ohm)
    return START(source_v=source_v, total_a=total_a, source_ohm=source_ohm)


def end_of_line_v(
    *, source_v: float, total_a: float, length_m: float, ohm_per_m: float, source_ohm: float = 0.0
) -> float:
    """Return the volts at the far end with all current drawn there [V].

    Source: NFPA 72 practice, lumped-load method; never above the point-to-point result.
    Raises: ValueError if the source's volts are not above zero, or current, length or resistance is below it.

    >>> round(end_of_line_v(source_v=20.4, total_a=0.523, length_m=0.99, ohm_per_m=1), 6)
    19.36446
    """
    positive(source_v=source_v)
    not_negative(total_a=total_a, length_m=length_m, ohm_per_m=ohm_per_m, source_ohm=source_ohm)
    return END_OF_LINE(
        source_v=source_v, total_a=total_a, length_m=length_m, ohm_per_m=ohm_per_m, source_ohm=source_ohm
    )


def constant_power_v(*, source_v: float, loop_ohm: float, power_w: float) -> float | None:
    """Return the volts at a load that holds its watts [V], or None where it cannot start.

    Source: circuit theory, the higher root of V² - Vs·V + R·P = 0.
    Raises: ValueError if the source's volts are not above zero.

    >>> round(constant_power_v(source_v=12, loop_ohm=2.554, power_w=6), 3)
    10.547
    """
    positive(source_v=source_v)
    not_negative(loop_ohm=loop_ohm, power_w=power_w)
    if loop_ohm > 0.0 and over(power_w, GREATEST_POWER(source_v=source_v, loop_ohm=loop_ohm)):
        return None
    return CONSTANT_POWER(source_v=source_v, loop_ohm=loop_ohm, power_w=power_w)


def longest_m(*, source_v: float, minimum_v: float, total_a: float, ohm_per_m: float, source_ohm: float = 0.0) -> float:
    """Return the longest one-way run with all current at its end [m]; infinite without a current.

    It is zero where the sagging source has less than the minimum already.
    Source: installation manuals of listed control units, equation method.
    Raises: ValueError if source or resistance is not above zero, or minimum, current or sag is below it.

    >>> round(longest_m(source_v=20.4, minimum_v=16, total_a=2, ohm_per_m=3.07 / 304.8) / 0.3048, 1)
    358.3
    """
    positive(source_v=source_v, ohm_per_m=ohm_per_m)
    not_negative(minimum_v=minimum_v, total_a=total_a, source_ohm=source_ohm)
    if total_a == 0.0:
        return math.inf
    length_m = LONGEST(
        source_v=source_v, minimum_v=minimum_v, total_a=total_a, ohm_per_m=ohm_per_m, source_ohm=source_ohm
    )
    return max(0.0, length_m)


def smallest_gauge(*, ohm_per_m: Mapping[int, float], works: Works) -> int | None:
    """Return the thinnest gauge whose resistance works, or None if none of them does.

    ``ohm_per_m`` [ohm/m] is by gauge number; ``works`` is asked with one resistance at a time.
    Source: selection among the stocked gauges, thinnest first.
    Raises: ValueError if a resistance is not above zero.

    >>> smallest_gauge(ohm_per_m={18: 0.021, 16: 0.013, 14: 0.008}, works=lambda ohm: ohm < 0.015)
    16
    """
    if not all(math.isfinite(ohm) and ohm > 0.0 for ohm in ohm_per_m.values()):
        raise ValueError(f"ohm_per_m of each gauge must be above zero, not {dict(ohm_per_m)!r}")
    by_resistance = sorted(ohm_per_m.items(), key=lambda one: -one[1])
    return next((awg for awg, ohm in by_resistance if works(ohm)), None)


def point_to_point(
    *, source_v: float, ohm_per_m: float, taps: Sequence[Tap], source_ohm: float = 0.0
) -> Voltages | None:
    """Return the volts at each device in its place, or None where the loads cannot be fed.

    Method: ladder, exact for constant currents, Newton for constant power.
    Source: NFPA 72 practice, point-to-point method; Kirchhoff's laws.
    Raises: ValueError if there is no device, or a quantity is impossible.
    """
    if not taps:
        raise ValueError("a circuit without a device has no volts to judge")
    branch = [_load(tap, tap.segment_m, tap.series_ohm, ohm_per_m) for tap in taps]
    solution = solve(source_v=source_v, branches=[branch], source_ohm=source_ohm)
    return None if solution is None else _judged(solution[0], taps)


def end_of_line(*, source_v: float, ohm_per_m: float, taps: Sequence[Tap], source_ohm: float = 0.0) -> Voltages | None:
    """Return the state with every load moved to the far end, against the highest minimum.

    Method: ladder of one place, exact for constant currents, Newton for constant power.
    Source: NFPA 72 practice, lumped-load method.
    Raises: ValueError if there is no device, or a quantity is impossible.
    """
    lumped = Tap(
        segment_m=math.fsum(tap.segment_m for tap in taps),
        current_a=math.fsum(tap.current_a for tap in taps),
        power_w=math.fsum(tap.power_w for tap in taps),
        minimum_v=max((tap.minimum_v for tap in taps), default=0.0),
        series_ohm=math.fsum(tap.series_ohm for tap in taps),
    )
    return point_to_point(source_v=source_v, ohm_per_m=ohm_per_m, taps=[lumped] if taps else [], source_ohm=source_ohm)


def class_a_opened(
    *,
    source_v: float,
    ohm_per_m: float,
    taps: Sequence[Tap],
    return_m: float,
    wire: int,
    source_ohm: float = 0.0,
) -> Opening:
    """Return a class A loop with one wire open, fed from both ends.

    ``return_m`` [m] leads from the last device back to the source, one way. Method: ladder of
    two branches.
    Source: NFPA 72 chapter 12, class A works past one open; Kirchhoff's laws.
    Raises: ValueError if there is no device or no such wire, or a quantity is impossible.
    """
    if not 0 <= wire <= len(taps) or not taps:
        raise ValueError(f"wire {wire!r} is not one of 0 to {len(taps)} of a loop with a device")
    not_negative(return_m=return_m)
    segments_m = [*(tap.segment_m for tap in taps), return_m]
    series_ohm = [*(tap.series_ohm for tap in taps), 0.0]
    out = [_load(tap, segments_m[i], series_ohm[i], ohm_per_m) for i, tap in enumerate(taps[:wire])]
    back = [_load(taps[i], segments_m[i + 1], series_ohm[i + 1], ohm_per_m) for i in range(len(taps) - 1, wire - 1, -1)]
    solution = solve(source_v=source_v, branches=[out, back], source_ohm=source_ohm)
    return Opening(wire=wire, voltages=None if solution is None else _judged(_in_order(solution), taps))


def class_a_worst(
    *, source_v: float, ohm_per_m: float, taps: Sequence[Tap], return_m: float, source_ohm: float = 0.0
) -> Opening:
    """Return the opening of a class A loop that leaves a device the least volts over its minimum.

    Every wire is opened in turn; one whose loads cannot be fed is the worst of all.
    Source: NFPA 72 chapter 12, class A works past one open.
    Raises: ValueError if there is no device, or a quantity is impossible.
    """
    if not taps:
        raise ValueError("a circuit without a device has no volts to judge")
    openings = [
        class_a_opened(
            source_v=source_v,
            ohm_per_m=ohm_per_m,
            taps=taps,
            return_m=return_m,
            wire=wire,
            source_ohm=source_ohm,
        )
        for wire in range(len(taps) + 1)
    ]
    return min(openings, key=lambda one: -math.inf if one.voltages is None else one.voltages.margin_v)


def greatest_loop_ohm(
    *, source_v: float, minimum_v: float, current_a: float = 0.0, power_w: float = 0.0, source_ohm: float = 0.0
) -> float:
    """Return the largest loop over which a single device still gets its minimum [ohm]; infinite without a load.

    A load that holds its watts can't be fed beyond the loop that leaves it the turning volts, half of the
    source's where no constant current flows beside. Zero where the source has less than the minimum.
    Source: circuit theory, maximum of V (Vs - V) / (I V + P) over the volts allowed.
    Raises: ValueError if the source's volts are not above zero, or minimum, load or sag is below it.

    >>> round(greatest_loop_ohm(source_v=20.4, minimum_v=16, current_a=2, source_ohm=0.2), 9)
    2.0
    """
    positive(source_v=source_v)
    not_negative(minimum_v=minimum_v, current_a=current_a, power_w=power_w, source_ohm=source_ohm)
    if current_a == 0.0 and power_w == 0.0:
        return math.inf
    turning_v = 0.0
    if power_w > 0.0:
        turning_v = source_v * power_w / (power_w + math.sqrt(power_w * (power_w + current_a * source_v)))
    end_v = max(minimum_v, turning_v)
    drawn_a = current_a + (power_w / end_v if power_w > 0.0 else 0.0)
    return max(0.0, (source_v - end_v) / drawn_a - source_ohm)


def largest_ohm_per_m(*, works: Works, start_ohm_per_m: float) -> float | None:
    """Return the largest resistance of one conductor with which a line works [ohm/m], or None where none does.

    It is infinite where a million times ``start_ohm_per_m`` [ohm/m] still works. ``works`` is asked with
    one resistance at a time and never works again once it did not. Method: doubling, then halving.
    Source: bisection; more resistance never raises a voltage.
    Raises: ValueError if the resistance to start from is not above zero.

    >>> round(largest_ohm_per_m(works=lambda ohm: 20.4 - 2 * 2 * 100 * ohm >= 16, start_ohm_per_m=0.01), 9)
    0.011
    """
    positive(start_ohm_per_m=start_ohm_per_m)
    if not works(0.0):
        return None
    low, high = 0.0, start_ohm_per_m
    while works(high):
        low, high = high, 2.0 * high
        if high > _MOST_DOUBLED * start_ohm_per_m:
            return math.inf
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if works(middle) else (low, middle)
    return low


def longest_run_m(*, length_m: float, ohm_per_m: float, largest_ohm_per_m: float) -> float:
    """Return how long a line may be with all its distances in proportion [m].

    ``largest_ohm_per_m`` [ohm/m] is what it works with at ``length_m`` [m], ``ohm_per_m`` [ohm/m] what
    its wire has: the volts hang on their product with the length alone.
    Source: Ohm's law; installation manuals of listed control units, equation method.
    Raises: ValueError if length or largest resistance is below zero, or the wire's is not above it.

    >>> longest_run_m(length_m=100, ohm_per_m=0.01, largest_ohm_per_m=0.015)
    150.0
    """
    not_negative(length_m=length_m, largest_ohm_per_m=largest_ohm_per_m)
    positive(ohm_per_m=ohm_per_m)
    return RUN(length_m=length_m, ohm_per_m=ohm_per_m, largest_ohm_per_m=largest_ohm_per_m)


def _load(tap: Tap, segment_m: float, series_ohm: float, ohm_per_m: float) -> Load:
    not_negative(minimum_v=tap.minimum_v)
    loop_ohm = pair_loop_ohm(length_m=segment_m, ohm_per_m=ohm_per_m) + series_ohm
    return Load(loop_ohm=loop_ohm, current_a=tap.current_a, power_w=tap.power_w)


def _in_order(solution: Solution) -> tuple[Place, ...]:
    out, back = solution
    return out + tuple(reversed(back))


def _judged(places: tuple[Place, ...], taps: Sequence[Tap]) -> Voltages:
    margins = [place.volts - tap.minimum_v for place, tap in zip(places, taps, strict=True)]
    worst = min(range(len(margins)), key=margins.__getitem__)
    return Voltages(
        places=places,
        total_a=math.fsum(place.load_a for place in places),
        worst=worst,
        margin_v=margins[worst],
    )
