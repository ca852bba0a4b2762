"""Holds Word documents to the schemas of ECMA-376, and tagged PDFs to what a screen reader needs."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import ooxml_integrity
import pikepdf
from openxml_audit import OpenXmlValidator

_OPTIONAL = "relationships/fontTable' is missing"
"""A font table is optional (ECMA-376-1, 11.3.5); the validator asks for one."""

Node = pikepdf.Dictionary


def schema_faults(document: Path) -> list[str]:
    """Return where a Word document departs from the schemas of ECMA-376."""
    found = OpenXmlValidator().validate(str(document)).errors
    return [f"{one.part_uri}: {one.description}" for one in found if _OPTIONAL not in one.description]


def inner_faults(document: Path) -> list[str]:
    """Return what doesn't fit together inside a Word document: relations, ids, fields, marks."""
    found = ooxml_integrity.check(str(document))
    return [str(one) for one in found if one.severity != ooxml_integrity.INFO]


def tag_faults(pdf: Path) -> list[str]:
    """Return what a screen reader would miss in a PDF: tags, language, title, heads of tables, words for pictures."""
    with pikepdf.open(pdf) as read:
        root = read.Root
        if "/StructTreeRoot" not in root or not root.get("/MarkInfo", {}).get("/Marked"):
            return ["no tags"]
        faults = [f"no {key}" for key in ("/Lang",) if not root.get(key)]
        faults += ["no title"] if not read.open_metadata().get("dc:title") else []
        nodes = list(_nodes(root.StructTreeRoot.K))
        faults += [
            f"table {place} has no head" for place, one in enumerate(_kind(nodes, "/Table"), 1) if not _head(one)
        ]
        figures = _kind(nodes, "/Figure")
        faults += [f"picture {place} has no words" for place, one in enumerate(figures, 1) if not one.get("/Alt")]
        return faults


def tag_count(pdf: Path, kind: str) -> int:
    """Return how many elements of a kind a tagged PDF has."""
    with pikepdf.open(pdf) as read:
        return len(_kind(list(_nodes(read.Root.StructTreeRoot.K)), kind))


def _kind(nodes: list[Node], kind: str) -> list[Node]:
    return [one for one in nodes if one.get("/S") == kind]


def _head(table: Node) -> bool:
    rows = _kind(list(_nodes(table.K)), "/TR")
    cells = [str(one.S) for one in _nodes(rows[0].K) if one.get("/S") in ("/TH", "/TD")] if rows else []
    return bool(cells) and set(cells) == {"/TH"}


def _nodes(kids: pikepdf.Object) -> Iterator[Node]:
    """Yield the elements below, from the top of the document to its end."""
    if isinstance(kids, pikepdf.Array):
        for kid in kids:
            yield from _nodes(kid)
    elif isinstance(kids, pikepdf.Dictionary):
        if "/S" in kids:
            yield kids
        if "/K" in kids:
            yield from _nodes(kids.K)
