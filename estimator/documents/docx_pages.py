"""Pages of a Word document: paper, margins, what runs along their head and foot."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from estimator.documents.description import Document
from estimator.documents.docx_parts import Element, paragraph, parse, run, word_field
from estimator.documents.docx_widths import ems, shortened
from estimator.documents.shown import long_date

if TYPE_CHECKING:
    from docx.document import Document as WordDocument

_PAPERS: Final = {"letter": (12240, 15840), "a4": (11906, 16838)}  # [twips]
_SIDE: Final = 1224
_TOP: Final = 1360
_BOTTOM: Final = 1224
_RUNNING: Final = 620  # from the paper's edge to the running lines [twips]
_RUNNING_PT: Final = 8.0


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper as it lies [twips]."""

    width: int
    height: int
    landscape: bool = False

    @property
    def text_width(self) -> int:
        """Width between the margins [twips]."""
        return self.width - 2 * _SIDE

    def turned(self) -> Page:
        """Return the same paper lying on its side."""
        return replace(self, width=self.height, height=self.width, landscape=not self.landscape)


@dataclass(frozen=True, slots=True)
class Running:
    """The relations that lead from a page to its running lines; a cover has only a marking, if any."""

    upright: tuple[str, str]
    across: tuple[str, str]
    cover: str = ""


def page(paper: str) -> Page:
    """Return an upright page of the paper."""
    return Page(*_PAPERS[paper])


def running(word: WordDocument, document: Document, upright: Page, across: Page) -> Running:
    """Make header and footer once for upright and once for turned pages, and return their relations."""
    # The library leaves these two without types; each gives the part and its relation.
    made = []
    for sheet in (upright, across):
        header, header_relation = word.part.add_header_part()  # type: ignore[no-untyped-call]
        footer, footer_relation = word.part.add_footer_part()  # type: ignore[no-untyped-call]
        _replace(header.element, *_marking(document), _header(document, sheet))
        _replace(footer.element, _footer(document, sheet))
        made.append((header_relation, footer_relation))
    cover_relation = ""
    if document.marking:
        cover, cover_relation = word.part.add_header_part()  # type: ignore[no-untyped-call]
        _replace(cover.element, *_marking(document))
    return Running(made[0], made[1], cover_relation)


def _replace(holder: Element, *lines: str) -> None:
    for child in list(holder):
        holder.remove(child)
    for xml in lines:
        holder.append(parse(xml))


def _marking(document: Document) -> tuple[str, ...]:
    return (paragraph("Marking", run(document.marking)),) if document.marking else ()


def _header(document: Document, sheet: Page) -> str:
    number = document.number and f"No. {document.number}"
    revision = document.revision and f"Revision {document.revision}"
    right = " · ".join(text for text in (number, revision) if text)
    return _two_sided("Header", sheet, document.job, right, run(right))


def _footer(document: Document, sheet: Page) -> str:
    dated = document.shown_date and long_date(document.shown_date)
    left = " · ".join(text for text in (document.title, dated) if text)
    counted = run("Page ") + word_field("PAGE", "1") + run(" of ") + word_field("NUMPAGES", "1")
    return _two_sided("Footer", sheet, left, "Page 999 of 999", counted)


def _two_sided(style: str, sheet: Page, left: str, right: str, right_inner: str) -> str:
    """Return a line with a text at each margin; the left one gives way where both don't fit."""
    room = sheet.text_width - ems(right) * _RUNNING_PT * 20 - 400
    tabs = f'<w:tabs><w:tab w:val="right" w:pos="{sheet.text_width}"/></w:tabs>'
    inner = run(shortened(" ".join(left.split()), _RUNNING_PT, room)) + "<w:r><w:tab/></w:r>" + right_inner
    return paragraph(style, inner, tabs)


def cover_end(sheet: Page, lines: Running) -> Element:
    """Return the paragraph that ends the cover, which has no running lines but a marking."""
    marked = f'<w:headerReference w:type="default" r:id="{lines.cover}"/>' if lines.cover else ""
    return parse(paragraph("SectionEnd", "", f"<w:sectPr>{marked}{_sheet(sheet)}</w:sectPr>"))


def section_end(sheet: Page, lines: Running) -> Element:
    """Return the paragraph that ends pages of one kind, in whose properties they are described."""
    header, footer = lines.across if sheet.landscape else lines.upright
    references = (
        f'<w:headerReference w:type="default" r:id="{header}"/><w:footerReference w:type="default" r:id="{footer}"/>'
    )
    return parse(paragraph("SectionEnd", "", f"<w:sectPr>{references}{_sheet(sheet)}</w:sectPr>"))


def _sheet(sheet: Page) -> str:
    turned = ' w:orient="landscape"' if sheet.landscape else ""
    return (
        f'<w:type w:val="nextPage"/><w:pgSz w:w="{sheet.width}" w:h="{sheet.height}"{turned}/>'
        f'<w:pgMar w:top="{_TOP}" w:right="{_SIDE}" w:bottom="{_BOTTOM}" w:left="{_SIDE}" '
        f'w:header="{_RUNNING}" w:footer="{_RUNNING}" w:gutter="0"/><w:cols w:space="720"/>'
    )
