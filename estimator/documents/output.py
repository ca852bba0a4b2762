"""Puts finished files into a folder without ever losing what a person made of them.

A hidden record holds the hash of each file as it was written. A file that differs from its record
was edited since, or was never ours, and is left alone unless the user says otherwise; then nothing
at all is written. New files are complete under another name before the first one takes its place.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

RECORD: Final = ".dropledger.json"
"""The hidden file that tells which content of each file is ours."""

_FORMAT: Final = 1
_NAME_MOST: Final = 120
_NAME_BYTES_MOST: Final = 240  # file systems stop at 255
_NOT_IN_NAMES: Final = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f\s]+')
_RESERVED: Final = re.compile(r"(?i)(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?")
_OPEN_MARKS: Final = ("~${}", ".~lock.{}#")  # what spreadsheet and word programs lay beside an open file


@dataclass(frozen=True, slots=True)
class OutputFault:
    """One file that can't be written: its name, and why, with what to do about it."""

    name: str
    what: str

    def __str__(self) -> str:
        return f"{self.name}: {self.what}"


class OutputError(Exception):
    """Nothing was written; all reasons together."""

    def __init__(self, folder: Path, faults: Sequence[OutputFault]) -> None:
        self.folder = folder
        self.faults = tuple(faults)
        super().__init__("\n".join(f"{folder / fault.name}: {fault.what}" for fault in faults))


def safe_name(text: str, ending: str) -> str:
    """Return a file name made of a text: no path, no sign that some system refuses.

    >>> safe_name("Job 7/B: offices", ".xlsx"), safe_name("../..", ".docx")
    ('Job-7-B-offices.xlsx', 'document.docx')
    """
    stem = _NOT_IN_NAMES.sub("-", text).strip("-. ")[: _NAME_MOST - len(ending)].rstrip("-. ") or "document"
    return f"{stem}_{ending}" if _RESERVED.fullmatch(stem) else f"{stem}{ending}"


def write_files(folder: Path, files: Mapping[str, bytes], *, replace: bool = False, job: str = "") -> tuple[Path, ...]:
    """Write all files into the folder, or none; return their paths in the order given.

    ``replace`` also overwrites files that were edited since, or that are open somewhere. ``job`` says
    whose documents they are: another job's are not overwritten either.
    Raises: OutputError with every file that stands in the way.
    """
    faults = [*_name_faults(files)]
    if not faults:
        faults = _make_folder(folder)
    record, owner = ({}, "") if faults else _read_record(folder)
    if job and owner and owner != job and not replace:
        faults = [OutputFault("", f"holds the documents of {owner}; choose another folder with --out, or --replace")]
    if not faults:
        faults = [
            fault for name, content in files.items() for fault in _standing(folder, name, content, record, replace)
        ]
    if faults:
        raise OutputError(folder, faults)
    _Exchange(folder, record, job or owner).run(files)
    return tuple(folder / name for name in files)


def _name_faults(files: Mapping[str, bytes]) -> list[OutputFault]:
    faults = []
    seen: dict[str, str] = {}
    for name in files:
        if name != Path(name).name or name in ("", ".", "..") or _NOT_IN_NAMES.search(name.replace(" ", "")):
            faults.append(OutputFault(repr(name), "not a plain file name"))
        elif len(name.encode(errors="replace")) > _NAME_BYTES_MOST:
            faults.append(OutputFault(f"{name[:40]}…", f"a name longer than {_NAME_BYTES_MOST} bytes"))
        elif name.startswith(".") or name != name.strip(". ") or _RESERVED.fullmatch(name):
            faults.append(OutputFault(repr(name), "a name that systems keep for themselves"))
        elif name.casefold() in seen:
            faults.append(OutputFault(repr(name), f"some systems can't tell it from {seen[name.casefold()]!r}"))
        seen.setdefault(name.casefold(), name)
    return faults


def _make_folder(folder: Path) -> list[OutputFault]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        return [OutputFault("", "is a file, not a folder")]
    except OSError as wrong:
        return [OutputFault("", f"can't make this folder: {wrong.strerror}")]
    return []


def _read_record(folder: Path) -> tuple[dict[str, list[str]], str]:
    """Return the hashes of our files and whose they are; a record that can't be read vouches for nothing."""
    path = folder / RECORD
    if path.is_symlink():
        return {}, ""
    try:
        read = json.loads(path.read_text(encoding="utf-8"))
        files = read["files"] if read["format"] == _FORMAT else {}
        known = {
            str(name): [one for one in hashes if isinstance(one, str)]
            for name, hashes in files.items()
            if isinstance(hashes, list)
        }
        return known, str(read.get("job", ""))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}, ""


