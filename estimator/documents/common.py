"""What all documents share: their head, lengths in the project's unit, and words of verdict."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from typing import Final, Literal

from estimator.calc.formula import Expression
from estimator.documents.description import Column, Document, Entry, Fact, Ref, Section, Verdict, Words
from estimator.spec.model import Project
from estimator.takeoff.footage import rule_origin
from estimator.units.table import FOOT_M, INCH_M

_PLACE: Final = re.compile(r"(?:typed )?(?:at )?[^\s(]+\.(?:yaml|yml|csv):\d+(?::\d+)?")

SAME: Final = Expression("figure")
"""A figure that stands elsewhere in the document."""

Tone = Literal["good", "poor", "bad", "none"]

TONES: dict[str, Tone] = {
    "within": "good",
    "pass": "good",
    "accepted": "good",
    "within budget": "good",
    "within rating": "good",
    "within reserve": "good",
    "works": "good",
    "carries the need": "good",
    "fits": "good",
    "in time": "good",
    "lasts": "good",
    "within ampacity": "good",
    "within its mark": "good",
    "holds": "good",
    "older than the lengths": "poor",
    "older than the price": "poor",
    "uses the reserve": "poor",
    "marginal pass": "poor",
    "marginal fail": "bad",
    "fail": "bad",
    "over": "bad",
    "over length": "bad",
    "overfull": "bad",
    "over budget": "bad",
    "over rating": "bad",
    "undersized": "bad",
    "too low": "bad",
    "volts too low": "bad",
    "cannot be fed": "bad",
    "volts too low with a wire open": "bad",
    "volts too low at inrush": "bad",
    "drop over the limit": "bad",
    "too small": "bad",
    "none fits": "bad",
    "too slow": "bad",
    "too short": "bad",
    "more than its class": "bad",
    "over ampacity": "bad",
    "too warm": "bad",
    "wrong volts": "bad",
    "incomplete": "poor",
    "not judged": "poor",
    "not tested": "poor",
    "waived": "none",
}
"""The tone of each word; a word that isn't here has none."""


def tone_of(word: str) -> Tone:
    """Return the tone of a word."""
    return TONES.get(word, "none")


@cache
def verdict(word: str) -> Verdict:
    """Return a word with its tone."""
    return Verdict(word, tone_of(word))


def live_words(*steps: tuple[Expression, str], otherwise: str, inputs: Mapping[str, Ref] | None = None) -> Words:
    """Return a live word with the tones: that of the first condition that holds, else the last."""
    return Words(tuple((holds, verdict(word)) for holds, word in steps), verdict(otherwise), inputs or {})


def changeable(what: str, *, most: float | None = None) -> Entry:
    """Return what may be typed over a number of the estimate: zero or more, and ``most`` at most."""
    limit = "" if most is None else f", {most:g} at most"
    return Entry(low=0.0, high=most, refusal=f"{what} is a number, zero or more{limit}.", standing=True)


def date_of(project: Project, shown_date: date | None) -> date | None:
    """Return the date to show: as asked, else the project's, else none."""
    return shown_date if shown_date is not None else project.header.shown_date


def length_unit(project: Project) -> tuple[str, float]:
    """Return the unit that lengths are shown in, and its length [m]."""
    return ("m", 1.0) if project.header.lengths_in == "m" else ("ft", FOOT_M)


def in_length(value_m: float, project: Project) -> float:
    """Return a length in the unit it is shown in."""
    return value_m / length_unit(project)[1]


def number_column(
    key: str,
    head: str,
    unit: str,
    *,
    decimals: int = 2,
    si: float = 1.0,
    formula: Expression | None = None,
    inputs: Mapping[str, Ref] | None = None,
    total: Literal["", "sum", "count"] = "",
    computed: bool = False,
    entry: Entry | None = None,
) -> Column:
    """Return a column of numbers in a unit; live with a ``formula``, marked as stored where ``computed``."""
    return Column(
        key=key,
        head=head,
        kind="number",
        unit=unit,
        decimals=decimals,
        si=si,
        formula=formula,
        inputs=inputs or {},
        total=total,
        computed=computed,
        entry=entry,
    )


