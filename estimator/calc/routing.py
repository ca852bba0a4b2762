"""Routes over the pathway graph, and the number of cables that they put into each segment.

One search a room gives the route to every node; the fill of all its drops is then added up along
the tree that the routes form. Lengths are compared in whole nanometers, so that float noise never
decides a tie: the shortest length wins, then the fewest segments, then the segment ids in order
from the room outward.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Final

from estimator.calc.formula import Expression
from estimator.units.rounding import round_half_up

_NANOMETERS: Final = 1e9
_LONGEST_M: Final = 1e9

SEGMENT_LENGTH: Final = Expression("length + rise")
"""What a cable needs from end to end of a segment: the flat length and a further vertical leg [m]."""

EXPECTED_LENGTH: Final = Expression("route + room_leg + last_leg + slack_room + slack_device + loops * service_loop")
"""A circuit's expected length [m]: the permanent link, unrounded, without waste or cords."""

AVERAGE_ROUTE: Final = Expression("(longest + shortest) / 2 * (1 + allowance)")
"""A drop's route before it is drawn [m]: mean of its room's longest and shortest, and an allowance for the
way around things. Source: general-wiring quantity formula of the trade press."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Segment:
    """One piece of pathway between two nodes."""

    id: str
    start: str
    end: str
    length_m: float  # what a cable needs from end to end, its vertical leg in it


@dataclass(frozen=True, kw_only=True, slots=True)
class Leaving:
    """Where a cable leaves a segment part of the way along, and how it came there."""

    node: str  # the end of the segment by which the cable enters it
    segment: str | None  # None where the place is that end itself
    length_m: float
    segments: tuple[str, ...]


def _nanometers(segment: Segment) -> int:
    if not math.isfinite(segment.length_m) or not 0 <= segment.length_m <= _LONGEST_M:
        raise ValueError(f"segment {segment.id!r}: length {segment.length_m!r} m is not a length")
    return int(round_half_up(segment.length_m * _NANOMETERS))


class Graph:
    """The pathway graph: nodes, and segments that may be passed either way."""

    __slots__ = ("ends", "ids", "nanometers", "near", "node_of", "nodes", "segment_of")

    def __init__(self, segments: Iterable[Segment], *, nodes: Iterable[str] = ()) -> None:
        """Build the graph. ``nodes`` names nodes that may have no segment.

        Raises: ValueError for a repeated segment id, or a length that is not zero or more.
        """
        ordered = sorted(segments, key=lambda segment: segment.id)
        self.node_of: Final[dict[str, int]] = {}
        for name in (*nodes, *(end for segment in ordered for end in (segment.start, segment.end))):
            self.node_of.setdefault(name, len(self.node_of))
        self.nodes: Final = tuple(self.node_of)
        self.ids: Final = tuple(segment.id for segment in ordered)
        self.segment_of: Final = {name: index for index, name in enumerate(self.ids)}
        if len(self.segment_of) < len(self.ids):
            twice = next(a for a, b in zip(self.ids, self.ids[1:], strict=False) if a == b)
            raise ValueError(f"segment id {twice!r} stands twice")
        self.nanometers: Final = tuple(map(_nanometers, ordered))
        self.ends: Final = tuple((self.node_of[s.start], self.node_of[s.end]) for s in ordered)
        self.near: Final[list[list[tuple[int, int, int]]]] = [[] for _ in self.nodes]
        for index, ((start, end), length) in enumerate(zip(self.ends, self.nanometers, strict=True)):
            self.near[start].append((index, end, length))
            if start != end:
                self.near[end].append((index, start, length))

    def node(self, name: str) -> int:
        """Return a node's index. Raises: ValueError if the graph has no such node."""
        if name not in self.node_of:
            raise ValueError(f"no node {name!r} in the pathway graph")
        return self.node_of[name]

    def segment(self, name: str) -> int:
        """Return a segment's index. Raises: ValueError if the graph has no such segment."""
        if name not in self.segment_of:
            raise ValueError(f"no segment {name!r} in the pathway graph")
        return self.segment_of[name]


