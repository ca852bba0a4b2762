"""The price of the job: bill, labor, build-up, alternates and unit prices.

An alternate is the difference of two complete builds: the bill with its quantities changed, against
the bill as it stands. Unit prices come from the same arithmetic, once for one more and once for one
less, because rounding, bond tiers and the credited share make the two differ.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, cast

from estimator.calc.price import KINDS, Build, StepName, Terms, Tier, alternate, build_price, line
from estimator.reference.lookup import table
from estimator.spec.cabling import UnitAmount
from estimator.spec.model import Project
from estimator.spec.money import Alternate, BuildUp, PriceBook, PriceItem, UnitPrice
from estimator.takeoff.bill import Line, bill_of, hours_each
from estimator.takeoff.fill import Fill
from estimator.takeoff.footage import Footage
from estimator.takeoff.labor_hours import Crew, Labor, Task, hours_of, labor_amount, labor_kind, labor_of, named_factors
from estimator.takeoff.orders import CableOrder

Changes = tuple[tuple[str, Decimal], ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Totals:
    """Sums of rounded lines: by kind, and what of it the tax on material is figured on."""

    kinds: Mapping[str, Decimal]
    taxed: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class Option:
    """A change of the bill, the complete build with it, and what it adds to the price."""

    id: str
    name: str
    changes: Changes
    build: Build
    amount: Decimal
    typed: Alternate | UnitPrice


@dataclass(frozen=True, kw_only=True, slots=True)
class UnitPriced:
    """A unit price: what one more adds and what one less takes off, which is below zero."""

    id: str
    name: str
    add: Option
    deduct: Option


@dataclass(frozen=True, kw_only=True, slots=True)
class Bid:
    """The priced job; money is to the cent and every total is a sum of rounded lines."""

    book: PriceBook
    lines: tuple[Line, ...]
    labor: Labor
    totals: Totals
    terms: Terms
    build: Build
    alternates: tuple[Option, ...]
    unit_prices: tuple[UnitPriced, ...]
    footage: Footage
    fill: Fill
    orders: tuple[CableOrder, ...]

    @property
    def price(self) -> Decimal:
        """Price of the job as it stands, without alternates [money]."""
        return self.build.price


def price_job(project: Project, footage: Footage, fill: Fill, orders: tuple[CableOrder, ...]) -> Bid | None:
    """Return the priced job, or None where the project has no price file."""
    book = project.prices
    if book is None:
        return None
    lines = bill_of(project, book, footage, fill, orders)
    labor = labor_of(lines, book)
    totals = _totals(lines, labor.tasks)
    terms = terms_of(book.build_up)
    build = build_price(totals.kinds, terms=terms, taxed=totals.taxed)
    options = _Options(book, lines, labor, totals, terms, build)
    return Bid(
        book=book,
        lines=lines,
        labor=labor,
        totals=totals,
        terms=terms,
        build=build,
        alternates=tuple(options.option(change, change.items) for change in book.alternates),
        unit_prices=tuple(options.unit_price(change) for change in book.unit_prices),
        footage=footage,
        fill=fill,
        orders=orders,
    )


def terms_of(typed: BuildUp) -> Terms:
    """Return the build-up as the arithmetic takes it."""
    return Terms(
        overhead=typed.overhead,
        contingency=typed.contingency,
        profit=typed.profit,
        profit_as=cast(Literal["markup", "margin"], typed.profit_as),
        tax=typed.tax,
        tax_on=cast(Literal["material", "price", "exempt"], typed.tax_on),
        bond=typed.bond,
        bond_tiers=published_tiers() if typed.bond_rates == "published" else _typed_tiers(typed),
        bond_on=cast(Literal["price", "price_with_bond"], typed.bond_on),
        order=cast(tuple[StepName, ...], typed.order),
    )


def _typed_tiers(typed: BuildUp) -> tuple[Tier, ...]:
    return tuple(Tier(up_to=tier.up_to, per_thousand=tier.per_thousand) for tier in typed.bond_tiers)


def published_tiers() -> tuple[Tier, ...]:
    """Return the bond's rates by slices of the price, as surety agencies publish them."""
    return tuple(
        Tier(up_to=_decimal(row.number("up_to")), per_thousand=_decimal(row.number("per_thousand")))
        for row in table("bond_schedule")
    )


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.15g}")


