"""The closeout workbook: what is where, and whether it works."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from estimator.documents import common, wording
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
from estimator.documents.closeout_lengths import fitted_table, ratio_table, spread_table
from estimator.documents.closeout_records import (
    aside_table,
    battery_table,
    device_table,
    finding_table,
    instrument_table,
    punch_table,
)
from estimator.documents.closeout_results import (
    CIRCUIT_COLUMNS,
    history_table,
    results_table,
    signed_table,
    system_table,
    verdict_table,
)
from estimator.documents.description import Block, Column, Document, Fact, Facts, Section, Table
from estimator.documents.drawn import results_drawn
from estimator.documents.job_words import counted, wording_values
from estimator.documents.port_pictures import plant_sections
from estimator.field.completion import Completion, completion
from estimator.field.job import Job
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff


def closeout_book(takeoff: Takeoff, job: Job, shown_date: date | None, templates: Path | None = None) -> Document:
    """Return the workbook that is handed to the owner's facilities people.

    ``templates`` is a company's own folder of wording. Raises: WordingError where one of them is wrong.
    """
    project = takeoff.project
    state = completion(project, job)
    return common.document(
        project,
        shown_date,
        title="Closeout",
        subject="Test results and records as built",
        sections=_sections(takeoff, job, state, templates),
        cover=common.header_facts(project),
        state=state_line(state),
        state_tone=state_tone(state),
        contents=True,
    )


def _sections(takeoff: Takeoff, job: Job, state: Completion, templates: Path | None) -> tuple[Section, ...]:
    project = takeoff.project
    return (
        _summary(project, job, templates),
        *((_sheet("What is missing", missing_table(state)),) if state.missing else ()),
        results_drawn(project, job),
        Section(title="Circuits", blocks=(verdict_table(job),), landscape=True, printed=CIRCUIT_COLUMNS),
        # Upright, because a page that holds more rows saves a third of the paper.
        Section(title="Results", blocks=(results_table(project, job),), pages_wide=2, repeated=2),
        _sheet("Punch list", punch_table(job)),
        _sheet("Findings", finding_table(job)),
        _sheet("Rounds", history_table(job)),
        _sheet("Cables as built", cable_table(takeoff, job), pages=2),
        _sheet("Bid against built", built_table(takeoff, job)),
        Section(
            title="Lengths learned",
            blocks=(spread_table(project, job), fitted_table(takeoff, job), ratio_table(job)),
            landscape=True,
        ),
        _sheet("Port map", port_table(takeoff, job)),
        *plant_sections(takeoff, port_words(job)),
        _sheet("Labels", label_table(takeoff, job)),
        _sheet("Device register", device_table(project)),
        _sheet("Battery record", battery_table(project, job)),
        _sheet("Instruments", instrument_table(project, job)),
        _sheet("Waived and accepted", signed_table(job)),
        _sheet("Kept aside", aside_table(job)),
        Section(
            title="Spares",
            blocks=(spare_ports_table(takeoff), strand_table(job), pathway_table(takeoff)),
            landscape=True,
        ),
    )


def _sheet(title: str, table: Table, pages: int = 1) -> Section:
    return Section(title=title, blocks=(table,), landscape=True, pages_wide=pages)


def _summary(project: Project, job: Job, templates: Path | None) -> Section:
    blocks: list[Block] = [system_table(job)]
    blocks.append(Facts(title="Readings", rows=_collected(job)))
    blocks += wording.render("readings_status", wording_values(project), templates)
    return Section(title="Summary", blocks=tuple(blocks), pages_high=1)


def state_line(state: Completion) -> str:
    """Return in one line for a cover how complete a job is."""
    circuits = counted(state.circuits, "circuit")
    if state.complete:
        return f"Complete: {circuits} passed, accepted, waived or outside the sample"
    parts = [f"{state.circuits_left:,} of {circuits} open"] if state.circuits_left else []
    papers = state.records_missing
    # A signature that doesn't count keeps a job open though no circuit and no record does.
    parts += [f"{counted(papers, 'item')} of the records missing"] if papers else []
    return f"Incomplete: {', '.join(parts) or counted(len(state.missing), 'item') + ' to settle'}"


def state_tone(state: Completion) -> common.Tone:
    """Return the tone of that line."""
    return "good" if state.complete else "poor"


def missing_table(state: Completion) -> Table:
    """Return everything that keeps the job from being complete."""
    columns = (Column(key="part", head="Part"), Column(key="what", head="What is missing or open"))
    rows = [(one.part, one.what) for one in state.missing]
    return Table(name="missing", title="What is missing", columns=columns, rows=rows, empty="Nothing is missing.")


def _collected(job: Job) -> tuple[Fact, ...]:
    readings = [reading for one in job.result.circuits for reading in one.readings]
    backed = sum(bool(reading.evidence) for reading in readings)
    sheets = sum(batch.kind == "sheet" for batch in job.stored.batches)
    files = {file.digest for kept in job.stored.evidence for file in kept.files}
    return (
        Fact(label="Sheets collected", value=sheets, kind="whole"),
        Fact(label="Result files of instruments kept", value=len(files), kind="whole"),
        Fact(label="Rows read", value=len(job.stored.rows), kind="whole"),
        Fact(label="Rows kept aside", value=len(job.result.unplaced), kind="whole"),
        Fact(label="Readings that count", value=len(readings), kind="whole"),
        Fact(label="Backed by a kept result file", value=backed, kind="whole"),
        Fact(label="Reported", value=len(readings) - backed, kind="whole"),
        Fact(label="Open on the punch list", value=len(job.result.open_items), kind="whole"),
    )
