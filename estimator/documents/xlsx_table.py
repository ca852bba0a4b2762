"""Rows of a table as XML: its head, its values and live formulas, its total."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import chain, repeat
from typing import Final

from estimator.calc.formula import Expression
from estimator.documents.description import Cell, Column, Formula, Kind, Verdict, Words
from estimator.documents.look import ENTRY, RIGHT_ALIGNED, number_format
from estimator.documents.shown import shown
from estimator.documents.xlsx_cells import ROW, formula_cell, letters, number_text, word_formula_cell
from estimator.documents.xlsx_formula import Addresses, total_formula
from estimator.documents.xlsx_plan import SheetPlan, TablePlace
from estimator.documents.xlsx_style import CAPTION, DATA, HEAD, TOTAL, Style
from estimator.documents.xlsx_values import Maker, Pieces, Values, checked_number
from estimator.documents.xlsx_verdict import verdict_formula, verdict_words
from estimator.documents.xlsx_widths import PADDING, WIDEST_LETTER, height_pt, lines_needed, longest, text_width

_SPACER_PT: Final = 5.0


class TableRows:
    """Writes the rows of tables with the workbook's addresses at hand."""

    def __init__(self, values: Values, book: Addresses) -> None:
        self._values = values
        self._book = book

    def rows(self, plan: SheetPlan, place: TablePlace) -> Iterator[str]:
        """Yield the table's rows: its head, what it holds, its total."""
        columns = place.table.columns
        heads = "".join(
            self._values.text(f"{letters(number)}{place.head_row}", _head_style(column), head)
            for number, (column, head) in enumerate(zip(columns, place.heads, strict=True), start=1)
        )
        yield f'<row r="{place.head_row}" ht="{place.head_height}" customHeight="1">{heads}</row>'
        if not place.table.rows:
            # Not wrapped, so that it runs on over the empty cells beside it.
            style = replace(CAPTION, wrap=False)
            yield f'<row r="{place.first}">{self._values.text(f"A{place.first}", style, place.table.empty)}</row>'
        yield from self._table_rows(plan, place)
        if place.total:
            # Apart from the rows, so that no filter takes the total for one of them.
            yield f'<row r="{place.last + 1}" ht="{_SPACER_PT}" customHeight="1"/>'
            yield self._total_row(place)

    def _table_rows(self, plan: SheetPlan, place: TablePlace) -> Iterator[str]:
        if not place.table.rows:
            return
        cells = _with_verdicts(plan.cells[place.table.name], place)
        rows = [str(number) for number in range(place.first, place.last + 1)]
        wraps = _wrapped(plan, place, cells)
        made = [
            self._column(place, number, column, own, rows, wrap=number in wraps)
            for number, (column, own) in enumerate(zip(place.table.columns, cells, strict=True), start=1)
        ]
        heights = _heights(wraps, cells, len(rows))
        opened = [f'<row r="{row}"{height}>' for row, height in zip(rows, heights, strict=True)]
        yield "".join(chain.from_iterable(zip(opened, *chain(*made), repeat("</row>", len(rows)), strict=True)))

    def _column(
        self,
        place: TablePlace,
        number: int,
        column: Column,
        cells: Sequence[Cell],
        rows: Sequence[str],
        *,
        wrap: bool,
    ) -> Pieces:
        """Return the cells of a whole column: plain values all at once, live ones one by one."""
        style = replace(_data_style(column.kind, column.decimals), wrap=wrap)
        letter = letters(number)
        make = self._special(place, letter, style, column, cells)
        if make is None:
            return self._values.column(letter, _tinted(style, column), cells, rows)
        return ([make(cell, row) for cell, row in zip(cells, rows, strict=True)],)

    def _special(
        self, place: TablePlace, letter: str, style: Style, column: Column, cells: Sequence[Cell]
    ) -> Maker | None:
        """Return a maker for a column with live cells or with cells that may be changed, None for plain values."""
        tinted = _tinted(style, column)
        if column.key == place.table.verdict_column and place.table.judged:
            return self._verdict_maker(place, letter, tinted)
        kinds = set(map(type, cells))
        standing = column.entry is not None and column.entry.standing
        if not (standing or column.words or column.formula or Formula in kinds or Verdict in kinds):
            return None
        plain = self._values.maker(letter, tinted)
        if standing:
            plain = _standing(plain, self._values.maker(letter, style))
        if column.words is not None:
            return self._words_maker(place, letter, tinted, column.words, plain)
        if column.formula is not None:
            return self._live_maker(place, letter, tinted, column, column.formula, plain)
        if Formula in kinds:
            return self._formula_cells(place, letter, tinted, column, plain)
        return self._verdict_cells(place, letter, tinted, plain) if _any_live(cells) else plain if standing else None

    def _verdict_maker(self, place: TablePlace, letter: str, style: Style) -> Maker:
        """Return a maker of verdicts: the first row holds the long formula, the others share it."""
        formula, look = verdict_formula(place), self._values.look(style)
        first, shared = str(place.first), f' t="shared" si="{place.first}"'
        area = f' ref="{letter}{place.first}:{letter}{place.last}"'

        def make(cell: Cell, row: str) -> str:
            if row == first:
                own = formula.replace(ROW, row)
                return word_formula_cell(letter + row, look, own, shown(cell), shared + area)
            return word_formula_cell(letter + row, look, "", shown(cell), shared)

        return make

    def _words_maker(self, place: TablePlace, letter: str, style: Style, words: Words, plain: Maker) -> Maker:
        """Return a maker of words that judge; colors follow them by a rule of the sheet."""
        pieces, look = self._book.worded(words, sheet=place.sheet, home=place).split(ROW), self._values.look(style)
        ends: dict[str, str] = {}  # what follows the formula, by word

        def make(cell: Cell, row: str) -> str:
            if not isinstance(cell, Verdict):
                return plain(cell, row)
            if cell.word not in ends:
                made = word_formula_cell(letter + row, look, ROW, cell.word)
                ends[cell.word] = made[made.index(ROW) + 1 :]
            return f'<c r="{letter}{row}" s="{look}" t="str"><f>{row.join(pieces)}{ends[cell.word]}'

        return make

    def _verdict_cells(self, place: TablePlace, letter: str, style: Style, plain: Maker) -> Maker:
        """Return a maker for a column in which single verdicts may be live."""
        look = self._values.look(style)

        def make(cell: Cell, row: str) -> str:
            if not isinstance(cell, Verdict) or cell.live is None:
                return plain(cell, row)
            formula = self._book.worded(cell.live, sheet=place.sheet, home=place).replace(ROW, row)
            return word_formula_cell(letter + row, look, formula, cell.word)

        return make

    def _live_maker(
        self,
        place: TablePlace,
        letter: str,
        style: Style,
        column: Column,
        expression: Expression,
        plain: Maker,
    ) -> Maker:
        rendered = self._book.rendered(
            expression,
            column.inputs,
            sheet=place.sheet,
            home=place,
            as_shown=column.as_shown,
            si=column.si,
        )
        pieces, look = rendered.split(ROW), self._values.look(style)
        own = self._formula_cells(place, letter, style, column, plain)
        start, opened, finite = f'<c r="{letter}', f'" s="{look}"><f>', math.isfinite

        def make(cell: Cell, row: str) -> str:
            if type(cell) is float and finite(cell):  # by far the most; what formula_cell makes of it
                return f"{start}{row}{opened}{row.join(pieces)}</f><v>{cell!r}</v></c>"
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool):
                at = letter + row
                return formula_cell(at, look, row.join(pieces), checked_number(at, cell))
            return own(cell, row)

        return make

    def _formula_cells(self, place: TablePlace, letter: str, style: Style, column: Column, plain: Maker) -> Maker:
        """Return a maker for a column in which single cells may be live."""
        look = self._values.look(style)
        known: dict[tuple[Expression, bool], list[str]] = {}  # formulas whose inputs all stand in their row or in facts

        def rendered(cell: Formula) -> list[str]:
            own = known.get((cell.expression, cell.as_shown)) if not cell.inputs else None
            if own is None:
                own = self._book.rendered(
                    cell.expression,
                    cell.inputs,
                    sheet=place.sheet,
                    home=place,
                    as_shown=cell.as_shown,
                    si=column.si,
                ).split(ROW)
                if not cell.inputs:
                    known[cell.expression, cell.as_shown] = own
            return own

        def make(cell: Cell, row: str) -> str:
            if not isinstance(cell, Formula):
                return plain(cell, row)
            at = letter + row
            return formula_cell(at, look, row.join(rendered(cell)), checked_number(at, cell.value))

        return make

    def _total_row(self, place: TablePlace) -> str:
        cells = []
        for number, column in enumerate(place.table.columns, start=1):
            at = f"{letters(number)}{place.total}"
            style = _total_style(column, first=number == 1)
            if column.total:
                value = _total(place, number)
                cells.append(formula_cell(at, self._values.look(style), total_formula(place, number), value))
            else:
                cells.append(self._values.text(at, TOTAL, "Total" if number == 1 else ""))
        return f'<row r="{place.total}">{"".join(cells)}</row>'


