"""Verbs that write documents: estimate, criteria, closeout. Each writes all of its files or none."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.cli.finish import PLAIN, Finish, asked, finished, refuse
from estimator.cli.show import count, print_faults, worked_out
from estimator.documents.wording import WordingError
from estimator.takeoff.takeoff import Takeoff

if TYPE_CHECKING:
    from estimator.field.job import Job

Maker = Callable[[], bytes]


def estimate(chosen: Namespace) -> int:
    """Write the estimate workbook, the proposal and the calculation sheets."""
    finish, takeoff = asked(chosen), worked_out(chosen.spec)
    if takeoff is None or finish is None:
        return 1
    return write(chosen, takeoff, estimate_files(takeoff, chosen.date, finish), finish)


def criteria(chosen: Namespace) -> int:
    """Write the test plan, the field sheets and the id list."""
    finish, takeoff = asked(chosen), worked_out(chosen.spec)
    if takeoff is None or finish is None:
        return 1
    return write(chosen, takeoff, criteria_files(takeoff, chosen.date, finish), finish)


def closeout(chosen: Namespace) -> int:
    """Write the closeout workbook, the turnover binder and the restricted part from the readings so far.

    Returns 1 also where the readings folder is damaged: the documents are written and say so.
    """
    from estimator.field.job import judge_job

    finish, takeoff = asked(chosen), worked_out(chosen.spec)
    if takeoff is None or finish is None:
        return 1
    job = judge_job(takeoff)
    done = write(chosen, takeoff, closeout_files(takeoff, chosen.date, job, finish), finish)
    faults = job.stored.faults
    print_faults(faults, sys.stderr)
    if faults and not done:
        print(
            f"{count(len(faults), 'fault')} in the readings folder; the documents lack what is damaged and say so",
            file=sys.stderr,
        )
    return done or int(bool(faults))


def estimate_files(takeoff: Takeoff, shown_date: date | None, finish: Finish = PLAIN) -> Mapping[str, Maker]:
    """Return the makers of the bid's documents by file name."""
    from estimator.documents.calc_sheets import calc_sheets
    from estimator.documents.estimate_book import estimate_book
    from estimator.documents.proposal import proposal
    from estimator.documents.xlsx_writer import write_xlsx

    name, own = takeoff.project.name, finish.templates
    return {
        f"{name}-estimate.xlsx": lambda: write_xlsx(estimate_book(takeoff, shown_date)),
        f"{name}-proposal.docx": lambda: finish.word(proposal(takeoff, shown_date, own)),
        f"{name}-calculations.docx": lambda: finish.word(calc_sheets(takeoff, shown_date, own)),
    }


def criteria_files(takeoff: Takeoff, shown_date: date | None, finish: Finish = PLAIN) -> Mapping[str, Maker]:
    """Return the makers of the crew's documents by file name."""
    from estimator.acceptance.criteria import criteria_for
    from estimator.documents.crew_plan import test_plan
    from estimator.documents.field_sheets import field_sheets
    from estimator.documents.id_list import id_list
    from estimator.documents.phone_page import phone_page
    from estimator.documents.xlsx_writer import write_xlsx

    name, own = takeoff.project.name, finish.templates
    circuits = criteria_for(takeoff.project, takeoff.footage, takeoff.power.dc)
    sheets = field_sheets(takeoff, circuits, shown_date)
    return {
        f"{name}-test-plan.docx": lambda: finish.word(test_plan(takeoff, circuits, shown_date, own)),
        f"{name}-field-sheets.xlsx": lambda: write_xlsx(sheets),
        f"{name}-field-page.html": lambda: phone_page(sheets, takeoff.project, own),
        f"{name}-ids.csv": lambda: id_list(circuits).encode("utf-8"),
    }


def closeout_files(
    takeoff: Takeoff, shown_date: date | None, job: Job | None = None, finish: Finish = PLAIN
) -> Mapping[str, Maker]:
    """Return the makers of the handover's documents by file name; without a judged job it is judged here."""
    from estimator.documents.binder import binder
    from estimator.documents.closeout_book import closeout_book
    from estimator.documents.restricted_copy import restricted_copy
    from estimator.documents.xlsx_writer import write_xlsx
    from estimator.field.job import judge_job

    project, name, own = takeoff.project, takeoff.project.name, finish.templates
    judged = job or judge_job(takeoff)
    files: dict[str, Maker] = {
        f"{name}-closeout.xlsx": lambda: write_xlsx(closeout_book(takeoff, judged, shown_date, own)),
        f"{name}-binder.docx": lambda: finish.word(binder(takeoff, judged, shown_date, own)),
    }
    held = project.closeout.restricted
    if held is not None:
        files[f"{name}-restricted.docx"] = lambda: finish.word(restricted_copy(project, held, shown_date, own))
    return files


def write(chosen: Namespace, takeoff: Takeoff, makers: Mapping[str, Maker], finish: Finish = PLAIN) -> int:
    """Make every document, then write them all into the output folder, or none of them."""
    folder = Path(chosen.out) if chosen.out else Path("out") / takeoff.project.name
    files = {}
    wrong: list[WordingError] = []
    for name, make in makers.items():
        progress(f"writing {name}")
        try:
            files[name] = make()
        except WordingError as fault:
            wrong.append(fault)
    progress("laying out" if finish.pages or finish.pdf else "")
    done = None if wrong else finished(files, finish)
    progress("")
    if wrong:
        refuse(wrong)
    if done is None:
        return 1
    header = takeoff.project.header
    return put(folder, done, replace=chosen.replace, job=f"{header.name} {header.number}".strip())


def put(folder: Path, files: Mapping[str, bytes], *, replace: bool, job: str = "") -> int:
    """Write files into a folder and say where they are; 1 where something stands in the way."""
    from estimator.documents.output import OutputError, write_files

    try:
        paths = write_files(folder, files, replace=replace, job=job)
    except OutputError as refused:
        for fault in refused.faults:
            print(f"{(folder / fault.name).as_posix()}: {fault.what}", file=sys.stderr)
        print(f"{count(len(refused.faults), 'file')} in the way; nothing was written", file=sys.stderr)
        return 1
    for path in paths:
        print(path.as_posix())
    return 0


def progress(what: str) -> None:
    """Show what is going on, on one line that is wiped at the end; nothing where stderr is no terminal."""
    if sys.stderr.isatty():
        print(f"\r\033[K{what}", end="", file=sys.stderr, flush=True)
