"""The contents of a Word document: a field that already holds what it would show.

Page numbers need a layout, which only a word processor makes. A document that is to have them is
written with a place for each number, laid out, and filled in.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Sequence
from io import BytesIO
from typing import Final

from estimator.documents import package
from estimator.documents.docx_parts import Element, link, paragraph, parse, run, word_field

Heading = tuple[int, str, str]
"""Level, title and bookmark of a heading."""

_BODY: Final = "word/document.xml"
_PLACE: Final = "000"  # as wide as most numbers of pages, so that filling in moves nothing
_LINE: Final = re.compile(r'<w:hyperlink w:anchor="(_Toc\d+)"[^>]*>(.*?)</w:hyperlink>', re.DOTALL)
_TEXT: Final = re.compile(r"<w:t[^>]*>([^<]*)</w:t>")


class PagesError(Exception):
    """A layout doesn't show the headings of a document."""


def contents(headings: Sequence[Heading], width: int, *, paged: bool) -> list[Element]:
    """Return the contents as a field whose stored result is the headings, each a link.

    ``paged`` gives each line a place for its page number at the right edge of ``width`` [twips];
    ``with_pages`` fills them in.
    """
    if not headings:
        return []
    switches = '\\o "1-3" \\h \\z' + ("" if paged else " \\n")
    opening = (
        '<w:r><w:fldChar w:fldCharType="begin"/></w:r>'
        f'<w:r><w:instrText xml:space="preserve"> TOC {switches} </w:instrText></w:r>'
        '<w:r><w:fldChar w:fldCharType="separate"/></w:r>'
    )
    closing = '<w:r><w:fldChar w:fldCharType="end"/></w:r>'
    tabs = f'<w:tabs><w:tab w:val="right" w:leader="dot" w:pos="{width}"/></w:tabs>' if paged else ""
    lines = []
    for place, (level, title, anchor) in enumerate(headings):
        number = "<w:r><w:tab/></w:r>" + word_field(f"PAGEREF {anchor} \\h", _PLACE) if paged else ""
        inner = link(anchor, run(title) + number)
        inner = (opening if place == 0 else "") + inner + (closing if place == len(headings) - 1 else "")
        lines.append(parse(paragraph(f"Toc{level}", inner, tabs)))
    return lines


def with_pages(document: bytes, found: Sequence[tuple[str, int]]) -> bytes:
    """Return a document whose contents carry the pages that a layout found its headings on.

    ``found`` are the headings of the layout in order; it may have more than the document's own, and
    a word processor may have put a number of its own in front.

    Raises: PagesError where a heading of the document is not among them.
    """
    with zipfile.ZipFile(BytesIO(document)) as archive:
        body = archive.read(_BODY).decode("utf-8")
    layout = iter(found)
    pages: dict[str, int] = {}
    for anchor, line in _LINE.findall(body):
        title = _plain("".join(_TEXT.findall(line.partition("<w:tab/>")[0])))
        page = next((page for shown, page in layout if _plain(package.xml_text(shown)).endswith(title)), None)
        if page is None:
            raise PagesError(f'the layout does not show the heading "{title}" where it belongs')
        pages[anchor] = page

    def filled(place: re.Match[str]) -> str:
        return f"{place[1]}{pages[place[2]]}{place[3]}"

    pattern = rf'(PAGEREF (_Toc\d+) \\h </w:instrText></w:r>.*?<w:t xml:space="preserve">){_PLACE}(</w:t>)'
    changed = re.sub(pattern, filled, body, flags=re.DOTALL)
    return package.mend(document, {_BODY: lambda _: changed.encode("utf-8")})


def _plain(text: str) -> str:
    """Return a text for comparing: without what breaks lines and without spaces."""
    return "".join(text.split())
