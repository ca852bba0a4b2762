"""Pictures of a Word document: a drawing in its own paragraph, kept with the caption below it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from estimator.documents.description import Picture
from estimator.documents.docx_parts import Element, paragraph, parse, run, word_field
from estimator.documents.emf import emf
from estimator.documents.package import xml_text

if TYPE_CHECKING:
    from docx.document import Document as WordDocument

_SHAPES: Final = "http://schemas.openxmlformats.org/drawingml/2006"
EMU_PER_MM: Final = 36000
_TWIPS_PER_MM: Final = 1440 / 25.4
_STRONG: Final = '<w:rStyle w:val="Strong"/>'
_KEEP: Final = "<w:keepNext/><w:keepLines/>"


def picture_paragraph(word: WordDocument, picture: Picture, number: int, width: int) -> Element:
    """Return the paragraph that holds a picture, shrunk where it is wider than the text [twips]."""
    shrunk = min(1.0, width / _TWIPS_PER_MM / picture.drawing.width_mm)
    relation = _stored(word, picture)
    wide, high = (int(side * shrunk * EMU_PER_MM) for side in (picture.drawing.width_mm, picture.drawing.height_mm))
    return parse(paragraph("Normal", _inline(picture, number, relation, (wide, high)), _ROOM, _KEEP))


_ROOM: Final = '<w:spacing w:before="160" w:after="60" w:line="240" w:lineRule="auto"/>'


def picture_caption(picture: Picture, number: int) -> Element:
    """Return the caption below a picture; what follows may stand on the next page."""
    label = run("Figure ", _STRONG) + word_field("SEQ Figure \\* ARABIC", str(number), _STRONG)
    words = run(f". {picture.title}", _STRONG) + (run(f". {picture.caption}") if picture.caption else "")
    return parse(paragraph("FigureCaption", label + words))


def _stored(word: WordDocument, picture: Picture) -> str:
    """Put the drawing into the package, and return the relation that leads to it."""
    from docx.opc.constants import RELATIONSHIP_TYPE
    from docx.opc.part import Part

    # A base document may bring pictures of its own.
    package = word.part.package
    part = Part(package.next_partname("/word/media/picture%d.emf"), "image/x-emf", emf(picture.drawing), package)
    return str(word.part.relate_to(part, RELATIONSHIP_TYPE.IMAGE))


def _inline(picture: Picture, number: int, relation: str, size: tuple[int, int]) -> str:
    title, told = xml_text(picture.title), xml_text(picture.alternative)
    extent = f'cx="{size[0]}" cy="{size[1]}"'
    return (
        f'<w:r><w:drawing><wp:inline xmlns:wp="{_SHAPES}/wordprocessingDrawing"'
        ' distT="0" distB="0" distL="0" distR="0">'
        f'<wp:extent {extent}/><wp:docPr id="{number}" name="Picture {number}" descr="{told}" title="{title}"/>'
        f'<wp:cNvGraphicFramePr><a:graphicFrameLocks xmlns:a="{_SHAPES}/main" noChangeAspect="1"/>'
        f'</wp:cNvGraphicFramePr><a:graphic xmlns:a="{_SHAPES}/main"><a:graphicData uri="{_SHAPES}/picture">'
        f'<pic:pic xmlns:pic="{_SHAPES}/picture"><pic:nvPicPr><pic:cNvPr id="{number}" name="picture{number}.emf"'
        f' descr="{told}"/><pic:cNvPicPr/></pic:nvPicPr><pic:blipFill><a:blip r:embed="{relation}"/>'
        f'<a:stretch><a:fillRect/></a:stretch></pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/>'
        f'<a:ext {extent}/></a:xfrm><a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic>'
        "</a:graphicData></a:graphic></wp:inline></w:drawing></w:r>"
    )
