"""The id list: every circuit in test order as CSV, to be loaded into an instrument."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Final

from estimator.acceptance.columns import sheet
from estimator.acceptance.criterion import Criteria
from estimator.units.table import FOOT_M

HEADS: Final = (
    "id",
    "medium",
    "from",
    "to",
    "cable",
    "limit",
    "adapter",
    "nvp_percent",
    "reference",
    "expected_length_ft",
    "expected_length_m",
)
_RUNS_AS_FORMULA: Final = frozenset("=+-@\t\r")


def id_list(circuits: Sequence[Criteria]) -> str:
    """Return the circuits in test order as CSV text, strands one by one.

    A text that a spreadsheet would run as a formula gets an apostrophe in front; our own reader
    takes it off again.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADS)
    for one in circuits:
        writer.writerow([guarded(cell) for cell in _cells(one)])
    return out.getvalue()


def guarded(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula.

    >>> guarded("=1+1"), guarded("1A-A01")
    ("'=1+1", '1A-A01')
    """
    return f"'{text}" if text[:1] in _RUNS_AS_FORMULA and text else text


def _cells(one: Criteria) -> list[str]:
    settings = one.settings
    return [
        one.id,
        sheet(one.medium).title,
        one.room,
        one.far_end,
        one.cable,
        settings.limit,
        settings.adapter,
        "" if settings.nvp is None else f"{settings.nvp * 100:.0f}",
        settings.reference,
        "" if one.expected_m is None else f"{one.expected_m / FOOT_M:.0f}",
        "" if one.expected_m is None else f"{one.expected_m:.1f}",
    ]
