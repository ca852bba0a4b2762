"""Wording of documents: prose in template files that a company can replace one by one.

A template is a text file ``NAME.j2`` of plain lines. Jinja fills it in, in a sandbox, then each
line is read by how it starts:

    ``# text``     a heading, one level under the section it stands in
    ``! text``     a caution
    ``!! text``    a warning
    ``> text``     a note
    ``* text``     a bullet
    ``1. text``    a numbered step; the numbers written don't matter, steps are counted anew
    ``: text``     a lead-in that stays on the page of what follows
    other text     a paragraph

Lines that follow belong to the same piece of text until a blank line or another mark; a heading is
one line. A line that comes out empty because of its ``{% if %}`` is no blank line. A backslash in
front of a mark makes it plain text. What the job fills in is always text: it can't make marks or
lines. Values for every template: ``job``, ``number``, ``client``, ``site``, ``revision``,
``authority``, ``edition``, ``currency``, ``valid_days`` and what a document's own description adds.
A value may be missing: ask with ``{% if client is defined %}``.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from estimator.documents.description import Block, Lead, Paragraph, Section
from estimator.documents.wording_child import checked_apart, filled_apart
from estimator.documents.wording_sandbox import BLANK, FILLED, SUFFIX, WordingError, filled

__all__ = ["SUFFIX", "WordingError", "faults", "names", "package_folder", "render", "sections", "strays"]

MOST_BYTES: Final = 200_000
MOST_FILES: Final = 500
"""A template file may not be longer; files of a folder that are read for including."""

_NAME: Final = re.compile(r"[a-z][a-z0-9_]*")
_MARK: Final = re.compile(r"(?P<mark>!!|!|\*|>|#|:|\d+\.)(?:[ \t]+(?P<text>.*))?")
_LEADS: Final[Mapping[str, Lead]] = {
    "!!": "warning",
    "!": "caution",
    "*": "bullet",
    ">": "note",
    "#": "heading",
    ":": "lead",
}


def package_folder() -> Path:
    """Return the folder of the wording that comes with the program.

    An installed package carries the templates inside; a checkout keeps them at its top.
    """
    inside = Path(__file__).resolve().parents[1] / "wording"
    return inside if inside.is_dir() else inside.parents[1] / "templates"


def names(folder: Path | None = None) -> tuple[str, ...]:
    """Return the names of all templates in a folder, by default those of the program."""
    return tuple(sorted(path.stem for path in (folder or package_folder()).glob(f"*{SUFFIX}")))


def strays(folder: Path) -> tuple[str, ...]:
    """Return the files of a user's folder that replace no wording and that none of its templates includes.

    Most likely a name is misspelt.
    """
    known = {f"{name}{SUFFIX}" for name in names()}
    files = sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))
    said = {
        path.name: path.read_text(encoding="utf-8", errors="replace")[:MOST_BYTES]
        for path in files
        if path.suffix == SUFFIX
    }
    return tuple(
        path.name
        for path in files
        if path.name not in known
        and not any(re.search(rf"[\"']{re.escape(path.name)}[\"']", text) for text in said.values())
    )


def faults(folder: Path) -> list[WordingError]:
    """Return what is wrong with the templates of a user's folder before any of them is filled in."""
    found: list[WordingError] = []
    if not folder.is_dir():
        return [WordingError(str(folder), 1, "no such folder of templates")]
    templates = _templates(folder)
    sound = []
    for name in sorted({*names(folder)} & {*names()}):
        path = folder / f"{name}{SUFFIX}"
        try:
            templates[path.name] = _source(path), str(path)
            sound.append(path.name)
        except WordingError as wrong:
            found.append(wrong)
    return found + checked_apart(sound, templates)


def _templates(folder: Path | None) -> dict[str, tuple[str, str]]:
    """Return the templates that can be included: those of a user's folder, then those of the program."""
    found = {}
    for place in (package_folder(), folder):
        paths = sorted(place.glob(f"*{SUFFIX}"))[:MOST_FILES] if place is not None else []
        for path in paths:
            with contextlib.suppress(WordingError, OSError):
                found[path.name] = _source(path), str(path)
    return found


