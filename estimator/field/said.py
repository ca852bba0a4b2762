"""What one row says: its readings as typed, and the moment and the settings that they were taken with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import lru_cache

from estimator.acceptance.criterion import Criteria
from estimator.field.rows import ReadRow
from estimator.field.typed import bare


@lru_cache(maxsize=8192)  # a job says few words many times
def _lower(text: str) -> str:
    return bare(text).casefold()


@dataclass(frozen=True, kw_only=True, slots=True)
class Typed:
    """One reading as typed: a number in SI or a word; None with ``why`` where it can't be read."""

    test: str
    position: str
    text: str
    value: float | str | None
    si: float = 1.0
    unit: str = ""  # as typed, from the column's head
    why: str = ""
    number: float | None = None  # the value, where it is a finite number
    distance: float | None = None  # what a faulty link's length is: the distance to its fault [m]

    @property
    def key(self) -> tuple[str, str]:
        """Return test and position."""
        return self.test, self.position


@dataclass(frozen=True, kw_only=True, slots=True)
class Said:
    """What one row says. ``trouble`` says why none of its readings is used; empty where they are."""

    row: ReadRow
    criteria: Criteria
    position: str
    round: int | None
    day: date | None
    clock: time | None
    readings: tuple[Typed, ...]
    numbers: Mapping[str, float]  # of columns that say how a reading was taken
    trouble: str = ""
    notes: tuple[str, ...] = ()
    unread: Mapping[str, str] = field(default_factory=dict)  # why round, date or time can't be read
    doubts: tuple[str, ...] = ()  # why the whole row is believed less, though it is used

    @property
    def moment(self) -> datetime | None:
        """Return date and time together, where both are known."""
        return datetime.combine(self.day, self.clock) if self.day and self.clock else None

    def word(self, key: str) -> str:
        """Return the text of a column in lower case, or nothing."""
        text = self.row.cells.get(key)
        return _lower(text) if text else ""

    def typed(self, test: str, position: str = "") -> Typed | None:
        """Return a reading as typed, or None."""
        return next((one for one in self.readings if one.key == (test, position)), None)
