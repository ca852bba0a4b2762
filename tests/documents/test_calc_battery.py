"""The battery's calculation sheet: edition, factors, limits, charge, replacement, volts over the time."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.documents.calc_sheets import calc_sheets
from estimator.documents.description import Document, Fact, Facts, Section, Table
from estimator.documents.docx_writer import write_docx
from estimator.documents.estimate_batteries import batteries_section
from estimator.spec.load import load
from estimator.takeoff.takeoff import take_off

JOB = """\
dropledger: 1
project: {name: T}
codes: {fire_alarm: "%(edition)s"}
rooms: [{id: 1A}]
cables: [{id: FA, type: fplp_16_2}]
devices: [{id: horn, cable: FA, system: fire_alarm, alarm_current: 0.2 A}]
control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0.25 A, alarm_current: 5.8 A%(more)s}]
circuits: [{id: N1, kind: notification, source: P, cable: FA, devices: [{device: horn, distance: 9 m}]}]
test_points: [{id: B, kind: battery, control_unit: P, installed: 2026-11}]
"""


def sheets(folder: Path, edition: str, more: str = "") -> Document:
    """Return the calculation sheets of a small fire alarm under an edition; ``more`` is further keys of its unit."""
    spec = folder / "job.yaml"
    spec.write_text(JOB % {"edition": edition, "more": more}, encoding="utf-8")
    loaded = load(spec)
    assert loaded.project is not None, [str(fault) for fault in loaded.faults]
    return calc_sheets(take_off(loaded.project), None)


def section(document: Document, start: str) -> Section:
    """Return the section whose title starts so."""
    return next(one for one in document.sections if one.title.startswith(start))


def facts(one: Section) -> dict[str, Fact]:
    """Return a section's facts by their label."""
    return {fact.label: fact for block in one.blocks if isinstance(block, Facts) for fact in block.rows}


def battery(folder: Path, edition: str, more: str = "") -> dict[str, Fact]:
    """Return the facts of the unit's sheet."""
    return facts(section(sheets(folder, edition, more), "Battery of P"))


# Sources: NFPA 72-2019 1.20, NFPA 72-2022 1.25 (trade articles); 6 Ah in standby and 0.5 Ah in alarm.
def test_each_sheet_prints_its_edition_and_what_that_makes_of_the_same_unit(tmp_path: Path) -> None:
    """Two editions: two factors, two needs, two blocks, two rules of replacement."""
    older, newer = (battery(tmp_path, year) for year in ("2019", "2022"))

    assert [one["Edition"].value for one in (older, newer)] == ["NFPA 72-2019", "NFPA 72-2022"]
    assert [one["Factor: margin"].value for one in (older, newer)] == [1.2, 1.25]
    assert [one["Factor: margin"].note for one in (older, newer)] == [
        "edition's margin: NFPA 72-2019, 10.6.7.2.1",
        "edition's margin: NFPA 72-2022, 10.6.7.2.14",
    ]
    assert [one["Needed"].value for one in (older, newer)] == pytest.approx([7.8, 8.125])
    assert [one["Smallest block that fits"].value for one in (older, newer)] == [8.0, 9.0]
    assert [one["Replace by"].value for one in (older, newer)] == ["by capacity", "2030-11"]


