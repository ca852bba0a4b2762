"""Straight lines between the rows of a table."""

from __future__ import annotations

import math
from functools import partial

import pytest

from estimator.calc.interpolation import between
from tests.calc.refusals import Refused


# Arithmetic: a quarter of the way from 10 to 30, the rows themselves, and the last stretch.
@pytest.mark.parametrize(("at", "value"), [(0, 10), (2.5, 15), (10, 30), (15, 20), (20, 10)])
def test_value_between_rows(at: float, value: float) -> None:
    """Rows come back as they are, between them the line is straight."""
    assert between(points=[(0, 10), (10, 30), (20, 10)], at=at) == pytest.approx(value)


def test_place_at_the_edge_within_twelve_digits_is_inside() -> None:
    """A place that misses the last row by rounding alone is not outside."""
    assert between(points=[(0, 0), (0.3, 3)], at=0.1 + 0.2) == pytest.approx(3)
    with pytest.raises(ValueError, match=r"0.31 is outside the table, which spans 0 to 0.3"):
        between(points=[(0, 0), (0.3, 3)], at=0.31)


def test_table_of_one_row_and_table_out_of_order() -> None:
    """One row answers at its own place only; falling places are refused."""
    assert between(points=[(5.0, 2.0)], at=5.0) == 2.0
    with pytest.raises(ValueError, match="places must rise"):
        between(points=[(5.0, 2.0), (4.0, 1.0)], at=4.5)
    with pytest.raises(ValueError, match="places must rise"):
        between(points=[(5.0, 2.0), (5.0, 1.0)], at=5.0)
    with pytest.raises(ValueError, match="places must rise"):
        between(points=[], at=4.5)


def test_last_row_ends_a_table_of_three() -> None:
    """The message names the last place, not the second."""
    with pytest.raises(ValueError, match=r"20.1 is outside the table, which spans 0 to 20"):
        between(points=[(0, 10), (10, 30), (20, 10)], at=20.1)


REFUSED = [
    Refused(
        possible=partial(between, points=[(0.0, 10.0), (10.0, 30.0)], at=2.5),
        number="at",
        wrong=(("points", [(0.0, 10.0), (10.0, math.nan)]),),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