class Tree:
    """The routes from one room to every node, as the tree that they form.

    A route that must pass ``via`` segments walks through layers: it enters the next layer only by
    the next segment of ``via``, which is closed to it otherwise. States are nodes in layers.
    """

    __slots__ = ("_by", "_closed", "_from", "_graph", "_hops", "_length", "_order", "_via", "source")

    def __init__(self, graph: Graph, source: str, via: Sequence[str] = (), *, closed: Iterable[str] = ()) -> None:
        """Search from the source, on no ``closed`` segment. Raises: ValueError for an unknown or repeated name."""
        self.source: Final = source
        self._graph: Final = graph
        self._via: Final = tuple(graph.segment(name) for name in via)
        if len(set(self._via)) < len(self._via):
            raise ValueError(f"via passes each segment once, but was {', '.join(via)}")
        self._closed: Final = frozenset(graph.segment(name) for name in closed)
        states = len(graph.nodes) * (len(via) + 1)
        self._length: Final[list[int]] = [-1] * states
        self._hops: Final[list[int]] = [0] * states
        self._from: Final[list[int]] = [-1] * states
        self._by: Final[list[int]] = [-1] * states
        self._order: Final[list[int]] = []
        self._search(graph.node(source))

    def _search(self, start: int) -> None:
        lengths, hops, order = self._length, self._hops, self._order
        near, size = self._graph.near, len(self._graph.nodes)
        gate = {segment: layer for layer, segment in enumerate(self._via)}
        gate |= dict.fromkeys(self._closed, -1)  # opens in no layer
        lengths[start] = 0
        heap = [(0, 0, start)]
        while heap:
            length, count, state = heappop(heap)
            if (length, count) != (lengths[state], hops[state]):
                continue  # a better label of this state was settled before
            order.append(state)
            layer, node = divmod(state, size)
            for segment, other, extent in near[node]:
                opens = gate.get(segment)
                if opens is not None and opens != layer:
                    continue
                target = other + size * (layer if opens is None else layer + 1)
                far, known = length + extent, lengths[target]
                if known < 0 or (far, count + 1) < (known, hops[target]):
                    lengths[target], hops[target] = far, count + 1
                    self._from[target], self._by[target] = state, segment
                    heappush(heap, (far, count + 1, target))
                elif (far, count + 1) == (known, hops[target]) and self._earlier(state, segment, target):
                    self._from[target], self._by[target] = state, segment

    def _earlier(self, state: int, segment: int, target: int) -> bool:
        """Whether the route over this state has the earlier ids; both have as many segments."""
        rival, other = self._from[target], self._by[target]
        while state != rival:
            segment, other = self._by[state], self._by[rival]
            state, rival = self._from[state], self._from[rival]
        return segment < other

    def _state(self, node: str, layer: int) -> int | None:
        state = self._graph.node(node) + layer * len(self._graph.nodes)
        return state if self._length[state] >= 0 else None

    def reaches(self, node: str) -> bool:
        """Return whether there is a route to the node. Raises: ValueError for an unknown node."""
        return self._state(node, len(self._via)) is not None

    def length_to(self, node: str) -> float | None:
        """Return the length of the route to the node [m], or None where there is no route.

        Raises: ValueError for an unknown node.
        """
        state = self._state(node, len(self._via))
        return None if state is None else self._length[state] / _NANOMETERS

    def segments_to(self, node: str) -> tuple[str, ...] | None:
        """Return the ids of the segments of the route, from the room outward; None without a route.

        Raises: ValueError for an unknown node.
        """
        state = self._state(node, len(self._via))
        return None if state is None else self._passed(state)

    def _passed(self, state: int) -> tuple[str, ...]:
        passed: list[str] = []
        while self._from[state] >= 0:
            passed.append(self._graph.ids[self._by[state]])
            state = self._from[state]
        return tuple(reversed(passed))

    def leave(self, segment: str, share: float) -> Leaving | None:
        """Return the route to a place on a segment; None where there is no route.

        ``share`` [unitless] is how far along the segment the place lies, 0 at its start. Of the
        two ways in, the shorter wins, by the same rule as between routes. A segment that ``via``
        names last may be left on the way, one that it names earlier may not.
        Raises: ValueError for an unknown segment or a share outside 0 to 1.
        """
        if not 0 <= share <= 1:
            raise ValueError(f"share {share!r} along segment {segment!r} is not from 0 to 1")
        index = self._graph.segment(segment)
        if index in self._via[:-1] or index in self._closed:
            return None
        layer = len(self._via) - (self._via[-1:] == (index,))
        ways = []
        for end, part in zip(self._graph.ends[index], (share, 1 - share), strict=True):
            state = self._state(self._graph.nodes[end], layer)
            if state is not None:
                extent = int(round_half_up(part * self._graph.nanometers[index]))
                inside = () if part == 0 else (segment,)
                passed = self._passed(state)
                length = self._length[state] + extent
                ways.append((length, len(passed) + len(inside), passed + inside, end, inside))
        if not ways:
            return None
        length, _, segments, end, inside = min(ways)
        node = self._graph.nodes[end]
        return Leaving(
            node=node, segment=inside[0] if inside else None, length_m=length / _NANOMETERS, segments=segments
        )

    def loads(self, counts: Mapping[str, int]) -> dict[str, int]:
        """Return how many cables lie in each segment, by adding up the tree once.

        ``counts`` says how many cables of one type end at each node. A cable that passes a segment
        twice, as a route with ``via`` may, counts twice. Segments without a cable are left out.
        Raises: ValueError for a node that is unknown or has no route.
        """
        below = [0] * len(self._length)
        for node, count in counts.items():
            state = self._state(node, len(self._via))
            if state is None:
                raise ValueError(f"no route from {self.source!r} to {node!r}")
            below[state] += count
        inside: dict[int, int] = {}
        for state in reversed(self._order):
            count, before = below[state], self._from[state]
            if count and before >= 0:
                below[before] += count
                segment = self._by[state]
                inside[segment] = inside.get(segment, 0) + count
        return {self._graph.ids[segment]: inside[segment] for segment in sorted(inside)}


def tree(graph: Graph, source: str, *, via: Sequence[str] = (), closed: Iterable[str] = ()) -> Tree:
    """Return the routes from a room to every node, shortest by length [m].

    ``via`` names segments that each route passes in that order, each once and either way; the rest
    of the route keeps off them. No route passes a ``closed`` segment. Ties: fewest segments, then
    segment ids in order.
    Method: label-setting shortest-path search with a heap, over whole nanometers.
    Source: graph theory, shortest paths by settling labels; the tie rule is the house's own.
    Raises: ValueError for an unknown source or segment, or a segment named twice.
    """
    return Tree(graph, source, via, closed=closed)
