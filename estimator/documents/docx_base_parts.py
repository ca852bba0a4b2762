"""Parts of a foreign Word document: parsed as hostile, and cleaned of all that leads or acts outside."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Protocol, Self

_WORD: Final = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
_LINKS: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_DRAWING: Final = "http://schemas.openxmlformats.org/drawingml/2006/main"
_PHANTOM: Final = ("urn:schemas-microsoft-com:vml", "urn:schemas-microsoft-com:office:office")

_GONE: Final = frozenset(
    (
        *("del", "moveFrom", "altChunk", "object", "control", "subDoc", "dataBinding", "contentPart", "docPartObj"),
        *("commentRangeStart", "commentRangeEnd", "commentReference", "annotationRef", "bookmarkStart", "bookmarkEnd"),
        *("rPrChange", "pPrChange", "sectPrChange", "tblPrChange", "trPrChange", "tcPrChange", "tblGridChange"),
        *("numberingChange", "cellIns", "cellDel", "cellMerge", "moveFromRangeStart", "moveFromRangeEnd", "proofErr"),
        *(
            "moveToRangeStart",
            "moveToRangeEnd",
            "permStart",
            "permEnd",
            "numPicBullet",
            "lvlPicBulletId",
            "customXmlPr",
            "smartTagPr",
        ),
    )
)
"""Elements left out: changes not accepted, comments, embedded things, marks of other parts."""

_UNWRAPPED: Final = frozenset({"ins", "moveTo", "hyperlink", "smartTag", "customXml"})
"""Elements whose content stays without them: accepted changes, links to outside."""

_OUTSIDE: Final = re.compile(
    r"\b(INCLUDETEXT|INCLUDEPICTURE|DDE|DDEAUTO|LINK|EMBED|DATABASE|IMPORT|MACROBUTTON|ASK|FILLIN|RD)\b", re.IGNORECASE
)
"""Fields that read from elsewhere, run something or ask something."""


class PartError(Exception):
    """A part that can't be taken over: what is wrong, and how to mend it where that is known."""

    def __init__(self, what: str, mend: str = "") -> None:
        super().__init__(what)
        self.what: Final = what
        self.mend: Final = mend


class Node(Protocol):
    """What is needed of an XML element."""

    tag: str
    text: str | None
    tail: str | None
    attrib: dict[str, str]

    def get(self, key: str, default: str = "") -> str:
        """Return an attribute."""

    def iter(self, tag: str | None = None) -> Iterator[Self]:
        """Yield this element and all below it."""

    def getparent(self) -> Self | None:
        """Return the element above."""

    def remove(self, element: Self) -> None:
        """Take a child out."""

    def addprevious(self, element: Self) -> None:
        """Add an element just before this one."""

    def __iter__(self) -> Iterator[Self]: ...


@dataclass(frozen=True, slots=True)
class Tree:
    """A parsed part."""

    root: Node

    def name(self, word: str) -> str:
        """Return the full name of an element or attribute of Word's own."""
        return f"{{{_WORD}}}{word}"


def parsed(content: bytes, part: str) -> Tree:
    """Return a part's tree. Raises: PartError for what is no XML, or declares a type or entities."""
    from lxml import etree

    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, remove_comments=True, remove_pis=True
    )
    try:
        root = etree.fromstring(content, parser)
    except (etree.XMLSyntaxError, ValueError) as wrong:
        raise PartError(f"has a damaged part, {part}") from wrong
    if root.getroottree().docinfo.doctype or root.getroottree().docinfo.internalDTD is not None:
        raise PartError(f"declares a document type in {part}", "don't trust this file")
    return Tree(root)


def written(tree: Tree) -> bytes:
    """Return a tree as the content of a part."""
    from lxml import etree

    return bytes(etree.tostring(tree.root, xml_declaration=True, encoding="UTF-8", standalone=True))


def cleaned(tree: Tree, keep: Mapping[str, str]) -> Tree:
    """Return the tree without all that acts or leads outside; ``keep`` are the links that stay.

    Raises: PartError for a field that reads from elsewhere or runs something.
    """
    _refuse_fields(tree)
    for node in list(tree.root.iter()):
        space, _, name = node.tag.rpartition("}")
        if space == f"{{{_WORD}" and name in _GONE:
            _drop(node)
        elif space == f"{{{_WORD}" and name in _UNWRAPPED:
            _unwrap(node)
        elif name in ("hlinkClick", "hlinkHover", "hlinkMouseOver", "svgBlip"):
            _drop(node)
        elif space.lstrip("{") in _PHANTOM:
            for key in [key for key in node.attrib if key.rpartition("}")[2] in ("src", "href", "althref")]:
                del node.attrib[key]
    for node in list(tree.root.iter()):
        _cut_links(node, keep)
    return tree


def _refuse_fields(tree: Tree) -> None:
    said = "".join(one.text or "" for one in tree.root.iter(tree.name("instrText")))
    said += " ".join(one.get(tree.name("instr")) for one in tree.root.iter(tree.name("fldSimple")))
    found = _OUTSIDE.search(said)
    if found:
        raise PartError(f"has a field {found[1].upper()} in its header or footer", "take it out; it reaches outside")


def _cut_links(node: Node, keep: Mapping[str, str]) -> None:
    """Take off links that don't stay; what shows nothing without them goes too."""
    lost = [key for key, link in node.attrib.items() if key.startswith(f"{{{_LINKS}}}") and link not in keep]
    if not lost:
        return
    for key in lost:
        del node.attrib[key]
    if any(key.startswith(f"{{{_LINKS}}}") for key in node.attrib):
        return
    if node.tag == f"{{{_DRAWING}}}blip" and _above(node, "blipFill", _DRAWING) is not None:
        _plain_fill(node)
        return
    run = _above(node, "r", _WORD)
    _drop(node if run is None else run)


def _above(node: Node, name: str, space: str) -> Node | None:
    above = node.getparent()
    while above is not None and above.tag != f"{{{space}}}{name}":
        above = above.getparent()
    return above


def _plain_fill(blip: Node) -> None:
    """Put a plain color in place of a theme's picture: a theme must keep the number of its fills."""
    from lxml import etree

    fill = _above(blip, "blipFill", _DRAWING)
    if fill is not None:
        plain = etree.fromstring(f'<a:solidFill xmlns:a="{_DRAWING}"><a:schemeClr val="phClr"/></a:solidFill>')
        fill.addprevious(plain)
        _drop(fill)


def _drop(node: Node) -> None:
    above = node.getparent()
    if above is not None:
        above.remove(node)


def _unwrap(node: Node) -> None:
    for child in list(node):
        node.addprevious(child)
    _drop(node)
