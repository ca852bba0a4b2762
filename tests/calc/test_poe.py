"""Power over Ethernet: the quadratic, the loops of two and four pairs, and the budget."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from estimator.calc import poe
from estimator.reference.lookup import table
from tests.calc.copper import solid
from tests.calc.refusals import Refused
from tests.published import Check

STANDARD = "IEEE 802.3 clauses 33 and 145, watts of source and device; confirmed"
TYPES = "IEEE 802.3 clauses 33 and 145, type limits; confirmed"


def classes() -> tuple[poe.PowerClass, ...]:
    """Return the classes as the table gives them."""
    return tuple(
        poe.PowerClass(
            number=int(row.number("class")),
            source_w=row.number("source_w"),
            device_w=row.number("device_w"),
            powered_pairs=int(row.number("powered_pairs")),
            source_min_v=row.number("source_min_v"),
            device_min_v=row.number("device_min_v"),
        )
        for row in table("poe_classes")
    )


def _worst(number: int) -> poe.Feed:
    row = table("poe_classes").find(**{"class": number})
    return poe.fed_from_source(
        source_v=row.number("source_min_v"), loop_ohm=row.number("loop_ohm"), source_w=row.number("source_w")
    )


def _device_w(number: int) -> float:
    return _worst(number).device_w


def _device_v(number: int) -> float:
    return _worst(number).device_v


def _type_loop(number: int) -> float:
    row = table("poe_types").find(type=number)
    return poe.channel_loop_ohm(
        source_v=row.number("source_min_v"),
        device_v=row.number("device_min_v"),
        current_a=row.number("pairset_max_a"),
    )


def _budget(ports: Mapping[int, float], column: str) -> float:
    rows = [table("poe_classes").find(**{"class": number}) for number in ports]
    return poe.budget_w(ports=list(ports.values()), watts=[row.number(column) for row in rows])


def _needed_a(rated_c: float) -> float:
    shared = poe.conductor_current_a(current_a=90 / 52, powered_pairs=4)
    return shared / poe.ambient_factor(rated_c=rated_c, ambient_c=45, table_ambient_c=30)


def _factor(rated_c: float, ambient_c: float) -> float:
    return poe.ambient_factor(rated_c=rated_c, ambient_c=ambient_c, table_ambient_c=30)


# The standard prints two decimals for classes 1 to 3; class 1 comes to 3.835 and class 5 to 39.94,
# so those two get the whole last digit and the whole watt.
DEVICE_WATTS = [(1, 3.84, 0.01), (2, 6.49, 0.005), (3, 12.95, 0.005), (4, 25.5, 0.05), (6, 51, 0.5)]
DEVICE_WATTS += [(5, 40, 0.5), (7, 62, 0.5), (8, 71.3, 0.05)]

CHECKS = [
    *(
        Check(
            discipline="poe",
            what=f"watts that reach a class {number} device [W]",
            source=STANDARD,
            expected=watts,
            tolerance=tolerance,
            obtained=partial(_device_w, number),
        )
        for number, watts, tolerance in DEVICE_WATTS
    ),
    *(
        Check(
            discipline="poe",
            what=f"volts at a class {number} device at its worst [V]",
            source="IEEE 802.3 clauses 33 and 145, device limits; confirmed, class 6 single",
            expected=volts,
            tolerance=0.05,
            obtained=partial(_device_v, number),
        )
        for number, volts in ((3, 37.0), (4, 42.5), (6, 42.5))
    ),
    # The standard rounds 41.18 V down to 41.1 V, the safe side.
    Check(
        discipline="poe",
        what="volts at a class 8 device at its worst [V]",
        source="IEEE 802.3 clause 145; single",
        expected=41.1,
        tolerance=0.1,
        obtained=partial(_device_v, 8),
    ),
    *(
        Check(
            discipline="poe",
            what=f"channel loop of type {number} [ohm]",
            source=TYPES,
            expected=ohm,
            tolerance=0.05,
            obtained=partial(_type_loop, number),
        )
        for number, ohm in ((1, 20.0), (2, 12.5))
    ),
    *(
        Check(
            discipline="poe",
            what=what,
            source="IEEE 802.3 clauses 33 and 145, class watts; confirmed",
            expected=watts,
            tolerance=0.05,
            obtained=partial(_budget, ports, column),
        )
        for what, ports, column, watts in (
            ("switch allocation of mixed classes [W]", {4: 8, 3: 12, 2: 4}, "source_w", 452.8),
            ("switch allocation of 24 class 3 [W]", {3: 24}, "source_w", 369.6),
            ("device watts of 24 class 3 [W]", {3: 24}, "device_w", 310.8),
        )
    ),
    *(
        Check(
            discipline="poe",
            what=f"tabled current needed for 90 W at 45 °C, {rated_c} °C cable [A]",
            source="NFPA 70-2023, Equation 310.15(B)(1), inputs of IEEE 802.3; confirmed",
            expected=amperes,
            tolerance=5e-5,
            obtained=partial(_needed_a, rated_c),
        )
        for rated_c, amperes in ((60, 0.6119), (75, 0.5299), (90, 0.4996))
    ),
    *(
        Check(
            discipline="poe",
            what=f"ambient factor at {ambient_c} °C, {rated_c} °C cable [unitless]",
            source="NFPA 70-2023, Table 310.15(B)(1); confirmed",
            expected=factor,
            tolerance=0.005,
            obtained=partial(_factor, rated_c, ambient_c),
        )
        for rated_c, ambient_c, factor in ((60, 35, 0.91), (60, 55, 0.41), (75, 45, 0.82), (90, 50, 0.82))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published watt, volt and ohm is reproduced."""
    check.hold()


