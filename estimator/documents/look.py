"""The one quiet look: an accent, an ink, greys, one face, and a tone for each kind of verdict.

Colors are hexadecimal RGB without a sign in front. Every ink keeps a contrast of at least 4.5 to 1
on its fill, so that words stay readable on a grey printer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

FACE: Final = "Arial"
"""A sans face that every machine has, or has a twin of with the same widths."""

ACCENT: Final = "1F4E5F"
INK: Final = "1E2326"
PAPER: Final = "FFFFFF"

MUTED: Final = "5A666D"
RULE: Final = "B4BDC2"
HAIR: Final = "DDE2E5"
BAND: Final = "EEF2F4"
GREYS: Final = (MUTED, RULE, HAIR, BAND)
"""Dark to light: quiet text, rules, hairlines between rows, and the fill of table heads."""


@dataclass(frozen=True, slots=True)
class Tone:
    """The ink and the fill that repeat what a verdict's word already says."""

    ink: str
    fill: str


TONES: Final[Mapping[str, Tone]] = {
    "good": Tone("1C5631", "E4F1E7"),
    "poor": Tone("6F4A00", "FBF0D3"),
    "bad": Tone("8A1C12", "F9E0DC"),
    "none": Tone(INK, "EEF0F1"),
}
