"""Lists whose entries may stand in a CSV file, with the same words as columns."""

from __future__ import annotations

from typing import Any

from estimator.spec.faults import ProblemError
from estimator.spec.fields import Block, Text, record, spec
from estimator.spec.nodes import Mapping, Node, Source
from estimator.spec.reading import Reader


@record
class FromFile:
    """A CSV file of entries, with the same words as columns."""

    file: str = spec(Text(200), "name of the CSV file", key="from")
    source: Source


class OrFile(Block):
    """An entry of a list, or the name of a CSV file of entries."""

    def __init__(self, cls: type[object]) -> None:
        """Take the record of an entry."""
        super().__init__(cls)
        self.expects = f"a block of keys ({cls.__name__}), or `from:` with the name of a CSV file"

    def read(self, node: Node, reader: Reader) -> object:
        """Return the entry, or a tuple of those in the file that is named."""
        if not isinstance(node, Mapping):
            raise ProblemError("no block of keys stands here", self.expects, "write a block of keys with `id:`")
        if "from" not in node.entries:
            return reader.record(self.cls, node)
        listed = reader.record(FromFile, node)
        if listed is None:
            return None
        before = len(reader.faults.found)
        rows = list(reader.csv(listed.file, listed.source.at("from")))
        if not rows and len(reader.faults.found) == before:
            what = f"file {listed.file!r} has no rows below its head"
            reader.faults.add(listed.source.at("from"), what, "one row an entry", "fill it, or leave it out")
        with reader.within(listed.file):
            return tuple(entry for row in rows if (entry := reader.record(self.cls, row)) is not None)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of an entry or of a file's name."""
        return {"anyOf": [super().schema(), {"$ref": "#/$defs/FromFile"}]}

    def label(self) -> str:
        """Return the kind's name in the key table."""
        return f"{self.cls.__name__} blocks, or `from:` a CSV file"
