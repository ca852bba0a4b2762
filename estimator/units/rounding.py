"""Rounding and comparison: the one place that decides what equal, over and under mean.

Python's ``round`` and ``math.ceil`` are not a spreadsheet's ROUND and ROUNDUP, so nobody else
in the house rounds. Everything works on Decimal made from 15 significant digits, half up.
"""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import cache

COMPARED_DIGITS = 12
"""Significant digits kept on both sides of every comparison with a limit or a stock size."""

_PLAINLY = 1e-9  # share of a limit by which a value may differ in its twelfth digit at most, with room to spare
_STORED_DIGITS = 15
_STEP_DECIMALS = 9
_CENT = Decimal("0.01")


def _decimal(value: float) -> Decimal:
    return Decimal(f"{value:.{_STORED_DIGITS}g}")


def significant(value: float, digits: int = COMPARED_DIGITS) -> float:
    """Return the value rounded to so many significant digits; infinities and NaN as they are."""
    return float(f"{value:.{digits}g}")


def over(value: float, limit: float) -> bool:
    """Return whether the value is above the limit once both are at 12 significant digits.

    >>> over(0.2 + 73.9 + 15.9, 90.0)
    False
    """
    apart = value - limit
    # Far apart, the digits decide nothing; infinities and NaN fail the test and go by their digits.
    if abs(apart) > _PLAINLY * abs(limit):
        return apart > 0
    return significant(value) > significant(limit)


def under(value: float, limit: float) -> bool:
    """Return whether the value is below the limit once both are at 12 significant digits."""
    apart = value - limit
    if abs(apart) > _PLAINLY * abs(limit):
        return apart < 0
    return significant(value) < significant(limit)


def round_half_up(value: float, decimals: int = 0) -> float:
    """Return the value rounded half away from zero, as a spreadsheet's ROUND does.

    >>> round_half_up(2.675, 2), round_half_up(-0.5)
    (2.68, -1.0)
    """
    if not math.isfinite(value):
        raise ValueError(f"cannot round {value!r}")
    return float(_decimal(value).quantize(_step(decimals), rounding=ROUND_HALF_UP))


@cache
def _step(decimals: int) -> Decimal:
    return Decimal(1).scaleb(-decimals)


def round_up(value: float) -> int:
    """Return the next whole number at or above the value, after rounding to nine decimals.

    >>> round_up(3.0000000000000004), round_up(2.1)
    (3, 3)
    """
    return int(Decimal(repr(round_half_up(value, _STEP_DECIMALS))).to_integral_value(ROUND_CEILING))


def round_down(value: float) -> int:
    """Return the next whole number at or below the value, after rounding to nine decimals.

    >>> round_down(2.9999999999999996), round_down(2.9)
    (3, 2)
    """
    return int(Decimal(repr(round_half_up(value, _STEP_DECIMALS))).to_integral_value(ROUND_FLOOR))


def cents(amount: Decimal | float) -> Decimal:
    """Return an amount of money rounded to the cent, half up.

    >>> cents(2.675)
    Decimal('2.68')
    """
    exact = amount if isinstance(amount, Decimal) else _decimal(amount)
    return exact.quantize(_CENT, rounding=ROUND_HALF_UP)
