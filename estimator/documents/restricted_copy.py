"""The restricted part of the closeout: what the copies that are handed around leave out."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Final

from estimator.documents import common
from estimator.documents import wording as prose
from estimator.documents.description import Block, Cell, Column, Document, Paragraph, Section, SignOff, Table
from estimator.documents.job_words import cover_facts, wording_values
from estimator.spec.model import Project, Run
from estimator.spec.restricted import Address, Restricted

MARKING: Final = "RESTRICTED: ONLY FOR THE PERSON WHO SIGNED FOR THIS COPY"
"""What stands on every page."""

_USUAL_TAKERS: Final = ("Owner's representative",)
_GIVER: Final = "Handed over by"


def restricted_copy(
    project: Project, held: Restricted, shown_date: date | None, wording: Path | None = None
) -> Document:
    """Return the document that is handed over against a signature; ``wording`` holds a company's own templates."""
    intro = prose.render("restricted_intro", wording_values(project), wording)
    return common.document(
        project,
        shown_date,
        title="Closeout, restricted part",
        subject="Addresses, credentials and camera views",
        sections=(
            *prose.sections(intro, "About this part"),
            Section(title="Network addresses", blocks=(_addresses(project, held),), landscape=True),
            Section(title="Accounts, codes and keys", blocks=(_credentials(held),), landscape=True),
            Section(title="Camera views", blocks=(_views(project, held),), landscape=True),
            _receipt(held),
        ),
        cover=cover_facts(project),
        state="Restricted: not to be copied or handed around",
        state_tone="bad",
        marking=MARKING,
    )


def _addresses(project: Project, held: Restricted) -> Table:
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="device", head="Device"),
        Column(key="address", head="Address"),
        Column(key="gateway", head="Gateway"),
        Column(key="vlan", head="Virtual network", kind="whole"),
        Column(key="name", head="Name in the network"),
        Column(key="mac", head="MAC"),
    )
    runs = {run.id.lower(): run for run in project.runs}
    known = {one.circuit.lower(): one.mac for one in project.closeout.registers}
    rows = [_address_row(one, project, runs, known) for one in held.addresses]
    return Table(name="addresses", title="Network addresses", columns=columns, rows=rows, empty="None is recorded.")


def _address_row(one: Address, project: Project, runs: dict[str, Run], known: dict[str, str]) -> tuple[Cell, ...]:
    mac = known.get(one.circuit.lower(), "")
    device = device_of(one.circuit, project, runs)
    return (one.circuit, device, one.address, one.gateway, one.vlan, one.name, mac)


def device_of(name: str, project: Project, runs: dict[str, Run]) -> str:
    """Return what a circuit or an id of the job stands for, with where it is."""
    run = runs.get(name.lower())
    if run is not None:
        device = (run.device.name or run.device.id) if run.device else "outlet"
        return f"{device}, {run.drop.zone}" if run.drop.zone else device
    if name in project.switches:
        return f"Network switch, room {project.switches[name].room}"
    for group in (project.control_units, project.supplies, project.amplifiers):
        if name in group:
            one = group[name]
            return f"{one.name or one.id}, room {one.room}"
    return f"UPS, room {project.ups[name].room}" if name in project.ups else ""


def _credentials(held: Restricted) -> Table:
    columns = (
        Column(key="what", head="Opens"),
        Column(key="user", head="Account"),
        Column(key="secret", head="Password or code"),
        Column(key="note", head="Remark"),
        Column(key="changed", head="Changed on"),
    )
    rows = [(one.what, one.user, one.secret or "not written down", one.note, "") for one in held.credentials]
    return Table(
        name="credentials", title="Accounts, codes and keys", columns=columns, rows=rows, empty="None is recorded."
    )


def _views(project: Project, held: Restricted) -> Table:
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="camera", head="Camera"),
        Column(key="covers", head="Looks at"),
        Column(key="masked", head="Masked, or not to be seen"),
    )
    runs = {run.id.lower(): run for run in project.runs}
    rows = [(one.circuit, device_of(one.circuit, project, runs), one.covers, one.masked) for one in held.views]
    return Table(name="views", title="Camera views", columns=columns, rows=rows, empty="None is recorded.")


def _receipt(held: Restricted) -> Section:
    takers = [f"Copy {number}: {role}" for number, role in enumerate(held.takers or _USUAL_TAKERS, start=1)]
    blocks: list[Block] = [
        Paragraph(
            "Each who signs has taken one copy of this part, knows that it is restricted, and answers for it from "
            "that day on. A copy is not complete without this page."
        ),
        SignOff((_GIVER, *takers)),
    ]
    return Section(title="Receipt", blocks=tuple(blocks))
