"""An instrument's own result file, kept beside the batches by the hash of its content, and the rows it backs.

A row is backed where it names a kept file, or where one file was handed in together with a sheet
that names none. What a row names and nobody handed in backs nothing: the row is reported.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from estimator.field.intake_grid import UnreadableError, clean_name
from estimator.field.intake_open import bytes_of
from estimator.field.rows import SHORT, ReadRow
from estimator.field.typed import NOTHING, bare


@dataclass(frozen=True, kw_only=True, slots=True)
class EvidenceFile:
    """An instrument's result file by name, hash and size [B]."""

    file: str
    digest: str
    size: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Evidence:
    """Result files handed in at once, and the batches of the sheets that came with them."""

    files: tuple[EvidenceFile, ...]
    batches: tuple[str, ...] = ()
    batch: str = ""


def read_evidence(path: Path) -> tuple[EvidenceFile, bytes]:
    """Return a result file and its bytes; nothing of it is interpreted.

    Raises: UnreadableError for what is no regular file, empty or too large, OSError where it can't be read.
    """
    data = bytes_of(path)
    if not data:
        raise UnreadableError("the file is empty", "an instrument's result file", "export it again")
    name = clean_name(path.name) or clean_name(str(path))
    return EvidenceFile(file=name, digest=hashlib.sha256(data).hexdigest(), size=len(data)), data


def backed(rows: Iterable[ReadRow], kept: Sequence[Evidence]) -> list[ReadRow]:
    """Return the rows, those that a kept file backs with its name, record and hash."""
    if not kept:
        return list(rows)
    listed = list(rows)
    naming = {row.batch for row in listed if _named(row)}
    found = []
    for row in listed:
        backing = backing_of(row, kept, alone=row.batch not in naming)
        found.append(replace(row, backing=backing) if backing else row)
    return found


def _named(row: ReadRow) -> str:
    """Return what a row names as its evidence; empty where it names nothing."""
    named = bare(row.cells.get("evidence", ""))
    return "" if named.casefold() in NOTHING else named


def backing_of(row: ReadRow, kept: Sequence[Evidence], *, alone: bool = True) -> str:
    """Return which kept file backs a row, with the record in it and its hash; empty where none does.

    Files handed in with the row's own sheet come first. Two files of one name and different content
    back nothing, because nobody can say which of them is meant. ``alone`` says that no row of its
    sheet names any evidence: then the one file that was handed in with the sheet is meant.
    """
    named = _named(row)
    text = named or bare(row.stated.get("evidence", ""))
    own = [one for one in kept if row.batch in one.batches]
    if not text:
        given = {file.digest: file for one in own for file in one.files}
        return _shown(next(iter(given.values())), _record(row)) if alone and len(given) == 1 else ""
    for group in (own, kept):
        hits = {file.digest: (file, rest) for file, rest in _hits(group, text)}
        if hits:
            file, rest = next(iter(hits.values()))
            return _shown(file, rest if named else _record(row)) if len(hits) == 1 else ""
    return ""


def _hits(kept: Iterable[Evidence], named: str) -> Iterable[tuple[EvidenceFile, str]]:
    """Return the files that a text names, whole or without their ending, with what follows the longest name."""
    text = named.casefold()
    best = 1
    found: list[tuple[EvidenceFile, str]] = []
    for one in kept:
        for file in one.files:
            for name in {file.file, file.file.rpartition(".")[0]}:
                if text.startswith(name.casefold()) and not text[len(name) :][:1].isalnum() and len(name) >= best:
                    found = found if len(name) == best else []
                    best = len(name)
                    found.append((file, named[len(name) :].strip(" ,;:#")))
    return found


def _record(row: ReadRow) -> str:
    return f"record {bare(row.circuit)}"


def _shown(file: EvidenceFile, record: str) -> str:
    return f"{file.file}{', ' if record else ''}{record} (sha256 {file.digest[:SHORT]})"
