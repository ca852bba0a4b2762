"""A mapping file brings the plain table of an instrument; what it leaves open is asked for, never guessed."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.field.batch_content import read_content, sheet_content
from estimator.field.intake import read_data
from estimator.field.mapping import TableMapping, load_mapping, read_mapping
from estimator.field.taken import How, Intake
from estimator.spec.faults import Faults
from tests.field.workbooks import book

BENCH = """\
mapping: 1
medium: balanced_pair
decimals: comma
dates: dmy
delimiter: semicolon
circuit: {heads: [Closet, Port], joined_by: "-", after: "BLD7/"}
columns:
  - {head: Verdict, is: wire_map}
  - {head: Len 12, is: length_12, unit: m}
  - {head: Len 36, is: Length 3-6, unit: m}
  - {head: T 12, is: delay_12, unit: us}
  - {head: Profile, is: limit, words: {Cat 6 permanent link: [P-PL6]}}
  - {head: Day, is: date}
  - {head: Shelf, is: note, optional: yes}
words:
  pass: [OK, "*OK"]
  open: [NO WIRE]
  OL: ["---"]
values: {tested_from: room, instrument: T1}
ignore: [Serial]
"""
TABLE = """\
Exported by a bench tester
Closet;Port;Verdict;Len 12;Len 36;T 12;Profile;Day;Serial;Mood
BLD7/1A;A02;OK;50,4;50,1;0,24;P-PL6;4.3.2026;77;fine
BLD7/1A;A10;no wire;12,0;---;;P-PL6;5.3.2026;77;
1A;;OK;50,4;50,1;0,24;P-PL6;4.3.2026;77;
"""


def mapping(text: str = BENCH, name: str = "bench.yaml") -> TableMapping:
    """Return a mapping that must have no fault."""
    faults = Faults()
    found = read_mapping(name, text.encode(), faults)
    assert found is not None, "\n".join(map(str, faults.found))
    return found


def faults_of(old: str, new: str) -> list[str]:
    """Return the faults of the mapping with a piece of it changed."""
    assert old in BENCH
    faults = Faults()
    assert read_mapping("bench.yaml", BENCH.replace(old, new, 1).encode(), faults) is None
    return [str(fault) for fault in faults.sorted()]


def read(table: str | bytes = TABLE, text: str = BENCH, name: str = "bench.csv", **options: str) -> Intake:
    """Return a table as read by a mapping."""
    data = table.encode() if isinstance(table, str) else table
    return read_data(name, data, None, How(mapping=mapping(text), options=options))


def test_a_table_becomes_rows_of_the_field_sheet() -> None:
    """Units, words, ids and what holds for every row come out as the mapping says."""
    found = read()
    assert found.aside == ()
    (sheet,) = found.sheets
    assert (sheet.medium, sheet.lengths, sheet.stated) == ("balanced_pair", "m", {"decimals": "comma", "dates": "dmy"})
    assert [(row.row, row.circuit) for row in sheet.rows] == [(3, "1A-A02"), (4, "1A-A10"), (5, "")]
    assert sheet.rows[0].cells == {
        "tested_from": "room", "instrument": "T1", "wire_map": "pass", "length_12": "50,4", "length_36": "50,1",
        "delay_12": "0,24 us", "limit": "Cat 6 permanent link", "date": "4.3.2026",
    }  # fmt: skip
    assert (sheet.rows[1].cells["wire_map"], sheet.rows[1].cells["length_36"]) == ("open", "OL")
    assert sheet.notes == (
        "column J: head 'Mood' is neither mapped nor ignored, its cells are not taken",
        "head 'Shelf' is mapped and the table has no such column",
    )


def test_a_workbook_is_mapped_by_the_sheet_that_is_named() -> None:
    """Numbers stored as numbers are told from text, because text goes by the stated sign."""

    def fill(page: Worksheet) -> None:
        page.append(["Closet", "Port", "Verdict", "Len 12", "Len 36", "T 12", "Profile", "Day"])
        page.append(["1A", "A02", "OK", 50.4, "50.1", 0.24, "P-PL6", "4.3.2026"])
        page.parent.create_sheet("Log").append(["free text"])

    found = read(book(fill, "Results"), BENCH + "sheet: results\n", "bench.xlsx")
    assert [sheet.tab for sheet in found.sheets] == ["Results"]
    assert found.sheets[0].rows[0].numbers == {"length_12", "delay_12"}
    assert [str(aside) for aside in found.aside] == [
        "bench.xlsx, sheet Log: the sheet is not the one that mapping bench.yaml names; expected sheet results; "
        "nothing to do, unless its rows are missed"
    ]


def test_the_mapping_is_kept_in_the_batch_and_reads_the_same_again() -> None:
    """Batch and bytes as received suffice: nobody needs the mapping file any more."""
    first = read()
    content = read_content(sheet_content(first))
    how = content.value["how"]
    assert isinstance(how, dict)
    assert content.how == {"mapping": mapping().kept.digest}
    again = read(text=how["mapping"]["text"])
    assert sheet_content(again) == sheet_content(first)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("is: wire_map", "is: wire map result", "bench.yaml:8:25: 'wire map result' is no column"),
        ("is: length_12, unit: m", "is: length_12", "bench.yaml:9:5: the unit of 'Len 12' is missing"),
        ("unit: us", "unit: ohm", "bench.yaml:11:38: 'ohm' is no unit of time"),
        ("is: wire_map}", "is: wire_map, unit: V}", "bench.yaml:8:41: 'wire_map' has no unit 'V'"),
        ("is: Length 3-6", "is: length_12", "bench.yaml:10:24: 'length_12' is also mapped by head 'Len 12'"),
        ("head: Len 36", "head: len-12", "bench.yaml:10:12: head 'len-12' is mapped twice"),
        ("is: date", "is: circuit", "bench.yaml:13:21: the circuit is no column to map here"),
        ("  pass: [OK", "  good: [OK", "bench.yaml:16:3: 'good' is no word of a mapped column"),
        ("NO WIRE", "ok", "bench.yaml:16:3: 'ok' stands for 'pass' and for 'open'"),
        ("ignore: [Serial]", "ignore: [Day]", "bench.yaml:20:9: head 'Day' is both mapped and ignored"),
        ("tested_from: room", "tested_from: closet", "bench.yaml:19:9: 'closet' is no word of Tested from"),
        ("decimals: comma", "decimals: dot", "bench.yaml:3:11: `decimals`: 'dot' is none of the words known here"),
        ("medium: balanced_pair", "media: coax", "bench.yaml:1:1: key `medium` is missing"),
        ("mapping: 1", "mapping: 2", "bench.yaml:1:10: `mapping`: 2 is out of range"),
        ("circuit: {", "circuit: &c {", "bench.yaml:6:10: anchor `&c` is not part of a project file"),
    ],
)
def test_a_mistake_in_a_mapping_has_its_place(old: str, new: str, told: str) -> None:
    """File, line and column, as in a project file."""
    assert any(fault.startswith(told) for fault in faults_of(old, new)), faults_of(old, new)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (";Len 12;", ";Len A;", "bench.csv, row 2: the table has no head 'Len 12'"),
        (";Mood", ";Day", "bench.csv, row 2: head 'Day' stands in columns H and J"),
        ("Closet;Port;Verdict;Len 12;Len 36;T 12;Profile;Day", "a;b;c;d;e;f;g;h",
         "bench.csv: none of the heads of mapping bench.yaml stands among the first 40 rows"),
        ("Exported by a bench tester", "decimals: point",
         "bench.csv, row 1: the sheet states `decimals: point`, the mapping states `decimals: comma`"),
    ],
)  # fmt: skip
def test_a_table_that_does_not_fit_is_refused_with_its_place(old: str, new: str, told: str) -> None:
    """Neither a missing column nor two of a name are guessed."""
    assert old in TABLE
    found = read(TABLE.replace(old, new, 1))
    assert found.sheets == ()
    assert str(found.aside[0]).startswith(told)


def test_an_option_may_not_contradict_the_mapping() -> None:
    """Whoever calls the program states no other sign than the file that knows the instrument."""
    assert str(read(decimals="point").aside[0]).startswith(
        "bench.csv: the mapping states `decimals: comma`, the option states `decimals: point`"
    )


def test_a_stated_encoding_is_used() -> None:
    """Some instruments write the text of an older system."""
    text = BENCH.replace("head: Verdict", "head: Prüfung") + "encoding: latin-1\n"
    table = TABLE.replace("Verdict", "Prüfung").encode("latin-1")
    assert [row.circuit for row in read(table, text).sheets[0].rows] == ["1A-A02", "1A-A10", ""]
    refused = read(table, BENCH.replace("head: Verdict", "head: Prüfung"))
    assert "is not UTF-8 text" in str(refused.aside[0])


def test_a_missing_mapping_is_a_fault(tmp_path: Path) -> None:
    """It is named before any sheet is opened."""
    found, faults = load_mapping(tmp_path / "no.yaml")
    assert found is None
    assert [fault.wrong for fault in faults] == ["the mapping can't be read (there is no such file)"]
    (tmp_path / "bad.yaml").write_bytes(b"\xff\xfe\x00")
    assert load_mapping(tmp_path / "bad.yaml")[0] is None


@pytest.mark.parametrize(
    ("circuit", "found"),
    [
        ('{heads: [Closet, Port], joined_by: "-"}', "BLD7/1A-A02"),
        ('{heads: [Port, Closet], joined_by: ""}', "A02BLD7/1A"),
        ('{heads: [Closet], replace: {/: "", BLD: "-"}}', "-71A"),
        ('{heads: [Closet], before: "/", prefix: "P."}', "P.BLD7"),
        ('{heads: [Port], after: "BLD7/"}', "A02"),
    ],
)
def test_the_id_is_found_as_the_mapping_says(circuit: str, found: str) -> None:
    """What stands behind a text counts only where the text is there."""
    text = BENCH.replace('{heads: [Closet, Port], joined_by: "-", after: "BLD7/"}', circuit)
    assert read(text=text).sheets[0].rows[0].circuit == found


def test_lengths_of_two_units_keep_their_units() -> None:
    """The field sheet has one unit; a number of another carries its own."""
    text = BENCH.replace("is: Length 3-6, unit: m", "is: Length 3-6, unit: ft")
    sheet = read(text=text).sheets[0]
    assert sheet.lengths == ""
    assert (sheet.rows[0].cells["length_12"], sheet.rows[0].cells["length_36"]) == ("50,4 m", "50,1 ft")


def test_a_byte_order_mark_changes_nothing() -> None:
    """The mapping that the batch holds has the hash of the file that was handed in."""
    faults = Faults()
    marked = read_mapping("bench.yaml", b"\xef\xbb\xbf" + BENCH.encode(), faults)
    assert marked is not None
    content = read_content(sheet_content(read_data("bench.csv", TABLE.encode(), None, How(mapping=marked))))
    how = content.value["how"]
    assert isinstance(how, dict)
    again = read_mapping("bench.yaml", how["mapping"]["text"].encode(), faults)
    assert again is not None
    assert again.kept.digest == marked.kept.digest == how["mapping"]["sha256"]


def test_the_number_of_an_instrument_with_its_own_unit_keeps_it() -> None:
    """A unit that the table writes behind the number wins over the mapping's."""
    found = read(TABLE.replace("50,4;50,1;0,24", "165,4 ft;50,1;240 ns"))
    assert found.sheets[0].rows[0].cells["length_12"] == "165,4 ft"
    assert found.sheets[0].rows[0].cells["delay_12"] == "240 ns"