def _standing(
    folder: Path, name: str, content: bytes, record: Mapping[str, list[str]], replace: bool
) -> list[OutputFault]:
    """Return why a file can't be written where another may stand already."""
    path = folder / name
    if path.is_symlink():
        return [OutputFault(name, "is a symbolic link; remove it, or choose another folder")]
    if not path.exists():
        return []
    if not path.is_file():
        return [OutputFault(name, "is not a file")]
    try:
        before = path.read_bytes()
    except OSError as wrong:
        return [OutputFault(name, _denied(wrong))]
    if before == content or replace:
        return []
    if any((folder / mark.format(name)).exists() for mark in _OPEN_MARKS):
        return [OutputFault(name, "is open in another program; close it, or run with --replace")]
    if _hash(before) in record.get(name, []):
        return []
    what = "was edited since it was written" if name in record else "was not written by this program"
    return [OutputFault(name, f"{what}; move it away, or run with --replace")]


def _denied(wrong: OSError) -> str:
    if isinstance(wrong, PermissionError):
        return "can't be written: it is open in another program, or write-protected; close it and run again"
    return f"can't be written: {wrong.strerror or wrong}"


def _hash(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@dataclass(slots=True)
class _Exchange:
    """Writes every file under another name, then lets one after another take its place.

    The record names old and new content before the first exchange, so that a run which is cut off
    leaves no file that the next run would take for somebody's.
    """

    folder: Path
    record: dict[str, list[str]]
    job: str = ""
    made: list[Path] = field(default_factory=list)
    kept: dict[str, Path] = field(default_factory=dict)
    placed: list[str] = field(default_factory=list)
    at: str = RECORD

    def run(self, files: Mapping[str, bytes]) -> None:
        """Put all files in place. Raises: OutputError with everything as it was before."""
        hashes = {name: [_hash(content)] for name, content in files.items()}
        try:
            changed = [name for name in files if not self._holds(name, files[name])]
            fresh = {name: self._temporary(name, files[name]) for name in changed}
            self._write_record({name: [*self.record.get(name, []), *hashes[name]] for name in files})
            for name in changed:
                self._place(name, fresh[name])
            self._sync_folder()
            self._write_record(hashes)
        except OSError as wrong:
            self._undo()
            raise OutputError(self.folder, [OutputFault(self.at, _denied(wrong))]) from wrong
        except BaseException:
            self._undo()
            raise
        finally:
            for path in (*self.made, *self.kept.values()):
                with contextlib.suppress(OSError):
                    path.unlink(missing_ok=True)

    def _holds(self, name: str, content: bytes) -> bool:
        path = self.folder / name
        return path.is_file() and path.read_bytes() == content

    def _new_path(self) -> Path:
        return self.folder / f".dropledger-{secrets.token_hex(8)}.part"

    def _temporary(self, name: str, content: bytes) -> Path:
        """Write a file under a name that nobody can have laid a link under; it is on the disk after."""
        self.at = name
        path = self._new_path()
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(path, flags, 0o666), "wb") as file:
            self.made.append(path)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        return path

    def _place(self, name: str, fresh: Path) -> None:
        self.at = name
        path = self.folder / name
        if path.exists():
            old = self._new_path()
            try:
                os.link(path, old, follow_symlinks=False)
            except (OSError, NotImplementedError):  # a file system without links
                shutil.copy2(path, old)
            self.kept[name] = old
        os.replace(fresh, path)
        self.placed.append(name)

    def _write_record(self, files: Mapping[str, list[str]]) -> None:
        self.record = {**self.record, **files}
        whose = {"job": self.job} if self.job else {}
        text = json.dumps({"format": _FORMAT, "files": self.record, **whose}, indent=1, sort_keys=True)
        os.replace(self._temporary(RECORD, text.encode()), self.folder / RECORD)

    def _sync_folder(self) -> None:
        """Make the new names last, where the system can open a folder."""
        with contextlib.suppress(OSError):
            handle = os.open(self.folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

    def _undo(self) -> None:
        """Put back what was there; what can't be put back stays under its other name."""
        for name in reversed(self.placed):
            if name in self.kept:
                os.replace(self.kept.pop(name), self.folder / name)
            else:
                (self.folder / name).unlink(missing_ok=True)
