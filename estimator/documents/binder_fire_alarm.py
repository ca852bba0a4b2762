"""Data for the fire-alarm record of completion: what this job knows, and blanks for those who sign it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from estimator.documents import common
from estimator.documents.binder_tests import reading_words
from estimator.documents.description import Block, Cell, Column, Fact, Facts, Paragraph, Section, SignOff, Table
from estimator.documents.job_words import words_of
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.spec.feeds import ControlUnit
from estimator.spec.model import Project
from estimator.takeoff.conductors import LIFE_SAFETY
from estimator.takeoff.takeoff import Takeoff

BLANK: Final = "to be filled in"
"""Stands where this job has no data; nothing is inferred."""

_BY_OTHERS: Final = (
    "Design professional, with license",
    "Supervising station, account and means of transmission",
    "Sequence of operation, revision and date",
    "Site-specific software, version and place of its copy",
    "Functional tests witnessed by, with date",
    "Impairments and deviations known at acceptance",
    "Inspection, testing and maintenance contract",
)
_SIGNERS: Final = ("System installer", "System supplier", "Owner's representative", "Authority having jurisdiction")


def fire_alarm_sections(takeoff: Takeoff, job: Job, intro: Sequence[Paragraph]) -> Iterable[Section]:
    """Yield the data block, if the job has a fire-alarm or other life-safety control unit or circuit."""
    project = takeoff.project
    units = [unit for unit in project.control_units.values() if unit.system in LIFE_SAFETY]
    results = [one for one in job.result.circuits if one.criteria.life_safety]
    if not units and not results:
        return
    blocks: list[Block] = [*intro, Facts(title="Property and installer", rows=_property(project))]
    blocks += [_units(project, units), _devices(project, units), _circuits(project, results), _others()]
    blocks.append(Paragraph("Signatures stand on the adopted form. People who sign it:", "lead"))
    blocks.append(SignOff(_SIGNERS))
    yield Section(title="Fire-alarm completion data", blocks=tuple(blocks), landscape=True)


def _property(project: Project) -> tuple[Fact, ...]:
    header = project.header
    rows = (
        ("Property", header.site),
        ("Address", header.address),
        ("Owner", header.client),
        ("Authority having jurisdiction", header.authority),
        ("Permit", header.permit),
        ("Adopted edition", f"NFPA 72-{project.codes.fire_alarm}"),
        ("Local amendments", project.codes.amendments),
        ("Installer", header.company),
        ("Installer's address", header.company_address),
        ("Installer's license", header.license),
    )
    return tuple(Fact(label=label, value=value or BLANK) for label, value in rows)


def _units(project: Project, units: Sequence[ControlUnit]) -> Table:
    columns = (
        Column(key="id", head="Control unit"),
        Column(key="name", head="Description"),
        Column(key="room", head="Place"),
        Column(key="volts", head="Nominal", kind="number", unit="V", decimals=0),
        Column(key="battery", head="Battery"),
        Column(key="code", head="Date code"),
        Column(key="model", head="Maker and model"),
    )
    rows: list[tuple[Cell, ...]] = []
    for unit in units:
        room = project.rooms.get(unit.room)
        battery = unit.battery
        what = (
            f"{battery.blocks * battery.strings} x {battery.block_v:g} V {battery.capacity_ah:g} Ah" if battery else ""
        )
        place = f"{unit.room}, {room.name}" if room and room.name else unit.room
        code = battery.date_code if battery else ""
        rows.append((unit.id, unit.name, place, unit.nominal_v, what or BLANK, code or BLANK, BLANK))
    return Table(name="fa_units", title="Control units", columns=columns, rows=rows, empty="None.")


def _devices(project: Project, units: Sequence[ControlUnit]) -> Table:
    names = {unit.id for unit in units}
    counts: Counter[tuple[str, str]] = Counter()
    for circuit in project.circuits.values():
        if circuit.feed in names:
            for stop in circuit.stops:
                counts[circuit.id, stop.device] += stop.count
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="kind", head="Kind"),
        Column(key="class", head="Class"),
        Column(key="device", head="Device"),
        Column(key="count", head="Pieces", kind="whole", total="sum"),
        Column(key="tested", head="Functional test"),
    )
    rows: list[tuple[Cell, ...]] = []
    for (circuit_id, device_id), count in counts.items():
        circuit, device = project.circuits[circuit_id], project.devices[device_id]
        rows.append((circuit_id, words_of(circuit.kind), circuit.circuit_class, device.name or device.id, count, BLANK))
    return Table(name="fa_devices", title="Devices by circuit", columns=columns, rows=rows, totals=True, empty="None.")


def _circuits(project: Project, results: Sequence[CircuitResult]) -> Table:
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="readings", head="Readings, as reported"),
        Column(key="verdict", head="Verdict", kind="verdict"),
    )
    rows = [
        (one.id, reading_words(one, project.header.lengths_in) or "no reading", common.verdict(one.word))
        for one in results
    ]
    title = "Conductors and batteries, from the test records"
    return Table(name="fa_circuits", title=title, columns=columns, rows=rows, empty="None.")


def _others() -> Table:
    columns = (Column(key="item", head="Item"), Column(key="entry", head="Entry"))
    rows = [(item, BLANK) for item in _BY_OTHERS]
    return Table(name="fa_others", title="To be completed by those who sign", columns=columns, rows=rows)
