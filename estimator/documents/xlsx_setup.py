"""What a sheet has besides its cells: widths, tables with filters, panes, print set-up, legal entries."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Literal

from estimator.documents.description import Cell, Column, Document, Entry, Kind, Verdict
from estimator.documents.look import FACE, SHEET_SMALL_PT, TONES
from estimator.documents.xlsx_cells import letters, quoted_sheet
from estimator.documents.xlsx_layout import fact_is_text
from estimator.documents.xlsx_plan import SheetPlan, TablePlace
from estimator.documents.xlsx_verdict import TONES as VERDICT_TONES

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

LISTS: Final = "Lists"
"""The hidden sheet that holds the words that entry cells accept."""

_FREEZE_DEEPEST: Final = 14  # a head further down would leave no room to scroll in
_FREEZE_COLUMN_FROM: Final = 8  # a narrower table is seen whole
_PROMPT_MOST: Final = 255
_PROMPT_TITLE_MOST: Final = 32
_RUNNING_HEAD_MOST: Final = 70
_PAPERS: Final = {"letter": 1, "a4": 9}
_MARGIN_IN: Final = 0.5
_HEAD_MARGIN_IN: Final = 0.75
_TAIL_MOST: Final = 15  # rows that may follow the table whose head is repeated


class WordLists:
    """The columns of legal words on the hidden sheet, each list once."""

    def __init__(self) -> None:
        self.lists: dict[tuple[str, ...], int] = {}

    def reference(self, words: Sequence[str]) -> str:
        """Return the range that holds the words, added if new."""
        number = self.lists.setdefault(tuple(words), len(self.lists) + 1)
        name = letters(number)
        return f"{quoted_sheet(LISTS)}${name}$1:${name}${len(words)}"


def set_up(sheet: Worksheet, plan: SheetPlan, document: Document, words: WordLists) -> None:
    """Give an empty sheet everything but its rows."""
    for number, width in enumerate(plan.widths, start=1):
        sheet.column_dimensions[letters(number)].width = width
    sheet.sheet_view.showGridLines = False
    _merge(sheet, plan)
    for place in plan.tables:
        if place.table.rows:
            _list(sheet, place)
        _entries(sheet, place, words)
        _verdicts(sheet, place)
    _fact_cells(sheet, plan, words)
    _freeze(sheet, plan)
    _print(sheet, plan, document)


def _merge(sheet: Worksheet, plan: SheetPlan) -> None:
    """Merge running text over the reading width, and labeled values over their columns."""
    ranges = [(line.row, line.column, plan.spread) for line in plan.lines if line.spread]
    label, value, unit, note = plan.spans
    for place in plan.facts:
        over = [(1, label), (place.column, value)]
        if fact_is_text(place.fact.value):
            over[1] = (place.column, value + unit + (0 if place.fact.note else note))
        else:
            over.append((1 + label + value, unit))
        if place.fact.note or not fact_is_text(place.fact.value):
            over.append((1 + label + value + unit, note))
        ranges += [(place.row, first, count) for first, count in over]
    for row, first, count in ranges:
        if count > 1:
            sheet.merged_cells.add(f"{letters(first)}{row}:{letters(first + count - 1)}{row}")


def _list(sheet: Worksheet, place: TablePlace) -> None:
    """Make the rows a table of the spreadsheet, with a filter on each head."""
    from openpyxl.worksheet.filters import AutoFilter
    from openpyxl.worksheet.table import Table, TableColumn

    area = f"A{place.head_row}:{letters(len(place.heads))}{place.last}"
    table = Table(displayName=place.name, name=place.name, ref=area)
    table.tableColumns = [TableColumn(id=number, name=head) for number, head in enumerate(place.heads, start=1)]
    table.autoFilter = AutoFilter(ref=area)
    sheet.add_table(table)


def _entries(sheet: Worksheet, place: TablePlace, words: WordLists) -> None:
    for number, column in enumerate(place.table.columns, start=1):
        if column.entry is None or not place.table.rows:
            continue
        legal = [*column.entry.words]
        if any(column.key == limits.reading and (limits.low or limits.high) for limits in place.table.judged):
            legal += [word for word in place.table.beyond if word not in legal]
        rule = _rule(f"{letters(number)}{place.first}", column.kind, column.entry, legal, words)
        _accept(sheet, rule, column.head, column.entry, place.block(number).replace("$", ""))


def _fact_cells(sheet: Worksheet, plan: SheetPlan, words: WordLists) -> None:
    """Give labeled values that may be changed their range, and live words their color."""
    for place in plan.facts:
        fact, at = place.fact, f"{letters(place.column)}{place.row}"
        if fact.entry is not None:
            rule = _rule(at, fact.kind, fact.entry, fact.entry.words, words)
            _accept(sheet, rule, fact.label, fact.entry, at)
        for word in fact.words.every if fact.words is not None else ():
            _color(sheet, at, word.word, word.tone)


def _accept(sheet: Worksheet, rule: DataValidation, head: str, entry: Entry, cells: str) -> None:
    """Put a rule on cells, with what is said of it. Raises: ValueError where that is longer than a prompt holds."""
    for text in (entry.prompt, entry.refusal):
        if len(text) > _PROMPT_MOST:
            raise ValueError(f"{head!r}: {len(text)} letters, a prompt holds {_PROMPT_MOST}: {text[:60]}")
    rule.promptTitle = rule.errorTitle = head[:_PROMPT_TITLE_MOST]
    rule.prompt = entry.prompt or None
    rule.error = entry.refusal or None
    rule.showInputMessage = bool(entry.prompt)
    rule.showErrorMessage = True
    rule.allow_blank = True
    rule.add(cells)
    sheet.add_data_validation(rule)


def _rule(first: str, of: Kind, entry: Entry, legal: Sequence[str], words: WordLists) -> DataValidation:
    """Return what cells accept: words, a number in a range, a date, or words beside a number."""
    from openpyxl.worksheet.datavalidation import DataValidation

    if of in ("text", "verdict"):
        return DataValidation(type="list", formula1=words.reference(legal)) if legal else DataValidation()
    if of == "date":
        return DataValidation(type="date", operator="greaterThan", formula1="0")
    kind: Literal["whole", "decimal"] = "whole" if of == "whole" else "decimal"
    if legal:
        return DataValidation(type="custom", formula1=_number_or_word(first, entry, words.reference(legal)))
    if entry.low is not None and entry.high is not None:
        return DataValidation(type=kind, operator="between", formula1=f"{entry.low:g}", formula2=f"{entry.high:g}")
    if entry.low is not None:
        return DataValidation(type=kind, operator="greaterThanOrEqual", formula1=f"{entry.low:g}")
    if entry.high is not None:
        return DataValidation(type=kind, operator="lessThanOrEqual", formula1=f"{entry.high:g}")
    return DataValidation(type="custom", formula1=f"ISNUMBER({first})")


def _number_or_word(first: str, entry: Entry, words: str) -> str:
    low = "" if entry.low is None else f",{first}>={entry.low:g}"
    high = "" if entry.high is None else f",{first}<={entry.high:g}"
    number = f"AND(ISNUMBER({first}){low}{high})"
    return f"OR({number},SUMPRODUCT(--({words}={first}))>0)"


def _verdicts(sheet: Worksheet, place: TablePlace) -> None:
    """Color the words of verdict columns, so that a changed word changes its color."""
    for number, column in enumerate(place.table.columns, start=1):
        for word, tone in _toned_words(place, column, number).items():
            _color(sheet, place.block(number).replace("$", ""), word, tone)


def _color(sheet: Worksheet, cells: str, word: str, tone: str) -> None:
    """Give cells that hold a word the colors of its tone."""
    from openpyxl.formatting.rule import Rule
    from openpyxl.styles import Font, PatternFill
    from openpyxl.styles.differential import DifferentialStyle

    colors = TONES[tone]
    look = DifferentialStyle(font=Font(color=colors.ink, bold=tone == "bad"), fill=PatternFill(bgColor=colors.fill))
    quoted = word.replace('"', '""')
    rule = Rule(type="cellIs", operator="equal", dxf=look, formula=[f'"{quoted}"'])
    sheet.conditional_formatting.add(cells, rule)


def _toned_words(place: TablePlace, column: Column, number: int) -> dict[str, str]:
    if not place.table.rows:
        return {}
    if place.table.judged and column.key == place.table.verdict_column:
        return {**VERDICT_TONES}
    cells: list[Cell] = [row[number - 1] for row in place.table.rows] if column.kind == "verdict" else []
    lives = {id(cell.live): cell.live for cell in cells if isinstance(cell, Verdict) and cell.live is not None}
    for words in (*lives.values(), *([column.words] if column.words else [])):
        cells += words.every
    return {cell.word: cell.tone for cell in cells if isinstance(cell, Verdict) and cell.word}


def _freeze(sheet: Worksheet, plan: SheetPlan) -> None:
    """Keep the only table's head, and the key of a wide one, in sight."""
    if len(plan.tables) != 1 or plan.tables[0].head_row > _FREEZE_DEEPEST:
        return
    table = plan.tables[0].table
    wide = len(table.columns) >= _FREEZE_COLUMN_FROM
    column = 2 if wide and table.key and table.columns[0].key == table.key else 1
    sheet.freeze_panes = f"{letters(column)}{plan.tables[0].first}"


