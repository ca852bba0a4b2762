"""Findings about the rows themselves: one link under two names, instruments, dates that can't be read,
rows that don't say who read them, when or with what.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

from estimator.acceptance.instruments import past_due
from estimator.field.readings import Bench
from estimator.field.rows import ReadRow
from estimator.field.said import Said
from estimator.field.typed import NOTHING, bare
from estimator.field.verdicts import CircuitResult, Finding

_DIGITS: Final = 12
"""Digits that two results must share before chance can't explain it: four readings of three digits."""

_LEAST_READINGS: Final = 3

_ORIGIN: Final = ("person", "date", "instrument")
"""Columns that say where a reading comes from."""

_PLACES: Final = 4  # rows named as evidence


def job_findings(judged: Sequence[CircuitResult], said: Sequence[Said], bench: Bench) -> tuple[Finding, ...]:
    """Return the findings that show only across circuits."""
    order = {one.id: place for place, one in enumerate(judged)}
    found = [*_twice(said), *_instruments(said, bench), *_unread(said), *_without_origin(judged)]
    return tuple(sorted(found, key=lambda finding: (order.get(finding.circuit, 0), finding.kind, finding.evidence)))


Numbers = tuple[tuple[str, str, str], ...]
"""A row's readings that are numbers: test, position and text."""


def _digits(numbers: Numbers) -> int:
    """Return the digits that count of a row's numbers: zeros in front and signs don't."""
    return sum(len(re.sub(r"\D", "", text).lstrip("0")) for _, _, text in numbers)


def _twice(said: Iterable[Said]) -> Iterable[Finding]:
    seen: dict[tuple[str, Numbers], list[Said]] = {}
    for one in said:
        numbers = tuple([(t.test, t.position, t.text) for t in one.readings if t.number is not None and t.text.strip()])
        if len(numbers) >= _LEAST_READINGS:
            seen.setdefault((one.criteria.medium, numbers), []).append(one)
    for (_, numbers), same in seen.items():
        names = list(dict.fromkeys(one.criteria.id for one in same)) if len(same) > 1 else []
        if len(names) < 2 or _digits(numbers) < _DIGITS:
            continue
        places = "; ".join(one.row.place for one in same)
        for name in names:
            others = ", ".join(other for other in names if other != name)
            yield Finding(
                kind="one link under two names",
                circuit=name,
                text=f"the same readings to the last digit as {others}",
                evidence=places,
                look="test each of them again: one link was saved under two names",
            )


def _instruments(said: Iterable[Said], bench: Bench) -> Iterable[Finding]:
    known = bool(bench.acceptance.instruments)
    told: set[tuple[str, str, str]] = set()
    for one in said:
        named = one.word("instrument")
        if not named or not known:
            continue
        instrument = bench.instrument(one)
        kind, text = "", ""
        if instrument is None:
            kind, text = "unknown instrument", f"instrument {one.row.cells['instrument']!r} is not in the job's list"
        elif past_due(instrument, one.day):
            due = instrument.calibration_due
            kind, text = "calibration overdue", f"instrument {instrument.id} was due for calibration on {due}"
        if kind and (one.criteria.id, kind, text) not in told:
            told.add((one.criteria.id, kind, text))
            yield Finding(
                kind=kind,
                circuit=one.criteria.id,
                text=text,
                evidence=one.row.place,
                look="add it to `instruments`, or test again with one in calibration",
            )


def _unread(said: Iterable[Said]) -> Iterable[Finding]:
    told: set[tuple[str, str]] = set()
    for one in said:
        for what, text in one.unread.items():
            if (one.criteria.id, what) not in told:
                told.add((one.criteria.id, what))
                yield Finding(
                    kind=f"unread {what}",
                    circuit=one.criteria.id,
                    text=text,
                    evidence=one.row.place,
                    look="ask who wrote it, and collect the sheet mended, with `corrects:` above its head",
                )


def _without_origin(judged: Iterable[CircuitResult]) -> Iterable[Finding]:
    """Yield a finding a sheet, at its first circuit, for current rows that don't say who, when or with what."""
    found: dict[tuple[str, str, tuple[str, ...]], list[tuple[str, ReadRow]]] = {}
    for one in judged:
        for row in (row for each in one.history if each.current for row in each.rows):
            lacking = tuple(key for key in _ORIGIN if bare(row.cells.get(key, "")).casefold() in NOTHING)
            if lacking:
                found.setdefault((row.batch, row.tab, lacking), []).append((one.id, row))
    for (_, _, keys), rows in found.items():
        named = f"{', '.join(keys[:-1])} or {keys[-1]}" if len(keys) > 1 else keys[0]
        where = "the row" if len(rows) == 1 else f"{len(rows):,} rows of the sheet"
        more = f"; and {len(rows) - _PLACES:,} more" if len(rows) > _PLACES else ""
        yield Finding(
            kind="no origin",
            circuit=rows[0][0],
            text=f"no {named} on {where}",
            evidence="; ".join(row.place for _, row in rows[:_PLACES]) + more,
            look="ask the crew; a reading without them can't be traced",
        )
