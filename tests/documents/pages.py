"""Has another program print the documents, and reads off the pages what a person would see.

LibreOffice makes the pages, poppler's pdftotext tells where each word stands on them.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from xml.etree import ElementTree

import docx
import openpyxl
from docx.oxml.ns import qn
from docx.section import Section
from openpyxl.cell import Cell
from openpyxl.utils import column_index_from_string, get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from estimator.documents.xlsx_widths import text_width
from tests.documents.recalculate import program

LEFT_OUT: Final = "nobody looks at the printed pages of the documents"
XHTML: Final = "{http://www.w3.org/1999/xhtml}"
RUNNING_PT: Final = 50.0  # height of the strips at head and foot that hold the running lines
PAPER_EDGE_PT: Final = 18.0  # a quarter inch: no office printer prints closer to the edge
TOUCH_PT: Final = 1.5  # boxes of words hold a little air; less overlap than this is none
TOUCH_SHARE: Final = 0.35  # of the lower word's height
LEAST_LINES: Final = 3
TWENTIETH: Final = 0.05  # of a point: the unit of Word's widths
BODY_PT: Final = 10.0  # size of a workbook's letters, in which widths of columns are counted


@dataclass(frozen=True)
class Word:
    """A word and the box it stands in, from the page's upper left corner [pt]."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Page:
    """A printed page: its number, its size [pt], and its words between the running lines."""

    number: int
    width: float
    height: float
    words: tuple[Word, ...]

    @property
    def lines(self) -> list[str]:
        """Return the lines from top to bottom, each with all that stands beside one another."""
        rows: list[list[Word]] = []
        for word in sorted(self.words, key=lambda word: (word.top + word.bottom) / 2):
            middle = (word.top + word.bottom) / 2
            if rows and middle < rows[-1][0].bottom and middle > rows[-1][0].top:
                rows[-1].append(word)
            else:
                rows.append([word])
        return [" ".join(word.text for word in sorted(row, key=lambda word: word.left)) for row in rows]


def printed(documents: Sequence[Path], folder: Path) -> dict[str, list[Page]]:
    """Return the pages of each document, as LibreOffice prints it."""
    office, reader = program("soffice", LEFT_OUT), program("pdftotext", LEFT_OUT)
    with tempfile.TemporaryDirectory(prefix="profile-") as profile:
        subprocess.run(
            [
                *(office, f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--norestore"),
                *("--convert-to", "pdf", "--outdir", str(folder), *map(str, documents)),
            ],
            check=True,
            capture_output=True,
            timeout=240,
        )
    return {one.name: list(_pages(reader, folder / f"{one.stem}.pdf")) for one in documents}


def _pages(reader: str, pdf: Path) -> Iterator[Page]:
    done = subprocess.run([reader, "-bbox-layout", str(pdf), "-"], check=True, capture_output=True, timeout=60)
    # What a font can't show comes out as a control character, which XML doesn't hold.
    text = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f]", "", done.stdout.decode("utf-8"))
    for number, page in enumerate(ElementTree.fromstring(text).iter(f"{XHTML}page"), start=1):
        width, height = float(page.get("width", 0)), float(page.get("height", 0))
        words = (_word(one) for one in page.iter(f"{XHTML}word"))
        body = tuple(one for one in words if RUNNING_PT < (one.top + one.bottom) / 2 < height - RUNNING_PT)
        yield Page(number, width, height, body)


def _word(one: ElementTree.Element) -> Word:
    sides = [float(one.get(side, 0)) for side in ("xMin", "yMin", "xMax", "yMax")]
    return Word(one.text or "", *sides)


# --- what is wrong with pages ------------------------------------------------------------------


def too_wide(pages: Iterable[Page]) -> list[str]:
    """Return where a spreadsheet shows number signs, because a number doesn't fit its column."""
    return [
        f"page {page.number}: {word.text}" for page in pages for word in page.words if re.search("#{3,}", word.text)
    ]


def nearly_empty(pages: Sequence[Page], *, cover: bool) -> list[str]:
    """Return the pages with under three lines; a cover may be as empty as it likes."""
    kept = pages[1:] if cover else pages
    return [f"page {page.number}: {page.lines}" for page in kept if len(page.lines) < LEAST_LINES]


def orphans(pages: Iterable[Page], headings: Iterable[str], captions: Iterable[str] = ()) -> list[str]:
    """Return the pages that end with a heading, whose text then stands on the next; lists of contents are left out.

    ``captions`` stand under headings and don't make them stand less alone.
    """
    known = {_plain(heading) for heading in headings}
    small = [_plain(caption) for caption in captions]
    found = []
    for page in pages:
        lines = page.lines
        while lines and any(_plain(lines[-1]) in caption for caption in small):
            lines.pop()
        last = _plain(lines[-1]) if lines else ""
        # A heading of two lines ends with what stands on its second.
        if last and lines[0] != "Contents" and (last in known or any(one.endswith(f" {last}") for one in known)):
            found.append(f"page {page.number}: {lines[-1]}")
    return found


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()


def overlaps(pages: Iterable[Page]) -> list[str]:
    """Return the words that stand over others: text runs out of its cell, or its row is too low."""
    found = []
    for page in pages:
        words = sorted(page.words, key=lambda word: word.top)
        for place, one in enumerate(words):
            for other in words[place + 1 :]:
                if other.top >= one.bottom:
                    break
                if _overlap(one, other):
                    found.append(f"page {page.number}: {one.text!r} and {other.text!r}")
    return found


