"""The demo job's field sheets, collected and judged as a user does it: every planted fault comes out, nothing else."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
import pytest

from estimator.acceptance.compare import MARGINAL_FAIL, MARGINAL_PASS
from estimator.acceptance.criteria import criteria_for
from estimator.field.batches import read_folder
from estimator.field.job import judge_job
from estimator.field.verdicts import CircuitResult, JobResult, PunchItem
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.demo.make_sheets import (
    COAX,
    EVIDENCE,
    FLOOR_1,
    FLOOR_2,
    INVENTED,
    LIBRARY,
    MENDED_LATER,
    MENDED_THE_SAME_DAY,
    RETEST,
    SHEETS,
    UNKNOWN,
    as_csv,
    entries,
    exported,
    filled,
    heads_of,
    made,
)
from tests.field.test_batches import state
from tests.field.workbooks import resaved

MADE_WITH = "3.1.5"
"""The release of openpyxl that saved the sheets; another one writes the same cells in other bytes."""

STALE = "the sheets are stale: run `python -m tests.demo.make_sheets`"


@dataclass(frozen=True)
class Fault:
    """A planted fault: what must be the circuit's first cause, and a word of where to look."""

    circuit: str
    kind: str
    text: str
    look: str


FAULTS = (
    Fault("1A-A17", "open", "open on 3-6", "in segment T1-2, 22.5 ft past F1-B"),
    Fault("1A-A33", "reversed pair", "reversed pair on 1-2", "tip and ring exchanged"),
    Fault("2A-A10", "split pair", "split pair", "one conductor of each of two pairs"),
    Fault("2A-B08", "over length", "over length by", "a longer route or a coil"),
    Fault("1A-X03", "video level", "double termination", "take out the second terminator"),
    Fault("TP-BAT-AC", "weak battery", "block 2 is weak under load", "replace the whole set"),
    Fault("1A/2A-1.7", "connector loss", "dirty or bad connection", "clean both end faces"),
)
NOT_PASSED = {
    **{fault.circuit: "fail" for fault in FAULTS},
    "1A/2A-1.4": "marginal pass",
    "1A-A28": "not tested",
    "2A-A34": "not tested",
    "2A-A28": "waived",
    "1A-A39": "not reachable",
    "1A-V03": "in service",
}
"""Every circuit that doesn't pass, with its verdict or its state."""


@dataclass(frozen=True)
class Copy:
    """A copy of the demo job with its sheets collected, and what the command printed."""

    folder: Path
    printed: str


def taken_off(folder: Path) -> Takeoff:
    """Return the takeoff of a copy of the demo job."""
    loaded = load(folder / "library.yaml")
    assert loaded.project is not None, loaded.faults
    return take_off(loaded.project)


def judged(folder: Path) -> JobResult:
    """Return a copy of the demo job judged from what it has collected."""
    return judge_job(taken_off(folder)).result


