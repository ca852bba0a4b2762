"""Figures of a price that lie outside what is published: allowances, labor units and overtime.

They warn and never decide: ranges are a sanity check, and a house may have its reasons.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.calc.labor import break_even_loss
from estimator.reference.lookup import Row, table
from estimator.spec.faults import Place
from estimator.spec.money import Factor, Overtime, PriceItem
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bill import labor_unit, unit_hours
from estimator.takeoff.price_build import Bid
from estimator.units.rounding import over, under

WORK_DAYS: Final = 5
"""Days of the usual week, whose hours overtime is compared with."""

UNUSUAL: Final = "unusual"


def sense_alerts(bid: Bid) -> Iterable[Alert]:
    """Yield what lies outside published ranges."""
    yield from _shares(bid)
    yield from _labor_units(bid)
    for factor in bid.book.factors:
        if factor.overtime is not None:
            yield from _overtime(factor, factor.overtime, WORK_DAYS * bid.book.hours_a_day)


def _shares(bid: Bid) -> Iterable[Alert]:
    """Steps of the build-up, the bond as a share of the price, burdens of the crew; what is zero says nothing."""
    typed = bid.book.build_up
    at = typed.source.at
    yield from _share("overhead", typed.overhead, at("overhead_percent"), "overhead")
    yield from _share("contingency", typed.contingency, at("contingency_percent"), "contingency")
    yield from _share("profit", typed.profit, at("profit_percent"), "profit")
    bond = sum((step.amount for step in bid.build.steps if step.name == "bond"), start=0)
    if bid.price:
        yield from _share("bond", float(bond / bid.price), at("bond_percent"), "bond on the price")
    for member in bid.book.crew:
        yield from _share("labor_burden", member.burden, member.source.at("burden_percent"), f"burden of {member.role}")


def _share(allowance: str, value: float, place: Place, words: str) -> Iterable[Alert]:
    row = table("estimate_allowances").find(allowance=allowance)
    low, high = row.number("low"), row.number("high")
    if value and (under(value, low) or over(value, high)):
        yield Alert(
            place, UNUSUAL, allowance, f"{words} is outside its usual range", f"{100 * value:.4g} %",
            f"{100 * low:g} to {100 * high:g} %", f"{row.source} ({row.confidence})",
            "leave it if that is meant; a margin or a burden within the wage looks so",
        )  # fmt: skip


def _labor_units(bid: Bid) -> Iterable[Alert]:
    """Typed hours outside the range of the published labor unit that their item names."""
    used = {one.priced.id for one in bid.lines if isinstance(one.priced, PriceItem)}
    for item in bid.book.items:
        row = labor_unit(item)
        if row is not None and item.id in used and item.source.typed("hours") is not None:
            yield from _hours(item, row)


def _hours(item: PriceItem, row: Row) -> Iterable[Alert]:
    low, high = (unit_hours(row, which, item.unit) for which in ("low", "high"))
    if under(item.hours, low) or over(item.hours, high):
        yield Alert(
            item.source.at("hours"), UNUSUAL, item.id, f"hours of {item.name} are outside the published range",
            f"{item.hours:g} h for one {item.unit}", f"{low:.3g} to {high:.3g} h", f"{row.source} ({row.confidence})",
            "leave them if your own records say so",
        )  # fmt: skip


def _overtime(factor: Factor, typed: Overtime, usual_hours: float) -> Iterable[Alert]:
    """A loss outside what is published for such a week, and a week that gives no more than the usual one."""
    place = typed.source.at("loss_percent")
    name = f"overtime_{typed.hours_a_week:g}_h"
    rows = [row for row in table("labor_factors") if row.cells["factor"] == name]
    for row in rows:
        low, high = row.number("low"), row.number("high")
        if under(typed.loss, low) or over(typed.loss, high):
            yield Alert(
                place, UNUSUAL, factor.id, f"loss in weeks of {typed.hours_a_week:g} h is outside its published range",
                f"{100 * typed.loss:g} %", f"{100 * low:g} to {100 * high:g} %", f"{row.source} ({row.confidence})",
                "leave it if your own records say so",
            )  # fmt: skip
    if not over(typed.hours_a_week, usual_hours):
        yield Alert(
            typed.source.at("hours_a_week"), "no overtime", factor.id, f"factor {factor.id} has weeks without overtime",
            f"{typed.hours_a_week:g} h", f"more than {usual_hours:g} h",
            f"{WORK_DAYS} days of `hours_a_day`", "mend `hours_a_week`, or leave the factor out",
        )  # fmt: skip
        return
    break_even = break_even_loss(hours=typed.hours_a_week, usual_hours=usual_hours)
    if not under(typed.loss, break_even):
        yield Alert(
            place, "overtime does not pay", factor.id,
            f"weeks of {typed.hours_a_week:g} h give no more than {usual_hours:g} h at this loss",
            f"{100 * typed.loss:g} %", f"less than {100 * break_even:.3g} %",
            "construction claims article on overtime, break-even", "plan usual weeks, or a second shift",
        )  # fmt: skip
