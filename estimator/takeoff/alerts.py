"""The trade's warnings: each with its number, its limit and the limit's source."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.spec.faults import Place


@dataclass(frozen=True, order=True, slots=True)
class Alert:
    """Something an estimator should worry about before the price goes out.

    ``value`` and ``limit`` are texts with their units, so that every writer shows the same.
    """

    place: Place
    kind: str
    subject: str
    text: str
    value: str
    limit: str
    source: str
    advice: str = ""

    def __str__(self) -> str:
        line = f"{self.place}: {self.kind}: {self.text}: {self.value}, limit {self.limit} ({self.source})"
        return f"{line}; {self.advice}" if self.advice else line