def _totals(lines: Iterable[Line], tasks: Iterable[Task]) -> Totals:
    kinds = dict.fromkeys(KINDS, Decimal("0.00"))
    taxed = Decimal("0.00")
    for one in lines:
        kinds[one.kind] += one.amount
        taxed += one.amount if one.taxed else 0
    for task in tasks:
        kinds[task.kind] += task.amount
    return Totals(kinds=kinds, taxed=taxed)


class _Options:
    """Builds the price again with changed quantities."""

    def __init__(
        self, book: PriceBook, lines: tuple[Line, ...], labor: Labor, totals: Totals, terms: Terms, build: Build
    ) -> None:
        self.book, self.totals, self.terms, self.build = book, totals, terms, build
        self.crew: Crew | None = labor.crew
        self.items = {item.id: item for item in book.items}
        self.tasks = {task.id: task for task in labor.tasks}
        self.lines: dict[str, Line] = {}
        for one in lines:
            if isinstance(one.priced, PriceItem):
                self.lines.setdefault(one.priced.id, one)

    def option(self, change: Alternate | UnitPrice, amounts: Iterable[UnitAmount], sign: int = 1) -> Option:
        """Return a change with its complete build; amounts of one item are added up first."""
        changes: dict[str, Decimal] = {}
        for amount in amounts:
            changes[amount.item] = changes.get(amount.item, Decimal(0)) + sign * amount.quantity
        build = self._changed(changes)
        added = alternate(base=self.build.price, changed=build.price, deduct_share=self.book.build_up.deduct_share)
        return Option(
            id=change.id, name=change.name, changes=tuple(changes.items()), build=build, amount=added, typed=change
        )

    def unit_price(self, change: UnitPrice) -> UnitPriced:
        """Return what one unit more and one unit less do to the price."""
        more, less = self.option(change, change.items), self.option(change, change.items, -1)
        return UnitPriced(id=change.id, name=change.name, add=more, deduct=less)

    def _changed(self, changes: Mapping[str, Decimal]) -> Build:
        """Return the whole price with changed quantities; an item in several sections changes in its first line."""
        kinds, taxed = dict(self.totals.kinds), self.totals.taxed
        more_hours = 0.0
        for name, more in changes.items():
            item, one = self.items[name], self.lines.get(name)
            quantity, amount = (one.quantity, one.amount) if one else (Decimal(0), Decimal("0.00"))
            kind = one.kind if one else "material"
            added = line(quantity=quantity + more, unit_cost=item.cost) - amount
            kinds[kind] += added
            taxed += added if one is None or one.taxed else 0
            money, hours = self._labor_added(item, one, more)
            kinds[labor_kind(kind)] += money
            more_hours += hours
        for task in self.tasks.values() if more_hours else ():
            if task.share:
                whole = hours_of(quantity=task.quantity + more_hours, hours_each=task.hours_each, factor=task.factor)
                kinds[task.kind] += labor_amount(whole, self.crew) - task.amount
        return build_price(kinds, terms=self.terms, taxed=taxed)

    def _labor_added(self, item: PriceItem, one: Line | None, more: Decimal) -> tuple[Decimal, float]:
        """Return what a changed quantity adds to the labor [money], and its hours [h]."""
        task = self.tasks.get(one.id) if one else None
        installed, before = (task.quantity, task.hours) if task else (0.0, 0.0)
        factor = named_factors(item.factors, self.book)[1]
        hours = hours_of(quantity=installed + float(more), hours_each=hours_each(item), factor=factor)
        added = labor_amount(hours, self.crew) - (task.amount if task else Decimal("0.00"))
        return added, hours - before
