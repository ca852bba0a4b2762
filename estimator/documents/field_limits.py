"""Limit columns of a field sheet: each circuit's own limits beside its readings, as the criteria state them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.acceptance.columns import PAIRS, Sheet
from estimator.acceptance.columns import Column as FieldColumn
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.documents.description import Cell, Column, Limits
from estimator.documents.xlsx_widths import text_width

NEEDED: Final = "needed"
"""Key of the column that lists what a row needs."""

_SHARED: Final[Mapping[str, str]] = {"delay": "Delay", "resistance": "Loop"}
"""Head of the limits that all pairs of a link share, by test."""

_NEEDED_NARROWEST: Final = 14.0
_NEEDED_WIDEST: Final = 64.0  # [digits]; on one line as long as it can, so that rows stay low

_PAIR_LENGTHS: Final = tuple(f"length_{pair}" for pair in PAIRS)

_MARKS: Final = ("mark_room", "mark_far")
"""Footage on the jacket at both ends: their difference is a length that needs no velocity."""


@dataclass(frozen=True, slots=True)
class _Group:
    """Reading columns that are judged by the same limit columns."""

    key: str
    head: str
    columns: tuple[FieldColumn, ...]
    low: bool
    high: bool
    words: bool

    @property
    def need(self) -> str:
        """Return the words by which a row asks for these readings; DC and PoE stay as they are."""
        first = self.head.split(" ")[0]
        return self.head if first[1:] != first[1:].lower() else self.head[0].lower() + self.head[1:]


@dataclass(frozen=True, slots=True)
class Guide:
    """The columns that guide a crew: what is expected of a circuit, what is needed, which limits judge."""

    form: Sheet
    groups: tuple[_Group, ...]
    expected: tuple[Column, ...]
    limits: tuple[Column, ...]
    judged: tuple[Limits, ...]

    def expectations(self, one: Criteria) -> list[Cell]:
        """Return the cells of the expected columns of a circuit."""
        return [_expectation(column, one) for column in self.expected]

    def bounds(self, one: Criteria, row: str) -> list[Cell]:
        """Return the cells of the limit columns of a circuit; ``row`` is the block of a battery set."""
        block = row if one.rows else ""
        found = [(group, one.for_column(group.columns[0], block)) for group in self.groups]
        cells: list[Cell] = [", ".join(group.need for group, c in found if c is not None and c.required)]
        for group, criterion in found:
            si = group.columns[0].si
            if group.low:
                cells.append(None if criterion is None or criterion.low is None else criterion.low / si)
            if group.high:
                cells.append(None if criterion is None or criterion.high is None else criterion.high / si)
            if group.words:
                cells.append(None if criterion is None else "|".join(criterion.accepted) or None)
        return cells


def guide(form: Sheet, circuits: Sequence[Criteria]) -> Guide:
    """Return the guiding columns of a sheet: only those that one of its circuits fills."""
    groups = tuple(_groups(form, circuits))
    judged = tuple(limits for group in groups for limits in _judged(form, group))
    return Guide(form, groups, tuple(_expected(form, circuits)), tuple(_limits(groups)), judged)


def _groups(form: Sheet, circuits: Sequence[Criteria]) -> Iterable[_Group]:
    members: dict[str, list[FieldColumn]] = {}
    for column in form.readings:
        shared = column.position in PAIRS
        if column.key not in _PAIR_LENGTHS and column.position != "pins":
            members.setdefault(column.test if shared else column.key, []).append(column)
    for key, columns in members.items():
        found = list(_criteria(circuits, columns[0]))
        if found:
            head = _SHARED[key] if len(columns) > 1 else columns[0].head
            yield _Group(
                key,
                head,
                tuple(columns),
                low=any(one.low is not None for one in found),
                high=any(one.high is not None for one in found),
                words=any(one.accepted for one in found),
            )


def _criteria(circuits: Sequence[Criteria], column: FieldColumn) -> Iterable[Criterion]:
    for one in circuits:
        found = one.for_column(column, one.rows[0] if one.rows else "")
        if found is not None:
            yield found


def _limits(groups: Sequence[_Group]) -> Iterable[Column]:
    every = text_width(", ".join(group.need for group in groups))
    yield Column(key=NEEDED, head="Readings needed", width=round(min(max(every, _NEEDED_NARROWEST), _NEEDED_WIDEST)))
    for group in groups:
        first = group.columns[0]
        for chosen, key, words in ((group.low, "least", "at least"), (group.high, "most", "at most")):
            if chosen:
                yield Column(
                    key=f"{group.key}_{key}",
                    head=f"{group.head}, {words}",
                    kind="number",
                    unit=first.unit,
                    decimals=first.decimals,
                    si=first.si,
                )
        if group.words:
            yield Column(key=f"{group.key}_words", head=f"{group.head}, good if")


def _judged(form: Sheet, group: _Group) -> Iterable[Limits]:
    marks = tuple(column.key for column in form.columns if column.key in _MARKS)
    for column in group.columns:
        pairs = _PAIR_LENGTHS if form.medium == "balanced_pair" and column.key == "length" else ()
        yield Limits(
            reading=column.key,
            low=f"{group.key}_least" if group.low else None,
            high=f"{group.key}_most" if group.high else None,
            accepted=f"{group.key}_words" if group.words else None,
            needed=NEEDED,
            need=group.need,
            instead=pairs,
            between=marks if column.key == "length" else (),
            least=column.least,
        )


def _expected(form: Sheet, circuits: Sequence[Criteria]) -> Iterable[Column]:
    length = next((column for column in form.columns if column.key == "length"), None)
    if length is not None:
        yield Column(
            key="expected_length", head="Expected length", kind="number", unit=length.unit, decimals=0, si=length.si
        )
    if any(one.expected_loop_ohm is not None for one in circuits):
        yield Column(key="expected_loop", head="Expected loop", kind="number", unit="ohm")
    if any(one.expected_volts is not None for one in circuits):
        yield Column(key="expected_volts", head="Expected volts", kind="number", unit="V")
    if any(one.settings.limit for one in circuits):
        yield Column(key="set_limit", head="Limit to set", width=56)
    if any(one.settings.adapter for one in circuits):
        yield Column(key="fit_adapter", head="Adapter to fit")
    if any(one.settings.nvp is not None for one in circuits):
        yield Column(key="set_nvp", head="NVP to set", kind="number", unit="%", decimals=0)
    if any(one.settings.reference for one in circuits):
        yield Column(key="set_reference", head="Reference to set")


def _expectation(column: Column, one: Criteria) -> Cell:
    nvp = one.settings.nvp
    cells: Mapping[str, Cell] = {
        "expected_length": None if one.expected_m is None else one.expected_m / column.si,
        "expected_loop": one.expected_loop_ohm,
        "expected_volts": one.expected_volts,
        "set_limit": one.settings.limit or None,
        "fit_adapter": one.settings.adapter or None,
        "set_nvp": None if nvp is None else nvp * 100,
        "set_reference": one.settings.reference or None,
    }
    return cells[column.key]
