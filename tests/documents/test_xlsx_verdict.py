"""The verdict of a field sheet's row: the rule in words, and the same from another program."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from estimator.documents.description import Cell, Column, Limits, Table
from estimator.documents.xlsx_verdict import Judged, verdict_word
from estimator.documents.xlsx_writer import write_xlsx
from tests.documents.recalculate import compare, recalculated
from tests.documents.workbook_sample import document, sheet

NUMBERS = ("length", "pair_1", "pair_2", "near", "far", "temperature", "high")
COLUMNS = ("map", "words", "needs")

# What a crew typed, what the row needs, and its word; the length's limit is 90 where the row has one.
ROWS: tuple[tuple[str, dict[str, Cell], str], ...] = (
    ("a good length and a good map", {"length": 50.0, "map": "pass", "needs": "length, map"}, "pass"),
    ("the least of the pairs stands in", {"pair_1": 95.0, "pair_2": 60.0, "needs": "length"}, "pass"),
    ("both pairs over", {"pair_1": 95.0, "pair_2": 96.0, "needs": "length"}, "fail"),
    ("one pair is enough", {"pair_2": 96.0, "needs": "length"}, "fail"),
    ("the difference of the marks stands in", {"near": 100.0, "far": 40.0, "needs": "length"}, "pass"),
    ("marks count either way round", {"near": 40.0, "far": 140.0, "needs": "length"}, "fail"),
    ("pairs come before marks", {"pair_1": 50.0, "near": 40.0, "far": 140.0, "needs": "length"}, "pass"),
    ("the reading comes before both", {"length": 95.0, "pair_1": 50.0, "near": 1.0, "far": 2.0}, "fail"),
    ("one mark is no length", {"near": 100.0, "needs": "length"}, "incomplete"),
    ("what isn't needed may be blank", {"map": "pass", "needs": "map"}, "pass"),
    ("what isn't needed is judged where it is", {"length": 95.0, "map": "pass", "needs": "map"}, "fail"),
    ("a needed reading is missing", {"map": "pass", "needs": "map, length"}, "incomplete"),
    ("the name of another reading is not this one", {"map": "pass", "needs": "map, length_2"}, "pass"),
    ("too little to be a reading", {"length": 0.05, "needs": "length"}, "incomplete"),
    ("too little, needed or not", {"length": 0.05, "map": "pass", "needs": "map"}, "incomplete"),
    ("too little in a pair", {"pair_1": 0.05, "needs": "length"}, "incomplete"),
    ("the least reading itself", {"length": 0.1, "needs": "length"}, "pass"),
    ("a word that is not accepted", {"map": "open", "needs": "map"}, "fail"),
    ("the same word where none is accepted", {"map": "open", "words": None, "needs": "map"}, "incomplete"),
    ("the same word where none is asked for", {"map": "open", "words": None, "length": 1.0, "needs": ""}, "pass"),
    ("a number without a limit is recorded", {"temperature": 20.0, "needs": "temperature"}, "pass"),
    ("text without a limit means nothing", {"temperature": "warm", "needs": "temperature"}, "incomplete"),
    ("text that nobody needs", {"temperature": "warm", "needs": ""}, ""),
    ("beyond range is over a limit", {"length": "OL", "needs": "length"}, "fail"),
    ("beyond range without a limit", {"length": "OL", "high": None, "needs": "length"}, "incomplete"),
    ("without a limit a number is recorded", {"length": 95.0, "high": None, "needs": "length"}, "pass"),
    ("text in place of a length that nobody needs", {"length": "long", "map": "pass", "needs": "map"}, "pass"),
    ("nothing typed", {"needs": "length, map"}, ""),
    ("a fault outweighs what is missing", {"map": "open", "needs": "length, map"}, "fail"),
)


def _judged_table() -> Table:
    keys = (*NUMBERS, *COLUMNS)
    usual: dict[str, Cell] = {"high": 90.0, "words": "pass|n/a"}
    rows: list[tuple[Cell, ...]] = [
        (name, *({**usual, **cells}.get(key) for key in keys), None) for name, cells, _ in ROWS
    ]
    heads = [Column(key=key, head=key.title(), kind="number" if key in NUMBERS else "text") for key in keys]
    return Table(
        name="links",
        title="Links",
        key="id",
        judged=(
            Limits(
                reading="length", high="high", needed="needs", need="length", instead=("pair_1", "pair_2"),
                between=("near", "far"), least=0.1,
            ),
            Limits(reading="map", accepted="words", needed="needs", need="map"),
            Limits(reading="temperature", needed="needs", need="temperature"),
        ),
        verdict_column="verdict",
        columns=(Column(key="id", head="Circuit"), *heads, Column(key="verdict", head="Verdict", kind="verdict")),
        rows=rows,
    )  # fmt: skip


@pytest.fixture(scope="module")
def written() -> bytes:
    """Return a workbook of the rows."""
    return write_xlsx(document(sheet(_judged_table(), title="Links")))


def test_each_row_has_the_word_of_the_rule(written: bytes) -> None:
    at = openpyxl.load_workbook(io.BytesIO(written), data_only=True)["Links"]
    words = {str(row[0]): row[len(NUMBERS) + len(COLUMNS) + 1] or "" for row in at.iter_rows(values_only=True)}

    assert {name: words[name] for name, _, _ in ROWS} == {name: word for name, _, word in ROWS}


def test_another_program_says_the_same_of_every_row(written: bytes, tmp_path: Path) -> None:
    result = compare(written, recalculated({"links": written}, tmp_path)["links"])

    assert result.compared == len(ROWS)
    assert result.differences == []


@pytest.mark.parametrize(
    ("readings", "word"),
    [
        ([Judged(low=1.0, instead=(None, 2.0))], "pass"),
        ([Judged(low=3.0, instead=(None, 2.0))], "fail"),
        ([Judged(low=1.0, between=(5.0, None))], "incomplete"),
        ([Judged(reading=True, accepted="yes")], "pass"),  # a yes is a word, not the number one
        ([Judged(reading=True, low=0.5)], "incomplete"),
        ([Judged(reading=7, accepted="7")], "pass"),
        ([Judged(reading=7.5, accepted="7")], "fail"),
    ],
)
def test_what_stands_in_and_what_is_a_word(readings: list[Judged], word: str) -> None:
    assert verdict_word(readings) == word
