"""Electric locks: the state that needs power, what each kind draws when, and starts one after another.

A fail-safe lock is free without power, so that holding it locked takes its current day and night. A
fail-secure lock is locked without power and draws only while it opens. Which current a standby
battery carries, and which one in alarm, follows from that and from the release by the fire alarm.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from estimator.calc.checked import not_negative
from estimator.calc.formula import Expression

STAGED: Final = Expression("total_a + max(steps_a)")

LOCKED, OPENING = "while it is locked", "while it opens"
"""The state of a lock that needs power."""

_KINDS: Final = ("safe", "secure")


def powered_state(*, fail: str) -> str:
    """Return the state that needs power, in words.

    ``fail`` is what the lock does without power: ``safe`` or ``secure``.
    Source: definition of fail-safe and fail-secure, common practice of door hardware.
    Raises: ValueError if it is neither of the two.

    >>> powered_state(fail="safe")
    'while it is locked'
    """
    _known(fail)
    return LOCKED if fail == "safe" else OPENING


def resting_a(*, fail: str, holding_a: float) -> float:
    """Return what a lock draws on a door that stays locked [A]: the standby load of a battery.

    Source: definition of fail-safe and fail-secure, common practice of door hardware.
    Raises: ValueError if the kind is unknown or the current is below zero.

    >>> resting_a(fail="safe", holding_a=0.5), resting_a(fail="secure", holding_a=0.5)
    (0.5, 0.0)
    """
    _known(fail)
    not_negative(holding_a=holding_a)
    return holding_a if fail == "safe" else 0.0


def in_alarm_a(*, fail: str, holding_a: float, released: bool) -> float:
    """Return what a lock draws while the fire alarm is on [A].

    Release takes the power from a fail-safe lock and gives it to a fail-secure one; a lock that isn't
    released stays as it rests.
    Source: egress practice, release of locks on fire alarm.
    Raises: ValueError if the kind is unknown or the current is below zero.

    >>> in_alarm_a(fail="safe", holding_a=0.5, released=True), in_alarm_a(fail="secure", holding_a=0.5, released=True)
    (0.0, 0.5)
    """
    resting = resting_a(fail=fail, holding_a=holding_a)
    return holding_a - resting if released else resting


def staged_start_a(*, total_a: float, steps_a: Sequence[float]) -> float:
    """Return the largest current of loads that start one after another, all others on already [A].

    ``total_a`` [A] is what all of them last at, ``steps_a`` [A] what each takes more at inrush.
    Source: Kirchhoff's current law, with the largest step last of all.
    Raises: ValueError if there is no load or a current is below zero.

    >>> staged_start_a(total_a=0.75, steps_a=[1.5, 0.25])
    2.25
    """
    not_negative(total_a=total_a)
    for steps in steps_a:
        not_negative(steps_a=steps)
    if not steps_a:
        raise ValueError(f"steps_a must hold a load at least, not {steps_a!r}")
    return STAGED(total_a=total_a, steps_a=steps_a)


def _known(fail: str) -> None:
    if fail not in _KINDS:
        raise ValueError(f"fail must be one of {', '.join(_KINDS)}, not {fail!r}")
