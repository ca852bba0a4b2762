"""The rule that replaces a battery hangs on the edition."""

from __future__ import annotations

import pytest

from estimator.takeoff.battery_service import battery_rules, replace_by


# Source: NFPA 72-2007 Table 10.4.4 and 2010 Table 14.4.5: sealed lead-acid replaced within five years
# of manufacture; the 2019 edition has no fixed life but a capacity test (trade articles on the change).
@pytest.mark.parametrize(
    ("edition", "month"),
    [("2007", "2031-05"), ("2013", "2031-05"), ("2016", "2031-05"), ("2019", None), ("2022", None)],
)
def test_fixed_life_ends_with_the_2016_edition(edition: str, month: str | None) -> None:
    """Five years after manufacture, or no month where the edition goes by capacity."""
    assert replace_by("2026-05", "", battery_rules(edition)) == month


# Trade articles on the 2022 edition: a label with the replacement date, at most four years from installation.
def test_the_label_of_2022_counts_from_installation() -> None:
    """Not from manufacture; without a month of installation nothing is guessed."""
    assert replace_by("2026-05", "2026-11", battery_rules("2022")) == "2030-11"
    assert replace_by("2026-05", "2026-11", battery_rules("2025")) == "2030-11"
    assert replace_by("2026-05", "2026-11", battery_rules("2019")) is None
    assert replace_by("2026-05", "2026-11", battery_rules("2016")) == "2031-05"


def test_the_earliest_of_two_rules_decides() -> None:
    """Five years from manufacture beside four from installation."""
    both = (*battery_rules("2016"), *battery_rules("2022"))

    assert replace_by("2026-05", "2026-11", both) == "2030-11"
    assert replace_by("2024-05", "2026-11", both) == "2029-05"


def test_newer_edition_replaces_by_capacity() -> None:
    """Eighty percent, tested every three years (NFPA 72-2019, as trade articles print it)."""
    rule = next(one for one in battery_rules("2019") if one.replace_at is not None)
    assert (rule.months, rule.replace_at) == (36, 0.8)


def test_date_code_without_a_month_names_none() -> None:
    """Nothing is guessed from a code that isn't a month."""
    assert replace_by("", "", battery_rules("2013")) is None
    assert replace_by("A7", "", battery_rules("2013")) is None
    assert replace_by("2026-13", "2026-00", battery_rules("2013")) is None


def test_december_stays_in_its_year() -> None:
    """The last month is not month zero of the next year."""
    assert replace_by("2020-12", "", battery_rules("2010")) == "2025-12"
