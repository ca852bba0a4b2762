"""Voice lines: what a meter should show on and off hook, where the line's loop is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.spec.faults import Faults
from estimator.takeoff.footage import measure
from tests.takeoff.evaluated import project_of

JOB = """\
rooms: [{id: 1A}]
cables:
  - {id: V, medium: voice, pairs: 4, gauge: 24, jacket: CMP, class: communications, od: 4.6 mm, put_up: 300 m}
drops:
  - {id: V1, room: 1A, length: 50 m, cable: V, wire_map: USOC, line_loop: 900 ohm}
  - {id: V2, room: 1A, length: 50 m, cable: V}
"""


@pytest.fixture
def by_id(tmp_path: Path) -> dict[str, Criteria]:
    """Return the criteria of both lines by id."""
    project = project_of(tmp_path, JOB)
    return {one.id: one for one in criteria_for(project, measure(project, Faults()))}


def test_volts_are_expected_of_a_typed_line(by_id: dict[str, Criteria]) -> None:
    """Idle the battery's 48 V less nearly nothing, off hook 6.36 V (voltage divider, 400 and 200 ohm)."""
    idle, busy = (by_id["V1"].criterion("line_volts", name) for name in ("on_hook", "off_hook"))

    assert idle is not None
    assert busy is not None
    assert idle.expected == pytest.approx(48.0, abs=0.05)
    assert busy.expected == pytest.approx(6.36, abs=0.005)
    assert (busy.low, busy.high) == (5.0, 12.0)


def test_without_the_lines_loop_nothing_is_expected(by_id: dict[str, Criteria]) -> None:
    """The cable in the building alone tells nothing of the line's volts."""
    found = by_id["V2"].criterion("line_volts", "off_hook")

    assert found is not None
    assert found.expected is None
    assert by_id["V2"].expected_loop_ohm == pytest.approx(8.42, abs=0.005)
