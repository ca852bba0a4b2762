"""Power over Ethernet: what a device gets at the end of its cable, and what the source gives.

The device is a constant-power load, so the current is the smaller root of a quadratic. It is
written with the root in the denominator: that form holds for a cable of no resistance too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, finite, not_negative, positive
from estimator.calc.conductor import four_pair_loop_ohm, pairset_loop_ohm
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

CURRENT: Final = Expression("2 * device_w / (source_v + sqrt(max(0, source_v ** 2 - 4 * loop_ohm * device_w)))")
DEVICE_VOLTS: Final = Expression("source_v - current_a * loop_ohm")
SOURCE_WATTS: Final = Expression("source_v * current_a")
CABLE_LOSS: Final = Expression("current_a ** 2 * loop_ohm")
GREATEST_LOAD: Final = Expression("source_v ** 2 / (4 * loop_ohm)")
CURRENT_FROM_SOURCE: Final = Expression("source_w / source_v")
CHANNEL_LOOP: Final = Expression("(source_v - device_v) / current_a")
BUDGET: Final = Expression("sumproduct(ports, watts)")
AMBIENT_FACTOR: Final = Expression("sqrt((rated_c - ambient_c) / (rated_c - table_ambient_c))")
HELD: Final = Expression("max(device_min_v, source_v / 2, source_v * device_w / source_w)")
MOST_LOOP: Final = Expression("(source_v - held_v) * held_v / device_w")
LONGEST_RUN: Final = Expression(
    "max(0, (source_v - held_v) * held_v / device_w * powered_pairs / (2 * ohm_per_m) - cords_m)"
)
MOST_CONDUCTOR: Final = Expression("most_loop_ohm * powered_pairs / (2 * length_m)")
TABLE_CURRENT: Final = Expression(
    "source_w / source_v / powered_pairs / sqrt((rated_c - ambient_c) / (rated_c - table_ambient_c))"
)

TWO_PAIRS: Final = 2
FOUR_PAIRS: Final = 4


@dataclass(frozen=True, kw_only=True, slots=True)
class Feed:
    """The electrical state of one powered port."""

    current_a: float  # of all powered pairs together
    device_v: float
    device_w: float
    source_w: float
    cable_loss_w: float


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerClass:
    """One class of the standard: what it allocates and what it promises."""

    number: int
    source_w: float  # the least that the source must be able to give
    device_w: float  # the most that the device may draw
    powered_pairs: int
    source_min_v: float
    device_min_v: float


def loop_ohm(*, length_m: float, ohm_per_m: float, powered_pairs: int) -> float:
    """Return the resistance of the power loop over two or four pairs [ohm].

    ``length_m`` counts the cords too; ``ohm_per_m`` is one conductor at its temperature.
    Source: IEEE 802.3 clauses 33 and 145, powered pairs; circuit theory.
    Raises: ValueError if length or resistance is below zero, or the powered pairs are neither 2 nor 4.

    >>> round(loop_ohm(length_m=100, ohm_per_m=0.0842151, powered_pairs=4), 3)
    4.211
    """
    _known(powered_pairs)
    if powered_pairs == TWO_PAIRS:
        return pairset_loop_ohm(length_m=length_m, ohm_per_m=ohm_per_m)
    return four_pair_loop_ohm(length_m=length_m, ohm_per_m=ohm_per_m)


def feed(*, source_v: float, loop_ohm: float, device_w: float) -> Feed | None:
    """Return current, volts and watts of a port, or None where the cable cannot carry the load.

    The largest load at the end of a loop is V²/4R; beyond it the quadratic has no solution.
    Source: IEEE 802.3 clauses 33 and 145, load at constant power; circuit theory.
    Raises: ValueError if the volts are not above zero, or a resistance or load is below zero.

    >>> feed(source_v=50, loop_ohm=12.5, device_w=25.5).device_v
    42.5
    >>> feed(source_v=50, loop_ohm=30, device_w=25.5) is None
    True
    """
    positive(source_v=source_v)
    not_negative(loop_ohm=loop_ohm, device_w=device_w)
    if loop_ohm > 0.0 and over(device_w, GREATEST_LOAD(source_v=source_v, loop_ohm=loop_ohm)):
        return None
    current_a = CURRENT(source_v=source_v, loop_ohm=loop_ohm, device_w=device_w)
    return Feed(
        current_a=current_a,
        device_v=DEVICE_VOLTS(source_v=source_v, current_a=current_a, loop_ohm=loop_ohm),
        device_w=device_w,
        source_w=SOURCE_WATTS(source_v=source_v, current_a=current_a),
        cable_loss_w=CABLE_LOSS(current_a=current_a, loop_ohm=loop_ohm),
    )


def fed_from_source(*, source_v: float, loop_ohm: float, source_w: float) -> Feed:
    """Return what arrives when the source gives a known number of watts, the class's worst case.

    Source: IEEE 802.3 clauses 33 and 145; I = P/V, and I²R stays in the cable.
    Raises: ValueError if the volts are not above zero, or all the watts would stay in the cable.

    >>> arrived = fed_from_source(source_v=44, loop_ohm=20, source_w=15.4)
    >>> round(arrived.device_w, 2), round(arrived.device_v, 1)
    (12.95, 37.0)
    """
    positive(source_v=source_v)
    not_negative(loop_ohm=loop_ohm, source_w=source_w)
    current_a = CURRENT_FROM_SOURCE(source_w=source_w, source_v=source_v)
    lost_w = CABLE_LOSS(current_a=current_a, loop_ohm=loop_ohm)
    if over(lost_w, source_w):
        raise ValueError(f"source_w {source_w!r} would all be lost in loop_ohm {loop_ohm!r}")
    return Feed(
        current_a=current_a,
        device_v=DEVICE_VOLTS(source_v=source_v, current_a=current_a, loop_ohm=loop_ohm),
        device_w=source_w - lost_w,
        source_w=source_w,
        cable_loss_w=lost_w,
    )


def channel_loop_ohm(*, source_v: float, device_v: float, current_a: float) -> float:
    """Return the loop that a type's volts and current imply [ohm].

    Source: IEEE 802.3 clauses 33 and 145; Ohm's law.
    Raises: ValueError if the volts or the current are not above zero, or the device has more volts than the source.

    >>> channel_loop_ohm(source_v=50, device_v=42.5, current_a=0.6)
    12.5
    """
    positive(source_v=source_v, device_v=device_v, current_a=current_a)
    if over(device_v, source_v):
        raise ValueError(f"device_v {device_v!r} is above source_v {source_v!r}")
    return CHANNEL_LOOP(source_v=source_v, device_v=device_v, current_a=current_a)


def conductor_current_a(*, current_a: float, powered_pairs: int) -> float:
    """Return the current in each conductor [A]: two or four of them share each way.

    Source: IEEE 802.3 clauses 33 and 145, powered pairs.
    Raises: ValueError if the current is below zero, or the powered pairs are neither 2 nor 4.

    >>> conductor_current_a(current_a=1.2, powered_pairs=4)
    0.3
    """
    not_negative(current_a=current_a)
    _known(powered_pairs)
    return current_a / powered_pairs


def pairset_current_a(*, current_a: float, powered_pairs: int) -> float:
    """Return the current of one pairset [A], which a type limits; four pairs are two of them.

    Source: IEEE 802.3 clauses 33 and 145, current per pairset.
    Raises: ValueError if the current is below zero, or the powered pairs are neither 2 nor 4.

    >>> pairset_current_a(current_a=1.2, powered_pairs=4)
    0.6
    """
    return TWO_PAIRS * conductor_current_a(current_a=current_a, powered_pairs=powered_pairs)


def held_v(*, source_v: float, device_w: float, device_min_v: float, source_w: float) -> float:
    """Return the volts under which a device no longer works as promised [V].

    Three things ask for volts: the device itself; half the source volts, below which no load is
    stable; and the port, which need give no more than its class's ``source_w``.
    Source: IEEE 802.3 clauses 33 and 145, class watts and device volts; circuit theory.
    Raises: ValueError if the source's volts or watts are not above zero, or another figure is below zero.

    >>> held_v(source_v=50, device_w=25.5, device_min_v=42.5, source_w=30)
    42.5
    >>> round(held_v(source_v=57, device_w=25.5, device_min_v=42.5, source_w=30), 2)
    48.45
    """
    positive(source_v=source_v, source_w=source_w)
    not_negative(device_w=device_w, device_min_v=device_min_v)
    return HELD(source_v=source_v, device_w=device_w, device_min_v=device_min_v, source_w=source_w)


def most_loop_ohm(*, source_v: float, device_w: float, device_min_v: float) -> float:
    """Return the largest loop at which the device still has its least volts [ohm].

    It is infinite for a load of nothing. Below half the source volts no load is stable, so
    a lower minimum asks for no more than half.
    Source: IEEE 802.3 clauses 33 and 145; circuit theory.
    Raises: ValueError if the source volts are not above the device's least.

    >>> most_loop_ohm(source_v=50, device_w=25.5, device_min_v=42.5)
    12.5
    """
    positive(source_v=source_v)
    not_negative(device_w=device_w, device_min_v=device_min_v)
    if not over(source_v, device_min_v):
        raise ValueError(f"source_v {source_v!r} is not above device_min_v {device_min_v!r}")
    if device_w == 0.0:
        return math.inf
    return MOST_LOOP(source_v=source_v, held_v=max(device_min_v, source_v / 2), device_w=device_w)


def longest_run_m(
    *, source_v: float, held_v: float, device_w: float, powered_pairs: int, ohm_per_m: float, cords_m: float = 0.0
) -> float:
    """Return the longest run over which a load still has its volts [m]; zero where none is short enough.

    ``cords_m`` are taken off: the run is what lies between them.
    Source: IEEE 802.3 clauses 33 and 145, powered pairs; circuit theory.
    Raises: ValueError if volts, load or conductor are not above zero, cords are below zero, or the
    powered pairs are neither 2 nor 4.

    >>> round(longest_run_m(source_v=50, held_v=42.5, device_w=25.5, powered_pairs=2, ohm_per_m=0.125), 9)
    100.0
    """
    positive(source_v=source_v, held_v=held_v, device_w=device_w, ohm_per_m=ohm_per_m)
    not_negative(cords_m=cords_m)
    _known(powered_pairs)
    return LONGEST_RUN(
        source_v=source_v,
        held_v=held_v,
        device_w=device_w,
        powered_pairs=powered_pairs,
        ohm_per_m=ohm_per_m,
        cords_m=cords_m,
    )


def most_ohm_per_m(*, most_loop_ohm: float, length_m: float, powered_pairs: int) -> float:
    """Return what one conductor may resist for a length to work [ohm/m]; ``length_m`` counts the cords too.

    Source: IEEE 802.3 clauses 33 and 145, powered pairs; circuit theory.
    Raises: ValueError if the loop or the length is not above zero, or the powered pairs are neither 2 nor 4.

    >>> most_ohm_per_m(most_loop_ohm=12.5, length_m=100, powered_pairs=2)
    0.125
    """
    positive(most_loop_ohm=most_loop_ohm, length_m=length_m)
    _known(powered_pairs)
    return MOST_CONDUCTOR(most_loop_ohm=most_loop_ohm, length_m=length_m, powered_pairs=powered_pairs)


def budget_w(*, ports: Sequence[float], watts: Sequence[float]) -> float:
    """Return what a switch must be able to give [W]: ports of each class times its watts.

    Source: IEEE 802.3 clauses 33 and 145, allocation by class.
    Raises: ValueError if a number of ports or watts is below zero, or the two lists differ in length.

    >>> round(budget_w(ports=[8, 12, 4], watts=[30, 15.4, 7]), 1)
    452.8
    """
    each(not_negative, ports=ports, watts=watts)
    return BUDGET(ports=ports, watts=watts)


def class_for(*, device_w: float, classes: Sequence[PowerClass]) -> PowerClass | None:
    """Return the first class, by the watts it allocates, that covers a draw; None if none does.

    Of two that allocate alike the higher number is taken: class 0 is what a device has that tells none.
    Source: IEEE 802.3 clauses 33 and 145, classification.
    Raises: ValueError if the draw is below zero.
    """
    not_negative(device_w=device_w)
    ranked = sorted(classes, key=lambda one: (one.source_w, -one.number))
    return next((one for one in ranked if not over(device_w, one.device_w)), None)


def ambient_factor(*, rated_c: float, ambient_c: float, table_ambient_c: float) -> float:
    """Return what a tabled ampacity is multiplied by at another ambient [unitless].

    Source: NFPA 70-2023, Equation 310.15(B)(1); that 725.144 takes the same one is memory.
    Raises: ValueError if a temperature is no number, or an ambient is not below the cable's rating.

    >>> round(ambient_factor(rated_c=60, ambient_c=45, table_ambient_c=30), 4)
    0.7071
    """
    finite(rated_c=rated_c, ambient_c=ambient_c, table_ambient_c=table_ambient_c)
    for name, value in (("ambient_c", ambient_c), ("table_ambient_c", table_ambient_c)):
        if not under(value, rated_c):
            raise ValueError(f"{name} {value!r} is not below rated_c {rated_c!r}")
    return AMBIENT_FACTOR(rated_c=rated_c, ambient_c=ambient_c, table_ambient_c=table_ambient_c)


def table_current_a(
    *,
    source_w: float,
    source_v: float,
    powered_pairs: int,
    rated_c: float,
    ambient_c: float,
    table_ambient_c: float,
) -> float:
    """Return what a code's table must allow each conductor of a bundle [A]: its current over the ambient factor.

    The current is the class's own at the source's least volts, the most that a sound port drives.
    Source: IEEE 802.3 clauses 33 and 145; NFPA 70-2023, Equation 310.15(B)(1).
    Raises: ValueError if watts are below zero, volts not above it, or an ambient is not below the rating.

    >>> round(table_current_a(source_w=90, source_v=52, powered_pairs=4, rated_c=60, ambient_c=45,
    ...     table_ambient_c=30), 4)
    0.6119
    """
    positive(source_v=source_v)
    not_negative(source_w=source_w)
    _known(powered_pairs)
    ambient_factor(rated_c=rated_c, ambient_c=ambient_c, table_ambient_c=table_ambient_c)
    return TABLE_CURRENT(
        source_w=source_w,
        source_v=source_v,
        powered_pairs=powered_pairs,
        rated_c=rated_c,
        ambient_c=ambient_c,
        table_ambient_c=table_ambient_c,
    )


def _known(powered_pairs: int) -> None:
    if powered_pairs not in (TWO_PAIRS, FOUR_PAIRS):
        raise ValueError(f"powered_pairs must be 2 or 4, not {powered_pairs!r}")
