"""The formulas behind a calculation sheet: each with its inputs, their origins, its result and its source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from estimator.documents.common import origin
from estimator.documents.description import Cell, Column, Table
from estimator.documents.job_words import sentence
from estimator.spec.model import Project
from estimator.takeoff.worked import Family, Input, Worked

_MOST_LISTED: Final = 24  # of a list of inputs; a longer one stands in the sheet's own table


class Formulas:
    """The worked figures of a job by what they are about, each worked out only when a sheet asks."""

    def __init__(self, families: Iterable[Family]) -> None:
        """Note where each subject's figures stand."""
        self._found: dict[tuple[str, str], list[tuple[Family, int]]] = {}
        for family in families:
            for index, subject in enumerate(family.subjects):
                self._found.setdefault((family.what, subject), []).append((family, index))

    def of(self, what: str, subject: str) -> Iterator[Worked]:
        """Yield the figures of a subject, in the order they build on each other."""
        for family, index in self._found.get((what, subject), ()):
            yield family.worked(index)

    def named(self, what: str, subject: str, name: str) -> Worked | None:
        """Return one figure of a subject, or None where it has none of that name."""
        ending = f".{name}"
        return next((one for one in self.of(what, subject) if one.id.endswith(ending)), None)


def formulas_table(name: str, figures: Sequence[Worked], project: Project) -> Table:
    """Return the figures as a table: formula, inputs with their origins, result, source."""
    return Table(
        name=f"formulas_{name}",
        title="Formulas and where their inputs come from",
        caption="In SI units: volts, amperes, ohms, meters, seconds; ampere-hours as such.",
        columns=(
            Column(key="figure", head="Figure"),
            Column(key="formula", head="Formula or method"),
            Column(key="inputs", head="Inputs and their origin"),
            Column(key="result", head="Result"),
            Column(key="source", head="Source"),
        ),
        rows=[_row(one, project) for one in figures],
        empty="Nothing was worked out.",
    )


def _row(one: Worked, project: Project) -> tuple[Cell, ...]:
    inputs = "\n".join(_input(name, item, project) for name, item in one.inputs.items())
    how = one.formula.text if one.formula is not None else one.method
    return sentence(one.meaning), how, inputs, f"{one.value:,.6g} {one.unit}".strip(), one.source


def _input(name: str, item: Input, project: Project) -> str:
    unit = f" {item.unit}" if item.unit else ""
    if isinstance(item.value, tuple):
        listed = ", ".join(f"{value:,.6g}" for value in item.value[:_MOST_LISTED])
        more = f" and {len(item.value) - _MOST_LISTED} more" if len(item.value) > _MOST_LISTED else ""
        return f"{name} = {listed}{more}{unit}"
    return f"{name} = {item.value:,.6g}{unit} ({origin(item.origin, project)})"
