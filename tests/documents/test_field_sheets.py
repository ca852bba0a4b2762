"""A field sheet judges what is typed as the core does, and comes back as the sheet that was sent."""

from __future__ import annotations

import io
import math
import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from estimator.acceptance.columns import MEDIA, PAIRS, sheet
from estimator.acceptance.columns import Column as FieldColumn
from estimator.acceptance.compare import FAIL, NOT_JUDGED, compare
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.documents.description import Paragraph
from estimator.documents.field_sheets import field_sheets
from estimator.documents.id_list import HEADS, id_list
from estimator.documents.xlsx_writer import write_xlsx
from estimator.field.intake import read_data
from tests.documents.job_sample import circuits, takeoff
from tests.documents.recalculate import recalculated

READINGS = 300
Typed = float | str | None


@dataclass(frozen=True)
class Place:
    """One row of a field sheet: its sheet, its row, its circuit and the block of a battery set."""

    tab: str
    row: int
    circuit: Criteria
    block: str


@dataclass(frozen=True)
class Try:
    """What is typed into one reading of a row whose other readings are good."""

    place: Place
    column: FieldColumn
    typed: Typed
    expected: str


def _written() -> bytes:
    return write_xlsx(field_sheets(takeoff(), circuits(), date(2026, 9, 18)))


def _heads(tab: Worksheet) -> tuple[int, dict[str, int]]:
    for row in tab.iter_rows(max_row=20):
        if row[0].value == "Circuit":
            return row[0].row, {str(cell.value): cell.column for cell in row if cell.value}
    raise AssertionError(tab.title)


def _places(written: bytes) -> list[Place]:
    """Return every row of the sheets with its circuit, found by what stands in it."""
    book = openpyxl.load_workbook(io.BytesIO(written))
    known = {(one.medium, one.circuit, row): one for one in circuits() for row in (one.rows or (one.row,))}
    titles = {sheet(medium).title: sheet(medium) for medium in MEDIA}
    found = []
    for name in set(titles) & set(book.sheetnames):
        tab, form = book[name], titles[name]
        head, columns = _heads(tab)
        for row in range(head + 1, tab.max_row + 1):
            key = columns[form.column(form.row_position).title] if form.row_position else 0
            block = str(tab.cell(row, key).value) if key else ""
            one = known.pop((form.medium, str(tab.cell(row, 1).value), block))
            found.append(Place(name, row, one, block if one.rows else ""))
    assert not known
    return sorted(found, key=lambda place: (place.tab, place.row))


def _judged(place: Place) -> Iterator[tuple[FieldColumn, Criterion]]:
    for column in sheet(place.circuit.medium).readings:
        criterion = place.circuit.for_column(column, place.block)
        if criterion is not None:
            yield column, criterion


def _good(criterion: Criterion, column: FieldColumn) -> Typed:
    if criterion.accepted:
        return criterion.accepted[0]
    low, high = criterion.low, criterion.high
    if low is None and high is None:
        return 12.5
    if low is not None and high is not None:
        return (low + high) / 2 / column.si
    return (low * 1.1 if low is not None else (high or 0.0) * 0.9) / column.si


def _probes(criterion: Criterion, column: FieldColumn) -> list[Typed]:
    """Return each limit exactly and one step either side, then what isn't a number."""
    if criterion.accepted:
        return [*criterion.accepted, *column.words, criterion.accepted[0].upper(), "OL", 3.0, None]
    step = 10.0**-column.decimals
    limits = [limit / column.si for limit in (criterion.low, criterion.high) if limit is not None]
    impossible = [] if column.least is None else [column.least - step]
    return [*(limit + by for limit in limits for by in (-step, 0.0, step)), *impossible, 7.25, "OL", "none", None]


def _expected(place: Place, tried: FieldColumn, typed: Typed) -> str:
    """Return the core's rule: fail if a reading fails, else incomplete if a needed one is not judged."""
    words = []
    others = [c for column, c in _judged(place) if column is not tried and c.required]
    if typed is None and not others:
        return ""  # nothing stands in the row
    if tried.least is not None and isinstance(typed, float) and typed < tried.least:
        return "incomplete"  # no cable is that short and no link gains: the row isn't used
    for column, criterion in _judged(place):
        given = typed if column is tried else _good(criterion, column) if criterion.required else None
        if given is None:
            words.append("incomplete" if criterion.required else "")
            continue
        value = math.inf if given == "OL" else given if isinstance(given, str) else given * column.si
        word = compare(value, criterion).word
        words.append("" if word == NOT_JUDGED and not criterion.required else word)
    if FAIL in words:
        return "fail"
    return "incomplete" if {"incomplete", NOT_JUDGED} & set(words) else "pass"


