"""Published figures that a computation must give again, kept as data so that they can be listed.

A test module registers its figures in a list named ``CHECKS`` and parametrizes over it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

import pytest

# What stands after the last semicolon of a source: how far the figure is to be trusted.
PUBLISHED = frozenset({"confirmed", "single"})
LISTED_ONLY = frozenset({"computed", "memory", "common practice, no published source"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Check:
    """One figure from outside the house, and the computation that must come to it.

    ``tolerance`` is absolute, in the unit of ``expected``: half the last digit that the source
    prints; a wider one needs ``why``. ``source`` ends with a semicolon and one of the words of
    ``PUBLISHED`` or ``LISTED_ONLY``. ``look_up`` marks a value that is only read from a table.
    """

    discipline: str
    what: str  # the quantity, with its unit
    source: str  # the kind of page, handbook or standard, and how far it is trusted
    expected: float
    tolerance: float
    obtained: Callable[[], float]
    look_up: bool = False
    why: str = ""  # the reason for a tolerance wider than the printed precision

    def __str__(self) -> str:
        """Return the name under which a test run shows the check."""
        return f"{self.discipline}: {self.what}"

    @property
    def trust(self) -> str:
        """Return how far the source is trusted: the words after its last semicolon."""
        return self.source.rsplit("; ", 1)[-1]

    @property
    def counted(self) -> bool:
        """Tell whether the figure counts among the published ones."""
        return self.trust in PUBLISHED

    @property
    def printed_tolerance(self) -> float:
        """Return half the last digit of the expected figure as it is written."""
        exponent = Decimal(repr(self.expected)).as_tuple().exponent
        return 0.5 * 10.0 ** int(exponent)

    def hold(self) -> None:
        """Fail unless the computation gives the published figure within the tolerance."""
        assert self.obtained() == pytest.approx(self.expected, rel=0.0, abs=self.tolerance), self.source
