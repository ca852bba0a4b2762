"""Decimal sign, order of dates and unit are stated; a number typed as one needs no statement."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.field.batch_content import read_content, sheet_content
from estimator.field.intake import read_data
from estimator.field.rows import ReadRow
from estimator.field.taken import How, Intake
from tests.field.sheetrows import judged, row
from tests.field.workbooks import book, refusal

HEAD = ["Circuit", "Round", "Wire map", "Length 3-6 [m]", "Loop 3-6 [ohm]"]


def sheet(*above: str, loop: object = "2.203") -> bytes:
    """Return a workbook whose head stands below statements; the loop is text or a number."""

    def fill(page: Worksheet) -> None:
        for text in above:
            page.append([text])
        page.append(HEAD)
        page.append(["1A-A02", 1, "pass", 50, loop])

    return book(fill, "Balanced pair")


def rows(intake: Intake) -> list[ReadRow]:
    """Return the rows as a batch gives them back."""
    assert not intake.aside, [str(aside) for aside in intake.aside]
    return list(read_content(sheet_content(intake)).rows("b" * 64, 0))


@pytest.mark.parametrize(
    ("loop", "ohm", "why"),
    [
        (2.203, 2.203, ""),
        ("2,203", 2.203, ""),
        ("2.203", None, "'2.203' is no number with a decimal comma"),
    ],
)
def test_text_goes_by_the_stated_sign_and_a_number_by_none(
    tmp_path: Path, loop: object, ohm: float | None, why: str
) -> None:
    """A person who types 2.203 where a comma is stated may mean two thousand: it isn't used."""
    (one,) = rows(read_data("s.xlsx", sheet("decimals: comma", loop=loop)))
    assert one.numbers == ({"length_36", "resistance_36"} if isinstance(loop, float) else {"length_36"})
    found = judged(tmp_path, one).by_id["1A-A02"].reading("resistance", "36")
    assert found is not None
    assert (found.raw, found.why) == (ohm, why) if why else found.raw == ohm


def test_the_same_text_is_no_duplicate_where_it_can_not_be_read(tmp_path: Path) -> None:
    """The row that can be read counts, whichever came first."""
    text = row("1A-A02", stated={"decimals": "comma"}, wire_map="pass", length_36="50", resistance_36="2.203")
    (number,) = rows(read_data("s.xlsx", sheet("decimals: comma", loop=2.203)))
    assert dict(text.cells) == dict(number.cells)
    found = judged(tmp_path, text, number).by_id["1A-A02"].reading("resistance", "36")
    assert found is not None
    assert found.raw == 2.203


@pytest.mark.parametrize(
    ("above", "told"),
    [
        (["decimals: Komma"], "row 1: `decimals: Komma` is not understood; expected decimals: point or comma"),
        (["Date order: DD/MM/YYYY"], "row 1: `date order: DD/MM/YYYY` is not understood; expected date order: mdy or "),
        (["lengths: ft"], "row 2: the sheet states `lengths: ft`, the head row states `lengths: m`"),
        (["dates: mdy", "dates: dmy"], "row 2: the sheet states `dates: mdy`, the sheet states `dates: dmy`"),
        (["decimals: point", "decimal: comma"], "`decimals: "),
    ],
)
def test_a_statement_that_is_not_understood_is_refused(above: list[str], told: str) -> None:
    """Else the project's own sign would be taken in silence."""
    assert told in refusal(sheet(*above))


def test_an_option_states_what_the_sheet_does_not() -> None:
    """It is kept with the rows; where the sheet says otherwise the file is refused."""
    how = How(options={"decimals": "comma", "dates": ""})
    (one,) = rows(read_data("s.xlsx", sheet(), None, how))
    assert one.stated == {"decimals": "comma"}
    assert one.lengths == "m"
    other = read_data("s.xlsx", sheet("decimals: point"), None, how)
    assert "the option states `decimals: comma`" in str(other.aside[0])


def test_a_title_with_a_colon_is_no_statement() -> None:
    """`Date: ...` above a head is when the form was printed."""
    (one,) = rows(read_data("s.xlsx", sheet("Date: 2026-03-04", "Job: Clinic")))
    assert one.stated == {"date": "2026-03-04", "job": "Clinic"}


