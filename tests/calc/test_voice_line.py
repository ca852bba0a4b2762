"""Analog telephone lines: loop current, set volts, reach, ringers and pins."""

from __future__ import annotations

from functools import partial

import pytest

from estimator.calc import voice_line
from estimator.calc.conductor import ohm_per_m_from_kft, pair_loop_ohm
from estimator.reference.lookup import table
from tests.calc.copper import FOOT, solid
from tests.calc.refusals import Refused
from tests.published import Check

KFT = 1000 * FOOT
MILE = 1609.344
JOURNAL = "telephone engineering journal of 1978, glossary; single"


def fact(name: str, column: str = "value") -> float:
    """Return one of the table's facts about telephone lines."""
    return table("voice_facts").find(name=name).number(column)


def line(loop_ohm: float) -> dict[str, float]:
    """Return a line of the given loop behind a usual central office."""
    return {
        "battery_v": fact("on_hook"),
        "feed_ohm": fact("feed_resistance"),
        "loop_ohm": loop_ohm,
        "set_ohm": fact("set_resistance"),
    }


def _typical_loop() -> float:
    """Return three miles of 22 AWG at 25 °C, both wires."""
    return pair_loop_ohm(length_m=3 * MILE, ohm_per_m=solid(22, 25))


def _reach_kft(awg: int) -> float:
    return voice_line.reach_m(loop_ohm=fact("design_loop"), ohm_per_m=solid(awg)) / KFT


def _current_ma(loop_ohm: float) -> float:
    return 1000 * voice_line.loop_current_a(**line(loop_ohm))


def _greatest_loop() -> float:
    behind = {name: value for name, value in line(0).items() if name != "loop_ohm"}
    return voice_line.most_loop_ohm(**behind, current_a=fact("loop_current_least"))


def _open_miles() -> float:
    return voice_line.open_at_m(capacitance_f=0.166e-6, farad_per_m=fact("cable_capacitance")) / MILE


def _four_sets() -> float:
    return voice_line.ringer_total(ringers=[1.0, 0.8, 1.5, 0.6])


def _one_ringer(name: str) -> float:
    row = table("voice_ringers").find(ringer=name)
    return voice_line.ringer_equivalence(
        limit_ohm=row.number("limit_ohm"),
        least_ohm=row.number("one_equals_ohm"),
        scale=row.number("scale"),
    )


