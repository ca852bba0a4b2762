"""Published lengths, drops and gauges of notification circuits, locks and cameras."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import partial

import pytest

from estimator.calc import dc_circuit
from estimator.calc.conductor import ohm_per_m_from_kft
from estimator.calc.loop_circuit import longest_loop_m
from estimator.reference.lookup import table
from estimator.units.rounding import over
from tests.calc.copper import FOOT, nec, solid
from tests.published import Check

MANUAL = "installation manuals of listed control units, equation method; single"
GUIDE = "owner's manuals of two listed control units, wire selection guide; single"
INITIATING = "owner's manual of a listed control unit, initiating circuit guide; single"
LOCK_CHART = "access-control lock maker's wire chart, 5 % at the end; single"
MAGNETIC = "magnetic-lock installation manuals, wire gauge appendix; drops computed with copper at 20 °C; computed"
TRAINING = "electrical training page on voltage drop, NEC Chapter 9 Table 8; single"
SOLAR = "home solar wiring article, metric formula; single"
HELP_PAGE = "cable supplier's voltage-drop help page; single"

CHART_FEET = (25, 50, 75, 100, 150, 200, 250, 300, 350)
# Gauge by volts and current, over the distances above; a row ends where 14 AWG is not enough.
LOCK_GAUGES: Mapping[tuple[int, float], Sequence[int]] = {
    (12, 0.25): (20, 20, 20, 20, 18, 18, 16, 16, 16),
    (12, 0.5): (20, 20, 18, 18, 16, 14, 14),
    (12, 0.75): (20, 18, 18, 16, 14, 14),
    (12, 1.0): (20, 18, 16, 14, 14),
    (12, 1.5): (18, 18, 16, 14),
    (12, 2.0): (18, 16, 14, 14),
    (24, 0.25): (20, 20, 20, 20, 20, 20, 20, 18, 18),
    (24, 0.5): (20, 20, 20, 20, 18, 18, 16, 16, 16),
    (24, 0.75): (20, 20, 20, 18, 16, 16, 16, 14, 14),
    (24, 1.0): (20, 20, 18, 18, 16, 16, 14, 14),
    (24, 2.0): (18, 18, 16, 16, 14),
}
# Cells at which the chart rounds in its own favor: the gauge it prints loses more than its 5 %.
LOOSE: Mapping[tuple[int, float], Sequence[int]] = {
    (12, 0.25): (200, 300, 350),
    (12, 0.5): (100, 150, 250),
    (12, 0.75): (75, 100, 200),
    (12, 1.0): (50, 75, 150),
    (12, 1.5): (50, 75, 100),
    (12, 2.0): (25, 50, 75, 100),
    (24, 0.25): (250,),
    (24, 0.5): (200, 300, 350),
    (24, 0.75): (200, 250, 350),
    (24, 1.0): (100, 150, 200, 250, 300),
    (24, 2.0): (50, 75, 100, 150),
}
HEAVIER = (24, 2.0, 25)  # the one cell with a heavier gauge than 5 % asks for

# Feet of loop for one volt, by gauge of coated copper at 75 °C, over these currents.
GUIDE_AMPS = (0.1, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5)
GUIDE_FEET: Mapping[int, Sequence[int]] = {
    18: (1237, 495, 247, 165, 123, 99, 82),
    16: (1968, 787, 393, 262, 196, 157, 131),
    14: (3134, 1253, 626, 417, 313, 250, 208),
    12: (4975, 1990, 995, 663, 497, 398, 331),
}


def start_volts(nominal_v: float) -> float:
    """Return the volts at which a notification circuit starts [V]."""
    return table("nac_start").find(nominal_v=nominal_v).number("start_v")


def least_volts(nominal_v: float) -> float:
    """Return the least volts of a listed appliance [V]."""
    return table("nac_appliance_range").find(nominal_v=nominal_v).number("minimum_v")


def longest_ft(source_v: float, source_ohm: float) -> float:
    """Return the manuals' example: twenty appliances of 0.1 A on wire of 0.002 ohm a foot [ft]."""
    length_m = dc_circuit.longest_m(
        source_v=source_v, minimum_v=least_volts(24), total_a=20 * 0.1, ohm_per_m=0.002 / FOOT, source_ohm=source_ohm
    )
    return length_m / FOOT


def _greatest_loop_ohm(source_v: float, source_ohm: float) -> float:
    return dc_circuit.greatest_loop_ohm(
        source_v=source_v, minimum_v=least_volts(24), current_a=20 * 0.1, source_ohm=source_ohm
    )


def _start_v(source_v: float, source_ohm: float) -> float:
    return dc_circuit.start_v(source_v=source_v, total_a=20 * 0.1, source_ohm=source_ohm)


def _loop_ft(awg: int, current_a: float) -> float:
    """Return both conductors' length for one volt of drop in whole feet, cut as the guide prints it."""
    one_way_m = dc_circuit.longest_m(source_v=21.4, minimum_v=20.4, total_a=current_a, ohm_per_m=nec(awg, coated=True))
    return math.floor(2 * one_way_m / FOOT)