def exported(**more: object) -> dict[str, object]:
    """Return a file of rows as the phone page exports it."""
    cells = {"wire_map": "pass", "length_36": 50.25, "resistance_36": "4.10", "date": "2026-03-04", "mood": "x"}
    one = {"circuit": "1A-A02", "round": 1, "cells": cells}
    return {"medium": "balanced_pair", "lengths": "m", "stated": {"dates": "ymd"}, "rows": [one], **more}


def as_json(*sheets: object, **more: object) -> bytes:
    """Return the bytes of a file of rows."""
    return json.dumps({"dropledger_rows": 1, "sheets": sheets, **more}).encode()


def test_rows_come_as_json_too() -> None:
    """Keys of the field sheet's columns; an unknown one is told and nothing else is lost."""
    intake = read_data("phone.json", as_json(exported()))
    (one,) = rows(intake)
    assert (one.circuit, one.round, one.sheet, one.lengths, one.row) == ("1A-A02", "1", "balanced_pair", "m", 1)
    assert one.cells["length_36"] == "50.25"
    assert one.numbers == {"length_36"}
    assert one.stated == {"dates": "ymd", "lengths": "m"}
    (note,) = intake.sheets[0].notes
    assert note.startswith(
        "key 'mood' of 1 row is no column of the balanced_pair field sheet, it is not judged; there are"
    )
    assert "wire_map" in note


def test_rows_of_json_may_go_by_heads() -> None:
    """A person who writes the file copies what the field sheet shows; twice the same is refused."""
    cells = {"Wire map": "pass", "Length 3-6": 50.25, "Tested by": "R. Teal"}
    (one,) = rows(read_data("phone.json", as_json(exported(rows=[{"circuit": "1A-A02", "cells": cells}]))))
    assert one.cells == {"wire_map": "pass", "length_36": "50.25", "person": "R. Teal"}
    twice = exported(rows=[{"circuit": "1A-A02", "cells": {"Wire map": "pass", "wire_map": "open"}}])
    assert "says once more what stands under 'wire_map'" in refusal(as_json(twice), "phone.json")


def test_a_row_of_unknown_keys_alone_is_told() -> None:
    """It holds no reading that is known, and what was typed isn't lost without a word."""
    two = [{"circuit": "BAT-1", "cells": {"open_volts": 12.9}}, {"circuit": "BAT-1", "cells": {"open_volts": 12.8}}]
    (one,) = read_data("phone.json", as_json({"medium": "battery", "rows": two})).sheets
    assert one.rows == ()
    assert one.untouched == len(two)
    (note,) = one.notes
    assert note.startswith("key 'open_volts' of 2 rows is no column of the battery field sheet")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"{", "phone.json: line 1, column 2: this stops being JSON here"),
        (b"[]", "phone.json: the file has no `dropledger_rows`"),
        (b'{"dropledger_rows": 2}', "phone.json: `dropledger_rows` is 2"),
        (b'{"dropledger_rows": 1, "dropledger_rows": 1}', "phone.json: key 'dropledger_rows' stands twice"),
        (b'{"dropledger_rows": 1, "sheets": []}', "phone.json: `sheets` is no list with a sheet in it"),
        (b'{"dropledger_rows": NaN}', "phone.json: NaN is no number"),
        (b"[" * 100_000, "phone.json: "),
        (b"\xff\xfe", "phone.json: byte 0xff is not UTF-8 text"),
        (as_json(exported(medium="coaxx")), "phone.json, sheet 1: medium 'coaxx' is not known"),
        (as_json(exported(lengths="yd")), "phone.json, sheet 1: lengths in 'yd' are not known"),
        (as_json(exported(rows=[{"circuit": "x", "cels": {}}])), "phone.json, sheet 1, row 1: key 'cels' is not known"),
        (as_json(exported(rows=[{"circuit": ["x"], "cells": {"note": "a"}}])),
         "phone.json, sheet 1, row 1: `circuit` is no text"),
        (as_json(exported(rows=[{"circuit": "x", "cells": {"length": True}}])),
         "phone.json, sheet 1, row 1: `length` is no text"),
    ],
)  # fmt: skip
def test_a_file_of_rows_that_is_none_says_where(data: bytes, told: str) -> None:
    """Nothing of a damaged file is taken."""
    assert refusal(data, "phone.json").startswith(told)
