"""A mapping file: how the plain table that an instrument writes becomes rows of a field sheet.

It is YAML, read by the same guarded reader as a project file, and it is kept in the batch that was
read by it, so that reading the same bytes again gives the same rows.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from estimator.acceptance.columns import MEDIA, Column, Sheet, sheet
from estimator.field.intake_head import plain
from estimator.field.intake_stated import DATE_ORDERS, DECIMALS
from estimator.spec.faults import Fault, Faults, Place, known_words, nearest
from estimator.spec.fields import Block, Choice, Count, ListOf, Pairs, Text, YesNo, record, spec
from estimator.spec.nodes import Mapping as Tree
from estimator.spec.nodes import Node, Scalar, Source, read_yaml
from estimator.spec.reading import Reader, regular_bytes
from estimator.units.table import FACTORS, dimension_of

FORMAT: Final = 1
"""Format of the mapping files that this release reads."""

ENCODINGS: Final = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "latin-1": "latin-1", "windows-1252": "cp1252"}
"""Encodings of text that can be stated, with the names of their decoders."""

SIGNS: Final = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
"""What can stand between two cells of a text table, by name."""


class Joint(Text):
    """A short text that may be empty in quotes, such as nothing between two parts of an id."""

    def read(self, node: Node, reader: Reader) -> str:
        """Return the text. Raises: ProblemError for a block, a list, or nothing at all."""
        if isinstance(node, Scalar) and not node.value and not node.plain:
            return ""
        return super().read(node, reader)


_WORDS: Final = Pairs(ListOf(Text(120)), "our words")


@record
class CircuitId:
    """How the circuit's id is found in the table."""

    heads: tuple[str, ...] = spec(ListOf(Text(120), least=1), "columns that make up the id, in order")
    joined_by: str = spec(Joint(10), "what is put between them", default="-")
    after: str = spec(Text(60), "only what stands behind this text counts", default="")
    before: str = spec(Text(60), "only what stands in front of this text counts", default="")
    prefix: str = spec(Text(40), "put in front of what was found", default="")
    replace: tuple[tuple[str, str], ...] = spec(Pairs(Joint(20), "texts in the id"), "texts replaced", default=())
    source: Source


@record
class MappedColumn:
    """One column of the table: what it is on the field sheet, always or by what another column says."""

    head: str = spec(Text(120), "head of the column in the table")
    column: str = spec(Text(60), "key or head of the field sheet's column", key="is", default="")
    by: str = spec(Text(120), "head of the column that says which reading it is, such as Pair", default="")
    cases: tuple[tuple[str, str], ...] = spec(
        Pairs(Text(60), "what stands there"), "what it is on the field sheet by what stands there", default=()
    )
    unit: str = spec(Text(12), "unit of its numbers", default="")
    words: tuple[tuple[str, tuple[str, ...]], ...] = spec(_WORDS, "our words with the table's for them", default=())
    optional: bool = spec(YesNo(), "the table may lack it", default=False)
    source: Source


@record
class MappingFile:
    """A mapping file as typed."""

    mapping: int = spec(Count(FORMAT, FORMAT), "format version")
    medium: str = spec(Choice(*MEDIA), "which field sheet the table belongs to")
    circuit: CircuitId = spec(Block(CircuitId), "how the circuit's id is found")
    columns: tuple[MappedColumn, ...] = spec(ListOf(Block(MappedColumn), least=1), "columns of the table")
    sheet: str = spec(Text(120), "worksheet that holds the table", default="")
    head_row: int | None = spec(Count(1, 1000), "row of the heads", default=None)
    delimiter: str | None = spec(Choice(*SIGNS), "what stands between cells of a text file", default=None)
    encoding: str = spec(Choice(*ENCODINGS), "encoding of a text file", default="utf-8")
    decimals: str | None = spec(Choice(*DECIMALS), "decimal sign of its numbers", default=None)
    dates: str | None = spec(Choice(*DATE_ORDERS), "order of day, month and year", default=None)
    words: tuple[tuple[str, tuple[str, ...]], ...] = spec(_WORDS, "our words with the table's for them", default=())
    values: tuple[tuple[str, str], ...] = spec(
        Pairs(Text(120), "columns of the field sheet"), "what holds for every row", default=()
    )
    ignore: tuple[str, ...] = spec(ListOf(Text(120)), "heads that are left out on purpose", default=())
    source: Source


