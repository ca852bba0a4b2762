"""One comparison: at the limit, one step to either side, and inside the stated accuracy."""

from __future__ import annotations

import math

import pytest

from estimator.acceptance.compare import RANK, Outcome, compare, margin_formula
from estimator.acceptance.criterion import Criterion

HIGH = Criterion(test="length", label="length", unit="m", high=99.0, source="test")
LOW = Criterion(test="load_volts", label="volts", unit="V", low=10.5, source="test")
BAND = Criterion(test="line_volts", label="volts", unit="V", low=42.5, high=56.5, source="test")


@pytest.mark.parametrize(
    ("value", "word"), [(98.9, "pass"), (99.0, "pass"), (99.00000000000001, "pass"), (99.1, "fail"), (math.inf, "fail")]
)
def test_high_limit_passes_at_the_limit(value: float, word: str) -> None:
    """A value at its limit passes, float noise above it too, one step above fails."""
    assert compare(value, HIGH).word == word


def test_sums_of_floats_do_not_fail_at_the_limit() -> None:
    """0.2 + 73.9 + 15.9 is 90.0000000000000142 and still isn't over 90."""
    assert compare(0.2 + 73.9 + 15.9, Criterion(test="length", label="", high=90.0, source="")).word == "pass"


@pytest.mark.parametrize(("value", "word"), [(10.4, "fail"), (10.5, "pass"), (10.6, "pass"), (math.inf, "pass")])
def test_low_limit_passes_at_the_limit(value: float, word: str) -> None:
    """The same from below; a value beyond range is above any low limit."""
    assert compare(value, LOW).word == word


@pytest.mark.parametrize(
    ("value", "word"), [(42.4, "fail"), (42.5, "pass"), (48.0, "pass"), (56.5, "pass"), (56.6, "fail")]
)
def test_band_has_two_ends(value: float, word: str) -> None:
    """Both ends of a band belong to it."""
    assert compare(value, BAND).word == word


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (97.9, "pass"),
        (98.0, "pass"),  # exactly the accuracy away is not nearer than the accuracy
        (98.1, "marginal pass"),
        (99.0, "marginal pass"),
        (99.1, "marginal fail"),
        (99.9, "marginal fail"),
        (100.0, "fail"),
        (100.1, "fail"),
    ],
)
def test_marginal_is_nearer_than_the_stated_accuracy(value: float, word: str) -> None:
    """Nearer to the limit than 1 m, on the good or the bad side."""
    assert compare(value, HIGH, 1.0).word == word


def test_decimal_accuracy_is_compared_without_float_noise() -> None:
    """98.9 lies exactly 0.1 under the limit, though the floats differ by 0.0999999999999943."""
    assert compare(98.9, HIGH, 0.1).word == "pass"


def test_margin_is_to_the_nearest_limit_and_bad_below_zero() -> None:
    """The margin says how much is left."""
    assert compare(100.0, HIGH).margin == pytest.approx(-1.0)
    assert compare(55.5, BAND).margin == pytest.approx(1.0)
    assert compare(43.0, BAND).margin == pytest.approx(0.5)
    assert compare(10.0, LOW).margin == pytest.approx(-0.5)


def test_the_worse_end_of_a_band_is_told() -> None:
    """Marginal at one end is worse than a pass at the other, whichever lies nearer; fail is worse than both."""
    assert compare(56.0, BAND, 1.0).word == "marginal pass"
    assert compare(42.0, BAND, 1.0) == Outcome("marginal fail", -0.5)
    assert compare(41.0, BAND, 1.0) == Outcome("fail", -1.5)


@pytest.mark.parametrize(
    ("criterion", "reading", "margin"), [(HIGH, 98.0, 1.0), (LOW, 10.0, -0.5), (BAND, 43.0, 0.5), (BAND, 57.0, -0.5)]
)
def test_the_printed_margin_is_the_one_that_is_judged(criterion: Criterion, reading: float, margin: float) -> None:
    """The formula on a sheet and the verdict's own margin are one number."""
    formula = margin_formula(criterion.low, criterion.high)
    given = {"reading": reading, "least": criterion.low, "most": criterion.high}

    assert formula is not None
    named = {name: value for name, value in given.items() if name in formula.names and value is not None}
    assert formula(**named) == margin == compare(reading, criterion).margin
    assert margin_formula(None, None) is None


def test_words_rank_from_good_to_bad() -> None:
    """Where nothing orders two readings the worse counts: unjudged is worse than marginal, better than a failure."""
    assert sorted(RANK, key=RANK.__getitem__) == ["pass", "marginal pass", "not judged", "marginal fail", "fail"]
    assert len(set(RANK.values())) == len(RANK)


@pytest.mark.parametrize(("text", "word"), [("pass", "pass"), (" Pass ", "pass"), ("open", "fail"), ("", "fail")])
def test_words_are_compared_without_case(text: str, word: str) -> None:
    """A word passes if it is one of the accepted ones."""
    assert compare(text, Criterion(test="wire_map", label="", accepted=("pass",), source="")).word == word


def test_beyond_range_is_the_word_ol() -> None:
    """An open between conductors may be typed as OL."""
    assert compare(math.inf, Criterion(test="open_short", label="", accepted=("clear", "OL"), source="")).word == "pass"


def test_no_limit_only_records() -> None:
    """A criterion without a limit records numbers and can't judge a value beyond range."""
    free = Criterion(test="length", label="", source="")
    assert compare(12.0, free).why == "recorded, no limit"
    assert compare(math.inf, free) == Outcome("not judged", why="beyond range")


def test_what_is_no_number_is_not_judged() -> None:
    """Neither against a limit nor without one."""
    for criterion in (HIGH, LOW, Criterion(test="length", label="", source="")):
        assert compare(math.nan, criterion) == Outcome("not judged", why="not a number")


def test_a_number_may_be_an_accepted_word() -> None:
    """A count typed as a number is compared as the sheet shows it."""
    free = Criterion(test="strand_count", label="", accepted=("12",), source="")
    assert [compare(value, free).word for value in (12.0, 12.5, math.inf)] == ["pass", "fail", "fail"]


def test_words_are_no_numbers() -> None:
    """A word where a number belongs isn't judged."""
    assert compare("good", HIGH).word == "not judged"
    assert compare("good", HIGH).why == "'good' is no number"
