"""The change order says what is other, why, and what it does to price and time, each figure as the core has it."""

from __future__ import annotations

import io
from decimal import Decimal
from pathlib import Path

import docx
import pytest

from estimator.cli.main import main
from estimator.documents.change_order import Order, change_order
from estimator.documents.description import Document, Paragraph, Table
from estimator.documents.docx_writer import write_docx
from estimator.documents.shown import shown
from estimator.spec.load import load
from estimator.takeoff.changes import compare
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.pages import LEFT_OUT, nearly_empty, orphans, overlaps, printed
from tests.documents.pages import headings_of as headings
from tests.documents.recalculate import program

AGREED = """\
dropledger: 1
project: {name: Depot refit, number: J-7, revision: "1", date: 2026-05-04, client: Harbor Depot (invented)}
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_plenum, price: cable}]
devices: [{id: data, name: Data jack, cable: C6, end: jack, material: [jack], labor: [term]}]
drops:
  - {id: 1A-A01, room: 1A, length: 100 ft, device: data, zone: office}
  - {id: 1A-A02, room: 1A, length: 120 ft, device: data, zone: office}
prices:
  crew: [{role: lead, people: 1, wage: 60.00, burden_percent: 0}]
  items:
    - {id: cable, name: Category 6 cable, unit: kft, cost: 300.00, hours: 10}
    - {id: jack, name: Jack, unit: each, cost: 8.00}
    - {id: term, name: Terminate a jack, unit: each, hours: 0.25}
  build_up: {overhead_percent: 10, profit_percent: 5}
  unit_prices: [{id: UP-1, name: One jack, items: [{item: jack, qty: 1}]}]
closeout:
  changes: [{number: CO-1, name: First thoughts, state: rejected}]
"""
LOG = """\
    - {number: CO-2, name: One jack more, reason: a desk was added, asked_by: Depot manager, date: 2026-05-11}
    - {number: CO-3, name: Never mind, state: rejected}
"""
NOW = (
    AGREED.replace('revision: "1"', 'revision: "2"')
    .replace("1A-A02, room", "1A-A03, room")
    .replace("100 ft", "130 ft")
    .replace("changes: [{number: CO-1, name: First thoughts, state: rejected}]", f"changes:\n{LOG}".rstrip())
)


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """Return the job as agreed and as asked for now."""
    for name, text in (("agreed", AGREED), ("now", NOW)):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    return tmp_path / "agreed.yaml", tmp_path / "now.yaml"


def taken(path: Path) -> Takeoff:
    result = load(path)
    assert result.project is not None, [str(fault) for fault in result.faults]
    return take_off(result.project)


def made(files: tuple[Path, Path], number: str = "") -> Document:
    before, after = map(taken, files)
    order = Order(before=before, after=after, changes=compare(before, after), number=number)
    return change_order(order, None)


def tables(document: Document) -> dict[str, Table]:
    return {block.name: block for one in document.sections for block in one.blocks if isinstance(block, Table)}


def test_the_cover_says_what_it_does_to_the_price(files: tuple[Path, Path]) -> None:
    before, after = (taken(path).bid for path in files)
    assert before is not None
    assert after is not None
    document = made(files)
    facts = {fact.label: fact.value for fact in document.cover}
    assert (facts["Price as agreed"], facts["Price with this order"]) == (before.price, after.price)
    change = after.price - before.price
    assert document.state == f"{'Adds' if change > 0 else 'Takes off'} {abs(change):,.2f} USD"


def test_work_is_told_apart_and_in_the_words_of_the_client(files: tuple[Path, Path]) -> None:
    """By hand: one drop new, one gone, one 30 ft longer."""
    found = tables(made(files))
    assert [row[:2] for row in found["circuits_added"].rows] == [
        ("1A-A03", "Data jack, 1A to office, Category 6 U/UTP, four pairs, plenum")
    ]
    assert [row[0] for row in found["circuits_removed"].rows] == ["1A-A02"]
    ((circuit, what, *_, more),) = found["circuits_changed"].rows
    assert (circuit, what, more) == ("1A-A01", "length", pytest.approx(30.0))


