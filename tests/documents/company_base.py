"""Made-up base documents of companies, built with a library of other people's, and ways to spoil them."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable

import docx
from docx.document import Document
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Inches, RGBColor

HYPERLINK = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/hyperlink"
IDENTITIES = {"Heading1": "berschrift1", "Title": "Titel", "ListBullet": "Aufzhlung", "Normal": "Standard"}
"""Identities that a German Word gives to styles whose names stay English in the file."""


def picture(width: int = 120, height: int = 40) -> bytes:
    """Return a plain picture in one color."""
    raw = b"".join(b"\0" + bytes((200, 60, 30)) * width for _ in range(height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(raw)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in chunks
    )


def company() -> Document:
    """Return a company's document: own colors, a logo on every page, an address at the foot, text of a letter."""
    word = docx.Document()
    section = word.sections[0]
    section.left_margin = section.right_margin = Inches(1.1)
    section.top_margin = Inches(1.4)
    head = section.header.paragraphs[0]
    head.add_run().add_picture(io.BytesIO(picture()), width=Inches(1.2))
    head.add_run("\tExample Cabling Company")
    section.footer.paragraphs[0].text = "12 Example Road, Anytown"
    word.styles["Heading 1"].font.color.rgb = RGBColor(0xC0, 0x30, 0x10)  # type: ignore[attr-defined]
    word.add_paragraph("Dear client, this text stays behind.")
    return word


def letterhead() -> Document:
    """Return one from another country: A4, other identities, a first page of its own, pages counted already."""
    word = docx.Document()
    for node in word.styles.element.iter():
        for key in (qn("w:styleId"), qn("w:val")):
            refers = key == qn("w:styleId") or node.tag in {qn(f"w:{name}") for name in ("basedOn", "next", "link")}
            if refers and node.get(key) in IDENTITIES:
                node.set(key, IDENTITIES[node.get(key)])
    section = word.sections[0]
    section.page_width, section.page_height = 11906 * 635, 16838 * 635  # twips of ISO 216 A4, as EMU
    section.different_first_page_header_footer = True
    section.first_page_header.paragraphs[0].text = "Only on the first page"
    section.header.paragraphs[0].text = "On all others"
    section.footer.paragraphs[0].text = "Seite "
    add(section.footer, '<w:fldSimple {} w:instr=" PAGE "><w:r><w:t>1</w:t></w:r></w:fldSimple>')
    return word


def add(holder: object, xml: str) -> None:
    """Add something to the first paragraph of a header or footer; ``{}`` takes the name spaces."""
    holder.paragraphs[0]._p.append(parse_xml(xml.format(nsdecls("w", "r"))))  # type: ignore[attr-defined]


def packed(word: Document) -> bytes:
    """Return a document as a file."""
    out = io.BytesIO()
    word.save(out)
    return out.getvalue()


def with_part(content: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """Return a package with one part changed, or added where it has none of that name."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as before, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as after:
        for part in before.namelist():
            after.writestr(part, change(before.read(part)) if part == name else before.read(part))
        if name not in before.namelist():
            after.writestr(name, change(b""))
    return out.getvalue()
