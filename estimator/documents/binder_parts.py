"""Parts of the binder that list what the project file records: people, papers, pathways, power, warranties."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from estimator.documents import common
from estimator.documents.closeout_built import (
    built_table,
    cable_table,
    label_table,
    pathway_table,
    port_table,
    port_words,
    spare_ports_table,
    strand_table,
)
from estimator.documents.closeout_records import battery_table, device_table
from estimator.documents.closeout_results import signed_table
from estimator.documents.description import Block, Cell, Column, Kind, Paragraph, Section, Table, Verdict
from estimator.documents.drawn import pathway_pictures
from estimator.documents.job_readings import shown_reading
from estimator.documents.job_words import sentence, words_of
from estimator.documents.picture_lines import switch_pictures
from estimator.documents.port_pictures import plant_sections
from estimator.documents.shown import shown
from estimator.field.job import Job
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff

_STATES: Final = {
    "approved": Verdict("approved", "good"),
    "approved_as_noted": Verdict("approved as noted", "good"),
    "submitted": Verdict("submitted", "poor"),
    "pending": Verdict("pending", "poor"),
    "revise": Verdict("revise", "bad"),
    "missing": Verdict("missing", "bad"),
    "rejected": Verdict("rejected", "none"),
}
_CABLE_COLUMNS: Final = ("circuit", "cable", "start", "end", "port", "path", "expected", "measured", "difference")
_PATH_COLUMNS: Final = ("segment", "kind", "start", "end", "space", "laid", "share", "limit", "spare", "verdict")

Head = str | tuple[str, Kind]


def listed(name: str, title: str, heads: Sequence[Head], rows: Iterable[Sequence[Cell]]) -> Table:
    """Return a plain table; a head alone is text, else it comes with its kind."""
    columns = tuple(
        Column(key=f"c{index}", head=head, kind="text")
        if isinstance(head, str)
        else Column(key=f"c{index}", head=head[0], kind=head[1])
        for index, head in enumerate(heads)
    )
    return Table(name=name, title=title, columns=columns, rows=list(rows), empty="Nothing is recorded.")


def only(table: Table, keys: Sequence[str]) -> Table:
    """Return a table of some of another's columns, for a page that is narrower than a sheet."""
    at = [next(index for index, column in enumerate(table.columns) if column.key == key) for key in keys]
    return Table(
        name=table.name,
        title=table.title,
        columns=tuple(table.columns[index] for index in at),
        rows=list(zip(*([row[index] for row in table.rows] for index in at), strict=True)),
        caption=table.caption,
        empty=table.empty,
        totals=table.totals,
    )


def opening_sections(project: Project) -> Iterable[Section]:
    """Yield directory, permits, changes, submittals, drawings and the record of the work."""
    held = project.closeout
    people = [(one.role, one.firm, one.contact) for one in held.directory]
    yield _section("Directory", listed("directory", "People and firms", ("Role", "Firm", "Contact"), people))
    permits = [("Permit", project.header.permit)] if project.header.permit else []
    permits += [("Record", text) for text in held.permits]
    yield _section("Permits and inspections", listed("permits", "Permits and inspections", ("Kind", "Entry"), permits))
    changes = [(one.number, one.name, one.day, _STATES[one.state]) for one in held.changes]
    heads: tuple[Head, ...] = ("Number", "What changed", ("Date", "date"), ("State", "verdict"))
    yield _section("Change log", listed("changes", "Changes", heads, changes))
    submittals = [(one.number, one.name, _STATES[one.state], one.day) for one in held.submittals]
    drawings = [(one.number, one.name, one.revision or "none", one.day) for one in held.drawings]
    reviewed: tuple[Head, ...] = ("Number", "Subject", ("Review", "verdict"), ("Date", "date"))
    drawn: tuple[Head, ...] = ("Number", "Title", "Revision", ("Date", "date"))
    yield _section(
        "Submittals and drawings",
        listed("submittals", "Submittals", reviewed, submittals),
        listed("drawings", "As-built drawings", drawn, drawings),
    )
    yield _record(project)


def _section(title: str, *blocks: Block) -> Section:
    return Section(title=title, blocks=blocks)


def _record(project: Project) -> Section:
    blocks: list[Block] = []
    if project.scope.summary:
        blocks.append(Paragraph(project.scope.summary))
    if project.scope.inclusions:
        blocks.append(Paragraph("The work included:", "lead"))
        blocks += [Paragraph(text, "bullet") for text in project.scope.inclusions]
    codes = project.codes
    editions = (
        ("Electrical", f"NFPA 70-{codes.electrical}"),
        ("Fire alarm", f"NFPA 72-{codes.fire_alarm}"),
        ("Copper cabling", f"ANSI/TIA-{codes.cabling}"),
        ("Fiber cabling", f"ANSI/TIA-{codes.fiber}"),
        ("Pathways", f"ANSI/TIA-{codes.pathways}"),
        ("Administration", f"ANSI/TIA-{codes.administration}"),
        ("Section numbers", f"edition of {codes.sections}"),
        ("Amendments", codes.amendments or "none recorded"),
    )
    blocks.append(listed("editions", "Editions followed", ("Subject", "Edition"), editions))
    rooms = [
        (room.id, room.name, room.floor, "; ".join(rack.shown for rack in room.racks))
        for room in project.rooms.values()
    ]
    blocks.append(listed("rooms", "Telecom rooms", ("Room", "Name", "Floor", "Racks and cabinets"), rooms))
    return Section(title="Record of the work", blocks=tuple(blocks))


