"""Robust fits against exact cases, scipy's quantiles and repeatable simulations."""

from __future__ import annotations

import math
from functools import partial
from random import Random

import pytest
from scipy import stats

from estimator.calc.robust import Row, center, fit, student
from tests.calc.refusals import Refused


def test_the_middle_is_not_moved_by_wild_values() -> None:
    """Median and its absolute deviation, by hand: deviations of 1, 2, 3, 4, 100 from 3 are 2, 1, 0, 1, 97."""
    found = center([1.0, 2.0, 3.0, 4.0, 100.0])
    assert (found.middle, found.count) == (3.0, 5)
    # Reference: scipy.stats.median_abs_deviation, scaled to a normal sample.
    assert found.spread == pytest.approx(stats.median_abs_deviation([1, 2, 3, 4, 100], scale="normal"), rel=1e-12)


@pytest.mark.parametrize("probability", [0.9, 0.95, 0.99])
@pytest.mark.parametrize("free", [5, 10, 30, 100, 1000])
def test_students_quantile(probability: float, free: int) -> None:
    """Reference: scipy.stats.t; the expansion is good to a few thousandths from five degrees on."""
    exact = stats.t.ppf((1 + probability) / 2, free)
    assert student(probability=probability, free=free) == pytest.approx(exact, rel=6e-3 if free < 10 else 5e-4)


def _line(random: Random, count: int, noise: float) -> tuple[list[Row], list[float]]:
    xs = [random.uniform(0, 10) for _ in range(count)]
    return [[(0, 1.0), (1, x)] for x in xs], [2.0 + 0.5 * x + random.gauss(0, noise) for x in xs]


def test_without_noise_the_line_is_exact() -> None:
    """Level 2, slope one half."""
    rows, values = _line(Random(1), 20, 0.0)
    found = fit(rows, values, columns=2)
    assert found is not None
    assert found.values == pytest.approx((2.0, 0.5), rel=1e-12)
    assert found.free == 18


def test_one_in_ten_wild_values_hardly_move_it() -> None:
    """Least squares of the same values is far off; the fit stays within four of its standard errors."""
    rows, values = _line(Random(2), 200, 0.1)
    wild = [value + (25.0 if place % 10 == 0 else 0.0) for place, value in enumerate(values)]
    found = fit(rows, wild, columns=2)
    assert found is not None
    slope, error = found.combined([(1, 1.0)])
    assert abs(slope - 0.5) < 4 * error
    xs = [row[1][1] for row in rows]
    level = found.values[0]
    plain = stats.linregress(xs, wild)
    assert abs(plain.intercept - 2.0) > 1.0
    assert abs(level - 2.0) < 0.1


def test_the_interval_covers_as_often_as_it_says() -> None:
    """Of 600 drawn samples the 95 % interval of a slope holds the true one in 93 to 97 %."""
    random, held = Random(3), 0
    for _ in range(600):
        rows, values = _line(random, 40, 1.0)
        found = fit(rows, values, columns=2)
        assert found is not None
        slope, error = found.combined([(1, 1.0)])
        held += abs(slope - 0.5) <= student(probability=0.95, free=found.free) * error
    assert 0.93 <= held / 600 <= 0.97


def test_columns_that_say_the_same_have_no_fit() -> None:
    """Two columns that are always equal can't be told apart; so can't fewer rows than needed."""
    rows: list[Row] = [[(0, float(x)), (1, float(x))] for x in range(1, 12)]
    assert fit(rows, [float(x) for x in range(1, 12)], columns=2) is None
    assert fit(rows[:3], [1.0, 2.0, 3.0], columns=2) is None


REFUSED = [
    Refused(possible=partial(center, values=[1.0, 2.0]), wrong=(("values", []), ("values", [1.0, math.nan]))),
    Refused(
        possible=partial(student, probability=0.95, free=10),
        wrong=(("probability", 1.0), ("probability", 0.0), ("probability", math.nan), ("free", 2)),
    ),
    Refused(
        possible=partial(fit, rows=[[(0, 1.0)]] * 6, values=[1.0] * 6, columns=1),
        wrong=(
            ("values", [1.0, 1.0, 1.0, 1.0, 1.0, math.inf]),
            ("rows", [[(0, math.nan)]] * 6),
            ("columns", 0),
        ),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """Each impossible input is named with its value."""
    refused.hold()
