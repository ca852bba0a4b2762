"""What is said about a sheet when it is taken in: cells of no use, rows seen before, the medium of a circuit.

It is a preview: whether a row counts is decided each time the job is judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.acceptance.basis import SHEET_OF
from estimator.acceptance.criteria import sheet_of_kind
from estimator.field.batches import Stored
from estimator.field.interpret import unusable
from estimator.field.rows import ReadRow
from estimator.field.taken import Intake
from estimator.field.typed import bare, read_day, two_orders
from estimator.spec.model import Project

_MOST_ALIKE: Final = 10  # remarks of one kind that are listed one by one


@dataclass(frozen=True, kw_only=True, slots=True)
class SheetReport:
    """One sheet taken: how many rows were read, how many of the form's rows nobody filled in.

    ``repeats`` are rows that say nothing but what a row collected before says.
    """

    file: str
    tab: str
    medium: str
    rows: int
    untouched: int
    batch: str
    repeats: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Listed:
    """A row worth a look: where it stands, its circuit as typed and a remark."""

    place: str
    circuit: str
    remark: str

    def __str__(self) -> str:
        return f"{self.place}: {self.remark}"


def unusable_cells(intake: Intake, project: Project) -> Iterator[Listed]:
    """Yield the cells that judging can't use, with their place; many of one kind are counted."""
    for sheet in intake.sheets:
        listed: dict[str, int] = {}
        last = ""
        for row in sheet.rows:
            read = ReadRow(
                batch="",
                file=intake.file,
                sheet=sheet.medium,
                row=row.row,
                order=0,
                circuit=row.circuit,
                round=row.round,
                cells=row.cells,
                tab=sheet.tab,
                lengths=sheet.lengths,
                stated=sheet.stated,
                numbers=row.numbers,
            )
            for remark in unusable(read, project.acceptance, project.header.lengths_in):
                kind = remark.partition(":")[0] if ": " in remark else remark.partition(" ")[0]
                listed[kind] = listed.get(kind, 0) + 1
                last = read.place
                if listed[kind] <= _MOST_ALIKE:
                    yield Listed(place=read.place, circuit=row.circuit, remark=remark)
        for kind, number in listed.items():
            if number > _MOST_ALIKE:
                remark = f"{kind}: {number - _MOST_ALIKE:,} more cells down to here can't be used"
                yield Listed(place=last, circuit="", remark=remark)


def unstated_dates(intake: Intake, project: Project) -> Iterator[Listed]:
    """Yield a remark for a sheet whose dates could be read in two orders, where nobody stated one."""
    if project.acceptance.source.typed("date_order") is not None:
        return
    for sheet in intake.sheets:
        if "dates" in sheet.stated:
            continue
        loose = [row for row in sheet.rows if two_orders(row.cells.get("date", ""))]
        if loose:
            where = f"{intake.file}, sheet {sheet.tab}" if sheet.tab else intake.file
            text, order = loose[0].cells["date"], project.acceptance.date_order
            dates = f"{len(loose):,} dates such as {text!r}" if len(loose) > 1 else f"the date {text!r}"
            remark = (
                f"{dates} can be read in two orders and nobody states one: "
                f"read as {read_day(text, order).isoformat()}; state `dates: {order}` in the sheet, by an option, "
                "or as `date_order` of the project"
            )
            yield Listed(place=f"{where}, row {loose[0].row}", circuit=loose[0].circuit, remark=remark)


def with_repeats(taken: Sequence[SheetReport], stored: Stored) -> Iterator[SheetReport]:
    """Yield the reports with the count of their rows that repeat what another batch holds."""
    first: dict[object, str] = {}
    repeats: dict[tuple[str, str], int] = {}
    for row in stored.rows:
        says = (row.sheet, bare(row.circuit).casefold(), row.round, frozenset(row.cells.items()))
        if first.setdefault(says, row.batch) != row.batch:
            repeats[row.batch, row.tab] = repeats.get((row.batch, row.tab), 0) + 1
    for sheet in taken:
        yield replace(sheet, repeats=repeats.get((sheet.batch, sheet.tab), 0))


class MediaOfJob:
    """Tells a circuit's medium; the table of a job's circuits is made when a head first asks for it."""

    def __init__(self, project: Project) -> None:
        """Start without the table."""
        self.project = project
        self.known: Mapping[str, str] | None = None

    def __call__(self, circuit: str) -> str | None:
        """Return the medium of a circuit, or None."""
        if self.known is None:
            self.known = media_of(self.project)
        return self.known.get(bare(circuit).casefold())


def media_of(project: Project) -> Mapping[str, str]:
    """Return on which sheet each circuit is tested, by id in lower case."""
    found = {run.id: SHEET_OF[run.cable.medium] for run in project.runs if run.cable.medium in SHEET_OF}
    found |= {circuit.id: sheet_of_kind(circuit.kind) for circuit in project.circuits.values()}
    found |= {name: SHEET_OF[project.cables[line.cable].medium] for name, line in project.backbone.items()}
    found |= {point.id: "battery" if point.kind == "battery" else "bonding" for point in project.test_points.values()}
    return {name.casefold(): medium for name, medium in found.items()}
