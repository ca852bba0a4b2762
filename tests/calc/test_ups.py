"""Uninterruptible supplies: watts, runtime, battery and heat."""

from __future__ import annotations

from functools import partial

import pytest

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
        ageing=fact("ageing_factor"),
        design=fact("design_margin"),
    )


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


def test_heat_of_a_rack() -> None:
    """1,500 W is 5,118 BTU/h (definition of the unit)."""
    per_w = table("ups_facts").find(name="btu_per_h_per_w").number("value")

    assert ups.heat_btu_per_h(lost_w=1500, btu_per_h_per_w=per_w) == pytest.approx(5118, abs=0.5)
    assert ups.load_w(apparent_va=1500, power_factor=1) == 1500
    with pytest.raises(ValueError, match=r"power_factor must be at most 1, not 1.1"):
        ups.load_w(apparent_va=1, power_factor=1.1)


def test_aged_battery_lasts_its_share() -> None:
    """At the end of life (80 %) the same battery lasts four fifths (battery practice)."""
    share = table("ups_facts").find(name="ageing_end_of_life").number("value")
    new_s = ups.runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9)

    aged_s = ups.runtime_s(battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9, ageing=share)
    assert new_s == pytest.approx(24 * 18 * 0.9 / 300 * HOUR, rel=1e-12)
    assert aged_s == pytest.approx(0.8 * new_s)


def test_cold_battery_must_be_larger_by_its_factor() -> None:
    """IEEE Std 485 multiplies: half as much again where the table says 1.5; every factor is one unless typed."""
    need = partial(ups.battery_ah, load_w=1000, runtime_s=HOUR, efficiency=1, cell_end_v=2, cells=10)

    assert need() == 50.0
    assert need(temperature=1.5) == 75.0
    assert need(ageing=1.25) == 62.5
    assert need(design=1.1) == pytest.approx(55.0)


def test_supply_without_a_load_is_refused() -> None:
    """No load would last for ever."""
    with pytest.raises(ValueError, match="load_w must be above zero, not 0"):
        ups.runtime_s(battery_v=24, capacity_ah=18, load_w=0, efficiency=0.9)


REFUSED = [
    Refused(possible=partial(ups.load_w, apparent_va=5000, power_factor=0.9), above_zero="apparent_va power_factor"),
    Refused(
        possible=partial(ups.runtime_s, battery_v=24, capacity_ah=18, load_w=300, efficiency=0.9),
        above_zero="battery_v capacity_ah load_w efficiency ageing",
    ),
    Refused(
        possible=partial(
            ups.battery_ah,
            load_w=8000,
            runtime_s=1800,
            efficiency=0.85,
            cell_end_v=1.75,
            cells=108,
            ageing=1.25,
            design=1.1,
        ),
        above_zero="load_w runtime_s efficiency cell_end_v cells temperature ageing design",
    ),
    Refused(possible=partial(ups.heat_btu_per_h, lost_w=1500, btu_per_h_per_w=3.412), zero_or_more="lost_w"),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
