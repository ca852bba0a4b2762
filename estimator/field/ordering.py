"""Which rows of a circuit count: rounds before dates and times, dates before the order in a sheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from statistics import median_low
from typing import Final

from estimator.field.attempts import Told, attempts, standing
from estimator.field.said import Said

_CLOCK_DAYS: Final = 366
"""A date that lies further from the job's other dates comes from a clock that was never set."""

_ENOUGH_DATES: Final = 3


@dataclass(frozen=True, slots=True)
class Unbelieved:
    """A row whose date isn't believed, and why."""

    said: Said
    why: str


def believe(rows: Sequence[Said]) -> tuple[list[Said], list[Unbelieved]]:
    """Return the rows with dates that can be believed, and those whose clock was years off.

    Such a row keeps its readings and loses its date, so that its clock orders nothing.
    """
    days = [said.day for said in rows if said.day]
    if len(days) < _ENOUGH_DATES:
        return list(rows), []
    middle = median_low(days)
    kept, flagged = [], []
    for said in rows:
        if said.day and abs((said.day - middle).days) > _CLOCK_DAYS:
            why = f"date {said.day.isoformat()} is over a year from the job's other readings"
            said = replace(said, day=None, clock=None, notes=(*said.notes, why), doubts=(*said.doubts, why))
            flagged.append(Unbelieved(said, why))
        kept.append(said)
    return kept, flagged


def rounds(rows: Sequence[Said], told: Told) -> list[list[Said]]:
    """Return the rows in tries, the earliest first: rows of one round that agree are one try.

    Rows without a round are a try each. Where only some rows have a round, dates order them if all
    rows have one.
    """
    by_round: dict[object, list[Said]] = {}
    for said in rows:
        key: object = said.round if said.round is not None else ("row", said.row.order)
        by_round.setdefault(key, []).append(said)
    numbered = all(said.round is not None for said in rows)
    dated = all(said.day is not None for said in rows)

    def rank(group: list[Said]) -> tuple[int, date, time, int]:
        number = group[0].round or 0
        day = max((said.day for said in group if said.day), default=date.min)
        clock = max((said.clock for said in group if said.clock and said.day == day), default=time.min)
        return (number if numbered or not dated else 0, day, clock, group[-1].row.order)

    return sorted((group for same in by_round.values() for group in attempts(same, told)), key=rank)


def latest(rows: Sequence[Said], told: Told) -> list[Said]:
    """Return the rows that nothing supersedes: the last round's last attempt whole, or what nothing orders.

    Several rows of one round stay together where they agree, because a round's readings may stand on
    several sheets. Attempts of a round that neither date nor time orders stand together.
    """
    numbered = [said for said in rows if said.round is not None]
    if len(numbered) < len(rows) and all(said.day for said in rows):
        return newest(rows)
    # Rows that neither round nor date orders stay beside the last round: the worse will count.
    last = max((said.round or 0 for said in numbered), default=0)
    tries = attempts([said for said in numbered if said.round == last], told)
    return [*(said for group in standing(tries, told) for said in group), *(s for s in rows if s.round is None)]


def newest(items: Sequence[Said]) -> list[Said]:
    """Return what date and time put last; of one day and one sheet the lower row, else all of that day."""
    if len(items) < 2 or not all(said.day for said in items):
        return list(items)
    day = max(said.day for said in items if said.day)
    same = [said for said in items if said.day == day]
    if all(said.moment for said in same):
        moment = max(said.moment for said in same if said.moment)
        same = [said for said in same if said.moment == moment]
    if len({(said.row.batch, said.row.tab) for said in same}) == 1:
        return [max(same, key=lambda said: said.row.row)]
    return same


def without_duplicates(rows: Iterable[Said]) -> tuple[list[Said], list[tuple[Said, Said]]]:
    """Return each row once, and the repeats with what they repeat: every field alike."""
    kept: dict[object, Said] = {}
    repeats = []
    for said in rows:
        row = said.row
        # The same text may be a number in one sheet and none under another's decimal sign.
        unread = frozenset(one.key for one in said.readings if one.why)
        key = (said.criteria.id, said.position, row.sheet, row.round, frozenset(row.cells.items()), unread)
        first = kept.setdefault(key, said)
        if first is not said:
            repeats.append((said, first))
    return list(kept.values()), repeats
