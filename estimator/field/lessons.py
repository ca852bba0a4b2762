"""What a finished job teaches the next bid: how lengths came out, and the rules that would have fitted."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.robust import center
from estimator.field.learned import Learned, Sample
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage, Length

WASTE: Final = Expression("max(0, measured / expected - 1)")
"""Waste that would have covered what came out longer than expected [share]."""

SLACK: Final = Expression("max(0, used + more)")
"""Slack of a run that would have fitted [m]."""

GROUPS: Final[dict[str, Callable[[Sample], str]]] = {
    "room": lambda one: one.room or "no room",
    "cable": lambda one: one.cable,
    "method": lambda one: one.method,
}
"""What lengths are grouped by."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Spread:
    """How the lengths of a group came out against what was expected: middle and spread [m, share]."""

    by: str
    name: str
    count: int
    off_m: float
    spread_m: float
    off_share: float
    spread_share: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Fitted:
    """A rule as it was used and as it would have fitted, with its interval where it has one.

    ``unit`` is ``m`` or ``share``; ``rule`` names the key of the project file.
    """

    rule: str
    cable: str
    unit: str
    used: float
    fitted: float
    low: float | None
    high: float | None
    count: int

    @property
    def told(self) -> bool:
        """Return whether the job tells another value than the one used; without an interval any other is."""
        if self.low is None or self.high is None:
            return self.used != self.fitted
        return not self.low <= self.used <= self.high


def spreads(learned: Learned) -> tuple[Spread, ...]:
    """Return how lengths came out by room, by cable and by method, each in the order in which they come up."""
    return tuple(
        _spread(by, name, own) for by, named in GROUPS.items() for name, own in _grouped(learned.samples, named).items()
    )


def _grouped(samples: Iterable[Sample], named: Callable[[Sample], str]) -> dict[str, list[Sample]]:
    groups: dict[str, list[Sample]] = {}
    for one in samples:
        groups.setdefault(named(one), []).append(one)
    return groups


def _spread(by: str, name: str, own: Sequence[Sample]) -> Spread:
    meters = center([one.measured_m - one.expected_m for one in own])
    shares = center([one.measured_m / one.expected_m - 1 for one in own])
    return Spread(
        by=by,
        name=name,
        count=len(own),
        off_m=meters.middle,
        spread_m=meters.spread,
        off_share=shares.middle,
        spread_share=shares.spread,
    )


def fitted_rules(learned: Learned, footage: Footage, project: Project) -> tuple[Fitted, ...]:
    """Return slack and waste as used and as they would have fitted, cable by cable."""
    by_cable = _grouped(learned.samples, GROUPS["cable"])
    slacks = {one.cable: one for one in learned.slacks}
    found: list[Fitted] = []
    for cable, own in by_cable.items():
        if cable in slacks:
            slack = slacks[cable]
            lengths = [footage.by_id[one.circuit] for one in own if one.circuit in footage.by_id]
            used = median(map(_slack_m, lengths)) if lengths else 0.0
            ends = (SLACK(used=used, more=more) for more in (slack.value_m, slack.low_m, slack.high_m))
            fitted, low, high = ends
            found.append(
                Fitted(
                    rule="slack", cable=cable, unit="m", used=used, fitted=fitted, low=low, high=high, count=slack.count
                )
            )
        found.append(_waste(cable, own, project))
    return tuple(found)


def _slack_m(length: Length) -> float:
    return length.slack_room_m + length.slack_device_m + length.loops * length.service_loop_m


def _waste(cable: str, own: Sequence[Sample], project: Project) -> Fitted:
    typed = project.cables[cable].waste
    measured, expected = (math.fsum(getattr(one, key) for one in own) for key in ("measured_m", "expected_m"))
    return Fitted(
        rule="waste",
        cable=cable,
        unit="share",
        used=project.rules.waste if typed is None else typed,
        fitted=WASTE(measured=measured, expected=expected),
        low=None,
        high=None,
        count=len(own),
    )
