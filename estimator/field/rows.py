"""What the readings folder holds: rows as read from a field sheet, and decisions about them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

SHORT: Final = 12
"""Hexadecimal digits of a hash that are shown, and that are enough to name a batch."""

KINDS: Final = ("void", "restore", "remap", "accept", "waive")
"""What a decision can do, in the order in which they are explained."""

UNDONE: Final = ("remap", "accept", "waive")
"""Decisions that can be voided like a batch; a void is undone by a restore."""


@dataclass(frozen=True, kw_only=True, slots=True)
class ReadRow:
    """One row of a field sheet as read: a circuit and a round, its cells still text.

    ``batch`` is the hash of the batch that holds it, ``order`` grows with every row received,
    ``sheet`` is the medium whose columns it has, ``tab`` the worksheet's own name (empty for CSV),
    ``cells`` goes from column key to text and leaves out empty cells, circuit and round.
    ``lengths`` is the unit of length that the sheet's heads name (``ft`` or ``m``; empty where they
    name none), ``stated`` holds what the sheet states above its head (``decimals: comma``), keys in
    lower case. ``numbers`` are the keys of cells that a workbook stored as numbers: their text has a
    point whatever decimal sign is stated, while text was typed by a person and goes by that sign.
    ``backing`` names the kept file of an instrument that holds this row's readings; empty where none does.
    """

    batch: str
    file: str
    sheet: str
    row: int
    order: int
    circuit: str
    round: str
    cells: Mapping[str, str]
    notes: tuple[str, ...] = ()
    tab: str = ""
    lengths: str = ""
    stated: Mapping[str, str] = field(default_factory=dict)
    numbers: frozenset[str] = frozenset()
    backing: str = ""

    @property
    def key(self) -> str:
        """Return the name by which a decision can point at this row alone."""
        parts = (self.batch[:SHORT], self.tab, str(self.row)) if self.tab else (self.batch[:SHORT], str(self.row))
        return ":".join(parts)

    @property
    def place(self) -> str:
        """Return file, sheet and row as a person looks them up."""
        return f"{self.file}, sheet {self.tab}, row {self.row}" if self.tab else f"{self.file}, row {self.row}"


@dataclass(frozen=True, kw_only=True, slots=True)
class Decision:
    """A dated decision of a person about something collected; it is a batch of its own.

    ``target`` is the first digits of a batch's hash, of a sheet, of evidence or of a decision that is
    withdrawn, or a row's key (``void``, ``restore``), the
    circuit as typed in the sheet, a batch or a row (``remap``, with the circuit it belongs to in
    ``to``), or a circuit (``accept``, ``waive``; ``to`` then may name the test). ``date`` is text,
    year first. ``order`` grows with everything received.
    """

    kind: str
    target: str
    reason: str
    name: str
    role: str
    date: str
    reference: str = ""
    to: str = ""
    batch: str = ""
    order: int = 0


def points_at(target: str, row: ReadRow) -> bool:
    """Return whether a decision's target is this row or the batch that holds it."""
    return target in (row.key, row.batch, row.batch[:SHORT])
