"""Formulas as data: one expression that is printed, evaluated and written into a spreadsheet.

The grammar is small and closed: numbers, names, ``+ - * / **``, comparisons, and the functions
of ``FUNCTIONS``. A name stands for a number, or for a list of numbers inside ``sum``,
``sumproduct``, ``count``, ``min`` and ``max``.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Callable, Mapping, Sequence
from types import CodeType
from typing import Final

from estimator.units.rounding import over, round_down, round_half_up, round_up, under

Value = float | Sequence[float]
Render = Callable[[str], str]

_BINARY: Final[Mapping[type[ast.operator], str]] = {
    ast.Add: "+",
    ast.Sub: "-",
    ast.Mult: "*",
    ast.Div: "/",
    ast.Pow: "^",
}
_COMPARE: Final[Mapping[type[ast.cmpop], str]] = {ast.Gt: "over", ast.Lt: "under"}
_RANK: Final[Mapping[type[ast.operator], int]] = {ast.Add: 1, ast.Sub: 1, ast.Mult: 2, ast.Div: 2, ast.Pow: 3}


def _numbers(values: tuple[Value, ...]) -> list[float]:
    flat: list[float] = []
    for value in values:
        flat.extend([value] if isinstance(value, int | float) else value)
    return flat


def _sum(*values: Value) -> float:
    return math.fsum(_numbers(values))


def _sumproduct(left: Sequence[float], right: Sequence[float]) -> float:
    if len(left) != len(right):
        raise ValueError(f"sumproduct of {len(left)} and {len(right)} numbers")
    return math.fsum(a * b for a, b in zip(left, right, strict=True))


def _where(condition: bool, yes: float, no: float) -> float:
    return yes if condition else no


FUNCTIONS: Final[Mapping[str, Callable[..., float]]] = {
    "sum": _sum,
    "sumproduct": _sumproduct,
    "count": lambda *values: float(len(_numbers(values))),
    "min": lambda *values: min(_numbers(values)),
    "max": lambda *values: max(_numbers(values)),
    "sqrt": math.sqrt,
    "log10": math.log10,
    "abs": abs,
    "round": lambda value, decimals: round_half_up(value, int(decimals)),
    "ceil": lambda value: float(round_up(value)),
    "floor": lambda value: float(round_down(value)),
    "where": _where,
}
"""What a formula may call. ``ceil`` and ``floor`` round to nine decimals first, in every rendering."""

_SPREADSHEET: Final[Mapping[str, str]] = {
    "sum": "SUM({})",
    "sumproduct": "SUMPRODUCT({})",
    "count": "COUNT({})",
    "min": "MIN({})",
    "max": "MAX({})",
    "sqrt": "SQRT({})",
    "log10": "LOG10({})",
    "abs": "ABS({})",
    "round": "ROUND({})",
    "ceil": "ROUNDUP(ROUND({},9),0)",
    "floor": "ROUNDDOWN(ROUND({},9),0)",
    "where": "IF({})",
}


def spreadsheet_significant(reference: str) -> str:
    """Return the spreadsheet expression for a value at the compared number of digits."""
    return f"IF({reference}=0,0,ROUND({reference},11-INT(LOG10(ABS({reference})))))"


class FormulaError(ValueError):
    """Text that is not a formula of the grammar, or inputs that do not fit it."""


class Expression:
    """A formula in the closed grammar: call it with its inputs, print it, or render it.

    >>> need = Expression("(standby_a * standby_s + alarm_a * alarm_s) / 3600 * margin")
    >>> need(standby_a=0.25, standby_s=86400, alarm_a=1.5, alarm_s=300, margin=1.2)
    7.35
    """

    __slots__ = ("_code", "_tree", "names", "text")

    def __init__(self, text: str) -> None:
        """Parse the text. Raises: FormulaError if it leaves the grammar."""
        self.text: Final[str] = " ".join(text.split())
        try:
            tree = ast.parse(self.text, mode="eval")
        except SyntaxError as wrong:
            raise FormulaError(f"not a formula: {self.text!r}") from wrong
        names: dict[str, None] = {}
        _check(tree.body, names, self.text)
        self.names: Final[tuple[str, ...]] = tuple(names)
        self._tree: Final[ast.expr] = tree.body
        self._code: CodeType | None = None  # compiled at the first call: a run calls few of the formulas it imports

    def __call__(self, **inputs: Value) -> float:
        """Return the value for these inputs. Raises: FormulaError where an input is missing."""
        if self._code is None:
            self._code = self._compiled()
        try:
            return float(eval(self._code, _EVALUATED, inputs))
        except NameError as missing:
            raise FormulaError(f"{self.text!r}: {missing}") from missing

    def _compiled(self) -> CodeType:
        # Parsed anew, because the comparisons are changed in place and the kept tree is what a spreadsheet gets.
        tree = ast.parse(self.text, mode="eval")
        return compile(_Comparisons().visit(tree), f"<{self.text}>", "eval")

    def __repr__(self) -> str:
        return f"Expression({self.text!r})"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Expression) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)

    def spreadsheet(self, reference: Render) -> str:
        """Return the formula as a spreadsheet writes it, without the leading equals sign.

        ``reference`` gives the cell, range or name that stands for an input.
        """
        return _spreadsheet(self._tree, reference)


class _Comparisons(ast.NodeTransformer):
    """Turns ``a > b`` into the one comparison that every verdict uses."""

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        self.generic_visit(node)
        name = _COMPARE[type(node.ops[0])]
        call = ast.Call(ast.Name(f"_{name}", ast.Load()), [node.left, node.comparators[0]], [])
        return ast.fix_missing_locations(ast.copy_location(call, node))


_EVALUATED: Final[dict[str, object]] = {"__builtins__": {}, **FUNCTIONS, "_over": over, "_under": under}


def _check(node: ast.expr, names: dict[str, None], text: str) -> None:
    if isinstance(node, ast.BinOp) and type(node.op) in _BINARY:
        _check(node.left, names, text)
        _check(node.right, names, text)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        _check(node.operand, names, text)
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in _COMPARE:
        _check(node.left, names, text)
        _check(node.comparators[0], names, text)
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and not node.keywords:
        if node.func.id not in FUNCTIONS:
            raise FormulaError(f"{text!r}: no function {node.func.id!r}; there is {', '.join(FUNCTIONS)}")
        for argument in node.args:
            _check(argument, names, text)
    elif isinstance(node, ast.Name):
        names.setdefault(node.id)
    elif not (isinstance(node, ast.Constant) and type(node.value) in (int, float)):
        raise FormulaError(f"{text!r}: {type(node).__name__} is outside the grammar")


def _spreadsheet(node: ast.expr, reference: Render, rank: int = 0) -> str:
    if isinstance(node, ast.BinOp):
        own = _RANK[type(node.op)]
        left = _spreadsheet(node.left, reference, own + (own == 3))
        right = _spreadsheet(node.right, reference, own + 1)
        joined = f"{left}{_BINARY[type(node.op)]}{right}"
        return f"({joined})" if own < rank else joined
    if isinstance(node, ast.UnaryOp):
        # A spreadsheet binds the sign tighter than the power, so it is always fenced.
        return f"(-{_spreadsheet(node.operand, reference, 4)})"
    if isinstance(node, ast.Compare):
        sides = (_spreadsheet(side, reference) for side in (node.left, node.comparators[0]))
        left, right = (spreadsheet_significant(f"({side})") for side in sides)
        return f"{left}{'>' if isinstance(node.ops[0], ast.Gt) else '<'}{right}"
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
        inner = ",".join(_spreadsheet(argument, reference) for argument in node.args)
        return _SPREADSHEET[node.func.id].format(inner)
    if isinstance(node, ast.Name):
        return reference(node.id)
    if isinstance(node, ast.Constant):
        return repr(node.value).upper()  # a file wants a capital E before an exponent
    raise FormulaError(f"{ast.dump(node)} is outside the grammar")
