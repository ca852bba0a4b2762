"""Figures of the price build-up: totals by kind, each step and the price."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.price import Build, Step
from estimator.reference.lookup import table
from estimator.spec.money import BuildUp
from estimator.takeoff.price_build import Bid
from estimator.takeoff.worked import Family, Input

TOTAL: Final = Expression("round(sum(amounts), 2)")
"""Sum of amounts that are each to the cent [money]."""

WITH_STEP: Final = Expression("round(before + amount, 2)")
"""The price so far with one more step in it [money]."""

KEYS: Final[Mapping[str, str]] = {
    "overhead": "overhead_percent",
    "contingency": "contingency_percent",
    "profit": "profit_percent",
    "bond": "bond_percent",
    "sales tax on material": "tax_percent",
    "sales tax on the price": "tax_percent",
}
"""Keys of the price file that hold the rates of the steps."""

BUILD_UP = "build-up of the price file: direct cost, then each step on all above it"

Groups = Mapping[str, Sequence[tuple[float, str]]]


def sums(figure: tuple[str, str, str, str], formula: Expression, name: str, source: str, groups: Groups) -> Family:
    """Return a family of sums: each group's numbers with their origins, under one input name."""
    what, title, meaning, unit = figure
    members = list(groups.values())
    numbers = [tuple(number for number, _ in found) for found in members]

    def inputs(index: int) -> Mapping[str, Input]:
        origins = ", ".join(origin for _, origin in members[index])
        return {name: Input(numbers[index], unit, origins or "nothing stands here")}

    values = [formula(**{name: found}) for found in numbers]
    return Family(
        what=what,
        name=title,
        meaning=meaning,
        unit=unit,
        formula=formula,
        source=source,
        subjects=list(groups),
        values=values,
        inputs=inputs,
    )


def priced_parts(build: Build, note: str = "") -> list[tuple[float, str]]:
    """Return the amounts that make up a price: all lines, then each step."""
    first = f"lines {note}" if note else "price.lines.amount"
    steps = [
        (float(step.amount), f"{step.name} {note}" if note else f"price.{slug(step)}.amount") for step in build.steps
    ]
    return [(float(build.lines), first), *steps]


def slug(step: Step) -> str:
    """Return a step's name as figure ids spell it."""
    return step.name.replace(" ", "_")


def build_families(bid: Bid, money: str) -> Iterable[Family]:
    """Yield totals by kind, what is taxed, direct cost, each step's amount and running total, the price."""
    yield sums(("price", "amount", "sum of the lines of this kind", money), TOTAL, "amounts", BUILD_UP, _kinds(bid))
    yield sums(("price", "amount", "sum of the build-up", money), TOTAL, "amounts", BUILD_UP, _totals(bid))
    before = "price.lines.amount"
    for step in bid.build.steps:
        if step.name == "sales tax on material":
            yield from _step(step, bid, ("price.taxed.amount", before), money)
            before = "price.direct.amount"
        else:
            before = "price.direct.amount" if before == "price.lines.amount" else before
            yield from _step(step, bid, (before, before), money)
            before = f"price.{slug(step)}.total"


def _kinds(bid: Bid) -> Groups:
    groups: dict[str, list[tuple[float, str]]] = {}
    for kind in bid.build.kinds:
        lines = [(float(one.amount), f"line.{one.id}.amount") for one in bid.lines if one.kind == kind]
        tasks = [(float(task.amount), f"task.{task.id}.amount") for task in bid.labor.tasks if task.kind == kind]
        if lines or tasks:
            groups[kind] = [*lines, *tasks]
    groups["taxed"] = [(float(one.amount), f"line.{one.id}.amount") for one in bid.lines if one.taxed]
    return groups


def _totals(bid: Bid) -> Groups:
    build = bid.build
    kinds = [(float(amount), f"price.{kind}.amount") for kind, amount in build.kinds.items() if amount]
    lines = (float(build.lines), "price.lines.amount")
    tax = [
        (float(step.amount), f"price.{slug(step)}.amount")
        for step in build.steps
        if step.name == "sales tax on material"
    ]
    return {"lines": kinds, "direct": [lines, *tax], "total": priced_parts(build)}


def _step(step: Step, bid: Bid, names: tuple[str, str], money: str) -> Iterable[Family]:
    """Yield a step's amount, figured on one figure, and the running total over another."""
    on, before = names
    so_far = float(step.total - step.amount)
    added = {
        "before": Input(so_far, money, before),
        "amount": Input(float(step.amount), money, f"price.{slug(step)}.amount"),
    }
    yield _one(
        step, "amount", f"{step.name}", step.formula, float(step.amount), money, _step_inputs(step, bid, on, money)
    )
    yield _one(step, "total", f"price so far with {step.name}", WITH_STEP, float(step.total), money, lambda _: added)


def _one(
    step: Step,
    name: str,
    meaning: str,
    formula: Expression,
    value: float,
    money: str,
    inputs: Callable[[int], Mapping[str, Input]],
) -> Family:
    return Family(
        what="price",
        name=name,
        meaning=meaning,
        unit=money,
        formula=formula,
        source=BUILD_UP,
        subjects=[slug(step)],
        values=[value],
        inputs=inputs,
    )


def _step_inputs(step: Step, bid: Bid, on: str, money: str) -> Callable[[int], Mapping[str, Input]]:
    typed = bid.book.build_up

    def inputs(_: int) -> Mapping[str, Input]:
        found = {}
        for name, value in step.inputs.items():
            number = float(value) if isinstance(value, int | float) else tuple(value)
            found[name] = Input(number, money if name in ("base", "slices") else "", _origin(name, step, typed, on))
        return found

    return inputs


def _origin(name: str, step: Step, typed: BuildUp, on: str) -> str:
    if name == "base":
        return on
    if name == "per_thousand" and typed.bond_rates == "published":
        return f"{table('bond_schedule').source}, {typed.source.at('bond_rates')}"
    if name == "per_thousand":
        return f"bond_tiers, {typed.source.at('bond_tiers')}"
    if name == "slices":
        own = ", the bond itself in it" if typed.bond_on == "price_with_bond" else ""
        return f"{on} cut at the tiers' upper ends{own}"
    as_ = f" as {typed.profit_as}" if step.name == "profit" else ""
    return f"build_up.{KEYS[step.name]}{as_}, {typed.source.at(KEYS[step.name])}"
