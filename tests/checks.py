"""Writes every published check into one table: ``python -m tests.checks``."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import tests
from tests.published import Check


def all_checks() -> Iterator[Check]:
    """Yield the checks of every test module, module by module."""
    for module in pkgutil.walk_packages(tests.__path__, "tests."):
        name = module.name.rsplit(".", 1)[-1]
        if name.startswith("test_"):
            yield from getattr(importlib.import_module(module.name), "CHECKS", ())


def main() -> None:
    """Print one line a check: discipline, what, source, expected, obtained, tolerance."""
    print("discipline\twhat\tsource\texpected\tobtained\ttolerance")
    for check in all_checks():
        cells = (check.discipline, check.what, check.source, check.expected, check.obtained(), check.tolerance)
        print("\t".join(str(cell) for cell in cells))


if __name__ == "__main__":
    main()