# Closed form of the quadratic; several engines agree on every digit shown.
@pytest.mark.parametrize(
    ("source_v", "loop_ohm", "device_w", "device_v", "tolerance"),
    [(50, 12.5, 25.5, 42.5, 1e-9), (44, 20, 12.95, 37.0, 1e-9), (52, 6.25, 71.3, 41.178, 5e-4)],
)
def test_device_volts(source_v: float, loop_ohm: float, device_w: float, device_v: float, tolerance: float) -> None:
    """The smaller current root gives the higher of the two device volts."""
    state = poe.feed(source_v=source_v, loop_ohm=loop_ohm, device_w=device_w)

    assert state is not None
    assert state.device_v == pytest.approx(device_v, abs=tolerance)


def test_class_four_at_its_limit_sends_thirty_watts() -> None:
    """50 V, 12.5 ohm, 25.5 W: 0.600 A and 30.000 W (closed form)."""
    state = poe.feed(source_v=50, loop_ohm=12.5, device_w=25.5)

    assert state is not None
    assert state.current_a == pytest.approx(0.6, abs=1e-12)
    assert state.source_w == pytest.approx(30.0, abs=1e-9)
    assert state.cable_loss_w == pytest.approx(4.5, abs=1e-9)


# Ports worked from ASTM B258 copper at 20 °C by hand, to the digits shown.
@pytest.mark.parametrize(
    ("device_w", "source_v", "length_m", "awg", "pairs", "current_a", "device_v", "source_w"),
    [
        (71.3, 55, 80, 23, 4, 1.3903, 51.29, 76.46),
        (51, 54, 95, 24, 4, 1.0218, 49.91, 55.18),
        (12.95, 48, 90, 26, 2, 0.2911, 44.49, 13.97),
    ],
)
def test_port_on_real_cable(
    device_w: float,
    source_v: float,
    length_m: float,
    awg: int,
    pairs: int,
    current_a: float,
    device_v: float,
    source_w: float,
) -> None:
    """Gauge, length and pairs lead to the port's current, volts and watts."""
    loop = poe.loop_ohm(length_m=length_m, ohm_per_m=solid(awg), powered_pairs=pairs)
    state = poe.feed(source_v=source_v, loop_ohm=loop, device_w=device_w)

    assert state is not None
    assert state.current_a == pytest.approx(current_a, abs=1e-4)
    assert state.device_v == pytest.approx(device_v, abs=0.005)
    assert state.source_w == pytest.approx(source_w, abs=0.005)


@given(
    source_v=st.floats(20, 60),
    loop_ohm=st.floats(0.01, 30),
    share=st.floats(0.001, 0.98),
)
def test_root_agrees_with_an_independent_solver(source_v: float, loop_ohm: float, share: float) -> None:
    """A bracketing root finder meets the same device volts, on the upper branch."""
    device_w = share * source_v**2 / (4 * loop_ohm)
    state = poe.feed(source_v=source_v, loop_ohm=loop_ohm, device_w=device_w)

    root = brentq(lambda v: v + loop_ohm * device_w / v - source_v, source_v / 2, source_v, xtol=1e-13)
    assert state is not None
    assert state.device_v == pytest.approx(root, rel=1e-9)
    assert state.source_w == pytest.approx(state.device_w + state.cable_loss_w, rel=1e-12)


def test_load_beyond_the_cable_has_no_answer() -> None:
    """30 ohm at 50 V carries 20.8 W at most, so 25.5 W has no solution, and not NaN."""
    assert poe.feed(source_v=50, loop_ohm=30, device_w=25.5) is None
    assert poe.feed(source_v=1, loop_ohm=0.001, device_w=251) is None


def test_largest_load_is_fed_and_the_next_is_not() -> None:
    """V²/4R is the last load with a solution: half the volts, half the watts lost."""
    at_limit = poe.feed(source_v=50, loop_ohm=25, device_w=25)

    assert at_limit is not None
    assert at_limit.device_v == pytest.approx(25)
    assert poe.feed(source_v=50, loop_ohm=25, device_w=25.0000001) is None


def test_no_cable_and_no_load() -> None:
    """Without resistance nothing is lost, without a load nothing flows."""
    bare = poe.feed(source_v=48, loop_ohm=0, device_w=12)
    idle = poe.feed(source_v=48, loop_ohm=10, device_w=0)

    assert bare is not None
    assert (bare.device_v, bare.cable_loss_w, bare.current_a) == (48.0, 0.0, 0.25)
    assert idle is not None
    assert (idle.device_v, idle.source_w) == (48.0, 0.0)


