"""The demo's documents on paper: every page holds something, nothing is cut, no heading stands alone."""

from __future__ import annotations

from pathlib import Path

import docx
import openpyxl
import pytest
from docx.shared import Inches
from openpyxl.styles import Font
from openpyxl.worksheet.pagebreak import Break

from estimator.cli.main import main
from tests.documents.job_sample import takeoff
from tests.documents.pages import (
    LEFT_OUT,
    Page,
    Word,
    captions_of,
    cut_cells,
    headings_of,
    nearly_empty,
    off_paper,
    orphans,
    overlaps,
    printed,
    too_wide,
    wide_sheets,
    wide_tables,
)
from tests.documents.recalculate import program

WORD = (
    "library-proposal.docx",
    "library-calculations.docx",
    "library-test-plan.docx",
    "library-binder.docx",
    "library-restricted.docx",
)
BOOKS = ("library-estimate.xlsx", "library-field-sheets.xlsx", "library-labels.xlsx", "library-closeout.xlsx")
EVERY = (*WORD, *BOOKS)
"""What the demo writes that has pages; the list of ids is read by instruments only."""

Printed = dict[str, list[Page]]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder with the documents of the demo."""
    program("soffice", LEFT_OUT)
    program("pdftotext", LEFT_OUT)
    folder = tmp_path_factory.mktemp("pages") / "demo"
    assert main(["demo", "--out", str(folder)]) == 0
    return folder


@pytest.fixture(scope="module")
def on_paper(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Printed:
    """Return the pages of every document."""
    return printed([demo / name for name in EVERY], tmp_path_factory.mktemp("printed"))


def test_every_document_of_the_demo_is_looked_at(demo: Path, on_paper: Printed) -> None:
    written = {path.name for path in demo.iterdir() if path.suffix in (".docx", ".xlsx")}

    assert {name for name in written if "-labels-" not in name} == set(EVERY)  # sheets of labels: test_labels
    assert all(len(pages) > 1 for pages in on_paper.values())


@pytest.mark.parametrize("name", BOOKS)
def test_no_number_is_too_wide_for_its_column(on_paper: Printed, name: str) -> None:
    assert not too_wide(on_paper[name])


@pytest.mark.parametrize("name", EVERY)
def test_no_page_is_nearly_empty(on_paper: Printed, name: str) -> None:
    assert not nearly_empty(on_paper[name], cover=name in WORD)


@pytest.mark.parametrize("name", EVERY)
def test_no_page_ends_with_a_heading(demo: Path, on_paper: Printed, name: str) -> None:
    headings = headings_of(demo / name)

    assert len(headings) > 4
    assert not orphans(on_paper[name], headings, captions_of(demo / name) if name in BOOKS else ())


@pytest.mark.parametrize("name", WORD)
def test_no_table_is_wider_than_its_page(demo: Path, name: str) -> None:
    assert not wide_tables(demo / name)


@pytest.mark.parametrize("name", BOOKS)
def test_every_sheet_is_fitted_to_its_pages(demo: Path, name: str) -> None:
    assert not wide_sheets(demo / name)


@pytest.mark.parametrize("name", EVERY)
def test_no_words_stand_over_others(on_paper: Printed, name: str) -> None:
    assert not overlaps(on_paper[name])


@pytest.mark.parametrize("name", EVERY)
def test_nothing_runs_off_the_paper(on_paper: Printed, name: str) -> None:
    assert not off_paper(on_paper[name])


@pytest.mark.parametrize("name", BOOKS)
def test_no_text_is_cut_by_its_neighbor(demo: Path, name: str) -> None:
    assert not cut_cells(demo / name)


@pytest.mark.parametrize("name", ["library-closeout.xlsx", "library-binder.docx"])
def test_the_first_lines_say_how_complete_the_job_is(on_paper: Printed, name: str) -> None:
    first = on_paper[name][0].lines[:5]

    assert any(line.startswith("Incomplete: ") for line in first)


@pytest.mark.parametrize("name", ["library-estimate.xlsx", "library-proposal.docx"])
def test_the_first_page_says_what_it_costs(on_paper: Printed, name: str) -> None:
    bid = takeoff().bid
    assert bid is not None

    assert any(line.startswith(f"Price {bid.price:,} USD") for line in on_paper[name][0].lines)


@pytest.mark.parametrize("name", ["library-estimate.xlsx", "library-closeout.xlsx"])
def test_the_summary_of_a_workbook_is_one_page(on_paper: Printed, name: str) -> None:
    first, second = on_paper[name][:2]

    assert "Sheets" in first.lines
    assert second.lines[0] in ("Warnings", "What is missing")


# --- each check finds what it is there for -------------------------------------------------------


def _page(*words: Word, number: int = 1) -> Page:
    return Page(number, 612.0, 792.0, words)


def _line(text: str, top: float, left: float = 60.0) -> Word:
    return Word(text, left, top, left + 6.0 * len(text), top + 12.0)


def test_a_page_with_two_lines_is_nearly_empty() -> None:
    full = _page(*(_line(f"line {number}", 60.0 + 14 * number) for number in range(3)))
    short = _page(_line("Acceptance", 60.0), _line("By signing", 74.0), number=2)

    assert nearly_empty([full, short], cover=False) == ["page 2: ['Acceptance', 'By signing']"]
    assert nearly_empty([short, full], cover=True) == []


def test_words_side_by_side_are_one_line() -> None:
    assert _page(_line("b", 61.0, 90.0), _line("a", 60.0), _line("c", 74.0)).lines == ["a b", "c"]


def test_a_heading_at_the_end_of_a_page_is_found() -> None:
    page = _page(_line("text", 60.0), _line("Terms", 700.0))

    assert orphans([page], ["Terms"]) == ["page 1: Terms"]
    assert orphans([_page(_line("Contents", 60.0), _line("Terms", 700.0))], ["Terms"]) == []


def test_a_heading_with_nothing_but_its_caption_is_found() -> None:
    page = _page(_line("text", 60.0), _line("Weight on trays", 690.0), _line("of a full tray", 704.0))

    assert orphans([page], ["Weight on trays"], ["Weight of a full tray, by its maker"]) == ["page 1: Weight on trays"]
    assert orphans([page], ["Weight on trays"]) == []


def test_a_table_wider_than_its_page_is_found(tmp_path: Path) -> None:
    """Its last column is off the paper, where nothing is printed."""
    document = docx.Document()
    for inches in (2.0, 7.0):
        table = document.add_table(rows=1, cols=2)
        table.autofit = False
        for column, text in zip(table.columns, ("left", "right"), strict=True):
            column.width = Inches(inches)
            column.cells[0].text = text
        document.add_paragraph()
    document.save(str(tmp_path / "wide.docx"))

    assert wide_tables(tmp_path / "wide.docx") == ["table at 3: 1008 pt"]


def test_a_sheet_that_is_fitted_to_no_page_is_found(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].append(["x" * 40] * 12)
    book.save(tmp_path / "wide.xlsx")

    assert wide_sheets(tmp_path / "wide.xlsx") == ["Sheet"]


def test_a_planted_short_page_and_a_heading_at_its_end_are_found_on_paper(tmp_path: Path) -> None:
    """Not only in pages made for the test: a workbook whose second page holds a heading and no more."""
    book = openpyxl.Workbook()
    tab = book.worksheets[0]
    for row in range(1, 5):
        tab.cell(row, 1, f"line {row}")
    tab["A5"] = "Labor"
    tab["A5"].font = Font(sz=11, b=True)
    tab["A6"] = "the hours"
    tab.row_breaks.append(Break(id=5))
    book.save(tmp_path / "short.xlsx")
    pages = printed([tmp_path / "short.xlsx"], tmp_path)["short.xlsx"]

    assert orphans(pages, headings_of(tmp_path / "short.xlsx")) == ["page 1: Labor"]
    assert nearly_empty(pages, cover=False) == ["page 2: ['the hours']"]


def test_words_over_others_and_off_the_paper_are_found() -> None:
    one, other = _line("Category", 60.0), _line("12", 60.0, 100.0)

    assert overlaps([_page(one, other)]) == ["page 1: 'Category' and '12'"]
    assert overlaps([_page(one, _line("12", 60.0, 120.0), _line("below", 73.0))]) == []
    assert off_paper([_page(_line("a", 60.0, 595.0))]) == ["page 1: a"]


def test_a_planted_narrow_column_is_found(tmp_path: Path) -> None:
    """A number too wide for its column prints as number signs, a long text runs into the next cell."""
    book = openpyxl.Workbook()
    tab = book.worksheets[0]
    tab.append(["a text much longer than its column", 1234567890123.0])
    tab["A1"].font = Font(sz=10)
    tab.column_dimensions["B"].width = 5
    tab.print_area = "A1:B1"
    book.save(tmp_path / "narrow.xlsx")

    assert too_wide(printed([tmp_path / "narrow.xlsx"], tmp_path)["narrow.xlsx"]) == ["page 1: ###"]
    assert cut_cells(tmp_path / "narrow.xlsx") == ["Sheet!A1: a text much longer than its column"]
