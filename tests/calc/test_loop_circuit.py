"""Supervised loops: isolators, the resistor at the end, and how far a listed limit reaches."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc import loop_circuit
from estimator.calc.conductor import pair_loop_ohm
from tests.calc.copper import FOOT, nec
from tests.calc.refusals import Refused


def test_meter_reads_the_resistor_and_at_most_the_whole_loop_with_it() -> None:
    """By hand: 4.7 kohm of 5 % is 4465 to 4935 ohm; 30 ohm of loop come on top of the most."""
    band = loop_circuit.expected_at_unit(loop_ohm=30, end_of_line_ohm=4700, tolerance=0.05)

    assert band.least_ohm == pytest.approx(4465, rel=1e-12)
    assert band.expected_ohm == 4730
    assert band.most_ohm == pytest.approx(4965, rel=1e-12)


def test_exact_resistor_without_wire_is_read_as_it_is() -> None:
    """No tolerance and no loop leave one value."""
    band = loop_circuit.expected_at_unit(loop_ohm=0, end_of_line_ohm=10_000, tolerance=0)

    assert (band.least_ohm, band.expected_ohm, band.most_ohm) == (10_000, 10_000, 10_000)


def test_a_tolerance_of_everything_is_refused() -> None:
    """A resistor that may be nothing supervises nothing."""
    with pytest.raises(ValueError, match=r"tolerance must be a share below one, not 1\.0"):
        loop_circuit.expected_at_unit(loop_ohm=0, end_of_line_ohm=10_000, tolerance=1.0)
    assert loop_circuit.expected_at_unit(loop_ohm=0, end_of_line_ohm=100, tolerance=0.75).least_ohm == 25


def test_isolators_take_their_part_of_a_loop_limit() -> None:
    """By hand: 50 ohm less four isolators of 2.5 ohm leave 40 ohm, 2000 m of 0.01 ohm a meter; all taken is none."""
    reach = partial(loop_circuit.longest_loop_m, limit_ohm=50, ohm_per_m=0.01)

    assert reach() == pytest.approx(2500)
    assert reach(isolators_ohm=4 * 2.5) == pytest.approx(2000)
    assert reach(isolators_ohm=50) == 0.0
    assert reach(isolators_ohm=51) == 0.0


@settings(max_examples=50, deadline=None)
@given(
    limit_ohm=st.floats(1, 1000),
    isolators_ohm=st.floats(0, 500),
    awg=st.sampled_from([18, 16, 14, 12]),
)
def test_longest_loop_and_its_resistance_are_each_others_inverse(
    limit_ohm: float, isolators_ohm: float, awg: int
) -> None:
    """Wire of the length allowed, with its isolators, resists what the limit is; beyond it nothing fits."""
    length_m = loop_circuit.longest_loop_m(limit_ohm=limit_ohm, ohm_per_m=nec(awg), isolators_ohm=isolators_ohm)
    wire_ohm = pair_loop_ohm(length_m=length_m, ohm_per_m=nec(awg))
    whole = loop_circuit.loop_ohm(wire_ohm=wire_ohm, isolators_ohm=isolators_ohm)

    assert whole == pytest.approx(max(limit_ohm, isolators_ohm), rel=1e-12)
    assert length_m >= 0.0


def test_limit_of_a_hundred_ohm_is_half_its_printed_loop_one_way() -> None:
    """12,376 ft of coated 18 AWG (owner's manual of a listed control unit) are 6,188 ft of circuit."""
    length_m = loop_circuit.longest_loop_m(limit_ohm=100, ohm_per_m=nec(18, coated=True))

    assert length_m / FOOT == pytest.approx(12376 / 2, abs=0.5)


REFUSED = [
    Refused(
        possible=partial(loop_circuit.loop_ohm, wire_ohm=12.5, isolators_ohm=1.5),
        zero_or_more="wire_ohm isolators_ohm",
    ),
    Refused(
        possible=partial(loop_circuit.expected_at_unit, loop_ohm=20, end_of_line_ohm=10_000, tolerance=0.05),
        above_zero="end_of_line_ohm",
        zero_or_more="loop_ohm tolerance",
        wrong=(("tolerance", 1.5),),
    ),
    Refused(
        possible=partial(loop_circuit.longest_loop_m, limit_ohm=100, ohm_per_m=0.01),
        above_zero="ohm_per_m",
        zero_or_more="limit_ohm isolators_ohm",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
