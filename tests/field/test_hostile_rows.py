"""Whatever a sheet holds, judging ends with a verdict and never passes what it can't read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.acceptance.columns import MEDIA, sheet
from estimator.field.judging import judge
from estimator.field.rows import ReadRow
from estimator.field.typed import NOTHING, bare
from estimator.field.verdicts import JobResult
from tests.acceptance.job import job

CIRCUITS = ("1A-A02", "1A-A01", "1A-V1", "1A/1B-1", "1A/1B-1.2", "NAC-1", "SP-1", "BAT-1", "GND-1", "", "?")
TEXTS = st.one_of(
    st.sampled_from(("", "OL", "pass", "open", "-", "0", "1", "50.5", "1e308", "NaN", "12,5", "1/2", "3 m", "=1+1")),
    st.floats(-1e6, 1e6).map(str),
    st.text(max_size=12),
    st.sampled_from(("2026-03-01", "3/14/2026", "14:05", "charger on", "terminated", "far end", "0s345678", "²³")),
)


@pytest.fixture(scope="module")
def judging(tmp_path_factory: pytest.TempPathFactory) -> Callable[[list[ReadRow]], JobResult]:
    """Return a function that judges rows of the small job."""
    folder: Path = tmp_path_factory.mktemp("job")
    project, footage, criteria = job(folder)
    return lambda rows: judge(project, footage, criteria, rows)


@st.composite
def read_rows(draw: st.DrawFn) -> list[ReadRow]:
    """Draw rows with any text in any column."""
    rows = []
    for number in range(draw(st.integers(0, 6))):
        medium = draw(st.sampled_from(MEDIA))
        keys = [column.key for column in sheet(medium).columns]
        cells = draw(st.dictionaries(st.sampled_from(keys), TEXTS, max_size=8))
        rows.append(
            ReadRow(
                batch="b", file=draw(st.sampled_from(("a.csv", "a.xlsx"))), sheet=medium, row=number, order=number,
                circuit=draw(st.sampled_from(CIRCUITS)), round=draw(st.sampled_from(("", "1", "2", "x", "²"))),
                cells=cells, stated=draw(st.dictionaries(st.sampled_from(("decimals", "dates", "corrects")), TEXTS)),
            )
        )  # fmt: skip
    return rows


def _says(row: ReadRow, key: str) -> bool:
    return bare(row.cells.get(key, "")).casefold() not in NOTHING


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=read_rows())
def test_any_text_ends_in_a_verdict(judging: Callable[[list[ReadRow]], JobResult], rows: list[ReadRow]) -> None:
    """Every row is either in a circuit's history or listed with its reason; the order received is all the same."""
    result = judging(rows)
    used = sum(len(each.rows) for one in result.circuits for each in one.history)
    silent = sum(not any(_says(row, c.key) for c in sheet(row.sheet).columns if c.test) for row in rows)
    assert used + len(result.unplaced) + silent >= len(rows)
    assert result == judging(list(reversed(rows)))
