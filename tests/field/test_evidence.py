"""A reading is backed by a result file that is kept; what is only named stays reported."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.documents.job_readings import standing
from estimator.field.batches import read_folder
from estimator.field.collect import Report, collect, folder_of
from estimator.field.decide import decide
from estimator.field.rows import Decision
from estimator.spec.model import Project
from tests.field.test_collect import csv, project, written

__all__ = ["project"]

HEAD = "Circuit,Round,Wire map,Length 1-2 [ft],Evidence"
HASH = "5656fafa00d4"  # of b"result\n"


def take(project: Project, sheets: list[Path], *evidence: Path) -> Report:
    """Collect sheets together with result files."""
    return collect(project, sheets, evidence=evidence)


def standings(project: Project) -> list[str]:
    """Return the standing of every row."""
    return [standing(row) for row in read_folder(folder_of(project)).rows]


def test_a_row_that_names_a_kept_file_is_backed(tmp_path: Path, project: Project) -> None:
    """By its whole name or without its ending; the record and the hash are shown."""
    rows = ("1A-A01,1,pass,118,Bench.dat record 7", "1A-A02,1,pass,119,bench #8", "1A-A03,1,pass,120,bench2 9")
    sheet = csv(tmp_path, "a.csv", HEAD, *rows, "1A-A01,2,pass,118,")
    take(project, [sheet])
    assert standings(project)[:2] == [
        "reported; names Bench.dat record 7, no such file is kept",
        "reported; names bench #8, no such file is kept",
    ]
    report = take(project, [sheet], written(tmp_path, "bench.dat", b"result\n"))
    assert [(kept.file, kept.digest[:12], kept.backs) for kept in report.evidence] == [("bench.dat", HASH, 2)]
    assert standings(project) == [
        f"backed by bench.dat, record 7 (sha256 {HASH})",
        f"backed by bench.dat, 8 (sha256 {HASH})",
        "reported; names bench2 9, no such file is kept",
        "reported",
    ]
    assert (folder_of(project) / "evidence" / f"{HASH}-bench.dat").read_bytes() == b"result\n"


def test_a_sheet_that_names_none_is_backed_by_the_one_file_that_came_with_it(tmp_path: Path, project: Project) -> None:
    """The record is then the circuit's own name; of two files nobody can say which is meant."""
    one = csv(tmp_path, "a.csv", HEAD, "1A-A01,1,pass,118,")
    two = csv(tmp_path, "b.csv", HEAD, "1A-A02,1,pass,118,")
    files = [written(tmp_path, name, name.encode()) for name in ("x.dat", "y.dat")]
    take(project, [one], files[0])
    take(project, [two], *files)
    assert [text.partition(" (")[0] for text in standings(project)] == ["backed by x.dat, record 1A-A01", "reported"]


def test_a_statement_above_the_head_names_it_too(tmp_path: Path, project: Project) -> None:
    """The file may come later."""
    take(project, [csv(tmp_path, "a.csv", "evidence: x.dat", HEAD, "1A-A01,1,pass,118,")])
    take(project, [], written(tmp_path, "x.dat", b"result\n"))
    assert standings(project) == [f"backed by x.dat, record 1A-A01 (sha256 {HASH})"]


def test_two_files_of_one_name_back_nothing(tmp_path: Path, project: Project) -> None:
    """Unless one of them came with the sheet."""
    sheet = csv(tmp_path, "a.csv", HEAD, "1A-A01,1,pass,118,x.dat 1")
    (tmp_path / "other").mkdir()
    for folder, data in (("", b"result\n"), ("other", b"another\n")):
        take(project, [], written(tmp_path / folder, "x.dat", data))
    take(project, [sheet])
    assert standings(project) == ["reported; names x.dat 1, no such file is kept"]
    take(project, [sheet], tmp_path / "x.dat")
    assert standings(project) == [f"backed by x.dat, 1 (sha256 {HASH})"]


def test_evidence_can_be_voided_and_a_changed_file_backs_nothing(tmp_path: Path, project: Project) -> None:
    """Both are told; the reading stays."""
    take(project, [csv(tmp_path, "a.csv", HEAD, "1A-A01,1,pass,118,")], written(tmp_path, "x.dat", b"result\n"))
    batch = read_folder(folder_of(project)).evidence[0].batch
    made = Decision(kind="void", target=batch[:12], reason="of another job", name="A. Field", role="own_lead",
                    date="2026-03-04")  # fmt: skip
    decide(project, made)
    assert standings(project) == ["reported"]
    decide(project, Decision(kind="restore", target=batch[:12], reason="it is ours", name="A. Field", role="own_lead",
                             date="2026-03-05"))  # fmt: skip
    assert standings(project)[0].startswith("backed by x.dat")
    kept = folder_of(project) / "evidence" / f"{HASH}-x.dat"
    kept.write_bytes(b"changed\n")
    assert standings(project) == ["reported"]
    assert [fault.place.file for fault in read_folder(folder_of(project)).faults] == [kept.as_posix()]
    again = take(project, [], written(tmp_path, "x.dat", b"result\n"))
    assert (again.faults, standings(project)[0][:10]) == ((), "backed by ")


@pytest.mark.parametrize(("data", "told"), [(b"", "the file is empty"), (None, "the file can't be opened")])
def test_evidence_that_can_not_be_read_is_kept_aside(
    tmp_path: Path, project: Project, data: bytes | None, told: str
) -> None:
    """With its reason, and the sheets beside it arrive."""
    if data is not None:
        written(tmp_path, "x.dat", data)
    report = take(project, [csv(tmp_path, "a.csv", HEAD, "1A-A01,1,pass,118,")], tmp_path / "x.dat")
    assert report.rows == 1
    assert [str(aside).partition(" (")[0].partition("; ")[0] for aside in report.aside] == [f"x.dat: {told}"]
    assert report.evidence == ()
