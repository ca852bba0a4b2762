"""Bends, pull points, pull boxes, pulling tension and bend radius of a conduit run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from estimator.calc.formula import Expression
from estimator.units.rounding import over, round_up

TOTAL_BENDS: Final = Expression("sum(bends)")
"""Total of the bends between two pull points, offsets and kicks in it [degree]."""

PULL_POINTS: Final = Expression("max(1, ceil(bends / most_bends), ceil(length / longest)) - 1")
"""Pull points to be added so that no section is over the bends or the length [pieces]."""

LEAST_RADIUS: Final = Expression("multiple * diameter")
"""Least bend radius: a multiple of the conduit's inside or the cable's outside diameter [m]."""

STRAIGHT_BOX: Final = Expression("multiple * largest")
"""Length of a straight-through pull box, or spacing of entries of the same cable [m]."""

ANGLE_BOX: Final = Expression("multiple * largest + sum(others)")
"""Distance to the opposite wall of an angle or U pull, for one row of one wall [m]."""

STRAIGHT_TENSION: Final = Expression("tension_in + length * weight * friction")
"""Tension at the end of a straight level section [N]."""

BEND_TENSION: Final = Expression("tension_in * 2.718281828459045 ** (friction * angle_deg * 3.141592653589793 / 180)")
"""Tension at the end of a bend [N]."""

LONGEST_STRAIGHT: Final = Expression("tension_max / (friction * weight)")
"""Straight level length at which the tension reaches its limit [m]."""

SIDEWALL: Final = Expression("tension / radius")
"""Side-wall pressure: tension at a bend's exit over its inside radius [N/m]."""

SIDEWALL_RADIUS: Final = Expression("tension / sidewall_max")
"""Least inside radius that keeps the side-wall pressure within its limit [m]."""

INSIDE_RADIUS: Final = Expression("centerline_radius - inside_diameter / 2")
"""Inside radius of a bend from the radius of its centerline [m]."""

COPPER_TENSION: Final = Expression("tension_per_cmil * cmil * conductors")
"""Tension that copper conductors bear when they are pulled by an eye [N]."""

