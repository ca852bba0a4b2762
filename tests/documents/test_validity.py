"""The demo's Word documents before other people's readers: schema validator, docx2python, LibreOffice, tagged PDF."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import docx
import openpyxl
import pytest
from docx2python import docx2python

from estimator.cli.main import main
from estimator.documents.common import content_hash
from estimator.documents.docx_writer import write_docx
from estimator.documents.office import pdfs
from estimator.documents.package import mend
from tests.documents.job_sample import takeoff
from tests.documents.pages import LEFT_OUT
from tests.documents.recalculate import program
from tests.documents.validity import inner_faults, schema_faults, tag_count, tag_faults
from tests.documents.word_sample import sample

NAMES = ("proposal", "calculations", "test-plan", "binder", "restricted")
BOOKS = ("estimate", "field-sheets", "closeout")
LISTED = NAMES[:-1]
"""Those with contents; the restricted part has a handful of pages."""

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder with the documents of the demo."""
    folder = tmp_path_factory.mktemp("validity") / "demo"
    assert main(["demo", "--out", str(folder)]) == 0
    written = {path.stem for path in folder.glob("*.docx")}
    assert {name for name in written if "-labels-" not in name} == {f"library-{name}" for name in NAMES}
    return folder


@pytest.fixture(scope="module")
def tagged(demo: Path) -> Path:
    """Return the folder with a tagged PDF beside each Word document."""
    program("soffice", LEFT_OUT)
    words = {f"library-{name}.docx": (demo / f"library-{name}.docx").read_bytes() for name in NAMES}
    for name, pdf in pdfs(words).items():
        (demo / name).with_suffix(".pdf").write_bytes(pdf)
    return demo


@pytest.mark.parametrize("name", NAMES)
def test_documents_keep_to_the_schemas(demo: Path, name: str) -> None:
    document = demo / f"library-{name}.docx"
    assert schema_faults(document) == []
    assert inner_faults(document) == []


def test_label_sheets_keep_to_the_schemas(demo: Path) -> None:
    sheets = sorted(demo.glob("*-labels-*.docx"))
    assert sheets
    for sheet in sheets:
        assert schema_faults(sheet) == []
        assert inner_faults(sheet) == []


@pytest.mark.parametrize("name", NAMES)
def test_an_independent_reader_finds_the_headings_in_the_contents_and_in_the_text(demo: Path, name: str) -> None:
    path = demo / f"library-{name}.docx"
    word = docx.Document(str(path))
    by_style = [(one.style.name, one.text) for one in word.paragraphs if one.style is not None]
    headings = [text for style, text in by_style if style.startswith("Heading")]
    contents = [text for style, text in by_style if style.startswith("toc ")]
    with docx2python(path) as read:
        lines = [re.sub(r"<a href=[^>]*>|</a>", "", line).strip() for line in read.text.splitlines()]
        running = f"{read.header_runs}{read.footer_runs}"
    assert headings
    assert contents == (headings if name in LISTED else [])
    for heading in headings:
        assert lines.count(heading) >= 1 + (name in LISTED), heading
    assert "Alder Street Library" in running
    assert "Revision 2" in running


@pytest.mark.parametrize("name", NAMES)
def test_every_table_has_a_head_that_repeats(demo: Path, name: str) -> None:
    tables = docx.Document(str(demo / f"library-{name}.docx")).tables
    assert tables
    for table in tables:
        first, *others = table._tbl.tr_lst
        assert first.trPr is not None
        assert first.trPr.find(f"{W}tblHeader") is not None
        assert all(row.trPr is None or row.trPr.find(f"{W}tblHeader") is None for row in others)


@pytest.mark.parametrize("name", NAMES)
def test_every_picture_has_words(demo: Path, name: str) -> None:
    body = zipfile.ZipFile(demo / f"library-{name}.docx").read("word/document.xml").decode()
    for properties in re.findall(r"<wp:docPr [^>]*>", body):
        assert re.search(r'descr="[^"]{10,}"', properties), properties
    assert body.count("<w:drawing>") == body.count("<wp:docPr ")


@pytest.mark.parametrize("name", NAMES)
def test_the_tagged_pdf_tells_a_screen_reader_everything(tagged: Path, name: str) -> None:
    pdf = tagged / f"library-{name}.pdf"
    assert tag_faults(pdf) == []
    # One table of the document may come as several of 100 rows, never as none.
    assert tag_count(pdf, "/Table") == len(docx.Document(str(pdf.with_suffix(".docx"))).tables)


def test_every_document_says_which_state_of_the_project_it_was_made_from(demo: Path) -> None:
    """Revision at the head, hash at the foot, both and the editions on the first page; in Word as in Excel."""
    content = content_hash(takeoff().project)
    basis = f"Made from library.yaml, revision 2, content {content}, to NFPA 70-2023, NFPA 72-2019, "
    for name in NAMES:
        word = docx.Document(str(demo / f"library-{name}.docx"))
        last = word.sections[-1]
        assert f"Content {content}" in last.footer.paragraphs[-1].text
        assert "Revision 2" in last.header.paragraphs[-1].text
        assert any(one.text.startswith(basis) for one in word.paragraphs)
    for name in BOOKS:
        book = openpyxl.load_workbook(demo / f"library-{name}.xlsx")
        shown = [tab for tab in book.worksheets if tab.sheet_state == "visible"]
        assert all(f"Content {content}" in (tab.oddFooter.left.text or "") for tab in shown)
        assert all("Revision 2" in (tab.oddHeader.right.text or "") for tab in shown)
        first = book.worksheets[0]
        assert any(str(cell.value).startswith(basis) for row in first.iter_rows(max_row=8) for cell in row)


# --- the checks find what they are there for -----------------------------------------------------


def planted(change: Callable[[str], str], folder: Path) -> Path:
    """Return the sample document with a fault in its body."""
    path = folder / "planted.docx"
    path.write_bytes(mend(write_docx(sample(3)), {"word/document.xml": lambda body: change(body.decode()).encode()}))
    return path


@pytest.mark.parametrize(
    "change",
    [
        lambda body: body.replace("<w:cantSplit/>", "<w:cantsplit/>", 1),  # no such element
        lambda body: body.replace('w:w="15840"', 'w:w="wide"', 1),  # no such value
        lambda body: re.sub(r"(<w:pStyle [^>]*/>)(<w:keepNext/>)", r"\2\1", body, count=1),  # wrong order
    ],
)
def test_a_planted_fault_is_found_by_the_schema(change: Callable[[str], str], tmp_path: Path) -> None:
    assert schema_faults(planted(lambda body: body, tmp_path)) == []
    assert schema_faults(planted(change, tmp_path))


def test_a_planted_loose_relation_is_found(tmp_path: Path) -> None:
    assert inner_faults(planted(lambda body: re.sub(r'r:id="rId\d+"', 'r:id="rId999"', body, count=1), tmp_path))


def test_a_planted_table_without_a_head_is_found(tmp_path: Path) -> None:
    program("soffice", LEFT_OUT)
    headless = planted(lambda body: body.replace("<w:tblHeader/>", "", 1), tmp_path)
    made = tmp_path / "planted.pdf"
    made.write_bytes(pdfs({"planted.docx": headless.read_bytes()})["planted.docx"])
    assert tag_faults(made) == ["table 1 has no head"]
