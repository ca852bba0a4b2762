"""Pulls through conduit: tension from the better end, what each cable bears of it, bends and pull points.

All cables of the job that a conduit takes are counted as one pull, the worst a crew may do. Where the
bends are typed one by one, the run is pulled both ways, section by section; else all of them are
counted at the pulled end, the worst place. What lies in a conduit already is not pulled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.pulling import (
    Bend,
    Excuse,
    added_pull_points,
    conduit_radius,
    inside_radius,
    pull_both_ways,
    shared_tension,
    sidewall_pressure,
    third_bend_excuse,
    worst_tension,
)
from estimator.calc.support import weight_kg_per_m
from estimator.reference.lookup import table
from estimator.spec.model import Cable, Project
from estimator.spec.plant import Segment
from estimator.takeoff.cable_limits import Bound, grip, radius_of, tension_of, weight_of
from estimator.takeoff.fill import Fill, SegmentFill, inside_diameter, sizes_of
from estimator.takeoff.fill_limits import Lying
from estimator.takeoff.pull_boxes import PullBox, box_of
from estimator.units.rounding import over, under

QUARTER_DEG: Final = 90.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Bearing:
    """The cable that bears most of a pull for what it may bear."""

    cable: Cable
    weight_n_per_m: float
    tension_n: float
    limit: Bound

    @property
    def is_over(self) -> bool:
        """Whether it bears more than it may."""
        return over(self.tension_n, self.limit.value)


@dataclass(frozen=True, kw_only=True, slots=True)
class Tension:
    """The tension of a pull from its better end; ``feed`` is empty where both ends are the same."""

    weight_n_per_m: float
    tension_n: float
    other_n: float | None
    at_bend_n: float
    feed: str
    bearing: Bearing | None


@dataclass(frozen=True, kw_only=True, slots=True)
class _Bears:
    """What a cable type weighs and bears, looked up once a job."""

    weight: Bound | None
    tension: Bound | None
    radius: tuple[Bound, float] | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Turn:
    """The bends of a conduit: their inside radius, the least that the standard and its cables ask for."""

    radius_m: float
    least_m: float
    least_multiple: float
    tightest: tuple[Cable, Bound, float] | None  # the cable that asks for most, its radius and multiple

    @property
    def word(self) -> str:
        """How its radius stands to what is asked for."""
        needed = max(self.least_m, self.tightest[1].value if self.tightest else 0.0)
        return "too tight" if under(self.radius_m, needed) else "within"


@dataclass(frozen=True, kw_only=True, slots=True)
class Pull:
    """A conduit as a crew pulls through it."""

    filled: SegmentFill
    extent_m: float
    friction: Bound
    unweighed: tuple[str, ...]
    tension: Tension | None
    turn: Turn | None
    points: int
    box: PullBox | None
    excuse: Excuse | None

    @property
    def id(self) -> str:
        """Name of the conduit."""
        return self.filled.segment.id

    @property
    def segment(self) -> Segment:
        """The conduit."""
        return self.filled.segment

    @property
    def sidewall_n_per_m(self) -> float | None:
        """Side-wall pressure at its worst bend [N/m]; None without bends or weights."""
        if self.turn is None or self.tension is None:
            return None
        return sidewall_pressure(tension_n=self.tension.at_bend_n, radius_m=self.turn.radius_m)

    @property
    def word(self) -> str:
        """How the tension stands to what its cables bear."""
        if self.tension is None or self.tension.bearing is None:
            return "not judged"
        return "over" if self.tension.bearing.is_over else "within"


@cache
def sidewall_limit() -> Bound:
    """Return the usual limit of side-wall pressure [N/m]."""
    row = table("pulling_factors").find(factor="sidewall")
    return Bound(value=row.number("value"), source=f"{row.source}, {row.text('printed')} (power and control cable)")


@cache
def _gravity() -> float:
    return table("pulling_factors").find(factor="gravity").number("value")


@cache
def bend_rule(name: str) -> float:
    """Return a figure of the table of bends."""
    return table("bend_rules").find(rule=name).number("value")


def pull_conduits(fill: Fill, project: Project) -> tuple[Pull, ...]:
    """Return the pull through every conduit, nipples left out; one without cables of the job has no tension."""
    chosen = [one for one in fill.segments if one.segment.kind == "conduit" and not one.segment.nipple]
    beside: dict[frozenset[str], list[Segment]] = {}
    for one in chosen:
        beside.setdefault(frozenset((one.segment.start, one.segment.end)), []).append(one.segment)
    bears = {
        name: _Bears(weight=weight_of(cable), tension=tension_of(cable), radius=radius_of(cable))
        for name, cable in project.cables.items()
    }
    return tuple(_pull(one, beside[frozenset((one.segment.start, one.segment.end))], bears) for one in chosen)


def _pull(filled: SegmentFill, beside: list[Segment], bears: Mapping[str, _Bears]) -> Pull:
    segment = filled.segment
    extent_m = segment.length_m + segment.rise_m
    friction = friction_of(segment)
    unweighed = tuple(cable.id for cable, _ in filled.counts if bears[cable.id].weight is None)
    tension = None if unweighed or not filled.cables else _tension(filled, extent_m, friction.value, bears)
    points = points_of(segment)
    return Pull(
        filled=filled,
        extent_m=extent_m,
        friction=friction,
        unweighed=unweighed,
        tension=tension,
        turn=_turn(filled, bears) if segment.turns_deg else None,
        points=points,
        box=box_of(filled, beside) if points else None,
        excuse=_excuse(filled, extent_m, tension),
    )


def points_of(segment: Segment) -> int:
    """Return how many pull points a conduit needs between its ends [pieces]."""
    return added_pull_points(
        bends_deg=segment.turns_deg,
        length_m=segment.length_m + segment.rise_m,
        most_bends_deg=bend_rule("tia_total_degrees"),
        longest_m=bend_rule("tia_length"),
    )


def friction_of(segment: Segment) -> Bound:
    """Return the coefficient of friction of a pull, and whose word it is."""
    if segment.friction is not None:
        return Bound(value=segment.friction, source=f"segment, {segment.source.at('friction')}")
    row = table("pulling_factors").find(factor="friction_usual")
    return Bound(value=row.number("value"), source=f"{row.source}, usual friction")


def _tension(filled: SegmentFill, extent_m: float, friction: float, bears: Mapping[str, _Bears]) -> Tension:
    segment = filled.segment
    each = {cable.id: found.value * _gravity() for cable, _ in filled.counts if (found := bears[cable.id].weight)}
    weight = _gravity() * _pulled_kg_per_m(filled.counts, bears)
    known = {"length_m": extent_m, "rise_m": segment.rise_m, "weight_n_per_m": weight, "friction": friction}
    feed, other = "", None
    if segment.bends_at:
        bends = [Bend(at_m=bend.at_m, angle_deg=bend.angle_deg) for bend in segment.bends_at]
        start, end = pull_both_ways(bends=bends, **known)
        back = over(start.tension_n, end.tension_n)
        best, worst = (end, start) if back else (start, end)
        tension_n, at_bend_n, other = best.tension_n, best.at_bend_n, worst.tension_n
        if over(worst.tension_n, best.tension_n):
            feed = segment.end if back else segment.start
    else:
        tension_n = worst_tension(bends_deg=segment.turns_deg, **known)
        at_bend_n = tension_n if segment.turns_deg else 0.0
    return Tension(
        weight_n_per_m=weight,
        tension_n=tension_n,
        other_n=other,
        at_bend_n=at_bend_n,
        feed=feed,
        bearing=_bearing(filled.counts, each, (tension_n, weight), bears),
    )


def _pulled_kg_per_m(counts: Lying, bears: Mapping[str, _Bears]) -> float:
    """Return what the cables of a pull weigh on each meter [kg/m]; each of them has a weight."""
    each = [found.value for cable, _ in counts if (found := bears[cable.id].weight) is not None]
    return weight_kg_per_m(counts=[count for _, count in counts], weights_kg_per_m=each)


def _bearing(
    counts: Lying, each: Mapping[str, float], pull: tuple[float, float], bears: Mapping[str, _Bears]
) -> Bearing | None:
    """Return the cable that comes nearest to what it may bear, the one typed first where two are as near.

    ``pull`` is the tension [N] and the weight [N/m] of all cables.
    """
    tension_n, weight = pull
    found: Bearing | None = None
    for cable, _ in counts:
        limit = bears[cable.id].tension
        if limit is None:
            continue
        own = shared_tension(tension_n=tension_n, cable_weight_n_per_m=each[cable.id], weight_n_per_m=weight)
        if found is None or over(own / limit.value, found.tension_n / found.limit.value):
            found = Bearing(cable=cable, weight_n_per_m=each[cable.id], tension_n=own, limit=limit)
    return found


def _turn(filled: SegmentFill, bears: Mapping[str, _Bears]) -> Turn:
    segment = filled.segment
    inside_m = inside_diameter(segment)
    fiber = any(cable.medium == "fiber" for cable, _ in filled.counts)
    large = bend_rule("radius_multiple_large")
    small = bend_rule("radius_multiple_fiber" if fiber else "radius_multiple_small")
    rule = table("bend_rules").find(rule="radius_multiple_small")
    least_m = conduit_radius(
        inside_m=inside_m,
        small_multiple=small,
        large_multiple=large,
        small_up_to_m=rule.number("up_to_id_m"),
    )
    radius_m = least_m
    if segment.bend_radius_m is not None:
        radius_m = inside_radius(centerline_radius_m=segment.bend_radius_m, inside_m=inside_m)
    asked = [(cable, *found) for cable, _ in filled.counts if (found := bears[cable.id].radius) is not None]
    tightest = max(asked, key=lambda one: one[1].value) if asked else None
    return Turn(radius_m=radius_m, least_m=least_m, least_multiple=least_m / inside_m, tightest=tightest)


def _excuse(filled: SegmentFill, extent_m: float, tension: Tension | None) -> Excuse | None:
    """Return why one bend over the design rule may stay; a fourth one never may."""
    segment, most = filled.segment, bend_rule("tia_total_degrees")
    if not over(segment.turns_deg, most) or over(segment.turns_deg, most + QUARTER_DEG):
        return None
    feed = tension.feed if tension is not None else ""
    from_start = [bend.at_m for bend in segment.bends_at] if feed != segment.end else []
    from_end = [max(0.0, extent_m - bend.at_m) for bend in segment.bends_at] if feed != segment.start else []
    return third_bend_excuse(
        bends_from_feed_m=[*from_start, *from_end],
        length_m=extent_m,
        upsized=_upsized(filled),
        feed_distance_m=bend_rule("third_bend_feed_distance"),
        short_run_m=bend_rule("third_bend_short_run"),
    )


def _upsized(filled: SegmentFill) -> bool:
    """Return whether the cables would also fit into a smaller trade size of the same kind."""
    smallest = filled.room.smallest if filled.room else None
    inside = {size.trade: size.inside_m for size in sizes_of(filled.segment.material)}
    return smallest is not None and over(inside_diameter(filled.segment), inside[smallest])


def over_grip(pull: Pull) -> bool:
    """Return whether a pull's whole tension is over what one basket grip may take."""
    return pull.tension is not None and over(pull.tension.tension_n, grip().value)