def built_sections(takeoff: Takeoff, job: Job) -> Iterable[Section]:
    """Yield pathways and cables as they were built."""
    yield Section(
        title="Pathways and cables as built",
        blocks=(
            only(pathway_table(takeoff), _PATH_COLUMNS),
            only(cable_table(takeoff, job), _CABLE_COLUMNS),
            built_table(takeoff, job),
        ),
        landscape=True,
    )
    pictures = pathway_pictures(takeoff)
    if pictures:
        yield Section(title="Pathways drawn", blocks=tuple(pictures), level=2)


def bonding_section(project: Project, job: Job) -> Section:
    """Return the bonding readings and the firestop log."""
    points: list[tuple[Cell, ...]] = []
    for one in job.result.circuits:
        if one.criteria.medium == "bonding":
            reading = one.reading("bonding")
            seen = shown_reading(reading, project.header.lengths_in) if reading else None
            value = f"{shown(seen.cell, 'number', seen.decimals)} {seen.unit}" if seen else "no reading"
            limit = next((c.limit for c in one.criteria.criteria if c.test == "bonding"), "")
            points.append((one.id, one.criteria.far_end, limit, value, common.verdict(one.word)))
    heads: tuple[Head, ...] = ("Point", "Where", "Limit", "Read", ("Verdict", "verdict"))
    firestop = [(one.segment, one.system, one.day, one.by) for one in project.closeout.firestop]
    closed: tuple[Head, ...] = ("Sleeve", "System", ("Closed", "date"), "By")
    blocks = (
        listed("bonding", "Bonding and grounding points", heads, points),
        listed("firestop", "Firestop log", closed, firestop),
    )
    return Section(title="Bonding and firestop", blocks=blocks, landscape=True)


def power_section(takeoff: Takeoff, job: Job) -> Section:
    """Return what feeds the devices, what each switch powers, and the battery record."""
    project = takeoff.project
    heads = ("Name", "What", "Room", "Rating", "Backed up by")
    feeds = listed("feeds", "Sources of power", heads, _feeds(project))
    blocks: tuple[Block, ...] = (feeds, *switch_pictures(takeoff.power.poe.switches), battery_table(project, job))
    return Section(title="Power and battery record", blocks=blocks, landscape=True)


def _feeds(project: Project) -> Iterable[tuple[Cell, ...]]:
    for switch in project.switches.values():
        what = f"{switch.ports} ports, {switch.budget_w:g} W for devices"
        yield switch.id, "Network switch", switch.room, what, switch.ups or ""
    for supply in project.supplies.values():
        yield supply.id, supply.name or "DC supply", supply.room, f"{supply.volts:g} V, {supply.rating_a:g} A", ""
    for unit in project.control_units.values():
        rating = f", supply {unit.supply_a:g} A" if unit.supply_a is not None else ""
        name = unit.name or sentence(words_of(unit.system))
        yield unit.id, name, unit.room, f"{unit.nominal_v:g} V{rating}", "its battery"
    for amplifier in project.amplifiers.values():
        line = f", {amplifier.line_v:g} V line" if amplifier.line_v is not None else ""
        yield amplifier.id, amplifier.name or "Amplifier", amplifier.room, f"{amplifier.power_w:g} W{line}", ""
    for ups in project.ups.values():
        yield ups.id, "UPS", ups.room, f"{ups.rating_w:g} W", ""


def register_sections(takeoff: Takeoff, job: Job) -> Iterable[Section]:
    """Yield the registers: devices, ports, labels; then panel faces and racks."""
    labels = only(label_table(takeoff, job), ("circuit", "near", "far", "outlet", "start", "end"))
    ports = only(port_table(takeoff, job), ("panel", "port", "circuit", "outlet", "end", "verdict"))
    yield Section(title="Registers", blocks=(device_table(takeoff.project), _taken(ports), labels), landscape=True)
    yield from plant_sections(takeoff, port_words(job))


def _taken(ports: Table) -> Table:
    """Return the port map without its free ports, which the spares count."""
    at = next(index for index, column in enumerate(ports.columns) if column.key == "circuit")
    rows = [row for row in ports.rows if row[at] != "free"]
    return Table(
        name=ports.name,
        title=ports.title,
        columns=ports.columns,
        rows=rows,
        empty=ports.empty,
        caption="Ports that are not listed are free.",
    )


def closing_sections(takeoff: Takeoff, job: Job) -> Iterable[Section]:
    """Yield warranties, O&M, training, spares and what was waived."""
    held = takeoff.project.closeout
    dates: tuple[Head, ...] = ("What is covered", "Given by", ("Start", "date"), ("End", "date"))
    warranties = [(one.name, one.by, one.start, one.end) for one in held.warranties]
    yield _section("Warranties", listed("warranties", "Warranties", dates, warranties))
    yield _section(
        "O&M sheets",
        listed("manuals", "O&M sheets handed over", ("Sheet",), [(sentence(text),) for text in held.manuals]),
    )
    heads: tuple[Head, ...] = ("Subject", ("Date", "date"), ("Attended", "whole"))
    training = [(one.name, one.day, one.attended) for one in held.training]
    yield _section("Training and attendance", listed("training", "Training held", heads, training))
    spares = [(one.name, one.count) for one in held.spares]
    parts = listed("spares", "Parts handed over", ("Part", ("Pieces", "whole")), spares)
    yield _section("Spares", parts, spare_ports_table(takeoff), strand_table(job))
    yield _section("Waived and accepted items", signed_table(job))
