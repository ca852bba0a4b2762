"""A small workbook with every kind of block, table, input and formula."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from estimator.calc.formula import Expression
from estimator.documents.description import (
    At,
    Block,
    Cell,
    Column,
    Document,
    Entry,
    Fact,
    Facts,
    Formula,
    Limits,
    Matching,
    Paragraph,
    Section,
    SignOff,
    Table,
    Verdict,
    Whole,
)

FOOT = 0.3048
LENGTH = Expression("route + leg + slack")
LEGS = ((100.5, 12.0, 3.0), (73.9, 15.9, 0.2), (201.25, 12.0, 10.0), (88.0, 0.0, 3.0))
ROOMS = ("1A", "1/2", "1A", "1/2")


def document(*sections: Section, cover: tuple[Fact, ...] = ()) -> Document:
    """Return a document of these sections."""
    return Document(
        title="Estimate",
        subtitle="Cabling & alarm",
        job="Harbor offices",
        number="26-014",
        revision="B",
        shown_date=date(2026, 3, 4),
        author="Estimating",
        subject="Estimate",
        sections=sections,
        cover=cover,
        contents=True,
    )


def sheet(*blocks: Block, title: str = "Sheet") -> Section:
    """Return a section of these blocks."""
    return Section(title=title, blocks=blocks)


def feet(key: str, head: str, **more: object) -> Column:
    """Return a column of feet; the formulas of its table count in meters."""
    return Column(key=key, head=head, kind="number", unit="ft", decimals=1, si=FOOT, **more)  # type: ignore[arg-type]


def drops() -> Table:
    """Return four drops whose length is a live sum of parts."""
    rows: list[tuple[Cell, ...]] = [
        (f"1A-A0{number}", room, *legs, sum(legs), Verdict("within limit", "good"))
        for number, (room, legs) in enumerate(zip(ROOMS, LEGS, strict=True), start=1)
    ]
    return Table(
        name="drops",
        title="Drops",
        key="id",
        totals=True,
        columns=(
            Column(key="id", head="Circuit", total="count"),
            Column(key="room", head="Room"),
            feet("route", "Route"),
            feet("leg", "Room leg"),
            feet("slack", "Slack"),
            feet("length", "Expected length", formula=LENGTH, total="sum"),
            Column(key="verdict", head="Against the limit", kind="verdict"),
        ),
        rows=rows,
    )


def by_room(*, key: str = "room") -> Table:
    """Return the drops counted and summed by room, on another sheet than the drops."""
    lengths = {"lengths": Matching("drops", "length", key, "room")}
    rows: list[tuple[Cell, ...]] = []
    for room in ("1A", "1/2"):
        found = [sum(legs) for legs, own in zip(LEGS, ROOMS, strict=True) if own == room]
        rows.append((room, float(len(found)), sum(found), sum(found) / len(found)))
    return Table(
        name="rooms",
        title="By room",
        columns=(
            Column(key="room", head="Room"),
            Column(key="count", head="Drops", kind="whole", formula=Expression("count(lengths)"), inputs=lengths),
            feet("feet", "Footage", formula=Expression("sum(lengths)"), inputs=lengths),
            feet("average", "Average", formula=Expression("feet / count")),
        ),
        rows=rows,
    )


def prices() -> Table:
    """Return priced lines: quantity times unit cost to the cent."""
    rows: list[tuple[Cell, ...]] = [
        ("Cable, 1,000 ft box", 12.0, Decimal("189.55"), 2274.6),
        ("Jack, white", 121.0, Decimal("6.855"), 829.46),  # 829.455, half up
    ]
    cost = Expression("round(qty * unit_cost, 2)")
    return Table(
        name="lines",
        title="Lines",
        columns=(
            Column(key="item", head="Item"),
            Column(key="qty", head="Quantity", kind="number", decimals=0),
            Column(key="unit_cost", head="Unit cost", kind="money", unit="$"),
            Column(key="cost", head="Cost", kind="money", unit="$", formula=cost),
        ),
        rows=rows,
    )


def price_facts() -> Facts:
    """Return a price build-up of named cells, and figures that point into tables."""
    total = 2274.6 + 829.46
    lengths = {"lengths": Whole("drops", "length")}
    longest = max(sum(legs) for legs in LEGS)
    weighted = {"qty": Whole("lines", "qty"), "each": Whole("lines", "unit_cost")}
    return Facts(
        title="Price",
        rows=(
            _money("Material", Formula(Expression("sum(costs)"), total, {"costs": Whole("lines", "cost")}), "mat1"),
            Fact(label="Tax rate", value=0.0825, kind="percent", name="tax_rate", note="this file, line 12"),
            _money("Price", Formula(Expression("mat1 * (1 + tax_rate)"), total * 1.0825), "price"),
            _money("Before rounding", Formula(Expression("sumproduct(qty, each)"), 3104.055, weighted), ""),
            _length("Longest drop", Formula(Expression("max(lengths, 1)"), longest, lengths), "longest"),
            _length("In all", Formula(Expression("sum(lengths)"), sum(map(sum, LEGS)), lengths), ""),
            _length("First", Formula(Expression("one"), 115.5, {"one": At("drops", "1A-A01", "length")}), ""),
            _length("Twice the longest", Formula(Expression("two * longest"), 2 * longest, {"two": 2.0}), ""),
            _length("As shown", Formula(Expression("a + 1"), 116.5, {"a": At("drops", 0, "length")}, True), ""),
            Fact(label="Method", value="Shortest along the pathway graph."),
        ),
    )


def _money(label: str, value: Formula, name: str) -> Fact:
    return Fact(label=label, value=value, unit="$", kind="money", name=name)


def _length(label: str, value: Formula, name: str) -> Fact:
    return Fact(label=label, value=value, unit="ft", kind="number", decimals=1, si=FOOT, name=name)


READINGS: tuple[tuple[Cell, Cell, Cell, str], ...] = (
    # wire map, length, loop resistance, the verdict; the limits are pass|n/a, 295.3 ft and 5 to 20 ohm
    ("pass", 295.3, 20.0, "pass"),
    ("PASS", 295.30000000000001, 5.0, "pass"),
    (" n/a ", 10, 5, "pass"),
    ("pass", 295.4, 10.0, "fail"),
    ("pass", 100.0, 4.99, "fail"),
    ("open", 100.0, 10.0, "fail"),
    ("open", None, None, "fail"),
    ("pass", "OL", 10.0, "fail"),
    ("pass", "ol", None, "fail"),
    ("pass", "about 90", 10.0, "incomplete"),
    (None, "?", None, "incomplete"),
    ("pass", None, 10.0, "incomplete"),
    ("pass", None, None, "incomplete"),
    (None, None, None, ""),
    (" ", None, "", ""),
)


def field_sheet() -> Table:
    """Return readings with their limits and a live verdict."""
    rows: list[tuple[Cell, ...]] = [
        (f"1A-A{number:02d}", *readings, "Pass|n/a", 295.3, 5.0, 20.0, None)
        for number, (*readings, _) in enumerate(READINGS, start=1)
    ]
    return Table(
        name="copper",
        title="Copper links",
        key="id",
        judged=(
            Limits(reading="map", accepted="words"),
            Limits(reading="length", high="length_max"),
            Limits(reading="loop", low="loop_min", high="loop_max"),
        ),
        verdict_column="verdict",
        columns=(
            Column(key="id", head="Circuit"),
            Column(key="map", head="Wire map", entry=Entry(words=("pass", "open, short"), prompt="As shown.")),
            Column(key="length", head="Length", kind="number", unit="ft", entry=Entry(low=0, high=2000)),
            Column(key="loop", head="Loop", kind="number", unit="ohm", entry=Entry(refusal="A resistance.")),
            Column(key="words", head="Accepted"),
            Column(key="length_max", head="Longest", kind="number", unit="ft"),
            Column(key="loop_min", head="Loop", kind="number", unit="ohm"),
            Column(key="loop_max", head="Loop, most", kind="number", unit="ohm"),
            Column(key="verdict", head="Verdict", kind="verdict"),
        ),
        rows=rows,
    )


def sample() -> Document:
    """Return the whole sample."""
    summary = sheet(
        Paragraph("What a person would check is a live formula."),
        Paragraph("First", "bullet"),
        price_facts(),
        by_room(),
        Paragraph("Local code decides.", "caution"),
        SignOff(("Prepared by", "Reviewed by")),
        title="Summary",
    )
    return document(
        summary,
        Section(title="Owner's drops: all", blocks=(drops(),), landscape=True),
        sheet(prices(), title="Lines"),
        Section(title="Copper", blocks=(field_sheet(),), landscape=True),
        cover=(Fact(label="Client", value="Harbor Partners"),),
    )
