"""How a number came to be: families of figures, and one figure worked out when somebody asks.

A family is one formula with one source for many subjects. Its values are floats in columns; the
inputs of one figure, each with its origin, are gathered only when asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression

MARGIN: Final = Expression("limit - value")
"""What is left up to a limit; below zero is over it."""

MARGIN_ABOVE: Final = Expression("value - limit")
"""What is left down to a limit; below zero is under it."""

OVER: Final = Expression("value > limit")
UNDER: Final = Expression("value < limit")
"""Whether a value is over its limit, or under it, at twelve significant digits."""


@dataclass(frozen=True, slots=True)
class Input:
    """A named input of a formula: its value, its unit and where it came from."""

    value: float | tuple[float, ...]
    unit: str
    origin: str


@dataclass(frozen=True, slots=True)
class Judged:
    """A figure against its limit: the word, the margin (below zero is bad) and the limit with its source."""

    word: str
    margin: float
    limit: float
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Worked:
    """One figure with all that stands behind it."""

    id: str
    meaning: str
    value: float
    unit: str
    formula: Expression | None
    method: str
    inputs: Mapping[str, Input]
    source: str
    judged: Judged | None


Inputs = Callable[[int], Mapping[str, Input]]
Judge = Callable[[int], Judged | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Family:
    """Figures of one kind: ``what.subject.name`` for every subject.

    ``formula`` is None for what is iterative; ``method`` then names the method.
    """

    what: str
    name: str
    meaning: str
    unit: str
    formula: Expression | None
    source: str
    subjects: Sequence[str]
    values: Sequence[float]
    inputs: Inputs
    method: str = ""
    judge: Judge | None = None

    def id_of(self, index: int) -> str:
        """Return the stable id of one figure."""
        return f"{self.what}.{self.subjects[index]}.{self.name}"

    def worked(self, index: int) -> Worked:
        """Return one figure with its inputs and their origins."""
        return Worked(
            id=self.id_of(index),
            meaning=self.meaning,
            value=self.values[index],
            unit=self.unit,
            formula=self.formula,
            method=self.method,
            inputs=self.inputs(index),
            source=self.source,
            judged=self.judge(index) if self.judge else None,
        )


@dataclass(frozen=True, slots=True)
class Figure:
    """A computed number as a list shows it."""

    id: str
    value: float
    unit: str
    meaning: str
    source: str
    judged: Judged | None


def figures(families: Iterable[Family]) -> Iterator[Figure]:
    """Yield every computed number, family by family."""
    for family in families:
        for index, value in enumerate(family.values):
            judged = family.judge(index) if family.judge else None
            yield Figure(family.id_of(index), value, family.unit, family.meaning, family.source, judged)


def explain(families: Iterable[Family], figure_id: str) -> Worked | None:
    """Return one figure worked out, or None where no figure has that id."""
    for family in families:
        head, tail = f"{family.what}.", f".{family.name}"
        if figure_id.startswith(head) and figure_id.endswith(tail):
            subject = figure_id[len(head) : -len(tail)]
            if subject in family.subjects:
                return family.worked(list(family.subjects).index(subject))
    return None
