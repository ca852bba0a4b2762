"""Refusals that every formula shares: a quantity that cannot be what it says."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable


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


def each(check: Callable[..., None], **lists: Iterable[float]) -> None:
    """Pass lists whose every number passes one of the checks above.

    Source: house rule, an impossible quantity is named with its place in the list and its value.
    Raises: ValueError naming the first that does not pass.

    >>> each(positive, ohms=[8, 0])
    Traceback (most recent call last):
    ValueError: ohms[1] must be above zero, not 0
    """
    for name, values in lists.items():
        for place, value in enumerate(values):
            check(**{f"{name}[{place}]": value})
