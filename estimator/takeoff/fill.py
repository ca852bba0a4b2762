"""Fill of every segment, from the circuits that really route there, and what is left in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.pathway import FILL, Size, Spare, circle_area, jam, smallest_that_fits, spare_count
from estimator.calc.support import HOOK_LOAD, SPARE_ON_HOOKS, TRAY_FILL, conduit_supports, hook_count, least_width
from estimator.reference.lookup import Row, table
from estimator.spec.model import Cable, Project
from estimator.spec.plant import Segment
from estimator.takeoff.fill_limits import LISTED, Limit, Lying, limit_of, number_in, shares_of
from estimator.takeoff.footage import Footage, end_of, rule_origin, via_of
from estimator.takeoff.worked import Input
from estimator.units.rounding import over

CABLES = Expression("sum(counts) + lies")
"""Cables in a segment: those of this job and those that lie in it already."""

TAKEN = Expression("sumproduct(counts, areas) + existing")
"""Area that all cables of a segment take up, those that lie in it already with them [m2]."""

FORMULAS: Final = {
    "conduit": FILL,
    "sleeve": FILL,
    "tray": TRAY_FILL,
    "surface_raceway": TRAY_FILL,
    "cabinet": TRAY_FILL,
    "j_hooks": HOOK_LOAD,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Room:
    """What a segment has room for: more cables of its commonest type, and the size that would hold it all."""

    spare: Spare
    cable: Cable  # the type that is counted as spare
    smallest: str | None = None  # trade size
    width_m: float | None = None  # least width of a tray or raceway


@dataclass(frozen=True, kw_only=True, slots=True)
class SegmentFill:
    """What lies in a segment, and how full it is."""

    segment: Segment
    counts: Lying
    existing: Lying
    share: float | None
    limit: Limit | None
    hooks: int
    jam_ratio: float | None
    jams: bool
    room: Room | None = None
    supports: int | None = None

    @property
    def id(self) -> str:
        """Name of the segment."""
        return self.segment.id

    @property
    def lying(self) -> Lying:
        """Cable types of this job and those that lie in it already, each with its number."""
        return (*self.counts, *self.existing)

    @property
    def cables(self) -> int:
        """Number of cables that the job lays in it."""
        return sum(count for _, count in self.counts)

    @property
    def lies(self) -> int:
        """Number of cables with those that lie in it already."""
        return self.cables + sum(count for _, count in self.existing)

    @property
    def existing_m2(self) -> float:
        """Area of the cables that lie in it already [m2]."""
        return sum(count * circle_area(cable.od_m) for cable, count in self.existing)

    @property
    def is_over(self) -> bool:
        """Whether it is filled over its limit."""
        return self.share is not None and self.limit is not None and over(self.share, self.limit.share)

    @property
    def word(self) -> str:
        """How it stands to its limit."""
        return "overfull" if self.is_over else "within"


@dataclass(frozen=True, kw_only=True, slots=True)
class Fill:
    """The fill of all segments; ``unrouted`` circuits have no route and aren't in it."""

    segments: tuple[SegmentFill, ...]
    unrouted: tuple[str, ...]


def fill_pathways(footage: Footage, project: Project) -> Fill:
    """Return the fill of every segment."""
    counts, unrouted = _counted(footage)
    segments = []
    for segment in project.segments.values():
        filled = filled_with(segment, counts.get(segment.id, {}), project)
        segments.append(replace(filled, room=_room(filled, project), supports=_supports(segment)))
    return Fill(segments=tuple(segments), unrouted=tuple(unrouted))


def _counted(footage: Footage) -> tuple[dict[str, dict[str, int]], list[str]]:
    """Return cables by segment and cable type, added up one search tree at a time."""
    ends: dict[tuple[str, tuple[str, ...], str], dict[str, int]] = {}
    counts: dict[str, dict[str, int]] = {}
    unrouted = []
    for length in footage.lengths:
        if length.leaves is not None:
            _add(counts, dict.fromkeys(length.leaves.segments, 1), length.cable.id)
            continue
        end = end_of(length)
        if end is None or not footage.routes.tree(length.room, via_of(length)).reaches(end):
            unrouted.append(length.id)
            continue
        at = ends.setdefault((length.room, via_of(length), length.cable.id), {})
        at[end] = at.get(end, 0) + 1
    for (room, via, cable), nodes in ends.items():
        _add(counts, footage.routes.tree(room, via).loads(nodes), cable)
    return counts, unrouted


