"""The plain table of an instrument as rows of a field sheet, by what a mapping file says."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from estimator.acceptance.columns import sheet
from estimator.field.intake_csv import HEAD_WITHIN
from estimator.field.intake_grid import Line, Tab, UnreadableError, column_letters
from estimator.field.intake_head import plain, telling
from estimator.field.intake_stated import LENGTHS, agreed, stated
from estimator.field.mapping import MappedTo, TableMapping
from estimator.field.taken import How, TakenRow, TakenSheet
from estimator.spec.faults import nearest

_NUMBER: Final = re.compile(r"[-+−]?[\d.,]*\d[.,]?(?:[eE][-+]?\d+)?")


@dataclass(frozen=True, slots=True)
class _Table:
    """The head of a table: its row, its mapped columns, those of the circuit's id and those that tell cases apart."""

    row: int
    columns: Mapping[int, tuple[MappedTo, ...]]
    circuit: tuple[int, ...]
    telling: Mapping[str, int]


def head_count(mapping: TableMapping, texts: Mapping[int, str]) -> int:
    """Return how many heads of a mapping stand in a row."""
    wanted = {plain(text) for one in mapping.columns for text in (one.head, one.by) if text}
    wanted |= {plain(head) for head in mapping.circuit.heads}
    return len(wanted & {plain(text) for text in texts.values() if len(text) <= 120})


def take_table(tab: Tab, mapping: TableMapping, how: How) -> TakenSheet:
    """Return the rows of a table.

    Raises: UnreadableError where the mapping's heads aren't there, stand twice, or statements differ.
    """
    lines = sorted(tab.lines, key=lambda line: line.row)
    head = _head_line(tab, lines, mapping)
    table = _table(tab, head, mapping)
    own = stated((line for line in lines if line.row < head.row), tab.name)
    said = agreed(tab.name, own, how.statements)
    lengths = _lengths(table, said.get("lengths", ""))
    rows: list[TakenRow] = []
    untouched = 0
    for line in lines:
        if line.row <= head.row or line.texts == head.texts:
            continue
        row = _row(line, table, mapping, lengths)
        if row is None:
            untouched += 1
        else:
            rows.append(row)
    return TakenSheet(
        tab=tab.name,
        medium=mapping.medium,
        lengths=lengths,
        stated=said,
        head_row=head.row,
        rows=tuple(_joined(rows) if table.telling else rows),
        untouched=untouched,
        notes=(*tab.notes, *_unmapped(head, table, mapping)),
    )


def _head_line(tab: Tab, lines: list[Line], mapping: TableMapping) -> Line:
    asked = mapping.typed.head_row
    near = [line for line in lines if (line.row == asked if asked else line.row <= HEAD_WITHIN)]
    head = max(near, key=lambda line: (head_count(mapping, line.texts), -line.row), default=None)
    if head is None or not head_count(mapping, head.texts):
        where = f"in row {asked}" if asked else f"among the first {HEAD_WITHIN} rows"
        raise UnreadableError(
            f"none of the heads of mapping {mapping.kept.file} stands {where}",
            ", ".join([*mapping.circuit.heads, *(one.head for one in mapping.columns)][:6]),
            "name the mapping that belongs to this table, or mend its heads",
            tab=tab.name,
            row=asked or 0,
        )
    return head


def _table(tab: Tab, head: Line, mapping: TableMapping) -> _Table:
    """Return where the mapped columns stand; a head that is missing or stands twice is refused."""
    found: dict[str, list[int]] = {}
    for column, text in sorted(head.texts.items()):
        found.setdefault(plain(text), []).append(column)
    needed = [*mapping.circuit.heads]
    for one in mapping.columns:
        needed += [text for text in (one.head, one.by) if text and not one.optional and text not in needed]
    missing = [text for text in needed if plain(text) not in found]
    if missing:
        close = nearest(missing[0], head.texts.values())
        raise UnreadableError(
            f"the table has no head {', '.join(repr(text) for text in missing[:6])}",
            f"the heads of mapping {mapping.kept.file}",
            f"write {close!r} in the mapping" if close else "mend the mapping, or mark the column `optional: yes`",
            tab=tab.name,
            row=head.row,
        )
    used = {plain(text) for text in (*needed, *(text for one in mapping.columns for text in (one.head, one.by)))}
    for name, places in found.items():
        if name in used and len(places) > 1:
            letters = " and ".join(column_letters(column) for column in places)
            what = f"head {head.texts[places[0]][:60]!r} stands in columns {letters}"
            raise UnreadableError(what, "each mapped head once", "rename one of them", tab=tab.name, row=head.row)
    columns: dict[int, tuple[MappedTo, ...]] = {}
    for one in mapping.columns:
        if plain(one.head) in found:
            column = found[plain(one.head)][0]
            columns[column] = (*columns.get(column, ()), one)
    telling_apart = {one.by: found[plain(one.by)][0] for one in mapping.columns if one.by and plain(one.by) in found}
    circuit = tuple(found[plain(text)][0] for text in mapping.circuit.heads)
    return _Table(head.row, columns, circuit, telling_apart)


