"""Published figures that a computation must give again, kept as data so that they can be listed.

A test module registers its figures in a list named ``CHECKS`` and parametrizes over it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest


@dataclass(frozen=True, kw_only=True, slots=True)
class Check:
    """One figure from outside the house, and the computation that must come to it.

    ``tolerance`` is absolute, in the unit of ``expected``: half the last digit that the source
    prints, unless the comment beside the check gives a reason for another.
    """

    discipline: str
    what: str  # the quantity, with its unit
    source: str  # the kind of page, handbook or standard, and how far it is trusted
    expected: float
    tolerance: float
    obtained: Callable[[], float]

    def __str__(self) -> str:
        """Return the name under which a test run shows the check."""
        return f"{self.discipline}: {self.what}"

    def hold(self) -> None:
        """Fail unless the computation gives the published figure within the tolerance."""
        assert self.obtained() == pytest.approx(self.expected, rel=0.0, abs=self.tolerance), self.source
