"""Another way for circuits of an overfull segment: what to type, and the cable that it takes more.

A suggestion only: no length changes until somebody types the `via`. Searches and looks at other
fills are counted, so that a job with many overfull segments is not held up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from estimator.calc.routing import Tree, tree
from estimator.spec.model import Project
from estimator.spec.ranges import fold
from estimator.takeoff.alerts import Alert
from estimator.takeoff.fill import Fill, SegmentFill, filled_with
from estimator.takeoff.footage import ON_PLAN, ROUTED, Footage, Length, end_of, limited, shown_length, via_of
from estimator.takeoff.place import segment_alerts
from estimator.units.rounding import over

_MOST_NODES: Final = 100_000  # nodes that all shortest-path searches of a job may pass
_SINGLES: Final = 2  # single segments that are tried first
_MOST_TRIES: Final = 12  # lists of `via` that are tried for one segment
_MOST_VIA: Final = 3  # segments that somebody is asked to type
_MOST_LOOKS: Final = 5_000  # fills worked out for other numbers of cables
_ROUNDS: Final = 4  # times that the way around is searched anew because a segment on it got full

Way = tuple[float, tuple[str, ...]]
"""A route: its length [m] and its segments."""


@dataclass(slots=True)
class Circuit:
    """What takes one `via`: a drop with all its cables, or a backbone cable."""

    name: str
    room: str
    end: str
    lengths: list[Length]
    now: tuple[str, ...]

    @property
    def cables(self) -> Counter[str]:
        """Its cables by type."""
        return Counter(length.cable.id for length in self.lengths)


@dataclass(slots=True)
class Move:
    """A circuit that goes another way."""

    circuit: Circuit
    via: tuple[str, ...]
    way: Way
    each_m: float  # what each of its cables takes more


@dataclass(slots=True)
class _Spent:
    nodes: int = 0
    looks: int = 0

    @property
    def all(self) -> bool:
        """Whether nothing is left to spend."""
        return self.nodes >= _MOST_NODES or self.looks >= _MOST_LOOKS


def detour_alerts(footage: Footage, fill: Fill, project: Project) -> Iterator[Alert]:
    """Yield a suggestion for every overfull segment whose circuits find a longer way with room left."""
    full = {filled.segment.id: filled for filled in fill.segments if filled.is_over}
    if full:
        yield from _Detours(footage, fill, project, full).alerts()


class _Detours:
    """The plan of a job's cables while suggestions are made; each counts on those made before it."""

    def __init__(self, footage: Footage, fill: Fill, project: Project, full: dict[str, SegmentFill]) -> None:
        self.footage, self.project, self.full = footage, project, full
        self.before: Final = {filled.segment.id: filled for filled in fill.segments}
        self.laid: Final[dict[str, Counter[str]]] = {
            filled.segment.id: Counter({cable.id: count for cable, count in filled.counts}) for filled in fill.segments
        }
        self.circuits: Final = _through(footage, full)
        self.spent: Final = _Spent()
        self.tries = 0
        self.moved: Final[set[int]] = set()
        self.vias: Final[dict[str, list[tuple[str, ...]]]] = {}
        self.trees: Final[dict[tuple[str, frozenset[str]], Tree]] = {}
        self.permits: Final[dict[tuple[str, frozenset[str]], bool]] = {}

    def alerts(self) -> Iterator[Alert]:
        """Yield the suggestions, the segments in the order they are typed."""
        for name in self.full:
            if self._sound(name):
                continue  # cleared by an earlier one
            moves = self._clear(name)
            if moves:
                yield self._alert(name, moves)
            if self.spent.all:
                return

    def _sound(self, name: str) -> bool:
        """Whether a segment is within its limit as planned, and doesn't jam unless it did before."""
        self.spent.looks += 1
        before = self.before[name]
        after = filled_with(before.segment, +self.laid[name], self.project)
        return not after.is_over and (before.jams or not after.jams)

    def _clear(self, name: str) -> list[Move]:
        """Move circuits one by one, those with the shortest way around first, until the segment is clear."""
        closed, moves, self.tries = set(self.full), list[Move](), 0
        for _ in range(_ROUNDS):
            blocked: set[str] = set()
            for move in self._moves(name, frozenset(closed)):
                if self.spent.all:
                    break
                tight = blocked & set(move.way[1]) or self._carry(move)
                blocked |= tight
                if not tight:
                    moves.append(move)
                    self.moved.add(id(move.circuit))
                    if self._sound(name):
                        return self._needed(moves)
            if not blocked or self.spent.all:
                break
            closed |= blocked
        for move in moves:
            self._lay_back(move)
        return []

    def _moves(self, name: str, closed: frozenset[str]) -> list[Move]:
        """What could be moved out of a segment, the least cable first."""
        waiting = [circuit for circuit in self.circuits[name] if id(circuit) not in self.moved]
        ways = (self._move(circuit, closed) for circuit in waiting)
        return sorted((move for move in ways if move is not None), key=lambda move: move.each_m)

    def _needed(self, moves: list[Move]) -> list[Move]:
        """The moves without those that every segment cleared so far can do without; the longest looked at first."""
        clear = {one for one in self.full if self._sound(one)}
        kept = list(moves)
        for move in reversed(moves[:-1]):
            self._lay_back(move)
            if all(self._sound(one) for one in clear & set(move.circuit.now)):
                kept.remove(move)
            else:
                self._lay(move)
                self.moved.add(id(move.circuit))
        return kept

    def _carry(self, move: Move) -> set[str]:
        """Lay a circuit the other way; where a segment there can't take it, undo that and name the segment."""
        self._lay(move)
        new = set(move.way[1]) - set(move.circuit.now)
        tight = {name for name in new if not self._permitted(name) or not self._sound(name)}
        if tight:
            self._lay_back(move)
        return tight

    def _lay(self, move: Move) -> None:
        for cable, count in move.circuit.cables.items():
            for name in move.circuit.now:
                self.laid[name][cable] -= count
            for name in move.way[1]:
                self.laid[name][cable] += count

    def _lay_back(self, move: Move) -> None:
        self.moved.discard(id(move.circuit))
        for cable, count in move.circuit.cables.items():
            for name in move.circuit.now:
                self.laid[name][cable] += count
            for name in move.way[1]:
                self.laid[name][cable] -= count

    def _permitted(self, name: str) -> bool:
        """Whether no jacket and no class of circuit is wrong in a segment that wasn't so before."""
        key = name, frozenset(+self.laid[name])
        if key not in self.permits:
            before = self.before[name]
            after = filled_with(before.segment, +self.laid[name], self.project)
            found = [
                {(alert.kind, alert.value, alert.limit) for alert in segment_alerts([one], self.project)}
                for one in (before, after)
            ]
            self.permits[key] = found[1] <= found[0]
        return self.permits[key]

    def _move(self, circuit: Circuit, closed: frozenset[str]) -> Move | None:
        """The shortest way of a circuit around the closed segments, by what can be typed for it."""
        target = self._around(circuit, closed)
        if target is None:
            return None
        new = [name for name in target if name not in circuit.now]
        tried = self.vias.setdefault(circuit.room, [])
        known = [via for via in tried if set(via) <= set(target)]
        for via in dict.fromkeys((*known, *self._candidates(new))):
            way = self._by(circuit, via)
            if way is None or closed & set(way[1]):
                continue
            if via not in tried:
                tried.append(via)
            each_m = way[0] - circuit.lengths[0].route_m
            limit_m = self.project.rules.design_limit_m
            if any(limited(length) and over(length.expected_m + each_m, limit_m) for length in circuit.lengths):
                return None
            return Move(circuit, via, way, each_m)
        return None

    def _candidates(self, new: list[str]) -> Iterator[tuple[str, ...]]:
        """What may force a way: one of its longest new segments, its first and last one, all of a few."""
        segments = self.project.segments
        for name in sorted(new, key=lambda name: -segments[name].length_m)[:_SINGLES]:
            yield (name,)
        if len(new) > 1:
            yield new[0], new[-1]
        if 2 < len(new) <= _MOST_VIA:
            yield tuple(new)

    def _around(self, circuit: Circuit, closed: frozenset[str]) -> tuple[str, ...] | None:
        key = circuit.room, closed
        if key not in self.trees:
            if self.spent.all:
                return None
            self.spent.nodes += len(self.footage.routes.graph.nodes)
            self.trees[key] = tree(self.footage.routes.graph, circuit.room, closed=closed)
        return self.trees[key].segments_to(circuit.end)

    def _by(self, circuit: Circuit, via: tuple[str, ...]) -> Way | None:
        """The route that the house takes once the `via` is typed."""
        routes, drop = self.footage.routes, circuit.lengths[0].run and circuit.lengths[0].run.drop
        if not routes.knows(circuit.room, via):
            if self.spent.all or self.tries >= _MOST_TRIES:
                return None
            self.tries += 1
            self.spent.nodes += len(routes.graph.nodes) * (len(via) + 1)
        if drop and circuit.lengths[0].leaves is not None:
            spot = routes.leave(replace(drop, via=via))
            return None if spot is None else (spot.leaving.length_m + spot.distance_m, spot.leaving.segments)
        found = routes.tree(circuit.room, via)
        length_m, segments = found.length_to(circuit.end), found.segments_to(circuit.end)
        return None if length_m is None or segments is None else (length_m, segments)

    def _alert(self, name: str, moves: list[Move]) -> Alert:
        filled = filled_with(self.before[name].segment, +self.laid[name], self.project)
        assert filled.share is not None
        assert filled.limit is not None
        segment = filled.segment
        typed: dict[tuple[str, ...], list[str]] = {}
        position = {id(circuit): place for place, circuit in enumerate(self.circuits[name])}
        for move in sorted(moves, key=lambda move: position[id(move.circuit)]):
            typed.setdefault(move.via, []).append(move.circuit.name)
        what = ", ".join(f"`via: {_shown(via)}` on {', '.join(fold(names))}" for via, names in typed.items())
        total_m = sum(move.each_m * len(move.circuit.lengths) for move in moves)
        total, each = (shown_length(m, self.project) for m in (total_m, max(move.each_m for move in moves)))
        number = sum(len(move.circuit.lengths) for move in moves)
        return Alert(
            segment.source.at("id"),
            "way around",
            name,
            f"{number} cables have a longer way around {segment.kind.replace('_', ' ')} {name}",
            f"{filled.share:.1%} stay for {total} more cable, {each} at most on one",
            f"{filled.limit.share:.1%}",
            filled.limit.source,
            f"type {what}; no length changes until you do",
        )