@dataclass(frozen=True, kw_only=True, slots=True)
class MappingBytes:
    """A mapping file as received: its name, its bytes and their hash."""

    file: str
    data: bytes
    digest: str


@dataclass(frozen=True, kw_only=True, slots=True)
class MappedTo:
    """One column of the table, resolved: its head, the field sheet's column, unit and words.

    ``by`` is the head of the column that must say ``when`` (as compared) for it; empty where it always holds.
    """

    head: str
    column: Column
    unit: str
    words: Mapping[str, str]  # the table's word, as compared, to ours
    optional: bool
    by: str = ""
    when: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class TableMapping:
    """A mapping file without a fault."""

    kept: MappingBytes
    medium: str
    circuit: CircuitId
    columns: tuple[MappedTo, ...]
    typed: MappingFile
    values: Mapping[str, str]  # what holds for every row, by key of the field sheet's column


def load_mapping(path: Path) -> tuple[TableMapping | None, tuple[Fault, ...]]:
    """Return the mapping of a file, or None and its faults."""
    data = regular_bytes(path)
    faults = Faults()
    found = None
    if data is None:
        why = "there is no such file" if not path.exists() else "it is not a regular file that this user may read"
        faults.add(Place(path.name, 1, 1), f"the mapping can't be read ({why})", "a YAML mapping file", "mend the name")
    else:
        found = read_mapping(path.name, data, faults)
    return found, faults.sorted(path.parent.as_posix())


def read_mapping(name: str, data: bytes, faults: Faults) -> TableMapping | None:
    """Return the mapping of a file's bytes, or None where it has a fault."""
    reader = Reader(Path(), faults)
    reader.file = name
    root = read_yaml(data, name, faults)
    if not isinstance(root, Tree):
        if not faults.found:
            faults.add(Place(name, 1, 1), "the file has no keys", "`mapping: 1` and what follows", "fill it")
        return None
    typed = reader.record(MappingFile, root)
    if typed is None:
        return None
    values = _values(typed, faults)
    columns = tuple(_resolved(typed, values, faults))
    _heads_once(typed, faults)
    _words_used(typed, columns, faults)
    if faults.found:
        return None
    kept = MappingBytes(file=name, data=data, digest=hashlib.sha256(data).hexdigest())
    return TableMapping(
        kept=kept, medium=typed.medium, circuit=typed.circuit, columns=columns, typed=typed, values=values
    )


def _column(form: Sheet, name: str, place: Place, faults: Faults) -> Column | None:
    """Return the field sheet's column of a key, a head or a head with its unit; None with a fault for no such."""
    wanted = plain(name)
    column = next((c for c in form.columns if wanted in (plain(c.key), plain(c.head), plain(c.title))), None)
    if column is not None and column.key != "circuit":
        return column
    keys = [one.key for one in form.columns if one.key != "circuit"]
    if column is not None:
        wrong, mend = "the circuit is no column to map here", "describe it under `circuit`"
    else:
        close = nearest(name, [*keys, *(one.head for one in form.columns)])
        wrong = f"{name!r} is no column of the {form.medium} field sheet"
        mend = f"write {close}" if close else "pick one of them, or list the head under `ignore`"
    faults.add(place, wrong, f"one of {known_words(keys, 60)}", mend)
    return None


def _values(typed: MappingFile, faults: Faults) -> dict[str, str]:
    form = sheet(typed.medium)
    found = {}
    for name, text in typed.values:
        column = _column(form, name, typed.source.at("values"), faults)
        if column is not None:
            found[column.key] = text
        if column is not None and column.words and text.casefold() not in column.words:
            wrong = f"{text!r} is no word of {column.head}"
            faults.add(typed.source.at("values"), wrong, f"one of {known_words(column.words)}", "mend the word")
    return found


def _resolved(typed: MappingFile, values: Mapping[str, str], faults: Faults) -> Iterable[MappedTo]:
    form = sheet(typed.medium)
    taken: dict[str, str] = dict.fromkeys(values, "`values`")
    for one in typed.columns:
        for when, name in _cases(one, faults):
            place = one.source.at("cases" if when else "is")
            column = _column(form, name, place, faults)
            if column is None:
                continue
            mapped = f"head {one.head!r}{f' for {when!r}' if when else ''}"
            before = taken.setdefault(column.key, mapped)
            if before != mapped:
                what = f"{name!r} is also mapped by {before}"
                faults.add(place, what, "each column of the field sheet once", "delete one of them")
            yield MappedTo(
                head=one.head,
                column=column,
                unit=_unit(one, column, faults),
                words=_general_words(column, typed.words) | _own_words(column, one, faults),
                optional=one.optional,
                by=one.by,
                when=when.strip().casefold(),
            )


