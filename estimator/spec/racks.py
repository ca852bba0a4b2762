"""Racks and cabinets of a room: how many units they have, and what stands in which."""

from __future__ import annotations

from typing import Any

from estimator.spec.fields import Block, Choice, Count, ListOf, Name, Text, record, spec
from estimator.spec.nodes import Node, Scalar, Source
from estimator.spec.reading import Reader

MOST_UNITS = 100


@record
class RackItem:
    """What stands in a rack: a patch panel or a feed of this job, or anything else in words."""

    at: int = spec(Count(1, MOST_UNITS, "rack units"), "lowest unit that it takes, counted from the floor up")
    height: int = spec(Count(1, MOST_UNITS, "rack units"), "units that it takes", default=1)
    side: str = spec(
        Choice("front", "rear", "both"), "rails that it takes; both where it fills the depth", default="front"
    )
    panel: str | None = spec(Name(), "patch panel of this room", default=None)
    equipment: str | None = spec(Name(), "switch, supply, control unit, amplifier or UPS of this room", default=None)
    what: str = spec(Text(80), "what it is, in words", default="")
    source: Source

    @property
    def top(self) -> int:
        """Return the highest unit that it takes."""
        return self.at + self.height - 1

    @property
    def shown(self) -> str:
        """Return what it is called."""
        named = f"panel {self.panel}" if self.panel else self.equipment or ""
        return ", ".join(text for text in (named, self.what) if text)


@record
class Rack:
    """A rack, cabinet or wall panel; one without units is only named."""

    id: str = spec(Name(), "rack, such as R1")
    units: int = spec(Count(1, MOST_UNITS, "rack units"), "units that it has")
    name: str = spec(Text(80), "what kind it is, and where it stands", default="")
    holds: tuple[RackItem, ...] = spec(ListOf(Block(RackItem)), "what stands in it", default=())
    source: Source

    @property
    def shown(self) -> str:
        """Return what it is called."""
        return f"{self.id}, {self.name}" if self.name and self.id else self.id or self.name


class RackOrText(Block):
    """A rack with its units, or a few words for one of which nothing more is told."""

    def __init__(self) -> None:
        """Take the record of a rack."""
        super().__init__(Rack)
        self.expects = "the name of a rack, or a block of keys with `id:` and `units:`"

    def read(self, node: Node, reader: Reader) -> object:
        """Return the rack; one in words has no id and no units."""
        if isinstance(node, Scalar):
            name = Text(80).read(node, reader)
            return Rack(id="", units=0, name=name, source=Source(reader.file, node))
        return super().read(node, reader)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of a rack or its name."""
        return {"anyOf": [Text(80).schema(), super().schema()]}

    def label(self) -> str:
        """Return the kind's name in the key table."""
        return "names, or Rack blocks"
