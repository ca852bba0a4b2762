"""Loudspeaker lines: loss at each place, whole load at the end, amplifier and network."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.calc import speaker_line as line
from estimator.calc.conductor import pair_loop_ohm
from estimator.calc.dc_circuit import smallest_gauge
from estimator.reference.lookup import table
from estimator.units.rounding import over, round_down
from tests.calc.copper import FOOT, solid
from tests.calc.refusals import Refused
from tests.published import Check

MANUALS = "two listed fire-alarm audio manuals, NFPA 72-2025 constant; confirmed"
AMPLIFIER_MANUAL = "amplifier owner's manual quoted on a forum; single"


def _nominal(line_v: float) -> float:
    return table("speaker_lines").find(line_v=line_v).number("line_v")


def _limit(use: str) -> float:
    return table("speaker_loss_limits").find(use=use).number("limit_db")


def _headroom(convention: str) -> float:
    return table("speaker_headroom").find(convention=convention).number("value")


def _voice_ft(load_w: float, ohm_per_kft_pair: float) -> float:
    load_ohm = line.tap_ohm(line_v=_nominal(25.0), tap_w=load_w)
    ohm_per_m = ohm_per_kft_pair / 2 / (1000 * FOOT)
    return line.longest_m(load_ohm=load_ohm, limit_db=_limit("voice_evacuation"), ohm_per_m=ohm_per_m) / FOOT


def _solid_loop(awg: int, feet: float) -> float:
    return pair_loop_ohm(length_m=feet * FOOT, ohm_per_m=solid(awg))


def _five_percent_gauge(feet: float, load_ohm: float) -> float:
    most = table("speaker_facts").find(name="cable_share").number("value") / 100 * load_ohm
    gauges = {awg: solid(awg) for awg in (12, 14, 16, 18, 20, 22)}

    def works(ohm_per_m: float) -> bool:
        return not over(pair_loop_ohm(length_m=feet * FOOT, ohm_per_m=ohm_per_m), most)

    found = smallest_gauge(ohm_per_m=gauges, works=works)
    return math.nan if found is None else found


def _long_run() -> dict[str, float]:
    return {"amplifier_v": 24.5, "load_ohm": 8, "loop_ohm": 0.00204 * 160}


def _hundred_feet_db(awg: int, load_ohm: float) -> float:
    return line.end_loss_db(load_ohm=load_ohm, loop_ohm=_solid_loop(awg, 100))


def _most_speakers() -> float:
    most_w = 30 * _headroom("load_share") / 100
    return round_down(most_w / 5)


CHECKS = [
    Check(
        discipline="speaker_line",
        what="longest 25 V voice circuit of 30 W on 18 AWG [ft]",
        source=MANUALS,
        expected=95,
        tolerance=0.5,
        obtained=partial(_voice_ft, 30, 13.0),
    ),
    Check(
        discipline="speaker_line",
        what="loop for 0.5 dB as a share of the load [unitless]",
        source=MANUALS,
        expected=0.05925,
        tolerance=5e-6,
        obtained=lambda: line.loop_for_loss_ohm(load_ohm=1, limit_db=_limit("voice_evacuation")),
    ),
    *(
        Check(
            discipline="speaker_line",
            what=what,
            source=AMPLIFIER_MANUAL,
            expected=printed,
            tolerance=0.5,
            obtained=partial(formula, **_long_run()),
        )
        for what, printed, formula in (
            ("75 W amplifier at 160 ft, at the load [W]", 69, line.delivered_w),
            ("75 W amplifier at 160 ft, in the cable [W]", 3, line.cable_w),
        )
    ),
    # The printed table holds about 4 % more resistance: warm or stranded copper.
    *(
        Check(
            discipline="speaker_line",
            what=f"100 ft of {awg} AWG into {load_ohm} ohm [dB]",
            source="web article on loudspeaker wiring; single",
            expected=printed,
            tolerance=0.045 * printed,
            obtained=partial(_hundred_feet_db, awg, load_ohm),
        )
        for awg, load_ohm, printed in (
            (16, 4, 1.65),
            (16, 8, 0.86),
            (16, 16, 0.44),
            (18, 4, 2.49),
            (18, 8, 1.33),
            (18, 16, 0.69),
        )
    ),
    # "About one half dB" in words.
    Check(
        discipline="speaker_line",
        what="40 ft of 18 AWG into 8 ohm [dB]",
        source="loudspeaker maker's note on cable loss; single",
        expected=0.5,
        tolerance=0.05,
        obtained=lambda: line.end_loss_db(load_ohm=8, loop_ohm=_solid_loop(18, 40)),
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"thinnest gauge for 5 % of {load_ohm} ohm at {feet} ft [AWG]",
            source="professional-sound magazine column on 70 V distribution; single",
            expected=awg,
            tolerance=0.0,
            obtained=partial(_five_percent_gauge, feet, load_ohm),
        )
        for load_ohm, feet, awg in ((50, 50, 22), (50, 500, 12))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"loop of {feet} ft of {awg} AWG [ohm]",
            source="professional-sound magazine column on 70 V distribution; single",
            expected=printed,
            tolerance=5e-4,
            obtained=partial(_solid_loop, awg, feet),
        )
        for awg, feet, printed in ((22, 50, 1.614), (12, 500, 1.588))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"impedance of 100 W on {line_v} V [ohm]",
            source="technical note on loss in 70 V and 100 V lines; single",
            expected=printed,
            tolerance=0.005,
            obtained=partial(line.tap_ohm, line_v=line_v, tap_w=100),
        )
        for line_v, printed in ((100.0, 100.0), (70.7, 49.98))
    ),
    # The label is 5,000 over the watts, rounded from 4,998.5.
    *(
        Check(
            discipline="speaker_line",
            what=f"impedance marked for a {tap_w} W tap on 70.7 V [ohm]",
            source="transformer note and the 70.7 V distribution method; confirmed",
            expected=printed,
            tolerance=0.0004 * printed,
            obtained=partial(line.tap_ohm, line_v=70.7, tap_w=tap_w),
        )
        for tap_w, printed in ((8, 625), (4, 1250), (1, 5000), (0.5, 10000))
    ),
    Check(
        discipline="speaker_line",
        what="taps of 6, 10 and 10 W [W]",
        source="public article on the 70.7 V distribution method; single",
        expected=26,
        tolerance=0.0,
        obtained=lambda: line.load_w(quantity=[1, 1, 1], tap_w=[6, 10, 10]),
    ),
    Check(
        discipline="speaker_line",
        what="amplifier for six 15 W taps with 20 % on top [W]",
        source="loudspeaker maker's installation manual; single",
        expected=108,
        tolerance=0.5,
        obtained=lambda: line.load_w(quantity=[6], tap_w=[15]) * _headroom("load_times"),
    ),
    Check(
        discipline="speaker_line",
        what="5 W loudspeakers on a 30 W amplifier at 80 % [count]",
        source="amplifier maker's article on choosing taps; single",
        expected=4,
        tolerance=0.0,
        obtained=_most_speakers,
    ),
    Check(
        discipline="speaker_line",
        what="damping factor of 8 ohm behind 0.30 ohm [unitless]",
        source="published loudspeaker cable length criteria; single",
        expected=25,
        tolerance=0.5,
        obtained=lambda: line.damping(load_ohm=8, amplifier_damping=400, loop_ohm=0.30),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published length, loss and load is reproduced."""
    check.hold()


