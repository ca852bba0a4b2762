"""What far-end pins say about a four-pair link: sound, open, short, reversed, crossed, miswired.

Pins are read as eight signs: the far-end pin of near pins 1 to 8 in order, 0 where nothing arrives,
s where the pin is shorted to another.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from estimator.acceptance.columns import PAIRS

SOUND: Final = "12345678"
SWAPPED_ENDS: Final = "36145278"
"""Pins of a link with T568A at one end and T568B at the other."""

_SIGNS: Final = re.compile(r"[0-8s]{8}")


@dataclass(frozen=True, slots=True)
class WireMap:
    """The word for a wire map, and the pairs that it concerns."""

    word: str
    pairs: tuple[str, ...] = ()
    detail: str = ""


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
    if crossed and set(wrong) <= {*crossed, *reversed_}:
        swapped = "T568A at one end and T568B at the other" if pins == SWAPPED_ENDS else ""
        return WireMap("crossed", crossed, swapped)
    if reversed_ and set(wrong) == set(reversed_):
        return WireMap("reversed", reversed_)
    return WireMap("fail", wrong, "conductors of different pairs are exchanged")
