"""Power over Ethernet: the quadratic, the loops of two and four pairs, and the budget."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal, localcontext
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


def _by_quadratic(number: int) -> poe.Feed:
    """Return a port of a class from the device's end: its watts over the longest channel."""
    row = table("poe_classes").find(**{"class": number})
    state = poe.feed(
        source_v=row.number("source_min_v"), loop_ohm=row.number("loop_ohm"), device_w=row.number("device_w")
    )
    assert state is not None
    return state


def _pairset_a(number: int) -> float:
    row = table("poe_types").find(type=number)
    most = max(int(one.number("powered_pairs")) for one in table("poe_classes") if one.number("lowest_type") == number)
    whole_a = poe.CURRENT_FROM_SOURCE(source_w=row.number("source_w"), source_v=row.number("source_min_v"))
    return poe.pairset_current_a(current_a=whole_a, powered_pairs=most)


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
    row = table("poe_classes").find(**{"class": 8})
    return poe.table_current_a(
        source_w=row.number("source_w"),
        source_v=row.number("source_min_v"),
        powered_pairs=int(row.number("powered_pairs")),
        rated_c=rated_c,
        ambient_c=45,
        table_ambient_c=table("poe_facts").find(name="code_table_ambient").number("value"),
    )


def _class_8_conductor_a() -> float:
    row = table("poe_classes").find(**{"class": 8})
    whole_a = poe.CURRENT_FROM_SOURCE(source_w=row.number("source_w"), source_v=row.number("source_min_v"))
    return poe.conductor_current_a(current_a=whole_a, powered_pairs=int(row.number("powered_pairs")))


def _factor(rated_c: float, ambient_c: float) -> float:
    return poe.ambient_factor(rated_c=rated_c, ambient_c=ambient_c, table_ambient_c=30)


# The standard prints two decimals for classes 1 to 3; class 1 comes to 3.8347, which rounds to
# 3.83, so it gets a little more than half its last digit.
DEVICE_WATTS = [(1, 3.84, 0.006), (2, 6.49, 0.005), (3, 12.95, 0.005), (4, 25.5, 0.05), (6, 51, 0.5)]
DEVICE_WATTS += [(5, 40, 0.5), (7, 62, 0.5), (8, 71.3, 0.05)]

# NFPA 70-2023, Table 310.15(B)(1), 30 °C column: factors at the top of each band of ambient.
AMBIENT_FACTORS = {
    60: (0.91, 0.82, 0.71, 0.58, 0.41),
    75: (0.94, 0.88, 0.82, 0.75, 0.67),
    90: (0.96, 0.91, 0.87, 0.82, 0.76),
}

SOURCE_WATTS = [(0, 15.4, 0.05), (1, 4.0, 0.05), (2, 7.0, 0.05), (3, 15.4, 0.05)]
SOURCE_WATTS += [(4, 30, 0.5), (5, 45, 0.5), (6, 60, 0.5), (7, 75, 0.5), (8, 90, 0.5)]

# Ports worked by hand from the printed resistance of one conductor [ohm/m]: watts at the device, volts of the
# port, length, conductor, pairs, then loop, amperes, volts at the device, watts of the port and in the cable.
PORTS = {
    "class 8 on 80 m of 23 AWG": ((71.3, 55, 80, 0.0668, 4), (2.672, 1.3903, 51.29, 76.46, 5.16)),
    "class 6 on 95 m of 24 AWG": ((51, 54, 95, 0.08422, 4), (4.000, 1.0218, 49.91, 55.18, 4.18)),
    "class 3 on 90 m of 26 AWG": ((12.95, 48, 90, 0.13392, 2), (12.053, 0.2911, 44.49, 13.97, 1.02)),
    "class 4 on cable at its limit": ((25.5, 50, 100, 0.0938, 2), (9.38, 0.5712, 44.64, 28.56, 3.06)),
    "class 6 on cable at its limit": ((51, 50, 100, 0.0938, 4), (4.69, 1.1424, 44.64, 57.12, 6.12)),
}
PORT_FIGURES = ("loop_ohm", "current_a", "device_v", "source_w", "cable_loss_w")


