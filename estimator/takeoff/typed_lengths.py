"""Drops whose length is typed in, beside legs, slack or loops that would have made one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from estimator.spec.cabling import Drop
from estimator.spec.model import Project, Run
from estimator.takeoff.alerts import Alert


def typed_length_alerts(project: Project) -> Iterator[Alert]:
    """Yield one warning for all drops that type their length and the same parts of it beside."""
    found: defaultdict[tuple[str, ...], list[Run]] = defaultdict(list)
    for run in project.runs:
        if run.first and run.drop.length_m is not None and (parts := _parts(run.drop)):
            found[parts].append(run)
    for parts, runs in found.items():
        first, others = runs[0], len(runs) - 1
        more = f" and {others} more" if others else ""
        yield Alert(
            first.drop.source.at(parts[0]),
            "part of a typed length",
            first.id,
            f"the length of {first.id}{more} is typed in, so nothing is added to it",
            ", ".join(f"`{part}`" for part in parts),
            "in the length already, or left out",
            "a typed length is the whole of the cable",
            "add it to `length:` and delete it here, or type `at:` in place of the length",
        )


def _parts(drop: Drop) -> tuple[str, ...]:
    """Return the keys of a drop's own parts that are more than nothing."""
    parts = (
        ("room_leg", drop.room_leg_m),
        ("last_leg", drop.last_leg_m),
        ("slack_room", drop.slack_room_m),
        ("slack_device", drop.slack_device_m),
        ("service_loop", drop.service_loop_m),
    )
    return tuple(key for key, value in parts if value)
