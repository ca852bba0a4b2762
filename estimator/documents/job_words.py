"""Words that the documents of testing and handover share: values of wording, names of media, roles and states."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.acceptance.columns import MEDIA, sheet
from estimator.documents import common
from estimator.documents.description import Fact
from estimator.spec.model import Project

MEDIA_WORDS: Final[Mapping[str, str]] = {medium: sheet(medium).title for medium in MEDIA}
"""A medium's name as its field sheet prints it."""

TRUST: Final[Mapping[str, str]] = {
    "confirmed": "",
    "": "",
    "single": "one source",
    "computed": "computed",
    "memory": "to be checked",
    "common practice, no published source": "common practice",
}
"""What is added to a source that more than one publication doesn't confirm."""


def wording_values(project: Project) -> dict[str, object]:
    """Return the values that every template may use; what the file leaves out is left out."""
    header = project.header
    values = {
        "job": header.name,
        "number": header.number,
        "client": header.client,
        "site": header.site,
        "revision": header.revision,
        "authority": header.authority,
        "edition": f"NFPA 72-{project.codes.fire_alarm}",
        "currency": header.currency,
        "valid_days": header.valid_days,
    }
    return {name: value for name, value in values.items() if value}


def cover_facts(project: Project) -> tuple[Fact, ...]:
    """Return the facts about the job that a paged document's cover doesn't print by itself."""
    own = ("Project", "Project number", "Prepared by", "Revision")
    return tuple(fact for fact in common.header_facts(project) if fact.label not in own)


def words_of(name: str) -> str:
    """Return a name of the project file as people write it.

    >>> words_of("general_contractor")
    'general contractor'
    """
    return name.replace("_", " ")


def kind_word(kind: str) -> str:
    """Return the kind of a circuit as people write it.

    >>> kind_word("dc"), kind_word("low_impedance_speaker")
    ('DC', 'low impedance speaker')
    """
    return "DC" if kind == "dc" else words_of(kind)


def sentence(text: str) -> str:
    """Return a text that begins with a capital.

    >>> sentence("fire alarm")
    'Fire alarm'
    """
    return text[:1].upper() + text[1:]


def lowered(text: str) -> str:
    """Return a text for the middle of a sentence: only its first letter becomes small.

    >>> lowered("Alarm and DC circuits")
    'alarm and DC circuits'
    """
    return text[:1].lower() + text[1:]


def counted(count: int, what: str) -> str:
    """Return a number with its noun in the right form.

    >>> counted(1, "circuit"), counted(1200, "circuit")
    ('1 circuit', '1,200 circuits')
    """
    return f"{count:,} {what if count == 1 else f'{what}s'}"


def system_name(system: str) -> str:
    """Return the name of a system as people write it.

    >>> system_name("fire_alarm"), system_name("")
    ('Fire alarm', 'Other')
    """
    return sentence(words_of(system)) or "Other"


def source_with_trust(source: str, confidence: str) -> str:
    """Return a limit's source, and how well it is known where that isn't certain."""
    note = TRUST.get(confidence, confidence)
    return f"{source} ({note})" if note and note not in source else source
