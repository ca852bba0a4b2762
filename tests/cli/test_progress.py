"""The verb that tells how far the testing is, on the demo as its crew handed it in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from estimator.cli.main import main


@pytest.fixture(scope="module")
def spec(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the demo's project file with its sheets collected."""
    out = tmp_path_factory.mktemp("progress")
    assert main(["demo", "--out", str(out)]) == 0
    return out / "project" / "library.yaml"


def test_every_table_adds_up_to_the_job(spec: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Rooms and systems hold every circuit once; reasons and counts of a row are all its circuits."""
    capsys.readouterr()
    assert main(["progress", str(spec), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    job = told["job"]
    for name in ("by_room", "by_system"):
        for key in ("circuits", "tested", "passed", "failed", "left"):
            assert sum(one[key] for one in told[name]) == job[key], (name, key)
    for one in (*told["by_room"], *told["by_system"], job):
        counted = one["passed"] + one["marginal"] + one["failed"] + one["incomplete"] + one["excused"] + one["without"]
        assert counted == one["circuits"]
        assert sum(one["why_not"].values()) == one["excused"] + one["without"]
    assert told["by_day"][-1]["left"] == job["left"], "every try of the demo is dated"
    lefts = [one["left"] for one in told["by_day"]]
    assert lefts == sorted(lefts, reverse=True)
    assert told["complete"] is False


def test_one_table_alone_and_in_words(spec: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The head line, the reasons, then the one table asked for."""
    capsys.readouterr()
    assert main(["progress", str(spec), "--by", "room"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("147 circuits: ")
    assert "  1 waived" in lines
    assert [line.split()[:2] for line in lines if line.startswith("by ")] == [["by", "room"]]


def test_a_job_without_readings_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing read is not tested, and there is neither day nor person."""
    (tmp_path / "t.yaml").write_text(
        "dropledger: 1\nproject: {name: T}\nrooms: [{id: 1A}]\ncables: [{id: C6, type: cat6_utp_plenum}]\n"
        "devices: [{id: data, cable: C6}]\ndrops: [{id: D-1, room: 1A, length: 40 m, device: data}]\n",
        encoding="utf-8",
    )
    assert main(["progress", str(tmp_path / "t.yaml")]) == 0
    told = capsys.readouterr().out
    assert "1 circuit: 0 passed, 0 marginal, 0 failed, 0 incomplete, 1 left" in told
    assert "  1 not tested" in told
    assert "by day: nothing read so far" in told
