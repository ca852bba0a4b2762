"""A filled field sheet, opened as hostile input, as rows of text that know their place.

Sheets are recognized by their heads, wherever they stand. Nothing is dropped in silence: a sheet
that isn't a field sheet is kept aside with the reason, a column that isn't used gets a remark, and
the file as received is kept whole by whoever stores it.
"""

from __future__ import annotations

import hashlib
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import Final

from estimator.acceptance.columns import WORD_LISTS, listed_words
from estimator.field.intake_csv import read_csv
from estimator.field.intake_grid import Line, Span, Tab, UnreadableError, clean_name, column_letters
from estimator.field.intake_head import Head, MediumOf, about_columns, find_head, match_count, plain, telling
from estimator.field.intake_json import read_rows
from estimator.field.intake_mapped import head_count, take_table
from estimator.field.intake_open import bytes_of
from estimator.field.intake_stated import Statement, agreed
from estimator.field.intake_xlsx import read_workbook
from estimator.field.mapping import ENCODINGS, SIGNS
from estimator.field.taken import Aside, How, Intake, TakenRow, TakenSheet

_TEXT_ENDINGS: Final = (".csv", ".tsv", ".txt")
_ROWS_ENDING: Final = ".json"
_EXPECTED: Final = "a field sheet as .xlsx or .csv, or rows as .json"
_PLAIN: Final = How()
_ARCHIVE: Final = b"PK\x03\x04"
_OLD_OFFICE: Final = bytes.fromhex("d0cf11e0a1b11ae1")


def read_path(path: Path, medium_of: MediumOf | None = None, how: How = _PLAIN) -> Intake:
    """Return a field sheet's file as read; one that can't be opened is kept aside.

    ``medium_of`` tells the medium of a circuit, where heads alone fit several; ``how`` brings a
    mapping file and what options state.
    """
    name = clean_name(path.name) or clean_name(str(path))
    try:
        data = bytes_of(path)
    except UnreadableError as wrong:
        return _refused(name, b"", wrong)
    except OSError as wrong:
        problem = UnreadableError(
            f"the file can't be opened ({wrong.strerror or 'no reason given'})",
            "a file that this user may read",
            "mend the name or its permissions",
        )
        return _refused(name, b"", problem)
    return read_data(name, data, medium_of, how)


def read_data(name: str, data: bytes, medium_of: MediumOf | None = None, how: How = _PLAIN) -> Intake:
    """Return a field sheet as read from its bytes; never raises for what they hold."""
    file = clean_name(name)
    sheets: list[TakenSheet] = []
    aside: list[Aside] = []
    try:
        if _is_rows(name, data):
            sheets.extend(read_rows(data, how))
        for tab in () if sheets else _tabs(name, data, how):
            try:
                sheets.append(_take_with(tab, medium_of, how))
            except UnreadableError as wrong:
                if not _only_word_lists(tab):
                    aside.append(_aside(file, wrong))
        if not sheets and not aside:
            raise UnreadableError(
                "the file holds no field sheet", "a field sheet as .xlsx or .csv", "send the sheet that was filled in"
            )
    except UnreadableError as wrong:
        # A damaged sheet takes the whole file with it: half a file would look like a whole one.
        return _refused(file, data, wrong)
    return Intake(
        file=file,
        data=data,
        digest=hashlib.sha256(data).hexdigest(),
        sheets=tuple(sheets),
        aside=tuple(aside),
        how=how,
    )


def _is_rows(name: str, data: bytes) -> bool:
    """Return whether a file is one of rows: by its name, but never a workbook that was renamed."""
    return name.lower().endswith(_ROWS_ENDING) and bool(data.strip()) and not data.startswith((_ARCHIVE, _OLD_OFFICE))


def _only_word_lists(tab: Tab) -> bool:
    """Return whether a sheet is the hidden one of the field sheet that was sent, and nothing was written on it."""
    return tab.name == WORD_LISTS and all(text in listed_words() for line in tab.lines for text in line.texts.values())


def _refused(file: str, data: bytes, wrong: UnreadableError) -> Intake:
    return Intake(
        file=file, data=data, digest=hashlib.sha256(data).hexdigest(), sheets=(), aside=(_aside(file, wrong),)
    )


def _aside(file: str, wrong: UnreadableError) -> Aside:
    return Aside(file=file, wrong=wrong.wrong, expected=wrong.expected, mend=wrong.mend, tab=wrong.tab, row=wrong.row)


def _tabs(name: str, data: bytes, how: How) -> Iterable[Tab]:
    """Return the sheets of a file by what its first bytes say, not by its name alone."""
    expected = _EXPECTED
    if not data.strip():
        raise UnreadableError("the file is empty", expected, "save the sheet again and send it")
    if data.startswith(_ARCHIVE):
        return read_workbook(data)
    if data.startswith(_OLD_OFFICE):
        raise UnreadableError(
            "the file is an old .xls workbook or has a password", expected, "save it as .xlsx without a password"
        )
    if not name.lower().endswith(_TEXT_ENDINGS):
        ending = Path(clean_name(name)).suffix or "no ending"
        raise UnreadableError(
            f"the file is no workbook and its name ends in {ending}", expected, "save it as .xlsx, or as `CSV UTF-8`"
        )
    if how.mapping is None:
        return (read_csv(data, match_count),)
    typed = how.mapping.typed
    known = SIGNS.values() if typed.delimiter is None else (SIGNS[typed.delimiter],)
    heads = partial(head_count, how.mapping)
    return (read_csv(data, heads, encoding=ENCODINGS[typed.encoding], delimiters=tuple(known)),)