def _heights(wraps: Mapping[int, float], cells: Sequence[Sequence[Cell]], count: int) -> list[str]:
    """Return the heights of the rows as their elements say them; nothing where one line is enough."""
    if not wraps:
        return [""] * count
    lines = map(max, zip(*([1] * count, *(_lines(cells[at - 1], room) for at, room in wraps.items())), strict=True))
    return [f' ht="{height_pt(most)}"' if most > 1 else "" for most in lines]


def _lines(cells: Sequence[Cell], room: float) -> list[int]:
    """Return how many lines the text of each cell takes; a short one takes one, whatever its letters."""
    texts = [cell if isinstance(cell, str) else shown(cell) for cell in cells]
    lines = {
        text: 1 if len(text) * WIDEST_LETTER <= room and "\n" not in text else lines_needed(text, room)
        for text in set(texts)
    }
    return [lines[text] for text in texts]


def _tinted(style: Style, column: Column) -> Style:
    return replace(style, fill=ENTRY) if column.entry is not None else style


def _any_live(cells: Sequence[Cell]) -> bool:
    return any(isinstance(cell, Verdict) and cell.live is not None for cell in cells)


def _standing(held: Maker, blank: Maker) -> Maker:
    """Return a maker that tints what a cell holds, and leaves blank cells plain."""

    def make(cell: Cell, row: str) -> str:
        return blank(cell, row) if cell is None else held(cell, row)

    return make


