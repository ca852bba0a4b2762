"""What the takeoff needs of the price file's items, part by part, before it becomes lines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.formula import Expression
from estimator.spec.model import Cable
from estimator.spec.money import PriceBook, PriceItem
from estimator.takeoff.footage import Length
from estimator.takeoff.orders import CableOrder
from estimator.units.table import FACTORS

LENGTH_UNITS: Final[Mapping[str, float]] = {
    "ft": FACTORS["length"]["ft"],
    "m": FACTORS["length"]["m"],
    "kft": 1000 * FACTORS["length"]["ft"],
}
"""Meters in the units of length that an item may be priced in."""


IN_PUT_UPS: Final = Expression("part_0 / put_up")
"""Footage of a cable in boxes of its put-up [boxes]."""


@cache
def laid_of(cables: int, meters: float) -> Expression:
    """Return the formula of what the footage of so many cables is in a unit of so many meters [the unit]."""
    total = " + ".join(f"part_{number}" for number in range(cables))
    return Expression(f"({total}) / {meters!r}")


@cache
def bought_of(cables: int, meters: float) -> Expression:
    """Return the formula of what is bought of so many cables, to four decimals as every line is [the unit]."""
    return Expression(f"round({laid_of(cables, meters).text}, 4)")


def counted(number: int, one: str, more: str = "") -> str:
    """Return a number with its noun: ``1 box``, ``2 boxes``."""
    return f"{number:,} {one if number == 1 else more or one + 's'}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """What a line was counted on: a device type, a cable type, a unit, a segment or the line itself."""

    on: str
    system: str
    quantity: float
    how: str
    ids: tuple[str, ...] = ()
    cable: str = ""  # the cable type whose order or footage it is

    @property
    def origin(self) -> str:
        """Return in words what was counted, and which circuits or devices."""
        if not self.ids or set(self.ids) == {self.on}:
            return f"{self.on}: {self.how}"
        last = f" to {self.ids[-1]}" if self.ids[-1] != self.ids[0] else ""
        return f"{self.on}: {self.how}, {self.ids[0]}{last}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Things that need the same items: how many there are, and the footage of their cables."""

    on: str
    system: str
    section: str
    how: str
    ids: tuple[str, ...]
    footage_m: float = 0.0

    def part(self, unit: str, times: int) -> Part:
        """Return what the group needs of an item named so many times, in the item's unit."""
        if unit in LENGTH_UNITS:
            quantity, how = times * self.footage_m / LENGTH_UNITS[unit], f"expected footage of {self.how}"
        else:
            quantity, how = float(times * len(self.ids)), self.how
        how = f"{how}, {times} for each" if times > 1 else how
        return Part(on=self.on, system=self.system, quantity=quantity, how=how, ids=self.ids)


Key = tuple[str, str, str]  # item, section, kind


class Counter:
    """Collects the parts of every line by item, section and kind."""

    def __init__(self, book: PriceBook) -> None:
        self.items = {item.id: item for item in book.items}
        self.bought: dict[Key, list[Part]] = {}
        self.installed: dict[Key, list[Part]] = {}

    def need(self, names: Iterable[str], kind: str, group: Group) -> None:
        """Count the items that a group needs; a name that the price file doesn't hold is left to the alerts."""
        times: dict[str, int] = {}
        for name in names:
            times[name] = times.get(name, 0) + 1
        for name, count in times.items():
            item = self.items.get(name)
            if item is not None and group.ids:
                part = group.part(item.unit, count)
                key = (name, item.section or group.section, kind)
                self.bought.setdefault(key, []).append(part)
                self.installed.setdefault(key, []).append(part)

    def cable(self, order: CableOrder, item: PriceItem, systems: Mapping[str, list[Length]]) -> None:
        """Count a cable type: boxes or their length bought, expected footage installed by system."""
        key = (item.id, item.section, "material")
        put_up = order.cable.put_up_m
        meters = LENGTH_UNITS.get(item.unit)
        bought = float(order.boxes) if meters is None else order.ordered_m / meters
        shown = "m" if item.unit == "m" else "ft"
        if put_up:
            boxes = counted(order.boxes, "box", "boxes")
            how = f"{boxes} of {put_up / LENGTH_UNITS[shown]:,.6g} {shown} (order.{order.cable.id}.boxes)"
        else:
            reels = counted(order.boxes, "reel", "reels")
            ordered = f"{order.ordered_m / LENGTH_UNITS[shown]:,.6g} {shown}"
            how = f"{reels} cut to order, {ordered} (order.{order.cable.id}.ordered_length)"
        part = Part(on=order.cable.id, system="", quantity=bought, how=how, cable=order.cable.id)
        self.bought.setdefault(key, []).append(part)
        for system, lengths in systems.items():
            each_m = meters or put_up or order.total_m / len(order.lengths)  # a reel is a run
            footage = math.fsum(length.expected_m for length in lengths) / each_m
            ids = tuple(length.id for length in lengths)
            how = f"expected footage of {counted(len(ids), 'circuit')}"
            part = Part(on=order.cable.id, system=system, quantity=footage, how=how, ids=ids, cable=order.cable.id)
            self.installed.setdefault(key, []).append(part)


def price_item(cable: Cable, items: Mapping[str, PriceItem]) -> PriceItem | None:
    """Return a cable's item: the one it names, or for a bare catalog name the item of that name."""
    name = cable.price if cable.price is not None or cable.typed is not None else cable.id
    return None if name is None else items.get(name)