def _lengths(table: _Table, said: str) -> str:
    """Return the one unit in which all lengths of the table are, or what is stated, or nothing."""
    units = {one.unit for several in table.columns.values() for one in several if one.column.unit in LENGTHS}
    return next(iter(units)) if len(units) == 1 and units <= set(LENGTHS) else said


def _row(line: Line, table: _Table, mapping: TableMapping, lengths: str) -> TakenRow | None:
    """Return a row that says something, in the field sheet's columns, or None."""
    form = sheet(mapping.medium, lengths or LENGTHS[0])
    cells: dict[str, str] = {}
    numbers = set()
    notes = [*line.notes, *_formulas(line, table)]
    for column, several in table.columns.items():
        text = line.texts.get(column, "")
        to = _which(several, line, table) if text else None
        if to is None:
            if text:
                notes.append(_no_case(column, several[0].by, line, table))
            continue
        key, own = to.column.key, to.words.get(text.strip().casefold())
        cells[key] = own if own is not None else _with_unit(text, to.unit, form.column(key).unit if lengths else "")
        if column in line.numbers and own is None:
            numbers.add(key)
    if telling(mapping.medium).isdisjoint(cells):
        return None
    cells = dict(mapping.values) | cells
    return TakenRow(
        row=line.row,
        circuit=_circuit(line, table, mapping),
        round=cells.pop("round", ""),
        cells=cells,
        notes=tuple(notes),
        numbers=frozenset(numbers - {"round"}),
    )


def _which(several: tuple[MappedTo, ...], line: Line, table: _Table) -> MappedTo | None:
    """Return what a column is in this row, by what the column says that tells its cases apart."""
    for to in several:
        if not to.by or (to.by in table.telling and _said(to.by, line, table).casefold() == to.when):
            return to
    return None


def _said(by: str, line: Line, table: _Table) -> str:
    return line.texts.get(table.telling[by], "").strip() if by in table.telling else ""


def _no_case(column: int, by: str, line: Line, table: _Table) -> str:
    what = f"{_said(by, line, table)[:40]!r} under {by!r} is none of the mapping's cases"
    return f"column {column_letters(column)}: {what}, the cell is not taken"


JOINED: Final = " of the table is joined with this one"
"""How the remark on a joined row ends."""

_SAME: Final = ("date", "time", "strand", "block", "tested_from", "far_end")
"""Columns in which rows of one test say the same."""


def _joined(rows: Iterable[TakenRow]) -> list[TakenRow]:
    """Return rows of one circuit, round and moment as one, where a table has a row for each reading."""
    found: dict[object, TakenRow] = {}
    for row in rows:
        key = (row.circuit.casefold(), row.round, *(row.cells.get(name, "") for name in _SAME))
        first = found.get(key)
        if first is None or not row.circuit or any(first.cells.get(k, text) != text for k, text in row.cells.items()):
            # A row that says something else, or of no circuit, stays by itself.
            found[key if first is None and row.circuit else ("alone", row.row)] = row
            continue
        note = f"row {row.row}{JOINED}"
        found[key] = replace(
            first,
            cells={**first.cells, **row.cells},
            notes=(*first.notes, *row.notes, note),
            numbers=first.numbers | row.numbers,
        )
    return sorted(found.values(), key=lambda row: row.row)


def _with_unit(text: str, unit: str, own: str) -> str:
    """Return a bare number with the mapping's unit behind it, where the field sheet's column has another."""
    return f"{text} {unit}" if unit and unit != own and _NUMBER.fullmatch(text) else text


def _formulas(line: Line, table: _Table) -> Iterator[str]:
    for column in sorted(line.formulas & (table.columns.keys() | set(table.circuit))):
        kept = f"its stored value {line.texts[column]!r} is taken" if column in line.texts else "no value is stored"
        yield f"column {column_letters(column)}: a formula stands in a column for readings, {kept}"


def _circuit(line: Line, table: _Table, mapping: TableMapping) -> str:
    """Return a row's circuit id as the mapping finds it; empty where a part of it is missing."""
    how = mapping.circuit
    parts = [line.texts.get(column, "").strip() for column in table.circuit]
    if not all(parts):
        return ""
    text = how.joined_by.join(parts)
    if how.after and how.after in text:
        text = text.partition(how.after)[2]
    if how.before and how.before in text:
        text = text.partition(how.before)[0]
    for old, new in how.replace:
        text = text.replace(old, new)
    return how.prefix + text.strip()


def _unmapped(head: Line, table: _Table, mapping: TableMapping) -> Iterable[str]:
    ignored = {plain(text) for text in mapping.typed.ignore}
    telling_apart = set(table.telling.values())
    for column, text in sorted(head.texts.items()):
        used = column in table.columns or column in table.circuit or column in telling_apart
        if not used and plain(text) not in ignored:
            what = f"column {column_letters(column)}: head {text[:60]!r} is neither mapped nor ignored"
            yield f"{what}, its cells are not taken"
    there = {plain(one.head) for several in table.columns.values() for one in several}
    for head_text in dict.fromkeys(one.head for one in mapping.columns if plain(one.head) not in there):
        yield f"head {head_text[:60]!r} is mapped and the table has no such column"
