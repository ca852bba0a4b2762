"""The calculation sheets of the demo project: result, loads, hours, factors, volts and the formulas behind them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from estimator.documents.calc_sheets import calc_sheets
from estimator.documents.description import Cell, Document, Fact, Facts, Paragraph, Section, SignOff, Table, Verdict
from estimator.documents.docx_writer import write_docx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.job_sample import LIBRARY


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo project."""
    project = load(LIBRARY).project
    assert project is not None
    return take_off(project)


@pytest.fixture(scope="module")
def sheets(demo: Takeoff) -> Document:
    """Return its calculation sheets."""
    return calc_sheets(demo, None)


def _job(text: str, folder: Path) -> Takeoff:
    spec = folder / "job.yaml"
    spec.write_text(text, encoding="utf-8")
    found = load(spec)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return take_off(found.project)


def _section(document: Document, start: str) -> Section:
    return next(section for section in document.sections if section.title.startswith(start))


def _table(section: Section, name: str) -> Table:
    return next(block for block in section.blocks if isinstance(block, Table) and block.name == name)


def _facts(section: Section) -> dict[str, Fact]:
    return {fact.label: fact for block in section.blocks if isinstance(block, Facts) for fact in block.rows}


def _column(table: Table, key: str) -> list[Cell]:
    place = [column.key for column in table.columns].index(key)
    return [row[place] for row in table.rows]


def test_the_head_names_place_permit_authority_and_editions(sheets: Document) -> None:
    facts = {fact.label: str(fact.value) for fact in sheets.cover}

    assert facts["Address"].startswith("12 Alder Street")
    assert facts["Permit"] == "LV-2026-0117 (example)"
    assert facts["Authority having jurisdiction"] == "Lower Fennimore building and fire prevention office"
    assert facts["Fire alarm code"] == "NFPA 72-2019, as adopted for the site"
    assert facts["Amendments"].startswith("None filed")


def test_an_edition_that_nobody_typed_is_called_a_default(tmp_path: Path) -> None:
    job = _job("dropledger: 1\nproject: {name: Bare}\nrooms: [{id: 1A}]\n", tmp_path)
    facts = {fact.label: str(fact.value) for fact in calc_sheets(job, None).cover}

    assert facts["Fire alarm code"] == "NFPA 72-2019, by default: no adopted edition was typed"
    assert write_docx(calc_sheets(job, None))


def test_page_one_answers_for_every_battery_and_circuit(sheets: Document, demo: Takeoff) -> None:
    summary = sheets.sections[0]

    assert _column(_table(summary, "batteries"), "unit") == ["FACU-1", "ICU-1", "ACU-1"]
    assert _column(_table(summary, "batteries"), "need") == [one.need_ah for one in demo.power.batteries.sheets]
    assert _column(_table(summary, "circuits"), "circuit") == ["NAC-1", "DC-1"]


def test_a_battery_sheet_lists_currents_by_pieces(sheets: Document, demo: Takeoff) -> None:
    table = _table(_section(sheets, "Battery of FACU-1"), "loads_FACU-1")
    sheet = demo.power.batteries.sheets[0]

    smoke = next(row for row in table.rows if row[0] == "smoke")
    # 6 detectors of 0.35 mA and 3 mA: 2.1 mA and 18 mA.
    assert smoke[3:8] == (6.0, 0.00035, pytest.approx(0.0021), 0.003, pytest.approx(0.018))
    held = next(row for row in table.rows if row[0] == "Door holder")
    assert held[2:4] == ("off", 2.0)
    assert (held[5], held[7]) == (0.0, 0.0)
    for key, whole in (("standby_all", sheet.standby_a), ("alarm_all", sheet.alarm_a)):
        assert sum(value for value in _column(table, key) if isinstance(value, float)) == pytest.approx(whole)


def test_hours_and_each_factor_say_where_they_come_from(sheets: Document) -> None:
    fire, burglar = (_facts(_section(sheets, f"Battery of {name}")) for name in ("FACU-1", "ICU-1"))

    assert (fire["Standby for"].value, fire["Alarm for"].value) == (24.0, 5.0)
    assert fire["Standby for"].note.startswith("implied by system fire_alarm: NFPA 72-2019")
    assert fire["Factor: margin"].value == 1.2
    assert "Factor: aging" not in fire
    assert burglar["Standby for"].note == f"typed: control unit, library.yaml:{burglar['Standby for'].note[-6:]}"
    assert burglar["Factor: aging"].value == 1.25


