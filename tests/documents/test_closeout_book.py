"""The closeout workbook shows every verdict, and its live cells are what another program computes."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from estimator.acceptance.compare import NOT_JUDGED
from estimator.documents.closeout_book import closeout_book, state_line
from estimator.documents.closeout_built import built_table, cable_table, label_table, port_table, spare_ports_table
from estimator.documents.closeout_records import (
    aside_table,
    battery_table,
    device_table,
    instrument_table,
    punch_table,
)
from estimator.documents.closeout_results import history_table, results_table, system_table, verdict_table
from estimator.documents.description import Cell, Formula, Table, Verdict
from estimator.documents.job_readings import REPORTED
from estimator.documents.xlsx_writer import write_xlsx
from estimator.field.completion import completion
from estimator.field.job import Job
from estimator.field.readings import NO_CRITERION
from tests.documents.job_sample import (
    BACKED,
    FAILED,
    MENDED,
    UNKNOWN,
    UNTESTED,
    circuits,
    empty_job,
    job,
    project,
    takeoff,
)
from tests.documents.recalculate import recalculate


def written(judged: Job | None = None) -> bytes:
    return write_xlsx(closeout_book(takeoff(), judged or job(), date(2026, 9, 18)))


def rows(table: Table, **wanted: str) -> list[dict[str, Cell]]:
    """Return the rows whose cells say what is wanted, by column key."""
    keys = [column.key for column in table.columns]
    named = [dict(zip(keys, row, strict=True)) for row in table.rows]
    return [row for row in named if all(word(row[key]) == text for key, text in wanted.items())]


def word(cell: Cell) -> str:
    return cell.word if isinstance(cell, Verdict) else str(cell)


# --- recalculated by another program -------------------------------------------------------------


def test_live_cells_recalculate_to_what_is_stored(tmp_path: Path) -> None:
    """Margins, differences, counts and totals are the same in LibreOffice."""
    compared = recalculate(written(), tmp_path)
    # A margin for each of at least four hundred limited readings, two differences a measured cable, counts.
    assert compared.compared > 1_000
    assert compared.differences == []


def test_planted_wrong_value_is_found(tmp_path: Path) -> None:
    """A stored value that is not its formula's shows up, so the comparison can fail."""
    book = written()
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = next(name for name, part in parts.items() if name.startswith("xl/worksheets/") and part.count(b"<f>") > 500)
    planted, count = re.subn(rb"(</f><v>)[^<]+", rb"\g<1>123.25", parts[name], count=1)
    assert count == 1
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for part, content in parts.items():
            archive.writestr(part, planted if part == name else content)

    compared = recalculate(out.getvalue(), tmp_path)

    assert [difference.stored for difference in compared.differences] == [123.25]


# --- what it says -----------------------------------------------------------------------------------


def test_summary_counts_every_circuit_once() -> None:
    """By system, the words add up to all circuits, and what is left is what the judging left."""
    table = system_table(job())
    keys = [column.key for column in table.columns]
    counts = {key: sum(int(str(row[keys.index(key)])) for row in table.rows) for key in keys[1:-1]}
    assert counts["circuits"] == len(circuits())
    kinds = ("passed", "marginal", "failed", "incomplete", "without", "excused")
    assert sum(counts[key] for key in kinds) == len(circuits())
    assert counts["failed"] == 1
    assert counts["left"] == sum(not one.complete for one in job().result.circuits)


def test_every_reading_stands_with_its_limit_and_margin() -> None:
    """The live margin is the core's, in the shown unit; nothing that counts is left out."""
    table = results_table(project(), job())
    assert len(table.rows) == sum(len(one.readings) for one in job().result.circuits)
    shown = iter(rows(table))
    for one in job().result.circuits:
        for reading in one.readings:
            cell = next(shown)["margin"]
            if reading.margin is None or reading.why or reading.criterion is None or reading.criterion.accepted:
                continue
            assert isinstance(cell, Formula)
            assert cell.value == pytest.approx(reading.margin / reading.criterion.si, rel=1e-9, abs=1e-9)


def test_failed_circuit_is_on_the_punch_list_with_a_place_to_look() -> None:
    """The open pair is open work; the mended one is cleared by its second round."""
    opened = rows(punch_table(job()), circuit=FAILED)
    cleared = rows(punch_table(job()), circuit=MENDED)
    assert [word(row["state"]) for row in opened] == ["open"]
    assert opened[0]["look"]
    assert [word(row["state"]) for row in cleared] == ["cleared"]
    assert [word(row["verdict"]) for row in rows(history_table(job()), circuit=MENDED)] == ["fail", "pass"]


def test_typed_readings_are_reported_and_a_record_backs_others() -> None:
    """Only a reading with the instrument's record is called backed."""
    standings = {str(row["circuit"]): str(row["standing"]) for row in rows(results_table(project(), job()))}
    assert standings[BACKED] == "backed by links-0910.dat, record 1"
    assert {text for circuit, text in standings.items() if circuit != BACKED} == {REPORTED}


def test_row_of_no_circuit_is_kept_aside() -> None:
    """What can't be placed is listed with the place where it stands."""
    listed = rows(aside_table(job()))
    assert [row["circuit"] for row in listed] == [UNKNOWN]
    assert "field-crew-1.xlsx" in str(listed[0]["place"])


