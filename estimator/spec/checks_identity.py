"""Ids are unique in the whole job, whatever their case: circuits, strands, nodes and what feeds circuits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Protocol

from estimator.spec.circuit_ids import CircuitIds
from estimator.spec.faults import Faults
from estimator.spec.model import Project
from estimator.spec.nodes import Source


class _Identified(Protocol):
    @property
    def id(self) -> str: ...

    @property
    def source(self) -> Source: ...


def check_identity(project: Project, faults: Faults) -> None:
    """Add a fault for every id that two things of the job share."""
    _circuits(project, faults)
    _once(((p.id, p.source, what) for what, group in _graph(project) for p in group.values()), faults)
    _once(((f.id, f.source, what) for what, group in _feeds(project) for f in group.values()), faults)


def _graph(project: Project) -> Iterable[tuple[str, Mapping[str, _Identified]]]:
    return ("room", project.rooms), ("node", project.nodes)


def _feeds(project: Project) -> Iterable[tuple[str, Mapping[str, _Identified]]]:
    return (
        ("control unit", project.control_units),
        ("power supply", project.supplies),
        ("amplifier", project.amplifiers),
    )


def _circuits(project: Project, faults: Faults) -> None:
    listed: list[tuple[str, Source, str]] = [(run.id, run.drop.source, "drop") for run in project.runs]
    groups: tuple[tuple[str, Mapping[str, _Identified]], ...] = (
        ("circuit", project.circuits),
        ("backbone cable", project.backbone),
        ("test point", project.test_points),
    )
    for what, group in groups:
        listed.extend((one.id, one.source, what) for one in group.values())
    _once(listed, faults)
    ids = CircuitIds(project)
    for name, source, what in listed:
        fiber = ids.strand_of(name)
        if fiber is not None:
            faults.add(
                source.at("id"),
                f"{what} {name!r} is named like a strand of fiber cable {fiber!r}",
                "each id once in the job",
                "rename one",
            )


def _once(listed: Iterable[tuple[str, Source, str]], faults: Faults) -> None:
    first: dict[str, tuple[str, Source, str]] = {}
    for name, source, what in listed:
        known, place, other = first.setdefault(name.lower(), (name, source, what))
        if place is not source and other != what:  # of one kind, the reader has complained already
            faults.add(
                source.at("id"),
                f"{what} {name!r} has the id of {other} {known!r}",
                "each id once in the job",
                f"rename one; the first stands at {place.at('id')}",
            )
