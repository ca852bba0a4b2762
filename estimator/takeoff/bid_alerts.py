"""The price's warnings: what has no price, quotes that ran out, options that don't fit their name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from estimator.spec.faults import Place
from estimator.spec.feeds import ControlUnit, PowerSupply
from estimator.spec.model import Project
from estimator.spec.money import OtherLine, PriceItem
from estimator.spec.nodes import Source
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bill import FIRESTOP_SLEEVE, J_HOOK, Holder
from estimator.takeoff.labor_hours import share_of
from estimator.takeoff.needs import LENGTH_UNITS, counted, price_item
from estimator.takeoff.price_build import Bid, Option
from estimator.takeoff.price_sense import sense_alerts
from estimator.takeoff.sections import section_alerts

NO_PRICE = "no price"
ITEMS_OR_LINE = "add `material:` and `labor:`, or price it among the lines of the price file"
BOOK = "price file"


def bid_alerts(bid: Bid, project: Project) -> Iterable[Alert]:
    """Yield the warnings of a bid."""
    yield from _cables(bid, project)
    yield from _devices(bid, project)
    yield from _units(project)
    yield from _hooks(bid)
    yield from _missing(bid, project)
    yield from _empty_lines(bid)
    yield from _crew(bid)
    yield from _quotes(bid, project)
    yield from _options(bid)
    yield from sense_alerts(bid)
    yield from section_alerts(bid.lines, project.codes.sections)


def _no_price(place: Place, subject: str, text: str, value: str, advice: str) -> Alert:
    return Alert(place, NO_PRICE, subject, text, value, "every part of the job priced", BOOK, advice)


def _cables(bid: Bid, project: Project) -> Iterator[Alert]:
    """Cable types that no item prices, or whose item is counted in what no cable is."""
    items = {item.id: item for item in bid.book.items}
    for order in bid.orders:
        item = price_item(order.cable, items)
        place = order.cable.source.at("id") if order.cable.typed else order.lengths[0].place
        boxes = f"{counted(order.boxes, 'box', 'boxes')} to order"
        if item is None:
            yield _no_price(
                place,
                order.cable.id,
                f"cable {order.cable.id} has no price item",
                boxes,
                "add `price:` with an item of the price file",
            )
        elif item.unit not in (*LENGTH_UNITS, "box", "reel"):
            yield _no_price(
                item.source.at("unit"),
                item.id,
                f"cable item {item.id} is counted by the {item.unit}",
                f"{boxes}, each taken as one {item.unit}",
                "count it in ft, m, kft, box or reel",
            )


def _devices(bid: Bid, project: Project) -> Iterator[Alert]:
    """Device types and single drops that bring neither material nor labor into the bill."""
    on_drops = {length.run.device.id for length in bid.footage.lengths if length.run and length.run.device}
    on_circuits = {stop.device for circuit in project.circuits.values() for stop in circuit.stops}
    for name, device in project.devices.items():
        if name in on_drops | on_circuits and not (device.material or device.box_material or device.labor):
            text = f"device {name} has neither material nor labor"
            yield _no_price(device.source.at("id"), name, text, "nothing", ITEMS_OR_LINE)
    bare = [length for length in bid.footage.lengths if length.run and length.run.device is None]
    if bare:
        yield _no_price(
            bare[0].place,
            bare[0].id,
            "drops without a device bring only their cable into the price",
            f"{counted(len(bare), 'drop')}, {bare[0].id} first",
            "add `device:`",
        )


def _units(project: Project) -> Iterator[Alert]:
    """Control units, supplies and amplifiers that bring nothing into the bill."""
    for group in (project.control_units, project.supplies, project.amplifiers):
        for name, unit in group.items():
            if not (unit.material or unit.labor):
                text = f"{name} has neither material nor labor"
                yield _no_price(unit.source.at("id"), name, text, "nothing", ITEMS_OR_LINE)


def _hooks(bid: Bid) -> Iterator[Alert]:
    """J-hooks and firestopped sleeves that the job needs and the price file has no item for."""
    items = {item.id for item in bid.book.items}
    used = [filled for filled in bid.fill.segments if filled.cables]
    hooks = sum(filled.hooks for filled in used if filled.segment.kind == "j_hooks" and not filled.existing)
    sleeves = sum(filled.segment.kind == "sleeve" for filled in used)
    for name, number, one in ((J_HOOK, hooks, "j-hook"), (FIRESTOP_SLEEVE, sleeves, "firestopped sleeve")):
        if number and name not in items:
            yield _no_price(
                bid.book.source.at("items"),
                name,
                f"{one}s are in no line of the price",
                counted(number, one),
                f"add an item with `id: {name}`",
            )


def _holders(project: Project) -> Iterator[tuple[Holder, tuple[str, ...]]]:
    """Yield what names items, with the keys it names them by."""
    yield from ((device, ("material", "box_material", "labor")) for device in project.devices.values())
    for group in (project.control_units, project.supplies, project.amplifiers, project.backbone):
        yield from ((holder, ("material", "labor")) for holder in group.values())


def _missing(bid: Bid, project: Project) -> Iterator[Alert]:
    """Items that the price file lacks, or that are counted by footage where there is none."""
    items = {item.id: item for item in bid.book.items}
    for holder, keys in _holders(project):
        for key in keys:
            for name in dict.fromkeys(getattr(holder, key)):
                item = items.get(name)
                if item is None:
                    yield _no_price(
                        holder.source.at(key),
                        name,
                        f"{holder.id} needs {name}, not in the price file",
                        "no item",
                        "add the item",
                    )
                elif item.unit in LENGTH_UNITS and (
                    isinstance(holder, ControlUnit | PowerSupply) or key == "box_material"
                ):
                    yield _no_price(
                        holder.source.at(key),
                        name,
                        f"{holder.id} names {name}, an item counted by the {item.unit}, and has no cable of its own",
                        "0 " + item.unit,
                        "count the item each, or type a line",
                    )


def _empty_lines(bid: Bid) -> Iterator[Alert]:
    """Lines that cost nothing: material without a cost, tasks and own lines without cost and hours."""
    seen: set[int] = set()
    for one in bid.lines:
        if id(one.priced) in seen:
            continue
        seen.add(id(one.priced))
        typed = one.priced.source.typed("cost") is not None
        forgotten = isinstance(one.priced, PriceItem) and one.kind == "material" and not typed
        if forgotten or (not typed and not one.unit_cost and not one.hours_each and not share_of(one)):
            yield _no_price(
                one.priced.source.at("id"),
                one.priced.id,
                f"{one.name} has no cost",
                f"{one.quantity} {one.unit}",
                "type `cost:` (0 where the owner furnishes it), or `hours:`",
            )


def _crew(bid: Bid) -> Iterator[Alert]:
    if bid.labor.crew is None and bid.labor.hours:
        yield _no_price(
            bid.book.source.at(),
            "crew",
            "hours without a crew to price them",
            f"{bid.labor.hours:,.1f} h at no rate",
            "add `crew:` with roles, people and wages",
        )


def _quotes(bid: Bid, project: Project) -> Iterator[Alert]:
    """Quotes of items and lines in the bill that ran out before the bid."""
    header = project.header
    day = header.bid_date or header.shown_date
    if day is None:
        return
    said = f"bid date {day.isoformat()}" if header.bid_date else f"project date {day.isoformat()}"
    used = dict.fromkeys(one.priced.id for one in bid.lines if isinstance(one.priced, PriceItem) and one.unit_cost)
    quoted: tuple[PriceItem | OtherLine, ...] = (*(one for one in bid.book.items if one.id in used), *bid.book.lines)
    for one in quoted:
        if one.expires is not None and one.expires < day:
            from_ = f" from {one.supplier}" if one.supplier else ""
            on = f" (quoted {one.quoted.isoformat()})" if one.quoted else ""
            yield Alert(
                one.source.at("expires"),
                "quote expired",
                one.id,
                f"quote for {one.name}{from_} has run out",
                f"valid to {one.expires.isoformat()}{on}",
                said,
                "quote",
                "ask for a new quote",
            )


def _options(bid: Bid) -> Iterator[Alert]:
    """Alternates that go the other way than their kind, or leave out more than the bill holds."""
    held: dict[str, Decimal] = {}
    for one in bid.lines:
        if isinstance(one.priced, PriceItem):
            held[one.priced.id] = held.get(one.priced.id, Decimal(0)) + one.quantity
    for option, typed in zip(bid.alternates, bid.book.alternates, strict=True):
        wrong = option.amount < 0 if typed.kind == "add" else option.amount > 0
        if wrong:
            word = "lowers" if option.amount < 0 else "raises"
            yield Alert(
                typed.source.at("kind"),
                "alternate",
                typed.id,
                f"{typed.kind} alternate {typed.id} {word} the price",
                f"{option.amount:+,.2f}",
                f"kind: {typed.kind}",
                BOOK,
                "mend `kind`, or the signs of its quantities",
            )
        yield from _beyond(option, typed.source, held)


def _beyond(option: Option, source: Source, held: dict[str, Decimal]) -> Iterator[Alert]:
    for name, more in option.changes:
        there = held.get(name, Decimal(0))
        if there + more < 0:
            yield Alert(
                source.at("items"),
                "alternate",
                option.id,
                f"alternate {option.id} leaves out more {name} than the bill holds",
                f"{more:+f}",
                f"{there:f}",
                BOOK,
                "mend the quantity",
            )
