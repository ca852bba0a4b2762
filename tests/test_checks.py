"""The published values as a whole: enough of them, in every discipline, each with its source."""

from __future__ import annotations

from collections import Counter

from tests.checks import all_checks

DISCIPLINES = (
    "battery", "coax", "conductors", "copper_link", "cutting", "dc_circuit", "fiber", "labor", "pathway", "poe",
    "price", "routing", "separation", "speaker_line", "voice_line",
)  # fmt: skip


def test_every_discipline_is_held_to_published_values() -> None:
    """At least forty in all and three a discipline, each naming where it was published."""
    checks = list(all_checks())
    counted = Counter(check.discipline for check in checks)
    assert len(checks) >= 40
    assert {name: counted[name] for name in DISCIPLINES if counted[name] < 3} == {}
    assert all(check.source.strip() and check.tolerance >= 0 for check in checks)
