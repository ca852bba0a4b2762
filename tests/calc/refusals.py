"""Refusals of quantities that cannot be, listed in the test of each discipline."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import pytest


@dataclass(frozen=True, kw_only=True, slots=True)
class Refused:
    """A formula with inputs that can be, and the names of those that it must refuse beyond a bound."""

    possible: partial[object]
    above_zero: str = ""
    zero_or_more: str = ""
    number: str = ""

    def __str__(self) -> str:
        """Return the name under which a test run shows the formula."""
        formula: Callable[..., object] = self.possible.func
        return formula.__name__

    def hold(self) -> None:
        """Fail unless the inputs pass as they are, and each named one is refused with its value."""
        self.possible()
        for name in self.above_zero.split():
            self._refuse(name, "must be above zero", (0.0, -1.0, math.nan, math.inf))
        for name in self.zero_or_more.split():
            self._refuse(name, "must not be below zero", (-0.001, math.nan, math.inf))
        for name in self.number.split():
            self._refuse(name, "must be a finite number", (math.nan, math.inf, -math.inf))

    def _refuse(self, name: str, bound: str, values: tuple[float, ...]) -> None:
        for value in values:
            with pytest.raises(ValueError, match=re.escape(f"{name} {bound}, not {value!r}")):
                self.possible(**{name: value})