def collect(folder: Path) -> str:
    """Collect every sheet of a copy by the command, as a user does, and return what it prints."""
    sheets = sorted(f"sheets/{path.name}" for path in (folder / "sheets").iterdir())
    evidence = sorted(f"evidence/{path.name}" for path in (folder / "evidence").iterdir())
    command = [sys.executable, "-m", "estimator.cli.main", "collect", "library.yaml"]
    ran = subprocess.run(
        [*command, *sheets, "--evidence", *evidence],
        cwd=folder, capture_output=True, text=True, encoding="utf-8", timeout=120, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    return ran.stdout


def collected(folder: Path) -> Copy:
    """Return a copy of the demo job with its sheets collected."""
    shutil.copytree(LIBRARY, folder, ignore=shutil.ignore_patterns("*.readings"))
    return Copy(folder, collect(folder))


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Copy:
    """Return a copy of the demo job that the tests of this module only read."""
    return collected(tmp_path_factory.mktemp("demo") / "library")


@pytest.fixture(scope="module")
def result(job: Copy) -> JobResult:
    """Return the demo job judged."""
    return judged(job.folder)


@pytest.fixture(scope="module")
def fresh() -> Mapping[str, bytes]:
    """Return the sheets made anew."""
    return made(taken_off(LIBRARY))


def items(result: JobResult, circuit: str) -> list[PunchItem]:
    """Return a circuit's lines of the punch list."""
    return [item for item in result.punch if item.circuit == circuit]


def words(one: CircuitResult) -> list[str]:
    """Return the verdicts of a circuit's rounds in order."""
    return [each.word for each in one.history]


def cells(data: bytes) -> dict[str, list[list[object]]]:
    """Return the values of every sheet of a workbook."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    return {tab.title: [[cell.value for cell in row] for row in tab.iter_rows()] for tab in book.worksheets}


def parts(data: bytes) -> list[tuple[str, bytes]]:
    """Return an archive's entries in order, unpacked: how they are packed hangs on the zlib of the machine."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return [(name, archive.read(name)) for name in archive.namelist()]


def test_the_committed_sheets_are_those_that_are_made(fresh: Mapping[str, bytes]) -> None:
    assert {path.name for path in SHEETS.iterdir()} == set(fresh)
    assert {path.name: path.read_bytes() for path in EVIDENCE.iterdir()} == exported(taken_off(LIBRARY)), STALE
    assert (SHEETS / COAX).read_bytes() == fresh[COAX], STALE
    for name in (FLOOR_1, FLOOR_2, RETEST):
        assert cells((SHEETS / name).read_bytes()) == cells(fresh[name]), f"{name}: {STALE}"


@pytest.mark.skipif(openpyxl.__version__ != MADE_WITH, reason="the sheets were saved by another release of openpyxl")
def test_the_committed_sheets_hold_the_bytes_that_are_made(fresh: Mapping[str, bytes]) -> None:
    for name in (FLOOR_1, FLOOR_2, RETEST):
        assert parts((SHEETS / name).read_bytes()) == parts(fresh[name]), f"{name}: {STALE}"


def test_sheets_made_twice_are_the_same_bytes(fresh: Mapping[str, bytes]) -> None:
    takeoff = taken_off(LIBRARY)
    circuits = criteria_for(takeoff.project, takeoff.footage)
    rows = entries(takeoff, circuits)
    again = [one for one in circuits if one.id in MENDED_LATER]
    assert filled(takeoff, again, rows[RETEST]) == fresh[RETEST]
    assert as_csv(rows[COAX]) == fresh[COAX]


def test_every_sheet_says_that_its_readings_are_invented(result: JobResult) -> None:
    rows = [one for circuit in result.circuits for each in circuit.history for one in each.rows]
    tabs = {(one.file, one.tab) for one in rows}
    said = {(one.file, one.tab) for one in rows if INVENTED in one.cells.get("note", "")}
    said |= {(one.file, one.tab) for one in rows if INVENTED in one.stated.get("note", "")}
    assert len(tabs) == 13
    assert said == tabs


def test_every_sheet_is_older_than_the_handover_and_names_its_crew(result: JobResult) -> None:
    tries = [each for circuit in result.circuits for each in circuit.history]
    assert all(each.day and date(2026, 6, 1) <= each.day <= date(2026, 8, 31) for each in tries)
    assert len({each.day for each in tries}) > 6
    assert {one.cells["person"] for each in tries for one in each.rows} == {"Crew 1", "Crew 2", "Crew 3"}


def test_all_but_the_planted_circuits_pass(result: JobResult) -> None:
    assert {one.id: one.word for one in result.circuits if one.word != "pass"} == NOT_PASSED
    assert not result.problems


def test_nothing_is_remarked_on_a_sound_circuit(result: JobResult) -> None:
    planted = {fault.circuit for fault in FAULTS}
    assert [finding for finding in result.findings if finding.circuit not in planted] == []


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.circuit)
def test_a_planted_fault_is_on_the_punch_list_with_its_cause(result: JobResult, fault: Fault) -> None:
    one = result.by_id[fault.circuit]
    first = one.causes[0]
    assert (first.kind, first.text[: len(fault.text)]) == (fault.kind, fault.text)
    (item,) = items(result, fault.circuit)
    assert item.open
    assert item.room == one.criteria.room
    assert item.look.startswith(first.text)
    assert fault.look in item.look
    assert "fail" in item.what


@pytest.mark.parametrize("circuit", ["1A-A28", "2A-A34", "1A-A39", "1A-V03"])
def test_what_has_no_readings_stays_open(result: JobResult, circuit: str) -> None:
    (item,) = items(result, circuit)
    assert item.open
    assert item.what.startswith(NOT_PASSED[circuit])
    assert not result.by_id[circuit].history


def test_the_waived_circuit_is_done(result: JobResult) -> None:
    waived = result.by_id["2A-A28"]
    assert waived.waived is not None
    assert waived.waived.role == "owner"
    assert waived.complete
    assert not items(result, "2A-A28")


def test_the_long_run_is_over_the_field_limit_by_more_than_the_testers_accuracy(result: JobResult) -> None:
    length = result.by_id["2A-B08"].reading("length")
    assert length is not None
    assert isinstance(length.value, float)
    # 90 m of link and the field allowance of 10 %: 99 m (ANSI/TIA-568.2-D through its field-test guides).
    assert length.value > 99.0
    assert length.word == "fail"


def test_a_marginal_fail_fails_and_a_marginal_pass_waits_for_its_signature(result: JobResult) -> None:
    bad, good = result.by_id["1A/2A-1.7"], result.by_id["1A/2A-1.4"]
    assert [one.word for one in bad.readings if one.failed] == [MARGINAL_FAIL]
    assert bad.word == "fail"
    assert [one.label for one in good.readings if one.word == MARGINAL_PASS] == ["Loss at 850 nm"]
    assert good.accepted is None
    (item,) = items(result, good.id)
    assert item.open
    assert "to be accepted" in item.what


