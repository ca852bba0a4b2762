"""The test plan lists every circuit with its own numbers, and a procedure for each medium of the job."""

from __future__ import annotations

import io
from datetime import date
from pathlib import Path

import docx
import pytest

from estimator.acceptance.columns import MEDIA
from estimator.documents import crew_plan
from estimator.documents.description import Document, Paragraph, Section, Table
from estimator.documents.docx_writer import write_docx
from estimator.documents.job_words import MEDIA_WORDS
from tests.documents.job_sample import circuits, takeoff


def plan(day: date | None = None, wording: Path | None = None) -> Document:
    return crew_plan.test_plan(takeoff(), circuits(), day, wording)


def table(document: Document, name: str) -> Table:
    return next(
        block
        for section in document.sections
        for block in section.blocks
        if isinstance(block, Table) and block.name == name
    )


def section(document: Document, title: str) -> Section:
    return next(section for section in document.sections if section.title == title)


def test_every_circuit_stands_once_in_the_lists() -> None:
    """The lists by room and medium hold all ids of the job, in test order."""
    listed = [
        str(row[0])
        for one in plan().sections
        for block in one.blocks
        if isinstance(block, Table) and block.name.startswith("circuits_")
        for row in block.rows
    ]
    assert listed == [one.id for one in circuits()]


def test_circuit_shows_its_own_numbers() -> None:
    """Expected length in feet, the ceiling, loop and watts of one access point are its criteria's."""
    one = next(one for one in circuits() if one.id == "1A-B02")
    listed = table(plan(), "circuits_0_balanced_pair")
    heads = [column.head + column.unit for column in listed.columns]
    row = dict(zip(heads, next(row for row in listed.rows if row[0] == one.id), strict=True))
    high, loop, watts = one.criterion("length"), one.criterion("resistance", "12"), one.criterion("poe", "watts")
    assert one.expected_m is not None
    assert (high, loop, watts) != (None, None, None)
    assert row["Length expectedft"] == one.expected_m / 0.3048
    assert row["Length, maxft"] == (high.high or 0) / 0.3048 if high else None
    assert row["Loop, maxohm"] == (loop.high if loop else None)
    assert row["Loop expectedohm"] == one.expected_loop_ohm
    # specs/library/library.yaml: the high-density access point draws 44 W.
    assert row["PoE, minW"] == 44.0


@pytest.mark.parametrize("medium", MEDIA)
def test_each_medium_of_the_job_has_a_procedure(medium: str) -> None:
    """At least four numbered steps stand under the medium's name."""
    named = [one.blocks for one in plan().sections if one.title == MEDIA_WORDS[medium]]
    steps = [sum(isinstance(block, Paragraph) and block.lead == "number" for block in blocks) for blocks in named]
    assert max(steps) >= 4


def test_settings_name_limit_velocity_and_reference() -> None:
    """One row a cable type and setting; the velocity says whether it was typed for this cable."""
    rows = {str(row[0]): row for row in table(plan(), "settings").rows}
    assert rows["c6"][2:6] == ("ANSI/TIA-568.2-D Category 6 permanent link", "permanent link", 70.0, "this cable")
    assert rows["rg59"][5] == "typical, check the jacket"
    assert rows["om4"][6] == "one cord"
    assert sum(int(str(row[7])) for row in rows.values()) == sum(bool(one.cable) for one in circuits())


def test_limits_count_each_reading_once() -> None:
    """Four pairs with one limit stand in one row with that limit."""
    rows = [row for row in table(plan(), "limits_balanced_pair").rows if "c6-cam" not in str(row[0])]
    loops = [row for row in rows if row[2] == "Loop resistance, each pair" and str(row[0]).startswith("c6,")]
    # ISO/IEC 11801 and ANSI/TIA-568.2-D print 21 ohm for a permanent link (the shared reference's copper limits).
    assert [row[3] for row in loops] == ["at most 21.00 ohm"]


def test_instrument_past_its_calibration_is_marked() -> None:
    """The calibration due date is held against the date shown."""
    early, late = (table(plan(day), "instruments").rows[0][-1] for day in (date(2026, 9, 1), date(2027, 3, 1)))
    assert getattr(early, "word", "") == "in date"
    assert getattr(late, "word", "") == "past due"


