"""Files go into a folder all or none, and what a person made of one is never lost."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from estimator.documents import output
from estimator.documents.output import RECORD, OutputError, safe_name, write_files

_FILES = {"estimate.xlsx": b"one", "proposal.docx": b"two"}


def _contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != RECORD}


def test_files_are_written_and_written_again(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "out"

    assert write_files(folder, _FILES) == (folder / "estimate.xlsx", folder / "proposal.docx")
    write_files(folder, {**_FILES, "estimate.xlsx": b"three"})

    assert _contents(folder) == {"estimate.xlsx": b"three", "proposal.docx": b"two"}


def test_nothing_but_the_files_and_one_hidden_record_is_left(tmp_path: Path) -> None:
    write_files(tmp_path, _FILES)
    write_files(tmp_path, {"estimate.xlsx": b"three"})

    assert {path.name for path in tmp_path.iterdir()} == {*_FILES, ".dropledger.json"}
    kept = json.loads((tmp_path / ".dropledger.json").read_text(encoding="utf-8"))
    assert {name: len(hashes) for name, hashes in kept["files"].items()} == {"estimate.xlsx": 1, "proposal.docx": 1}


def test_a_file_put_back_to_an_older_state_is_somebodys(tmp_path: Path) -> None:
    write_files(tmp_path, {"estimate.xlsx": b"first"})
    write_files(tmp_path, {"estimate.xlsx": b"second"})
    (tmp_path / "estimate.xlsx").write_bytes(b"first")

    with pytest.raises(OutputError, match="was edited since it was written"):
        write_files(tmp_path, {"estimate.xlsx": b"third"})


def test_what_is_no_plain_name_is_shown_with_its_reason(tmp_path: Path) -> None:
    with pytest.raises(OutputError) as refused:
        write_files(tmp_path, {"a/b.csv": b"", "x" * 241: b"", " a.csv": b"", "b.csv.": b"", ".c": b""})

    assert [str(fault) for fault in refused.value.faults] == [
        "'a/b.csv': not a plain file name",
        f"{'x' * 40}…: a name longer than 240 bytes",
        "' a.csv': a name that systems keep for themselves",
        "'b.csv.': a name that systems keep for themselves",
        "'.c': a name that systems keep for themselves",
    ]
    assert write_files(tmp_path, {"x" * 240: b""}) == (tmp_path / ("x" * 240),)


def test_all_edited_files_are_named_and_nothing_is_written(tmp_path: Path) -> None:
    write_files(tmp_path, _FILES)
    (tmp_path / "estimate.xlsx").write_bytes(b"edited")
    (tmp_path / "plan.docx").write_bytes(b"somebody's")

    with pytest.raises(OutputError) as refused:
        write_files(tmp_path, {"estimate.xlsx": b"1", "proposal.docx": b"2", "plan.docx": b"3"})

    assert [str(fault) for fault in refused.value.faults] == [
        "estimate.xlsx: was edited since it was written; move it away, or run with --replace",
        "plan.docx: was not written by this program; move it away, or run with --replace",
    ]
    assert _contents(tmp_path) == {
        "estimate.xlsx": b"edited",
        "proposal.docx": b"two",
        "plan.docx": b"somebody's",
    }


def test_an_edited_file_is_replaced_on_purpose(tmp_path: Path) -> None:
    write_files(tmp_path, _FILES)
    (tmp_path / "estimate.xlsx").write_bytes(b"edited")

    write_files(tmp_path, {"estimate.xlsx": b"1"}, replace=True)
    write_files(tmp_path, {"estimate.xlsx": b"2"})

    assert (tmp_path / "estimate.xlsx").read_bytes() == b"2"


def test_a_file_that_already_says_the_same_stands_in_nobodys_way(tmp_path: Path) -> None:
    (tmp_path / "estimate.xlsx").write_bytes(b"one")
    before = (tmp_path / "estimate.xlsx").stat().st_mtime_ns

    write_files(tmp_path, _FILES)

    assert (tmp_path / "estimate.xlsx").stat().st_mtime_ns == before


@pytest.mark.parametrize("mark", ["~$estimate.xlsx", ".~lock.estimate.xlsx#"])
def test_a_file_open_in_another_program_is_left_alone(tmp_path: Path, mark: str) -> None:
    write_files(tmp_path, _FILES)
    (tmp_path / mark).write_bytes(b"")

    with pytest.raises(OutputError, match=r"estimate\.xlsx: is open in another program"):
        write_files(tmp_path, {"estimate.xlsx": b"new"})


@pytest.mark.parametrize(
    "name",
    [
        *("../out.xlsx", "a/b.xlsx", "/etc/x.xlsx", "a\\b.xlsx", "", "..", RECORD),
        *("nul.xlsx", "a\nb.xlsx", "c:d.docx", "e.xlsx.", "x" * 300),
    ],
)
def test_a_name_that_is_no_plain_file_name_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(OutputError):
        write_files(tmp_path / "out", {"good.xlsx": b"", name: b""}, replace=True)

    assert not (tmp_path / "out").exists()


def test_names_that_differ_in_case_alone_are_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"can't tell it from 'a\.xlsx'"):
        write_files(tmp_path, {"a.xlsx": b"", "A.xlsx": b""})


def test_a_link_is_not_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.write_bytes(b"precious")
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "estimate.xlsx").symlink_to(outside)
    (folder / RECORD).symlink_to(outside)

    with pytest.raises(OutputError, match="is a symbolic link"):
        write_files(folder, _FILES, replace=True)
    write_files(folder, {"proposal.docx": b"two"})

    assert outside.read_bytes() == b"precious"
    assert json.loads((folder / RECORD).read_text(encoding="utf-8"))["format"] == 1


def test_a_damaged_record_vouches_for_nothing(tmp_path: Path) -> None:
    write_files(tmp_path, _FILES)
    (tmp_path / RECORD).write_text('{"format": 1, "files": [', encoding="utf-8")

    with pytest.raises(OutputError, match=r"estimate\.xlsx: was not written by this program"):
        write_files(tmp_path, {"estimate.xlsx": b"new"})


def test_a_locked_file_undoes_the_whole_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, _FILES)
    real = os.replace

    def locked(source: Path, target: Path) -> None:
        if Path(target).name == "proposal.docx" and Path(source).read_bytes() == b"new two":
            raise PermissionError(13, "Permission denied")
        real(source, target)

    monkeypatch.setattr(output.os, "replace", locked)
    with pytest.raises(OutputError) as refused:
        write_files(tmp_path, {"estimate.xlsx": b"new one", "proposal.docx": b"new two", "third.csv": b"3"})

    assert "proposal.docx: can't be written: it is open in another program" in str(refused.value)
    assert _contents(tmp_path) == _FILES
    monkeypatch.undo()
    write_files(tmp_path, {"estimate.xlsx": b"new one"})


def test_a_run_that_is_stopped_puts_back_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, _FILES)
    real = os.replace

    def stopped(source: Path, target: Path) -> None:
        real(source, target)
        if Path(target).name == "third.csv":
            raise KeyboardInterrupt

    monkeypatch.setattr(output.os, "replace", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_files(tmp_path, {"estimate.xlsx": b"new", "fresh.csv": b"new", "third.csv": b"new", "last.csv": b"new"})

    assert {name: text for name, text in _contents(tmp_path).items() if name in _FILES} == _FILES
    assert not (tmp_path / "fresh.csv").exists()


def test_a_run_cut_off_between_two_files_does_not_lock_the_next_one_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_files(tmp_path, _FILES)
    real = os.replace

    def cut_off(source: Path, target: Path) -> None:
        real(source, target)
        if Path(target).name == "estimate.xlsx":
            raise KeyboardInterrupt

    monkeypatch.setattr(output.os, "replace", cut_off)
    monkeypatch.setattr(output._Exchange, "_undo", lambda self: None)  # a killed run undoes nothing
    with pytest.raises(KeyboardInterrupt):
        write_files(tmp_path, {"estimate.xlsx": b"new one", "proposal.docx": b"new two"})
    monkeypatch.undo()

    write_files(tmp_path, {"estimate.xlsx": b"newer one", "proposal.docx": b"newer two"})

    assert _contents(tmp_path) == {"estimate.xlsx": b"newer one", "proposal.docx": b"newer two"}


def test_a_file_where_the_folder_should_be_is_said(tmp_path: Path) -> None:
    (tmp_path / "out").write_bytes(b"")

    with pytest.raises(OutputError, match="is a file, not a folder"):
        write_files(tmp_path / "out", _FILES)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Bid 26-014", "Bid-26-014.csv"),
        ("../../etc/passwd", "etc-passwd.csv"),
        ("CON", "CON_.csv"),
        ("", "document.csv"),
        ("x" * 130, "x" * 116 + ".csv"),
        ("x" * 115 + "-y", "x" * 115 + ".csv"),
    ],
)
def test_a_text_becomes_a_name_that_every_system_takes(text: str, name: str) -> None:
    assert safe_name(text, ".csv") == name


def test_another_jobs_folder_is_left_alone(tmp_path: Path) -> None:
    write_files(tmp_path, {"estimate.xlsx": b"ours"}, job="Library L-1")
    with pytest.raises(OutputError) as refused:
        write_files(tmp_path, {"estimate.xlsx": b"theirs"}, job="Clinic C-2")
    assert [fault.what for fault in refused.value.faults] == [
        "holds the documents of Library L-1; choose another folder with --out, or --replace"
    ]
    assert (tmp_path / "estimate.xlsx").read_bytes() == b"ours"
    write_files(tmp_path, {"estimate.xlsx": b"ours, revised"}, job="Library L-1")
    write_files(tmp_path, {"estimate.xlsx": b"theirs"}, job="Clinic C-2", replace=True)
    assert (tmp_path / "estimate.xlsx").read_bytes() == b"theirs"
