"""Sheets about money: materials by section, labor by task, and the lines besides the takeoff."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from estimator.calc.labor import BURDENED_RATE, CREW_DAYS, CREW_RATE, HOURS
from estimator.calc.price import LINE
from estimator.documents.common import changeable, number_column
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
    Rows,
    Same,
    Section,
    Table,
    Whole,
)
from estimator.spec.money import OtherLine
from estimator.takeoff.bill import Line, labor_unit
from estimator.takeoff.difficulty import Difficulty, difficulties
from estimator.takeoff.labor_hours import CREW_PEOPLE, GENERAL, TOTAL_HOURS, Crew, Labor, Task
from estimator.takeoff.needs import IN_PUT_UPS, LENGTH_UNITS, bought_of, laid_of
from estimator.takeoff.orders import CableOrder
from estimator.takeoff.price_build import Bid
from estimator.takeoff.price_sums import DIRECT_LINES, NO_SECTION, TAXED, by_section
from estimator.takeoff.sections import section_title

_FACTOR: Final[Mapping[str, Ref]] = {"per": 1.0, "hours": Same("hours_each")}
_PAID: Final[Mapping[str, Ref]] = {"quantity": Same("hours"), "unit_cost": Named("crew_rate")}
_RATE: Final[Mapping[str, Ref]] = {"burdens": Same("burden"), "adders": Same("fringe")}

_QUOTED: Final = (
    Column(key="supplier", head="Supplier"),
    Column(key="expires", head="Quote until", kind="date"),
)


def is_other(line: Line) -> bool:
    """Return whether a line was typed in the price file besides the takeoff."""
    return isinstance(line.priced, OtherLine)


def _decimals(lines: Sequence[Line]) -> int:
    """Return the decimals that show every unit cost whole: two to four."""
    return max([2, *(min(4, -int(exponent)) for line in lines if isinstance(exponent := _exponent(line), int))])


def _exponent(line: Line) -> int | str:
    return line.unit_cost.normalize().as_tuple().exponent


def _line_columns(lines: Sequence[Line]) -> tuple[Column, ...]:
    return (
        Column(key="section", head="Section"),
        Column(key="id", head="Item"),
        Column(key="name", head="Description"),
        Column(key="kind", head="Kind"),
        Column(key="quantity", head="Quantity", kind="number", entry=changeable("A quantity")),
        Column(key="unit", head="Unit"),
        Column(
            key="unit_cost",
            head="Unit cost",
            kind="number",
            decimals=_decimals(lines),
            entry=changeable("A unit cost"),
        ),
        Column(key="amount", head="Amount", kind="money", formula=LINE, total="sum"),
        Column(key="share", head="Taxed share", kind="percent", decimals=0),
        Column(key="taxed", head="Taxed", kind="money", formula=TAXED, total="sum"),
    )


def _bought(line: Line, cables: Cables) -> Cell:
    """Return what a line buys: live where it is the order of cables."""
    names = [part.cable for part in line.bought]
    if not names or not all(name in cables for name in names) or len(set(names)) < len(names):
        return line.quantity
    meters = LENGTH_UNITS.get(line.unit)
    column = "boxes" if meters is None else "ordered"
    parts: Mapping[str, Ref] = {f"part_{at}": At("orders", name, column) for at, name in enumerate(names)}
    return Formula(bought_of(len(names), 1.0 if meters is None else meters), float(line.quantity), parts)


def _installed(task: Task, cables: Cables) -> Cell:
    """Return what a task installs: live where it is the footage of whole cable types."""
    parts = task.line.installed
    names = list(dict.fromkeys(part.cable for part in parts))
    if task.share or not names or not all(name in cables for name in names):
        return task.quantity
    meters = LENGTH_UNITS.get(task.line.unit)
    if meters is None and (len(names) > 1 or not cables[names[0]].cable.put_up_m):
        return task.quantity
    totals: dict[str, Ref] = {f"part_{at}": At("orders", name, "total") for at, name in enumerate(names)}
    if meters is not None:
        return Formula(laid_of(len(names), meters), task.quantity, totals)
    return Formula(IN_PUT_UPS, task.quantity, {**totals, "put_up": At("orders", names[0], "put_up")})


Cables = Mapping[str, CableOrder]
"""The order of every cable type, by its name."""


def _line_row(line: Line, cables: Cables) -> tuple[Cell, ...]:
    return (
        line.section or NO_SECTION,
        line.id,
        line.name,
        line.kind,
        _bought(line, cables),
        line.unit,
        line.unit_cost,
        line.amount,
        1 if line.taxed else 0,
        line.amount if line.taxed else Decimal("0.00"),
    )


def materials_section(bid: Bid, cables: Cables) -> Section:
    """Return everything that is bought by the takeoff, by section number, with what it was counted on."""
    lines = [line for line in bid.lines if not is_other(line) and (line.kind == "material" or line.amount)]
    table = Table(
        name="materials",
        title="Materials by section",
        totals=True,
        columns=(
            *_line_columns(lines),
            *_QUOTED,
            Column(key="origin", head="Counted on", width=60),
        ),
        rows=[(*_line_row(line, cables), *_quote(line), line.origin) for line in lines],
        empty="The takeoff buys nothing: no item of the price file is named by a cable or a device.",
    )
    return Section(title="Materials", blocks=(Paragraph(_currency(bid)), table), landscape=True)


def _currency(bid: Bid) -> str:
    note = f" {bid.book.note}" if bid.book.note else ""
    return f"Each line is quantity by unit cost, rounded to the cent; totals are sums of rounded lines.{note}"


def _quote(line: Line) -> tuple[Cell, ...]:
    return (line.priced.supplier, line.priced.expires)


def sections_table(bid: Bid, edition: str) -> Table:
    """Return hours and money by section number, each with its title in the edition of the job."""
    amounts: Mapping[str, Ref] = {
        "bought": Matching("materials", "amount", "section", "section"),
        "lines": Matching("other_lines", "amount", "section", "section"),
        "labor": Matching("tasks", "amount", "section", "section"),
    }
    return Table(
        name="sections",
        title="Cost by section",
        totals=True,
        columns=(
            Column(key="section", head="Section"),
            Column(key="title", head="Title"),
            Column(
                key="hours",
                head="Labor",
                kind="number",
                unit="h",
                decimals=1,
                total="sum",
                formula=TOTAL_HOURS,
                inputs={"hours": Matching("tasks", "hours", "section", "section")},
            ),
            Column(key="amount", head="Direct lines", kind="money", total="sum", formula=DIRECT_LINES, inputs=amounts),
        ),
        rows=[(one.section, section_title(one.section, edition), one.hours, one.amount) for one in by_section(bid)],
        empty="The bill has no line.",
    )


def lines_section(bid: Bid) -> Section:
    """Return the lines typed besides the takeoff: equipment, subcontracts, fees, allowances, removal."""
    lines = [line for line in bid.lines if is_other(line)]
    table = Table(
        name="other_lines",
        title="Other cost lines",
        totals=True,
        columns=(*_line_columns(lines), *_QUOTED),
        rows=[(*_line_row(line, {}), *_quote(line)) for line in lines],
        empty="The price file has no line besides the takeoff.",
    )
    text = "Hours of these lines stand on the sheet Labor. Removal keeps its labor under removal in the price."
    return Section(title="Other lines", blocks=(Paragraph(text), table), landscape=True)


def labor_section(bid: Bid, cables: Cables) -> Section:
    """Return the hours by task on what is installed."""
    labor = bid.labor
    text = (
        "Hours go with what is installed, not with what is ordered: quantity by hours of one by every difficulty "
        "factor. Crew days are shown to a tenth and never rounded into the price."
    )
    blocks: list[Block] = [Paragraph(text)]
    if labor.crew is None:
        blocks.append(Paragraph("The price file names no crew, so that hours have no money.", "caution"))
    blocks.append(_tasks(labor, cables))
    return Section(title="Labor", blocks=tuple(blocks), landscape=True)


def crew_section(bid: Bid) -> Section:
    """Return the crew with its rate and its days, and the difficulty factors."""
    blocks = (Facts(title="", rows=_facts(bid, bid.labor)), _crew(bid.labor.crew), _factors(bid))
    return Section(title="Crew", blocks=blocks)


def _facts(bid: Bid, labor: Labor) -> tuple[Fact, ...]:
    rows = [Fact(label="Wage basis", value=bid.book.wage_basis or "none stated")]
    hours: Mapping[str, Ref] = {"hours": Whole("tasks", "hours")}
    total = Formula(TOTAL_HOURS, labor.hours, hours) if labor.tasks else 0.0
    rows.append(Fact(label="Hours in all", value=total, unit="h", kind="number", decimals=1, name="labor_hours"))
    crew = labor.crew
    if crew is None:
        return (*rows, Fact(label="Rate of a crew hour", value=0.0, kind="number", name="crew_rate"))
    people: Mapping[str, Ref] = {"people": Whole("crew", "people"), "rates": Whole("crew", "rate")}
    rate = Formula(CREW_RATE, crew.rate, people)
    day: Mapping[str, Ref] = {"hours": Named("labor_hours"), "people": Named("crew_people")}
    return (
        *rows,
        Fact(
            label="Rate of a crew hour",
            value=rate,
            kind="number",
            decimals=4,
            name="crew_rate",
            note="mean of the crew mix with burden",
        ),
        Fact(
            label="People in the crew",
            value=Formula(CREW_PEOPLE, crew.people, {"people": Whole("crew", "people")}),
            kind="number",
            decimals=1,
            name="crew_people",
        ),
        Fact(
            label="Hours in a day",
            value=crew.hours_a_day,
            unit="h",
            kind="number",
            decimals=1,
            name="hours_a_day",
            entry=changeable("A number of hours"),
        ),
        Fact(
            label="Crew days",
            value=Formula(CREW_DAYS, labor.days or 0.0, day),
            unit="days",
            kind="number",
            decimals=1,
            name="crew_days",
        ),
    )


def _crew(crew: Crew | None) -> Table:
    members = () if crew is None else zip(crew.members, crew.rates, strict=True)
    return Table(
        name="crew",
        title="Crew",
        columns=(
            Column(key="role", head="Role"),
            Column(key="people", head="People", kind="number", decimals=1, entry=changeable("A number of people")),
            Column(key="wage", head="Wage", kind="money", unit="per hour", entry=changeable("A wage")),
            Column(key="burden", head="Burden", kind="percent", decimals=1, entry=changeable("A burden", most=10.0)),
            Column(key="fringe", head="Benefits", kind="money", unit="per hour", entry=changeable("A benefit")),
            Column(key="rate", head="With burden", kind="number", unit="per hour", formula=BURDENED_RATE, inputs=_RATE),
        ),
        rows=[
            (member.role, member.people, member.wage, member.burden, member.fringe, rate) for member, rate in members
        ],
        empty="The price file names no crew.",
    )


def _tasks(labor: Labor, cables: Cables) -> Table:
    return Table(
        name="tasks",
        title="Labor by task",
        totals=True,
        columns=(
            Column(key="section", head="Section"),
            Column(key="id", head="Task"),
            Column(key="name", head="Description"),
            Column(key="kind", head="Cost under"),
            Column(key="quantity", head="Installed", kind="number"),
            Column(key="unit", head="Unit"),
            number_column("hours_each", "Hours, each", "h", decimals=3, entry=changeable("An hour figure")),
            Column(key="hours_from", head="Hours from"),
            Column(key="factors", head="Difficulty"),
            Column(key="factor", head="Factor", kind="number", decimals=4, entry=changeable("A factor")),
            Column(
                key="hours",
                head="Hours",
                kind="number",
                unit="h",
                decimals=1,
                total="sum",
                formula=HOURS,
                inputs=_FACTOR,
            ),
            Column(key="amount", head="Amount", kind="money", total="sum", formula=LINE, inputs=_PAID),
        ),
        rows=[_task_row(task, labor, cables) for task in labor.tasks],
        empty="No line has hours.",
    )


def _task_row(task: Task, labor: Labor, cables: Cables) -> tuple[Cell, ...]:
    quantity = _installed(task, cables)
    if task.share:
        others = sum(not one.share for one in labor.tasks)  # shares come last
        quantity = Formula(TOTAL_HOURS, task.quantity, {"hours": Rows("tasks", "hours", 0, others)}) if others else 0.0
    section = NO_SECTION if task.section == GENERAL else task.section
    named = ", ".join(factor.id for factor in task.factors)
    return (
        section,
        task.id,
        task.line.name,
        task.kind,
        quantity,
        "h of others" if task.share else task.line.unit,
        task.hours_each,
        _hours_from(task.line),
        named or "none",
        task.factor,
        task.hours,
        task.amount,
    )


def _factor_from(one: Difficulty) -> str:
    return "price file" if one.typed.factor is not None else one.origin


def _hours_from(line: Line) -> str:
    row = labor_unit(line.priced)
    if row is None or line.priced.source.typed("hours") is not None:
        return "price file"
    return f"published {row.number('low'):g} to {row.number('high'):g} h, {row.confidence}"


def _factors(bid: Bid) -> Table:
    return Table(
        name="factors",
        title="Difficulty factors",
        columns=(
            Column(key="id", head="Factor"),
            Column(key="name", head="Why"),
            Column(key="value", head="Multiplier", kind="number", decimals=3),
            Column(key="origin", head="From"),
        ),
        rows=[(one.id, one.name, one.value, _factor_from(one)) for one in difficulties(bid.book).values()],
        empty="The price file has no difficulty factor.",
    )
