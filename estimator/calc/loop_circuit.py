"""Supervised loops of an alarm system: initiating, signaling and notification wire as a control unit sees it.

A control unit watches its wire by a resistor at the end of the line, or talks to addressed devices
along it. Isolators stand in series with the wire; limits of resistance and of devices are those of
the unit's listing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression

LOOP: Final = Expression("wire_ohm + isolators_ohm")
WITH_RESISTOR: Final = Expression("loop_ohm + end_of_line_ohm")
LEAST_READ: Final = Expression("end_of_line_ohm * (1 - tolerance)")
MOST_READ: Final = Expression("end_of_line_ohm * (1 + tolerance) + loop_ohm")
LONGEST: Final = Expression("max(0, limit_ohm - isolators_ohm) / (2 * ohm_per_m)")


@dataclass(frozen=True, kw_only=True, slots=True)
class Band:
    """What an ohmmeter may read into a supervised circuit [ohm]."""

    least_ohm: float
    expected_ohm: float
    most_ohm: float


def loop_ohm(*, wire_ohm: float, isolators_ohm: float) -> float:
    """Return what a circuit resists with its far end joined [ohm].

    ``wire_ohm`` [ohm] is there and back, ``isolators_ohm`` [ohm] all isolators in series with it.
    Source: circuit theory, resistances in series.
    Raises: ValueError if a resistance is below zero.

    >>> loop_ohm(wire_ohm=12.5, isolators_ohm=1.5)
    14.0
    """
    not_negative(wire_ohm=wire_ohm, isolators_ohm=isolators_ohm)
    return LOOP(wire_ohm=wire_ohm, isolators_ohm=isolators_ohm)


def expected_at_unit(*, loop_ohm: float, end_of_line_ohm: float, tolerance: float) -> Band:
    """Return what an ohmmeter reads at the control unit with the end-of-line resistor in place [ohm].

    ``tolerance`` [share] is the resistor's. The least leaves the loop out, because wire that is shorter
    or colder than planned is no fault; the most has all of it.
    Source: circuit theory, resistances in series; tolerance as marked on the resistor.
    Raises: ValueError if a resistance is not possible, or the tolerance is not a share below one.

    >>> band = expected_at_unit(loop_ohm=20.0, end_of_line_ohm=10_000.0, tolerance=0.25)
    >>> band.least_ohm, band.expected_ohm, band.most_ohm
    (7500.0, 10020.0, 12520.0)
    """
    not_negative(loop_ohm=loop_ohm, tolerance=tolerance)
    positive(end_of_line_ohm=end_of_line_ohm)
    if tolerance >= 1.0:
        raise ValueError(f"tolerance must be a share below one, not {tolerance!r}")
    return Band(
        least_ohm=LEAST_READ(end_of_line_ohm=end_of_line_ohm, tolerance=tolerance),
        expected_ohm=WITH_RESISTOR(loop_ohm=loop_ohm, end_of_line_ohm=end_of_line_ohm),
        most_ohm=MOST_READ(end_of_line_ohm=end_of_line_ohm, tolerance=tolerance, loop_ohm=loop_ohm),
    )


def longest_loop_m(*, limit_ohm: float, ohm_per_m: float, isolators_ohm: float = 0.0) -> float:
    """Return the longest one-way run whose loop stays within a control unit's limit [m].

    ``limit_ohm`` [ohm] is the largest loop of the listing; what the isolators take isn't left for wire.
    Source: owner's manuals of listed control units, initiating circuit guide.
    Raises: ValueError if the conductor's resistance is not above zero, or another is below it.

    >>> round(longest_loop_m(limit_ohm=100, ohm_per_m=8.08 / 304.8) / 0.3048)
    6188
    """
    positive(ohm_per_m=ohm_per_m)
    not_negative(limit_ohm=limit_ohm, isolators_ohm=isolators_ohm)
    return LONGEST(limit_ohm=limit_ohm, ohm_per_m=ohm_per_m, isolators_ohm=isolators_ohm)
