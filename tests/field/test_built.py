"""Bid against built: what was read beside what was expected, cable by cable and type by type."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from estimator.field.built import (
    DIFFERENCE,
    DIFFERENCE_SHARE,
    NOT_PASSED,
    built_cables,
    built_footage,
    measured_m,
    strands_of,
    worst_word,
)
from tests.documents.job_sample import job, takeoff


def test_difference_is_measured_less_expected() -> None:
    """A cable of 100 m that reads 103 m is 3 m or 3 % longer; five strands with three passes leave two."""
    # Source: the definition itself, worked by hand.
    assert DIFFERENCE(measured=103.0, expected=100.0) == 3.0
    assert DIFFERENCE_SHARE(measured=103.0, expected=100.0) == 0.03
    assert NOT_PASSED(strands=5, passed=3) == 2


def test_each_cable_stands_once_with_its_own_reading() -> None:
    """Every cable of the takeoff is there, and a read length is that of its circuit's result."""
    cables = built_cables(takeoff(), job())
    assert sorted(one.length.id for one in cables) == sorted(one.id for one in takeoff().footage.lengths)
    read = [one for one in cables if one.measured_m is not None]
    assert read
    for one in read:
        assert one.measured_m in [reading.value for result in one.results for reading in result.readings]


def test_only_cables_with_a_reading_are_compared() -> None:
    """Footage of a type adds up over exactly the cables that were read."""
    cables = built_cables(takeoff(), job())
    found = list(built_footage(takeoff(), job()))
    assert {one.order.cable.id for one in found if one.read} == {
        one.length.cable.id for one in cables if one.measured_m is not None
    }
    for footage in found:
        own = [one for one in cables if one.length.cable.id == footage.order.cable.id and one.measured_m is not None]
        assert footage.read == len(own)
        assert footage.measured_m == pytest.approx(math.fsum(one.measured_m or 0 for one in own), rel=1e-12)
        assert footage.compared_m == pytest.approx(math.fsum(one.length.expected_m for one in own), rel=1e-12)


def test_a_length_beyond_range_or_of_zero_is_no_length() -> None:
    """Beyond range, zero and a word are not compared with what was expected."""
    result = next(one for one in job().result.circuits if one.reading("length"))
    reading = result.reading("length")
    assert reading is not None
    for value, wanted in ((math.inf, None), (0.0, None), ("open", None), (30.0, 30.0)):
        other = replace(result, readings=(replace(reading, value=value),))
        assert measured_m([other]) == wanted


def test_a_length_of_a_wrong_velocity_or_up_to_a_short_is_none_as_built() -> None:
    """What isn't judged isn't as built, and a shorted line reads the way to its short."""
    result = next(one for one in job().result.circuits if one.reading("length"))
    reading = result.reading("length")
    assert reading is not None
    read = replace(reading, value=30.0)
    joined = replace(reading, test="open_short", value="short", criterion=None)
    assert measured_m([replace(result, readings=(read, replace(joined, value="clear")))]) == 30.0
    assert measured_m([replace(result, readings=(read, joined))]) is None
    assert measured_m([replace(result, readings=(replace(read, word="not judged"),))]) is None


def test_a_cable_has_the_word_of_its_worst_strand() -> None:
    """One failed strand makes the cable's word; none at all is not tested."""
    passed = next(one for one in job().result.circuits if one.word == "pass")
    failed = next(one for one in job().result.circuits if one.word == "fail")
    marginal = replace(passed, word="marginal pass")
    assert worst_word([marginal, passed, failed]) == "fail"
    assert worst_word([passed, marginal, replace(passed, word="incomplete")]) == "incomplete"
    assert worst_word([passed]) == "pass"
    assert worst_word([]) == "not tested"


def test_strands_are_counted_by_cable() -> None:
    """The backbone of the sample job has twelve strands."""
    # specs/library/library.yaml, backbone 1A/2A-1: 12 strands.
    assert [(one.cable, one.strands) for one in strands_of(job())] == [("1A/2A-1", 12)]
