"""Limits over frequency as criteria, the low-loss exemption, and the table of the test plan."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from estimator.acceptance.compare import FAIL, MARGINAL_PASS, NOT_JUDGED, PASS
from estimator.acceptance.criterion import Criteria
from estimator.acceptance.over_frequency import (
    PARAMETERS,
    criterion_at,
    expected_db,
    frequency_limits,
    judge_at,
    unbalance_limits,
)
from tests.acceptance.job import PLAIN, job


def link(folder: Path, asked: str = "") -> Criteria:
    """Return the criteria of a Category 6 permanent link of 50 m."""
    acceptance = f"\n  cables: [{{cable: C6{asked}}}]" if asked else PLAIN
    return next(one for one in job(folder, acceptance)[2] if one.id == "1A-A02")


def test_a_limit_at_any_frequency_is_a_criterion(tmp_path: Path) -> None:
    """Unrounded, on its side, with its source; between tabled frequencies too."""
    one = link(tmp_path)
    loss, crosstalk = criterion_at(one, "insertion_loss", 100), criterion_at(one, "next", 99.7, "12-36")

    assert loss is not None
    assert crosstalk is not None
    # ANSI/TIA-568-C.2 clause 6 (memory): 0.9 of the cable, three connections, deviation: 18.57 dB.
    assert (loss.low, loss.high) == (None, pytest.approx(18.57, abs=5e-5))
    assert (crosstalk.high, crosstalk.position) == (None, "12-36")
    assert crosstalk.low == pytest.approx(41.86, abs=0.005)
    assert loss.limit == "at most 18.6 dB"
    assert "568-C.2" in loss.source
    # CL: 45 m and two connections lose 9.31 dB by hand; 50 m lose 9.90 + 0.4 dB.
    assert loss.expected == pytest.approx(0.5 * 19.80 + 0.4, abs=0.001)


def test_where_no_line_is_there_is_no_criterion(tmp_path: Path) -> None:
    """Above the category, below 1 MHz, for an unknown parameter, for another medium."""
    one = link(tmp_path)

    assert criterion_at(one, "next", 250) is not None
    assert criterion_at(one, "next", 250.1) is None
    assert criterion_at(one, "next", 0.9) is None
    assert criterion_at(one, "echo", 100) is None
    assert criterion_at(replace(one, category=""), "next", 100) is None
    assert judge_at(one, "next", 40.0, 300).why == "no limit of next at 300 MHz"


def test_the_unrounded_line_decides(tmp_path: Path) -> None:
    """41.84 dB is printed 41.8: 41.83 dB fails, though it rounds to the printed limit (sum rule, computed)."""
    one = link(tmp_path)
    limit = criterion_at(one, "next", 100)
    assert limit is not None
    assert limit.low == pytest.approx(41.84, abs=0.005)

    assert judge_at(one, "next", limit.low, 100).word == PASS
    assert judge_at(one, "next", 41.83, 100).word == FAIL
    assert judge_at(one, "next", 41.90, 100, accuracy_db=0.5).word == MARGINAL_PASS
    assert judge_at(one, "next", 43.0, 100).margin == pytest.approx(43.0 - limit.low)


# Below 3 dB of loss return loss is recorded (ANSI/TIA-568-C.2; ISO/IEC 11801; EN 50173-1: confirmed).
# Below 4 dB crosstalk is, in the international classes and later editions (single): off unless named.
@pytest.mark.parametrize(
    ("asked", "exempt"),
    [
        ("", {"return_loss": True, "next": False, "psnext": False}),
        (", low_loss: return_loss next", {"return_loss": True, "next": True, "psnext": True}),
        (", low_loss: next", {"return_loss": False, "next": True, "psnext": True}),
        (", low_loss: none", {"return_loss": False, "next": False, "psnext": False}),
    ],
)
def test_low_loss_exempts_what_the_project_says(tmp_path: Path, asked: str, exempt: dict[str, bool]) -> None:
    """A bad value where the pair loses 2.9 dB: recorded or failed, by the setting; unknown loss exempts nothing."""
    one = link(tmp_path, asked)

    for parameter, recorded in exempt.items():
        assert judge_at(one, parameter, 1.0, 10, loss_db=2.9).word == (NOT_JUDGED if recorded else FAIL)
        assert judge_at(one, parameter, 1.0, 10, loss_db=4.0).word == FAIL
        assert judge_at(one, parameter, 1.0, 10).word == FAIL


def test_an_exemption_tells_where_it_comes_from(tmp_path: Path) -> None:
    """A default says so; a typed one names its line."""
    (default,) = link(tmp_path).low_loss
    typed = link(tmp_path, ", low_loss: [return_loss, next]").low_loss

    assert default.source.startswith("default: ANSI/TIA-568-C.2")
    assert all("clinic.yaml:" in rule.source for rule in typed)
    assert judge_at(link(tmp_path), "return_loss", 1.0, 10, loss_db=2.9).why == "the pair loses 2.9 dB, less than 3 dB"


def test_the_plan_has_a_table_for_every_kind_of_link(tmp_path: Path) -> None:
    """Permanent and plug terminated links of Category 6 to 250 MHz, each with its longest circuit."""
    found = {one.link: one for one in frequency_limits(job(tmp_path)[2])}

    assert set(found) == {"permanent_link", "modular_plug_terminated_link"}
    permanent, plug = found["permanent_link"], found["modular_plug_terminated_link"]
    assert (permanent.mhz[0], permanent.mhz[-1]) == (1, 250)
    assert permanent.limits_db == plug.limits_db
    assert set(permanent.limits_db) == set(PARAMETERS)
    assert (permanent.longest_m, plug.longest_m) == (50.0, 80.0)
    assert permanent.expected_db[-1] < plug.expected_db[-1] < plug.limits_db["insertion_loss"][-1]
    warm = {one.link: one for one in frequency_limits(job(tmp_path)[2], {"C6": 1.06})}["permanent_link"]
    assert permanent.expected_db[-1] < warm.expected_db[-1]
    assert warm.limits_db == permanent.limits_db
    # 0.9*(534 + 36/sqrt(10)) + 7.5 ns (ANSI/TIA-568-C.2 clause 6, memory).
    assert permanent.delay_s[permanent.mhz.index(10)] == pytest.approx(498.35e-9, abs=5e-12)


def test_heat_adds_to_the_loss_of_the_cable_alone() -> None:
    """0.4 % a kelvin on the cable (ANSI/TIA-568-C.2 clause 6.4.7), nothing on the connections."""
    cold = expected_db(category="6", link="channel", length_m=100, frequency_mhz=100)
    warm = expected_db(category="6", link="channel", length_m=100, frequency_mhz=100, factor=1.08)

    assert warm - cold == pytest.approx(0.08 * 19.80)


def test_older_editions_limit_no_unbalance() -> None:
    """568.2-D: a channel's pairs 3 % or 0.20 ohm within, 7 % or 0.10 ohm between (memory, single)."""
    found = unbalance_limits("channel", "568.2-D")

    assert [(limit.percent, limit.floor_ohm, limit.confidence) for limit in found] == [
        (3, 0.2, "memory"),
        (7, 0.1, "single"),
    ]
    assert unbalance_limits("channel", "568-C.2") == ()
