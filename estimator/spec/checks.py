"""Checks across records: a list of functions of one shape, a project in and faults out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from estimator.reference.lookup import table
from estimator.spec.backup import Ups
from estimator.spec.cabling import Backbone, DeviceType, Drop
from estimator.spec.checks_acceptance import check_acceptance, check_turnover
from estimator.spec.checks_backup import check_backup
from estimator.spec.checks_code import check_code
from estimator.spec.checks_fiber import check_fiber
from estimator.spec.checks_identity import check_identity
from estimator.spec.checks_labels import check_labels
from estimator.spec.checks_lines import check_lines
from estimator.spec.checks_money import check_money
from estimator.spec.checks_pathways import check_pathways
from estimator.spec.checks_racks import check_racks
from estimator.spec.checks_rooms import check_rooms
from estimator.spec.checks_speakers import check_speakers
from estimator.spec.faults import Faults, Place, known_words, one_of
from estimator.spec.feeds import Amplifier, Circuit, ControlUnit, NetworkSwitch, PowerSupply
from estimator.spec.model import Project, ProjectFile, Run
from estimator.spec.money import Alternate, OtherLine, PriceItem, UnitPrice
from estimator.spec.nodes import Source
from estimator.spec.plant import PatchPanel, PlanNode, Room, Segment
from estimator.units.quantity import in_unit
from estimator.units.rounding import over

Check = Callable[[Project, Faults], None]
Holder = DeviceType | ControlUnit | PowerSupply | Amplifier | Backbone | NetworkSwitch | Ups | PatchPanel | Segment


def check_file(typed: ProjectFile, faults: Faults) -> None:
    """Add the fault of a readings folder that lies elsewhere."""
    readings = typed.readings or ""
    if readings.startswith(("/", "\\")) or ".." in readings.replace("\\", "/").split("/"):
        faults.add(
            typed.source.at("readings"),
            f"readings folder {readings!r} leaves the project's folder",
            "a folder beside the project file",
            "mend the name, or leave it out",
        )


def check_project(project: Project, faults: Faults) -> None:
    """Add every fault that shows only across records."""
    for check in CHECKS:
        check(project, faults)


def _known(place: Place, what: str, name: str, known: Iterable[str], block: str, faults: Faults) -> bool:
    words = known if isinstance(known, Mapping) else list(known)
    if name in words:
        return True
    faults.undeclared(place, what, name, words, block)
    return False


def graph_names(project: Project) -> dict[str, None]:
    """Return the names that segments may end at: rooms and nodes."""
    return dict.fromkeys([*project.rooms, *project.nodes])


def _segments(project: Project, faults: Faults) -> None:
    names = graph_names(project)
    for segment in project.segments.values():
        for key, name in (("from", segment.start), ("to", segment.end)):
            if name not in names:
                _known(segment.source.at(key), "node", name, names, "nodes", faults)
        if segment.start == segment.end:
            faults.add(
                segment.source.at("to"),
                f"segment {segment.id!r} ends where it starts",
                "two different nodes",
                "mend `from` or `to`",
            )


def _carriers(project: Project, faults: Faults) -> None:
    """Conduits and sleeves need a size that is in the table, trays a width and depth."""
    for segment in project.segments.values():
        if segment.kind in ("conduit", "sleeve"):
            _sized(segment, faults)
        if segment.kind in ("tray", "surface_raceway", "cabinet") and not (segment.width_m and segment.depth_m):
            what = f"{segment.kind.replace('_', ' ')} {segment.id!r} has no width or depth"
            faults.add(segment.source.at(), what, "`width:` and `depth:`", "add both")
        for laid in segment.laid:
            _known(laid.source.at("cable"), "cable", laid.cable, project.cables, "cables", faults)


def _sized(segment: Segment, faults: Faults) -> None:
    at, sizes = segment.source.at, table("conduit_table_4")
    if segment.trade_size is None:
        what = f"{segment.kind} {segment.id!r} has no trade size"
        faults.add(at(), what, "`trade_size:` such as 1-1/4", "add it")
    elif not sizes.has(kind=segment.material, trade=segment.trade_size):
        there = ", ".join(str(r.cells["trade"]) for r in sizes if r.cells["kind"] == segment.material)
        what = f"{segment.material} has no trade size {segment.trade_size!r}"
        faults.add(at("trade_size"), what, f"one of {there}", "mend the size")
    if segment.kind == "sleeve" and segment.firestop is None:
        what = f"sleeve {segment.id!r} has no firestop system"
        faults.add(at(), what, "`firestop:` with `system:` and `max_fill_percent:` of its listing", "add it")
    longest = table("conduit_fill").find(rule="nipple").number("longest_m")
    length_m = segment.length_m + segment.rise_m
    if segment.nipple and over(length_m, longest):
        what = f"nipple {segment.id!r} is {in_unit(length_m, 'length', 'in'):.4g} in long"
        faults.add(
            at("length"),
            what,
            f"{in_unit(longest, 'length', 'in'):g} in or less (NFPA 70 Chapter 9 Note 4)",
            "shorten it or delete `nipple:`",
        )
    most = table("bend_rules").find(rule="code_total_degrees").number("value")
    if segment.kind == "conduit" and over(segment.turns_deg, most):
        what = f"conduit {segment.id!r} bends {segment.turns_deg:g} degrees"
        limit = f"at most {most:g} between pull points (NFPA 70, the raceway's article)"
        faults.add(at("bends_at" if segment.bends_at else "bends"), what, limit, "split it at a pull point")


def _groups(project: Project, faults: Faults) -> dict[str, str]:
    """Return a representative for every node: nodes that segments join share one.

    A segment or node with a fault of its own still joins, so that one mistake is told once.
    """
    lost = [typed for _, typed in faults.lost]
    parent = {name: name for name in (*graph_names(project), *(typed.get("id", "") for typed in lost))}

    def find(name: str) -> str:
        while parent[name] != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    joins = [(segment.start, segment.end) for segment in project.segments.values()]
    joins += [(typed["from"], typed["to"]) for typed in lost if "from" in typed and "to" in typed]
    for start, end in joins:
        if start in parent and end in parent:
            parent[find(start)] = find(end)
    return {name: find(name) for name in parent}


def _drops(project: Project, faults: Faults) -> None:
    """Each drop knows its room and its place, and the graph leads there."""
    groups = _groups(project, faults)
    names = graph_names(project)
    scaled = project.plan is not None and project.plan.scale_m is not None
    seen: set[int] = set()
    for run in project.runs:
        drop = run.drop
        if id(drop) in seen:
            continue
        seen.add(id(drop))
        at = drop.source.at
        known_room = drop.room in project.rooms or _known(at("room"), "room", drop.room, project.rooms, "rooms", faults)
        if drop.at is not None and drop.at not in names:
            _known(at("at"), "node", drop.at, names, "nodes", faults)
        elif drop.at is not None and known_room and groups[drop.at] != groups[drop.room]:
            faults.add(
                at("at"),
                f"no pathway leads from room {drop.room!r} to node {drop.at!r}",
                "a node that segments join to the room",
                "add the missing segment or type a `length:`",
            )
        if drop.at is None and drop.length_m is None:
            averaged = known_room and project.rooms[drop.room].longest_run_m is not None and drop.x is drop.y is None
            scaled = scaled if averaged else _on_plan(drop, scaled, faults)
        _setting(drop.setting, run.device, drop.source, faults)
        for key, name, known, block in (
            ("switch", drop.switch, project.switches, "switches"),
            ("supply", drop.supply, {**project.supplies, **project.control_units}, "power_supplies"),
        ):
            if name is not None:
                _known(at(key), key, name, known, block, faults)
        _via(drop.via, drop.source, project, faults, ends=drop.at is not None or drop.x is not None)
        _poe_cable(run, faults)


def _on_plan(drop: Drop, scaled: bool, faults: Faults) -> bool:
    """Check a drop's x and y; return whether their unit is known, or its lack has been told."""
    if drop.x is None or drop.y is None:
        faults.add(
            drop.source.at("id"),
            f"drop {drop.id!r} has no place and no length",
            "`at:`, `x:` and `y:`, or `length:`",
            "add one of them",
        )
        return scaled
    if not scaled:
        faults.add(
            drop.source.at("x"),
            f"drop {drop.id!r} is placed by x and y, and nothing says how long a unit of them is",
            "`plan:` with `unit:`, such as 1 ft",
            "add it",
        )
    return True


