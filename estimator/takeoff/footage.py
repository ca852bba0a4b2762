"""Expected lengths: each circuit's one number, with its parts and their origins."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from estimator.calc.formula import Expression
from estimator.calc.routing import AVERAGE_ROUTE, EXPECTED_LENGTH, Leaving
from estimator.spec.cabling import Backbone, Drop
from estimator.spec.faults import Faults, Place
from estimator.spec.feeds import Circuit
from estimator.spec.model import Cable, Project, Run
from estimator.spec.nodes import Source
from estimator.spec.plant import Room
from estimator.spec.rules import PLAN_HEIGHT
from estimator.takeoff.alerts import Alert
from estimator.takeoff.routes import Router
from estimator.takeoff.worked import MARGIN, Family, Input, Inputs, Judge, Judged
from estimator.units.quantity import beside
from estimator.units.rounding import over
from estimator.units.table import FOOT_M

TYPED_LENGTH: Final = Expression("length")
"""A length typed in: the whole expected length, slack and loops in it [m]."""

CIRCUIT_LENGTH: Final = Expression("sum(distances) + back")
"""Cable of a circuit that visits several devices, slack in the distances, and a class A return [m]."""

BACKBONE_LENGTH: Final = Expression("route + leg_start + leg_end + slack_start + slack_end")
"""A backbone cable between two rooms [m]."""

ROUTED, ON_PLAN, AVERAGED, TYPED, SUMMED = "routed", "on plan", "averaged", "typed in", "device to device"

LINK_CATEGORIES: Final = ("5e", "6", "6A")
"""Categories whose links have limits over frequency."""

LONG_ADVICE: Final = {
    "drop": "move the device to a nearer room, or type a shorter `via`",
    "backbone": "run fiber, or put a room between, or type a shorter `via`",
}
"""What mends a link over its design limit."""

PRECEDENCE: Final[Mapping[str, tuple[str, ...]]] = {
    "room_leg_m": ("drop", "room", "rules"),
    "last_leg_m": ("drop", "device", "rules"),
    "slack_room_m": ("drop", "room", "rules"),
    "slack_device_m": ("drop", "device", "rules"),
    "service_loop_m": ("drop", "device", "cable", "rules"),
    "loop_at": ("drop", "rules"),
}
"""Whose word decides a part of a drop's length, the nearest to the drop first."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Length:
    """One circuit's cable: its identity, its expected length and the parts of it."""

    id: str
    kind: str
    cable: Cable
    room: str
    pull: str
    zone: str
    method: str
    expected_m: float
    route_m: float = 0.0
    room_leg_m: float = 0.0
    last_leg_m: float = 0.0
    slack_room_m: float = 0.0
    slack_device_m: float = 0.0
    loops: int = 0
    service_loop_m: float = 0.0
    leaves: Leaving | None = None
    run: Run | None = None
    circuit: Circuit | None = None
    backbone: Backbone | None = None

    @property
    def source(self) -> Source:
        """Return where it was typed."""
        holder = self.run.drop if self.run else (self.circuit or self.backbone)
        assert holder is not None
        return holder.source

    @property
    def place(self) -> Place:
        """Return the place of its id."""
        return self.source.at("id")


@dataclass(frozen=True, kw_only=True, slots=True)
class Footage:
    """All cable of the job: drops first, then circuits of several devices, then backbone."""

    lengths: tuple[Length, ...]
    routes: Router
    by_id: Mapping[str, Length]

    def segments(self, length: Length) -> tuple[str, ...] | None:
        """Return the segments that a circuit's cable lies in, or None where it has no route."""
        if length.leaves is not None:
            return length.leaves.segments
        end = end_of(length)
        return None if end is None else self.routes.tree(length.room, via_of(length)).segments_to(end)


def via_of(length: Length) -> tuple[str, ...]:
    """Return the segments that a circuit must pass."""
    holder = length.run.drop if length.run else (length.circuit or length.backbone)
    assert holder is not None
    return holder.via


def end_of(length: Length) -> str | None:
    """Return the node at which a circuit leaves the pathway graph, or None where it has no route."""
    if length.run is not None:
        return length.run.drop.at
    if length.circuit is not None:
        return length.circuit.at
    assert length.backbone is not None
    return length.backbone.end


