"""Checks of what a UPS is told: loads with one figure each, and a curve that falls."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.spec.test_load import HEAD, faults, project

BATTERY = ", battery: {capacity: 9 Ah}"


def job(more: str) -> str:
    """Return a job with one UPS and more of its keys."""
    return HEAD + f"ups: [{{id: U, room: 1A, rating: 900 W{more}}}]\n"


def curve(*points: str, rest: str = "") -> str:
    """Return a job with a UPS and points of its curve."""
    return job(f", runtime_curve: [{', '.join(f'{{{point}}}' for point in points)}]{rest}")


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        (job(", loads: [{name: router}]"), "load 'router' of UPS 'U' has no figures of power"),
        (job(", loads: [{name: router, power: 9 W, apparent_power: 12 VA}]"), "has two figures of power"),
        (job(", loads: [{name: router, power: 9 W, power_factor: 0.9}]"), "has a power factor and no volt-amperes"),
        (job(", loads: [{name: router, apparent_power: 9 W}]"), "apparent power"),
        (curve("load: 100 W, time: 9 min"), "the curve of UPS 'U' has one point"),
        (curve("time: 9 min", "load: 200 W, time: 3 min"), "tells its load in no way or in several"),
        (curve("load: 9 W, string_current: 2 A, time: 9 min", "load: 200 W, time: 3 min"), "in no way or in several"),
        (curve("load: 100 W, time: 9 min", "block_power: 200 W, time: 3 min"), "tells its load in another way"),
        (curve("string_current: 2 A, time: 9 min", "string_current: 4 A, time: 3 min"), "is that of a battery"),
        (curve("block_power: 20 W, time: 9 min", "block_power: 40 W, time: 3 min"), "is that of a battery"),
        (curve("load: 100 W, time: 9 min", "load: 200 W, time: 9 min"), "does not fall between two of its points"),
        (job(", battery: {capacity: 9 Ah, one_hour_capacity: 9.1 Ah}"), "the battery of 'U' gives 9.1 Ah in one hour"),
        (curve("load: 100 W, time: 9 min", "load: 100 W, time: 8 min"), "does not fall between two of its points"),
    ],
)
def test_each_mistake_is_one_fault(text: str, wrong: str, tmp_path: Path) -> None:
    """One mistake, one line that names it."""
    found = faults(tmp_path, text)
    assert len(found) == 1, found
    assert wrong in found[0]


@pytest.mark.parametrize(
    "text",
    [
        job(
            ", loads: [{name: router, power: 0 W}, {name: recorder, qty: 2, apparent_power: 0.2 kVA, power_factor: 1}]"
        ),
        curve("load: 200 W, time: 3 min", "load: 100 W, time: 9 min"),
        curve("string_current: 2 A, time: 9 min", "string_current: 4 A, time: 3 min", rest=BATTERY),
        curve("block_power: 20 W, time: 9 min", "block_power: 40 W, time: 3 min", rest=BATTERY),
    ],
)
def test_what_is_right_has_no_fault(text: str, tmp_path: Path) -> None:
    """Points may stand in any order; a chart in watts of the output needs no battery."""
    project(tmp_path, text)
