"""Pages of a Word document: paper, margins, what runs along their head and foot."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, cast

from estimator.documents.description import Document
from estimator.documents.docx_parts import Element, paragraph, parse, run, tag, word_field
from estimator.documents.docx_widths import ems, shortened
from estimator.documents.shown import long_date

if TYPE_CHECKING:
    from docx.document import Document as WordDocument
    from docx.opc.part import XmlPart
    from docx.oxml.xmlchemy import BaseOxmlElement

_PAPERS: Final = {"letter": (12240, 15840), "a4": (11906, 16838)}  # [twips]
_SIDE: Final = 1224
_TOP: Final = 1360
_BOTTOM: Final = 1224
_RUNNING: Final = 620  # from the paper's edge to the running lines [twips]
_RUNNING_PT: Final = 8.0
_LINE: Final = "RunningLine"
"""Style of our lines below a company's own, whose styles of head and foot may have tab stops of their own."""

_OWN_DRAWINGS: Final = 1_000_000  # above the numbers that drawings of the text get


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper as it lies [twips]."""

    width: int
    height: int
    landscape: bool = False
    left: int = _SIDE
    right: int = _SIDE
    top: int = _TOP
    bottom: int = _BOTTOM
    header: int = _RUNNING
    footer: int = _RUNNING

    @property
    def text_width(self) -> int:
        """Width between the margins [twips]."""
        return self.width - self.left - self.right

    def turned(self) -> Page:
        """Return the same paper lying on its side."""
        return replace(self, width=self.height, height=self.width, landscape=not self.landscape)


@dataclass(frozen=True, slots=True)
class Running:
    """The relations that lead from a page to its running lines, header first; a cover may have none."""

    upright: tuple[str, str]
    across: tuple[str, str]
    cover: tuple[str, str] = ("", "")


Own = Mapping[tuple[str, str], "XmlPart"]
"""What runs along the pages of a company's own document: by ``header`` or ``footer``, and page."""


def page(paper: str) -> Page:
    """Return an upright page of the paper."""
    return Page(*_PAPERS[paper])


def running(word: WordDocument, document: Document, upright: Page, own: Own | None = None) -> Running:
    """Make header and footer once for upright and once for turned pages, and return their relations.

    On a company's base document its ``own`` come first, ours below them; its cover has those of its first
    page alone.
    """
    styles = ("Header", "Footer") if own is None else (_LINE, _LINE)
    own = own or {}
    made = []
    counted = any(_counts(part.element) for (_, page), part in own.items() if page == "default")
    for sheet in (upright, upright.turned()):
        lines = {
            "header": (*_marking(document), _header(styles[0], document, sheet)),
            "footer": (_footer(styles[1], document, sheet, counted),),
        }
        header, footer = (_joined(word, kind, own.get((kind, "default")), lines[kind]) for kind in lines)
        made.append((header, footer))
    first = {kind: own.get((kind, "first"), own.get((kind, "default"))) for kind in ("header", "footer")}
    marked = {"header": _marking(document), "footer": ()}
    cover = [
        _joined(word, kind, part, marked[kind]) if part is not None or marked[kind] else ""
        for kind, part in first.items()
    ]
    return Running(made[0], made[1], (cover[0], cover[1]))


def _joined(word: WordDocument, kind: str, own: XmlPart | None, lines: Sequence[str]) -> str:
    """Return the relation to a new header or footer: a company's own, if any, then lines of ours."""
    from docx.opc.constants import CONTENT_TYPE, RELATIONSHIP_TYPE
    from docx.opc.packuri import PackURI
    from docx.parts.hdrftr import FooterPart, HeaderPart

    shape, content, relation = {
        "header": (HeaderPart, CONTENT_TYPE.WML_HEADER, RELATIONSHIP_TYPE.HEADER),
        "footer": (FooterPart, CONTENT_TYPE.WML_FOOTER, RELATIONSHIP_TYPE.FOOTER),
    }[kind]
    package = word.part.package
    assert package is not None
    root = parse(f"<w:{'hdr' if kind == 'header' else 'ftr'}/>") if own is None else copy.deepcopy(own.element)
    for xml in lines:
        root.append(parse(xml))
    number = _OWN_DRAWINGS + 1_000 * len(word.part.rels)
    for node in root.iter():
        if node.tag.endswith("}docPr"):
            number += 1
            node.set("id", str(number))
    name = PackURI(str(package.next_partname(f"/word/{kind}%d.xml")))
    part = shape(name, content, cast("BaseOxmlElement", root), package)
    for link in own.rels.values() if own is not None else ():
        part.load_rel(link.reltype, link.target_part, link.rId)
    return word.part.relate_to(part, relation)