def measure(project: Project, faults: Faults) -> Footage:
    """Return the expected length of every circuit; a ``via`` that can't be passed is a fault."""
    routes = Router(project)
    lengths: list[Length] = []
    failed: set[int] = set()
    shared: dict[Hashable, dict[str, Any]] = {}
    for run in project.runs:
        if id(run.drop) not in failed:
            found = _drop_length(run, project, routes, shared, faults)
            if found is None:
                failed.add(id(run.drop))
            else:
                lengths.append(found)
    for circuit in project.circuits.values():
        _passable(circuit, project, routes, faults)
        lengths.append(_circuit_length(circuit, project))
    for backbone in project.backbone.values():
        found = _backbone_length(backbone, project, routes, faults)
        if found is not None:
            lengths.append(found)
    return Footage(lengths=tuple(lengths), routes=routes, by_id={length.id: length for length in lengths})


def part(run: Run, project: Project, attribute: str) -> tuple[float | str, str, Source | None]:
    """Return a part of a drop's length, whose word it is, and where that stands (None for rules)."""
    holders = {"drop": run.drop, "device": run.device, "cable": run.cable, "room": project.rooms[run.drop.room]}
    for owner in PRECEDENCE[attribute]:
        if owner == "rules":
            break
        holder = holders[owner]
        value = getattr(holder, attribute) if holder is not None else None
        if value is not None and holder is not None:
            return value, owner, holder.source
    return getattr(project.rules, _rule_of(run, attribute)), "rules", None


def _parts(run: Run, project: Project, shared: dict[Hashable, dict[str, Any]]) -> dict[str, Any]:
    """Return all parts: what the drop types, and the rest as drops of its kind share it."""
    drop = run.drop
    typed = {name: value for name in PRECEDENCE if (value := getattr(drop, name)) is not None}
    key = (drop.room, run.device.id if run.device else None, run.cable.id, on_plan(drop), *typed)
    if key not in shared:
        shared[key] = {name: part(run, project, name)[0] for name in PRECEDENCE}
    return shared[key] | typed


def _rule_of(run: Run, attribute: str) -> str:
    """Return the rule that stands behind a part: fiber has its own slack, the plan its drop height."""
    if run.cable.medium == "fiber" and attribute in ("slack_room_m", "slack_device_m"):
        return "slack_fiber_m"
    if attribute == "last_leg_m" and on_plan(run.drop):
        return "drop_height_m"
    return attribute


def on_plan(drop: Drop) -> bool:
    """Return whether a drop is placed by x and y."""
    return drop.at is None and drop.x is not None and drop.length_m is None


def pull_of(drop: Drop) -> str:
    """Return the pull a drop belongs to: as typed, else its room and zone."""
    return drop.pull or (f"{drop.room}/{drop.zone}" if drop.zone else drop.room)


def _drop_length(
    run: Run, project: Project, routes: Router, shared: dict[Hashable, dict[str, Any]], faults: Faults
) -> Length | None:
    drop = run.drop
    known: dict[str, Any] = {
        "id": run.id,
        "kind": "drop",
        "cable": run.cable,
        "room": drop.room,
        "pull": pull_of(drop),
        "zone": drop.zone or "",
        "run": run,
    }
    if drop.length_m is not None:
        return Length(method=TYPED, expected_m=drop.length_m, **known)
    leaves = None
    if drop.at is not None:
        route = routes.tree(drop.room, drop.via).length_to(drop.at)
    elif drop.x is not None:
        spot = routes.leave(drop)
        leaves = spot.leaving if spot else None
        route = spot.leaving.length_m + spot.distance_m if spot else None
    else:
        route = _average(project.rooms[drop.room], project)
    if route is None:
        _no_route(drop, faults)
        return None
    parts = _parts(run, project, shared)
    loops = 2 if parts.pop("loop_at") == "both" else 1
    expected = EXPECTED_LENGTH(
        route=route,
        loops=loops,
        **{name.removesuffix("_m"): value for name, value in parts.items()},
    )
    method = ON_PLAN if leaves is not None else AVERAGED if drop.at is None else ROUTED
    return Length(method=method, expected_m=expected, route_m=route, loops=loops, leaves=leaves, **parts, **known)


def average_inputs(room: Room, project: Project) -> dict[str, Input]:
    """Return what the average route of a room's drops without a place is made of, each with its origin."""
    assert room.longest_run_m is not None
    assert room.shortest_run_m is not None
    return {
        "longest": Input(room.longest_run_m, "m", f"room {room.id}, {room.source.at('longest_run')}"),
        "shortest": Input(room.shortest_run_m, "m", f"room {room.id}, {room.source.at('shortest_run')}"),
        "allowance": Input(project.rules.average_allowance, "", rule_origin(project, "average_allowance")),
    }


def _average(room: Room, project: Project) -> float:
    return AVERAGE_ROUTE(**{name: item.value for name, item in average_inputs(room, project).items()})


