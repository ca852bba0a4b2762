"""Lays out a workbook before a cell is written: formulas point from sheet to sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from estimator.documents.description import (
    Block,
    Break,
    Cell,
    Document,
    Fact,
    Facts,
    Paragraph,
    Picture,
    Section,
    SignOff,
    Table,
)
from estimator.documents.look import COMPUTED_NOTE, LEAD_TONES, SHEET_PT, head_text
from estimator.documents.shown import long_date, shown
from estimator.documents.xlsx_pictures import columns_behind, rows_behind
from estimator.documents.xlsx_plan import (
    FactPlace,
    Line,
    PicturePlace,
    SheetPlan,
    SignPlace,
    TablePlace,
    cell_name,
    distinct_heads,
    sheet_names,
    unlike,
)
from estimator.documents.xlsx_style import BODY, CAPTION, HEADING, LEAD, LINE, LINK, TITLE, Style, toned
from estimator.documents.xlsx_widths import (
    BOLD,
    EXTRA_COLUMN,
    PADDING,
    PLAIN_GRID,
    READING_WIDTH,
    column_width,
    head_room,
    height_pt,
    lines_needed,
    text_width,
)

_FACT_NEEDS: Final = (14.0, 14.0, 9.0, 36.0)  # label, value, unit, note [digits]
_LABEL_WIDEST: Final = 34.0
_LISTED: Final = ("bullet", "number")  # paragraphs that stand close together
_TABLE_NAME_MOST: Final = 255
_LINKS_IN_ONE: Final = 8  # more links than that stand in several columns
_LINK_COLUMNS: Final = 3
_LINK_ROOM: Final = 26.0  # for the longest name of a sheet [digits]


def planned(document: Document) -> list[SheetPlan]:
    """Return the plan of every sheet of the document, in order.

    Raises: ValueError where two tables or two named facts have one name, or a row does not fit.
    """
    names = sheet_names(document.sections)
    placer = _Placer()
    for index, (section, name) in enumerate(zip(document.sections, names, strict=True)):
        placer.open(_grid(name, section, document.cover if index == 0 else ()))
        if index == 0:
            _first_head(placer, document)
        else:
            placer.line(section.title, TITLE, spread=False)
            placer.line(_identity(document, document.title), LINE, spread=False)
            placer.skip()
        for block in section.blocks:
            placer.block(block)
        if index == 0 and document.contents and len(names) > 1:
            _sheet_list(placer, names)
        placer.close()
    return placer.plans


def _identity(document: Document, first: str) -> str:
    parts = [
        first,
        document.job,
        document.number,
        f"Revision {document.revision}" if document.revision else "",
        long_date(document.shown_date) if document.shown_date else "",
    ]
    return "  ·  ".join(dict.fromkeys(part for part in parts if part))


def _first_head(placer: _Placer, document: Document) -> None:
    """Lay out the top of the first sheet: what this is, how complete, and for whom."""
    placer.line(document.title, TITLE, spread=False)
    placer.line(_identity(document, document.subtitle), LINE, spread=False)
    if document.state:
        placer.line(document.state, toned(LEAD, document.state_tone))
    if document.basis:
        placer.line(document.basis, CAPTION)
    if document.cover:
        placer.skip()
        placer.facts(document.cover)
    if document.sections[0].title.casefold() != document.title.casefold():
        placer.skip()
        placer.line(document.sections[0].title, HEADING, spread=False)


def _sheet_list(placer: _Placer, names: Sequence[str]) -> None:
    """Lay out links to the other sheets, under what the first sheet has to say."""
    placer.skip()
    placer.line("Sheets", HEADING, spread=False)
    placer.links(names[1:])


def _link_columns(plan: SheetPlan) -> list[int]:
    """Return the columns in which links begin, so far apart that none runs into the next."""
    starts, used = [plan.text_column], 0.0
    for number in range(plan.text_column, len(plan.widths)):
        used += plan.widths[number - 1]
        if used >= _LINK_ROOM and sum(plan.widths[number:]) >= _LINK_ROOM and len(starts) < _LINK_COLUMNS:
            starts.append(number + 1)
            used = 0.0
    return starts


def _grid(name: str, section: Section, cover: Sequence[Fact]) -> SheetPlan:
    """Return an empty plan with its column widths, and how labeled values spread over them."""
    tables = [block for block in section.blocks if isinstance(block, Table)]
    widths = [] if tables else [*PLAIN_GRID]
    cells: dict[str, Sequence[Sequence[Cell]]] = {}
    for table in tables:
        _check_rows(table)
        cells[table.name] = list(zip(*table.rows, strict=True)) or [()] * len(table.columns)
        for index, (head, own) in enumerate(zip(_heads(table), cells[table.name], strict=True)):
            widths.extend([0.0] * (index + 1 - len(widths)))
            widths[index] = max(widths[index], column_width(table, index, head, own))
    facts = [*cover, *(fact for block in section.blocks if isinstance(block, Facts) for fact in block.rows)]
    label = min(max([text_width(fact.label) for fact in facts], default=0.0) + 2, _LABEL_WIDEST)
    needs = (max(label, _FACT_NEEDS[0]), *_FACT_NEEDS[1:])
    spans = _spans(widths, needs) if facts or not tables else (1, 1, 1, 1)
    plan = SheetPlan(name, section, widths, sum(spans) if facts else 1, spans, cells)
    while plan.width(plan.text_column, plan.spread) < READING_WIDTH:
        plan.spread += 1
        widths.extend([EXTRA_COLUMN] * (plan.text_column - 1 + plan.spread - len(widths)))
    drawn = [columns_behind(block.drawing.width_mm) for block in section.blocks if isinstance(block, Picture)]
    while drawn and sum(widths[plan.text_column - 1 :]) < max(drawn):
        widths.append(EXTRA_COLUMN)
    return plan


def _spans(widths: list[float], needs: Sequence[float]) -> tuple[int, int, int, int]:
    """Return how many columns each part of a labeled value takes; adds columns where too few."""
    counts = []
    at = 0
    for need in needs:
        start = at
        while at == start or sum(widths[start:at]) < need:
            widths.extend([EXTRA_COLUMN] * (at + 1 - len(widths)))
            at += 1
        counts.append(at - start)
    return counts[0], counts[1], counts[2], counts[3]


def _heads(table: Table) -> tuple[str, ...]:
    return distinct_heads(head_text(column) for column in table.columns)


def _check_rows(table: Table) -> None:
    for number, row in enumerate(table.rows, start=1):
        if len(row) != len(table.columns):
            raise ValueError(f"table {table.name!r}, row {number}: {len(row)} cells for {len(table.columns)} columns")


class _Placer:
    """Gives each block its rows, from the top of a sheet down, sheet after sheet."""

    def __init__(self) -> None:
        self.plans: list[SheetPlan] = []
        self._tables: dict[str, str] = {}
        self._names: dict[str, str] = {}
        self._next = 1
        self._number = 0
        self._listed = False

    def open(self, plan: SheetPlan) -> None:
        """Begin a sheet at its first row."""
        self.plans.append(plan)
        self._next = 1
        self._listed = False

    @property
    def _plan(self) -> SheetPlan:
        return self.plans[-1]

    def close(self) -> None:
        """Note the last row that the sheet uses."""
        plan = self._plan
        used = [line.row for line in plan.lines] + [fact.row for fact in plan.facts]
        used += [table.total or table.last for table in plan.tables]
        used += [sign.row + len(sign.block.roles) for sign in plan.signs]
        used += [one.row + rows_behind(one.picture.drawing.height_mm) - 1 for one in plan.pictures]
        plan.last_row = max(used, default=1)

    def skip(self) -> None:
        """Leave a row free."""
        self._next += 1

    def line(self, text: str, style: Style, *, spread: bool = True, link: str = "") -> None:
        """Place a line of text, as high as it needs where it wraps."""
        plan = self._plan
        room = (
            (plan.width(plan.text_column, plan.spread) - PADDING) * SHEET_PT / style.size / (BOLD if style.bold else 1)
        )
        height = height_pt(lines_needed(text, room) if spread else 1, style.size)
        plan.lines.append(Line(self._next, plan.text_column, text, style, height, spread, link))
        self._next += 1

    def links(self, names: Sequence[str]) -> None:
        """Place links to sheets, down one column and on in the next where they are many."""
        plan = self._plan
        starts = _link_columns(plan) if len(names) > _LINKS_IN_ONE else [plan.text_column]
        rows = -(-len(names) // len(starts))
        for number, name in enumerate(names):
            row, column = self._next + number % rows, starts[number // rows]
            plan.lines.append(Line(row, column, name, LINK, height_pt(1), spread=False, link=name))
        self._next += rows

    def block(self, block: Block) -> None:
        """Place any block, with the room it wants around it."""
        if self._listed and not (isinstance(block, Paragraph) and block.lead in _LISTED):
            self.skip()
        self._listed = isinstance(block, Paragraph) and block.lead in _LISTED
        if isinstance(block, Paragraph):
            self.paragraph(block)
        elif isinstance(block, Facts):
            if block.title:
                self.line(block.title, HEADING, spread=False)
            self.facts(block.rows)
            self.skip()
        elif isinstance(block, Table):
            self.table(block)
        elif isinstance(block, Picture):
            self.picture(block)
        elif isinstance(block, SignOff):
            self._plan.signs.append(SignPlace(block, self._next))
            self._next += len(block.roles) + 2
        else:
            assert block is Break.PAGE
            self._plan.breaks.append(self._next - 1)

    def picture(self, picture: Picture) -> None:
        """Place a picture between its title and its caption."""
        plan = self._plan
        self.line(picture.title, HEADING, spread=False)
        plan.pictures.append(PicturePlace(picture, self._next, plan.text_column))
        self._next += rows_behind(picture.drawing.height_mm)
        if picture.caption:
            self.line(picture.caption, CAPTION)
        self.skip()

    def paragraph(self, block: Paragraph) -> None:
        """Place a paragraph in its voice; numbered ones count on."""
        self._number = self._number + 1 if block.lead == "number" else 0
        mark = {"bullet": "•  ", "number": f"{self._number}.  "}.get(block.lead, "")
        tone = LEAD_TONES.get(block.lead)
        style = LEAD if block.lead == "lead" else toned(BODY, tone) if tone else BODY
        self.line(mark + block.text, style)
        if not mark:
            self.skip()

    def facts(self, facts: Sequence[Fact]) -> None:
        """Place labeled values, one a row. Raises: ValueError where two have one name."""
        plan = self._plan
        label, value, unit, note = plan.spans
        for fact in facts:
            texts = [
                (fact.label, plan.width(1, label)),
                (fact.note, plan.width(1 + label + value + unit, note)),
            ]
            if fact_is_text(fact.value):
                count = value + unit + (0 if fact.note else note)
                texts.append((shown(fact.value, fact.kind, fact.decimals), plan.width(1 + label, count)))
            lines = max(lines_needed(text, width - 1) for text, width in texts)
            name = self._cell_name(fact) if fact.name else ""
            plan.facts.append(FactPlace(fact, plan.name, self._next, 1 + label, name, height_pt(lines)))
            self._next += 1

    def _cell_name(self, fact: Fact) -> str:
        name = cell_name(fact.name)
        if name.casefold() in self._names:
            raise ValueError(f"two named cells {name!r}: {self._names[name.casefold()]!r} and {fact.label!r}")
        self._names[name.casefold()] = fact.label
        return name

    def table(self, table: Table) -> None:
        """Place a table under its title. Raises: ValueError where two have one name."""
        if table.name in self._tables:
            raise ValueError(f"two tables named {table.name!r}")
        if table.title and table.title.casefold() != self._plan.section.title.casefold():
            self.line(table.title, HEADING, spread=False)
        if table.caption:
            self.line(table.caption, CAPTION)
        if any(column.computed for column in table.columns):
            self.line(COMPUTED_NOTE, CAPTION)
        name = unlike(f"Table_{cell_name(table.name)}", self._tables.values(), _TABLE_NAME_MOST)
        self._tables[table.name] = name = name.replace(" ", "_").replace("(", "").replace(")", "")
        heads = _heads(table)
        lines = max(lines_needed(head, head_room(self._plan.widths[index])) for index, head in enumerate(heads))
        first = self._next + 1
        last = first + max(len(table.rows), 1) - 1
        total = last + 2 if table.totals and table.rows else 0
        self._plan.tables.append(
            TablePlace(table, name, self._plan.name, heads, self._next, height_pt(lines) + 2, first, last, total)
        )
        self._next = (total or last) + 2


def fact_is_text(value: Cell) -> bool:
    """Return whether a labeled value reads as words, so that it runs from the left."""
    return isinstance(value, str | bool) or value is None or hasattr(value, "word") or hasattr(value, "isoformat")
