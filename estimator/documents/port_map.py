"""Port maps and racks: what ends on which port of a panel's face, and what stands in which unit of a rack."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.documents.description import Cell, Column, Table
from estimator.spec.model import Project
from estimator.spec.plant import PatchPanel, Room
from estimator.spec.racks import Rack, RackItem
from estimator.takeoff.place import PanelUse
from estimator.takeoff.takeoff import Takeoff

FREE: Final = "free"


@dataclass(frozen=True, kw_only=True, slots=True)
class Port:
    """A port of a panel's face, and what ends on it."""

    number: int
    circuit: str
    word: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Face:
    """A panel as somebody before it sees it: rows of ports, numbered left to right, then top to bottom."""

    room: str
    panel: PatchPanel
    place: str
    rows: tuple[tuple[Port, ...], ...]

    @property
    def id(self) -> str:
        """Return the panel's name in the job."""
        return f"{self.room}-{self.panel.id}"


def faces(takeoff: Takeoff, words: Mapping[str, str] | None = None) -> tuple[Face, ...]:
    """Return the face of every panel; ``words`` are the verdicts of circuits, where there are some yet."""
    panels = {
        (room.id, panel.id): (room, panel) for room in takeoff.project.rooms.values() for panel in room.patch_panels
    }
    return tuple(_face(use, *panels[use.room, use.panel], words or {}) for use in takeoff.panels)


def _face(use: PanelUse, room: Room, panel: PatchPanel, words: Mapping[str, str]) -> Face:
    taken = dict(use.used)
    ports = [
        Port(number=number, circuit=taken.get(number, ""), word=words.get(taken.get(number, ""), ""))
        for number in range(1, panel.ports + 1)
    ]
    per_row = min(panel.ports_in_row, panel.ports)
    rows = tuple(tuple(ports[start : start + per_row]) for start in range(0, len(ports), per_row))
    return Face(room=use.room, panel=panel, place=_place_of(room, panel), rows=rows)


def _place_of(room: Room, panel: PatchPanel) -> str:
    """Return rack and unit of a panel, where they are typed."""
    for rack in room.racks:
        for item in rack.holds:
            if item.panel == panel.id:
                return f"rack {rack.id}, unit {_units(item)}"
    return ""


def _units(item: RackItem) -> str:
    return str(item.at) if item.height == 1 else f"{item.at} to {item.top}"


def rack_table(project: Project) -> Table:
    """Return what stands in each rack from the top down, with the free units between."""
    columns = (
        Column(key="room", head="Room"),
        Column(key="rack", head="Rack"),
        Column(key="side", head="Side"),
        Column(key="units", head="Units"),
        Column(key="what", head="What"),
        Column(key="holds", head="Holds"),
    )
    rows = [row for room in project.rooms.values() for rack in room.racks for row in _rack_rows(project, room, rack)]
    return Table(
        name="racks",
        title="Rack elevations",
        columns=columns,
        rows=rows,
        empty="No rack is typed with its units.",
        caption="Units are counted from the floor up; the upper ones stand first.",
    )


def _rack_rows(project: Project, room: Room, rack: Rack) -> Iterator[tuple[Cell, ...]]:
    for side in ("front", "rear"):
        items = [item for item in rack.holds if item.side in (side, "both")]
        if side == "rear" and not any(item.side == "rear" for item in items):
            continue
        for low, high, item in stacked(items, rack.units):
            units = str(low) if low == high else f"{high} to {low}"
            what = item.shown if item else FREE
            yield room.id, rack.id, side, units, what, held(project, room, item) if item else ""


def stacked(items: Iterable[RackItem], units: int) -> Iterator[tuple[int, int, RackItem | None]]:
    """Yield lowest and highest unit of everything in a rack from the top down; free units that touch are one."""
    top = units
    for item in sorted(items, key=lambda item: item.at, reverse=True):
        if item.top < top:
            yield item.top + 1, top, None
        yield item.at, item.top, item
        top = item.at - 1
    if top > 0:
        yield 1, top, None


def held(project: Project, room: Room, item: RackItem) -> str:
    """Return in a few words what a panel or a piece of equipment is."""
    if item.panel:
        panel = next(one for one in room.patch_panels if one.id == item.panel)
        category = f", Category {panel.category}" if panel.category != "none" else ""
        return f"{panel.ports} ports{category}{f', {panel.name}' if panel.name else ''}"
    name = item.equipment or ""
    if name in project.switches:
        return f"network switch, {project.switches[name].ports} ports"
    if name in project.ups:
        return f"UPS, {project.ups[name].rating_w:g} W"
    for group in (project.control_units, project.supplies, project.amplifiers):
        if name in group:
            return group[name].name
    return ""


def face_title(face: Face) -> str:
    """Return what a panel is called, with where it is."""
    parts = (f"Panel {face.id}", face.panel.name, face.place)
    return ", ".join(part for part in parts if part)
