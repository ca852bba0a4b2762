"""What every formula owes its caller: units, source and errors in words, and a refusal for every number."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections import defaultdict
from collections.abc import Callable

import pytest

import estimator.calc
import tests.calc
from tests.calc.refusals import Refused

NOT_FORMULAS = {"formula", "checked"}  # the grammar and the refusals themselves
NUMBER = re.compile(r"\b(float|int)\b")
UNIT = re.compile(r"\[[^\]]+\]|\bno unit\b|\bNone\b|\bwords?\b", re.IGNORECASE)


def _functions() -> dict[str, Callable[..., object]]:
    found: dict[str, Callable[..., object]] = {}
    for module in pkgutil.iter_modules(estimator.calc.__path__):
        if module.name in NOT_FORMULAS:
            continue
        loaded = importlib.import_module(f"estimator.calc.{module.name}")
        for name, function in inspect.getmembers(loaded, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == loaded.__name__:
                found[f"{module.name}.{name}"] = function
    return found


def _refused() -> dict[str, set[str]]:
    named: dict[str, set[str]] = defaultdict(set)
    for module in pkgutil.iter_modules(tests.calc.__path__):
        if module.name.startswith("test_"):
            entries: list[Refused] = getattr(importlib.import_module(f"tests.calc.{module.name}"), "REFUSED", [])
            for entry in entries:
                function: Callable[..., object] = entry.possible.func
                named[f"{function.__module__.rsplit('.', 1)[-1]}.{function.__name__}"] |= entry.named
    return named


FUNCTIONS = _functions()
NAMED = _refused()


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_the_docstring_gives_source_and_errors(name: str) -> None:
    """What a function is held to stands in its docstring; a number that it gives back has a unit."""
    text = inspect.getdoc(FUNCTIONS[name]) or ""
    assert "Source:" in text
    signature = inspect.signature(FUNCTIONS[name])
    if any(NUMBER.search(str(each.annotation)) for each in signature.parameters.values()):
        assert "Raises:" in text, "a number that cannot be is refused, and the docstring says so"
    if str(signature.return_annotation) == "float":
        assert UNIT.search(text), "the unit of what is returned stands in brackets"


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_every_number_that_cannot_be_is_refused_by_name(name: str) -> None:
    """Each parameter that takes a number has a refusal in the tests, which hold it to its words."""
    numbers = {
        each.name for each in inspect.signature(FUNCTIONS[name]).parameters.values()
        if NUMBER.search(str(each.annotation))
    }  # fmt: skip
    assert sorted(numbers - NAMED[name]) == []
