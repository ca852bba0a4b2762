"""Taking filled field sheets and decisions into the readings folder of a job.

What is reported is a preview: whether a row fits a circuit and counts is decided each time the job
is judged, so a row that nothing knows yet is kept and listed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Final

from estimator.field.batches import Kept, Stored, read_folder, store_decision, store_sheet
from estimator.field.intake import read_path
from estimator.field.preview import Listed, MediaOfJob, SheetReport, unusable_cells, with_repeats
from estimator.field.rows import KINDS, SHORT, Decision, ReadRow
from estimator.field.taken import Aside, Intake, TakenRow, TakenSheet
from estimator.spec.circuit_ids import CircuitIds
from estimator.spec.faults import Fault, ProblemError, known_words, nearest
from estimator.spec.life_safety import life_safety_ids
from estimator.spec.model import Project

ROLES: Final = ("owner", "engineer", "authority", "general_contractor", "own_lead")
"""In which role somebody can decide."""

_LEAST_DIGITS: Final = 6
_MOST_HINTS: Final = 50  # looking for the nearest of 10,000 ids takes a while
_HASH: Final = re.compile("[0-9a-f]+")


@dataclass(frozen=True, kw_only=True, slots=True)
class AlreadyKnown:
    """A file that was collected before, byte for byte, and the batch that holds it."""

    file: str
    batch: str


@dataclass(frozen=True, kw_only=True, slots=True)
class NotFilled:
    """The sheets of a form that nobody filled in, beside those that somebody did."""

    file: str
    tabs: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.file}: {'sheet' if len(self.tabs) == 1 else 'sheets'} {', '.join(self.tabs)}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Report:
    """What became of the files handed in; rows without a known circuit are kept like all others."""

    folder: str
    taken: tuple[SheetReport, ...]
    known: tuple[AlreadyKnown, ...]
    aside: tuple[Aside, ...]
    not_filled: tuple[NotFilled, ...]
    no_circuit: tuple[Listed, ...]
    notes: tuple[Listed, ...]
    faults: tuple[Fault, ...]

    @property
    def rows(self) -> int:
        """Return how many rows were taken."""
        return sum(sheet.rows for sheet in self.taken)


def folder_of(project: Project) -> Path:
    """Return the readings folder of a job."""
    return Path(project.folder) / project.readings


def collect(project: Project, files: Sequence[Path], circuits: Iterable[str] | None = None) -> Report:
    """Take filled field sheets into the job's readings folder.

    ``circuits`` are the ids that count as known in the report; without it, every id of the project.
    Raises: OSError where the folder can't be written.
    """
    folder = folder_of(project)
    taken: list[SheetReport] = []
    known: list[AlreadyKnown] = []
    aside: list[Aside] = []
    blank: list[NotFilled] = []
    notes: list[Listed] = []
    rows: list[tuple[str, TakenRow]] = []
    medium_of = MediaOfJob(project)
    for path in files:
        intake = read_path(path, medium_of)
        aside.extend(intake.aside)
        filled = replace(intake, sheets=tuple(sheet for sheet in intake.sheets if sheet.rows))
        empty = [sheet for sheet in intake.sheets if not sheet.rows]
        if not filled.sheets:
            aside.extend(_unfilled(intake.file, empty))
            continue
        if empty:
            blank.append(NotFilled(file=intake.file, tabs=tuple(sheet.tab for sheet in empty)))
        kept = store_sheet(folder, filled)
        if not kept.new:
            known.append(AlreadyKnown(file=intake.file, batch=kept.batch))
            continue
        taken.extend(_reports(filled, kept))
        notes.extend(_notes(filled))
        notes.extend(unusable_cells(filled, project))
        rows.extend((_place(intake.file, sheet, row.row), row) for sheet in filled.sheets for row in sheet.rows)
    stored = read_folder(folder)
    ids = circuits if circuits is not None else ids_of(project)
    return Report(
        folder=folder.as_posix(),
        taken=tuple(with_repeats(taken, stored)),
        known=tuple(known),
        aside=tuple(aside),
        not_filled=tuple(blank),
        no_circuit=tuple(_unknown(rows, ids, stored)),
        notes=tuple(notes),
        faults=stored.faults,
    )


def _unfilled(file: str, empty: Sequence[TakenSheet]) -> Iterator[Aside]:
    """Yield why a form without a single reading gives nothing; a file without a field sheet says so itself."""
    if empty:
        alone = empty[0] if len(empty) == 1 else None
        below = "below the head" if alone else f"of its {len(empty)} sheets"
        yield Aside(
            file=file,
            tab=alone.tab if alone else "",
            row=alone.head_row if alone else 0,
            wrong=f"no row {below} holds a reading",
            expected="at least one reading, note or evidence",
            mend="fill the sheet in",
        )


def _place(file: str, sheet: TakenSheet, row: int) -> str:
    return f"{file}, sheet {sheet.tab}, row {row}" if sheet.tab else f"{file}, row {row}"


def _reports(intake: Intake, kept: Kept) -> Iterator[SheetReport]:
    for sheet in intake.sheets:
        yield SheetReport(
            file=intake.file,
            tab=sheet.tab,
            medium=sheet.medium,
            rows=len(sheet.rows),
            untouched=sheet.untouched,
            batch=kept.batch,
        )


def _notes(intake: Intake) -> Iterator[Listed]:
    for sheet in intake.sheets:
        for note in sheet.notes:
            yield Listed(place=_place(intake.file, sheet, sheet.head_row), circuit="", remark=note)
        for row in sheet.rows:
            for note in row.notes:
                yield Listed(place=_place(intake.file, sheet, row.row), circuit=row.circuit, remark=note)


def ids_of(project: Project) -> tuple[str, ...]:
    """Return every id of a project that a field sheet can name as its circuit."""
    stops = (stop.id for circuit in project.circuits.values() for stop in circuit.stops if stop.id)
    named = (
        project.circuits,
        project.backbone,
        project.test_points,
        project.control_units,
        project.supplies,
        project.amplifiers,
        project.ups,
    )
    whole = (*(run.id for run in project.runs), *(name for group in named for name in group), *stops)
    spelled = {name.lower(): name for name in whole}
    strands = ((name, *name.rpartition(".")) for name in CircuitIds(project).strands())
    return (*whole, *(f"{spelled.get(cable, cable)}.{number}" for _, cable, _, number in strands))


def _unknown(rows: Iterable[tuple[str, TakenRow]], ids: Iterable[str], stored: Stored) -> Iterator[Listed]:
    known = {name.casefold(): name for name in ids}
    moved = {decision.target.casefold() for decision in stored.decisions if decision.kind == "remap"}
    hints: dict[str, str] = {}
    for place, row in rows:
        typed = row.circuit.casefold()
        if typed in known or typed in moved:
            continue
        if not typed:
            remark = "the row names no circuit; it is kept"
        else:
            if typed not in hints and len(hints) < _MOST_HINTS:
                close = nearest(row.circuit[:40], known.values())
                hints[typed] = f", nearest is {close!r}" if close else ""
            remark = f"circuit {row.circuit[:40]!r} is not in the project{hints.get(typed, '')}; the row is kept"
        yield Listed(place=place, circuit=row.circuit, remark=remark)


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
    """Return the name of the one batch or row that a target points at."""
    head, colon, rest = target.strip().partition(":")
    head = head.lower()
    found = [batch.id for batch in stored.batches if batch.digest and batch.id.startswith(head)]
    if not _HASH.fullmatch(head) or len(head) < _LEAST_DIGITS or len(found) != 1:
        known = known_words(batch.id[:SHORT] for batch in stored.batches if batch.digest)
        what = "several batches" if len(found) > 1 and len(head) >= _LEAST_DIGITS else "no batch"
        raise ProblemError(f"{target!r} points at {what}", f"the first digits of one of {known}", "mend the target")
    name = found[0][:SHORT]
    if not colon:
        return name
    key = f"{name}:{rest}"
    rows = [row.key for row in stored.rows if row.batch == found[0]]
    if key not in rows:
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