def test_the_steps_add_up_to_both_prices(files: tuple[Path, Path]) -> None:
    before, after = (taken(path).bid for path in files)
    assert before is not None
    assert after is not None
    rows = tables(made(files))["price"].rows
    sums = [sum((Decimal(str(row[place])) for row in rows), Decimal(0)) for place in (1, 2, 3)]
    assert sums == [before.price, after.price, after.price - before.price]
    assert {"Overhead", "Profit"} <= {str(row[0]) for row in rows}


def test_reasons_are_the_new_entries_of_the_log(files: tuple[Path, Path]) -> None:
    """What was rejected is no reason."""
    rows = tables(made(files))["reasons"].rows
    assert [row[:4] for row in rows] == [("CO-2", "One jack more", "a desk was added", "Depot manager")]


def test_without_a_reason_it_says_so(files: tuple[Path, Path]) -> None:
    document = made((files[0], files[0]))
    said = [block.text for one in document.sections for block in one.blocks if isinstance(block, Paragraph)]
    assert "The project file gives no reason: no entry of its change log is new." in said
    assert document.state == "Leaves the price as it is"


def test_both_files_stand_in_the_basis(files: tuple[Path, Path]) -> None:
    word = docx.Document(io.BytesIO(write_docx(made(files))))
    text = "\n".join(cell.text for table in word.tables for row in table.rows for cell in row.cells)
    for path, revision in zip(files, "12", strict=True):
        assert f"{path.name}, revision {revision}, content {taken(path).project.digest[:12]}" in text


def test_same_jobs_same_bytes(files: tuple[Path, Path]) -> None:
    assert write_docx(made(files)) == write_docx(made(files))


def test_the_verb_writes_it_and_still_says_it(
    files: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["compare", *map(str, files), "--write", "--number", "CO-2", "--out", str(tmp_path / "out")]
    assert main(arguments) == 0
    told = capsys.readouterr().out
    assert "circuits: 1 added, 1 removed, 1 changed" in told
    assert "crew days: " in told
    assert told.splitlines()[-1].endswith("out/now-change-order-CO-2.docx")
    word = docx.Document(str(tmp_path / "out" / "now-change-order-CO-2.docx"))
    assert word.paragraphs[0].text == "Change order CO-2"


def test_without_being_asked_nothing_is_written(files: tuple[Path, Path], tmp_path: Path) -> None:
    assert main(["compare", *map(str, files), "--out", str(tmp_path / "out")]) == 0
    assert not (tmp_path / "out").exists()


def test_a_number_that_the_log_does_not_have_is_refused(
    files: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *map(str, files), "--write", "--number", "CO-9", "--out", str(tmp_path / "out")]) == 1
    assert "no change 'CO-9' in its log; expected one of CO-2, CO-3; add it under" in capsys.readouterr().err


def test_prices_in_two_currencies_are_not_compared(
    files: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    files[1].write_text(NOW.replace("{name: Depot refit,", "{name: Depot refit, currency: CAD,"), encoding="utf-8")
    assert main(["compare", *map(str, files)]) == 1
    assert "prices in CAD, those of" in capsys.readouterr().err


def test_without_prices_the_work_alone_is_ordered(files: tuple[Path, Path]) -> None:
    for path, text in zip(files, (AGREED, NOW), strict=True):
        start, end = text.index("prices:"), text.index("closeout:")
        path.write_text((text[:start] + text[end:]).replace(", price: cable", "")
                        .replace(", material: [jack], labor: [term]", ""), encoding="utf-8")  # fmt: skip
    document = made(files)
    assert document.state == "Without a price: one of the two files has no price file"
    assert "price" not in tables(document)


def test_its_pages_hold_what_pages_must(files: tuple[Path, Path], tmp_path: Path) -> None:
    program("soffice", LEFT_OUT)
    program("pdftotext", LEFT_OUT)
    path = tmp_path / "order.docx"
    path.write_bytes(write_docx(made(files)))
    pages = printed([path], tmp_path)[path.name]
    assert not nearly_empty(pages, cover=True)
    assert not orphans(pages, headings(path))
    assert not overlaps(pages)
    change = shown(next(fact.value for fact in made(files).cover if fact.label == "Change"), "money", 2)
    assert any(str(change) in line for page in pages for line in page.lines)
