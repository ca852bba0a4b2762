"""A foreign workbook as lines of text: guards first, then a stream of its cells.

The parts are read by a streaming parser that refuses document types and entities. Formula and
stored value are seen together, rows come in whatever order and number they really have (the size
that a sheet states is never asked), and a number keeps every digit that was stored.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

from estimator.field.intake_archive import RESAVE, links, open_archive, parse_part, target
from estimator.field.intake_grid import MOST_BYTES, MOST_ROWS, Line, Span, Tab, UnreadableError, clean, clean_name
from estimator.field.intake_numbers import Shape, built_in_shape, number_text, shape_of

_MOST_SPANS: Final = 100_000
_LAST_ROW: Final = 1_048_576
_LAST_COLUMN: Final = 16_384
_ADDRESS: Final = re.compile(r"([A-Z]{1,3})([0-9]{1,7})")
_TITLE: Final = re.compile(rb"<dc:title>([^<]{1,200})</dc:title>")
OUR_BOOKS: Final = ("Estimate", "Closeout")
"""Titles of our own workbooks that hold planned or judged figures."""

_MACROS: Final = ("the workbook carries macros: none was run, and it is kept as received",)
_ESCAPED: Final = re.compile("_x([0-9A-Fa-f]{4})_")


def _refuse_ours(archive: zipfile.ZipFile) -> None:
    """Refuse a workbook that this program wrote for another purpose: plans are no readings."""
    part = target(archive, "", "core-properties")
    found = _TITLE.search(archive.read(part)) if part is not None and part in archive.namelist() else None
    title = found.group(1).decode("utf-8", "replace") if found else ""
    if title in OUR_BOOKS:
        what = f"the workbook is the job's {title.lower()}, not a field sheet"
        raise UnreadableError(what, "a filled field sheet", "send the sheet that was filled in")


def read_workbook(data: bytes) -> Iterator[Tab]:
    """Yield the worksheets of a workbook.

    Raises: UnreadableError where a part is missing, damaged or hostile.
    """
    archive = open_archive(data)
    start = target(archive, "", "officeDocument")
    if start is None:
        raise UnreadableError("the archive holds no workbook", "an .xlsx field sheet", RESAVE)
    _refuse_ours(archive)
    book = _Book()
    parse_part(archive, start, book)
    strings, styles = _Strings(), _Styles()
    for kind, handler in (("sharedStrings", strings), ("styles", styles)):
        part = target(archive, start, kind)
        if part is not None:
            parse_part(archive, part, handler)
    sheets = links(archive, start)
    if not any(sheets.get(link, ("", ""))[1].endswith("/worksheet") for _, link in book.sheets):
        found = "a Word document" if start.startswith("word/") else "no worksheet"
        raise UnreadableError(f"the archive holds {found}", "an .xlsx field sheet", "send the sheet that was filled in")
    left = _Left()
    notes = _MACROS if any(name.casefold().endswith("vbaproject.bin") for name in archive.namelist()) else ()
    seen: set[str] = set()
    for name, link in book.sheets:
        part, kind = sheets.get(link, ("", ""))
        if not kind.endswith("/worksheet"):
            continue
        tab = clean_name(name)
        if part in seen:
            raise UnreadableError("two sheets of the workbook share one part", "a part for each sheet", RESAVE, tab=tab)
        seen.add(part)
        cells = _Cells(tab, strings.texts, styles.shapes, book.from_1904, left)
        parse_part(archive, part, cells, tab)
        yield Tab(name=tab, lines=tuple(cells.lines), spans=tuple(cells.spans), notes=notes)


@dataclass(slots=True)
class _Left:
    """What a file may still hold. One shared text in a million cells unpacks when it is stored."""

    rows: int = MOST_ROWS
    signs: int = MOST_BYTES

    def take(self, rows: int, signs: int, tab: str, row: int) -> None:
        """Take off rows and characters. Raises: UnreadableError where nothing is left."""
        self.rows -= rows
        self.signs -= signs
        if self.rows < 0:
            raise UnreadableError(
                f"the file holds more than {MOST_ROWS:,} filled rows",
                f"at most {MOST_ROWS:,}",
                "split the sheet",
                tab=tab,
                row=row,
            )
        if self.signs < 0:
            wrong = f"the cells hold more than {MOST_BYTES:,} characters"
            mend = "split the sheet; if it is small, don't trust this file"
            raise UnreadableError(wrong, f"at most {MOST_BYTES:,}", mend, tab=tab, row=row)


class _Book(ContentHandler):
    """Collects the sheets' names and link ids, and the day from which dates count."""

    def __init__(self) -> None:
        super().__init__()
        self.sheets: list[tuple[str, str]] = []
        self.from_1904 = False

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Note what a part's element says."""
        local = name.rpartition(":")[2]
        if local == "sheet":
            link = next((str(attrs[key]) for key in attrs.getNames() if key.endswith(":id")), "")
            self.sheets.append((attrs.get("name", ""), link))
        elif local == "workbookPr":
            self.from_1904 = attrs.get("date1904") in ("1", "true")