Finding = Literal["bends over the code", "bends over the design rule", "length over the design rule"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """One straight or bent part of a conduit run, in the direction of the pull."""

    length_m: float = 0.0
    bend_deg: float = 0.0


def total_bends(bends_deg: Sequence[float]) -> float:
    """Return the total of the bends between two pull points [degree].

    Equation: TOTAL_BENDS. Source: NFPA 70, 358.26 and like sections.
    Raises: ValueError for a bend below zero.
    """
    for bend in bends_deg:
        if not bend >= 0:
            raise ValueError(f"bend {bend!r} degrees is below zero")
    return TOTAL_BENDS(bends=bends_deg)


def pull_point_findings(
    *,
    bends_deg: float,
    length_m: float,
    code_bends_deg: float,
    design_bends_deg: float,
    design_length_m: float,
) -> tuple[Finding, ...]:
    """Return what speaks against a run between two pull points; nothing where it may stay.

    ``bends_deg`` [degree] and ``length_m`` [m] are the run's; over ``code_bends_deg`` [degree] it is
    refused, over ``design_bends_deg`` [degree] or ``design_length_m`` [m] warned of.
    Source: NFPA 70, 358.26 and like sections; ANSI/TIA-569 for the design rule.
    """
    findings: list[Finding] = []
    if over(bends_deg, code_bends_deg):
        findings.append("bends over the code")
    if over(bends_deg, design_bends_deg):
        findings.append("bends over the design rule")
    if over(length_m, design_length_m):
        findings.append("length over the design rule")
    return tuple(findings)


def third_bend_excused(
    *,
    bends_from_feed_m: Sequence[float],
    length_m: float,
    upsized: bool,
    feed_distance_m: float,
    short_run_m: float,
) -> bool:
    """Return whether one bend over the design rule may stay without less fill.

    It may where a bend lies within ``feed_distance_m`` [m] of the end the cable is fed from, where the
    run is no longer than ``short_run_m`` [m], or where the conduit is a trade size larger.
    Source: ANSI/TIA-569 and installer handbook.
    """
    near = any(not over(distance, feed_distance_m) for distance in bends_from_feed_m)
    return near or upsized or not over(length_m, short_run_m)


def added_pull_points(*, bends_deg: float, length_m: float, most_bends_deg: float, longest_m: float) -> int:
    """Return how many pull points a run needs between its ends [pieces].

    The run's bends [degree] and length [m] are shared out evenly over its sections.
    Equation: PULL_POINTS. Source: ANSI/TIA-569, two bends of 90 degrees or 100 ft between pull points.

    >>> added_pull_points(bends_deg=270, length_m=40.0, most_bends_deg=180, longest_m=30.48)
    1
    """
    return round_up(PULL_POINTS(bends=bends_deg, most_bends=most_bends_deg, length=length_m, longest=longest_m))


def conduit_radius(*, inside_m: float, small_multiple: float, large_multiple: float, small_up_to_m: float) -> float:
    """Return the least inside radius of a conduit's bend [m].

    ``inside_m`` [m] is its inside diameter; up to ``small_up_to_m`` [m] the smaller multiple holds.
    Equation: LEAST_RADIUS. Source: ANSI/TIA-569, six or ten inside diameters.
    """
    multiple = large_multiple if over(inside_m, small_up_to_m) else small_multiple
    return LEAST_RADIUS(multiple=multiple, diameter=inside_m)


def cable_radius(*, diameter_m: float, multiple: float) -> float:
    """Return the least bend radius of a cable [m].

    ``diameter_m`` [m] is its outside diameter. Equation: LEAST_RADIUS. Source: ANSI/TIA-568.0-D.

    >>> cable_radius(diameter_m=0.006, multiple=4)
    0.024
    """
    return LEAST_RADIUS(multiple=multiple, diameter=diameter_m)


def straight_box_length(*, largest_m: float, multiple: float) -> float:
    """Return the least length of a box for straight pulls [m].

    ``largest_m`` [m] is the largest raceway by trade size. Equation: STRAIGHT_BOX.
    Source: NFPA 70, 314.28(A)(1).
    """
    return STRAIGHT_BOX(multiple=multiple, largest=largest_m)


def angle_box_distance(*, rows_m: Sequence[Sequence[float]], multiple: float) -> float:
    """Return the least distance from a wall of raceways to the opposite wall, angle or U pull [m].

    ``rows_m`` [m] holds the raceways of that wall by trade size, row by row: each row is computed on
    its own and the largest result counts. Equation: ANGLE_BOX. Source: NFPA 70, 314.28(A)(2).
    Raises: ValueError if there is no raceway.
    """
    rows = [sorted(row, reverse=True) for row in rows_m if row]
    if not rows:
        raise ValueError(f"no raceway in rows {list(rows_m)!r}")
    return max(ANGLE_BOX(multiple=multiple, largest=row[0], others=row[1:]) for row in rows)


def tension_after(*, tension_in_n: float, section: Section, weight_n_per_m: float, friction: float) -> float:
    """Return the tension at the end of a section, its length before its bend [N].

    ``tension_in_n`` [N] at its start, ``weight_n_per_m`` [N/m] of all cables pulled together.
    Equations: STRAIGHT_TENSION, BEND_TENSION. Source: conduit construction manual.
    """
    straight = STRAIGHT_TENSION(
        tension_in=tension_in_n, length=section.length_m, weight=weight_n_per_m, friction=friction
    )
    return BEND_TENSION(tension_in=straight, friction=friction, angle_deg=section.bend_deg)


def tensions_along(
    sections: Sequence[Section], *, weight_n_per_m: float, friction: float, tension_in_n: float = 0.0
) -> tuple[float, ...]:
    """Return the tension at the end of each section of a pull [N].

    ``weight_n_per_m`` [N/m] of all cables, ``tension_in_n`` [N] at the feed. Pulled the other way, a
    run with bends gives other tensions: ask for both orders. Method: section by section.
    Source: conduit construction manual.
    Raises: ValueError if weight, friction or tension is below zero.
    """
    for name, value in (("weight", weight_n_per_m), ("friction", friction), ("tension", tension_in_n)):
        if not (math.isfinite(value) and value >= 0):
            raise ValueError(f"{name} {value!r} is not zero or more")
    tensions: list[float] = []
    for section in sections:
        before = tensions[-1] if tensions else tension_in_n
        tensions.append(
            tension_after(tension_in_n=before, section=section, weight_n_per_m=weight_n_per_m, friction=friction)
        )
    return tuple(tensions)


def longest_straight(*, tension_max_n: float, weight_n_per_m: float, friction: float) -> float:
    """Return the straight level length at which the tension reaches its limit [m].

    Limit [N], weight [N/m]. Equation: LONGEST_STRAIGHT. Source: wire technical guide.
    Raises: ValueError if weight or friction is not above zero.
    """
    if not (weight_n_per_m > 0 and friction > 0):
        raise ValueError(f"weight {weight_n_per_m!r} and friction {friction!r} must be above zero")
    return LONGEST_STRAIGHT(tension_max=tension_max_n, friction=friction, weight=weight_n_per_m)


def sidewall_pressure(*, tension_n: float, radius_m: float) -> float:
    """Return the side-wall pressure at the exit of a bend [N/m].

    Tension [N] there, inside radius [m]. Equation: SIDEWALL. Source: wire technical guide.
    Raises: ValueError if the radius is not above zero.
    """
    if not radius_m > 0:
        raise ValueError(f"radius {radius_m!r} is not above zero")
    return SIDEWALL(tension=tension_n, radius=radius_m)


def copper_tension(*, cmil: float, conductors: int, tension_per_cmil_n: float) -> float:
    """Return the tension that so many copper conductors bear when pulled by an eye [N].

    ``cmil`` is a conductor's circular mils, ``tension_per_cmil_n`` [N] what each of them bears.
    Equation: COPPER_TENSION. Source: wire technical guide.
    """
    return COPPER_TENSION(tension_per_cmil=tension_per_cmil_n, cmil=cmil, conductors=conductors)
