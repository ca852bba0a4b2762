"""Refusals shared by every formula."""

from __future__ import annotations

import math

import pytest

from estimator.calc.checked import each, finite, not_negative, positive


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_positive_refuses(value: float) -> None:
    """Zero, less, and what is no finite number."""
    with pytest.raises(ValueError, match="length_m must be above zero"):
        positive(current_a=1.0, length_m=value)


@pytest.mark.parametrize("value", [-1e-30, math.nan, -math.inf, math.inf])
def test_not_negative_refuses(value: float) -> None:
    """Anything below zero, and what is no finite number."""
    with pytest.raises(ValueError, match="length_m must not be below zero"):
        not_negative(length_m=value)


def test_possible_values_pass() -> None:
    """Zero is not negative, and a negative number is finite."""
    positive(length_m=1e-30)
    not_negative(length_m=0.0)
    finite(temperature_c=-40.0)
    with pytest.raises(ValueError, match="temperature_c must be a finite number, not nan"):
        finite(temperature_c=math.nan)


def test_each_number_of_a_list_is_checked() -> None:
    """The message names the list and the place in it."""
    each(not_negative, lengths_m=[0.0, 1.0], ohms=[])
    with pytest.raises(ValueError, match=r"ohms\[2\] must be above zero, not -1"):
        each(positive, lengths_m=[1.0], ohms=[8, 4, -1])