def test_four_pairs_halve_the_loop() -> None:
    """The loop of four pairs is half that of two, and each conductor carries a quarter."""
    two = poe.loop_ohm(length_m=100, ohm_per_m=solid(24), powered_pairs=2)
    four = poe.loop_ohm(length_m=100, ohm_per_m=solid(24), powered_pairs=4)

    assert two == pytest.approx(2 * four)
    assert two == pytest.approx(8.42151, abs=5e-6)  # 100 m of 24 AWG, closed form
    assert poe.conductor_current_a(current_a=1.2, powered_pairs=2) == 0.6


def test_three_pairs_are_refused() -> None:
    """There is two-pair and four-pair power and nothing between."""
    with pytest.raises(ValueError, match="powered_pairs must be 2 or 4, not 3"):
        poe.loop_ohm(length_m=1, ohm_per_m=0.1, powered_pairs=3)
    with pytest.raises(ValueError, match="powered_pairs must be 2 or 4, not 3"):
        poe.conductor_current_a(current_a=1, powered_pairs=3)


def test_watts_that_would_all_stay_in_the_cable_are_refused() -> None:
    """44 V and 11 W are 0.25 A: 176 ohm takes all of it, more takes more than there is (Joule's law)."""
    assert poe.fed_from_source(source_v=44, loop_ohm=176, source_w=11).device_w == 0.0
    with pytest.raises(ValueError, match=r"source_w 11 would all be lost in loop_ohm 176\.1"):
        poe.fed_from_source(source_v=44, loop_ohm=176.1, source_w=11)


def test_source_must_be_above_what_the_device_needs() -> None:
    """No loop is short enough for a port at the device's own least volts."""
    with pytest.raises(ValueError, match="source_v 37 is not above device_min_v 37"):
        poe.most_loop_ohm(source_v=37, device_w=12.95, device_min_v=37)


def test_ambient_at_the_rating_is_refused() -> None:
    """A cable as warm as its rating bears no current; neither figure may be there."""
    for wrong in ({"ambient_c": 60}, {"table_ambient_c": 60}):
        with pytest.raises(ValueError, match="must be above zero, not 0"):
            poe.ambient_factor(**({"rated_c": 60, "ambient_c": 45, "table_ambient_c": 30} | wrong))


def test_longest_loop_meets_the_minimum_exactly() -> None:
    """At the largest loop the device has its least volts; half the source is the floor."""
    loop = poe.most_loop_ohm(source_v=48, device_w=12.95, device_min_v=37)
    state = poe.feed(source_v=48, loop_ohm=loop, device_w=12.95)

    assert state is not None
    assert state.device_v == pytest.approx(37)
    assert poe.most_loop_ohm(source_v=48, device_w=0, device_min_v=37) == math.inf
    assert poe.most_loop_ohm(source_v=48, device_w=24, device_min_v=5) == pytest.approx(24)


# IEEE 802.3 device watts: 12.95 is still class 3, a hair more is class 4; over 71.3 there is none.
@pytest.mark.parametrize(
    ("device_w", "number"), [(0.0, 1), (3.84, 1), (6.49, 2), (6.5, 3), (12.95, 3), (12.96, 4), (71.3, 8)]
)
def test_class_that_covers_a_draw(device_w: float, number: int) -> None:
    """The first class by allocation covers the draw, its own limit included."""
    ranked = [one for one in classes() if one.number != 0]

    found = poe.class_for(device_w=device_w, classes=ranked)
    assert found is not None
    assert found.number == number
    assert poe.class_for(device_w=device_w, classes=ranked[::-1]) == found
    assert poe.class_for(device_w=71.4, classes=ranked) is None
    with pytest.raises(ValueError, match="device_w must not be below zero, not -1"):
        poe.class_for(device_w=-1, classes=ranked)


def test_empty_switch_allocates_nothing() -> None:
    """No ports, no watts; lists of two lengths are refused."""
    assert poe.budget_w(ports=[], watts=[]) == 0.0
    with pytest.raises(ValueError, match="sumproduct of 1 and 2"):
        poe.budget_w(ports=[1], watts=[15.4, 30])


REFUSED = [
    Refused(
        possible=partial(poe.feed, source_v=50, loop_ohm=30, device_w=25.5),
        above_zero="source_v",
        zero_or_more="loop_ohm device_w",
    ),
    Refused(
        possible=partial(poe.fed_from_source, source_v=44, loop_ohm=20, source_w=15.4),
        above_zero="source_v",
        zero_or_more="loop_ohm source_w",
    ),
    Refused(possible=partial(poe.channel_loop_ohm, source_v=50, device_v=42.5, current_a=0.6), above_zero="current_a"),
    Refused(
        possible=partial(poe.most_loop_ohm, source_v=50, device_w=25.5, device_min_v=42.5),
        above_zero="source_v",
        zero_or_more="device_w device_min_v",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
