"""The test plan's pins and pairs: the assignments that the job's jacks have, pair by pair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from estimator.acceptance.criterion import Criteria
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.reference.lookup import Row, table

_JACK: Final = "RJ25"
"""The six-position jack with all its pairs: the smaller ones have its first pairs."""

_COLUMNS: Final = (
    Column(key="scheme", head="Assignment"),
    Column(key="pair", head="Pair", kind="whole"),
    Column(key="tip", head="Tip, pin", kind="whole"),
    Column(key="ring", head="Ring, pin", kind="whole"),
    Column(key="tip_color", head="Tip"),
    Column(key="ring_color", head="Ring"),
)


def jack_sections(circuits: Sequence[Criteria]) -> Iterable[Section]:
    """Yield the pin assignments of the job's jacks; nothing where it has none."""
    schemes = sorted({one.scheme for one in circuits if one.scheme})
    rows = [row for scheme in schemes for row in _pairs(scheme)]
    if any(one.medium == "voice" for one in circuits):
        rows += [
            (f"six positions, line {row.number('line'):g}", *_line(row)) for row in table("voice_pins") if _six(row)
        ]
    if not rows:
        return
    text = (
        "Tip is the conductor with the white stripe. A pair that ends on the pins of two pairs is a split pair: every "
    )
    text += "pin has continuity, and only crosstalk shows it."
    pins = Table(name="jack_pins", title="Pins by pair", columns=_COLUMNS, rows=rows)
    yield Section(title="Pins of the jacks", blocks=(Paragraph(text), pins), level=2)


def _pairs(scheme: str) -> Iterable[tuple[Cell, ...]]:
    colors = {(row.text("scheme"), row.number("pin")): row.text("color") for row in table("wire_map")}
    for row in table("wire_map_pairs"):
        if row.text("scheme") == scheme:
            tip, ring = row.number("tip"), row.number("ring")
            named = (colors.get((scheme, pin)) for pin in (tip, ring))
            yield (scheme, int(row.number("pair")), int(tip), int(ring), *named)


def _six(row: Row) -> bool:
    return row.text("jack") == _JACK


def _line(row: Row) -> tuple[Cell, ...]:
    return int(row.number("line")), int(row.number("tip")), int(row.number("ring")), None, None