def _with_verdicts(cells: Sequence[Sequence[Cell]], place: TablePlace) -> Sequence[Sequence[Cell]]:
    """Return the table's cells column by column, the verdict column filled with the word its formula gives."""
    if not place.table.judged or not place.table.verdict_column:
        return cells
    at = place.column(place.table.verdict_column) - 1
    return [*cells[:at], verdict_words(place), *cells[at + 1 :]]


def _wrapped(plan: SheetPlan, place: TablePlace, cells: Sequence[Sequence[Cell]]) -> dict[int, float]:
    """Return the columns whose text is longer than they are wide, with the room they have [digits]."""
    wraps = {}
    for number, column in enumerate(place.table.columns, start=1):
        if column.kind != "text":
            continue
        own = cells[number - 1]
        texts = {cell for cell in (own if Formula in set(map(type, own)) else set(own)) if isinstance(cell, str)}
        room = plan.widths[number - 1] - PADDING
        if any("\n" in text or text_width(text) > room + PADDING / 2 for text in longest(texts)):
            wraps[number] = room
    return wraps


def _total(place: TablePlace, number: int) -> str:
    cells = [row[number - 1] for row in place.table.rows]
    if place.table.columns[number - 1].total == "count":
        return str(sum(shown(cell) != "" for cell in cells))
    values = [cell.value if isinstance(cell, Formula) else cell for cell in cells]
    numbers = [value for value in values if isinstance(value, int | float | Decimal)]
    return number_text(math.fsum(numbers))


def _data_style(kind: Kind, decimals: int) -> Style:
    if kind in RIGHT_ALIGNED:
        return replace(DATA, align="right", number_format=number_format(kind, decimals))
    return replace(DATA, number_format=number_format(kind, decimals))


def _head_style(column: Column) -> Style:
    # The filter button covers the right end of the cell's last line.
    return replace(HEAD, align="right", indent=2) if column.kind in RIGHT_ALIGNED else HEAD


def _total_style(column: Column, *, first: bool) -> Style:
    if column.total == "sum":
        return replace(TOTAL, align="right", number_format=number_format(column.kind, column.decimals))
    counted = number_format("whole", 0)
    if column.kind in RIGHT_ALIGNED:
        return replace(TOTAL, align="right", number_format=counted)
    return replace(TOTAL, number_format=f'"Total "{counted}' if first else counted)
