"""Voltage drop: point to point, end of line, class A, longest run and smallest gauge."""

from __future__ import annotations

import math
from functools import partial

import pytest

from estimator.calc import dc_circuit
from estimator.calc.conductor import ohm_per_m_from_kft
from estimator.calc.dc_circuit import Tap
from estimator.calc.ladder import Load, solve
from tests.calc.copper import FOOT, nec, solid
from tests.calc.refusals import Refused
from tests.calc.test_dc_published import least_volts, start_volts


def four_appliances() -> list[Tap]:
    """Return a circuit by its loop resistances: segments of half an ohm a meter and conductor."""
    ohms, amperes = (0.52, 0.31, 0.31, 0.84), (0.094, 0.094, 0.158, 0.177)
    return [Tap(segment_m=ohm, current_a=current_a, minimum_v=16) for ohm, current_a in zip(ohms, amperes, strict=True)]


def test_notification_circuit_point_to_point_and_at_the_end() -> None:
    """19.742520 V at the end, 19.364460 V lumped: closed form, several engines agree."""
    in_place = dc_circuit.point_to_point(source_v=20.4, ohm_per_m=0.5, taps=four_appliances())
    lumped = dc_circuit.end_of_line(source_v=20.4, ohm_per_m=0.5, taps=four_appliances())

    assert in_place is not None
    assert lumped is not None
    assert in_place.places[-1].volts == pytest.approx(19.742520, abs=5e-7)
    assert lumped.places[0].volts == pytest.approx(19.364460, abs=5e-7)
    assert (in_place.worst, in_place.total_a) == (3, pytest.approx(0.523))


def test_four_appliances_on_stranded_wire() -> None:
    """4 x 0.1 A at 80, 40, 40, 40 ft of 16 AWG stranded: the four volts of the printed formula."""
    taps = [Tap(segment_m=feet * FOOT, current_a=0.1) for feet in (80, 40, 40, 40)]
    found = dc_circuit.point_to_point(source_v=20.4, ohm_per_m=nec(16, stranded=True), taps=taps)

    assert found is not None
    volts = [place.volts for place in found.places]
    assert volts == pytest.approx([20.081, 19.961, 19.881, 19.841], abs=5e-4)


def test_lumped_method_of_the_formula_and_of_the_ladder_agree() -> None:
    """The printed end-of-line formula and the one-place ladder are the same number."""
    taps = four_appliances()
    ladder = dc_circuit.end_of_line(source_v=20.4, ohm_per_m=0.5, taps=taps, source_ohm=0.2)
    printed = dc_circuit.end_of_line_v(source_v=20.4, total_a=0.523, length_m=1.98, ohm_per_m=0.5, source_ohm=0.2)

    assert ladder is not None
    assert ladder.places[0].volts == pytest.approx(printed)
    # 0.523 A over 2 x 1.98 m of half an ohm, from a source that doesn't sag where nothing says so.
    assert dc_circuit.end_of_line_v(source_v=20.4, total_a=0.523, length_m=1.98, ohm_per_m=0.5) == pytest.approx(
        19.36446
    )


def test_plain_drops_of_the_trade() -> None:
    """3.992 of 24 V are 16.63 % (training page); 20.4 V less 2 A x 0.37 V/A is 19.66 V (listed unit's manual)."""
    assert dc_circuit.percent_drop(source_v=24, end_v=24 - 3.992) == pytest.approx(16.63, abs=0.005)
    assert dc_circuit.start_v(source_v=20.4, total_a=2, source_ohm=0.37) == pytest.approx(19.66)
    # Ohm's law by hand: half as much again resists as much over two thirds of the wire.
    assert dc_circuit.longest_run_m(length_m=100, ohm_per_m=0.03, largest_ohm_per_m=0.02) == pytest.approx(200 / 3)


def test_lumped_result_is_never_optimistic() -> None:
    """Moving all current to the end loses at least as much."""
    taps = [Tap(segment_m=10, current_a=0.1, power_w=2), Tap(segment_m=30, current_a=0.3)]
    in_place = dc_circuit.point_to_point(source_v=24, ohm_per_m=0.02, taps=taps)
    lumped = dc_circuit.end_of_line(source_v=24, ohm_per_m=0.02, taps=taps)

    assert in_place is not None
    assert lumped is not None
    assert lumped.places[0].volts < in_place.places[-1].volts


