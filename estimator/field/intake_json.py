"""A .json file of rows: what a page on a phone exports, in the words of the field sheets.

``{"dropledger_rows": 1, "sheets": [{"medium": ..., "lengths": ..., "stated": {...}, "rows":
[{"circuit": ..., "round": ..., "cells": {...}}]}]}``. Cells go by the keys or the heads of the field
sheet's columns; a value is text, or a number, which then has a point by JSON's own rule.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NoReturn, TypeGuard

from estimator.acceptance.columns import MEDIA, Sheet, sheet
from estimator.field.intake_grid import MOST_ROWS, Line, UnreadableError, clean, clean_name
from estimator.field.intake_head import plain, telling
from estimator.field.intake_stated import LENGTHS, Statement, agreed
from estimator.field.taken import How, TakenRow, TakenSheet
from estimator.spec.faults import known_words, nearest

FORMAT: Final = 1
"""Format of the files of rows that this release reads."""

_MARK: Final = "dropledger_rows"
_MOST_CELLS: Final = 500
_LONGEST: Final = 80  # signs of a name that are looked at
_AGAIN: Final = "export the rows again"


class _Number(str):
    """A JSON number as it was written."""

    __slots__ = ()


def read_rows(data: bytes, how: How) -> tuple[TakenSheet, ...]:
    """Return the sheets of a file of rows.

    Raises: UnreadableError saying where the file is no such file.
    """
    value = _parsed(data)
    if not _is_block(value) or value.get(_MARK) != _Number(FORMAT):
        found = value.get(_MARK) if _is_block(value) else None
        what = f"`{_MARK}` is {str(found)[:20]}" if found is not None else f"the file has no `{_MARK}`"
        _refuse(what, f'`"{_MARK}": {FORMAT}` and `"sheets"`', _AGAIN)
    _only(value, (_MARK, "job", "sheets"), "")
    sheets = value.get("sheets")
    if not _is_list(sheets) or not sheets:
        _refuse("`sheets` is no list with a sheet in it", "a list of sheets", _AGAIN)
    if sum(len(rows) for one in sheets if _is_block(one) and _is_list(rows := one.get("rows"))) > MOST_ROWS:
        _refuse(f"the file holds more than {MOST_ROWS:,} rows", f"at most {MOST_ROWS:,}", "split the file")
    return tuple(_sheet(one, f"{number}", how) for number, one in enumerate(sheets, 1))


def _refuse(wrong: str, expected: str, mend: str, tab: str = "", row: int = 0) -> NoReturn:
    raise UnreadableError(wrong, expected, mend, tab=tab, row=row)


def _once(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    """Return a block of keys; one that stands twice is refused."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        _refuse(f"key {clean_name(twice)[:40]!r} stands twice in a block", "each key once", _AGAIN)
    return found


def _no_number(word: str) -> NoReturn:
    _refuse(f"{word} is no number", "numbers and text", _AGAIN)


def _parsed(data: bytes) -> object:
    """Return the JSON value, numbers as they were written."""
    try:
        return json.loads(
            data.decode("utf-8-sig"),
            object_pairs_hook=_once,
            parse_int=_Number,
            parse_float=_Number,
            parse_constant=_no_number,
        )
    except UnicodeDecodeError as wrong:
        _refuse(f"byte 0x{data[wrong.start]:02x} is not UTF-8 text", "UTF-8 text", _AGAIN)
    except json.JSONDecodeError as wrong:
        what = f"line {wrong.lineno}, column {wrong.colno}: this stops being JSON here"
        _refuse(what, "a whole JSON file", _AGAIN)
    except RecursionError:
        _refuse("blocks are nested without end", "sheets, rows and cells", "don't trust this file")


def _is_block(value: object) -> TypeGuard[Mapping[str, object]]:
    return isinstance(value, dict)


def _is_list(value: object) -> TypeGuard[list[object]]:
    return isinstance(value, list)


def _only(block: Mapping[str, object], known: Sequence[str], tab: str, row: int = 0) -> None:
    for key in block:
        if key not in known:
            close = nearest(key[:40], known)
            mend = f"write {close!r}" if close else "delete it"
            what = f"key {clean_name(key)[:40]!r} is not known here"
            _refuse(what, f"one of {known_words(known)}", mend, tab, row)


def _text(block: Mapping[str, object], key: str, tab: str, row: int = 0) -> str:
    value = block.get(key, "")
    if not isinstance(value, str):
        _refuse(f"`{clean_name(key)[:40]}` is no text", "text or a number", _AGAIN, tab, row)
    return value


