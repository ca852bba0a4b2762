"""Keys of coax, voice lines and links that belong to another medium: each would be read and do nothing."""

from __future__ import annotations

from estimator.spec.cabling import CableType, DeviceType
from estimator.spec.faults import Faults
from estimator.spec.model import Cable, Project
from estimator.spec.quality import CableAcceptance


def check_lines(project: Project, faults: Faults) -> None:
    """Add a fault for every such key at a cable, a device, a drop or a cable's acceptance."""
    for cable in project.cables.values():
        if cable.typed is not None and cable.medium != "coax":
            _foreign(cable.typed, ("center", "shield_ohm_per_m"), _named(cable), "coax", faults)
    for asked in project.acceptance.cables:
        kind = project.cables.get(asked.cable)
        if kind is not None:
            what = _named(kind)
            if kind.medium != "coax":
                _foreign(asked, ("frequency", "return_loss_min"), what, "coax", faults)
            if kind.medium != "balanced_pair":
                _foreign(asked, ("low_loss",), what, "balanced_pair", faults)
    _telephone_drops(project, faults)
    _double_ringers(project, faults)


def _named(cable: Cable) -> str:
    return f"{cable.medium.replace('_', ' ')} cable {cable.id!r}"


def _foreign(
    record: CableType | CableAcceptance, keys: tuple[str, ...], what: str, medium: str, faults: Faults
) -> None:
    for key in keys:
        if record.source.typed(key) is not None:
            faults.add(
                record.source.at(key),
                f"{what} has `{key}`",
                f"a cable of medium {medium}",
                "delete it, or mend the medium",
            )


def _telephone_drops(project: Project, faults: Faults) -> None:
    seen: set[int] = set()
    for run in project.runs:
        drop = run.drop
        if drop.line is None and drop.line_loop_ohm is None:
            continue
        if run.cable.medium == "voice" or id(drop) in seen:
            continue
        seen.add(id(drop))
        key = "line" if drop.line is not None else "line_loop"
        faults.add(
            drop.source.at(key),
            f"drop {run.id!r} has `{key}` and lies in {_named(run.cable)}",
            "a cable of medium voice",
            "delete it, or give the drop a voice cable",
        )


def _double_ringers(project: Project, faults: Faults) -> None:
    for device in project.devices.values():
        if device.ringers is not None and device.ringer_ohm is not None:
            _twice(device, faults)


def _twice(device: DeviceType, faults: Faults) -> None:
    faults.add(
        device.source.at("ringer_impedance"),
        f"device {device.id!r} has `ringers` and `ringer_impedance`",
        "one of them",
        "keep the load that is marked on it",
    )
