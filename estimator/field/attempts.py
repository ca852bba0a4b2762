"""Attempts under one round number: several sheets may share a round, or type over each other's results.

Rows that add to each other are one attempt, because a round's readings may stand on several sheets.
A row that says another result for the same reading is an attempt of its own: what it contradicts
stays in the history.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, time

from estimator.field.said import Said
from estimator.field.verdicts import Finding

Key = tuple[str, str]

Told = Mapping[int, Mapping[Key, str]]
"""What each row says, by the row's identity: its readings' texts by test and position."""

_PLACES = 4  # rows named as evidence


def attempts(rows: Iterable[Said], told: Told) -> list[list[Said]]:
    """Return the rows of one round as attempts, the earliest first; each is a run of rows that agree."""
    found: list[list[Said]] = []
    known: dict[Key, str] = {}
    for one in sorted(rows, key=_moment):
        says = told[id(one)]
        if not found or any(known.get(key, text) != text for key, text in says.items()):
            found.append([])
            known = {}
        found[-1].append(one)
        known.update(says)
    return found


def _moment(said: Said) -> tuple[date, time, int]:
    return said.day or date.min, said.clock or time.min, said.row.order


def standing(groups: Sequence[list[Said]], told: Told) -> list[list[Said]]:
    """Return the attempts that no later one replaces: the last, and those that nothing orders before it."""
    ends = [_ends(group, told) for group in groups]
    saying = [end for end in ends if end is not None]
    of_sheet = {_sheet(end[1]): end for end in saying}  # the last attempt that ends in a sheet
    return [
        group
        for group, end in zip(groups, ends, strict=True)
        if end is None or not any(is_later(later[0], end[1]) for later in (saying[-1], of_sheet[_sheet(end[1])]))
    ]


def _ends(group: Sequence[Said], told: Told) -> tuple[Said, Said] | None:
    """Return the first and the last row of an attempt that say something; None where none does."""
    saying = [one for one in group if told[id(one)]]
    return (saying[0], saying[-1]) if saying else None


def _sheet(said: Said) -> tuple[str, str]:
    return said.row.batch, said.row.tab


def is_later(one: Said, other: Said) -> bool:
    """Return whether a row is later than another: by date, then time, then its place in the same sheet."""
    if one.day is None or other.day is None:
        return False
    if one.day != other.day:
        return one.day > other.day
    if one.clock is not None and other.clock is not None and one.clock != other.clock:
        return one.clock > other.clock
    return _sheet(one) == _sheet(other) and one.row.row > other.row.row


def twice(groups: Sequence[Sequence[Said]], current: Collection[int]) -> Iterable[Finding]:
    """Yield a finding for every round number under which a circuit has several attempts.

    ``groups`` are all its attempts, ``current`` the identities of the rows whose readings count.
    """
    rounds: dict[int, list[Sequence[Said]]] = {}
    for group in groups:
        if group[0].round is not None:
            rounds.setdefault(group[0].round, []).append(group)
    for number, several in rounds.items():
        if len(several) > 1:
            yield _finding(number, several, current)


def unordered(rows: Sequence[Said], told: Told, current: Collection[int]) -> Iterable[Finding]:
    """Yield a finding where a row without a round says something else than a row that stands beside it.

    ``rows`` are all rows of a circuit, ``current`` the identities of those whose readings count. Such
    rows stand together because neither round nor date orders them.
    """
    stand = [one for one in rows if id(one) in current]
    for one in stand:
        if one.round is not None:
            continue
        others = [other for other in stand if other is not one and _differ(told[id(one)], told[id(other)])]
        if others:
            names = dict.fromkeys("another row" if o.round is None else f"round {o.round}" for o in others)
            yield Finding(
                kind="no order",
                circuit=one.criteria.id,
                text=f"a row without a round beside {', '.join(names)}: nothing orders them, so the worse counts",
                evidence="; ".join(each.row.place for each in [one, *others][:_PLACES]),
                look="ask which came last, and collect the sheet mended, with `corrects:` above its head",
            )
            return


def _differ(one: Mapping[Key, str], other: Mapping[Key, str]) -> bool:
    return any(other.get(key, text) != text for key, text in one.items())


def _finding(number: int, several: Sequence[Sequence[Said]], current: Collection[int]) -> Finding:
    rows = [one for group in several for one in group]
    sheets = len({_sheet(one) for one in rows})
    count = "two" if len(several) == 2 else f"{len(several)}"
    text = f"{count} different {'sheets' if sheets > 1 else 'rows of one sheet'} say round {number}"
    counted = sum(any(id(one) in current for one in group) for group in several)
    if counted > 1:
        text += "; nothing orders them, so the worse counts"
    elif counted:
        text += "; the later one counts"
    places = [one.row.place + (f" of {one.day.isoformat()}" if one.day else "") for one in rows]
    more = f"; and {len(places) - _PLACES} more" if len(places) > _PLACES else ""
    return Finding(
        kind="one round twice",
        circuit=rows[0].criteria.id,
        text=text,
        evidence="; ".join(places[:_PLACES]) + more,
        look="a retest takes the next round's number; a corrected sheet says so with `corrects:` above its head",
    )
