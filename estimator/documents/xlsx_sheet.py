"""Rows of a sheet as XML: running text, labeled values, tables, lines to sign."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from estimator.documents.description import Fact, Formula, Kind, Verdict
from estimator.documents.look import ENTRY, number_format
from estimator.documents.xlsx_cells import Texts, blank_cell, formula_cell, letters, word_formula_cell
from estimator.documents.xlsx_formula import Addresses
from estimator.documents.xlsx_layout import fact_is_text
from estimator.documents.xlsx_pictures import picture_rows
from estimator.documents.xlsx_plan import FactPlace, Line, SheetPlan, SignPlace
from estimator.documents.xlsx_style import LABEL, SIGN, SIGN_HEAD, VALUE, Style, Styles
from estimator.documents.xlsx_table import TableRows
from estimator.documents.xlsx_values import Values, checked_number

_SIGN_PT: Final = 30.0
_SIGN_HEADS: Final = ("Role", "Name", "Date", "Signature")


class SheetRows:
    """Writes the rows of one sheet after another with one list of texts and of looks."""

    def __init__(self, texts: Texts, styles: Styles, book: Addresses) -> None:
        self._values = Values(texts, styles)
        self._book = book
        self._tables = TableRows(self._values, book)

    def rows(self, plan: SheetPlan) -> str:
        """Return the sheet's rows, top to bottom.

        Raises: ValueError with sheet and cell for NaN, infinities, and text that is too long.
        """
        try:
            pieces: dict[int, str | Iterable[str]] = {}
            for row in {line.row for line in plan.lines}:
                pieces[row] = self._line_row([line for line in plan.lines if line.row == row])
            pieces.update((place.row, self._fact(plan, place)) for place in plan.facts)
            for sign in plan.signs:
                pieces[sign.row] = self._signs(plan, sign)
            pieces.update((one.row, picture_rows(one)) for one in plan.pictures)
            for place in plan.tables:
                pieces[place.head_row] = self._tables.rows(plan, place)
            return "".join("".join(pieces[row]) for row in sorted(pieces))
        except ValueError as wrong:
            raise ValueError(f"sheet {plan.name!r}: {wrong}") from wrong

    def _line_row(self, lines: Sequence[Line]) -> str:
        made = "".join(self._values.text(f"{letters(one.column)}{one.row}", one.style, one.text) for one in lines)
        height = max(one.height for one in lines)
        return f'<row r="{lines[0].row}" ht="{height}" customHeight="1">{made}</row>'

    def _fact(self, plan: SheetPlan, place: FactPlace) -> str:
        fact, row = place.fact, str(place.row)
        label, value, unit, _ = plan.spans
        style = _fact_style(fact)
        make = self._values.maker(letters(place.column), style)
        cells = {1: self._values.text(f"A{row}", LABEL, fact.label)}
        if isinstance(fact.value, Formula):
            cells[place.column] = self._formula(fact.value, place, style)
        elif isinstance(fact.value, Verdict) and fact.words is not None:
            said = self._book.worded(fact.words, sheet=place.sheet)
            at = f"{letters(place.column)}{row}"
            cells[place.column] = word_formula_cell(at, self._values.look(style), said, fact.value.word)
        else:
            cells[place.column] = make(fact.value, row)
        if fact.unit and not fact_is_text(fact.value):
            at = f"{letters(1 + label + value)}{row}"
            cells[1 + label + value] = self._values.text(at, replace(LABEL, wrap=False), fact.unit)
        if fact.note:
            at = f"{letters(1 + label + value + unit)}{row}"
            cells[1 + label + value + unit] = self._values.text(at, LABEL, fact.note)
        for number in range(1, sum(plan.spans) + 1):
            cells.setdefault(number, blank_cell(f"{letters(number)}{row}", self._values.look(VALUE)))
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
        return formula_cell(at, self._values.look(style), rendered, checked_number(at, formula.value))

    def _signs(self, plan: SheetPlan, sign: SignPlace) -> Iterator[str]:
        starts = [1 + sum(plan.spans[:part]) for part in range(4)]
        head = "".join(
            self._values.text(f"{letters(start)}{sign.row}", SIGN_HEAD, text)
            for start, text in zip(starts, _SIGN_HEADS, strict=True)
        )
        yield f'<row r="{sign.row}">{head}</row>'
        line = self._values.look(SIGN)
        for row, role in enumerate(sign.block.roles, start=sign.row + 1):
            cells = [self._values.text(f"A{row}", SIGN, role)]
            cells += [blank_cell(f"{letters(number)}{row}", line) for number in range(2, sum(plan.spans) + 1)]
            yield f'<row r="{row}" ht="{_SIGN_PT}" customHeight="1">{"".join(cells)}</row>'


def _fact_style(fact: Fact) -> Style:
    if fact_is_text(fact.value):
        return VALUE
    kind: Kind = "number" if fact.kind == "text" else fact.kind
    fill = ENTRY if fact.entry is not None else ""
    return replace(VALUE, wrap=False, fill=fill, align="right", number_format=number_format(kind, fact.decimals))
