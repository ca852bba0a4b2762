"""A readings folder that is damaged: the documents are written, and the terminal says what they lack."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.cli.main import main

SPEC = """\
dropledger: 1
project: {name: Two jacks}
rooms: [{id: 1A}]
cables: [{id: c6, type: cat6_utp_plenum}]
devices: [{id: jack, system: data, cable: c6}]
drops: [{id: 1A-A01..1A-A02, room: 1A, device: jack, length: 120 ft}]
"""


@pytest.fixture
def spec(tmp_path: Path) -> Path:
    """Return the project file of a small job with one collected sheet."""
    path = tmp_path / "two.yaml"
    path.write_text(SPEC)
    sheet = tmp_path / "a.csv"
    sheet.write_text("Circuit,Round,Wire map,Length 1-2 [ft]\n1A-A01,1,pass,118\n")
    assert main(["collect", str(path), str(sheet)]) == 0
    return path


def test_a_damaged_batch_is_said_and_the_documents_written(spec: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One byte more in a batch: exit code 1, and both documents."""
    batch = next((spec.parent / "two.readings" / "batches").iterdir())
    batch.write_bytes(batch.read_bytes() + b" ")
    assert main(["closeout", str(spec), "--out", str(spec.parent / "out")]) == 1
    shown = capsys.readouterr()
    assert "the batch was changed or damaged" in shown.err
    assert shown.err.endswith("1 fault in the readings folder; the documents lack what is damaged and say so\n")
    assert sorted(path.name for path in (spec.parent / "out").glob("two-*")) == [
        "two-binder.docx", "two-closeout.xlsx",
    ]  # fmt: skip


def test_a_file_for_a_readings_folder_is_no_mistake_of_the_program(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both verbs end with a sentence about the file."""
    path, sheet = tmp_path / "two.yaml", tmp_path / "a.csv"
    path.write_text(SPEC)
    sheet.write_text("Circuit,Round,Wire map,Length 1-2 [ft]\n1A-A01,1,pass,118\n")
    (tmp_path / "two.readings").write_text("a list")
    assert main(["closeout", str(path), "--out", str(tmp_path / "out")]) == 1
    assert "a file stands where the readings are kept" in capsys.readouterr().err
    assert main(["collect", str(path), str(sheet)]) == 1
    assert "can't be written" in capsys.readouterr().err