def _tries(written: bytes) -> list[Try]:
    """Return generated readings, one a row, spread over all columns; the choice is random but fixed."""
    chance = random.Random(606)
    places = _places(written)
    every = [(place, column, probe) for place in places for column, c in _judged(place) for probe in _probes(c, column)]
    chance.shuffle(every)
    kinds: dict[tuple[str, str, str], Try] = {}
    rest: list[Try] = []
    for place, column, probe in every:
        one = Try(place, column, probe, _expected(place, column, probe))
        kind = (place.tab, column.key, repr(probe) if isinstance(probe, str | None) else "number")
        rest.append(one) if kind in kinds else kinds.setdefault(kind, one)
    return [*kinds.values(), *rest]


def _fill(written: bytes, tries: list[Try]) -> bytes:
    book = openpyxl.load_workbook(io.BytesIO(written))
    heads: Mapping[str, tuple[int, dict[str, int]]] = {}
    heads = {tab.title: _heads(tab) for tab in book.worksheets if tab.title != "Lists"}
    for one in tries:
        columns, tab = heads[one.place.tab][1], book[one.place.tab]
        for column, criterion in _judged(one.place):
            if column is one.column:
                tab.cell(one.place.row, columns[column.title]).value = one.typed
            elif criterion.required:
                tab.cell(one.place.row, columns[column.title]).value = _good(criterion, column)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_typed_values_get_the_verdicts_of_the_core(tmp_path: Path) -> None:
    """300 generated readings, each limit exactly and one step either side among them."""
    written = _written()
    books: list[dict[tuple[str, int], Try]] = [{} for _ in range(40)]
    for one in _tries(written)[:READINGS]:
        next(book for book in books if (one.place.tab, one.place.row) not in book)[one.place.tab, one.place.row] = one
    filled = [book for book in books if book]
    names = {f"book-{number}": _fill(written, list(book.values())) for number, book in enumerate(filled)}

    after = recalculated(names, tmp_path)

    wrong = []
    for number, tries in enumerate(filled):
        fresh = openpyxl.load_workbook(after[f"book-{number}"], data_only=True)
        for (tab, row), one in tries.items():
            word = fresh[tab].cell(row, _heads(fresh[tab])[1]["Verdict"]).value
            if (word or "") != one.expected:
                wrong.append((tab, one.place.circuit.id, one.column.key, one.typed, one.expected, word))
    assert sum(len(tries) for tries in filled) == READINGS
    assert {one.expected for tries in filled for one in tries.values()} >= {"pass", "fail", "incomplete"}
    assert not wrong


def test_pair_lengths_stand_in_for_the_length(tmp_path: Path) -> None:
    """The shortest of the four pairs counts where the tester's own length is left out."""
    place = next(place for place in _places(_written()) if place.circuit.id == "1A-A01")
    limit = place.circuit.criterion("length")
    assert limit is not None
    assert limit.high is not None
    lengths = {
        name: {f"length_{pair}": shortest + number for number, pair in enumerate(PAIRS)}
        for name, shortest in (("short", limit.high - 1), ("long", limit.high + 1))
    }

    assert _without_length(place, lengths, tmp_path) == {"short": "pass", "long": "fail"}


def test_jacket_marks_stand_in_for_the_length(tmp_path: Path) -> None:
    """Two marks are a length, whichever end has the larger; one mark alone is none."""
    place = next(place for place in _places(_written()) if place.circuit.id == "1A-A01")
    limit = place.circuit.criterion("length")
    assert limit is not None
    assert limit.high is not None
    marks = {
        "short": {"mark_room": 200.0, "mark_far": 200.0 - limit.high + 1},
        "long": {"mark_room": 200.0, "mark_far": 200.0 + limit.high + 1},
        "one": {"mark_room": 200.0},
    }

    assert _without_length(place, marks, tmp_path) == {"short": "pass", "long": "fail", "one": "incomplete"}