class _Styles(ContentHandler):
    """Collects what the number format of each cell style shows."""

    def __init__(self) -> None:
        super().__init__()
        self.shapes: list[Shape] = []
        self.typed: dict[int, Shape] = {}
        self.inside = False

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Note what a part's element says."""
        local = name.rpartition(":")[2]
        if local == "numFmt":
            self.typed[int(attrs.get("numFmtId", "0"))] = shape_of(attrs.get("formatCode", ""))
        elif local == "cellXfs":
            self.inside = True
        elif local == "xf" and self.inside:
            number = int(attrs.get("numFmtId", "0"))
            self.shapes.append(self.typed.get(number) or built_in_shape(number))

    def endElement(self, name: str) -> None:  # noqa: N802
        """Close what an element opened."""
        if name.rpartition(":")[2] == "cellXfs":
            self.inside = False


class _Text(ContentHandler):
    """Gathers the text of elements that are asked for; reading aids over the text are not part of it."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[str] = []
        self.listening = False
        self.aside = False

    def characters(self, content: str) -> None:
        """Gather text where it is asked for."""
        if self.listening:
            self.pieces.append(content)

    def gathered(self) -> str:
        """Return the text so far, escapes such as _x0007_ resolved, and start anew."""
        text = "".join(self.pieces)
        self.pieces.clear()
        return _ESCAPED.sub(lambda match: chr(int(match.group(1), 16)), text) if "_x" in text else text


class _Strings(_Text):
    """Collects the texts that cells share."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Note what a part's element says."""
        local = name.rpartition(":")[2]
        if local == "rPh":
            self.aside = True
        elif local == "t":
            self.listening = not self.aside

    def endElement(self, name: str) -> None:  # noqa: N802
        """Close what an element opened."""
        local = name.rpartition(":")[2]
        if local == "t":
            self.listening = False
        elif local == "rPh":
            self.aside = False
        elif local == "si":
            self.texts.append(self.gathered())


@dataclass(slots=True)
class _Cell:
    """The cell that is being read."""

    column: int = 0
    kind: str = "n"
    style: int = 0
    formula: bool = False
    texts: list[str] = field(default_factory=list)


