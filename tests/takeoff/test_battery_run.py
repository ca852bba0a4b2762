"""A battery's volts through standby and alarm, and what they say about its notification circuits."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.takeoff.battery_jobs import HOUR, Job
from tests.takeoff.evaluated import near

HALF = "standby_current: 0.25 A, alarm_current: 6 A, battery: {capacity: 12 Ah}"


# Published charts: a rested sealed 12 V block holds 12.2 V at its low edge with half its charge, 12.8 V when full.
def test_volts_at_the_end_of_standby_lie_on_the_published_ones(tmp_path: Path) -> None:
    """By hand: 0.25 A for 24 h take half of 12 Ah, two blocks hold 24.4 V; 20.4 V is what decides."""
    job = Job(tmp_path, HALF)
    worked = job.worked("standby_end_volts")

    assert worked.value == near(24.4, 1e-9)
    assert worked.judged is not None
    assert (worked.judged.word, worked.judged.limit) == ("above the start of its circuits", 20.4)
    assert worked.judged.margin == pytest.approx(4.0)
    assert "estimate" in worked.method
    assert job.sheet.run is not None
    assert job.sheet.run.moments[0].volts == near(25.6, 1e-9)


def test_alarm_takes_charge_at_its_own_pace(tmp_path: Path) -> None:
    """By hand: 6 A for 5 min take (6 x 20 / 12) ** 0.15 times 0.5 Ah from half of 12 Ah; 0.3 V a quarter and block."""
    job = Job(tmp_path, HALF)
    left = 0.5 - 0.5 / 12 * 10**0.15

    assert job.figure("alarm_end_volts") == near(24.4 - 2 * 0.3 * (0.5 - left) / 0.25, 1e-9)


def test_a_cold_set_has_less_to_give(tmp_path: Path) -> None:
    """IEEE Std 485: 1.19 at 50 °F, so that 12 Ah give as 10.08 Ah."""
    job = Job(tmp_path, f"{HALF}, temperature: 50 F")
    capacity = job.worked("standby_end_volts").inputs["capacity_ah"]

    assert capacity.value == near(12 / 1.19, 1e-9)
    assert "divided by 1.19 at 10 C" in capacity.origin
    assert (job.figure("standby_end_volts") or 0) < 24.4


def test_a_set_that_carries_its_need_and_still_runs_out_is_told(tmp_path: Path) -> None:
    """An alarm many times the rated current: 1.2 x (4.8 + 2.5) = 8.76 Ah by the rule, more by its pace."""
    text = "standby_current: 0.2 A, alarm_current: 30 A, battery: {capacity: 9 Ah}"
    job = Job(tmp_path, text)

    assert job.figure("need") == near(8.76, 1e-9)
    assert job.figure("standby_end_volts") is not None
    # Above 9 / 20 A the law gives 20 h x (9 / (30 x 20)) ** 1.15 for a full set: 576 s; 7 / 15 of it are left.
    assert job.kinds == ["runs out in alarm"]
    assert job.sheet.run is not None
    assert job.sheet.run.empty_s == pytest.approx(24 * HOUR + 7 / 15 * 20 * HOUR * (9 / 600) ** 1.15)
    assert job.figure("alarm_end_volts") is None
    assert str(job.warnings[0]).endswith("or type the block's `one_hour_capacity:` from its data sheet")


def test_a_set_too_small_by_the_rule_is_told_once(tmp_path: Path) -> None:
    """What runs out because the block is too small needs no second warning; its volts have no end."""
    job = Job(tmp_path, "standby_current: 0.5 A, alarm_current: 1 A, battery: {capacity: 7 Ah}")

    assert job.kinds == ["battery too small"]
    assert job.figure("standby_end_volts") is None


@pytest.mark.parametrize(
    ("start", "side"),
    [
        ("start_voltage: 24.4 V, start_listing: as listed", "above"),
        ("start_voltage: 25 V, start_listing: as listed", "below"),
        ("start_voltage: 20 V", "above"),
    ],
)
def test_a_listed_start_is_the_listings_word(tmp_path: Path, start: str, side: str) -> None:
    """A regulated output may hold more than its battery; the figure says how they stand, nothing warns."""
    job = Job(tmp_path, f"{HALF}, {start}")
    judged = job.worked("standby_end_volts").judged

    assert job.kinds == []
    assert judged is not None
    assert judged.word == f"{side} the start of its circuits"


def test_an_all_but_empty_set_comes_down_to_its_end_volts(tmp_path: Path) -> None:
    """By hand: 0.249 A for 24 h leave 0.024 of 6 Ah; between 21.0 V when empty and 23.8 V with a quarter left."""
    text = "standby_current: 0.249 A, alarm_current: 0 A, battery: {capacity: 6 Ah}"
    job = Job(tmp_path, text, 'codes: {fire_alarm: "2007"}\n')

    assert job.figure("standby_end_volts") == near(21.0 + (23.8 - 21.0) * (0.024 / 6) / 0.25, 1e-9)


def test_only_a_fire_alarm_is_held_against_a_start(tmp_path: Path) -> None:
    """An intrusion unit has no rule of 85 %."""
    job = Job(tmp_path, "system: intrusion, standby_current: 0.1 A, alarm_current: 1 A, battery: {capacity: 7 Ah}")

    assert job.figure("standby_end_volts") is not None
    assert job.worked("standby_end_volts").judged is None


def test_without_a_set_there_is_nothing_to_run(tmp_path: Path) -> None:
    """No battery is typed and no stocked block fits."""
    job = Job(tmp_path, "standby_current: 1 A, alarm_current: 1 A, charger_limit: 7 Ah")

    assert job.sheet.run is None
    assert job.kinds == ["no battery fits"]
    assert job.figure("standby_end_volts") is None


def test_a_set_of_other_volts_than_its_unit_shows_its_own(tmp_path: Path) -> None:
    """By hand: one block, half empty, holds 12.2 V, whatever the unit asks for; that is far below 20.4 V."""
    job = Job(tmp_path, HALF.replace("12 Ah", "12 Ah, blocks: 1"))
    worked = job.worked("standby_end_volts")

    assert worked.value == near(12.2, 1e-9)
    assert worked.judged is not None
    assert worked.judged.margin == pytest.approx(12.2 - 20.4)
    assert "wrong battery volts" in job.kinds
