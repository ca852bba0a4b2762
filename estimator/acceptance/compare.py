"""The one comparison of a reading with its criterion, for documents, sheets and judging alike."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from estimator.acceptance.criterion import Criterion
from estimator.calc.formula import Expression
from estimator.units.rounding import over, under

Word = Literal["pass", "marginal pass", "marginal fail", "fail", "not judged"]

PASS: Final = "pass"
MARGINAL_PASS: Final = "marginal pass"
MARGINAL_FAIL: Final = "marginal fail"
FAIL: Final = "fail"
NOT_JUDGED: Final = "not judged"

RANK: Final[dict[Word, int]] = {PASS: 0, MARGINAL_PASS: 1, NOT_JUDGED: 2, MARGINAL_FAIL: 3, FAIL: 4}
"""How bad a word is; where nothing orders two readings, the worse counts."""

MARGIN_HIGH: Final = Expression("most - reading")
"""What is left up to the highest good value; below zero the reading is outside."""

MARGIN_LOW: Final = Expression("reading - least")
"""What is left down to the lowest good value."""

MARGIN_BOTH: Final = Expression("min(most - reading, reading - least)")
"""What is left to the nearer of both."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a comparison gave: the word, the margin to the nearest limit (bad below zero) and why."""

    word: Word
    margin: float | None = None
    why: str = ""


RECORDED: Final = Outcome(PASS, why="recorded, no limit")
"""What a reading gets whose criterion only asks that it be there."""


def compare(value: float | str, criterion: Criterion, accuracy: float | None = None) -> Outcome:
    """Return the verdict on a value in the criterion's SI unit; infinity is a value beyond range.

    A value at its limit passes; both sides are compared at 12 significant digits. ``accuracy`` is the
    bound the instrument states for this value: nearer to the limit than that is marginal, on
    either side.

    >>> skew = Criterion(test="skew", label="skew", high=44e-9, source="")
    >>> compare(44e-9, skew).word, compare(45e-9, skew).word, compare(43e-9, skew, 2e-9).word
    ('pass', 'fail', 'marginal pass')
    """
    if criterion.accepted:
        return _word(value, criterion)
    if isinstance(value, str):
        # A number of a marker or a date code: a record has nothing to be held against.
        return Outcome(NOT_JUDGED, why=f"{value!r} is no number") if criterion.judges or criterion.unit else RECORDED
    if math.isnan(value):
        return Outcome(NOT_JUDGED, why="not a number")
    if not criterion.judges:
        if math.isinf(value):
            return Outcome(NOT_JUDGED, why="beyond range")
        return RECORDED
    found = [_against(value, limit, high, accuracy) for limit, high in _limits(criterion)]
    return max(found, key=lambda outcome: (RANK[outcome.word], -(outcome.margin or 0.0)))


def margin_formula(low: float | None, high: float | None) -> Expression | None:
    """Return the formula of the margin to the nearest of these limits, or None where there is none."""
    if low is not None and high is not None:
        return MARGIN_BOTH
    return MARGIN_HIGH if high is not None else MARGIN_LOW if low is not None else None


def _word(value: float | str, criterion: Criterion) -> Outcome:
    text = value if isinstance(value, str) else ("OL" if math.isinf(value) else f"{value:g}")
    accepted = {word.casefold() for word in criterion.accepted}
    return Outcome(PASS if text.strip().casefold() in accepted else FAIL)


def _limits(criterion: Criterion) -> list[tuple[float, bool]]:
    both = ((criterion.low, False), (criterion.high, True))
    return [(limit, high) for limit, high in both if limit is not None]


def _against(value: float, limit: float, high: bool, accuracy: float | None) -> Outcome:
    bad = over(value, limit) if high else under(value, limit)
    margin = limit - value if high else value - limit
    # The band is laid around the limit, because a difference of two near numbers keeps fewer digits than either.
    near = accuracy is not None and over(value, limit - accuracy) and under(value, limit + accuracy)
    if bad:
        return Outcome(MARGINAL_FAIL if near else FAIL, margin)
    return Outcome(MARGINAL_PASS if near else PASS, margin)
