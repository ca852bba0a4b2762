"""Voltage drop: point to point, end of line, class A, longest run and smallest gauge."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial

import pytest

from estimator.calc import dc_circuit
from estimator.calc.conductor import ohm_per_m_from_kft
from estimator.calc.dc_circuit import Tap
from estimator.calc.ladder import Load, solve
from estimator.reference.lookup import table
from estimator.units.rounding import over
from tests.calc.copper import FOOT, nec, solid
from tests.calc.refusals import Refused
from tests.published import Check

MANUAL = "installation manual of a listed control unit, equation method; single"
GUIDE = "owner's manuals of two listed control units, wire selection guide; single"
LOCK_CHART = "access-control lock maker's wire chart, 5 % at the end; single"
TRAINING = "electrical training page on voltage drop, NEC Chapter 9 Table 8; single"


def _start(nominal_v: float) -> float:
    return table("nac_start").find(nominal_v=nominal_v).number("start_v")


def _least(nominal_v: float) -> float:
    return table("nac_appliance_range").find(nominal_v=nominal_v).number("minimum_v")


def _longest_ft(source_v: float, source_ohm: float) -> float:
    length_m = dc_circuit.longest_m(
        source_v=source_v,
        minimum_v=_least(24),
        total_a=20 * 0.1,
        ohm_per_m=0.002 / FOOT,
        source_ohm=source_ohm,
    )
    return length_m / FOOT


def _loop_ft(awg: int, current_a: float) -> float:
    """Return both conductors' length for one volt of drop, as the guide prints it."""
    one_way_m = dc_circuit.longest_m(source_v=21.4, minimum_v=20.4, total_a=current_a, ohm_per_m=nec(awg, coated=True))
    return 2 * one_way_m / FOOT


def _chart_gauge(source_v: float, current_a: float, length_ft: float) -> float:
    gauges: Mapping[int, float] = {awg: solid(awg) for awg in (20, 18, 16, 14)}
    limit = table("dc_drop_practice").find(use="lock").number("max_percent")

    def works(ohm_per_m: float) -> bool:
        lost = dc_circuit.drop_v(length_m=length_ft * FOOT, ohm_per_m=ohm_per_m, current_a=current_a)
        return not over(dc_circuit.percent_drop(source_v=source_v, end_v=source_v - lost), limit)

    found = dc_circuit.smallest_gauge(ohm_per_m=gauges, works=works)
    return math.nan if found is None else found


def _trained_drop_v() -> float:
    return dc_circuit.drop_v(length_m=100 * FOOT, ohm_per_m=nec(16, stranded=True), current_a=4)


