"""Fits the lines of a label into its print area: as large as they go, wrapped before they are cut.

Widths come from the published metrics of the face, with the same slack as tables have. Sizes are tried
from the largest down (a plain search, no formula). An identifier is never cut: where it can't stand in
the smallest size, broken wherever it must be, the label is too small.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.documents.docx_widths import ems

LARGEST_PT: Final = 14.0
SMALLEST_PT: Final = 4.0
"""Largest and smallest letters of a label [pt]. Below four points nobody reads it; chosen, no published source."""

STEP_PT: Final = 0.5
LINE: Final = 1.16  # height of a line over the size of its letters, as the face itself asks
SECOND: Final = 0.8  # size of the lines under the identifier over its own
COMMON: Final = 0.9  # share of a sheet's labels that share one size
_SLACK: Final = 1.05  # a printer's own metrics differ by a few percent


@dataclass(frozen=True, slots=True)
class Placed:
    """A line as it is printed."""

    text: str
    size_pt: float
    bold: bool

    @property
    def height_pt(self) -> float:
        """Return the height of the line [pt]."""
        return self.size_pt * LINE


def width_pt(text: str, size_pt: float, *, bold: bool) -> float:
    """Return how wide a text runs, slack included [pt]."""
    return ems(text, bold) * size_pt * _SLACK


def sizes() -> Iterator[float]:
    """Yield the sizes of letters from the largest down [pt]."""
    for step in range(int((LARGEST_PT - SMALLEST_PT) / STEP_PT) + 1):
        yield LARGEST_PT - step * STEP_PT


def fitted(texts: Sequence[str], room_pt: tuple[float, float], most_pt: float = LARGEST_PT) -> list[Placed] | None:
    """Return the lines of a label in width and height [pt], or None where its identifier can't stand in them.

    ``texts`` begin with the identifier. First nothing is broken but at spaces; then anywhere; then what
    follows the identifier is cut, last line first.
    """
    said = [text for text in texts if text]
    for breaking in (" ", "anywhere"):
        for size in sizes():
            lines = _lines(said, size, room_pt[0], breaking) if size <= most_pt else None
            if lines is not None and _height(lines) <= room_pt[1]:
                return lines
    while len(said) > 1:
        said.pop()
        lines = _lines(said, SMALLEST_PT, room_pt[0], "anywhere")
        if lines is not None and _height(lines) <= room_pt[1]:
            return lines
    return None


def fitted_alike(labels: Sequence[Sequence[str]], room_pt: tuple[float, float]) -> list[list[Placed] | None]:
    """Return the lines of many labels of one room; no identifier is larger than nine in ten can be."""
    largest = [fitted(texts, room_pt) for texts in labels]
    found = sorted((lines[0].size_pt for lines in largest if lines), reverse=True)
    common = found[int((len(found) - 1) * COMMON)] if found else LARGEST_PT
    return [
        fitted(texts, room_pt, common) if lines and lines[0].size_pt > common else lines
        for texts, lines in zip(labels, largest, strict=True)
    ]


def _height(lines: Sequence[Placed]) -> float:
    return sum(line.height_pt for line in lines)


def _lines(texts: Sequence[str], size_pt: float, width: float, breaking: str) -> list[Placed] | None:
    """Return all lines in a size, or None where a word is wider than the room and may not be broken."""
    placed: list[Placed] = []
    for place, text in enumerate(texts):
        bold = place == 0
        own = size_pt if bold else max(SMALLEST_PT, size_pt * SECOND)
        pieces = _pieces(text, own, width, bold=bold, breaking=breaking)
        if pieces is None:
            return None
        placed += [Placed(piece, own, bold) for piece in pieces]
    return placed


def _pieces(text: str, size_pt: float, width: float, *, bold: bool, breaking: str) -> list[str] | None:
    """Return a text in lines no wider than the room."""
    lines: list[str] = []
    held = ""
    for word in re.findall(r"\S+\s*", text):
        if width_pt((held + word).rstrip(), size_pt, bold=bold) <= width:
            held += word
            continue
        if held:
            lines.append(held.rstrip())
        held = word
        while width_pt(held.rstrip(), size_pt, bold=bold) > width:
            if breaking == " ":
                return None
            cut = _longest(held, size_pt, width, bold=bold)
            lines.append(held[:cut])
            held = held[cut:]
    return [*lines, held.rstrip()] if held.strip() else lines


def _longest(word: str, size_pt: float, width: float, *, bold: bool) -> int:
    """Return how many letters of a word to keep on a line: up to a sign it may end with, else all that fit."""
    most = 1
    while most < len(word) and width_pt(word[: most + 1], size_pt, bold=bold) <= width:
        most += 1
    signs = [place + 1 for place, letter in enumerate(word[:most]) if letter in "-/._:"]
    return signs[-1] if signs else most
