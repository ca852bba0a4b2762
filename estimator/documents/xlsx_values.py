"""Cells that hold a value, whatever its kind: made one by one, or by the column."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Final

from estimator.documents.description import Cell, Verdict
from estimator.documents.look import number_format
from estimator.documents.shown import shown
from estimator.documents.xlsx_cells import (
    Texts,
    blank_cell,
    day_number,
    keeps_digits,
    number_cell,
    number_text,
    text_cell,
)
from estimator.documents.xlsx_style import Style, Styles, toned

Maker = Callable[[Cell, str], str]
"""Makes the XML of one cell from its value and the number of its row."""

_MAY_BE_TYPED_AS_FORMULA: Final = frozenset("=+-@")


class Values:
    """Makes cells with one list of texts and one list of looks."""

    def __init__(self, texts: Texts, styles: Styles) -> None:
        self.texts = texts
        self.styles = styles

    def look(self, style: Style) -> int:
        """Return the number of a look."""
        return self.styles.number(style)

    def blank(self, at: str, style: Style) -> str:
        """Return a cell without a value."""
        return blank_cell(at, self.styles.number(style))

    def text(self, at: str, style: Style, text: str) -> str:
        """Return a cell that shows a text. Raises: ValueError with the cell where it is too long."""
        if not text:
            return self.blank(at, style)
        if text[0] in _MAY_BE_TYPED_AS_FORMULA:
            style = replace(style, quoted=True)
        return text_cell(at, self.styles.number(style), self._number(at, text))

    def _number(self, at: str, text: str) -> int:
        try:
            return self.texts.number(text)
        except ValueError as wrong:
            raise ValueError(f"cell {at}: {wrong}") from wrong

    def maker(self, letter: str, style: Style) -> Maker:
        """Return what makes the cells of a column.

        Its maker raises ValueError with the cell for NaN, infinities and text that is too long.
        """
        look = self.styles.number(style)
        words = replace(style, number_format="General")
        dates = replace(style, number_format=number_format("date", 0), align="left")

        def make(cell: Cell, row: str) -> str:
            at = letter + row
            if cell is None:
                return blank_cell(at, look)
            if type(cell) is str:
                return self.text(at, words, cell)
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool) and keeps_digits(cell):
                return number_cell(at, look, checked_number(at, cell))
            if isinstance(cell, date) and (day := day_number(cell)) is not None:
                return number_cell(at, self.styles.number(dates), str(day))
            if isinstance(cell, Verdict):
                return self.text(at, toned(words, cell.tone), cell.word)
            return self.text(at, words, str(cell) if type(cell) is int else shown(cell))

        return make

    def column(self, letter: str, style: Style, cells: Sequence[Cell], rows: Sequence[str]) -> list[str]:
        """Return a whole column's cells; most of a long one repeat, and are made once but for their row.

        Raises: ValueError with the cell for NaN, infinities and text that is too long.
        """
        make, look, start = self.maker(letter, style), self.styles.number(style), f'<c r="{letter}'
        plain, finite = f'" s="{look}"><v>', math.isfinite
        known: dict[str | date | None, str] = {}  # what follows the address
        tones: dict[int, str] = {}
        uses, made = 0, []
        for cell, row in zip(cells, rows, strict=True):
            kind = type(cell)
            if type(cell) is float and finite(cell):
                made.append(f"{start}{row}{plain}{cell!r}</v></c>")
                continue
            if cell is None or isinstance(cell, str) or (kind is date and isinstance(cell, date)):
                ending = known.get(cell)
            elif isinstance(cell, Verdict):
                ending = tones.get(id(cell))
            else:
                made.append(make(cell, row))
                continue
            if ending is None:
                whole = make(cell, row)
                ending = whole[len(start) + len(row) :]
                if isinstance(cell, Verdict):
                    tones[id(cell)] = ending  # the table holds it, so that its identity stays
                else:
                    known[cell] = ending
                made.append(whole)
            else:
                uses += ' t="s"' in ending
                made.append(start + row + ending)
        self.texts.used_again(uses)
        return made


def checked_number(at: str, value: float | Decimal) -> str:
    """Return a number as its cell stores it. Raises: ValueError with the cell where it can't."""
    try:
        return number_text(value)
    except ValueError as wrong:
        raise ValueError(f"cell {at}: {wrong}") from wrong