def test_worst_device_is_the_one_with_the_least_above_its_own_minimum() -> None:
    """A special appliance near the source can be worse off than the last one."""
    taps = [Tap(segment_m=10, current_a=0.1, minimum_v=20), Tap(segment_m=10, current_a=0.1, minimum_v=16)]
    found = dc_circuit.point_to_point(source_v=20.4, ohm_per_m=0.02, taps=taps)

    assert found is not None
    assert found.worst == 0
    assert found.margin_v == pytest.approx(20.4 - 0.4 * 0.2 - 20)


def test_isolator_adds_its_resistance() -> None:
    """One ohm in series carries the current of everything beyond it."""
    taps = [Tap(segment_m=0, current_a=0.1, series_ohm=1), Tap(segment_m=0, current_a=0.1)]
    found = dc_circuit.point_to_point(source_v=24, ohm_per_m=0.02, taps=taps)

    assert found is not None
    assert found.places[1].volts == pytest.approx(23.8)


def test_lock_that_holds_its_watts_draws_more_current() -> None:
    """6 W at 200 ft of 18 AWG from 12 V: 10.547 V, against 10.723 V for 0.5 A (closed form)."""
    loop_ohm = 2 * 200 * FOOT * ohm_per_m_from_kft(ohm_per_kft=6.385)
    held = dc_circuit.constant_power_v(source_v=12, loop_ohm=loop_ohm, power_w=6)
    found = dc_circuit.point_to_point(
        source_v=12,
        ohm_per_m=ohm_per_m_from_kft(ohm_per_kft=6.385),
        taps=[Tap(segment_m=200 * FOOT, power_w=6)],
    )

    assert held == pytest.approx(10.547, abs=5e-4)
    assert found is not None
    assert found.places[0].volts == pytest.approx(held, rel=1e-12)
    assert found.places[0].load_a == pytest.approx(0.5689, abs=5e-5)
    assert dc_circuit.constant_power_v(source_v=12, loop_ohm=3, power_w=12) == 6.0
    assert dc_circuit.constant_power_v(source_v=12, loop_ohm=3, power_w=12.01) is None
    assert dc_circuit.constant_power_v(source_v=1, loop_ohm=0.001, power_w=251) is None
    assert dc_circuit.constant_power_v(source_v=12, loop_ohm=0, power_w=13) == 12.0
    assert dc_circuit.point_to_point(source_v=12, ohm_per_m=1, taps=[Tap(segment_m=1.5, power_w=13)]) is None


# NEC Chapter 9 Table 8, 14 AWG solid and 12 AWG stranded: closed form to a tenth of a foot.
@pytest.mark.parametrize(("awg", "stranded", "feet"), [(14, False, 358.3), (12, True, 555.6)])
def test_longest_run_by_table_8(awg: int, stranded: bool, feet: float) -> None:
    """20.4 V down to 16 V at 2 A."""
    length_m = dc_circuit.longest_m(
        source_v=start_volts(24), minimum_v=least_volts(24), total_a=2, ohm_per_m=nec(awg, stranded=stranded)
    )

    assert length_m / FOOT == pytest.approx(feet, abs=0.05)


def test_longest_run_at_its_corners() -> None:
    """No current reaches anywhere; a source at its minimum reaches nowhere."""
    reach = partial(dc_circuit.longest_m, minimum_v=16, ohm_per_m=0.02)

    assert reach(source_v=20.4, total_a=0) == math.inf
    assert reach(source_v=16, total_a=1) == 0.0
    assert reach(source_v=17, total_a=1, source_ohm=2) == 0.0


def test_gauge_for_an_allowed_drop() -> None:
    """400 ft, 2 A, 3 V: 12 AWG of the even sizes (20 °C copper, 0.375 ohm per 100 ft of loop)."""
    gauges = {awg: solid(awg) for awg in (10, 12, 14, 16, 18)}

    def works(ohm_per_m: float) -> bool:
        return dc_circuit.drop_v(length_m=400 * FOOT, ohm_per_m=ohm_per_m, current_a=2) < 3

    assert dc_circuit.smallest_gauge(ohm_per_m=gauges, works=works) == 12
    assert dc_circuit.smallest_gauge(ohm_per_m={18: solid(18)}, works=works) is None


def test_class_a_is_worst_with_the_first_or_last_wire_open() -> None:
    """Every opening is solved; each agrees with two plain branches, and the worst is named."""
    taps = four_appliances()
    worst = dc_circuit.class_a_worst(source_v=20.4, ohm_per_m=0.5, taps=taps, return_m=0.4)

    margins = []
    for wire in range(5):
        segments = [*(tap.segment_m for tap in taps), 0.4]
        out = [Load(loop_ohm=segments[i], current_a=taps[i].current_a) for i in range(wire)]
        back = [Load(loop_ohm=segments[i + 1], current_a=taps[i].current_a) for i in range(3, wire - 1, -1)]
        solution = solve(source_v=20.4, branches=[out, back])
        assert solution is not None
        margins.append(min(place.volts for branch in solution for place in branch) - 16)
    assert worst.voltages is not None
    assert worst.voltages.margin_v == pytest.approx(min(margins))
    assert worst.wire == margins.index(min(margins))
    assert worst.wire in (0, 4)


