"""A field sheet that a crew saved in another program still refuses, judges, sorts, and is read back."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from openpyxl.workbook import Workbook

from estimator.field.intake import read_data
from tests.documents.recalculate import recalculated
from tests.documents.test_field_sheets import Try, _fill, _heads, _tries, _written

TRIES = 60


@pytest.fixture(scope="module")
def sent() -> bytes:
    """Return the field sheets as they are sent."""
    return _written()


@pytest.fixture(scope="module")
def saved(sent: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return them as LibreOffice saves them."""
    return recalculated({"book": sent}, tmp_path_factory.mktemp("saved"))["book"].read_bytes()


def _book(content: bytes) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(content))


def _rules(book: Workbook) -> Iterator[tuple[str, ...]]:
    """Yield what each range of entry cells accepts, and the sentence that refuses the rest."""
    for tab in book.worksheets:
        for rule in tab.data_validations.dataValidation:
            formula = str(rule.formula1).replace("'", "").replace("1e+09", "1000000000")
            between = (rule.operator or "") if rule.type in ("whole", "decimal") else ""
            if rule.type is not None:
                upper = str(rule.formula2) if between == "between" else ""
                yield tab.title, str(rule.sqref), rule.type, between, formula, upper, str(rule.error)


def _one_a_row(content: bytes) -> list[Try]:
    chosen: dict[tuple[str, int], Try] = {}
    for one in _tries(content):
        chosen.setdefault((one.place.tab, one.place.row), one)
    return list(chosen.values())[:TRIES]


def _words(content: bytes, folder: Path) -> dict[tuple[str, str, str], object]:
    """Return the verdict of every row that has one, by sheet, circuit and what stands in its next four cells."""
    path = recalculated({"book": content}, folder)["book"]
    found: dict[tuple[str, str, str], object] = {}
    for tab in openpyxl.load_workbook(path, data_only=True).worksheets:
        if tab.title == "Lists":
            continue
        head, columns = _heads(tab)
        for row in range(head + 1, tab.max_row + 1):
            key = "|".join(str(tab.cell(row, column).value) for column in range(2, 6))
            word = tab.cell(row, columns["Verdict"]).value
            if word:
                found[tab.title, str(tab.cell(row, 1).value), key] = word
    return found


def test_every_refusal_survives(sent: bytes, saved: bytes) -> None:
    rules = sorted(_rules(_book(sent)))

    assert len(rules) > 100
    assert {rule[2] for rule in rules} >= {"list", "whole", "custom", "date"}
    assert all(rule[-1].endswith(".") for rule in rules)
    assert sorted(_rules(_book(saved))) == rules


def test_it_can_still_be_sorted_and_filtered(sent: bytes, saved: bytes) -> None:
    for old, new in zip(_book(sent).worksheets, _book(saved).worksheets, strict=True):
        assert (new.title, new.sheet_state) == (old.title, old.sheet_state)
        assert not new.protection.sheet  # a spreadsheet refuses to sort locked cells of a protected sheet
        assert new.print_title_rows == old.print_title_rows
        before, after = ([table.autoFilter.ref for table in tab.tables.values()] for tab in (old, new))
        assert after == before


def test_it_still_judges(saved: bytes, tmp_path: Path) -> None:
    tries = _one_a_row(saved)
    path = recalculated({"book": _fill(saved, tries)}, tmp_path)["book"]
    fresh = openpyxl.load_workbook(path, data_only=True)
    got = [
        fresh[one.place.tab].cell(one.place.row, _heads(fresh[one.place.tab])[1]["Verdict"]).value or ""
        for one in tries
    ]

    assert len(tries) == TRIES
    assert {one.expected for one in tries} >= {"pass", "fail", "incomplete"}
    assert got == [one.expected for one in tries]


def test_sorted_rows_keep_their_verdicts(saved: bytes, tmp_path: Path) -> None:
    """Rows in the opposite order, as a sort leaves them: each formula stays in its row and reads what came there."""
    filled = _fill(saved, _one_a_row(saved))
    (tmp_path / "before").mkdir()
    (tmp_path / "after").mkdir()
    book = _book(filled)
    for tab in book.worksheets:
        if tab.title == "Lists":
            continue
        head, _ = _heads(tab)
        rows = list(tab.iter_rows(min_row=head + 1))
        typed = [[None if cell.data_type == "f" else cell.value for cell in row] for row in rows]
        for row, values in zip(rows, reversed(typed), strict=True):
            for cell, value in zip(row, values, strict=True):
                if cell.data_type != "f":
                    cell.value = value
    out = io.BytesIO()
    book.save(out)
    before = _words(filled, tmp_path / "before")

    assert len(before) > TRIES / 2
    assert _words(out.getvalue(), tmp_path / "after") == before


def test_it_is_read_back_and_an_overwritten_verdict_is_noticed(sent: bytes, saved: bytes) -> None:
    filled = _book(_fill(saved, _one_a_row(saved)))
    tab = filled["Balanced pair"]
    head, columns = _heads(tab)
    place = next(row for row in range(head + 1, tab.max_row + 1) if tab.cell(row, columns["Length [ft]"]).value)
    tab.cell(place, columns["Verdict"]).value = "fine by me"
    out = io.BytesIO()
    filled.save(out)

    intake = read_data("field.xlsx", out.getvalue())
    rows = {row.circuit: row for taken in intake.sheets if taken.medium == "balanced_pair" for row in taken.rows}
    notes = rows[str(tab.cell(place, 1).value)].notes

    assert {taken.medium for taken in intake.sheets} == {taken.medium for taken in read_data("field.xlsx", sent).sheets}
    assert not intake.aside
    assert any("the formula was overwritten with 'fine by me', which is not used" in note for note in notes)
    assert sum("overwritten" in note for row in rows.values() for note in row.notes) == 1
