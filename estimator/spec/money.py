"""The price-and-labor file: items, crew, lines besides the takeoff, the build-up and its alternates."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Protocol, cast

from estimator.spec.cabling import UnitAmount
from estimator.spec.faults import ProblemError
from estimator.spec.fields import (
    Block,
    Choice,
    Count,
    Day,
    ListOf,
    Money,
    Name,
    Number,
    Quantity,
    Text,
    YesNo,
    percent,
    record,
    spec,
)
from estimator.spec.listing import OrFile
from estimator.spec.nodes import Node, Source

if TYPE_CHECKING:
    from estimator.spec.reading import Reader

UNITS = ("each", "ft", "m", "box", "reel", "kft", "lot", "hour", "day")
STEPS = ("overhead", "contingency", "profit")
MOST_PER_THOUSAND = 200
"""Largest bond rate that is read: the same fifth of the price as a flat bond's."""


class _Identified(Protocol):
    @property
    def id(self) -> str: ...

    @property
    def source(self) -> Source: ...


def _each(value: object) -> tuple[object, ...]:
    """Return the entries that one entry of a list stands for: those of its file, or itself."""
    return value if isinstance(value, tuple) else (value,)


class EachOnce(ListOf):
    """A list of blocks with ids, each used once."""

    def read(self, node: Node, reader: Reader) -> tuple[object, ...]:
        """Return the blocks; a repeated id is a fault at its place."""
        first: dict[str, _Identified] = {}
        values = tuple(one for value in super().read(node, reader) for one in _each(value))
        for value in values:
            item = cast(_Identified, value)
            before = first.setdefault(item.id.lower(), item)
            if before is not item:
                wrong = f"{item.id!r} is used twice in this list"
                mend = f"rename one; the first stands at {before.source.at('id')}"
                reader.fault(item.source.at("id"), ProblemError(wrong, "each id once", mend))
        return values


class StepOrder(ListOf):
    """The order of the build-up: each of its steps once."""

    def __init__(self) -> None:
        super().__init__(Choice(*STEPS), split=True)
        self.expects = f"{', '.join(STEPS)} in the order they are added"

    def read(self, node: Node, reader: Reader) -> tuple[object, ...]:
        """Return the steps. Raises: ProblemError where one is missing or named twice."""
        known = len(reader.faults.found)
        values = super().read(node, reader)
        if len(reader.faults.found) == known and sorted(str(value) for value in values) != sorted(STEPS):
            named = ", ".join(str(value) for value in values)
            raise ProblemError(f"{named!r} does not name each step once", self.expects, "name all three")
        return values


class RisingTiers(ListOf):
    """Tiers of the bond rate, each ending above the one before."""

    def read(self, node: Node, reader: Reader) -> tuple[object, ...]:
        """Return the tiers. Raises: ProblemError where they don't rise or a rate is no bond rate."""
        values = super().read(node, reader)
        below = Decimal(0)
        for value in values:
            tier = cast(BondTier, value)
            if tier.up_to <= below:
                raise ProblemError(
                    f"the tier up to {tier.up_to} does not rise above {below}",
                    "tiers from the lowest up",
                    "put them in order",
                )
            if tier.per_thousand > MOST_PER_THOUSAND:
                raise ProblemError(
                    f"{tier.per_thousand} per thousand is out of range",
                    f"at most {MOST_PER_THOUSAND} per thousand",
                    "mend the rate",
                )
            below = tier.up_to
        return values


@record
class PriceItem:
    """An item of material, or a labor task (an item with hours and no cost)."""

    id: str = spec(Name(), "name of the item")
    name: str = spec(Text(160), "description")
    unit: str = spec(Choice(*UNITS), "unit it is counted in", default="each")
    cost: Decimal = spec(Money(), "cost of one unit", default=Decimal(0))
    hours: float = spec(Number(0, 1000, "hours a unit"), "labor of one unit", default=0.0)
    labor_unit: str | None = spec(
        Name(), "published labor unit that gives its hours, or that typed hours are compared with", default=None
    )
    section: str = spec(Text(20), "section number", default="")
    supplier: str = spec(Text(80), "kind of supplier", default="")
    quoted: date | None = spec(Day(), "date of the quote", default=None)
    expires: date | None = spec(Day(), "expiry of the quote", default=None)
    factors: tuple[str, ...] = spec(ListOf(Name(), split=True), "difficulty factors that apply", default=())
    source: Source


@record
class CrewMember:
    """One trade of the crew mix."""

    role: str = spec(Text(60), "role")
    people: float = spec(Number(0, 100, "people"), "how many")
    wage: Decimal = spec(Money(), "hourly wage")
    burden: float = spec(percent(0, 300), "burden on the wage", key="burden_percent", default=0.0)
    fringe: Decimal = spec(Money(), "benefits paid by the hour, on top of wage and burden", default=Decimal(0))
    source: Source


@record
class Overtime:
    """Weeks longer than the usual one, and what fatigue takes of all their hours."""

    hours_a_week: float = spec(Number(1, 112, "hours"), "hours of such a week")
    loss: float = spec(percent(0, 80), "share of all its hours that is lost", key="loss_percent")
    source: Source


