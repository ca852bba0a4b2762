"""Sheets about pathways: what lies in each segment, how full it is, and the ports that are left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Final

from estimator.calc.pathway import CIRCLE, FILL, circle_area
from estimator.calc.support import HOOK_LOAD, HOOKS, SPARE_ON_HOOKS, TRAY_FILL
from estimator.documents.common import area_unit, diameter_unit, in_length, length_column, live_words, verdict
from estimator.documents.description import Block, Cell, Column, Matching, Paragraph, Ref, Same, Section, Table
from estimator.documents.job_words import counted
from estimator.spec.model import Project
from estimator.takeoff.fill import CABLES, SegmentFill, fill_inputs, hook_spacing
from estimator.takeoff.fill_figures import TRAY_KINDS
from estimator.takeoff.place import FREE_PORTS, PORTS_TAKEN
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.worked import MARGIN, OVER

_COUNTS: Final[Mapping[str, Ref]] = {"counts": Matching("laid", "count", "segment", "segment")}
_FILL: Final[Mapping[str, Ref]] = {**_COUNTS, "areas": Matching("laid", "area", "segment", "segment")}
_MARGIN: Final[Mapping[str, Ref]] = {"limit": Same("allowed"), "value": Same("fill")}
_FULL: Final = live_words((OVER, "overfull"), otherwise="within", inputs=_MARGIN)
_MOST_NAMED: Final = 12


def paths_section(takeoff: Takeoff) -> Section:
    """Return the fill of every segment from the circuits that really route there."""
    fill = takeoff.fill
    blocks: list[Block] = [Paragraph(_unrouted(fill.unrouted), "caution" if fill.unrouted else "body")]
    conduits = [one for one in fill.segments if one.segment.kind in ("conduit", "sleeve")]
    trays = [one for one in fill.segments if one.segment.kind in TRAY_KINDS]
    hooks = [one for one in fill.segments if one.segment.kind == "j_hooks"]
    other = [one for one in fill.segments if one.segment.kind == "open"]
    if conduits:
        blocks.append(_conduits(conduits, takeoff.project))
    if trays:
        blocks.append(_trays(trays, takeoff.project))
    if hooks:
        blocks.append(_hooks(hooks, takeoff.project))
    if other:
        blocks.append(_open(other, takeoff.project))
    return Section(title="Pathways", blocks=tuple(blocks), landscape=True)


def _unrouted(unrouted: tuple[str, ...]) -> str:
    if not unrouted:
        return "Every circuit has a route, so each segment below counts all cables that lie in it."
    named = ", ".join(unrouted[:_MOST_NAMED])
    more = f" and {len(unrouted) - _MOST_NAMED} more" if len(unrouted) > _MOST_NAMED else ""
    return f"Without a route, and not in these figures: {counted(len(unrouted), 'circuit')}: {named}{more}."


def _head(project: Project, kinds: str) -> tuple[Column, ...]:
    return (
        Column(key="segment", head="Segment"),
        Column(key="kind", head=kinds),
        Column(key="space", head="Space"),
        length_column(project, "length", "Length"),
    )


def _lead(one: SegmentFill, kind: str, project: Project) -> tuple[Cell, ...]:
    return (one.segment.id, kind, one.segment.space, in_length(one.segment.length_m, project))


def _tail() -> tuple[Column, ...]:
    return (
        Column(key="allowed", head="Allowed", kind="percent", decimals=1),
        Column(key="margin", head="Margin", kind="percent", decimals=1, formula=MARGIN, inputs=_MARGIN),
        Column(key="word", head="Against the limit", kind="verdict", words=_FULL),
        Column(key="source", head="Limit set by"),
    )


def _judged(one: SegmentFill) -> tuple[Cell, ...]:
    assert one.limit is not None
    assert one.share is not None
    margin = MARGIN(limit=one.limit.share, value=one.share)
    return (one.limit.share, margin, verdict(one.word), one.limit.source)


def _number(one: SegmentFill, name: str, project: Project) -> float:
    value = fill_inputs(one, project)[name].value
    assert isinstance(value, float)
    return value


def _lies(one: SegmentFill) -> int:
    return one.lies - one.cables


def _conduits(chosen: list[SegmentFill], project: Project) -> Table:
    unit, si = area_unit(project)
    rows: list[tuple[Cell, ...]] = []
    for one in chosen:
        kind = f"{one.segment.kind} {one.segment.material.upper()} {one.segment.trade_size}"
        inside = _number(one, "inside_area", project)
        lie = (_lies(one), one.lies, one.existing_m2 / si, inside / si, one.segment.turns_deg, one.jam_ratio, one.share)
        rows.append((*_lead(one, kind + (", nipple" if one.segment.nipple else ""), project), *lie, *_judged(one)))
    return Table(
        name="conduits",
        title="Conduits and sleeves",
        columns=(
            *_head(project, "Kind, trade size"),
            Column(key="lies", head="Already in it", kind="whole"),
            Column(key="cables", head="Cables", kind="whole", formula=CABLES, inputs=_COUNTS),
            Column(key="existing", head="Area already taken", kind="number", unit=unit, decimals=3, si=si),
            Column(key="inside_area", head="Inside area", kind="number", unit=unit, decimals=3, si=si),
            Column(key="bends", head="Bends", kind="whole", unit="deg"),
            Column(key="jam", head="Jam ratio", kind="number", computed=True),
            Column(key="fill", head="Fill", kind="percent", decimals=1, formula=FILL, inputs=_FILL),
            *_tail(),
        ),
        rows=rows,
    )


def _trays(chosen: list[SegmentFill], project: Project) -> Table:
    area, area_si = area_unit(project)
    unit, si = diameter_unit(project)
    rows: list[tuple[Cell, ...]] = []
    for one in chosen:
        across = [_number(one, name, project) / si for name in ("width", "depth", "depth_counted")]
        lie = (_lies(one), one.lies, one.existing_m2 / area_si, *across, one.share)
        rows.append((*_lead(one, one.segment.kind.replace("_", " "), project), *lie, *_judged(one)))
    return Table(
        name="trays",
        title="Trays, surface raceways and cabinets",
        columns=(
            *_head(project, "Kind"),
            Column(key="lies", head="Already in it", kind="whole"),
            Column(key="cables", head="Cables", kind="whole", formula=CABLES, inputs=_COUNTS),
            Column(key="existing", head="Area already taken", kind="number", unit=area, decimals=3, si=area_si),
            Column(key="width", head="Width", kind="number", unit=unit, si=si),
            Column(key="depth", head="Depth", kind="number", unit=unit, si=si),
            Column(key="depth_counted", head="Depth counted", kind="number", unit=unit, si=si),
            Column(key="fill", head="Fill", kind="percent", decimals=1, formula=TRAY_FILL, inputs=_FILL),
            *_tail(),
        ),
        rows=rows,
    )


def _hooks(chosen: list[SegmentFill], project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in chosen:
        first = 0 if one.segment.start in project.rooms else 1
        spacing = hook_spacing(one.segment, project)[0]
        capacity = _number(one, "capacity", project)
        spare = one.room.spare.cables if one.room else None
        hooks = (in_length(spacing, project), first, one.hooks, _lies(one), one.lies, capacity, spare, one.share)
        lead = (one.segment.id, one.segment.space, in_length(one.segment.length_m, project))
        rows.append((*lead, *hooks, *_judged(one)))
    return Table(
        name="hooks",
        title="J-hooks",
        caption="One hook each spacing, rounded up, and one at the start of a segment unless that is a room.",
        totals=True,
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="space", head="Space"),
            length_column(project, "length", "Length"),
            length_column(project, "spacing", "Spacing"),
            Column(key="first", head="At its start", kind="whole"),
            Column(key="hooks", head="Hooks", kind="whole", formula=HOOKS, total="sum"),
            Column(key="lies", head="Already in it", kind="whole"),
            Column(key="cables", head="Cables", kind="whole", formula=CABLES, inputs=_COUNTS),
            Column(key="capacity", head="Cables a hook", kind="whole"),
            Column(key="spare", head="More that fit", kind="whole", formula=SPARE_ON_HOOKS),
            Column(key="fill", head="Load", kind="percent", decimals=1, formula=HOOK_LOAD),
            *_tail(),
        ),
        rows=rows,
    )


def _open(chosen: list[SegmentFill], project: Project) -> Table:
    return Table(
        name="open",
        title="Open cable without a support that has a limit",
        columns=(
            *_head(project, "Kind"),
            Column(key="lies", head="Already in it", kind="whole"),
            Column(key="cables", head="Cables", kind="whole", formula=CABLES, inputs=_COUNTS),
        ),
        rows=[(*_lead(one, "open", project), _lies(one), one.lies) for one in chosen],
    )


def laid_section(takeoff: Takeoff) -> Section:
    """Return what lies in each segment by cable type, with the area of one cable."""
    text = (
        "Counts come from the routes of the circuits; areas from each cable's outside diameter, an oval one's larger."
    )
    return Section(title="In the pathways", blocks=(Paragraph(text), _laid(takeoff)))


def _laid(takeoff: Takeoff) -> Table:
    project = takeoff.project
    area, area_si = area_unit(project)
    unit, si = diameter_unit(project)
    areas = {cable.id: circle_area(cable.od_m) / area_si for cable in project.cables.values()}
    return Table(
        name="laid",
        title="Cables in each segment",
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="cable", head="Cable"),
            Column(key="count", head="Cables", kind="whole"),
            Column(key="od", head="Outside diameter", kind="number", unit=unit, decimals=3, si=si),
            Column(
                key="area",
                head="Area, each",
                kind="number",
                unit=area,
                decimals=4,
                si=area_si,
                formula=CIRCLE,
                inputs={"diameter": Same("od")},
            ),
        ),
        rows=[
            (one.segment.id, cable.id, count, cable.od_m / si, areas[cable.id])
            for one in takeoff.fill.segments
            for cable, count in one.counts
        ],
        empty="No cable of this job has a route.",
    )


def ports_section(takeoff: Takeoff) -> Section:
    """Return the ports of every patch panel, taken and free."""
    return Section(title="Ports", blocks=(_ports(takeoff),))


def _ports(takeoff: Takeoff) -> Table:
    names = {(room.id, panel.id): panel.name for room in takeoff.project.rooms.values() for panel in room.patch_panels}
    drops = Counter((run.drop.room, run.panel) for run in takeoff.project.runs if run.port is not None)

    def rows() -> Iterable[tuple[Cell, ...]]:
        for use in takeoff.panels:
            name = f"{use.room}/{use.panel}"
            strands = len(use.used) - drops[use.room, use.panel]
            yield name, use.room, names[use.room, use.panel], use.kind, use.ports, strands, len(use.used), use.free

    return Table(
        name="ports",
        title="Patch panels",
        totals=True,
        columns=(
            Column(key="panel", head="Panel"),
            Column(key="room", head="Room"),
            Column(key="name", head="Description"),
            Column(key="kind", head="Kind"),
            Column(key="ports", head="Ports", kind="whole", total="sum"),
            Column(key="strands", head="Strands landed", kind="whole", total="sum"),
            Column(
                key="used",
                head="Taken",
                kind="whole",
                total="sum",
                formula=PORTS_TAKEN,
                inputs={"drop_ports": Matching("drops", "port", "panel", "panel")},
            ),
            Column(key="free", head="Free", kind="whole", total="sum", formula=FREE_PORTS),
        ),
        rows=list(rows()),
        empty="No patch panel is in this job.",
    )