def _sheet(value: object, tab: str, how: How) -> TakenSheet:
    if not _is_block(value):
        _refuse("the sheet is no block of keys", "a block with `medium` and `rows`", _AGAIN, tab)
    _only(value, ("medium", "lengths", "stated", "rows"), tab)
    medium, lengths = _text(value, "medium", tab), _text(value, "lengths", tab)
    if medium not in MEDIA:
        close = nearest(medium[:40], MEDIA)
        mend = f"write {close!r}" if close else "pick one of them"
        _refuse(f"medium {clean_name(medium)[:40]!r} is not known", f"one of {', '.join(MEDIA)}", mend, tab)
    if lengths not in ("", *LENGTHS):
        _refuse(f"lengths in {clean_name(lengths)[:40]!r} are not known", " or ".join(LENGTHS), "mend the word", tab)
    stated, rows = value.get("stated", {}), value.get("rows")
    if not _is_block(stated) or not _is_list(rows):
        _refuse("`stated` is no block of keys, or `rows` no list", "both as they are exported", _AGAIN, tab)
    own = {name.lower(): Statement(_text(stated, name, tab)) for name in stated}
    by_sheet = ({"lengths": Statement(lengths)},) if lengths else ()
    said = agreed(tab, own, (*by_sheet, *how.statements))
    keys = _Keys(sheet(medium))
    taken = [_row(row, place, keys, tab) for place, row in enumerate(rows, 1)]
    kept = tuple(row for row in taken if row is not None)
    return TakenSheet(
        tab=tab,
        medium=medium,
        lengths=said.get("lengths", ""),
        stated=said,
        head_row=0,
        rows=kept,
        untouched=len(taken) - len(kept),
        notes=tuple(keys.notes()),
    )


class _Keys:
    """The columns of a sheet by every name that a cell may go by, and the names that fit none."""

    def __init__(self, form: Sheet) -> None:
        self.form = form
        self.listed = [one.key for one in form.columns if one.key not in ("circuit", "round")]
        named = [one for one in form.columns if one.key in self.listed]
        self.by_name = {plain(one.head): one.key for one in named} | {plain(one.key): one.key for one in named}
        self.unknown: dict[str, int] = {}

    def find(self, name: str) -> str | None:
        """Return the key that a cell's name stands for; a name that fits none is counted."""
        key = self.by_name.get(plain(name[:_LONGEST]))
        if key is None:
            self.unknown[name] = self.unknown.get(name, 0) + 1
        return key

    def notes(self) -> Iterable[str]:
        """Yield a remark for every name that fits no column, of rows that are left out too."""
        medium = self.form.medium
        for name, rows in list(self.unknown.items())[:_MOST_CELLS]:
            close = nearest(name[:40], self.listed)
            hint = f"nearest is {close!r}" if close else f"there are {', '.join(self.listed)}"
            where = "1 row" if rows == 1 else f"{rows} rows"
            what = f"key {clean_name(name)[:60]!r} of {where} is no column of the {medium} field sheet"
            yield f"{what}, it is not judged; {hint}"


def _row(value: object, place: int, columns: _Keys, tab: str) -> TakenRow | None:
    if not _is_block(value):
        _refuse("the row is no block of keys", "a block with `circuit` and `cells`", _AGAIN, tab, place)
    _only(value, ("circuit", "round", "cells"), tab, place)
    typed = value.get("cells", {})
    if not _is_block(typed) or len(typed) > _MOST_CELLS:
        _refuse("`cells` is no block of keys", "a key for each column", _AGAIN, tab, place)
    line = Line(place)
    cells: dict[str, str] = {}
    numbers = set()
    for name in typed:
        key = columns.find(name)
        text = _cell(_text(typed, name, tab, place), line, name) if key else ""
        if not key or not text:
            continue
        if key in cells:
            _refuse(
                f"{clean_name(name)[:40]!r} says once more what stands under {key!r}", "each once", _AGAIN, tab, place
            )
        cells[key] = text
        if isinstance(typed[name], _Number):
            numbers.add(key)
    if telling(columns.form.medium).isdisjoint(cells):
        return None
    return TakenRow(
        row=place,
        circuit=_cell(_text(value, "circuit", tab, place), line, "circuit"),
        round=_cell(_text(value, "round", tab, place), line, "round"),
        cells=cells,
        notes=tuple(line.notes),
        numbers=frozenset(numbers),
    )


def _cell(text: str, line: Line, name: str) -> str:
    """Return a value as a cell of any other sheet: trimmed, without control characters."""
    before = len(line.notes)
    shown = clean(str(text), 0, line)
    line.notes[before:] = [note.replace("column A", f"key {name}") for note in line.notes[before:]]
    return shown
