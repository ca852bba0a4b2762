"""How sharply a distance along a cable is known, and where it puts a place on the route.

A reflection is read at some edge, by a velocity, from an end whose slack nobody measured. Each has a
spread; what the job's own lengths show replaces what is assumed.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.robust import center
from estimator.field.learned import Learned, Sample
from estimator.field.lengths import CONFIDENCE, LEAST
from estimator.reference.lookup import table

REACH: Final = Expression("sqrt(edge ** 2 + slack ** 2 + (share * distance) ** 2) * factor")
"""Half width of the interval in which a place lies [m]: independent spreads, added in squares."""

FACTOR: Final = NormalDist().inv_cdf((1 + CONFIDENCE) / 2)
_BOTH_ENDS: Final = math.sqrt(2)  # of the slack at two ends, each alike
_HALF_KNOWN: Final = 2.0  # of two alike whose sum is known


@dataclass(frozen=True, kw_only=True, slots=True)
class Sight:
    """How a distance is read: the ratio to take off, and what is unsure about it.

    ``shift_m`` is how much more cable lies at the end tested from than expected; ``edge_m`` and
    ``slack_m`` are spreads, ``share`` the ratio's own spread.
    """

    ratio: float
    share: float
    edge_m: float
    slack_m: float
    shift_m: float = 0.0

    def place_m(self, distance_m: float) -> float:
        """Return the distance on the route from the end tested from [m]."""
        return max(distance_m / self.ratio - self.shift_m, 0.0)

    def reach_m(self, distance_m: float) -> float:
        """Return how far on either side of it the place may lie [m]."""
        return REACH(
            edge=self.edge_m,
            slack=self.slack_m,
            share=self.share,
            distance=distance_m / self.ratio,
            factor=FACTOR,
        )


def assumed(kind: str) -> Sight:
    """Return the sight by ``velocity`` or ``resistance`` where the job's lengths tell nothing."""
    known = {row.text("name"): row.number("value") for row in table("fault_place")}
    return Sight(ratio=1.0, share=known[kind], edge_m=known["edge"], slack_m=known["slack"])


class Sights:
    """The sight of every instrument and cable of a job, by what its lengths say."""

    def __init__(self, learned: Learned) -> None:
        """Take in what the lengths of a job say."""
        self._learned = learned
        self._assumed = assumed("velocity")
        self._slack = {one.cable: one.value_m for one in learned.slacks}
        self._spread: dict[str, float] = {}
        by_cable: dict[str, list[Sample]] = {}
        for one in learned.samples:
            by_cable.setdefault(one.cable, []).append(one)
        for cable, own in by_cable.items():
            if len(own) >= LEAST:
                self._spread[cable] = center(list(self._extras(own))).spread

    def _extras(self, own: Iterable[Sample]) -> Iterable[float]:
        for one in own:
            yield self._true_m(one) - one.expected_m - self._slack.get(one.cable, 0.0)

    def _true_m(self, one: Sample) -> float:
        ratio = self._learned.level(one.instrument, one.cable)
        return one.measured_m / ratio.value if ratio else one.measured_m

    def of(self, instrument: str, cable: str, *, expected_m: float | None, sound_m: float | None) -> Sight:
        """Return how a distance that an instrument read on a cable is seen.

        ``expected_m`` is the circuit's expected length [m], ``sound_m`` its whole length by the same
        instrument, from a pair without fault [m].
        """
        ratio = self._learned.level(instrument, cable)
        share = self._assumed.share if ratio is None else math.log(ratio.high / ratio.low) / 2 / FACTOR
        value = 1.0 if ratio is None else ratio.value
        spread = self._spread.get(cable)
        slack = self._assumed.slack_m if spread is None else spread / _BOTH_ENDS
        shift = self._slack.get(cable, 0.0) / 2
        if sound_m is not None and expected_m is not None and spread is not None:
            shift, slack = (sound_m / value - expected_m) / 2, spread / _HALF_KNOWN
        return Sight(ratio=value, share=share, edge_m=self._assumed.edge_m, slack_m=slack, shift_m=shift)