CHECKS = [
    Check(
        discipline="voice_line",
        what="loop of 15,000 ft of 26 AWG at 41.0 ohm per 1000 ft [ohm]",
        source="journal glossary and a bureau of standards handbook; single",
        expected=1230,
        tolerance=0.5,
        obtained=lambda: pair_loop_ohm(length_m=15 * KFT, ohm_per_m=ohm_per_m_from_kft(ohm_per_kft=41.0)),
    ),
    *(
        Check(
            discipline="voice_line",
            what=f"reach of {awg} AWG within 1,300 ohm [thousand ft]",
            source=JOURNAL,
            expected=printed,
            tolerance=0.065 * printed,
            why="the journal keeps about 5 % of the 1,300 ohm in hand and rounds down",
            obtained=partial(_reach_kft, awg),
        )
        for awg, printed in ((26, 15), (24, 24), (22, 38))
    ),
    Check(
        discipline="voice_line",
        what="22 AWG of a telephone line at 25 °C [ohm per 1000 ft]",
        source="line data page; single",
        expected=16.46,
        tolerance=0.005,
        obtained=lambda: solid(22, 25) * KFT,
    ),
    Check(
        discipline="voice_line",
        what="loop of three miles of 22 AWG [ohm]",
        source="closed form over published figures; computed",
        expected=521.5,
        tolerance=0.2,
        why="16.46 ohm per 1000 ft is rounded to 0.005, which is 0.16 ohm of the loop",
        obtained=_typical_loop,
    ),
    *(
        Check(
            discipline="voice_line",
            what=f"{what} [{unit}]",
            source="closed form over published figures; computed",
            expected=expected,
            tolerance=tolerance,
            obtained=obtained,
        )
        for what, unit, expected, tolerance, obtained in (
            ("current of three miles off hook", "mA", 42.8, 0.05, lambda: _current_ma(_typical_loop())),
            ("volts at the set of three miles", "V", 8.56, 0.005, lambda: voice_line.set_v(**line(_typical_loop()))),
            ("current at the design loop", "mA", 25.3, 0.05, partial(_current_ma, 1300)),
            ("current at the revised loop", "mA", 22.9, 0.05, partial(_current_ma, 1500)),
            ("greatest loop for 20 mA", "ohm", 1800, 0.5, _greatest_loop),
            ("distance to an open of 0.166 uF", "miles", 2.0, 0.05, _open_miles),
            ("four sets of 1.0, 0.8, 1.5 and 0.6", "REN", 3.9, 0.05, _four_sets),
        )
    ),
    *(
        Check(
            discipline="voice_line",
            what=f"one ringer of kind {name} [REN]",
            source="TIA-968-A, Table 6, the ohms of one derived from its limit; computed",
            expected=1.0,
            tolerance=0.0,
            obtained=partial(_one_ringer, name),
        )
        for name in ("A_20_hz", "A_30_hz", "B")
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published resistance, reach and volt is reproduced."""
    check.hold()


def test_typical_line() -> None:
    """Three miles of 22 AWG: 521.5 ohm, 42.8 mA and 8.56 V (closed form)."""
    loop = _typical_loop()
    current_a = voice_line.loop_current_a(**line(loop))

    assert loop == pytest.approx(521.5, abs=0.2)
    assert current_a * 1000 == pytest.approx(42.8, abs=0.05)
    assert voice_line.set_v(**line(loop)) == pytest.approx(8.56, abs=0.005)
    # An off-hook set shows 5 to 12 V (telephone reference pages), whatever its line.
    assert 5 < voice_line.set_v(**line(loop)) < 12
    assert fact("loop_current_typical", "low") < current_a < fact("loop_current_typical", "high")


# 1,300 ohm is the resistance design; 1,500 the revised one: 25.3 and 22.9 mA (closed form).
@pytest.mark.parametrize(("loop_ohm", "milliamperes"), [(1300, 25.3), (1500, 22.9), (0, 80.0)])
def test_loop_current_at_the_design_limits(loop_ohm: float, milliamperes: float) -> None:
    """Even the longest loop keeps the least current of a set."""
    current_a = voice_line.loop_current_a(**line(loop_ohm))

    assert current_a * 1000 == pytest.approx(milliamperes, abs=0.05)
    assert current_a > fact("loop_current_least")


def test_largest_loop_for_the_least_current() -> None:
    """20 mA: 1,800 ohm (closed form); a set that hungers for more has no loop at all."""
    most = partial(
        voice_line.most_loop_ohm,
        battery_v=fact("on_hook"),
        feed_ohm=fact("feed_resistance"),
        set_ohm=fact("set_resistance"),
    )

    assert most(current_a=fact("loop_current_least")) == pytest.approx(1800)
    assert most(current_a=0.1) == 0.0


def test_idle_line_shows_its_battery() -> None:
    """5 megohm on hook leave the battery's volts (47 CFR 68.312); a leak pulls them down."""
    idle = partial(
        voice_line.on_hook_v,
        battery_v=fact("on_hook"),
        loop_ohm=fact("design_loop"),
        feed_ohm=fact("feed_resistance"),
        meter_ohm=10e6,
    )

    assert idle(leak_ohm=fact("on_hook_resistance_least")) == pytest.approx(48, abs=0.05)
    assert idle(leak_ohm=10_000) < fact("on_hook", "low")


def test_ringers_add_up_to_the_line_limit() -> None:
    """3.9 of 5, and none at all."""
    total = voice_line.ringer_total(ringers=[1.0, 0.8, 1.5, 0.6])

    assert fact("ringer_total_most") - total == pytest.approx(1.1)
    assert voice_line.ringer_total(ringers=[]) == 0.0


def test_distance_to_an_open() -> None:
    """0.166 uF at 0.083 uF a mile is two miles (engineering text of 1984)."""
    far_m = voice_line.open_at_m(capacitance_f=0.166e-6, farad_per_m=fact("cable_capacitance"))

    assert far_m / MILE == pytest.approx(2.0)


def test_lines_of_a_jack_do_not_share_a_pin() -> None:
    """Line one sits on the center contacts, the others outside it (47 CFR 68)."""
    for jack in ("RJ11", "RJ14", "RJ25"):
        rows = [row for row in table("voice_pins") if row.text("jack") == jack]
        pins = [row.number(leg) for row in rows for leg in ("tip", "ring")]
        assert len(set(pins)) == len(pins)
        assert (rows[0].number("tip"), rows[0].number("ring")) == (4, 3)
        assert all(row.number("tip") + row.number("ring") == 7 for row in rows)


def test_impossible_line_is_refused() -> None:
    """A set of no resistance is a short, and a cable of none reaches anywhere."""
    with pytest.raises(ValueError, match="set_ohm must be above zero, not 0"):
        voice_line.loop_current_a(battery_v=48, feed_ohm=400, loop_ohm=0, set_ohm=0)
    with pytest.raises(ValueError, match="ohm_per_m must be above zero, not 0"):
        voice_line.reach_m(loop_ohm=1300, ohm_per_m=0)


REFUSED = [
    Refused(possible=partial(voice_line.ringer_total, ringers=[1.0, 0.8]), wrong=(("ringers", [1.0, -0.1]),)),
    Refused(
        possible=partial(voice_line.loop_current_a, battery_v=48, feed_ohm=400, loop_ohm=1300, set_ohm=200),
        above_zero="battery_v set_ohm",
        zero_or_more="feed_ohm loop_ohm",
    ),
    Refused(
        possible=partial(voice_line.set_v, battery_v=48, feed_ohm=400, loop_ohm=521.5, set_ohm=200),
        above_zero="battery_v set_ohm",
        zero_or_more="feed_ohm loop_ohm",
    ),
    Refused(
        possible=partial(
            voice_line.on_hook_v, battery_v=48, loop_ohm=1300, leak_ohm=5000000.0, meter_ohm=10000000.0, feed_ohm=400
        ),
        above_zero="battery_v leak_ohm meter_ohm",
        zero_or_more="loop_ohm feed_ohm",
    ),
    Refused(
        possible=partial(voice_line.most_loop_ohm, battery_v=48, current_a=0.02, feed_ohm=400, set_ohm=200),
        above_zero="battery_v current_a",
        zero_or_more="feed_ohm set_ohm",
    ),
    Refused(
        possible=partial(voice_line.reach_m, loop_ohm=16.843, ohm_per_m=0.084215),
        above_zero="ohm_per_m",
        zero_or_more="loop_ohm",
    ),
    Refused(
        possible=partial(voice_line.ringer_equivalence, limit_ohm=1400, least_ohm=7000, scale=5),
        above_zero="limit_ohm least_ohm scale",
    ),
    Refused(
        possible=partial(voice_line.open_at_m, capacitance_f=1.66e-07, farad_per_m=8.3e-08 / 1609.344),
        above_zero="farad_per_m",
        zero_or_more="capacitance_f",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
