"""Coaxial circuits: loop, loss and return loss against what their own cable can have."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.compare import FAIL, PASS, compare
from estimator.acceptance.criterion import Criteria, Criterion
from tests.acceptance.job import job


def coax(folder: Path, asked: str = "", center: str = "") -> Criteria:
    """Return the criteria of 60 m of RG-6 to an analog device."""
    acceptance = f"\n  cables: [{{cable: RG6{asked}}}]" if asked else " {}"
    typed = f", center: {center}" if center else ""
    return next(one for one in job(folder, acceptance, rg6=typed)[2] if one.id == "1A-V1")


def criterion(one: Criteria, test: str) -> Criterion:
    """Return a criterion that must be there."""
    found = one.criterion(test)
    assert found is not None, test
    return found


def test_900_ohm_is_no_loop_of_a_coaxial_cable(tmp_path: Path) -> None:
    """60 m of RG-6: with copper 2.17 ohm and its tolerance, with steel at most 7.76 ohm and its tolerance."""
    copper, untyped = coax(tmp_path, center="copper"), coax(tmp_path)

    # Model tables: 11.0 ohm per 1000 ft (single); 30.4 and 9.0 (computed, memory); 15 % and 0.5 ohm.
    assert criterion(copper, "resistance").high == pytest.approx(11.0 / 304.8 * 60 * 1.15 + 0.5)
    assert criterion(untyped, "resistance").high == pytest.approx(39.4 / 304.8 * 60 * 1.15 + 0.5, abs=0.005)
    assert compare(900.0, criterion(untyped, "resistance")).word == FAIL
    assert compare(2.5, criterion(copper, "resistance")).word == PASS
    assert compare(8.0, criterion(copper, "resistance")).word == FAIL


def test_a_loop_is_expected_where_the_center_is_known(tmp_path: Path) -> None:
    """An untyped center has a limit and no expectation, so that no good cable is called odd."""
    assert coax(tmp_path, center="copper").expected_loop_ohm == pytest.approx(11.0 / 304.8 * 60)
    assert coax(tmp_path).expected_loop_ohm is None
    assert coax(tmp_path, center="copper_clad_steel").expected_loop_ohm is None


def test_a_typed_loop_limit_wins_where_it_is_tighter(tmp_path: Path) -> None:
    """Both bounds stay listed."""
    found = criterion(coax(tmp_path, ", loop_max: 2 ohm", "copper"), "resistance")

    assert found.high == 2.0
    assert [bound.name for bound in found.bounds] == ["project limit", "loop of this length"]


def test_loss_at_the_frequency_of_the_plan(tmp_path: Path) -> None:
    """60 m at 750 MHz: at most 11.12 dB (ANSI/SCTE 74, memory), expected 10.63 dB (model tables, single)."""
    one = coax(tmp_path, ", frequency: 750 MHz, tests: loss return_loss", "copper")
    loss, returned = criterion(one, "loss"), criterion(one, "return_loss")

    assert loss.high == pytest.approx(5.65 * 60 / 30.48)
    assert loss.expected == pytest.approx(10.63, abs=0.005)
    assert loss.label == "Loss at 750 MHz"
    assert returned.low == 10.0
    assert {criterion.test for criterion in one.required} == {"loss", "return_loss"}


def test_typed_limits_of_loss_and_return_loss(tmp_path: Path) -> None:
    """The tighter loss decides; a typed return loss replaces the usual floor."""
    one = coax(tmp_path, ", frequency: 750 MHz, loss_max: 9 dB, return_loss_min: 15 dB")

    assert criterion(one, "loss").high == 9.0
    assert [bound.name for bound in criterion(one, "loss").bounds] == ["largest loss of the cable", "project limit"]
    assert criterion(one, "return_loss").low == 15.0
    assert "clinic.yaml:" in criterion(one, "return_loss").source


def test_without_a_frequency_no_loss_is_asked(tmp_path: Path) -> None:
    """A loss without its frequency says nothing."""
    one = coax(tmp_path)

    assert one.criterion("loss") is None
    assert one.criterion("return_loss") is None
