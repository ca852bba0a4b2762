"""The estimate's first sheets: what the job costs, what is ordered, what worries; then every warning."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from estimator.documents.common import SAME, in_length, length_column, origin, verdict
from estimator.documents.description import (
    At,
    Block,
    Cell,
    Column,
    Fact,
    Facts,
    Formula,
    Named,
    Paragraph,
    Ref,
    Section,
    Table,
    Whole,
)
from estimator.documents.estimate_cuts import age_of_plan
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.cuts import HOLDS
from estimator.takeoff.orders import ALL_BOXES
from estimator.takeoff.takeoff import Takeoff

_SHOWN_FIRST: Final = 12
_ORDERS_ON_A_PAGE: Final = 30


def summary_section(takeoff: Takeoff, alerts: Sequence[Alert]) -> Section:
    """Return the first sheet: the price, the cable to order, and what worries most."""
    blocks: list[Block] = [Facts(title="The job in figures", rows=_figures(takeoff, alerts)), _worries(alerts)]
    if len(alerts) > _SHOWN_FIRST:
        blocks.append(Paragraph(f"{len(alerts) - _SHOWN_FIRST} more stand on the sheet Warnings.", "note"))
    blocks.append(_orders(takeoff))
    # More cables than that would shrink the page until nobody can read it.
    return Section(title="Summary", blocks=tuple(blocks), pages_high=int(len(takeoff.orders) <= _ORDERS_ON_A_PAGE))


def _figures(takeoff: Takeoff, alerts: Sequence[Alert]) -> tuple[Fact, ...]:
    project = takeoff.project
    rows: list[Fact] = []
    bid = takeoff.bid
    if bid is None:
        rows.append(Fact(label="Price", value="none: the project names no price file"))
    else:
        price: Mapping[str, Ref] = {"figure": Named("price")}
        options = f"{len(bid.alternates)} alternates and {len(bid.unit_prices)} unit prices beside it"
        rows.append(
            Fact(
                label="Price",
                value=Formula(SAME, float(bid.price), price),
                unit=project.header.currency,
                kind="money",
                note=options,
            )
        )
        if bid.labor.days is not None:
            days: Mapping[str, Ref] = {"figure": Named("crew_days")}
            hours = f"{bid.labor.hours:,.1f} hours of labor"
            rows.append(
                Fact(
                    label="Crew days",
                    value=Formula(SAME, bid.labor.days, days),
                    unit="days",
                    kind="number",
                    decimals=1,
                    note=hours,
                )
            )
    rows.append(Fact(label="Warnings", value=len(alerts), kind="whole", note=_kinds(alerts)))
    rows.append(Fact(label="Circuits", value=len(takeoff.footage.lengths), kind="whole"))
    if takeoff.orders:
        boxes = sum(order.boxes for order in takeoff.orders)
        ordered = Formula(ALL_BOXES, boxes, {"boxes": Whole("orders", "boxes")})
        rows.append(Fact(label="Boxes and reels to order", value=ordered, kind="whole"))
        age = age_of_plan(Whole("cuts", "changed"))
        rows.append(Fact(label="Cut plan", value=verdict(HOLDS), words=age, note="for the lengths on the sheet Drops"))
    lost = len(takeoff.fill.unrouted)
    without = "their cable counts in no pathway" if lost else "every cable counts in its pathways"
    rows.append(Fact(label="Circuits without a route", value=lost, kind="whole", note=without))
    return tuple(rows)


def _kinds(alerts: Sequence[Alert]) -> str:
    counts: dict[str, int] = {}
    for alert in alerts:
        counts[alert.kind] = counts.get(alert.kind, 0) + 1
    return ", ".join(f"{number} {kind}" for kind, number in counts.items()) or "none"


def _worries(alerts: Sequence[Alert]) -> Table:
    return Table(
        name="first_warnings",
        title="Warnings to read first",
        columns=(
            Column(key="kind", head="Warning"),
            Column(key="subject", head="About", width=22),
            Column(key="text", head="What", width=44),
            Column(key="value", head="Value", width=24),
            Column(key="limit", head="Limit", width=24),
        ),
        rows=[(alert.kind, alert.subject, alert.text, alert.value, alert.limit) for alert in alerts[:_SHOWN_FIRST]],
        empty="No warnings.",
    )


def _orders(takeoff: Takeoff) -> Table:
    project = takeoff.project

    def live(value: float, cable: str, column: str) -> Formula:
        inputs: Mapping[str, Ref] = {"figure": At("orders", cable, column)}
        return Formula(SAME, value, inputs)

    rows: list[tuple[Cell, ...]] = []
    for order in takeoff.orders:
        name = order.cable.id
        rows.append(
            (
                name,
                order.cable.name,
                live(in_length(order.total_m, project), name, "total"),
                live(order.boxes, name, "boxes"),
                live(in_length(order.ordered_m, project), name, "ordered"),
            )
        )
    return Table(
        name="to_order",
        title="Cable to order",
        columns=(
            Column(key="cable", head="Cable"),
            Column(key="name", head="Description"),
            length_column(project, "total", "Total length"),
            Column(key="boxes", head="Boxes", kind="whole"),
            length_column(project, "ordered", "Ordered length", decimals=0),
        ),
        rows=rows,
        empty="No cable is in this job.",
    )


def warnings_section(alerts: Sequence[Alert], project: Project) -> Section:
    """Return every warning with its number, its limit, who sets it and where it was typed."""
    table = Table(
        name="warnings",
        title="Warnings",
        columns=(
            Column(key="kind", head="Warning"),
            Column(key="subject", head="About"),
            Column(key="text", head="What", width=44),
            Column(key="value", head="Value", width=24),
            Column(key="limit", head="Limit", width=24),
            Column(key="source", head="Limit set by", width=40),
            Column(key="advice", head="What to do", width=40),
            Column(key="place", head="Typed at"),
        ),
        rows=[
            (
                one.kind,
                one.subject,
                one.text,
                one.value,
                one.limit,
                origin(one.source, project),
                one.advice,
                origin(str(one.place), project),
            )
            for one in alerts
        ],
        empty="No warnings.",
    )
    return Section(title="Warnings", blocks=(table,), landscape=True)