def _initiating_ft(awg: int) -> float:
    return math.floor(2 * longest_loop_m(limit_ohm=100, ohm_per_m=nec(awg, coated=True)) / FOOT)


def _percent(source_v: float, current_a: float, length_ft: float, ohm_per_m: float) -> float:
    lost = dc_circuit.drop_v(length_m=length_ft * FOOT, ohm_per_m=ohm_per_m, current_a=current_a)
    return dc_circuit.percent_drop(source_v=source_v, end_v=source_v - lost)


def chart_gauge(source_v: float, current_a: float, length_ft: float) -> float:
    """Return the thinnest of the chart's gauges that keeps its limit, or NaN."""
    limit = table("dc_drop_practice").find(use="lock").number("max_percent")
    found = dc_circuit.smallest_gauge(
        ohm_per_m={awg: solid(awg) for awg in (20, 18, 16, 14)},
        works=lambda ohm: not over(_percent(source_v, current_a, length_ft, ohm), limit),
    )
    return math.nan if found is None else found


def _trained_drop_v() -> float:
    return dc_circuit.drop_v(length_m=100 * FOOT, ohm_per_m=nec(16, stranded=True), current_a=4)


def _solar_drop_v() -> float:
    return dc_circuit.drop_v(length_m=20, ohm_per_m=0.01785 / 1.3, current_a=1)


def _help_page_gauge() -> float:
    found = dc_circuit.smallest_gauge(
        ohm_per_m={awg: solid(awg) for awg in range(10, 19)},
        works=lambda ohm: not over(dc_circuit.drop_v(length_m=400 * FOOT, ohm_per_m=ohm, current_a=2), 3),
    )
    return math.nan if found is None else found


def _cells() -> Sequence[tuple[int, float, int, int]]:
    return [
        (volts, amps, feet, awg)
        for (volts, amps), row in LOCK_GAUGES.items()
        for feet, awg in zip(CHART_FEET, row, strict=False)
    ]


EXAMPLES = ((20.4, 0.20, 20.0, 2.0, 500), (20.4, 0.37, 19.66, 1.83, 457.5), (22.4, 0.0, 22.4, 3.2, 800))

