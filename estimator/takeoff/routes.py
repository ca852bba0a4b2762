"""The pathway graph of a job: one search a room, and where a device on the plan leaves the pathway."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.calc.plan import Point, along_axes, nearest_along_axes, nearest_straight, straight
from estimator.calc.routing import Graph, Leaving, Tree, tree
from estimator.calc.routing import Segment as Edge
from estimator.spec.cabling import Drop
from estimator.spec.model import Project
from estimator.spec.plant import PlanNode, Room, Segment

OPEN_CARRIERS = ("tray", "j_hooks", "open")
"""What a cable may leave between its ends."""

_FOOT_M = 0.3048


@dataclass(frozen=True, slots=True)
class OnPlan:
    """Where a drop on the plan leaves the pathway, and how far it then goes along the plan."""

    leaving: Leaving
    distance_m: float


class Router:
    """The pathway graph with one search for each room and each list of ``via`` segments."""

    def __init__(self, project: Project) -> None:
        """Build the graph from the project's segments, rooms and nodes."""
        self.project = project
        edges = [
            Edge(id=s.id, start=s.start, end=s.end, length_m=s.length_m + s.rise_m) for s in project.segments.values()
        ]
        self.graph = Graph(edges, nodes=(*project.rooms, *project.nodes))
        self._trees: dict[tuple[str, tuple[str, ...]], Tree] = {}
        self.scale_m = project.plan.scale_m if project.plan else _FOOT_M

    def tree(self, room: str, via: tuple[str, ...] = ()) -> Tree:
        """Return the routes from a room."""
        key = (room, via)
        if key not in self._trees:
            self._trees[key] = tree(self.graph, room, via=via)
        return self._trees[key]

    def point(self, name: str) -> Point | None:
        """Return a node's or room's place on the plan [m], or None where it isn't drawn."""
        place = self.project.rooms.get(name) or self.project.nodes.get(name)
        if place is None or place.x is None or place.y is None:
            return None
        return place.x * self.scale_m, place.y * self.scale_m

    def _on_floor(self, segment: Segment, floor: str | None) -> bool:
        places = (self.project.rooms.get(n) or self.project.nodes.get(n) for n in (segment.start, segment.end))
        return all(floor is None or (place is not None and place.floor == floor) for place in places)

    def _distance(self, place: Point, other: Point) -> float:
        rules = self.project.rules
        if rules.plan_distance == "axes":
            return along_axes(place, other)
        return straight(place, other, factor=rules.straight_factor)

    def leave(self, drop: Drop) -> OnPlan | None:
        """Return where a drop typed by x and y leaves the pathway: the nearest point of a tray or
        j-hook segment of its floor, elsewhere the nearest node; None where nothing is drawn.
        """
        assert drop.x is not None
        assert drop.y is not None
        place = (drop.x * self.scale_m, drop.y * self.scale_m)
        routes = self.tree(drop.room, drop.via)
        nearest = nearest_along_axes if self.project.rules.plan_distance == "axes" else nearest_straight
        found: list[tuple[float, str, Leaving]] = []
        for segment in self.project.segments.values():
            ends = self.point(segment.start), self.point(segment.end)
            if segment.kind in OPEN_CARRIERS and ends[0] and ends[1] and self._on_floor(segment, drop.floor):
                spot = nearest(place, ends[0], ends[1])
                leaving = routes.leave(segment.id, spot.share)
                if leaving is not None:
                    found.append((self._distance(place, (spot.x_m, spot.y_m)), segment.id, leaving))
        if not found:
            found = self._nodes(place, drop, routes)
        if not found:
            return None
        distance, _, leaving = min(found, key=lambda item: (round(item[0], 9), item[1]))
        return OnPlan(leaving, distance)

    def _nodes(self, place: Point, drop: Drop, routes: Tree) -> list[tuple[float, str, Leaving]]:
        found = []
        places: list[Room | PlanNode] = [*self.project.rooms.values(), *self.project.nodes.values()]
        for node in places:
            point = self.point(node.id)
            length = routes.length_to(node.id) if point and (drop.floor in (None, node.floor)) else None
            if point is not None and length is not None:
                segments = routes.segments_to(node.id) or ()
                leaving = Leaving(node=node.id, segment=None, length_m=length, segments=segments)
                found.append((self._distance(place, point), node.id, leaving))
        return found
