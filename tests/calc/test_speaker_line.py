"""Loudspeaker lines: loss at each place, whole load at the end, amplifier and network."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from estimator.calc import speaker_line as line
from estimator.calc.conductor import pair_loop_ohm
from estimator.reference.lookup import table
from estimator.units.rounding import under
from tests.calc.copper import FOOT, solid
from tests.calc.refusals import Refused
from tests.published import Check

MANUALS = "two listed fire-alarm audio manuals, NFPA 72-2025 constant; confirmed"
DATA_SHEET = "loudspeaker data sheet with taps for two line voltages; single"


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


def _most_speakers() -> float:
    return line.most_speakers(amplifier_w=30, most_percent=_headroom("load_share"), tap_w=5)


def _section_mm2() -> float:
    """Return the section that loses 10 % of 100 W on 100 V over 300 m of copper of 0.0175 ohm mm2/m."""
    loop = line.loop_for_share_ohm(load_ohm=line.tap_ohm(line_v=100, tap_w=100), percent=10)
    return 2 * 300 * 0.0175 / loop


THIRTY_WATTS = {"amplifier_w": 30, "most_percent": _headroom("load_share")}
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
            why="the label rounds 4,998.5 over the watts to 5,000 over the watts",
            obtained=partial(line.tap_ohm, line_v=70.7, tap_w=tap_w),
        )
        for tap_w, printed in ((8, 625), (4, 1250), (1, 5000), (0.5, 10000))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"impedance of a {tap_w} W tap by the 70.7 V method [ohm]",
            source="public article on the 70.7 V distribution method; single",
            expected=printed,
            tolerance=0.0004 * printed,
            why="the article rounds 4,998.5 over the watts to 5,000 over the watts",
            obtained=partial(line.tap_ohm, line_v=70.7, tap_w=tap_w),
        )
        for tap_w, printed in ((2, 2500), (5, 1000), (10, 500))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"a {marked_w} W tap for 100 V on 70.7 V [W]",
            source=DATA_SHEET,
            expected=printed,
            tolerance=0.005,
            why=""
            if isinstance(printed, float) and len(str(printed)) > 3
            else "the sheet drops the zeros of hundredths",
            obtained=partial(line.tap_at_w, marked_w=marked_w, marked_v=100, line_v=70.7),
        )
        for marked_w, printed in ((1.87, 0.93), (3.75, 1.87), (7.5, 3.75), (15, 7.5))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"primary of a {tap_w} W tap for 100 V [kohm]",
            source=DATA_SHEET,
            expected=printed,
            tolerance=0.005 if printed < 1 else 0.05,
            obtained=lambda tap_w=tap_w: line.tap_ohm(line_v=100, tap_w=tap_w) / 1000,
        )
        for tap_w, printed in ((1.87, 5.3), (3.75, 2.7), (7.5, 1.3), (15, 0.67))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"a tap for {marked_v} V on {line_v} V [times]",
            source="sound-contracting practice with data sheets of four makers; confirmed",
            expected=printed,
            tolerance=0.0003 * printed + 2e-5,
            why="printed as a round factor; the nominal volts give it to 0.03 %",
            obtained=partial(line.tap_at_w, marked_w=1, marked_v=marked_v, line_v=line_v),
        )
        for marked_v, line_v, printed in ((70.7, 100, 2.0), (100, 70.7, 0.5), (70.7, 25, 0.125))
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"volts lost behind {loss_db} dB [%]",
            source=source,
            expected=printed,
            tolerance=0.05 if loss_db != 0.92 else 0.055,
            why="" if loss_db != 0.92 else "0.92 dB is itself rounded from 10 %",
            obtained=partial(line.volts_lost, loss_db=loss_db),
        )
        for loss_db, printed, source in (
            (0.5, 5.6, MANUALS),
            (0.92, 10.0, "published 10 % rule of speaker lines; single"),
            (1.0, 10.9, "published speaker cable length criteria; single"),
            (3.0, 29.2, "published speaker cable length criteria; single"),
        )
    ),
    Check(
        discipline="speaker_line",
        what="loss where the cable has 10 % of the loudspeakers' impedance [dB]",
        source="audio maker's question page on cable length; single",
        expected=0.828,
        tolerance=5e-4,
        obtained=lambda: line.end_loss_db(load_ohm=1, loop_ohm=0.1),
    ),
    Check(
        discipline="speaker_line",
        what="section for 10 % over 300 m of 100 V with 100 W [mm2]",
        source="technical note on loss in 70 V and 100 V lines; single",
        expected=0.945,
        tolerance=5e-4,
        obtained=_section_mm2,
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
        what="largest equal tap of ten loudspeakers on 50 W [W]",
        source="loudspeaker supplier's note on 25 and 70 V systems; single",
        expected=5,
        tolerance=0.0,
        obtained=lambda: line.tap_each_w(amplifier_w=50, most_percent=100, count=10),
    ),
    *(
        Check(
            discipline="speaker_line",
            what=f"{what} [W]",
            source="amplifier maker's article on choosing taps; single",
            expected=printed,
            tolerance=0.0,
            obtained=obtained,
        )
        for what, printed, obtained in (
            ("most load of a 30 W amplifier", 24, partial(line.tap_each_w, **THIRTY_WATTS, count=1)),
            ("four loudspeakers of 5 W", 20, lambda: line.load_w(quantity=[4], tap_w=[5])),
            ("five loudspeakers of 5 W", 25, lambda: line.load_w(quantity=[5], tap_w=[5])),
        )
    ),
    Check(
        discipline="speaker_line",
        what="amplifier for six 15 W taps with 20 % on top [W]",
        source="loudspeaker maker's installation manual; single",
        expected=108,
        tolerance=0.5,
        obtained=lambda: line.rating_on_top_w(
            load_w=line.load_w(quantity=[6], tap_w=[15]), times=_headroom("load_times")
        ),
    ),
    Check(
        discipline="speaker_line",
        what="5 W loudspeakers on a 30 W amplifier at 80 % [count]",
        source="amplifier maker's article on choosing taps; single",
        expected=4,
        tolerance=0.0,
        obtained=_most_speakers,
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


def test_line_without_a_loudspeaker() -> None:
    """No loudspeaker, no levels and no worst one."""
    assert line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[]) == ()
    with pytest.raises(ValueError, match="without a loudspeaker"):
        line.worst_level([])
    with pytest.raises(ValueError, match="without a loudspeaker"):
        line.seen_ohm(line_v=70.7, levels=[])


def test_worst_loudspeaker_is_the_first_with_the_greatest_loss() -> None:
    """Wherever it stands, as two lines listed one after the other show it."""
    levels = [line.Level(volts=70.0, watts=5.0, loss_db=loss) for loss in (0.1, 0.4, 0.2, 0.4)]

    assert line.worst_level(levels) == 1


def test_loudspeaker_of_no_impedance_is_refused() -> None:
    """A short is not a loudspeaker."""
    with pytest.raises(ValueError, match="ohm must be above zero, not 0"):
        line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=[line.Speaker(segment_m=1, ohm=0)])


def _levels(home_run_m: float, places: Sequence[tuple[float, float]]) -> tuple[line.Level, ...]:
    first, *others = places
    speakers = [line.Speaker(segment_m=length_m, ohm=ohm) for length_m, ohm in ((home_run_m, first[1]), *others)]
    return line.line_levels(line_v=70.7, ohm_per_m=0.02, speakers=speakers)


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(100, 20_000)), min_size=1, max_size=8),
    st.floats(0.0, 100.0),
    st.floats(0.1, 3.0),
)
@settings(max_examples=80)
def test_a_home_run_grown_by_what_is_left_loses_just_the_limit(
    places: list[tuple[float, float]], home_run_m: float, limit_db: float
) -> None:
    """The closed form against the ladder solved again, at, under and over the limit."""
    now = _levels(home_run_m, places)
    seen_ohm, share = line.seen_ohm(line_v=70.7, levels=now), min(level.volts for level in now) / 70.7
    left_m = line.home_run_m(line_ohm=seen_ohm, worst_share=share, limit_db=limit_db, ohm_per_m=0.02)
    assume(home_run_m + left_m >= 0)
    worst_db = max(level.loss_db for level in _levels(home_run_m + left_m, places))

    assert worst_db == pytest.approx(limit_db, abs=1e-9)


@given(
    st.lists(st.tuples(st.floats(0, 60), st.floats(100, 20_000)), min_size=1, max_size=8),
    st.integers(0, 7),
    st.floats(0.0, 50.0),
)
@settings(max_examples=60)
def test_more_length_never_lowers_a_loss(places: list[tuple[float, float]], at: int, more_m: float) -> None:
    """Wherever cable is added, the worst loudspeaker loses no less, nor does the whole load at the end."""
    at %= len(places)
    grown = [(m + more_m * (place == at), ohm) for place, (m, ohm) in enumerate(places)]
    before, after = _levels(places[0][0], places), _levels(grown[0][0], grown)

    assert not under(after[-1].loss_db, before[-1].loss_db)
    assert line.worst_level(after) == len(after) - 1 or after[-1].loss_db == max(level.loss_db for level in after)
    loops = [pair_loop_ohm(length_m=sum(m for m, _ in each), ohm_per_m=0.02) for each in (places, grown)]
    assert line.end_loss_db(load_ohm=8, loop_ohm=loops[0]) <= line.end_loss_db(load_ohm=8, loop_ohm=loops[1])


# Computed from the formula of the listed manuals, truncated to the foot: solid copper at 20 C, whole
# load at the end; lengths for 18, 16, 14 and 12 AWG at 0.5 dB, then at 10 % of the volts.
LONGEST_FT = [
    (70.7, 10, (2319, 3687, 5864, 9325), (4349, 6914, 10997, 17487)),
    (70.7, 100, (231, 368, 586, 932), (434, 691, 1099, 1748)),
    (70.7, 240, (96, 153, 244, 388), (181, 288, 458, 728)),
    (100.0, 40, (1160, 1844, 2933, 4664), (2175, 3458, 5500, 8746)),
    (100.0, 200, (232, 368, 586, 932), (435, 691, 1100, 1749)),
]


@pytest.mark.parametrize(("line_v", "tap_w", "half_db", "ten_percent"), LONGEST_FT)
def test_longest_runs_agree_with_a_table_of_them(
    line_v: float, tap_w: float, half_db: tuple[int, ...], ten_percent: tuple[int, ...]
) -> None:
    """Sixteen lengths a row, computed elsewhere from the same two limits."""
    load_ohm = line.tap_ohm(line_v=line_v, tap_w=tap_w)
    ten_db = line.end_loss_db(load_ohm=load_ohm, loop_ohm=line.loop_for_share_ohm(load_ohm=load_ohm, percent=10))
    for limit_db, feet in ((0.5, half_db), (ten_db, ten_percent)):
        for awg, printed in zip((18, 16, 14, 12), feet, strict=True):
            length_m = line.longest_m(load_ohm=load_ohm, limit_db=limit_db, ohm_per_m=solid(awg))
            # the other table's resistances are printed to three digits of an ohm per 1,000 ft
            assert length_m / FOOT == pytest.approx(printed, rel=3e-4, abs=1.0)


def test_words_and_ratings_tell_the_two_conventions_of_headroom_apart() -> None:
    """100 W ask for 125 W where a fifth of the rating stays free, for 120 W where a fifth is put on top."""
    assert line.least_rating_w(load_w=100, most_percent=_headroom("load_share")) == pytest.approx(125)
    assert line.rating_on_top_w(load_w=100, times=_headroom("load_times")) == pytest.approx(120)
    assert line.most_speakers(amplifier_w=30, most_percent=100, tap_w=5) == 6
    assert line.most_speakers(amplifier_w=4, most_percent=100, tap_w=5) == 0


LEVELS = line.line_levels(line_v=70, ohm_per_m=0.5, speakers=[line.Speaker(segment_m=10, ohm=60)])
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
        possible=partial(line.amplifier_verdict, load_w=25, amplifier_w=30, most_percent=80),
        above_zero="amplifier_w most_percent",
        zero_or_more="load_w",
    ),
    Refused(
        possible=partial(line.load_w, quantity=[1, 2], tap_w=[6, 10]),
        wrong=(("quantity", [1, -2]), ("tap_w", [6, -10.5])),
    ),
    Refused(
        possible=partial(line.line_levels, line_v=70, ohm_per_m=0.5, speakers=[line.Speaker(segment_m=10, ohm=60)]),
        above_zero="line_v",
        zero_or_more="ohm_per_m",
    ),
    Refused(possible=partial(line.seen_ohm, line_v=70, levels=LEVELS), above_zero="line_v"),
    Refused(
        possible=partial(line.home_run_m, line_ohm=60, worst_share=1.0, limit_db=0.5, ohm_per_m=0.02),
        above_zero="line_ohm worst_share limit_db ohm_per_m",
    ),
    Refused(
        possible=partial(line.loop_for_share_ohm, load_ohm=100, percent=10),
        above_zero="load_ohm",
        zero_or_more="percent",
        wrong=(("percent", 100),),
    ),
    Refused(possible=partial(line.volts_lost, loss_db=0.5), zero_or_more="loss_db"),
    Refused(
        possible=partial(line.least_rating_w, load_w=100, most_percent=80),
        above_zero="most_percent",
        zero_or_more="load_w",
    ),
    Refused(possible=partial(line.rating_on_top_w, load_w=100, times=1.2), above_zero="times", zero_or_more="load_w"),
    Refused(
        possible=partial(line.tap_each_w, amplifier_w=50, most_percent=100, count=10),
        above_zero="amplifier_w most_percent count",
    ),
    Refused(
        possible=partial(line.most_speakers, amplifier_w=30, most_percent=80, tap_w=5),
        above_zero="amplifier_w most_percent tap_w",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