def test_class_a_with_its_return_open_is_class_b() -> None:
    """Opening the last wire leaves the plain circuit, device by device."""
    taps = four_appliances()
    opened = dc_circuit.class_a_opened(source_v=20.4, ohm_per_m=0.5, taps=taps, return_m=9, wire=4)
    plain = dc_circuit.point_to_point(source_v=20.4, ohm_per_m=0.5, taps=taps)

    assert plain is not None
    assert opened.voltages == plain


def test_class_a_that_cannot_be_fed_is_the_worst() -> None:
    """An opening without a solution counts as worse than any voltage."""
    taps = [Tap(segment_m=1, power_w=20), Tap(segment_m=1, power_w=20)]
    worst = dc_circuit.class_a_worst(source_v=24, ohm_per_m=0.5, taps=taps, return_m=100)

    assert worst.voltages is None
    assert worst.wire < 2


def test_circuit_without_a_device_is_refused() -> None:
    """There are no volts to judge."""
    for method in (dc_circuit.point_to_point, dc_circuit.end_of_line):
        with pytest.raises(ValueError, match="without a device"):
            method(source_v=24, ohm_per_m=0.02, taps=[])
    with pytest.raises(ValueError, match="wire 2 is not one of 0 to 1"):
        dc_circuit.class_a_opened(source_v=24, ohm_per_m=0.02, taps=[Tap(segment_m=1)], return_m=1, wire=2)


def test_lumped_load_is_held_to_the_highest_minimum() -> None:
    """Moved to the end, the device that needs most decides: 24 V less 0.4 A times 1 ohm, less 20 V."""
    taps = [Tap(segment_m=10, current_a=0.2, minimum_v=20), Tap(segment_m=10, current_a=0.2, minimum_v=16)]
    found = dc_circuit.end_of_line(source_v=24, ohm_per_m=0.025, taps=taps)

    assert found is not None
    assert found.margin_v == pytest.approx(24 - 0.4 - 20, rel=1e-12)


def test_class_a_fed_through_its_return_alone() -> None:
    """The first wire open: 100 m back to the last device, then 30 m to the first (Ohm's law, by hand).

    The isolator of the last device stands in the wire between the two, that of the first in the open one.
    """
    taps = [
        Tap(segment_m=10, current_a=0.5, series_ohm=7),
        Tap(segment_m=30, current_a=0.3, minimum_v=16, series_ohm=2),
    ]
    opened = dc_circuit.class_a_opened(source_v=24, ohm_per_m=0.01, taps=taps, return_m=100, wire=0)

    last_v = 24 - 0.8 * 2 * 100 * 0.01
    first_v = last_v - 0.5 * (2 * 30 * 0.01 + 2)
    assert opened.voltages is not None
    assert [place.volts for place in opened.voltages.places] == pytest.approx([first_v, last_v], rel=1e-12)
    assert [place.load_a for place in opened.voltages.places] == [0.5, 0.3]
    assert (opened.voltages.worst, opened.voltages.margin_v) == (1, pytest.approx(last_v - 16))


def test_thinnest_gauge_is_taken_by_its_resistance_whatever_the_order() -> None:
    """The first that works from the most resistance down, each asked once; nothing to choose from is None."""
    asked: list[float] = []

    def works(ohm_per_m: float) -> bool:
        asked.append(ohm_per_m)
        return ohm_per_m <= 0.013

    gauges = {14: 0.008, 18: 0.021, 12: 0.005, 16: 0.013}
    assert dc_circuit.smallest_gauge(ohm_per_m=gauges, works=works) == 16
    assert asked == [0.021, 0.013]
    assert dc_circuit.smallest_gauge(ohm_per_m={}, works=works) is None


