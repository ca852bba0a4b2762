"""LibreOffice, asked to lay Word documents out: as tagged PDFs, and for the pages that headings stand on.

What it makes lies outside the promise of same bytes: fonts and versions of a machine show in it.
"""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pypdf import PdfReader

_NAMES: Final = ("soffice", "libreoffice")
_USUAL: Final = (
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    "C:/Program Files/LibreOffice/program/soffice.exe",
    "C:/Program Files (x86)/LibreOffice/program/soffice.exe",
)
"""Where it stands on machines whose search path doesn't have it."""

_START_S: Final = 120
_EACH_S: Final = 300
"""Time that it may take to start, and for each document, before it is stopped [s]."""

_EXPORT: Final = {
    # PDF/UA asks for tags, a title and a language, which is what a screen reader needs.
    "PDFUACompliance": {"type": "boolean", "value": "true"},
    "UseTaggedPDF": {"type": "boolean", "value": "true"},
    "ExportBookmarks": {"type": "boolean", "value": "true"},
}


class OfficeError(Exception):
    """LibreOffice isn't there, or didn't do what it was asked; the text says so to people."""


def program() -> str | None:
    """Return the program that lays documents out, or None where there is none."""
    found = next((path for name in _NAMES if (path := shutil.which(name))), None)
    return found or next((path for path in _USUAL if Path(path).is_file()), None)


def pdfs(documents: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return each Word document as a tagged PDF, by the same names.

    It runs once for all of them, in a profile of its own that is thrown away, so that a window that
    is open neither stops it nor is disturbed.

    Raises: OfficeError where there is no LibreOffice or it fails.
    """
    office = program()
    if office is None:
        raise OfficeError("no LibreOffice was found on this machine")
    if not documents:
        return {}
    with tempfile.TemporaryDirectory(prefix="dropledger-") as name:
        folder = Path(name)
        (folder / "made").mkdir()
        given = []
        for place, content in enumerate(documents.values()):
            given.append(folder / f"{place}.docx")
            given[-1].write_bytes(content)
        _run(office, folder, given)
        made = [folder / "made" / f"{path.stem}.pdf" for path in given]
        lost = [name for name, path in zip(documents, made, strict=True) if not path.is_file()]
        if lost:
            raise OfficeError(f"LibreOffice made no PDF of {', '.join(lost)}")
        return {name: path.read_bytes() for name, path in zip(documents, made, strict=True)}


def _run(office: str, folder: Path, given: list[Path]) -> None:
    profile = (folder / "profile").as_uri()
    command = [office, f"-env:UserInstallation={profile}", "--headless", "--norestore", "--nolockcheck"]
    command += ["--convert-to", f"pdf:writer_pdf_Export:{json.dumps(_EXPORT)}", "--outdir", str(folder / "made")]
    most = _START_S + _EACH_S * len(given)
    try:
        subprocess.run([*command, *map(str, given)], check=True, capture_output=True, timeout=most)
    except subprocess.TimeoutExpired as wrong:
        raise OfficeError(f"LibreOffice took longer than {most:,} s and was stopped") from wrong
    except (OSError, subprocess.CalledProcessError) as wrong:
        raise OfficeError(f"LibreOffice ({office}) could not be run") from wrong


def heading_pages(pdf: bytes) -> list[tuple[str, int]]:
    """Return each heading of a PDF with the page it stands on, counted from 1."""
    from pypdf import PdfReader

    reader = PdfReader(io.BytesIO(pdf))
    return list(_outline(reader, reader.outline))


def _outline(reader: PdfReader, entries: object) -> Iterator[tuple[str, int]]:
    """Yield the entries of an outline, in which a list holds those one level down."""
    from pypdf.generic import Destination

    if isinstance(entries, Destination):
        page = reader.get_destination_page_number(entries)
        yield str(entries.title), (page or 0) + 1
    elif isinstance(entries, list):
        for entry in entries:
            yield from _outline(reader, entry)
