"""Locks: the state that needs power, what rests on a battery, starts one after another."""

from __future__ import annotations

import math
from functools import partial

import pytest

from estimator.calc import lock
from tests.calc.refusals import Refused


@pytest.mark.parametrize(
    ("fail", "state", "resting", "released", "not_released"),
    [
        # Definition: fail-safe is free without power, fail-secure is locked without it; by hand for 0.5 A.
        ("safe", lock.LOCKED, 0.5, 0.0, 0.5),
        ("secure", lock.OPENING, 0.0, 0.5, 0.0),
    ],
)
def test_each_kind_needs_power_in_one_state(
    fail: str, state: str, resting: float, released: float, not_released: float
) -> None:
    """A battery holds a fail-safe lock through standby; release takes its power or gives a fail-secure one its own."""
    assert lock.powered_state(fail=fail) == state
    assert lock.resting_a(fail=fail, holding_a=0.5) == resting
    assert lock.in_alarm_a(fail=fail, holding_a=0.5, released=True) == released
    assert lock.in_alarm_a(fail=fail, holding_a=0.5, released=False) == not_released


def test_locks_that_start_one_after_another_need_one_step_at_a_time() -> None:
    """By hand: 0.5 A and 0.25 A last, 2 A and 0.3 A at inrush; the last to start makes 0.25 + 2 A."""
    assert lock.staged_start_a(total_a=0.75, steps_a=[1.5, 0.05]) == 2.25
    assert lock.staged_start_a(total_a=0.75, steps_a=[0.0]) == 0.75


def test_a_kind_of_lock_that_is_none_is_refused() -> None:
    """Both kinds are named with what was asked."""
    for refused in (
        partial(lock.powered_state, fail="open"),
        partial(lock.resting_a, fail="open", holding_a=1),
        partial(lock.in_alarm_a, fail="open", holding_a=1, released=True),
    ):
        with pytest.raises(ValueError, match="fail must be one of safe, secure, not 'open'"):
            refused()


def test_a_start_without_a_load_is_refused() -> None:
    """There is nothing that could start."""
    with pytest.raises(ValueError, match="steps_a must hold a load at least"):
        lock.staged_start_a(total_a=0.75, steps_a=[])


REFUSED = [
    *(
        Refused(possible=partial(lock.resting_a, fail=fail, holding_a=0.5), zero_or_more="holding_a")
        for fail in ("safe", "secure")
    ),
    Refused(possible=partial(lock.in_alarm_a, fail="safe", holding_a=0.5, released=True), zero_or_more="holding_a"),
    Refused(
        possible=partial(lock.staged_start_a, total_a=0.75, steps_a=[1.5]),
        zero_or_more="total_a",
        wrong=(("steps_a", [1.5, -0.1]), ("steps_a", [0.5, math.nan])),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
