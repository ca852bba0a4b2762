"""Turns a formula of the description into one that a spreadsheet reads.

Plain addresses and functions that every spreadsheet has known for decades. A formula of a column
is rendered once, with a mark where the number of the row goes.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.documents.description import At, Cell, Lookup, Matching, Named, Ref, Rows, Same, Table, Whole, Words
from estimator.documents.xlsx_cells import ROW, checked_formula, letters, quoted_sheet
from estimator.documents.xlsx_plan import FactPlace, SheetPlan, TablePlace

_LISTS: Final = (Whole, Rows, Matching)
_OUT_OF_REACH: Final = "1E+12"
_FOLDED: Final = frozenset({"sum", "min", "max"})  # of a list, then of the results: the same
_READ_AS_NUMBER: Final = re.compile(r"[\s\d.,+\-/:eE%$()]*")
_PATTERN_SIGNS: Final = frozenset("*?~<>=")


@dataclass(frozen=True, slots=True)
class _Keys:
    """The first row of each key of a table, and the keys that stand in several, in small letters."""

    rows: Mapping[str, int]
    repeated: frozenset[str]


class Addresses:
    """Where the tables' columns and the named cells of a workbook stand."""

    def __init__(self, plans: Sequence[SheetPlan]) -> None:
        self._tables: Mapping[str, TablePlace] = {place.table.name: place for plan in plans for place in plan.tables}
        self._facts: Mapping[str, FactPlace] = {
            place.fact.name: place for plan in plans for place in plan.facts if place.name
        }
        self._keys: dict[str, _Keys] = {}

    def rendered(
        self,
        expression: Expression,
        inputs: Mapping[str, Ref],
        *,
        sheet: str,
        home: TablePlace | None = None,
        as_shown: bool = False,
        si: float = 1.0,
    ) -> str:
        """Return the formula escaped for XML, with ROW where the number of its row goes.

        ``si`` is that of the cell the formula stands in. Raises: ValueError where an input has no
        place, or a list stands where one number is needed.
        """
        renderer = _Renderer(self, expression, inputs, sheet, home, as_shown)
        try:
            formula = renderer.formula()
        except ValueError as wrong:
            raise ValueError(f"formula {expression.text!r}: {wrong}") from wrong
        if si != 1.0 and not as_shown:
            formula = f"{_fenced(formula)}/{_literal(si)}"
        return checked_formula(formula)

    def worded(self, words: Words, *, sheet: str, home: TablePlace | None = None) -> str:
        """Return the formula of a live word, escaped for XML, with ROW where the number of its row goes.

        Raises: ValueError where an input has no place.
        """
        formula = _quoted(words.otherwise.word)
        for condition, word in reversed(words.steps):
            try:
                holds = _Renderer(self, condition, words.inputs, sheet, home, as_shown=False).formula()
            except ValueError as wrong:
                raise ValueError(f"condition {condition.text!r}: {wrong}") from wrong
            formula = f"IF({holds},{_quoted(word.word)},{formula})"
        return checked_formula(formula)

    def table(self, name: str) -> TablePlace:
        """Return where a table stands. Raises: ValueError where there is none of that name."""
        if name not in self._tables:
            raise ValueError(f"there is no table {name!r}; there is {', '.join(self._tables) or 'none'}")
        return self._tables[name]

    def row_index(self, table: Table, row: str | int) -> int:
        """Return which row a key names, from 0. Raises: ValueError where it names none."""
        if isinstance(row, int):
            if not 0 <= row < len(table.rows):
                raise ValueError(f"table {table.name!r} has no row {row}; it has {len(table.rows)} rows")
            return row
        found = self._by_key(table).rows.get(row)
        if found is None:
            raise ValueError(f"table {table.name!r} has no row {row!r} in column {table.key!r}")
        return found

    def finds(self, table: Table, row: str) -> bool:
        """Return whether a spreadsheet's search for a key finds its one row; it takes no notice of case."""
        return row.casefold() not in self._by_key(table).repeated and not _PATTERN_SIGNS.intersection(row)

    def _by_key(self, table: Table) -> _Keys:
        if table.name not in self._keys:
            at = next((index for index, column in enumerate(table.columns) if column.key == table.key), None)
            if at is None:
                raise ValueError(f"table {table.name!r} has no key column {table.key!r}")
            texts = [cell if isinstance(cell := cells[at], str) else "" for cells in table.rows]
            counts = Counter(text.casefold() for text in texts)
            first = {text: len(texts) - 1 - back for back, text in enumerate(reversed(texts))}
            self._keys[table.name] = _Keys(first, frozenset(text for text, count in counts.items() if count > 1))
        return self._keys[table.name]

    def fact(self, name: str) -> FactPlace:
        """Return where a named cell stands. Raises: ValueError where there is none of that name."""
        if name not in self._facts:
            raise ValueError(f"there is no column or named cell {name!r}; named are {', '.join(self._facts) or 'none'}")
        return self._facts[name]


