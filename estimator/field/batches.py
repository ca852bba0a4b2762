"""The readings folder: immutable batches, each named by the hash of its content.

``received/`` keeps every sheet byte for byte, ``batches/`` one JSON file a sheet or decision. A
file is written under a temporary name, forced to the disk and renamed, so that a kill leaves no
half file. A batch's name is ``000012-HASH.json``: its number is one more than the highest known
when it was written. That needs neither a clock nor a lock, and two people who collect at once, or
into two copies of the folder that are merged later, may get the same number; the hash then decides
their order, everywhere alike. Nothing is ever edited.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import stat
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final
from urllib.parse import quote

from estimator.field.batch_content import Content, decision_content, read_content, sheet_content
from estimator.field.intake import Intake
from estimator.field.rows import SHORT, Decision, ReadRow
from estimator.spec.faults import Fault, Place

RECEIVED: Final = "received"
BATCHES: Final = "batches"

_NAME: Final = re.compile(r"(\d{6,})-([0-9a-f]{64})\.json")
_PART: Final = ".part"
_OLD_S: Final = 86_400.0  # a leftover of a killed program, not the file that another one is writing
_LONGEST_NAME: Final = 70
_LONGEST_ENDING: Final = 5
_NOT_UNDERSTOOD: Final = (ValueError, TypeError, KeyError, RecursionError)


@dataclass(frozen=True, kw_only=True, slots=True)
class Batch:
    """One intact batch: its hash, its number, and for a sheet the file as received."""

    id: str
    number: int
    path: Path
    file: str
    digest: str
    rows: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Stored:
    """Everything in a readings folder, in the order received; faults name files that are damaged."""

    rows: tuple[ReadRow, ...]
    decisions: tuple[Decision, ...]
    batches: tuple[Batch, ...]
    faults: tuple[Fault, ...]


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
    faults = list(_strangers(path))
    for entry, data in _intact(path, faults):
        order = len(rows) + len(decisions)
        try:
            content = read_content(data)
            found = tuple(content.rows(entry.hash, order))
            made = tuple(content.decisions(entry.hash, order))
        except _NOT_UNDERSTOOD as wrong:
            faults.append(_not_understood(entry, wrong))
            continue
        rows.extend(found)
        decisions.extend(made)
        batches.append(
            Batch(
                id=entry.hash,
                number=entry.number,
                path=entry.path,
                file=content.file,
                digest=content.digest,
                rows=len(found),
            )
        )
        if content.digest:
            _check_received(path, entry, content, faults)
    return Stored(rows=tuple(rows), decisions=tuple(decisions), batches=tuple(batches), faults=tuple(faults))


def store_sheet(folder: Path, intake: Intake) -> Kept:
    """Store a sheet as received and its rows; the same bytes a second time change nothing.

    Raises: ValueError for an intake without a sheet, OSError where the folder can't be written.
    """
    if not intake.sheets:
        raise ValueError(f"{intake.file}: no sheet was taken, so there is nothing to store")
    known = _batch_of(folder, intake.digest)
    if known is not None:
        entry, file = known
        _keep_received(folder, intake, file)
        return Kept(batch=entry.hash, new=False)
    _keep_received(folder, intake, intake.file)
    return _store(folder, sheet_content(intake))


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


def _batch_of(folder: Path, digest: str) -> tuple[_Entry, str] | None:
    """Return the batch of a sheet by the sheet's hash, and the name under which it came."""
    if not any((folder / RECEIVED).glob(f"{digest[:SHORT]}*")):
        return None  # a sheet is kept before its batch is written
    for entry, data in _intact(folder, []):
        if digest.encode() in data:
            try:
                content = read_content(data)
                if content.digest == digest:
                    return entry, content.file
            except _NOT_UNDERSTOOD:
                continue
    return None


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


def _received(folder: Path, digest: str, file: str) -> tuple[Path, ...]:
    """Return where a sheet may lie: the long name only where another sheet has the short one."""
    name = received_name(digest, file)
    return folder / RECEIVED / name, folder / RECEIVED / f"{digest}{name[SHORT:]}"


def _intact_received(folder: Path, digest: str, file: str) -> bool:
    for path in _received(folder, digest, file):
        try:
            if hashlib.sha256(path.read_bytes()).hexdigest() == digest:
                return True
        except OSError:
            continue
    return False


def _keep_received(folder: Path, intake: Intake, file: str) -> None:
    """Keep the sheet as received, unless it already lies there whole."""
    if _intact_received(folder, intake.digest, file):
        return
    short, long = _received(folder, intake.digest, file)
    write_whole(long if short.exists() else short, intake.data)


def _check_received(folder: Path, entry: _Entry, content: Content, faults: list[Fault]) -> None:
    if not _intact_received(folder, content.digest, content.file):
        place = Place(_received(folder, content.digest, content.file)[0].as_posix(), 1, 1)
        wrong = f"the sheet as received is missing or was changed; batch {entry.hash[:SHORT]} holds its rows"
        faults.append(Fault(place, wrong, "the sheet byte for byte", f"collect {content.file} again"))


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that is there whole or not at all: temporary name, forced to the disk, renamed."""
    path.parent.mkdir(parents=True, exist_ok=True)
    _sweep(path.parent)
    part = path.parent / f".{path.name[:40]}.{secrets.token_hex(6)}{_PART}"
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with open(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(part, path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Force a rename to the disk where the system lets a folder be opened."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Remove temporary files that a killed program left a day ago or longer."""
    for path in folder.glob(f".*{_PART}"):
        try:
            if time.time() - path.stat().st_mtime > _OLD_S:
                path.unlink()
        except OSError:
            continue  # somebody else swept it
