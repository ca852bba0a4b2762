"""Fill of conduits, sleeves, trays and hooks, counts that fit, and the jam of three cables.

Areas are exact, from diameters; what a table or a listing allows is handed in. A figure is judged
against its limit with ``over`` of ``estimator.units.rounding``, never rounded first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.units.rounding import over, round_down, round_up, significant, under

CIRCLE: Final = Expression("3.141592653589793 / 4 * diameter ** 2")
"""Area of a circle: a cable, by the major axis where it is oval, or a conduit's inside [m2]."""

FILL: Final = Expression("(sumproduct(counts, areas) + existing) / inside_area")
"""Share of a conduit's inside area that its cables take up, with what lies in it already [unitless]."""

DERATED_SHARE: Final = Expression("share * (1 - reduction * bends_deg / 90)")
"""Allowed fill less a reduction for each 90 degree bend, additive [unitless]."""

COUNT: Final = Expression("floor(share * inside_area / cable_area)")
"""Equal cables that fit into a share of an area, rounded down [cables]."""

COUNT_ROUNDED: Final = Expression("floor(share * inside_area / cable_area + 1 - threshold)")
"""Equal cables that fit where a decimal part at or above the threshold rounds up [cables]."""

TRAY_FILL: Final = Expression("(sumproduct(counts, areas) + existing) / (width * min(depth, depth_counted))")
"""Share of a tray's width and counted depth that its cables take up [unitless]."""

TRAY_COUNT: Final = Expression("floor(share * width * min(depth, depth_counted) / cable_area)")
"""Equal cables that fit into a share of a tray, rounded down [cables]."""

HOOKS: Final = Expression("ceil(length / spacing) + first")
"""Hooks on a segment: one a spacing, rounded up, and one at its start unless that is a room [pieces]."""

HOOK_LOAD: Final = Expression("cables / capacity")
"""Share of a hook's capacity that its cables take up [unitless]."""