def test_limits_of_charger_and_cabinet_stand_beside_the_set(sheets: Document) -> None:
    facts = _facts(_section(sheets, "Battery of ICU-1"))

    assert facts["Charger takes a set up to"].value == 14.0
    assert facts["Cabinet holds a block up to"].value == 7.2
    assert facts["Installed set"].value == 7.0
    assert isinstance(facts["Spare over the need"].value, float)


def test_every_printed_formula_gives_its_result(sheets: Document, demo: Takeoff) -> None:
    table = _table(_section(sheets, "Battery of FACU-1"), "formulas_FACU-1".replace("formulas_", "formulas_battery_"))
    need = next(row for row in table.rows if row[0] == "Ampere-hours needed")

    assert need[1] == "(standby_a * standby_s + alarm_a * alarm_s) / 3600 * margin"
    # (0.2278 A x 24 h + 1.243 A x 5 min) x 1.2 = (5.4672 + 0.10358) x 1.2
    assert need[3] == "6.68494 Ah"
    assert "standby_s = 86,400 s (implied by system fire_alarm" in str(need[2])


def test_a_circuit_sheet_has_wire_start_and_every_setting(sheets: Document, demo: Takeoff) -> None:
    section = _section(sheets, "Circuit NAC-1")
    facts, devices = _facts(section), _table(section, "devices_NAC-1")
    line = next(line for line in demo.power.dc.lines if line.id == "NAC-1")

    assert str(facts["Cable"].value).startswith("fa-14, 14 AWG, solid")
    assert (facts["At"].value, facts["At"].unit) == (75.0, "\N{DEGREE SIGN}C")
    assert facts["Start"].value == 20.4
    assert "85 % of 24 V" in facts["Start"].note
    assert _column(devices, "setting") == ["110cd", "75cd", "75cd", "30cd", "15cd", "15cd"]
    assert _column(devices, "volts") == list(line.volts)
    assert _column(devices, "worst").index("worst") == line.worst
    assert facts["Circuit current"].note.startswith("within rating: 2 A")
    assert facts["All that FACU-1 feeds"].note.startswith("within rating: 3 A")
    assert facts["Class"].value == "B"


def test_what_does_not_hold_is_found_on_page_one(demo: Takeoff) -> None:
    sheet = demo.power.batteries.sheets[0]
    assert sheet.unit.battery is not None
    small = replace(
        sheet,
        unit=replace(sheet.unit, battery=replace(sheet.unit.battery, capacity_ah=5.0)),
        installed_ah=5.0,
        spare=-0.25,
    )
    power = replace(demo.power, batteries=replace(demo.power.batteries, sheets=(small,)))
    summary = calc_sheets(replace(demo, power=power), None).sections[0]

    assert _column(_table(summary, "batteries"), "word") == [Verdict("too small", "bad")]
    assert "battery too small" in _column(_table(summary, "findings"), "kind")


def test_cautions_leave_the_decision_to_others(sheets: Document) -> None:
    texts = [block.text for block in _section(sheets, "Cautions").blocks if isinstance(block, Paragraph)]

    assert any("licensed professional" in text and "Lower Fennimore" in text for text in texts)


def test_somebody_prepares_and_somebody_else_reviews(sheets: Document) -> None:
    last = sheets.sections[-1]

    assert next(block for block in last.blocks if isinstance(block, SignOff)).roles == (
        "Prepared by Estimator",
        "Reviewed by Project lead",
    )
    assert _facts(last)["Revision"].value == "2"


def test_devices_on_drops_take_a_line_a_supply(sheets: Document, demo: Takeoff) -> None:
    table = _table(_section(sheets, "Devices on cables"), "fed")
    fed = [line for line in demo.power.dc.lines if line.basis.length.run is not None]

    assert sum(value for value in _column(table, "count") if isinstance(value, int)) == len(fed)
    assert len(table.rows) < len(fed)


def test_nothing_names_the_folder_that_the_file_lies_in(sheets: Document, demo: Takeoff) -> None:
    cells = [
        str(cell)
        for section in sheets.sections
        for block in section.blocks
        if isinstance(block, Table)
        for row in block.rows
        for cell in row
    ]
    notes = [fact.note for section in sheets.sections for fact in _facts(section).values()]

    assert not [text for text in (*cells, *notes) if demo.project.folder in text]
