"""Printable sheets of labels: a Word page whose table is the grid of the paper, to a twentieth of a point.

Edges are rounded where they lie on the paper, not label by label, so that nothing drifts over a sheet.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Final

from estimator.documents import common, docx_styles
from estimator.documents.docx_parts import parse, run
from estimator.documents.docx_tables import HeldRows
from estimator.documents.docx_writer import drop_strays
from estimator.documents.label_fit import Placed, fitted_alike
from estimator.documents.labels import Label
from estimator.documents.package import Properties, finish, xml_text
from estimator.spec.faults import Fault
from estimator.spec.labels import Grid, LabelSheet, grid_of
from estimator.spec.model import Project
from estimator.units.rounding import round_half_up, under
from estimator.units.table import INCH_M

if TYPE_CHECKING:
    from docx.document import Document as WordDocument

_POINT_M: Final = INCH_M / 72
_TWIP_M: Final = _POINT_M / 20
_EMU_M: Final = INCH_M / 914400
_AIR_M: Final = 0.0012  # between the edge of a label and its text
_AIR_SHARE: Final = 0.07  # of a side, on labels so small that this is less
_QR_SHARE: Final = 0.45  # of a label's width that a code may take
_MODULE_M: Final = 0.00025  # three dots of an office printer: a smaller square isn't read reliably; common practice
_LINE: Final = 20  # the line above a sheet's table, which the format asks for [twips]
_BODY: Final = "word/document.xml"

Cell = tuple[Label, list[Placed]] | None
"""A label with its lines, or a place that is used already."""


class LabelError(Exception):
    """Labels that can't be printed on their sheet, as faults at their place."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        """Hold the faults."""
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = tuple(faults)


def write_labels(project: Project, sheet: LabelSheet, labels: Sequence[Label], shown_date: date | None = None) -> bytes:
    """Return the sheets as a Word package; the same labels always give the same bytes.

    Raises: LabelError where an identifier or a code doesn't fit its label.
    """
    import docx

    word = docx.Document()
    docx_styles.install(word)
    drop_strays(word)
    press = _Press(project, sheet, word)
    press.print(labels)
    out = io.BytesIO()
    word.save(out)
    properties = Properties(
        title=f"Labels, {sheet.name or sheet.id}",
        subject=project.header.name,
        author=project.header.company or project.header.prepared_by or "Dropledger",
        shown_date=common.date_of(project, shown_date),
    )
    return finish(out.getvalue(), properties=properties, mended={_BODY: press.held.put})


