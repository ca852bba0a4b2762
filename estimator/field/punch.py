"""The punch list: what is open, where to look, and what was cleared by a later round."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from estimator.field.verdicts import CircuitResult, PunchItem, Reading, Try, Unplaced

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
        lacking = [reading for reading in one.readings if reading.why and _missing(one, reading.key)]
        whys = dict.fromkeys(f": {reading.why}" for reading in lacking)
        return f"incomplete, to be tested: {one.why}" + "".join(whys)
    if one.word == "marginal pass":
        return f"marginal, to be accepted or mended: {one.why}"
    return f"{one.word}: {one.why}" if one.why else one.word


_TELLING: Final = ("wire_map", "length")
"""Tests that tell most about what is wrong, read first."""


def _telling(reading: Reading) -> int:
    return _TELLING.index(reading.test) if reading.test in _TELLING else len(_TELLING)


def _failed(reading: Reading) -> str:
    criterion = reading.criterion
    limit = f" ({criterion.limit})" if criterion and criterion.judges and not criterion.accepted else ""
    return f"{reading.label}: {reading.shown}, {reading.word}{limit}"


def _missing(one: CircuitResult, key: tuple[str, str]) -> bool:
    return any(criterion.key == key for criterion in one.missing)


def _failures(each: Try) -> str:
    return "; ".join(f"{reading.label}: {reading.shown}" for reading in each.readings if reading.failed)


def _look(one: CircuitResult) -> str:
    causes = one.causes
    if causes:
        return "; ".join(f"{each.text}: {', '.join(filter(None, (each.place, each.look)))}" for each in causes)
    return "test again" if one.word == "incomplete" else ""


def _found(one: CircuitResult) -> str:
    current = next((each for each in reversed(one.history) if each.current), None)
    return current.name if current else ""
