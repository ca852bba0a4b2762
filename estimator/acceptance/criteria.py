"""Every circuit's criteria in test order: the one list that sheets, plans and judging go by."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.acceptance.basis import SHEET_OF, Basis, basis_of
from estimator.acceptance.coax_lines import coax_criteria
from estimator.acceptance.columns import MEDIA
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings, natural
from estimator.acceptance.lines import conductor_criteria, voice_criteria
from estimator.acceptance.pairs import pair_criteria
from estimator.acceptance.points import battery_criteria, bonding_criteria, speaker_criteria
from estimator.acceptance.strands import strand_criteria
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.footage import Footage, Length

_SPEAKER_LINES = ("speaker", "low_impedance_speaker")
_BUILDERS = {
    "balanced_pair": pair_criteria,
    "coax": coax_criteria,
    "conductors": conductor_criteria,
    "voice": voice_criteria,
    "speaker": speaker_criteria,
}

__all__ = ["Bound", "Criteria", "Criterion", "Settings", "criteria_for", "natural", "sheet_of"]


def criteria_for(project: Project, footage: Footage, dc: DcCircuits | None = None) -> tuple[Criteria, ...]:
    """Return the criteria of every circuit, by room, then medium, then id: the order of testing.

    ``dc`` are the takeoff's direct-current circuits, worked out here where they aren't handed in.
    """
    basis = basis_of(project, footage, dc)
    found = [*_of_lengths(basis), *_of_points(basis)]
    rooms = {room: place for place, room in enumerate(project.rooms)}
    return tuple(sorted(found, key=lambda c: (rooms.get(c.room, len(rooms)), MEDIA.index(c.medium), natural(c.id))))


def sheet_of(length: Length) -> str:
    """Return the sheet on which a circuit's readings stand.

    A circuit says by its kind what it is, whatever cable it lies in; a run says it by its cable.
    """
    if length.circuit is not None:
        return sheet_of_kind(length.circuit.kind)
    return SHEET_OF[length.cable.medium]


def sheet_of_kind(kind: str) -> str:
    """Return the sheet of a circuit that visits several devices."""
    return "speaker" if kind in _SPEAKER_LINES else "conductors"


def far_end_of(project: Project, length: Length) -> str:
    """Return what stands at the far end, for the sheet's To column."""
    if length.run is not None:
        device, drop = length.run.device, length.run.drop
        place = length.run.outlet if length.run.outlet != length.id else (drop.at or "")
        return " ".join(filter(None, ((device.name or device.id) if device else "outlet", place)))
    if length.circuit is not None:
        last = length.circuit.stops[-1]
        return last.id or last.device
    assert length.backbone is not None
    return length.backbone.end


def _of_lengths(basis: Basis) -> Iterable[Criteria]:
    for length in basis.footage.lengths:
        medium, far_end = sheet_of(length), far_end_of(basis.project, length)
        if medium == "fiber":
            yield from strand_criteria(basis, length, far_end)
        else:
            yield _BUILDERS[medium](basis, length, far_end)


def _of_points(basis: Basis) -> Iterable[Criteria]:
    for point in basis.project.test_points.values():
        unit = basis.project.control_units.get(point.control_unit or "")
        yield battery_criteria(basis, point, unit) if point.kind == "battery" else bonding_criteria(basis, point)
