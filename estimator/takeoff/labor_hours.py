"""Labor: hours by task on what is installed, the crew's rate, and crew days.

A task is a line of the bill that has hours. Its money stands under labor, except that removal keeps
its labor with it, so that the client sees what taking the old cable out costs as one figure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.labor import HOURS, burdened_rate, combined_factor, crew_days, crew_rate
from estimator.calc.price import line
from estimator.spec.money import CrewMember, OtherLine, PriceBook
from estimator.takeoff.bill import Line
from estimator.takeoff.difficulty import Difficulty, difficulties
from estimator.units.rounding import round_half_up

TOTAL_HOURS: Final = Expression("sum(hours)")
"""Hours of several tasks [h]."""

CREW_PEOPLE: Final = Expression("sum(people)")
"""People of a crew."""

GENERAL = "general"
"""System of what belongs to no single one, and section of what has no number."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """A labor task: what is installed, its hours with every difficulty factor, and what they cost."""

    line: Line
    kind: str
    quantity: float
    factors: tuple[Difficulty, ...]
    factor: float
    hours_each: float
    hours: float
    amount: Decimal
    by_system: tuple[tuple[str, float], ...]
    share: bool  # a share of the hours of all other tasks, which are its quantity

    @property
    def id(self) -> str:
        """Return the id of its line."""
        return self.line.id

    @property
    def section(self) -> str:
        """Return its section number, or a word where it has none."""
        return self.line.section or GENERAL


@dataclass(frozen=True, kw_only=True, slots=True)
class Crew:
    """The crew mix: each trade's burdened rate, the rate of an hour of the mix, and its day."""

    members: tuple[CrewMember, ...]
    rates: tuple[float, ...]
    rate: float
    people: float
    hours_a_day: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Labor:
    """All tasks with their hours; without a crew their money is zero, and an alert says so."""

    tasks: tuple[Task, ...]
    crew: Crew | None
    hours: float
    days: float | None

    @property
    def days_shown(self) -> float | None:
        """Crew days to a tenth, as documents show them."""
        return None if self.days is None else round_half_up(self.days, 1)

    @property
    def by_section(self) -> dict[str, list[tuple[Task, float]]]:
        """Tasks with their hours by section number."""
        found: dict[str, list[tuple[Task, float]]] = {}
        for task in self.tasks:
            found.setdefault(task.section, []).append((task, task.hours))
        return found

    @property
    def by_system(self) -> dict[str, list[tuple[Task, float]]]:
        """Tasks with their share of hours by system."""
        found: dict[str, list[tuple[Task, float]]] = {}
        for task in self.tasks:
            for system, hours in task.by_system:
                found.setdefault(system, []).append((task, hours))
        return found


def crew_of(book: PriceBook) -> Crew | None:
    """Return the crew mix, or None where the price file names no people."""
    people = [member.people for member in book.crew]
    if not math.fsum(people) > 0:
        return None
    rates = tuple(
        burdened_rate(wage=float(member.wage), burdens=(member.burden,), adders=(float(member.fringe),))
        for member in book.crew
    )
    return Crew(
        members=book.crew,
        rates=rates,
        rate=crew_rate(people=people, rates=rates),
        people=math.fsum(people),
        hours_a_day=book.hours_a_day,
    )


def labor_of(lines: Iterable[Line], book: PriceBook) -> Labor:
    """Return the labor of a bill."""
    crew = crew_of(book)
    listed = list(lines)
    plain = [_task(one, book, crew) for one in listed if one.hours_each]
    others = TOTAL_HOURS(hours=[task.hours for task in plain])
    shares = [_share_task(one, share, others, book, crew) for one in listed if (share := share_of(one))]
    tasks = (*plain, *shares)
    hours = TOTAL_HOURS(hours=[task.hours for task in tasks])
    days = None if crew is None else crew_days(hours=hours, people=crew.people, hours_a_day=crew.hours_a_day)
    return Labor(tasks=tasks, crew=crew, hours=hours, days=days)


def named_factors(names: Iterable[str], book: PriceBook) -> tuple[tuple[Difficulty, ...], float]:
    """Return the difficulty factors of these names, and their product [unitless]."""
    named = difficulties(book)
    used = tuple(named[name] for name in names if name in named)
    return used, float(combined_factor([factor.value for factor in used]))


def share_of(one: Line) -> float:
    """Return the share of all other hours that a line's labor is [unitless]; zero where it has hours of its own."""
    return one.priced.hours_share if isinstance(one.priced, OtherLine) else 0.0


def labor_kind(kind: str) -> str:
    """Return the kind of cost that the hours of a line stand under."""
    return "removal" if kind == "removal" else "labor"


def hours_of(*, quantity: float, hours_each: float, factor: float) -> float:
    """Return the hours of a quantity [h], below zero where an alternate leaves more out than there is."""
    return HOURS(quantity=quantity, per=1.0, hours=hours_each, factor=factor)


def labor_amount(hours: float, crew: Crew | None) -> Decimal:
    """Return what hours cost at the crew's rate, to the cent [money]."""
    return line(quantity=hours, unit_cost=crew.rate if crew else 0.0)


def _task(one: Line, book: PriceBook, crew: Crew | None) -> Task:
    used, factor = named_factors(one.factors, book)
    quantity = math.fsum(part.quantity for part in one.installed)
    hours = hours_of(quantity=quantity, hours_each=one.hours_each, factor=factor)
    systems: dict[str, list[float]] = {}
    for part in one.installed:
        share = hours_of(quantity=part.quantity, hours_each=one.hours_each, factor=factor)
        systems.setdefault(part.system or GENERAL, []).append(share)
    return Task(
        line=one,
        kind=labor_kind(one.kind),
        quantity=quantity,
        factors=used,
        factor=factor,
        hours_each=one.hours_each,
        hours=hours,
        amount=labor_amount(hours, crew),
        by_system=tuple((name, math.fsum(all_)) for name, all_ in systems.items()),
        share=False,
    )


def _share_task(one: Line, share: float, others: float, book: PriceBook, crew: Crew | None) -> Task:
    used, factor = named_factors(one.factors, book)
    hours = hours_of(quantity=others, hours_each=share, factor=factor)
    return Task(
        line=one,
        kind=labor_kind(one.kind),
        quantity=others,
        factors=used,
        factor=factor,
        hours_each=share,
        hours=hours,
        amount=labor_amount(hours, crew),
        by_system=((GENERAL, hours),),
        share=True,
    )
