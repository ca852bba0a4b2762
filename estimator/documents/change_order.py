"""The change order: what was agreed, what is asked for now, and what that does to price and time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from estimator.documents import common
from estimator.documents import wording as prose
from estimator.documents.description import (
    Block,
    Cell,
    Column,
    Document,
    Fact,
    Facts,
    Paragraph,
    Section,
    SignOff,
    Table,
)
from estimator.documents.job_words import counted, cover_facts, sentence, wording_values, words_of
from estimator.documents.labels import far_end
from estimator.spec.model import Project
from estimator.takeoff.changes import DIFFERENCE, Changes, CircuitChange, LineChange, Reason, State, reasons
from estimator.takeoff.takeoff import Takeoff

_TITLES: Final = {"added": "Added work", "removed": "Removed work", "changed": "Changed work"}

_SIGNERS: Final = ("Client, orders the change", "Contractor, carries it out")


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """What a change order is made of: both takeoffs, what differs, its number, and how many lengths were read."""

    before: Takeoff
    after: Takeoff
    changes: Changes
    number: str = ""
    read: int | None = None

    @property
    def project(self) -> Project:
        """Return the job as it is asked for now."""
        return self.after.project


def change_order(order: Order, shown_date: date | None, wording: Path | None = None) -> Document:
    """Return the change order; ``wording`` holds a company's own templates."""
    project = order.project
    values = wording_values(project)
    return common.document(
        project,
        shown_date,
        title=f"Change order {order.number}".strip(),
        subject="Changed work, price and time",
        sections=_sections(order, values, wording),
        cover=(*cover_facts(project), *_money(order.changes, project)),
        state=_state(order),
        contents=False,
    )


def _sections(order: Order, values: dict[str, object], wording: Path | None) -> Iterator[Section]:
    changes = order.changes
    yield Section(title="What changes", blocks=(*prose.render("change_order_intro", values, wording), _summary(order)))
    yield _why(order)
    yield Section(title="Circuits", blocks=tuple(_circuit_tables(order)))
    yield Section(title="Material and other lines", blocks=tuple(_material(order)), landscape=True)
    yield Section(title="Labor", blocks=(_lines("labor", "Labor", changes.labor, order.project),), landscape=True)
    yield Section(title="Price and time", blocks=tuple(_price(order)), new_page=True)
    yield _basis(order)
    said = prose.render("change_order_acceptance", values, wording)
    yield Section(title="Acceptance", blocks=(*said, SignOff(_SIGNERS)), new_page=True)


def _state(order: Order) -> str:
    """Return in one line for the cover what the order does to the price."""
    price = order.changes.price
    if price is None:
        return "Without a price: one of the two files has no price file"
    if not price:
        return "Leaves the price as it is"
    currency = order.project.header.currency
    return f"{'Adds' if price > 0 else 'Takes off'} {abs(price):,.2f} {currency}"


def _money(changes: Changes, project: Project) -> Iterator[Fact]:
    currency = project.header.currency
    rows = (
        ("Price as agreed", changes.price_before),
        ("Change", changes.price),
        ("Price with this order", changes.price_after),
    )
    if changes.price is not None:
        for label, value in rows:
            yield Fact(label=label, value=value, kind="money", unit=currency)


def _summary(order: Order) -> Facts:
    changes = order.changes
    found = {state: sum(one.state == state for one in changes.circuits) for state in _TITLES}
    rows = [Fact(label=f"Circuits {state}", value=number, kind="whole") for state, number in found.items()]
    rows += list(_money(changes, order.project))
    rows += list(_time(changes))
    return Facts(title="In figures", rows=tuple(rows))


def _time(changes: Changes) -> Iterator[Fact]:
    pairs = (
        ("Labor hours", "h", changes.hours_before, changes.hours_after),
        ("Crew days", "days", changes.days_before, changes.days_after),
    )
    for label, unit, before, after in pairs:
        if before is not None and after is not None:
            difference = DIFFERENCE(before=before, after=after)
            note = f"{before:,.1f} before, {after:,.1f} with this order"
            yield Fact(label=f"{label}, change", value=difference, unit=unit, kind="number", decimals=1, note=note)


