"""A file that is written whole or not at all, whatever stops the program meanwhile."""

from __future__ import annotations

import os
import secrets
import time
from contextlib import suppress
from pathlib import Path
from typing import Final

_PART: Final = ".part"
_OLD_S: Final = 86_400.0  # a leftover of a killed program, not the file that another one is writing


def write_whole(path: Path, data: bytes) -> None:
    """Write a file that is there whole or not at all: temporary name, forced to the disk, renamed.

    Raises: OSError with the file's name where the disk is full or the folder can't be written.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    _sweep(path.parent)
    part = path.parent / f".{path.name[:40]}.{secrets.token_hex(6)}{_PART}"
    try:
        _write(part, data)
        os.replace(part, path)
    except BaseException as stopped:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        if isinstance(stopped, OSError):
            raise OSError(stopped.errno, stopped.strerror, path.as_posix()) from stopped
        raise
    _sync_folder(path.parent)


def _write(part: Path, data: bytes) -> None:
    """Write and force to the disk; a system may take less at once than it was given."""
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        left = memoryview(data)
        while left:
            left = left[os.write(handle, left) :]
        os.fsync(handle)
    finally:
        os.close(handle)


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
