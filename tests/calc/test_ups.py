"""Uninterruptible supplies: watts, discharge curve, runtime and battery."""

from __future__ import annotations

import math
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc import ups
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check

HOUR = 3600.0


def fact(name: str) -> float:
    """Return one of the table's facts about batteries."""
    return table("battery_facts").find(name=name).number("value")


def _ups_ah() -> float:
    load_w = ups.load_w(apparent_va=10_000, power_factor=0.8)
    return ups.battery_ah(
        load_w=load_w,
        runtime_s=0.5 * HOUR,
        efficiency=0.85,
        cell_end_v=table("battery_voltages").find(state="end_of_discharge").number("low_v"),
        cells=108,
        aging=fact("aging_factor"),
        design=fact("design_margin"),
    )


# The sheet's rates: hours to the ampere-hours that it gives.
SHEET_AH = {20: 40.0, 10: 37.2, 5: 34.0, 1: 24.0}


def _between_neighbors(hours: int) -> float:
    points = [(capacity / rate, rate * HOUR) for rate, capacity in SHEET_AH.items() if rate != hours]
    reach = ups.on_curve(points=points, load=SHEET_AH[hours] / hours)
    assert reach is not None
    return reach.time_s / HOUR


CHECKS = [
    Check(
        discipline="ups",
        what="uninterruptible supply of 10 kVA for half an hour [Ah]",
        source="petroleum-company engineering standard, filled battery sheet; single",
        expected=34.24,
        tolerance=0.005,
        obtained=_ups_ah,
    ),
    Check(
        discipline="ups",
        what="watts of 5,000 VA at 0.9 [W]",
        source="supply maker's sizing guide; single",
        expected=4500,
        tolerance=0.5,
        obtained=lambda: ups.load_w(apparent_va=5000, power_factor=0.9),
    ),
    # The page cuts 14.28 min to whole minutes.
    Check(
        discipline="ups",
        what="300 W on 12 V, 7 Ah by energy [min]",
        source="industrial supplier's sizing page; single",
        expected=14,
        tolerance=0.5,
        obtained=lambda: ups.runtime_s(battery_v=12, capacity_ah=7, load_w=300, efficiency=0.85) / 60,
    ),
    # A 12 V, 40 Ah sheet rates 2 A for 20 h, 3.72 A for 10 h, 6.8 A for 5 h and 24 A for 1 h: each of the
    # two in the middle comes out of its neighbors, to the hour.
    *(
        Check(
            discipline="ups",
            what=f"time at the {hours} h rate, between its neighbors on the sheet's curve [h]",
            source="sealed lead-acid battery sheet, 12 V 40 Ah, capacity by rate; single",
            expected=hours,
            tolerance=0.5,
            obtained=partial(_between_neighbors, hours),
        )
        for hours in (10, 5)
    ),
    Check(
        discipline="ups",
        what="300 W on 24 V, 18 Ah by energy, no loss [h]",
        source="IEEE Std 1184 energy formula, published example; single",
        expected=1.44,
        tolerance=0.005,
        obtained=lambda: ups.runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=1) / HOUR,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published watt, minute and ampere-hour is reproduced."""
    check.hold()


def test_power_factor_ends_at_one() -> None:
    """A load of factor one has as many watts as volt-amperes, and there is none above."""
    assert ups.load_w(apparent_va=1500, power_factor=1) == 1500
    assert ups.apparent_va(load_w=1500, power_factor=1) == 1500
    with pytest.raises(ValueError, match=r"power_factor must be at most 1, not 1.1"):
        ups.load_w(apparent_va=1, power_factor=1.1)
    with pytest.raises(ValueError, match=r"power_factor must be at most 1, not 1.1"):
        ups.apparent_va(load_w=1, power_factor=1.1)


def test_aged_battery_lasts_its_share() -> None:
    """At the end of life (80 %) the same battery lasts four fifths (battery practice)."""
    share = fact("end_of_life") / 100
    new_s = ups.runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9)

    aged_s = ups.runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9, aging=share)
    assert new_s == pytest.approx(24 * 18 * 0.9 / 300 * HOUR, rel=1e-12)
    assert aged_s == pytest.approx(0.8 * new_s)


def test_cold_battery_must_be_larger_by_its_factor() -> None:
    """IEEE Std 485 multiplies: half as much again where the table says 1.5; every factor is one unless typed."""
    need = partial(ups.battery_ah, load_w=1000, runtime_s=HOUR, efficiency=1, cell_end_v=2, cells=10)

    assert need() == 50.0
    assert need(temperature=1.5) == 75.0
    assert need(aging=1.25) == 62.5
    assert need(design=1.1) == pytest.approx(55.0)


def test_supply_without_a_load_is_refused() -> None:
    """No load would last for ever."""
    with pytest.raises(ValueError, match="load_w must be above zero, not 0"):
        ups.runtime_s(battery_v=24, capacity_ah=18, load_w=0, efficiency=0.9)


CURVE = ((100.0, 7200.0), (200.0, 2880.0), (400.0, 900.0))


def test_curve_gives_its_own_points_back() -> None:
    """At each point the time is the point's; the points at both sides of it are told."""
    for load, time_s in CURVE:
        reach = ups.on_curve(points=CURVE, load=load)

        assert reach is not None
        assert reach.time_s == pytest.approx(time_s, rel=1e-12)
        assert not reach.at_least
    first, last = ups.on_curve(points=CURVE, load=150), ups.on_curve(points=CURVE, load=201)
    assert first is not None
    assert (first.lower, first.lower_s, first.higher, first.higher_s) == (100, 7200, 200, 2880)
    assert last is not None
    assert (last.lower, last.lower_s, last.higher, last.higher_s) == (200, 2880, 400, 900)


def test_loads_are_compared_with_loads() -> None:
    """A curve of many watts and few seconds is in order too."""
    reach = ups.on_curve(points=((1000.0, 60.0), (2000.0, 20.0)), load=1000)

    assert reach is not None
    assert reach.time_s == 60.0


def test_curve_is_not_drawn_beyond_its_points() -> None:
    """Heavier than the heaviest is unknown; lighter than the lightest lasts that long at least."""
    light = ups.on_curve(points=CURVE, load=99.9)

    assert ups.on_curve(points=CURVE, load=400.1) is None
    assert light is not None
    assert (light.time_s, light.at_least) == (7200.0, True)
    # A load that sums to a hair more than a point is that point: twelve digits are compared.
    hair = ups.on_curve(points=CURVE, load=400 * (1 + 1e-15))
    assert hair is not None
    assert hair.time_s == 900.0


@pytest.mark.parametrize(
    "points",
    [
        (),
        ((100.0, 60.0),),
        ((100.0, 60.0), (100.0, 50.0)),
        ((200.0, 60.0), (100.0, 50.0)),
        ((100.0, 60.0), (200.0, 60.0)),
        ((100.0, 60.0), (200.0, 61.0)),
    ],
)
def test_curve_out_of_order_is_refused(points: tuple[tuple[float, float], ...]) -> None:
    """A heavier load lasts less long, and one point is no curve."""
    with pytest.raises(ValueError, match="points must be two at least, with rising load and falling time"):
        ups.on_curve(points=points, load=100)


# Source: Peukert's law, rated-hours form: with two points of one exponent, log-log is the law itself.
@given(
    exponent=st.floats(1.01, 1.6), share=st.floats(0.05, 0.95), capacity_ah=st.floats(1, 500), far=st.floats(1.5, 60)
)
def test_curve_between_two_points_is_peukerts_law(
    exponent: float, share: float, capacity_ah: float, far: float
) -> None:
    """Any load between two points of the law lasts as long as the law says."""

    def lasts(current_a: float) -> float:
        return 20 * HOUR * float((capacity_ah / (current_a * 20)) ** exponent)

    first = capacity_ah / 20
    at = first * far**share
    points = [(first, lasts(first)), (first * far, lasts(first * far))]

    reach = ups.on_curve(points=points, load=at)
    assert reach is not None
    assert reach.time_s == pytest.approx(lasts(at), rel=1e-9)


# Source: Peukert's law, rated-hours form: 40 Ah at the 20 h rate and an exponent of 1.206 last 1 h at 24 A.
def test_law_gives_no_credit_below_the_rated_current() -> None:
    """Above the rated current the law shortens the time; below it the ampere-hours are just used up."""
    lasts = partial(ups.LASTS, capacity_ah=40, rated_h=20, exponent=1.206)

    assert lasts(current_a=24) == pytest.approx(
        HOUR, rel=2e-3
    )  # three digits of exponent: half a one in the last moves 0.12 %
    assert lasts(current_a=2) == pytest.approx(20 * HOUR)
    assert lasts(current_a=0.5) == pytest.approx(80 * HOUR)
    assert lasts(current_a=4) == pytest.approx(20 * 0.5**1.206 * HOUR)


@given(load=st.floats(100, 400), more=st.floats(0, 100))
def test_more_load_never_lasts_longer(load: float, more: float) -> None:
    """By curve and by energy alike."""
    first, second = (ups.on_curve(points=CURVE, load=one) for one in (load, min(load + more, 400.0)))
    energy = partial(ups.runtime_s, battery_v=24, capacity_ah=18, efficiency=0.85)

    assert first is not None
    assert second is not None
    assert second.time_s <= first.time_s * (1 + 1e-12)
    assert energy(load_w=load + more) <= energy(load_w=load)


def test_energy_formula_promises_more_than_the_sheet() -> None:
    """The 40 Ah sheet lasts 1 h at 24 A; its nominal energy would last two thirds of an hour longer."""
    by_energy = ups.runtime_s(battery_v=12, capacity_ah=40, load_w=12 * 24, efficiency=1)

    assert by_energy / HOUR == pytest.approx(40 / 24)
    assert by_energy > 1.6 * HOUR


def test_old_battery_counts_as_a_smaller_one() -> None:
    """At four fifths of its capacity a battery under 80 W is a new one under 100 W (IEEE Std 485)."""
    watts = partial(ups.block_w, efficiency=0.5, blocks=4)
    amps = partial(ups.string_a, efficiency=0.5, cell_end_v=1.75, cells=12, strings=2)

    assert watts(load_w=200) == 100.0
    assert watts(load_w=160, aging=0.8) == pytest.approx(100.0)
    assert amps(load_w=210) == 10.0
    assert amps(load_w=168, aging=0.8) == pytest.approx(10.0)


def test_growth_and_power_factor_raise_what_is_bought() -> None:
    """800 W and a quarter more is 1,000 W, which at 0.8 is 1,250 VA (circuit theory)."""
    assert ups.design_w(load_w=800, growth=0) == 800
    assert ups.apparent_va(load_w=ups.design_w(load_w=800, growth=0.25), power_factor=0.8) == pytest.approx(1250)


REFUSED = [
    Refused(possible=partial(ups.load_w, apparent_va=5000, power_factor=0.9), above_zero="apparent_va power_factor"),
    Refused(
        possible=partial(ups.runtime_s, battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9),
        above_zero="battery_v capacity_ah load_w efficiency aging",
    ),
    Refused(
        possible=partial(
            ups.battery_ah,
            load_w=8000,
            runtime_s=1800,
            efficiency=0.85,
            cell_end_v=1.75,
            cells=108,
            aging=1.25,
            design=1.1,
        ),
        above_zero="load_w runtime_s efficiency cell_end_v cells temperature aging design",
    ),
    Refused(possible=partial(ups.design_w, load_w=800, growth=0.25), zero_or_more="load_w growth"),
    Refused(
        possible=partial(ups.apparent_va, load_w=4500, power_factor=0.9),
        above_zero="power_factor",
        zero_or_more="load_w",
        wrong=(("power_factor", 1.01),),
    ),
    Refused(
        possible=partial(ups.block_w, load_w=850, efficiency=0.85, blocks=4),
        above_zero="load_w efficiency blocks aging",
    ),
    Refused(
        possible=partial(ups.string_a, load_w=8000, efficiency=0.85, cell_end_v=1.75, cells=108, strings=1),
        above_zero="load_w efficiency cell_end_v cells strings aging",
    ),
    Refused(
        possible=partial(ups.on_curve, points=CURVE, load=200),
        above_zero="load",
        wrong=(
            *(("points", ((1.0, 7200.0), (bad, 60.0))) for bad in (0.0, -1.0, math.nan, math.inf)),
            *(("points", ((1.0, 7200.0), (2.0, bad))) for bad in (0.0, -1.0, math.nan, math.inf)),
        ),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