@dataclass(slots=True)
class _Press:
    """Sets labels one after another, sheet by sheet."""

    project: Project
    sheet: LabelSheet
    word: WordDocument
    held: HeldRows = field(default_factory=HeldRows)
    grid: Grid = field(init=False)
    codes: dict[str, str] = field(default_factory=dict)
    pictures: int = 0

    def __post_init__(self) -> None:
        self.grid = grid_of(self.sheet, self.project.header.paper)

    @property
    def _air(self) -> tuple[float, float]:
        """Room around a label's text, at its sides and above and below it [m]."""
        grid = self.grid
        return min(_AIR_M, grid.print_width_m * _AIR_SHARE), min(_AIR_M, grid.print_height_m * _AIR_SHARE)

    @property
    def _code_m(self) -> float:
        """Side of the square that holds a label's code [m], zero without one."""
        height_m = self.grid.print_height_m - 2 * self._air[1]
        return min(height_m, self.grid.print_width_m * _QR_SHARE) if self.sheet.qr else 0.0

    @property
    def _room_pt(self) -> tuple[float, float]:
        """Width and height that a label's text has [pt]."""
        side_m, above_m = self._air
        width_m = self.grid.print_width_m - 2 * side_m - self._code_m
        return width_m / _POINT_M, (self.grid.print_height_m - 2 * above_m) / _POINT_M

    def print(self, labels: Sequence[Label]) -> None:
        """Put all labels into the body. Raises: LabelError with each that doesn't fit."""
        texts = [[label.line(key) for key in self.sheet.lines] for label in labels]
        set_lines = fitted_alike(texts, self._room_pt)
        faults = [self._too_small(label) for label, lines in zip(labels, set_lines, strict=True) if lines is None]
        faults += self._codes(labels)
        if faults:
            raise LabelError(faults)
        body = self.word.element.body
        end = body[-1]
        cells: list[Cell] = [None] * (self.sheet.start - 1)
        cells += [(label, lines) for label, lines in zip(labels, set_lines, strict=True) if lines is not None]
        for number, page in enumerate(_pages(cells, self.sheet.rows * self.sheet.columns)):
            ahead = "<w:pageBreakBefore/>" if number else ""
            end.addprevious(parse(_line(ahead)))
            built = parse(self._frame())
            built.append(self.held.mark("".join(self._rows(page))))
            end.addprevious(built)
        end.addprevious(parse(_line("")))
        body.remove(end)
        body.append(parse(self._section()))

    def _too_small(self, label: Label) -> Fault:
        return Fault(
            self.sheet.source.at("columns"),
            f"a label of sheet {self.sheet.id!r} is too small for {label.identifier!r}",
            "room for the identifier in letters of 4 pt",
            "take larger labels, or leave lines or `qr` out",
        )

    def _codes(self, labels: Sequence[Label]) -> Iterator[Fault]:
        """Make the picture of each code once; yield the first that is too fine to be read."""
        if not self.sheet.qr:
            return
        import segno

        for text in dict.fromkeys(label.identifier for label in labels):
            code = segno.make(text, error="m", micro=False)
            module_m = self._code_m / code.symbol_size()[0]
            if under(module_m, _MODULE_M):
                yield Fault(
                    self.sheet.source.at("qr"),
                    f"the QR code of {text!r} on sheet {self.sheet.id!r} has squares of {module_m * 1000:.2f} mm",
                    f"at least {_MODULE_M * 1000:g} mm",
                    "take larger labels, or leave `qr` out",
                )
                return
            picture = io.BytesIO()
            code.save(picture, kind="png", scale=4)
            self.codes[text] = self._stored(picture.getvalue())

    def _stored(self, picture: bytes) -> str:
        """Put a picture into the package, and return the relation that leads to it.

        The library looks through all pictures and relations for each new one, which ten thousand codes don't bear.
        """
        from docx.opc.constants import RELATIONSHIP_TYPE
        from docx.opc.packuri import PackURI
        from docx.opc.part import Part

        number = len(self.codes) + 1
        part = Part(PackURI(f"/word/media/code{number}.png"), "image/png", picture, self.word.part.package)
        self.word.part.rels.add_relationship(RELATIONSHIP_TYPE.IMAGE, part, f"rIdCode{number}")
        return f"rIdCode{number}"

    def _columns(self) -> Iterator[tuple[str, int]]:
        """Yield what each column of the table holds, and its width [twips]."""
        sheet, grid = self.sheet, self.grid
        edges: list[tuple[str, float]] = []
        for column in range(sheet.columns):
            left_m = sheet.margin_left_m + column * (grid.label_width_m + sheet.gap_across_m)
            parts = [("code", self._code_m + self._air[0])] if sheet.qr else []
            parts.append(("text", grid.print_width_m))
            parts.append(("clear", grid.label_width_m))
            parts.append(("gap", grid.label_width_m + (sheet.gap_across_m if column + 1 < sheet.columns else 0.0)))
            edges += [(what, left_m + right_m) for what, right_m in parts]
        before = _twips(sheet.margin_left_m)
        for what, right_m in edges:
            if (right := _twips(right_m)) > before:
                yield what, right - before
                before = right

    def _heights(self, rows: int) -> Iterator[tuple[str, int, int]]:
        """Yield what each row of the table holds, its height [twips] and the row of labels that it belongs to."""
        sheet, grid = self.sheet, self.grid
        before = _twips(sheet.margin_top_m)
        for row in range(rows):
            top_m = sheet.margin_top_m + row * (grid.label_height_m + sheet.gap_down_m)
            ends = [("label", grid.print_height_m), ("clear", grid.label_height_m)]
            ends.append(("gap", grid.label_height_m + (sheet.gap_down_m if row + 1 < rows else 0.0)))
            for what, bottom_m in ends:
                if (bottom := _twips(top_m + bottom_m)) > before:
                    yield what, bottom - before, row
                    before = bottom

    def _frame(self) -> str:
        widths = [width for _, width in self._columns()]
        grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
        none = "".join(f'<w:{side} w:w="0" w:type="dxa"/>' for side in ("top", "left", "bottom", "right"))
        return (
            f'<w:tbl><w:tblPr><w:tblW w:w="{sum(widths)}" w:type="dxa"/><w:tblInd w:w="0" w:type="dxa"/>'
            f'<w:tblLayout w:type="fixed"/><w:tblCellMar>{none}</w:tblCellMar></w:tblPr>'
            f"<w:tblGrid>{grid}</w:tblGrid></w:tbl>"
        )

    def _rows(self, page: Sequence[Cell]) -> Iterator[str]:
        columns = list(self._columns())
        count = self.sheet.columns
        for what, height, row in self._heights(-(-len(page) // count)):
            own = page[row * count : (row + 1) * count] if what == "label" else ()
            made = "".join(self._cells(columns, own))
            yield (f'<w:tr><w:trPr><w:cantSplit/><w:trHeight w:val="{height}" w:hRule="exact"/></w:trPr>{made}</w:tr>')

    def _cells(self, columns: Sequence[tuple[str, int]], own: Sequence[Cell]) -> Iterator[str]:
        place = 0
        for what, width in columns:
            held = own[place] if place < len(own) else None
            inner = _line("")
            if held is not None and what == "code":
                inner = self._code(held[0].identifier)
            elif held is not None and what == "text":
                inner = "".join(map(self._text, held[1]))
            if what == "text":
                place += 1
            yield (
                f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/><w:vAlign w:val="center"/></w:tcPr>{inner}</w:tc>'
            )

    def _text(self, line: Placed) -> str:
        side = _twips(self._air[0])
        size = int(line.size_pt * 2)
        look = ("<w:b/>" if line.bold else "") + f'<w:sz w:val="{size}"/>'
        return (
            '<w:p><w:pPr><w:pStyle w:val="Normal"/><w:widowControl w:val="0"/>'
            f'<w:spacing w:before="0" w:after="0" w:line="{int(line.height_pt * 20)}" w:lineRule="exact"/>'
            f'<w:ind w:left="{side}" w:right="{side // 2}"/></w:pPr>'
            f"{run(line.text, look)}</w:p>"
        )

    def _code(self, identifier: str) -> str:
        self.pictures += 1
        side = int(self._code_m / _EMU_M)
        told = xml_text(f"QR code of {identifier}")
        named = f'id="{self.pictures}" name="Code {self.pictures}" descr="{told}"'
        return (
            '<w:p><w:pPr><w:pStyle w:val="Normal"/><w:spacing w:before="0" w:after="0" w:line="240" w:lineRule="auto"/>'
            f'<w:ind w:left="{_twips(self._air[0])}"/></w:pPr><w:r><w:drawing>'
            f'<wp:inline {_SPACES} distT="0" distB="0" distL="0" distR="0"><wp:extent cx="{side}" cy="{side}"/>'
            f"<wp:docPr {named}/><a:graphic>"
            '<a:graphicData uri="http://schemas.openxmlformats.org/drawingml/2006/picture"><pic:pic>'
            f'<pic:nvPicPr><pic:cNvPr id="{self.pictures}" name="Code" descr="{told}"/><pic:cNvPicPr/></pic:nvPicPr>'
            f'<pic:blipFill><a:blip r:embed="{self.codes[identifier]}"/><a:stretch><a:fillRect/></a:stretch>'
            f'</pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext cx="{side}" cy="{side}"/></a:xfrm>'
            '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom></pic:spPr></pic:pic></a:graphicData></a:graphic>'
            "</wp:inline></w:drawing></w:r></w:p>"
        )

    def _section(self) -> str:
        """Return the page: its margins are those of the grid, less the line above the table."""
        width, height = (_twips(side_m) for side_m in self.grid.paper)
        top, left = _twips(self.sheet.margin_top_m) - _LINE, _twips(self.sheet.margin_left_m)
        return (
            f'<w:sectPr><w:pgSz w:w="{width}" w:h="{height}"/>'
            f'<w:pgMar w:top="{max(top, 0)}" w:right="0" w:bottom="0" w:left="{left}" w:header="0" w:footer="0" '
            'w:gutter="0"/></w:sectPr>'
        )


_SPACES: Final = (
    'xmlns:wp="http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing" '
    'xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" '
    'xmlns:pic="http://schemas.openxmlformats.org/drawingml/2006/picture"'
)


def _twips(length_m: float) -> int:
    return int(round_half_up(length_m / _TWIP_M))


def _line(ahead: str) -> str:
    """Return an empty line as low as the format lets it be."""
    spacing = f'<w:spacing w:before="0" w:after="0" w:line="{_LINE}" w:lineRule="exact"/>'
    return f'<w:p><w:pPr><w:pStyle w:val="SectionEnd"/>{ahead}{spacing}</w:pPr></w:p>'


def _pages(cells: Sequence[Cell], size: int) -> Iterator[Sequence[Cell]]:
    for start in range(0, len(cells), size):
        yield cells[start : start + size]
