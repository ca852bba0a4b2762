"""A made-up closeout document with every kind of block, for the tests of the Word writer."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from estimator.calc.formula import Expression
from estimator.documents import wording
from estimator.documents.description import (
    Break,
    Column,
    Document,
    Fact,
    Facts,
    Formula,
    Paragraph,
    Section,
    SignOff,
    Table,
    Verdict,
)

NEED = Expression("(standby_a * standby_h + alarm_a * alarm_h) * margin")

CONTEXT = {
    "job": "Harbor Street Library, low-voltage package",
    "client": "Harbor Street Library District",
    "site": "1200 Harbor Street",
    "revision": "B",
    "authority": "the county fire marshal",
    "currency": "US dollars",
    "valid_days": 45,
}

PASS = Verdict("pass", "good")
MARGINAL = Verdict("marginal pass", "poor")
FAIL = Verdict("fail", "bad")
OPEN = Verdict("not tested", "none")


def results(count: int) -> Table:
    """Return a results table with so many circuits, verdicts among them."""
    columns = (
        Column(key="id", head="Circuit"),
        Column(key="room", head="Room"),
        Column(key="cable", head="Cable"),
        Column(key="length", head="Length", kind="number", unit="ft", decimals=1, total="sum"),
        Column(key="expected", head="Expected", kind="number", unit="ft", decimals=1),
        Column(key="loop", head="Loop", kind="number", unit="ohm", decimals=2),
        Column(key="verdict", head="Verdict", kind="verdict"),
        Column(key="note", head="Note"),
    )
    words = (PASS, PASS, PASS, MARGINAL, PASS, FAIL, OPEN)
    notes = ("", "", "re-terminated at the outlet, second round", "", "pair 3 open at 41 ft; see punch list 7", "")
    rows = [
        (
            f"1A-{'ABCD'[number // 48 % 4]}{number % 48 + 1:02d}",
            f"Room {100 + number // 3}",
            "CAT6A" if number % 5 else "CAT6",
            82.4 + number * 0.7 % 190,
            80.0 + number * 0.7 % 190,
            5.1 + number * 0.013,
            words[number % len(words)],
            notes[number % len(notes)],
        )
        for number in range(count)
    ]
    return Table(name="results", title="Test results by circuit", columns=columns, rows=rows, key="id", totals=True)


def wide() -> Table:
    """Return a table of sixteen columns, for a page on its side."""
    texts = ("Circuit", "Switch", "Port", "Device", "Location", "Class")
    numbers = ("Draw", "Budget", "Route", "Room leg", "Last leg", "Slack", "Loop", "Voltage", "Delay", "Skew")
    units = ("W", "W", "ft", "ft", "ft", "ft", "ohm", "V", "ns", "ns")
    columns = tuple(Column(key=text.lower(), head=text) for text in texts) + tuple(
        Column(key=text.lower(), head=text, kind="number", unit=unit, decimals=1)
        for text, unit in zip(numbers, units, strict=True)
    )
    rows = [
        (
            *(f"1A-B{row:02d}", "SW-1A-02", f"1/0/{row}", "Dome camera", f"Corridor {row}, north end", "4"),
            *(12.5 + row * 0.3 + place for place in range(len(numbers))),
        )
        for row in range(1, 33)
    ]
    return Table(
        name="ports", title="Ports and what they feed", columns=columns, rows=rows,
        caption="Draw at the device, voltage at its input.",
    )  # fmt: skip


def prices() -> Table:
    """Return a small price table with a total."""
    columns = (
        Column(key="system", head="System"),
        Column(key="share", head="Share", kind="percent", decimals=1),
        Column(key="price", head="Price", kind="money", unit="USD", total="sum"),
    )
    rows = [
        ("Structured cabling", 0.525, Decimal("48210.00")),
        ("Fire alarm", 0.31, Decimal("28466.40")),
        ("Distributed speakers", 0.165, Decimal("15151.26")),
    ]
    return Table(name="prices", title="Price by system", columns=columns, rows=rows, totals=True)


def battery() -> Facts:
    """Return the facts of one battery, one of them a formula's value."""
    need = Formula(NEED, 7.35)
    return Facts(
        title="Battery of control unit FACP-1",
        rows=(
            Fact(label="Standby current", value=0.25, unit="A", kind="number", decimals=3, note="data sheet"),
            Fact(label="Alarm current", value=1.5, unit="A", kind="number", decimals=3, note="data sheet"),
            Fact(label="Need", value=need, unit="Ah", kind="number", note=NEED.text),
            Fact(label="Installed", value=12, unit="Ah", kind="whole", note="two blocks of 12 V in series"),
            Fact(label="Judgment", value=PASS, kind="verdict", note="4.65 Ah to spare"),
        ),
    )