def _why(order: Order) -> Section:
    found = reasons(order.before.project, order.project)
    if order.number:
        found = tuple(one for one in found if one.kind == "addendum" or one.number == order.number)
    blocks: list[Block] = []
    if not found:
        blocks.append(Paragraph("The project file gives no reason: no entry of its change log is new.", "caution"))
        return Section(title="Why", blocks=tuple(blocks))
    columns = (
        Column(key="number", head="Number"),
        Column(key="name", head="What"),
        Column(key="why", head="Why"),
        Column(key="by", head="Asked by"),
        Column(key="day", head="Date", kind="date"),
        Column(key="state", head="State"),
    )
    rows = [_reason(one) for one in found]
    blocks.append(Table(name="reasons", title="What led to it", columns=columns, rows=rows))
    return Section(title="Why", blocks=tuple(blocks))


def _reason(one: Reason) -> tuple[Cell, ...]:
    number = f"Addendum {one.number}" if one.kind == "addendum" else one.number
    return number, one.name, one.why, one.asked_by, one.day, one.state


def _circuit_tables(order: Order) -> Iterator[Table]:
    """Yield a table of what was added, removed and changed; of what is other only on one side."""
    for state, title in _TITLES.items():
        own = [one for one in order.changes.circuits if one.state == state]
        yield _circuits(order, state, title, own)


def _told(one: CircuitChange, order: Order) -> str:
    """Return what a circuit is, as a client knows it; of one that is other, what is."""
    if one.state == "changed":
        return one.what
    takeoff = order.after if one.state == "added" else order.before
    length = takeoff.footage.by_id[one.id]
    device = length.run.device if length.run else None
    what = (device.name or device.id) if device else ""
    place = f"{length.room} to {far_end(takeoff.project, length)}"
    return ", ".join(part for part in (what, place, length.cable.name) if part)


def _circuits(order: Order, state: str, title: str, own: Sequence[CircuitChange]) -> Table:
    project = order.project
    sides = {"added": ("after",), "removed": ("before",)}.get(state, ("before", "after"))
    heads = {"before": "Length before", "after": "Length now"}
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="what", head="What is other" if len(sides) > 1 else "What"),
        *(common.length_column(project, side, heads[side], total="sum") for side in sides),
        *((common.length_column(project, "more", "Difference", total="sum"),) * (len(sides) > 1)),
    )
    rows: list[tuple[Cell, ...]] = []
    for one in own:
        lengths = [one.before_m if side == "before" else one.after_m for side in sides]
        shown: list[Cell] = [None if each is None else common.in_length(each, project) for each in lengths]
        if len(sides) > 1 and one.before_m is not None and one.after_m is not None:
            shown.append(common.in_length(DIFFERENCE(before=one.before_m, after=one.after_m), project))
        rows.append((one.id, _told(one, order), *shown))
    return Table(name=f"circuits_{state}", title=title, columns=columns, rows=rows, totals=bool(rows), empty="None.")


def _material(order: Order) -> Iterator[Table]:
    yield _lines("material", "Material and other lines", order.changes.material, order.project)
    project = order.project
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="name", head="Description"),
        common.length_column(project, "before", "Expected before"),
        common.length_column(project, "after", "Expected now"),
        Column(key="boxes_before", head="Put-ups before", kind="whole"),
        Column(key="boxes_after", head="Put-ups now", kind="whole"),
    )
    rows = [
        (
            one.id,
            one.name,
            common.in_length(one.before_m, project),
            common.in_length(one.after_m, project),
            one.boxes_before,
            one.boxes_after,
        )
        for one in order.changes.cables
    ]
    yield Table(name="cable", title="Cable to order", columns=columns, rows=rows, empty="As before.")