def total_formula(place: TablePlace, number: int) -> str:
    """Return the formula of a total row's cell: a sum, or how many cells say anything."""
    block = place.block(number)
    if place.table.columns[number - 1].total == "sum":
        return f"SUM({block})"
    return f"SUMPRODUCT(--(LEN({block})>0))"


class _Renderer:
    """Renders one formula; a list is folded to one number where a function takes it."""

    def __init__(
        self,
        book: Addresses,
        expression: Expression,
        inputs: Mapping[str, Ref],
        sheet: str,
        home: TablePlace | None,
        as_shown: bool,
    ) -> None:
        self._book = book
        self._expression = expression
        self._sheet = sheet
        self._home = home
        self._as_shown = as_shown
        self._refs = {name: inputs.get(name) or self._implied(name, inputs) for name in expression.names}
        self._folded: dict[str, str] = {}

    def _implied(self, name: str, inputs: Mapping[str, Ref]) -> Ref:
        if name in inputs:  # a literal zero
            return inputs[name]
        if self._home is not None and any(column.key == name for column in self._home.table.columns):
            return Same(name)
        return Named(name)

    def formula(self) -> str:
        """Return the formula with an address or a name for each input."""
        if not any(isinstance(ref, _LISTS) for ref in self._refs.values()):
            return self._expression.spreadsheet(self._one)
        tree = _Folds(self).visit(ast.parse(self._expression.text, mode="eval"))
        return Expression(ast.unparse(tree)).spreadsheet(self._one)

    def is_list(self, node: ast.expr) -> bool:
        """Return whether a node names cells rather than a cell."""
        return isinstance(node, ast.Name) and isinstance(self._refs.get(node.id), _LISTS)

    def fold(self, function: str, names: Sequence[str]) -> ast.Name:
        """Return a name that stands for a function of lists from now on."""
        refs = [self._refs[name] for name in names]
        token = f"list_{len(self._folded)}"
        if function == "sumproduct":
            self._folded[token] = self._sumproduct(refs)
        elif isinstance(refs[0], Matching):
            self._folded[token] = self._matching(function, refs[0])
        else:
            assert isinstance(refs[0], Whole | Rows)
            self._folded[token] = self._whole(function, refs[0])
        return ast.Name(token, ast.Load())

    def _one(self, name: str) -> str:
        if name in self._folded:
            return self._folded[name]
        ref = self._refs[name]
        if isinstance(ref, Same):
            if self._home is None:
                raise ValueError(f"{name!r} is a column of the same row, but the cell stands in no table")
            place = self._home
            return self._scaled(f"{letters(place.column(ref.column))}{ROW}", place.table, ref.column)
        if isinstance(ref, Named):
            fact = self._book.fact(ref.name)
            return fact.name if self._as_shown or fact.fact.si == 1.0 else f"({fact.name}*{_literal(fact.fact.si)})"
        if isinstance(ref, At):
            return self._at(ref)
        if isinstance(ref, Lookup):
            return self._lookup(ref)
        if isinstance(ref, _LISTS):
            raise ValueError(f"{name!r} is a list, but one number is needed")
        return _literal(ref)

    def _scaled(self, address: str, table: Table, key: str) -> str:
        si = next(column.si for column in table.columns if column.key == key)
        return address if self._as_shown or si == 1.0 else f"({address}*{_literal(si)})"

    def _abroad(self, place: TablePlace) -> str:
        return "" if place.sheet == self._sheet else quoted_sheet(place.sheet)

    def _at(self, ref: At) -> str:
        place = self._book.table(ref.table)
        row = place.first + self._book.row_index(place.table, ref.row)
        if isinstance(ref.row, str) and self._book.finds(place.table, ref.row):
            values, keys = self._range(ref.table, ref.column), self._range(ref.table, place.table.key)
            return self._scaled(f"INDEX({values},MATCH({_quoted(ref.row)},{keys},0))", place.table, ref.column)
        address = f"{self._abroad(place)}${letters(place.column(ref.column))}${row}"
        return self._scaled(address, place.table, ref.column)

    def _lookup(self, ref: Lookup) -> str:
        table = self._book.table(ref.table).table
        by, values = self._range(ref.table, ref.by), self._range(ref.table, ref.column)
        key = self._key_cell(ref.key)
        if _holds_patterns(_texts(table, ref.by)):
            return self._scaled(f"SUMPRODUCT(--({by}={key}),{values})", table, ref.column)
        return self._scaled(f"INDEX({values},MATCH({key},{by},0))", table, ref.column)

    def _range(self, table: str, column: str) -> str:
        place = self._book.table(table)
        return self._abroad(place) + place.block(place.column(column))

    def _cells(self, ref: Whole | Rows | Matching) -> str:
        """Return the range of a list, all its column's rows or the named ones."""
        if not isinstance(ref, Rows):
            return self._range(ref.table, ref.column)
        place = self._book.table(ref.table)
        letter, first = letters(place.column(ref.column)), place.first + ref.first
        return f"{self._abroad(place)}${letter}${first}:${letter}${first + ref.count - 1}"

    def _whole(self, function: str, ref: Whole | Rows) -> str:
        address = self._cells(ref)
        if function == "count":
            return f"COUNT({address})"
        return self._scaled(f"{function.upper()}({address})", self._book.table(ref.table).table, ref.column)

    def _sumproduct(self, refs: Sequence[Ref]) -> str:
        pieces, factor, chosen = [], 1.0, dict[str, None]()
        for ref in refs:
            if not isinstance(ref, _LISTS):
                raise ValueError("sumproduct takes columns only")
            if isinstance(ref, Matching):
                chosen[f"--({self._range(ref.table, ref.by)}={self._one_key(ref)})"] = None
            pieces.append(self._cells(ref))
            place = self._book.table(ref.table)
            factor *= place.table.columns[place.column(ref.column) - 1].si
        product = f"SUMPRODUCT({','.join([*chosen, *pieces])})"
        return product if self._as_shown or factor == 1.0 else f"({product}*{_literal(factor)})"

    def _matching(self, function: str, ref: Matching) -> str:
        table = self._book.table(ref.table).table
        by, values = self._range(ref.table, ref.by), self._range(ref.table, ref.column)
        key = self._one_key(ref)
        if function in ("min", "max"):
            # Rows of another key are put out of reach; the sum of one product makes a list of it.
            sign = "+" if function == "min" else "-"
            others = [f"({by}<>{key})", *self._out_of_order(ref)]
            inner = values + "".join(f"{sign}{other}*{_OUT_OF_REACH}" for other in others)
            inner = f"{function.upper()}({inner})"
            return self._scaled_sum(f"SUMPRODUCT({inner})", function, table, ref.column)
        if function not in ("sum", "count"):
            raise ValueError(f"matching rows can be summed and counted, not {function!r}")
        if ref.order or not _plain_keys(table, ref):
            # A criterion would be read as a number, a date or a pattern; a comparison is exact.
            counted = f"--ISNUMBER({values})" if function == "count" else values
            conditions = [f"--({by}={key})", *self._in_order(ref)]
            return self._scaled_sum(f"SUMPRODUCT({','.join([*conditions, counted])})", function, table, ref.column)
        if function == "count":
            return f"COUNTIF({by},{key})"
        return self._scaled_sum(f"SUMIF({by},{key},{values})", function, table, ref.column)

    def _in_order(self, ref: Matching) -> list[str]:
        return self._ordered(ref, "<=" if ref.side == "upto" else ">=", "--")

    def _out_of_order(self, ref: Matching) -> list[str]:
        return self._ordered(ref, ">" if ref.side == "upto" else "<", "")

    def _ordered(self, ref: Matching, sign: str, lead: str) -> list[str]:
        """Return the condition on the order of rows, if there is one."""
        if not ref.order:
            return []
        return [f"{lead}({self._range(ref.table, ref.order)}{sign}{self._key_cell(ref.order_key or ref.order)})"]

    def _scaled_sum(self, formula: str, function: str, table: Table, key: str) -> str:
        return formula if function == "count" else self._scaled(formula, table, key)

    def _one_key(self, ref: Matching) -> str:
        return self._key_cell(ref.key) if ref.key_is_column else _quoted(ref.key)

    def _key_cell(self, column: str) -> str:
        if self._home is None:
            raise ValueError(f"the key {column!r} is a column of the same row, but the cell stands in no table")
        return f"{letters(self._home.column(column))}{ROW}"


