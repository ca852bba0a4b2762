"""The formula grammar: closed, evaluated by us, and the same in a spreadsheet engine."""

from __future__ import annotations

import random
from pathlib import Path

import openpyxl
import pytest

from estimator.calc.formula import Expression, FormulaError
from tests.documents.recalculate import recalculated

TEXTS = (
    "a + b - c", "a - (b - c)", "a / (b * c)", "a / b * c", "-a ** 2", "(-a) ** 2", "a ** b ** 0.5", "2 * -a",
    "a - -b", "sum(v)", "sum(v, a)", "sumproduct(v, w)", "count(v)", "min(v, a)", "max(a, b, c)", "sqrt(a * b)",
    "log10(a)", "abs(b - a * c)", "round(a * b, 2)", "round(a * 1000, -1)", "ceil(a * b / c)", "floor(a * b / c)",
    "where(a > b, a, b)", "where(a < b, sum(v), c)", "where(a * b > a * b, 1, 0)", "ceil(max(0, a * (1 + b) - c) / w1)",
    "(a * b + c * b) / 3600 * a", "20 * log10(a / b)", "1e-6 * a", "a * 1e10",
)  # fmt: skip
CASES = 12


@pytest.mark.parametrize(
    "text",
    ["a.b", "a[0]", "lambda: 1", "__import__('os')", "open(a)", "a if b else c", "'text'", "a == b", "a and b", "f(a)",
     "sum(x=a)", "True", "[a]", "a; b", "", "a +", "a >= b", "a < b < c", "1j", "a @ b", "a % b"],
)  # fmt: skip
def test_what_leaves_the_grammar_is_refused(text: str) -> None:
    """Nothing but numbers, names, arithmetic, comparison and the listed functions."""
    with pytest.raises(FormulaError):
        Expression(text)


def test_a_missing_input_is_named() -> None:
    """An error says which formula and which input."""
    with pytest.raises(FormulaError, match="'a \\+ b': name 'b' is not defined"):
        Expression("a + b")(a=1.0)


def test_the_language_s_own_functions_are_no_inputs() -> None:
    """A name that happens to be one is missing like any other."""
    with pytest.raises(FormulaError, match="name 'id' is not defined"):
        Expression("id + 1")()


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("a + b * c", "a+b*c"),
        ("(a + b) * c", "(a+b)*c"),
        ("(a * b) ** c", "(a*b)^c"),
        ("(a ** b) ** c", "(a^b)^c"),
        ("a ** (b ** c)", "a^(b^c)"),
        ("a - (b - c)", "a-(b-c)"),
        ("-a ** 2", "(-(a^2))"),
        ("-(a + b)", "(-(a+b))"),
    ],
)
def test_brackets_stand_where_a_spreadsheet_needs_them(text: str, written: str) -> None:
    """Powers associate from the left in a spreadsheet and from the right with us."""
    assert Expression(text).spreadsheet(str) == written


def test_equal_values_are_neither_over_nor_under() -> None:
    """Comparison goes through the one that every verdict uses."""
    assert Expression("where(a > b, 1, 0)")(a=0.2 + 73.9 + 15.9, b=90.0) == 0
    assert Expression("where(a < b, 1, 0)")(a=90.0, b=0.2 + 73.9 + 15.9) == 0


def _inputs(pick: random.Random) -> dict[str, float]:
    values = {name: round(pick.uniform(0.05, 60), pick.randint(0, 6)) + 0.01 for name in "abc"}
    return values | {f"{letter}{number}": round(pick.uniform(0.1, 9), 3) for letter in "vw" for number in (1, 2, 3)}


def test_a_spreadsheet_engine_gives_what_we_give(tmp_path: Path) -> None:
    """Reference: LibreOffice on the rendered text, for random inputs; relative 1e-9, as sums differ in order."""
    pick = random.Random(11)
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    names = ["a", "b", "c", "v1", "v2", "v3", "w1", "w2", "w3"]
    places = {name: index + 1 for index, name in enumerate(names)}
    expected: dict[tuple[int, int], float] = {}
    for row in range(1, CASES + 1):
        inputs = _inputs(pick)
        for name, column in places.items():
            sheet.cell(row, column, inputs[name])
        cells = {name: sheet.cell(row, column).coordinate for name, column in places.items()}
        cells |= {"v": f"{cells['v1']}:{cells['v3']}", "w": f"{cells['w1']}:{cells['w3']}"}
        given = {**inputs, "v": [inputs[f"v{n}"] for n in (1, 2, 3)], "w": [inputs[f"w{n}"] for n in (1, 2, 3)]}
        for index, text in enumerate(TEXTS):
            formula = Expression(text)
            at = len(names) + 1 + index
            sheet.cell(row, at, "=" + formula.spreadsheet(cells.__getitem__))
            expected[row, at] = formula(**{name: given[name] for name in formula.names})
    book.save(tmp_path / "formulas.xlsx")
    found = recalculated({"formulas": (tmp_path / "formulas.xlsx").read_bytes()}, tmp_path)["formulas"]
    read = openpyxl.load_workbook(found, data_only=True).active
    assert read is not None
    for (row, column), value in expected.items():
        assert read.cell(row, column).value == pytest.approx(value, rel=1e-9, abs=1e-12), TEXTS[column - 10]