def _lines(name: str, title: str, lines: Sequence[LineChange], project: Project) -> Table:
    currency = project.header.currency
    columns = (
        Column(key="id", head="Line"),
        Column(key="name", head="Description"),
        Column(key="state", head="State"),
        Column(key="unit", head="Unit"),
        Column(key="before", head="Before", kind="number"),
        Column(key="after", head="Now", kind="number"),
        Column(key="more", head="Difference", kind="number"),
        Column(key="amount", head="Amount", kind="money", unit=currency, total="sum"),
    )
    order: tuple[State, ...] = ("added", "removed", "changed")
    rows = [_line(one) for state in order for one in lines if one.state == state]
    return Table(name=name, title=title, columns=columns, rows=rows, totals=bool(rows), empty="As before.")


def _line(one: LineChange) -> tuple[Cell, ...]:
    before, after = float(one.before), float(one.after)
    difference = DIFFERENCE(before=before, after=after)
    return one.id, one.name, one.state, one.unit, before, after, difference, one.amount


def _price(order: Order) -> Iterator[Block]:
    changes, currency = order.changes, order.project.header.currency
    if changes.price_before is None or changes.price_after is None or changes.price is None:
        yield Paragraph(
            "The price follows in a document of its own: one of the two files has no price file.", "caution"
        )
        return
    heads = ("As agreed", "With this order", "Change")
    columns = (
        Column(key="step", head="Step"),
        *(
            Column(key=f"m{place}", head=head, kind="money", unit=currency, total="sum")
            for place, head in enumerate(heads)
        ),
    )
    rows: list[tuple[Cell, ...]] = [
        (_step_words(one), one.amount_before, one.amount_after, one.amount) for one in changes.build_up
    ]
    yield Table(
        name="price", title="Price by step", columns=columns, rows=rows, totals=True, caption="Total: the price."
    )
    yield Facts(title="Time", rows=tuple(_time(changes)) or (Fact(label="Crew days", value="not worked out"),))
    yield from _unit_prices(order, currency)


def _step_words(one: LineChange) -> str:
    return sentence(words_of(one.name))


def _unit_prices(order: Order, currency: str) -> Iterator[Table]:
    """Yield the unit prices that were agreed: what is counted on site is settled by these."""
    bid = order.before.bid
    rows: list[tuple[Cell, ...]] = [
        (one.id, one.name, one.add.amount, one.deduct.amount) for one in (bid.unit_prices if bid else ())
    ]
    if rows:
        columns = (
            Column(key="id", head="Unit price"),
            Column(key="name", head="One unit is"),
            Column(key="add", head="One more", kind="money", unit=currency),
            Column(key="deduct", head="One less", kind="money", unit=currency),
        )
        yield Table(
            name="unit_prices",
            title="Unit prices as agreed",
            columns=columns,
            rows=rows,
            caption="What turns out more or less than stated here is settled by these.",
        )


def _basis(order: Order) -> Section:
    rows = [
        ("Job as agreed", _made_from(order.before.project)),
        ("Job as asked for now", _made_from(order.project)),
        ("Circuits compared", counted(len(order.after.footage.lengths), "circuit")),
    ]
    if order.read is not None:
        rows.append(("Lengths", f"{counted(order.read, 'length')} as read, the other circuits as expected"))
    rows += _editions(order.before.project, order.project)
    facts = tuple(Fact(label=label, value=value) for label, value in rows)
    return Section(title="Basis", blocks=(Facts(title="What was compared", rows=facts),))


def _made_from(project: Project) -> str:
    revision = f"revision {project.header.revision}, " if project.header.revision else ""
    return f"{project.name}.yaml, {revision}content {project.digest[:12]}"


def _editions(before: Project, after: Project) -> Iterable[tuple[str, str]]:
    """Yield the adopted editions that are other now."""
    for label, name in (("Electrical code", "electrical"), ("Fire-alarm code", "fire_alarm"), ("Cabling", "cabling")):
        was, now = getattr(before.codes, name), getattr(after.codes, name)
        if was != now:
            yield label, f"{was} before, {now} now"
