"""Writes a document as a workbook.

openpyxl makes the package with empty sheets: looks, widths, tables, panes, print set-up. The rows
of all sheets are then spliced in as text, because that is several times as fast as cell by cell,
and because a formula's stored value can be written beside it.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from estimator.documents.description import Document
from estimator.documents.look import FACE, SHEET_PT
from estimator.documents.package import Properties, pack, xml_text
from estimator.documents.xlsx_cells import Texts, letters, quoted_sheet, text_cell
from estimator.documents.xlsx_formula import Addresses
from estimator.documents.xlsx_layout import planned
from estimator.documents.xlsx_pictures import add_pictures
from estimator.documents.xlsx_plan import SheetPlan
from estimator.documents.xlsx_setup import LISTS, WordLists, set_up
from estimator.documents.xlsx_sheet import SheetRows
from estimator.documents.xlsx_style import Styles

if TYPE_CHECKING:
    from openpyxl import Workbook

_TEXTS_PART: Final = "xl/sharedStrings.xml"
_TYPES_PART: Final = "[Content_Types].xml"
_BOOK_LINKS_PART: Final = "xl/_rels/workbook.xml.rels"
_TEXTS_TYPE: Final = (
    b'<Override PartName="/xl/sharedStrings.xml" '
    b'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
)
_TEXTS_LINK: Final = (
    b'<Relationship Id="rIdTexts" Target="sharedStrings.xml" '
    b'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"/></Relationships>'
)
_STYLES_PART: Final = "xl/styles.xml"
_DIMENSION: Final = re.compile(rb'<dimension ref="[^"]*"\s*/>')
_NO_ROWS: Final = re.compile(rb"<sheetData\s*/>|<sheetData>\s*</sheetData>")
_MARGINS: Final = re.compile(rb"<pageMargins")
_FIRST_FONT: Final = re.compile(rb"<font>.*?</font>", re.DOTALL)
_FONT: Final = re.compile(rb"<font>(.*?)</font>", re.DOTALL)
_FONT_PART: Final = re.compile(rb"<\w+[^>]*/>")
_FONT_ORDER: Final = tuple(
    name.encode()
    for name in (
        *("b", "i", "strike", "condense", "extend", "outline", "shadow", "u", "vertAlign"),
        *("sz", "color", "name", "family", "charset", "scheme"),
    )
)


@dataclass(frozen=True, slots=True)
class _Filling:
    """What goes into an empty sheet: its rows, the area they take, links between sheets."""

    rows: str
    area: str
    links: str


def write_xlsx(document: Document) -> bytes:
    """Return the document as a workbook: the same bytes for the same document.

    Raises: ValueError that names sheet and cell for what no spreadsheet can hold, and for a formula
    whose inputs stand nowhere.
    """
    if not document.sections:
        raise ValueError(f"document {document.title!r} has no section, and a workbook needs a sheet")
    plans = planned(document)
    book = _empty_book(plans)
    words = WordLists()
    for sheet, plan in zip(book.worksheets, plans, strict=True):
        set_up(sheet, plan, document, words)
    if words.lists:
        book.create_sheet(LISTS).sheet_state = "hidden"
    texts = Texts()
    rows = SheetRows(texts, Styles(book.worksheets[0]), Addresses(plans))
    filled = [
        _Filling(rows.rows(plan), f"A1:{letters(len(plan.widths))}{plan.last_row}", _links(plan)) for plan in plans
    ]
    if words.lists:
        filled.append(_Filling(_word_rows(words, texts), "A1", ""))
    parts = _spliced(_saved(book), filled)
    add_pictures(parts, plans)
    _add_texts(parts, texts)
    properties = Properties(
        title=document.title, subject=document.subject, author=document.author, shown_date=document.shown_date
    )
    return pack(parts, properties=properties)


def _empty_book(plans: Sequence[SheetPlan]) -> Workbook:
    """Return a workbook with the empty sheets and the names of named cells."""
    from openpyxl import Workbook
    from openpyxl.workbook.defined_name import DefinedName

    book = Workbook()
    book.remove(book.worksheets[0])
    for plan in plans:
        book.create_sheet(plan.name)
        for place in plan.facts:
            if place.name:
                cell = f"{quoted_sheet(place.sheet)}${letters(place.column)}${place.row}"
                book.defined_names[place.name] = DefinedName(place.name, attr_text=cell)
    return book


def _saved(book: Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _links(plan: SheetPlan) -> str:
    """Return the sheet's links to others; openpyxl would want a cell of its own for each."""
    links = "".join(
        f'<hyperlink ref="{letters(line.column)}{line.row}" location="{xml_text(quoted_sheet(line.link) + "A1")}"/>'
        for line in plan.lines
        if line.link
    )
    return f"<hyperlinks>{links}</hyperlinks>" if links else ""


def _word_rows(words: WordLists, texts: Texts) -> str:
    """Return the rows of the hidden sheet: a column for each list of legal words."""
    rows = []
    for row in range(1, max(len(one) for one in words.lists) + 1):
        cells = [
            text_cell(f"{letters(number)}{row}", 0, texts.number(one[row - 1]))
            for one, number in words.lists.items()
            if row <= len(one)
        ]
        rows.append(f'<row r="{row}">{"".join(cells)}</row>')
    return "".join(rows)


def _spliced(archive: bytes, filled: Sequence[_Filling]) -> dict[str, bytes]:
    """Return the parts of the package with the rows in their sheets and our face as the default."""
    with zipfile.ZipFile(io.BytesIO(archive)) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    for number, filling in enumerate(filled, start=1):
        name = f"xl/worksheets/sheet{number}.xml"
        part = _once(_DIMENSION, f'<dimension ref="{filling.area}"/>'.encode(), parts[name], name)
        part = _once(_MARGINS, f"{filling.links}<pageMargins".encode(), part, name)
        parts[name] = _once(_NO_ROWS, f"<sheetData>{filling.rows}</sheetData>".encode(), part, name)
    # Blank cells, and the width of a column, follow the first font of the list.
    face = f'<font><sz val="{SHEET_PT}"/><name val="{FACE}"/><family val="2"/></font>'.encode()
    styles = _once(_FIRST_FONT, face, parts[_STYLES_PART], _STYLES_PART)
    parts[_STYLES_PART] = _FONT.sub(lambda font: b"<font>" + _in_order(font[1]) + b"</font>", styles)
    return parts


def _in_order(font: bytes) -> bytes:
    """Return a font's parts in the order of the schema; openpyxl has one of its own."""
    return b"".join(sorted(_FONT_PART.findall(font), key=lambda part: _FONT_ORDER.index(re.split(rb"\W", part)[1])))


def _add_texts(parts: dict[str, bytes], texts: Texts) -> None:
    """Add the list of texts to the package; openpyxl has none, it writes texts into their cells."""
    if _TEXTS_PART not in parts:
        parts[_TYPES_PART] = _once(re.compile(b"</Types>"), _TEXTS_TYPE, parts[_TYPES_PART], _TYPES_PART)
        links = re.compile(b"</Relationships>")
        parts[_BOOK_LINKS_PART] = _once(links, _TEXTS_LINK, parts[_BOOK_LINKS_PART], _BOOK_LINKS_PART)
    parts[_TEXTS_PART] = texts.part()


def _once(pattern: re.Pattern[bytes], new: bytes, part: bytes, name: str) -> bytes:
    changed, count = pattern.subn(lambda _: new, part, count=1)
    if count != 1:
        raise RuntimeError(f"{name}: openpyxl wrote no {pattern.pattern!r} to replace")
    return changed