JAM_RATIO: Final = Expression("allowance * inside_diameter / cable_diameter")
"""Inside diameter of a conduit over cable diameter [unitless]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class FillShares:
    """Share of a raceway that one, two, or more cables may fill."""

    one: float
    two: float
    more: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Size:
    """A trade size of one kind of conduit."""

    trade: str
    inside_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Jam:
    """The jam ratio of three equal cables, and whether it lies in the zone to be warned of."""

    ratio: float
    in_zone: bool


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} {value!r} is not above zero")


def circle_area(diameter_m: float) -> float:
    """Return the area of a circle of a diameter [m2].

    ``diameter_m`` [m]: a cable's outside diameter, the major axis of an oval cable, or a tabled
    inside diameter. Equation: CIRCLE. Source: NFPA 70, Chapter 9, Note 9 (major axis), Table 4.
    Raises: ValueError if the diameter is not above zero.

    >>> round(circle_area(0.02), 9)
    0.000314159
    """
    _positive(diameter=diameter_m)
    return CIRCLE(diameter=diameter_m)


def fill_share(
    *, counts: Sequence[float], areas_m2: Sequence[float], inside_area_m2: float, existing_m2: float = 0.0
) -> float:
    """Return the share of a conduit's inside area that its cables take up [unitless].

    ``counts`` and ``areas_m2`` [m2] go by cable type; ``existing_m2`` [m2] lies in it already. The
    same share is judged by Table 1 in a conduit, by the typed listing of its firestop system in a
    sleeve through a rated wall. Equation: FILL. Source: NFPA 70, Chapter 9, Table 1 and Notes.
    Raises: ValueError if the inside area is not above zero.
    """
    _positive(inside_area=inside_area_m2)
    return FILL(counts=counts, areas=areas_m2, existing=existing_m2, inside_area=inside_area_m2)


def allowed_share(count: int, shares: FillShares) -> float:
    """Return the share that so many cables may fill [unitless]; a multiconductor cable is one.

    Source: NFPA 70, Chapter 9, Table 1 and Note 9.

    >>> allowed_share(2, FillShares(one=0.53, two=0.31, more=0.40))
    0.31
    """
    if count <= 1:
        return shares.one
    return shares.two if count == 2 else shares.more


def nipple_share(*, length_m: float, longest_m: float, share: float) -> float | None:
    """Return the share that a nipple may be filled to [unitless]; None where it is too long for one.

    ``length_m`` [m] against the tabled ``longest_m`` [m]. Source: NFPA 70, Chapter 9, Note 4.
    """
    return None if over(length_m, longest_m) else share


def derated_share(*, share: float, reduction: float, bends_deg: float) -> float:
    """Return a fill share less a reduction for each 90 degree bend [unitless], never below zero.

    ``reduction`` is the share taken off per bend, ``bends_deg`` [degree] the total of the bends.
    Equation: DERATED_SHARE. Source: MIL-HDBK-1012/3 (1996), additive; in neither NFPA 70 nor TIA-569.

    >>> round(derated_share(share=0.40, reduction=0.15, bends_deg=180), 3)
    0.28
    """
    return max(0.0, DERATED_SHARE(share=share, reduction=reduction, bends_deg=bends_deg))


def count_in_share(*, inside_area_m2: float, cable_area_m2: float, share: float) -> int:
    """Return how many equal cables fit into a share of an area [cables], rounded down.

    Areas [m2]. Equation: COUNT. Source: NFPA 70, Chapter 9, Table 1.
    Raises: ValueError if the cable's area is not above zero.
    """
    _positive(cable_area=cable_area_m2)
    return round_down(COUNT(share=share, inside_area=inside_area_m2, cable_area=cable_area_m2))


def count_rounded(*, inside_area_m2: float, cable_area_m2: float, share: float, threshold: float) -> int:
    """Return how many equal cables fit where a decimal part at the threshold rounds up [cables].

    Areas [m2]; only where a rule asks for it, and only for cables of one size.
    Equation: COUNT_ROUNDED. Source: NFPA 70, Chapter 9, Note 7.
    Raises: ValueError if the cable's area is not above zero.
    """
    _positive(cable_area=cable_area_m2)
    return round_down(
        COUNT_ROUNDED(share=share, inside_area=inside_area_m2, cable_area=cable_area_m2, threshold=threshold)
    )


def count_that_fits(*, inside_area_m2: float, cable_area_m2: float, shares: FillShares) -> int:
    """Return how many equal cables fit into a conduit, each count held to its own share [cables].

    Areas [m2]. Two cables may fill less than three: where three don't fit, two are held to the share
    of two, and one to the share of one. Source: NFPA 70, Chapter 9, Table 1, plain floor.
    Raises: ValueError if the cable's area is not above zero.
    """
    many = count_in_share(inside_area_m2=inside_area_m2, cable_area_m2=cable_area_m2, share=shares.more)
    if many >= 3:
        return many
    for count in (2, 1):
        if not over(count * cable_area_m2, allowed_share(count, shares) * inside_area_m2):
            return count
    return 0


def smallest_that_fits(*, cables_area_m2: float, count: int, sizes: Iterable[Size], shares: FillShares) -> Size | None:
    """Return the smallest size whose allowed share holds the cables, or None where none does.

    ``cables_area_m2`` [m2] is the area of all ``count`` cables.
    Source: NFPA 70, Chapter 9, Tables 1 and 4.
    """
    share = allowed_share(count, shares)
    for size in sorted(sizes, key=lambda size: size.inside_m):
        if not over(cables_area_m2, share * circle_area(size.inside_m)):
            return size
    return None


def tray_share(
    *,
    counts: Sequence[float],
    areas_m2: Sequence[float],
    width_m: float,
    depth_m: float,
    depth_counted_m: float,
    existing_m2: float = 0.0,
) -> float:
    """Return the share of a tray that its cables take up [unitless].

    ``counts`` and ``areas_m2`` [m2] go by cable type; width and depth [m], of which no more than
    ``depth_counted_m`` [m] counts; ``existing_m2`` [m2] lies in it already.
    Equation: TRAY_FILL. Source: ANSI/TIA-569; NFPA 70, 392.22(A).
    Raises: ValueError if a dimension is not above zero.
    """
    _positive(width=width_m, depth=depth_m, depth_counted=depth_counted_m)
    return TRAY_FILL(
        counts=counts,
        areas=areas_m2,
        existing=existing_m2,
        width=width_m,
        depth=depth_m,
        depth_counted=depth_counted_m,
    )


def tray_count(*, width_m: float, depth_m: float, depth_counted_m: float, share: float, cable_area_m2: float) -> int:
    """Return how many equal cables fit into a share of a tray [cables], rounded down.

    Width and depth [m], the cable's area [m2]. Equation: TRAY_COUNT. Source: NFPA 70, 392.22(A).
    Raises: ValueError if a dimension or the cable's area is not above zero.
    """
    _positive(width=width_m, depth=depth_m, depth_counted=depth_counted_m, cable_area=cable_area_m2)
    return round_down(
        TRAY_COUNT(share=share, width=width_m, depth=depth_m, depth_counted=depth_counted_m, cable_area=cable_area_m2)
    )


def hook_count(*, length_m: float, spacing_m: float, starts_at_room: bool) -> int:
    """Return the hooks on a segment [pieces]: length over spacing rounded up, one more at its start.

    ``length_m`` and ``spacing_m`` [m]; no hook is counted at the start where that is a room.
    Equation: HOOKS. Source: takeoff practice; spacing after ANSI/TIA-569.
    Raises: ValueError if the spacing is not above zero or the length is below it.

    >>> hook_count(length_m=15.24, spacing_m=1.524, starts_at_room=False)
    11
    """
    _positive(spacing=spacing_m)
    if not length_m >= 0:
        raise ValueError(f"length {length_m!r} is below zero")
    return round_up(HOOKS(length=length_m, spacing=spacing_m, first=0 if starts_at_room else 1))


def hook_load(*, cables: int, capacity: int) -> float:
    """Return the share of a hook's capacity that its cables take up [unitless].

    Equation: HOOK_LOAD. Source: the hook's own listing, else trade practice.
    Raises: ValueError if the capacity is not above zero.
    """
    _positive(capacity=capacity)
    return HOOK_LOAD(cables=cables, capacity=capacity)


def jam(
    *, diameters_m: Sequence[float], inside_m: float, low: float, high: float, allowance: float = 1.0
) -> Jam | None:
    """Return the jam ratio of three equal cables in a conduit; None for any other set of cables.

    Diameters [m] are equal at the compared number of digits. ``low`` and ``high`` bound the zone
    that is warned of, both in it; ``allowance`` [unitless] widens the conduit for oval bends.
    Equation: JAM_RATIO. Source: NFPA 70, Chapter 9, Table 1, Informational Note 2.
    Raises: ValueError if a diameter is not above zero.
    """
    if len(diameters_m) != 3 or len({significant(diameter) for diameter in diameters_m}) != 1:
        return None
    _positive(cable_diameter=diameters_m[0], inside_diameter=inside_m)
    ratio = JAM_RATIO(allowance=allowance, inside_diameter=inside_m, cable_diameter=diameters_m[0])
    return Jam(ratio=ratio, in_zone=not under(ratio, low) and not over(ratio, high))
