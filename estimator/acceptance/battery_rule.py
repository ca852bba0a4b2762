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

    ``replace_at`` is the share of rated capacity below which it is replaced, where the edition has one.
    """

    test: str
    months: int | None
    replace_at: float | None
    source: str
    confidence: str


def battery_rules(edition: str) -> tuple[BatteryRule, ...]:
    """Return what an edition of the fire-alarm code asks of a sealed lead-acid battery.

    Source: NFPA 72 test tables, by edition.
    """
    return tuple(_rule(row) for row in table("battery_tests") if _applies(row.text("editions"), edition))


def replace_by(date_code: str, rules: tuple[BatteryRule, ...]) -> str | None:
    """Return the month by which a battery is replaced, ``YYYY-MM``, or None where no rule names one.

    ``date_code`` is the month of manufacture; rules that go by capacity name no month.

    >>> replace_by("2026-05", (BatteryRule(test="replace", months=60, replace_at=None, source="", confidence=""),))
    '2031-05'
    """
    found = _YEAR_MONTH.search(date_code)
    months = min((one.months for one in rules if one.test == "replace" and one.months is not None), default=None)
    if found is None or months is None:
        return None
    count = int(found[1]) * _MONTHS_A_YEAR + int(found[2]) - 1 + months
    return f"{count // _MONTHS_A_YEAR:04d}-{count % _MONTHS_A_YEAR + 1:02d}"


def _rule(row: Row) -> BatteryRule:
    months, share = row.cells.get("interval_months"), row.cells.get("replace_at_percent")
    return BatteryRule(
        test=row.text("test"),
        months=int(row.number("interval_months")) if months is not None else None,
        replace_at=row.number("replace_at_percent") / 100 if share is not None else None,
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
