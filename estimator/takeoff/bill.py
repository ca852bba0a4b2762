"""The bill: what the takeoff needs from the price file, line by line, and the file's other lines.

Cable counts at its ordered boxes (in feet or meters where its item is priced so), a device's
``material`` and ``labor`` once a device, ``box_material`` once an outlet box. An item counted in
ft, m or kft takes the expected footage of the cables of what names it. Items called ``j_hook``,
``firestop_sleeve``, ``conduit_support`` and ``pull_box`` are counted from the pathways. Hours go
with what is installed. Switches and UPS have no items; they stand among the file's own lines where
the bid holds them. An item's own section number stands; where it has none, its device's does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.price import line
from estimator.reference.lookup import Row, table
from estimator.spec.backup import Ups
from estimator.spec.cabling import Backbone, DeviceType
from estimator.spec.feeds import Amplifier, ControlUnit, NetworkSwitch, PowerSupply
from estimator.spec.model import Project
from estimator.spec.money import OtherLine, PriceBook, PriceItem
from estimator.spec.plant import PatchPanel, Segment
from estimator.takeoff.fill import Fill
from estimator.takeoff.footage import Footage, Length
from estimator.takeoff.needs import LENGTH_UNITS, Counter, Group, Part, counted, price_item
from estimator.takeoff.orders import CableOrder
from estimator.takeoff.pulls import points_of

Unit = ControlUnit | PowerSupply | Amplifier | Backbone | NetworkSwitch | Ups
Holder = DeviceType | Unit | PatchPanel | Segment

ORDERED: Final = Expression("round(sum(parts), 4)")
"""Quantity of a line, bought by the parts that need it [the line's unit]."""

J_HOOK: Final = "j_hook"
FIRESTOP_SLEEVE: Final = "firestop_sleeve"
CONDUIT_SUPPORT: Final = "conduit_support"
PULL_BOX: Final = "pull_box"
"""Items that are counted from the pathways, where the price file has one of that very name."""

SYSTEMS: Final = {"voice_evacuation": "fire_alarm", "household_fire": "fire_alarm"}
"""Systems of control units under the names that devices give them."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """A line of the estimate: what is bought at which cost, and what of it is installed at which hours."""

    id: str
    section: str
    name: str
    kind: str
    quantity: Decimal
    unit: str
    unit_cost: Decimal
    amount: Decimal
    hours_each: float
    factors: tuple[str, ...]
    taxed: bool
    bought: tuple[Part, ...]
    installed: tuple[Part, ...]
    priced: PriceItem | OtherLine

    @property
    def origin(self) -> str:
        """Return in words what was counted."""
        return "; ".join(part.origin for part in self.bought or self.installed)


def bill_of(
    project: Project, book: PriceBook, footage: Footage, fill: Fill, orders: tuple[CableOrder, ...]
) -> tuple[Line, ...]:
    """Return all lines: those of the takeoff by section in the order of the price file, then the file's own."""
    counter = Counter(book)
    by_cable = _by_cable(project, footage)
    for order in orders:
        item = price_item(order.cable, counter.items)
        if item is not None:
            counter.cable(order, item, by_cable[order.cable.id])
    _devices(project, footage, counter)
    _units(project, footage, counter)
    _plant(project, counter)
    _pathways(fill, counter)
    taken = _lines(counter)
    known = {one.id for one in taken}
    return (*taken, *(_other(typed, known) for typed in book.lines))


def system_of(length: Length, project: Project) -> str:
    """Return the system that a circuit's cable belongs to."""
    if length.run is not None:
        return length.run.device.system if length.run.device else "other"
    if length.backbone is not None:
        return "backbone"
    assert length.circuit is not None
    feed = project.feed(length.circuit.feed)
    if isinstance(feed, ControlUnit):
        return SYSTEMS.get(feed.system, feed.system)
    stops = length.circuit.stops
    if isinstance(feed, Amplifier) or not stops:
        return "audio" if isinstance(feed, Amplifier) else "other"
    return project.devices[stops[0].device].system


def _by_cable(project: Project, footage: Footage) -> dict[str, dict[str, list[Length]]]:
    found: dict[str, dict[str, list[Length]]] = {}
    for length in footage.lengths:
        systems = found.setdefault(length.cable.id, {})
        systems.setdefault(system_of(length, project), []).append(length)
    return found


def _devices(project: Project, footage: Footage, counter: Counter) -> None:
    """Count devices on drops and on circuits, and their outlet boxes."""
    ids: dict[str, list[str]] = {}
    meters: dict[str, list[float]] = {}
    for length in footage.lengths:
        if length.run is not None and length.run.device is not None:
            device = length.run.device
            meters.setdefault(device.id, []).append(length.expected_m)
            if length.run.first:
                ids.setdefault(device.id, []).append(length.id)
    for name, found in ids.items():
        _need_device(counter, project.devices[name], found, math.fsum(meters[name]), "on drops")
    _boxes(project, footage, counter)
    ids, meters = {}, {}
    for circuit in project.circuits.values():
        for place, stop in enumerate(circuit.stops, 1):
            name = stop.id or f"{circuit.id} device {place}"
            ids.setdefault(stop.device, []).extend([name] * stop.count)
            meters.setdefault(stop.device, []).append(stop.distance_m)
    for name, found in ids.items():
        device = project.devices[name]
        _need_device(counter, device, found, math.fsum(meters[name]), "on circuits")
        # Devices on a circuit share no outlet, so each one has a box of its own.
        counter.need(
            device.box_material, "material", _group(device, found, f"{counted(len(found), 'box', 'boxes')} on circuits")
        )


def _group(device: DeviceType, ids: list[str], how: str, footage_m: float = 0.0) -> Group:
    return Group(
        on=device.id, system=device.system, section=device.section or "", how=how, ids=tuple(ids), footage_m=footage_m
    )


def _need_device(counter: Counter, device: DeviceType, ids: list[str], footage_m: float, where: str) -> None:
    group = _group(device, ids, f"{counted(len(ids), 'device')} {where}", footage_m)
    counter.need(device.material, "material", group)
    counter.need(device.labor, "labor", group)


def _boxes(project: Project, footage: Footage, counter: Counter) -> None:
    """Count what an outlet box needs once, even where devices of several types share it."""
    holds: dict[tuple[str, str], dict[str, int]] = {}
    needs: dict[tuple[str, str, int], list[str]] = {}
    for length in footage.lengths:
        run = length.run
        if run is None or not run.first or run.device is None or not run.device.box_material:
            continue
        box = (run.drop.room, run.outlet)
        held = holds.setdefault(box, {})
        for name in dict.fromkeys(run.device.box_material):
            more = run.device.box_material.count(name) - held.get(name, 0)
            if more > 0:
                held[name] = held.get(name, 0) + more
                needs.setdefault((run.device.id, name, more), []).append(run.outlet)
    for (device, name, times), outlets in needs.items():
        counter.need(
            [name] * times,
            "material",
            _group(project.devices[device], outlets, counted(len(outlets), "outlet box", "outlet boxes")),
        )


def _units(project: Project, footage: Footage, counter: Counter) -> None:
    """Count what control units, supplies, amplifiers and backbone cables need."""
    holders: list[tuple[Unit, str, float]] = [
        *((unit, SYSTEMS.get(unit.system, unit.system), 0.0) for unit in project.control_units.values()),
        *((supply, "other", 0.0) for supply in project.supplies.values()),
        *((amplifier, "audio", 0.0) for amplifier in project.amplifiers.values()),
        *((switch, "data", 0.0) for switch in project.switches.values()),
        *((ups, "data", 0.0) for ups in project.ups.values()),
        *(
            (cable, "backbone", footage.by_id[cable.id].expected_m)
            for cable in project.backbone.values()
            if cable.id in footage.by_id
        ),
    ]
    for holder, system, footage_m in holders:
        group = Group(on=holder.id, system=system, section="", how="one unit", ids=(holder.id,), footage_m=footage_m)
        counter.need(holder.material, "material", group)
        counter.need(holder.labor, "labor", group)


def _plant(project: Project, counter: Counter) -> None:
    """Count what patch panels and segments name: panels each, segments each or by their length."""
    for room in project.rooms.values():
        for panel in room.patch_panels:
            on = f"panel {room.id}-{panel.id}"
            group = Group(on=on, system="data", section="", how="one panel", ids=(on,))
            counter.need(panel.material, "material", group)
            counter.need(panel.labor, "labor", group)
    for segment in project.segments.values():
        extent = segment.length_m + segment.rise_m
        how = f"{segment.kind.replace('_', ' ')} {segment.id}, its rise in it"
        group = Group(on=segment.id, system="", section="", how=how, ids=(segment.id,), footage_m=extent)
        for name in segment.items:
            priced = counter.items.get(name)
            counter.need([name], "material" if priced and priced.cost else "labor", group)


def _pathways(fill: Fill, counter: Counter) -> None:
    """Count hooks, supports, pull boxes and firestopped sleeves where the price file has an item of that name.

    Only segments that this job's cables lie in count. Where cables lie in a conduit or on hooks already,
    what holds them is there; a firestopped sleeve is opened and sealed again either way.
    """
    used = [filled for filled in fill.segments if filled.cables]
    sleeves = [f for f in used if f.segment.kind == "sleeve"]
    for f in used:
        if f.existing:
            continue
        _pieces(counter, J_HOOK, f.segment.id, f.hooks, "j-hook")
        _pieces(counter, CONDUIT_SUPPORT, f.segment.id, f.supports or 0, "support")
        if f.segment.kind == "conduit" and not f.segment.nipple:
            _pieces(counter, PULL_BOX, f.segment.id, points_of(f.segment), "pull box", "pull boxes")
    if FIRESTOP_SLEEVE in counter.items:
        sealed = Group(
            on="sleeves",
            system="",
            section="",
            how="each with its firestop system",
            ids=tuple(f.segment.id for f in sleeves),
        )
        counter.need([FIRESTOP_SLEEVE], "material", sealed)


def _pieces(counter: Counter, item: str, segment: str, number: int, one: str, more: str = "") -> None:
    """Count so many pieces on a segment, where the price file has the item."""
    if number and item in counter.items:
        ids = (segment,) * number
        group = Group(on=segment, system="", section="", how=counted(number, one, more), ids=ids)
        counter.need([item], "material", group)


def _lines(counter: Counter) -> tuple[Line, ...]:
    place = {name: number for number, name in enumerate(counter.items)}
    keys = sorted(counter.bought, key=lambda key: (not key[1], key[1], place[key[0]], key[2]))
    sections: dict[str, set[str]] = {}
    kinds: dict[str, set[str]] = {}
    for name, section, kind in keys:
        sections.setdefault(name, set()).add(section)
        kinds.setdefault(name, set()).add(kind)
    lines = []
    for key in keys:
        name, section, kind = key
        # An item in two sections, or bought here and a task there, makes lines with a mark of their own.
        marks = [section.replace(" ", "-") or "none"] if len(sections[name]) > 1 else []
        marks += [kind] if len(kinds[name]) > 1 else []
        parts = tuple(counter.bought[key]), tuple(counter.installed[key])
        lines.append(
            _line(":".join([name, *marks]), section, kind, parts, counter.items[name], taxed=kind == "material")
        )
    return tuple(lines)


def _other(typed: OtherLine, known: set[str]) -> Line:
    name = f"{typed.id}:line" if typed.id in known else typed.id
    part = Part(on=typed.id, system="", quantity=float(typed.quantity), how="typed in the price file")
    taxed = typed.kind == "material" if typed.taxed is None else typed.taxed
    return _line(name, typed.section, typed.kind, ((part,), (part,)), typed, taxed=taxed)


def _line(
    name: str,
    section: str,
    kind: str,
    parts: tuple[tuple[Part, ...], tuple[Part, ...]],
    priced: PriceItem | OtherLine,
    *,
    taxed: bool,
) -> Line:
    bought, installed = parts
    quantity = Decimal(repr(ORDERED(parts=[part.quantity for part in bought])))
    quantity = quantity.to_integral_value() if quantity == quantity.to_integral_value() else quantity
    return Line(
        id=name,
        section=section,
        name=priced.name,
        kind=kind,
        quantity=quantity,
        unit=priced.unit,
        unit_cost=priced.cost,
        amount=line(quantity=quantity, unit_cost=priced.cost),
        hours_each=hours_each(priced),
        factors=priced.factors,
        taxed=taxed,
        bought=bought,
        installed=installed,
        priced=priced,
    )


def hours_each(priced: PriceItem | OtherLine) -> float:
    """Return the hours of one unit [h]; what is counted in hours and has no other figure is one hour each.

    An item that names a published labor unit and types no hours takes the middle of its range.
    """
    if priced.source.typed("hours") is not None:
        return priced.hours
    row = labor_unit(priced)
    if row is not None:
        return unit_hours(row, "hours", priced.unit)
    if priced.unit == "hour" and priced.source.typed("cost") is None and not _is_share(priced):
        return 1.0
    return priced.hours


def _is_share(priced: PriceItem | OtherLine) -> bool:
    return isinstance(priced, OtherLine) and bool(priced.hours_share)


def labor_unit(priced: PriceItem | OtherLine) -> Row | None:
    """Return the published labor unit that an item names, or None."""
    name = priced.labor_unit if isinstance(priced, PriceItem) else None
    units = table("labor_units")
    return units.find(id=name) if name is not None and units.has(id=name) else None


def unit_hours(row: Row, which: str, unit: str) -> float:
    """Return the low, high or middle hours of a published labor unit for one of an item's units [h]."""
    of = LENGTH_UNITS[unit] / LENGTH_UNITS["ft"] if row.text("unit") == "ft" and unit in LENGTH_UNITS else 1.0
    return row.number(which) / row.number("per") * of
