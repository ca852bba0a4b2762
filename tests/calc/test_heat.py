"""Heat of a room: what stays of the power that goes in, and the cooling for it."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc import heat
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check


def _fact(name: str) -> float:
    return table("ups_facts").find(name=name).number("value")


def _rack_btu_per_h() -> float:
    return heat.btu_per_h(lost_w=1500, btu_per_h_per_w=_fact("btu_per_h_per_w"))


CHECKS = [
    Check(
        discipline="heat",
        what="heat of 1,500 W [BTU/h]",
        source="unit definition, worked example of a rack; confirmed",
        expected=5118,
        tolerance=0.5,
        obtained=_rack_btu_per_h,
        look_up=True,  # a change of units only
    ),
    Check(
        discipline="heat",
        what="cooling for 1,500 W [tons of refrigeration]",
        source="unit definition, worked example of a rack; confirmed",
        expected=0.4265,
        tolerance=5e-5,
        obtained=lambda: heat.cooling_tons(btu_per_h=_rack_btu_per_h(), btu_per_h_per_ton=_fact("btu_per_h_per_ton")),
        look_up=True,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published heat is reproduced."""
    check.hold()


def test_without_an_efficiency_the_own_draw_holds_the_loss() -> None:
    """A switch that states one figure for itself leaves that as heat, and the rest goes out by its ports."""
    assert heat.switch_loss_w(own_w=50, given_w=180) == 50.0
    assert heat.mains_w(own_w=50, given_w=180) == 230.0
    assert heat.switch_loss_w(own_w=50, given_w=180, efficiency=0.9) == pytest.approx(70.0)


@given(own_w=st.floats(0, 500), given_w=st.floats(0, 2000), efficiency=st.floats(0.5, 1))
def test_no_watt_is_lost_or_made(own_w: float, given_w: float, efficiency: float) -> None:
    """What a switch takes is what it gives and what it warms (conservation of energy)."""
    taken = heat.mains_w(own_w=own_w, given_w=given_w, efficiency=efficiency)
    lost = heat.switch_loss_w(own_w=own_w, given_w=given_w, efficiency=efficiency)

    assert taken == pytest.approx(given_w + lost, abs=1e-9)
    assert lost >= own_w - 1e-9


@given(load_w=st.floats(0, 5000), efficiency=st.floats(0.5, 1))
def test_supply_takes_its_load_and_its_loss(load_w: float, efficiency: float) -> None:
    """Load and loss together are what comes in, and a better supply warms less."""
    lost = heat.supply_loss_w(load_w=load_w, efficiency=efficiency)

    assert (load_w + lost) * efficiency == pytest.approx(load_w, abs=1e-9)
    assert heat.supply_loss_w(load_w=load_w, efficiency=1) == 0.0


REFUSED = [
    *(
        Refused(
            possible=partial(function, own_w=50, given_w=180, efficiency=0.9),
            above_zero="efficiency",
            zero_or_more="own_w given_w",
            wrong=(("efficiency", 1.01),),
        )
        for function in (heat.mains_w, heat.switch_loss_w)
    ),
    Refused(
        possible=partial(heat.supply_loss_w, load_w=850, efficiency=0.85),
        above_zero="efficiency",
        zero_or_more="load_w",
        wrong=(("efficiency", 1.01),),
    ),
    Refused(
        possible=partial(heat.btu_per_h, lost_w=1500, btu_per_h_per_w=3.412),
        above_zero="btu_per_h_per_w",
        zero_or_more="lost_w",
    ),
    Refused(
        possible=partial(heat.cooling_tons, btu_per_h=5118, btu_per_h_per_ton=12000),
        above_zero="btu_per_h_per_ton",
        zero_or_more="btu_per_h",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
