"""Bends, pull points, pull boxes, pulling tension and bend radius of a conduit run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from estimator.calc.checked import each, not_negative, positive
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

BOX_WIDTH: Final = Expression("width + more_width * (conduits - 1)")
"""Width of a straight-through box with so many conduits side by side [m]."""

STRAIGHT_TENSION: Final = Expression("tension_in + length * weight * friction")
"""Tension at the end of a straight level section [N]."""

BEND_TENSION: Final = Expression("tension_in * 2.718281828459045 ** (friction * angle_deg * 3.141592653589793 / 180)")
"""Tension at the end of a bend [N]."""

WORST_TENSION: Final = Expression(
    "(length * friction + rise) * weight * 2.718281828459045 ** (friction * bends_deg * 3.141592653589793 / 180)"
)
"""Tension at the end of a run whose bends all lie at the pulled end, its rise pulled upward [N]."""

LONGEST_STRAIGHT: Final = Expression("tension_max / (friction * weight)")
"""Straight level length at which the tension reaches its limit [m]."""

SHARED_TENSION: Final = Expression("tension * cable_weight / weight")
"""Part of a pull's tension that one of its cables bears, by its weight [N]."""

SIDEWALL: Final = Expression("tension / radius")
"""Side-wall pressure: tension at a bend's exit over its inside radius [N/m]."""

SIDEWALL_RADIUS: Final = Expression("tension / sidewall_max")
"""Least inside radius that keeps the side-wall pressure within its limit [m]."""

INSIDE_RADIUS: Final = Expression("centerline_radius - inside_diameter / 2")
"""Inside radius of a bend from the radius of its centerline [m]."""

COPPER_TENSION: Final = Expression("tension_per_cmil * cmil * conductors")
"""Tension that copper conductors bear when they are pulled by an eye [N]."""