class _Cells(_Text):
    """Collects the filled lines of a worksheet and its merged blocks."""

    def __init__(self, tab: str, strings: list[str], shapes: list[Shape], from_1904: bool, left: _Left) -> None:
        super().__init__()
        self.tab, self.strings, self.shapes, self.from_1904, self.left = tab, strings, shapes, from_1904, left
        self.lines: list[Line] = []
        self.spans: list[Span] = []
        self.line = Line(0)
        self.cell = _Cell()
        self.next_column = 0
        self.starts: dict[str, Callable[[AttributesImpl], None]] = {
            "row": self._row,
            "c": self._cell,
            "f": self._formula,
            "v": self._value,
            "t": self._piece,
            "rPh": self._reading_aid,
            "mergeCell": self._merged,
        }

    def startElement(self, name: str, attrs: AttributesImpl) -> None:  # noqa: N802
        """Note what a part's element says."""
        start = self.starts.get(name.rpartition(":")[2])
        if start is not None:
            start(attrs)

    def endElement(self, name: str) -> None:  # noqa: N802
        """Close what an element opened."""
        local = name.rpartition(":")[2]
        if local in ("v", "t"):
            self.listening = False
        elif local == "rPh":
            self.aside = False
        elif local == "c":
            self._keep()
        elif local == "row" and (self.line.texts or self.line.formulas):
            self.left.take(1, 0, self.tab, self.line.row)
            self.lines.append(self.line)

    def _row(self, attributes: AttributesImpl) -> None:
        typed = attributes.get("r", "")
        row = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 8 else self.line.row + 1
        if not 1 <= row <= _LAST_ROW:
            raise UnreadableError(f"the sheet has a row {row:,}", f"rows 1 to {_LAST_ROW:,}", RESAVE, tab=self.tab)
        self.line = Line(row)
        self.next_column = 0

    def _cell(self, attributes: AttributesImpl) -> None:
        match = _ADDRESS.fullmatch(attributes.get("r", ""))
        column = _column_number(match.group(1)) if match else self.next_column
        if column >= _LAST_COLUMN:
            raise UnreadableError(
                "the sheet has a cell beyond the last column",
                f"at most {_LAST_COLUMN:,} columns",
                RESAVE,
                tab=self.tab,
                row=self.line.row,
            )
        style = attributes.get("s", "0")
        self.cell = _Cell(column, attributes.get("t", "n"), int(style) if style.isdigit() else 0)
        self.next_column = column + 1
        self.pieces.clear()

    def _formula(self, _: AttributesImpl) -> None:
        self.cell.formula = True

    def _value(self, _: AttributesImpl) -> None:
        self.pieces.clear()
        self.listening = True

    def _piece(self, _: AttributesImpl) -> None:
        self.listening = not self.aside

    def _reading_aid(self, _: AttributesImpl) -> None:
        self.aside = True

    def _merged(self, attributes: AttributesImpl) -> None:
        first, _, last = attributes.get("ref", "").partition(":")
        start, end = _ADDRESS.fullmatch(first), _ADDRESS.fullmatch(last)
        if start and end and len(self.spans) < _MOST_SPANS:
            self.spans.append(
                Span(
                    first_row=int(start.group(2)),
                    last_row=int(end.group(2)),
                    first_column=_column_number(start.group(1)),
                    last_column=_column_number(end.group(1)),
                )
            )

    def _keep(self) -> None:
        cell = self.cell
        if cell.formula:
            self.line.formulas.add(cell.column)
        text = clean(self._shown(cell, self.gathered()), cell.column, self.line)
        if text:
            self.left.take(0, len(text), self.tab, self.line.row)
            self.line.texts[cell.column] = text
            if cell.kind == "n":
                self.line.numbers.add(cell.column)

    def _shown(self, cell: _Cell, raw: str) -> str:
        """Return a cell's text by the kind that the file gives it."""
        if cell.kind == "n":
            shape = self.shapes[cell.style] if cell.style < len(self.shapes) else "plain"
            return number_text(raw, shape, from_1904=self.from_1904) if raw else ""
        if cell.kind == "s":
            return self._shared(raw)
        if cell.kind == "b":
            return {"1": "TRUE", "0": "FALSE"}.get(raw, raw)
        return raw.replace("T", " ") if cell.kind == "d" else raw

    def _shared(self, raw: str) -> str:
        index = int(raw) if raw.isascii() and raw.isdigit() and len(raw) < 9 else -1
        if not 0 <= index < len(self.strings):
            raise UnreadableError(
                f"a cell names the shared text {raw[:20]!r}, which isn't there",
                f"one of the {len(self.strings):,} texts of the file",
                RESAVE,
                tab=self.tab,
                row=self.line.row,
            )
        return self.strings[index]


def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1
