"""Worst margins of a balanced pair: what an instrument shows, held against the circuit's own limit line.

A margin typed by hand belongs to whatever limit the instrument was set to. Where the value and its
frequency stand beside it, the circuit's own line says what the margin is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from estimator.acceptance.columns import OVER_FREQUENCY
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.acceptance.over_frequency import LOSS, criterion_at
from estimator.calc.limit_line import judged_at
from estimator.field.said import Typed
from estimator.field.typed import half_step
from estimator.units.rounding import over

_PRINTED_DB: Final = 0.1
"""Last digit that instruments show of a limit: a margin from rounded values is no sharper."""


def with_margins(typed: Iterable[Typed], numbers: Mapping[str, float], one: Criteria) -> list[Typed]:
    """Return the readings with the margins that values and frequencies give, by the circuit's own lines."""
    found = list(typed)
    if not any(f"{test}_mhz" in numbers for test in OVER_FREQUENCY):
        return found
    for test in OVER_FREQUENCY:
        own = _margin(test, numbers, one)
        if own is None:
            continue
        shown = next((place for place, each in enumerate(found) if each.key == (test, "")), None)
        if shown is None:
            found.append(own)
        elif not own.why:
            found[shown] = _held(found[shown], own)
        else:
            found[shown] = replace(found[shown], why=own.why)
    return found


def _margin(test: str, numbers: Mapping[str, float], one: Criteria) -> Typed | None:
    value, mhz = numbers.get(f"{test}_db"), numbers.get(f"{test}_mhz")
    if value is None or mhz is None:
        return None
    line = criterion_at(one, test, mhz) if mhz > 0 else None
    text = f"{value:g} dB at {mhz:g} MHz"
    if line is None:
        why = f"{OVER_FREQUENCY[test]} of this link has no limit at {mhz:g} MHz"
        return Typed(test=test, position="", text=text, value=None, why=why)
    loss = numbers.get(f"{LOSS}_db") if numbers.get(f"{LOSS}_mhz") == mhz else None
    for rule in one.low_loss:
        if test in rule.covers and loss is not None and not judged_at(loss_db=loss, below_loss_db=rule.below_db):
            why = f"recorded: the pair loses {loss:g} dB at {mhz:g} MHz, less than {rule.below_db:g} dB"
            return Typed(test=test, position="", text=text, value=None, why=why)
    margin = _against(value, line)
    return Typed(test=test, position="", text=text, value=margin, unit="", number=margin)


def _against(value_db: float, line: Criterion) -> float:
    if line.high is not None:
        return line.high - value_db
    return value_db - (line.low or 0.0)


def _held(shown: Typed, own: Typed) -> Typed:
    """Return a margin as the instrument shows it, unless the circuit's own line gives another."""
    if shown.number is None or own.number is None:
        return shown
    loose = half_step(shown.text, 1.0) + _PRINTED_DB
    if over(abs(shown.number - own.number), loose):
        why = f"margin {shown.text} dB isn't by the circuit's limit: {own.text} leaves {own.number:.1f} dB"
        return replace(shown, value=None, why=why)
    return shown
