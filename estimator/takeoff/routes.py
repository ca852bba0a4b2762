"""The pathway graph of a job: one search a room, and where a device on the plan leaves the pathway."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.calc.plan import Point, SegmentIndex, along_axes, nearest_along_axes, nearest_straight, straight
from estimator.calc.routing import Graph, Leaving, Tree, tree
from estimator.calc.routing import Segment as Edge
from estimator.spec.cabling import Drop
from estimator.spec.model import Project
from estimator.spec.plant import PlanNode, Room
from estimator.units.rounding import significant

OPEN_CARRIERS = ("tray", "j_hooks", "open")
"""What a cable may leave between its ends."""


@dataclass(frozen=True, slots=True)
class OnPlan:
    """Where a drop on the plan leaves the pathway, and how far it then goes along the plan."""

    leaving: Leaving
    distance_m: float


def _on(floor: str, of_node: str) -> bool:
    """Return whether a node may serve a floor; one that types none serves every floor."""
    return not floor or of_node in ("", floor)


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
        self._floors: dict[str, SegmentIndex] = {}
        self._stubs: dict[str, SegmentIndex] = {}
        # Without a unit no drop is placed by x and y: that is a fault of the project file.
        self.scale_m = (project.plan.scale_m if project.plan else None) or 1.0

    def tree(self, room: str, via: tuple[str, ...] = ()) -> Tree:
        """Return the routes from a room."""
        key = (room, via)
        if key not in self._trees:
            self._trees[key] = tree(self.graph, room, via=via)
        return self._trees[key]

    def knows(self, room: str, via: tuple[str, ...]) -> bool:
        """Return whether these routes were searched before."""
        return (room, via) in self._trees

    def point(self, name: str) -> Point | None:
        """Return a node's or room's place on the plan [m], or None where it isn't drawn."""
        place = self.project.rooms.get(name) or self.project.nodes.get(name)
        if place is None or place.x is None or place.y is None:
            return None
        return place.x * self.scale_m, place.y * self.scale_m

    def _distance(self, place: Point, other: Point) -> float:
        rules = self.project.rules
        if rules.plan_distance == "axes":
            return along_axes(place, other)
        return straight(place, other, factor=rules.straight_factor)

    def _drawn(self, floor: str) -> SegmentIndex:
        """Return the trays and j-hook segments that are drawn on a floor, sorted for quick look-up."""
        if floor not in self._floors:
            drawn = []
            for segment in self.project.segments.values():
                start, end = self.point(segment.start), self.point(segment.end)
                floors = (self._floor_of(segment.start), self._floor_of(segment.end))
                here = all(_on(floor, one) for one in floors)
                if segment.kind in OPEN_CARRIERS and start and end and here:
                    drawn.append((segment.id, start, end))
            axes = self.project.rules.plan_distance == "axes"
            self._floors[floor] = SegmentIndex(drawn, measure=nearest_along_axes if axes else nearest_straight)
        return self._floors[floor]

    def nearest_stub(self, drop: Drop) -> tuple[str, float] | None:
        """Return the nearest end of a conduit or raceway that is no end of a tray or j-hook segment, and how
        far off along the plan [m] it is from a drop typed by x and y; None where there is none to be reached.
        """
        assert drop.x is not None
        assert drop.y is not None
        floor, routes = drop.floor or self._floor_of(drop.room), self.tree(drop.room, drop.via)
        place = (drop.x * self.scale_m, drop.y * self.scale_m)
        found = self._stub_ends(floor).nearest(place, accept=routes.reaches)
        return None if found is None else (found[0], self._distance(place, (found[1].x_m, found[1].y_m)))

    def _stub_ends(self, floor: str) -> SegmentIndex:
        if floor not in self._stubs:
            segments = self.project.segments.values()
            closed, opened = (
                {end for segment in segments if (segment.kind in OPEN_CARRIERS) == is_open
                 for end in (segment.start, segment.end)}
                for is_open in (False, True)
            )  # fmt: skip
            ends = sorted(closed - opened - set(self.project.rooms))
            drawn = [
                (name, point, point)
                for name in ends
                if _on(floor, self._floor_of(name)) and (point := self.point(name))
            ]
            axes = self.project.rules.plan_distance == "axes"
            self._stubs[floor] = SegmentIndex(drawn, measure=nearest_along_axes if axes else nearest_straight)
        return self._stubs[floor]

    def _floor_of(self, name: str) -> str:
        place = self.project.rooms.get(name) or self.project.nodes.get(name)
        return place.floor if place is not None else ""

    def leave(self, drop: Drop) -> OnPlan | None:
        """Return where a drop typed by x and y leaves the pathway: the nearest point of a tray or
        j-hook segment of its floor, elsewhere the nearest node; None where nothing is drawn.

        A drop that types no floor is on its room's.
        """
        assert drop.x is not None
        assert drop.y is not None
        place = (drop.x * self.scale_m, drop.y * self.scale_m)
        routes = self.tree(drop.room, drop.via)
        floor = drop.floor or self._floor_of(drop.room)
        found = self._drawn(floor).nearest(place, accept=lambda name: routes.leave(name, 0.0) is not None)
        if found is not None:
            name, spot = found
            leaving = routes.leave(name, spot.share)
            if leaving is not None:
                return OnPlan(leaving, self._distance(place, (spot.x_m, spot.y_m)))
        nodes = self._nodes(place, floor, routes)
        if not nodes:
            return None
        distance, _, leaving = min(nodes, key=lambda item: (significant(item[0]), item[1]))
        return OnPlan(leaving, distance)

    def _nodes(self, place: Point, floor: str, routes: Tree) -> list[tuple[float, str, Leaving]]:
        found = []
        places: list[Room | PlanNode] = [*self.project.rooms.values(), *self.project.nodes.values()]
        for node in places:
            point = self.point(node.id)
            length = routes.length_to(node.id) if point and _on(floor, node.floor) else None
            if point is not None and length is not None:
                segments = routes.segments_to(node.id) or ()
                leaving = Leaving(node=node.id, segment=None, length_m=length, segments=segments)
                found.append((self._distance(place, point), node.id, leaving))
        return found
