"""Pictures of panel faces and racks, as somebody standing before them sees them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.documents.description import Block, Break, Picture, Section
from estimator.documents.drawing import (
    GRID,
    PLAIN,
    THIN,
    Drawing,
    Mark,
    bar,
    cut,
    hatched,
    label,
    moved,
    quiet,
    wrapped,
)
from estimator.documents.job_words import counted
from estimator.documents.port_map import FREE, Face, Port, face_title, faces, held, rack_table, stacked
from estimator.spec.model import Project
from estimator.spec.plant import Room
from estimator.spec.racks import Rack, RackItem
from estimator.takeoff.takeoff import Takeoff

_WIDE_MM: Final = 228.0  # what a page on its side has between its margins
_PORT_WIDEST_MM: Final = 15.0
_ROW_MM: Final = 12.5
_EDGE_MM: Final = 3.0
_RACK_MM: Final = 50.0
_BETWEEN_MM: Final = 9.0
_NUMBERS_MM: Final = 6.0
_HEAD_MM: Final = 11.0
_STACK_MM: Final = 132.0
_UNIT_MM: Final = 4.6
_PAGE_MM: Final = 128.0  # what a page on its side has for one picture with its words
_TITLE_MM: Final = 5.5
_BELOW_MM: Final = 4.0
_SIDES: Final = 4  # racks beside one another on a page
_FINE_PT: Final = 5.0
_GOOD: Final = ("pass", "accepted")


def face_pictures(shown: Sequence[Face]) -> list[Picture]:
    """Return pictures of panel faces, each port with its number and what ends on it: a page holds one picture."""
    pictures: list[Picture] = []
    for room in dict.fromkeys(face.room for face in shown):
        own = [face for face in shown if face.room == room]
        pages = _packed(own)
        for number, page in enumerate(pages, start=1):
            part = f", {number} of {len(pages)}" if len(pages) > 1 else ""
            pictures.append(_faces(page, room, f"{room}_{number}", part))
    return pictures


def plant_sections(takeoff: Takeoff, words: Mapping[str, str] | None = None) -> tuple[Section, ...]:
    """Return the parts with panel faces and racks, each where there is one; ``words`` are verdicts by circuit."""
    shown = _paged(face_pictures(faces(takeoff, words)))
    racks = _paged(rack_pictures(takeoff.project))
    sections = [Section(title="Panel faces", blocks=tuple(shown), landscape=True)] if shown else []
    if racks:
        blocks = (rack_table(takeoff.project), Break.PAGE, *racks)
        sections.append(Section(title="Racks", blocks=blocks, landscape=True, new_page=True))
    return tuple(sections)


def _paged(pictures: Sequence[Picture]) -> list[Block]:
    """Return pictures with a page for each."""
    blocks: list[Block] = []
    for picture in pictures:
        blocks += [Break.PAGE, picture] if blocks else [picture]
    return blocks


def _packed(shown: Sequence[Face]) -> list[list[Face]]:
    """Return the faces page by page, in their order."""
    pages: list[list[Face]] = []
    left = 0.0
    for face in shown:
        height = _face_mm(face)
        if not pages or height > left:
            pages.append([])
            left = _PAGE_MM
        pages[-1].append(face)
        left -= height
    return pages


def _face_mm(face: Face) -> float:
    return _TITLE_MM + 2 * _EDGE_MM + len(face.rows) * _ROW_MM + _BELOW_MM


def _port_mm(face: Face) -> float:
    return min(_PORT_WIDEST_MM, (_WIDE_MM - 2 * _EDGE_MM) / len(face.rows[0]))


def _faces(shown: Sequence[Face], room: str, name: str, part: str) -> Picture:
    marks: list[Mark] = []
    down = 0.0
    for face in shown:
        marks += moved(_face(face), 0.0, down)
        down += _face_mm(face)
    judged = any(port.word for face in shown for row in face.rows for port in row)
    return Picture(
        name=f"faces_{name}",
        title=f"Panel faces of room {room}{part}",
        alternative=" ".join(map(_told_face, shown)),
        drawing=Drawing(
            width_mm=max(len(face.rows[0]) * _port_mm(face) for face in shown) + 2 * _EDGE_MM,
            height_mm=down,
            marks=tuple(marks),
        ),
        caption="Hatched ports have not passed; gray ones are free." if judged else "Gray ports are free.",
    )


def _face(face: Face) -> Iterator[Mark]:
    port_mm = _port_mm(face)
    yield label((0.2, 3.6), face_title(face), 8.0, bold=True)
    size = (len(face.rows[0]) * port_mm + 2 * _EDGE_MM - 0.4, 2 * _EDGE_MM + len(face.rows) * _ROW_MM - 0.4)
    yield bar(0.2, _TITLE_MM + 0.2, *size, "band", PLAIN)
    for row, ports in enumerate(face.rows):
        for place, port in enumerate(ports):
            yield from _port(port, _EDGE_MM + place * port_mm, _TITLE_MM + _EDGE_MM + row * _ROW_MM, port_mm)


def _told_face(face: Face) -> str:
    every = [port for row in face.rows for port in row]
    taken = [port for port in every if port.circuit]
    told = f"{face_title(face)}: {counted(len(every), 'port')}, {len(taken)} taken."
    if any(port.word for port in taken):
        open_ones = [port.circuit for port in taken if port.word not in _GOOD]
        told += f" Not passed: {', '.join(open_ones) or 'none'}."
    return told


def _port(port: Port, left: float, top: float, width: float) -> Iterator[Mark]:
    """Yield a port: its number above, what ends on it in the jack, hatched where it has not passed."""
    middle = left + width / 2
    yield quiet((middle, top + 2.6), str(port.number), _FINE_PT, align="center")
    box = (left + 0.5, top + 3.4, width - 1.0, _ROW_MM - 4.6)
    yield bar(*box, "paper" if port.circuit else "hair", THIN)
    if not port.circuit:
        return
    if port.word and port.word not in _GOOD:
        yield from hatched(left + 0.5, top + 9.4, width - 1.0, _ROW_MM - 10.6, "rising")
    for number, text in enumerate(_split(port.circuit, width - 1.6)):
        yield label((middle, top + 5.8 + 2.3 * number), text, _FINE_PT, align="center")


def _split(circuit: str, room_mm: float) -> list[str]:
    """Return an identifier on one line, or on two, parted at a sign that it holds."""
    if cut(circuit, _FINE_PT, room_mm) == circuit:
        return [circuit]
    signs = [place + 1 for place, letter in enumerate(circuit) if letter in "-/." and place + 1 < len(circuit)]
    at = min(signs, key=lambda place: abs(place - len(circuit) / 2), default=len(circuit) // 2)
    return [cut(circuit[:at], _FINE_PT, room_mm), cut(circuit[at:], _FINE_PT, room_mm)]


@dataclass(frozen=True, slots=True)
class _Side:
    room: Room
    rack: Rack
    side: str
    items: tuple[RackItem, ...]


def rack_pictures(project: Project) -> list[Picture]:
    """Return pictures of the racks with units, up to four sides beside one another."""
    sides = list(_sides(project))
    return [
        _racks(project, sides[start : start + _SIDES], start // _SIDES + 1) for start in range(0, len(sides), _SIDES)
    ]


def _sides(project: Project) -> Iterator[_Side]:
    for room in project.rooms.values():
        for rack in room.racks:
            for side in ("front", "rear"):
                items = tuple(item for item in rack.holds if item.side in (side, "both"))
                if rack.units and (side == "front" or any(item.side == "rear" for item in items)):
                    yield _Side(room, rack, side, items)


def _racks(project: Project, sides: Sequence[_Side], number: int) -> Picture:
    unit_mm = min(_UNIT_MM, _STACK_MM / max(one.rack.units for one in sides))
    step = _RACK_MM + _NUMBERS_MM + _BETWEEN_MM
    floor = _HEAD_MM + unit_mm * max(one.rack.units for one in sides)
    marks: list[Mark] = []
    for place, one in enumerate(sides):
        marks += _rack(project, one, place * step + _NUMBERS_MM, floor, unit_mm)
    told = "; ".join(_told(one) for one in sides)
    return Picture(
        name=f"racks_{number}",
        title="Rack elevations",
        alternative=f"{told}.",
        drawing=Drawing(width_mm=len(sides) * step, height_mm=floor + 2.0, marks=tuple(marks)),
        caption="Units are counted from the floor up.",
    )


def _told(one: _Side) -> str:
    standing = [f"{item.shown} in {item.at}" for item in sorted(one.items, key=lambda item: -item.at)]
    return f"{one.room.id} rack {one.rack.id}, {one.side}, {one.rack.units} units: {', '.join(standing) or FREE}"


def _rack(project: Project, one: _Side, left: float, floor: float, unit_mm: float) -> Iterator[Mark]:
    """Yield a rack: units numbered at the left, what stands in it as boxes with words."""
    units = one.rack.units
    top = floor - units * unit_mm
    yield label((left, top - 5.6), f"{one.room.id}, rack {one.rack.id}", 8.0, bold=True)
    about = f"{one.rack.name}, {one.side}" if one.rack.name else one.side
    yield quiet((left, top - 2.0), cut(about, 6.5, _RACK_MM))
    yield bar(left, top, _RACK_MM, units * unit_mm, "paper", PLAIN)
    for unit in range(1, units + 1):
        y = floor - unit * unit_mm
        if unit_mm >= 2.0 and (unit == 1 or unit % 5 == 0 or unit == units):
            yield quiet((left - 1.0, y + unit_mm * 0.75), str(unit), min(6.0, unit_mm * 1.9), align="right")
        if unit < units:
            yield bar(left, y, _RACK_MM, 0.0, "paper", GRID)
    for low, high, item in stacked(one.items, units):
        if item is not None:
            yield from _item(project, one.room, item, left, floor - high * unit_mm, (high - low + 1) * unit_mm)


def _item(project: Project, room: Room, item: RackItem, left: float, top: float, height: float) -> Iterator[Mark]:
    yield bar(left + 1.2, top + 0.15, _RACK_MM - 2.4, height - 0.3, "band", THIN)
    about = held(project, room, item)
    said = f"{item.shown}: {about}" if about else item.shown
    size = min(6.5, (height - 0.4) * 2.2)
    lines = wrapped(said, size, _RACK_MM - 5.0, 1 if height < 5.5 else 2)
    middle = top + height / 2 - (len(lines) - 1) * size * 0.2
    for number, text in enumerate(lines):
        yield label((left + 2.4, middle + size * 0.13 + number * size * 0.4), text, size)
