"""The pathways as a map: rooms, segments with their fill, and the devices at each point."""

from __future__ import annotations

import math
from collections import Counter, deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.documents.description import Picture
from estimator.documents.drawing import (
    Align,
    Box,
    Disc,
    Drawing,
    Line,
    Mark,
    Point,
    Stroke,
    Words,
    bar,
    box_of,
    cut,
    label,
    line,
    quiet,
)
from estimator.documents.shown import shown
from estimator.spec.model import Project
from estimator.spec.plant import PlanNode, Room
from estimator.takeoff.fill import SegmentFill
from estimator.takeoff.footage import end_of
from estimator.takeoff.takeoff import Takeoff
from estimator.units.rounding import over

MOST_MAPS: Final = 4
MOST_SEGMENTS: Final = 40
"""Segments on one map: those with the most cables; more could not be read."""

_WIDTH_MM, _HEIGHT_MM = 178.0, 92.0
_EDGE_MM: Final = (16.0, 9.0, 16.0, 13.0)  # left, top, right, bottom: room for what is written outermost
_ROOM_MM: Final = 3.4
_NODE_MM: Final = 0.9
_MOST_LEADS: Final = 4
_NEAR: Final = 0.8  # of its limit, from which a segment counts as nearly full
_STROKES: Final = {
    "within": Stroke(width_mm=0.35),
    "near": Stroke(width_mm=0.8),
    "over": Stroke(width_mm=1.5),
    "none": Stroke(width_mm=0.35, shade="muted", dashed=True),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """One map: its name, the points that stand on it, from the left and the top, and its segments."""

    name: str
    points: Mapping[str, Point]
    segments: tuple[SegmentFill, ...]
    leads: tuple[SegmentFill, ...]  # to other floors: one end is on this map
    drawn: bool  # by places on a plan, else in layers from the rooms
    left_out: int


def map_pictures(takeoff: Takeoff) -> list[Picture]:
    """Return a map of each floor whose points have places on a plan, else one of the whole job in layers."""
    if not takeoff.fill.segments:
        return []
    devices = Counter(end for length in takeoff.footage.lengths if (end := end_of(length)) is not None)
    plans = _plans(takeoff)
    busiest = sorted(plans, key=lambda plan: -sum(one.lies for one in plan.segments))[:MOST_MAPS]
    kept = [plan for plan in plans if plan in busiest]
    pictures = [_picture(plan, devices, takeoff.project, number) for number, plan in enumerate(kept, start=1)]
    left_out = ", ".join(plan.name for plan in plans if plan not in busiest)
    if left_out:
        note = f" Not drawn, with fewer cables: {left_out}."
        pictures[-1] = replace(pictures[-1], caption=pictures[-1].caption + note)
    return pictures


def _plans(takeoff: Takeoff) -> list[Plan]:
    project = takeoff.project
    places: dict[str, Room | PlanNode] = {**project.rooms, **project.nodes}
    floors: dict[str, dict[str, Point]] = {}
    for name, place in places.items():
        if place.x is not None and place.y is not None:
            floors.setdefault(place.floor, {})[name] = (place.x, -place.y)
    floor_of = {name: floor for floor, points in floors.items() for name in points}
    own: dict[str, list[SegmentFill]] = {floor: [] for floor in floors}
    leads: dict[str, list[SegmentFill]] = {floor: [] for floor in floors}
    for one in takeoff.fill.segments:
        start, end = (floor_of.get(node) for node in (one.segment.start, one.segment.end))
        if start is not None and start == end:
            own[start].append(one)
            continue
        for floor in (start, end):
            if floor is not None:
                leads[floor].append(one)
    plans = [
        _plan(f"floor {floor}" if floor else "the job", points, own[floor], leads[floor])
        for floor, points in floors.items()
        if own[floor]
    ]
    if plans:
        return plans
    kept = _most(takeoff.fill.segments)
    points = layers([(one.segment.start, one.segment.end) for one in kept], list(project.rooms))
    return [_plan("the job", points, takeoff.fill.segments, drawn=False)]


def _most(segments: Sequence[SegmentFill]) -> tuple[SegmentFill, ...]:
    """Return the segments with the most cables, in the order of the project file."""
    if len(segments) <= MOST_SEGMENTS:
        return tuple(segments)
    kept = sorted(range(len(segments)), key=lambda at: (-segments[at].lies, at))[:MOST_SEGMENTS]
    return tuple(segments[at] for at in sorted(kept))


def _plan(
    name: str,
    points: Mapping[str, Point],
    segments: Sequence[SegmentFill],
    leads: Sequence[SegmentFill] = (),
    *,
    drawn: bool = True,
) -> Plan:
    kept = _most(segments)
    used = {end for one in kept for end in (one.segment.start, one.segment.end)}
    return Plan(
        name=name,
        points={node: point for node, point in points.items() if node in used},
        segments=kept,
        leads=tuple(leads[:_MOST_LEADS]),
        drawn=drawn,
        left_out=len(segments) - len(kept),
    )


def layers(edges: Iterable[tuple[str, str]], rooms: Sequence[str]) -> dict[str, Point]:
    """Return a place for every point of a graph: as many steps from the left as it is from the nearest room.

    Points of one layer stand below one another in the order in which their neighbors on the left do.
    What no room reaches starts a layer of its own at the left.
    """
    beside: dict[str, list[str]] = {}
    for start, end in edges:
        beside.setdefault(start, []).append(end)
        beside.setdefault(end, []).append(start)
    steps: dict[str, int] = {}
    for first in [*([room for room in rooms if room in beside],), *([name] for name in beside)]:
        waiting = deque(name for name in first if name not in steps)
        steps.update(dict.fromkeys(waiting, 0))
        while waiting:
            name = waiting.popleft()
            for other in beside[name]:
                if other not in steps:
                    steps[other] = steps[name] + 1
                    waiting.append(other)
    rows: dict[int, list[str]] = {}
    for name, step in steps.items():
        rows.setdefault(step, []).append(name)
    tallest = max(map(len, rows.values()), default=1)
    return {
        name: (float(step), (row + 0.5) * tallest / len(names))
        for step, names in rows.items()
        for row, name in enumerate(names)
    }


def _fitted(points: Mapping[str, Point]) -> tuple[dict[str, Point], float]:
    """Return the points moved and scaled into the picture, upright and level alike, and the height it takes."""
    left, top, right, bottom = _EDGE_MM
    xs, ys = [x for x, _ in points.values()], [y for _, y in points.values()]
    wide, high = _WIDTH_MM - left - right, _HEIGHT_MM - top - bottom
    spans = max(max(xs) - min(xs), 1e-9), max(max(ys) - min(ys), 1e-9)
    scale = min(wide / spans[0], high / spans[1])
    aside = (wide - scale * (max(xs) - min(xs))) / 2
    placed = {
        name: (left + aside + (x - min(xs)) * scale, top + (y - min(ys)) * scale) for name, (x, y) in points.items()
    }
    return placed, top + bottom + scale * (max(ys) - min(ys))


def _stretched(points: Mapping[str, Point]) -> tuple[dict[str, Point], float]:
    """Return the points of layers spread over the whole picture."""
    left, top, right, bottom = _EDGE_MM
    xs, ys = [x for x, _ in points.values()], [y for _, y in points.values()]
    across = (_WIDTH_MM - left - right) / max(max(xs) - min(xs), 1e-9)
    down = min((_HEIGHT_MM - top - bottom) / max(max(ys) - min(ys), 1e-9), 16.0)
    placed = {name: (left + (x - min(xs)) * across, top + (y - min(ys)) * down) for name, (x, y) in points.items()}
    return placed, top + bottom + down * (max(ys) - min(ys))


def _picture(plan: Plan, devices: Mapping[str, int], project: Project, number: int) -> Picture:
    points, height = _fitted(plan.points) if plan.drawn else _stretched(plan.points)
    sheet = _Sheet(_WIDTH_MM, height)
    sheet.key(height)
    for one in plan.segments:
        sheet.segment(one, points)
    rooms = [name for name in points if name in project.rooms]
    for name in rooms:
        sheet.room(points[name])
    for name in points:
        if name not in project.rooms:
            sheet.node(points[name])
    for name in rooms:
        sheet.name_node(name, points[name], devices.get(name, 0), room=True)
    for one in sorted(plan.segments, key=lambda one: (-_ratio(one), one.id)):
        sheet.name_segment(one, points)
    for name in points:
        if name not in rooms:
            sheet.name_node(name, points[name], devices.get(name, 0), room=False)
    told = " ".join(_told(one) for one in plan.segments)
    at = ", ".join(f"{name} {devices[name]}" for name in points if devices.get(name))
    where = "drawn by the places on the plan" if plan.drawn else "in layers: steps from a room, not distances"
    leads = "; ".join(map(_told, plan.leads)).replace(".;", ";")
    away = f" To other floors: {leads}" if leads else ""
    less = f" The {len(plan.segments)} segments with the most cables; {plan.left_out} more are in the table."
    return Picture(
        name=f"map_{number}",
        title=f"Map of the pathways: {plan.name}",
        alternative=f"Rooms {', '.join(rooms) or 'none'}, {len(plan.segments)} segments, {where}. {told} "
        f"Circuits that end at a point: {at or 'none'}.{away}",
        drawing=Drawing(width_mm=_WIDTH_MM, height_mm=height, marks=tuple(sheet.marks)),
        caption=f"{where[:1].upper()}{where[1:]}. At each segment the share of its space that is filled, at each point "
        f"the circuits that leave there.{less if plan.left_out else ''}{away}",
    )


def _ratio(one: SegmentFill) -> float:
    return -1.0 if one.share is None or one.limit is None else one.share / one.limit.share


def _state(one: SegmentFill) -> str:
    if one.share is None or one.limit is None:
        return "none"
    return "over" if one.is_over else "near" if over(_ratio(one), _NEAR) else "within"


def _told(one: SegmentFill) -> str:
    ends = f"{one.id} from {one.segment.start} to {one.segment.end}"
    if one.share is None or one.limit is None:
        return f"{ends}, {one.lies} cables."
    shares = f"{shown(one.share, 'percent', 0)} of at most {shown(one.limit.share, 'percent', 0)}"
    return f"{ends}, filled {shares}, {one.word}."


class _Sheet:
    """The marks so far, and the room that words and points have taken: no word is written over another."""

    def __init__(self, width: float, height: float) -> None:
        self.marks: list[Mark] = []
        self._whole = (width, height)
        self._taken: list[Box] = []

    def key(self, height: float) -> None:
        """Write what the lines mean along the lower edge."""
        words = {
            "within": f"up to {shown(_NEAR, 'percent', 0)} of the limit",
            "near": f"over {shown(_NEAR, 'percent', 0)} of the limit",
            "over": "over the limit",
            "none": "no limit",
        }
        x, y = 4.0, height - 2.5
        for state, text in words.items():
            self.marks.append(line((x, y - 0.8), (x + 8.0, y - 0.8), stroke=_STROKES[state]))
            self._write(quiet((x + 9.5, y), text))
            x += 42.0

    def segment(self, one: SegmentFill, points: Mapping[str, Point]) -> None:
        """Draw a segment from end to end."""
        ends = points[one.segment.start], points[one.segment.end]
        self.marks.append(Line(points=ends, stroke=_STROKES[_state(one)]))

    def room(self, at: Point) -> None:
        """Draw a room as a square."""
        box = bar(at[0] - _ROOM_MM / 2, at[1] - _ROOM_MM / 2, _ROOM_MM, _ROOM_MM, "ink")
        self.marks.append(box)
        self._taken.append(box_of(box))

    def node(self, at: Point) -> None:
        """Draw a point of the pathway."""
        dot = Disc(center=at, radius_mm=_NODE_MM, fill="ink", stroke=None)
        self.marks.append(dot)
        self._taken.append(box_of(dot))

    def name_segment(self, one: SegmentFill, points: Mapping[str, Point]) -> None:
        """Write a segment's name and fill beside its middle, where there is room."""
        (x1, y1), (x2, y2) = points[one.segment.start], points[one.segment.end]
        fill = "" if one.share is None else f" {shown(one.share, 'percent', 0)}"
        text = f"{cut(one.id, 6.5, 22.0)}{fill}"
        bold = _state(one) in ("near", "over")
        level = abs(y2 - y1) < abs(x2 - x1)
        for part in (0.5, 0.38, 0.62, 0.26, 0.74):
            x, y = x1 + (x2 - x1) * part, y1 + (y2 - y1) * part
            spots: list[tuple[float, float, Align]] = [(x, y - 1.2, "center"), (x, y + 3.0, "center")]
            beside: list[tuple[float, float, Align]] = [(x + 1.4, y + 0.8, "left"), (x - 1.4, y + 0.8, "right")]
            for at_x, at_y, align in spots + beside if level else beside + spots:
                if self._write(label((at_x, at_y), text, 6.5, align=align, bold=bold), over_lines=False):
                    return

    def name_node(self, name: str, at: Point, devices: int, *, room: bool) -> None:
        """Write a point's name and how many circuits leave there, off the lines where there is room for it."""
        count = f": {devices} circuit{'s' if devices != 1 else ''}" if devices else ""
        size = 8.0 if room else 6.5
        text = f"{'Room ' if room else ''}{cut(name, size, 24.0)}{count}"
        aside = below = _ROOM_MM / 2 if room else _NODE_MM
        x, y = at
        spots: tuple[tuple[float, float, Align], ...] = (
            (x, y + below + 3.0, "center"),
            (x, y - below - 1.0, "center"),
            (x + aside + 1.0, y + 0.8, "left"),
            (x - aside - 1.0, y + 0.8, "right"),
            *((x + aside + 0.5, y + down, "left") for down in (3.0, -1.6)),
            *((x - aside - 0.5, y + down, "right") for down in (3.0, -1.6)),
        )
        for over_lines in (False, True):
            for at_x, at_y, align in spots:
                words = label((at_x, at_y), text, size, align=align, bold=True)
                if self._write(words if room else quiet(words.at, text, align=align), over_lines=over_lines):
                    return

    def _write(self, words: Words, *, over_lines: bool = True) -> bool:
        """Write words where they stay on the sheet and off all others; return whether they were written."""
        box = box_of(words)
        inside = box.left >= 0 and box.top >= 0 and box.right <= self._whole[0] and box.bottom <= self._whole[1]
        free = inside and not any(box.touches(other) for other in self._taken)
        if free and not over_lines:
            lines = (mark for mark in self.marks if isinstance(mark, Line))
            free = not any(_crosses(one, box) for one in lines)
        if free:
            self._taken.append(box)
            self.marks.append(words)
        return free


def _crosses(one: Line, box: Box) -> bool:
    """Return whether a straight line passes through a box."""
    (x1, y1), (x2, y2) = one.points[0], one.points[-1]
    low, high = 0.0, 1.0
    for start, step, least, most in ((x1, x2 - x1, box.left, box.right), (y1, y2 - y1, box.top, box.bottom)):
        if math.isclose(step, 0.0, abs_tol=1e-9):
            if not least <= start <= most:
                return False
            continue
        ends = sorted(((least - start) / step, (most - start) / step))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low <= high