def test_greatest_loop_at_its_corners() -> None:
    """By hand: 24 V, 20 V, 2 A are 2 ohm; sag takes its part, and more than all of it leaves none."""
    loop = partial(dc_circuit.greatest_loop_ohm, source_v=24, minimum_v=20)

    assert loop(current_a=2) == 2.0
    assert loop(current_a=2, source_ohm=0.5) == 1.5
    assert loop(current_a=2, source_ohm=2.5) == 0.0
    assert loop(current_a=2, minimum_v=24) == 0.0
    assert loop(current_a=2, minimum_v=25) == 0.0
    assert loop() == math.inf
    # Down to no volts at all: 24 V over 2 A.
    assert loop(current_a=2, minimum_v=0) == 12.0
    # 48 W at 20 V draw 2.4 A, and 4 V over that are 5/3 ohm.
    assert loop(power_w=48) == pytest.approx(4 / 2.4, rel=1e-12)
    # At 12 V, half of the source's, V²/4P is the last that can be fed: 576 / 192 = 3 ohm.
    assert loop(power_w=48, minimum_v=1) == pytest.approx(3.0, rel=1e-12)
    assert loop(power_w=48, minimum_v=12) == pytest.approx(3.0, rel=1e-12)
    # Half a watt is a load too: 4 V over 0.025 A.
    assert loop(power_w=0.5) == pytest.approx(160, rel=1e-12)
    # 0.5 A and 24 W together at 20 V: 0.5 + 1.2 A over 4 V.
    assert loop(current_a=0.5, power_w=24) == pytest.approx(4 / 1.7, rel=1e-12)
    # Turning volts of 1 A and 24 W: 24 x 24 / (24 + sqrt(24 x 48)) = 9.941 V, where 1 + 24/9.941 A flow.
    turning = 24 * 24 / (24 + math.sqrt(24 * 48))
    assert loop(current_a=1, power_w=24, minimum_v=0) == pytest.approx((24 - turning) / (1 + 24 / turning), rel=1e-12)


def test_largest_resistance_at_its_corners() -> None:
    """None where no wire at all is too much, infinite where a million times the start still works."""
    find = partial(dc_circuit.largest_ohm_per_m, start_ohm_per_m=0.01)

    assert find(works=lambda ohm: False) is None
    assert find(works=lambda ohm: True) == math.inf
    assert find(works=lambda ohm: ohm == 0.0) == pytest.approx(0.0, abs=1e-18)
    # Doubled twenty times is still asked: 0.01 x 2^20 ohm; beyond it nothing is.
    assert find(works=lambda ohm: ohm <= 0.01 * 2**20) == math.inf
    assert find(works=lambda ohm: ohm < 0.01 * 2**20) == pytest.approx(0.01 * 2**20, rel=1e-12)
    asked: list[float] = []
    find(works=lambda ohm: not asked.append(ohm) and ohm <= 0.025)  # type: ignore[func-returns-value]
    assert asked[:5] == [0.0, 0.01, 0.02, 0.04, 0.03]
    assert len(asked) < 100


def test_no_load_is_none_for_class_a_either() -> None:
    """There is nothing to open a loop for."""
    with pytest.raises(ValueError, match="a circuit without a device has no volts to judge"):
        dc_circuit.class_a_worst(source_v=24, ohm_per_m=0.02, taps=[], return_m=1)
    with pytest.raises(ValueError, match="wire 0 is not one of 0 to 0"):
        dc_circuit.class_a_opened(source_v=24, ohm_per_m=0.02, taps=[], return_m=1, wire=0)


def test_equal_openings_and_equal_devices_name_the_first() -> None:
    """A loop with the same length all round is as bad at either end: wire 0 is named, and device 0 of two alike."""
    taps = [Tap(segment_m=10, current_a=0.5), Tap(segment_m=10, current_a=0.5)]
    worst = dc_circuit.class_a_worst(source_v=24, ohm_per_m=0.01, taps=taps, return_m=10)
    beside = dc_circuit.point_to_point(
        source_v=24, ohm_per_m=0.01, taps=[Tap(segment_m=10, current_a=0.1), Tap(segment_m=0, current_a=0.1)]
    )

    assert worst.wire == 0
    assert beside is not None
    assert beside.worst == 0


def test_state_of_a_circuit_behind_a_sagging_source() -> None:
    """By hand: 24 V less 0.5 ohm x 3 A is 22.5 V; 0.2 ohm carry 3 A, then 0.4 ohm and an isolator of 0.1 ohm 1 A."""
    taps = [
        Tap(segment_m=10, current_a=2, minimum_v=15),
        Tap(segment_m=20, current_a=1, minimum_v=16, series_ohm=0.1),
    ]
    found = dc_circuit.point_to_point(source_v=24, ohm_per_m=0.01, taps=taps, source_ohm=0.5)
    lumped = dc_circuit.end_of_line(source_v=24, ohm_per_m=0.01, taps=taps, source_ohm=0.5)

    assert found is not None
    assert lumped is not None
    assert [place.volts for place in found.places] == pytest.approx([21.9, 21.4], rel=1e-12)
    assert [place.wire_a for place in found.places] == [3.0, 1.0]
    assert (found.worst, found.margin_v) == (1, pytest.approx(5.4))
    # Lumped: 3 A over 0.6 and 0.1 ohm, against the higher of the minima.
    assert lumped.places[0].volts == pytest.approx(22.5 - 3 * 0.7, rel=1e-12)
    assert (lumped.total_a, lumped.margin_v) == (3.0, pytest.approx(20.4 - 16))


