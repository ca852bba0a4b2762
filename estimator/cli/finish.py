"""How a company finishes its documents: wording and base document of its own, page numbers, PDFs."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from estimator.cli.show import count
from estimator.documents import wording
from estimator.documents.description import Document
from estimator.documents.docx_base import Base, BaseError, read_base
from estimator.documents.docx_contents import PagesError, with_pages
from estimator.documents.office import OfficeError, heading_pages, pdfs, program
from estimator.documents.wording import WordingError

_WORD: Final = ".docx"
_MEND: Final = "mend it, or take the file away to have the program's own wording"


@dataclass(frozen=True, kw_only=True, slots=True)
class Finish:
    """What the documents of a run are finished with."""

    templates: Path | None = None
    base: Base | None = None
    pages: bool = False
    pdf: bool = False

    def word(self, document: Document) -> bytes:
        """Return a document as a Word file."""
        from estimator.documents.docx_writer import write_docx

        return write_docx(document, base=self.base, paged=self.pages)


PLAIN: Final = Finish()
"""The program's own wording and look."""


def asked(chosen: Namespace) -> Finish | None:
    """Return how documents are to be finished, or None after saying all that is wrong with what was handed in."""
    templates = Path(chosen.templates) if chosen.templates else None
    wrong = wording.faults(templates) if templates is not None else []
    if wrong:
        refuse(wrong)
    elif templates is not None:
        _name_strays(templates)
    base, good = None, not wrong
    if chosen.base:
        base = _base(Path(chosen.base))
        good = good and base is not None
    if (chosen.pages or chosen.pdf) and program() is None:
        option = "--pages" if chosen.pages else "--pdf"
        _no_office(f"{option} needs LibreOffice, which was not found on this machine", "install it")
        good = False
    return Finish(templates=templates, base=base, pages=chosen.pages, pdf=chosen.pdf) if good else None


def _base(path: Path) -> Base | None:
    try:
        return read_base(path)
    except BaseError as wrong:
        print(f"{path.as_posix()}: {wrong}; nothing was written", file=sys.stderr)
        return None


def finished(files: Mapping[str, bytes], finish: Finish) -> dict[str, bytes] | None:
    """Return the files with page numbers in their contents and a PDF beside each Word document, as far as asked.

    None after saying why LibreOffice could not do it.
    """
    done = dict(files)
    word = {name: content for name, content in files.items() if name.endswith(_WORD)}
    try:
        if finish.pages:
            laid_out = pdfs(word)
            done |= {name: with_pages(word[name], heading_pages(pdf)) for name, pdf in laid_out.items()}
        if finish.pdf:
            made = pdfs({name: done[name] for name in word})
            done |= {f"{name.removesuffix(_WORD)}.pdf": pdf for name, pdf in made.items()}
    except (OfficeError, PagesError) as wrong:
        _no_office(str(wrong), "try again")
        return None
    return done


def _no_office(what: str, mend: str) -> None:
    print(f"dropledger: {what}; {mend}, or run without --pages and --pdf; nothing was written", file=sys.stderr)


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
