"""Rows of field sheets for tests, without a sheet."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from estimator.field.judging import judge
from estimator.field.rows import Decision, ReadRow
from estimator.field.verdicts import JobResult
from tests.acceptance.job import PLAIN, job

_ORDER = count(1)


def row(
    circuit: str, sheet: str = "balanced_pair", *, attempt: str = "1", batch: str = "b1",
    stated: dict[str, str] | None = None, file: str = "sheet.csv", **cells: str,
) -> ReadRow:  # fmt: skip
    """Return a row; each one is received after the last, and stands below it.

    A strand's row names the reference method of its link, unless it says another or an empty one.
    """
    number = next(_ORDER)
    if sheet == "fiber":
        cells = {"reference": "one cord", **cells}
    return ReadRow(
        batch=batch, file=file, sheet=sheet, row=number, order=number, circuit=circuit, round=attempt, cells=cells,
        lengths="m", stated=stated or {},
    )  # fmt: skip


def good(circuit: str, *, attempt: str = "1", length: str = "50.0", **cells: str) -> ReadRow:
    """Return a row of a link that passes at the length its route leads to expect."""
    return row(circuit, attempt=attempt, **{"wire_map": "pass", "length_36": length, **cells})


def judged(
    folder: Path, *rows: ReadRow, decisions: tuple[Decision, ...] = (), acceptance: str = PLAIN, rules: str = ""
) -> JobResult:
    """Return the small job judged with these rows."""
    project, footage, criteria = job(folder, acceptance, rules)
    return judge(project, footage, criteria, rows, decisions)
