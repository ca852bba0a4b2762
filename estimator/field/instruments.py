"""Which instruments took the readings, when, and whether their calibration held on the day."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from estimator.acceptance.instruments import past_due
from estimator.field.job import Job
from estimator.spec.model import Project
from estimator.spec.quality import Instrument

NOT_NAMED = "not named"
"""Stands for the instrument of a row that names none."""


@dataclass(frozen=True, kw_only=True, slots=True)
class InstrumentUse:
    """A listed instrument and the days of the rows that it read; a row may have no day."""

    instrument: Instrument
    days: tuple[date | None, ...]

    @property
    def rows(self) -> int:
        """Return how many rows it read."""
        return len(self.days)

    @property
    def last(self) -> date | None:
        """Return the last day on which it was used."""
        return max((day for day in self.days if day is not None), default=None)

    @property
    def late(self) -> int:
        """Return how many rows it read past its calibration."""
        return sum(past_due(self.instrument, day) for day in self.days)


@dataclass(frozen=True, slots=True)
class Stranger:
    """An instrument that rows name and the project file doesn't list, with the number of those rows."""

    name: str
    rows: int


def instrument_use(project: Project, job: Job) -> tuple[tuple[InstrumentUse, ...], tuple[Stranger, ...]]:
    """Return the listed instruments with their use, and those that rows name beside them."""
    listed = project.acceptance.instruments
    known = {name.casefold(): one.id for one in listed for name in (one.id, one.serial) if name}
    days: dict[str, list[date | None]] = {one.id: [] for one in listed}
    strangers: Counter[str] = Counter()
    for each in (each for result in job.result.circuits for each in result.history):
        for row in each.rows:
            named = row.cells.get("instrument", "").strip() or NOT_NAMED
            found = known.get(named.casefold())
            if found is None:
                strangers[named] += 1
            else:
                days[found].append(each.day)
    uses = tuple(InstrumentUse(instrument=one, days=tuple(days[one.id])) for one in listed)
    return uses, tuple(Stranger(name, count) for name, count in sorted(strangers.items()))
