"""A small vocabulary of drawing: lines, areas, discs and words on a sheet measured in millimeters.

A drawing is data. Its origin is the upper left corner, x runs to the right and y down. It speaks
in grays and hatches only, so that a gray printer loses nothing; what things are is said in words.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from estimator.documents.docx_widths import ems

Shade = Literal["ink", "accent", "muted", "rule", "hair", "band", "paper"]
"""The grays of a picture, dark to light; the writers of the house know their colors."""

Point = tuple[float, float]
"""From the left and from the top [mm]."""

Hatch = Literal["", "rising", "falling", "crossed", "level"]
"""Lines over an area: from lower left, from upper left, both, or level ones."""

Align = Literal["left", "center", "right"]

_MM_PER_PT: Final = 25.4 / 72
_ASCENT_EM: Final = 0.75  # from the line that letters stand on up to the top of capitals, with a little air
_DESCENT_EM: Final = 0.23
HATCH_STEP_MM: Final = 1.3
# Widths of signs beyond the keyboard's, from the same published metrics as those of the letters [em].
_SIGNS: Final = {"…": 1.0, "·": 0.278, "°": 0.4, "–": 0.556, "—": 1.0, "−": 0.584, "≤": 0.549, "≥": 0.549, "×": 0.584}


@dataclass(frozen=True, kw_only=True, slots=True)
class Stroke:
    """How a line is drawn: its width [mm], its gray, whole or dashed."""

    width_mm: float = 0.25
    shade: Shade = "ink"
    dashed: bool = False


THIN: Final = Stroke(width_mm=0.18, shade="muted")
PLAIN: Final = Stroke()
BOLD: Final = Stroke(width_mm=0.55)
GRID: Final = Stroke(width_mm=0.12, shade="rule")
FAINT: Final = Stroke(width_mm=0.18, shade="hair")
DASHED: Final = Stroke(width_mm=0.35, dashed=True)
"""The lines of the house: pointer, edge, stress, grid, the fainter grid behind a curve, and a limit."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Line:
    """An open line through two or more points."""

    points: tuple[Point, ...]
    stroke: Stroke = PLAIN


@dataclass(frozen=True, kw_only=True, slots=True)
class Area:
    """A closed shape of three or more corners, filled, with or without an edge."""

    points: tuple[Point, ...]
    fill: Shade = "paper"
    stroke: Stroke | None = PLAIN


@dataclass(frozen=True, kw_only=True, slots=True)
class Disc:
    """A circle, filled, with or without an edge."""

    center: Point
    radius_mm: float
    fill: Shade = "paper"
    stroke: Stroke | None = PLAIN


@dataclass(frozen=True, kw_only=True, slots=True)
class Words:
    """One line of text; ``at`` is where it begins, has its middle, or ends on the line that letters stand on."""

    at: Point
    text: str
    size_pt: float = 7.0
    align: Align = "left"
    bold: bool = False
    shade: Shade = "ink"

    @property
    def width_mm(self) -> float:
        """Return how wide the text runs [mm]."""
        return words_mm(self.text, self.size_pt, bold=self.bold)


Mark = Line | Area | Disc | Words


@dataclass(frozen=True, slots=True)
class Box:
    """The smallest upright box around something [mm]."""

    left: float
    top: float
    right: float
    bottom: float

    def touches(self, other: Box) -> bool:
        """Return whether two boxes share room."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawing:
    """A sheet of a size [mm] and what is drawn on it, the later over the earlier."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]


