"""A distance to a fault, put on the circuit's own route: which segment, how far past which node."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.field.sight import Sight
from estimator.spec.model import Project
from estimator.takeoff.footage import TYPED, Footage, Length
from estimator.units.rounding import over
from estimator.units.table import FACTORS

_AT_END_M: Final = 2.0
"""Within this of an end the termination is the first suspect: a reflection is no sharper than that."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of a circuit's cable: what it lies in, from which point on, and its length."""

    name: str
    start: str
    length_m: float


def stretches(length: Length, footage: Footage, project: Project) -> tuple[Stretch, ...]:
    """Return a circuit's cable from its room outward, piece by piece; one piece where it has no route."""
    if length.circuit is not None:
        return tuple(_between_devices(length))
    if length.method == TYPED or not (segments := footage.segments(length)):
        return (Stretch("the run", length.room, length.expected_m),)
    near = _room_end(length, project) + _room_loop(length)
    pieces = [Stretch(f"room {length.room}: rack, slack or room leg", length.room, near)] if near > 0 else []
    pieces.extend(_along(length, segments, project))
    rest = length.expected_m - sum(piece.length_m for piece in pieces)
    if over(rest, 0.0):
        end = _end(length, segments, project)
        pieces.append(Stretch("the last leg, slack or loop at the far end", end, rest))
    return tuple(pieces)


def _between_devices(length: Length) -> Iterable[Stretch]:
    assert length.circuit is not None
    before = length.circuit.feed
    for number, stop in enumerate(length.circuit.stops, start=1):
        name = stop.id or f"{stop.device} {number}"
        yield Stretch(f"between {before} and {name}", before, stop.distance_m)
        before = name
    if length.circuit.return_m:
        yield Stretch(f"between {before} and {length.circuit.feed}, the return", before, length.circuit.return_m)


def _room_loop(length: Length) -> float:
    """Return the service loop at the room: of two loops one lies at each end."""
    at_room = length.run is not None and length.run.drop.loop_at == "room"
    return length.service_loop_m if length.loops > 1 or at_room else 0.0


def _room_end(length: Length, project: Project) -> float:
    if length.backbone is None:
        return length.room_leg_m + length.slack_room_m
    # A backbone's two ends share what is beyond the route; its room may say its own.
    room, rules = project.rooms[length.room], project.rules
    slack = rules.slack_fiber_m if length.cable.medium == "fiber" else rules.slack_room_m
    leg = room.room_leg_m if room.room_leg_m is not None else rules.room_leg_m
    return leg + (room.slack_room_m if room.slack_room_m is not None else slack)


def _along(length: Length, segments: tuple[str, ...], project: Project) -> Iterable[Stretch]:
    node, left = length.room, _on_segments(length)
    for name in segments:
        segment = project.segments[name]
        extent = min(segment.length_m + segment.rise_m, left)
        yield Stretch(f"segment {name}", node, extent)
        node = segment.end if node == segment.start else segment.start
        left -= extent


def _on_segments(length: Length) -> float:
    """Return how much of a route lies in segments; the way over the plan beyond them isn't in it."""
    return length.leaves.length_m if length.leaves is not None else length.route_m


def _end(length: Length, segments: tuple[str, ...], project: Project) -> str:
    node = length.room
    for name in segments:
        segment = project.segments[name]
        node = segment.end if node == segment.start else segment.start
    return node


def locate(
    length: Length,
    distance_m: float,
    from_far_end: bool,
    footage: Footage,
    project: Project,
    sight: Sight | None = None,
) -> str:
    """Return where a distance lies on a circuit's route, in words, measured from the end tested from.

    The route's pieces are expected lengths; ``sight`` sets the distance right for the instrument's
    velocity and for slack, and tells how far on either side the place may lie.
    """
    unit = project.header.lengths_in
    on_route = sight.place_m(distance_m) if sight else distance_m
    reach = sight.reach_m(distance_m) if sight else 0.0
    from_room = length.expected_m - on_route if from_far_end else on_route
    ends = ("the far end", f"room {length.room}") if from_far_end else (f"room {length.room}", "the far end")
    said = f"{_shown(distance_m, unit)} from {ends[0]}"
    if not over(on_route, _AT_END_M):
        return f"{said}, at its termination"
    if not over(length.expected_m - on_route, _AT_END_M):
        return f"{said}, at or near {ends[1]}"
    pieces = stretches(length, footage, project)
    at = _piece(pieces, from_room)
    if at is None:
        return said
    piece, past = at
    words = f"{said}: in {piece.name}, {_shown(past, unit)} past {piece.start}"
    if reach <= 0:
        return words
    return f"{words}, give or take {_shown(reach, unit)}{_also(pieces, piece, from_room, reach)}"


def _piece(pieces: Sequence[Stretch], from_room: float) -> tuple[Stretch, float] | None:
    """Return the piece that a distance from the room lies in, and how far past its start."""
    passed = 0.0
    for piece in pieces:
        if not over(from_room, passed + piece.length_m):
            return piece, max(from_room - passed, 0.0)
        passed += piece.length_m
    return None


def _also(pieces: Sequence[Stretch], piece: Stretch, from_room: float, reach: float) -> str:
    """Return, in words, into which other pieces the place may reach."""
    near = [_piece(pieces, max(from_room + step, 0.0)) for step in (-reach, reach)]
    names = dict.fromkeys(each[0].name for each in near if each is not None and each[0] is not piece)
    return f"; it may lie in {' or '.join(names)} too" if names else ""


def _shown(length_m: float, unit: str) -> str:
    return f"{length_m / FACTORS['length'][unit]:.1f} {unit}"
