"""Scope of the proposal: what is installed by system, and who does what."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.job_words import sentence, words_of
from estimator.spec.model import Project
from estimator.spec.turnover import Scope
from estimator.takeoff.bill import SYSTEMS, system_of
from estimator.takeoff.takeoff import Takeoff

PARTIES: Final = (
    ("us", "We"),
    ("owner", "Owner"),
    ("general_contractor", "General contractor"),
    ("electrician", "Electrician"),
    ("others", "Others"),
)
"""Who may do a piece of work, with the head of its column."""

_MARK: Final = "X"


class _Counted:
    """One line of the scope: how many devices, on which cables, in how many circuits."""

    def __init__(self) -> None:
        self.pieces = 0
        self.circuits = 0
        self.cables: dict[str, None] = {}


def systems_table(takeoff: Takeoff) -> Table:
    """Return what is installed by system: devices and units, their cables and circuits."""
    found = _found(takeoff)
    order = {system: place for place, system in enumerate(dict.fromkeys(system for system, _ in found))}
    rows: list[tuple[Cell, ...]] = []
    for (system, name), one in sorted(found.items(), key=lambda item: order[item[0][0]]):
        cables = "; ".join(one.cables)
        rows.append((sentence(words_of(system)), name, one.pieces, one.circuits or None, cables))
    return Table(
        name="systems",
        title="Work by system",
        columns=(
            Column(key="system", head="System"),
            Column(key="name", head="Device or equipment"),
            Column(key="count", head="Pieces", kind="whole"),
            Column(key="circuits", head="Circuits", kind="whole"),
            Column(key="cable", head="Cable"),
        ),
        rows=rows,
        empty="No device and no cable is part of this proposal.",
    )


def _found(takeoff: Takeoff) -> dict[tuple[str, str], _Counted]:
    project = takeoff.project
    found: dict[tuple[str, str], _Counted] = {}
    for length in takeoff.footage.lengths:
        if length.circuit is not None:
            _circuit(found, length.circuit.id, system_of(length, project), length.cable.name, project)
            continue
        run = length.run
        if run is None:
            name, first = "Backbone cable", True
        else:
            name, first = (run.device.name or run.device.id if run.device else "Cable"), run.first
        one = found.setdefault((system_of(length, project), name), _Counted())
        one.pieces += first
        one.circuits += 1
        one.cables[length.cable.name] = None
    _units(found, project)
    return found


def _circuit(found: dict[tuple[str, str], _Counted], ident: str, system: str, cable: str, project: Project) -> None:
    """Count the devices of a circuit; the circuit itself counts once, on the first kind of them."""
    for place, stop in enumerate(project.circuits[ident].stops):
        device = project.devices[stop.device]
        one = found.setdefault((system, device.name or device.id), _Counted())
        one.pieces += stop.count
        one.circuits += place == 0
        one.cables[cable] = None


def _units(found: dict[tuple[str, str], _Counted], project: Project) -> None:
    units = [(SYSTEMS.get(unit.system, unit.system), unit.name or unit.id) for unit in project.control_units.values()]
    units += [("power", supply.name or supply.id) for supply in project.supplies.values()]
    units += [("audio", amplifier.name or amplifier.id) for amplifier in project.amplifiers.values()]
    for key in units:
        found.setdefault(key, _Counted()).pieces += 1


def matrix_section(scope: Scope) -> Iterator[Section]:
    """Yield the matrix of who does what, one mark a row."""
    rows = [
        (duty.work, *(_MARK if duty.by == party else "" for party, _ in PARTIES), duty.note) for duty in scope.duties
    ]
    table = Table(
        name="duties",
        title="Responsibilities",
        columns=(
            Column(key="work", head="Work"),
            *(Column(key=party, head=head) for party, head in PARTIES),
            Column(key="note", head="Remark"),
        ),
        rows=rows,
        empty="No division of work was agreed; the terms say who does what.",
    )
    text = "One party for each piece of work; what the table doesn't name follows the terms."
    yield Section(title="Responsibilities", blocks=(Paragraph(text, "lead"), table))