Finding = Literal["bends over the code", "bends over the design rule", "length over the design rule"]
Excuse = Literal["a bend lies near the feed", "the run is short", "the conduit is a trade size larger"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """One part of a conduit run in the direction of the pull: its length [m], then its bend [degree]."""

    length_m: float = 0.0
    bend_deg: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Bend:
    """A bend of a run: how far it lies from the run's start [m], and its angle [degree]."""

    at_m: float
    angle_deg: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Pull:
    """A run pulled one way: the tension at its end [N], the highest at a bend's exit [N]."""

    tension_n: float
    at_bend_n: float


def total_bends(bends_deg: Sequence[float]) -> float:
    """Return the total of the bends between two pull points [degree].

    ``bends_deg`` [degree]. Equation: TOTAL_BENDS. Source: NFPA 70, 358.26 and like sections.
    Raises: ValueError for a bend below zero.
    """
    each(not_negative, bends_deg=bends_deg)
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
    Raises: ValueError if bends or length are below zero, or a limit is not above it.
    """
    not_negative(bends_deg=bends_deg, length_m=length_m)
    positive(code_bends_deg=code_bends_deg, design_bends_deg=design_bends_deg, design_length_m=design_length_m)
    findings: list[Finding] = []
    if over(bends_deg, code_bends_deg):
        findings.append("bends over the code")
    if over(bends_deg, design_bends_deg):
        findings.append("bends over the design rule")
    if over(length_m, design_length_m):
        findings.append("length over the design rule")
    return tuple(findings)


def third_bend_excuse(
    *,
    bends_from_feed_m: Sequence[float],
    length_m: float,
    upsized: bool,
    feed_distance_m: float,
    short_run_m: float,
) -> Excuse | None:
    """Return why a third bend may stay without less fill, or None where nothing excuses it.

    It may where a bend lies within ``feed_distance_m`` [m] of the end the cable is fed from, where the
    run of ``length_m`` [m] is no longer than ``short_run_m`` [m], or where the conduit is a trade size
    larger. ``bends_from_feed_m`` [m] holds each bend's distance from that end.
    Source: ANSI/TIA-569 and installer handbook.
    Raises: ValueError if a length or distance is below zero.
    """
    each(not_negative, bends_from_feed_m=bends_from_feed_m)
    not_negative(length_m=length_m, feed_distance_m=feed_distance_m, short_run_m=short_run_m)
    if any(not over(distance, feed_distance_m) for distance in bends_from_feed_m):
        return "a bend lies near the feed"
    if not over(length_m, short_run_m):
        return "the run is short"
    return "the conduit is a trade size larger" if upsized else None


def added_pull_points(*, bends_deg: float, length_m: float, most_bends_deg: float, longest_m: float) -> int:
    """Return how many pull points a run needs between its ends [pieces].

    The run's ``bends_deg`` [degree] and ``length_m`` [m] are shared out evenly over its sections, of
    which none may be over ``most_bends_deg`` [degree] or ``longest_m`` [m].
    Equation: PULL_POINTS. Source: ANSI/TIA-569, two bends of 90 degrees or 100 ft between pull points.
    Raises: ValueError if bends or length are below zero, or a limit is not above it.

    >>> added_pull_points(bends_deg=270, length_m=40.0, most_bends_deg=180, longest_m=30.48)
    1
    """
    not_negative(bends_deg=bends_deg, length_m=length_m)
    positive(most_bends_deg=most_bends_deg, longest_m=longest_m)
    return round_up(PULL_POINTS(bends=bends_deg, most_bends=most_bends_deg, length=length_m, longest=longest_m))


def conduit_radius(*, inside_m: float, small_multiple: float, large_multiple: float, small_up_to_m: float) -> float:
    """Return the least inside radius of a conduit's bend [m].

    ``inside_m`` [m] is its inside diameter; up to ``small_up_to_m`` [m] the ``small_multiple`` [unitless]
    holds, above it the ``large_multiple`` [unitless]. Equation: LEAST_RADIUS.
    Source: ANSI/TIA-569, six or ten inside diameters.
    Raises: ValueError if a number is not above zero.
    """
    positive(
        inside_m=inside_m, small_multiple=small_multiple, large_multiple=large_multiple, small_up_to_m=small_up_to_m
    )
    multiple = large_multiple if over(inside_m, small_up_to_m) else small_multiple
    return LEAST_RADIUS(multiple=multiple, diameter=inside_m)


def inside_radius(*, centerline_radius_m: float, inside_m: float) -> float:
    """Return the inside radius of a bend [m].

    ``centerline_radius_m`` [m] as benders and sweeps are listed, ``inside_m`` [m] the conduit's inside
    diameter. Equation: INSIDE_RADIUS. Source: cable-pulling text, as a wire technical guide quotes it.
    Raises: ValueError if a number is not above zero, or the bend would close on itself.
    """
    positive(centerline_radius_m=centerline_radius_m, inside_m=inside_m)
    radius_m = INSIDE_RADIUS(centerline_radius=centerline_radius_m, inside_diameter=inside_m)
    if not over(radius_m, 0.0):
        raise ValueError(f"centerline_radius_m {centerline_radius_m!r} is within the conduit of {inside_m!r} m")
    return radius_m


def cable_radius(*, diameter_m: float, multiple: float) -> float:
    """Return the least bend radius of a cable [m].

    ``diameter_m`` [m] is its outside diameter, ``multiple`` [unitless] how many of them.
    Equation: LEAST_RADIUS. Source: ANSI/TIA-568.0-D.
    Raises: ValueError if a number is not above zero.

    >>> cable_radius(diameter_m=0.006, multiple=4)
    0.024
    """
    positive(diameter_m=diameter_m, multiple=multiple)
    return LEAST_RADIUS(multiple=multiple, diameter=diameter_m)


def straight_box_length(*, largest_m: float, multiple: float) -> float:
    """Return the least length of a box for straight pulls [m].

    ``largest_m`` [m] is the largest raceway by trade size, ``multiple`` [unitless] how many of it.
    Equation: STRAIGHT_BOX. Source: NFPA 70, 314.28(A)(1).
    Raises: ValueError if a number is not above zero.
    """
    positive(largest_m=largest_m, multiple=multiple)
    return STRAIGHT_BOX(multiple=multiple, largest=largest_m)


def angle_box_distance(*, rows_m: Sequence[Sequence[float]], multiple: float) -> float:
    """Return the least distance from a wall of raceways to the opposite wall, angle or U pull [m].

    ``rows_m`` [m] holds the raceways of that wall by trade size, row by row: each row is computed on
    its own and the largest result counts. ``multiple`` [unitless] of its largest one.
    Equation: ANGLE_BOX. Source: NFPA 70, 314.28(A)(2).
    Raises: ValueError if there is no raceway, or a number is not above zero.
    """
    positive(multiple=multiple)
    rows = [sorted(row, reverse=True) for row in rows_m if row]
    if not rows:
        raise ValueError(f"rows_m has no raceway in {list(rows_m)!r}")
    for row in rows_m:
        each(positive, rows_m=row)
    return max(ANGLE_BOX(multiple=multiple, largest=row[0], others=row[1:]) for row in rows)


def box_width(*, width_m: float, more_width_m: float, conduits: int) -> float:
    """Return the width of a straight-through box with conduits side by side [m].

    ``width_m`` [m] for one, ``more_width_m`` [m] for each further of ``conduits`` [pieces].
    Equation: BOX_WIDTH. Source: TIA/EIA-569-A, Table 4.4-2.
    Raises: ValueError if a number is not above zero.
    """
    positive(width_m=width_m, more_width_m=more_width_m, conduits=conduits)
    return BOX_WIDTH(width=width_m, more_width=more_width_m, conduits=conduits)


def tension_after(*, tension_in_n: float, section: Section, weight_n_per_m: float, friction: float) -> float:
    """Return the tension at the end of a section, its length before its bend [N].

    ``tension_in_n`` [N] at its start, ``weight_n_per_m`` [N/m] of all cables pulled together,
    ``friction`` [unitless]. Equations: STRAIGHT_TENSION, BEND_TENSION.
    Source: conduit construction manual.
    Raises: ValueError if a number is below zero.
    """
    not_negative(tension_in_n=tension_in_n, weight_n_per_m=weight_n_per_m, friction=friction)
    straight = STRAIGHT_TENSION(
        tension_in=tension_in_n, length=section.length_m, weight=weight_n_per_m, friction=friction
    )
    return BEND_TENSION(tension_in=straight, friction=friction, angle_deg=section.bend_deg)


def tensions_along(
    sections: Sequence[Section], *, weight_n_per_m: float, friction: float, tension_in_n: float = 0.0
) -> tuple[float, ...]:
    """Return the tension at the end of each section of a pull [N].

    ``weight_n_per_m`` [N/m] of all cables, ``friction`` [unitless], ``tension_in_n`` [N] at the feed.
    Method: section by section. Source: conduit construction manual.
    Raises: ValueError if weight, friction or tension is below zero.
    """
    tensions: list[float] = []
    for section in sections:
        before = tensions[-1] if tensions else tension_in_n
        tensions.append(
            tension_after(tension_in_n=before, section=section, weight_n_per_m=weight_n_per_m, friction=friction)
        )
    return tuple(tensions)


def sections_of(*, length_m: float, bends: Sequence[Bend]) -> tuple[Section, ...]:
    """Return a run cut at its bends, from its start on; what follows the last bend comes last.

    ``length_m`` [m] of the run. Source: geometry of the run.
    Raises: ValueError if the length is below zero or a bend lies outside the run.
    """
    not_negative(length_m=length_m)
    sections: list[Section] = []
    passed_m = 0.0
    for bend in sorted(bends, key=lambda bend: bend.at_m):
        not_negative(at_m=bend.at_m, angle_deg=bend.angle_deg)
        if over(bend.at_m, length_m):
            raise ValueError(f"a bend at {bend.at_m!r} m lies beyond length_m {length_m!r}")
        sections.append(Section(length_m=bend.at_m - passed_m, bend_deg=bend.angle_deg))
        passed_m = bend.at_m
    return (*sections, Section(length_m=max(0.0, length_m - passed_m)))


def pull_both_ways(
    *, length_m: float, rise_m: float, bends: Sequence[Bend], weight_n_per_m: float, friction: float
) -> tuple[Pull, Pull]:
    """Return the pull from the run's start and the pull from its end, in that order [N].

    ``length_m`` [m] along which the bends lie; a further ``rise_m`` [m] is counted as pulled upward before
    the first bend, the worst place for it. ``weight_n_per_m`` [N/m] of all cables, ``friction`` [unitless].
    Method: section by section, both ways. Source: conduit construction manual.
    Raises: ValueError if a number is below zero or a bend lies outside the run.
    """
    not_negative(rise_m=rise_m, weight_n_per_m=weight_n_per_m)
    turned = [Bend(at_m=max(0.0, length_m - bend.at_m), angle_deg=bend.angle_deg) for bend in bends]
    pulls: list[Pull] = []
    for order in (bends, turned):
        sections = sections_of(length_m=length_m, bends=order)
        lifted_n = rise_m * weight_n_per_m
        tensions = tensions_along(sections, weight_n_per_m=weight_n_per_m, friction=friction, tension_in_n=lifted_n)
        at_bends = [n for n, section in zip(tensions, sections, strict=True) if section.bend_deg > 0]
        pulls.append(Pull(tension_n=tensions[-1], at_bend_n=max(at_bends, default=0.0)))
    return pulls[0], pulls[1]


def worst_tension(*, length_m: float, rise_m: float, bends_deg: float, weight_n_per_m: float, friction: float) -> float:
    """Return the tension at the end of a run whose bends' places are not known [N].

    ``length_m`` [m] and ``bends_deg`` [degree] of the run, all of them counted at the pulled end, where
    they cost most; ``rise_m`` [m] counted as pulled upward; ``weight_n_per_m`` [N/m] of all cables,
    ``friction`` [unitless]. Equation: WORST_TENSION. Source: conduit construction manual.
    Raises: ValueError if a number is below zero.
    """
    not_negative(
        length_m=length_m, rise_m=rise_m, bends_deg=bends_deg, weight_n_per_m=weight_n_per_m, friction=friction
    )
    return WORST_TENSION(length=length_m, rise=rise_m, bends_deg=bends_deg, weight=weight_n_per_m, friction=friction)


def shared_tension(*, tension_n: float, cable_weight_n_per_m: float, weight_n_per_m: float) -> float:
    """Return the part of a pull's tension that one of its cables bears [N].

    ``tension_n`` [N] of all cables; each bears it by its own weight [N/m] in ``weight_n_per_m`` [N/m] of
    all, which is the tension it would have alone. Equation: SHARED_TENSION.
    Source: section formulas of a conduit construction manual, which are proportional to the weight.
    Raises: ValueError if the weight of all is not above zero, or another number is below it.
    """
    not_negative(tension_n=tension_n, cable_weight_n_per_m=cable_weight_n_per_m)
    positive(weight_n_per_m=weight_n_per_m)
    return SHARED_TENSION(tension=tension_n, cable_weight=cable_weight_n_per_m, weight=weight_n_per_m)


def longest_straight(*, tension_max_n: float, weight_n_per_m: float, friction: float) -> float:
    """Return the straight level length at which the tension reaches its limit [m].

    Limit [N], weight [N/m], ``friction`` [unitless]. Equation: LONGEST_STRAIGHT.
    Source: wire technical guide.
    Raises: ValueError if a number is not above zero.
    """
    positive(tension_max_n=tension_max_n, weight_n_per_m=weight_n_per_m, friction=friction)
    return LONGEST_STRAIGHT(tension_max=tension_max_n, friction=friction, weight=weight_n_per_m)


def sidewall_pressure(*, tension_n: float, radius_m: float) -> float:
    """Return the side-wall pressure at the exit of a bend [N/m].

    Tension [N] there, inside radius [m]. Equation: SIDEWALL. Source: wire technical guide.
    Raises: ValueError if the radius is not above zero or the tension is below it.
    """
    not_negative(tension_n=tension_n)
    positive(radius_m=radius_m)
    return SIDEWALL(tension=tension_n, radius=radius_m)


def sidewall_radius(*, tension_n: float, sidewall_max_n_per_m: float) -> float:
    """Return the least inside radius that keeps the side-wall pressure within its limit [m].

    Tension [N] at the bend's exit, limit [N/m]. Equation: SIDEWALL_RADIUS. Source: wire technical guide.
    Raises: ValueError if the limit is not above zero or the tension is below it.
    """
    not_negative(tension_n=tension_n)
    positive(sidewall_max_n_per_m=sidewall_max_n_per_m)
    return SIDEWALL_RADIUS(tension=tension_n, sidewall_max=sidewall_max_n_per_m)


def copper_tension(*, cmil: float, conductors: int, tension_per_cmil_n: float) -> float:
    """Return the tension that so many copper conductors bear when pulled by an eye [N].

    ``cmil`` [circular mils] of one of ``conductors`` [pieces], ``tension_per_cmil_n`` [N] what each
    circular mil bears. Equation: COPPER_TENSION. Source: wire technical guide.
    Raises: ValueError if a number is not above zero.
    """
    positive(cmil=cmil, conductors=conductors, tension_per_cmil_n=tension_per_cmil_n)
    return COPPER_TENSION(tension_per_cmil=tension_per_cmil_n, cmil=cmil, conductors=conductors)
