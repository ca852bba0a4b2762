"""Formulas as a spreadsheet reads them: keys, lists beside single numbers, zeros and units."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.formula import Expression
from estimator.documents.description import At, Fact, Facts, Formula, Matching, Ref, Whole
from estimator.documents.xlsx_formula import Addresses
from estimator.documents.xlsx_writer import write_xlsx
from tests.documents.recalculate import compare, recalculated
from tests.documents.workbook_sample import FOOT, LEGS, document, drops, prices, sheet

TOTALS = [sum(legs) for legs in LEGS]


def _figure(text: str, value: float, inputs: dict[str, Ref], *, as_shown: bool = False, si: float = 1.0) -> Fact:
    return Fact(label=text, value=Formula(Expression(text), value, inputs, as_shown), kind="number", si=si)


def _written(*facts: Fact, rooms: tuple[str, ...] = ("1A", "1B", "1A", "1B")) -> bytes:
    """Return a workbook of these figures, with the drops in these rooms and the priced lines beside them."""
    named = replace(drops(), rows=[(row[0], room, *row[2:]) for row, room in zip(drops().rows, rooms, strict=True)])
    rate = Fact(label="Rate", value=0.25, kind="number", name="rate")
    figures = Facts(title="Figures", rows=(rate, *facts))
    return write_xlsx(document(sheet(figures, title="F"), sheet(named, title="D"), sheet(prices(), title="L")))


def _formulas(written: bytes) -> list[str]:
    at = openpyxl.load_workbook(io.BytesIO(written))["F"]
    return [str(cell.value) for row in at.iter_rows() for cell in row if cell.data_type == "f"]


ONE_ROOM = Matching("drops", "length", "room", "1A", False)

# By hand: what the formula must come to; lengths stand in feet, and are taken in meters unless as shown.
FIGURES = (
    (
        _figure("sum(v)", (TOTALS[0] + TOTALS[2]) * FOOT, {"v": ONE_ROOM}),
        """=(SUMIF('D'!$B$6:$B$9,"1A",'D'!$F$6:$F$9)*0.3048)""",
    ),
    (_figure("count(v)", 2, {"v": ONE_ROOM}), """=COUNTIF('D'!$B$6:$B$9,"1A")"""),
    (
        _figure("sum(v)", TOTALS[0] + TOTALS[2], {"v": ONE_ROOM}, as_shown=True),
        """=SUMIF('D'!$B$6:$B$9,"1A",'D'!$F$6:$F$9)""",
    ),
    (
        _figure("sumproduct(a, b)", 100.5 * 12 + 201.25 * 12, {
            "a": Matching("drops", "route", "room", "1A", False), "b": Matching("drops", "leg", "room", "1A", False),
        }, as_shown=True),
        """=SUMPRODUCT(--('D'!$B$6:$B$9="1A"),'D'!$C$6:$C$9,'D'!$D$6:$D$9)""",
    ),
    (
        _figure("max(v, rate)", max(TOTALS), {"v": Whole("drops", "length")}, as_shown=True),
        "=MAX(MAX('D'!$F$6:$F$9),rate)",
    ),
    (
        _figure("min(rate, v) + zero", 0.25, {"v": Whole("drops", "length"), "zero": 0.0}, as_shown=True),
        "=MIN(rate,MIN('D'!$F$6:$F$9))+0",
    ),
    (_figure("round(sum(v) / 3, 1)", 1034.7, {"v": Whole("lines", "cost")}), "=ROUND(SUM('L'!$D$6:$D$7)/3,1)"),
    (_figure("count(v) * -2", -4, {"v": Whole("lines", "cost")}), "=COUNT('L'!$D$6:$D$7)*(-2)"),
    (_figure("a * b", 3 * -2.5, {"a": 3.0, "b": -2.5}), "=3*(-2.5)"),
    (
        _figure("a", LEGS[1][0], {"a": At("drops", "1A-A02", "route")}, si=FOOT),
        """=(INDEX('D'!$C$6:$C$9,MATCH("1A-A02",'D'!$A$6:$A$9,0))*0.3048)/0.3048""",
    ),
)  # fmt: skip


def test_each_formula_is_written_as_it_is_read() -> None:
    assert _formulas(_written(*(figure for figure, _ in FIGURES))) == [text for _, text in FIGURES]


def test_another_program_comes_to_each_figure(tmp_path: Path) -> None:
    written = _written(*(figure for figure, _ in FIGURES))

    result = compare(written, recalculated({"figures": written}, tmp_path)["figures"])

    assert result.differences == []
    assert result.compared == len(FIGURES) + 4 + 2 + 2  # lengths, their totals and the lines are live too


@pytest.mark.parametrize("room", ['1"A', "12", "1*", "=1", "3/4", ""])
def test_a_key_that_a_criterion_would_misread_is_compared(room: str, tmp_path: Path) -> None:
    """Quotes are doubled; both counts come out as another program has them."""
    one = Matching("drops", "length", "room", room, False)
    rooms = (room, "other", room, "other")
    written = _written(
        _figure("count(v)", 2, {"v": one}),
        _figure("sum(v)", TOTALS[0] + TOTALS[2], {"v": one}, as_shown=True),
        rooms=rooms,
    )
    key = room.replace('"', '""')

    if room != '1"A':
        assert _formulas(written) == [
            f"""=SUMPRODUCT(--('D'!$B$6:$B$9="{key}"),--ISNUMBER('D'!$F$6:$F$9))""",
            f"""=SUMPRODUCT(--('D'!$B$6:$B$9="{key}"),'D'!$F$6:$F$9)""",
        ]
    else:
        assert _formulas(written)[0] == """=COUNTIF('D'!$B$6:$B$9,"1""A")"""
    assert compare(written, recalculated({"keys": written}, tmp_path)["keys"]).differences == []


def test_a_row_is_named_by_its_number_or_its_key() -> None:
    row_index = Addresses([]).row_index

    assert [row_index(drops(), row) for row in (0, 3, "1A-A01", "1A-A04")] == [0, 3, 0, 3]
    for table, row, wrong in (
        (prices(), "Jack, white", "table 'lines' has no key column"),
        (drops(), -1, "table 'drops' has no row -1; it has 4 rows"),
        (drops(), "1A", "table 'drops' has no row '1A' in column 'id'"),
    ):
        with pytest.raises(ValueError, match=re.escape(wrong)):
            row_index(table, row)