LONG = """\
mapping: 1
medium: balanced_pair
circuit: {heads: [Name]}
columns:
  - {head: Len, by: Pair, cases: {1-2: length_12, 3-6: length_36}, unit: ft}
  - {head: Ohm, by: Pair, cases: {1-2: resistance_12, 3-6: resistance_36}, unit: ohm}
  - {head: Map, is: wire_map}
  - {head: Day, is: date}
"""
LONG_TABLE = """\
Name,Pair,Len,Ohm,Map,Day
1A-A02,1-2,164,8.5,pass,2026-03-04
1A-A02,3-6,165,8.6,pass,2026-03-04
1A-A10,1-2,164,8.4,pass,2026-03-04
1A-A02,1-2,160,8.1,pass,2026-03-05
1A-A02,9-9,160,8.1,pass,2026-03-06
,1-2,160,8.1,pass,2026-03-04
,3-6,160,8.1,pass,2026-03-04
1A-A10,1-2,170,8.4,pass,2026-03-04
"""


def test_a_table_with_a_row_for_each_reading_is_joined() -> None:
    """Rows of one circuit and moment are one test; one that says something else stays by itself."""
    (sheet,) = read(LONG_TABLE, LONG, "long.csv").sheets
    told = [
        (row.row, row.circuit, [text for key, text in row.cells.items() if key.startswith("length")])
        for row in sheet.rows
    ]
    assert told == [
        (2, "1A-A02", ["164", "165"]), (4, "1A-A10", ["164"]), (5, "1A-A02", ["160"]), (6, "1A-A02", []),
        (7, "", ["160"]), (8, "", ["160"]), (9, "1A-A10", ["170"]),
    ]  # fmt: skip
    assert sheet.rows[0].cells["resistance_36"] == "8.6"
    assert sheet.rows[0].notes == ("row 3 of the table is joined with this one",)
    assert sheet.rows[3].notes == (
        "column C: '9-9' under 'Pair' is none of the mapping's cases, the cell is not taken",
        "column D: '9-9' under 'Pair' is none of the mapping's cases, the cell is not taken",
    )
    assert sheet.notes == ()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("by: Pair, cases: {1-2: length_12, 3-6: length_36}", "by: Pair", "is mapped by halves or doubly"),
        ("by: Pair, cases: {1-2: length_12,", "cases: {1-2: length_12,", "is mapped by halves or doubly"),
        ("by: Pair, cases: {1-2: length_12,", "is: length, by: Pair, cases: {1-2: length_12,", "by halves or doubly"),
        ("3-6: resistance_36", "3-6: length_12", "'length_12' is also mapped by head 'Len' for '1-2'"),
    ],
)
def test_cases_are_whole(old: str, new: str, told: str) -> None:
    """A column is one thing always, or by what another column says."""
    faults = Faults()
    assert old in LONG
    assert read_mapping("long.yaml", LONG.replace(old, new, 1).encode(), faults) is None
    assert any(told in str(fault) for fault in faults.found), [str(fault) for fault in faults.found]


def test_a_table_without_the_column_that_tells_is_refused() -> None:
    """Its readings could be of any pair."""
    found = read(LONG_TABLE.replace("Pair", "P"), LONG, "long.csv")
    assert str(found.aside[0]).startswith("long.csv, row 1: the table has no head 'Pair'")