def _by_matrix(line_v: float, loops: Sequence[float], ohms: Sequence[float]) -> np.ndarray:
    """Solve the same ladder as a matrix of node conductances."""
    count = len(ohms)
    matrix, given_a = np.zeros((count, count)), np.zeros(count)
    for place, loop in enumerate(loops):
        matrix[place, place] += 1 / loop + 1 / ohms[place]
        if place == 0:
            given_a[0] += line_v / loop
        else:
            matrix[place - 1, place - 1] += 1 / loop
            matrix[place, place - 1] -= 1 / loop
            matrix[place - 1, place] -= 1 / loop
    return np.linalg.solve(matrix, given_a)


@given(
    st.lists(st.tuples(st.floats(1, 60), st.floats(100, 20_000)), min_size=1, max_size=12),
    st.sampled_from([25.0, 70.7, 100.0]),
)
def test_every_place_agrees_with_a_matrix(places: list[tuple[float, float]], line_v: float) -> None:
    """Volts at each loudspeaker equal the solution of the node equations."""
    speakers = [line.Speaker(segment_m=m, ohm=ohm) for m, ohm in places]
    levels = line.line_levels(line_v=line_v, ohm_per_m=0.02, speakers=speakers)

    expected = _by_matrix(line_v, [2 * m * 0.02 for m, _ in places], [ohm for _, ohm in places])
    assert [level.volts for level in levels] == pytest.approx(list(expected), rel=1e-9)
    assert line.worst_level(levels) == len(levels) - 1