def length_column(
    project: Project,
    key: str,
    head: str,
    *,
    decimals: int = 1,
    formula: Expression | None = None,
    inputs: Mapping[str, Ref] | None = None,
    total: Literal["", "sum", "count"] = "",
    computed: bool = False,
    entry: Entry | None = None,
) -> Column:
    """Return a column of lengths in the project's unit; rows hold values from ``in_length``."""
    unit, si = length_unit(project)
    return number_column(
        key,
        head,
        unit,
        decimals=decimals,
        si=si,
        formula=formula,
        inputs=inputs,
        total=total,
        computed=computed,
        entry=entry,
    )


def area_unit(project: Project) -> tuple[str, float]:
    """Return the unit that areas are shown in, and its size [m2]."""
    return ("mm2", 1e-6) if project.header.lengths_in == "m" else ("in2", INCH_M**2)


def diameter_unit(project: Project) -> tuple[str, float]:
    """Return the unit that diameters and widths are shown in, and its size [m]."""
    return ("mm", 1e-3) if project.header.lengths_in == "m" else ("in", INCH_M)


def origin(text: str, project: Project) -> str:
    """Return a text about where something stands, its file named from the project's own folder."""
    return text if project.folder in ("", ".") else text.replace(f"{project.folder}/", "")


def without_place(text: str) -> str:
    """Return a text for readers who never see the project file: a file's line becomes words.

    >>> without_place("resistor typed at library.yaml:545:18; common practice")
    'resistor typed in the project; common practice'
    """
    return _PLACE.sub("typed in the project", text)


def rule_from(project: Project, attribute: str) -> str:
    """Return in words where a rule's value came from."""
    return origin(rule_origin(project, attribute), project)


def content_hash(project: Project) -> str:
    """Return the start of the hash of the project file and all it includes, which tells two states of it apart."""
    return project.digest[:12]


def basis_line(project: Project) -> str:
    """Return the line that says which file a document was made from, and to which editions."""
    codes = project.codes
    revision = f"revision {project.header.revision}, " if project.header.revision else ""
    editions = f"NFPA 70-{codes.electrical}, NFPA 72-{codes.fire_alarm}, ANSI/TIA-{codes.cabling} and {codes.fiber}"
    return f"Made from {project.name}.yaml, {revision}content {content_hash(project)}, to {editions}."


def header_facts(project: Project) -> tuple[Fact, ...]:
    """Return the facts about the job that stand on a cover; what the file leaves out is left out."""
    header = project.header
    rows = (
        ("Project", header.name),
        ("Project number", header.number),
        ("Client", header.client),
        ("Site", header.site),
        ("Address", header.address),
        ("Permit", header.permit),
        ("Authority having jurisdiction", header.authority),
        ("Prepared by", header.prepared_by),
        ("Revision", header.revision),
    )
    return tuple(Fact(label=label, value=value) for label, value in rows if value)


def document(
    project: Project,
    shown_date: date | None,
    *,
    title: str,
    subject: str,
    sections: Iterable[Section],
    cover: tuple[Fact, ...] = (),
    state: str = "",
    state_tone: Tone = "none",
    contents: bool = False,
    marking: str = "",
) -> Document:
    """Return a document of the project with its head filled in."""
    header = project.header
    return Document(
        title=title,
        subtitle=header.name,
        job=header.name,
        number=header.number,
        revision=header.revision,
        shown_date=date_of(project, shown_date),
        author=header.company or header.prepared_by or "Dropledger",
        subject=subject,
        sections=tuple(sections),
        basis=basis_line(project),
        content=content_hash(project),
        paper="a4" if header.paper == "A4" else "letter",
        cover=cover,
        state=state,
        state_tone=state_tone,
        contents=contents,
        marking=marking,
    )
