"""Do the tests notice a changed formula? ``python -m tests.bench.formula_mutants [MODULE...]``.

A formula is text in a constant, which a mutation tool takes for a message. Here each one is changed
in place, one operator, number or function at a time, in a child process that runs the tests of calc
until the first fails. What survives is printed.
"""

from __future__ import annotations

import ast
import contextlib
import copy
import importlib
import io
import os
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from estimator.calc.formula import Expression

MODULES = ("battery", "dc_circuit", "discharge", "poe", "pathway", "price")
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.Gt, ast.GtE: ast.Lt, ast.USub: ast.UAdd,
}  # fmt: skip
OTHER_FUNCTION = {"max": "min", "min": "max"}


def mutants(text: str) -> Iterator[str]:
    """Yield the formula with one change each."""
    for index, node in enumerate(ast.walk(ast.parse(text, mode="eval"))):
        tree = ast.parse(text, mode="eval")
        target = list(ast.walk(tree))[index]
        if isinstance(node, ast.BinOp | ast.UnaryOp) and type(node.op) in SWAPS:
            target.op = SWAPS[type(node.op)]()  # type: ignore[attr-defined]
        elif isinstance(node, ast.Compare):
            target.ops = [SWAPS[type(node.ops[0])]()]  # type: ignore[attr-defined]
        elif isinstance(node, ast.Constant) and isinstance(node.value, int | float):
            target.value = node.value + 1  # type: ignore[attr-defined]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in OTHER_FUNCTION:
            target.func.id = OTHER_FUNCTION[node.func.id]  # type: ignore[attr-defined]
        else:
            continue
        yield ast.unparse(tree)


def _put(formula: Expression, text: str) -> None:
    """Make the one object that every module shares compute the changed formula."""
    changed = Expression(text)
    for slot in Expression.__slots__:
        setattr(formula, slot, copy.copy(getattr(changed, slot)))


def survives(formula: Expression, text: str, tests: str) -> bool:
    """Return whether the tests pass with the changed formula, in a process of its own."""
    child = os.fork()
    if child == 0:
        _put(formula, text)
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            status = pytest.main(["-x", "-q", "-p", "no:cacheprovider", tests])
        os._exit(0 if status == pytest.ExitCode.OK else 1)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def main() -> None:
    """Change every formula of the named modules and print what no test noticed."""
    wanted = sys.argv[1:] or MODULES
    folder = Path(__file__).parents[1] / "calc"
    work: list[tuple[str, Expression, str, str]] = []
    for name in wanted:
        module = importlib.import_module(f"estimator.calc.{name}")
        for constant, formula in vars(module).items():
            if isinstance(formula, Expression):
                tests = str(folder / f"test_{name}.py")
                work += [(f"{name}.{constant}", formula, text, tests) for text in mutants(formula.text)]
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        alive = list(pool.map(lambda job: survives(job[1], job[2], job[3]), work))
    left = [(where, formula.text, text) for (where, formula, text, _), lives in zip(work, alive, strict=True) if lives]
    for where, formula_text, text in left:
        print(f"{where}\n  is       {formula_text}\n  survives {text}")
    print(f"{len(left)} of {len(work)} changed formulas were noticed by no test")


if __name__ == "__main__":
    main()
