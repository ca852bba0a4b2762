"""Field sheets: one sheet a medium, one row a circuit, a verdict while somebody types.

Head, entries and instructions; what is judged by which limit column stands in ``field_limits``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from estimator.acceptance.columns import MEDIA, Sheet, sheet
from estimator.acceptance.columns import Column as FieldColumn
from estimator.acceptance.criterion import Criteria
from estimator.documents import common
from estimator.documents.description import (
    Block,
    Cell,
    Column,
    Document,
    Entry,
    Kind,
    Paragraph,
    Section,
    Table,
)
from estimator.documents.field_limits import Guide, guide
from estimator.documents.shown import OPEN
from estimator.takeoff.takeoff import Takeoff

# Wider than any sound instrument shows, so that only slips of the keyboard are refused.
_RANGES: Final[Mapping[str, tuple[float, float]]] = {
    "ft": (0, 20_000),
    "m": (0, 6_000),
    "ns": (0, 50_000),
    "ohm": (0, 1e9),
    "V": (-600, 600),
    "W": (0, 1_000),
    "A": (-200, 200),
    "dB": (-10, 100),
    "C": (-40, 90),
    "%": (40, 99),
    "MHz": (0, 3_000),
    "Mb/s": (0, 100_000),
}
_ROUND_MOST: Final = 99
_PAGE_COLUMNS: Final = 14  # of a landscape page that stay legible
_DATE_ORDERS: Final[Mapping[str, str]] = {
    "mdy": "month, day, year",
    "dmy": "day, month, year",
    "ymd": "year, month, day",
}
_HELPS: Final[Mapping[str, str]] = {
    "balanced_pair": "Length: the tester's length, or the four pairs' lengths; the shortest sound pair counts.",
    "coax": "Video level: in the state that the test plan names; write that state into Far end.",
    "conductors": "Isolate the circuit first. Stop and call where Stray voltage shows anything unexplained.",
    "voice": "Read the line volts with the feed connected, the resistance with the feed off.",
    "speaker": "DC resistance proves open and short only; the impedance meter tells the load.",
    "battery": "One row a block. Open-circuit volts count with the charger off and the block rested.",
    "fiber": "One row a strand. A gain is a bad reference: set the reference again.",
    "bonding": "Read each point bonded as it will stay, less the leads.",
}


_CAUTIONS: Final[Mapping[str, str]] = {
    "balanced_pair": "Switch the port's power off before a cable is tested or opened.",
    "coax": "A voltage between shield and ground: stop and report it before anything is connected.",
    "conductors": "Fire-alarm circuits only after the notices of the test plan. Panels hold line voltage.",
    "voice": "Ringing voltage can shock: keep fingers off bare terminals while the feed is connected.",
    "speaker": "Amplifier off, and the line proved dead, before terminals are touched.",
    "battery": "Jewelry off, insulated tools, eye protection. Chargers hold line voltage. Stop at swelling or leaks.",
    "fiber": "Never look into a fiber or a port; prove it dark with a power meter first.",
    "bonding": "Never open a bond of energized equipment.",
}
"""What can hurt a person who takes these readings; the test plan's safety part says more."""


def field_sheets(takeoff: Takeoff, circuits: Sequence[Criteria], shown_date: date | None) -> Document:
    """Return the sheets that the crew fills in, a medium each, in the order of testing."""
    project = takeoff.project
    lengths_in = project.header.lengths_in
    sections = [
        _section(_shown(sheet(medium, lengths_in), own), own, _date_order(takeoff))
        for medium in MEDIA
        if (own := [one for one in circuits if one.medium == medium])
    ]
    nothing = Section(title="Field sheets", blocks=(Paragraph("This job has no circuit to test."),))
    return common.document(
        project,
        shown_date,
        title="Field sheets",
        subject="Readings of the crew",
        sections=sections or [nothing],
    )


def _shown(form: Sheet, circuits: Iterable[Criteria]) -> Sheet:
    """Return the sheet without the columns that stand there only where a circuit requires their test."""
    required = {criterion.test for one in circuits for criterion in one.required}
    return replace(form, columns=tuple(one for one in form.columns if not one.asked or one.asked in required))


def _date_order(takeoff: Takeoff) -> str:
    return _DATE_ORDERS[takeoff.project.acceptance.date_order]


