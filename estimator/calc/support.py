"""Trays, hooks and supports: how full a tray is, what hangs on a hook, how many hold a run."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from estimator.calc.checked import each, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import round_down, round_up

TRAY_FILL: Final = Expression("(sumproduct(counts, areas) + existing) / (width * min(depth, depth_counted))")
"""Share of a tray's width and counted depth that its cables take up [unitless]."""

TRAY_COUNT: Final = Expression("floor(share * width * min(depth, depth_counted) / cable_area)")
"""Equal cables that fit into a share of a tray, rounded down [cables]."""

LEAST_WIDTH: Final = Expression("area / (allowed * min(depth, depth_counted))")
"""Width at which a tray of that depth holds what lies in it [m]."""

HOOKS: Final = Expression("ceil(length / spacing) + first")
"""Hooks on a segment: one a spacing, rounded up, and one at its start unless that is a room [pieces]."""

HOOK_LOAD: Final = Expression("cables / capacity")
"""Share of a hook's capacity that its cables take up [unitless]."""

SPARE_ON_HOOKS: Final = Expression("max(0, capacity - cables)")
"""Cables that may still be added to a hook [cables]."""

WEIGHT: Final = Expression("sumproduct(counts, weights)")
"""Mass of the cables in a segment on each meter of it [kg/m]."""

HOOK_WEIGHT: Final = Expression("spacing * weight")
"""Mass that hangs on one hook: half a span from either side [kg]."""

SUPPORTS: Final = Expression("max(1, ceil((length - 2 * from_box) / spacing) + 1)")
"""Supports of a conduit: within reach of the box at each end, the rest by spacing [pieces]."""


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

    ``counts`` [cables] and ``areas_m2`` [m2] go by cable type; width and depth [m], of which no more
    than ``depth_counted_m`` [m] counts; ``existing_m2`` [m2] lies in it already.
    Equation: TRAY_FILL. Source: ANSI/TIA-569; NFPA 70, 392.22(A).
    Raises: ValueError for a count or existing area below zero, an area or dimension not above it.
    """
    each(not_negative, counts=counts)
    each(positive, areas_m2=areas_m2)
    positive(width_m=width_m, depth_m=depth_m, depth_counted_m=depth_counted_m)
    not_negative(existing_m2=existing_m2)
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

    Width and depth [m], ``share`` [unitless], the cable's area [m2]. Equation: TRAY_COUNT.
    Source: NFPA 70, 392.22(A).
    Raises: ValueError if a dimension or the cable's area is not above zero, or the share is below it.
    """
    positive(width_m=width_m, depth_m=depth_m, depth_counted_m=depth_counted_m, cable_area_m2=cable_area_m2)
    not_negative(share=share)
    return round_down(
        TRAY_COUNT(share=share, width=width_m, depth=depth_m, depth_counted=depth_counted_m, cable_area=cable_area_m2)
    )


def least_width(*, area_m2: float, allowed: float, depth_m: float, depth_counted_m: float) -> float:
    """Return the width at which a tray of its depth holds what lies in it [m].

    ``area_m2`` [m2] of all cables, ``allowed`` [unitless] the share that they may fill; depth [m], of
    which no more than ``depth_counted_m`` [m] counts. Equation: LEAST_WIDTH.
    Source: ANSI/TIA-569; NFPA 70, 392.22(A), solved for the width.
    Raises: ValueError if the area is below zero, or share or depth is not above it.
    """
    not_negative(area_m2=area_m2)
    positive(allowed=allowed, depth_m=depth_m, depth_counted_m=depth_counted_m)
    return LEAST_WIDTH(area=area_m2, allowed=allowed, depth=depth_m, depth_counted=depth_counted_m)


def hook_count(*, length_m: float, spacing_m: float, starts_at_room: bool) -> int:
    """Return the hooks on a segment [pieces]: length over spacing rounded up, one more at its start.

    ``length_m`` and ``spacing_m`` [m]; no hook is counted at the start where that is a room.
    Equation: HOOKS. Source: takeoff practice; spacing after ANSI/TIA-569.
    Raises: ValueError if the spacing is not above zero or the length is below it.

    >>> hook_count(length_m=15.24, spacing_m=1.524, starts_at_room=False)
    11
    """
    positive(spacing_m=spacing_m)
    not_negative(length_m=length_m)
    return round_up(HOOKS(length=length_m, spacing=spacing_m, first=0 if starts_at_room else 1))


def hook_load(*, cables: int, capacity: int) -> float:
    """Return the share of a hook's capacity that its cables take up [unitless].

    ``cables`` and ``capacity`` [cables]. Equation: HOOK_LOAD. Source: the hook's own listing, else
    trade practice.
    Raises: ValueError if the capacity is not above zero or the cables are below it.
    """
    positive(capacity=capacity)
    not_negative(cables=cables)
    return HOOK_LOAD(cables=cables, capacity=capacity)


def weight_kg_per_m(*, counts: Sequence[float], weights_kg_per_m: Sequence[float]) -> float:
    """Return the mass of the cables in a segment on each meter of it [kg/m].

    ``counts`` [cables] and ``weights_kg_per_m`` [kg/m] go by cable type. Equation: WEIGHT.
    Source: the cable makers' own weights, else typical ones.
    Raises: ValueError for a count or weight below zero.
    """
    each(not_negative, counts=counts, weights_kg_per_m=weights_kg_per_m)
    return WEIGHT(counts=counts, weights=weights_kg_per_m)


def hook_weight_kg(*, spacing_m: float, weight_kg_per_m: float) -> float:
    """Return the mass that hangs on one hook, half a span from either side [kg].

    ``spacing_m`` [m] between hooks, ``weight_kg_per_m`` [kg/m] of all cables. Equation: HOOK_WEIGHT.
    Source: statics of equal level spans; the hook's own rating stands against it.
    Raises: ValueError if the spacing is not above zero or the weight is below it.
    """
    positive(spacing_m=spacing_m)
    not_negative(weight_kg_per_m=weight_kg_per_m)
    return HOOK_WEIGHT(spacing=spacing_m, weight=weight_kg_per_m)


def conduit_supports(*, length_m: float, spacing_m: float, from_box_m: float) -> int:
    """Return the supports of a conduit between two boxes [pieces].

    ``length_m`` [m] of the run; the first and the last stand no farther than ``from_box_m`` [m] from
    their box, the others no farther than ``spacing_m`` [m] apart; one is enough where it is near both.
    Equation: SUPPORTS. Source: NFPA 70, 344.30, 352.30, 358.30 and like sections.
    Raises: ValueError if the spacing is not above zero or another length is below it.

    >>> conduit_supports(length_m=30.48, spacing_m=3.048, from_box_m=0.9144)
    11
    """
    positive(spacing_m=spacing_m)
    not_negative(length_m=length_m, from_box_m=from_box_m)
    return round_up(SUPPORTS(length=length_m, spacing=spacing_m, from_box=from_box_m))
