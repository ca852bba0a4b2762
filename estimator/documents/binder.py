"""The turnover binder: is everything here, and who signed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Final

from estimator.documents import common
from estimator.documents import wording as prose
from estimator.documents.binder_fire_alarm import fire_alarm_sections
from estimator.documents.binder_parts import (
    bonding_section,
    built_sections,
    closing_sections,
    opening_sections,
    power_section,
    register_sections,
)
from estimator.documents.binder_tests import test_sections
from estimator.documents.closeout_book import missing_table, state_line, state_tone
from estimator.documents.description import Block, Document, Fact, Paragraph, Section, SignOff
from estimator.documents.job_words import cover_facts, wording_values
from estimator.field.completion import Completion, completion
from estimator.field.job import Job
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff

_USUAL_SIGNERS: Final = ("Owner's representative", "Contractor")


def binder(takeoff: Takeoff, job: Job, shown_date: date | None, wording: Path | None = None) -> Document:
    """Return the binder that is handed over; ``wording`` holds a company's own templates."""
    project = takeoff.project
    state = completion(project, job)
    values = wording_values(project)
    sections = (
        *_missing(state, values, wording),
        *prose.sections(prose.render("binder_intro", values, wording), "About this binder"),
        *opening_sections(project),
        *test_sections(project, job, prose.render("readings_status", values, wording)),
        *built_sections(takeoff, job),
        bonding_section(project, job),
        power_section(takeoff, job),
        *fire_alarm_sections(takeoff, job, prose.render("binder_fire_alarm", values, wording)),
        *register_sections(takeoff, job),
        *closing_sections(takeoff, job),
        _signatures(project, state),
    )
    return common.document(
        project,
        shown_date,
        title="Turnover binder",
        subject="Records of the work as handed over",
        sections=sections,
        cover=(*cover_facts(project), *_cover(state)),
        state=state_line(state),
        state_tone=state_tone(state),
        contents=True,
    )


def _cover(state: Completion) -> Iterable[Fact]:
    """Yield what is missing, a line a part, for the cover; the first section has the items."""
    counts = Counter(one.part for one in state.missing)
    for part, count in counts.items():
        first = next(one.what for one in state.missing if one.part == part)
        more = f" and {count - 1:,} more" if count > 1 else ""
        yield Fact(label=f"Missing: {part[:1].lower()}{part[1:]}", value=f"{first}{more}")


def _missing(state: Completion, values: dict[str, object], folder: Path | None) -> tuple[Section, ...]:
    if state.complete:
        return ()
    paragraphs = prose.render("binder_incomplete", values, folder)
    return prose.sections(paragraphs, "What is missing", blocks=(missing_table(state),))


def _signatures(project: Project, state: Completion) -> Section:
    said = "The undersigned received this binder."
    if not state.complete:
        said += " They know that the work is incomplete and what is missing; signing accepts none of the open items."
    blocks: list[Block] = [Paragraph(said)]
    roles = project.closeout.signers
    if not roles:
        blocks.append(Paragraph("The project file names nobody who signs; the usual two are listed.", "caution"))
    blocks.append(SignOff(roles or _USUAL_SIGNERS))
    return Section(title="Sign-offs", blocks=tuple(blocks))