@record
class Factor:
    """A named difficulty factor on hours: typed, or by height, repeats, overtime or a published kind of work."""

    id: str = spec(Name(), "name of the factor")
    factor: float | None = spec(Number(0.1, 10, "times"), "multiplies the hours", default=None)
    height_m: float | None = spec(
        Quantity("length", 0, 100), "working height on a ladder, by the published steps", key="height", default=None
    )
    repeats: int | None = spec(
        Count(1, 10000, "times"), "how often the same is done in a row, by the published steps", default=None
    )
    overtime: Overtime | None = spec(Block(Overtime), "weeks of overtime", default=None)
    published: str | None = spec(Choice("higher_floors", "fished_walls"), "published kind of work", default=None)
    name: str = spec(Text(120), "why", default="")
    source: Source


@record
class OtherLine:
    """A cost line besides the takeoff."""

    id: str = spec(Name(), "name of the line")
    name: str = spec(Text(160), "description")
    kind: str = spec(Choice("material", "labor", "equipment", "subcontract", "fee", "allowance", "removal"), "kind")
    quantity: Decimal = spec(Money(), "how many units", key="qty", default=Decimal(1))
    unit: str = spec(Choice(*UNITS), "unit", default="lot")
    cost: Decimal = spec(Money(), "cost of one unit", default=Decimal(0))
    hours: float = spec(Number(0, 1000, "hours a unit"), "labor of one unit", default=0.0)
    hours_share: float = spec(
        percent(0, 100), "labor as a share of the hours of all other tasks", key="hours_percent", default=0.0
    )
    factors: tuple[str, ...] = spec(ListOf(Name(), split=True), "difficulty factors that apply", default=())
    section: str = spec(Text(20), "section number", default="")
    supplier: str = spec(Text(80), "kind of supplier or subcontractor", default="")
    quoted: date | None = spec(Day(), "date of the quote", default=None)
    expires: date | None = spec(Day(), "expiry of the quote", default=None)
    taxed: bool | None = spec(YesNo(), "sales tax on material applies, where not as its kind says", default=None)
    source: Source


@record
class BondTier:
    """A tier of the bond rate."""

    up_to: Decimal = spec(Money(), "upper end of the tier")
    per_thousand: Decimal = spec(Money(), "rate per thousand in it")
    source: Source


@record
class BuildUp:
    """How the price is built on the direct cost."""

    overhead: float = spec(percent(0, 200), "overhead on direct cost", key="overhead_percent", default=0.0)
    contingency: float = spec(percent(0, 100), "contingency", key="contingency_percent", default=0.0)
    profit: float = spec(percent(0, 99), "profit", key="profit_percent", default=0.0)
    profit_as: str = spec(Choice("markup", "margin"), "how profit is meant", default="markup")
    tax: float = spec(percent(0, 50), "sales tax", key="tax_percent", default=0.0)
    tax_on: str = spec(Choice("material", "price", "exempt"), "what is taxed", default="material")
    bond: float = spec(percent(0, 20), "bond, flat", key="bond_percent", default=0.0)
    bond_tiers: tuple[BondTier, ...] = spec(RisingTiers(Block(BondTier)), "bond by tiers", default=())
    bond_rates: str = spec(
        Choice("typed", "published"), "the bond's tiers: typed, or the schedule that agencies publish", default="typed"
    )
    bond_on: str = spec(Choice("price", "price_with_bond"), "what the bond is a share of", default="price")
    order: tuple[str, ...] = spec(StepOrder(), "order of the steps, where not the usual one", default=STEPS)
    deduct_share: float = spec(
        percent(0, 100), "share of a deduct that is credited", key="deduct_share_percent", default=1.0
    )
    source: Source


@record
class Alternate:
    """A change that the client may take: items and quantities added or, with a minus, left out."""

    id: str = spec(Name(), "name of the alternate")
    name: str = spec(Text(200), "what it changes")
    kind: str = spec(Choice("add", "deduct"), "add or deduct")
    items: tuple[UnitAmount, ...] = spec(ListOf(Block(UnitAmount)), "items and quantities")
    source: Source


@record
class UnitPrice:
    """A price of one more or one less."""

    id: str = spec(Name(), "name of the unit price")
    name: str = spec(Text(200), "what is one unit")
    items: tuple[UnitAmount, ...] = spec(ListOf(Block(UnitAmount)), "items in one unit")
    source: Source


@record
class PriceBook:
    """The price-and-labor file."""

    note: str = spec(Text(), "where the figures come from", default="")
    items: tuple[PriceItem, ...] = spec(EachOnce(OrFile(PriceItem)), "items and labor tasks")
    crew: tuple[CrewMember, ...] = spec(ListOf(Block(CrewMember)), "crew mix")
    wage_basis: str = spec(Text(120), "wage basis", default="")
    hours_a_day: float = spec(Number(1, 24, "hours"), "hours of a crew day", default=8.0)
    factors: tuple[Factor, ...] = spec(EachOnce(Block(Factor)), "difficulty factors", default=())
    lines: tuple[OtherLine, ...] = spec(EachOnce(Block(OtherLine)), "other cost lines", default=())
    build_up: BuildUp = spec(Block(BuildUp), "price build-up")
    alternates: tuple[Alternate, ...] = spec(EachOnce(Block(Alternate)), "alternates", default=())
    unit_prices: tuple[UnitPrice, ...] = spec(EachOnce(Block(UnitPrice)), "unit prices", default=())
    source: Source
