"""What stands in a batch file: canonical JSON of a sheet's rows as read, of evidence, or of one decision."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Final, TypeGuard

from estimator.field.evidence import Evidence, EvidenceFile
from estimator.field.rows import Decision, ReadRow
from estimator.field.taken import How, Intake, TakenSheet

FORMAT: Final = 1
"""Format of the batches that this release writes and reads."""


@dataclass(frozen=True, slots=True)
class Content:
    """One batch file, its values still to be turned into rows or a decision."""

    value: Mapping[str, object]

    @property
    def file(self) -> str:
        """Return the name of the sheet as received, or nothing for a decision."""
        return _text(_block(self.value, "received"), "file") if "received" in self.value else ""

    @property
    def digest(self) -> str:
        """Return the hash of the sheet as received, or nothing for a decision."""
        return _text(_block(self.value, "received"), "sha256") if "received" in self.value else ""

    @property
    def how(self) -> Mapping[str, str]:
        """Return what tells how the sheet was read: options, and the hash of a mapping file."""
        if "how" not in self.value:
            return {}
        how = _block(self.value, "how")
        mapping = {"mapping": _text(_block(how, "mapping"), "sha256")} if "mapping" in how else {}
        return _texts(how, "options") | mapping

    def evidence(self, batch: str) -> Evidence | None:
        """Return the evidence, if the batch is some."""
        if "evidence" not in self.value:
            return None
        files = tuple(
            EvidenceFile(file=_text(one, "file"), digest=_text(one, "sha256"), size=_number(one, "bytes"))
            for one in map(_mapping, _list(self.value, "evidence"))
        )
        batches = tuple(str(name) for name in _list(self.value, "batches"))
        return Evidence(files=files, batches=batches, batch=batch)

    def _sheets(self) -> Iterator[Mapping[str, object]]:
        for sheet in _list(self.value, "sheets") if "sheets" in self.value else ():
            yield _mapping(sheet)

    def rows(self, batch: str, order: int) -> Iterator[ReadRow]:
        """Yield the rows as read, numbered on from what was received before."""
        file = self.file
        for sheet in self._sheets():
            tab, medium, lengths = _text(sheet, "tab"), _text(sheet, "medium"), _text(sheet, "lengths")
            stated = _texts(sheet, "stated")
            for value in _list(sheet, "rows"):
                row = _mapping(value)
                yield ReadRow(
                    batch=batch,
                    file=file,
                    sheet=medium,
                    row=_number(row, "row"),
                    order=order,
                    circuit=_text(row, "circuit"),
                    round=_text(row, "round"),
                    cells=_texts(row, "cells"),
                    notes=tuple(str(note) for note in _list(row, "notes")),
                    tab=tab,
                    lengths=lengths,
                    stated=stated,
                    numbers=frozenset(str(key) for key in _list(row, "numbers")) if "numbers" in row else frozenset(),
                )
                order += 1

    def decisions(self, batch: str, order: int) -> Iterator[Decision]:
        """Yield the decision, if the batch is one."""
        if "decision" in self.value:
            yield Decision(**_texts(self.value, "decision"), batch=batch, order=order)


def sheet_content(intake: Intake) -> bytes:
    """Return the batch of a sheet: nothing but what was read, so that the same sheet is the same batch."""
    content: dict[str, object] = {
        "format": FORMAT,
        "received": {"file": intake.file, "sha256": intake.digest, "bytes": len(intake.data)},
        "sheets": [_sheet(sheet) for sheet in intake.sheets],
        "aside": [asdict(aside) for aside in intake.aside],
    }
    if intake.how.key:
        content["how"] = _how(intake.how)
    return _canonical(content)


def _how(how: How) -> dict[str, object]:
    """Return how a sheet was read, with the mapping file whole: the same bytes read again give the same rows."""
    options = {name: text for name, text in how.options.items() if text}
    if how.mapping is None:
        return {"options": options}
    kept = how.mapping.kept
    text = kept.data.decode()  # with its byte order mark, so that the hash stays true
    return {"options": options, "mapping": {"file": kept.file, "sha256": kept.digest, "text": text}}


def evidence_content(evidence: Evidence) -> bytes:
    """Return the batch of result files that were handed in at once."""
    files = [{"file": one.file, "sha256": one.digest, "bytes": one.size} for one in evidence.files]
    return _canonical({"format": FORMAT, "evidence": files, "batches": sorted(evidence.batches)})


def _sheet(sheet: TakenSheet) -> dict[str, object]:
    rows = []
    for row in sheet.rows:
        value = {"row": row.row, "circuit": row.circuit, "round": row.round, "cells": row.cells, "notes": row.notes}
        rows.append(value | ({"numbers": sorted(row.numbers)} if row.numbers else {}))
    return {
        "tab": sheet.tab,
        "medium": sheet.medium,
        "lengths": sheet.lengths,
        "stated": sheet.stated,
        "head_row": sheet.head_row,
        "untouched": sheet.untouched,
        "notes": sheet.notes,
        "rows": rows,
    }


def decision_content(decision: Decision, known: int) -> bytes:
    """Return the batch of a decision made when so many batches were known."""
    said = {key: value for key, value in asdict(decision).items() if key not in ("batch", "order")}
    return _canonical({"format": FORMAT, "known": known, "decision": said})


def _canonical(value: object) -> bytes:
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode() + b"\n"


def read_content(data: bytes) -> Content:
    """Return a batch's content; its rows are looked at when they are asked for.

    Raises: ValueError or KeyError where it isn't a batch of this release.
    """
    value = _mapping(json.loads(data))
    if value.get("format") != FORMAT:
        raise ValueError(f"format {value.get('format')!r}, this release reads {FORMAT}")
    if sum(part in value for part in ("sheets", "evidence", "decision")) != 1:
        raise ValueError("neither rows nor a decision in it")
    return Content(value)


def _is_mapping(value: object) -> TypeGuard[Mapping[str, object]]:
    return isinstance(value, dict)


def _mapping(value: object) -> Mapping[str, object]:
    if not _is_mapping(value):
        raise ValueError(f"{str(value)[:40]!r} where a block of keys should stand")
    return value


def _block(value: Mapping[str, object], key: str) -> Mapping[str, object]:
    return _mapping(value[key])


def _list(value: Mapping[str, object], key: str) -> list[object]:
    found = value[key]
    if not isinstance(found, list):
        raise ValueError(f"`{key}` is no list")
    return found


def _text(value: Mapping[str, object], key: str) -> str:
    found = value[key]
    if not isinstance(found, str):
        raise ValueError(f"`{key}` is no text")
    return found


def _number(value: Mapping[str, object], key: str) -> int:
    found = value[key]
    if not isinstance(found, int):
        raise ValueError(f"`{key}` is no number")
    return found


def _texts(value: Mapping[str, object], key: str) -> dict[str, str]:
    found = _block(value, key)
    for text in found.values():
        if not isinstance(text, str):
            raise ValueError(f"`{key}` holds {text!r}, which is no text")
    return {name: str(text) for name, text in found.items()}