def _take_with(tab: Tab, medium_of: MediumOf | None, how: How) -> TakenSheet:
    """Return the rows of a sheet, by its own heads or by the mapping."""
    if how.mapping is None:
        return _take(tab, medium_of, how)
    asked = how.mapping.typed.sheet
    if asked and tab.name and asked.casefold() != tab.name.casefold():
        wrong = f"the sheet is not the one that mapping {how.mapping.kept.file} names"
        raise UnreadableError(wrong, f"sheet {asked}", "nothing to do, unless its rows are missed", tab=tab.name)
    return take_table(tab, how.mapping, how)


def _take(tab: Tab, medium_of: MediumOf | None, how: How) -> TakenSheet:
    head, own = find_head(tab, medium_of)
    by_heads = {"lengths": Statement(head.lengths, head.row, "the head row")} if head.lengths else {}
    stated = agreed(tab.name, own, (by_heads, *how.statements))
    spare, formulas = _spare_columns(tab, head)
    merged = _Merged(tab.spans, head)
    circuits: dict[int, str] = {}
    rows: list[TakenRow] = []
    untouched = 0
    heads = {column: plain(text) for column, text in _texts_of(tab, head.row).items()}
    for line in sorted(tab.lines, key=lambda line: line.row):
        if line.row <= head.row or _repeats(line, heads):
            continue
        row = _row(line, head, merged, circuits, formulas)
        if row is None:
            untouched += 1
        else:
            rows.append(row)
    notes = (*tab.notes, *about_columns(_without(head, formulas)), *spare)
    return TakenSheet(
        tab=tab.name,
        medium=head.medium,
        lengths=head.lengths,
        stated={name: text for name, text in stated.items() if name not in by_heads},
        head_row=head.row,
        rows=tuple(rows),
        untouched=untouched,
        notes=notes,
    )


def _texts_of(tab: Tab, row: int) -> Mapping[int, str]:
    return next(line.texts for line in tab.lines if line.row == row)


def _repeats(line: Line, heads: Mapping[int, str]) -> bool:
    """Return whether a row is the head again, as where sheets were pasted below each other."""
    return len(line.texts) > 1 and all(plain(text) == heads.get(column) for column, text in line.texts.items())


def _spare_columns(tab: Tab, head: Head) -> tuple[tuple[str, ...], frozenset[int]]:
    """Return remarks on cells without a head, and the columns that the sheet computes by itself."""
    formulas: set[int] = set()
    loose: dict[int, tuple[int, int]] = {}
    for line in tab.lines:
        if line.row <= head.row:
            continue
        formulas |= line.formulas & head.unknown.keys()
        for column in line.texts.keys() - head.keys.keys() - head.unknown.keys() - head.repeated.keys():
            first, count = loose.get(column, (line.row, 0))
            loose[column] = (min(first, line.row), count + 1)
    remarks = tuple(
        f"column {column_letters(column)} has no head: {count} cells are not taken, the first in row {first}"
        for column, (first, count) in sorted(loose.items())
    )
    return remarks, frozenset(formulas)


def _without(head: Head, formulas: frozenset[int]) -> Head:
    unknown = {column: text for column, text in head.unknown.items() if column not in formulas}
    return Head(
        row=head.row, medium=head.medium, lengths=head.lengths, keys=head.keys, unknown=unknown, repeated=head.repeated
    )


class _Merged:
    """The merged blocks that cover the circuit column, found by row."""

    def __init__(self, spans: Iterable[Span], head: Head) -> None:
        self.column = next(column for column, key in head.keys.items() if key == "circuit")
        self.spans = sorted(
            (
                span
                for span in spans
                if span.first_column <= self.column <= span.last_column and span.last_row > span.first_row > head.row
            ),
            key=lambda span: span.first_row,
        )
        self.starts = [span.first_row for span in self.spans]

    def first_row(self, row: int) -> int | None:
        """Return the first row of the block that holds a row's circuit, or None."""
        place = bisect_right(self.starts, row) - 1
        if place < 0 or self.spans[place].last_row < row:
            return None
        return self.spans[place].first_row


def _row(
    line: Line, head: Head, merged: _Merged, circuits: dict[int, str], formulas: frozenset[int]
) -> TakenRow | None:
    """Return a row with a reading, a note or evidence in it, or None."""
    cells = {key: line.texts[column] for column, key in head.keys.items() if column in line.texts}
    notes = list(line.notes)
    circuit = cells.pop("circuit", "")
    circuits[line.row] = circuit
    if not circuit:
        first = merged.first_row(line.row)
        circuit = circuits.get(first, "") if first is not None else ""
        if circuit:
            notes.append(f"circuit taken from row {first}, with which its cell is merged")
    if telling(head.medium).isdisjoint(cells):
        return None
    notes.extend(_formula_notes(line, head, formulas))
    numbers = frozenset(head.keys[column] for column in line.numbers & head.keys.keys()) & cells.keys()
    return TakenRow(
        row=line.row,
        circuit=circuit,
        round=cells.pop("round", ""),
        cells=cells,
        notes=tuple(notes),
        numbers=numbers - {"round"},
    )


def _formula_notes(line: Line, head: Head, formulas: frozenset[int]) -> Iterator[str]:
    for column in sorted(line.formulas & head.keys.keys()):
        kept = f"its stored value {line.texts[column]!r} is taken" if column in line.texts else "no value is stored"
        yield f"column {column_letters(column)}: a formula stands in a column for readings, {kept}"
    for column in sorted((formulas & line.texts.keys()) - line.formulas):
        text = line.texts[column][:60]
        yield f"column {column_letters(column)}: the formula was overwritten with {text!r}, which is not used"