class _Folds(ast.NodeTransformer):
    """Replaces each function of lists by the one number it comes to."""

    def __init__(self, renderer: _Renderer) -> None:
        self._renderer = renderer

    def visit_Call(self, node: ast.Call) -> ast.AST:
        """Fold a function whose arguments are lists."""
        assert isinstance(node.func, ast.Name)
        function = node.func.id
        lists = [argument for argument in node.args if self._renderer.is_list(argument)]
        if not lists:
            return self.generic_visit(node)
        names = [argument.id for argument in lists if isinstance(argument, ast.Name)]
        if function == "sumproduct" and len(lists) == len(node.args):
            return self._renderer.fold(function, names)
        if len(node.args) == 1 and function in _FOLDED | {"count"}:
            return self._renderer.fold(function, names)
        if function in _FOLDED:
            node.args = [
                self._renderer.fold(function, [argument.id])
                if self._renderer.is_list(argument) and isinstance(argument, ast.Name)
                else self.visit(argument)
                for argument in node.args
            ]
            return node
        raise ValueError(f"{function!r} of {', '.join(names)} can't be written for a spreadsheet")


def _plain_keys(table: Table, ref: Matching) -> bool:
    """Return whether a spreadsheet's criterion takes these keys for the words they are."""
    texts = _texts(table, ref.by) | (set() if ref.key_is_column else {ref.key})
    return not (_holds_patterns(texts) or any(_READ_AS_NUMBER.fullmatch(text) for text in texts))


def _texts(table: Table, key: str) -> set[str]:
    """Return the texts of a column."""
    index = next(number for number, column in enumerate(table.columns) if column.key == key)
    cells: set[Cell] = {row[index] for row in table.rows}
    return {cell for cell in cells if isinstance(cell, str)}


def _holds_patterns(texts: Iterable[str]) -> bool:
    return any(_PATTERN_SIGNS.intersection(text) for text in texts)


def _quoted(text: str) -> str:
    """Return a text as a formula writes it."""
    return '"' + text.replace('"', '""') + '"'


def _literal(number: float) -> str:
    text = repr(float(number)).upper().removesuffix(".0")
    return f"({text})" if number < 0 else text


def _fenced(formula: str) -> str:
    """Return the formula in brackets, unless it stands in a pair of its own already."""
    depth = 0
    for place, sign in enumerate(formula):
        depth += (sign == "(") - (sign == ")")
        if depth == 0:
            return formula if sign == ")" and place == len(formula) - 1 else f"({formula})"
    return f"({formula})"
