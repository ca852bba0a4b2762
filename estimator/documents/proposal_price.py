"""Money of the proposal: the price with what is in it, alternates and unit prices; never how it was built."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.documents.description import Cell, Column, Fact, Facts, Paragraph, Section, Table
from estimator.spec.money import Alternate
from estimator.takeoff.price_build import Bid, Option
from estimator.takeoff.takeoff import Takeoff


def price_section(takeoff: Takeoff) -> Iterator[Section]:
    """Yield the price, and whether tax, bond and allowances are in it."""
    bid = takeoff.bid
    currency = takeoff.project.header.currency
    if bid is None:
        yield Section(title="Price", blocks=(Paragraph("The price follows in a document of its own."),))
        return
    table = Table(
        name="price",
        title="Price",
        columns=(
            Column(key="item", head="Item"),
            Column(key="name", head="Description"),
            Column(key="amount", head="Amount", kind="money", unit=currency),
        ),
        rows=[("Base price", "All work that this document lists as ours", bid.price)],
    )
    yield Section(
        title="Price",
        blocks=(table, Facts(title="What the price includes", rows=_holds(bid)), *_allowances(bid, currency)),
    )


def _holds(bid: Bid) -> tuple[Fact, ...]:
    return (
        Fact(label="Sales tax", value=_tax(bid)),
        Fact(label="Bond", value=_bond(bid)),
        Fact(label="Wage basis", value=bid.book.wage_basis or "as the law of the site asks; none was named to us"),
    )


def _tax(bid: Bid) -> str:
    terms = bid.terms
    rate = f"{terms.tax * 100:g} %"
    if terms.tax_on == "exempt":
        return "not included: the job is exempt, the certificate comes with the order"
    if not terms.tax:
        return "not included"
    return f"included, {rate} on {'material' if terms.tax_on == 'material' else 'the whole price'}"


def _bond(bid: Bid) -> str:
    return "included" if any(step.name == "bond" for step in bid.build.steps) else "not included"


def _allowances(bid: Bid, currency: str) -> Iterator[Table]:
    """Yield the allowances in the price: their cost is settled by what they really come to."""
    rows = [(line.name, line.amount) for line in bid.lines if line.kind == "allowance"]
    if rows:
        yield Table(
            name="allowances",
            title="Allowances in the price",
            caption="Settled by what they come to.",
            columns=(
                Column(key="name", head="Allowance"),
                Column(key="amount", head="Amount", kind="money", unit=currency),
            ),
            rows=rows,
        )


def options_section(takeoff: Takeoff) -> Iterator[Section]:
    """Yield alternates, add and deduct told apart, and unit prices for more and for less."""
    bid = takeoff.bid
    if bid is None:
        return
    currency = takeoff.project.header.currency
    blocks = (
        _alternates(bid, "add", "Alternates that add", currency),
        _alternates(bid, "deduct", "Alternates that deduct", currency),
        _unit_prices(bid, currency),
    )
    yield Section(title="Alternates and unit prices", blocks=blocks)


def _alternates(bid: Bid, kind: str, title: str, currency: str) -> Table:
    return Table(
        name=f"alternates_{kind}",
        title=title,
        columns=(
            Column(key="id", head="Alternate"),
            Column(key="name", head="Description"),
            Column(key="amount", head="Changes the price by", kind="money", unit=currency),
        ),
        rows=[(one.id, one.name, one.amount) for one in bid.alternates if _is(one, kind)],
        empty="None is offered.",
    )


def _is(one: Option, kind: str) -> bool:
    return isinstance(one.typed, Alternate) and one.typed.kind == kind


def _unit_prices(bid: Bid, currency: str) -> Table:
    rows: list[tuple[Cell, ...]] = [(one.id, one.name, one.add.amount, one.deduct.amount) for one in bid.unit_prices]
    return Table(
        name="unit_prices",
        title="Unit prices",
        columns=(
            Column(key="id", head="Unit price"),
            Column(key="name", head="One unit is"),
            Column(key="add", head="One more", kind="money", unit=currency),
            Column(key="deduct", head="One less", kind="money", unit=currency),
        ),
        rows=rows,
        empty="None is offered.",
    )
