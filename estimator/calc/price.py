"""The price: lines to the cent, the build-up step by step, bond, tax and alternates.

Money is Decimal. Each step is an expression that rounds to the cent by itself, so the printed
formula, the spreadsheet and this module give the same cent; a total is the sum of rounded amounts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from estimator.calc.checked import finite
from estimator.calc.formula import Expression, Value
from estimator.units.rounding import cents

LINE: Final = Expression("round(quantity * unit_cost, 2)")
"""A line of the estimate: quantity times unit cost, to the cent, half up [money]."""

SHARE: Final = Expression("round(rate * base, 2)")
"""A step that is a share of all above it: tax, overhead, contingency, profit as markup, bond [money]."""

MARGIN: Final = Expression("round(base * rate / (1 - rate), 2)")
"""A step that is a share of the result with itself in it: profit as margin, bond on the price [money]."""

TIERS: Final = Expression("round(sumproduct(per_thousand, slices) / 1000, 2)")
"""Bond premium by tiers: each slice of the price at its own rate per thousand [money]."""

ALTERNATE: Final = Expression(
    "where(changed < base, round(deduct_share * round(changed - base, 2), 2), round(changed - base, 2))"
)
"""Price of an alternate: difference of two complete builds, a deduct at its credited share [money]."""

MARGIN_OF_MARKUP: Final = Expression("markup / (1 + markup)")
"""The share of the price that a markup on cost amounts to [unitless]."""

MARKUP_FOR_MARGIN: Final = Expression("margin / (1 - margin)")
"""The markup on cost that earns a share of the price [unitless]."""

KINDS: Final = ("material", "labor", "equipment", "subcontract", "fee", "allowance", "removal")
"""Kinds of lines that make up the direct cost, in the order in which they are printed."""

StepName = Literal["overhead", "contingency", "profit"]
USUAL_ORDER: Final[tuple[StepName, ...]] = ("overhead", "contingency", "profit")


@dataclass(frozen=True, kw_only=True, slots=True)
class Tier:
    """A slice of the price that has a bond rate of its own."""

    up_to: Decimal  # upper end; the last tier also holds for all above it
    per_thousand: Decimal


@dataclass(frozen=True, kw_only=True, slots=True)
class Terms:
    """How the price is built on the lines; rates are shares, 0.1 for ten percent."""

    overhead: float = 0.0
    contingency: float = 0.0
    profit: float = 0.0
    profit_as: Literal["markup", "margin"] = "markup"
    tax: float = 0.0
    tax_on: Literal["material", "price", "exempt"] = "material"
    bond: float = 0.0
    bond_tiers: tuple[Tier, ...] = ()
    bond_on: Literal["price", "price_with_bond"] = "price"
    order: tuple[StepName, ...] = USUAL_ORDER


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One step of the build-up: what it adds, and the formula with its inputs that gives it."""

    name: str
    base: Decimal  # what it is figured on
    amount: Decimal
    total: Decimal  # with this step in it
    formula: Expression
    inputs: Mapping[str, Value]


@dataclass(frozen=True, kw_only=True, slots=True)
class Build:
    """A complete price: totals by kind of line, direct cost, the steps in order, the price."""

    kinds: Mapping[str, Decimal]
    lines: Decimal
    direct: Decimal
    steps: tuple[Step, ...]
    price: Decimal


def line(*, quantity: Decimal | float, unit_cost: Decimal | float) -> Decimal:
    """Return the amount of a line to the cent, half up [money].

    Equation: LINE. Source: estimating practice.
    Raises: ValueError for a quantity or a cost that is no number.

    >>> line(quantity=3, unit_cost=Decimal("1.335"))
    Decimal('4.01')
    """
    finite(quantity=float(quantity), unit_cost=float(unit_cost))
    return cents(LINE(quantity=float(quantity), unit_cost=float(unit_cost)))


def _checked_rate(name: str, rate: float, *, below: float) -> float:
    if not 0 <= rate < below:
        raise ValueError(f"{name} {rate!r} is not from 0 to below {below:g}")
    return rate


def _step(name: str, total: Decimal, base: Decimal, formula: Expression, inputs: Mapping[str, Value]) -> Step:
    amount = cents(formula(**inputs))
    return Step(name=name, base=base, amount=amount, total=total + amount, formula=formula, inputs=inputs)


def _share_step(name: str, total: Decimal, base: Decimal, rate: float) -> Step:
    inputs = {"rate": _checked_rate(name, rate, below=10), "base": float(base)}
    return _step(name, total, base, SHARE, inputs)


def _margin_step(name: str, total: Decimal, rate: float) -> Step:
    inputs = {"rate": _checked_rate(name, rate, below=1), "base": float(total)}
    return _step(name, total, total, MARGIN, inputs)