def test_loss_in_place_is_less_than_with_the_whole_load_at_the_end() -> None:
    """Ten 10 W taps along the line lose less than 100 W at its end; volts, watts and dB agree."""
    ohm = line.tap_ohm(line_v=70.7, tap_w=10)
    speakers = [line.Speaker(segment_m=10, ohm=ohm)] * 10
    levels = line.line_levels(line_v=70.7, ohm_per_m=solid(18), speakers=speakers)
    at_end = line.end_loss_db(load_ohm=ohm / 10, loop_ohm=pair_loop_ohm(length_m=100, ohm_per_m=solid(18)))

    far = levels[line.worst_level(levels)]
    assert far.loss_db < at_end
    assert far.watts == pytest.approx(far.volts**2 / ohm)
    assert far.loss_db == pytest.approx(20 * math.log10(70.7 / far.volts))


def test_one_loudspeaker_is_the_whole_load_at_the_end() -> None:
    """With one place the two methods are one, and without cable nothing is lost."""
    [level] = line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[line.Speaker(segment_m=50, ohm=500)])
    [near] = line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[line.Speaker(segment_m=0, ohm=500)])

    assert level.loss_db == pytest.approx(line.end_loss_db(load_ohm=500, loop_ohm=2.0))
    assert near.loss_db == 0.0


# Published level criteria: 0.5, 1.0 and 3.0 dB leave 0.9441, 0.8913 and 0.7079 of the volts.
@pytest.mark.parametrize(("limit_db", "share"), [(0.5, 0.9441), (1.0, 0.8913), (3.0, 0.7079)])
def test_loss_in_decibels_is_of_volts(limit_db: float, share: float) -> None:
    """A fixed-voltage source: 20 times the logarithm of the volts, never 10 times that of power."""
    loop = line.loop_for_loss_ohm(load_ohm=100, limit_db=limit_db)

    assert 100 / (100 + loop) == pytest.approx(share, abs=5e-5)


# 80 % rule of an amplifier maker: 20 W and 24 W are within, 25 W uses the reserve, 30 W still holds.
@pytest.mark.parametrize(
    ("load_w", "word"),
    [
        (0, "within reserve"),
        (20, "within reserve"),
        (24, "within reserve"),
        (24.01, "uses the reserve"),
        (25, "uses the reserve"),
        (30, "uses the reserve"),
        (30.01, "over rating"),
    ],
)
def test_words_for_an_amplifier_of_thirty_watts(load_w: float, word: str) -> None:
    """At the limit is still within it."""
    most = _headroom("load_share")

    assert line.amplifier_verdict(load_w=load_w, amplifier_w=30, most_percent=most) == word


def test_voice_circuit_at_seventy_volts() -> None:
    """25, 50 and 100 W on 18 AWG at 0.5 dB: 911.3, 455.6 and 227.8 ft (same formula, computed)."""
    for load_w, feet in ((25, 911.3), (50, 455.6), (100, 227.8)):
        length_m = line.longest_m(
            load_ohm=line.tap_ohm(line_v=70.7, tap_w=load_w), limit_db=0.5, ohm_per_m=13.0 / 2 / 304.8
        )
        assert length_m / FOOT == pytest.approx(feet, abs=0.15)


