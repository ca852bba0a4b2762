"""Deliberately bad sheets: each with what must be said of it, and what its circuit may be called.

Every sheet is about circuit 1A-A02, and unless the file is refused whole a good row of 1A-A10
stands beside the bad one and must arrive.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from openpyxl.worksheet.worksheet import Worksheet

from tests.field.workbooks import book, changed, sheet_part

HEAD = ["Circuit", "Round", "Wire map", "Length 3-6 [m]", "Delay 3-6 [ns]", "Loop 3-6 [ohm]", "Date"]
OURS = ["1A-A02", 1, "pass", 50.0, 240, 8.5, "2026-03-04"]
GOOD = ["1A-A10", 1, "pass", 50.2, 241, 8.4, "2026-03-04"]
REFUSED = "not tested"


@dataclass(frozen=True)
class Case:
    """One bad sheet: its file, its bytes, what is said, and the verdict of 1A-A02."""

    name: str
    file: str
    data: Callable[[], bytes]
    told: tuple[str, ...]
    word: str = REFUSED

    @property
    def refused(self) -> bool:
        """Return whether nothing of the file arrives."""
        return self.word == REFUSED and "kept" not in self.name


def csv(*rows: Sequence[object], head: Sequence[object] = HEAD, above: Sequence[str] = (), good: bool = True) -> bytes:
    """Return a sheet as CSV, the good row below the others."""
    lines = [*([text] for text in above), head, *rows, *([GOOD] if good else [])]
    return "".join(",".join(_quoted(str(cell)) for cell in line) + "\n" for line in lines).encode()


def _quoted(text: str) -> str:
    return f'"{text}"' if "," in text or "\n" in text else text


def xlsx(*rows: Sequence[object], head: Sequence[object] = HEAD, above: Sequence[str] = (), good: bool = True) -> bytes:
    """Return a sheet as a workbook, the good row below the others."""

    def fill(page: Worksheet) -> None:
        for line in (*([text] for text in above), head, *rows, *([GOOD] if good else [])):
            page.append(list(line))

    return book(fill, "Balanced pair")


def ours(**cells: object) -> list[object]:
    """Return the row of 1A-A02 with some of its cells replaced, by the first word of their head."""
    return [cells.get(head.split(" ")[0].lower(), value) for head, value in zip(HEAD, OURS, strict=True)]


def part(old: str, new: str) -> bytes:
    """Return the workbook with a piece of its sheet's XML replaced."""
    return sheet_part(xlsx(ours()), old, new)


def doctype(name: str) -> bytes:
    """Return the workbook with an external entity declared in a part."""
    entity = b'<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/passwd">]>'
    declared = {name: lambda data: data.replace(b"?>", b"?>" + entity, 1) if b"?>" in data else entity + data}
    return changed(xlsx(ours()), declared)


def bomb(names: int, size: int) -> bytes:
    """Return an archive that unpacks to far more than it is."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(names):
            archive.writestr(f"xl/media/{number}.bin", bytes(size))
    return out.getvalue()


def archive(**parts: str) -> bytes:
    """Return an archive of a few parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, text in parts.items():
            made.writestr(name.replace("__", "/").replace("_", "."), text)
    return out.getvalue()


def twice() -> bytes:
    """Return a workbook in which a part stands twice, so that programs differ over which one counts."""
    out = io.BytesIO(xlsx(ours()))
    with zipfile.ZipFile(out, "a") as made:
        made.infolist().append(made.infolist()[-1])
        made.filelist.append(made.filelist[-1])
        made._didModify = True  # type: ignore[attr-defined]
    return out.getvalue()


def encrypted() -> bytes:
    """Return a workbook whose entries say that they are encrypted."""
    data = bytearray(xlsx(ours()))
    at = data.find(b"PK\x01\x02")
    while at >= 0:
        data[at + 8] |= 1
        at = data.find(b"PK\x01\x02", at + 4)
    return bytes(data)


def blank_rows() -> bytes:
    """Return a workbook with a million formatted rows that nobody filled in."""
    rows = "".join(f'<row r="{number}"/>' for number in range(10, 1_000_010))
    return part("</sheetData>", f"{rows}</sheetData>")


def merged() -> bytes:
    """Return a workbook whose circuit and note are merged over two rounds."""

    def fill(page: Worksheet) -> None:
        page.append([*HEAD, "Note"])
        page.append([*ours(wire="open"), "wire came off, mended"])
        page.append([None, 2, *OURS[2:], None])
        page.append(GOOD)
        page.merge_cells("A2:A3")
        page.merge_cells("H2:H3")

    return book(fill, "Balanced pair")


