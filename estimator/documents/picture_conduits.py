"""Conduits cut across, to scale, with their cables packed: the fullest of the job."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from estimator.calc.packing import packed
from estimator.documents.common import diameter_unit
from estimator.documents.description import Picture
from estimator.documents.drawing import THIN, Disc, Drawing, Mark, Shade, Stroke, Words, cut, label, line, moved, quiet
from estimator.documents.shown import shown
from estimator.spec.model import Cable, Project
from estimator.takeoff.fill import Fill, SegmentFill, inside_diameter
from estimator.units.rounding import round_half_up

MOST_DRAWN: Final = 6
MOST_CABLES: Final = 150  # of one conduit; more would be dots
_ACROSS: Final = 3
_CELL_MM: Final = (57.0, 61.0)
_ROUND_MM: Final = 38.0  # of every conduit, whatever its size: each is drawn to a scale of its own
_WALL_MM: Final = 1.0
_KEY_ROW_MM: Final = 6.5
_STEPS: Final = (1, 2, 5, 10, 20, 50)  # of a scale bar, in hundredths of an inch or tenths of a millimeter
_FILLS: Final[tuple[tuple[Shade, str], ...]] = (
    ("paper", ""),
    ("rule", ""),
    ("hair", "dot"),
    ("muted", ""),
    ("paper", "ring"),
    ("rule", "dot"),
    ("ink", ""),
    ("hair", "ring"),
    ("paper", "dot"),
    ("rule", "ring"),
)
"""Gray and mark of a cable type, so that two neighbors differ on any printer."""


def fullest(fill: Fill) -> list[SegmentFill]:
    """Return the conduits and sleeves nearest to their limit, those over it first, equal ones once."""
    found: dict[object, SegmentFill] = {}
    for one in fill.segments:
        if one.segment.kind in ("conduit", "sleeve") and one.limit is not None and 0 < one.lies <= MOST_CABLES:
            alike = tuple((cable.id, count) for cable, count in one.lying)
            found.setdefault((one.segment.material, one.segment.trade_size, alike), one)
    return sorted(found.values(), key=_nearness)[:MOST_DRAWN]


def _nearness(one: SegmentFill) -> tuple[float, str]:
    assert one.share is not None
    assert one.limit is not None
    return -one.share / one.limit.share, one.id


def conduits_picture(fill: Fill, project: Project) -> Picture | None:
    """Return the fullest conduits cut across, or None where no conduit holds a cable."""
    drawn = fullest(fill)
    if not drawn:
        return None
    kinds = list(dict.fromkeys(cable.id for one in drawn for cable, _ in one.lying))
    across, down = min(len(drawn), _ACROSS), math.ceil(len(drawn) / _ACROSS)
    crossed = any(one.existing for one in drawn)
    marks: list[Mark] = []
    for number, one in enumerate(drawn):
        place = (number % _ACROSS * _CELL_MM[0], number // _ACROSS * _CELL_MM[1])
        marks += moved(_cell(one, kinds, project), *place)
    keys_across = max(across, 2)
    marks += moved(_key(kinds, keys_across, crossed=crossed), 0.0, down * _CELL_MM[1])
    width = keys_across * _CELL_MM[0]
    height = down * _CELL_MM[1] + math.ceil((len(kinds) + crossed) / keys_across) * _KEY_ROW_MM + 2.0
    return Picture(
        name="conduits_drawn",
        title="Conduits cut across, cables packed",
        alternative=f"Cross-sections to scale. {' '.join(_told(one) for one in drawn)}",
        drawing=Drawing(width_mm=width, height_mm=height, marks=tuple(marks)),
        caption="Each to a scale of its own, its bar says which; round, by outside diameters. How cables really come "
        f"to lie is another matter: fill is an area, and this shows one way in which they fit.{_left_out(fill)}",
    )


def _left_out(fill: Fill) -> str:
    """Return in words which conduits hold too many cables to be drawn."""
    many = [one.id for one in fill.segments if one.segment.kind in ("conduit", "sleeve") and one.lies > MOST_CABLES]
    named = ", ".join(many[:MOST_DRAWN]) + (f" and {len(many) - MOST_DRAWN} more" if len(many) > MOST_DRAWN else "")
    return f" Not drawn, because they hold over {MOST_CABLES} cables: {named}." if many else ""


def _told(one: SegmentFill) -> str:
    assert one.limit is not None
    kinds = ", ".join(f"{count} {cable.id}" for cable, count in one.lying)
    share, limit = (shown(each, "percent", 1) for each in (one.share, one.limit.share))
    return f"{one.id}, {_size(one)}: {kinds}; filled {share} of at most {limit}, {one.word}."


def _size(one: SegmentFill) -> str:
    return f"{one.segment.trade_size} {one.segment.material.upper()}"


def _cell(one: SegmentFill, kinds: Sequence[str], project: Project) -> Iterator[Mark]:
    """Yield a conduit with what is written around it, from the upper left corner of its cell."""
    assert one.limit is not None
    middle, wide = _CELL_MM[0] / 2, _CELL_MM[0] - 4.0
    bold = one.is_over
    head = cut(f"{one.id}  {_size(one)} {one.segment.kind}", 8.0, wide, bold=True)
    yield label((middle, 4.0), head, 8.0, align="center", bold=True)
    inside_mm = inside_diameter(one.segment) * 1000
    scale = _ROUND_MM / inside_mm
    center = (middle, 7.5 + _ROUND_MM / 2)
    yield Disc(center=center, radius_mm=_ROUND_MM / 2 + _WALL_MM, fill="muted", stroke=None)
    yield Disc(center=center, radius_mm=_ROUND_MM / 2, fill="paper", stroke=None)
    laid = _cables(one, inside_mm / 2000)
    for (x, y), cable, old in laid:
        at = (center[0] + x * 1000 * scale, center[1] - y * 1000 * scale)
        yield from _cable(at, cable.od_m * 500 * scale, kinds.index(cable.id), old)
    share, limit = (shown(each, "percent", 1) for each in (one.share, one.limit.share))
    count = f"{one.lies} cable{'s' if one.lies != 1 else ''}"
    yield label((middle, 51.0), f"{count}, {share} of at most {limit}", 7.0, align="center", bold=bold)
    missing = one.lies - len(laid)
    word = f"{one.word}: {missing} found no room" if missing else one.word
    yield label((middle - 2.0, 54.5), cut(word, 7.0, wide / 2), 7.0, align="right", bold=bold)
    yield from _scale_bar((middle + 2.0, 54.0), scale, project)


def _cables(one: SegmentFill, wall_m: float) -> list[tuple[tuple[float, float], Cable, bool]]:
    """Return the place of each cable from the middle [m], its type, and whether it lay there before."""
    waiting = [(cable, False) for cable, count in one.counts for _ in range(count)]
    waiting += [(cable, True) for cable, count in one.existing for _ in range(count)]
    found = []
    for circle in packed(radii_m=[cable.od_m / 2 for cable, _ in waiting], wall_m=wall_m):
        # Those that lay there before lie lowest of their size.
        fitting = [each for each in waiting if each[0].od_m / 2 == circle.radius_m]
        chosen = max(fitting, key=lambda each: each[1])
        waiting.remove(chosen)
        found.append(((circle.x_m, circle.y_m), *chosen))
    return found


def _cable(center: tuple[float, float], radius_mm: float, kind: int, old: bool) -> Iterator[Mark]:
    fill, mark = _FILLS[kind % len(_FILLS)]
    edge = Stroke(width_mm=min(0.25, radius_mm / 8))
    inner = radius_mm - edge.width_mm / 2
    yield Disc(center=center, radius_mm=inner, fill=fill, stroke=edge)
    if mark == "dot":
        yield Disc(center=center, radius_mm=radius_mm * 0.25, fill="ink", stroke=None)
    if mark == "ring":
        yield Disc(center=center, radius_mm=radius_mm * 0.5, fill=fill, stroke=edge)
    if old:
        reach = inner * 0.7
        for side in (-reach, reach):
            ends = ((center[0] - reach, center[1] - side), (center[0] + reach, center[1] + side))
            yield line(*ends, stroke=edge)


def _scale_bar(at: tuple[float, float], scale: float, project: Project) -> Iterator[Mark]:
    """Yield a bar of a round length, 5 to 13 mm long on paper."""
    unit, si = diameter_unit(project)
    step = 0.01 if unit == "in" else 0.1
    long_mm = [(round_half_up(many * step * ten, 3), many * step * ten * si * 1000 * scale) for ten in (1, 10, 100)
               for many in _STEPS]  # fmt: skip
    value, wide = max((each for each in long_mm if each[1] <= 13.0), key=lambda each: each[1])
    x, y = at
    for ends in (((x, y), (x + wide, y)), ((x, y - 0.8), (x, y + 0.8)), ((x + wide, y - 0.8), (x + wide, y + 0.8))):
        yield line(*ends, stroke=THIN)
    yield quiet((x + wide + 1.2, y + 0.8), f"{value:g} {unit}", 6.0)


def _key(kinds: Sequence[str], across: int, *, crossed: bool) -> Iterator[Mark]:
    """Yield a sample of each cable type with its name, and of one that lay there before."""
    entries = [(cut(kind, 7.0, _CELL_MM[0] - 12.0), number, False) for number, kind in enumerate(kinds)]
    if crossed:
        entries.append(("crossed: lay there before", 0, True))
    for number, (text, kind, old) in enumerate(entries):
        x, y = 4.0 + number % across * _CELL_MM[0], 4.0 + number // across * _KEY_ROW_MM
        yield from _cable((x, y), 2.0, kind, old)
        yield Words(at=(x + 4.0, y + 0.9), text=text, size_pt=7.0)