def test_exceptions_name_who_decided() -> None:
    """A waived circuit and those that can't be tested are listed with the reason."""
    rows = {str(row[0]): row for row in table(plan(), "left_out").rows}
    assert set(rows) == {"2A-A28", "1A-V03", "1A-A39"}
    assert rows["2A-A28"][3] == "Facilities manager, owner, owner's letter 14, item 3"


def test_company_wording_comes_first(tmp_path: Path) -> None:
    """A template of the company's own replaces ours."""
    (tmp_path / "testplan_stop.j2").write_text("Call us.", encoding="utf-8")
    assert section(plan(wording=tmp_path), "When to stop and call").blocks == (Paragraph("Call us."),)


def test_plan_opens_in_word_and_is_the_same_each_time() -> None:
    """The package can be read by another library, and two builds are alike."""
    first, second = write_docx(plan()), write_docx(plan())
    assert first == second
    text = "\n".join(paragraph.text for paragraph in docx.Document(io.BytesIO(first)).paragraphs)
    assert "When to stop and call" in text
    assert "Light in fibers" in text
    assert len(docx.Document(io.BytesIO(first)).tables) >= 20


def test_limits_over_frequency_stand_in_a_table_a_link() -> None:
    """Every kind of link of the job has its limits by frequency, its exemption and where both come from."""
    listed = section(plan(), "Limits over frequency")
    tables = [block for block in listed.blocks if isinstance(block, Table)]
    kinds = {(one.category, one.link) for one in circuits() if one.category}

    assert len(tables) == len(kinds)
    permanent = next(one for one in tables if one.title.startswith("Category 6 permanent link"))
    heads = [column.head for column in permanent.columns]
    row = dict(zip(heads, next(row for row in permanent.rows if row[0] == 100), strict=True))
    # ANSI/TIA-568-C.2 clause 6 at 100 MHz (memory): 18.6, 41.8, 24.2 and 14.0 dB.
    assert row["Insertion loss, at most"] == pytest.approx(18.6, abs=0.05)
    assert row["NEXT, at least"] == pytest.approx(41.8, abs=0.05)
    assert row["ACR-F, at least"] == pytest.approx(24.2)
    assert row["Return loss, at least"] == pytest.approx(14.0)
    notes = [block.text for block in listed.blocks if isinstance(block, Paragraph)]
    assert any("Return loss where the pair loses less than 3 dB (default" in note for note in notes)
    # ANSI/TIA-568.2-D (memory): 3 % or 0.15 ohm within a pair of a permanent link.
    assert any("the two conductors of a pair at most 3 % of both together or 0.15 ohm" in note for note in notes)


# Source: IEEE 802.3, Tables 33-2 and 145-3: A on 1, 2 and 3, 6; B on 4, 5 and 7, 8; four pairs use both.
def test_pins_that_carry_power_are_listed() -> None:
    """The high-density access points take four pairs; every other device gets two, as the switch decides."""
    rows = [(row[0], row[3], row[4], row[5], row[6]) for row in table(plan(), "poe_pins").rows]
    four = [row for row in rows if row[0] == "all four, in two sets"]

    assert four == [
        ("all four, in two sets", "A", "1, 2", "3, 6", "yes"),
        ("all four, in two sets", "B", "4, 5", "7, 8", "yes"),
    ]
    assert [row[0] for row in rows if row not in four] == ["two, by the switch"] * 2


def test_pins_of_the_jobs_jacks_stand_pair_by_pair() -> None:
    """T568B: pair 2 on pins 1 and 2, orange (ANSI/TIA-568-C.2); line 1 of a telephone on 4 and 3 (47 CFR 68)."""
    rows = list(table(plan(), "jack_pins").rows)

    assert ("T568B", 2, 1, 2, "white-orange", "orange") in rows
    assert ("T568B", 1, 5, 4, "white-blue", "blue") in rows
    assert ("six positions, line 1", 1, 4, 3, None, None) in rows
    assert not any(row[0] == "T568A" for row in rows)


def test_each_copper_circuit_has_its_expected_delay() -> None:
    """Beside the ceiling stands what its own length and velocity give."""
    one = next(one for one in circuits() if one.id == "1A-B02")
    listed = table(plan(), "circuits_0_balanced_pair")
    heads = [column.head for column in listed.columns]
    row = dict(zip(heads, next(row for row in listed.rows if row[0] == one.id), strict=True))

    assert one.expected_delay_s is not None
    assert row["Delay expected"] == pytest.approx(one.expected_delay_s * 1e9)
