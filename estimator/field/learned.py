"""What the lengths of a whole job say together, as data: ratios of instruments, slack, exchanged labels."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True, slots=True)
class Sample:
    """The last sound length of a circuit beside what was expected [m]; ``marked_m`` by the jacket's marks."""

    circuit: str
    room: str
    cable: str
    method: str
    instrument: str
    expected_m: float
    measured_m: float
    marked_m: float | None = None

    @property
    def off(self) -> float:
        """Return the logarithm of measured over expected."""
        return math.log(self.measured_m / self.expected_m)


@dataclass(frozen=True, kw_only=True, slots=True)
class Ratio:
    """How one instrument reads a cable: its lengths over true ones, with the ends of its 95 % interval.

    ``against`` says what it was compared with; ``undecided`` why it can't be told from something else.
    """

    instrument: str
    cable: str
    value: float
    low: float
    high: float
    count: int
    against: str
    undecided: str = ""

    @property
    def off(self) -> bool:
        """Return whether the interval leaves out a right velocity."""
        return not self.undecided and (self.low > 1 or self.high < 1)


@dataclass(frozen=True, kw_only=True, slots=True)
class Slack:
    """What a run of one cable has more (below zero: less) than expected, whatever its length [m]."""

    cable: str
    value_m: float
    low_m: float
    high_m: float
    count: int

    @property
    def off(self) -> bool:
        """Return whether the interval leaves out the slack as it is reckoned."""
        return self.low_m > 0 or self.high_m < 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Exchanged:
    """Two circuits whose lengths fit each other's expectation; ``chance`` of so good a fit by scatter alone."""

    first: Sample
    second: Sample
    chance: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Learned:
    """All that the lengths of a job say together."""

    samples: tuple[Sample, ...] = ()
    ratios: tuple[Ratio, ...] = ()
    slacks: tuple[Slack, ...] = ()
    exchanged: tuple[Exchanged, ...] = ()
    levels: Mapping[tuple[str, str], Ratio] = field(default_factory=dict)

    def ratio(self, instrument: str, cable: str) -> Ratio | None:
        """Return how an instrument reads a cable beside the others, or None where nothing is known."""
        return next((one for one in self.ratios if (one.instrument, one.cable) == (instrument, cable)), None)

    def level(self, instrument: str, cable: str) -> Ratio | None:
        """Return how an instrument reads a cable by the jacket's marks, else by the expected lengths, or None."""
        return self.levels.get((instrument, cable))