def _floors(project: Project, faults: Faults) -> None:
    """A floor is one of the plan's, where the plan lists them."""
    known = project.plan.floors if project.plan is not None else ()
    drops = {id(run.drop): run.drop for run in project.runs if run.drop.floor}
    listed: list[Room | PlanNode | Drop] = [*project.rooms.values(), *project.nodes.values(), *drops.values()]
    for item in listed if known else ():
        if item.floor:
            _known(item.source.at("floor"), "floor", item.floor, known, "plan: floors", faults)


def _setting(setting: str | None, device: DeviceType | None, source: Source, faults: Faults) -> None:
    if device is None or not setting or setting in dict(device.settings):
        return
    faults.add(
        source.at("setting"),
        f"device {device.id!r} has no setting {setting!r}",
        one_of(dict(device.settings)),
        "mend the setting or add it to the device",
    )


def _via(via: tuple[str, ...], source: Source, project: Project, faults: Faults, *, ends: bool = True) -> None:
    if via and not ends:
        faults.add(source.at("via"), "`via` leads to no place", "`at:` beside it", "add `at:` or delete `via:`")
    for name in via:
        if name not in project.segments:
            _known(source.at("via"), "segment", name, project.segments, "pathways", faults)
    if len(set(via)) != len(via):
        faults.add(source.at("via"), "`via` names a segment twice", "each segment once", "delete the repetition")


