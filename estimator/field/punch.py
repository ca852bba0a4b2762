"""The punch list: what is open, where to look, and what was cleared by a later round."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from estimator.field.verdicts import CircuitResult, Finding, PunchItem, Reading, Try, Unplaced

_SET_WRONG: Final = ("velocity",)  # findings that tell what to do before the next test

_LISTED: Final = ("unknown circuit", "other sheet", "unknown position")


def punch_list(circuits: Sequence[CircuitResult], unplaced: Iterable[Unplaced]) -> tuple[PunchItem, ...]:
    """Return the punch list in test order, then rows that belong to no circuit."""
    found: list[PunchItem] = []
    for one in circuits:
        found.extend(_items(one))
    look = "re-map the row to its circuit, or add the circuit to the job"
    found.extend(
        PunchItem(circuit=one.row.circuit, room="", what=one.why, look=look, found=one.row.place)
        for one in unplaced
        if one.kind in _LISTED
    )
    return tuple(found)


def _items(one: CircuitResult) -> Iterable[PunchItem]:
    what = _open(one)
    if what:
        yield PunchItem(circuit=one.id, room=one.criteria.room, what=what, look=_look(one), found=_found(one))
    failed = [each for each in one.history if each.word == "fail" and not each.current]
    if failed and one.word in ("pass", "marginal pass"):
        last = next((each for each in reversed(one.history) if each.current), None)
        yield PunchItem(
            circuit=one.id,
            room=one.criteria.room,
            what=_failures(failed[-1]),
            look="",
            found=failed[-1].name,
            cleared=last.name if last else "later round",
        )


def _open(one: CircuitResult) -> str:
    if one.complete:
        return ""
    if one.word == "fail":
        current = sorted((reading for reading in one.readings if reading.failed), key=_telling)
        return "; ".join(_failed(reading) for reading in current) or one.why
    if one.word == "incomplete":
        return f"incomplete, to be tested: {_lacking(one)}"
    if one.word == "marginal pass":
        return f"marginal, to be accepted or mended: {one.why}"
    return f"{one.word}: {one.why}" if one.why else one.word


def _unread(reading: Reading) -> bool:
    """Return whether a reading is typed in a way that nobody can read."""
    return reading.value is None and repr(reading.text) in reading.why


def _unusable(one: CircuitResult) -> Mapping[str, Reading | None]:
    """Return, by label, what lacks a usable reading, with the one that isn't used; a pair's stands for the link's."""
    found: dict[str, Reading | None] = {}
    for criterion in one.missing:
        own = [reading for reading in one.readings if reading.test == criterion.test and reading.why]
        first = next((reading for reading in own if reading.key == criterion.key), None)
        found[criterion.label] = first or next(filter(_unread, own), None)
    return found


def _lacking(one: CircuitResult) -> str:
    """Return what lacks a usable reading, each reason behind all that it holds for."""
    by_why: dict[str, list[str]] = {}
    for label, reading in _unusable(one).items():
        by_why.setdefault(reading.why if reading else "", []).append(label)
    return "; ".join(f"{', '.join(labels)}{why and f' ({why})'}" for why, labels in by_why.items()) or one.why


_TELLING: Final = ("wire_map", "length")
"""Tests that tell most about what is wrong, read first."""


def _telling(reading: Reading) -> int:
    return _TELLING.index(reading.test) if reading.test in _TELLING else len(_TELLING)


def _failed(reading: Reading) -> str:
    criterion = reading.criterion
    limit = f" ({criterion.limit})" if criterion and criterion.judges and not criterion.accepted else ""
    return f"{reading.label}: {reading.shown}, {reading.word}{limit}"


def _failures(each: Try) -> str:
    return "; ".join(f"{reading.label}: {reading.shown}" for reading in each.readings if reading.failed)


def _look(one: CircuitResult) -> str:
    causes = one.causes
    if causes:
        return "; ".join(map(_words, causes))
    if one.word != "incomplete":
        return ""
    unusable = [reading for reading in _unusable(one).values() if reading]
    if any(map(_unread, unusable)):
        return "ask who wrote it and collect the sheet mended, with `corrects:` above its head, or test again"
    own = dict.fromkeys(each.look for each in one.findings if each.kind in _SET_WRONG)
    return "; ".join((*own, "test again" if unusable else "test what is missing"))


def _words(cause: Finding) -> str:
    """Return a probable cause with its place, where to look, and what else it may be."""
    said = f"{cause.text}: {', '.join(filter(None, (cause.place, cause.look)))}"
    return f"{said} (or {cause.instead})" if cause.instead else said


def _found(one: CircuitResult) -> str:
    current = next((each for each in reversed(one.history) if each.current), None)
    return current.name if current else ""