def test_tap_on_another_line() -> None:
    """Watts go with the square of the volts: twice, half and an eighth (data sheets)."""
    at = partial(line.tap_at_w, marked_w=8)

    assert at(marked_v=70.7, line_v=100) == pytest.approx(16, rel=0.001)
    assert at(marked_v=100, line_v=70.7) == pytest.approx(4, rel=0.001)
    assert at(marked_v=70.7, line_v=25) == pytest.approx(1, rel=0.001)


def test_networks_of_loudspeakers() -> None:
    """8 ohm in series, parallel and two by two (circuit theory)."""
    assert line.series_ohm([8, 8]) == 16
    assert line.parallel_ohm([8, 8]) == 4
    assert line.parallel_ohm([8, 8, 8]) == pytest.approx(2.667, abs=5e-4)
    assert line.parallel_ohm([line.series_ohm([8, 8])] * 2) == line.grid_ohm(each_ohm=8, in_series=2, strings=2)


def test_line_without_a_loudspeaker() -> None:
    """No loudspeaker, no levels, no worst one and no impedance."""
    assert line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[]) == ()
    with pytest.raises(ValueError, match="without a loudspeaker"):
        line.worst_level([])
    for network in (line.parallel_ohm, line.series_ohm):
        with pytest.raises(ValueError, match="without a loudspeaker"):
            network([])
        with pytest.raises(ValueError, match="ohm must be above zero, not 0"):
            network([8, 0])


def test_worst_loudspeaker_is_the_first_with_the_greatest_loss() -> None:
    """Wherever it stands, as two lines listed one after the other show it."""
    levels = [line.Level(volts=70.0, watts=5.0, loss_db=loss) for loss in (0.1, 0.4, 0.2, 0.4)]

    assert line.worst_level(levels) == 1


def test_loudspeaker_of_no_impedance_is_refused() -> None:
    """A short is not a loudspeaker."""
    with pytest.raises(ValueError, match="ohm must be above zero, not 0"):
        line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[line.Speaker(segment_m=1, ohm=0)])


REFUSED = [
    Refused(possible=partial(line.tap_ohm, line_v=70.7, tap_w=100), above_zero="line_v tap_w"),
    Refused(
        possible=partial(line.tap_at_w, marked_w=5, marked_v=70.7, line_v=100), above_zero="marked_w marked_v line_v"
    ),
    Refused(
        possible=partial(line.end_loss_db, load_ohm=8, loop_ohm=0.5108), above_zero="load_ohm", zero_or_more="loop_ohm"
    ),
    Refused(
        possible=partial(line.loop_for_loss_ohm, load_ohm=1, limit_db=0.5),
        above_zero="load_ohm",
        zero_or_more="limit_db",
    ),
    Refused(
        possible=partial(line.longest_m, load_ohm=625 / 30, limit_db=0.5, ohm_per_m=13 / 2 / 304.8),
        above_zero="load_ohm ohm_per_m",
        zero_or_more="limit_db",
    ),
    Refused(
        possible=partial(line.amplifier_share, load_w=24, amplifier_w=30),
        above_zero="amplifier_w",
        zero_or_more="load_w",
    ),
    Refused(
        possible=partial(line.delivered_w, amplifier_v=24.5, load_ohm=8, loop_ohm=0.3264),
        above_zero="amplifier_v load_ohm",
        zero_or_more="loop_ohm",
    ),
    Refused(
        possible=partial(line.cable_w, amplifier_v=24.5, load_ohm=8, loop_ohm=0.3264),
        above_zero="amplifier_v load_ohm",
        zero_or_more="loop_ohm",
    ),
    Refused(
        possible=partial(line.grid_ohm, each_ohm=8, in_series=2, strings=2), above_zero="each_ohm in_series strings"
    ),
    Refused(
        possible=partial(line.damping, load_ohm=8, amplifier_damping=400, loop_ohm=0.3),
        above_zero="load_ohm amplifier_damping",
        zero_or_more="loop_ohm",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
