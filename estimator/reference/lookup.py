"""Published tables, read at the first look-up; no number of a standard stands in code.

A table is one JSON file in ``tables/``: a head (title, source, edition, table, confidence, note)
and rows. A look-up that misses says what was asked for and what there is.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

Cell = str | float | int | bool | None | list["Cell"] | dict[str, "Cell"]


class TableError(LookupError):
    """A look-up that found nothing: the message says what was asked and what there is."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a published table, with the source that stands over it."""

    table: str
    cells: Mapping[str, Cell]
    source: str
    confidence: str

    def number(self, column: str) -> float:
        """Return a numeric cell. Raises: TableError if the cell is missing or not a number."""
        value = self.cells.get(column)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise TableError(f"table {self.table}: no number in column {column!r} of {dict(self.cells)}")
        return float(value)

    def optional(self, column: str) -> float | None:
        """Return a numeric cell, or None where the table leaves it empty."""
        return None if self.cells.get(column) is None else self.number(column)

    def numbers(self, column: str) -> tuple[float, ...]:
        """Return a cell that lists numbers. Raises: TableError if it does not."""
        value = self.cells.get(column)
        if not isinstance(value, list):
            raise TableError(f"table {self.table}: column {column!r} does not list numbers")
        found = [v for v in value if isinstance(v, int | float) and not isinstance(v, bool)]
        if len(found) != len(value):
            raise TableError(f"table {self.table}: column {column!r} holds more than numbers")
        return tuple(float(v) for v in found)

    def text(self, column: str) -> str:
        """Return a text cell. Raises: TableError if the cell is missing or not text."""
        value = self.cells.get(column)
        if not isinstance(value, str):
            raise TableError(f"table {self.table}: no text in column {column!r} of {dict(self.cells)}")
        return value

    def texts(self, column: str) -> tuple[str, ...]:
        """Return a cell that lists texts. Raises: TableError if it does not."""
        value = self.cells.get(column)
        if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
            raise TableError(f"table {self.table}: column {column!r} does not list texts")
        return tuple(str(v) for v in value)


@dataclass(frozen=True, slots=True)
class Table:
    """A published table: its head and its rows in print order."""

    name: str
    title: str
    source: str
    edition: str
    confidence: str
    note: str
    rows: tuple[Row, ...]

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    def find(self, **wanted: Cell) -> Row:
        """Return the first row whose cells equal all that is asked for.

        Raises: TableError naming what was asked for and the values there are.
        """
        for row in self.rows:
            if all(row.cells.get(column) == value for column, value in wanted.items()):
                return row
        there = "; ".join(
            f"{column}: {', '.join(dict.fromkeys(str(r.cells.get(column)) for r in self.rows))}" for column in wanted
        )
        asked = ", ".join(f"{column} {value!r}" for column, value in wanted.items())
        raise TableError(f"table {self.name} has no row with {asked}; there is {there}")

    def has(self, **wanted: Cell) -> bool:
        """Return whether a row with these cells exists."""
        return any(all(r.cells.get(c) == v for c, v in wanted.items()) for r in self.rows)


def _cited(head: Mapping[str, Cell]) -> str:
    parts = [str(head["source"])]
    if head.get("edition"):
        parts.append(str(head["edition"]))
    if head.get("table"):
        parts.append(str(head["table"]))
    return ", ".join(parts)


@cache
def table(name: str) -> Table:
    """Return a published table by name.

    Raises: TableError if there is no such table, naming those there are.
    """
    folder = files("estimator.reference").joinpath("tables")
    path = folder.joinpath(f"{name}.json")
    if not path.is_file():
        there = ", ".join(table_names())
        raise TableError(f"no reference table {name!r}; there is {there}")
    head = json.loads(path.read_text(encoding="utf-8"))
    cited = _cited(head)
    confidence, edition, note = (str(head.get(key, "")) for key in ("confidence", "edition", "note"))
    rows = tuple(
        Row(name, cells, str(cells.get("source") or cited), str(cells.get("confidence") or confidence))
        for cells in head["rows"]
    )
    return Table(name, str(head["title"]), cited, edition, confidence, note, rows)


def table_names() -> tuple[str, ...]:
    """Return the names of all tables, in order."""
    folder = files("estimator.reference").joinpath("tables")
    return tuple(sorted(p.name[:-5] for p in folder.iterdir() if p.name.endswith(".json")))
