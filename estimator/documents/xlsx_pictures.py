"""Pictures of a workbook: where they stand on a sheet, and their parts of the package.

A picture hangs on its upper left cell and keeps its own size; the rows behind it are set high enough.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from estimator.documents.emf import emf
from estimator.documents.package import xml_text
from estimator.documents.xlsx_plan import PicturePlace, SheetPlan

ROW_PT: Final = 18.0
"""Height of the rows behind a picture [pt]."""

_EMU_PER_MM: Final = 36000
_PT_PER_MM: Final = 72 / 25.4
_DIGIT_MM: Final = 7 * 25.4 / 96  # the width of a digit on a screen of 96 dots an inch
_SHAPES: Final = "http://schemas.openxmlformats.org/drawingml/2006"
_OFFICE: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_LINKS: Final = "http://schemas.openxmlformats.org/package/2006/relationships"
_HEAD: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_TYPES: Final = "[Content_Types].xml"
_DRAWING_TYPE: Final = "application/vnd.openxmlformats-officedocument.drawing+xml"


def rows_behind(height_mm: float) -> int:
    """Return how many rows a picture of a height takes, with a little air below [rows].

    >>> rows_behind(60.0)
    10
    """
    return math.ceil((height_mm * _PT_PER_MM + 4.0) / ROW_PT)


def columns_behind(width_mm: float) -> float:
    """Return how wide the columns behind a picture must be together [digits]."""
    return width_mm / _DIGIT_MM + 1.0


def picture_rows(place: PicturePlace) -> str:
    """Return the empty rows behind a picture."""
    numbers = range(place.row, place.row + rows_behind(place.picture.drawing.height_mm))
    return "".join(f'<row r="{number}" ht="{ROW_PT:g}" customHeight="1"></row>' for number in numbers)


def add_pictures(parts: dict[str, bytes], plans: Sequence[SheetPlan]) -> None:
    """Add the pictures of all sheets to the parts of the package."""
    drawn = 0
    stored = 0
    for number, plan in enumerate(plans, start=1):
        if not plan.pictures:
            continue
        drawn += 1
        first = stored + 1
        for place in plan.pictures:
            stored += 1
            parts[f"xl/media/picture{stored}.emf"] = emf(place.picture.drawing)
        parts[f"xl/drawings/drawing{drawn}.xml"] = _drawing(plan.pictures, first).encode()
        links = [_link(f"rId{place}", "image", f"/xl/media/picture{place}.emf") for place in range(first, stored + 1)]
        parts[f"xl/drawings/_rels/drawing{drawn}.xml.rels"] = _links_part(links)
        _hang(parts, number, drawn)
    if drawn:
        _declare(parts, drawn)


def _link(name: str, kind: str, target: str) -> str:
    return f'<Relationship Id="{name}" Type="{_OFFICE}/{kind}" Target="{target}"/>'


def _links_part(links: Sequence[str]) -> bytes:
    return f'{_HEAD}<Relationships xmlns="{_LINKS}">{"".join(links)}</Relationships>'.encode()


def _hang(parts: dict[str, bytes], sheet: int, drawing: int) -> None:
    """Have a sheet point at its drawing; the format wants that before the sheet's tables."""
    name, links = f"xl/worksheets/sheet{sheet}.xml", f"xl/worksheets/_rels/sheet{sheet}.xml.rels"
    point = f'<drawing xmlns:r="{_OFFICE}" r:id="rIdDrawing"/>'.encode()
    before = b"<tableParts" if b"<tableParts" in parts[name] else b"</worksheet>"
    parts[name] = parts[name].replace(before, point + before, 1)
    link = _link("rIdDrawing", "drawing", f"/xl/drawings/drawing{drawing}.xml")
    if links in parts:
        parts[links] = parts[links].replace(b"</Relationships>", link.encode() + b"</Relationships>", 1)
    else:
        parts[links] = _links_part([link])


def _declare(parts: dict[str, bytes], drawings: int) -> None:
    kinds = '<Default Extension="emf" ContentType="image/x-emf"/>' + "".join(
        f'<Override PartName="/xl/drawings/drawing{number}.xml" ContentType="{_DRAWING_TYPE}"/>'
        for number in range(1, drawings + 1)
    )
    parts[_TYPES] = parts[_TYPES].replace(b"</Types>", kinds.encode() + b"</Types>", 1)


def _drawing(places: Sequence[PicturePlace], first: int) -> str:
    anchors = "".join(_anchor(place, number) for number, place in enumerate(places, start=first))
    return f'{_HEAD}<xdr:wsDr xmlns:xdr="{_SHAPES}/spreadsheetDrawing" xmlns:a="{_SHAPES}/main">{anchors}</xdr:wsDr>'


def _anchor(place: PicturePlace, number: int) -> str:
    return "".join(_anchor_parts(place, number))


def _anchor_parts(place: PicturePlace, number: int) -> Iterator[str]:
    picture = place.picture
    size = (round(side * _EMU_PER_MM) for side in (picture.drawing.width_mm, picture.drawing.height_mm))
    extent = 'cx="{}" cy="{}"'.format(*size)
    yield f"<xdr:oneCellAnchor><xdr:from><xdr:col>{place.column - 1}</xdr:col><xdr:colOff>0</xdr:colOff>"
    yield f"<xdr:row>{place.row - 1}</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:ext {extent}/>"
    yield f'<xdr:pic><xdr:nvPicPr><xdr:cNvPr id="{number + 1}" name="Picture {number}"'
    yield f' descr="{xml_text(picture.alternative)}" title="{xml_text(picture.title)}"/>'
    yield '<xdr:cNvPicPr><a:picLocks noChangeAspect="1"/></xdr:cNvPicPr></xdr:nvPicPr><xdr:blipFill>'
    yield f'<a:blip xmlns:r="{_OFFICE}" r:embed="rId{number}"/><a:stretch><a:fillRect/></a:stretch></xdr:blipFill>'
    yield f'<xdr:spPr><a:xfrm><a:off x="0" y="0"/><a:ext {extent}/></a:xfrm><a:prstGeom prst="rect"><a:avLst/>'
    yield "</a:prstGeom></xdr:spPr></xdr:pic><xdr:clientData/></xdr:oneCellAnchor>"
