"""Cells that hold a value, whatever its kind: made one by one, or by the column."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import repeat
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

Pieces = tuple[Iterable[str], ...]
"""The cells of a column, each in so many pieces: whoever joins whole rows then joins them once."""

_MAY_BE_TYPED_AS_FORMULA: Final = frozenset("=+-@")
_ALIKE_WHERE_EQUAL: Final = frozenset({str, int, date, type(None)})
"""Cells that are written alike where they are equal; 0.0 equals -0.0, and a verdict may be live."""


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
        looks: dict[bool, int] = {}  # of texts that look like a formula, and of all others

        def text(at: str, text: str) -> str:
            formula_like = text[0] in _MAY_BE_TYPED_AS_FORMULA
            if formula_like not in looks:
                looks[formula_like] = self.styles.number(replace(words, quoted=formula_like))
            return text_cell(at, looks[formula_like], self._number(at, text))

        def make(cell: Cell, row: str) -> str:
            at = letter + row
            if cell is None:
                return blank_cell(at, look)
            if type(cell) is str:
                return text(at, cell) if cell else self.blank(at, words)
            if isinstance(cell, int | float | Decimal) and not isinstance(cell, bool) and keeps_digits(cell):
                return number_cell(at, look, checked_number(at, cell))
            if isinstance(cell, date) and (day := day_number(cell)) is not None:
                return number_cell(at, self.styles.number(dates), str(day))
            if isinstance(cell, Verdict):
                return self.text(at, toned(words, cell.tone), cell.word)
            return self.text(at, words, str(cell) if type(cell) is int else shown(cell))

        return make

    def column(self, letter: str, style: Style, cells: Sequence[Cell], rows: Sequence[str]) -> Pieces:
        """Return a whole column's cells; most of a long one repeat, and are made once but for their row.

        Raises: ValueError with the cell for NaN, infinities and text that is too long.
        """
        make, start = self.maker(letter, style), f'<c r="{letter}'
        plain, finite = f'" s="{self.styles.number(style)}"><v>', math.isfinite
        alike = set(map(type, cells)) <= _ALIKE_WHERE_EQUAL
        keys: Sequence[Hashable] = cells if alike else list(map(id, cells))
        times = Counter(keys)
        endings: dict[Hashable, str] = {}  # what follows the address
        for key, cell, row in zip(keys, cells, rows, strict=True):
            if key in endings:
                continue
            if type(cell) is float and finite(cell):
                endings[key] = f"{plain}{cell!r}</v></c>"
            else:
                endings[key] = make(cell, row)[len(start) + len(row) :]
            if len(endings) == len(times):
                break
        self.texts.used_again(sum(times[key] - 1 for key, ending in endings.items() if ' t="s"' in ending))
        return repeat(start, len(rows)), rows, map(endings.__getitem__, keys)


def checked_number(at: str, value: float | Decimal) -> str:
    """Return a number as its cell stores it. Raises: ValueError with the cell where it can't."""
    try:
        return number_text(value)
    except ValueError as wrong:
        raise ValueError(f"cell {at}: {wrong}") from wrong
