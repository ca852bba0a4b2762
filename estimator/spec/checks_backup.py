"""What a UPS is told must fit together: loads with one figure each, and a curve that falls."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

from estimator.spec.backup import RuntimePoint, Ups
from estimator.spec.faults import Faults
from estimator.spec.model import Project

CURVE_KEYS: Final = {"load_w": "load", "block_w": "block_power", "string_a": "string_current"}
"""The three ways in which a point of a curve tells its load: attribute and key."""

_ONE_OF: Final = "one of `load:`, `block_power:` and `string_current:`"


def check_backup(project: Project, faults: Faults) -> None:
    """Add a fault for every load and curve of a UPS that says too little, too much or the impossible."""
    for ups in project.ups.values():
        _loads(ups, faults)
        _curve(ups, faults)


def _loads(ups: Ups, faults: Faults) -> None:
    for load in ups.loads:
        typed = [key for key in ("power", "apparent_power") if load.source.typed(key)]
        if len(typed) != 1:
            faults.add(
                load.source.at("name"),
                f"load {load.name!r} of UPS {ups.id!r} has {'two' if typed else 'no'} figures of power",
                "`power:` or `apparent_power:`",
                "type the one that its label states",
            )
        if load.power_factor is not None and not load.source.typed("apparent_power"):
            faults.add(
                load.source.at("power_factor"),
                f"load {load.name!r} of UPS {ups.id!r} has a power factor and no volt-amperes",
                "`apparent_power:` beside it",
                "type the volt-amperes, or delete the factor",
            )


def _curve(ups: Ups, faults: Faults) -> None:
    keys = [_key(point) for point in ups.curve]
    for point, key in zip(ups.curve, keys, strict=True):
        if key is None or key != keys[0]:
            what = "tells its load in no way or in several" if key is None else "tells its load in another way"
            faults.add(
                point.source.at(key or "time"),
                f"a point of the curve of UPS {ups.id!r} {what}",
                f"{_ONE_OF}, the same in every point",
                "type all points from one chart",
            )
            return
    if len(ups.curve) == 1:
        faults.add(
            ups.source.at("runtime_curve"), f"the curve of UPS {ups.id!r} has one point", "two points at least",
            "add the points beside the load from the chart",
        )  # fmt: skip
    if ups.curve and keys[0] != "load" and ups.battery is None:
        faults.add(
            ups.source.at("runtime_curve"), f"the curve of UPS {ups.id!r} is that of a battery, and it has none",
            "`battery:` with its blocks and strings", "add the battery, or type the chart of the UPS in `load:`",
        )  # fmt: skip
    for lighter, heavier in pairwise(sorted(ups.curve, key=curve_load)):
        if curve_load(lighter) >= curve_load(heavier) or lighter.time_s <= heavier.time_s:
            faults.add(
                heavier.source.at("time"),
                f"the curve of UPS {ups.id!r} does not fall between two of its points",
                "less time for a heavier load",
                "compare both points with the chart",
            )


def curve_load(point: RuntimePoint) -> float:
    """Return the load of a point in its own unit, watts or amperes."""
    return next((value for value in (point.load_w, point.block_w, point.string_a) if value is not None), 0.0)


def _key(point: RuntimePoint) -> str | None:
    typed = [key for attribute, key in CURVE_KEYS.items() if getattr(point, attribute) is not None]
    return typed[0] if len(typed) == 1 else None