def _port(name: str, figure: str) -> float:
    device_w, source_v, length_m, ohm_per_m, pairs = PORTS[name][0]
    loop = poe.loop_ohm(length_m=length_m, ohm_per_m=ohm_per_m, powered_pairs=int(pairs))
    state = poe.feed(source_v=source_v, loop_ohm=loop, device_w=device_w)
    assert state is not None
    return loop if figure == "loop_ohm" else float(getattr(state, figure))


CHECKS = [
    *(
        Check(
            discipline="poe",
            what=f"{figure} of {name}",
            source="worked example after the loss model of IEEE 802.3 clauses 33 and 145; computed",
            expected=expected,
            tolerance=5e-4 if figure == "loop_ohm" else 5e-5 if figure == "current_a" else 0.005,
            obtained=partial(_port, name, figure),
        )
        for name, (_, figures) in PORTS.items()
        for figure, expected in zip(PORT_FIGURES, figures, strict=True)
    ),
    *(
        Check(
            discipline="poe",
            what=f"watts that reach a class {number} device [W]",
            source=STANDARD,
            expected=watts,
            tolerance=tolerance,
            why="3.8347 W stand in the standard as 3.84 W" if number == 1 else "",
            obtained=partial(_device_w, number),
        )
        for number, watts, tolerance in DEVICE_WATTS
    ),
    *(
        Check(
            discipline="poe",
            what=f"volts at a class {number} device at its worst [V]",
            source=f"IEEE 802.3 clauses 33 and 145, device limits; {trust}",
            expected=volts,
            tolerance=0.05,
            obtained=partial(_device_v, number),
        )
        for number, volts, trust in ((3, 37.0, "confirmed"), (4, 42.5, "confirmed"), (6, 42.5, "single"))
    ),
    Check(
        discipline="poe",
        what="volts at a class 8 device at its worst [V]",
        source="IEEE 802.3 clause 145; single",
        expected=41.1,
        tolerance=0.1,
        why="the standard cuts 41.18 V down to 41.1 V: a device must still work there",
        obtained=partial(_device_v, 8),
    ),
    # From the other end: the quadratic over the device's watts gives the watts that the class reserves.
    *(
        Check(
            discipline="poe",
            what=f"watts that a class {number} port gives, from its device's [W]",
            source=STANDARD,
            expected=watts,
            tolerance=tolerance,
            obtained=lambda number=number: _by_quadratic(number).source_w,  # type: ignore[misc]
        )
        for number, watts, tolerance in SOURCE_WATTS
    ),
    *(
        Check(
            discipline="poe",
            what=f"volts at a class {number} device over the longest channel, by the quadratic [V]",
            source=f"IEEE 802.3 clauses 33 and 145, device limits; {trust}",
            expected=volts,
            tolerance=0.05,
            obtained=lambda number=number: _by_quadratic(number).device_v,  # type: ignore[misc]
        )
        for number, volts, trust in ((0, 37.0, "confirmed"), (4, 42.5, "confirmed"), (6, 42.5, "single"))
    ),
    *(
        Check(
            discipline="poe",
            what=f"current of a pairset of type {number} [A]",
            source=TYPES,
            expected=0.35 if number == 1 else 0.6,
            tolerance=0.0005,
            obtained=partial(_pairset_a, number),
        )
        for number in (1, 2, 3)
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
    Check(
        discipline="poe",
        what="current of each conductor of a class 8 port at 52 V [A]",
        source="IEEE 802.3 clause 145, watts and least volts of the class; confirmed",
        expected=0.4327,
        tolerance=5e-5,
        obtained=_class_8_conductor_a,
    ),
    *(
        Check(
            discipline="poe",
            what=f"ambient factor at 45 °C, {rated_c} °C cable, four digits [unitless]",
            source="NFPA 70-2023, Equation 310.15(B)(1); confirmed",
            expected=factor,
            tolerance=5e-5,
            obtained=partial(_factor, rated_c, 45),
        )
        for rated_c, factor in ((60, 0.7071), (75, 0.8165), (90, 0.8660))
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
        for rated_c, factors in AMBIENT_FACTORS.items()
        for ambient_c, factor in zip((35, 40, 45, 50, 55), factors, strict=True)
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


# Closed form of IEEE 802.3 clause 33, class 4: 30 W at 50 V are 0.6 A; 12.5 ohm take 4.5 W and 7.5 V of it.
def test_known_watts_of_a_port_give_its_whole_state() -> None:
    """Current, both ends and what is lost between them."""
    state = poe.fed_from_source(source_v=50, loop_ohm=12.5, source_w=30)

    assert state == poe.Feed(current_a=0.6, device_v=42.5, device_w=25.5, source_w=30, cable_loss_w=4.5)


def test_source_must_be_above_what_the_device_needs() -> None:
    """No loop is short enough for a port at the device's own least volts."""
    with pytest.raises(ValueError, match="source_v 37 is not above device_min_v 37"):
        poe.most_loop_ohm(source_v=37, device_w=12.95, device_min_v=37)


def test_ambient_at_the_rating_is_refused() -> None:
    """A cable as warm as its rating bears no current; neither figure may be there."""
    for wrong in ({"ambient_c": 60}, {"table_ambient_c": 60}):
        with pytest.raises(ValueError, match="_c 60 is not below rated_c 60"):
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
    assert poe.class_for(device_w=device_w, classes=classes()) == found, "class 0 is no class of a known draw"
    with pytest.raises(ValueError, match="device_w must not be below zero, not -1"):
        poe.class_for(device_w=-1, classes=ranked)


def test_empty_switch_allocates_nothing() -> None:
    """No ports, no watts; lists of two lengths are refused."""
    assert poe.budget_w(ports=[], watts=[]) == 0.0
    with pytest.raises(ValueError, match="sumproduct of 1 and 2"):
        poe.budget_w(ports=[1], watts=[15.4, 30])


def test_volts_held_are_the_greatest_of_three() -> None:
    """The device's own minimum, half the source, or what the class's watts at the port leave (Ohm's law)."""
    held = partial(poe.held_v, source_v=50, device_w=20, device_min_v=30, source_w=40)

    assert held() == 30.0
    assert held(device_min_v=20) == 25.0  # half of 50 V, and 50 x 20/40
    assert held(device_min_v=20, device_w=10) == 25.0
    assert held(device_w=36) == 45.0  # 36 W of 40 W: nine tenths of the volts
    assert held(source_v=100, device_w=0) == 50.0


def test_at_the_volts_held_the_port_gives_just_its_class() -> None:
    """IEEE 802.3: 25.5 W from a 57 V port that need give no more than 30 W: 48.45 V, 0.526 A."""
    volts = poe.held_v(source_v=57, device_w=25.5, device_min_v=42.5, source_w=30)
    loop = poe.most_loop_ohm(source_v=57, device_w=25.5, device_min_v=volts)
    state = poe.feed(source_v=57, loop_ohm=loop, device_w=25.5)

    assert state is not None
    assert state.source_w == pytest.approx(30, abs=1e-9)
    assert state.current_a == pytest.approx(30 / 57, abs=1e-12)


# 50 V, 40 V held and 40 W: (50 - 40) x 40/40 is a loop of 10 ohm (Ohm's law).
HELD_RUN: dict[str, float] = {"source_v": 50, "held_v": 40, "device_w": 40, "ohm_per_m": 0.08}


def test_longest_run_and_thinnest_conductor_meet_the_largest_loop() -> None:
    """Put back in, both give the loop again; four pairs reach twice as far as two (circuit theory)."""
    for pairs in (2, 4):
        length = poe.longest_run_m(**HELD_RUN, powered_pairs=pairs)
        conductor = poe.most_ohm_per_m(most_loop_ohm=10, length_m=120, powered_pairs=pairs)

        assert poe.loop_ohm(length_m=length, ohm_per_m=0.08, powered_pairs=pairs) == pytest.approx(10)
        assert poe.loop_ohm(length_m=120, ohm_per_m=conductor, powered_pairs=pairs) == pytest.approx(10)
    assert poe.longest_run_m(**HELD_RUN, powered_pairs=2) == pytest.approx(125)
    assert poe.longest_run_m(**HELD_RUN, powered_pairs=4, cords_m=10) == pytest.approx(240)


def test_no_run_is_short_enough() -> None:
    """Cords alone may use up the loop, and a port may have too few volts without any cable."""
    assert poe.longest_run_m(**HELD_RUN, powered_pairs=2, cords_m=125) == 0.0
    assert poe.longest_run_m(**HELD_RUN, powered_pairs=2, cords_m=126) == 0.0
    assert poe.longest_run_m(**HELD_RUN | {"held_v": 51.0}, powered_pairs=2) == 0.0


# A class 8 port at its least volts: 90 W / 52 V is 1.7308 A, half of it in a pairset (IEEE 802.3, computed).
def test_pairset_carries_half_of_four_pairs_and_all_of_two() -> None:
    """The type limits the current of one pairset, which is two pairs."""
    assert poe.pairset_current_a(current_a=90 / 52, powered_pairs=4) == pytest.approx(0.865, abs=0.0005)
    assert poe.pairset_current_a(current_a=0.35, powered_pairs=2) == 0.35
    assert poe.conductor_current_a(current_a=0, powered_pairs=2) == 0.0


def test_no_device_volts_above_the_source() -> None:
    """A loop of nothing leaves the source's volts, and no more."""
    assert poe.channel_loop_ohm(source_v=50, device_v=50, current_a=0.6) == 0.0
    with pytest.raises(ValueError, match=r"device_v 50\.1 is above source_v 50"):
        poe.channel_loop_ohm(source_v=50, device_v=50.1, current_a=0.6)


@given(source_v=st.floats(44, 57), loop_ohm=st.floats(0.01, 12.5), device_w=st.floats(0.1, 25.5))
def test_quadratic_agrees_with_fifty_digits(source_v: float, loop_ohm: float, device_w: float) -> None:
    """The textbook root in fifty decimal digits gives the same current."""
    state = poe.feed(source_v=source_v, loop_ohm=loop_ohm, device_w=device_w)
    with localcontext() as exact:
        exact.prec = 50
        volts, ohm, watts = Decimal(source_v), Decimal(loop_ohm), Decimal(device_w)
        current = (volts - (volts * volts - 4 * ohm * watts).sqrt()) / (2 * ohm)

    assert state is not None
    assert state.current_a == pytest.approx(float(current), rel=1e-12)


@given(
    length_m=st.floats(0, 150), more_m=st.floats(0, 50), device_w=st.floats(0.1, 71.3), pairs=st.sampled_from((2, 4))
)
def test_more_cable_never_brings_more_volts(length_m: float, more_m: float, device_w: float, pairs: int) -> None:
    """A longer run has no less resistance, no more volts at its end and no smaller draw at the port."""
    short, long = (
        poe.feed(
            source_v=52,
            loop_ohm=poe.loop_ohm(length_m=meters, ohm_per_m=0.0842, powered_pairs=pairs),
            device_w=device_w,
        )
        for meters in (length_m, length_m + more_m)
    )

    if short is None:
        assert long is None
    elif long is not None:
        assert long.device_v <= short.device_v
        assert long.source_w >= short.source_w * (1 - 1e-12)
        assert long.cable_loss_w >= short.cable_loss_w


@given(
    source_v=st.floats(44, 57), device_w=st.floats(0.5, 71.3), device_min_v=st.floats(0, 43), share=st.floats(0.01, 1)
)
def test_any_shorter_loop_than_the_largest_works(
    source_v: float, device_w: float, device_min_v: float, share: float
) -> None:
    """Up to the largest loop the device has its least volts, and at it exactly those or half the source's."""
    loop = poe.most_loop_ohm(source_v=source_v, device_w=device_w, device_min_v=device_min_v)
    at_most = poe.feed(source_v=source_v, loop_ohm=loop, device_w=device_w)
    shorter = poe.feed(source_v=source_v, loop_ohm=share * loop, device_w=device_w)

    assert at_most is not None
    assert shorter is not None
    assert at_most.device_v == pytest.approx(max(device_min_v, source_v / 2), rel=1e-6)  # a square root near zero
    assert shorter.device_v >= at_most.device_v * (1 - 1e-6)


@given(ports=st.lists(st.tuples(st.integers(0, 48), st.floats(0, 90)), max_size=9))
def test_one_more_port_never_lowers_the_budget(ports: list[tuple[int, float]]) -> None:
    """What is reserved only grows with ports."""
    counts, watts = [float(count) for count, _ in ports], [each for _, each in ports]

    before = poe.budget_w(ports=counts, watts=watts)
    assert poe.budget_w(ports=[*counts, 1.0], watts=[*watts, 15.4]) == pytest.approx(before + 15.4)


PAIRS = (("powered_pairs", 0), ("powered_pairs", 1), ("powered_pairs", 3), ("powered_pairs", 8))

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
    Refused(
        possible=partial(poe.channel_loop_ohm, source_v=50, device_v=42.5, current_a=0.6),
        above_zero="source_v device_v current_a",
    ),
    Refused(
        possible=partial(poe.loop_ohm, length_m=80, ohm_per_m=0.0668, powered_pairs=4),
        zero_or_more="length_m ohm_per_m",
        wrong=PAIRS,
    ),
    Refused(
        possible=partial(poe.conductor_current_a, current_a=1.2, powered_pairs=4),
        zero_or_more="current_a",
        wrong=PAIRS,
    ),
    Refused(
        possible=partial(poe.pairset_current_a, current_a=1.2, powered_pairs=4), zero_or_more="current_a", wrong=PAIRS
    ),
    Refused(
        possible=partial(poe.held_v, source_v=50, device_w=25.5, device_min_v=42.5, source_w=30),
        above_zero="source_v source_w",
        zero_or_more="device_w device_min_v",
    ),
    Refused(
        possible=partial(poe.longest_run_m, **HELD_RUN, powered_pairs=2),
        above_zero="source_v held_v device_w ohm_per_m",
        zero_or_more="cords_m",
        wrong=PAIRS,
    ),
    Refused(
        possible=partial(poe.most_ohm_per_m, most_loop_ohm=12.5, length_m=100, powered_pairs=2),
        above_zero="most_loop_ohm length_m",
        wrong=PAIRS,
    ),
    Refused(
        possible=partial(poe.budget_w, ports=[8, 12], watts=[30, 15.4]),
        wrong=(("ports", [8, -1]), ("watts", [30, -15.4]), ("watts", [30, math.nan])),
    ),
    Refused(possible=partial(poe.class_for, device_w=9.6, classes=classes()), zero_or_more="device_w"),
    Refused(
        possible=partial(poe.ambient_factor, rated_c=60, ambient_c=45, table_ambient_c=30),
        number="rated_c ambient_c table_ambient_c",
        wrong=(("ambient_c", 60.0), ("table_ambient_c", 61.0), ("rated_c", 45.0)),
    ),
    Refused(
        possible=partial(
            poe.table_current_a,
            source_w=90,
            source_v=52,
            powered_pairs=4,
            rated_c=60,
            ambient_c=45,
            table_ambient_c=30,
        ),
        above_zero="source_v",
        zero_or_more="source_w",
        number="rated_c ambient_c table_ambient_c",
        wrong=PAIRS,
    ),
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