def _cases(one: MappedColumn, faults: Faults) -> Iterable[tuple[str, str]]:
    """Return what a column is: by what stands in another one, or always."""
    if bool(one.column) == bool(one.cases) or bool(one.by) != bool(one.cases):
        expected = "`is`, or `by` together with `cases`"
        faults.add(one.source.at(), f"head {one.head!r} is mapped by halves or doubly", expected, "mend the keys")
        return ()
    return one.cases or (("", one.column),)


def _unit(one: MappedColumn, column: Column, faults: Faults) -> str:
    """Return the unit of a mapped column; a number that has a dimension needs one."""
    dimension = dimension_of(column.unit) if column.unit else None
    if column.kind != "number" or dimension is None:
        if one.unit and one.unit != column.unit:
            wrong = f"{one.column!r} has no unit {one.unit!r}"
            faults.add(one.source.at("unit"), wrong, column.unit or "no unit", "delete `unit`")
        return ""
    known = tuple(FACTORS[dimension])
    if not one.unit:
        wrong = f"the unit of {one.head!r} is missing"
        faults.add(one.source.at(), wrong, f"one of {known_words(known)}", "add `unit:`; it is never guessed")
    elif one.unit not in known:
        close = nearest(one.unit, known)
        mend = f"write {close}" if close else "pick one of them"
        faults.add(one.source.at("unit"), f"{one.unit!r} is no unit of {dimension}", f"one of {known_words(known)}",
                   mend)  # fmt: skip
    return one.unit


def _general_words(column: Column, pairs: Iterable[tuple[str, tuple[str, ...]]]) -> dict[str, str]:
    """Return the words that hold for every column which knows our side of them."""
    return {
        word.strip().casefold(): ours
        for ours, theirs in pairs
        if ours.casefold() in column.words or _is_beyond(ours, column)
        for word in theirs
    }


def _is_beyond(ours: str, column: Column) -> bool:
    return ours.upper() == "OL" and (column.kind == "number" or column.test == "open_short")


def _own_words(column: Column, one: MappedColumn, faults: Faults) -> dict[str, str]:
    """Return a column's own words; a free text, such as the limit's name, may become any other."""
    found: dict[str, str] = {}
    for ours, theirs in one.words:
        free = column.kind not in ("choice", "number") and not column.words
        if not (free or ours.casefold() in column.words or _is_beyond(ours, column)):
            expected = f"one of {known_words(column.words)}" if column.words else "OL"
            faults.add(one.source.at("words"), f"{ours!r} is no word of {column.head}", expected, "mend the word")
        for word in theirs:
            before = found.setdefault(word.strip().casefold(), ours)
            if before != ours:
                what = f"{word!r} stands for {before!r} and for {ours!r}"
                faults.add(one.source.at("words"), what, "one meaning for each word", "delete one of them")
    return found


def _words_used(typed: MappingFile, columns: Iterable[MappedTo], faults: Faults) -> None:
    """A general word that no mapped column knows is a slip: its rows would not be judged."""
    known = sorted({"OL", *(word for one in columns for word in one.column.words)})
    meant: dict[str, str] = {}
    for ours, theirs in typed.words:
        if ours.casefold() not in {word.casefold() for word in known}:
            what = f"{ours!r} is no word of a mapped column"
            mend = "mend the word, or give the words below their column"
            faults.add(typed.source.at("words"), what, f"one of {known_words(known, 30)}", mend)
        for word in theirs:
            before = meant.setdefault(word.strip().casefold(), ours)
            if before != ours:
                what = f"{word!r} stands for {before!r} and for {ours!r}"
                mend = "give them below their columns, or delete one"
                faults.add(typed.source.at("words"), what, "one meaning for each word", mend)


def _heads_once(typed: MappingFile, faults: Faults) -> None:
    seen: dict[str, MappedColumn] = {}
    for one in typed.columns:
        if seen.setdefault(plain(one.head), one) is not one:
            faults.add(one.source.at("head"), f"head {one.head!r} is mapped twice", "each head once", "delete one")
    for head in typed.ignore:
        if plain(head) in seen:
            what = f"head {head!r} is both mapped and ignored"
            faults.add(typed.source.at("ignore"), what, "one of the two", "delete one")
