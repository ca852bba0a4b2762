"""Figures that others link to, each in a named cell: price, cost, hours, footage, boxes, batteries, switches."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from estimator.calc.formula import Expression
from estimator.documents.common import SAME, in_length, length_unit
from estimator.documents.description import At, Fact, Facts, Formula, Kind, Named, Paragraph, Ref, Section, Whole
from estimator.takeoff.orders import ALL_BOXES, TOTAL
from estimator.takeoff.price_build import Bid
from estimator.takeoff.takeoff import Takeoff

_TAX: Final = "sales tax on material"


def named_section(takeoff: Takeoff) -> Section:
    """Return the figures that formulas of other workbooks can name."""
    text = (
        "Formulas here and in other workbooks can use these names, which stay when a sheet is sorted or grows. Each "
        "figure is the live one of its sheet."
    )
    rows = tuple(_once(_figures(takeoff)))
    return Section(title="Figures to link to", blocks=(Paragraph(text), Facts(title="", rows=rows)))


def _figures(takeoff: Takeoff) -> Iterator[Fact]:
    if takeoff.bid is not None:
        yield from _money(takeoff.bid, takeoff.project.header.currency)
    yield from _cables(takeoff)
    for sheet in takeoff.power.batteries.sheets:
        name, held, spare = sheet.id, sheet.installed_ah, sheet.spare
        need = ("batteries", name, "need_ah")
        yield _fact(f"Battery need of {name}", f"battery_need_{name}", sheet.need_ah, need, "Ah", decimals=2)
        if held is not None:
            cell = ("batteries", name, "installed_ah")
            yield _fact(f"Installed set of {name}", f"battery_set_{name}", held, cell, "Ah", decimals=2)
        if spare is not None:
            cell = ("batteries", name, "spare")
            yield _fact(f"Battery spare of {name}", f"battery_spare_{name}", spare, cell, kind="percent", decimals=0)
    for switch in takeoff.power.poe.switches:
        needed, usable = ("switches", switch.id, "needed_w"), ("switches", switch.id, "usable_w")
        yield _fact(f"Power allocated on {switch.id}", f"switch_needs_{switch.id}", switch.needed_w, needed, "W")
        yield _fact(f"Power usable on {switch.id}", f"switch_usable_{switch.id}", switch.usable_w, usable, "W")


def _money(bid: Bid, currency: str) -> Iterator[Fact]:
    yield _live("Price", "", SAME, float(bid.price), {"figure": Named("price")}, currency, "money", 2, note="price")
    tax = next((number for number, step in enumerate(bid.build.steps, 1) if step.name == _TAX), 0)
    direct: dict[str, Ref] = {"figure": At("steps", tax, "total")}
    yield _live("Direct cost", "direct_cost", SAME, float(bid.build.direct), direct, currency, "money", 2)
    hours: dict[str, Ref] = {"figure": Named("labor_hours")}
    yield _live("Hours of labor", "", SAME, bid.labor.hours, hours, "h", note="labor_hours")


def _cables(takeoff: Takeoff) -> Iterator[Fact]:
    project = takeoff.project
    unit, si = length_unit(project)
    if not takeoff.orders:
        return
    shown = in_length(sum(length.expected_m for length in takeoff.footage.lengths), project)
    lengths: dict[str, Ref] = {"lengths": Whole("drops", "expected")}
    yield replace(_live("Footage in all", "footage", TOTAL, shown, lengths, unit), si=si)
    boxes = float(sum(order.boxes for order in takeoff.orders))
    bought: dict[str, Ref] = {"boxes": Whole("orders", "boxes")}
    yield _live("Boxes and reels in all", "boxes", ALL_BOXES, boxes, bought, "", "whole", 0)
    for order in takeoff.orders:
        name, shown = order.cable.id, in_length(order.total_m, project)
        yield replace(_fact(f"Footage of {name}", f"footage_{name}", shown, ("orders", name, "total"), unit), si=si)
        count = float(order.boxes)
        yield _fact(f"Boxes of {name}", f"boxes_{name}", count, ("orders", name, "boxes"), kind="whole", decimals=0)


def _fact(
    label: str,
    name: str,
    value: float,
    at: tuple[str, str, str],
    unit: str = "",
    kind: Kind = "number",
    decimals: int = 1,
) -> Fact:
    """Return the figure of one cell of a table under a name of its own."""
    return _live(label, name, SAME, value, {"figure": At(*at)}, unit, kind, decimals)


def _live(
    label: str,
    name: str,
    formula: Expression,
    value: float,
    inputs: dict[str, Ref],
    unit: str = "",
    kind: Kind = "number",
    decimals: int = 1,
    note: str = "",
) -> Fact:
    live = Formula(formula, value, inputs)
    return Fact(label=label, value=live, unit=unit, kind=kind, decimals=decimals, name=name, note=note or name)


def _once(figures: Iterator[Fact]) -> Iterator[Fact]:
    """Yield the figures under names that a workbook takes, no two alike."""
    taken: set[str] = {""}
    for fact in figures:
        name = plain = re.sub(r"[^A-Za-z0-9_]", "_", fact.name)
        number = 1
        while name and name.casefold() in taken:
            number += 1
            name = f"{plain}_{number}"
        taken.add(name.casefold())
        yield replace(fact, name=name, note=name or fact.note)
