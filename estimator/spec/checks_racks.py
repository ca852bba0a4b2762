"""Checks of racks: what stands in one is there, stands once, and takes units that nothing else takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from estimator.spec.faults import Faults, one_of
from estimator.spec.model import Project
from estimator.spec.nodes import Source
from estimator.spec.plant import Room
from estimator.spec.racks import Rack, RackItem


def check_racks(project: Project, faults: Faults) -> None:
    """Add a fault for every rack and every thing in one that can't be as it is typed."""
    rooms_of = _rooms_of(project)
    for room in project.rooms.values():
        _racks_once(room, faults)
        placed: dict[str, Source] = {}
        for rack in room.racks:
            for item in rack.holds:
                _named(item, rack, faults)
                _there(item, room, rooms_of, faults)
                _stands_once(item, placed, faults)
                if item.top > rack.units:
                    faults.add(
                        item.source.at("at"),
                        f"{item.shown or 'an entry'} takes unit {item.top} of rack {rack.id!r}",
                        f"units 1 to {rack.units}",
                        "mend `at` or `height`, or the rack's `units`",
                    )
            _overlaps(rack, faults)


def _rooms_of(project: Project) -> dict[str, str]:
    """Return the room of everything that can stand in a rack, by its id."""
    groups: tuple[Mapping[str, object], ...] = (
        project.switches,
        project.supplies,
        project.control_units,
        project.amplifiers,
        project.ups,
    )
    return {name: str(getattr(one, "room", "")) for group in groups for name, one in group.items()}


def _racks_once(room: Room, faults: Faults) -> None:
    seen: dict[str, Rack] = {}
    for rack in room.racks:
        before = seen.setdefault(rack.id.lower(), rack) if rack.id else rack
        if before is not rack:
            faults.add(
                rack.source.at("id"),
                f"rack {rack.id!r} of room {room.id!r} is used twice",
                "each id once in a room",
                f"rename one; the first stands at {before.source.at('id')}",
            )


def _named(item: RackItem, rack: Rack, faults: Faults) -> None:
    if item.panel and item.equipment:
        faults.add(
            item.source.at("equipment"),
            f"an entry of rack {rack.id!r} names panel {item.panel!r} and equipment {item.equipment!r}",
            "one of the two",
            "make two entries of it",
        )
    elif not item.shown:
        faults.add(
            item.source.at(),
            f"an entry of rack {rack.id!r} doesn't say what stands there",
            "`panel:`, `equipment:` or `what:`",
            "add one of them",
        )


def _there(item: RackItem, room: Room, rooms_of: Mapping[str, str], faults: Faults) -> None:
    panels = [panel.id for panel in room.patch_panels]
    if item.panel and item.panel not in panels:
        faults.undeclared(item.source.at("panel"), "panel", item.panel, panels, "patch_panels")
    if not item.equipment:
        return
    if item.equipment not in rooms_of:
        faults.undeclared(item.source.at("equipment"), "equipment", item.equipment, rooms_of, "switches")
    elif rooms_of[item.equipment] != room.id:
        here = [name for name, where in rooms_of.items() if where == room.id]
        faults.add(
            item.source.at("equipment"),
            f"{item.equipment!r} stands in room {rooms_of[item.equipment]!r}, the rack in {room.id!r}",
            one_of(here),
            "mend the room of one of them",
        )


def _stands_once(item: RackItem, placed: dict[str, Source], faults: Faults) -> None:
    for key, name in (("panel", item.panel), ("equipment", item.equipment)):
        before = placed.setdefault(f"{key} {name}", item.source) if name else item.source
        if before is not item.source:
            faults.add(
                item.source.at(key),
                f"{key} {name!r} stands in two places",
                "each in one place",
                f"delete one; the first stands at {before.at(key)}",
            )


def _sides(item: RackItem) -> tuple[str, ...]:
    return ("front", "rear") if item.side == "both" else (item.side,)


def _clashes(rack: Rack) -> Iterator[tuple[RackItem, RackItem, int]]:
    """Yield each pair that shares a unit once, the later entry first, with its lowest shared unit."""
    taken: dict[tuple[str, int], RackItem] = {}
    told: set[tuple[int, int]] = set()
    for place, item in enumerate(rack.holds):
        for unit in range(item.at, item.top + 1):
            for side in _sides(item):
                other = taken.setdefault((side, unit), item)
                if other is not item and (place, id(other)) not in told:
                    told.add((place, id(other)))
                    yield item, other, unit


def _overlaps(rack: Rack, faults: Faults) -> None:
    for item, other, unit in _clashes(rack):
        faults.add(
            item.source.at("at"),
            f"{item.shown or 'an entry'} takes unit {unit} of rack {rack.id!r}, where {other.shown or 'another'} is",
            "a unit for one thing on each side",
            f"move one of them; the other stands at {other.source.at('at')}",
        )
