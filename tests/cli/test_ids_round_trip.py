"""Ids go out to the instruments as a list, and come back as they went out."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from pathlib import Path

import openpyxl
import pytest

from estimator.acceptance.columns import MEDIA, sheet
from estimator.cli.main import main
from estimator.field.batches import read_folder
from estimator.field.job import judge_job
from estimator.field.typed import bare
from estimator.spec.load import load
from estimator.takeoff.takeoff import take_off
from tests.acceptance.job import job

MEDIUM = {sheet(medium).title: medium for medium in MEDIA}


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Return the crew's papers of the small job of every medium."""
    job(tmp_path)
    assert main(["criteria", str(tmp_path / "clinic.yaml"), "--out", str(tmp_path / "out")]) == 0
    return tmp_path / "out"


def listed(out: Path) -> list[dict[str, str]]:
    """Return the id list as an instrument loads it: the guard against formulas is a spreadsheet's, not the id's."""
    text = (out / "clinic-ids.csv").read_text(encoding="utf-8")
    return [{**row, "id": bare(row["id"])} for row in csv.DictReader(io.StringIO(text, newline=""))]


def placed(folder: Path) -> set[str]:
    """Return the circuits that have a row; none may have come back as a stranger."""
    project = load(folder / "clinic.yaml").project
    assert project is not None
    result = judge_job(take_off(project)).result
    assert result.unplaced == ()
    assert read_folder(folder / "clinic.readings").faults == ()
    return {one.id for one in result.circuits if one.history}


def test_ids_loaded_into_an_instrument_come_back_in_its_own_table(out: Path, tmp_path: Path) -> None:
    """Every medium's table is brought by a mapping; the instrument adds its own text around the id."""
    by_medium: dict[str, list[str]] = defaultdict(list)
    for row in listed(out):
        by_medium[MEDIUM[row["medium"]]].append(row["id"])
    assert len(by_medium) >= 6
    for medium, ids in by_medium.items():
        first = next(column for column in sheet(medium).readings)
        unit = f", unit: {first.unit}" if first.kind == "number" and first.unit != "%" else ""
        value = first.words[0] if first.words else "1"
        text = (
            f"mapping: 1\nmedium: {medium}\ncircuit: {{heads: [Name], after: 'JOB#', before: ' !'}}\n"
            f"columns: [{{head: R, is: {first.key}{unit}}}]\n"
        )
        (tmp_path / "m.yaml").write_text(text + ("values: {block: '1'}\n" if medium == "battery" else ""))
        table = tmp_path / f"{medium}.csv"
        table.write_text("Name\tR\n" + "".join(f"JOB#{name.upper()} !\t{value}\n" for name in ids))
        assert main(["collect", str(tmp_path / "clinic.yaml"), "--mapping", str(tmp_path / "m.yaml"), str(table)]) == 0
    assert placed(tmp_path) == {row["id"] for row in listed(out)}


def test_field_sheets_come_back_with_every_circuit_of_the_list(out: Path, tmp_path: Path) -> None:
    """The workbook that went out is filled in where it says so, and each row finds its circuit."""
    book = openpyxl.load_workbook(out / "clinic-field-sheets.xlsx")
    filled = 0
    for tab in book.worksheets:
        form = next((sheet(medium, "m") for medium in MEDIA if sheet(medium).title == tab.title), None)
        if form is None:
            continue
        titles = {column.title: column for column in form.columns}
        head = next(row for row in tab.iter_rows() if {"Circuit", "Round"} <= {cell.value for cell in row})
        where = {titles[str(cell.value)].key: cell.column for cell in head if str(cell.value) in titles}
        first = next(column for column in form.readings if column.key in where)
        for row in range(head[0].row + 1, tab.max_row + 1):
            if tab.cell(row, where["circuit"]).value:
                tab.cell(row, where[first.key]).value = first.words[0] if first.words else 1
                filled += 1
    book.save(tmp_path / "back.xlsx")
    book.close()
    assert filled >= len(listed(out))
    assert main(["collect", str(tmp_path / "clinic.yaml"), str(tmp_path / "back.xlsx")]) == 0
    assert placed(tmp_path) == {row["id"] for row in listed(out)}
