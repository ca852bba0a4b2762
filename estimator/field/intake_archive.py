"""The archive of a foreign workbook: sizes checked before anything is unpacked, parts parsed without entities."""

from __future__ import annotations

import io
import posixpath
import struct
import zipfile
import zlib
from typing import Final
from xml.sax import SAXException, SAXParseException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from estimator.field.intake_grid import MOST_BYTES, UnreadableError

MOST_RATIO: Final = 200
"""Most bytes of content for one byte of file; a filled workbook has some 10."""

RESAVE: Final = "open it in a spreadsheet program and save it as .xlsx again"
"""How to mend a workbook that is damaged."""

_MOST_PARTS: Final = 10_000
_ENCRYPTED: Final = 0x1
_BROKEN: Final = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    OSError,
    KeyError,
)


def open_archive(data: bytes) -> zipfile.ZipFile:
    """Return the workbook's archive after its declared sizes were checked.

    Raises: UnreadableError for a bomb, a password, a damaged archive.
    """
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except _BROKEN as wrong:
        raise UnreadableError("the file is a damaged .xlsx archive", "a whole .xlsx file", RESAVE) from wrong
    entries = archive.infolist()
    total = sum(entry.file_size for entry in entries)
    if total > MOST_BYTES or len(entries) > _MOST_PARTS:
        wrong_size = f"the workbook unpacks to {total:,} bytes in {len(entries):,} parts"
        raise UnreadableError(
            wrong_size,
            f"at most {MOST_BYTES:,} bytes in {_MOST_PARTS:,} parts",
            "split the sheet; if it is small, don't trust this file",
        )
    if total > MOST_RATIO * len(data):
        wrong_ratio = f"the workbook unpacks to {total // len(data):,} times its size"
        raise UnreadableError(
            wrong_ratio,
            f"at most {MOST_RATIO} times",
            "copy the readings into the sheet that was sent; don't trust this file",
        )
    if any(entry.flag_bits & _ENCRYPTED for entry in entries):
        raise UnreadableError("the workbook is encrypted", "a workbook without a password", "save it without one")
    if len({entry.filename for entry in entries}) != len(entries):
        raise UnreadableError("the workbook names one of its parts twice", "each part once", RESAVE)
    return archive


def parse_part(archive: zipfile.ZipFile, part: str, handler: ContentHandler, tab: str = "") -> None:
    """Feed one part to a handler.

    Raises: UnreadableError, whatever is wrong with the part.
    """
    from defusedxml.common import DefusedXmlException  # type: ignore[import-untyped]
    from defusedxml.expatreader import create_parser  # type: ignore[import-untyped]

    parser = create_parser(forbid_dtd=True)
    parser.setContentHandler(handler)
    try:
        with archive.open(part) as stream:
            parser.parse(stream)
    except DefusedXmlException as wrong:
        raise UnreadableError(
            f"{part} declares a document type or an entity",
            "plain workbook content",
            "don't trust this file; copy the readings into the sheet that was sent",
            tab=tab,
        ) from wrong
    except SAXParseException as wrong:
        place = f"line {wrong.getLineNumber()}, column {wrong.getColumnNumber()}"
        raise UnreadableError(f"{part} stops being XML at {place}", "a whole .xlsx file", RESAVE, tab=tab) from wrong
    except (SAXException, *_BROKEN, ValueError, LookupError) as wrong:
        if isinstance(wrong, UnreadableError):
            raise
        raise UnreadableError(f"{part} is damaged or missing", "a whole .xlsx file", RESAVE, tab=tab) from wrong


def links(archive: zipfile.ZipFile, part: str) -> dict[str, tuple[str, str]]:
    """Return what a part links to: id to (part, kind)."""
    folder, name = posixpath.split(part)
    source = posixpath.join(folder, "_rels", f"{name}.rels")
    if source not in archive.namelist():
        return {}
    reader = _Links()
    parse_part(archive, source, reader)
    return {
        link: (posixpath.normpath(posixpath.join("/", folder, aim)).lstrip("/"), kind)
        for link, aim, kind in reader.found
    }


def target(archive: zipfile.ZipFile, part: str, kind: str) -> str | None:
    """Return the first part of a kind that a part links to, or None."""
    return next((found for found, what in links(archive, part).values() if what.endswith(f"/{kind}")), None)


class _Links(ContentHandler):
    """Collects (id, target, kind) of a part's links."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, str, str]] = []

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Note what a part's element says."""
        if name.rpartition(":")[2] == "Relationship" and attrs.get("TargetMode") != "External":
            self.found.append((attrs.get("Id", ""), attrs.get("Target", ""), attrs.get("Type", "")))
