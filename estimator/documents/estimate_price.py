"""Sheets about the price: the build-up step by step, alternates and unit prices."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Final

from estimator.calc.price import ALTERNATE, KINDS, TIERS, Step, slices
from estimator.documents.common import SAME, changeable, live_words, verdict
from estimator.documents.description import (
    At,
    Block,
    Cell,
    Column,
    Fact,
    Facts,
    Formula,
    Matching,
    Named,
    Paragraph,
    Ref,
    Same,
    Section,
    Table,
    Whole,
)
from estimator.documents.estimate_money import sections_table
from estimator.takeoff.price_build import Bid, Option
from estimator.takeoff.price_figures import WITH_STEP
from estimator.takeoff.price_sums import ALL_KINDS, ALL_TAXED, DIRECT_LINES, LAST_SLICE, MOVED, SLICE

_KINDS: Final[Mapping[str, Ref]] = {
    "bought": Matching("materials", "amount", "kind", "kind"),
    "lines": Matching("other_lines", "amount", "kind", "kind"),
    "labor": Matching("tasks", "amount", "kind", "kind"),
}
_TAXED: Final[Mapping[str, Ref]] = {"bought": Whole("materials", "taxed"), "lines": Whole("other_lines", "taxed")}
_FIRST: Final = "direct lines"


def price_section(bid: Bid, currency: str, edition: str) -> Section:
    """Return the price from the direct lines to the last step, each step live."""
    price = Fact(
        label="Price",
        value=Formula(SAME, float(bid.price), {"figure": At("steps", len(bid.build.steps), "total")}),
        unit=currency,
        kind="money",
        name="price",
    )
    terms = bid.terms
    words = (
        f"Profit is a {terms.profit_as}; sales tax is figured on {_taxed(terms.tax_on)}; "
        f"the bond is figured on {terms.bond_on.replace('_', ' ')}. Each step is rounded to the cent."
    )
    blocks: list[Block] = [Paragraph(words), Facts(title="", rows=(price,)), _kinds(bid), _steps(bid)]
    if terms.bond_tiers:
        blocks.append(_tiers(bid))
    blocks.append(sections_table(bid, edition))
    return Section(title="Price build-up", blocks=tuple(blocks))


def _taxed(tax_on: str) -> str:
    return {"material": "material", "price": "the whole price"}.get(tax_on, "nothing, the job is exempt")


def _kinds(bid: Bid) -> Table:
    return Table(
        name="kinds",
        title="Direct lines by kind",
        totals=True,
        columns=(
            Column(key="kind", head="Kind"),
            Column(key="amount", head="Amount", kind="money", total="sum", formula=DIRECT_LINES, inputs=_KINDS),
        ),
        rows=[(kind, bid.build.kinds[kind]) for kind in KINDS],
    )


def _steps(bid: Bid) -> Table:
    first = Formula(ALL_KINDS, float(bid.build.lines), {"kinds": Whole("kinds", "amount")})
    rows: list[tuple[Cell, ...]] = [(_FIRST, None, None, "sum of rounded lines", None, first)]
    above = bid.build.lines
    for number, step in enumerate(bid.build.steps, start=1):
        before = At("steps", number - 1, "total")
        total = Formula(WITH_STEP, float(step.total), {"before": before})
        rows.append((*_step(step, above, before), total))
        above = step.total
    return Table(
        name="steps",
        title="Steps",
        columns=(
            Column(key="step", head="Step"),
            Column(key="base", head="Figured on", kind="money"),
            Column(key="rate", head="Rate", kind="percent", decimals=2, entry=changeable("A rate", most=10.0)),
            Column(key="formula", head="Formula"),
            Column(key="amount", head="Adds", kind="money"),
            Column(key="total", head="Cost so far", kind="money"),
        ),
        rows=rows,
    )


def _step(step: Step, above: Decimal, before: At) -> tuple[Cell, ...]:
    base: Cell = step.base  # solved with the bond in it: a stored value
    if step.base == above:
        base = Formula(SAME, float(step.base), {"figure": before})
    elif step.name == "sales tax on material":
        base = Formula(ALL_TAXED, float(step.base), _TAXED)
    rate = step.inputs.get("rate")
    inputs: Mapping[str, Ref] = {}
    if step.formula == TIERS:
        inputs = {"per_thousand": Whole("tiers", "per_thousand"), "slices": Whole("tiers", "slice")}
    amount = Formula(step.formula, float(step.amount), inputs)
    return step.name, base, float(rate) if isinstance(rate, int | float) else None, step.formula.text, amount


def _tiers(bid: Bid) -> Table:
    place = next(at for at, step in enumerate(bid.build.steps, start=1) if step.formula == TIERS)
    base = bid.build.steps[place - 1].base
    tiers = bid.terms.bond_tiers
    rows: list[tuple[Cell, ...]] = []
    lower = Decimal(0)
    inputs: Mapping[str, Ref] = {"base": At("steps", place, "base")}
    for number, (tier, part) in enumerate(zip(tiers, slices(base, tiers), strict=True), start=1):
        formula = LAST_SLICE if number == len(tiers) else SLICE
        rows.append((lower, tier.up_to, tier.per_thousand, Formula(formula, float(part), inputs)))
        lower = tier.up_to
    return Table(
        name="tiers",
        title="Bond rate by tiers",
        caption="The last tier also takes all above it.",
        columns=(
            Column(key="lower", head="Above", kind="money"),
            Column(key="up_to", head="Up to", kind="money"),
            Column(key="per_thousand", head="Rate per thousand", kind="number", entry=changeable("A rate")),
            Column(key="slice", head="Of the price", kind="money"),
        ),
        rows=rows,
    )


def options_section(bid: Bid, currency: str) -> Section:
    """Return what each alternate and unit price adds to the price, each from a complete second build."""
    text = (
        "Each amount is the difference of two complete builds of the price: the bill with the changed quantities, "
        "and the bill as it stands. One more and one less differ by rounding, bond tiers and the credited share."
    )
    share = Fact(
        label="Credited share of a deduct",
        value=bid.book.build_up.deduct_share,
        kind="percent",
        decimals=0,
        name="deduct_share",
        entry=changeable("A share", most=1.0),
        note="price file",
    )
    figured = Fact(
        label="Price that they differ from",
        value=bid.price,
        unit=currency,
        kind="money",
        name="options_price",
        note="of the takeoff, as are the prices with them; a price changed in this workbook isn't in them",
    )
    age = Fact(
        label="Alternates and unit prices",
        value=verdict("holds"),
        words=live_words((MOVED, "older than the price"), otherwise="holds"),
        note="those that are older are made again from the price file",
    )
    blocks = (
        Paragraph(text),
        Facts(title="", rows=(share, figured, age)),
        _alternates(bid, currency),
        _unit_prices(bid, currency),
        _changes(bid),
    )
    return Section(title="Alternates and unit prices", sheet="Alternates", blocks=blocks)


def _difference(key: str, head: str, changed: str, currency: str) -> Column:
    inputs: Mapping[str, Ref] = {"changed": Same(changed), "base": Named("options_price")}
    return Column(key=key, head=head, kind="money", unit=currency, formula=ALTERNATE, inputs=inputs)


def _alternates(bid: Bid, currency: str) -> Table:
    return Table(
        name="alternates",
        title="Alternates",
        columns=(
            Column(key="id", head="Alternate"),
            Column(key="name", head="Description"),
            Column(key="kind", head="Kind"),
            Column(key="changed", head="Price with it", kind="money", computed=True),
            _difference("amount", "Adds to the price", "changed", currency),
        ),
        rows=[
            (one.id, one.name, getattr(one.typed, "kind", ""), one.build.price, one.amount) for one in bid.alternates
        ],
        empty="The price file has no alternate.",
    )


def _unit_prices(bid: Bid, currency: str) -> Table:
    return Table(
        name="unit_prices",
        title="Unit prices",
        columns=(
            Column(key="id", head="Unit price"),
            Column(key="name", head="Description"),
            Column(key="more", head="Price with one more", kind="money", computed=True),
            _difference("add", "Add", "more", currency),
            Column(key="less", head="Price with one less", kind="money", computed=True),
            _difference("deduct", "Deduct", "less", currency),
        ),
        rows=[
            (one.id, one.name, one.add.build.price, one.add.amount, one.deduct.build.price, one.deduct.amount)
            for one in bid.unit_prices
        ],
        empty="The price file has no unit price.",
    )


def _changes(bid: Bid) -> Table:
    items = {item.id: item for item in bid.book.items}

    def rows(option: Option) -> list[tuple[Cell, ...]]:
        return [(option.id, name, items[name].name, quantity, items[name].unit) for name, quantity in option.changes]

    return Table(
        name="changes",
        title="Items and quantities behind them",
        columns=(
            Column(key="id", head="Option"),
            Column(key="item", head="Item"),
            Column(key="name", head="Description"),
            Column(key="quantity", head="Quantity", kind="number", decimals=3),
            Column(key="unit", head="Unit"),
        ),
        rows=[row for one in (*bid.alternates, *(unit.add for unit in bid.unit_prices)) for row in rows(one)],
        empty="No alternate and no unit price changes an item.",
    )
