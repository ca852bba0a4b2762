"""Taking filled field sheets and instruments' result files into the readings folder of a job.

What is reported is a preview: whether a row fits a circuit and counts is decided each time the job
is judged, so a row that nothing knows yet is kept and listed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, TypeVar

from estimator.field.batches import Kept, Stored, is_void, read_folder, store_evidence, store_sheet
from estimator.field.corrections import wrong_corrections
from estimator.field.evidence import EvidenceFile, read_evidence
from estimator.field.intake import read_data, read_path
from estimator.field.intake_grid import UnreadableError, clean_name
from estimator.field.intake_mapped import JOINED
from estimator.field.preview import Listed, MediaOfJob, SheetReport, unstated_dates, unusable_cells, with_repeats
from estimator.field.rows import SHORT
from estimator.field.taken import Aside, How, Intake, TakenRow, TakenSheet
from estimator.spec.circuit_ids import CircuitIds
from estimator.spec.faults import Fault, ProblemError, nearest
from estimator.spec.model import Project

_MOST_HINTS: Final = 50  # looking for the nearest of 10,000 ids takes a while
_PLAIN: Final = How()
_Handed = TypeVar("_Handed")


@dataclass(frozen=True, kw_only=True, slots=True)
class AlreadyKnown:
    """A file that was collected before, byte for byte, and the batch that holds it."""

    file: str
    batch: str
    void: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class NotFilled:
    """The sheets of a form that nobody filled in, beside those that somebody did."""

    file: str
    tabs: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.file}: {'sheet' if len(self.tabs) == 1 else 'sheets'} {', '.join(self.tabs)}"


@dataclass(frozen=True, kw_only=True, slots=True)
class EvidenceReport:
    """An instrument's result file that is kept: its hash, and how many rows of the job it backs now."""

    file: str
    digest: str
    backs: int
    new: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Report:
    """What became of the files handed in; rows without a known circuit are kept like all others.

    ``stopped`` says why the folder could not be written any further; empty where all went well.
    """

    folder: str
    taken: tuple[SheetReport, ...]
    known: tuple[AlreadyKnown, ...]
    aside: tuple[Aside, ...]
    not_filled: tuple[NotFilled, ...]
    no_circuit: tuple[Listed, ...]
    notes: tuple[Listed, ...]
    faults: tuple[Fault, ...]
    evidence: tuple[EvidenceReport, ...] = ()
    stopped: str = ""

    @property
    def rows(self) -> int:
        """Return how many rows were taken."""
        return sum(sheet.rows for sheet in self.taken)

    @property
    def batches(self) -> frozenset[str]:
        """Return the batches that are new."""
        return frozenset(sheet.batch for sheet in self.taken)


def folder_of(project: Project) -> Path:
    """Return the readings folder of a job."""
    return Path(project.folder) / project.readings


def collect(
    project: Project,
    files: Sequence[Path],
    circuits: Iterable[str] | None = None,
    *,
    how: How = _PLAIN,
    evidence: Sequence[Path] = (),
) -> Report:
    """Take filled field sheets, and the result files of instruments, into the job's readings folder.

    ``circuits`` are the ids that count as known in the report; without it, every id of the project.
    ``how`` brings a mapping file and what options state; ``evidence`` are result files that belong
    to these sheets. A folder that can't be written any more ends the taking: what was taken before
    stands, and the report says so.
    """
    desk = _Desk(project=project, how=how)
    for path in files:
        _unless_stopped(desk, desk.take, path)
    if evidence:
        _unless_stopped(desk, desk.keep, evidence)
    stored = read_folder(folder_of(project))
    ids = circuits if circuits is not None else ids_of(project)
    new = {sheet.batch for sheet in desk.taken}
    return Report(
        folder=folder_of(project).as_posix(),
        taken=tuple(with_repeats(desk.taken, stored)),
        known=tuple(replace(one, void=is_void(one.batch, stored.decisions)) for one in desk.known),
        aside=tuple(desk.aside),
        not_filled=tuple(desk.blank),
        no_circuit=tuple(_unknown(desk.rows, ids, stored)),
        notes=(*desk.notes, *(note for batch, note in wrong_corrections(stored) if batch in new)),
        faults=stored.faults,
        evidence=tuple(_evidence_reports(desk, stored)),
        stopped=desk.stopped,
    )


