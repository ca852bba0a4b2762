"""What an edition asks of a battery in service, in words."""

from __future__ import annotations

import pytest

from estimator.documents.battery_words import due_words, rule_words
from estimator.takeoff.battery_service import battery_rules


@pytest.mark.parametrize(
    ("code", "installed", "edition", "words"),
    [
        ("2026-05", "", "2016", "2031-05"),
        ("", "2026-11", "2016", "month of manufacture not typed"),
        ("2026-05", "", "2022", "month of installation not typed"),
        ("2026-05", "2026-11", "2019", "by capacity"),
    ],
)
def test_what_decides_is_told_where_no_month_does(code: str, installed: str, edition: str, words: str) -> None:
    """A missing month is no capacity rule."""
    assert due_words(code, installed, battery_rules(edition)) == words
    assert due_words(code, installed, ()) == "by its maker"


def test_the_rule_is_told_in_one_line() -> None:
    """With what its months count from."""
    assert "replace within 60 months of manufacture; charger every 12 months" in rule_words(
        battery_rules("2013"), "2013"
    )
    assert "replace by the date on its label within 48 months of installation" in rule_words(
        battery_rules("2022"), "2022"
    )
