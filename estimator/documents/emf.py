"""A drawing as an enhanced metafile: a vector picture that office programs print sharp at any size.

The format is the published specification MS-EMF, whose records are named beside their numbers. Of its some hundred
records this writes the dozen that every reader draws alike: pens, solid brushes, polylines, polygons,
ellipses and text with the place of each letter. Dashes and hatches are lines of their own.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from estimator.documents.drawing import (
    Area,
    Disc,
    Drawing,
    Line,
    Mark,
    Point,
    Shade,
    Stroke,
    Words,
    dashes,
    known,
    letter_em,
)
from estimator.documents.look import ACCENT, BAND, FACE, HAIR, INK, MUTED, RULE

SHADES: Final[dict[Shade, str]] = {
    "ink": INK,
    "accent": ACCENT,
    "muted": MUTED,
    "rule": RULE,
    "hair": HAIR,
    "band": BAND,
    "paper": "FFFFFF",
}
"""The colors of a picture's grays, hexadecimal RGB; the accent prints as a dark gray."""

UNITS_PER_MM: Final = 100
"""One unit of a metafile of ours is a hundredth of a millimeter, as in the frame of its header."""

_DOTS_PER_MM: Final = 20  # of a make-believe device; readers refuse a picture of too many dots
_DEVICE_MM: Final = 320
_NO_PEN: Final = 0x80000008  # the stock object that draws no edge
_HEADER_SIZE: Final = 108
_UNITS_PER_PT: Final = UNITS_PER_MM * 25.4 / 72
_ALIGN: Final = {"left": 24, "right": 24 | 2, "center": 24 | 6}  # each on the line that letters stand on


def emf(drawing: Drawing) -> bytes:
    """Return the drawing as an enhanced metafile; the same drawing always gives the same bytes."""
    pen = _Pen()
    for kind, value in ((17, 8), (18, 1), (19, 1)):  # SETMAPMODE anisotropic, SETBKMODE clear, SETPOLYFILLMODE
        pen.record(kind, struct.pack("<I", value))
    sides = (drawing.width_mm, drawing.height_mm)
    window, view = (struct.pack("<ii", *map(count, sides)) for count in (_units, _dots))
    for kind, ends in ((10, bytes(8)), (9, window), (12, bytes(8)), (11, view)):  # window, viewport: origin, extent
        pen.record(kind, ends)
    for mark in drawing.marks:
        pen.draw(mark)
    pen.record(14, struct.pack("<III", 0, 0, 20))  # EOF
    return _header(drawing, pen) + b"".join(pen.records)


def _header(drawing: Drawing, pen: _Pen) -> bytes:
    wide, high = _units(drawing.width_mm), _units(drawing.height_mm)
    whole = _HEADER_SIZE + sum(map(len, pen.records))
    return struct.pack(
        "<IIiiiiiiii4sIIIHHIIIiiiiIIIii",
        *(1, _HEADER_SIZE, 0, 0, _dots(drawing.width_mm) - 1, _dots(drawing.height_mm) - 1, 0, 0, wide, high),
        *(b" EMF", 0x10000, whole, len(pen.records) + 1, len(pen.handles) + 1, 0, 0, 0, 0),
        *(_DEVICE_MM * _DOTS_PER_MM, _DEVICE_MM * _DOTS_PER_MM, _DEVICE_MM, _DEVICE_MM, 0, 0, 0),
        *(_DEVICE_MM * 1000, _DEVICE_MM * 1000),
    )


def _units(length_mm: float) -> int:
    return round(length_mm * UNITS_PER_MM)


def _dots(length_mm: float) -> int:
    return round(length_mm * _DOTS_PER_MM)


def _points(points: Sequence[Point]) -> bytes:
    flat = [_units(value) for point in points for value in point]
    return struct.pack(f"<{len(flat)}i", *flat)


def _bounds(points: Sequence[Point]) -> bytes:
    xs, ys = [_units(x) for x, _ in points], [_units(y) for _, y in points]
    return struct.pack("<iiii", min(xs), min(ys), max(xs), max(ys))


def _color(shade: Shade) -> int:
    red, green, blue = bytes.fromhex(SHADES[shade])
    return red | green << 8 | blue << 16


