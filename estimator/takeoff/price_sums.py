"""Sums of the bill that the price stands on: cost of a kind or section, what is taxed, slices of the bond."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from estimator.calc.formula import Expression
from estimator.takeoff.price_build import Bid

DIRECT_LINES: Final = Expression("sum(bought) + sum(lines) + sum(labor)")
"""Cost of a kind or a section: what is bought, the other lines, and the labor [money]."""

ALL_KINDS: Final = Expression("sum(kinds)")
"""Cost of all kinds [money]."""

TAXED: Final = Expression("share * amount")
"""What of a line the tax on material is figured on [money]."""

ALL_TAXED: Final = Expression("sum(bought) + sum(lines)")
"""What the tax on material is figured on in all [money]."""

SLICE: Final = Expression("max(0, min(base, up_to) - lower)")
"""What of the price falls into a tier of the bond rate [money]."""

LAST_SLICE: Final = Expression("max(0, base - lower)")
"""What falls into the last tier, which also takes all above it [money]."""

MOVED: Final = Expression("abs(round(price - options_price, 2)) > 0")
"""Whether the price is no more the one that alternates and unit prices were figured on."""

NO_SECTION: Final = "none"
"""Stands for the section number of a line that has none."""


@dataclass(frozen=True, slots=True)
class SectionCost:
    """Hours and cost of one section number."""

    section: str
    hours: float
    amount: Decimal


def by_section(bid: Bid) -> tuple[SectionCost, ...]:
    """Return hours [h] and cost [money] by section number, in their order."""
    money: dict[str, Decimal] = {}
    hours: dict[str, float] = {}
    for line in bid.lines:
        name = line.section or NO_SECTION
        money[name] = money.get(name, Decimal(0)) + line.amount
    for task in bid.labor.tasks:
        name = task.line.section or NO_SECTION
        money[name] = money.get(name, Decimal(0)) + task.amount
        hours[name] = hours.get(name, 0.0) + task.hours
    return tuple(SectionCost(name, hours.get(name, 0.0), money[name]) for name in sorted(money))
