"""How a company finishes its documents: wording and base document of its own, page numbers, PDFs."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from estimator.cli.show import count
from estimator.documents import wording
from estimator.documents.wording import WordingError

_MEND: Final = "mend it, or take the file away to have the program's own wording"


@dataclass(frozen=True, kw_only=True, slots=True)
class Finish:
    """What the documents of a run are finished with."""

    templates: Path | None = None


PLAIN: Final = Finish()
"""The program's own wording and look."""


def asked(chosen: Namespace) -> Finish | None:
    """Return how documents are to be finished, or None after saying what is wrong with what was handed in."""
    templates = Path(chosen.templates) if chosen.templates else None
    if templates is not None:
        wrong = wording.faults(templates)
        if wrong:
            refuse(wrong)
            return None
        _name_strays(templates)
    return Finish(templates=templates)


def refuse(faults: Iterable[WordingError]) -> None:
    """Print what is wrong with templates, a line each with its place, and that nothing was written."""
    lines = sorted({(one.file, one.line, one.message) for one in faults})
    for file, line, message in lines:
        mend = "name the folder that holds your templates" if Path(file).suffix != wording.SUFFIX else _MEND
        print(f"{Path(file).as_posix()}:{line}: {message}; {mend}", file=sys.stderr)
    print(f"{count(len(lines), 'fault')} in templates; nothing was written", file=sys.stderr)


def _name_strays(folder: Path) -> None:
    """Say which files of a user's folder change nothing; most likely a name is misspelt."""
    known = [f"{name}{wording.SUFFIX}" for name in wording.names()]
    for stray in wording.strays(folder):
        near = get_close_matches(stray, known, n=1)
        meant = f"did you mean {near[0]}?" if near else f"names that do: {', '.join(known)}"
        print(f"warning: {(folder / stray).as_posix()}: replaces no wording and is not used; {meant}", file=sys.stderr)
