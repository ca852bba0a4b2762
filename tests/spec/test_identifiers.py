"""A circuit's id after ANSI/TIA-606 tells its space, panel and port."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from estimator.spec.model import Run
from tests.published import Check
from tests.takeoff.evaluated import project_of

JOB = """\
rooms:
  - {id: 1A, floor: "1", patch_panels: [{id: A, ports: 48}, {id: B, ports: 48}]}
cables: [{id: C6, type: cat6_utp_plenum}]
drops: [{id: NAME, room: 1A, cable: C6, length: 10 m}]
"""


def parsed(name: str) -> Run:
    """Return the run that a drop of this id makes."""
    with TemporaryDirectory() as folder:
        return project_of(Path(folder), JOB.replace("NAME", name)).runs[0]


# Source: cable-records page quoting ANSI/TIA-606-A: 1A-B24 is floor 1, space A, panel B, port 24.
CHECKS = [
    Check(
        discipline="identity",
        what="port of 1A-B24 [number]",
        source="cable-records page quoting ANSI/TIA-606-A; confirmed",
        expected=24,
        tolerance=0,
        obtained=lambda: float(parsed("1A-B24").port or 0),
    )
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure(check: Check) -> None:
    """The port in the published example."""
    check.hold()


@pytest.mark.parametrize(
    ("name", "panel", "port"), [("1A-B24", "B", 24), ("1A-A01", "A", 1), ("1A-C01", None, None), ("X7", None, None)]
)
def test_an_id_implies_panel_and_port_of_a_known_panel(name: str, panel: str | None, port: int | None) -> None:
    """An unknown panel, or an id of another form, implies nothing."""
    run = parsed(name)
    assert (run.panel, run.port) == (panel, port)
