"""The one quiet look: an accent, an ink, grays, one face, and a tone for each kind of verdict.

Colors are hexadecimal RGB without a sign in front. Every ink keeps a contrast of at least 4.5 to 1
on its fill, so that words stay readable on a gray printer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from estimator.documents.description import Column, Kind

FACE: Final = "Arial"
"""A sans face that every machine has, or has a twin of with the same widths."""

SHEET_PT: Final = 10
SHEET_SMALL_PT: Final = 8
SHEET_HEADING_PT: Final = 11
SHEET_TITLE_PT: Final = 16
"""Sizes of a worksheet; paper has its own."""

ACCENT: Final = "1F4E5F"
INK: Final = "1E2326"

MUTED: Final = "5A666D"
RULE: Final = "B4BDC2"
HAIR: Final = "DDE2E5"
BAND: Final = "EEF2F4"
"""Dark to light: quiet text, rules, hairlines between rows, and the fill of table heads."""

ENTRY: Final = "FFFBEA"
"""The fill of a cell that waits for a person."""


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

LEAD_TONES: Final[Mapping[str, str]] = {"note": "none", "caution": "poor", "warning": "bad"}
"""The tone behind a paragraph that warns, by its lead."""

RIGHT_ALIGNED: Final[frozenset[Kind]] = frozenset({"number", "whole", "money", "percent"})

_EDGE: Final = "_)_)"  # in a number format: as wide as two brackets

COMPUTED_MARK: Final = " *"
COMPUTED_NOTE: Final = "* worked out step by step and stored as a value, not a live formula."


def head_text(column: Column) -> str:
    """Return a column's head: its words, its unit in brackets, a mark where it is a stored value.

    >>> head_text(Column(key="length", head="Length", unit="ft", kind="number"))
    'Length [ft]'
    """
    unit = f" [{column.unit}]" if column.unit else ""
    return f"{column.head}{unit}{COMPUTED_MARK if column.computed else ''}"


def number_format(kind: Kind, decimals: int) -> str:
    """Return a spreadsheet's number format for a kind of value.

    A number ends a little before the edge of its cell, because the text of the next column begins there.

    >>> number_format("money", 2), number_format("percent", 1), number_format("whole", 2)
    ('#,##0.00_)_)', '0.0 %_)_)', '#,##0_)_)')
    """
    places = f".{'0' * decimals}" if decimals > 0 else ""
    formats: Mapping[Kind, str] = {
        "number": f"#,##0{places}{_EDGE}",
        "money": f"#,##0{places}{_EDGE}",
        "whole": f"#,##0{_EDGE}",
        "percent": f"0{places} %{_EDGE}",
        "date": "yyyy-mm-dd",
    }
    return formats.get(kind, "General")
