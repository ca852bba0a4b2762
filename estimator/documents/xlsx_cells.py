"""Cells of a worksheet as pieces of XML, and the workbook's one list of texts.

A text always goes into the list of texts, so nothing that a person typed can become a formula or
an error value; a formula always carries its stored value.
"""

from __future__ import annotations

import math
import re
from datetime import date
from decimal import Decimal
from typing import Final

from estimator.documents.package import xml_text

TEXT_MOST: Final = 32_767  # letters in a cell; a spreadsheet cuts what is longer without a word
FORMULA_MOST: Final = 8_192
ROW: Final = "\x01"
"""Stands for the number of the row in a formula that is written once for a whole column."""

_DAY_ZERO: Final = date(1899, 12, 30)
_FIRST_SAFE_DAY: Final = date(1900, 3, 1)  # before it spreadsheets disagree about 1900 as a leap year
_WHOLE_MOST: Final = 10**15  # a longer whole number would lose digits
_LOOKS_ESCAPED: Final = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
_LINE_ENDS: Final = re.compile("\r\n?")


def letters(column: int) -> str:
    """Return a column's letters; columns count from 1.

    >>> letters(1), letters(27), letters(703)
    ('A', 'AA', 'AAA')
    """
    name = ""
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def quoted_sheet(sheet: str) -> str:
    """Return a sheet's name as a formula writes it before a cell.

    >>> quoted_sheet("Owner's copy")
    "'Owner''s copy'!"
    """
    return "'" + sheet.replace("'", "''") + "'!"


def number_text(value: float | Decimal) -> str:
    """Return a number as a cell stores it. Raises: ValueError for NaN and infinities."""
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a number that a cell can hold")
    return repr(float(value) if isinstance(value, Decimal) else value)


def day_number(day: date) -> int | None:
    """Return a date as a spreadsheet counts it, or None where spreadsheets disagree.

    >>> day_number(date(2026, 3, 4)), day_number(date(1900, 1, 1))
    (46085, None)
    """
    return (date(day.year, day.month, day.day) - _DAY_ZERO).days if day >= _FIRST_SAFE_DAY else None


def keeps_digits(value: float | Decimal) -> bool:
    """Return whether a cell's number shows every digit of a whole number."""
    return not isinstance(value, int) or abs(value) < _WHOLE_MOST


def text_item(text: str) -> str:
    """Return a text escaped as the list of texts holds it. Raises: ValueError where it is too long."""
    if len(text) > TEXT_MOST:
        raise ValueError(f"text of {len(text):,} letters; a cell holds {TEXT_MOST:,}")
    escaped = xml_text(_LINE_ENDS.sub("\n", text) if "\r" in text else text)
    return _LOOKS_ESCAPED.sub("_x005F_", escaped) if "_x" in escaped else escaped


def text_cell(at: str, style: int, number: int) -> str:
    """Return a cell that shows one text of the list."""
    return f'<c r="{at}" s="{style}" t="s"><v>{number}</v></c>'


def number_cell(at: str, style: int, number: str) -> str:
    """Return a cell that holds a number."""
    return f'<c r="{at}" s="{style}"><v>{number}</v></c>'


def blank_cell(at: str, style: int) -> str:
    """Return a cell that holds nothing but its look."""
    return f'<c r="{at}" s="{style}"/>'


def formula_cell(at: str, style: int, formula: str, value: str) -> str:
    """Return a live cell with its stored number; the formula is already escaped."""
    return f'<c r="{at}" s="{style}"><f>{formula}</f><v>{value}</v></c>'


def word_formula_cell(at: str, style: int, formula: str, word: str, attributes: str = "") -> str:
    """Return a live cell with its stored word; the formula is already escaped.

    ``attributes`` say that it is shared with other cells, which then leave the formula out.
    """
    return f'<c r="{at}" s="{style}" t="str"><f{attributes}>{formula}</f><v>{xml_text(word)}</v></c>'


def checked_formula(formula: str) -> str:
    """Return the formula escaped for XML. Raises: ValueError where no spreadsheet would take it."""
    longest = len(formula) + 6 * formula.count(ROW)
    if longest > FORMULA_MOST:
        raise ValueError(f"formula of {longest:,} letters; a spreadsheet takes {FORMULA_MOST:,}: {formula[:80]}")
    return ROW.join(xml_text(piece) for piece in formula.split(ROW))


class Texts:
    """The workbook's list of texts: each once, cells name them by number."""

    def __init__(self) -> None:
        self._numbers: dict[str, int] = {}
        self._items: list[str] = []
        self._used = 0

    def number(self, text: str) -> int:
        """Return the number of a text, added if new. Raises: ValueError where it is too long."""
        self._used += 1
        known = self._numbers.get(text)
        if known is None:
            self._items.append(text_item(text))
            known = self._numbers[text] = len(self._items) - 1
        return known

    def used_again(self, times: int) -> None:
        """Count cells that name texts of the list without asking for their number again."""
        self._used += times

    def part(self) -> bytes:
        """Return the list as the archive holds it."""
        items = "".join(f'<si><t xml:space="preserve">{item}</t></si>' for item in self._items)
        return (
            '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
            '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
            f'count="{self._used}" uniqueCount="{len(self._items)}">{items}</sst>'
        ).encode()