def _add(counts: dict[str, dict[str, int]], more: Mapping[str, int], cable: str) -> None:
    for segment, number in more.items():
        inside = counts.setdefault(segment, {})
        inside[cable] = inside.get(cable, 0) + number


def filled_with(segment: Segment, counts: Mapping[str, int], project: Project) -> SegmentFill:
    """Return how full a segment would be if the job laid so many cables of each type in it."""
    laid = tuple((cable, counts[name]) for name, cable in project.cables.items() if name in counts)
    existing = tuple((project.cables[item.cable], item.count) for item in segment.laid)
    hooks = _hooks(segment, project) if segment.kind == "j_hooks" else 0
    formula = FORMULAS.get(segment.kind)
    bare = SegmentFill(
        segment=segment, counts=laid, existing=existing, share=None, limit=None, hooks=hooks, jam_ratio=None, jams=False
    )
    if formula is None:
        return bare
    inputs = {name: item.value for name, item in fill_inputs(bare, project).items()}
    shares = shares_of(segment, bare.lying, project)
    limit = limit_of(segment, bare.lying, shares, project)
    ratio, jams = _jam(segment, project, bare.lying) if segment.kind == "conduit" else (None, False)
    return replace(bare, share=formula(**inputs), limit=limit, jam_ratio=ratio, jams=jams)


def commonest(filled: SegmentFill) -> Cable | None:
    """Return the type that most of a segment's cables have: of this job's, else of what lies there already.

    Where two are as many, the one typed first counts.
    """
    lying = filled.counts or filled.existing
    return max(lying, key=lambda one: one[1])[0] if lying else None


def taken_m2(filled: SegmentFill) -> float:
    """Return the area that all cables of a segment take up [m2]."""
    return sum(count * circle_area(cable.od_m) for cable, count in filled.lying)


def inside_m2(segment: Segment) -> float:
    """Return the area that a segment's fill is a share of [m2]."""
    if segment.kind in ("conduit", "sleeve"):
        return circle_area(inside_diameter(segment))
    assert segment.width_m is not None
    assert segment.depth_m is not None
    return segment.width_m * min(segment.depth_m, depth_counted(segment))


def _room(filled: SegmentFill, project: Project) -> Room | None:
    segment, cable = filled.segment, commonest(filled)
    if cable is None or segment.kind not in FORMULAS:
        return None
    if segment.kind == "j_hooks":
        most = SPARE_ON_HOOKS(capacity=hook_capacity(segment, project)[0], cables=filled.lies)
        return Room(spare=Spare(cables=int(most), allowed=1.0), cable=cable)
    shares, taken = shares_of(segment, filled.lying, project), taken_m2(filled)
    spare = spare_count(
        lies=filled.lies,
        taken_m2=taken,
        inside_area_m2=inside_m2(segment),
        cable_area_m2=circle_area(cable.od_m),
        shares=shares,
    )
    if segment.kind == "conduit":
        sizes = sizes_of(segment.material)
        size = smallest_that_fits(cables_area_m2=taken, count=filled.lies, sizes=sizes, shares=shares)
        return Room(spare=spare, cable=cable, smallest=size.trade if size else None)
    if segment.kind == "sleeve":
        return Room(spare=spare, cable=cable)  # other sizes are another firestop system's
    assert segment.depth_m is not None
    width_m = least_width(
        area_m2=taken, allowed=spare.allowed, depth_m=segment.depth_m, depth_counted_m=depth_counted(segment)
    )
    return Room(spare=spare, cable=cable, width_m=width_m)


@cache
def sizes_of(material: str) -> tuple[Size, ...]:
    """Return the trade sizes of a kind of conduit, as tabled."""
    rows = [row for row in table("conduit_table_4") if row.cells["kind"] == material]
    return tuple(Size(trade=row.text("trade"), inside_m=row.number("id_m")) for row in rows)


def inside_diameter(segment: Segment) -> float:
    """Return the tabled inside diameter of a conduit or sleeve [m]."""
    return next(size.inside_m for size in sizes_of(segment.material) if size.trade == segment.trade_size)