@dataclass(kw_only=True, slots=True)
class _Desk:
    """Where the files handed in are laid out, one after the other."""

    project: Project
    how: How
    taken: list[SheetReport] = field(default_factory=list)
    known: list[AlreadyKnown] = field(default_factory=list)
    aside: list[Aside] = field(default_factory=list)
    blank: list[NotFilled] = field(default_factory=list)
    notes: list[Listed] = field(default_factory=list)
    rows: list[tuple[str, TakenRow]] = field(default_factory=list)
    kept: dict[EvidenceFile, bool] = field(default_factory=dict)
    media: MediaOfJob | None = None
    stopped: str = ""

    def take(self, path: Path) -> None:
        """Take one sheet's file. Raises: OSError where the folder can't be written."""
        self.media = self.media or MediaOfJob(self.project)
        intake = read_path(path, self.media, self.how)
        self.aside.extend(intake.aside)
        filled = replace(intake, sheets=tuple(sheet for sheet in intake.sheets if sheet.rows))
        empty = [sheet for sheet in intake.sheets if not sheet.rows]
        # Heads that aren't known may be why nothing was found on a sheet.
        self.notes.extend(_notes(replace(intake, sheets=tuple(empty))))
        if not filled.sheets:
            self.aside.extend(_unfilled(intake.file, empty))
            return
        try:
            kept = store_sheet(folder_of(self.project), filled)
        except ProblemError as wrong:
            self.aside.append(Aside(file=intake.file, wrong=wrong.wrong, expected=wrong.expected, mend=wrong.mend))
            return
        if empty:
            self.blank.append(NotFilled(file=intake.file, tabs=tuple(sheet.tab for sheet in empty)))
        if not kept.new:
            self.known.append(AlreadyKnown(file=intake.file, batch=kept.batch))
            return
        self.taken.extend(_reports(filled, kept))
        self.notes.extend(_notes(filled))
        self.notes.extend(unstated_dates(filled, self.project))
        self.notes.extend(unusable_cells(filled, self.project))
        self.rows.extend((_place(intake.file, sheet, row.row), row) for sheet in filled.sheets for row in sheet.rows)

    def keep(self, paths: Sequence[Path]) -> None:
        """Keep result files beside the batches of the sheets. Raises: OSError where that can't be written."""
        whole: dict[EvidenceFile, bytes] = {}
        for path in paths:
            try:
                file, data = read_evidence(path)
            except UnreadableError as wrong:
                self._no_evidence(path, wrong.wrong, wrong.mend)
            except OSError as wrong:
                self._no_evidence(path, f"the file can't be opened ({wrong.strerror})", "mend its name or permissions")
            else:
                if any(sheet.rows for sheet in read_data(file.file, data, self.media).sheets):
                    self._no_evidence(path, "the file is a filled field sheet", "name sheets before `--evidence`")
                    continue
                whole[file] = data
        if whole:
            batches = {sheet.batch for sheet in self.taken} | {known.batch for known in self.known}
            kept = store_evidence(folder_of(self.project), whole, tuple(sorted(batches)))
            self.kept = dict.fromkeys(whole, kept.new)

    def _no_evidence(self, path: Path, wrong: str, mend: str) -> None:
        self.aside.append(
            Aside(file=clean_name(path.name), wrong=wrong, expected="an instrument's result file", mend=mend)
        )


def _unless_stopped(desk: _Desk, step: Callable[[_Handed], None], what: _Handed) -> None:
    """Take a step, unless the folder could not be written before."""
    if desk.stopped:
        return
    try:
        step(what)
    except OSError as full:
        where = full.filename or folder_of(desk.project).as_posix()
        desk.stopped = f"{where}: can't be written ({full.strerror or full})"


def _evidence_reports(desk: _Desk, stored: Stored) -> Iterator[EvidenceReport]:
    for file, new in desk.kept.items():
        mark = f"(sha256 {file.digest[:SHORT]})"
        backs = sum(row.backing.endswith(mark) for row in stored.rows)
        yield EvidenceReport(file=file.file, digest=file.digest, backs=backs, new=new)


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
    return ", ".join(part for part in (file, sheet.tab and f"sheet {sheet.tab}", row and f"row {row}") if part)


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
        joined = [note for row in sheet.rows for note in row.notes if note.endswith(JOINED)]
        if joined:
            left = f"{len(sheet.rows):,} row" + "s" * (len(sheet.rows) != 1)
            what = f"{len(joined) + len(sheet.rows):,} rows of the table are {left}"
            remark = f"{what}: those of one circuit, round and moment are joined"
            yield Listed(place=_place(intake.file, sheet, 0), circuit="", remark=remark)
        for row in sheet.rows:
            for note in row.notes:
                if not note.endswith(JOINED):
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