def filtered() -> bytes:
    """Return a workbook with a filter on, the row of 1A-A02 hidden by it."""

    def fill(page: Worksheet) -> None:
        for line in (HEAD, ours(), GOOD):
            page.append(line)
        page.auto_filter.ref = "A1:G3"
        page.row_dimensions[2].hidden = True

    return book(fill, "Balanced pair")


S = "bad.xlsx, sheet Balanced pair, row "
WHOLE = (
    Case(
        "wrong header",
        "bad.csv",
        lambda: csv(OURS, head=["ID", "No", "Result", "Len", "T", "R", "When"]),
        ("bad.csv: no head row of a field sheet among the first 40 rows",),
    ),
    Case(
        "no circuit column",
        "bad.xlsx",
        lambda: xlsx(ours(), head=["Cable", *HEAD[1:]]),
        (S + "1: the column Circuit is missing",),
    ),
    Case(
        "feet and meters mixed",
        "bad.xlsx",
        lambda: xlsx(ours(), head=[*HEAD[:4], "Length 1-2 [ft]", *HEAD[5:]]),
        (S + "1: the heads mix units of length: Length 3-6 [m] and Length 1-2 [ft]",),
    ),
    Case(
        "heads of two media",
        "bad.csv",
        lambda: csv(["1A-X", 1, "pass", 5], head=[*HEAD[:3], "Length [m]"], good=False),
        ("bad.csv, row 1: the heads fit 2 field sheets (balanced_pair, voice)",),
    ),
    Case("empty file", "bad.csv", lambda: b"  \n", ("bad.csv: the file is empty",)),
    Case(
        "form not filled in",
        "bad.xlsx",
        lambda: xlsx(["1A-A02", 1], good=False),
        (S + "1: no row below the head holds a reading",),
    ),
    Case(
        "photo renamed",
        "bad.xlsx",
        lambda: b"\xff\xd8\xff\xe0" + bytes(range(256)),
        ("bad.xlsx: the file is no workbook and its name ends in .xlsx",),
    ),
    Case(
        "PDF renamed",
        "bad.csv",
        lambda: b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n",
        ("bad.csv, row 2: byte 0xe2 is not",),
    ),
    Case(
        "web page renamed",
        "bad.csv",
        lambda: b"<html><table><tr><td>Circuit</td></tr></table></html>",
        ("bad.csv: no head row of a field sheet",),
    ),
    Case(
        "old workbook or one with a password",
        "bad.xlsx",
        lambda: bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600),
        ("bad.xlsx: the file is an old .xls workbook or has a password",),
    ),
    Case("encrypted parts", "bad.xlsx", encrypted, ("bad.xlsx: the workbook is encrypted",)),
    Case("truncated zip", "bad.xlsx", lambda: xlsx(ours())[:-200], ("bad.xlsx: the file is a damaged .xlsx archive",)),
    Case("zip with a hole", "bad.xlsx", lambda: _holed(xlsx(ours())), ("bad.xlsx",)),
    Case("zip bomb by ratio", "bad.xlsx", lambda: bomb(1, 30_000_000), ("bad.xlsx: the workbook unpacks to ",)),
    Case("zip bomb by many parts", "bad.xlsx", lambda: bomb(40, 10_000_000), ("bytes in 40 parts",)),
    Case(
        "external entity in the sheet",
        "bad.xlsx",
        lambda: doctype("xl/worksheets/sheet1.xml"),
        ("bad.xlsx, sheet Balanced pair: xl/worksheets/sheet1.xml declares a document type or an entity",),
    ),
    Case(
        "external entity in the workbook",
        "bad.xlsx",
        lambda: doctype("xl/workbook.xml"),
        ("bad.xlsx: xl/workbook.xml declares a document type or an entity",),
    ),
    Case(
        "Word document renamed",
        "bad.xlsx",
        lambda: archive(_rels_rels="", word__document_xml="<w/>"),
        ("bad.xlsx: the archive holds no workbook",),
    ),
    Case("a part twice", "bad.xlsx", twice, ("bad.xlsx: the workbook names one of its parts twice",)),
    Case(
        "row number beyond the sheet",
        "bad.xlsx",
        lambda: part('<row r="2"', '<row r="9999999"'),
        ("bad.xlsx, sheet Balanced pair: the sheet has a row 9,999,999",),
    ),
    Case(
        "shared text that is not there",
        "bad.xlsx",
        lambda: part('<c r="D2" t="n"><v>50<', '<c r="D2" t="s"><v>999<'),
        (S + "2: a cell names the shared text '999', which isn't there",),
    ),
    Case("XML cut off", "bad.xlsx", lambda: part("</sheetData>", ""), ("bad.xlsx, sheet Balanced pair",)),
    Case("UTF-16", "bad.csv", lambda: csv(ours()).decode().encode("utf-16"), ("bad.csv: the file is UTF-16 text",)),
    Case(
        "older encoding",
        "bad.csv",
        lambda: csv(ours(date="März")).decode().encode("latin-1"),
        ("bad.csv, row 2: byte 0xe4 is not UTF-8 text",),
    ),
    Case("quote left open", "bad.csv", lambda: csv(['"1A-A02', *OURS[1:]]), ("bad.csv, row 2: the row can't be read",)),
    Case(
        "decimals stated in no known word",
        "bad.xlsx",
        lambda: xlsx(ours(), above=["decimals: Komma"]),
        (S + "1: `decimals: Komma` is not understood",),
    ),
    Case(
        "date order stated as a pattern",
        "bad.csv",
        lambda: csv(ours(), above=["date order: DD/MM"]),
        ("bad.csv, row 1: `date order: DD/MM` is not understood",),
    ),
    Case(
        "lengths stated otherwise than headed",
        "bad.xlsx",
        lambda: xlsx(ours(), above=["lengths: ft"]),
        (S + "2: the sheet states `lengths: ft`, the head row states `lengths: m`",),
    ),
    Case(
        "rows as JSON, cut off",
        "bad.json",
        lambda: b'{"dropledger_rows": 1, "sheets": [',
        ("bad.json: line 1, column 35: this stops being JSON here",),
    ),
    Case("no such file type", "bad.numbers", lambda: b"anything", ("bad.numbers: the file is no workbook",)),
)
ROWS = (
    Case(
        "length and delay swapped",
        "bad.xlsx",
        lambda: xlsx(ours(length=240, delay=50)),
        (S + "2: ", "its length and delay make"),
        "incomplete",
    ),
    Case(
        "text in numbers",
        "bad.xlsx",
        lambda: xlsx(ours(length="about fifty")),
        (S + "2: Length 3-6: 'about fifty' is no number with a decimal point",),
        "incomplete",
    ),
    Case("a million blank rows", "bad.xlsx", blank_rows, ("taken: bad.xlsx, sheet Balanced pair: 2 rows",), "pass"),
    Case(
        "a million blank lines",
        "bad.csv",
        lambda: csv(ours(), good=True) + b",,,,,,\r\n" * 1_000_000,
        ("taken: bad.csv: 2 rows",),
        "pass",
    ),
    Case(
        "formula without a stored value",
        "bad.xlsx",
        lambda: xlsx(ours(length="=B2*50")),
        (S + "2: column D: a formula stands in a column for readings, no value is stored",),
        "incomplete",
    ),
    Case(
        "formula that ended in an error",
        "bad.xlsx",
        lambda: part('<c r="D2" t="n"><v>50</v></c>', '<c r="D2" t="e"><f>1/0</f><v>#DIV/0!</v></c>'),
        (S + "2: Length 3-6: '#DIV/0!' is no number with a decimal point",),
        "incomplete",
    ),
    Case(
        "macros",
        "bad.xlsx",
        lambda: changed(xlsx(ours()), {}, {"xl/vbaProject.bin": b"macro"}),
        (S + "1: the workbook carries macros: none was run",),
        "pass",
    ),
    Case(
        "decimal comma where a point is stated",
        "bad.csv",
        lambda: csv(ours(length="50,2")),
        ("bad.csv, row 2: Length 3-6: '50,2' is no number with a decimal point",),
        "incomplete",
    ),
    Case(
        "thousands sign",
        "bad.csv",
        lambda: csv(ours(length="1.050,2"), above=["decimals: comma"], good=False) + b'1A-A10,1,pass,"50,2"\n',
        ("bad.csv, row 3: Length 3-6: '1.050,2' is no number with a decimal comma",),
        "incomplete",
    ),
    Case(
        "text with a point where a comma is stated",
        "bad.xlsx",
        lambda: xlsx(ours(length="50.203"), above=["decimals: comma"]),
        (S + "3: Length 3-6: '50.203' is no number with a decimal comma",),
        "incomplete",
    ),
    Case(
        "words of another language",
        "bad.xlsx",
        lambda: xlsx(ours(wire="bestanden")),
        (S + "2: Wire map: 'bestanden' is none of pass, open",),
        "incomplete",
    ),
    Case(
        "date in the other order",
        "bad.csv",
        lambda: csv(ours(date="31/12/2026")),
        ("bad.csv, row 2: date '31/12/2026' is no date with the order mdy",),
        "pass",
    ),
    Case(
        "date in either order",
        "bad.csv",
        lambda: csv(ours(date="3/4/2026")),
        ("bad.csv, row 2: the date '3/4/2026' can be read in two orders",),
        "pass",
    ),
    Case(
        "negative length",
        "bad.xlsx",
        lambda: xlsx(ours(length=-50)),
        (S + "2: ", "is no possible length"),
        "incomplete",
    ),
    Case(
        "absurd length",
        "bad.xlsx",
        lambda: xlsx(ours(length=1e308)),
        (S + "2: ", "is no possible length"),
        "incomplete",
    ),
    Case(
        "not a number",
        "bad.csv",
        lambda: csv(ours(length="NaN")),
        ("bad.csv, row 2: Length 3-6: 'NaN' is no number",),
        "incomplete",
    ),
    Case(
        "no resistance at all",
        "bad.xlsx",
        lambda: xlsx(ours(loop=0)),
        (S + "2: ", "is no possible resistance"),
        "incomplete",
    ),
    Case(
        "ohms in a column of lengths",
        "bad.csv",
        lambda: csv(ours(length="50 ohm")),
        ("bad.csv, row 2: Length 3-6: 'ohm' is no unit of length",),
        "incomplete",
    ),
    Case(
        "feet typed in a column of meters",
        "bad.csv",
        lambda: csv(ours(length="164 ft")),
        ("taken: bad.csv: 2 rows",),
        "pass",
    ),
    Case(
        "wire map against its pins",
        "bad.csv",
        lambda: csv([*ours(), "12435678"], head=[*HEAD, "Far-end pins"]),
        ("bad.csv, row 2: ", "the wire map says pass, the pins 12435678 say"),
        "incomplete",
    ),
    Case(
        "judged by another limit",
        "bad.csv",
        lambda: csv([*ours(), "Cat 5e permanent link"], head=[*HEAD, "Limit used"]),
        ("not judged: bad.csv, row 2: ", "judged in the field by 'Cat 5e permanent link'"),
        "incomplete",
    ),
    Case(
        "own columns and one twice",
        "bad.csv",
        lambda: csv([*ours(), "x", 99], head=[*HEAD, "Mood", HEAD[3]]),
        ("bad.csv, row 1: column H: head 'Mood' is not known", "column I: head 'Length 3-6 [m]' stands twice"),
        "pass",
    ),
    Case(
        "cells beyond the heads",
        "bad.csv",
        lambda: csv([*ours(), "x"]),
        ("bad.csv, row 1: column H has no head: 1 cells are not taken, the first in row 2",),
        "pass",
    ),
    Case(
        "round in words",
        "bad.csv",
        lambda: csv(ours(round="first")),
        ("bad.csv, row 2: round 'first' is no number; the row has no round",),
        "pass",
    ),
    Case(
        "control characters",
        "bad.csv",
        lambda: csv(ours(wire="pa\x07ss")),
        ("bad.csv, row 2: column C: a control character was replaced",),
        "incomplete",
    ),
    Case(
        "endless note",
        "bad.csv",
        lambda: csv([*ours(), "x" * 40_000], head=[*HEAD, "Note"]),
        ("bad.csv, row 2: column H: text cut after 32,767 characters",),
        "pass",
    ),
    Case(
        "text that would run as a formula",
        "bad.csv",
        lambda: csv([*ours(), "=cmd|'/c calc'!A1"], head=[*HEAD, "Note"]),
        ("taken: bad.csv: 2 rows",),
        "pass",
    ),
    Case(
        "merged circuit and note",
        "bad.xlsx",
        merged,
        (S + "3: circuit taken from row 2, with which its cell is merged",),
        "pass",
    ),
    Case("filtered and hidden", "bad.xlsx", filtered, ("taken: bad.xlsx, sheet Balanced pair: 2 rows",), "pass"),
    Case("the head again further down", "bad.csv", lambda: csv(ours(), HEAD), ("taken: bad.csv: 2 rows",), "pass"),
    Case("semicolons", "bad.csv", lambda: csv(ours()).replace(b",", b";"), ("taken: bad.csv: 2 rows",), "pass"),
    Case(
        "kept: unknown circuit",
        "bad.csv",
        lambda: csv(["1A-A0Z", *OURS[1:]]),
        ("no circuit: bad.csv, row 2: circuit '1A-A0Z' is not in the project, nearest is '1A-A",),
    ),
    Case(
        "kept: no circuit named",
        "bad.csv",
        lambda: csv(["", *OURS[1:]]),
        ("no circuit: bad.csv, row 2: the row names no circuit; it is kept",),
    ),
    Case(
        "kept: a circuit of another sheet",
        "bad.csv",
        lambda: csv(["1A-V1", *OURS[1:]]),
        ("not used: bad.csv, row 2: other sheet: circuit '1A-V1' is tested on sheet coax, not balanced_pair",),
    ),
)


def _holed(data: bytes) -> bytes:
    """Return an archive with a hundred bytes of its largest part overwritten."""
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        at = packed.getinfo("xl/worksheets/sheet1.xml").header_offset + 80
    return data[:at] + b"\0" * 100 + data[at + 100 :]
