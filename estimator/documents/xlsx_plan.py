"""Where everything of a workbook stands: records that the layout fills and the writers read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from estimator.documents.description import Cell, Fact, Picture, Section, SignOff, Table
from estimator.documents.xlsx_cells import letters
from estimator.documents.xlsx_style import Style

_SHEET_NAME_MOST: Final = 31
_HEAD_MOST: Final = 255
_RESERVED_SHEETS: Final = ("History", "Lists")  # the first by the spreadsheet, the second for legal words
_NOT_IN_SHEET_NAMES: Final = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_NAME: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_.]*")
_LOOKS_LIKE_A_CELL: Final = re.compile(r"[A-Za-z]{1,3}[0-9]+|[RrCc]|[Rr][0-9]*[Cc][0-9]*|[Tt]rue|[Ff]alse")


@dataclass(frozen=True, slots=True)
class Line:
    """A line of running text; it spreads over the reading width, or runs out to the right of its column."""

    row: int
    column: int
    text: str
    style: Style
    height: float
    spread: bool
    link: str


@dataclass(frozen=True, slots=True)
class FactPlace:
    """A labeled value in its row; ``name`` is what the workbook calls its cell, if anything."""

    fact: Fact
    sheet: str
    row: int
    column: int
    name: str
    height: float


@dataclass(frozen=True, slots=True)
class TablePlace:
    """A table's head row, its first and last row, and its total row (0 where it has none)."""

    table: Table
    name: str
    sheet: str
    heads: tuple[str, ...]
    head_row: int
    head_height: float
    first: int
    last: int
    total: int

    def column(self, key: str) -> int:
        """Return the sheet's column of a key. Raises: ValueError where the table has none."""
        for number, column in enumerate(self.table.columns, start=1):
            if column.key == key:
                return number
        known = ", ".join(column.key for column in self.table.columns)
        raise ValueError(f"table {self.table.name!r} has no column {key!r}; it has {known}")

    def block(self, number: int) -> str:
        """Return all cells of a column as an absolute range."""
        name = letters(number)
        return f"${name}${self.first}:${name}${self.last}"


@dataclass(frozen=True, slots=True)
class SignPlace:
    """Lines to sign: a head row, then one row a role."""

    block: SignOff
    row: int


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """A picture and the cell of its upper left corner."""

    picture: Picture
    row: int
    column: int


@dataclass(slots=True)
class SheetPlan:
    """One sheet: its name, its grid and what stands in which row.

    Running text begins in ``text_column``, and ``spread`` columns carry it; ``spans`` says how many columns a
    label, a value, its unit and its note take. ``cells`` are those of each table, column by column.
    """

    name: str
    section: Section
    widths: list[float]
    spread: int
    spans: tuple[int, int, int, int]
    cells: Mapping[str, Sequence[Sequence[Cell]]]
    lines: list[Line] = field(default_factory=list)
    facts: list[FactPlace] = field(default_factory=list)
    tables: list[TablePlace] = field(default_factory=list)
    signs: list[SignPlace] = field(default_factory=list)
    pictures: list[PicturePlace] = field(default_factory=list)
    breaks: list[int] = field(default_factory=list)
    last_row: int = 1

    @property
    def text_column(self) -> int:
        """Return where running text begins: behind the columns that print on each page, which would cut it off."""
        return 1 + self.section.repeated if self.section.pages_wide > 1 else 1

    def width(self, first: int, count: int) -> float:
        """Return the width of neighboring columns [digits]; columns count from 1."""
        return sum(self.widths[first - 1 : first - 1 + count])


def unlike(wanted: str, taken: Iterable[str], most: int) -> str:
    """Return the text, cut to length and numbered where another differs at most in case.

    >>> unlike("Fill", ["fill"], 31)
    'Fill (2)'
    """
    folded = {name.casefold() for name in taken}
    name, number = wanted[:most].rstrip(), 1
    while name.casefold() in folded:
        number += 1
        tail = f" ({number})"
        name = wanted[: most - len(tail)].rstrip() + tail
    return name


def sheet_names(sections: Sequence[Section]) -> list[str]:
    """Return a legal sheet name for each section, no two alike.

    >>> sheet_names([Section(title="Fill: 40 %", blocks=()), Section(title="fill  40 %", blocks=())])
    ['Fill 40 %', 'fill 40 % (2)']
    """
    names: list[str] = []
    for section in sections:
        clean = " ".join(_NOT_IN_SHEET_NAMES.sub(" ", section.sheet or section.title).split()).strip("'")
        names.append(unlike(clean or "Sheet", [*names, *_RESERVED_SHEETS], _SHEET_NAME_MOST))
    return names


def distinct_heads(heads: Iterable[str]) -> tuple[str, ...]:
    """Return heads on one line each, as a spreadsheet's table wants them: a repeated one is numbered.

    >>> distinct_heads(["Length [ft]", "length [ft]"])
    ('Length [ft]', 'length [ft] (2)')
    """
    distinct: list[str] = []
    for head in heads:
        distinct.append(unlike(" ".join(head.split()) or "Column", distinct, _HEAD_MOST))
    return tuple(distinct)


def cell_name(wanted: str) -> str:
    """Return a name that a workbook accepts for a cell; one that reads like an address gets a tail.

    >>> cell_name("tax_rate"), cell_name("vat1"), cell_name("2 hours")
    ('tax_rate', 'vat1_', '_2_hours')
    """
    name = re.sub(r"[^A-Za-z0-9_.]", "_", wanted)
    if not _NAME.fullmatch(name):
        name = f"_{name}"
    return f"{name}_" if _LOOKS_LIKE_A_CELL.fullmatch(name) else name
