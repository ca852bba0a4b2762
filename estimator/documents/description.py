"""What a document says, before anybody decides how it looks.

A document is a list of sections; a section is a list of blocks; a table is typed columns and
rows. A workbook shows a section as a sheet, Word shows it as a heading with what follows.
Nothing here knows of drops or batteries, and nothing here knows of XML.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Literal

from estimator.calc.formula import Expression
from estimator.documents.drawing import Drawing

Kind = Literal["text", "number", "whole", "money", "percent", "date", "verdict"]
"""What a column holds. ``percent`` cells are shares (0.4 shows as 40 %)."""

Lead = Literal["body", "lead", "note", "caution", "warning", "bullet", "number", "heading"]
"""How a paragraph speaks. ``lead`` stays with what follows; ``heading`` stands one level under its section."""


# --- where a formula's input stands ------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Same:
    """The cell of another column in the same row."""

    column: str


@dataclass(frozen=True, slots=True)
class Named:
    """A named cell of the workbook: a fact declared with that name."""

    name: str


@dataclass(frozen=True, slots=True)
class Whole:
    """All cells of a table's column."""

    table: str
    column: str


@dataclass(frozen=True, slots=True)
class Rows:
    """The cells of a table's column in ``count`` rows, the first of them ``first`` (rows count from 0)."""

    table: str
    column: str
    first: int
    count: int


@dataclass(frozen=True, slots=True)
class Matching:
    """The cells of a table's column whose ``by`` column equals ``key`` (inside functions of lists).

    ``key`` is the cell of a column in the same row where ``key_is_column``, else a text. With ``order``
    only rows count whose cell of that column is at most (``side`` "upto") or at least ("from") this row's
    cell of the column ``order_key``, by default the one of the same name.
    """

    table: str
    column: str
    by: str
    key: str
    key_is_column: bool = True
    order: str = ""
    side: Literal["upto", "from"] = "upto"
    order_key: str = ""


@dataclass(frozen=True, slots=True)
class Lookup:
    """The cell of a table's column in the one row whose ``by`` cell equals this row's ``key`` cell.

    It finds its row by what stands there, so that a sorted table changes nothing.
    """

    table: str
    column: str
    by: str
    key: str


@dataclass(frozen=True, slots=True)
class At:
    """One cell of a table: the row whose key column holds ``row`` (a number counts rows from 0).

    A row named by its key is found by what stands there, so that a sorted table changes nothing.
    """

    table: str
    row: str | int
    column: str


Ref = Same | Named | Whole | Rows | Matching | Lookup | At | float


@dataclass(frozen=True, slots=True)
class Formula:
    """A live cell: its expression, the computed value stored with it, and where its inputs stand.

    A name missing from ``inputs`` is the column of that key in the same row, else a named cell.
    ``si`` of the columns it reads is applied unless ``as_shown``; the result is divided by its
    own column's (or fact's) ``si``. ``value`` is as shown: feet in a column of feet.
    """

    expression: Expression
    value: float
    inputs: Mapping[str, Ref] = field(default_factory=dict)
    as_shown: bool = False


@dataclass(frozen=True, slots=True)
class Verdict:
    """A word that judges; color only repeats it. With ``live`` it follows its cells."""

    word: str
    tone: Literal["good", "poor", "bad", "none"]
    live: Words | None = field(default=None, hash=False, compare=False)


@dataclass(frozen=True, slots=True)
class Words:
    """A live word: that of the first condition that holds, else ``otherwise``.

    Conditions are expressions that compare; their inputs stand as those of a ``Formula`` do. The computed
    word is the cell's own.
    """

    steps: tuple[tuple[Expression, Verdict], ...]
    otherwise: Verdict
    inputs: Mapping[str, Ref] = field(default_factory=dict)

    @property
    def every(self) -> tuple[Verdict, ...]:
        """Return every word that may come out."""
        return (*(word for _, word in self.steps), self.otherwise)