def _counts(element: Element) -> bool:
    """Return whether a company's own running lines count the pages already."""
    told = [node.text or "" for node in element.iter() if node.tag == tag("instrText")]
    told += [node.get(tag("instr")) or "" for node in element.iter() if node.tag == tag("fldSimple")]
    return any(re.search(r"\bPAGE\b", instruction, re.IGNORECASE) for instruction in told)


def _marking(document: Document) -> tuple[str, ...]:
    return (paragraph("Marking", run(document.marking)),) if document.marking else ()


def _header(style: str, document: Document, sheet: Page) -> str:
    number = document.number and f"No. {document.number}"
    revision = document.revision and f"Revision {document.revision}"
    right = " · ".join(text for text in (number, revision) if text)
    return _two_sided(style, sheet, document.job, right, run(right))


def _footer(style: str, document: Document, sheet: Page, counted: bool) -> str:
    dated = document.shown_date and long_date(document.shown_date)
    content = document.content and f"Content {document.content}"
    left = " · ".join(text for text in (document.title, dated, content) if text)
    if counted:
        return _two_sided(style, sheet, left, "", "")
    pages = run("Page ") + word_field("PAGE", "1") + run(" of ") + word_field("NUMPAGES", "1")
    return _two_sided(style, sheet, left, "Page 999 of 999", pages)


def _two_sided(style: str, sheet: Page, left: str, right: str, right_inner: str) -> str:
    """Return a line with a text at each margin; the left one gives way where both don't fit."""
    room = sheet.text_width - ems(right) * _RUNNING_PT * 20 - 400
    tabs = f'<w:tabs><w:tab w:val="right" w:pos="{sheet.text_width}"/></w:tabs>'
    inner = run(shortened(" ".join(left.split()), _RUNNING_PT, room)) + "<w:r><w:tab/></w:r>" + right_inner
    return paragraph(style, inner, tabs)


def cover_end(sheet: Page, lines: Running) -> Element:
    """Return the paragraph that ends the cover, which has no running lines of ours but a marking."""
    return _end(sheet, lines.cover)


def section_end(sheet: Page, lines: Running) -> Element:
    """Return the paragraph that ends pages of one kind, in whose properties they are described."""
    return _end(sheet, lines.across if sheet.landscape else lines.upright)


def _end(sheet: Page, lines: tuple[str, str]) -> Element:
    references = "".join(
        f'<w:{kind}Reference w:type="default" r:id="{relation}"/>'
        for kind, relation in zip(("header", "footer"), lines, strict=True)
        if relation
    )
    return parse(paragraph("SectionEnd", "", f"<w:sectPr>{references}{_sheet(sheet)}</w:sectPr>"))


def _sheet(sheet: Page) -> str:
    turned = ' w:orient="landscape"' if sheet.landscape else ""
    return (
        f'<w:type w:val="nextPage"/><w:pgSz w:w="{sheet.width}" w:h="{sheet.height}"{turned}/>'
        f'<w:pgMar w:top="{sheet.top}" w:right="{sheet.right}" w:bottom="{sheet.bottom}" w:left="{sheet.left}" '
        f'w:header="{sheet.header}" w:footer="{sheet.footer}" w:gutter="0"/><w:cols w:space="720"/>'
    )
