"""Sheet about what the pathways have left: more cables that fit, and the size that would hold it all."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.calc.pathway import SPARE, circle_area
from estimator.documents.common import area_unit, diameter_unit, number_column
from estimator.documents.description import Block, Cell, Column, Formula, Matching, Paragraph, Ref, Section, Table
from estimator.spec.model import Project
from estimator.takeoff.fill import TAKEN, SegmentFill, inside_m2, taken_m2
from estimator.takeoff.fill_figures import AREA_KINDS
from estimator.takeoff.takeoff import Takeoff

_LAID: Final[Mapping[str, Ref]] = {
    "counts": Matching("laid", "count", "segment", "segment"),
    "areas": Matching("laid", "area", "segment", "segment"),
}


def room_section(takeoff: Takeoff) -> Section:
    """Return how many more cables of its commonest type each segment takes, and the smallest size that fits."""
    text = (
        "Counted in cables of the type that most of the segment's cables have, up to the limit of its fill. "
        "Conduits: the smallest trade size of the same kind; trays and raceways: the least width at their depth."
    )
    blocks: list[Block] = [Paragraph(text), _room(takeoff)]
    return Section(title="Room left", blocks=tuple(blocks), landscape=True)


def _room(takeoff: Takeoff) -> Table:
    project = takeoff.project
    area, area_si = area_unit(project)
    across, across_si = diameter_unit(project)
    chosen = [one for one in takeoff.fill.segments if one.segment.kind in AREA_KINDS and one.room is not None]
    return Table(
        name="room",
        title="Cables that still fit",
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="kind", head="Kind, size"),
            Column(key="lies", head="Cables in it", kind="whole"),
            Column(key="cable", head="Counted in"),
            number_column("cable_area", "Area, each", area, decimals=4, si=area_si),
            number_column("taken", "Area taken", area, decimals=3, si=area_si),
            number_column("inside_area", "Area inside", area, decimals=3, si=area_si),
            Column(key="allowed", head="Allowed", kind="percent", decimals=1),
            Column(key="spare", head="More that fit", kind="whole", formula=SPARE),
            Column(key="smallest", head="Smallest size that holds it"),
            number_column("width", "Least width", across, decimals=1, si=across_si, computed=True),
        ),
        rows=[_row(one, project, area_si, across_si) for one in chosen],
        empty="No cable lies in a pathway that has a fill.",
    )


def _row(one: SegmentFill, project: Project, area_si: float, across_si: float) -> tuple[Cell, ...]:
    room = one.room
    assert room is not None
    lying: Mapping[str, Ref] = {**_LAID, "existing": one.existing_m2}
    taken = Formula(TAKEN, taken_m2(one) / area_si, lying)
    width = None if room.width_m is None else room.width_m / across_si
    return (
        one.id,
        kind_words(one, project),
        one.lies,
        room.cable.id,
        circle_area(room.cable.od_m) / area_si,
        taken,
        inside_m2(one.segment) / area_si,
        room.spare.allowed,
        room.spare.cables,
        _smallest(one),
        width,
    )


def _smallest(one: SegmentFill) -> str:
    if one.segment.kind != "conduit" or one.room is None:
        return ""
    return f"{one.segment.material.upper()} {one.room.smallest}" if one.room.smallest else "none that large"


def kind_words(one: SegmentFill, project: Project) -> str:
    """Return a segment's kind with its size."""
    segment = one.segment
    if segment.trade_size is not None:
        nipple = ", nipple" if segment.nipple else ""
        return f"{segment.kind} {segment.material.upper()} {segment.trade_size}{nipple}"
    unit, si = diameter_unit(project)
    words = segment.kind.replace("_", " ")
    if segment.width_m is None or segment.depth_m is None:
        return words
    return f"{words} {segment.width_m / si:.4g} x {segment.depth_m / si:.4g} {unit}"