def _print(sheet: Worksheet, plan: SheetPlan, document: Document) -> None:
    """Set up printing: as wide as asked, the head on each page, page numbers, job and revision."""
    from openpyxl.worksheet.pagebreak import Break
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.page_setup.orientation = "landscape" if plan.section.landscape else "portrait"
    sheet.page_setup.paperSize = _PAPERS[document.paper]
    sheet.page_setup.fitToWidth = plan.section.pages_wide
    sheet.page_setup.fitToHeight = plan.section.pages_high
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    margins = sheet.page_margins
    margins.left = margins.right = _MARGIN_IN
    margins.top = margins.bottom = _HEAD_MARGIN_IN
    margins.header = margins.footer = _MARGIN_IN * 0.7
    sheet.print_area = f"A1:{letters(plan.section.printed or len(plan.widths))}{plan.last_row}"
    head = _repeated_head(plan)
    if head:
        sheet.print_title_rows = f"{head}:{head}"
    if plan.section.pages_wide > 1:
        sheet.print_title_cols = f"A:{letters(plan.section.repeated)}"
    for row in plan.breaks:
        sheet.row_breaks.append(Break(id=row))
    _running_heads(sheet, plan, document)


def _repeated_head(plan: SheetPlan) -> int:
    """Return the row of the head that later pages repeat: that of the longest table, 0 where none should.

    A spreadsheet repeats it on every page behind the table's first; under a lot of other text it
    would be out of place.
    """
    if not plan.tables or any(line.link for line in plan.lines):
        return 0
    longest = max(plan.tables, key=lambda place: place.last - place.first)
    return longest.head_row if plan.last_row - (longest.total or longest.last) <= _TAIL_MOST else 0


def _running_heads(sheet: Worksheet, plan: SheetPlan, document: Document) -> None:
    job = " · ".join(part for part in (document.job, document.number) if part)
    content = document.content and f"Content {document.content}"
    head, foot = sheet.oddHeader, sheet.oddFooter
    assert head is not None
    assert foot is not None
    texts = (
        (head.left, _running(job)),
        (head.center, _running(document.marking)),
        (head.right, _running(f"Revision {document.revision}" if document.revision else "")),
        (foot.left, _running(" · ".join(part for part in (document.title, content) if part))),
        (foot.center, _running(plan.section.title)),
        (foot.right, "Page &P of &N"),
    )
    for part, text in texts:
        part.text, part.font, part.size = text or None, FACE, SHEET_SMALL_PT


def _running(text: str) -> str:
    """Return a text cut to the room of a running head; an ampersand alone would start a code."""
    cut = text if len(text) <= _RUNNING_HEAD_MOST else f"{text[: _RUNNING_HEAD_MOST - 1]}…"
    return cut.replace("&", "&&")
