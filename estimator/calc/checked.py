"""Refusals that every formula shares: a quantity that cannot be what it says."""

from __future__ import annotations

import math


def positive(**values: float) -> None:
    """Pass finite values above zero.

    Source: house rule, an impossible quantity is named with its value.
    Raises: ValueError naming the first that is not one.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above zero, not {value!r}")


def not_negative(**values: float) -> None:
    """Pass finite values of zero or more.

    Source: house rule, an impossible quantity is named with its value.
    Raises: ValueError naming the first that is not one.
    """
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise ValueError(f"{name} must not be below zero, not {value!r}")


def finite(**values: float) -> None:
    """Pass numbers that are numbers.

    Source: house rule, an impossible quantity is named with its value.
    Raises: ValueError naming the first that is not one.
    """
    for name, value in values.items():
        if not math.isfinite(value):
            raise ValueError(f"{name} must be a finite number, not {value!r}")
