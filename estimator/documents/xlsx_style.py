"""Looks of worksheet cells, and the numbers under which a workbook knows them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, Literal

from estimator.documents.look import (
    ACCENT,
    BAND,
    FACE,
    HAIR,
    INK,
    MUTED,
    RULE,
    SHEET_HEADING_PT,
    SHEET_PT,
    SHEET_SMALL_PT,
    SHEET_TITLE_PT,
    TONES,
)

if TYPE_CHECKING:
    from openpyxl.styles import Border
    from openpyxl.worksheet.worksheet import Worksheet


@dataclass(frozen=True, kw_only=True, slots=True)
class Style:
    """How one cell looks. ``quoted`` keeps a text a text when somebody edits it."""

    size: int = SHEET_PT
    bold: bool = False
    italic: bool = False
    link: bool = False
    ink: str = INK
    fill: str = ""
    line: Literal["", "row", "head", "total", "sign"] = ""
    align: Literal["left", "right", "center"] = "left"
    vertical: Literal["top", "center", "bottom"] = "top"
    wrap: bool = False
    indent: int = 0
    number_format: str = "General"
    quoted: bool = False


TITLE: Final = Style(size=SHEET_TITLE_PT, bold=True, ink=ACCENT, vertical="center")
LINE: Final = Style(ink=MUTED)
HEADING: Final = Style(size=SHEET_HEADING_PT, bold=True, ink=ACCENT, vertical="bottom")
BODY: Final = Style(wrap=True)
LEAD: Final = Style(wrap=True, bold=True)
CAPTION: Final = Style(size=SHEET_SMALL_PT, ink=MUTED, wrap=True)
LABEL: Final = Style(ink=MUTED, line="row", wrap=True)
VALUE: Final = Style(line="row", wrap=True)
HEAD: Final = Style(bold=True, ink=ACCENT, fill=BAND, line="head", wrap=True, vertical="bottom")
DATA: Final = Style(line="row")
TOTAL: Final = Style(bold=True, line="total")
SIGN_HEAD: Final = Style(size=SHEET_SMALL_PT, ink=MUTED)
SIGN: Final = Style(line="sign", vertical="bottom")
LINK: Final = Style(ink=ACCENT, link=True)


def toned(style: Style, tone: str) -> Style:
    """Return the style in the colors of a tone; the worst is bold, for printers without color."""
    colors = TONES[tone]
    return replace(style, ink=colors.ink, fill=colors.fill, bold=style.bold or tone == "bad")


class Styles:
    """The looks that a workbook has registered, each under its number."""

    def __init__(self, sheet: Worksheet) -> None:
        self._sheet = sheet
        self._numbers: dict[Style, int] = {}

    def number(self, style: Style) -> int:
        """Return the number of a look, registered if new."""
        known = self._numbers.get(style)
        if known is None:
            known = self._numbers[style] = self._register(style)
        return known

    def _register(self, style: Style) -> int:
        from openpyxl.cell import WriteOnlyCell
        from openpyxl.styles import Alignment, Font, PatternFill

        cell = WriteOnlyCell(self._sheet)
        underline: Literal["single"] | None = "single" if style.link else None
        cell.font = Font(
            name=FACE,
            size=style.size,
            bold=style.bold,
            italic=style.italic,
            color=style.ink,
            underline=underline,
        )
        if style.fill:
            cell.fill = PatternFill("solid", fgColor=style.fill)
        cell.border = _border(style.line)
        cell.alignment = Alignment(
            horizontal=style.align, vertical=style.vertical, wrap_text=style.wrap or None, indent=style.indent
        )
        cell.number_format = style.number_format
        cell.quotePrefix = style.quoted
        return int(cell.style_id)


def _border(line: str) -> Border:
    from openpyxl.styles import Border, Side

    if line == "row":
        return Border(bottom=Side("thin", color=HAIR))
    if line == "head":
        return Border(top=Side("thin", color=RULE), bottom=Side("thin", color=ACCENT))
    if line == "total":
        return Border(top=Side("thin", color=ACCENT), bottom=Side("thin", color=ACCENT))
    if line == "sign":
        return Border(bottom=Side("thin", color=MUTED))
    return Border()
