"""One comparison and one rounding for the whole house."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.units.rounding import cents, over, round_down, round_half_up, round_up, significant, under


def test_float_noise_never_decides_a_comparison() -> None:
    """Source: the arithmetic of binary floats; 0.2 + 73.9 + 15.9 m is 90 m."""
    assert 0.2 + 73.9 + 15.9 > 90
    assert not over(0.2 + 73.9 + 15.9, 90.0)
    need_ah = (0.095 * 24 + 2.64 * 5 / 60) * 1.2
    assert need_ah > 3
    assert not over(need_ah, 3.0)


# Source: spreadsheet ROUND rounds half away from zero (ECMA-376 Part 1, 18.17.7.277).
@pytest.mark.parametrize(
    ("value", "decimals", "rounded"),
    [
        (2.675, 2, 2.68),
        (1.005, 2, 1.01),
        (-2.5, 0, -3.0),
        (0.5, 0, 1.0),
        (1.4999999999999999, 0, 2.0),
        (125.0, -1, 130.0),
        (math.nextafter(9.5, 0), 0, 10.0),  # 15 digits are kept, the 16th is noise
    ],
)
def test_halves_round_away_from_zero(value: float, decimals: int, rounded: float) -> None:
    """As a spreadsheet does, not as binary floats happen to lie."""
    assert round_half_up(value, decimals) == rounded


@pytest.mark.parametrize(
    ("value", "up", "down"),
    [(3.0000000000000004, 3, 3), (2.9999999999999996, 3, 3), (2.1, 3, 2), (3.0000000004, 3, 3), (3.000000001, 4, 3)],
)
def test_whole_numbers_survive_float_noise(value: float, up: int, down: int) -> None:
    """Nine decimals decide what is whole."""
    assert round_up(value) == up
    assert round_down(value) == down


@given(st.decimals(min_value=-(10**6), max_value=10**6, places=4))
def test_cents_are_what_decimal_arithmetic_gives(amount: Decimal) -> None:
    """Source: Python's decimal module, ROUND_HALF_UP."""
    assert cents(amount) == amount.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)


@given(st.floats(min_value=1e-6, max_value=1e6), st.floats(min_value=1e-6, max_value=1e6))
def test_two_values_are_never_both_over_and_under(value: float, limit: float) -> None:
    """Exactly one of over, under and equal holds."""
    assert over(value, limit) + under(value, limit) + (significant(value) == significant(limit)) == 1


def test_twelve_digits_decide() -> None:
    """The twelfth digit counts, the thirteenth doesn't."""
    assert over(1.00000000001, 1.0)
    assert not over(1.000000000003, 1.0)


def test_cents_keep_every_digit_of_a_large_amount() -> None:
    """A Decimal is rounded as it stands, not through fifteen digits."""
    assert cents(Decimal("1234567890123456.785")) == Decimal("1234567890123456.79")


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan])
def test_what_is_no_amount_is_not_rounded(value: float) -> None:
    """The value is named."""
    with pytest.raises(ValueError, match=f"cannot round {value!r}"):
        round_half_up(value)


def test_what_is_beyond_range_stays_beyond() -> None:
    """An open reads as infinity and is over any limit; what is no number is neither over nor under."""
    assert over(math.inf, 1e9)
    assert not under(math.inf, 1e9)
    assert under(-math.inf, -1e9)
    assert not over(math.nan, 0.0)
    assert not under(math.nan, 0.0)


@given(
    value=st.floats(min_value=-1e12, max_value=1e12),
    share=st.sampled_from([0.0, 1e-15, 4e-13, 6e-13, 1e-12, 9e-10, 1.1e-9, 1e-6, 0.5, -4e-13, -6e-13, -1e-9, -2.0]),
)
def test_a_comparison_is_that_of_twelve_digits(value: float, share: float) -> None:
    """Reference: both sides written with twelve digits, whatever shorter way the comparison takes."""
    for limit in (value * (1 + share), 0.0, -value):
        written, wanted = float(f"{value:.12g}"), float(f"{limit:.12g}")
        assert over(value, limit) == (written > wanted)
        assert under(value, limit) == (written < wanted)


@pytest.mark.parametrize("value", [math.inf, -math.inf, math.nan, 0.0, 1.0])
@pytest.mark.parametrize("limit", [math.inf, -math.inf, math.nan, 0.0, 1.0])
def test_values_without_end_compare_as_they_are(value: float, limit: float) -> None:
    """An open reading is over every limit but an open one; what is no number is neither over nor under."""
    assert over(value, limit) == (value > limit)
    assert under(value, limit) == (value < limit)