_TWICE: Final[Mapping[str, str]] = {
    "coax": "terminated for the video level, shorted for the resistance",
    "conductors": "shorted for the loop resistance, end-of-line in for the resistor",
    "speaker": "shorted for the resistance, device on for the impedance",
}
"""Two states of the far end in which a medium's circuits are read."""


def _section(form: Sheet, circuits: Sequence[Criteria], date_order: str) -> Section:
    guided = guide(form, circuits)
    lines = (
        f"Fill the tinted cells, one row a test. Write {OPEN} where the instrument shows beyond range. "
        f"Dates: {date_order}.",
        f"{_HELPS[form.medium]} The verdict previews what is typed; the office judges with the instrument's accuracy.",
        "Retest: insert a copy of the circuit's row below it, set Round to 2, clear the readings. Never type over a "
        "failed round. A sheet that mends one already sent is no retest: insert a row above the heads and write there "
        "`corrects:` with that file's name.",
        *(
            f"Another state of the far end ({states}): insert a copy of the row, keep its Round, set Far end in both. "
            "Each alone may read incomplete; the office joins them."
            for states in (_TWICE.get(form.medium),)
            if states
        ),
    )
    table = _table(form, guided, circuits)
    blocks: tuple[Block, ...] = (
        Paragraph(f"{_CAUTIONS[form.medium]} The safety part of the test plan comes first.", "caution"),
        *(Paragraph(line, "bullet") for line in lines),
        table,
    )
    pages = -(-len(table.columns) // _PAGE_COLUMNS)
    return Section(title=form.title, blocks=blocks, landscape=True, pages_wide=pages)


def _table(form: Sheet, guided: Guide, circuits: Sequence[Criteria]) -> Table:
    leading = [column for column in form.columns if column.given or column.kind == "round"]
    readings = [column for column in form.columns if column not in leading]
    verdict = Column(key="verdict", head="Verdict", kind="verdict")
    columns = (
        *(_given(column) for column in leading),
        *guided.expected,
        verdict,
        *(_filled_in(column) for column in readings),
        *guided.limits,
    )
    blanks = [None] * len(readings)
    rows: list[tuple[Cell, ...]] = [
        (*_identity(leading, one, row), *guided.expectations(one), None, *blanks, *guided.bounds(one, row))
        for one in circuits
        for row in (one.rows or (one.row,))
    ]
    return Table(
        name=f"field_{form.medium}",
        title=form.title,
        columns=columns,
        rows=rows,
        key="circuit",
        judged=guided.judged,
        verdict_column="verdict",
    )


def _identity(leading: Iterable[FieldColumn], one: Criteria, row: str) -> list[Cell]:
    cells: dict[str, Cell] = {"circuit": one.circuit, "round": 1, "start": one.room, "end": one.far_end}
    return [cells.get(column.key, row) for column in leading]


def _given(column: FieldColumn) -> Column:
    if column.kind == "round":
        entry = Entry(
            low=1, high=_ROUND_MOST, prompt=_prompt(column), refusal="A whole number: 1, then 2 for a retest."
        )
        return Column(key=column.key, head=column.head, kind="whole", entry=entry)
    return Column(key=column.key, head=column.head)


def _prompt(column: FieldColumn) -> str:
    hint = column.hint
    return f"{hint[0].upper()}{hint[1:]}." if hint else ""


def _filled_in(column: FieldColumn) -> Column:
    kinds: Mapping[str, Kind] = {"number": "number", "date": "date"}
    return Column(
        key=column.key,
        head=column.head,
        kind=kinds.get(column.kind, "text"),
        unit=column.unit,
        decimals=column.decimals,
        si=column.si,
        entry=_entry(column),
    )


def _entry(column: FieldColumn) -> Entry:
    if column.kind == "choice":
        return Entry(words=column.words, prompt=_prompt(column), refusal=f"One of: {', '.join(column.words)}.")
    if column.kind == "date":
        return Entry(prompt="The day of the test.", refusal="A date.")
    if column.kind != "number":
        return Entry(prompt=_prompt(column))
    low, high = _RANGES[column.unit]
    beyond = (OPEN,) if column.reading else ()
    either = f", or {OPEN} for beyond range" if beyond else ""
    refusal = f"A number from {low:,.0f} to {high:,.0f} {column.unit} without its unit{either}."
    return Entry(words=beyond, low=low, high=high, prompt=_prompt(column), refusal=refusal)
