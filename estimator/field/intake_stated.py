"""What is stated about a sheet as a whole: above its head, in a mapping file or by an option.

Decimal sign, order of dates and unit of length are stated, never guessed. A word that nobody knows,
and two statements that exclude each other, are refused with their place.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.field.intake_grid import Line, UnreadableError

DATE_ORDERS: Final = ("mdy", "dmy", "ymd")
DECIMALS: Final = ("point", "comma")
LENGTHS: Final = ("ft", "m")

WORDS: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = {
    "decimals": (("decimals", "decimal"), DECIMALS),
    "dates": (("dates", "date order"), DATE_ORDERS),
    "lengths": (("lengths", "lengths in"), LENGTHS),
}
"""Statements that decide how cells are read: the names that they go by, and the words that they can have."""

_STATED: Final = re.compile(r"#?\s*([A-Za-z][A-Za-z _-]{0,39}?)\s*[:=]\s*(.*)", re.DOTALL)
_MOST_STATED: Final = 200


@dataclass(frozen=True, slots=True)
class Statement:
    """What is stated under one name, and in which row; row 0 where no row of the sheet says it."""

    text: str
    row: int = 0
    by: str = "the sheet"


Statements = Mapping[str, Statement]


def stated(lines: Iterable[Line], tab: str = "") -> dict[str, Statement]:
    """Return what stands above a head as `word: text`, in one cell or in two side by side; the first counts.

    Raises: UnreadableError where two statements about how cells are read exclude each other.
    """
    found: dict[str, Statement] = {}
    for line in lines:
        for column, text in sorted(line.texts.items()):
            match = _STATED.fullmatch(text)
            value = (match.group(2).strip() or line.texts.get(column + 1, "")) if match else ""
            if match and value and len(found) < _MOST_STATED:
                name = match.group(1).lower().replace("_", " ").strip()
                before = found.setdefault(name, Statement(value, line.row))
                if any(name in names for names, _ in WORDS.values()):
                    _one_voice(name, before, Statement(value, line.row), tab)
    return found


def agreed(tab: str, own: Statements, others: Iterable[Statements]) -> dict[str, str]:
    """Return what a sheet and everybody else states about it, under the names of ``WORDS``.

    Raises: UnreadableError for a word that isn't known, or where two of them differ.
    """
    said: dict[str, Statement] = {}
    for source in (own, *others):
        for name, one in source.items():
            known = next((key for key, (names, _) in WORDS.items() if name in names), None)
            if known is None:
                said.setdefault(name, one)
                continue
            word = Statement(_known(tab, name, one, WORDS[known][1]), one.row, one.by)
            _one_voice(known, said.setdefault(known, word), word, tab)
    return {name: one.text for name, one in said.items()}


def _known(tab: str, name: str, one: Statement, words: tuple[str, ...]) -> str:
    word = one.text.strip().casefold()
    if word not in words:
        wrong = f"`{name}: {one.text[:60]}` is not understood"
        raise UnreadableError(wrong, f"{name}: {' or '.join(words)}", "mend the word", tab=tab, row=one.row)
    return word


def _one_voice(name: str, first: Statement, second: Statement, tab: str) -> None:
    """Refuse two statements of one name that differ."""
    if first.text.strip().casefold() != second.text.strip().casefold():
        raise UnreadableError(
            f"{first.by} states `{name}: {first.text[:60]}`, {second.by} states `{name}: {second.text[:60]}`",
            f"one statement about {name}",
            "delete the one that is wrong",
            tab=tab,
            row=second.row or first.row,
        )
