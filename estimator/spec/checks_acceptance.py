"""What acceptance and turnover name must exist, and nobody decides what isn't theirs to decide."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.spec.circuit_ids import CircuitIds
from estimator.spec.faults import Faults
from estimator.spec.life_safety import life_safety_ids
from estimator.spec.model import Project
from estimator.spec.quality import CableAcceptance, Sampling, Status


def check_acceptance(project: Project, faults: Faults) -> None:
    """Add a fault for every circuit, cable or segment that isn't there, and for who may not sign."""
    ids = CircuitIds(project)
    acceptance = project.acceptance
    for listed in (acceptance.waivers, acceptance.accepted, acceptance.statuses):
        for entry in listed:
            if ids.cable_of(entry.circuit) is None:
                faults.undeclared(entry.source.at("circuit"), "circuit", entry.circuit, ids, "drops")
    _signed(project, faults)
    _cables(acceptance.cables, project, faults)
    _cables(acceptance.sampling, project, faults)
    sampled = {rule.cable for rule in acceptance.sampling}
    for status in acceptance.statuses:
        _outside_sample(status, ids, sampled, faults)


def _signed(project: Project, faults: Faults) -> None:
    safety = life_safety_ids(project)
    for waiver in (*project.acceptance.waivers, *project.acceptance.accepted):
        if waiver.role == "own_lead":
            faults.add(
                waiver.source.at("role"),
                f"circuit {waiver.circuit!r} is decided by our own lead",
                "owner, engineer, authority or general_contractor",
                "let one of them decide",
            )
    for accepted in project.acceptance.accepted:
        name = accepted.circuit.lower()
        if name in safety or name.rpartition(".")[0] in safety:
            faults.add(
                accepted.source.at("circuit"),
                f"a marginal result of life-safety circuit {accepted.circuit!r} is accepted",
                "no such acceptance: nobody accepts a marginal life-safety result",
                "mend the circuit and test it again",
            )


def _cables(listed: Iterable[CableAcceptance | Sampling], project: Project, faults: Faults) -> None:
    first: dict[str, CableAcceptance | Sampling] = {}
    for entry in listed:
        if entry.cable not in project.cables:
            faults.undeclared(entry.source.at("cable"), "cable", entry.cable, project.cables, "cables")
        if isinstance(entry, CableAcceptance):
            _low_loss(entry, faults)
        before = first.setdefault(entry.cable, entry)
        if before is not entry:
            faults.add(
                entry.source.at("cable"),
                f"cable {entry.cable!r} is named twice in this list",
                "each cable type once",
                f"put both together; the first stands at {before.source.at('cable')}",
            )


def _low_loss(entry: CableAcceptance, faults: Faults) -> None:
    if "none" in entry.low_loss and len(entry.low_loss) > 1:
        faults.add(
            entry.source.at("low_loss"),
            f"`low_loss` of cable {entry.cable!r} names none and something",
            "parameters, or none",
            "delete one of the two",
        )


def _outside_sample(status: Status, ids: CircuitIds, sampled: set[str], faults: Faults) -> None:
    cable = ids.cable_of(status.circuit)
    if status.state == "not_sampled" and cable is not None and cable not in sampled:
        faults.add(
            status.source.at("state"),
            f"circuit {status.circuit!r} is said to lie outside a sample that nothing states",
            "`sampling:` with its cable and share",
            "state the sample, or write not_reachable, in_service or a waiver",
        )


def check_turnover(project: Project, faults: Faults) -> None:
    """Add a fault for every device of a register and sleeve of the firestop log that isn't there."""
    ids = CircuitIds(project)
    stops = {stop.id.lower() for circuit in project.circuits.values() for stop in circuit.stops if stop.id}
    whole = {run.id.rpartition(".")[0].lower() for run in project.runs if not run.first}
    groups = (project.control_units, project.supplies, project.amplifiers, project.switches, project.ups)
    others = {*stops, *whole, *(name.lower() for group in groups for name in group)}
    restricted = project.closeout.restricted
    looked_up = (restricted.addresses, restricted.views) if restricted else ()
    for entry in (*project.closeout.registers, *(one for listed in looked_up for one in listed)):
        if ids.cable_of(entry.circuit) is None and entry.circuit.lower() not in others:
            faults.undeclared(entry.source.at("circuit"), "circuit", entry.circuit, ids, "drops")
    for sealed in project.closeout.firestop:
        if sealed.segment not in project.segments:
            faults.undeclared(sealed.source.at("segment"), "segment", sealed.segment, project.segments, "pathways")
