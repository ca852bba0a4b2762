"""From which size on a pattern of readings points to a cause."""

from __future__ import annotations

from functools import cache

from estimator.reference.lookup import table


@cache
def sign(name: str) -> float:
    """Return one of the tabled sizes, in the unit of its row.

    Source: reading_signs.json, common practice.
    """
    return table("reading_signs").find(name=name).number("value")