def _no_route(drop: Drop, faults: Faults) -> None:
    if drop.via:
        _no_passage(drop.source, f"drop {drop.id!r}", drop.via, faults)
    else:
        faults.add(
            drop.source.at("x"),
            f"drop {drop.id!r} is on a plan where no pathway of its floor is drawn",
            "nodes with x and y on its floor",
            "draw them, or type `at:` or `length:`",
        )


def _passable(circuit: Circuit, project: Project, routes: Router, faults: Faults) -> None:
    """Add a fault for a circuit whose `via` no route passes: its cable would be missing in the fill."""
    room = project.feed(circuit.feed).room
    if circuit.at is not None and circuit.via and not routes.tree(room, circuit.via).reaches(circuit.at):
        _no_passage(circuit.source, f"circuit {circuit.id!r}", circuit.via, faults)


def _no_passage(source: Source, what: str, via: tuple[str, ...], faults: Faults) -> None:
    faults.add(
        source.at("via"),
        f"no route of {what} passes {', '.join(via)} in that order",
        "segments that a route can pass, each once",
        "mend `via`",
    )


def _circuit_length(circuit: Circuit, project: Project) -> Length:
    room = project.feed(circuit.feed).room
    expected = CIRCUIT_LENGTH(distances=[stop.distance_m for stop in circuit.stops], back=circuit.return_m)
    return Length(
        id=circuit.id,
        kind="circuit",
        cable=project.cables[circuit.cable],
        room=room,
        pull=circuit.pull or circuit.id,
        zone="",
        method=SUMMED,
        expected_m=expected,
        circuit=circuit,
    )


def _backbone_length(backbone: Backbone, project: Project, routes: Router, faults: Faults) -> Length | None:
    cable = project.cables[backbone.cable]
    known: dict[str, Any] = {
        "id": backbone.id,
        "kind": "backbone",
        "cable": cable,
        "room": backbone.start,
        "pull": backbone.pull or backbone.id,
        "zone": "",
        "backbone": backbone,
    }
    if backbone.length_m is not None:
        return Length(method=TYPED, expected_m=backbone.length_m, **known)
    route = routes.tree(backbone.start, backbone.via).length_to(backbone.end)
    if route is None:
        _no_passage(backbone.source, f"cable {backbone.id!r}", backbone.via, faults)
        return None
    inputs = {name: item.value for name, item in _backbone_inputs(backbone, project, route).items()}
    expected = BACKBONE_LENGTH(**inputs)
    return Length(method=ROUTED, expected_m=expected, route_m=route, **known)


def _backbone_inputs(backbone: Backbone, project: Project, route: float) -> dict[str, Input]:
    rules, fiber = project.rules, project.cables[backbone.cable].medium == "fiber"
    inputs = {"route": Input(route, "m", "shortest route over the pathway graph")}
    for end, name in (("start", backbone.start), ("end", backbone.end)):
        room = project.rooms[name]
        for short, attribute, rule in (
            ("leg", "room_leg_m", "room_leg_m"),
            ("slack", "slack_room_m", "slack_fiber_m" if fiber else "slack_room_m"),
        ):
            typed = getattr(room, attribute)
            key = attribute.removesuffix("_m")
            if typed is not None:
                inputs[f"{short}_{end}"] = Input(typed, "m", f"room {name}, {room.source.at(key)}")
            else:
                inputs[f"{short}_{end}"] = Input(getattr(rules, rule), "m", rule_origin(project, rule))
    return inputs


def backbone_parts(length: Length, project: Project) -> dict[str, float]:
    """Return route, legs and slack at both ends of a routed backbone cable [m]."""
    assert length.backbone is not None
    inputs = _backbone_inputs(length.backbone, project, length.route_m)
    return {name: item.value for name, item in inputs.items() if not isinstance(item.value, tuple)}


def rule_origin(project: Project, attribute: str) -> str:
    """Return in words where a rule's value came from."""
    rule = project.rules.ruled(attribute)
    if rule.source == PLAN_HEIGHT:
        return f"{PLAN_HEIGHT}, {rule.place}"
    return f"rules.{rule.key}, {rule.place}" if rule.place else f"default {rule.key}: {rule.source}"