def _shown(via: tuple[str, ...]) -> str:
    return via[0] if len(via) == 1 else f"[{', '.join(via)}]"


def _through(footage: Footage, full: Iterable[str]) -> dict[str, list[Circuit]]:
    """The circuits in each overfull segment that go the shortest way and may be sent another one."""
    found: dict[str, list[Circuit]] = {name: [] for name in full}
    hits: dict[tuple[str, str], tuple[str, ...]] = {}
    last: Circuit | None = None
    for length in footage.lengths:
        if length.method not in (ROUTED, ON_PLAN) or via_of(length):
            continue
        if length.run is not None and not length.run.first:
            if last is not None:
                last.lengths.append(length)
            continue
        last, end = None, length.leaves.node if length.leaves else end_of(length)
        assert end is not None
        hit = None if length.leaves else hits.get((length.room, end))
        if hit is None:
            hit = tuple(name for name in footage.segments(length) or () if name in found)
            if length.leaves is None:
                hits[length.room, end] = hit
        if hit:
            last = Circuit(_name(length), length.room, end, [length], footage.segments(length) or ())
            for name in hit:
                found[name].append(last)
    return found


def _name(length: Length) -> str:
    """What a `via` is typed on: a drop of several cables has one."""
    run = length.run
    several = run is not None and run.device is not None and len(run.device.cables) > 1
    return length.id.rsplit(".", 1)[0] if several else length.id
