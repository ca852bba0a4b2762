"""The binder says on its cover what is missing, holds every part, and calls nothing a certificate."""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import docx
import pytest

from estimator.documents.binder import binder
from estimator.documents.binder_fire_alarm import BLANK
from estimator.documents.description import Document, Facts, Paragraph, Section, SignOff, Table, Verdict
from estimator.documents.docx_writer import write_docx
from estimator.field.completion import completion
from estimator.field.job import Job
from estimator.spec.turnover import Closeout
from estimator.takeoff.takeoff import Takeoff
from tests.documents.job_sample import FAILED, circuits, empty_job, job, project, takeoff

PARTS = (
    "What is missing",
    "About this binder",
    "Directory",
    "Permits and inspections",
    "Change log",
    "Submittals and drawings",
    "Record of the work",
    "Test summary",
    "Punch list",
    "Test detail",
    "Pathways and cables as built",
    "Bonding and firestop",
    "Power and battery record",
    "Fire-alarm completion data",
    "Registers",
    "Panel faces",
    "Racks",
    "Warranties",
    "O&M sheets",
    "Training and attendance",
    "Spares",
    "Waived and accepted items",
    "Sign-offs",
)


def made(wording: Path | None = None) -> Document:
    return binder(takeoff(), job(), date(2026, 9, 18), wording)


def section(document: Document, title: str) -> Section:
    return next(one for one in document.sections if one.title == title)


def tables(document: Document) -> dict[str, Table]:
    return {block.name: block for one in document.sections for block in one.blocks if isinstance(block, Table)}


def plain(takeoff: Takeoff, **closeout: object) -> Takeoff:
    """Return the takeoff with other closeout records."""
    changed: Closeout = replace(takeoff.project.closeout, **closeout)  # type: ignore[arg-type]
    return replace(takeoff, project=replace(takeoff.project, closeout=changed))


def test_all_parts_stand_in_their_order() -> None:
    """Everything that an owner looks for has a heading of its own."""
    titles = [one.title for one in made().sections if one.level == 1]
    assert titles == list(PARTS)


def test_cover_says_incomplete_and_lists_what_is_missing() -> None:
    """The state stands on the cover, with a line for each part that lacks something."""
    document = made()
    labels = {fact.label: str(fact.value) for fact in document.cover}
    assert document.state.startswith("Incomplete: ")
    assert labels["Missing: tests"].startswith(f"{FAILED}: fail")
    assert labels["Missing: warranties"] == "Cabling components: no start and no end"


def test_complete_job_lists_nothing_missing() -> None:
    """With every circuit complete and nothing promised, the cover says complete and the first part is gone."""
    bare = plain(takeoff(), must_hold=(), changes=())
    kept = tuple(one for one in job().result.circuits if one.complete)
    done = replace(job(), result=replace(job().result, circuits=kept))
    document = binder(bare, done, None)
    assert completion(bare.project, done).complete
    assert document.state == f"Complete: {len(kept)} circuits passed, accepted, waived or outside the sample"
    assert document.sections[0].title == "About this binder"


def test_promised_and_empty_parts_are_missing() -> None:
    """Each part that the binder must hold is named when it is empty."""
    nothing = plain(takeoff(), directory=(), permits=(), submittals=(), drawings=(), warranties=(), manuals=(),
                    training=(), spares=(), firestop=(), registers=(), signers=())  # fmt: skip
    parts = {one.part for one in completion(nothing.project, job()).missing}
    assert parts >= {
        "Directory", "Permits and inspections", "Submittals", "As-built drawings", "Warranties", "O&M sheets",
        "Training", "Spare parts", "Firestop log", "Device register", "Sign-offs",
    }  # fmt: skip


def test_every_circuit_has_a_line_of_detail() -> None:
    """One line each, with its readings and their standing."""
    details = [table for name, table in tables(made()).items() if name.startswith("detail_")]
    ids = [str(row[0]) for table in details for row in table.rows]
    assert sorted(ids) == sorted(one.id for one in circuits())
    failed = next(row for table in details for row in table.rows if row[0] == FAILED)
    assert str(failed[2]).startswith("Wire map open")
    assert failed[3] == Verdict("fail", "bad")
    assert failed[5] == "reported"


def test_fire_alarm_block_leaves_blank_what_is_not_known() -> None:
    """Data of the job, blanks for the rest, people who sign the adopted form, and no claim of its own."""
    blocks = section(made(), "Fire-alarm completion data").blocks
    facts = next(block for block in blocks if isinstance(block, Facts))
    entries = {fact.label: fact.value for fact in facts.rows}
    assert entries["Adopted edition"] == "NFPA 72-2019"
    warnings = [block.text for block in blocks if isinstance(block, Paragraph) and block.lead == "warning"]
    assert any("not a record of completion and not a certificate" in text for text in warnings)
    others = next(block for block in blocks if isinstance(block, Table) and block.name == "fa_others")
    assert {row[1] for row in others.rows} == {BLANK}
    assert any(isinstance(block, SignOff) for block in blocks)
    # specs/library/library.yaml: six horn strobes on NAC-1; six detectors and two boxes on SLC-1.
    devices = next(block for block in blocks if isinstance(block, Table) and block.name == "fa_devices")
    assert [(row[0], row[4]) for row in devices.rows] == [("NAC-1", 6), ("SLC-1", 6), ("SLC-1", 2)]


def test_fire_alarm_block_is_left_out_without_a_fire_alarm() -> None:
    """A job without such a control unit or circuit has no such part."""
    units = {name: unit for name, unit in project().control_units.items() if unit.system != "fire_alarm"}
    bare = replace(takeoff(), project=replace(project(), control_units=units))
    kept = tuple(one for one in job().result.circuits if not one.criteria.life_safety)
    other = replace(job(), result=replace(job().result, circuits=kept))
    assert "Fire-alarm completion data" not in [one.title for one in binder(bare, other, None).sections]


def test_signatures_do_not_accept_open_items() -> None:
    """The roles of the file sign, under a sentence that keeps the open items open."""
    blocks = section(made(), "Sign-offs").blocks
    assert blocks[-1] == SignOff(project().closeout.signers)
    assert isinstance(blocks[0], Paragraph)
    assert "signing accepts none of the open items" in blocks[0].text


@pytest.mark.parametrize("judged", [job, empty_job], ids=["judged", "before any reading"])
def test_binder_opens_in_word_and_is_the_same_each_time(judged: Callable[[], Job]) -> None:
    """The package can be read by another library, and two builds are alike."""
    first, second = (write_docx(binder(takeoff(), judged(), None)) for _ in range(2))
    assert first == second
    word = docx.Document(io.BytesIO(first))
    headings = [
        paragraph.text for paragraph in word.paragraphs if paragraph.style and paragraph.style.name == "Heading 1"
    ]
    assert headings == list(PARTS)


def test_nothing_is_called_a_certificate() -> None:
    """The word stands only where the binder says that it is none, and for instruments' own papers."""
    said = [
        block.text
        for one in made().sections
        for block in one.blocks
        if isinstance(block, Paragraph) and "certif" in block.text.casefold()
    ]
    assert said
    assert all("not a certificate" in text or "is a certificate" in text for text in said)


def test_company_wording_comes_first(tmp_path: Path) -> None:
    """A template of the company's own replaces ours."""
    (tmp_path / "binder_intro.j2").write_text("Ours.", encoding="utf-8")
    assert section(made(tmp_path), "About this binder").blocks == (Paragraph("Ours."),)
