"""The book a crew labels and patches by, before a cable is pulled: label schedule, port maps, racks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from estimator.acceptance.criteria import Criteria
from estimator.documents import common
from estimator.documents.description import Cell, Column, Document, Fact, Facts, Section, Table
from estimator.documents.labels import Label, all_labels, form_line, labels_for
from estimator.documents.port_map import FREE, faces
from estimator.documents.port_pictures import plant_sections
from estimator.spec.labels import LabelSheet, grid_of
from estimator.takeoff.takeoff import Takeoff
from estimator.units.quantity import in_unit, show


def label_book(takeoff: Takeoff, circuits: Sequence[Criteria], shown_date: date | None) -> Document:
    """Return the workbook of labels, ports and racks."""
    project = takeoff.project
    labels = all_labels(takeoff, circuits)
    return common.document(
        project,
        shown_date,
        title="Labels and port maps",
        subject="What stands on each label, and what ends where",
        sections=(
            Section(title="Label sheets", blocks=(_counts(labels), _sheets(takeoff, labels)), pages_high=1),
            Section(title="Label schedule", blocks=(schedule_table(takeoff, labels),), landscape=True),
            Section(title="Port map", blocks=(_port_table(takeoff, labels),), landscape=True),
            *plant_sections(takeoff),
        ),
        cover=common.header_facts(project),
    )


def _counts(labels: Sequence[Label]) -> Facts:
    named = (("cable", "Labels of cable ends"), ("port", "Labels of panel ports"), ("outlet", "Labels of outlet jacks"))
    rows = [
        Fact(
            label=text,
            value=sum(one.kind == kind for one in labels),
            kind="whole",
            note="two a cable" * (kind == "cable"),
        )
        for kind, text in named
    ]
    return Facts(title="Labels in all", rows=tuple(rows))


def _sheets(takeoff: Takeoff, labels: Sequence[Label]) -> Table:
    project = takeoff.project
    unit = "mm" if project.header.lengths_in == "m" else "in"
    columns = (
        Column(key="sheet", head="Sheet"),
        Column(key="of", head="For"),
        Column(key="paper", head="Paper"),
        Column(key="grid", head="Across and down"),
        Column(key="size", head=f"Label [{unit}]"),
        Column(key="labels", head="Labels", kind="whole"),
        Column(key="pages", head="Sheets of paper", kind="whole"),
        Column(key="start", head="First free", kind="whole"),
        Column(key="lines", head="Lines"),
    )
    rows = [_sheet_row(takeoff, sheet, len(labels_for(sheet, labels)), unit) for sheet in project.labels]
    return Table(
        name="sheets",
        title="Label stock",
        columns=columns,
        rows=rows,
        empty="No sheet of labels is typed: the list for a label printer has all of them.",
        caption="Print at full size: a page that is fitted to the paper leaves the grid.",
    )


def _sheet_row(takeoff: Takeoff, sheet: LabelSheet, count: int, unit: str) -> tuple[Cell, ...]:
    grid = grid_of(sheet, takeoff.project.header.paper)
    sides = [show(in_unit(side_m, "length", unit), "", 3) for side_m in (grid.label_width_m, grid.label_height_m)]
    places = sheet.rows * sheet.columns
    return (
        f"{sheet.id}, {sheet.name}" if sheet.name else sheet.id,
        ", ".join(sheet.of),
        sheet.paper or takeoff.project.header.paper,
        f"{sheet.columns} x {sheet.rows}",
        " x ".join(sides),
        count,
        -(-(count + sheet.start - 1) // places) if count else 0,
        sheet.start,
        ", ".join((*sheet.lines, *(("QR code",) * sheet.qr))),
    )


def schedule_table(takeoff: Takeoff, labels: Sequence[Label]) -> Table:
    """Return a line a cable: its identifier, and what the label at each end says of the other."""
    columns = (
        Column(key="circuit", head="Identifier"),
        Column(key="start", head="Room end"),
        Column(key="near", head="Label at the room end"),
        Column(key="end", head="Far end"),
        Column(key="far", head="Label at the far end"),
        Column(key="cable", head="Cable"),
        Column(key="system", head="System"),
    )
    ends = [one for one in labels if one.kind == "cable"]
    rows = [
        (near.identifier, near.here, near.line("to"), far.here, far.line("to"), near.cable, near.system)
        for near, far in zip(ends[::2], ends[1::2], strict=True)
    ]
    return Table(name="labels", title="Label schedule", columns=columns, rows=rows, caption=form_line(takeoff))


def _port_table(takeoff: Takeoff, labels: Sequence[Label]) -> Table:
    columns = (
        Column(key="room", head="Room"),
        Column(key="panel", head="Panel"),
        Column(key="place", head="Place"),
        Column(key="port", head="Port", kind="whole"),
        Column(key="circuit", head="Circuit"),
        Column(key="to", head="Far end"),
        Column(key="cable", head="Cable"),
    )
    known = {one.here: one for one in labels if one.kind == "port"}
    rows: list[tuple[Cell, ...]] = []
    for face in faces(takeoff):
        for port in (port for row in face.rows for port in row):
            one = known.get(f"{face.id}{port.number:02d}")
            ends = (one.to, one.cable) if one else ("", "")
            rows.append((face.room, face.id, face.place, port.number, port.circuit or FREE, *ends))
    return Table(name="ports", title="Port map", columns=columns, rows=rows, empty="The job has no patch panel.")