CHECKS = [
    *(
        check
        for source_v, sag, start, loop, feet in EXAMPLES
        for check in (
            Check(
                discipline="dc_circuit",
                what=f"longest notification circuit from {source_v} V, sag {sag} V/A [ft]",
                source=MANUAL,
                expected=feet,
                tolerance=0.05,
                obtained=partial(longest_ft, source_v, sag),
            ),
            Check(
                discipline="dc_circuit",
                what=f"largest loop of a notification circuit from {source_v} V, sag {sag} V/A [ohm]",
                source=MANUAL,
                expected=loop,
                tolerance=0.005,
                obtained=partial(_greatest_loop_ohm, source_v, sag),
            ),
            Check(
                discipline="dc_circuit",
                what=f"start of a notification circuit of 2 A from {source_v} V, sag {sag} V/A [V]",
                source=MANUAL,
                expected=start,
                tolerance=0.005,
                obtained=partial(_start_v, source_v, sag),
            ),
        )
        if not (check.what.startswith("start") and sag == 0.0)
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"loop for 1 V at {current_a} A, {awg} AWG coated, cut to whole feet [ft]",
            source=GUIDE,
            expected=feet,
            tolerance=0.5,
            obtained=partial(_loop_ft, awg, current_a),
        )
        for awg, row in GUIDE_FEET.items()
        for current_a, feet in zip(GUIDE_AMPS, row, strict=True)
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"loop of 100 ohm, {awg} AWG coated, cut to whole feet [ft]",
            source=INITIATING,
            expected=feet,
            tolerance=0.5,
            obtained=partial(_initiating_ft, awg),
        )
        for awg, feet in ((18, 12376), (16, 19685), (14, 31347), (12, 49751))
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"thinnest gauge for {amps} A at {feet} ft, {volts} V [AWG]",
            source=LOCK_CHART,
            expected=awg,
            tolerance=0.0,
            obtained=partial(chart_gauge, volts, amps, feet),
        )
        for volts, amps, feet, awg in _cells()
        if feet not in LOOSE[volts, amps] and (volts, amps, feet) != HEAVIER
    ),
    *(
        Check(
            discipline="dc_circuit",
            what=f"drop of {amps} A over {feet} ft of {awg} AWG at 20 °C, of {volts} V [%]",
            source=MAGNETIC,
            expected=percent,
            tolerance=0.05,
            obtained=partial(_percent, volts, amps, feet, solid(awg)),
        )
        for volts, amps, feet, awg, percent in (
            (12, 0.6, 200, 18, 12.8),
            (24, 0.4, 1000, 14, 8.4),
            (24, 0.3, 1000, 16, 10.0),
        )
    ),
    Check(
        discipline="dc_circuit",
        what="thinnest gauge for 2 A at 400 ft within 3 V, every gauge [AWG]",
        source=f"{HELP_PAGE.removesuffix('; single')}, its inputs with copper at 20 °C; computed",
        expected=12,
        tolerance=0.0,
        obtained=_help_page_gauge,
    ),
    Check(
        discipline="dc_circuit",
        what="greatest loop of that run [ohm per 100 ft]",
        source=f"{HELP_PAGE.removesuffix('; single')}, its inputs with copper at 20 °C; computed",
        expected=0.375,
        tolerance=0.0005,
        obtained=lambda: dc_circuit.greatest_loop_ohm(source_v=24, minimum_v=21, current_a=2) / 4,
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 4 A over 100 ft of 16 AWG stranded [V]",
        source=TRAINING,
        expected=4.0,
        tolerance=0.05,
        obtained=_trained_drop_v,
    ),
    Check(
        discipline="dc_circuit",
        what="the same drop against 24 V [%]",
        source=TRAINING,
        expected=16.7,
        tolerance=0.1,
        why="the page divides its rounded 4.0 V by 24 V; with 3.992 V it is 16.63 %",
        obtained=lambda: dc_circuit.percent_drop(source_v=24, end_v=24 - _trained_drop_v()),
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 1 A over 20 m of 1.3 mm2 [V]",
        source=SOLAR,
        expected=0.549,
        tolerance=5e-4,
        obtained=_solar_drop_v,
    ),
    Check(
        discipline="dc_circuit",
        what="the same drop against 12 V [%]",
        source=SOLAR,
        expected=4.58,
        tolerance=5e-3,
        obtained=lambda: dc_circuit.percent_drop(source_v=12, end_v=12 - _solar_drop_v()),
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 1 A over 350 ft of 18 AWG at 20 °C [V]",
        source=HELP_PAGE,
        expected=4.445,
        tolerance=0.03,
        why="the page multiplies 1.27 V per 100 ft, cut from 1.277 V; uncut it is 4.470 V",
        obtained=lambda: dc_circuit.drop_v(length_m=350 * FOOT, ohm_per_m=solid(18), current_a=1),
    ),
    Check(
        discipline="dc_circuit",
        what="drop of 1 A over 100 ft of 18 AWG at 20 °C, cut to hundredths [V]",
        source=HELP_PAGE,
        expected=1.27,
        tolerance=0.005,
        obtained=lambda: (
            math.floor(100 * dc_circuit.drop_v(length_m=100 * FOOT, ohm_per_m=solid(18), current_a=1)) / 100
        ),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published length, gauge and drop is reproduced."""
    check.hold()


def test_published_lock_chart_is_looser_than_its_own_limit() -> None:
    """At the cells left out the printed gauge loses from just over 5 % to 8.4 %, and a strict test asks for more."""
    lost = {
        (volts, amps, feet): _percent(volts, amps, feet, solid(awg))
        for volts, amps, feet, awg in _cells()
        if feet in LOOSE[volts, amps]
    }
    assert len(lost) == sum(map(len, LOOSE.values()))
    assert all(percent > 5.0 for percent in lost.values())
    assert max(lost.values()) == pytest.approx(8.4, abs=0.05)
    # 0.5 A, 100 ft, 12 V: the chart prints 18 AWG at 5.32 %, a strict 5 % needs 16 AWG.
    assert lost[12, 0.5, 100] == pytest.approx(5.32, abs=0.005)
    assert chart_gauge(12, 0.5, 100) == 16
    assert chart_gauge(*HEAVIER) == 20


def test_gauge_beyond_the_chart_is_none_of_its_own() -> None:
    """Where a row of the chart ends, 14 AWG is not enough."""
    for (volts, amps), row in LOCK_GAUGES.items():
        if len(row) < len(CHART_FEET):
            assert math.isnan(chart_gauge(volts, amps, CHART_FEET[len(row)]))


def test_sag_printed_wrong_in_a_manual_is_not_copied() -> None:
    """19.1 V, 0.59 V/A, 2 A: sag 1.18 V and 240 ft; the manual prints 0.76 V, 18.94 V, 1.47 ohm and 367.5 ft."""
    assert _start_v(19.1, 0.59) == pytest.approx(17.92)
    assert 19.1 - _start_v(19.1, 0.59) == pytest.approx(1.18)
    assert _start_v(19.1, 0.59) - least_volts(24) == pytest.approx(1.92)
    assert _greatest_loop_ohm(19.1, 0.59) == pytest.approx(0.96)
    assert longest_ft(19.1, 0.59) == pytest.approx(240, abs=0.05)


def test_chart_that_counts_one_conductor_is_not_copied() -> None:
    """0.3 A over 1,500 ft of 18 AWG loses 5.86 V; a camera chart prints 2.91 V, one conductor."""
    lost = dc_circuit.drop_v(length_m=1500 * FOOT, ohm_per_m=ohm_per_m_from_kft(ohm_per_kft=6.51), current_a=0.3)

    assert lost == pytest.approx(5.86, abs=0.005)
