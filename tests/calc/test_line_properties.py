"""What must hold of links, coax and telephone lines whatever the numbers: length, heat and units."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.acceptance.compare import compare
from estimator.acceptance.criterion import Criterion
from estimator.calc import coax, copper_link, limit_line, voice_line
from estimator.calc.conductor import pair_loop_ohm
from estimator.reference.lookup import Row, table
from tests.calc.copper import FOOT, solid
from tests.calc.test_limit_line import component, limit, link

LENGTHS = st.floats(0.1, 5000)
MORE = st.floats(0.001, 5000)
QUICK = settings(max_examples=60, deadline=None)
LINES = [
    (row.text("category"), row.text("link"), row.text("parameter"), row.numbers("high_mhz")[-1])
    for row in table("link_limits")
]


@QUICK
@given(LENGTHS, MORE, st.sampled_from((18, 22, 23, 24, 26)), st.floats(0.4, 0.99))
def test_more_length_never_lowers_resistance_or_delay(length_m: float, more_m: float, awg: int, nvp: float) -> None:
    """A longer cable has at least the loop and the delay of a shorter one."""
    longer = length_m + more_m
    assert pair_loop_ohm(length_m=longer, ohm_per_m=solid(awg)) >= pair_loop_ohm(
        length_m=length_m, ohm_per_m=solid(awg)
    )
    assert copper_link.delay_s(length_m=longer, nvp=nvp) >= copper_link.delay_s(length_m=length_m, nvp=nvp)
    steel = {"center_ohm_per_m": 0.1, "shield_ohm_per_m": 0.01}
    assert coax.loop_ohm(length_m=longer, **steel) >= coax.loop_ohm(length_m=length_m, **steel)


@QUICK
@given(LENGTHS, MORE, st.sampled_from(("5e", "6", "6A")), st.floats(1, 100), st.integers(0, 4))
def test_more_length_never_lowers_loss(
    length_m: float, more_m: float, category: str, frequency_mhz: float, connections: int
) -> None:
    """A longer link loses at least as much, and one more connection never takes loss away."""

    def loss(meters: float, mated: int) -> float:
        return limit_line.expected_loss_db(
            length_m=meters,
            cable_db_per_100m=component("cable_100_m", category, "insertion_loss", frequency_mhz),
            connections=mated,
            connection_db=component("connector", category, "insertion_loss", frequency_mhz),
        )

    assert loss(length_m + more_m, connections) >= loss(length_m, connections)
    assert loss(length_m, connections + 1) >= loss(length_m, connections)


def _fits() -> list[Row]:
    return list(table("coax_fit"))


@QUICK
@given(LENGTHS, MORE, st.sampled_from(_fits()), st.floats(5, 990), st.floats(1.0, 1.3))
def test_more_length_or_frequency_never_lowers_the_loss_of_coax(
    length_m: float, more_m: float, fit: Row, frequency_mhz: float, factor: float
) -> None:
    """Loss grows with length, frequency and heat, and the video level falls with it."""

    def loss(meters: float, mhz: float, warm: float) -> float:
        per_100ft = coax.fitted_loss_db(k1=fit.number("k1"), k2=fit.number("k2"), frequency_mhz=mhz)
        return coax.line_loss_db(db_per_100ft=per_100ft, length_m=meters, factor=warm)

    own = loss(length_m, frequency_mhz, 1.0)
    for more in (loss(length_m + more_m, frequency_mhz, 1.0), loss(length_m, frequency_mhz + 10, 1.0),
                 loss(length_m, frequency_mhz, factor)):  # fmt: skip
        assert more >= own
        levels = [
            coax.video_level_vpp(emf_vpp=2, source_ohm=75, loads=1, load_ohm=75, loss_db=db) for db in (more, own)
        ]
        assert levels[0] <= levels[1]


@QUICK
@given(st.floats(0, 3000), st.floats(0.1, 3000), st.floats(40, 60))
def test_a_longer_line_never_gives_more_current(loop_ohm: float, more_ohm: float, battery_v: float) -> None:
    """Nor more volts at the set; and the largest loop for its own current is the loop itself."""
    line = {"battery_v": battery_v, "feed_ohm": 400.0, "set_ohm": 200.0}
    near, far = (voice_line.loop_current_a(loop_ohm=ohm, **line) for ohm in (loop_ohm, loop_ohm + more_ohm))
    assert far < near
    assert voice_line.set_v(loop_ohm=loop_ohm + more_ohm, **line) < voice_line.set_v(loop_ohm=loop_ohm, **line)
    most = voice_line.most_loop_ohm(current_a=near, **line)
    assert most == pytest.approx(loop_ohm, abs=1e-9 * (loop_ohm + 1000))


@QUICK
@given(st.floats(0.01, 2000), st.floats(0.5, 2000), st.floats(0.4, 0.99))
def test_delay_and_length_are_each_others_inverse(length_m: float, limit_m: float, nvp: float) -> None:
    """There and back, and a velocity that is twice corrected is the first again."""
    assert copper_link.length_m(delay_s=copper_link.delay_s(length_m=length_m, nvp=nvp), nvp=nvp) == pytest.approx(
        length_m
    )
    once = copper_link.corrected_length_m(measured_m=limit_m, set_nvp=nvp, true_nvp=0.7)
    assert copper_link.corrected_length_m(measured_m=once, set_nvp=0.7, true_nvp=nvp) == pytest.approx(limit_m)


@QUICK
@given(st.integers(1, 6000), st.integers(1, 6000))
def test_unit_changes_never_change_a_verdict(reading_tenths: int, limit_tenths: int) -> None:
    """A length in feet against its limit in feet passes as it does in meters, at the limit too."""
    reading_m, limit_m = reading_tenths / 10, limit_tenths / 10
    meters = Criterion(test="length", label="Length", high=limit_m, source="")
    feet = Criterion(test="length", label="Length", high=limit_m / FOOT, source="")
    assert compare(reading_m, meters).word == compare(reading_m / FOOT, feet).word
    assert compare(reading_m / FOOT * FOOT, meters).word == compare(reading_m, meters).word


@QUICK
@given(st.sampled_from(LINES), st.floats(0, 1))
def test_links_of_every_category_are_stricter_the_shorter(line: tuple[str, str, str, float], share: float) -> None:
    """At every frequency a permanent link must be at least as good as a channel."""
    category, _, parameter, top = line
    frequency_mhz = math.exp(share * math.log(top))
    loose = limit(category, "channel", parameter, frequency_mhz)
    strict = limit(category, "permanent_link", parameter, frequency_mhz)
    sense = link(category, "channel", parameter).sense
    assert limit_line.margin_db(sense=sense, measured_db=loose, limit_db=strict) <= 1e-9


@QUICK
@given(st.floats(-40, 90), st.floats(0, 40), st.sampled_from(("unscreened", "screened")))
def test_more_heat_never_lengthens_a_link(temperature_c: float, more_k: float, cable: str) -> None:
    """Nor do longer or thinner cords."""
    row = table("cable_temperature").find(cable=cable)
    rates = {name: row.number(name) for name in ("reference_c", "knee_c", "low_per_k", "high_per_k")}
    cold, warm = (limit_line.warm_factor(temperature_c=at, **rates) for at in (temperature_c, temperature_c + more_k))
    assert warm >= cold >= 1.0
    lengths = [copper_link.warm_length_m(length_m=90, factor=factor) for factor in (cold, warm)]
    assert lengths[1] <= lengths[0] <= 90
    cords = [
        copper_link.horizontal_m(cords_m=more, base_m=102, derating=0.2, whole_m=100) for more in (more_k, more_k + 1)
    ]
    assert cords[1] <= cords[0]
    thin = copper_link.horizontal_m(cords_m=more_k, base_m=102, derating=0.5, whole_m=100)
    assert thin <= cords[0]


@QUICK
@given(st.lists(st.floats(1, 90), min_size=3, max_size=3), st.floats(0, 20))
def test_a_power_sum_is_below_its_worst_disturber(losses: list[float], better: float) -> None:
    """By 4.77 dB at most, where all three are alike; a quieter pair never makes it worse."""
    whole = limit_line.power_sum_db(losses_db=losses)
    assert min(losses) - 4.7713 <= whole <= min(losses)
    assert limit_line.power_sum_db(losses_db=[losses[0] + better, *losses[1:]]) >= whole - 1e-9
