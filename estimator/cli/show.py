"""How the command shows faults, warnings and figures on a terminal or to a program."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TextIO

from estimator.spec.faults import Fault, Place
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff, take_off


def dump(value: object) -> str:
    """Return a value as JSON, keys in their order, text as it is."""
    return json.dumps(value, ensure_ascii=False, indent=1)


def place_json(place: Place) -> dict[str, object]:
    """Return a place for a program."""
    return {"file": place.file, "line": place.line, "column": place.column}


def print_faults(faults: Iterable[Fault], stream: TextIO) -> None:
    """Print each fault on a line of its own; on a terminal the source line with a caret follows."""
    lines: dict[str, list[str]] = {}
    for fault in faults:
        print(fault, file=stream)
        if stream.isatty():
            _caret(fault.place, lines, stream)


def _caret(place: Place, lines: dict[str, list[str]], stream: TextIO) -> None:
    if place.file not in lines:
        try:
            lines[place.file] = Path(place.file).read_text(encoding="utf-8-sig").splitlines()
        except (OSError, UnicodeDecodeError):
            lines[place.file] = []
    if 0 < place.line <= len(lines[place.file]):
        text = lines[place.file][place.line - 1]
        if len(text) <= 200:
            print(f"{place.line:>6} | {text}", file=stream)
            print(f"       | {' ' * (place.column - 1)}^", file=stream)


def count(number: int, word: str) -> str:
    """Return a number with its word: ``1 fault``, ``3 faults``."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, left: Sequence[str] = ("", "what", "unit", "than")
) -> Iterable[str]:
    """Yield a table for a terminal: the first column and those headed by a word of ``left`` stand at the left."""
    if not rows:
        return
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    for row in (heads, *rows):
        cells = [
            cell.ljust(width) if place == 0 or head in left else cell.rjust(width)
            for place, (cell, width, head) in enumerate(zip(row, widths, heads, strict=True))
        ]
        yield "  ".join(cells).rstrip()


def loaded(spec: str, ends: str = "nothing was written") -> Project | None:
    """Return the project of a file, or None after printing its faults and how the verb ends for them."""
    result = load(Path(spec))
    if result.project is None:
        _refuse(result.faults, ends)
    return result.project


def worked_out(spec: str, ends: str = "nothing was written") -> Takeoff | None:
    """Return the takeoff of a project file, or None after printing its faults."""
    project = loaded(spec, ends)
    if project is None:
        return None
    takeoff = take_off(project)
    if takeoff.faults:
        _refuse(takeoff.faults, ends)
        return None
    return takeoff


def _refuse(faults: Sequence[Fault], ends: str) -> None:
    print_faults(faults, sys.stderr)
    print(f"{count(len(faults), 'fault')}; {ends}", file=sys.stderr)
