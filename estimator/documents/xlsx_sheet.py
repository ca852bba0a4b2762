"""Rows of a sheet as XML: running text, labelled values, tables with live formulas, lines to sign."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Final

from estimator.calc.formula import Expression
from estimator.documents.description import Cell, Column, Fact, Formula, Kind, Verdict
from estimator.documents.look import ENTRY, RIGHT_ALIGNED, number_format
from estimator.documents.shown import shown
from estimator.documents.xlsx_cells import (
    ROW,
    Texts,
    blank_cell,
    day_number,
    formula_cell,
    keeps_digits,
    letters,
    number_cell,
    number_text,
    text_cell,
    word_formula_cell,
)
from estimator.documents.xlsx_formula import Addresses, total_formula
from estimator.documents.xlsx_layout import fact_is_text
from estimator.documents.xlsx_plan import FactPlace, Line, SheetPlan, SignPlace, TablePlace
from estimator.documents.xlsx_style import (
    CAPTION,
    DATA,
    HEAD,
    LABEL,
    SIGN,
    SIGN_HEAD,
    TOTAL,
    VALUE,
    Style,
    Styles,
    toned,
)
from estimator.documents.xlsx_verdict import verdict_formula, verdict_words
from estimator.documents.xlsx_widths import PADDING, height_pt, lines_needed, text_width

Maker = Callable[[Cell, str], str]
"""Makes the XML of one cell from its value and the number of its row."""

_MAY_BE_TYPED_AS_FORMULA: Final = frozenset("=+-@")
_SPACER_PT: Final = 5.0
_SIGN_PT: Final = 30.0
_SIGN_HEADS: Final = ("Role", "Name", "Date", "Signature")


class SheetRows:
    """Writes the rows of one sheet after another with one list of texts and of looks."""

    def __init__(self, texts: Texts, styles: Styles, book: Addresses) -> None:
        self._texts = texts
        self._styles = styles
        self._book = book

    def rows(self, plan: SheetPlan) -> str:
        """Return the sheet's rows, top to bottom.

        Raises: ValueError with sheet and cell for NaN, infinities, and text that is too long.
        """
        try:
            pieces: dict[int, str | Iterable[str]] = {}
            pieces.update((line.row, self._line(plan, line)) for line in plan.lines)
            pieces.update((place.row, self._fact(plan, place)) for place in plan.facts)
            pieces.update((row, f'<row r="{row}" ht="{_SPACER_PT}" customHeight="1"/>') for row in plan.spacers)
            for sign in plan.signs:
                pieces[sign.row] = self._signs(plan, sign)
            for place in plan.tables:
                pieces[place.head_row] = self._table(plan, place)
            return "".join("".join(pieces[row]) for row in sorted(pieces))
        except ValueError as wrong:
            raise ValueError(f"sheet {plan.name!r}: {wrong}") from wrong

    def _line(self, plan: SheetPlan, line: Line) -> str:
        made = self._text(f"A{line.row}", line.style, line.text)
        return f'<row r="{line.row}" ht="{line.height}" customHeight="1">{made}</row>'

    def _text(self, at: str, style: Style, text: str) -> str:
        if not text:
            return blank_cell(at, self._styles.number(style))
        if text[0] in _MAY_BE_TYPED_AS_FORMULA:
            style = replace(style, quoted=True)
        try:
            return text_cell(at, self._styles.number(style), self._texts.number(text))
        except ValueError as wrong:
            raise ValueError(f"cell {at}: {wrong}") from wrong

    def _fact(self, plan: SheetPlan, place: FactPlace) -> str:
        fact, row = place.fact, str(place.row)
        label, value, unit, _ = plan.spans
        style = _fact_style(fact)
        make = self._maker(letters(place.column), style, fact.kind, wrap=True)
        cells = {1: self._text(f"A{row}", LABEL, fact.label)}
        if isinstance(fact.value, Formula):
            cells[place.column] = self._formula(fact.value, place, style)
        else:
            cells[place.column] = make(fact.value, row)
        if fact.unit and not fact_is_text(fact.value):
            at = f"{letters(1 + label + value)}{row}"
            cells[1 + label + value] = self._text(at, replace(LABEL, wrap=False), fact.unit)
        if fact.note:
            at = f"{letters(1 + label + value + unit)}{row}"
            cells[1 + label + value + unit] = self._text(at, LABEL, fact.note)
        for number in range(1, sum(plan.spans) + 1):
            cells.setdefault(number, blank_cell(f"{letters(number)}{row}", self._styles.number(VALUE)))
        made = "".join(cells[number] for number in sorted(cells))
        return f'<row r="{row}" ht="{place.height}" customHeight="1">{made}</row>'

    def _formula(self, formula: Formula, place: FactPlace, style: Style) -> str:
        rendered = self._book.rendered(
            formula.expression,
            formula.inputs,
            sheet=place.sheet,
            as_shown=formula.as_shown,
            si=place.fact.si,
        )
        at = f"{letters(place.column)}{place.row}"
        return formula_cell(at, self._styles.number(style), rendered, _number(at, formula.value))

    def _signs(self, plan: SheetPlan, sign: SignPlace) -> Iterator[str]:
        starts = [1 + sum(plan.spans[:part]) for part in range(4)]
        head = "".join(
            self._text(f"{letters(start)}{sign.row}", SIGN_HEAD, text)
            for start, text in zip(starts, _SIGN_HEADS, strict=True)
        )
        yield f'<row r="{sign.row}">{head}</row>'
        line = self._styles.number(SIGN)
        for row, role in enumerate(sign.block.roles, start=sign.row + 1):
            cells = [self._text(f"A{row}", SIGN, role)]
            cells += [blank_cell(f"{letters(number)}{row}", line) for number in range(2, sum(plan.spans) + 1)]
            yield f'<row r="{row}" ht="{_SIGN_PT}" customHeight="1">{"".join(cells)}</row>'

    def _table(self, plan: SheetPlan, place: TablePlace) -> Iterator[str]:
        columns = place.table.columns
        heads = "".join(
            self._text(f"{letters(number)}{place.head_row}", _head_style(column), head)
            for number, (column, head) in enumerate(zip(columns, place.heads, strict=True), start=1)
        )
        yield f'<row r="{place.head_row}" ht="{place.head_height}" customHeight="1">{heads}</row>'
        if not place.table.rows:
            yield f'<row r="{place.first}">{self._text(f"A{place.first}", CAPTION, place.table.empty)}</row>'
        yield from self._table_rows(plan, place)
        if place.total:
            yield self._total_row(place)

    def _table_rows(self, plan: SheetPlan, place: TablePlace) -> Iterator[str]:
        wraps = _wrapped(plan, place)
        makers = [
            self._column_maker(place, number, column, wrap=number in wraps)
            for number, column in enumerate(place.table.columns, start=1)
        ]
        for number, cells in enumerate(_judged_rows(place), start=place.first):
            row = str(number)
            made = "".join([make(cell, row) for make, cell in zip(makers, cells, strict=True)])
            lines = max([lines_needed(shown(cells[at - 1]), wide) for at, wide in wraps.items()], default=1)
            height = f' ht="{height_pt(lines)}"' if lines > 1 else ""
            yield f'<row r="{row}"{height}>{made}</row>'

    def _column_maker(self, place: TablePlace, number: int, column: Column, *, wrap: bool) -> Maker:
        style = replace(_data_style(column.kind, column.decimals), wrap=wrap, fill=ENTRY if column.entry else "")
        letter = letters(number)
        plain = self._maker(letter, style, column.kind, wrap=wrap)
        if column.key == place.table.verdict_column and place.table.judged:
            return self._verdict_maker(letter, style, verdict_formula(place))
        if column.formula is not None:
            return self._live_maker(place, letter, style, column, column.formula, plain)
        return self._formula_cells(place, letter, style, column, plain)

    def _verdict_maker(self, letter: str, style: Style, formula: str) -> Maker:
        pieces, look = formula.split(ROW), self._styles.number(style)

        def make(cell: Cell, row: str) -> str:
            return word_formula_cell(letter + row, look, row.join(pieces), shown(cell))

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
        pieces, look = rendered.split(ROW), self._styles.number(style)
        own = self._formula_cells(place, letter, style, column, plain)

        def make(cell: Cell, row: str) -> str:
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool):
                at = letter + row
                return formula_cell(at, look, row.join(pieces), _number(at, cell))
            return own(cell, row)

        return make

    def _formula_cells(self, place: TablePlace, letter: str, style: Style, column: Column, plain: Maker) -> Maker:
        """Return a maker for a column in which single cells may be live."""
        look = self._styles.number(style)

        def make(cell: Cell, row: str) -> str:
            if not isinstance(cell, Formula):
                return plain(cell, row)
            rendered = self._book.rendered(
                cell.expression,
                cell.inputs,
                sheet=place.sheet,
                home=place,
                as_shown=cell.as_shown,
                si=column.si,
            )
            at = letter + row
            return formula_cell(at, look, rendered.replace(ROW, row), _number(at, cell.value))

        return make

    def _maker(self, letter: str, style: Style, kind: Kind, *, wrap: bool) -> Maker:
        """Return what makes a column's cells that hold a value, whatever the value is."""
        look = self._styles.number(style)
        words = replace(style, align="left", indent=0, number_format="General", wrap=wrap)
        dates = self._styles.number(replace(style, number_format=number_format("date", 0), align="left", indent=0))

        def make(cell: Cell, row: str) -> str:
            at = letter + row
            if cell is None:
                return blank_cell(at, look)
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool) and keeps_digits(cell):
                return number_cell(at, look, _number(at, cell))
            if isinstance(cell, date) and (day := day_number(cell)) is not None:
                return number_cell(at, dates, str(day))
            if isinstance(cell, Verdict):
                return self._text(at, toned(words, cell.tone), cell.word)
            return self._text(at, words, shown(cell))

        return make

    def _total_row(self, place: TablePlace) -> str:
        cells = []
        for number, column in enumerate(place.table.columns, start=1):
            at = f"{letters(number)}{place.total}"
            style = _total_style(column)
            if column.total:
                value = _total(place, number)
                cells.append(formula_cell(at, self._styles.number(style), total_formula(place, number), value))
            else:
                cells.append(self._text(at, TOTAL, "Total" if number == 1 else ""))
        return f'<row r="{place.total}">{"".join(cells)}</row>'


