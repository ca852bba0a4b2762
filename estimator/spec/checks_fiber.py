"""Fiber links: the reference method decides what a measured loss includes, so that each link must have one."""

from __future__ import annotations

from estimator.spec.cabling import Backbone, Drop
from estimator.spec.faults import Faults
from estimator.spec.model import Cable, Project


def check_fiber(project: Project, faults: Faults) -> None:
    """Add a fault for every fiber drop and fiber backbone cable without a reference method."""
    for circuit in project.backbone.values():
        kind = project.cables.get(circuit.cable)
        if kind is not None and kind.medium == "fiber":
            _reference(circuit, f"fiber cable {circuit.id!r}", kind, faults)
    seen: set[int] = set()
    for run in project.runs:
        if run.cable.medium == "fiber" and id(run.drop) not in seen:
            seen.add(id(run.drop))
            _reference(run.drop, f"fiber drop {run.id!r}", run.cable, faults)


def _reference(circuit: Backbone | Drop, what: str, cable: Cable, faults: Faults) -> None:
    if circuit.source.typed("reference") is None and (cable.typed is None or cable.typed.reference is None):
        faults.add(
            circuit.source.at(),
            f"{what} has no reference method",
            "`reference:` one_cord, two_cord or three_cord",
            "add it, here or at its cable type: it decides the mated pairs counted",
        )