def words_mm(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Return how wide a text runs [mm].

    >>> round(words_mm("Room", 10.0), 2)
    9.41
    """
    if text.isascii():
        return ems(text, bold) * size_pt * _MM_PER_PT
    return math.fsum(letter_em(letter, bold=bold) for letter in text) * size_pt * _MM_PER_PT


def known(letter: str) -> bool:
    """Return whether the width of a letter is known: the keyboard's, with accents, and a few signs.

    >>> known("é"), known("…"), known("ع")
    (True, True, False)
    """
    return letter in _SIGNS or unicodedata.normalize("NFD", letter)[0] <= "~"


def letter_em(letter: str, *, bold: bool = False) -> float:
    """Return the width of a letter; an accent takes none of its own [em].

    >>> letter_em("é") == letter_em("e"), letter_em("…")
    (True, 1.0)
    """
    return _SIGNS.get(letter) or ems(unicodedata.normalize("NFD", letter)[0], bold)


def cut(text: str, size_pt: float, room_mm: float, *, bold: bool = False) -> str:
    """Return the text, cut with an ellipsis where it is wider than the room [mm].

    >>> cut("Main distribution", 8.0, 12.0)
    'Main di…'
    """
    if words_mm(text, size_pt, bold=bold) <= room_mm:
        return text
    left = room_mm / size_pt / _MM_PER_PT - letter_em("…", bold=bold)
    for place, letter in enumerate(text):
        left -= letter_em(letter, bold=bold)
        if left < 0:
            return f"{text[:place].rstrip()}…" if place else ""
    return text


def wrapped(text: str, size_pt: float, room_mm: float, lines: int) -> list[str]:
    """Return the text in at most so many lines of a width [mm]; the last is cut where it does not fit."""
    found: list[str] = []
    for word in text.split():
        longer = f"{found[-1]} {word}" if found else word
        if found and words_mm(longer, size_pt) <= room_mm:
            found[-1] = longer
        else:
            found.append(word)
    if len(found) > lines:
        found[lines - 1 :] = [" ".join(found[lines - 1 :])]
    return [cut(line, size_pt, room_mm) for line in found]


def box_of(mark: Mark) -> Box:
    """Return the box around a mark [mm]; half the width of a line lies on either side of it."""
    if isinstance(mark, Words):
        high = mark.size_pt * _MM_PER_PT
        x, y = mark.at
        left = {"left": x, "center": x - mark.width_mm / 2, "right": x - mark.width_mm}[mark.align]
        return Box(left, y - _ASCENT_EM * high, left + mark.width_mm, y + _DESCENT_EM * high)
    edge = mark.stroke.width_mm / 2 if mark.stroke is not None else 0.0
    if isinstance(mark, Disc):
        (x, y), reach = mark.center, mark.radius_mm + edge
        return Box(x - reach, y - reach, x + reach, y + reach)
    xs, ys = [x for x, _ in mark.points], [y for _, y in mark.points]
    return Box(min(xs) - edge, min(ys) - edge, max(xs) + edge, max(ys) + edge)


# --- shapes made of the four -------------------------------------------------------------------


def line(*points: Point, stroke: Stroke = PLAIN) -> Line:
    """Return a line through points."""
    return Line(points=points, stroke=stroke)


def bar(left: float, top: float, width: float, height: float, fill: Shade, stroke: Stroke | None = PLAIN) -> Area:
    """Return an upright box [mm]."""
    right, bottom = left + width, top + height
    return Area(points=((left, top), (right, top), (right, bottom), (left, bottom)), fill=fill, stroke=stroke)


def hatched(left: float, top: float, width: float, height: float, hatch: Hatch) -> Iterator[Line]:
    """Yield the lines that hatch an upright box, none outside it."""
    if width <= 0 or height <= 0:
        return
    if hatch == "level":
        for step in range(1, math.ceil(height / HATCH_STEP_MM)):
            y = top + step * HATCH_STEP_MM
            yield line((left, y), (left + width, y), stroke=THIN)
    if hatch in ("rising", "crossed"):
        yield from _slanted(left, top, width, height, rising=True)
    if hatch in ("falling", "crossed"):
        yield from _slanted(left, top, width, height, rising=False)


def _slanted(left: float, top: float, width: float, height: float, *, rising: bool) -> Iterator[Line]:
    """Yield lines at 45 degrees; ``offset`` is where one meets the level edge, counted from the left."""
    step = HATCH_STEP_MM * math.sqrt(2)
    for number in range(1, math.ceil((width + height) / step)):
        offset = number * step
        near, far = max(0.0, offset - height), min(offset, width)
        first, last = (near, offset - near), (far, offset - far)
        ends = [(left + x, top + (y if rising else height - y)) for x, y in (first, last)]
        yield line(*ends, stroke=THIN)


def arrow(start: Point, end: Point, stroke: Stroke = PLAIN, head_mm: float = 1.8) -> Iterator[Mark]:
    """Yield a line with a filled head at its end."""
    yield line(start, end, stroke=stroke)
    turn = math.atan2(end[1] - start[1], end[0] - start[0])
    sides = [
        (end[0] - head_mm * math.cos(turn + side), end[1] - head_mm * math.sin(turn + side)) for side in (0.38, -0.38)
    ]
    yield Area(points=(end, *sides), fill=stroke.shade, stroke=None)


def label(at: Point, text: str, size_pt: float = 7.0, *, align: Align = "left", bold: bool = False) -> Words:
    """Return a line of text in ink."""
    return Words(at=at, text=text, size_pt=size_pt, align=align, bold=bold)


def quiet(at: Point, text: str, size_pt: float = 6.5, *, align: Align = "left") -> Words:
    """Return a line of text in gray, for what explains."""
    return Words(at=at, text=text, size_pt=size_pt, align=align, shade="muted")


def moved(marks: Iterable[Mark], right: float, down: float) -> Iterator[Mark]:
    """Yield marks at another place [mm]."""
    for mark in marks:
        if isinstance(mark, Words):
            yield Words(
                at=(mark.at[0] + right, mark.at[1] + down),
                text=mark.text,
                size_pt=mark.size_pt,
                align=mark.align,
                bold=mark.bold,
                shade=mark.shade,
            )
        elif isinstance(mark, Disc):
            x, y = mark.center
            yield Disc(center=(x + right, y + down), radius_mm=mark.radius_mm, fill=mark.fill, stroke=mark.stroke)
        else:
            points = tuple((x + right, y + down) for x, y in mark.points)
            if isinstance(mark, Line):
                yield Line(points=points, stroke=mark.stroke)
            else:
                yield Area(points=points, fill=mark.fill, stroke=mark.stroke)


def dashes(points: Sequence[Point], on_mm: float = 1.6, off_mm: float = 1.0) -> Iterator[tuple[Point, Point]]:
    """Yield the dashes of a line as pairs of ends, so that every program draws the same ones."""
    left, drawing = on_mm, True
    for (x, y), end in pairwise(points):
        far = math.hypot(end[0] - x, end[1] - y)
        while far > 0:
            step = min(left, far)
            to = (x + (end[0] - x) * step / far, y + (end[1] - y) * step / far)
            if drawing:
                yield (x, y), to
            (x, y), far, left = to, far - step, left - step
            if left <= 0:
                drawing = not drawing
                left = on_mm if drawing else off_mm


# --- axes --------------------------------------------------------------------------------------


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Return round numbers from at or below ``low`` to at or above ``high``, in steps of 1, 2 or 5.

    >>> ticks(0.0, 93.0), ticks(-3.2, 8.0, 5)
    ([0.0, 20.0, 40.0, 60.0, 80.0, 100.0], [-5.0, 0.0, 5.0, 10.0])
    """
    span = max(high - low, abs(high) * 1e-6, 1e-9)
    power = 10.0 ** math.floor(math.log10(span / most))
    step = next(
        factor * power
        for factor in (1, 2, 5, 10, 20)
        if math.ceil(high / (factor * power)) - math.floor(low / (factor * power)) <= most
    )
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [float(f"{number * step:.12g}") for number in range(first, max(last, first + 1) + 1)]
