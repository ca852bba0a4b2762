"""Fill of conduits and sleeves, counts that fit, sizes that hold them, and the jam of three cables.

Areas are exact, from diameters; what a table or a listing allows is handed in. A figure is judged
against its limit with ``over`` of ``estimator.units.rounding``, never rounded first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over, round_down, significant, under

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

SPARE: Final = Expression("max(0, floor((allowed * inside_area - taken) / cable_area))")
"""Equal cables that may still be added up to the allowed share of an area [cables]."""

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
class Spare:
    """Equal cables that may still be added, and the share that they are then held to."""

    cables: int
    allowed: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Jam:
    """The jam ratio of three equal cables, and whether it lies in the zone to be warned of."""

    ratio: float
    in_zone: bool


def circle_area(diameter_m: float) -> float:
    """Return the area of a circle of a diameter [m2].

    ``diameter_m`` [m]: a cable's outside diameter, the major axis of an oval cable, or a tabled
    inside diameter. Equation: CIRCLE. Source: NFPA 70, Chapter 9, Note 9 (major axis), Table 4.
    Raises: ValueError if the diameter is not above zero.

    >>> round(circle_area(0.02), 9)
    0.000314159
    """
    positive(diameter_m=diameter_m)
    return CIRCLE(diameter=diameter_m)


def fill_share(
    *, counts: Sequence[float], areas_m2: Sequence[float], inside_area_m2: float, existing_m2: float = 0.0
) -> float:
    """Return the share of a conduit's inside area that its cables take up [unitless].

    ``counts`` [cables] and ``areas_m2`` [m2] go by cable type; ``existing_m2`` [m2] lies in it already.
    The same share is judged by Table 1 in a conduit, by the typed listing of its firestop system in a
    sleeve through a rated wall. Equation: FILL. Source: NFPA 70, Chapter 9, Table 1 and Notes.
    Raises: ValueError for a count or existing area below zero, or an area that is not above it.
    """
    each(not_negative, counts=counts)
    each(positive, areas_m2=areas_m2)
    positive(inside_area_m2=inside_area_m2)
    not_negative(existing_m2=existing_m2)
    return FILL(counts=counts, areas=areas_m2, existing=existing_m2, inside_area=inside_area_m2)


def allowed_share(count: int, shares: FillShares) -> float:
    """Return the share that so many cables may fill [unitless]; a multiconductor cable is one.

    ``count`` [cables]. Source: NFPA 70, Chapter 9, Table 1 and Note 9.
    Raises: ValueError if the count is below zero.

    >>> allowed_share(2, FillShares(one=0.53, two=0.31, more=0.40))
    0.31
    """
    not_negative(count=count)
    if count <= 1:
        return shares.one
    return shares.two if count == 2 else shares.more


def nipple_share(*, length_m: float, longest_m: float, share: float) -> float | None:
    """Return the share that a nipple may be filled to [unitless]; None where it is too long for one.

    ``length_m`` [m] against the tabled ``longest_m`` [m]; ``share`` [unitless] is the nipple's.
    Source: NFPA 70, Chapter 9, Note 4.
    Raises: ValueError if a length is below zero or the share is not above it.
    """
    not_negative(length_m=length_m)
    positive(longest_m=longest_m, share=share)
    return None if over(length_m, longest_m) else share


def derated_share(*, share: float, reduction: float, bends_deg: float) -> float:
    """Return a fill share less a reduction for each 90 degree bend [unitless], never below zero.

    ``share`` and ``reduction`` [unitless], the latter taken off per bend; ``bends_deg`` [degree] is the
    total of the bends. Equation: DERATED_SHARE. Source: MIL-HDBK-1012/3 (1996), additive; in neither
    NFPA 70 nor TIA-569.
    Raises: ValueError if the share is not above zero, or reduction or bends are below it.

    >>> round(derated_share(share=0.40, reduction=0.15, bends_deg=180), 3)
    0.28
    """
    positive(share=share)
    not_negative(reduction=reduction, bends_deg=bends_deg)
    return max(0.0, DERATED_SHARE(share=share, reduction=reduction, bends_deg=bends_deg))


def count_in_share(*, inside_area_m2: float, cable_area_m2: float, share: float) -> int:
    """Return how many equal cables fit into a share of an area [cables], rounded down.

    Areas [m2], ``share`` [unitless]. Equation: COUNT. Source: NFPA 70, Chapter 9, Table 1.
    Raises: ValueError if an area is not above zero or the share is below it.
    """
    positive(inside_area_m2=inside_area_m2, cable_area_m2=cable_area_m2)
    not_negative(share=share)
    return round_down(COUNT(share=share, inside_area=inside_area_m2, cable_area=cable_area_m2))


def count_rounded(*, inside_area_m2: float, cable_area_m2: float, share: float, threshold: float) -> int:
    """Return how many equal cables fit where a decimal part at the threshold rounds up [cables].

    Areas [m2], ``share`` and ``threshold`` [unitless]; only where a rule asks for it, and only for
    cables of one size. Equation: COUNT_ROUNDED. Source: NFPA 70, Chapter 9, Note 7.
    Raises: ValueError if an area or the threshold is not above zero or the share is below it.
    """
    positive(inside_area_m2=inside_area_m2, cable_area_m2=cable_area_m2, threshold=threshold)
    not_negative(share=share)
    return round_down(
        COUNT_ROUNDED(share=share, inside_area=inside_area_m2, cable_area=cable_area_m2, threshold=threshold)
    )


def count_that_fits(*, inside_area_m2: float, cable_area_m2: float, shares: FillShares) -> int:
    """Return how many equal cables fit into a conduit, each count held to its own share [cables].

    Areas [m2]. Two cables may fill less than three: where three don't fit, two are held to the share
    of two, and one to the share of one. Source: NFPA 70, Chapter 9, Table 1, plain floor.
    Raises: ValueError if an area is not above zero.
    """
    many = count_in_share(inside_area_m2=inside_area_m2, cable_area_m2=cable_area_m2, share=shares.more)
    if many >= 3:
        return many
    for count in (2, 1):
        if not over(count * cable_area_m2, allowed_share(count, shares) * inside_area_m2):
            return count
    return 0


def spare_count(
    *, lies: int, taken_m2: float, inside_area_m2: float, cable_area_m2: float, shares: FillShares
) -> Spare:
    """Return how many cables of one size may still be added, and the share they are held to.

    ``lies`` [cables] take up ``taken_m2`` [m2] of ``inside_area_m2`` [m2]; one more takes
    ``cable_area_m2`` [m2]. Three and more are held to their own share; where the conduit would end
    with two, the lower of both shares holds. Equation: SPARE, with the share returned.
    Source: NFPA 70, Chapter 9, Table 1, plain floor.
    Raises: ValueError if the cables or an area of conduit or cable are not above zero, or the taken
    area is below it.
    """
    positive(lies=lies, inside_area_m2=inside_area_m2, cable_area_m2=cable_area_m2)
    not_negative(taken_m2=taken_m2)
    known = {"inside_area": inside_area_m2, "taken": taken_m2, "cable_area": cable_area_m2}
    more = round_down(SPARE(allowed=shares.more, **known))
    allowed = shares.more if lies + more >= 3 or lies >= 2 else min(shares.two, shares.more)
    return Spare(cables=round_down(SPARE(allowed=allowed, **known)), allowed=allowed)


def smallest_that_fits(*, cables_area_m2: float, count: int, sizes: Iterable[Size], shares: FillShares) -> Size | None:
    """Return the smallest size whose allowed share holds the cables, or None where none does.

    ``cables_area_m2`` [m2] is the area of all ``count`` [cables].
    Source: NFPA 70, Chapter 9, Tables 1 and 4.
    Raises: ValueError if area or count is below zero.
    """
    not_negative(cables_area_m2=cables_area_m2, count=count)
    share = allowed_share(count, shares)
    for size in sorted(sizes, key=lambda size: size.inside_m):
        if not over(cables_area_m2, share * circle_area(size.inside_m)):
            return size
    return None


def jam(
    *, diameters_m: Sequence[float], inside_m: float, low: float, high: float, allowance: float = 1.0
) -> Jam | None:
    """Return the jam ratio of three equal cables in a conduit; None for any other set of cables.

    ``diameters_m`` [m] are equal at the compared number of digits, ``inside_m`` [m] is the conduit's.
    ``low`` and ``high`` [unitless] bound the zone that is warned of, both in it; ``allowance``
    [unitless] widens the conduit for oval bends.
    Equation: JAM_RATIO. Source: NFPA 70, Chapter 9, Table 1, Informational Note 2.
    Raises: ValueError if a diameter, bound or the allowance is not above zero.
    """
    each(positive, diameters_m=diameters_m)
    positive(inside_m=inside_m, low=low, high=high, allowance=allowance)
    if len(diameters_m) != 3 or len({significant(diameter) for diameter in diameters_m}) != 1:
        return None
    ratio = JAM_RATIO(allowance=allowance, inside_diameter=inside_m, cable_diameter=diameters_m[0])
    return Jam(ratio=ratio, in_zone=not under(ratio, low) and not over(ratio, high))