def _drop_inputs(length: Length, footage: Footage, project: Project) -> dict[str, Input]:
    run = length.run
    assert run is not None
    if length.method == TYPED:
        return {"length": Input(length.expected_m, "m", f"drop, {run.drop.source.at('length')}")}
    passed = ", ".join(footage.segments(length) or ()) or "no segment"
    how = "shortest route" if length.leaves is None else "route and distance on the plan"
    route = f"room.{length.room}.average_route" if length.method == AVERAGED else f"{how} over {passed}"
    inputs = {"route": Input(length.route_m, "m", route)}
    for attribute in PRECEDENCE:
        if attribute == "loop_at":
            continue
        value, owner, source = part(run, project, attribute)
        key = attribute.removesuffix("_m")
        origin = rule_origin(project, _rule_of(run, attribute)) if source is None else f"{owner}, {source.at(key)}"
        assert not isinstance(value, str)
        inputs[key] = Input(value, "m", origin)
    inputs["loops"] = Input(float(length.loops), "", f"loop_at {part(run, project, 'loop_at')[0]}")
    return inputs


def length_families(footage: Footage, project: Project) -> Iterable[Family]:
    """Yield the families of expected lengths, one for each way they are had."""
    kinds = (
        ("drop", (ROUTED, ON_PLAN, AVERAGED), EXPECTED_LENGTH, "house length rule: route, legs, slack and loops"),
        ("drop", (TYPED,), TYPED_LENGTH, "typed in"),
        ("circuit", (SUMMED,), CIRCUIT_LENGTH, "distances typed in, slack in them"),
        ("backbone", (ROUTED,), BACKBONE_LENGTH, "house length rule: route, legs and slack at both ends"),
        ("backbone", (TYPED,), TYPED_LENGTH, "typed in"),
    )
    for kind, methods, formula, source in kinds:
        chosen = [length for length in footage.lengths if length.kind == kind and length.method in methods]
        if chosen:
            yield Family(
                what=kind,
                name="expected_length",
                meaning="expected length of the circuit's cable",
                unit="m",
                formula=formula,
                source=source,
                subjects=[length.id for length in chosen],
                values=[length.expected_m for length in chosen],
                inputs=_inputs_of(chosen, footage, project),
                judge=_judge_of(chosen, project),
            )


def _inputs_of(chosen: list[Length], footage: Footage, project: Project) -> Inputs:
    def inputs(index: int) -> Mapping[str, Input]:
        length = chosen[index]
        if length.run is not None:
            return _drop_inputs(length, footage, project)
        if length.circuit is not None:
            stops = length.circuit.stops
            place = length.circuit.source.at("devices")
            distances = Input(tuple(stop.distance_m for stop in stops), "m", f"distances, {place}")
            return {"distances": distances, "back": Input(length.circuit.return_m, "m", "`return` of the circuit")}
        assert length.backbone is not None
        if length.method == TYPED:
            return {"length": Input(length.expected_m, "m", f"typed, {length.source.at('length')}")}
        return _backbone_inputs(length.backbone, project, length.route_m)

    return inputs


def limited(length: Length) -> bool:
    """Return whether the design limit of a copper link applies to a circuit.

    A backbone of balanced pairs is a link like any other where its category has link limits;
    without one it carries voice.
    """
    if length.cable.medium != "balanced_pair":
        return False
    return length.kind == "drop" or (length.kind == "backbone" and length.cable.category in LINK_CATEGORIES)


def design_word(length: Length, limit_m: float) -> str:
    """Return how an expected length stands to the design limit [m]."""
    return "over length" if over(length.expected_m, limit_m) else "within"


def _judge_of(chosen: list[Length], project: Project) -> Judge:
    limit = project.rules.design_limit_m
    source = project.rules.ruled("design_limit_m").source

    def judge(index: int) -> Judged | None:
        length = chosen[index]
        if not limited(length):
            return None
        return Judged(design_word(length, limit), MARGIN(limit=limit, value=length.expected_m), limit, source)

    return judge


def length_alerts(footage: Footage, project: Project) -> Iterable[Alert]:
    """Yield a warning for every copper link whose expected length is over the design limit."""
    limit = project.rules.design_limit_m
    for length in footage.lengths:
        if limited(length) and over(length.expected_m, limit):
            yield Alert(
                length.place,
                "over length",
                length.id,
                f"{length.id} is expected to be long",
                shown_length(length.expected_m, project, limit),
                shown_length(limit, project, length.expected_m),
                project.rules.ruled("design_limit_m").source,
                LONG_ADVICE[length.kind],
            )


def shown_length(length_m: float, project: Project, beside_m: float = math.inf) -> str:
    """Return a length in the project's unit, with meters beside feet, told apart from the one it stands beside."""
    meters = f"{beside(length_m, beside_m, 1)} m"
    if project.header.lengths_in == "m":
        return meters
    return f"{beside(length_m / FOOT_M, beside_m / FOOT_M, 1)} ft ({meters})"
