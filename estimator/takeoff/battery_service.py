"""What the adopted fire-alarm edition asks of a battery in service, and the month it must be replaced by."""

from __future__ import annotations

import re
from dataclasses import dataclass

from estimator.reference.lookup import Row, table

_YEAR_MONTH = re.compile(r"(\d{4})-(\d{1,2})")
_MONTHS_A_YEAR = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class BatteryRule:
    """One periodic test of a battery; ``months`` is None where it is done once.

    ``replace_at`` is the share of rated capacity below which it is replaced, where the edition has one;
    ``counts_from`` is "manufacture" or "installation" where the months are its longest life, else empty.
    """

    test: str
    months: int | None
    replace_at: float | None
    counts_from: str
    source: str
    confidence: str


def battery_rules(edition: str) -> tuple[BatteryRule, ...]:
    """Return what an edition of the fire-alarm code asks of a sealed lead-acid battery.

    Source: NFPA 72 test tables, by edition.
    """
    return tuple(_rule(row) for row in table("battery_tests") if _applies(row.text("editions"), edition))


def replace_by(date_code: str, installed: str, rules: tuple[BatteryRule, ...]) -> str | None:
    """Return the month by which a battery is replaced, ``YYYY-MM``, or None where no rule names one.

    ``date_code`` is the month of manufacture and ``installed`` that of installation; each rule counts
    from one of them, and the earliest month decides. Rules that go by capacity name no month.

    >>> five_years = BatteryRule(
    ...     test="replace", months=60, replace_at=None, counts_from="manufacture", source="", confidence="")
    >>> replace_by("2026-05", "2026-06", (five_years,))
    '2031-05'
    """
    starts = {"manufacture": _month(date_code), "installation": _month(installed)}
    due = [
        start + rule.months
        for rule in rules
        if rule.months is not None and (start := starts.get(rule.counts_from)) is not None
    ]
    if not due:
        return None
    return f"{min(due) // _MONTHS_A_YEAR:04d}-{min(due) % _MONTHS_A_YEAR + 1:02d}"


def _month(text: str) -> int | None:
    """Return the number of a month, counted from year zero, or None where the text names none."""
    found = _YEAR_MONTH.search(text)
    if found is None or not 1 <= int(found[2]) <= _MONTHS_A_YEAR:
        return None
    return int(found[1]) * _MONTHS_A_YEAR + int(found[2]) - 1


def _rule(row: Row) -> BatteryRule:
    months, share = row.cells.get("interval_months"), row.cells.get("replace_at_percent")
    return BatteryRule(
        test=row.text("test"),
        months=int(row.number("interval_months")) if months is not None else None,
        replace_at=row.number("replace_at_percent") / 100 if share is not None else None,
        counts_from=row.text("counts_from") if row.cells.get("counts_from") else "",
        source=row.source,
        confidence=row.confidence,
    )


def _applies(editions: str, edition: str) -> bool:
    if editions == "any":
        return True
    years = [int(year) for year in re.findall(r"\d{4}", editions)]
    asked = re.search(r"\d{4}", edition)
    if asked is None or not years:
        return False
    year = int(asked.group())
    return year >= years[0] if "later" in editions else years[0] <= year <= years[-1]
