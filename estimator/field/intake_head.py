"""Which row of a foreign sheet is the head of a field sheet, of which medium, and what its columns hold."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.acceptance.columns import MEDIA, Column, guides, sheet
from estimator.field.intake_csv import HEAD_WITHIN
from estimator.field.intake_grid import Line, Tab, UnreadableError, column_letters
from estimator.field.intake_stated import Statement, stated
from estimator.spec.faults import nearest

MediumOf = Callable[[str], str | None]
"""Tells the medium of a circuit by its id, or None where the job has no such circuit."""

_LEAST: Final = 2  # heads that make a row with a circuit column a head row
_LEAST_WITHOUT_CIRCUIT: Final = 4
_NO_HEAD: Final = (
    f"no head row of a field sheet among the first {HEAD_WITHIN} rows",
    "a row of column heads such as Circuit, Round, Length [ft]",
    "copy the rows into the field sheet that was sent; a table with other heads comes in by a mapping file (--mapping)",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Head:
    """The head row of a field sheet: medium, unit of length, column numbers with their keys."""

    row: int
    medium: str
    lengths: str
    keys: Mapping[int, str]
    unknown: Mapping[int, str]
    repeated: Mapping[int, str]


def plain(text: str) -> str:
    """Return a head as it is compared: without regard to case, spaces and punctuation.

    >>> plain("  Length 1-2 [FT] ") == plain("length_12 (ft)")
    True
    """
    folded = unicodedata.normalize("NFKC", text).casefold()
    return "".join(sign for sign in folded if sign.isalnum() or sign == "%")


@cache
def _names() -> Mapping[str, Mapping[str, tuple[str, str]]]:
    """Return per head as compared: medium to (column key, unit of length that the head names)."""
    names: dict[str, dict[str, tuple[str, str]]] = {}
    for medium in MEDIA:
        for column, other in zip(sheet(medium, "ft").columns, sheet(medium, "m").columns, strict=True):
            for name, unit in _spellings(column, other):
                names.setdefault(plain(name), {}).setdefault(medium, (column.key, unit))
    return names


def _spellings(in_feet: Column, in_meters: Column) -> Iterable[tuple[str, str]]:
    same = in_feet.title == in_meters.title
    yield in_feet.title, "" if same else "ft"
    yield in_meters.title, "" if same else "m"
    yield in_feet.key, ""
    yield in_feet.head, ""


def match_count(texts: Mapping[int, str]) -> int:
    """Return how many known heads of one medium a row holds."""
    counts = _counts(texts)
    return max(counts.values(), default=0)


def _counts(texts: Mapping[int, str]) -> dict[str, int]:
    found: dict[str, set[str]] = {}
    for text in texts.values():
        if len(text) < 80:
            for medium, (key, _) in _names().get(plain(text), {}).items():
                found.setdefault(medium, set()).add(key)
    return {medium: len(keys) for medium, keys in found.items()}


def find_head(tab: Tab, medium_of: MediumOf | None = None) -> tuple[Head, dict[str, Statement]]:
    """Return a sheet's head row and what is stated above it.

    Where the heads fit several media, the circuits in the rows decide if all of them are of one.

    Raises: UnreadableError where the sheet is no field sheet, lacks the circuit column, fits several
    media or mixes feet and meters.
    """
    above = [line for line in tab.lines if line.row <= HEAD_WITHIN]
    line = max(above, key=lambda line: (match_count(line.texts), -line.row), default=None)
    if line is None or match_count(line.texts) < _LEAST:
        raise UnreadableError(*_NO_HEAD, tab=tab.name)
    said = stated((earlier for earlier in above if earlier.row < line.row), tab.name)
    medium = _medium(tab, line, said, medium_of)
    return _head(tab, line, medium), said


def _medium(tab: Tab, line: Line, said: Mapping[str, Statement], medium_of: MediumOf | None) -> str:
    counts = _counts(line.texts)
    best = max(counts.values())
    fits = [medium for medium in MEDIA if counts.get(medium) == best]
    if len(fits) == 1:
        return fits[0]
    words = {plain(tab.name), *(plain(said[name].text) for name in ("medium", "sheet") if name in said)}
    named = [medium for medium in fits if {plain(medium), plain(sheet(medium).title)} & words]
    if len(named) == 1:
        return named[0]
    tested = {medium_of(circuit) for circuit in _circuits(tab, line)} - {None} if medium_of else set()
    by_circuit = [medium for medium in fits if {medium} == tested]
    if by_circuit:
        return by_circuit[0]
    raise UnreadableError(
        f"the heads fit {len(fits)} field sheets ({', '.join(fits)})",
        "the heads of one medium",
        f"write `medium: {fits[0]}` in a row above the head",
        tab=tab.name,
        row=line.row,
    )


def _circuits(tab: Tab, head: Line) -> Iterable[str]:
    """Yield the circuits that the rows below a head name."""
    columns = [column for column, text in head.texts.items() if plain(text) == "circuit"]
    for line in tab.lines:
        if line.row > head.row:
            yield from (line.texts[column] for column in columns if column in line.texts)


def _head(tab: Tab, line: Line, medium: str) -> Head:
    keys: dict[int, str] = {}
    unknown: dict[int, str] = {}
    repeated: dict[int, str] = {}
    units: dict[str, str] = {}
    for column, text in sorted(line.texts.items()):
        found = _names().get(plain(text), {}).get(medium)
        if found is None:
            unknown[column] = text
        elif found[0] in keys.values():
            repeated[column] = text
        else:
            keys[column] = found[0]
            if found[1]:
                units.setdefault(found[1], text)
    if "circuit" not in keys.values():
        _no_circuit(tab, line, keys, unknown)
    if len(units) > 1:
        raise UnreadableError(
            f"the heads mix units of length: {' and '.join(units.values())}",
            "one unit of length",
            "convert one of the columns",
            tab=tab.name,
            row=line.row,
        )
    return Head(
        row=line.row, medium=medium, lengths=next(iter(units), ""), keys=keys, unknown=unknown, repeated=repeated
    )


def _no_circuit(tab: Tab, line: Line, keys: Mapping[int, str], unknown: Mapping[int, str]) -> None:
    if len(keys) < _LEAST_WITHOUT_CIRCUIT:
        raise UnreadableError(*_NO_HEAD, tab=tab.name)
    close = nearest("circuit", unknown.values())
    mend = f"rename {close!r} to Circuit" if close else "add a column Circuit with the id of each row's circuit"
    raise UnreadableError("the column Circuit is missing", "a column Circuit", mend, tab=tab.name, row=line.row)


@cache
def telling(medium: str) -> frozenset[str]:
    """Return the columns of which one must be filled for a row to say something."""
    return frozenset({"note", "evidence"} | {column.key for column in sheet(medium).readings})


def about_columns(head: Head) -> Iterable[str]:
    """Yield a remark for every head that isn't used."""
    form = sheet(head.medium)
    titles = [column.title for column in form.columns]
    for column, text in head.unknown.items():
        if guides(text):
            continue
        close = nearest(text, titles)
        hint = f"; nearest is {close!r}" if close else ""
        yield f"column {column_letters(column)}: head {text[:60]!r} is not known, its cells are not judged{hint}"
    for column, text in head.repeated.items():
        yield f"column {column_letters(column)}: head {text[:60]!r} stands twice, the first column counts"
    if not head.lengths and any(form.column(key).unit == "ft" for key in head.keys.values()):
        yield "no head names the unit of its lengths: they are taken in the project's unit"
