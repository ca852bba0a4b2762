"""Weight of the cables on hooks and in trays, against what those are rated for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.calc.support import HOOK_WEIGHT, WEIGHT, hook_weight_kg, weight_kg_per_m
from estimator.spec.model import Project
from estimator.spec.plant import Segment
from estimator.takeoff.alerts import Alert
from estimator.takeoff.cable_limits import Bound, weight_of
from estimator.takeoff.columns import column, filled
from estimator.takeoff.fill import Fill, SegmentFill, hook_spacing
from estimator.takeoff.worked import MARGIN, Family, Input, Judged
from estimator.units.quantity import beside, in_unit
from estimator.units.rounding import over


@dataclass(frozen=True, kw_only=True, slots=True)
class Weight:
    """What the cables of a hook or tray segment weigh, those that lie there already among them."""

    filled: SegmentFill
    kg_per_m: float | None  # None where a cable's weight is not known
    hook_kg: float | None
    unweighed: tuple[str, ...]
    least: float  # what its weighed cables alone come to, in the unit of its rating

    @property
    def id(self) -> str:
        """Name of the segment."""
        return self.filled.segment.id

    @property
    def segment(self) -> Segment:
        """The segment."""
        return self.filled.segment

    @property
    def value(self) -> float | None:
        """What stands against the rating: on a hook [kg], on a tray [kg/m]."""
        return self.hook_kg if self.segment.kind == "j_hooks" else self.kg_per_m

    @property
    def rating(self) -> float | None:
        """What a hook [kg] or a tray [kg/m] is rated for, where that is typed."""
        return self.segment.hook_load_kg if self.segment.kind == "j_hooks" else self.segment.load_kg_per_m

    @property
    def word(self) -> str:
        """How it stands to its rating."""
        if self.rating is not None and over(self.least, self.rating):
            return "over rating"
        return "not judged" if self.value is None or self.rating is None else "within rating"


def weigh(fill: Fill, project: Project) -> tuple[Weight, ...]:
    """Return the weight on every segment of hooks or tray that a cable lies in."""
    known = {name: weight_of(cable) for name, cable in project.cables.items()}
    chosen = [one for one in fill.segments if one.segment.kind in ("j_hooks", "tray") and one.lies]
    return tuple(_weight(one, known, project) for one in chosen)


def _weight(one: SegmentFill, known: Mapping[str, Bound | None], project: Project) -> Weight:
    bounds = [known[cable.id] for cable, _ in one.lying]
    unweighed = tuple(
        dict.fromkeys(cable.id for (cable, _), found in zip(one.lying, bounds, strict=True) if found is None)
    )
    weighed = [(count, found.value) for (_, count), found in zip(one.lying, bounds, strict=True) if found is not None]
    kg_per_m = weight_kg_per_m(
        counts=[count for count, _ in weighed], weights_kg_per_m=[each_kg_per_m for _, each_kg_per_m in weighed]
    )
    hook_kg = None
    if one.segment.kind == "j_hooks":
        hook_kg = hook_weight_kg(spacing_m=hook_spacing(one.segment, project)[0], weight_kg_per_m=kg_per_m)
    least = kg_per_m if hook_kg is None else hook_kg
    if unweighed:
        return Weight(filled=one, kg_per_m=None, hook_kg=None, unweighed=unweighed, least=least)
    return Weight(filled=one, kg_per_m=kg_per_m, hook_kg=hook_kg, unweighed=(), least=least)


def weight_families(weights: tuple[Weight, ...], project: Project) -> Iterable[Family]:
    """Yield the weight on each meter of hooks and trays, and on each hook."""
    return filled(_families(weights, project))


def _families(weights: tuple[Weight, ...], project: Project) -> Iterable[Family]:
    yield column(
        ("segment", "weight", "weight of the cables on each meter", "kg/m"),
        WEIGHT,
        "cables routed through it and what lies there, by their weights",
        weights,
        lambda one: one.kg_per_m,
        _weight_inputs,
        judge=lambda one: _judge(one) if one.segment.kind == "tray" else None,
    )
    yield column(
        ("segment", "hook_weight", "weight on one hook", "kg"),
        HOOK_WEIGHT,
        "statics: half a span from either side",
        weights,
        lambda one: one.hook_kg,
        lambda one: {
            "spacing": Input(*_spacing(one, project)),
            "weight": Input(one.kg_per_m or 0.0, "kg/m", f"figure segment.{one.id}.weight"),
        },
        judge=_judge,
    )


def _spacing(one: Weight, project: Project) -> tuple[float, str, str]:
    spacing_m, origin = hook_spacing(one.segment, project)
    return spacing_m, "m", origin


def _weight_inputs(one: Weight) -> Mapping[str, Input]:
    found = [(cable, count, weight_of(cable)) for cable, count in one.filled.lying]
    names = "; ".join(f"{cable.id}: {bound.source}" for cable, _, bound in found if bound)
    counts = tuple(float(count) for _, count, _ in found)
    return {
        "counts": Input(counts, "cables", "circuits routed here and what lies there already"),
        "weights": Input(tuple(bound.value for _, _, bound in found if bound), "kg/m", names),
    }


def rating_place(segment: Segment) -> str:
    """Return where a segment's rating was typed."""
    return f"segment, {segment.source.at('hook_load' if segment.kind == 'j_hooks' else 'load')}"


def _judge(one: Weight) -> Judged | None:
    if one.value is None or one.rating is None:
        return None
    return Judged(one.word, MARGIN(limit=one.rating, value=one.value), one.rating, rating_place(one.segment))


def weight_alerts(weights: tuple[Weight, ...], project: Project) -> Iterable[Alert]:
    """Yield a warning for hooks and trays that carry more than they are rated for, and for a missing weight."""
    for one in weights:
        at = one.segment.source.at("hook_load" if one.segment.kind == "j_hooks" else "load")
        kind = one.segment.kind.replace("_", "-")
        if one.rating is not None and one.word == "not judged":
            yield Alert(
                at,
                "weight",
                one.id,
                f"the load of {kind} {one.id} can't be judged",
                f"no weight of {', '.join(one.unweighed)}",
                shown_weight(one.rating, one, project),
                rating_place(one.segment),
                "type `weight:` of the cable, such as 27 lb/kft",
            )
        elif one.rating is not None and one.word == "over rating":
            without = f" without {', '.join(one.unweighed)}, whose weight is not known" if one.unweighed else ""
            yield Alert(
                at,
                "weight",
                one.id,
                f"{one.filled.lies} cables weigh on {'each hook of ' if kind == 'j-hooks' else ''}{kind} {one.id}",
                f"{shown_weight(one.least, one, project, one.rating)}{without}",
                shown_weight(one.rating, one, project, one.least),
                rating_place(one.segment),
                "space the hooks closer" if kind == "j-hooks" else "support it closer, or use a heavier tray",
            )


def shown_weight(value: float, one: Weight, project: Project, other: float = math.inf) -> str:
    """Return a weight on a hook or on a length of tray in the project's unit, told apart from the other one."""
    metric = project.header.lengths_in == "m"
    dimension, unit = ("mass", "kg" if metric else "lb")
    if one.segment.kind == "tray":
        dimension, unit = "weight per length", "kg/m" if metric else "lb/ft"
    return f"{beside(in_unit(value, dimension, unit), in_unit(other, dimension, unit), 1)} {unit}"
