"""Specification section numbers: their titles in the job's edition, and numbers that mean another thing there.

Division 28 was rebuilt in 2016: the number of fire alarm became that of intrusion detection, and
more. A bid under a number of the other edition is read as other work.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.reference.lookup import Row, table
from estimator.spec.faults import Place
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bill import Line

SUBJECTS: Final = {
    "fire_alarm": "fire alarm",
    "intrusion": "intrusion detection",
    "access": "access control",
    "video": "video surveillance",
}
"""Subjects of the renumbering by the system that a line is counted for."""

_COLUMNS: Final = {"2004": ("before", "after"), "2016": ("after", "before")}
"""Column of an edition's own numbers, and of the other edition's."""


def section_title(number: str, edition: str) -> str:
    """Return the title of a section number in an edition; empty where it isn't tabled."""
    for wanted in (edition, "2020"):
        if table("sections").has(edition=wanted, number=number):
            return table("sections").find(edition=wanted, number=number).text("title")
    return ""


def section_alerts(lines: Iterable[Line], edition: str) -> Iterable[Alert]:
    """Yield lines whose number is the other edition's for their system and another subject's in this one."""
    own, other = _COLUMNS[edition]
    rows = table("section_changes")
    told: set[str] = set()
    for line in lines:
        systems = {part.system for part in (*line.bought, *line.installed)}
        for row in rows:
            mistaken = line.section == row.text(other) and row.text("subject") in {SUBJECTS.get(s) for s in systems}
            if mistaken and line.section not in told and _taken(line.section, own, row):
                told.add(line.section)
                yield Alert(
                    _place(line), "section of another edition", line.id,
                    f"{line.name} stands under {section_title(line.section, edition)}", line.section, row.text(own),
                    f"{row.source}, edition of codes.sections: {edition}",
                    f"write {row.text(own)} for {row.text('subject')}, or state the edition in `codes: sections:`",
                )  # fmt: skip


def _taken(number: str, own: str, subject: Row) -> bool:
    """Return whether a number is another subject's in this edition."""
    return any(row.text(own) == number for row in table("section_changes") if row is not subject)


def _place(line: Line) -> Place:
    return line.priced.source.at("section" if line.priced.section else "id")
