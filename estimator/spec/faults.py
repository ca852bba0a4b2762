"""Faults: what the user wrote wrong, each with its place, collected and shown together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Final

MOST_SHOWN = 400
"""Characters of a message that are shown."""


@dataclass(frozen=True, order=True, slots=True)
class Place:
    """A place in a text file; lines and columns count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, order=True, slots=True)
class Fault:
    """One mistake: its place, what is wrong, what was expected and how to mend it."""

    place: Place
    wrong: str
    expected: str
    mend: str

    def __str__(self) -> str:
        return f"{self.place}: {self.wrong}; expected {self.expected}; {self.mend}"


def under(folder: str, place: Place) -> Place:
    """Return a place with its file's folder in front: places in a project are told from its folder."""
    return place if folder in ("", ".") else replace(place, file=f"{folder}/{place.file}")


class ProblemError(ValueError):
    """What is wrong with a value, before anybody has said where it stands."""

    def __init__(self, wrong: str, expected: str, mend: str) -> None:
        super().__init__(wrong)
        self.wrong, self.expected, self.mend = wrong, expected, mend


@dataclass(slots=True)
class Faults:
    """A growing list of faults, in the order of their places when shown."""

    found: list[Fault] = field(default_factory=list)
    lost: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    """Records that could not be read: the kind, and the texts typed. Their names count as declared."""

    def add(self, place: Place, wrong: str, expected: str, mend: str) -> None:
        """Add one fault; what was typed never breaks its line."""
        self.found.append(Fault(place, _one_line(wrong), expected, _one_line(mend)))

    def undeclared(self, place: Place, what: str, name: str, known: Iterable[str], block: str) -> None:
        """Add the fault of a name that nothing under the block declares; not even an entry with a fault."""
        if any(typed.get("id") == name for _, typed in self.lost):
            return
        words = list(known)
        close = nearest(name, words)
        mend = f"add it under `{block}` or mend the name"
        if close:
            mend = f"write {close}, or add {name!r} under `{block}`"
        self.add(place, f"{what} {name!r} is not declared", one_of(words), mend)

    def extend(self, more: Iterable[Fault]) -> None:
        """Add several faults."""
        self.found.extend(more)

    def sorted(self, folder: str = "") -> tuple[Fault, ...]:
        """Return all faults by place, each once, with the folder in front of their files."""
        found = (replace(fault, place=under(folder, fault.place)) for fault in self.found)
        return tuple(sorted(dict.fromkeys(found)))


def _one_line(text: str) -> str:
    """Return a text on one line, and not longer than anybody reads."""
    line = text.replace("\r", "\\r").replace("\n", "\\n")
    return line if len(line) <= MOST_SHOWN else line[:MOST_SHOWN] + "..."


_LIKE: Final = 0.65  # three letters of five in common, as in space and price, are another word


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like this one, or None where nothing is close.

    >>> nearest("lenght", ["length", "rise"]), nearest("space", ["price"])
    ('length', None)
    """
    from difflib import get_close_matches

    lowered = {k.lower(): k for k in known}
    found = get_close_matches(word.lower(), list(lowered), n=1, cutoff=_LIKE)
    return lowered[found[0]] if found else None


def one_of(known: Iterable[str]) -> str:
    """Return what was expected where one of several known words belongs."""
    words = list(known)
    return f"one of {known_words(words)}" if words else "a declared name, and there is none yet"


def known_words(known: Iterable[str], most: int = 12) -> str:
    """Return a list of known words for a message, shortened where it is long."""
    words = list(known)
    if not words:
        return "none is declared"
    shown = ", ".join(words[:most])
    return f"{shown} and {len(words) - most} more" if len(words) > most else shown