def slices(amount: Decimal, tiers: Sequence[Tier]) -> tuple[Decimal, ...]:
    """Return how much of an amount falls into each tier [money]; the last takes all above it.

    Source: surety agencies' filed schedules. Raises: ValueError where the tiers don't rise.

    >>> slices(Decimal(600), [Tier(up_to=Decimal(100), per_thousand=Decimal(25)),
    ...                       Tier(up_to=Decimal(500), per_thousand=Decimal(15))])
    (Decimal('100'), Decimal('500'))
    """
    lower, parts = Decimal(0), list[Decimal]()
    for index, tier in enumerate(tiers):
        if not tier.up_to > lower:
            raise ValueError(f"bond tier up to {tier.up_to} does not rise above {lower}")
        top = amount if index == len(tiers) - 1 else min(amount, tier.up_to)
        parts.append(max(Decimal(0), top - lower))
        lower = tier.up_to
    return tuple(parts)


def price_with_tiers(before: Decimal, tiers: Sequence[Tier]) -> Decimal:
    """Return the price whose own tiered bond premium is in it [money], unrounded.

    ``before`` is the price without bond [money]. Method: the premium is linear in each tier, so the
    tier that holds the price is solved; no iteration. Source: surety agency pages.
    Raises: ValueError where the tiers don't rise or a rate is 1,000 or more per thousand.
    """
    lower, premium, price = Decimal(0), Decimal(0), before
    slices(before, tiers)
    for tier in tiers:
        rate = tier.per_thousand / 1000
        if not 0 <= rate < 1:
            raise ValueError(f"bond rate {tier.per_thousand} per thousand is not from 0 to below 1000")
        price = (before + premium - rate * lower) / (1 - rate)
        if price <= tier.up_to:
            break
        premium += rate * (tier.up_to - lower)
        lower = tier.up_to
    return price


def _bond_step(total: Decimal, terms: Terms) -> Step | None:
    if terms.bond_tiers:
        in_price = terms.bond_on == "price_with_bond"
        base = cents(price_with_tiers(total, terms.bond_tiers)) if in_price else total
        rates = tuple(float(tier.per_thousand) for tier in terms.bond_tiers)
        parts = tuple(float(part) for part in slices(base, terms.bond_tiers))
        return _step("bond", total, base, TIERS, {"per_thousand": rates, "slices": parts})
    if not terms.bond:
        return None
    if terms.bond_on == "price_with_bond":
        return _margin_step("bond", total, terms.bond)
    return _share_step("bond", total, total, terms.bond)


def build_price(kinds: Mapping[str, Decimal], *, terms: Terms, taxed: Decimal | None = None) -> Build:
    """Return the price built on the totals of the lines [money].

    ``kinds`` holds the sum of rounded lines by kind; ``taxed`` [money] is what the tax on material
    is figured on, by default all material. Order: material tax, direct cost, then the steps of
    ``terms.order`` each on all above it, bond on the result, tax on the whole price last. A step
    with a rate of zero is left out.
    Equations: SHARE, MARGIN, TIERS. Source: estimating course, direct cost to price in this order.
    Raises: ValueError for an unknown kind, a step named twice, or a rate out of its range.
    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise ValueError(f"no kind of line {unknown[0]!r}; there is {', '.join(KINDS)}")
    if sorted(terms.order) != sorted(USUAL_ORDER):
        raise ValueError(f"order {', '.join(terms.order)} does not name each of {', '.join(USUAL_ORDER)} once")
    by_kind = {kind: cents(kinds.get(kind, Decimal(0))) for kind in KINDS}
    lines = sum(by_kind.values(), Decimal("0.00"))
    steps: list[Step] = []
    if terms.tax_on == "material" and terms.tax:
        base = by_kind["material"] if taxed is None else taxed
        steps.append(_share_step("sales tax on material", lines, base, terms.tax))
    direct = steps[-1].total if steps else lines
    rates = {"overhead": terms.overhead, "contingency": terms.contingency, "profit": terms.profit}
    total = direct
    for name in terms.order:
        if not rates[name]:
            continue
        if name == "profit" and terms.profit_as == "margin":
            steps.append(_margin_step(name, total, rates[name]))
        else:
            steps.append(_share_step(name, total, total, rates[name]))
        total = steps[-1].total
    bond = _bond_step(total, terms)
    if bond is not None:
        steps.append(bond)
        total = bond.total
    if terms.tax_on == "price" and terms.tax:
        steps.append(_share_step("sales tax on the price", total, total, terms.tax))
        total = steps[-1].total
    return Build(kinds=by_kind, lines=lines, direct=direct, steps=tuple(steps), price=total)


def alternate(*, base: Decimal, changed: Decimal, deduct_share: float = 1.0) -> Decimal:
    """Return what an alternate adds to the price, below zero where it deducts [money].

    ``base`` and ``changed`` are the prices of two complete builds [money]; of a deduct the share
    ``deduct_share`` [unitless] is credited. Equation: ALTERNATE. Source: bidding practice.
    Raises: ValueError for a share outside 0 to 1.
    """
    if not 0 <= deduct_share <= 1:
        raise ValueError(f"deduct_share must be from 0 to 1, not {deduct_share!r}")
    return cents(ALTERNATE(changed=float(changed), base=float(base), deduct_share=deduct_share))
