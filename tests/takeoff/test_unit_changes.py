"""The demo typed in other units: the same lengths, currents and times give the same figures and verdicts."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.spec.load import load
from estimator.takeoff.alerts import Alert
from estimator.takeoff.takeoff import alerts_of, families_of, take_off
from estimator.takeoff.worked import figures

DEMO = Path(__file__).parents[2] / "specs" / "library"
# Source: international foot and inch (exact by definition), SI prefixes, minutes in an hour.
SAME = {
    "ft": {"in": "12", "m": "0.3048", "cm": "30.48", "mm": "304.8"},
    "in": {"mm": "25.4", "cm": "2.54", "m": "0.0254"},
    "m": {"cm": "100", "mm": "1000", "km": "0.001"},
    "mm": {"cm": "0.1", "m": "0.001"},
    "A": {"mA": "1000"},
    "mA": {"A": "0.001", "uA": "1000"},
    "W": {"mW": "1000", "kW": "0.001"},
    "V": {"mV": "1000", "kV": "0.001"},
    "h": {"min": "60", "s": "3600"},
    "min": {"s": "60"},
    "Ah": {"mAh": "1000"},
    "ohm": {"mohm": "1000", "kohm": "0.001"},
    "kohm": {"ohm": "1000", "Mohm": "0.001"},
}
QUANTITY = re.compile(rf"(?<=[:\[,] )(\d+(?:\.\d+)?) ({'|'.join(SAME)})(?=[,}}\]\n])")


def _retyped(text: str, choose: Callable[[list[str]], str]) -> tuple[str, int]:
    changed = 0

    def other(match: re.Match[str]) -> str:
        nonlocal changed
        number, unit = match.groups()
        chosen = choose([unit, *SAME[unit]])
        if chosen == unit:
            return match.group()
        changed += 1
        exact = Decimal(number) * Decimal(SAME[unit][chosen])
        return f"{exact:f} {chosen}"

    return QUANTITY.sub(other, text), changed


def _worked_out(spec: Path) -> tuple[dict[str, tuple[float, str]], list[Alert]]:
    loaded = load(spec)
    assert loaded.project is not None, "\n".join(map(str, loaded.faults))
    takeoff = take_off(loaded.project)
    listed = {
        figure.id: (figure.value, figure.judged.word if figure.judged else "")
        for figure in figures(families_of(takeoff))
    }
    return listed, list(alerts_of(takeoff))


@pytest.fixture(scope="module")
def as_typed() -> tuple[dict[str, tuple[float, str]], list[Alert]]:
    """Return figures and warnings of the demo as it is typed."""
    return _worked_out(DEMO / "library.yaml")


@given(number=st.integers(min_value=0, max_value=2**32))
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_other_units_change_no_figure_and_no_verdict(
    number: int,
    as_typed: tuple[dict[str, tuple[float, str]], list[Alert]],
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """Every quantity of the demo in a unit drawn at random, the number changed exactly."""
    folder = tmp_path_factory.mktemp("retyped") / "library"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("*.readings", "pictures", "sheets"))
    choose = Random(number).choice
    changed = 0
    for path in sorted(folder.glob("*.yaml")):
        text, count = _retyped(path.read_text(encoding="utf-8"), choose)
        path.write_text(text, encoding="utf-8")
        changed += count
    assert changed > 50
    listed, alerts = _worked_out(folder / "library.yaml")
    before, alerts_before = as_typed
    assert listed.keys() == before.keys()
    for name, (value, verdict) in listed.items():
        assert value == pytest.approx(before[name][0], rel=1e-9, abs=1e-12), name
        assert verdict == before[name][1], name
    kinds = [(alert.kind, alert.subject, alert.value, alert.limit) for alert in alerts]
    assert kinds == [(alert.kind, alert.subject, alert.value, alert.limit) for alert in alerts_before]


@pytest.mark.parametrize(("number", "unit"), [("295.2", "ft"), ("0.75", "in"), ("15", "min"), ("3.6", "kohm")])
def test_the_change_of_units_is_exact(number: str, unit: str) -> None:
    """What this file types is the same quantity to the last digit."""
    text, changed = _retyped(f"  length: {number} {unit}\n", lambda units: units[-1])
    assert changed == 1
    typed, other = text.split()[1:]
    assert Fraction(typed) == Fraction(number) * Fraction(SAME[unit][other])
