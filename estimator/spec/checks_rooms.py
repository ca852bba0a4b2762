"""Checks of what rooms say of themselves."""

from __future__ import annotations

from estimator.spec.faults import Faults
from estimator.spec.model import Project
from estimator.units.quantity import in_unit, show
from estimator.units.rounding import over


def check_rooms(project: Project, faults: Faults) -> None:
    """Add a room that types only one of its longest and shortest run, or the shorter one as the longer."""
    unit = project.header.lengths_in
    for room in project.rooms.values():
        longest, shortest = room.longest_run_m, room.shortest_run_m
        if (longest is None) != (shortest is None):
            has, lacks = ("shortest_run", "longest_run") if longest is None else ("longest_run", "shortest_run")
            faults.add(
                room.source.at(has),
                f"room {room.id!r} has `{has}` alone",
                f"`{lacks}` beside it: an average takes both",
                f"add `{lacks}`",
            )
        elif longest is not None and shortest is not None and over(shortest, longest):
            shown = [f"{show(in_unit(length, 'length', unit), unit, 6)}" for length in (shortest, longest)]
            faults.add(
                room.source.at("shortest_run"),
                f"room {room.id!r} has a shortest run of {shown[0]} and a longest one of {shown[1]}",
                "the longest no shorter than the shortest",
                "mend one of them",
            )
