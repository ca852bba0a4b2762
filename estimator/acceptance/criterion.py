"""What a circuit must show: criteria as data, with the settings to enter before the test."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from estimator.acceptance.columns import Column
from estimator.calc.copper_link import delay_s


@dataclass(frozen=True, kw_only=True, slots=True)
class Bound:
    """One limit that was considered for a criterion, in the criterion's SI unit, with its source."""

    name: str
    value: float
    source: str
    confidence: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Criterion:
    """One thing that is tested on a circuit and what passes.

    ``low`` and ``high`` are in the unit of readings (SI); ``si`` is one shown unit of it. A criterion
    without limit and words only records. ``state`` is the far-end state it holds in, if one.
    ``bounds`` are all limits considered: the tightest stands in ``low`` or ``high``.
    """

    test: str
    position: str = ""
    label: str
    unit: str = ""
    si: float = 1.0
    decimals: int = 1
    low: float | None = None
    high: float | None = None
    accepted: tuple[str, ...] = ()
    state: str = ""
    required: bool = False
    source: str
    confidence: str = ""
    bounds: tuple[Bound, ...] = ()
    expected: float | None = None  # what a good reading should be near, SI

    @property
    def key(self) -> tuple[str, str]:
        """Return test and position, the key of its reading."""
        return self.test, self.position

    @property
    def judges(self) -> bool:
        """Return whether there is a limit or an accepted word."""
        return self.low is not None or self.high is not None or bool(self.accepted)

    @property
    def limit(self) -> str:
        """Return the limit for people, in the shown unit: ``at most 99.0 m``."""
        if self.accepted:
            return " or ".join(self.accepted)
        shown = [None if v is None else f"{v / self.si:.{self.decimals}f}" for v in (self.low, self.high)]
        low, high = shown
        if low is not None and high is not None:
            return f"{low} to {high} {self.unit}"
        if high is not None:
            return f"at most {high} {self.unit}"
        return f"at least {low} {self.unit}" if low is not None else "recorded"


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """What is entered or fitted before a circuit is tested; empty where nothing is set."""

    limit: str = ""  # name with edition
    adapter: str = ""
    nvp: float | None = None
    nvp_typed: bool = False  # typed in the project file, not the catalog's typical value
    reference: str = ""  # fiber reference method


@dataclass(frozen=True, kw_only=True, slots=True)
class LowLoss:
    """Parameters that are recorded and not judged where their pair loses less than a bound [dB]."""

    covers: tuple[str, ...]
    below_db: float
    source: str
    confidence: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Criteria:
    """What one circuit must show, in one place for every document and for judging.

    ``circuit`` is the id of the cable, circuit or test point; ``id`` adds the strand of a fiber,
    which ``row`` holds. ``rows`` are the blocks of a battery set.
    """

    id: str
    circuit: str
    row: str = ""
    rows: tuple[str, ...] = ()
    medium: str
    link: str = ""
    category: str = ""
    system: str = ""
    room: str
    far_end: str = ""
    cable: str = ""
    scheme: str = ""  # pin assignment of a jack
    expected_m: float | None = None
    expected_loop_ohm: float | None = None
    expected_volts: float | None = None
    settings: Settings = Settings()
    life_safety: bool = False
    criteria: tuple[Criterion, ...] = ()
    low_loss: tuple[LowLoss, ...] = ()  # exemptions of the limits over frequency

    by_key: Mapping[tuple[str, str], Criterion] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Index the criteria: thousands of readings look them up. The first of two alike counts."""
        object.__setattr__(self, "by_key", {one.key: one for one in reversed(self.criteria)})

    @property
    def expected_delay_s(self) -> float | None:
        """Return the delay of the expected length at the cable's velocity [s], or None where either is open."""
        if self.expected_m is None or self.settings.nvp is None:
            return None
        return delay_s(length_m=self.expected_m, nvp=self.settings.nvp)

    def criterion(self, test: str, position: str = "") -> Criterion | None:
        """Return the criterion of a reading, or None where the circuit has none."""
        return self.by_key.get((test, position))

    def for_column(self, column: Column, row: str = "") -> Criterion | None:
        """Return the criterion that a column of the field sheet is judged by, or None.

        ``row`` is the block of a battery set. Lengths of single pairs have none of their own: the
        shortest sound pair is judged.
        """
        if not column.test:
            return None
        found = self.criterion(column.test, row or column.position)
        if found is None and column.test == "video_level":
            return next((c for c in self.criteria if c.test == column.test and c.required), None)
        # A sheet's own verdict keeps to what it asks for; the rest is judged in the office.
        by_office = found is not None and not found.required and (column.asked or not found.judges)
        return None if by_office else found

    @property
    def required(self) -> tuple[Criterion, ...]:
        """Return the criteria without which the circuit stays incomplete."""
        return tuple(criterion for criterion in self.criteria if criterion.required)


_PIECES = re.compile(r"(\d+)")


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key by which A-2 comes before A-10, whatever the case.

    >>> sorted(["A-10", "a-2"], key=natural)
    ['a-2', 'A-10']
    """
    pieces = _PIECES.split(name.lower())
    return tuple((1, int(p), p) if p.isdigit() else (0, 0, p) for p in pieces)
