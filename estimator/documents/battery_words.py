"""What a fire-alarm edition asks of a battery in service, in one line."""

from __future__ import annotations

from typing import Final

from estimator.documents.job_words import source_with_trust
from estimator.takeoff.battery_service import BatteryRule, replace_by

OTHER_RULE: Final = "Not under the fire-alarm code: the maker's stated life, and the owner's own tests."
"""Stands where no edition says when a battery is replaced."""


def due_words(date_code: str, installed: str, rules: tuple[BatteryRule, ...]) -> str:
    """Return the month by which a battery is replaced, or what decides it; no rules where no edition does."""
    if not rules:
        return "by its maker"
    month = replace_by(date_code, installed, rules)
    if month is not None:
        return month
    untold = [rule.counts_from for rule in rules if rule.counts_from]
    return f"month of {untold[0]} not typed" if untold else "by capacity"


def rule_words(rules: tuple[BatteryRule, ...], edition: str) -> str:
    """Return in one line what an edition asks of a battery in service."""
    parts = []
    for rule in rules:
        every = f" every {rule.months} months" if rule.months is not None and not rule.counts_from else ""
        within = f" within {rule.months} months of {rule.counts_from}" if rule.counts_from else ""
        below = f", replaced below {rule.replace_at:.0%}" if rule.replace_at is not None else ""
        parts.append(f"{rule.test}{within}{every}{below}")
    sources = ", ".join(dict.fromkeys(source_with_trust(rule.source, rule.confidence) for rule in rules))
    return f"NFPA 72-{edition}: {'; '.join(parts)} ({sources})"
