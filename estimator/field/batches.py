"""The readings folder: immutable batches, each named by the hash of its content.

``received/`` keeps every sheet byte for byte, ``evidence/`` the instruments' own result files,
``batches/`` one JSON file a sheet, evidence or decision. A file is written whole or not at all, so
that a kill leaves no half file. A batch's name is ``000012-HASH.json``: its number is one more than
the highest known when it was written. That needs neither a clock nor a lock, and two people who
collect at once, or into two copies of the folder that are merged later, may get the same number;
the hash then decides their order, everywhere alike. Nothing is ever edited.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Final
from urllib.parse import quote

from estimator.field.batch_content import Content, decision_content, evidence_content, read_content, sheet_content
from estimator.field.evidence import Evidence, EvidenceFile, backed
from estimator.field.rows import SHORT, UNDONE, Decision, ReadRow
from estimator.field.taken import Intake
from estimator.field.whole_file import write_whole
from estimator.spec.faults import Fault, Place, ProblemError

RECEIVED: Final = "received"
BATCHES: Final = "batches"
EVIDENCE: Final = "evidence"

_NAME: Final = re.compile(r"(\d{6,})-([0-9a-f]{64})\.json")
_LONGEST_NAME: Final = 70
_LONGEST_ENDING: Final = 5
_NOT_UNDERSTOOD: Final = (ValueError, TypeError, KeyError, RecursionError)


@dataclass(frozen=True, kw_only=True, slots=True)
class Batch:
    """One intact batch: its hash, its number, for a sheet the file as received and how it was read."""

    id: str
    number: int
    path: Path
    file: str
    digest: str
    rows: int
    kind: str = "sheet"
    how: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, slots=True)
class Stored:
    """Everything in a readings folder, in the order received; faults name files that are damaged.

    ``withdrawn`` are signatures and re-mappings that were voided; ``decisions`` are all others.
    """

    rows: tuple[ReadRow, ...]
    decisions: tuple[Decision, ...]
    batches: tuple[Batch, ...]
    faults: tuple[Fault, ...]
    evidence: tuple[Evidence, ...] = ()
    withdrawn: tuple[Decision, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept:
    """What became of a sheet or decision: the batch that holds it, and whether it is new."""

    batch: str
    new: bool


@dataclass(frozen=True, slots=True)
class _Entry:
    number: int
    hash: str
    path: Path


def read_folder(path: Path) -> Stored:
    """Return all rows and decisions of a readings folder; a damaged file is a fault and loses no other."""
    closed = _closed(path)
    if closed is not None:
        return Stored(rows=(), decisions=(), batches=(), faults=(closed,))
    rows: list[ReadRow] = []
    decisions: list[Decision] = []
    batches: list[Batch] = []
    evidence: list[Evidence] = []
    faults = list(_strangers(path))
    for entry, data in _intact(path, faults):
        order = len(rows) + len(decisions)
        try:
            content = read_content(data)
            found = tuple(content.rows(entry.hash, order))
            made = tuple(content.decisions(entry.hash, order))
            kept = content.evidence(entry.hash)
            batch = _batch(entry, content, len(found))
        except _NOT_UNDERSTOOD as wrong:
            faults.append(_not_understood(entry, wrong))
            continue
        rows.extend(found)
        decisions.extend(made)
        batches.append(batch)
        if kept is not None:
            evidence.append(kept)
        if content.digest:
            _check_received(path, entry, content, faults)
    valid = tuple(_standing(path, evidence, decisions, faults))
    withdrawn = tuple(made for made in decisions if made.kind in UNDONE and is_void(made.batch, decisions))
    return Stored(
        rows=tuple(backed(rows, valid)),
        decisions=tuple(made for made in decisions if made not in withdrawn),
        withdrawn=withdrawn,
        batches=tuple(batches),
        faults=tuple(faults),
        evidence=valid,
    )


def _batch(entry: _Entry, content: Content, rows: int) -> Batch:
    kind = next(part for part in ("sheets", "evidence", "decision") if part in content.value).removesuffix("s")
    return Batch(
        id=entry.hash,
        number=entry.number,
        path=entry.path,
        file=content.file,
        digest=content.digest,
        rows=rows,
        kind=kind,
        how=content.how,
    )


def _standing(
    folder: Path, evidence: list[Evidence], decisions: list[Decision], faults: list[Fault]
) -> Iterator[Evidence]:
    """Yield the evidence that nobody voided, of each the files that still lie there as they came."""
    for one in evidence:
        if is_void(one.batch, decisions):
            continue
        whole = []
        for file in one.files:
            if _intact_file(folder / EVIDENCE, file.digest, file.file):
                whole.append(file)
            else:
                place = Place((folder / EVIDENCE / received_name(file.digest, file.file)).as_posix(), 1, 1)
                wrong = "the instrument's result file is missing or was changed: it backs no reading"
                faults.append(Fault(place, wrong, "the file byte for byte", f"collect {file.file} again as evidence"))
        yield Evidence(files=tuple(whole), batches=one.batches, batch=one.batch)


def store_sheet(folder: Path, intake: Intake) -> Kept:
    """Store a sheet as received and its rows; the same bytes a second time change nothing.

    Raises: ValueError for an intake without a sheet, ProblemError where the same bytes were read in
    another way and still stand, OSError where the folder can't be written.
    """
    if not intake.sheets:
        raise ValueError(f"{intake.file}: no sheet was taken, so there is nothing to store")
    known = list(_batches_of(folder, intake.digest))
    for entry, content in known:
        if content.how == intake.how.key:
            _keep(folder / RECEIVED, intake.digest, content.file, intake.data)
            return Kept(batch=entry.hash, new=False)
    standing = [entry for entry, _ in known if not is_void(entry.hash, read_folder(folder).decisions)]
    if standing:
        short = standing[0].hash[:SHORT]
        raise ProblemError(
            f"the file was collected before and read in another way, as batch {short}",
            "one way of reading a file: mapping, decimals, dates, lengths",
            f"void batch {short} first (`--void {short}`), then collect the file again",
        )
    _keep(folder / RECEIVED, intake.digest, known[0][1].file if known else intake.file, intake.data)
    return _store(folder, sheet_content(intake))


def store_evidence(folder: Path, files: Mapping[EvidenceFile, bytes], batches: tuple[str, ...] = ()) -> Kept:
    """Keep result files of instruments, and tie them to the batches of the sheets that came with them.

    Raises: OSError where the folder can't be written.
    """
    for file, data in files.items():
        _keep(folder / EVIDENCE, file.digest, file.file, data)
    return _store(folder, evidence_content(Evidence(files=tuple(files), batches=batches)))


def is_void(batch: str, decisions: Sequence[Decision]) -> bool:
    """Return whether the last decision about a whole batch voids it."""
    said = [made.kind for made in decisions if made.target in (batch, batch[:SHORT])]
    return "void" in said[-1:]


def store_decision(folder: Path, decision: Decision) -> Kept:
    """Store a decision, unless the latest one on the same target already says the same.

    The number of batches known is part of it, so that a batch can be voided again after it was
    restored, for the same reason and on the same day.

    Raises: OSError where the folder can't be written.
    """
    known = _entries(folder)
    for made in reversed(read_folder(folder).decisions):
        if made.target == decision.target and _group(made.kind) == _group(decision.kind):
            if _says(made) == _says(decision):
                return Kept(batch=made.batch, new=False)
            break
    return _store(folder, decision_content(decision, len(known)))


def _group(kind: str) -> str:
    """Return the kinds of decision that undo each other, as one word."""
    return "void" if kind == "restore" else kind


def _says(decision: Decision) -> dict[str, object]:
    return {key: value for key, value in asdict(decision).items() if key not in ("batch", "order")}


def _entries(folder: Path) -> list[_Entry]:
    """Return the batches by name, in order."""
    found: list[_Entry] = []
    if (folder / BATCHES).is_dir():
        for path in (folder / BATCHES).iterdir():
            match = _NAME.fullmatch(path.name)
            if match:
                found.append(_Entry(int(match.group(1)), match.group(2), path))
    return sorted(found, key=lambda entry: (entry.number, entry.hash))


def _closed(folder: Path) -> Fault | None:
    """Return why a readings folder can't be looked into, or None; one that isn't there yet is empty."""
    for each in (folder, folder / BATCHES):
        place = Place(each.as_posix(), 1, 1)
        try:
            if not stat.S_ISDIR(each.stat().st_mode):
                return Fault(
                    place,
                    "a file stands where the readings are kept",
                    "a folder",
                    "move the file away, or name another folder in `readings`",
                )
            os.scandir(each).close()
        except FileNotFoundError:
            return None
        except OSError as wrong:
            return Fault(
                place,
                f"the readings can't be opened ({wrong.strerror})",
                "a folder that this user may read",
                "mend its permissions, or name another folder in `readings`",
            )
    return None


def _strangers(folder: Path) -> Iterator[Fault]:
    """Yield a fault for every file among the batches that isn't one; temporary files aren't mentioned."""
    if (folder / BATCHES).is_dir():
        for path in sorted((folder / BATCHES).iterdir()):
            if not _NAME.fullmatch(path.name) and not path.name.startswith("."):
                yield Fault(
                    Place(path.as_posix(), 1, 1),
                    "the file is no batch",
                    "files named NUMBER-HASH.json",
                    "move it away; a copy made by a file sync can be deleted",
                )


def _intact(folder: Path, faults: list[Fault]) -> Iterator[tuple[_Entry, bytes]]:
    """Yield every batch whose content has the hash in its name, the first of two with the same."""
    seen: set[str] = set()
    for entry in _entries(folder):
        place = Place(entry.path.as_posix(), 1, 1)
        try:
            data = entry.path.read_bytes()
        except OSError as wrong:
            faults.append(
                Fault(
                    place,
                    f"the batch can't be read ({wrong.strerror})",
                    "a readable file",
                    "mend its permissions or the disk",
                )
            )
            continue
        if hashlib.sha256(data).hexdigest() != entry.hash:
            faults.append(
                Fault(
                    place,
                    "the batch was changed or damaged: its content hasn't the hash in its name",
                    "the content that was collected",
                    "collect its sheet in `received` again, or put a copy in its place",
                )
            )
        elif entry.hash not in seen:
            seen.add(entry.hash)
            yield entry, data


def _not_understood(entry: _Entry, wrong: Exception) -> Fault:
    return Fault(
        Place(entry.path.as_posix(), 1, 1),
        f"the batch can't be understood ({wrong})",
        "a batch of this release",
        "use the release that wrote it",
    )


def _batches_of(folder: Path, digest: str) -> Iterator[tuple[_Entry, Content]]:
    """Yield the batches of a sheet by the sheet's hash."""
    if not any((folder / RECEIVED).glob(f"{digest[:SHORT]}*")):
        return  # a sheet is kept before its batch is written
    for entry, data in _intact(folder, []):
        if digest.encode() in data:
            try:
                content = read_content(data)
                if content.digest == digest:
                    yield entry, content
            except _NOT_UNDERSTOOD:
                continue