class _Pen:
    """The records so far, and the tools made for them; a tool is made once and picked up again."""

    def __init__(self) -> None:
        self.records: list[bytes] = []
        self.handles: dict[tuple[object, ...], int] = {}
        self._held: dict[str, int] = {}

    def record(self, kind: int, body: bytes) -> None:
        """Add a record, filled up to a multiple of four bytes."""
        body += bytes(-len(body) % 4)
        self.records.append(struct.pack("<II", kind, 8 + len(body)) + body)

    def draw(self, mark: Mark) -> None:
        """Add the records of a mark."""
        if isinstance(mark, Words):
            if mark.text:
                self._text(mark)
        elif isinstance(mark, Line):
            self._stroke(mark.stroke)
            parts = list(dashes(mark.points)) if mark.stroke.dashed else [mark.points]
            for points in parts:
                self._shape(4, points)  # POLYLINE
        elif isinstance(mark, Area):
            self._paint(mark.fill, mark.stroke)
            self._shape(3, mark.points)  # POLYGON
        else:
            self._disc(mark)

    def _shape(self, kind: int, points: Sequence[Point]) -> None:
        self.record(kind, _bounds(points) + struct.pack("<I", len(points)) + _points(points))

    def _disc(self, mark: Disc) -> None:
        self._paint(mark.fill, mark.stroke)
        (x, y), reach = mark.center, mark.radius_mm
        self.record(42, _bounds(((x - reach, y - reach), (x + reach, y + reach))))  # ELLIPSE

    def _paint(self, fill: Shade, stroke: Stroke | None) -> None:
        self._stroke(stroke)
        brush = struct.pack("<III", 0, _color(fill), 0)
        self._hold("brush", self._made(("brush", fill), 39, brush))  # CREATEBRUSHINDIRECT, solid

    def _stroke(self, stroke: Stroke | None) -> None:
        if stroke is None:
            self._hold("pen", _NO_PEN)
            return
        wide = max(1, _units(stroke.width_mm))
        made = struct.pack("<IiiI", 0, wide, 0, _color(stroke.shade))
        self._hold("pen", self._made(("pen", wide, stroke.shade), 38, made))  # CREATEPEN, solid

    def _made(self, key: tuple[object, ...], kind: int, body: bytes) -> int:
        if key not in self.handles:
            self.handles[key] = len(self.handles) + 1
            self.record(kind, struct.pack("<I", self.handles[key]) + body)
        return self.handles[key]

    def _hold(self, what: str, handle: int) -> None:
        if self._held.get(what) != handle:
            self._held[what] = handle
            self.record(37, struct.pack("<I", handle))  # SELECTOBJECT

    def _text(self, mark: Words) -> None:
        high = round(mark.size_pt * _UNITS_PER_PT)
        weight = 700 if mark.bold else 400
        font = struct.pack("<iiiii8B", -high, 0, 0, 0, weight, 0, 0, 0, 0, 0, 0, 0, 0x22)
        body = font + FACE.encode("utf-16-le").ljust(64, b"\0")
        # The full name, the style and the rest of the record are for matching faces; blanks leave that to the name.
        self._hold("font", self._made(("font", high, weight), 82, body.ljust(320, b"\0")))  # EXTCREATEFONTINDIRECTW
        for kind, value in ((22, _ALIGN[mark.align]), (24, _color(mark.shade))):  # SETTEXTALIGN, SETTEXTCOLOR
            if self._held.get(str(kind)) != value:
                self._held[str(kind)] = value
                self.record(kind, struct.pack("<I", value))
        self._letters(mark)

    def _letters(self, mark: Words) -> None:
        text = mark.text.encode("utf-16-le")
        spaces = _spaces(mark)
        start = 8 + 28 + 40
        at = start + len(text) + -len(text) % 4
        body = struct.pack("<iiiiIff", 0, 0, -1, -1, 1, 1.0, 1.0)
        body += struct.pack("<iiIII", _units(mark.at[0]), _units(mark.at[1]), len(text) // 2, start, 0)
        body += struct.pack("<iiiiI", 0, 0, -1, -1, at if spaces else 0)
        body += text + bytes(-len(text) % 4) + struct.pack(f"<{len(spaces)}i", *spaces)
        self.record(84, body)  # EXTTEXTOUTW


def _spaces(mark: Words) -> list[int]:
    """Return the room of each letter [units], or none where a letter is of a script whose widths aren't known.

    Edges between letters are rounded, not their widths, so that a long text doesn't drift.
    """
    edges, used = [0], 0.0
    for letter in mark.text:
        if not known(letter):
            return []
        used += letter_em(letter, bold=mark.bold) * mark.size_pt * _UNITS_PER_PT
        edges.append(round(used))
    return [after - before for before, after in pairwise(edges)]
