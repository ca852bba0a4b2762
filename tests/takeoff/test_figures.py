"""Every figure of the demo: its printed formula on its printed inputs gives its value."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from estimator.calc.formula import Expression
from estimator.cli.main import main
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, alerts_of, families_of, take_off
from estimator.takeoff.worked import explain, figures

DEMO = Path(__file__).parents[2] / "specs" / "library" / "library.yaml"


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo project."""
    project = load(DEMO).project
    assert project is not None
    return take_off(project)


def test_every_formula_on_its_inputs_gives_its_figure(demo: Takeoff) -> None:
    """What is iterative names its method instead."""
    counted = 0
    for family in families_of(demo):
        for index in range(len(family.values)):
            worked = family.worked(index)
            if worked.formula is None:
                assert worked.method, worked.id
                continue
            inputs = {name: item.value for name, item in worked.inputs.items()}
            assert set(worked.formula.names) == set(inputs), worked.id
            again = Expression(worked.formula.text)(**inputs)
            assert again == pytest.approx(worked.value, rel=1e-12, abs=1e-15), worked.id
            assert all(item.origin for item in worked.inputs.values()), worked.id
            counted += 1
    assert counted > 200


def test_every_figure_has_an_id_of_its_own_and_can_be_explained(demo: Takeoff) -> None:
    """Ids are stable names; each leads back to its figure."""
    families = families_of(demo)
    listed = list(figures(families))
    assert len({figure.id for figure in listed}) == len(listed)
    for figure in listed:
        worked = explain(families, figure.id)
        assert worked is not None, figure.id
        assert worked.value == figure.value
        assert worked.source


def test_the_command_prints_what_a_program_can_evaluate(demo: Takeoff, capsys: pytest.CaptureFixture[str]) -> None:
    """Through the command's own JSON: the formula's text on the printed inputs gives the printed value."""
    figure_id = next(iter(figures(families_of(demo)))).id
    assert main(["explain", str(DEMO), figure_id, "--format", "json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    inputs = {name: item["value"] for name, item in shown["inputs"].items()}
    assert Expression(shown["formula"])(**inputs) == pytest.approx(shown["value"], rel=1e-12)


def test_each_warning_has_its_number_its_limit_and_the_limits_source(demo: Takeoff) -> None:
    """An estimator can check every one of them."""
    alerts = alerts_of(demo)
    assert {"over length", "overfull", "jacket"} <= {alert.kind for alert in alerts}
    assert all(alert.value and alert.limit and alert.source for alert in alerts)


def test_an_unknown_figure_is_answered_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    """A slip in an id costs one line, not a search."""
    assert main(["explain", str(DEMO), "drop.1A-A07.expected_lenght"]) == 1
    assert "did you mean drop.1A-A07.expected_length?" in capsys.readouterr().err
