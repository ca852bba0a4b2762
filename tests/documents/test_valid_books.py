"""The demo's workbooks keep to the schemas of ECMA-376, and what they declare fits together."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
from openxml_audit import OpenXmlValidator

from estimator.cli.main import main

BOOKS = ("library-estimate.xlsx", "library-field-sheets.xlsx", "library-closeout.xlsx", "library-labels.xlsx")
MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder with the documents of the demo."""
    folder = tmp_path_factory.mktemp("valid") / "demo"
    assert main(["demo", "--out", str(folder)]) == 0
    return folder


def _faults(book: Path) -> list[str]:
    return [f"{one.part_uri}: {one.description}" for one in OpenXmlValidator().validate(str(book)).errors]


@pytest.mark.parametrize("name", BOOKS)
def test_a_workbook_keeps_to_the_schemas(demo: Path, name: str) -> None:
    assert _faults(demo / name) == []


def test_every_workbook_of_the_demo_is_validated(demo: Path) -> None:
    assert {path.name for path in demo.glob("*.xlsx")} == set(BOOKS)


def test_a_planted_fault_is_found(demo: Path, tmp_path: Path) -> None:
    """Parts of a font in another order than the schema's, as openpyxl writes them."""
    wrong = tmp_path / "wrong.xlsx"
    with zipfile.ZipFile(demo / BOOKS[0]) as good, zipfile.ZipFile(wrong, "w") as bad:
        for name in good.namelist():
            part = good.read(name)
            if name == "xl/styles.xml":
                part, count = re.subn(rb"<font>(<b[^>]*/>)(.*?)</font>", rb"<font>\2\1</font>", part, count=1)
                assert count == 1
            bad.writestr(name, part)

    assert _faults(wrong) == ["/xl/styles.xml: Unexpected element 'b' found"]


@pytest.mark.parametrize("name", BOOKS)
def test_a_declared_table_has_the_heads_of_its_cells_and_overlaps_no_other(demo: Path, name: str) -> None:
    """A spreadsheet repairs, and so changes, a file whose table says other heads than its cells."""
    with zipfile.ZipFile(demo / name) as book:
        tables = [ElementTree.fromstring(book.read(part)) for part in book.namelist() if "/tables/" in part]
    names = [table.get("displayName") for table in tables]
    ids = [table.get("id") for table in tables]

    assert len(set(names)) == len(names) > 0
    assert len(set(ids)) == len(ids)
    for table in tables:
        heads = [column.get("name") for column in table.iter(f"{MAIN}tableColumn")]
        assert len(set(heads)) == len(heads)
        first, last = (re.sub(r"\d", "", at) for at in str(table.get("ref")).split(":"))
        assert _number(last) - _number(first) + 1 == len(heads)


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number