def _number(at: str, value: float | Decimal) -> str:
    try:
        return number_text(value)
    except ValueError as wrong:
        raise ValueError(f"cell {at}: {wrong}") from wrong


def _judged_rows(place: TablePlace) -> Sequence[Sequence[Cell]]:
    """Return the table's rows, the verdict column filled with the word its formula gives."""
    if not place.table.judged or not place.table.verdict_column:
        return place.table.rows
    at = place.column(place.table.verdict_column) - 1
    words = verdict_words(place)
    return [[*row[:at], word, *row[at + 1 :]] for row, word in zip(place.table.rows, words, strict=True)]


def _wrapped(plan: SheetPlan, place: TablePlace) -> dict[int, float]:
    """Return the columns whose text is longer than they are wide, with the room they have [digits]."""
    wraps = {}
    for number, column in enumerate(place.table.columns, start=1):
        if column.kind != "text":
            continue
        texts = {cell for row in place.table.rows if isinstance(cell := row[number - 1], str)}
        longest = sorted(texts, key=len, reverse=True)[:5]
        room = plan.widths[number - 1] - PADDING
        if any("\n" in text or text_width(text) > room + PADDING / 2 for text in longest):
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
        return replace(DATA, align="right", indent=1, number_format=number_format(kind, decimals))
    return replace(DATA, number_format=number_format(kind, decimals))


def _head_style(column: Column) -> Style:
    # The filter button covers the right end of the cell's last line.
    return replace(HEAD, align="right", indent=2) if column.kind in RIGHT_ALIGNED else HEAD


def _total_style(column: Column) -> Style:
    if column.total == "count":
        return replace(TOTAL, align="left" if column.kind not in RIGHT_ALIGNED else "right", number_format="#,##0")
    return replace(TOTAL, align="right", indent=1, number_format=number_format(column.kind, column.decimals))


def _fact_style(fact: Fact) -> Style:
    if fact_is_text(fact.value):
        return VALUE
    kind: Kind = "number" if fact.kind == "text" else fact.kind
    return replace(VALUE, wrap=False, align="right", number_format=number_format(kind, fact.decimals))