def _poe_cable(run: Run, faults: Faults) -> None:
    device = run.device
    if device is not None and device.poe_class is not None and run.cable.medium != "balanced_pair":
        faults.add(
            device.source.at("cable"),
            f"device {device.id!r} takes PoE over {run.cable.medium.replace('_', ' ')}",
            "a balanced-pair cable",
            "mend the cable or delete `poe_class:`",
        )


def _ports(project: Project, faults: Faults) -> None:
    """A patch-panel port exists and is used once."""
    used: dict[tuple[str, str, int], Run] = {}
    panels = {(room.id, panel.id): panel.ports for room in project.rooms.values() for panel in room.patch_panels}
    for run in project.runs:
        if run.panel is None:
            continue
        room, at = run.drop.room, run.drop.source.at("port" if run.drop.port else "id")
        size = panels.get((room, run.panel))
        if size is None or run.port is None:
            there = [panel for where, panel in panels if where == room]
            faults.add(
                at,
                f"port {run.drop.port!r} names no panel of room {room!r}",
                f"a panel and a port, such as A-07; the room has panels {known_words(there)}",
                "mend the port or add the panel",
            )
            continue
        if not 1 <= run.port <= size:
            faults.add(
                at,
                f"panel {run.panel} of room {room} has no port {run.port}",
                f"a port from 1 to {size}",
                "mend the port or add a panel",
            )
            continue
        before = used.setdefault((room, run.panel, run.port), run)
        if before is not run:
            faults.add(
                at,
                f"port {run.panel}-{run.port:02d} of room {room} is used by {before.id!r} and {run.id!r}",
                "each port once",
                f"give one of them another port; the first stands at {before.place}",
            )


def _feeds(project: Project, faults: Faults) -> None:
    """Circuits name a source, devices and a place that exist."""
    groups = _groups(project, faults)
    feeds: Mapping[str, object] = {**project.control_units, **project.supplies, **project.amplifiers}
    for circuit in project.circuits.values():
        _known(circuit.source.at("source"), "source", circuit.feed, feeds, "control_units", faults)
        for stop in circuit.stops:
            _known(stop.source.at("device"), "device", stop.device, project.devices, "devices", faults)
            device = project.devices.get(stop.device)
            _setting(stop.setting, device, stop.source, faults)
        _stop_ids(circuit, faults)
        _circuit_place(circuit, project, groups, faults)
        _class(circuit, faults)
        _via(circuit.via, circuit.source, project, faults, ends=circuit.at is not None)


def _stop_ids(circuit: Circuit, faults: Faults) -> None:
    """A device stands once on its circuit; on another circuit it may stand again, as a strobe's horn does."""
    seen: dict[str, str] = {}
    for stop in circuit.stops:
        if stop.id is None:
            continue
        if stop.id.casefold() in seen:
            faults.add(
                stop.source.at("id"),
                f"circuit {circuit.id!r} has the device {stop.id!r} twice",
                "an id of its own for each device of a circuit",
                "give one of them another id, or delete the repetition",
            )
        seen[stop.id.casefold()] = stop.id


