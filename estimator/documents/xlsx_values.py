"""Cells that hold a value, whatever its kind: made one by one, or by the column."""

from __future__ import annotations

import math
from collections.abc import Callable
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
        start, plain, blank = f'<c r="{letter}', f'" s="{look}"><v>', f'" s="{look}"/>'
        words = replace(style, number_format="General")
        word_look = self.styles.number(words)
        dates = replace(style, number_format=number_format("date", 0), align="left")
        number, typed, finite = self._number, _MAY_BE_TYPED_AS_FORMULA, math.isfinite
        opened = f'" s="{word_look}" t="s"><v>'
        tones: dict[tuple[str, str], str] = {}  # what follows the address, by word and tone
        days: dict[date, str] = {}
        empty = f'" s="{word_look}"/>'

        def make(cell: Cell, row: str) -> str:
            if cell is None:
                return start + row + blank
            if isinstance(cell, str):
                if not cell:
                    return start + row + empty
                if cell[0] not in typed:
                    return f"{start}{row}{opened}{number(letter + row, cell)}</v></c>"
            if type(cell) is float and finite(cell):
                return f"{start}{row}{plain}{cell!r}</v></c>"
            if isinstance(cell, Verdict):
                ending = tones.get((cell.word, cell.tone))
                if ending is None:
                    made = self.text(letter + row, toned(words, cell.tone), cell.word)
                    ending = tones[cell.word, cell.tone] = made.removeprefix(start + row)
                elif cell.word:
                    number(letter + row, cell.word)  # counts the use
                return start + row + ending
            if isinstance(cell, date) and cell in days:
                return start + row + days[cell]
            at = letter + row
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool) and keeps_digits(cell):
                return number_cell(at, look, checked_number(at, cell))
            if isinstance(cell, date) and (day := day_number(cell)) is not None:
                made = number_cell(at, self.styles.number(dates), str(day))
                days[cell] = made.removeprefix(start + row)
                return made
            return self.text(at, words, str(cell) if type(cell) is int else shown(cell))

        return make


def checked_number(at: str, value: float | Decimal) -> str:
    """Return a number as its cell stores it. Raises: ValueError with the cell where it can't."""
    try:
        return number_text(value)
    except ValueError as wrong:
        raise ValueError(f"cell {at}: {wrong}") from wrong
