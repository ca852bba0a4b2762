"""The verb that writes labels: sheets for a printer, the list for a label printer, port maps and racks."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Mapping
from datetime import date
from functools import partial

from estimator.cli.finish import PLAIN, Finish, asked
from estimator.cli.show import count, print_faults, worked_out
from estimator.cli.write import Maker, write
from estimator.takeoff.takeoff import Takeoff


def labels(chosen: Namespace) -> int:
    """Write label sheets, the label list, and the book of labels, port maps and racks."""
    from estimator.documents.label_sheets import LabelError

    finish, takeoff = asked(chosen), worked_out(chosen.spec)
    if takeoff is None or finish is None:
        return 1
    if not takeoff.project.labels:
        print(f"{chosen.spec}: no `labels:` block names a sheet of labels; only the lists are written", file=sys.stderr)
    try:
        return write(chosen, takeoff, label_files(takeoff, chosen.date, finish), finish)
    except LabelError as refused:
        print_faults(refused.faults, sys.stderr)
        print(f"{count(len(refused.faults), 'fault')}; nothing was written", file=sys.stderr)
        return 1


def label_files(takeoff: Takeoff, shown_date: date | None, finish: Finish = PLAIN) -> Mapping[str, Maker]:
    """Return the makers of labels, port maps and racks by file name, a file for each sheet of labels.

    ``finish`` is taken as all verbs hand it over; labels have neither wording nor contents.
    """
    from estimator.acceptance.criteria import criteria_for
    from estimator.documents.label_book import label_book
    from estimator.documents.label_sheets import write_labels
    from estimator.documents.labels import all_labels, label_list, labels_for
    from estimator.documents.output import safe_name
    from estimator.documents.xlsx_writer import write_xlsx

    project, name = takeoff.project, takeoff.project.name
    circuits = criteria_for(project, takeoff.footage, takeoff.power.dc)
    known = all_labels(takeoff, circuits)
    files: dict[str, Maker] = {
        f"{name}-labels.xlsx": lambda: write_xlsx(label_book(takeoff, circuits, shown_date)),
        f"{name}-labels.csv": lambda: label_list(known).encode("utf-8"),
    }
    for sheet in project.labels:
        own = labels_for(sheet, known)
        if own:
            files[safe_name(f"{name}-labels-{sheet.id}", ".docx")] = partial(
                write_labels, project, sheet, own, shown_date
            )
    return files
