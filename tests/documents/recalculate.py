"""Has another program recalculate a workbook, and holds its figures against the stored ones.

LibreOffice trusts stored values unless its profile says otherwise, so each run gets a throw-away
profile that says: always recalculate.
"""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest

RELATIVE = 1e-9  # two programs add in a different order; a wrong formula is off by far more
ABSOLUTE = 1e-12

_ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


@dataclass(frozen=True)
class Difference:
    """One live cell whose stored value another program does not get."""

    cell: str
    formula: str
    stored: object
    recalculated: object


@dataclass(frozen=True)
class Comparison:
    """How many live cells were compared, and which differ."""

    compared: int
    differences: list[Difference]


def program(name: str, left_out: str) -> str:
    """Return a program, or skip the test and say what is left out; in CI a missing program is a failure."""
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI") == "true":
            pytest.fail(f"no {name} here: {left_out}")
        pytest.skip(f"no {name} here: {left_out}")
    return found


def soffice(left_out: str = "formulas of workbooks are not recalculated by another program") -> str:
    """Return the spreadsheet engine, or skip the test."""
    return program("soffice" if shutil.which("soffice") else "libreoffice", left_out)


def recalculated(workbooks: Mapping[str, bytes], folder: Path) -> dict[str, Path]:
    """Return each workbook as LibreOffice saves it after recalculating every formula."""
    program = soffice()
    given, got = folder / "given", folder / "got"
    given.mkdir()
    for name, content in workbooks.items():
        (given / f"{name}.xlsx").write_bytes(content)
    with tempfile.TemporaryDirectory(prefix="profile-") as profile:
        user = Path(profile) / "user"
        user.mkdir()
        (user / "registrymodifications.xcu").write_text(_ALWAYS, encoding="utf-8")
        subprocess.run(
            [program, f"-env:UserInstallation={Path(profile).as_uri()}", "--headless", "--norestore"]
            + ["--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", str(got)]
            + [str(path) for path in sorted(given.iterdir())],
            check=True,
            capture_output=True,
            timeout=240,
        )
    return {name: got / f"{name}.xlsx" for name in workbooks}


def recalculate(workbook: bytes, folder: Path) -> Comparison:
    """Return how the stored values of one workbook compare with the recalculated ones."""
    return compare(workbook, recalculated({"book": workbook}, folder)["book"])


def compare(workbook: bytes, after: Path) -> Comparison:
    """Compare the stored value of every live cell with the same cell of the other file."""
    before = after.with_suffix(".before.xlsx")
    before.write_bytes(workbook)
    formulas = openpyxl.load_workbook(before)
    stored = openpyxl.load_workbook(before, data_only=True)
    fresh = openpyxl.load_workbook(after, data_only=True)
    compared = 0
    differences = []
    for sheet in formulas.worksheets:
        for cell in (cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"):
            compared += 1
            old = stored[sheet.title][cell.coordinate].value
            new = fresh[sheet.title][cell.coordinate].value
            if not same(old, new):
                place = f"{sheet.title}!{cell.coordinate}"
                differences.append(Difference(place, str(cell.value), old, new))
    return Comparison(compared, differences)


def same(old: object, new: object) -> bool:
    """Return whether two cells hold the same word, or numbers that differ by rounding only."""
    if isinstance(old, int | float) and isinstance(new, int | float):
        return math.isclose(old, new, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return (old or "") == (new or "") and type(old or "") is type(new or "")
