"""Discharge of batteries: Peukert's law in both forms, the rate factor, volts over the time."""

from __future__ import annotations

import math
from functools import partial
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from estimator.calc import discharge
from estimator.calc.interpolation import between
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check

HOUR = 3600.0
RATED_H = table("battery_facts").find(name="rated_hours").number("value")
PEUKERT = "textbook pages on Peukert's law; confirmed"
SHEET = "sealed-battery data sheet, 40 Ah over 20 h and 24 Ah over 1 h; single"


def _exponent() -> float:
    return discharge.peukert_exponent(rated_h=RATED_H, rated_ah=40, short_h=1, short_ah=24)


def _flooded_v(percent: float) -> float:
    rows = sorted(
        (row.number("charge_percent"), row.number("flooded_v")) for row in table("battery_open_circuit").rows
    )  # fmt: skip
    return between(points=rows, at=percent)


def _empty_v(cells: int) -> float:
    """Return the volts at which a battery that was run until it is empty ends [V]."""
    end = cells * table("battery_voltages").find(state="end_of_discharge").number("low_v")
    curve = discharge.discharge_curve(
        steps=[(1.0, 100 * HOUR)], capacity_ah=20, rated_h=RATED_H, exponent=1.2, volts=[(0, end), (1, 2.13 * cells)]
    )
    return curve[-1].volts


