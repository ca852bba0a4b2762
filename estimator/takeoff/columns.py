"""A family of figures from records: what its value is, and where its inputs come from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Protocol, TypeVar

from estimator.calc.formula import Expression
from estimator.takeoff.worked import Family, Input, Judged


class Identified(Protocol):
    """Whatever a figure can be about."""

    @property
    def id(self) -> str:
        """Return the subject's id."""
        ...


T = TypeVar("T", bound=Identified)


def column(
    figure: tuple[str, str, str, str],
    formula: Expression | None,
    source: str,
    members: Iterable[T],
    value: Callable[[T], float | None],
    inputs: Callable[[T], Mapping[str, Input]],
    *,
    judge: Callable[[T], Judged | None] | None = None,
    method: str = "",
) -> Family:
    """Return a family over all members that have the value; ``figure`` is what, name, meaning, unit."""
    what, name, meaning, unit = figure
    chosen: list[T] = []
    values: list[float] = []
    for member in members:
        found = value(member)
        if found is not None:
            chosen.append(member)
            values.append(found)
    return Family(
        what=what,
        name=name,
        meaning=meaning,
        unit=unit,
        formula=formula,
        source=source,
        subjects=[member.id for member in chosen],
        values=values,
        inputs=lambda index: inputs(chosen[index]),
        method=method,
        judge=None if judge is None else lambda index: judge(chosen[index]),
    )


def filled(families: Iterable[Family]) -> Iterable[Family]:
    """Yield the families that have a figure."""
    return (family for family in families if family.values)
