"""Decisions of people about what was collected: void, restore, re-map, accept, waive."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from estimator.field.batches import Kept, Stored, read_folder, store_decision
from estimator.field.collect import folder_of, ids_of
from estimator.field.rows import KINDS, SHORT, UNDONE, Decision, ReadRow
from estimator.spec.faults import ProblemError, known_words, nearest
from estimator.spec.life_safety import life_safety_ids
from estimator.spec.model import Project
from estimator.spec.quality import TESTS

ROLES: Final = ("owner", "engineer", "authority", "general_contractor", "own_lead")
"""In which role somebody can decide."""

_LEAST_DIGITS: Final = 6
_HASH: Final = re.compile("[0-9a-f]+")


def decide(project: Project, decision: Decision, circuits: Iterable[str] | None = None) -> Kept:
    """Store a decision of a person in the job's readings folder.

    Raises: ProblemError where the decision lacks something or points at nothing, OSError where the
    folder can't be written.
    """
    folder = folder_of(project)
    _whole(decision)
    stored = read_folder(folder)
    ids = tuple(circuits if circuits is not None else ids_of(project))
    if decision.kind in ("void", "restore"):
        decision = replace(decision, target=_pointed(decision.target, stored))
    elif decision.kind == "remap":
        decision = replace(decision, target=_typed(decision.target, stored), to=_circuit(decision.to, ids))
    else:
        decision = replace(decision, target=_circuit(decision.target, ids))
        _may_sign(decision, project)
    return store_decision(folder, decision)


def _whole(decision: Decision) -> None:
    """Refuse a decision without its reason, name, role or date."""
    if decision.kind not in KINDS:
        raise ProblemError(f"a decision can't be {decision.kind!r}", f"one of {', '.join(KINDS)}", "mend the word")
    needed = ["target", "reason", "name", "role", "date"]
    needed += {"remap": ["to"], "accept": ["reference"], "waive": ["reference"]}.get(decision.kind, [])
    for key in needed:
        if not getattr(decision, key).strip():
            raise ProblemError(f"the decision has no {key}", f"a {key}", "say it: others will ask")
    if decision.role not in ROLES:
        raise ProblemError(f"role {decision.role!r} is not known", f"one of {', '.join(ROLES)}", "mend the word")
    if decision.kind in ("accept", "waive") and decision.to and decision.to not in TESTS:
        close = nearest(decision.to, TESTS)
        mend = f"write {close}" if close else "mend the word, or leave the test out"
        raise ProblemError(f"test {decision.to!r} is not known", f"one of {known_words(TESTS, 40)}", mend)
    try:
        date.fromisoformat(decision.date)
    except ValueError as wrong:
        raise ProblemError(
            f"{decision.date!r} is no date", "year-month-day, such as 2026-03-04", "retype it"
        ) from wrong


def _may_sign(decision: Decision, project: Project) -> None:
    """Refuse a signature that would never count."""
    if decision.role == "own_lead":
        raise ProblemError(
            f"circuit {decision.target!r} is decided by our own lead",
            "the client's side",
            "let owner, engineer, authority or general contractor decide",
        )
    name, safety = decision.target.lower(), life_safety_ids(project)
    if decision.kind == "accept" and (name in safety or name.rpartition(".")[0] in safety):
        raise ProblemError(
            f"a marginal result of life-safety circuit {decision.target!r} is accepted",
            "no such acceptance: nobody accepts a marginal life-safety result",
            "mend the circuit and test it again",
        )


def _pointed(target: str, stored: Stored) -> str:
    """Return the name of the one batch or row that a target points at; a void is restored, not voided."""
    head, colon, rest = target.strip().partition(":")
    head = head.lower()
    undone = {made.batch for made in (*stored.decisions, *stored.withdrawn) if made.kind in UNDONE}
    collected = [batch.id for batch in stored.batches if batch.kind != "decision" or batch.id in undone]
    found = [batch for batch in collected if batch.startswith(head)]
    if not _HASH.fullmatch(head) or len(head) < _LEAST_DIGITS or len(found) != 1:
        known = known_words(batch[:SHORT] for batch in collected)
        what = "several batches" if len(found) > 1 and len(head) >= _LEAST_DIGITS else "no batch"
        raise ProblemError(f"{target!r} points at {what}", f"the first digits of one of {known}", "mend the target")
    name = found[0][:SHORT]
    if not colon:
        return name
    key = f"{name}:{rest}"
    rows = [row.key for row in stored.rows if row.batch == found[0]]
    if key not in rows:
        # A file of one worksheet needs no name of it.
        alone = [row.key for row in stored.rows if row.batch == found[0] and str(row.row) == rest]
        if len(alone) == 1:
            return alone[0]
        close = nearest(key, rows[:5000])
        mend = f"write {close}" if close else "mend the row"
        raise ProblemError(f"{target!r} points at no row", "BATCH:SHEET:ROW, or BATCH:ROW of a CSV file", mend)
    return key


def _typed(target: str, stored: Stored) -> str:
    """Return a re-mapping's target: a circuit as typed in a sheet, else a batch or a row."""
    if any(_same(row, target) for row in stored.rows):
        return target.strip()
    return _pointed(target, stored)


def _same(row: ReadRow, circuit: str) -> bool:
    return row.circuit.casefold() == circuit.strip().casefold()


def _circuit(name: str, ids: Sequence[str]) -> str:
    """Return a circuit's id as the project writes it."""
    for known in ids:
        if known.casefold() == name.strip().casefold():
            return known
    close = nearest(name, ids)
    mend = f"write {close}" if close else "mend the id"
    raise ProblemError(f"circuit {name!r} is not in the project", f"one of {known_words(ids)}", mend)
