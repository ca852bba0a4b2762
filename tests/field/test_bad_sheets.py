"""Deliberately bad sheets end in a clear message with its place, while the good rows beside them arrive."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.cli.main import main
from estimator.field.batches import read_folder
from estimator.field.job import judge_job
from estimator.spec.load import load
from estimator.takeoff.takeoff import take_off
from tests.acceptance.job import job
from tests.field.bad_sheets import ROWS, WHOLE, Case

BESIDE = "Circuit,Round,Center to shield,Length [m],Video level [V],Far end\n1A-V1,1,clear,60,0.9,terminated\n"


def test_there_are_enough_of_them() -> None:
    """Forty and more, each with a name of its own."""
    names = [case.name for case in (*WHOLE, *ROWS)]
    assert len(set(names)) == len(names) >= 40


@pytest.mark.parametrize("case", [*WHOLE, *ROWS], ids=lambda case: case.name)
def test_a_bad_sheet_is_told_and_takes_nothing_else_with_it(
    case: Case, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither a traceback, nor a wrong verdict, nor lost data."""
    job(tmp_path)
    bad, good = tmp_path / case.file, tmp_path / "good.csv"
    bad.write_bytes(case.data())
    good.write_text(BESIDE)

    code = main(["collect", str(tmp_path / "clinic.yaml"), str(bad), str(good)])

    shown = capsys.readouterr()
    assert "mistake of the program" not in shown.err
    for text in case.told:
        assert text in shown.out, shown.out + shown.err
    assert code == int(case.refused)

    project = load(tmp_path / "clinic.yaml").project
    assert project is not None
    judged = judge_job(take_off(project)).result
    stored = read_folder(tmp_path / "clinic.readings")
    assert judged.by_id["1A-V1"].tested
    assert judged.by_id["1A-A02"].word == case.word, judged.by_id["1A-A02"]
    assert stored.faults == ()
    if not case.refused:
        assert judged.by_id["1A-A10"].word == "pass", judged.by_id["1A-A10"]
        assert [path.read_bytes() for path in (tmp_path / "clinic.readings" / "received").glob("*-bad.*")] == [
            bad.read_bytes()
        ]