def _circuit_place(circuit: Circuit, project: Project, groups: Mapping[str, str], faults: Faults) -> None:
    if circuit.at is None or not _known(circuit.source.at("at"), "node", circuit.at, groups, "nodes", faults):
        return
    feeds = {*project.control_units, *project.supplies, *project.amplifiers}
    room = project.feed(circuit.feed).room if circuit.feed in feeds else ""
    if room in groups and groups[circuit.at] != groups[room]:
        faults.add(
            circuit.source.at("at"),
            f"no pathway leads from room {room!r} to node {circuit.at!r}",
            "a node that segments join to the room",
            "add the missing segment or delete `at:`",
        )


def _class(circuit: Circuit, faults: Faults) -> None:
    """Classes A and X come back to their source, class B does not."""
    if circuit.circuit_class in ("A", "X") and circuit.return_m == 0:
        faults.add(
            circuit.source.at("class"),
            f"class {circuit.circuit_class} circuit {circuit.id!r} has no return",
            "`return:` length",
            "add the length of cable back to the source",
        )
    if circuit.circuit_class == "B" and circuit.return_m > 0:
        faults.add(
            circuit.source.at("return"),
            f"class B circuit {circuit.id!r} has a return",
            "`class: A` or `class: X`, or no `return:`",
            "write the class, or delete `return:`",
        )


def _places(project: Project, faults: Faults) -> None:
    """What stands in a room stands in a room of this job."""
    for group in (project.switches, project.supplies, project.control_units, project.amplifiers, project.ups):
        for item in group.values():
            _known(item.source.at("room"), "room", item.room, project.rooms, "rooms", faults)
    for switch in project.switches.values():
        if switch.ups is not None:
            _known(switch.source.at("ups"), "UPS", switch.ups, project.ups, "ups", faults)
    for point in project.test_points.values():
        if point.control_unit is not None:
            _known(
                point.source.at("control_unit"),
                "control unit",
                point.control_unit,
                project.control_units,
                "control_units",
                faults,
            )


def _backbone(project: Project, faults: Faults) -> None:
    groups = _groups(project, faults)
    for cable in project.backbone.values():
        ends = [
            _known(cable.source.at(key), "room", name, project.rooms, "rooms", faults)
            for key, name in (("from", cable.start), ("to", cable.end))
        ]
        _via(cable.via, cable.source, project, faults)
        if cable.start == cable.end:
            what = f"backbone cable {cable.id!r} ends where it starts"
            faults.add(cable.source.at("to"), what, "two different rooms", "mend `from` or `to`")
        if all(ends) and cable.length_m is None and groups[cable.start] != groups[cable.end]:
            faults.add(
                cable.source.at("to"),
                f"no pathway leads from room {cable.start!r} to room {cable.end!r}",
                "segments that join them, or `length:`",
                "add one of them",
            )


def _prices(project: Project, faults: Faults) -> None:
    book = project.prices
    if book is None:
        return
    items = {item.id for item in book.items}
    factors = {factor.id for factor in book.factors}
    priced: list[PriceItem | OtherLine] = [*book.items, *book.lines]
    for item in priced:
        for name in item.factors:
            _known(item.source.at("factors"), "factor", name, factors, "factors", faults)
    changes: list[Alternate | UnitPrice] = [*book.alternates, *book.unit_prices]
    for change in changes:
        for amount in change.items:
            _known(amount.source.at("item"), "item", amount.item, items, "items", faults)
    for cable in project.cables.values():
        if cable.price is not None and cable.typed is not None:
            _known(cable.typed.source.at("price"), "item", cable.price, items, "items", faults)
    holders: tuple[Holder, ...] = (
        *project.devices.values(),
        *project.control_units.values(),
        *project.supplies.values(),
        *project.amplifiers.values(),
        *project.backbone.values(),
        *project.switches.values(),
        *project.ups.values(),
        *project.segments.values(),
        *(panel for room in project.rooms.values() for panel in room.patch_panels),
    )
    for holder in holders:
        for key in ("material", "box_material", "labor", "items"):
            named = getattr(holder, key, ())
            for name in named if isinstance(named, tuple) else ():
                _known(holder.source.at(key), "item", name, items, "items", faults)


CHECKS: tuple[Check, ...] = (
    _segments,
    _carriers,
    _drops,
    _floors,
    _ports,
    _feeds,
    _places,
    _backbone,
    check_fiber,
    check_speakers,
    check_backup,
    check_code,
    check_identity,
    check_lines,
    check_rooms,
    check_racks,
    check_pathways,
    check_acceptance,
    check_labels,
    check_turnover,
    _prices,
    check_money,
)
"""Every check across records; a new one is a new function in this list."""

__all__ = ["CHECKS", "check_file", "check_project", "graph_names"]
