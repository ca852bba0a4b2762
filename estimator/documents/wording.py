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

import re
import traceback
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Final

from estimator.documents.description import Block, Lead, Paragraph, Section
from estimator.documents.shown import long_date

if TYPE_CHECKING:
    from jinja2 import Environment

SUFFIX: Final = ".j2"
MOST_BYTES: Final = 200_000
MOST_LETTERS: Final = 1_000_000
"""A template file, and the text it makes, may not be longer."""

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
_FILLED: Final = "\ue000"
"""Stands in front of each filled-in value until lines are read, so that no value can be a mark."""

_BLANK: Final = "\ue001"
"""Stands for a line left blank on purpose, to tell it from one that only came out empty."""


class WordingError(Exception):
    """A template that can't be used: its file, the line [from 1], and what is wrong there."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(f"{file}:{line}: {message}")
        self.file: Final = file
        self.line: Final = line
        self.message: Final = message


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
    for name in sorted({*names(folder)} & {*names()}):
        path = folder / f"{name}{SUFFIX}"
        try:
            _code(path, _source(path), _environment(folder))
        except WordingError as wrong:
            found.append(wrong)
    return found


def render(name: str, context: Mapping[str, object], folder: Path | None = None) -> list[Paragraph]:
    """Return the paragraphs of a template, the user's own one before that of the program.

    Raises: WordingError with file and line where the template is wrong.
    """
    path = _path(name, folder)
    source = _source(path)
    return _paragraphs(_filled(path, source, context, folder))


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


def _filled(path: Path, source: str, context: Mapping[str, object], folder: Path | None) -> str:
    import jinja2

    environment = _environment(folder)
    code = _code(path, source, environment)
    try:
        template = jinja2.Template.from_code(environment, code, environment.globals)
        pieces: list[str] = []
        length = 0
        for piece in template.generate(**dict(context)):
            pieces.append(piece)
            length += len(piece)
            if length > MOST_LETTERS:
                raise WordingError(str(path), 1, f"makes more than {MOST_LETTERS:,} letters")
    except jinja2.TemplateSyntaxError as wrong:
        raise WordingError(wrong.filename or str(path), wrong.lineno, wrong.message or "") from wrong
    except WordingError:
        raise
    except Exception as wrong:  # whatever a template's own expressions raise is the template's fault
        file, line = _place(wrong, path)
        raise WordingError(file, line, _said(wrong, context)) from wrong
    return "".join(pieces)


def _code(path: Path, source: str, environment: Environment) -> CodeType:
    """Return a template's compiled code. Raises: WordingError where its syntax is wrong."""
    import jinja2

    try:
        return environment.compile(source, name=path.stem, filename=str(path))
    except jinja2.TemplateSyntaxError as wrong:
        raise WordingError(wrong.filename or str(path), wrong.lineno, wrong.message or "") from wrong
    except RecursionError as wrong:
        raise WordingError(str(path), 1, "nested too deep") from wrong


def _place(wrong: Exception, path: Path) -> tuple[str, int]:
    """Return the file and line of the template that the exception passed through last."""
    for frame in reversed(traceback.extract_tb(wrong.__traceback__)):
        if frame.filename.endswith(SUFFIX):
            return frame.filename, frame.lineno or 1
    return str(path), 1


def _said(wrong: Exception, context: Mapping[str, object]) -> str:
    import jinja2

    missing = re.fullmatch(r"'(\w+)' is undefined", str(wrong))
    if isinstance(wrong, jinja2.UndefinedError) and missing:
        known = ", ".join(sorted(context)) or "none"
        return f'no value "{missing[1]}"; values: {known}; ask first with "is defined"'
    if isinstance(wrong, jinja2.TemplateNotFound):
        return f'no template "{wrong.name}" to include'
    return f"{type(wrong).__name__}: {wrong}"


def _environment(folder: Path | None) -> Environment:
    """Return the sandbox: only macros may be called, and nothing can grow without an end."""
    import jinja2
    from jinja2.exceptions import SecurityError
    from jinja2.runtime import Macro
    from jinja2.sandbox import ImmutableSandboxedEnvironment

    class Sandbox(ImmutableSandboxedEnvironment):
        """Values are text and lists here: no calls but of macros, no growing by arithmetic."""

        intercepted_binops = frozenset({"*", "**", "%"})

        def preprocess(self, source: str, name: str | None = None, filename: str | None = None) -> str:
            lines = super().preprocess(source, name, filename).split("\n")
            return "\n".join(line if line.strip() else _BLANK for line in lines)

        def is_safe_callable(self, obj: object) -> bool:
            return isinstance(obj, Macro)

        def call_binop(self, context: object, operator: str, left: object, right: object) -> object:
            if operator == "*" and isinstance(left, int | float) and isinstance(right, int | float):
                return left * right
            raise SecurityError(f'"{operator}" is not allowed between these values')

    folders = [str(one) for one in (folder, package_folder()) if one is not None]
    environment = Sandbox(
        loader=jinja2.FileSystemLoader(folders),
        undefined=jinja2.StrictUndefined,
        autoescape=False,
        finalize=_text,
    )
    environment.globals.clear()
    for grower in ("center", "format", "indent", "wordwrap", "batch", "slice", "filesizeformat", "pprint"):
        environment.filters.pop(grower, None)
    return environment


def _text(value: object) -> str:
    """Return a value as one line of text that can't be taken for a mark."""
    text = long_date(value) if isinstance(value, date) else str(value)
    return _FILLED + text.translate(_ONE_LINE)


_ONE_LINE: Final = {
    **{ord(sign): " " for sign in "\r\n\t\v\f\x1c\x1d\x1e\x85\u2028\u2029"},
    **{ord(sign): None for sign in (_FILLED, _BLANK)},
}


def _paragraphs(text: str) -> list[Paragraph]:
    return [Paragraph(said, lead) for lead, piece in _pieces(text) if (said := _tidy(piece))]


def _tidy(piece: str) -> str:
    """Return the text with single spaces, and none in front of a stop."""
    single = re.sub(r"[ \t]+", " ", piece.replace(_FILLED, "")).strip()
    return re.sub(r" ([.,;])(?= |$)", r"\1", single)


def _pieces(text: str) -> Iterator[tuple[Lead, str]]:
    """Yield each piece of text with its lead; lines without a mark go on with the piece before."""
    lead: Lead = "body"
    held: list[str] = []
    for line in [*text.split("\n"), _BLANK]:
        stripped = line.strip(" \t\r")
        mark = _MARK.fullmatch(stripped)
        if held and (mark or lead == "heading" or stripped == _BLANK):
            yield lead, " ".join(held)
            lead, held = "body", []
        if mark:
            lead = _LEADS.get(mark["mark"], "number")
            held = [mark["text"] or ""]
        elif stripped and stripped != _BLANK:
            held.append(stripped[1:] if _escaped(stripped) else stripped)


def _escaped(line: str) -> bool:
    return line.startswith("\\") and _MARK.fullmatch(line[1:]) is not None
