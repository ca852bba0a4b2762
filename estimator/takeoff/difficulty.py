"""Difficulty factors of labor: typed, or by ladder height, repeats, overtime or a published kind of work."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.labor import ADDED_FACTOR, OVERTIME_FACTOR, LadderStep, Repetition, ladder_add, repetition_add
from estimator.reference.lookup import Row, table
from estimator.spec.money import Factor, PriceBook
from estimator.takeoff.columns import column
from estimator.takeoff.worked import Family, Input

AS_TYPED: Final = Expression("factor")
"""A factor as the price file has it [unitless]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Difficulty:
    """A named difficulty factor with its figure, and the formula and inputs that give it."""

    typed: Factor
    value: float
    formula: Expression
    inputs: Mapping[str, Input]

    @property
    def id(self) -> str:
        """Return the factor's name."""
        return self.typed.id

    @property
    def name(self) -> str:
        """Return why it applies."""
        return self.typed.name

    @property
    def origin(self) -> str:
        """Return where its figure comes from."""
        return "; ".join(one.origin for one in self.inputs.values())


def difficulties(book: PriceBook) -> dict[str, Difficulty]:
    """Return the difficulty factors of a price file by their names."""
    return {typed.id: difficulty(typed) for typed in book.factors}


def difficulty(typed: Factor) -> Difficulty:
    """Return one difficulty factor with its figure; one that nothing gives a figure multiplies by one."""
    at = typed.source.at
    if typed.height_m is not None:
        return _added(typed, ladder_add(height_m=typed.height_m, steps=_ladder()), "ladder_height", "height")
    if typed.repeats is not None:
        return _added(typed, repetition_add(repeats=typed.repeats, steps=_repeats()), "repetition", "repeats")
    if typed.published is not None:
        return _added(typed, _rows(typed.published)[0].number("add"), typed.published, "published")
    if typed.overtime is not None:
        loss = Input(typed.overtime.loss, "", f"overtime, {typed.overtime.source.at('loss_percent')}")
        return _made(typed, OVERTIME_FACTOR, {"loss": loss})
    value = 1.0 if typed.factor is None else typed.factor
    return _made(typed, AS_TYPED, {"factor": Input(value, "", f"factor, {at('factor')}")})


def _added(typed: Factor, add: float | None, rows: str, key: str) -> Difficulty:
    row = _rows(rows)[0]
    said = f"{key} {typed.source.typed(key)}, {typed.source.at(key)}: {row.source} ({row.confidence})"
    return _made(typed, ADDED_FACTOR, {"add": Input(add or 0.0, "", said)})


def _made(typed: Factor, formula: Expression, inputs: Mapping[str, Input]) -> Difficulty:
    value = formula(**{name: one.value for name, one in inputs.items()})
    return Difficulty(typed=typed, value=value, formula=formula, inputs=inputs)


def _rows(factor: str) -> list[Row]:
    return [row for row in table("labor_factors") if row.cells["factor"] == factor]


def _ladder() -> list[LadderStep]:
    return [LadderStep(above_m=row.number("above_m"), add=row.number("add")) for row in _rows("ladder_height")]


def _repeats() -> list[Repetition]:
    return [
        Repetition(
            from_repeats=int(row.number("from_repeats")),
            to_repeats=int(row.number("to_repeats")),
            add=row.number("add"),
        )
        for row in _rows("repetition")
    ]


def difficulty_families(book: PriceBook) -> Iterable[Family]:
    """Yield the figure of each factor that isn't typed as such."""
    found = list(difficulties(book).values())
    for formula in (ADDED_FACTOR, OVERTIME_FACTOR, AS_TYPED):
        yield column(("factor", "multiplier", "what the hours are multiplied by", ""), formula,
                     "price file and published steps of estimating handbooks",
                     [one for one in found if one.formula == formula], lambda one: one.value,
                     lambda one: one.inputs)  # fmt: skip