Cell = str | int | float | Decimal | date | bool | Formula | Verdict | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """One typed column. Rows hold values as shown (feet in a column of feet).

    ``si`` is what one shown unit is in the unit of the formulas (0.3048 for feet). A column with
    a ``formula`` is live in every row that holds a number there, which is the stored value; one with
    ``words`` in every row that holds a verdict.
    """

    key: str
    head: str
    kind: Kind = "text"
    unit: str = ""
    decimals: int = 2
    width: int | None = None
    si: float = 1.0
    formula: Expression | None = None
    inputs: Mapping[str, Ref] = field(default_factory=dict)
    as_shown: bool = False
    total: Literal["", "sum", "count"] = ""
    entry: Entry | None = None
    computed: bool = False
    words: Words | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """A column that people fill in: what is legal, and what is said when it isn't.

    Where it is ``standing``, only cells that hold something may be changed; blank ones stay blank.
    """

    words: Sequence[str] = ()
    low: float | None = None
    high: float | None = None
    prompt: str = ""
    refusal: str = ""
    standing: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """Limit columns under which a reading column is judged as it is typed (field sheets).

    A cell of ``accepted`` holds legal words parted by ``|``. A row in which all three are blank
    does not need that reading. Where there is a ``needed`` column, its cell lists what the row needs,
    parted by ``, ``: a reading whose ``need`` is in it must be there, any other is judged if it is.
    ``instead`` are columns whose least number stands in for a blank reading; ``between`` are two columns
    whose difference does where those are blank too. A number below ``least`` can't be a reading: nothing
    in its row is used.
    """

    reading: str
    low: str | None = None
    high: str | None = None
    accepted: str | None = None
    needed: str | None = None
    need: str = ""
    instead: tuple[str, ...] = ()
    between: tuple[str, ...] = ()
    least: float | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """A table: a name unique in its document, columns, rows, and an optional total row.

    ``key`` is the column that ``At`` looks rows up by. ``judged`` makes the column ``verdict_column``
    a live verdict over reading columns and their limit columns. ``beyond`` are the words for a value
    beyond the instrument's range: over any high limit, above any low one.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: Sequence[Sequence[Cell]]
    key: str = ""
    caption: str = ""
    judged: tuple[Limits, ...] = ()
    verdict_column: str = ""
    beyond: tuple[str, ...] = ("OL",)
    empty: str = "None."
    totals: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Fact:
    """One labeled value; a ``name`` makes it a named cell that formulas can read.

    ``words`` make a verdict live. An ``entry`` makes it one that the reader may change.
    """

    label: str
    value: Cell
    unit: str = ""
    kind: Kind = "text"
    decimals: int = 2
    name: str = ""
    si: float = 1.0
    note: str = ""
    words: Words | None = None
    entry: Entry | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Facts:
    """Labeled values in a two- or three-column list."""

    title: str
    rows: tuple[Fact, ...]
    name: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Picture:
    """A drawing with a title and words under it; ``alternative`` tells it to those who can't see it.

    Nothing stands in a picture alone: a table near it has the figures.
    """

    name: str
    title: str
    alternative: str
    drawing: Drawing
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Text in one of the house's few voices."""

    text: str
    lead: Lead = "body"


@dataclass(frozen=True, slots=True)
class SignOff:
    """Lines for people to sign: one row a role."""

    roles: tuple[str, ...]


class Break(Enum):
    """A forced page break in paged documents."""

    PAGE = "page"


Block = Paragraph | Table | Facts | Picture | SignOff | Break


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """A part of the document: a sheet of a workbook, a heading in Word.

    ``pages_wide`` is how many printed pages a sheet's columns may spread over; the first ``repeated``
    columns then stand on each of them. ``pages_high`` is how many its rows are shrunk to, 0 for as many
    as they need. ``printed`` is how many of its columns come onto paper, 0 for all.
    """

    title: str
    blocks: tuple[Block, ...]
    sheet: str = ""
    level: int = 1
    landscape: bool = False
    new_page: bool = False
    pages_wide: int = 1
    repeated: int = 1
    pages_high: int = 0
    printed: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Document:
    """A whole document: who it is for and about, then its sections.

    ``cover`` facts stand on the first page (Word) or on top of the first sheet (workbook).
    ``state`` is the line that says how complete it is, where there is one.
    ``content`` is the short hash of what it was made from, at the foot of every page.
    ``marking`` stands on top of every page, the cover too, of what not everybody may read.
    """

    title: str
    subtitle: str
    job: str
    number: str
    revision: str
    shown_date: date | None
    author: str
    subject: str
    sections: tuple[Section, ...]
    cover: tuple[Fact, ...] = ()
    state: str = ""
    state_tone: Literal["good", "poor", "bad", "none"] = "none"
    basis: str = ""
    contents: bool = False
    paper: Literal["letter", "a4"] = "letter"
    marking: str = ""
    content: str = ""