def test_no_length_and_no_gain_preview_as_incomplete(tmp_path: Path) -> None:
    """A length of nothing and a loss below nothing are no readings: the office won't use them either."""
    places = _places(_written())
    link = next(place for place in places if place.circuit.id == "1A-A01")
    strand = next(place for place in places if place.circuit.medium == "fiber")
    length, loss = _column(), sheet("fiber").column("loss_850")
    tries = [Try(link, length, 0.0, "incomplete"), Try(strand, loss, -0.2, "incomplete")]
    after = recalculated({"book": _fill(_written(), tries)}, tmp_path)
    book = openpyxl.load_workbook(after["book"], data_only=True)
    words = [book[one.place.tab].cell(one.place.row, _heads(book[one.place.tab])[1]["Verdict"]).value for one in tries]
    assert words == ["incomplete", "incomplete"]


def _without_length(place: Place, cases: Mapping[str, Mapping[str, float]], folder: Path) -> dict[str, object]:
    """Return the verdict of a row whose other readings are good and whose lengths [m] are typed elsewhere."""
    names = {}
    for name, lengths in cases.items():
        book = openpyxl.load_workbook(io.BytesIO(_fill(_written(), [Try(place, _column(), None, "")])))
        for key, length_m in lengths.items():
            column = sheet("balanced_pair").column(key)
            book[place.tab].cell(place.row, _heads(book[place.tab])[1][column.title]).value = length_m / column.si
        out = io.BytesIO()
        book.save(out)
        names[name] = out.getvalue()
    words: dict[str, object] = {}
    for name, path in recalculated(names, folder).items():
        tab = openpyxl.load_workbook(path, data_only=True)[place.tab]
        words[name] = tab.cell(place.row, _heads(tab)[1]["Verdict"]).value
    return words


def _column() -> FieldColumn:
    return next(column for column in sheet("balanced_pair").columns if column.key == "length")


def test_sheets_are_read_back_as_they_were_sent() -> None:
    """Every medium's head is recognized, and an untouched sheet holds no reading."""
    intake = read_data("field.xlsx", _written())

    media = {one.medium for one in circuits()}
    assert {taken.medium for taken in intake.sheets} == media
    assert [taken.rows for taken in intake.sheets] == [()] * len(media)
    assert not [note for taken in intake.sheets for note in taken.notes]
    assert not intake.aside
    counts = {taken.medium: taken.untouched for taken in intake.sheets}
    assert counts["battery"] == sum(len(one.rows) for one in circuits() if one.medium == "battery")
    assert counts["balanced_pair"] == sum(one.medium == "balanced_pair" for one in circuits())


def test_filled_row_is_read_back() -> None:
    """What a crew types comes back under the keys of the columns."""
    place = next(place for place in _places(_written()) if place.circuit.id == "1A-A01")
    filled = _fill(_written(), [Try(place, _column(), "OL", "")])

    taken = next(one for one in read_data("field.xlsx", filled).sheets if one.medium == "balanced_pair")

    assert [row.circuit for row in taken.rows] == ["1A-A01"]
    assert taken.rows[0].round == "1"
    assert taken.rows[0].cells["length"] == "OL"
    assert taken.rows[0].cells["wire_map"] == "pass"


def test_each_sheet_opens_with_what_can_hurt() -> None:
    """Whoever reads no further still sees the caution of the medium, and where the rest of them stands."""
    for section in field_sheets(takeoff(), circuits(), None).sections:
        first = section.blocks[0]
        assert isinstance(first, Paragraph)
        assert first.lead == "caution"
        assert "safety part of the test plan" in first.text


def test_same_job_gives_the_same_bytes() -> None:
    """Two builds are alike, byte for byte."""
    assert _written() == _written()


def test_id_list_is_in_test_order_and_guarded() -> None:
    """One line a circuit and strand; no text starts as a formula."""
    lines = id_list(circuits()).split("\r\n")

    assert lines[0] == ",".join(HEADS)
    assert [line.split(",")[0] for line in lines[1:-1]] == [one.id for one in circuits()]
    assert not [line for line in lines for cell in line.split(",") if cell[:1] in ("=", "+", "-", "@")]
