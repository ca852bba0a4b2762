"""A field sheet comes back from a crew in any shape, and from strangers with bad intent."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path

import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.acceptance.columns import MEDIA, sheet
from estimator.documents.package import Properties, finish
from estimator.field import intake_csv, intake_xlsx
from estimator.field.intake import read_data, read_path
from estimator.field.intake_head import match_count, plain
from estimator.field.intake_numbers import number_text
from tests.field.workbooks import (
    COAX,
    book,
    changed,
    coax,
    one,
    refusal,
    resaved,
    rows_of,
    sheet_part,
    whole_head,
)

ROW = ["1A-A01", 1, "clear", 151.5, 4.25, None, None]
SHEET = "xl/worksheets/sheet1.xml"


def test_a_row_is_read_as_text_with_its_place() -> None:
    (row,) = rows_of(coax([ROW]))
    assert (row.row, row.circuit, row.round) == (2, "1A-A01", "1")
    assert row.cells == {"open_short": "clear", "length": "151.5", "resistance": "4.25"}
    assert row.notes == ()


@pytest.mark.parametrize("lengths", ["ft", "m"])
@pytest.mark.parametrize("medium", MEDIA)
def test_every_sheet_is_known_by_its_own_heads(medium: str, lengths: str) -> None:
    heads = whole_head(medium, lengths)
    values = {"Circuit": "X-1", "Note": "seen"}
    found = one(book(lambda page: [page.append(row) for row in (heads, [values.get(h) for h in heads])], "Sheet1"))
    has_lengths = any(column.unit == "ft" for column in sheet(medium).columns)
    assert found.sheets[0].medium == medium
    assert found.sheets[0].lengths == (lengths if has_lengths else "")
    assert found.sheets[0].notes == ()
    assert found.sheets[0].rows[0].cells == {"note": "seen"}


@pytest.mark.parametrize("medium", MEDIA)
def test_no_two_columns_of_a_sheet_are_compared_alike(medium: str) -> None:
    columns = sheet(medium).columns
    for name in ("title", "key", "head"):
        assert len({plain(getattr(column, name)) for column in columns}) == len(columns)


@pytest.mark.parametrize(
    ("stored", "shown"),
    [
        (5, "5"),
        (5.0, "5"),
        (0.695, "0.695"),
        (1e308, "1E+308"),
        (-1e-5, "-0.00001"),
        (123456789012.25, "123456789012.25"),
        (True, "TRUE"),
        (date(2026, 3, 4), "2026-03-04"),
        (datetime(2026, 3, 4, 14, 5), "2026-03-04 14:05"),  # noqa: DTZ001
        (datetime(2026, 3, 4, 14, 5, 9), "2026-03-04 14:05:09"),  # noqa: DTZ001
        (time(14, 5), "14:05"),
        (timedelta(hours=26, minutes=30), "26:30"),
        ("12,5", "12,5"),
        ("  O.L ", "O.L"),
        ("03/04/26", "03/04/26"),
    ],
)
def test_a_cell_is_text_in_full_and_without_locale(stored: object, shown: str) -> None:
    (row,) = rows_of(coax([[*ROW[:6], stored]]))
    assert row.cells["note"] == shown


def test_every_stored_digit_is_kept() -> None:
    data = sheet_part(coax([ROW]), "<v>151.5</v>", "<v>0.30000000000000004</v>")
    assert rows_of(data)[0].cells["length"] == "0.30000000000000004"


@pytest.mark.parametrize(
    ("stored", "code", "shown"),
    [
        (0.695, "0.0%", "69.5%"),
        (0.07, "0%", "7%"),
        (46085, "dd/mm/yyyy", "2026-03-04"),
        (46085, "[$-409]mmm d, yyyy;@", "2026-03-04"),
        (46085, '0 "days"', "46085"),
        (46085, "[Red]0.00", "46085"),
        (60.5, "[h]:mm", "1452:00"),
        (-3, "yyyy-mm-dd", "-3"),
    ],
)
def test_the_number_format_says_what_a_number_is(stored: float, code: str, shown: str) -> None:
    def fill(page: Worksheet) -> None:
        page.append(COAX)
        page.append([*ROW[:6], stored])
        page["G2"].number_format = code

    assert rows_of(book(fill))[0].cells["note"] == shown


def test_serial_days_agree_with_what_spreadsheets_show() -> None:
    # Source: ECMA-376 Part 1, 18.17.4.1: serial 1 is 1900-01-01 and 2,958,465 is 9999-12-31 in the 1900 system,
    # 0 is 1904-01-01 in the 1904 system.
    assert number_text("1", "date") == "1900-01-01"
    assert number_text("2958465", "date") == "9999-12-31"
    assert number_text("1", "date", from_1904=True) == "1904-01-02"
    assert number_text("1e999", "plain") == "1e999"
    assert number_text("-0", "plain") == "0"


def test_the_head_is_found_below_titles_and_in_any_order() -> None:
    def fill(page: Worksheet) -> None:
        page.append(["North tower, floor 2"])
        page.merge_cells("A1:F1")
        page.append(["Decimals:", "comma", "Medium: coax"])
        page.append([])
        page.append([None, "length  [FT]", "  circuit", "NOTE", "Center to\nshield", "Loop Resistance [ohm]"])
        page.append([None, 151.5, "1A-A01", "wet", "clear", 4.25])

    found = one(book(fill, "Sheet7")).sheets[0]
    assert (found.medium, found.head_row, found.lengths) == ("coax", 4, "ft")
    assert found.stated == {"decimals": "comma", "medium": "coax"}
    assert found.rows[0].row == 5
    assert found.rows[0].cells == {"length": "151.5", "note": "wet", "open_short": "clear", "resistance": "4.25"}


def test_a_head_below_row_forty_is_not_looked_for() -> None:
    def fill(page: Worksheet) -> None:
        page["A41"] = "Circuit"
        page["B41"] = "Video level [V]"
        page["C41"] = "Center to shield"

    assert refusal(book(fill)).startswith("sheet.xlsx, sheet Coax: no head row of a field sheet among the first 40")


def test_rows_that_say_nothing_are_counted_and_blank_ones_are_not() -> None:
    found = one(coax([["1A-A01", 1], [], ["1A-A02", 1, None, 88], [None], ["1A-A03", 1]])).sheets[0]
    assert [row.circuit for row in found.rows] == ["1A-A02"]
    assert found.untouched == 2


def test_rows_sorted_hidden_or_reversed_are_the_same_rows() -> None:
    rows = [[f"1A-A{n:02d}", 1, "clear", 100 + n, 4] for n in range(1, 9)]

    def fill(page: Worksheet) -> None:
        page.append(COAX)
        for row in reversed(rows):
            page.append(row)
        page.auto_filter.ref = "A1:G9"
        page.row_dimensions[4].hidden = True

    def content(data: bytes) -> dict[str, dict[str, str]]:
        return {row.circuit: dict(row.cells) for row in rows_of(data)}

    assert content(book(fill)) == content(coax(rows))
    assert len(content(book(fill))) == 8


def test_rows_of_the_file_may_come_in_any_order_and_without_numbers() -> None:
    data = coax([ROW, ["1A-A02", 1, "short"]])

    def swap(part: bytes) -> bytes:
        first, second = part.index(b'<row r="2"'), part.index(b'<row r="3"')
        end = part.index(b"</sheetData>")
        return part[:first] + part[second:end] + part[first:second] + part[end:]

    assert rows_of(changed(data, {SHEET: swap})) == rows_of(data)
    bare = sheet_part(sheet_part(data, '<row r="2"', "<row"), '<c r="A2"', "<c")
    assert rows_of(bare) == rows_of(data)


def test_a_wrong_dimension_is_not_believed() -> None:
    data = coax([ROW, ["1A-A02", 1, "short"]])
    assert rows_of(sheet_part(data, 'ref="A1:G3"', 'ref="A1:A1"')) == rows_of(data)
    assert rows_of(sheet_part(data, 'ref="A1:G3"', 'ref="A1:XFD1048576"')) == rows_of(data)


def test_a_circuit_merged_over_its_rounds_counts_for_each() -> None:
    def fill(page: Worksheet) -> None:
        page.append(COAX)
        page.append(["1A-A01", 1, "short"])
        page.append([None, 2, "clear"])
        page.append([None, 3, "clear"])
        page.merge_cells("A2:A3")

    rows = rows_of(book(fill))
    assert [row.circuit for row in rows] == ["1A-A01", "1A-A01", ""]
    assert rows[1].notes == ("circuit taken from row 2, with which its cell is merged",)


def test_the_head_printed_again_further_down_is_no_row() -> None:
    rows = rows_of(coax([ROW, COAX, ["1A-A02", 1, "short"]]))
    assert [row.circuit for row in rows] == ["1A-A01", "1A-A02"]


def test_unknown_repeated_and_missing_heads_are_told() -> None:
    head = ["Circuit", "Center to shield", "Video level [mV]", "Center to shield"]
    found = one(coax([["1A-A01", "clear", 1000, "short", None, "loose"]], head)).sheets[0]
    assert found.notes == (
        "column C: head 'Video level [mV]' is not known, its cells are not judged; nearest is 'Video level [V]'",
        "column D: head 'Center to shield' stands twice, the first column counts",
        "column F has no head: 1 cells are not taken, the first in row 2",
    )
    assert found.rows[0].cells == {"open_short": "clear"}


def test_a_sheet_without_circuits_says_so() -> None:
    head = ["Circuits", *COAX[1:]]
    assert refusal(coax([ROW], head)) == (
        "sheet.xlsx, sheet Coax, row 1: the column Circuit is missing; expected a column Circuit; "
        "rename 'Circuits' to Circuit"
    )


def test_heads_in_feet_and_meters_are_not_mixed() -> None:
    wrong = refusal(coax([ROW], ["Circuit", "Video level [V]", "Length [ft]", "Jacket mark, room [m]"]))
    assert "sheet Coax, row 1: the heads mix units of length: Length [ft] and Jacket mark, room [m]" in wrong


def test_other_sheets_of_the_workbook_are_kept_aside() -> None:
    def fill(page: Worksheet) -> None:
        page.append(COAX)
        page.append(ROW)
        assert page.parent is not None
        page.parent.create_sheet("Remarks").append(["clear", "short"])

    found = read_data("sheet.xlsx", book(fill))
    assert [row.circuit for row in found.sheets[0].rows] == ["1A-A01"]
    assert [(aside.tab, aside.wrong) for aside in found.aside] == [
        ("Remarks", "no head row of a field sheet among the first 40 rows")
    ]


@pytest.mark.parametrize(("words", "aside"), [(["clear", "short", "OL"], 0), (["clear", "door 4 is stuck"], 1)])
def test_word_lists_of_our_own_workbook_are_no_sheet_unless_written_on(words: list[str], aside: int) -> None:
    def fill(page: Worksheet) -> None:
        page.append(COAX)
        page.append(ROW)
        assert page.parent is not None
        page.parent.create_sheet("Lists").append(words)

    assert len(read_data("sheet.xlsx", book(fill)).aside) == aside


def test_formula_columns_are_left_alone_and_an_overwritten_one_is_told() -> None:
    head = [*COAX, "Verdict"]
    rows = [[*ROW, '=IF(D2<295,"pass","fail")'], ["1A-A02", 1, "short", 80, 4, None, None, "PASS"]]
    found = one(coax(rows, head)).sheets[0]
    assert found.notes == ()
    assert found.rows[0].notes == ()
    assert found.rows[1].notes == ("column H: the formula was overwritten with 'PASS', which is not used",)


def test_a_formula_typed_for_a_reading_counts_by_its_stored_value() -> None:
    data = sheet_part(coax([[*ROW[:3], "=100+51.5", 4.25]]), "<v></v>", "<v>151.5</v>")
    (row,) = rows_of(data)
    assert row.cells["length"] == "151.5"
    assert row.notes == ("column D: a formula stands in a column for readings, its stored value '151.5' is taken",)


def test_text_like_a_formula_stays_text() -> None:
    def fill(page: Worksheet) -> None:
        page.append(COAX)
        page.append(ROW)
        page["G2"].value = "=cmd|'/c calc'!A1"
        page["G2"].data_type = "s"

    (row,) = rows_of(book(fill))
    assert row.cells["note"] == "=cmd|'/c calc'!A1"
    assert row.notes == ()


def test_control_characters_are_replaced_with_a_remark() -> None:
    (row,) = rows_of(coax([[*ROW[:6], "a_x0007_b_x005F_x0007_"]]))
    assert row.cells["note"] == "a\ufffdb_x0007_"
    assert row.notes == ("column G: a control character was replaced by \ufffd",)
    (row,) = rows_of(b"Circuit,Video level [V],Center to shield,Note\nA,1,clear,x\x00y\x1b\n", "s.csv")
    assert row.cells["note"] == "x\ufffdy\ufffd"


# Hostile archives.


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    bomb = changed(coax([ROW]), {}, {"xl/media/zeros.bin": bytes(30_000_000)})
    assert len(bomb) < 100_000
    assert "the workbook unpacks to" in refusal(bomb)
    assert "expected at most 200 times" in refusal(bomb)


def test_declared_sizes_are_summed() -> None:
    data = bytearray(coax([ROW]))
    place = data.index(b"PK\x01\x02")  # the first entry of the directory; its unpacked size stands 24 bytes on
    struct.pack_into("<I", data, place + 24, 400_000_000)
    assert "expected at most 300,000,000 bytes in 10,000 parts" in refusal(bytes(data))


def test_an_archive_that_lies_about_its_sizes_unpacks_no_more_than_it_said() -> None:
    data = bytearray(changed(coax([ROW]), {SHEET: lambda part: part + b" " * 200_000}))
    place = data.index(SHEET.encode(), data.index(b"PK\x01\x02")) - 46
    assert data[place : place + 4] == b"PK\x01\x02"
    struct.pack_into("<I", data, place + 24, 500)
    assert "xl/worksheets/sheet1.xml" in refusal(bytes(data))


@pytest.mark.parametrize(
    "declared",
    [
        '<!DOCTYPE x [<!ENTITY e SYSTEM "file:///etc/hostname">]>',
        '<!DOCTYPE x [<!ENTITY e "ha"><!ENTITY f "&e;&e;&e;">]>',
        '<!DOCTYPE x SYSTEM "http://localhost:9/x.dtd">',
    ],
)
@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "xl/styles.xml", "_rels/.rels"])
def test_document_types_and_entities_are_refused(declared: str, part: str) -> None:
    def insert(content: bytes) -> bytes:
        start = content.index(b"?>") + 2 if content.startswith(b"<?xml") else 0
        return content[:start] + declared.encode() + content[start:]

    assert f"{part} declares a document type or an entity" in refusal(changed(coax([ROW]), {part: insert}))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('<row r="2"', '<row r="2000000"', "the sheet has a row 2,000,000"),
        ('<c r="C2"', '<c r="ZZZ2"', "row 2: the sheet has a cell beyond the last column"),
        ('t="inlineStr"><is><t>Note</t></is>', 't="s"><v>99</v>', "row 1: a cell names the shared text '99'"),
        ("</sheetData>", "", "stops being XML at line 1"),
    ],
)
def test_nonsense_in_a_sheet_is_told_with_its_place(old: str, new: str, told: str) -> None:
    wrong = refusal(sheet_part(coax([ROW]), old, new))
    assert told in wrong
    assert wrong.startswith("sheet.xlsx, sheet Coax")


def test_one_part_for_many_sheets_is_refused() -> None:
    data = coax([ROW])

    def again(part: bytes) -> bytes:
        end = part.index(b"</sheets>")
        start = part.index(b"<sheet ")
        return part[:end] + part[start:end].replace(b"Coax", b"More") + part[end:]

    assert "two sheets of the workbook share one part" in refusal(changed(data, {"xl/workbook.xml": again}))


def test_a_text_shared_by_many_cells_does_not_unpack_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intake_xlsx, "MOST_BYTES", 0)
    monkeypatch.setattr(intake_xlsx._Left.__init__, "__defaults__", (1_000_000, 250_000))
    data = coax([[f"1A-A{n}", 1, None, None, None, None, "x" * 30_000] for n in range(10)])
    assert "the cells hold more than" in refusal(data)


def test_too_many_rows_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(intake_xlsx._Left.__init__, "__defaults__", (3, 1_000_000))
    assert "row 4: the file holds more than" in refusal(coax([ROW] * 3))
    monkeypatch.setattr(intake_csv, "MOST_ROWS", 3)
    assert "the file holds more than 3 filled rows" in refusal(
        b"Circuit,Video level [V]\nA,1\nB,1\nC,1\nD,1\n", "s.csv"
    )


@pytest.mark.parametrize(
    ("data", "name", "told"),
    [
        (b"", "a.xlsx", "the file is empty"),
        (b"PK\x03\x04 and no more", "a.xlsx", "the file is a damaged .xlsx archive"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + b"x", "a.xlsx", "an old .xls workbook or has a password"),
        (b"%PDF-1.7", "a.pdf", "the file is no workbook and its name ends in .pdf"),
        (b"Circuit\n", "a.xlsx", "its name ends in .xlsx"),
        ("Circuit;Länge\n".encode("cp1252"), "a.csv", "a.csv, row 1: byte 0xe4 is not UTF-8 text"),
        ("Circuit\n".encode("utf-16"), "a.csv", "the file is UTF-16 text"),
        (b'Circuit,Video level [V]\nA,"1\nB,2\n', "a.csv", "a.csv, row 2: the row can't be read"),
    ],
)
def test_a_file_that_is_no_sheet_is_told_from_one_that_is_broken(data: bytes, name: str, told: str) -> None:
    assert told in refusal(data, name)


def test_an_archive_of_something_else_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("word/document.xml", "<x/>")
    assert "the archive holds no workbook" in refusal(out.getvalue())


def test_a_missing_file_is_kept_aside_with_its_reason(tmp_path: Path) -> None:
    found = read_path(tmp_path / "gone.xlsx")
    assert "gone.xlsx: the file can't be opened" in str(found.aside[0])


# CSV.

_PLAIN = "Circuit,Round,Center to shield,Video level [V],Note\n1A-A01,1,clear,0.98,\n"


def _unix(text: str) -> bytes:
    return text.encode()


@pytest.mark.parametrize(
    "made",
    [
        _unix,
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.replace(",", ";").encode(),
        lambda text: text.replace(",", "\t").encode(),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: text.replace("Center to shield,Video level [V]", "open_short,video_level").encode(),
        lambda text: ("# made by hand; twice, and \"so\"\nFloor 2, north\n\n" + text).encode(),
        lambda text: text.replace("clear", '"clear"').encode(),
    ],
)  # fmt: skip
def test_csv_is_read_whatever_wrote_it(made: Callable[[str], bytes]) -> None:
    found = one(made(_PLAIN), "s.csv").sheets[0]
    assert found.medium == "coax"
    assert [(row.circuit, row.round, row.cells) for row in found.rows] == [
        ("1A-A01", "1", {"open_short": "clear", "video_level": "0.98"})
    ]


def test_a_decimal_comma_is_no_delimiter() -> None:
    text = "Circuit;Video level [V];Center to shield\n1A-A01;0,98;clear\n1A-A02;1,02;clear\n"
    assert [row.cells["video_level"] for row in rows_of(text.encode(), "s.csv")] == ["0,98", "1,02"]
    quoted = 'Circuit,Video level [V],Center to shield\n1A-A01,"0,98",clear\n'
    assert rows_of(quoted.encode(), "s.csv")[0].cells["video_level"] == "0,98"


def test_the_guard_against_formulas_is_taken_off_again() -> None:
    text = "Circuit,Video level [V],Center to shield,Note\n'-A1,'-0.98,'clear,'=1+1\n"
    (row,) = rows_of(text.encode(), "s.csv")
    assert (row.circuit, row.cells) == ("-A1", {"video_level": "-0.98", "open_short": "'clear", "note": "=1+1"})


def test_a_row_is_named_by_its_line_in_the_file() -> None:
    text = '# title\nCircuit,Video level [V],Center to shield,Note\n\nA,1,clear,"two\nlines"\nB,1,clear,\n'
    assert [(row.circuit, row.row) for row in rows_of(text.encode(), "s.csv")] == [("A", 4), ("B", 6)]


def test_heads_that_fit_several_media_ask_which() -> None:
    text = "Circuit,Length [ft]\n1A-A01,120\n"
    wrong = refusal(text.encode(), "s.csv")
    assert "row 1: the heads fit" in wrong
    assert "write `medium: balanced_pair` in a row above the head" in wrong
    assert one(f"# medium: coax\n{text}".encode(), "s.csv").sheets[0].medium == "coax"


def test_lengths_without_a_unit_get_a_remark() -> None:
    found = one(b"circuit,video_level,length\nA,1,120\n", "s.csv").sheets[0]
    assert found.lengths == ""
    assert found.notes == ("no head names the unit of its lengths: they are taken in the project's unit",)


def test_a_title_matches_fewer_heads_than_the_head() -> None:
    assert match_count({0: "Note", 1: "Date"}) == 2
    assert match_count(dict(enumerate(COAX))) == len(COAX)


# Another program.


def test_a_sheet_saved_again_by_another_program_has_the_same_rows(tmp_path: Path) -> None:
    rows = [
        ["1A-A01", 1, "clear", 0.1 + 0.2, 4.25, date(2026, 3, 4), "=not a formula"],
        ["1A-A02", 2, "short", 88, 1e-5, datetime(2026, 3, 4, 14, 5), "été, 5 Ω"],  # noqa: DTZ001
        [None, 3, "clear", 1e300, None, "03/04/26", " 12,5 "],
    ]

    def fill(page: Worksheet) -> None:
        page.append(["Floor 2"])
        page.append([*COAX, "Verdict"])
        for number, row in enumerate(rows, start=3):
            page.append([*row, f'=IF(D{number}<295,"pass","fail")'])
        page["G3"].data_type = "s"
        page["E3"].number_format = "0.0%"
        page.merge_cells("A4:A5")

    before = one(book(fill)).sheets[0]
    after = one(resaved(book(fill), tmp_path)).sheets[0]
    assert after == before
    assert [row.circuit for row in after.rows] == ["1A-A01", "1A-A02", "1A-A02"]
    assert after.rows[0].cells["resistance"] == "425%"


@pytest.mark.parametrize("title", ["Estimate", "Closeout"])
def test_our_own_books_of_plans_are_no_readings(title: str) -> None:
    """A planned length handed in by mistake must never come back as a measured one."""
    book_of_ours = finish(coax([ROW]), properties=Properties(title=title, subject="", author="", shown_date=None))
    assert f"the workbook is the job's {title.lower()}, not a field sheet" in refusal(book_of_ours)
