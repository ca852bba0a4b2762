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
    """A formula with inputs that can be, and the names of those that it must refuse beyond a bound.

    ``wrong`` holds an input's name with one value that cannot be, where the bound is another than
    the three common ones or the input is no single number; the refusal names both.
    """

    possible: partial[object]
    above_zero: str = ""
    zero_or_more: str = ""
    number: str = ""
    wrong: tuple[tuple[str, object], ...] = ()

    def __str__(self) -> str:
        """Return the name under which a test run shows the formula."""
        formula: Callable[..., object] = self.possible.func
        return formula.__name__

    @property
    def named(self) -> set[str]:
        """Return the inputs that have a refusal here."""
        common = f"{self.above_zero} {self.zero_or_more} {self.number}".split()
        return {*common, *(name for name, _ in self.wrong)}

    def hold(self) -> None:
        """Fail unless the inputs pass as they are, and each named one is refused with its value."""
        self.possible()
        for name in self.above_zero.split():
            self._refuse(name, "must be above zero", (0.0, -1.0, math.nan, math.inf))
        for name in self.zero_or_more.split():
            self._refuse(name, "must not be below zero", (-0.001, math.nan, math.inf))
        for name in self.number.split():
            self._refuse(name, "must be a finite number", (math.nan, math.inf, -math.inf))
        for name, value in self.wrong:
            shown = value[-1] if isinstance(value, tuple | list) and value else value  # the wrong one stands last
            with pytest.raises(ValueError, match=f"{name}.*{re.escape(repr(shown))}"):
                self.possible(**{name: value})

    def _refuse(self, name: str, bound: str, values: tuple[float, ...]) -> None:
        for value in values:
            with pytest.raises(ValueError, match=re.escape(f"{name} {bound}, not {value!r}")):
                self.possible(**{name: value})