def render(name: str, context: Mapping[str, object], folder: Path | None = None) -> list[Paragraph]:
    """Return the paragraphs of a template, the user's own one before that of the program.

    Raises: WordingError with file and line where the template is wrong.
    """
    path = _path(name, folder)
    source = _source(path)
    ours = path.parent == package_folder()
    templates = {**_templates(package_folder() if ours else folder), path.name: (source, str(path))}
    fill = filled if ours else filled_apart
    return _paragraphs(fill(path.name, templates, context))


def sections(
    paragraphs: Sequence[Paragraph], title: str, *, level: int = 1, blocks: Sequence[Block] = ()
) -> tuple[Section, ...]:
    """Return a section with the paragraphs up to the first heading, then one a heading, one level down.

    ``blocks`` follow the paragraphs of the first section.
    """
    parts: list[tuple[str, list[Block]]] = [(title, [])]
    for paragraph in paragraphs:
        if paragraph.lead == "heading":
            parts.append((paragraph.text, []))
        else:
            parts[-1][1].append(paragraph)
    parts[0][1].extend(blocks)
    return tuple(
        Section(title=own, blocks=tuple(held), level=level if place == 0 else level + 1)
        for place, (own, held) in enumerate(parts)
    )


def _path(name: str, folder: Path | None) -> Path:
    if not _NAME.fullmatch(name):
        raise ValueError(f"not a name of a template: {name!r}")
    if folder is not None:
        if not folder.is_dir():
            raise WordingError(str(folder), 1, "no such folder of templates")
        own = folder / f"{name}{SUFFIX}"
        if own.is_file():
            return own
    path = package_folder() / f"{name}{SUFFIX}"
    if not path.is_file():
        raise WordingError(path.name, 1, f"no such template; there are: {', '.join(names())}")
    return path


def _source(path: Path) -> str:
    """Return a template's text after the checks that need no filling in."""
    if not path.resolve().is_relative_to(path.parent.resolve()):
        raise WordingError(str(path), 1, "is a link that leads out of its folder")
    with path.open("rb") as file:
        raw = file.read(MOST_BYTES + 1)
    if len(raw) > MOST_BYTES:
        raise WordingError(str(path), 1, f"longer than {MOST_BYTES:,} bytes")
    try:
        source = raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        at = raw.count(b"\n", 0, wrong.start) + 1
        raise WordingError(str(path), at, f"not UTF-8: byte 0x{raw[wrong.start]:02X}") from wrong
    for number, line in enumerate(source.splitlines(), start=1):
        mark = _MARK.fullmatch(line.strip())
        if mark and not (mark["text"] or "").strip():
            raise WordingError(str(path), number, f'a mark "{mark["mark"]}" without text')
    return source


def _paragraphs(text: str) -> list[Paragraph]:
    return [Paragraph(said, lead) for lead, piece in _pieces(text) if (said := _tidy(piece))]


def _tidy(piece: str) -> str:
    """Return the text with single spaces, and none in front of a stop."""
    single = re.sub(r"[ \t]+", " ", piece.replace(FILLED, "")).strip()
    return re.sub(r" ([.,;])(?= |$)", r"\1", single)


def _pieces(text: str) -> Iterator[tuple[Lead, str]]:
    """Yield each piece of text with its lead; lines without a mark go on with the piece before."""
    lead: Lead = "body"
    held: list[str] = []
    for line in [*text.split("\n"), BLANK]:
        stripped = line.strip(" \t\r")
        mark = _MARK.fullmatch(stripped)
        if held and (mark or lead == "heading" or stripped == BLANK):
            yield lead, " ".join(held)
            lead, held = "body", []
        if mark:
            lead = _LEADS.get(mark["mark"], "number")
            held = [mark["text"] or ""]
        elif stripped and stripped != BLANK:
            held.append(stripped[1:] if _escaped(stripped) else stripped)


def _escaped(line: str) -> bool:
    return line.startswith("\\") and _MARK.fullmatch(line[1:]) is not None
