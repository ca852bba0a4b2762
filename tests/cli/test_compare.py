"""The verb that compares: two files, a bid and its job, and what is said where there is nothing to compare."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from estimator.cli.main import main

BID = """\
dropledger: 1
project: {name: T, lengths_in: m}
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_plenum}]
devices: [{id: data, cable: C6}]
drops:
  - {id: D-1, room: 1A, length: 40 m, device: data}
  - {id: D-2, room: 1A, length: 50 m, device: data}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with a bid and the job that came of it."""
    (tmp_path / "bid.yaml").write_text(BID, encoding="utf-8")
    now = BID.replace("\nrooms", "\nbaseline: bid.yaml\nrooms").replace("D-2", "D-3").replace("40 m", "44 m")
    (tmp_path / "now.yaml").write_text(now, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("files", [("bid.yaml", "now.yaml"), ("now.yaml",)])
def test_a_job_against_its_bid(folder: Path, files: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Two files, or one that names its bid, say the same."""
    assert main(["compare", *(str(folder / file) for file in files), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [(one["id"], one["state"], one["before_m"], one["after_m"]) for one in told["circuits"]] == [
        ("D-1", "changed", 40.0, 44.0),
        ("D-3", "added", None, 50.0),
        ("D-2", "removed", 50.0, None),
    ]
    assert told["cables"][0]["after_m"] - told["cables"][0]["before_m"] == pytest.approx(4.0)
    assert told["price"] == {"before": None, "after": None, "difference": None}


def test_in_words(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Counts first, then each circuit with what is other."""
    assert main(["compare", str(folder / "now.yaml")]) == 0
    told = capsys.readouterr().out
    assert "price: not both files have a price file, so only the work is compared" in told
    assert "circuits: 1 added, 1 removed, 1 changed" in told
    assert "the same" not in told  # nobody counted labor


def test_without_a_bid_it_says_what_to_name(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that names no baseline has nothing to be compared with."""
    assert main(["compare", str(folder / "bid.yaml")]) == 1
    assert "expected `baseline:` with the file that was bid, or a second file" in capsys.readouterr().err


def test_as_built_takes_the_lengths_that_were_read(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A reading of 46 m on the first circuit stands in place of the expected 44 m."""
    sheet = "\n".join(("Circuit,Round,Length [m]", "D-1,1,46.0", ""))
    (folder / "sheet.csv").write_text(sheet, encoding="utf-8")
    assert main(["collect", str(folder / "now.yaml"), str(folder / "sheet.csv")]) == 0
    capsys.readouterr()
    assert main(["compare", str(folder / "now.yaml"), "--built", "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["lengths_read"] == 1
    assert next((one["id"], one["after_m"]) for one in told["circuits"]) == ("D-1", 46.0)