def test_a_retest_on_the_same_day_clears_its_failure_and_both_stay(result: JobResult) -> None:
    one = result.by_id[MENDED_THE_SAME_DAY]
    assert words(one) == ["fail", "pass"]
    first, second = one.history
    assert (first.round, second.round) == (1, 2)
    assert first.day == second.day
    assert (first.current, second.current) == (False, True)
    (item,) = items(result, one.id)
    assert "crossed" in item.what
    assert item.cleared == second.name


@pytest.mark.parametrize("circuit", MENDED_LATER)
def test_a_later_retest_clears_its_failure(result: JobResult, circuit: str) -> None:
    one = result.by_id[circuit]
    assert words(one) == ["fail", "pass"]
    assert {row.file for row in one.history[1].rows} == {RETEST}
    assert [item.cleared for item in items(result, circuit)] == ["round 2, 2026-08-27"]


def test_the_row_of_an_unknown_circuit_is_kept_and_listed(job: Copy, result: JobResult) -> None:
    assert f"circuit '{UNKNOWN}' is not in the project, nearest is '2A-A36'; the row is kept" in job.printed
    (kept,) = [one for one in result.unplaced if one.kind == "unknown circuit"]
    assert kept.row.circuit == UNKNOWN
    (item,) = items(result, UNKNOWN)
    assert item.open
    assert item.found == kept.row.place


def test_adding_the_circuit_rescues_its_row_without_collecting_again(tmp_path: Path) -> None:
    copy = collected(tmp_path / "library")
    before = state(copy.folder / "library.readings")
    with (copy.folder / "drops.csv").open("a", encoding="utf-8") as drops:
        drops.write(f"{UNKNOWN},2A,data_jack,,F2-I,20 ft,,2-I-03,,,P2-I,local history archive,\n")
    after = judged(copy.folder)
    assert after.by_id[UNKNOWN].word == "pass"
    assert not after.unplaced
    assert not items(after, UNKNOWN)
    assert state(copy.folder / "library.readings") == before


def test_readings_of_the_cable_tester_are_backed_by_its_own_files(job: Copy) -> None:
    """Those of the other instrument name files that nobody handed in: they stay reported."""
    rows = read_folder(job.folder / "library.readings").rows
    named = [row for row in rows if row.cells.get("evidence")]
    backed = [row for row in named if row.backing]
    assert {row.cells["instrument"] for row in backed} == {"CT-1"}
    assert {row.cells["instrument"] for row in named if not row.backing} == {"FL-1"}
    assert all(row.cells["evidence"].split(", ")[1] in row.backing for row in backed)
    assert not [row for row in rows if row.backing and row not in named]


def test_collecting_the_same_sheets_twice_changes_nothing(job: Copy) -> None:
    folder = job.folder / "library.readings"
    before = state(folder)
    printed = collect(job.folder)
    assert state(folder) == before
    assert len([path for path in before if path.startswith("batches/")]) == 5
    assert printed.count("was collected before, byte for byte") == 4


def reversed_rows(data: bytes) -> bytes:
    """Return a workbook with the rows of each field sheet in reverse; formulas stay where they are."""
    book = openpyxl.load_workbook(io.BytesIO(data))
    for tab in book.worksheets:
        if tab.title == "Lists":
            continue
        head, _ = heads_of(tab)
        rows = [[cell for cell in row if cell.data_type != "f"] for row in tab.iter_rows(min_row=head + 1)]
        values = [[cell.value for cell in row] for row in rows]
        for row, taken in zip(rows, reversed(values), strict=True):
            for cell, value in zip(row, taken, strict=True):
                cell.value = value
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def reversed_csv(data: bytes) -> bytes:
    """Return the CSV sheet with the rows below its head in reverse."""
    lines = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    head = next(place for place, line in enumerate(lines) if line[0] == "Circuit")
    out = io.StringIO(newline="")
    csv.writer(out).writerows([*lines[: head + 1], *reversed(lines[head + 1 :])])
    return out.getvalue().encode("utf-8")


def told(result: JobResult) -> dict[str, object]:
    """Return what a job says of each circuit: verdicts of rounds and readings, causes."""
    return {
        one.id: (
            one.word,
            words(one),
            sorted((*reading.key, reading.word) for reading in one.readings),
            [cause.text for cause in one.causes],
        )
        for one in result.circuits
    }


def test_sheets_saved_by_another_program_with_rows_reversed_say_the_same(tmp_path: Path, result: JobResult) -> None:
    folder = tmp_path / "library"
    shutil.copytree(LIBRARY, folder, ignore=shutil.ignore_patterns("*.readings"))
    for path in sorted((folder / "sheets").iterdir()):
        if path.name == COAX:
            path.write_bytes(reversed_csv(path.read_bytes()))
            continue
        work = tmp_path / path.stem
        work.mkdir()
        path.write_bytes(resaved(reversed_rows(path.read_bytes()), work))
    assert "was collected before" not in collect(folder)
    after = judged(folder)
    assert told(after) == told(result)
    assert [(item.circuit, item.what, item.cleared) for item in after.punch] == [
        (item.circuit, item.what, item.cleared) for item in result.punch
    ]
