"""Widths of table columns, measured from what stands in them.

A column is never narrower than its longest word, because a word that does not fit is broken
letter by letter. Where the words alone don't fit, the type gets smaller, then words may break at
hyphens, then the table is parted by columns.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

SIZES: Final = (8.5, 8.0, 7.5, 7.0, 6.5)
"""Type sizes a table may take, best first [pt]."""

# Widths of the sans face in thousandths of an em, from the space to the tilde.
# Source: the published metrics of the Helvetica family, whose widths Arial and its twins share.
_WIDTHS: Final = (
    (278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278)
    + (556,) * 10
    + (278, 278, 584, 584, 584, 556, 1015)
    + (667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833)
    + (722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611)
    + (278, 278, 278, 469, 556, 333)
    + (556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833)
    + (556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500)
    + (334, 260, 334, 584)
)
_OTHER: Final = 610
_WIDE: Final = 1000
_FIRST_WIDE: Final = 0x2E80
_BOLD: Final = 1.08
_SLACK: Final = 1.04  # a writer's own metrics differ by a few percent
_LONGEST: Final = 6  # texts measured a column: the longest by letters hold the widest, near enough
_SAMPLED: Final = 24  # rows looked at when columns share what room is left
_SHARES: Final = 16  # pieces in which that room is given away
_FULL: Final = 0.92  # of a line that words fill before the next one goes to another line
_COMFORT: Final = 7.0  # ems that a column of text may have before others take its room
_LONG: Final = 18.0  # ems beyond which one word of text may break rather than starve its neighbors
_PADDING: Final = 170  # both cell margins [twips]


@lru_cache(maxsize=2**16)
def ems(text: str, bold: bool = False) -> float:
    """Return the width of a text in the sans face [em]."""
    total = 0
    for letter in text:
        place = ord(letter) - 32
        if 0 <= place < len(_WIDTHS):
            total += _WIDTHS[place]
        else:
            total += _WIDE if ord(letter) >= _FIRST_WIDE else _OTHER
    return total / 1000 * (_BOLD if bold else 1.0)


def shortened(text: str, size_pt: float, width_twips: float) -> str:
    """Return the text, cut with an ellipsis where it is wider than the room at that size."""
    room = width_twips / 20 / size_pt / _SLACK
    if ems(text) <= room:
        return text
    kept = text
    while kept and ems(kept + "…") > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Need:
    """What a column needs [em]: its whole text on one line, its longest word, its longest piece.

    ``rows`` are the widths of the lines in each of some cells, the same rows in every column of a table.
    """

    whole: float
    word: float
    piece: float
    stretches: bool
    rows: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Fit:
    """The columns of one table by index, their widths [twips] and the type size [pt]."""

    columns: tuple[int, ...]
    widths: tuple[int, ...]
    size_pt: float


def _longest(texts: Iterable[str], count: int) -> list[str]:
    """Return the longest texts by letters, equally long ones by their order, so that a set's order never shows."""
    return sorted(sorted(texts), key=len)[-count:]