CHECKS = [
    Check(
        discipline="battery",
        what="100 Ah at 5 A, exponent 1.2, one-ampere form [h]",
        source=PEUKERT,
        expected=14.5,
        tolerance=0.05,
        obtained=lambda: discharge.peukert_one_ampere_s(one_ampere_ah=100, current_a=5, exponent=1.2) / HOUR,
    ),
    Check(
        discipline="battery",
        what="100 Ah at 5 A, exponent 1.2, twenty-hour form [h]",
        source=PEUKERT,
        expected=20,
        tolerance=0.05,
        obtained=lambda: discharge.peukert_s(capacity_ah=100, rated_h=RATED_H, current_a=5, exponent=1.2) / HOUR,
    ),
    Check(
        discipline="battery",
        what="exponent between 40 Ah over 20 h and 24 Ah over 1 h",
        source=SHEET,
        expected=1.206,
        tolerance=5e-4,
        obtained=_exponent,
    ),
    Check(
        discipline="battery",
        what="40 Ah at 24 A, exponent ln 20 / ln 12, twenty-hour form [h]",
        source=SHEET,
        expected=1.0,
        tolerance=0.002,
        obtained=lambda: discharge.peukert_s(capacity_ah=40, rated_h=RATED_H, current_a=24, exponent=1.206) / HOUR,
    ),
    Check(
        discipline="battery",
        what="rated capacity that gives 24 A for an hour, exponent ln 20 / ln 12 [Ah]",
        source=SHEET,
        expected=40,
        tolerance=0.5,
        obtained=lambda: discharge.rated_need_ah(steps=[(24.0, HOUR)], rated_h=RATED_H, exponent=_exponent()),
    ),
    Check(
        discipline="battery",
        what="rested volts that a tenth of the charge makes, 12 V block [V]",
        source="caution on state of charge in an encyclopedic entry; confirmed",
        expected=0.08,
        tolerance=0.005,
        obtained=lambda: _flooded_v(75) - _flooded_v(65),
    ),
    *(
        Check(
            discipline="battery",
            what=f"volts at the end of discharge, {cells} cells [V]",
            source="encyclopedic references on lead-acid cells; confirmed",
            expected=volts,
            tolerance=0.05,
            obtained=partial(_empty_v, cells),
        )
        for cells, volts in ((6, 10.5), (12, 21.0))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published hour, exponent, ampere-hour and volt is reproduced."""
    check.hold()


def test_the_data_sheets_exponent_is_the_ratio_of_two_logarithms() -> None:
    """The sheet's own words: ln 20 over ln 12, from 2 A and 24 A."""
    assert _exponent() == pytest.approx(math.log(20) / math.log(12), rel=1e-12)


@pytest.mark.parametrize(
    ("current_a", "hours"),
    [(0.1, 100.0), (0.5, 20.0), (1.0, 20.0 / 2**1.2), (10.0, 20.0 / 20**1.2)],
)
def test_no_credit_below_the_rated_current(current_a: float, hours: float) -> None:
    """10 Ah rated over 20 h: up to 0.5 A the rated ampere-hours, above it Peukert's law (by hand)."""
    lasts = discharge.lasts_s(capacity_ah=10, rated_h=20, current_a=current_a, exponent=1.2)

    assert lasts == pytest.approx(hours * HOUR, rel=1e-12)


def test_standby_at_the_twenty_hour_rate_needs_no_factor() -> None:
    """0.25 A for 24 h and 1.5 A for 5 min take 6.125 Ah; 0.25 A is under 6.125 / 20 A, so that alarm alone counts."""
    factor = discharge.rate_factor(steps=[(0.25, 24 * HOUR), (1.5, 300.0)], rated_h=20, exponent=1.15)
    alone = discharge.rate_factor(steps=[(0.25, 24 * HOUR), (0.0, 0.0)], rated_h=20, exponent=1.15)

    # (6 + 0.125 x (1.5 x 20 / C) ** 0.15) = C gives C = 6.1583 Ah by hand: (30 / 6.1583) ** 0.15 = 1.2682.
    assert factor * 6.125 == pytest.approx(6.1585, abs=5e-4)
    assert alone == 1.0


# An engine of another kind: a root finder on the same balance, written down here again.
@pytest.mark.parametrize("exponent", [1.0, 1.05, 1.206, 1.6])
@pytest.mark.parametrize(
    "steps", [((0.3, 86400.0), (9.0, 900.0)), ((2.0, 14400.0), (2.0, 0.0)), ((0.0, 0.0), (30.0, 300.0))]
)
def test_rated_need_is_the_root_of_its_balance(steps: tuple[tuple[float, float], ...], exponent: float) -> None:
    """What is taken at the pace of each current equals the capacity."""

    def balance(capacity_ah: float) -> float:
        taken = 0.0
        for current_a, time_s in steps:
            pace = 1.0 if current_a * 20 <= capacity_ah else (current_a * 20 / capacity_ah) ** (exponent - 1)
            taken += current_a * time_s / HOUR * pace
        return taken - capacity_ah

    found = discharge.rated_need_ah(steps=steps, rated_h=20, exponent=exponent)

    assert found == pytest.approx(brentq(balance, 1e-6, 1e3, xtol=1e-12), rel=1e-9)


def test_nothing_drawn_needs_nothing() -> None:
    """No current, or no time: no capacity and no factor."""
    assert discharge.rated_need_ah(steps=[(0.0, 86400.0), (5.0, 0.0)], rated_h=20, exponent=1.2) == 0.0
    assert discharge.rate_factor(steps=[(0.0, 86400.0)], rated_h=20, exponent=1.2) == 1.0


@given(
    standby=st.floats(0.001, 5),
    alarm=st.floats(0.001, 30),
    minutes=st.floats(1, 60),
    exponent=st.floats(1, 1.6),
    more=st.floats(0, 5),
)
@settings(max_examples=60, deadline=None)
def test_a_faster_discharge_never_needs_less(
    standby: float, alarm: float, minutes: float, exponent: float, more: float
) -> None:
    """The factor is at least one, and grows neither the need of less current nor of a lower exponent."""

    def need(extra: float, power: float) -> float:
        steps = [(standby, 24 * HOUR), (alarm + extra, minutes * 60)]
        return discharge.rated_need_ah(steps=steps, rated_h=20, exponent=power)

    drawn = standby * 24 + alarm * minutes / 60
    assert need(0.0, exponent) >= drawn * (1 - 1e-12)
    assert need(more, exponent) >= need(0.0, exponent) * (1 - 1e-12)
    assert need(0.0, exponent) >= need(0.0, 1.0) * (1 - 1e-12)


VOLTS = ((0.0, 10.5), (0.5, 12.2), (1.0, 12.8))
curve = partial(discharge.discharge_curve, rated_h=20.0, exponent=1.2, volts=VOLTS)


def test_volts_fall_through_standby_and_faster_in_alarm() -> None:
    """By hand: 20 Ah; 0.5 A for 24 h take 12 Ah to 40 %; 4 A take 20 x 4 ** 1.2 / 20 of it an hour."""
    found = curve(steps=[(0.5, 24 * HOUR), (4.0, HOUR)], capacity_ah=20)

    assert [one.time_s / HOUR for one in found] == pytest.approx([0, 20, 24, 25])
    assert [one.left for one in found] == pytest.approx([1, 0.5, 0.4, 0.4 - 4**1.2 / 20])
    assert [one.used_ah for one in found] == pytest.approx([0, 10, 12, 16])
    volts = [10.5 + 1.7 * one.left / 0.5 for one in found[1:]]
    assert [one.volts for one in found] == pytest.approx([12.8, *volts])


def test_a_battery_that_runs_empty_stops_there() -> None:
    """By hand: 10 Ah at 0.5 A are empty after 20 h of 24; what comes after does not count."""
    found = curve(steps=[(0.5, 24 * HOUR), (4.0, HOUR)], capacity_ah=10)

    assert (found[-1].time_s, found[-1].left, found[-1].volts) == (20 * HOUR, 0.0, 10.5)
    assert found[-1].used_ah == pytest.approx(10)


def test_a_battery_that_lasts_to_the_second_is_not_called_empty_before() -> None:
    """20 h at the rated current take all of it, and the last moment is the end of the step."""
    found = curve(steps=[(0.5, 20 * HOUR)], capacity_ah=10)

    assert (found[-1].time_s, found[-1].left) == (20 * HOUR, 0.0)


def test_no_current_and_no_time_change_nothing() -> None:
    """A step of no time leaves no moment; one of no current leaves the volts."""
    found = curve(steps=[(1.0, 0.0), (0.0, HOUR)], capacity_ah=10)

    assert [(one.time_s, one.volts, one.used_ah, one.left) for one in found] == [
        (0.0, 12.8, 0.0, 1.0), (HOUR, 12.8, 0.0, 1.0),
    ]  # fmt: skip


@given(standby=st.floats(0, 3), alarm=st.floats(0, 30), capacity=st.floats(1, 100))
@settings(max_examples=60, deadline=None)
def test_volts_never_rise_and_a_larger_set_never_holds_less(standby: float, alarm: float, capacity: float) -> None:
    """Through every discharge."""
    steps = [(standby, 24 * HOUR), (alarm, 300.0)]
    small, large = (curve(steps=steps, capacity_ah=ah) for ah in (capacity, 2 * capacity))

    assert all(after.volts <= before.volts for before, after in pairwise(small))
    assert all(after.time_s > before.time_s for before, after in pairwise(small))
    assert all(0 <= one.left <= 1 for one in small)
    assert large[-1].volts >= small[-1].volts - 1e-9


STEPS = [(0.2, 3600.0), (1.0, 60.0)]
WRONG_STEPS = tuple(
    ("steps", [STEPS[0], wrong]) for wrong in ((-1.0, 60.0), (1.0, -60.0), (math.nan, 60.0), (1.0, math.inf))
)
WRONG_EXPONENT = ("exponent", 0.99)

REFUSED = [
    Refused(
        possible=partial(discharge.peukert_s, capacity_ah=100, rated_h=20, current_a=5, exponent=1.2),
        above_zero="capacity_ah rated_h current_a exponent",
    ),
    Refused(
        possible=partial(discharge.peukert_one_ampere_s, one_ampere_ah=100, current_a=5, exponent=1.2),
        above_zero="one_ampere_ah current_a exponent",
    ),
    Refused(
        possible=partial(discharge.peukert_exponent, rated_h=20, rated_ah=40, short_h=1, short_ah=24),
        above_zero="rated_h rated_ah short_h short_ah",
        wrong=(("short_h", 20), ("short_h", 21), ("short_ah", 40.1), ("short_ah", 2.0), ("short_ah", 1.9)),
    ),
    Refused(
        possible=partial(discharge.lasts_s, capacity_ah=10, rated_h=20, current_a=1, exponent=1.0),
        above_zero="capacity_ah rated_h current_a exponent",
        wrong=(WRONG_EXPONENT,),
    ),
    Refused(
        possible=partial(discharge.rated_need_ah, steps=STEPS, rated_h=20, exponent=1.0),
        above_zero="rated_h exponent",
        wrong=(WRONG_EXPONENT, *WRONG_STEPS),
    ),
    Refused(
        possible=partial(discharge.rate_factor, steps=STEPS, rated_h=20, exponent=1.0),
        above_zero="rated_h exponent",
        wrong=(WRONG_EXPONENT, *WRONG_STEPS),
    ),
    Refused(
        possible=partial(
            discharge.discharge_curve, steps=STEPS, volts=[(0, 10.5), (1, 12.8)],
            capacity_ah=10, rated_h=20, exponent=1.0,
        ),
        above_zero="capacity_ah rated_h exponent",
        wrong=(
            WRONG_EXPONENT, *WRONG_STEPS,
            *(("volts", [(0, 10.5), wrong]) for wrong in ((1.1, 12.8), (-0.1, 12.8), (1.0, 0.0), (1.0, math.inf))),
        ),
    ),
]  # fmt: skip


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()


@pytest.mark.parametrize("volts", [[(0, 10.5)], [(1, 12.8)], [(0, 10.5), (0.9, 12.8)], []])
def test_volts_must_span_empty_and_full(volts: list[tuple[float, float]]) -> None:
    """Nothing is guessed beyond the published volts."""
    with pytest.raises(ValueError, match="volts must span an empty and a full battery"):
        curve(steps=STEPS, capacity_ah=10, volts=volts)


def test_equal_capacities_have_no_rate_effect() -> None:
    """A data sheet that gives as much in an hour as in twenty has an exponent of one."""
    assert discharge.peukert_exponent(rated_h=20, rated_ah=40, short_h=1, short_ah=40) == pytest.approx(1.0, rel=1e-12)


def test_exponent_between_any_two_hours() -> None:
    """The same sheet's 34 Ah over 5 h, by hand: ln 4 over ln (6.8 / 2); one ampere gives the stated hours exactly."""
    found = discharge.peukert_exponent(rated_h=20, rated_ah=40, short_h=5, short_ah=34)

    assert found == pytest.approx(math.log(4) / math.log(3.4), rel=1e-12)
    assert discharge.peukert_one_ampere_s(one_ampere_ah=100, current_a=1, exponent=1.3) == 360_000
    with pytest.raises(ValueError, match=r"short_ah must be over what the rated current takes in 5 h, not 10"):
        discharge.peukert_exponent(rated_h=20, rated_ah=40, short_h=5, short_ah=10)


def test_a_small_load_has_a_rate_factor_too() -> None:
    """By hand: 1.2 A for a minute are 0.02 Ah; C ** 1.2 = 0.02 x 24 ** 0.2 gives 0.0652 Ah."""
    factor = discharge.rate_factor(steps=[(1.2, 60.0)], rated_h=20, exponent=1.2)

    assert factor == pytest.approx((0.02 * 24**0.2) ** (1 / 1.2) / 0.02, rel=1e-9)


def test_one_step_passes_every_published_share_in_its_order() -> None:
    """From full over three shares to nothing, later each time and lower each time; shares may stand in any order."""
    volts = ((0.0, 0.9), (0.25, 1.9), (0.5, 2.0), (0.75, 2.05), (1.0, 2.1))
    found = curve(steps=[(0.5, 30 * HOUR)], capacity_ah=10, volts=volts)

    assert [one.left for one in found] == [1.0, 0.75, 0.5, 0.25, 0.0]
    assert [one.volts for one in found] == [2.1, 2.05, 2.0, 1.9, 0.9]
    assert [one.time_s / HOUR for one in found] == pytest.approx([0, 5, 10, 15, 20])


def test_more_than_full_is_refused() -> None:
    """Beside an empty and a full battery as well."""
    with pytest.raises(ValueError, match=r"volts must be shares from 0 to 1 .*, not \(1.1, 13\)"):
        curve(steps=STEPS, capacity_ah=10, volts=[(0, 10.5), (1, 12.8), (1.1, 13)])