CHECKS = [
    *(
        Check(
            discipline="dc_circuit",
            what=f"longest notification circuit from {source_v} V, sag {sag} V/A [ft]",
            source=MANUAL,
            expected=feet,
            tolerance=tolerance,
            obtained=partial(_longest_ft, source_v, sag),
        )
        # The second one is printed with its decimals cut: 457.5 becomes 457.
        for source_v, sag, feet, tolerance in (
            (20.4, 0.20, 500, 0.5),
            (20.4, 0.37, 457, 1.0),
            (22.4, 0.0, 800, 0.5),
        )
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"loop for 1 V at {current_a} A, {awg} AWG coated [ft]",
            source=GUIDE,
            expected=feet,
            tolerance=1.0,  # the guide cuts the decimals off
            obtained=partial(_loop_ft, awg, current_a),
        )
        for awg, current_a, feet in (
            (18, 0.1, 1237),
            (18, 1.5, 82),
            (16, 0.5, 393),
            (14, 0.75, 417),
            (12, 0.1, 4975),
            (12, 1.5, 331),
        )
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"thinnest gauge for {current_a} A at {length_ft} ft, {source_v} V [AWG]",
            source=LOCK_CHART,
            expected=awg,
            tolerance=0.0,
            obtained=partial(_chart_gauge, source_v, current_a, length_ft),
        )
        # Cells that hold the chart's own 5 %; it rounds others in its favor, up to 8.4 %.
        for source_v, current_a, length_ft, awg in (
            (12, 0.25, 150, 18),
            (12, 0.25, 250, 16),
            (12, 0.5, 50, 20),
            (12, 0.5, 75, 18),
            (12, 0.75, 150, 14),
            (12, 1.0, 100, 14),
            (24, 0.25, 300, 18),
            (24, 0.5, 150, 18),
            (24, 0.75, 300, 14),
            (24, 1.0, 75, 18),
        )
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 4 A over 100 ft of 16 AWG stranded [V]",
        source=TRAINING,
        expected=4.0,
        tolerance=0.05,
        obtained=_trained_drop_v,
    ),
    # The page takes 4.0 V over 24 V; with 3.992 V it is 16.63 %.
    Check(
        discipline="dc_circuit",
        what="the same drop against 24 V [%]",
        source=TRAINING,
        expected=16.7,
        tolerance=0.1,
        obtained=lambda: dc_circuit.percent_drop(source_v=24, end_v=24 - _trained_drop_v()),
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 1 A over 20 m of 1.3 mm2 [V]",
        source="home solar wiring article, metric formula; single",
        expected=0.549,
        tolerance=5e-4,
        obtained=lambda: dc_circuit.drop_v(length_m=20, ohm_per_m=0.01785 / 1.3, current_a=1),
    ),
    # The chart's value for 100 ft is cut to 1.27 V, which makes 4.445 of 4.470 V.
    Check(
        discipline="dc_circuit",
        what="drop of 1 A over 350 ft of 18 AWG at 20 °C [V]",
        source="cable supplier's voltage-drop help page; single",
        expected=4.445,
        tolerance=0.03,
        obtained=lambda: dc_circuit.drop_v(length_m=350 * FOOT, ohm_per_m=solid(18), current_a=1),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published length, gauge and drop is reproduced."""
    check.hold()


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


def test_sag_printed_wrong_in_a_manual_is_not_copied() -> None:
    """19.1 V, 0.59 V/A, 2 A: sag 1.18 V and 240 ft; the manual prints 0.76 V and 367.5 ft."""
    assert dc_circuit.start_v(source_v=19.1, total_a=2, source_ohm=0.59) == pytest.approx(17.92)
    assert _longest_ft(19.1, 0.59) == pytest.approx(240, abs=0.05)


def test_chart_that_counts_one_conductor_is_not_copied() -> None:
    """0.3 A over 1,500 ft of 18 AWG loses 5.86 V; a camera chart prints 2.91 V, one conductor."""
    lost = dc_circuit.drop_v(length_m=1500 * FOOT, ohm_per_m=ohm_per_m_from_kft(ohm_per_kft=6.51), current_a=0.3)

    assert lost == pytest.approx(5.86, abs=0.005)


# NEC Chapter 9 Table 8, 14 AWG solid and 12 AWG stranded: closed form to a tenth of a foot.
@pytest.mark.parametrize(("awg", "stranded", "feet"), [(14, False, 358.3), (12, True, 555.6)])
def test_longest_run_by_table_8(awg: int, stranded: bool, feet: float) -> None:
    """20.4 V down to 16 V at 2 A."""
    length_m = dc_circuit.longest_m(
        source_v=_start(24), minimum_v=_least(24), total_a=2, ohm_per_m=nec(awg, stranded=stranded)
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


def test_published_lock_chart_is_looser_than_its_own_limit() -> None:
    """0.5 A, 100 ft, 12 V: the lock maker's chart prints 18 AWG, a strict 5 % needs 16 AWG."""
    lost = dc_circuit.drop_v(length_m=100 * FOOT, ohm_per_m=solid(18), current_a=0.5)

    assert dc_circuit.percent_drop(source_v=12, end_v=12 - lost) == pytest.approx(5.32, abs=0.005)
    assert _chart_gauge(12, 0.5, 100) == 16


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


REFUSED = [
    Refused(
        possible=partial(dc_circuit.drop_v, length_m=30.48, ohm_per_m=4.99 / 304.8, current_a=4),
        zero_or_more="length_m ohm_per_m current_a",
    ),
    Refused(possible=partial(dc_circuit.percent_drop, source_v=24, end_v=18), above_zero="source_v"),
    Refused(
        possible=partial(dc_circuit.start_v, source_v=20.4, total_a=2.0, source_ohm=0.2),
        zero_or_more="total_a source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.end_of_line_v, source_v=20.4, total_a=0.523, length_m=0.99, ohm_per_m=1),
        zero_or_more="total_a length_m ohm_per_m source_ohm",
    ),
    Refused(
        possible=partial(dc_circuit.constant_power_v, source_v=12, loop_ohm=2.554, power_w=6),
        above_zero="source_v",
        zero_or_more="loop_ohm power_w",
    ),
    Refused(
        possible=partial(dc_circuit.longest_m, source_v=20.4, minimum_v=16, total_a=2, ohm_per_m=3.07 / 304.8),
        above_zero="ohm_per_m",
        zero_or_more="total_a source_ohm",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