def depth_counted(segment: Segment) -> float:
    """Return the depth of a tray that counts at most [m]: the standard's, or a raceway's whole depth."""
    if segment.kind in LISTED:
        assert segment.depth_m is not None
        return segment.depth_m
    return table("tray_fill").find(tray="communications").number("depth_m")


def hook_spacing(segment: Segment, project: Project) -> tuple[float, str]:
    """Return the spacing of a segment's hooks [m], and whose word it is."""
    if segment.spacing_m is not None:
        return segment.spacing_m, f"segment, {segment.source.at('spacing')}"
    return project.rules.hook_spacing_m, rule_origin(project, "hook_spacing_m")


def hook_capacity(segment: Segment, project: Project) -> tuple[int, str]:
    """Return how many cables a hook may carry, and whose word it is."""
    if segment.hook_cables is not None:
        return segment.hook_cables, f"segment, {segment.source.at('hook_cables')}"
    return project.rules.hook_cables, rule_origin(project, "hook_cables")


def _hooks(segment: Segment, project: Project) -> int:
    return hook_count(
        length_m=segment.length_m,
        spacing_m=hook_spacing(segment, project)[0],
        starts_at_room=segment.start in project.rooms,
    )


@cache
def support_row(material: str, trade: str) -> Row | None:
    """Return the row that spaces the supports of a kind and size of conduit; None where none is published."""
    for row in table("conduit_supports"):
        if row.text("kind") == material and {trade, "any"} & set(row.texts("trades")):
            return row
    return None


def _supports(segment: Segment) -> int | None:
    if segment.kind != "conduit" or segment.nipple or segment.trade_size is None:
        return None
    row = support_row(segment.material, segment.trade_size)
    if row is None:
        return None
    return conduit_supports(
        length_m=segment.length_m + segment.rise_m,
        spacing_m=row.number("spacing_m"),
        from_box_m=row.number("from_box_m"),
    )


def fill_inputs(filled: SegmentFill, project: Project) -> dict[str, Input]:
    """Return the inputs of a segment's fill, each with its origin."""
    segment = filled.segment
    at = segment.source.at
    if segment.kind == "j_hooks":
        capacity, origin = hook_capacity(segment, project)
        return {
            "cables": Input(float(filled.lies), "cables", "circuits routed here and what lies in it"),
            "capacity": Input(float(capacity), "cables", origin),
        }
    names = ", ".join(cable.id for cable, _ in filled.counts)
    inputs = {
        "counts": Input(
            tuple(float(n) for _, n in filled.counts), "cables", f"circuits routed here: {names or 'none'}"
        ),
        "areas": Input(
            tuple(circle_area(c.od_m) for c, _ in filled.counts), "m2", f"outside diameters of {names or 'none'}"
        ),
        "existing": Input(filled.existing_m2, "m2", f"existing, {at('existing')}"),
    }
    if segment.kind in ("conduit", "sleeve"):
        inputs["inside_area"] = inside_input(segment)
        return inputs
    assert segment.width_m is not None
    assert segment.depth_m is not None
    inputs["width"] = Input(segment.width_m, "m", f"segment, {at('width')}")
    inputs["depth"] = Input(segment.depth_m, "m", f"segment, {at('depth')}")
    whose = "its whole depth" if segment.kind in LISTED else "ANSI/TIA-569, depth counted"
    inputs["depth_counted"] = Input(depth_counted(segment), "m", whose)
    return inputs


def inside_input(segment: Segment) -> Input:
    """Return the area that a segment's fill is a share of, with its origin."""
    if segment.kind in ("conduit", "sleeve"):
        origin = f"{segment.material} {segment.trade_size}: {table('conduit_table_4').source}"
    else:
        at = segment.source.at
        origin = f"width, {at('width')}, x depth counted, {at('depth')}"
    return Input(inside_m2(segment), "m2", origin)


def _jam(segment: Segment, project: Project, lying: Lying) -> tuple[float | None, bool]:
    if number_in(lying) != 3:
        return None, False
    zone = table("jam_ratio").find(rule="zone")
    found = jam(
        diameters_m=[cable.od_m for cable, count in lying for _ in range(count)],
        inside_m=inside_diameter(segment),
        low=zone.number("low"),
        high=zone.number("high"),
        allowance=project.rules.jam_allowance,
    )
    return (found.ratio, found.in_zone) if found else (None, False)