DEVICES = [Tap(segment_m=10, current_a=0.1), Tap(segment_m=20, current_a=0.2)]
LINE = {"source_v": 24, "ohm_per_m": 0.01, "source_ohm": 0.1}

REFUSED = [
    Refused(
        possible=partial(dc_circuit.drop_v, length_m=30.48, ohm_per_m=4.99 / 304.8, current_a=4),
        zero_or_more="length_m ohm_per_m current_a",
    ),
    Refused(possible=partial(dc_circuit.percent_drop, source_v=24, end_v=18), above_zero="source_v", number="end_v"),
    Refused(
        possible=partial(dc_circuit.start_v, source_v=20.4, total_a=2.0, source_ohm=0.2),
        above_zero="source_v",
        zero_or_more="total_a source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.end_of_line_v, source_v=20.4, total_a=0.523, length_m=0.99, ohm_per_m=1),
        above_zero="source_v",
        zero_or_more="total_a length_m ohm_per_m source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.constant_power_v, source_v=12, loop_ohm=2.554, power_w=6),
        above_zero="source_v",
        zero_or_more="loop_ohm power_w",
    ),
    Refused(
        possible=partial(dc_circuit.longest_m, source_v=20.4, minimum_v=16, total_a=2, ohm_per_m=3.07 / 304.8),
        above_zero="source_v ohm_per_m",
        zero_or_more="minimum_v total_a source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.greatest_loop_ohm, source_v=20.4, minimum_v=16, current_a=2, power_w=1),
        above_zero="source_v",
        zero_or_more="minimum_v current_a power_w source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.largest_ohm_per_m, works=lambda ohm: ohm < 1, start_ohm_per_m=0.01),
        above_zero="start_ohm_per_m",
    ),
    Refused(
        possible=partial(dc_circuit.longest_run_m, length_m=100, ohm_per_m=0.01, largest_ohm_per_m=0.02),
        above_zero="ohm_per_m",
        zero_or_more="length_m largest_ohm_per_m",
    ),
    Refused(
        possible=partial(dc_circuit.smallest_gauge, ohm_per_m={18: 0.021}, works=lambda ohm: ohm < 1),
        wrong=(("ohm_per_m", {18: 0.021, 16: 0.0}), ("ohm_per_m", {18: math.inf})),
    ),
    *(
        Refused(
            possible=partial(method, **LINE, taps=DEVICES),
            above_zero="source_v",
            zero_or_more="ohm_per_m source_ohm",
        )
        for method in (dc_circuit.point_to_point, dc_circuit.end_of_line)
    ),
    Refused(
        possible=partial(dc_circuit.class_a_opened, **LINE, taps=DEVICES, return_m=30, wire=0),
        above_zero="source_v",
        zero_or_more="ohm_per_m source_ohm return_m",
        wrong=(("wire", -1), ("wire", 3)),
    ),
    Refused(
        possible=partial(dc_circuit.class_a_worst, **LINE, taps=DEVICES, return_m=30),
        above_zero="source_v",
        zero_or_more="ohm_per_m source_ohm return_m",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()


@pytest.mark.parametrize(
    ("wrong", "name"),
    [
        (Tap(segment_m=-1), "length_m"),
        (Tap(segment_m=1, current_a=-0.1), "current_a"),
        (Tap(segment_m=1, power_w=math.nan), "power_w"),
        (Tap(segment_m=1, minimum_v=math.nan), "minimum_v"),
        (Tap(segment_m=1, minimum_v=-1), "minimum_v"),
    ],
)
def test_device_that_cannot_be_is_refused(wrong: Tap, name: str) -> None:
    """On a plain circuit, lumped at its end, and in a loop."""
    for method in (dc_circuit.point_to_point, dc_circuit.end_of_line):
        with pytest.raises(ValueError, match=f"{name} must not be below zero"):
            method(source_v=24, ohm_per_m=0.01, taps=[wrong])
    with pytest.raises(ValueError, match=f"{name} must not be below zero"):
        dc_circuit.class_a_worst(source_v=24, ohm_per_m=0.01, taps=[wrong], return_m=1)