def test_measured_length_stands_beside_the_expected_one() -> None:
    """A cable without a reading has no difference; one with a reading has measured less expected."""
    listed = cable_table(takeoff(), job())
    without = rows(listed, circuit=UNTESTED)[0]
    measured = rows(listed, circuit="1A-A02")[0]
    one = job().result.by_id["1A-A02"].reading("length")
    assert without["measured"] is None
    assert without["difference"] is None
    assert one is not None
    assert isinstance(one.value, float)
    assert measured["measured"] == one.value / 0.3048
    assert isinstance(measured["difference"], float)
    assert isinstance(measured["expected"], float)
    assert measured["difference"] == pytest.approx(one.value / 0.3048 - measured["expected"], abs=1e-9)


def test_bid_against_built_covers_all_footage() -> None:
    """The expected footage of all cable types is the takeoff's."""
    listed = rows(built_table(takeoff(), job()))
    expected = sum(float(str(row["expected"])) for row in listed)
    assert expected == pytest.approx(sum(one.expected_m for one in takeoff().footage.lengths) / 0.3048, rel=1e-12)
    # specs/library: 131 cables in all, drops, circuits and backbone.
    assert sum(int(str(row["runs"])) for row in listed) == len(takeoff().footage.lengths)


def test_register_shows_no_address_and_what_was_entered() -> None:
    """Serial, MAC and firmware of a registered camera; others are blank."""
    row = rows(device_table(project()), circuit="1A-B06")[0]
    # specs/library/library.yaml, closeout.registers.
    assert (row["serial"], row["mac"], row["firmware"]) == ("EX-C-0001", "00:00:5E:00:53:01", "1.4")
    assert not any("address" in column.head.casefold() for column in device_table(project()).columns)


def test_battery_record_follows_its_edition() -> None:
    """NFPA 72-2019 replaces by capacity; other systems follow their maker."""
    listed = {str(row["circuit"]): row for row in rows(battery_table(project(), job()))}
    assert listed["TP-BAT-FA"]["replace"] == "by capacity"
    assert "replaced below 80%" in str(listed["TP-BAT-FA"]["rule"])
    assert listed["TP-BAT-IN"]["replace"] == "by its maker"


def test_instruments_count_the_rows_they_read() -> None:
    """Every row of every round is some instrument's."""
    listed = rows(instrument_table(project(), job()))
    used = sum(int(str(row["rows"])) for row in listed)
    assert used == sum(len(each.rows) for one in job().result.circuits for each in one.history)
    assert {word(row["state"]) for row in listed} == {"in date"}


def test_free_ports_are_those_without_a_circuit() -> None:
    """Ports less used, panel by panel."""
    for row in rows(spare_ports_table(takeoff())):
        assert int(str(row["free"])) == int(str(row["ports"])) - int(str(row["used"]))


def test_state_names_what_is_open_and_missing() -> None:
    """Open circuits and promised papers keep the job incomplete."""
    state = completion(project(), job())
    left = sum(not one.complete for one in job().result.circuits)
    assert not state.complete
    assert state_line(state).startswith(f"Incomplete: {left} of {len(circuits())} circuits open, ")
    missing = {(one.part, one.what) for one in state.missing}
    # specs/library/library.yaml, closeout: what is left out there on purpose.
    assert ("As-built drawings", "T-501, Rack elevations and port maps: no revision and no date") in missing
    assert ("Submittals", "27-003, Paging amplifier and speakers: missing") in missing
    assert ("Warranties", "Cabling components: no start and no end") in missing
    assert ("Training", "Fire-alarm control unit: no date and no attendance") in missing
    assert ("Change log", "CO-3, Move two archive outlets by 8 ft: pending") in missing


def test_job_without_readings_is_written_and_says_so() -> None:
    """Before the first sheet comes in, every circuit waits and no table breaks."""
    book = openpyxl.load_workbook(io.BytesIO(written(empty_job())), data_only=True)
    assert str(book["Summary"]["A3"].value).startswith("Incomplete: 146 of 147 circuits open")
    words = {word(row["verdict"]) for row in rows(verdict_table(empty_job()))}
    assert words == {"not tested", "waived", "not reachable", "in service"}


def test_same_job_gives_the_same_bytes() -> None:
    """Two builds are alike, byte for byte."""
    assert written() == written()


def test_strands_stand_at_both_ends_of_the_port_map() -> None:
    """Each panel says where its strand leads and how it measured."""
    found = rows(port_table(takeoff(), job()), circuit="1A/2A-1.3")

    assert [(row["room"], row["end"], word(row["verdict"])) for row in found] == [
        ("1A", "2A", "pass"),
        ("2A", "1A", "pass"),
    ]


def test_cables_and_labels_stand_in_the_order_of_the_results() -> None:
    """A person looks a cable up by room and port, not by the order in which the drops were typed."""
    cables = {length.id for length in takeoff().footage.lengths}
    wanted = list(dict.fromkeys(one.circuit for one in circuits() if one.circuit in cables))

    assert [row["circuit"] for row in rows(cable_table(takeoff(), job()))] == wanted
    assert [row["circuit"] for row in rows(label_table(takeoff(), job()))] == wanted


def test_pair_lengths_are_recorded_and_not_called_unjudged() -> None:
    """The shortest pair is the length that counts; the others are kept beside it."""
    one = next(one for one in job().result.circuits if one.readings)
    kept = replace(one.readings[0], criterion=None, why=NO_CRITERION, word=NOT_JUDGED, label="Length, pair 1-2")
    result = replace(job().result, circuits=(replace(one, readings=(kept,)),))
    (row,) = rows(results_table(project(), replace(job(), result=result)))

    assert (row["reading_name"], word(row["verdict"]), row["why"]) == ("Length, pair 1-2", "recorded", "")