def _punch_list() -> Table:
    columns = (
        Column(key="item", head="Item", kind="whole"),
        Column(key="where", head="Where"),
        Column(key="what", head="What is open"),
        Column(key="since", head="Since", kind="date"),
        Column(key="who", head="Who"),
    )
    rows = [
        (1, "1A-A06", "Pair 3 open at 41 ft; outlet behind the fixed shelving.", date(2026, 2, 17), "Installer"),
        (2, "1A-C14", "Not reachable: the room was locked on three visits.", date(2026, 2, 19), "Owner"),
        (3, "Room 118", "Firestop label missing on the corridor side.", date(2026, 2, 20), "Installer"),
    ]
    return Table(name="punch", title="Punch list", columns=columns, rows=rows)


def sample(circuits: int = 230) -> Document:
    """Return the whole sample document."""
    safety = wording.sections(wording.render("testplan_safety", CONTEXT), "Safety")
    steps = wording.render("testplan_procedure_fiber", CONTEXT)
    empty = Table(
        name="waived", title="Waived items", columns=_punch_list().columns, rows=(), empty="No item was waived."
    )
    return Document(
        title="Turnover binder",
        subtitle="Structured cabling, fire alarm and distributed speakers",
        job=CONTEXT["job"],
        number="26-0117",
        revision="B",
        shown_date=date(2026, 3, 1),
        author="Northgate Low Voltage",
        subject="Closeout of the low-voltage package",
        state="Incomplete: 3 items open on the punch list",
        state_tone="bad",
        basis="Cabling to ANSI/TIA-568.2-D; fire alarm to NFPA 72-2019, as adopted by the county.",
        cover=(
            Fact(label="Client", value=CONTEXT["client"]),
            Fact(label="Site", value=CONTEXT["site"]),
            Fact(label="Permit", value="FA-2026-00318"),
            Fact(label="Authority having jurisdiction", value="County fire marshal"),
        ),
        contents=True,
        sections=(
            *wording.sections(wording.render("binder_intro", CONTEXT), "About this binder"),
            Section(
                title="Open items",
                blocks=(*wording.render("binder_incomplete", CONTEXT), _punch_list(), empty),
            ),
            Section(title="Price", blocks=(prices(),)),
            Section(
                title="Test results",
                new_page=True,
                blocks=(*wording.render("readings_status", CONTEXT), results(circuits)),
            ),
            Section(title="Ports", landscape=True, blocks=(wide(),)),
            Section(title="Port map", landscape=True, level=2, blocks=(Paragraph("Panels are read from the left."),)),
            Section(title="Power", blocks=(*wording.render("calc_cautions", CONTEXT), battery())),
            *safety,
            Section(title="Procedures", blocks=()),
            Section(title="Fiber", level=2, blocks=tuple(steps)),
            Section(
                title="Voice lines", level=2, blocks=tuple(wording.render("testplan_procedure_voice_line", CONTEXT))
            ),
            Section(
                title="Sign-off",
                blocks=(
                    Paragraph("The people below have received this binder.", "lead"),
                    SignOff(("Installer", "General contractor", "Owner's representative")),
                    Break.PAGE,
                ),
            ),
        ),
    )
