"""The sandbox that fills templates in: no attribute walks, no calls but of macros, no files.

A company's own templates are filled in by a process of their own (``wording_child``), because no
sandbox inside a process can stop a loop that never ends or a text that never stops growing.
"""

from __future__ import annotations

import re
import traceback
from collections.abc import Iterable, Mapping
from datetime import date
from types import CodeType
from typing import TYPE_CHECKING, Final

from estimator.documents.shown import long_date

if TYPE_CHECKING:
    from jinja2 import Environment

SUFFIX: Final = ".j2"
MOST_LETTERS: Final = 1_000_000
"""The text that a template makes may not be longer."""

FILLED: Final = "\ue000"
"""Stands in front of each filled-in value until lines are read, so that no value can be a mark."""

BLANK: Final = "\ue001"
"""Stands for a line left blank on purpose, to tell it from one that only came out empty."""

Templates = Mapping[str, tuple[str, str]]
"""Text of each template that can be used or included, and the file it stands in, by its name."""


class WordingError(Exception):
    """A template that can't be used: its file, the line [from 1], and what is wrong there."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(f"{file}:{line}: {message}")
        self.file: Final = file
        self.line: Final = line
        self.message: Final = message


class TooLongError(Exception):
    """Filling in took longer than it may."""


def checked(names: Iterable[str], templates: Templates) -> list[WordingError]:
    """Return what is wrong with the syntax of templates."""
    found = []
    for name in names:
        try:
            _code(name, templates, _environment(templates))
        except WordingError as wrong:
            found.append(wrong)
    return found


def filled(name: str, templates: Templates, context: Mapping[str, object]) -> str:
    """Return a template's text with its values. Raises: WordingError with file and line where it is wrong."""
    import jinja2

    environment = _environment(templates)
    code = _code(name, templates, environment)
    file = templates[name][1]
    try:
        template = jinja2.Template.from_code(environment, code, environment.globals)
        pieces: list[str] = []
        length = 0
        for piece in template.generate(**dict(context)):
            pieces.append(piece)
            length += len(piece)
            if length > MOST_LETTERS:
                raise WordingError(file, 1, f"makes more than {MOST_LETTERS:,} letters")
    except jinja2.TemplateSyntaxError as wrong:
        raise WordingError(wrong.filename or file, wrong.lineno, wrong.message or "") from wrong
    except WordingError:
        raise
    except Exception as wrong:  # whatever a template's own expressions raise is the template's fault
        at, line = _place(wrong, file)
        raise WordingError(at, line, _said(wrong, context)) from wrong
    return "".join(pieces)


def _code(name: str, templates: Templates, environment: Environment) -> CodeType:
    """Return a template's compiled code. Raises: WordingError where its syntax is wrong."""
    import jinja2

    source, file = templates[name]
    try:
        return environment.compile(source, name=name, filename=file)
    except jinja2.TemplateSyntaxError as wrong:
        raise WordingError(wrong.filename or file, wrong.lineno, wrong.message or "") from wrong
    except Exception as wrong:  # fixed expressions are worked out while compiling
        raise WordingError(file, 1, _said(wrong, {})) from wrong


def _place(wrong: Exception, file: str) -> tuple[str, int]:
    """Return the file and line of the template that the exception passed through last."""
    for frame in reversed(traceback.extract_tb(wrong.__traceback__)):
        if frame.filename.endswith(SUFFIX):
            return frame.filename, frame.lineno or 1
    return file, 1


def _said(wrong: Exception, context: Mapping[str, object]) -> str:
    import jinja2

    missing = re.fullmatch(r"'(\w+)' is undefined", str(wrong))
    if isinstance(wrong, jinja2.UndefinedError) and missing:
        known = ", ".join(sorted(context)) or "none"
        return f'no value "{missing[1]}"; values: {known}; ask first with "is defined"'
    if isinstance(wrong, jinja2.TemplateNotFound):
        return f'no template "{wrong.name}" to include'
    if isinstance(wrong, TooLongError):
        return str(wrong)
    if isinstance(wrong, MemoryError):
        return "needs more memory than it may have"
    if isinstance(wrong, RecursionError):
        return "is nested too deep, or includes itself"
    return f"{type(wrong).__name__}: {wrong}"


def _environment(templates: Templates) -> Environment:
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
            return "\n".join(line if line.strip() else BLANK for line in lines)

        def is_safe_callable(self, obj: object) -> bool:
            return isinstance(obj, Macro)

        def call_binop(self, context: object, operator: str, left: object, right: object) -> object:
            if operator == "*" and isinstance(left, int | float) and isinstance(right, int | float):
                return left * right
            raise SecurityError(f'"{operator}" is not allowed between these values')

    def load(name: str) -> tuple[str, str, None] | None:
        found = templates.get(name)
        return (*found, None) if found else None

    environment = Sandbox(
        loader=jinja2.FunctionLoader(load), undefined=jinja2.StrictUndefined, autoescape=False, finalize=_text
    )
    environment.globals.clear()
    for grower in ("center", "format", "indent", "wordwrap", "batch", "slice", "filesizeformat", "pprint"):
        environment.filters.pop(grower, None)
    return environment


def _text(value: object) -> str:
    """Return a value as one line of text that can't be taken for a mark."""
    text = long_date(value) if isinstance(value, date) else str(value)
    return FILLED + text.translate(_ONE_LINE)


_ONE_LINE: Final = {
    **{ord(sign): " " for sign in "\r\n\t\v\f\x1c\x1d\x1e\x85\u2028\u2029"},
    **{ord(sign): None for sign in (FILLED, BLANK)},
}