def _store(folder: Path, data: bytes) -> Kept:
    """Write a batch, unless it is there; a damaged one with the same content is mended where it stands."""
    digest = hashlib.sha256(data).hexdigest()
    entries = _entries(folder)
    place = next((entry.path for entry in entries if entry.hash == digest), None)
    if place is not None and place.read_bytes() == data:
        return Kept(batch=digest, new=False)
    if place is None:
        number = max((entry.number for entry in entries), default=0) + 1
        place = folder / BATCHES / f"{number:06d}-{digest}.json"
    write_whole(place, data)
    return Kept(batch=digest, new=True)


def received_name(digest: str, file: str) -> str:
    """Return the name under which a sheet is kept: its hash, and its own name escaped.

    >>> received_name("0123456789abcdef", "floor 2/été.xlsx")
    '0123456789ab-floor%202%2F%C3%A9t%C3%A9.xlsx'
    """
    stem, dot, ending = file.rpartition(".")
    if not dot or not ending.isalnum() or len(ending) > _LONGEST_ENDING:
        stem, ending = file, ""
    escaped = quote(stem, safe="")[:_LONGEST_NAME]
    return f"{digest[:SHORT]}-{escaped}" + (f".{quote(ending)}" if ending else "")


def _places(folder: Path, digest: str, file: str) -> tuple[Path, ...]:
    """Return where a file may lie: the long name only where another file has the short one."""
    name = received_name(digest, file)
    return folder / name, folder / f"{digest}{name[SHORT:]}"


def _intact_file(folder: Path, digest: str, file: str) -> bool:
    for path in _places(folder, digest, file):
        try:
            if hashlib.sha256(path.read_bytes()).hexdigest() == digest:
                return True
        except OSError:
            continue
    return False


def _keep(folder: Path, digest: str, file: str, data: bytes) -> None:
    """Keep a file as received, unless it already lies there whole."""
    if _intact_file(folder, digest, file):
        return
    short, long = _places(folder, digest, file)
    write_whole(long if short.exists() else short, data)


def _check_received(folder: Path, entry: _Entry, content: Content, faults: list[Fault]) -> None:
    if not _intact_file(folder / RECEIVED, content.digest, content.file):
        place = Place(_places(folder / RECEIVED, content.digest, content.file)[0].as_posix(), 1, 1)
        wrong = f"the sheet as received is missing or was changed; batch {entry.hash[:SHORT]} holds its rows"
        faults.append(Fault(place, wrong, "the sheet byte for byte", f"collect {content.file} again"))
