"""The proposal: what the client gets, for how much, and what is not included."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from estimator.documents import wording as prose
from estimator.documents.common import document
from estimator.documents.description import (
    Block,
    Column,
    Document,
    Fact,
    Facts,
    Paragraph,
    Section,
    SignOff,
    Table,
)
from estimator.documents.job_words import cover_facts, sentence, wording_values
from estimator.documents.proposal_price import options_section, price_section
from estimator.documents.proposal_scope import matrix_section, systems_table
from estimator.documents.shown import long_date, shown
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff

SIGNERS: Final = ("Client, accepts this proposal", "Contractor, offers it")
"""Who signs a proposal."""

_COVER_MOST: Final = 420  # letters of what the cover says in one row


def proposal(takeoff: Takeoff, shown_date: date | None, wording: Path | None = None) -> Document:
    """Return the proposal; ``wording`` is a company's own folder of templates.

    Raises: WordingError where one of its templates is wrong.
    """
    project = takeoff.project
    day = dated(project, shown_date)
    return document(
        project,
        day,
        title="Proposal",
        subject=f"Low-voltage cabling and systems, {project.header.name}",
        sections=_sections(takeoff, day, wording),
        cover=_cover(takeoff, day),
        contents=True,
    )


def dated(project: Project, shown_date: date | None) -> date | None:
    """Return the date of the offer: as asked, else the bid's, else the project's, else none."""
    return shown_date or project.header.bid_date or project.header.shown_date


def _cover(takeoff: Takeoff, day: date | None) -> tuple[Fact, ...]:
    project = takeoff.project
    header = project.header
    until = valid_until(project, day)
    rows: list[Fact] = []
    if 0 < len(project.scope.summary) <= _COVER_MOST:
        rows.append(Fact(label="Work", value=project.scope.summary))
    if takeoff.bid is not None:
        price = f"{shown(takeoff.bid.price, 'money')} {header.currency}"
        rows.append(Fact(label="Price", value=f"{price}, as itemized under Price"))
    excluded = "; ".join(project.scope.exclusions)
    if excluded:
        long = len(excluded) > _COVER_MOST
        rows.append(Fact(label="Not included", value="see the list under Not included" if long else excluded))
    if until is not None:
        rows.append(Fact(label="Valid until", value=long_date(until)))
    rows += cover_facts(project)
    shown_facts = (("Contractor's address", header.company_address), ("License", header.license))
    rows += [Fact(label=label, value=value) for label, value in shown_facts if value]
    return tuple(rows)


def valid_until(project: Project, day: date | None) -> date | None:
    """Return the last day that the price holds, counted from the date of the offer."""
    return None if day is None else day + timedelta(days=project.header.valid_days)


def _values(project: Project, day: date | None) -> dict[str, object]:
    """Return the values of the wording; what the project types itself is named, so that no general text repeats it."""
    codes, scope = project.codes, project.scope
    edition = f"NFPA 70-{codes.electrical}, NFPA 72-{codes.fire_alarm}"
    typed: dict[str, object] = {
        "valid_until": valid_until(project, day),
        "payment": scope.payment,
        "license": project.header.license,
        "insurance": project.header.insurance,
        "hours": scope.hours,
        "access": scope.access,
        "lead_times": "; ".join(scope.lead_times),
        "inclusions": "; ".join(scope.inclusions),
        "duties": "; ".join(duty.work for duty in scope.duties),
    }
    return {**wording_values(project), "edition": edition, **{name: value for name, value in typed.items() if value}}


def _sections(takeoff: Takeoff, day: date | None, wording: Path | None) -> Iterator[Section]:
    project = takeoff.project
    values = _values(project, day)
    said = prose.render("proposal_scope", values, wording)
    opening = [Paragraph(project.scope.summary)] if project.scope.summary else []
    yield from prose.sections([*opening, *said], "Scope of work", blocks=(systems_table(takeoff),))
    yield from _lists(project)
    yield from matrix_section(project.scope)
    yield from price_section(takeoff)
    yield from options_section(takeoff)
    yield _addenda(project)
    yield from _conditions(project)
    said = prose.render("proposal_terms", values, wording)
    yield from prose.sections(said, "Terms", blocks=(Facts(title="", rows=_own_terms(project, day)),))
    yield _acceptance(prose.render("proposal_acceptance", values, wording))


def _bullets(texts: Sequence[str]) -> tuple[Paragraph, ...]:
    return tuple(Paragraph(text, "bullet") for text in texts)


def _lists(project: Project) -> Iterator[Section]:
    """Yield what is included, what is not, and what should be read before signing."""
    scope = project.scope
    for title, texts, none in (
        ("Included", scope.inclusions, ""),
        ("Not included", scope.exclusions, "Nothing is excluded besides what the terms say."),
        ("Clarifications", scope.clarifications, ""),
    ):
        blocks = _bullets(texts) or ((Paragraph(none),) if none else ())
        if blocks:
            yield Section(title=title, blocks=blocks, level=2)


def _addenda(project: Project) -> Section:
    rows = [(one.number, one.day, one.name) for one in project.scope.addenda]
    table = Table(
        name="addenda",
        title="Addenda received",
        columns=(
            Column(key="number", head="Addendum"),
            Column(key="date", head="Dated", kind="date"),
            Column(key="name", head="Subject"),
        ),
        rows=rows,
        empty="No addendum was received; one issued since is not in this price.",
    )
    return Section(title="Addenda", blocks=(table,))


def _conditions(project: Project) -> Iterator[Section]:
    scope = project.scope
    rows = [
        Fact(label=label, value=value)
        for label, value in (("Working hours", scope.hours), ("Access needed", scope.access))
        if value
    ]
    blocks: list[Block] = [Facts(title="", rows=tuple(rows))] if rows else []
    if scope.lead_times:
        blocks += [Paragraph("Lead times, from the release of material:", "lead"), *_bullets(scope.lead_times)]
    if blocks:
        yield Section(title="Hours, access, lead times", blocks=tuple(blocks))


def _acceptance(said: Sequence[Paragraph]) -> Section:
    """Return the page to sign: what a signature means, the alternates taken, and the lines of both."""
    chosen = Facts(title="Choice of the client", rows=(Fact(label="Alternates accepted", value=""),))
    return Section(title="Acceptance", blocks=(*said, chosen, SignOff(SIGNERS)), new_page=True)


def _own_terms(project: Project, day: date | None) -> tuple[Fact, ...]:
    until = valid_until(project, day)
    header = project.header
    rows = (
        ("Payment", project.scope.payment),
        ("Valid until", long_date(until) if until else f"{header.valid_days} days after its date"),
        ("License", header.license),
        ("Insurance", header.insurance),
    )
    return tuple(Fact(label=label, value=sentence(value)) for label, value in rows if value)
