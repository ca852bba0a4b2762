"""Writes every published check into one table: ``python -m tests.checks [FILE]``."""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Iterator
from pathlib import Path

import tests
from tests.published import Check

HEAD = (
    "discipline", "what", "source", "trust", "counted", "kind", "expected", "obtained", "tolerance",
    "why the tolerance is wider",
)  # fmt: skip


def all_checks() -> Iterator[Check]:
    """Yield the checks of every test module, module by module."""
    for module in pkgutil.walk_packages(tests.__path__, "tests."):
        name = module.name.rsplit(".", 1)[-1]
        if name.startswith("test_"):
            yield from getattr(importlib.import_module(module.name), "CHECKS", ())


def rows() -> Iterator[tuple[str, ...]]:
    """Yield the head, then one row of text a check."""
    yield HEAD
    for check in all_checks():
        kind = "look-up" if check.look_up else "computation"
        source = check.source.removesuffix(f"; {check.trust}")
        figures = (repr(check.expected), repr(check.obtained()), repr(check.tolerance))
        yield (check.discipline, check.what, source, check.trust, "yes" if check.counted else "no", kind, *figures,
               check.why)  # fmt: skip


def write(target: Path) -> None:
    """Write the table as text with tabs, one check a line."""
    target.write_text("".join("\t".join(row) + "\n" for row in rows()), encoding="utf-8")


def main() -> None:
    """Write the table to the file named on the command line, or print it."""
    if len(sys.argv) > 1:
        write(Path(sys.argv[1]))
    else:
        sys.stdout.writelines("\t".join(row) + "\n" for row in rows())


if __name__ == "__main__":
    main()
