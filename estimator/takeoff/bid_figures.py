"""Figures of the bid's lines, labor and options, each with the formula and inputs that give it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.labor import BURDENED_RATE, CREW_DAYS, CREW_RATE, HOURS
from estimator.calc.price import ALTERNATE, LINE
from estimator.spec.model import Project
from estimator.spec.money import OtherLine
from estimator.takeoff.bill import ORDERED, Line, labor_unit
from estimator.takeoff.columns import column, filled
from estimator.takeoff.difficulty import difficulty_families
from estimator.takeoff.labor_hours import GENERAL, TOTAL_HOURS, Crew, Labor, Task, share_of
from estimator.takeoff.price_build import Bid, Option
from estimator.takeoff.price_figures import TOTAL, build_families, priced_parts, sums
from estimator.takeoff.worked import Family, Input

INSTALLED: Final = Expression("sum(parts)")
"""Quantity of a task: what is installed, unrounded [the line's unit]."""

BILL, LABOR = "takeoff and price file", "labor-unit method: hours a unit on what is installed"
OPTIONS = "difference of two complete builds of the price"


def bid_families(bid: Bid, project: Project) -> Iterable[Family]:
    """Yield every figure of the bid: lines, tasks, crew, sections, systems, build-up, options."""
    money = project.header.currency
    yield from _lines(bid, money)
    yield from filled(difficulty_families(bid.book))
    yield from _tasks(bid, money)
    if bid.labor.crew is not None:
        yield from _crew(bid.labor, bid.labor.crew, bid, money)
    yield from _grouped(bid, money)
    yield from build_families(bid, money)
    yield from _options(bid, money)


def _lines(bid: Bid, money: str) -> Iterable[Family]:
    for unit in dict.fromkeys(one.unit for one in bid.lines):
        yield column(
            ("line", "quantity", "quantity bought", unit), ORDERED, BILL,
            [one for one in bid.lines if one.unit == unit], lambda one: float(one.quantity), _bought,
        )  # fmt: skip
    yield column(("line", "amount", "amount of the line", money), LINE, BILL, bid.lines,
                 lambda one: float(one.amount), lambda one: _amount_inputs(one, money))  # fmt: skip


def _bought(one: Line) -> Mapping[str, Input]:
    return {"parts": Input(tuple(part.quantity for part in one.bought), one.unit, one.origin)}


def _amount_inputs(one: Line, money: str) -> Mapping[str, Input]:
    return {
        "quantity": Input(float(one.quantity), one.unit, f"line.{one.id}.quantity"),
        "unit_cost": Input(float(one.unit_cost), f"{money}/{one.unit}", _origin(one, "cost")),
    }


def _origin(one: Line, key: str) -> str:
    what = "line" if isinstance(one.priced, OtherLine) else "item"
    typed = one.priced.source.typed(key) is not None
    return f"{what} {one.priced.id}, {one.priced.source.at(key)}" if typed else f"{what} {one.priced.id} types no {key}"


def _tasks(bid: Bid, money: str) -> Iterable[Family]:
    tasks = bid.labor.tasks
    plain = [task for task in tasks if not task.share]
    for unit in dict.fromkeys(task.line.unit for task in plain):
        chosen = [task for task in plain if task.line.unit == unit]
        yield column(("task", "installed", "quantity installed", unit), INSTALLED, BILL, chosen,
                     lambda task: task.quantity, _installed)  # fmt: skip
    others = tuple(task.hours for task in plain), ", ".join(f"task.{task.id}.hours" for task in plain)
    yield column(("task", "installed", "hours of all other tasks", "h"), INSTALLED, LABOR,
                 [task for task in tasks if task.share], lambda task: task.quantity,
                 lambda _: {"parts": Input(others[0], "h", others[1] or "no other task")})  # fmt: skip
    yield column(("task", "hours", "hours of the task", "h"), HOURS, LABOR, tasks, lambda task: task.hours, _hours)
    crew = bid.labor.crew
    rate = Input(crew.rate if crew else 0.0, f"{money}/h", "crew.mix.hour" if crew else "the price file has no crew")
    yield column(
        ("task", "amount", "labor of the task", money), LINE, LABOR, tasks, lambda task: float(task.amount),
        lambda task: {"quantity": Input(task.hours, "h", f"task.{task.id}.hours"), "unit_cost": rate},
    )  # fmt: skip


def _installed(task: Task) -> Mapping[str, Input]:
    parts = task.line.installed
    origin = "; ".join(part.origin for part in parts)
    return {"parts": Input(tuple(part.quantity for part in parts), task.line.unit, origin)}


def _hours(task: Task) -> Mapping[str, Input]:
    named = [f"{factor.id} {factor.value:g} ({factor.origin})" for factor in task.factors]
    unit = "h" if task.share else task.line.unit
    return {
        "quantity": Input(task.quantity, unit, f"task.{task.id}.installed"),
        "per": Input(1.0, unit, "hours are for one unit"),
        "hours": Input(task.hours_each, "h", hours_origin(task.line)),
        "factor": Input(task.factor, "", " x ".join(named) or "no difficulty factor named"),
    }


def hours_origin(one: Line) -> str:
    """Return where the hours of one unit come from: typed, a published labor unit, or a share of the others."""
    if share_of(one):
        return _origin(one, "hours_percent")
    row = labor_unit(one.priced)
    if row is None or one.priced.source.typed("hours") is not None:
        return _origin(one, "hours")
    return f"labor unit {row.text('id')}, {row.number('low'):g} to {row.number('high'):g} h ({row.confidence})"


def _crew(labor: Labor, crew: Crew, bid: Bid, money: str) -> Iterable[Family]:
    per_hour = f"{money}/h"
    roles: dict[str, int] = {}
    for number, member in enumerate(crew.members):
        role = member.role.lower().replace(" ", "_")
        roles[role if role not in roles else f"{role}_{number + 1}"] = number
    index = list(roles.values())
    basis = bid.book.wage_basis or "wage basis not stated"

    def burdened(position: int) -> Mapping[str, Input]:
        member = crew.members[index[position]]
        at = member.source.at
        return {
            "wage": Input(float(member.wage), per_hour, f"{basis}, {at('wage')}"),
            "burdens": Input((member.burden,), "", f"{at('burden_percent')}"),
            "adders": Input((float(member.fringe),), per_hour, f"{at('fringe')}" if member.fringe else "none"),
        }

    def mix(_: int) -> Mapping[str, Input]:
        people = tuple(member.people for member in crew.members)
        return {
            "people": Input(people, "people", f"crew, {bid.book.source.at('crew')}"),
            "rates": Input(crew.rates, per_hour, ", ".join(f"crew.{role}.rate" for role in roles)),
        }

    yield Family(what="crew", name="rate", meaning="wage with burden", unit=per_hour, formula=BURDENED_RATE,
                 source=basis, subjects=list(roles), values=[crew.rates[i] for i in index],
                 inputs=burdened)  # fmt: skip
    yield Family(what="crew", name="hour", meaning="an hour of the crew's mix", unit=per_hour, formula=CREW_RATE,
                 source=basis, subjects=["mix"], values=[crew.rate], inputs=mix)  # fmt: skip
    if labor.days is not None:
        hours = Input(labor.hours, "h", "labor.all.hours")
        people = Input(crew.people, "people", f"crew, {bid.book.source.at('crew')}")
        day = Input(crew.hours_a_day, "h", f"hours_a_day, {bid.book.source.at('hours_a_day')}")
        yield Family(
            what="labor", name="crew_days", meaning="days of the crew, shown to a tenth", unit="d", formula=CREW_DAYS,
            source=LABOR, subjects=["all"], values=[labor.days],
            inputs=lambda _: {"hours": hours, "people": people, "hours_a_day": day},
        )  # fmt: skip


def _grouped(bid: Bid, money: str) -> Iterable[Family]:
    """Yield hours in all, by section and by system, and the cost by section."""
    labor = bid.labor
    whole = {"all": [(task.hours, f"task.{task.id}.hours") for task in labor.tasks]}
    sections = {_mark(name): _hours_of(found) for name, found in labor.by_section.items()}
    systems = {name: _hours_of(found, "share of ") for name, found in labor.by_system.items()}
    for what, meaning, groups in (
        ("labor", "hours of all tasks", whole),
        ("section", "hours of the section's tasks", sections),
        ("system", "hours of the system's share of each task", systems),
    ):
        yield sums((what, "hours", meaning, "h"), TOTAL_HOURS, "hours", LABOR, groups)
    costs: dict[str, list[tuple[float, str]]] = {}
    for one in bid.lines:
        costs.setdefault(_mark(one.section or GENERAL), []).append((float(one.amount), f"line.{one.id}.amount"))
    for task in labor.tasks:
        costs.setdefault(_mark(task.section), []).append((float(task.amount), f"task.{task.id}.amount"))
    yield sums(("section", "cost", "direct cost of the section, before tax", money), TOTAL, "amounts", BILL, costs)


def _mark(section: str) -> str:
    return section.replace(" ", "-")


def _hours_of(found: Sequence[tuple[Task, float]], word: str = "") -> list[tuple[float, str]]:
    return [(hours, f"{word}task.{task.id}.hours") for task, hours in found]


def _options(bid: Bid, money: str) -> Iterable[Family]:
    """Yield what alternates and unit prices change, each against the price of its complete build."""
    more = [priced.add for priced in bid.unit_prices]
    less = [priced.deduct for priced in bid.unit_prices]
    share, typed = bid.book.build_up.deduct_share, bid.book.build_up.source
    named = typed.typed("deduct_share_percent") is not None
    origin = f"build_up, {typed.at('deduct_share_percent')}" if named else "default: deducts are credited whole"
    for what, name, meaning, options in (
        ("alternate", "amount", "what the alternate adds to the price", bid.alternates),
        ("unit_price", "add", "price of one more", more),
        ("unit_price", "deduct", "credit for one less", less),
    ):
        built = "changed_price" if name == "amount" else f"{name}_changed_price"
        groups = {option.id: priced_parts(option.build, _changes(option)) for option in options}
        yield sums(
            (what, built, "price of the complete build with the change", money), TOTAL, "amounts", OPTIONS, groups
        )
        inputs = _difference(f"{what}.{{}}.{built}", bid.build.price, (share, origin), money)
        yield column(
            (what, name, meaning, money), ALTERNATE, OPTIONS, options, lambda option: float(option.amount), inputs
        )


def _changes(option: Option) -> str:
    return "with " + ", ".join(f"{name} {more:+f}" for name, more in option.changes)


def _difference(
    built: str, base: Decimal, share: tuple[float, str], money: str
) -> Callable[[Option], Mapping[str, Input]]:
    """Return how the inputs of an option's amount are found; ``share`` is credited, with its origin."""

    def inputs(option: Option) -> Mapping[str, Input]:
        return {
            "changed": Input(float(option.build.price), money, built.format(option.id)),
            "base": Input(float(base), money, "price.total.amount"),
            "deduct_share": Input(share[0], "", share[1]),
        }

    return inputs
