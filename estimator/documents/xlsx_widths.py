"""How wide text runs in the one face, and so how wide columns and how high rows must be.

Widths are in a spreadsheet's unit, the width of a digit.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from datetime import date
from functools import lru_cache
from heapq import nlargest
from typing import Final

from estimator.documents.description import Cell, Column, Formula, Table, Verdict
from estimator.documents.docx_widths import ems
from estimator.documents.look import RIGHT_ALIGNED, SHEET_PT
from estimator.documents.shown import shown
from estimator.documents.xlsx_verdict import INCOMPLETE

_DIGIT_EM: Final = 0.556  # of the face, as of its metric twins
WIDEST_LETTER: Final = 1.015 / _DIGIT_EM  # the at sign, of a digit
BOLD: Final = 1.08
READING_WIDTH: Final = 88.0  # of running text; a longer line is hard to read
PLAIN_GRID: Final = (32.0, 18.0, 12.0, 44.0)  # columns of a sheet without a table
EXTRA_COLUMN: Final = 12.0
LINE_HEIGHT: Final = 1.3  # of the size of the letters
PADDING: Final = 2.0
_HEAD_MARGIN: Final = 4.2  # the filter button, and the margins of a cell
TEXT_WIDEST: Final = 46.0
TEXT_NARROWEST: Final = 5.0
ENTRY_NARROWEST: Final = 11.0
HEAD_LINES_MOST: Final = 3
_QUICK_TO_TELL_APART: Final = frozenset({str, int, float, date, type(None)})


def text_width(text: str) -> float:
    """Return the width of one line of text [digits].

    >>> text_width("0000"), round(text_width("ill"), 1)
    (4.0, 1.2)
    """
    return ems(text) / _DIGIT_EM


@lru_cache(maxsize=2**16)
def lines_needed(text: str, width: float) -> int:
    """Return how many lines a text takes when it is wrapped at the width [digits].

    >>> lines_needed("one two three", 8.0), lines_needed("", 8.0)
    (2, 1)
    """
    space = text_width(" ")
    count = 0
    for paragraph in text.split("\n"):
        count, used = count + 1, 0.0
        for word in paragraph.split(" "):
            wide = text_width(word)
            if used and used + space + wide > width:
                count, used = count + 1, wide
            else:
                used += wide + (space if used else 0.0)
            if used > width:  # a word longer than the line is broken
                extra = math.ceil(used / width) - 1
                count, used = count + extra, used - extra * width
    return count


def height_pt(lines: int, size: int = SHEET_PT) -> float:
    """Return the height of a row with so many lines [pt]."""
    return round(lines * size * LINE_HEIGHT + 2, 1)


def column_width(table: Table, index: int, head: str, cells: Sequence[Cell]) -> float:
    """Return the width that a column asks for [digits]: its ``cells``, its head on a few lines."""
    column = table.columns[index]
    if column.width is not None:
        return float(column.width)
    content = max((text_width(text) for text in _widest(cells, column)), default=0.0)
    if column.entry is not None:
        content = max(content, ENTRY_NARROWEST, *(text_width(word) for word in column.entry.words))
    if table.judged and column.key == table.verdict_column:
        content = max(content, text_width(INCOMPLETE))
    content = min(max(content, TEXT_NARROWEST), TEXT_WIDEST)
    word = max(text_width(word) for word in head.split(" ")) * BOLD
    width = max(content, word + _HEAD_MARGIN - PADDING)
    while lines_needed(head, head_room(width + PADDING)) > HEAD_LINES_MOST:
        width += 1.0
    return round(width + PADDING, 1)


def head_room(width: float) -> float:
    """Return the room for a line of a table's head in a column so wide [digits]."""
    return max(width - _HEAD_MARGIN, 1.0) / BOLD


def longest(texts: Collection[str], count: int = 5) -> list[str]:
    """Return the longest texts, equally long ones by their letters, so that a set's own order never shows."""
    least = min(nlargest(count, map(len, texts)), default=0)
    longer = [text for text in texts if len(text) > least]
    return longer + nlargest(count - len(longer), [text for text in texts if len(text) == least])


def _widest(cells: Sequence[Cell], column: Column) -> list[str]:
    """Return the few texts of a column that may be its widest, without rendering them all."""
    texts: set[str] = set()
    numbers: list[float] = []
    own: Collection[Cell] = cells
    if column.total != "sum" and set(map(type, cells)) <= _QUICK_TO_TELL_APART:
        own = set(cells)  # thousands, a few of them different
    for cell in own:
        if isinstance(cell, str):
            texts.add(cell)
        elif isinstance(cell, float):
            numbers.append(cell)
        elif isinstance(cell, Verdict):
            texts.add(cell.word)
        elif isinstance(cell, Formula):
            numbers.append(cell.value)
        elif isinstance(cell, bool) or cell is None:
            texts.add("yes")
        elif hasattr(cell, "isoformat"):
            texts.add(cell.isoformat())
        else:
            numbers.append(float(cell))
    lines = [line for text in longest(texts) for line in text.split("\n")]
    if numbers:
        ends: tuple[Cell, Cell] = (min(numbers), max(numbers))
        lines += [shown(end, column.kind, column.decimals) for end in ends]
        if column.total == "sum":
            lines.append(shown(math.fsum(numbers), column.kind, column.decimals))
    indent = " " * 6 if column.kind in RIGHT_ALIGNED else ""
    return [line + indent for line in lines]
