"""Small workbooks made in memory, and archives that no spreadsheet program would write."""

from __future__ import annotations

import io
import subprocess
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from estimator.acceptance.columns import sheet
from estimator.field.intake import read_data
from estimator.field.taken import Intake, TakenRow
from tests.documents.recalculate import soffice

COAX = ("Circuit", "Round", "Center to shield", "Length [ft]", "Loop resistance [ohm]", "Date", "Note")


def book(fill: Callable[[Worksheet], None], title: str = "Coax") -> bytes:
    """Return a workbook of one sheet that a function fills."""
    made = openpyxl.Workbook()
    page = made.active
    assert isinstance(page, Worksheet)
    page.title = title
    fill(page)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def coax(rows: Sequence[Sequence[object]], head: Sequence[str] = COAX) -> bytes:
    """Return a coax sheet with the rows below its head."""

    def fill(page: Worksheet) -> None:
        page.append(list(head))
        for row in rows:
            page.append(list(row))

    return book(fill)


def whole_head(medium: str, lengths: str = "ft") -> list[str]:
    """Return every head of a medium's sheet."""
    return [column.title for column in sheet(medium, lengths).columns]


def changed(
    data: bytes, parts: Mapping[str, Callable[[bytes], bytes]], more: Mapping[str, bytes] | None = None
) -> bytes:
    """Return a workbook with some of its parts changed and others added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as after:
        for name in before.namelist():
            after.writestr(name, parts.get(name, bytes)(before.read(name)))
        for name, part in (more or {}).items():
            after.writestr(name, part)
    return out.getvalue()


def sheet_part(data: bytes, old: str, new: str) -> bytes:
    """Return a workbook with a piece of its first sheet's XML replaced; the piece must be there."""

    def replace(part: bytes) -> bytes:
        assert old.encode() in part, part[:2000]
        return part.replace(old.encode(), new.encode(), 1)

    return changed(data, {"xl/worksheets/sheet1.xml": replace})


def rows_of(data: bytes, name: str = "sheet.xlsx") -> tuple[TakenRow, ...]:
    """Return the rows of a file that holds one field sheet."""
    found = one(data, name)
    return found.sheets[0].rows


def one(data: bytes, name: str = "sheet.xlsx") -> Intake:
    """Return a file as read, which must hold one field sheet and nothing kept aside."""
    found = read_data(name, data)
    assert not found.aside, [str(aside) for aside in found.aside]
    assert len(found.sheets) == 1
    return found


def refusal(data: bytes, name: str = "sheet.xlsx") -> str:
    """Return the one reason why nothing of a file was taken."""
    found = read_data(name, data)
    assert not found.sheets
    assert len(found.aside) == 1
    return str(found.aside[0])


def resaved(data: bytes, folder: Path, ending: str = "xlsx") -> bytes:
    """Return a workbook as LibreOffice saves it again; skips where there is none, but never in CI."""
    program = soffice("sheets that another program saved again are not read")
    (folder / "out").mkdir()
    source = folder / "sheet.xlsx"
    source.write_bytes(data)
    profile = (folder / "profile").as_uri()
    subprocess.run(
        [program, f"-env:UserInstallation={profile}", "--headless", "--convert-to", ending, "--outdir",
         str(folder / "out"), str(source)],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    return (folder / "out" / f"sheet.{ending}").read_bytes()
