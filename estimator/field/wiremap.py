"""What far-end pins say about a four-pair link: sound, open, short, reversed, crossed, miswired.

Pins are read as eight signs: the far-end pin of near pins 1 to 8 in order, 0 where nothing arrives,
s where the pin is shorted to another.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.acceptance.columns import PAIRS
from estimator.reference.lookup import table

SOUND: Final = "12345678"
SWAPPED_ENDS: Final = "36145278"
"""Pins of a link with T568A at one end and T568B at the other."""

_NAMES: Final = {"USOC_8": "the telephone scheme"}
_TELEPHONE: Final = "USOC_8"


@cache
def schemes() -> Mapping[str, str]:
    """Return the far-end pins of a link with two schemes, and what they tell.

    Each conductor keeps its pair and its color; only the pins differ. Source: wire_map_pairs.json.
    """
    pins: dict[str, dict[tuple[int, str], int]] = {}
    for row in table("wire_map_pairs"):
        for leg in ("tip", "ring"):
            pins.setdefault(row.text("scheme"), {})[int(row.number("pair")), leg] = int(row.number(leg))
    found: dict[str, str] = {}
    whole = [name for name in ("T568A", "T568B", _TELEPHONE) if name in pins]
    for near in whole:
        for far in whole:
            if near != far:
                there = {own: pins[far][conductor] for conductor, own in pins[near].items()}
                signs = "".join(str(there[pin]) for pin in range(1, len(SOUND) + 1))
                first, second = _NAMES.get(near, near), _NAMES.get(far, far)
                found.setdefault(signs, f"{first} at one end and {second} at the other")
    return found


_SIGNS: Final = re.compile(r"[0-8s]{8}")


@dataclass(frozen=True, slots=True)
class WireMap:
    """The word for a wire map, and the pairs that it concerns."""

    word: str
    pairs: tuple[str, ...] = ()
    detail: str = ""
    scheme: bool = False  # the detail names the two schemes that make these pins


def read_pins(text: str) -> str | None:
    """Return eight signs from pins as typed, or None where they are not eight pins.

    >>> read_pins("1 2 3 4 5 6 7 8"), read_pins("12-45678"), read_pins("1234")
    ('12345678', '12045678', None)
    """
    signs = text.strip().lower().replace("x", "0")
    if len(signs) != len(SOUND):
        signs = re.sub(r"[ ,;/]", "", signs)
    signs = signs.replace("-", "0").replace("o", "0")
    return signs if _SIGNS.fullmatch(signs) else None


def classify(pins: str) -> WireMap:
    """Return what pins show: open before short, then reversed and crossed pairs, then other miswires.

    A split pair can't be seen in pins: they arrive where they should.

    >>> classify("21345678").word, classify(SWAPPED_ENDS).detail
    ('reversed', 'T568A at one end and T568B at the other')
    """
    if pins == SOUND:
        return WireMap("pass")
    near = {pair: (pins[int(pair[0]) - 1], pins[int(pair[1]) - 1]) for pair in PAIRS}
    for sign, word in (("0", "open"), ("s", "short")):
        hit = tuple(pair for pair, ends in near.items() if sign in ends)
        if hit:
            return WireMap(word, hit)
    reversed_ = tuple(pair for pair, ends in near.items() if ends == (pair[1], pair[0]))
    crossed = tuple(pair for pair, ends in near.items() if "".join(sorted(ends)) in PAIRS and set(ends) != set(pair))
    wrong = tuple(pair for pair, ends in near.items() if ends != (pair[0], pair[1]))
    told = schemes().get(pins, "")
    if crossed and set(wrong) <= {*crossed, *reversed_}:
        return WireMap("crossed", crossed, told, bool(told))
    if reversed_ and set(wrong) == set(reversed_):
        return WireMap("reversed", reversed_)
    return WireMap("fail", wrong, told or "conductors of different pairs are exchanged", bool(told))
