"""What a plan leaves open: lengths that are averages, and conduit ends that lie nearer than the tray."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from estimator.calc.formula import Expression
from estimator.calc.routing import AVERAGE_ROUTE
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.footage import AVERAGED, ON_PLAN, Footage, Length, average_inputs, rule_origin, shown_length
from estimator.takeoff.worked import Family, Input
from estimator.units.rounding import over

LONGEST_AVERAGED = Expression("expected - route + longest")
"""What the longest drop of a room is expected to take where its drops have an average [m]."""

NEARER_BY = Expression("to_pathway - to_end")
"""How much nearer a conduit end is than the place where a drop leaves the pathway [m]."""


def plan_families(footage: Footage, project: Project) -> Iterable[Family]:
    """Yield the average route of the rooms that have drops without a place."""
    used = {length.room for length in footage.lengths if length.method == AVERAGED}
    rooms = [room for room in project.rooms.values() if room.id in used]

    def inputs(index: int) -> Mapping[str, Input]:
        return average_inputs(rooms[index], project)

    if rooms:
        yield Family(
            what="room",
            name="average_route",
            meaning="route of a drop that has no place yet",
            unit="m",
            formula=AVERAGE_ROUTE,
            source="general-wiring quantity formula of the trade press, until places are typed",
            subjects=[room.id for room in rooms],
            values=[AVERAGE_ROUTE(**{name: item.value for name, item in inputs(i).items()}) for i in range(len(rooms))],
            inputs=inputs,
        )


def plan_alerts(footage: Footage, project: Project) -> Iterator[Alert]:
    """Yield a warning for rooms with averaged lengths, and for drops by x and y with a nearer conduit end."""
    averaged: dict[str, list[Length]] = {}
    for length in footage.lengths:
        if length.method == AVERAGED:
            averaged.setdefault(length.room, []).append(length)
        elif length.method == ON_PLAN and length.run is not None and length.run.first:
            yield from _stub(length, footage, project)
    for room, lengths in averaged.items():
        yield _averaged(room, lengths, project)


def _averaged(room: str, lengths: list[Length], project: Project) -> Alert:
    """The longest drop of the room against the design limit; an average would hide it."""
    typed = project.rooms[room]
    assert typed.longest_run_m is not None
    first = max(lengths, key=lambda length: length.expected_m - length.route_m)
    longest_m = LONGEST_AVERAGED(expected=first.expected_m, route=first.route_m, longest=typed.longest_run_m)
    cables = ", ".join(f"{count} {cable}" for cable, count in Counter(one.cable.id for one in lengths).items())
    return Alert(
        typed.source.at("longest_run"),
        "averaged",
        room,
        f"room {room} has drops with an average for a length ({cables})",
        f"up to {shown_length(longest_m, project)} on the longest",
        shown_length(project.rules.design_limit_m, project),
        project.rules.ruled("design_limit_m").source,
        "type `at:`, x and y, or `length:` before they are pulled and tested",
    )


def _stub(length: Length, footage: Footage, project: Project) -> Iterator[Alert]:
    """A conduit end that is nearer than the tray by more than the drop height is probably meant."""
    run = length.run
    assert run is not None
    if run.drop.via or length.leaves is None:
        return
    found = footage.routes.nearest_stub(run.drop)
    off_m = length.route_m - length.leaves.length_m
    height_m = project.rules.drop_height_m
    if found is None or not over(NEARER_BY(to_pathway=off_m, to_end=found[1]), height_m):
        return
    node, end_m = found
    yield Alert(
        length.place,
        "nearer conduit",
        length.id,
        f"{length.id} leaves a tray or j-hooks farther off than conduit end {node}",
        f"{shown_length(off_m, project)} off, {node} {shown_length(end_m, project)}",
        f"a drop height of {shown_length(height_m, project)} farther",
        rule_origin(project, "drop_height_m"),
        f"type `at: {node}` and `last_leg:` if it comes out of that conduit",
    )
