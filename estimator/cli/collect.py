"""The verb that takes filled field sheets into the readings folder."""

from __future__ import annotations

import sys
from argparse import Namespace
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.cli.show import count, dump, loaded, print_faults

if TYPE_CHECKING:
    from estimator.field.collect import Report


def collect(chosen: Namespace) -> int:
    """Take sheets in and say what became of every one of them. Returns 1 where a file gave nothing."""
    from estimator.field.collect import collect as take

    project = loaded(chosen.spec)
    if project is None:
        return 1
    try:
        report = take(project, [Path(sheet) for sheet in chosen.sheets])
    except OSError as refused:
        print(f"{refused.filename or project.readings}: can't be written ({refused.strerror})", file=sys.stderr)
        return 1
    if chosen.format == "json":
        print(dump(_report_json(report)))
    else:
        print_report(report)
    print_faults(report.faults, sys.stderr)
    return int(bool(report.faults) or bool(_empty_files(report, chosen.sheets)))


def _empty_files(report: Report, files: list[str]) -> list[str]:
    gave = {sheet.file for sheet in report.taken} | {known.file for known in report.known}
    return [file for file in files if Path(file).name not in {Path(name).name for name in gave}]


def print_report(report: Report) -> None:
    """Print what was taken, what was known, what was kept aside and why."""
    for sheet in report.taken:
        where = f"{sheet.file}, sheet {sheet.tab}" if sheet.tab else sheet.file
        blank = f"; {count(sheet.untouched, 'row')} not filled in" if sheet.untouched else ""
        again = f"; {sheet.repeats} of them as collected before" if sheet.repeats else ""
        print(f"taken: {where}: {count(sheet.rows, 'row')} of {sheet.medium.replace('_', ' ')}{again}{blank}")
    for known in report.known:
        print(f"known: {known.file} was collected before, byte for byte; nothing changed")
    for aside in report.aside:
        print(f"aside: {aside}")
    for form in report.not_filled:
        print(f"not filled in: {form}")
    for listed in report.no_circuit:
        print(f"no circuit: {listed}")
    for note in report.notes:
        print(f"note: {note}")
    taken = f"{count(report.rows, 'row')} from {count(len(report.taken), 'sheet')}"
    print(f"{taken} into {report.folder}; verdicts are given when the job is judged")


def _report_json(report: Report) -> dict[str, object]:
    return {
        "folder": report.folder,
        "rows": report.rows,
        "taken": [asdict(sheet) for sheet in report.taken],
        "known": [asdict(known) for known in report.known],
        "aside": [asdict(aside) for aside in report.aside],
        "not_filled": [asdict(form) for form in report.not_filled],
        "no_circuit": [asdict(listed) for listed in report.no_circuit],
        "notes": [asdict(note) for note in report.notes],
        "faults": [str(fault) for fault in report.faults],
    }
