"""The verb that tells what lengths teach, on the demo."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from estimator.cli.main import main


def test_lessons_of_the_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Text names every group; JSON holds the same numbers."""
    assert main(["demo", "--out", str(tmp_path)]) == 0
    spec = str(tmp_path / "project" / "library.yaml")
    capsys.readouterr()
    assert main(["lessons", spec]) == 0
    told = capsys.readouterr().out
    assert main(["lessons", spec, "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert f"{data['lengths']} lengths by velocity" in told
    for one in data["spreads"]:
        assert f"{one['by']}" in told
        assert one["name"] in told
    assert [one["rule"] for one in data["rules"]].count("waste") == sum(one["by"] == "cable" for one in data["spreads"])
    assert data["exchanged"] == []


def test_without_readings_there_is_nothing_to_learn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A bid has no lengths yet."""
    (tmp_path / "t.yaml").write_text("dropledger: 1\nproject: {name: T}\n", encoding="utf-8")
    assert main(["lessons", str(tmp_path / "t.yaml")]) == 0
    assert capsys.readouterr().out == "0 lengths by velocity beside what was expected\n"
