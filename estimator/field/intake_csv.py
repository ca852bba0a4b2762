"""A foreign CSV file as lines of text: UTF-8 unless stated, the delimiter told by its head row alone."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from estimator.field.intake_grid import MOST_ROWS, Line, Tab, UnreadableError, clean

DELIMITERS: Final = (",", ";", "\t")
"""What can stand between two cells."""

_USUAL: Final = "utf-8-sig"

HEAD_WITHIN: Final = 40
"""Rows among which the head row must be."""


def read_csv(
    data: bytes,
    matches: Callable[[Mapping[int, str]], int],
    *,
    encoding: str = _USUAL,
    delimiters: Sequence[str] = DELIMITERS,
) -> Tab:
    """Return a CSV file as one sheet; ``matches`` counts the known heads in a row.

    The delimiter is the one that lets a row among the first 40 match most heads; readings are never
    asked, so that a decimal comma can't be taken for a delimiter. A mapping file may state both
    ``encoding`` (a decoder's name) and delimiter.

    Raises: UnreadableError for text in another encoding, a broken quote, too many rows.
    """
    text = _decoded(data, encoding)
    best, delimiter = 0, delimiters[0]
    for candidate in delimiters:
        found = max((matches(line.texts) for line in _lines(text, candidate, HEAD_WITHIN, lenient=True)), default=0)
        if found > best:
            best, delimiter = found, candidate
    # Without a head there is nothing to read, and a broken quote would hide the reason.
    return Tab(name="", lines=tuple(_lines(text, delimiter, None if best else HEAD_WITHIN, lenient=not best)))


def _decoded(data: bytes, encoding: str) -> str:
    if encoding == _USUAL and data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise UnreadableError("the file is UTF-16 text", "UTF-8 text", "save it as `CSV UTF-8`")
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        name = "UTF-8" if encoding == _USUAL else encoding
        raise UnreadableError(
            f"byte 0x{data[wrong.start]:02x} is not {name} text",
            f"{name} text",
            "save it as `CSV UTF-8`, or state the `encoding` in a mapping file",
            row=line,
        ) from wrong


def _lines(text: str, delimiter: str, most: int | None, *, lenient: bool) -> list[Line]:
    """Return the filled lines, numbered by the line of the file on which each starts."""
    lines: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=not lenient)
    start = 1
    try:
        for cells in reader:
            line = Line(start)
            start = reader.line_num + 1
            for column, cell in enumerate(cells):
                shown = clean(cell, column, line)
                if shown:
                    line.texts[column] = shown
            if line.texts:
                lines.append(line)
            if most is not None and start > most:
                break
            if len(lines) > MOST_ROWS:
                raise UnreadableError(
                    f"the file holds more than {MOST_ROWS:,} filled rows",
                    f"at most {MOST_ROWS:,}",
                    "split the file",
                    row=start,
                )
    except csv.Error as wrong:
        if not lenient:
            raise UnreadableError(
                f"the row can't be read ({wrong})",
                "cells with quotes in pairs",
                "mend the quotes in this row",
                row=start,
            ) from wrong
    return lines
