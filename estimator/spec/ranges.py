"""Id ranges such as ``1A-A01..1A-A24``, expanded in a stable order."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from estimator.spec.faults import ProblemError
from estimator.spec.fields import ID_PATTERN, Kind
from estimator.spec.nodes import Node
from estimator.spec.reading import Reader

MOST: Final = 5000
_SPLIT: Final = re.compile(r"(.*?)(\d+)")
_ONE: Final = re.compile(ID_PATTERN)
_EXPECTED: Final = "a range such as 1A-A01..1A-A24, the smaller number first"


def expand(text: str) -> tuple[str, ...]:
    """Return the ids that a text names: itself, or every id of the range.

    Raises: ProblemError where the two ends don't make a range.

    >>> expand("1A-A09..1A-A11")
    ('1A-A09', '1A-A10', '1A-A11')
    """
    if ".." not in text:
        if not _ONE.fullmatch(text):
            expected = "an id of up to 40 letters, digits and - . / : _"
            raise ProblemError(f"{text!r} is not an id", expected, "shorten it or leave the other signs out")
        return (text,)
    first, _, last = text.partition("..")
    first, last = first.strip(), last.strip()
    start, end = _SPLIT.fullmatch(first), _SPLIT.fullmatch(last)
    if not start or not end or not _ONE.fullmatch(first):
        raise ProblemError(f"range {text!r} doesn't end in numbers", _EXPECTED, "write both ends whole")
    prefix, low = start.groups()
    if end.group(1) not in (prefix, ""):
        wrong = f"range {text!r} runs from {prefix!r} to {end.group(1)!r}"
        raise ProblemError(wrong, _EXPECTED, "use the same letters at both ends")
    count = int(end.group(2)) - int(low) + 1
    if count < 1:
        mend = f"write {prefix}{end.group(2)}..{prefix}{low}"
        raise ProblemError(f"range {text!r} is reversed", _EXPECTED, mend)
    if count > MOST:
        raise ProblemError(f"range {text!r} names {count:,} ids", f"at most {MOST:,}", "split it")
    width = len(low)
    return tuple(f"{prefix}{number:0{width}d}" for number in range(int(low), int(low) + count))


def fold(ids: Iterable[str]) -> tuple[str, ...]:
    """Return ids with each run of numbers, in the order given, as one range.

    >>> fold(["1A-A09", "1A-A10", "1A-A11", "LOBBY"])
    ('1A-A09..1A-A11', 'LOBBY')
    """
    runs: list[list[str]] = []
    for name in ids:
        if runs and _follows(runs[-1][-1], name):
            runs[-1].append(name)
        else:
            runs.append([name])
    return tuple(run[0] if len(run) == 1 else f"{run[0]}..{run[-1]}" for run in runs)


def _follows(name: str, other: str) -> bool:
    before, after = _SPLIT.fullmatch(name), _SPLIT.fullmatch(other)
    if not before or not after or before.group(1) != after.group(1):
        return False
    return after.group(2) == f"{int(before.group(2)) + 1:0{len(before.group(2))}d}"


class Range(Kind):
    """An id or an id range, kept as typed and expanded where the drops are made."""

    expects = "an id or a range such as 1A-A01..1A-A24"

    def read(self, node: Node, reader: Reader) -> str:
        text = self.text(node)
        expand(text)
        return text

    def schema(self) -> dict[str, object]:
        return {"type": ["string", "number"]}
