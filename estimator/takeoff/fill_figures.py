"""Figures and warnings of fill: shares, spare cables, hooks and supports, jams and pull points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from estimator.calc.pathway import SPARE, circle_area
from estimator.calc.support import HOOKS, LEAST_WIDTH, SPARE_ON_HOOKS, SUPPORTS
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.spec.plant import Segment
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.fill import (
    FORMULAS,
    Fill,
    SegmentFill,
    depth_counted,
    fill_inputs,
    hook_capacity,
    hook_spacing,
    inside_input,
    support_row,
    taken_m2,
)
from estimator.takeoff.needs import counted
from estimator.takeoff.worked import MARGIN, Family, Input, Judged
from estimator.units.quantity import beside, in_unit

TRAY_KINDS = ("tray", "surface_raceway", "cabinet")
AREA_KINDS = ("conduit", "sleeve", *TRAY_KINDS)


def fill_families(fill: Fill, project: Project) -> Iterable[Family]:
    """Yield the fill of each kind of segment, what is spare in it, its hooks and its supports."""
    return filled(_families(fill, project))


def _families(fill: Fill, project: Project) -> Iterable[Family]:
    for kind, formula in FORMULAS.items():
        meaning = "cables on a hook against its capacity" if kind == "j_hooks" else "share filled"
        left_out = f"without a route, and not in it: {counted(len(fill.unrouted), 'circuit')}"
        yield column(
            ("segment", "fill", f"{kind.replace('_', '-')}: {meaning}; {left_out}", ""),
            formula,
            "cables routed through it over its inside",
            _of(fill, kind),
            lambda one: one.share,
            lambda one: fill_inputs(one, project),
            judge=_judge,
        )
    yield column(
        ("segment", "hooks", "j-hooks on the segment", "pieces"),
        HOOKS,
        "takeoff practice; spacing after ANSI/TIA-569",
        _of(fill, "j_hooks"),
        lambda one: float(one.hooks),
        lambda one: _hook_inputs(one.segment, project),
    )
    yield from _spare(fill, project)
    yield column(
        ("segment", "supports", "supports of the conduit", "pieces"),
        SUPPORTS,
        table("conduit_supports").source,
        _of(fill, "conduit"),
        lambda one: None if one.supports is None else float(one.supports),
        lambda one: _support_inputs(one.segment),
    )


def _spare(fill: Fill, project: Project) -> Iterable[Family]:
    meaning = ("segment", "spare", "more cables of its commonest type that fit within its limit", "cables")
    yield column(
        meaning,
        SPARE,
        "its limit, plain floor; the count that results is held to its own share",
        _of(fill, *AREA_KINDS),
        spare_of,
        _spare_inputs,
    )
    yield column(
        meaning,
        SPARE_ON_HOOKS,
        "capacity of its hooks",
        _of(fill, "j_hooks"),
        spare_of,
        lambda one: {
            "capacity": Input(float(hook_capacity(one.segment, project)[0]), "cables", _whose(one, project)),
            "cables": Input(float(one.lies), "cables", "circuits routed here and what lies in it"),
        },
    )
    yield column(
        ("segment", "least_width", "width that holds what lies in it at its depth", "m"),
        LEAST_WIDTH,
        "its fill solved for the width",
        _of(fill, *TRAY_KINDS),
        lambda one: one.room.width_m if one.room else None,
        _width_inputs,
    )


def _of(fill: Fill, *kinds: str) -> Sequence[SegmentFill]:
    return [one for one in fill.segments if one.segment.kind in kinds]


def spare_of(one: SegmentFill) -> float | None:
    """Return how many more cables of its commonest type fit [cables]; None where nothing lies in it."""
    return float(one.room.spare.cables) if one.room else None


def _whose(one: SegmentFill, project: Project) -> str:
    return hook_capacity(one.segment, project)[1]


def _judge(one: SegmentFill) -> Judged | None:
    if one.share is None or one.limit is None:
        return None
    margin = MARGIN(limit=one.limit.share, value=one.share)
    return Judged(one.word, margin, one.limit.share, one.limit.source)


def _spare_inputs(one: SegmentFill) -> Mapping[str, Input]:
    assert one.room is not None
    assert one.limit is not None
    room = one.room
    return {
        "allowed": Input(room.spare.allowed, "", f"share for the count that results; {one.limit.source}"),
        "inside_area": inside_input(one.segment),
        "taken": Input(taken_m2(one), "m2", "cables routed here and what lies in it already"),
        "cable_area": Input(circle_area(room.cable.od_m), "m2", f"outside diameter of {room.cable.id}"),
    }


def _width_inputs(one: SegmentFill) -> Mapping[str, Input]:
    segment = one.segment
    assert one.room is not None
    assert one.limit is not None
    assert segment.depth_m is not None
    return {
        "area": Input(taken_m2(one), "m2", "cables routed here and what lies in it already"),
        "allowed": Input(one.room.spare.allowed, "", one.limit.source),
        "depth": Input(segment.depth_m, "m", f"segment, {segment.source.at('depth')}"),
        "depth_counted": fill_depth(segment),
    }


def fill_depth(segment: Segment) -> Input:
    """Return the depth of a tray that counts at most, with its origin."""
    whose = "ANSI/TIA-569, depth counted" if segment.kind == "tray" else "its whole depth"
    return Input(depth_counted(segment), "m", whose)


def _hook_inputs(segment: Segment, project: Project) -> Mapping[str, Input]:
    spacing, origin = hook_spacing(segment, project)
    first = 0.0 if segment.start in project.rooms else 1.0
    return {
        "length": Input(segment.length_m, "m", f"segment, {segment.source.at('length')}"),
        "spacing": Input(spacing, "m", origin),
        "first": Input(first, "pieces", "one at its start unless that is a room"),
    }


def _support_inputs(segment: Segment) -> Mapping[str, Input]:
    assert segment.trade_size is not None
    row = support_row(segment.material, segment.trade_size)
    assert row is not None
    clause = f"NFPA 70 {row.text('clause')}"
    length = segment.length_m + segment.rise_m
    return {
        "length": Input(length, "m", f"segment, {segment.source.at('length')}, its rise in it"),
        "spacing": Input(row.number("spacing_m"), "m", clause),
        "from_box": Input(row.number("from_box_m"), "m", clause),
    }


def fill_alerts(fill: Fill, project: Project) -> Iterable[Alert]:
    """Yield a warning for every overfull segment and for three cables that may jam."""
    for one in fill.segments:
        if one.is_over:
            yield _overfull(one, project)
        if one.jams:
            yield _jams(one)


def _overfull(one: SegmentFill, project: Project) -> Alert:
    segment = one.segment
    assert one.share is not None
    assert one.limit is not None
    return Alert(
        segment.source.at("id"),
        "overfull",
        segment.id,
        f"{segment.kind.replace('_', ' ')} {segment.id} holds {one.lies} cables",
        f"{beside(100 * one.share, 100 * one.limit.share, 1)}%",
        f"{beside(100 * one.limit.share, 100 * one.share, 1)}%",
        one.limit.source,
        f"use {_larger(one, project)}, a second one, or send circuits `via` another way",
    )


def _larger(one: SegmentFill, project: Project) -> str:
    """Return the least size that holds what lies in a segment, in words."""
    segment, room = one.segment, one.room
    if segment.kind == "conduit" and room is not None and room.smallest is not None:
        return f"trade size {room.smallest} or larger in {segment.material.upper()}"
    if room is not None and room.width_m is not None:
        unit = "mm" if project.header.lengths_in == "m" else "in"
        return f"one at least {in_unit(room.width_m, 'length', unit):.3g} {unit} wide at this depth"
    return "hooks for more cables" if segment.kind == "j_hooks" else "a larger size"


def _jams(one: SegmentFill) -> Alert:
    zone = table("jam_ratio").find(rule="zone")
    return Alert(
        one.segment.source.at("id"),
        "may jam",
        one.id,
        f"three equal cables in conduit {one.id}",
        f"ratio {one.jam_ratio:.2f}",
        f"outside {zone.number('low'):g} to {zone.number('high'):g}",
        table("jam_ratio").source,
        "use the next size, or pull them one at a time",
    )
