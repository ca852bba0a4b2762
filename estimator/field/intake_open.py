"""The bytes of a file that somebody handed in: regular files only, and none without end."""

from __future__ import annotations

import stat
from pathlib import Path

from estimator.field.intake_grid import MOST_BYTES, UnreadableError


def bytes_of(path: Path) -> bytes:
    """Return what a regular file holds; a pipe or a device might never end.

    Raises: UnreadableError for what is no regular file or too large, OSError where it can't be read.
    """
    mode = path.stat().st_mode
    if not stat.S_ISREG(mode):
        found = "it is a folder" if stat.S_ISDIR(mode) else "it is not a regular file"
        raise UnreadableError(found, "a field sheet as .xlsx or .csv", "name the sheets themselves")
    with path.open("rb") as stream:
        data = stream.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise UnreadableError(f"the file holds over {MOST_BYTES:,} bytes", f"at most {MOST_BYTES:,}", "split the sheet")
    return data