def test_the_estimate_names_the_edition_over_its_batteries(tmp_path: Path) -> None:
    """The workbook's sheet as well; outside life safety there is none to name."""
    captions = []
    for system in ("fire_alarm", "intrusion"):
        text = JOB.replace("P, system: fire_alarm", f"P, system: {system}") % {"edition": "2022", "more": ""}
        (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
        project = load(tmp_path / "job.yaml").project
        assert project is not None
        blocks = batteries_section(take_off(project).power.batteries).blocks
        captions.append(next(one.caption for one in blocks if isinstance(one, Table)))

    assert captions == ["Life-safety units by NFPA 72-2022.", ""]


def test_an_edition_without_a_row_of_its_own_says_whose_margin_it_takes(tmp_path: Path) -> None:
    """An edition between two listed ones takes the one before."""
    assert battery(tmp_path, "2017")["Edition"].note == "as adopted; the margin is that of 2016"
    assert battery(tmp_path, "2016")["Edition"].note == "as adopted"


def test_a_battery_outside_the_fire_alarm_code_prints_no_edition_of_it(tmp_path: Path) -> None:
    """Its hours come from its own practice."""
    text = JOB.replace("system: fire_alarm, room", "system: intrusion, room") % {"edition": "2022", "more": ""}
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    project = load(tmp_path / "job.yaml").project
    assert project is not None
    found = facts(section(calc_sheets(take_off(project), None), "Battery of P"))

    assert found["Edition"].value == "not under the fire-alarm code"
    assert found["Edition"].note.startswith("hours: alarm training article")
    assert found["Replace by"].value == "by its maker"


def test_what_stops_a_block_and_another_way_stand_on_the_sheet(tmp_path: Path) -> None:
    """7.8 Ah do not go into a cabinet for 7 Ah; two strings of 4 would."""
    found = battery(tmp_path, "2019", ", cabinet_limit: 7 Ah, charger_limit: 40 Ah")["Smallest block that fits"]

    assert found.value == "none: stopped by cabinet"
    assert found.note == "2 strings of 4 Ah would, where the unit is listed for them"
    alone = battery(tmp_path, "2019", ", charger_limit: 7 Ah")["Smallest block that fits"]
    assert (alone.value, "listed" in alone.note) == ("none: stopped by charger", False)


def test_charge_and_care(tmp_path: Path) -> None:
    """By hand: 2 x 5 Ah x 1.1 / 48 h; float and life at 92 °F (service note: half)."""
    more = ", temperature: 92 F, charger_current: 1 A, battery: {capacity: 5 Ah, strings: 2, date_code: 2026-03}"
    found = battery(tmp_path, "2016", more)

    assert found["Charging current needed"].value == pytest.approx(11 / 48)
    assert found["Charging current needed"].note == "to fill the set in 48 h; the charger gives 1 A"
    assert found["A warm battery keeps"].value == pytest.approx(0.5)
    assert str(found["Float volts of the set"].value) == "26.7 to 27.3 V"
    assert "listed for strings in parallel" in found["Installed set"].note
    assert found["Replace by"].value == "2031-03"
    assert found["Carries the load down to"].value == pytest.approx(0.65)
    without = battery(tmp_path, "2016")
    assert without["Charging current needed"].note == "to fill the set in 48 h; no charger is typed"
    assert "Float volts of the set" not in without
    assert "A warm battery keeps" not in without


def test_volts_through_standby_and_alarm(tmp_path: Path) -> None:
    """Each moment with its charge; half of 12 Ah are left when the standby ends, 24.4 V by the published charts."""
    document = sheets(tmp_path, "2019", ", battery: {capacity: 12 Ah}")
    sheet = section(document, "Battery of P")
    table = next(one for one in sheet.blocks if isinstance(one, Table) and one.name == "discharge_P")

    assert [row[0] for row in table.rows] == ["mains fails", "standby", "standby ends, alarm starts", "alarm ends"]
    assert table.rows[2][1:] == (24.0, 0.25, pytest.approx(6), pytest.approx(0.5), pytest.approx(24.4))
    assert table.rows[3][2:4] == (6.0, pytest.approx(6.5))
    assert "estimate" in table.caption
    assert facts(sheet)["Volts at the end of standby"].value == pytest.approx(24.4)
    assert "20.4 V, which decides" in facts(sheet)["Volts at the end of standby"].note
    assert write_docx(document)


def test_the_circuit_shows_its_start_by_the_battery_beside_the_rule(tmp_path: Path) -> None:
    """The rule's 20.4 V decides; the battery's 24.4 V are an estimate beside it."""
    found = facts(section(sheets(tmp_path, "2019", ", battery: {capacity: 12 Ah}"), "Circuit N1"))

    assert found["Start"].value == 20.4
    assert found["Battery at the end of standby"].value == pytest.approx(24.4)
    assert found["Battery at the end of standby"].note == (
        "an estimate, 4.00 V above the start, which decides (sheet of P)"
    )


def test_a_set_that_is_empty_early_says_so(tmp_path: Path) -> None:
    """5 Ah at 0.25 A last for 20 h of 24."""
    document = sheets(tmp_path, "2019", ", battery: {capacity: 5 Ah}")
    sheet = section(document, "Battery of P")
    table = next(one for one in sheet.blocks if isinstance(one, Table) and one.name == "discharge_P")

    assert (table.rows[-1][0], table.rows[-1][1]) == ("the set is empty", 20.0)
    assert facts(sheet)["Volts at the end of standby"].value == "empty before"
    assert "Battery at the end of standby" not in facts(section(document, "Circuit N1"))


def test_without_any_set_the_table_says_why(tmp_path: Path) -> None:
    """No battery is typed and no block fits."""
    sheet = section(sheets(tmp_path, "2019", ", charger_limit: 7 Ah"), "Battery of P")
    table = next(one for one in sheet.blocks if isinstance(one, Table) and one.name == "discharge_P")

    assert table.rows == []
    assert facts(sheet)["Volts at the end of standby"].value == "no set"
