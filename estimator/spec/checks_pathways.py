"""Checks of what segments say of themselves: bends, listings, loads and what lies beside them."""

from __future__ import annotations

from collections.abc import Callable

from estimator.reference.lookup import table
from estimator.spec.faults import Faults
from estimator.spec.model import Project
from estimator.spec.plant import Segment
from estimator.units.quantity import in_unit, show
from estimator.units.rounding import over, under

BELONGS = (
    ("bends_at", "bends_at", ("conduit",)),
    ("bend_radius_m", "bend_radius", ("conduit",)),
    ("friction", "friction", ("conduit",)),
    ("hook_load_kg", "hook_load", ("j_hooks",)),
    ("load_kg_per_m", "load", ("tray",)),
    ("bottom", "bottom", ("tray",)),
    ("listed_fill", "listed_fill_percent", ("surface_raceway", "cabinet")),
)
"""Attribute and key of what only some kinds of segment have, and those kinds."""


def check_pathways(project: Project, faults: Faults) -> None:
    """Add what a segment says that its kind cannot have, or that does not agree with itself."""
    lengths_in = project.header.lengths_in
    for segment in project.segments.values():
        _belongs(segment, faults)
        _bends(segment, lambda length_m: show(in_unit(length_m, "length", lengths_in), lengths_in, 6), faults)
        _radius(segment, faults)
        _spacing(segment, faults)
        _near(segment, faults)


def _belongs(segment: Segment, faults: Faults) -> None:
    for attribute, key, kinds in BELONGS:
        if getattr(segment, attribute) and segment.kind not in kinds:
            faults.add(
                segment.source.at(key),
                f"{segment.kind.replace('_', ' ')} {segment.id!r} has `{key}`",
                f"`kind: {' or '.join(kinds)}`",
                "delete it, or mend the kind",
            )


def _bends(segment: Segment, shown: Callable[[float], str], faults: Faults) -> None:
    """Bends typed one by one lie within the segment, and add up to the total where both are typed."""
    length_m = segment.length_m + segment.rise_m
    for bend in segment.bends_at:
        if over(bend.at_m, length_m):
            faults.add(
                bend.source.at("at"),
                f"a bend of {segment.id!r} lies at {shown(bend.at_m)}",
                f"at most {shown(length_m)}, its length with its rise",
                "measure from the `from` end",
            )
    both = segment.bends_at and segment.source.typed("bends") is not None
    if both and (over(segment.turns_deg, segment.bends_deg) or under(segment.turns_deg, segment.bends_deg)):
        faults.add(
            segment.source.at("bends"),
            f"{segment.id!r} bends {segment.bends_deg:g} degrees in all and {segment.turns_deg:g} one by one",
            "the same total",
            "mend one of them, or delete `bends:`",
        )


def _radius(segment: Segment, faults: Faults) -> None:
    """A bend's centerline lies outside half its own conduit."""
    if segment.kind != "conduit" or segment.bend_radius_m is None:
        return
    sizes = table("conduit_table_4")
    if not sizes.has(kind=segment.material, trade=segment.trade_size):
        return  # told already
    inside_m = sizes.find(kind=segment.material, trade=segment.trade_size).number("id_m")
    if not over(segment.bend_radius_m, inside_m / 2):
        faults.add(
            segment.source.at("bend_radius"),
            f"bends of {segment.id!r} have a radius of {in_unit(segment.bend_radius_m, 'length', 'in'):.4g} in",
            f"more than half the conduit, {in_unit(inside_m / 2, 'length', 'in'):.4g} in",
            "type the radius to the centerline",
        )


def _spacing(segment: Segment, faults: Faults) -> None:
    """Hooks stand no farther apart than the standard lets them."""
    row = table("j_hooks").find(rule="spacing_max")
    if segment.spacing_m is not None and over(segment.spacing_m, row.number("value")):
        faults.add(
            segment.source.at("spacing"),
            f"hooks of {segment.id!r} are {in_unit(segment.spacing_m, 'length', 'in'):.4g} in apart",
            f"at most {row.text('printed')} ({row.source})",
            "tighten the spacing",
        )


def _near(segment: Segment, faults: Faults) -> None:
    """The withdrawn table of 1990 goes by the load of the wiring."""
    for near in segment.near_power:
        if near.rule == "tia_1990" and near.load_va is None and near.what.startswith("wiring"):
            faults.add(
                near.source.at("rule"),
                f"the 1990 distances of {segment.id!r} go by the load of the power wiring",
                "`load:` such as 3 kVA",
                "add it, or delete `rule:`",
            )
