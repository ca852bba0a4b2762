"""Cells that follow others: looked up by what stands there, the least of matching rows, words that judge."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.formula import Expression
from estimator.documents.description import (
    Column,
    Entry,
    Fact,
    Facts,
    Formula,
    Lookup,
    Matching,
    Rows,
    Table,
    Verdict,
    Whole,
    Words,
)
from estimator.documents.look import ENTRY
from estimator.documents.xlsx_writer import write_xlsx
from tests.documents.recalculate import recalculate
from tests.documents.workbook_sample import document, sheet

GOOD, BAD = Verdict("holds", "good"), Verdict("too low", "bad")
LOW = Words(((Expression("volts < least"), BAD),), GOOD)
DROP = Expression("sum(drops)")


def places(*keys: str) -> Table:
    """Return three places of two lines, whose drops add up along the way."""
    along = {"drops": Matching("places", "drop", "line", "line", order="place")}
    names = keys or ("N1", "N1", "N2")
    return Table(
        name="places",
        title="Places",
        columns=(
            Column(key="line", head="Line"),
            Column(key="place", head="Place", kind="whole"),
            Column(key="drop", head="Drop", kind="number"),
            Column(key="lost", head="Lost", kind="number", formula=DROP, inputs=along),
            Column(key="volts", head="Volts", kind="number", entry=Entry(low=0.0, refusal="A number.", standing=True)),
        ),
        rows=[
            (names[0], 1, 0.5, 0.5, 19.5),
            (names[1], 2, 0.25, 0.75, 19.25),
            (names[2], 1, 1.0, 1.0, None),
        ],
    )


def lines(*keys: str) -> Table:
    """Return the lines with the least volts at their places, and what that says."""
    here = {"here": Matching("places", "volts", "line", "line")}
    names = keys or ("N1", "N2")
    return Table(
        name="lines",
        title="Lines",
        key="line",
        columns=(
            Column(key="line", head="Line"),
            Column(key="volts", head="Lowest", kind="number", formula=Expression("min(here)"), inputs=here),
            Column(key="least", head="At least", kind="number"),
            Column(key="word", head="Works", kind="verdict", words=LOW),
        ),
        rows=[(names[0], 19.25, 19.25, GOOD), (names[1], 0.0, 16.0, BAD), ("N3", None, None, None)],
    )


def _book(content: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(content))


def _two(*facts: Fact) -> bytes:
    blocks = [Facts(title="", rows=facts)] if facts else []
    return write_xlsx(document(sheet(*blocks, lines(), title="L"), sheet(places(), title="P")))


def test_the_least_of_matching_rows_puts_the_others_out_of_reach() -> None:
    tab = _book(_two())["L"]

    live = [cell.value for row in tab.iter_rows() for cell in row if cell.data_type == "f"]
    assert live[0] == "=SUMPRODUCT(MIN('P'!$E$6:$E$8+('P'!$A$6:$A$8<>A7)*1E+12))"


def test_rows_up_to_ones_own_place_are_summed() -> None:
    tab = _book(_two())["P"]

    assert tab["D7"].value == "=SUMPRODUCT(--($A$6:$A$8=A7),--($B$6:$B$8<=B7),$C$6:$C$8)"


def test_another_program_gets_the_least_the_sum_and_the_word(tmp_path: Path) -> None:
    result = recalculate(_two(), tmp_path)

    assert result.compared == 3 + 2 + 2
    assert result.differences == []


def test_a_word_stands_with_its_value_and_its_colors_follow_it() -> None:
    content = _two()
    tab, values = _book(content)["L"], openpyxl.load_workbook(io.BytesIO(content), data_only=True)["L"]
    found = {
        cell.value: tab[cell.coordinate].value
        for row in values.iter_rows()
        for cell in row
        if cell.value in ("holds", "too low")
    }
    rules = [rule.formula[0] for area in tab.conditional_formatting for rule in area.rules]

    assert set(found) == {"holds", "too low"}
    assert str(found["holds"]).startswith("=IF(IF((B7)=0,0,ROUND((B7),11-INT(LOG10(ABS((B7))))))<IF(")
    assert str(found["holds"]).endswith(',"too low","holds")')
    assert sorted(rules) == ['"holds"', '"too low"']


def test_a_row_without_a_verdict_holds_no_word() -> None:
    tab = _book(_two())["L"]

    assert [cell.value for cell in tab[9]] == ["N3", None, None, None]


@pytest.mark.parametrize("key", ["N1", "1/2", "a*"])
def test_a_row_is_looked_up_by_what_stands_there(key: str, tmp_path: Path) -> None:
    rows = [(key, 3.0), ("other", 4.0)]
    held = Table(
        name="held",
        title="Held",
        key="id",
        columns=(Column(key="id", head="Id"), Column(key="value", head="Value", kind="number")),
        rows=rows,
    )
    found = {"value": Lookup("held", "value", "id", "name")}
    asked = Table(
        name="asked",
        title="Asked",
        columns=(
            Column(key="name", head="Name"),
            Column(key="twice", head="Twice", kind="number", formula=Expression("2 * value"), inputs=found),
        ),
        rows=[("other", 8.0), (key, 6.0)],
    )
    content = write_xlsx(document(sheet(held, title="H"), sheet(asked, title="A")))

    plain = "*" not in key  # a search would take the sign for any letters
    assert ("MATCH(" in str(_book(content)["A"]["B6"].value)) is plain
    assert recalculate(content, tmp_path).differences == []


def test_a_few_rows_of_a_column_are_a_list_of_their_own() -> None:
    total = Formula(DROP, 0.75, {"drops": Rows("places", "drop", 0, 2)})
    tab = _book(_two(Fact(label="First two", value=total, kind="number")))["L"]

    assert "=SUM('P'!$C$6:$C$7)" in [cell.value for row in tab.iter_rows() for cell in row]


def test_a_fact_says_a_live_word() -> None:
    older = Words(((Expression("sum(drops) > 0"), Verdict("older", "poor")),), GOOD, {"drops": Whole("places", "drop")})
    tab = _book(_two(Fact(label="Plan", value=Verdict("older", "poor"), words=older)))["L"]
    (cell,) = [cell for row in tab.iter_rows() for cell in row if cell.data_type == "f" and "SUM(" in str(cell.value)
               and "PRODUCT" not in str(cell.value)]  # fmt: skip

    assert str(cell.value).endswith(',"older","holds")')
    assert '"older"' in [rule.formula[0] for area in tab.conditional_formatting for rule in area.rules]


def test_only_what_stands_there_is_tinted_for_a_change() -> None:
    tab = _book(_two())["P"]

    assert [tab[at].fill.fgColor.rgb[-6:] for at in ("E6", "E7")] == [ENTRY, ENTRY]
    assert tab["E8"].fill.fgColor.rgb[-6:] != ENTRY
    (rule,) = tab.data_validations.dataValidation
    assert (rule.type, rule.operator, rule.formula1, rule.error) == ("decimal", "greaterThanOrEqual", "0", "A number.")


def test_a_condition_whose_input_stands_nowhere_is_named() -> None:
    words = Words(((Expression("volts < most"), BAD),), GOOD, {"volts": 1.0})
    fact = Fact(label="x", value=GOOD, words=words)

    with pytest.raises(ValueError, match=r"condition 'volts < most': there is no column or named cell 'most'"):
        write_xlsx(document(sheet(Facts(title="", rows=(fact,)))))