def _overlap(one: Word, other: Word) -> bool:
    wide = min(one.right, other.right) - max(one.left, other.left)
    high = min(one.bottom, other.bottom) - max(one.top, other.top)
    lower = min(one.bottom - one.top, other.bottom - other.top)
    return wide > TOUCH_PT and high > TOUCH_SHARE * lower


def off_paper(pages: Iterable[Page]) -> list[str]:
    """Return the words that run into the strip in which no office printer prints."""
    return [
        f"page {page.number}: {word.text}"
        for page in pages
        for word in page.words
        if word.left < PAPER_EDGE_PT or word.right > page.width - PAPER_EDGE_PT
    ]


# --- what the files themselves say -------------------------------------------------------------


def headings_of(document: Path) -> list[str]:
    """Return the headings, and the titles of tables, of a Word document or a workbook.

    The caption of a figure stands below it, so it may be the last on its page.
    """
    if document.suffix == ".docx":
        styled = (
            (one.style.name if one.style is not None else "", one.text)
            for one in docx.Document(str(document)).paragraphs
        )
        known = re.compile("Heading|Caption|Facts Heading|Lead-in")
        return [text for style, text in styled if style and known.match(style) and not text.startswith("Figure ")]
    book = openpyxl.load_workbook(document)
    return [
        str(cell.value) for tab in book.worksheets for cell in _texts(tab) if cell.font.b and cell.font.sz > BODY_PT
    ]


def _texts(tab: Worksheet) -> Iterator[Cell]:
    for row in tab.iter_rows():
        yield from (cell for cell in row if isinstance(cell, Cell) and isinstance(cell.value, str))


def captions_of(workbook: Path) -> list[str]:
    """Return the small texts of a workbook, which stand under its headings."""
    book = openpyxl.load_workbook(workbook)
    return [str(cell.value) for tab in book.worksheets for cell in _texts(tab) if cell.font.sz < BODY_PT]


def wide_tables(document: Path) -> list[str]:
    """Return the tables of a Word document that are wider than the text of their section."""
    opened = docx.Document(str(document))
    sections, section, found = iter(opened.sections), 0, []
    rooms = [_text_width(one) for one in sections]
    for number, part in enumerate(opened.element.body, 1):
        if part.tag == qn("w:tbl"):
            columns = [int(column.get(qn("w:w"), 0)) for column in part.iter(qn("w:gridCol"))]
            if sum(columns) * TWENTIETH > rooms[min(section, len(rooms) - 1)] + TOUCH_PT:
                found.append(f"table at {number}: {sum(columns) * TWENTIETH:.0f} pt")
        if part.tag == qn("w:p") and part.find(f"{qn('w:pPr')}/{qn('w:sectPr')}") is not None:
            section += 1
    return found


def _text_width(section: Section) -> float:
    sides = (section.page_width, section.left_margin, section.right_margin)
    width, left, right = (float(side.pt) if side is not None else 0.0 for side in sides)
    return width - left - right


def wide_sheets(workbook: Path) -> list[str]:
    """Return the sheets that aren't fitted to the width of so many pages, or repeat no column on the next."""
    book = openpyxl.load_workbook(workbook)
    found = []
    for tab in book.worksheets:
        fitted = bool(tab.sheet_properties.pageSetUpPr and tab.sheet_properties.pageSetUpPr.fitToPage)
        pages = int(tab.page_setup.fitToWidth or 0)
        if tab.sheet_state == "visible" and (not fitted or pages < 1 or (pages > 1 and not tab.print_title_cols)):
            found.append(tab.title)
    return found


def cut_cells(workbook: Path) -> list[str]:
    """Return the cells whose text runs on into a filled cell, out of the printed area, or out of the columns
    that every page repeats.
    """
    book = openpyxl.load_workbook(workbook)
    return [found for tab in book.worksheets if tab.sheet_state == "visible" for found in _cut(tab)]


def _cut(tab: Worksheet) -> Iterator[str]:
    last = _last_column(tab.print_area.rsplit("!", 1)[-1])
    repeated = _last_column(tab.print_title_cols) if tab.print_title_cols else 0
    merged = {area.min_row: area.max_col for area in tab.merged_cells.ranges if area.min_col <= repeated + 1}
    for cell in _texts(tab):
        ends = _end(tab, cell)
        if cell.alignment.wrap_text or ends <= cell.column:
            wide = merged.get(cell.row, cell.column)
            if repeated and cell.column <= repeated < wide:
                yield f"{tab.title}!{cell.coordinate}: merged beyond the repeated columns"
            continue
        beside = [tab.cell(cell.row, number).value for number in range(cell.column + 1, ends + 1)]
        if any(value is not None for value in beside) or ends > last or cell.column <= repeated < ends:
            yield f"{tab.title}!{cell.coordinate}: {cell.value}"


def _last_column(area: str) -> int:
    return column_index_from_string(re.sub(r"[^A-Z]", "", area.rsplit(":", 1)[-1]))


def _end(tab: Worksheet, cell: Cell) -> int:
    """Return the last column that a cell's text needs, as it runs out to the right."""
    if not isinstance(cell.value, str) or cell.value.startswith("=") or cell.alignment.horizontal == "right":
        return cell.column
    left = text_width(cell.value) * float(cell.font.sz) / BODY_PT
    column = cell.column
    while left > tab.column_dimensions[get_column_letter(column)].width and column < tab.max_column + 1:
        left -= tab.column_dimensions[get_column_letter(column)].width
        column += 1
    return column
