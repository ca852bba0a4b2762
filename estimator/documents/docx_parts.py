"""The small parts of a Word package: runs, paragraphs, fields, bookmarks and links.

Parts are written as text and parsed once; text of a document is always escaped on its way in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final, Protocol, Self, cast

from estimator.documents.package import xml_text

_MAIN: Final = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
_RELATIONS: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_SPACES: Final = f'xmlns:w="{_MAIN}" xmlns:r="{_RELATIONS}"'
# What XML 1.0 cannot hold, lone surrogates among it.
_ILLEGAL: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


class Element(Protocol):
    """What the writer needs of an XML element."""

    tag: str
    text: str | None

    def append(self, element: Self) -> None:
        """Add an element as the last child."""

    def remove(self, element: Self) -> None:
        """Take a child out."""

    def insert(self, index: int, element: Self) -> None:
        """Add an element before the child at an index."""

    def addprevious(self, element: Self) -> None:
        """Add an element just before this one."""

    def addnext(self, element: Self) -> None:
        """Add an element just after this one."""

    def getprevious(self) -> Self | None:
        """Return the element before this one."""

    def xpath(self, path: str) -> Sequence[object]:
        """Return what a path leads to."""

    def set(self, key: str, value: str) -> None:
        """Set an attribute."""

    def get(self, key: str) -> str | None:
        """Return an attribute, or None."""

    def iter(self) -> Iterator[Self]:
        """Yield this element and all below it."""

    def __getitem__(self, index: int) -> Self: ...

    def __iter__(self) -> Iterator[Self]: ...


def tag(name: str) -> str:
    """Return the full name of an element or attribute of the main name space."""
    return f"{{{_MAIN}}}{name}"


def parse(xml: str) -> Element:
    """Return the element that the text describes; the outermost one gets the name spaces."""
    from docx.oxml import parse_xml

    return cast(Element, parse_xml(re.sub(r"^<([\w:]+)", rf"<\1 {_SPACES}", xml, count=1)))


def legal(text: str) -> str:
    """Return the text with characters that XML cannot hold replaced by the replacement sign."""
    return _ILLEGAL.sub("\N{REPLACEMENT CHARACTER}", text)


def run(text: str, properties: str = "") -> str:
    """Return a run; a new line in the text becomes a line break, a tab a tab."""
    inner = "".join(_pieces(text))
    return f"<w:r>{f'<w:rPr>{properties}</w:rPr>' if properties else ''}{inner}</w:r>"


def _pieces(text: str) -> Iterator[str]:
    for piece in re.split(r"(\r\n|\r|\n|\t)", text):
        if piece == "\t":
            yield "<w:tab/>"
        elif piece in ("\r\n", "\r", "\n"):
            yield "<w:br/>"
        elif piece:
            yield f'<w:t xml:space="preserve">{xml_text(piece)}</w:t>'


def paragraph(style: str, inner: str, properties: str = "", ahead: str = "") -> str:
    """Return a paragraph of a style.

    ``ahead`` holds the properties that the format wants before all others (keeps, page break),
    ``properties`` the later ones.
    """
    return f'<w:p><w:pPr><w:pStyle w:val="{style}"/>{ahead}{properties}</w:pPr>{inner}</w:p>'


def word_field(instruction: str, stored: str, properties: str = "") -> str:
    """Return a field with the result that is shown until somebody updates it."""
    start = f"<w:rPr>{properties}</w:rPr>" if properties else ""
    return (
        f'<w:r>{start}<w:fldChar w:fldCharType="begin"/></w:r>'
        f'<w:r>{start}<w:instrText xml:space="preserve"> {xml_text(instruction)} </w:instrText></w:r>'
        f'<w:r>{start}<w:fldChar w:fldCharType="separate"/></w:r>'
        f"{run(stored, properties)}"
        f'<w:r>{start}<w:fldChar w:fldCharType="end"/></w:r>'
    )


def bookmark(number: int, name: str, inner: str) -> str:
    """Return runs with a bookmark around them."""
    return f'<w:bookmarkStart w:id="{number}" w:name="{name}"/>{inner}<w:bookmarkEnd w:id="{number}"/>'


def link(anchor: str, inner: str) -> str:
    """Return runs that lead to a bookmark of the same document."""
    return f'<w:hyperlink w:anchor="{anchor}" w:history="1">{inner}</w:hyperlink>'
