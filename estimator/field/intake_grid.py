"""A foreign sheet as lines of text cells, before anybody has asked what it is about."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from estimator.spec.faults import ProblemError

MOST_BYTES: Final = 300_000_000
"""Most bytes of a file, and of everything packed in it [B]."""

MOST_ROWS: Final = 1_000_000
"""Most filled rows of one file."""

MOST_TEXT: Final = 32_767
"""Most characters of one cell, as spreadsheets have it."""

REPLACED: Final = "\ufffd"

_CONTROL: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_GUARDED: Final = ("'=", "'+", "'-", "'@", "'\t", "'\r")


class UnreadableError(ProblemError):
    """A file that can't be read as a field sheet; tab and row where they are known."""

    def __init__(self, wrong: str, expected: str, mend: str, *, tab: str = "", row: int = 0) -> None:
        super().__init__(wrong, expected, mend)
        self.tab, self.row = tab, row


@dataclass(slots=True)
class Line:
    """One row of a sheet: text by column number from 0, which are formulas or stored as numbers, and remarks."""

    row: int
    texts: dict[int, str] = field(default_factory=dict)
    formulas: set[int] = field(default_factory=set)
    numbers: set[int] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True, slots=True)
class Span:
    """A merged block of cells: rows from 1, columns from 0, both ends included."""

    first_row: int
    last_row: int
    first_column: int
    last_column: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Tab:
    """One worksheet, or a whole CSV file with an empty name; ``notes`` are remarks on all of it."""

    name: str
    lines: tuple[Line, ...]
    spans: tuple[Span, ...] = ()
    notes: tuple[str, ...] = ()


def column_letters(column: int) -> str:
    """Return a column's letters as spreadsheets show them.

    >>> column_letters(0), column_letters(27)
    ('A', 'AB')
    """
    letters = ""
    number = column + 1
    while number:
        number, digit = divmod(number - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def clean(text: str, column: int, line: Line) -> str:
    """Return a cell's text without outer spaces, control characters and spreadsheet guard; remarks go to the line.

    >>> clean(" '-3.2 ", 0, Line(1))
    '-3.2'
    """
    text = text.strip()
    if text[:2] in _GUARDED:
        text = text[1:].strip()
    if _CONTROL.search(text):
        text = _CONTROL.sub(REPLACED, text)
        line.notes.append(f"column {column_letters(column)}: a control character was replaced by {REPLACED}")
    if len(text) > MOST_TEXT:
        text = text[:MOST_TEXT]
        line.notes.append(f"column {column_letters(column)}: text cut after {MOST_TEXT:,} characters")
    return text


def clean_name(text: str) -> str:
    """Return the name of a file or tab fit for a message: one line, no control characters."""
    return _CONTROL.sub(REPLACED, " ".join(text.split()))[:200]
