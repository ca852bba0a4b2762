"""What taking a file in gives: its rows as read, what is kept aside, and how it was read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from estimator.field.intake_stated import Statement, Statements
from estimator.field.mapping import TableMapping


@dataclass(frozen=True, kw_only=True, slots=True)
class TakenRow:
    """One row as read, without the batch that will hold it; ``numbers`` are keys of cells stored as numbers."""

    row: int
    circuit: str
    round: str
    cells: Mapping[str, str]
    notes: tuple[str, ...]
    numbers: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True, slots=True)
class TakenSheet:
    """The rows of one field sheet with a reading, a note or evidence; ``untouched`` counts the others."""

    tab: str
    medium: str
    lengths: str
    stated: Mapping[str, str]
    head_row: int
    rows: tuple[TakenRow, ...]
    untouched: int
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Aside:
    """A file or a sheet of one that is not taken, and why."""

    file: str
    wrong: str
    expected: str
    mend: str
    tab: str = ""
    row: int = 0

    def __str__(self) -> str:
        place = ", ".join(
            part for part in (self.file, self.tab and f"sheet {self.tab}", self.row and f"row {self.row}") if part
        )
        return f"{place}: {self.wrong}; expected {self.expected}; {self.mend}"


@dataclass(frozen=True, kw_only=True, slots=True)
class How:
    """How a file is read beside what it says itself: a mapping file, and what options state."""

    mapping: TableMapping | None = None
    options: Mapping[str, str] = field(default_factory=dict)

    @property
    def statements(self) -> tuple[Statements, ...]:
        """Return what mapping and options state about decimals, dates and lengths."""
        typed = self.mapping.typed if self.mapping else None
        said = {"decimals": typed.decimals, "dates": typed.dates} if typed else {}
        by_mapping = {name: Statement(text, by="the mapping") for name, text in said.items() if text}
        by_option = {name: Statement(text, by="the option") for name, text in self.options.items() if text}
        return by_mapping, by_option

    @property
    def key(self) -> Mapping[str, str]:
        """Return what tells two ways of reading apart; empty where the file alone says everything."""
        own = {name: text for name, text in self.options.items() if text}
        return own | ({"mapping": self.mapping.kept.digest} if self.mapping else {})


@dataclass(frozen=True, kw_only=True, slots=True)
class Intake:
    """One file as read: its bytes and their hash, the sheets taken, what is kept aside, how it was read."""

    file: str
    data: bytes
    digest: str
    sheets: tuple[TakenSheet, ...]
    aside: tuple[Aside, ...]
    how: How = field(default_factory=How)