def need(head: str, texts: Sequence[str], *, solid: bool, bold: bool = False, most_chars: int | None = None) -> Need:
    """Return what a column needs; a solid one (numbers, dates) stays whole, text may break at spaces."""
    distinct = set(texts)
    longest = _longest(set("\n".join(distinct).split("\n")), _LONGEST)
    whole = max((ems(text, bold) for text in longest), default=0.0)
    if most_chars is not None:
        whole = min(whole, most_chars * 0.556)
    head_words = max((ems(word, bold=True) for word in re.split(r"\s+", head)), default=0.0)
    rows = tuple(tuple(ems(line, bold) for line in text.split("\n")) for text in texts[:: len(texts) // _SAMPLED + 1])
    if solid:
        width = max(whole, head_words)
        return Need(width, width, width, stretches=False, rows=rows)
    words = _longest(set(" ".join(distinct).split()), 4 * _LONGEST)
    word = min(max(map(ems, words[-_LONGEST:]), default=0.0), _LONG)
    pieces = {piece for one in words for piece in re.findall(r"[^-]+-?", one)}
    piece = min(max(map(ems, pieces), default=0.0), _LONG)
    whole = max(whole, word, head_words, ems(head, bold=True) * 0.6)
    comfort = min(whole, _COMFORT)
    return Need(whole, max(word, head_words, comfort), max(piece, head_words), stretches=True, rows=rows)


def fit(needs: Sequence[Need], total_twips: int) -> tuple[Fit, ...]:
    """Return the tables that hold all columns, each exactly as wide as the text.

    Mostly there is one. Where there are more, each starts with the first column again.
    """
    everything = tuple(range(len(needs)))
    for smallest in ("word", "piece"):
        for size in SIZES:
            least = [_twips(getattr(one, smallest), size) for one in needs]
            if sum(least) <= total_twips:
                return (_share(everything, needs, least, total_twips, size),)
    size = SIZES[-1]
    least = [_twips(one.piece, size) for one in needs]
    return tuple(
        _share(group, needs, [least[index] for index in group], total_twips, size)
        for group in _groups(least, total_twips)
    )


def _twips(em: float, size_pt: float) -> int:
    return int(em * size_pt * 20 * _SLACK) + _PADDING


def _groups(least: Sequence[int], total: int) -> list[tuple[int, ...]]:
    groups: list[tuple[int, ...]] = []
    group: list[int] = [0]
    for index in range(1, len(least)):
        if len(group) > 1 and sum(least[one] for one in group) + least[index] > total:
            groups.append(tuple(group))
            group = [0]
        group.append(index)
    return [*groups, tuple(group)]


def _share(group: tuple[int, ...], needs: Sequence[Need], least: list[int], total: int, size: float) -> Fit:
    widths = [float(one) for one in least]
    rest = float(total - sum(least))
    if rest < 0:
        # One word wider than the page: it has to break somewhere.
        widths = [one * total / sum(least) for one in least]
        return Fit(group, _whole(widths, total), size)
    wants = [max(0.0, _twips(needs[index].whole, size) - own) for index, own in zip(group, least, strict=True)]
    given = _shortest([needs[index] for index in group], widths, wants, rest, size) if sum(wants) > rest else wants
    widths = [width + more for width, more in zip(widths, given, strict=True)]
    rest -= sum(given)
    weights = [width * (1.0 if needs[index].stretches else 0.4) for index, width in zip(group, widths, strict=True)]
    widths = [width + rest * weight / sum(weights) for width, weight in zip(widths, weights, strict=True)]
    return Fit(group, _whole(widths, total), size)


def _shortest(
    needs: Sequence[Need], widths: Sequence[float], wants: Sequence[float], room: float, size: float
) -> list[float]:
    """Return what room each column gets beyond its width, of those ways to share it the one with the shortest table.

    Method: evenly up to each column's wish; by the size of the wishes; and piece by piece where it saves most lines.
    """
    em = size * 20 * _SLACK
    pieces = _by_pieces(needs, widths, wants, room, em)
    left = room - sum(pieces)
    rest = _poured([want - more for want, more in zip(wants, pieces, strict=True)], left)
    shares = [
        _poured(wants, room),
        [room * want / sum(wants) for want in wants],
        [more + again for more, again in zip(pieces, rest, strict=True)],
    ]

    def height(given: Sequence[float]) -> float:
        made = zip(needs, widths, given, strict=True)
        return _height([_lines(need, (width + more - _PADDING) / em) for need, width, more in made])

    return min(shares, key=height)


def _by_pieces(
    needs: Sequence[Need], widths: Sequence[float], wants: Sequence[float], room: float, em: float
) -> list[float]:
    """Give the room away piece by piece, each to the column that makes the table shortest for it.

    A column may take up to eight pieces at once, because less may not save a line. What saves nothing is left over.
    """
    given = [0.0] * len(needs)
    piece = room / _SHARES
    lines = [_lines(need, (width - _PADDING) / em) for need, width in zip(needs, widths, strict=True)]
    while room > piece / 2:
        best: tuple[float, float, int, list[int]] | None = None
        height = _height(lines)
        for place, want in enumerate(wants):
            for more in sorted({min(want - given[place], room, piece * count) for count in (1, 2, 4, 8)}):
                if more < 1.0:
                    continue
                fresh = _lines(needs[place], (widths[place] + given[place] + more - _PADDING) / em)
                saved = (height - _height([*lines[:place], fresh, *lines[place + 1 :]])) / more
                if saved > 0 and (best is None or saved > best[0]):
                    best = (saved, more, place, fresh)
        if best is None:
            break
        _, more, place, lines[place] = best
        given[place] += more
        room -= more
    return given


def _lines(need: Need, width: float) -> list[int]:
    """Return about how many lines each sampled cell of a column takes at a width [em]."""
    usable = max(width * _FULL, 0.1)
    return [
        sum(1 if line <= width else math.ceil(line / usable) for line in row) if len(row) > 1 or row[0] > width else 1
        for row in need.rows
    ]


def _height(lines: Sequence[Sequence[int]]) -> float:
    """Return the height of the rows [lines]; a cell that isn't the highest counts a little too, or none would start."""
    rows: Iterator[tuple[int, ...]] = zip(*lines, strict=True)
    return sum(max(row) + 0.1 * sum(row) for row in rows)


def _poured(wants: Sequence[float], room: float) -> list[float]:
    """Give every column its wish as long as that is under the level that the room allows."""
    given = [0.0] * len(wants)
    waiting = sorted(range(len(wants)), key=lambda place: (wants[place], place))
    for count, place in enumerate(waiting):
        given[place] = min(wants[place], room / (len(waiting) - count))
        room -= given[place]
    return given


def _whole(widths: Sequence[float], total: int) -> tuple[int, ...]:
    whole = [int(width) for width in widths]
    widest = whole.index(max(whole))
    whole[widest] += total - sum(whole)
    return tuple(whole)
