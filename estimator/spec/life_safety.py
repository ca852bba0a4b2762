"""What belongs to a life-safety system: the one place that says so, by what feeds it or by its cable."""

from __future__ import annotations

from typing import Final

from estimator.spec.feeds import Circuit, ControlUnit, TestPoint
from estimator.spec.model import Project, Run

LIFE_SAFETY: Final = ("fire_alarm", "voice_evacuation", "household_fire")
"""Systems whose circuits and batteries follow the fire-alarm code."""

FIRE_ALARM_CLASSES: Final = ("pl_fire_alarm", "npl_fire_alarm")
"""Classes of cable that only a fire alarm uses."""


def circuit_is_life_safety(circuit: Circuit, project: Project) -> bool:
    """Return whether a circuit belongs to a life-safety system, by what feeds it or by its cable."""
    feed = project.feed(circuit.feed)
    if isinstance(feed, ControlUnit):
        return feed.system in LIFE_SAFETY
    return project.cables[circuit.cable].circuit_class in FIRE_ALARM_CLASSES


def run_is_life_safety(run: Run) -> bool:
    """Return whether a run belongs to a fire alarm, by its cable or its device."""
    system = run.device.system if run.device else ""
    return system == "fire_alarm" or run.cable.circuit_class in FIRE_ALARM_CLASSES


def point_is_life_safety(point: TestPoint, project: Project) -> bool:
    """Return whether a test point is the battery of a life-safety unit."""
    unit = project.control_units.get(point.control_unit or "")
    return point.kind == "battery" and unit is not None and unit.system in LIFE_SAFETY


def life_safety_ids(project: Project) -> frozenset[str]:
    """Return the ids of every life-safety circuit, run and test point, in lower case.

    A circuit whose source or cable isn't declared is left out: that is a fault of its own.
    """
    feeds = {*project.control_units, *project.supplies, *project.amplifiers}
    circuits = (c for c in project.circuits.values() if c.feed in feeds and c.cable in project.cables)
    return frozenset(
        name.lower()
        for name in (
            *(run.id for run in project.runs if run_is_life_safety(run)),
            *(circuit.id for circuit in circuits if circuit_is_life_safety(circuit, project)),
            *(point.id for point in project.test_points.values() if point_is_life_safety(point, project)),
            *(
                b.id
                for b in project.backbone.values()
                if b.cable in project.cables and project.cables[b.cable].circuit_class in FIRE_ALARM_CLASSES
            ),
        )
    )
