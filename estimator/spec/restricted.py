"""What not everybody may read: network addresses, credentials, and what cameras see."""

from __future__ import annotations

from typing import Any

from estimator.spec.faults import Place
from estimator.spec.fields import Block, Count, Kind, ListOf, Name, Text, record, spec
from estimator.spec.nodes import Mapping, Node, Source
from estimator.spec.reading import Reader


@record
class Address:
    """The network address of a device."""

    circuit: str = spec(Name(), "circuit id, or the id of what stands in a room")
    address: str = spec(Text(80), "address, with its mask or prefix")
    gateway: str = spec(Text(80), "gateway", default="")
    vlan: int | None = spec(Count(1, 4094), "number of the virtual network", default=None)
    name: str = spec(Text(120), "name in the network", default="")
    source: Source


@record
class Credential:
    """A way in: an account, a code or a key."""

    what: str = spec(Text(120), "what it opens")
    user: str = spec(Text(120), "account", default="")
    secret: str = spec(Text(200), "password or code; left out where it is handed over by word of mouth", default="")
    note: str = spec(Text(300), "remark", default="")
    source: Source


@record
class View:
    """What a camera sees."""

    circuit: str = spec(Name(), "circuit of the camera")
    covers: str = spec(Text(300), "what it looks at")
    masked: str = spec(Text(300), "what is masked or must not be seen", default="")
    source: Source


@record
class Restricted:
    """Everything that stands only in the restricted copy of the closeout."""

    addresses: tuple[Address, ...] = spec(ListOf(Block(Address)), "network addresses", default=())
    credentials: tuple[Credential, ...] = spec(ListOf(Block(Credential)), "accounts, codes and keys", default=())
    views: tuple[View, ...] = spec(ListOf(Block(View)), "what each camera sees", default=())
    takers: tuple[str, ...] = spec(ListOf(Text(120)), "roles that take a copy, each with a line to sign", default=())
    source: Source


class RestrictedOrFile(Kind):
    """The restricted block, or the name of the YAML file that holds it."""

    expects = "the name of a file with the restricted part, or its keys"

    def read(self, node: Node, reader: Reader) -> object:
        """Return the record. Raises: ProblemError where neither a name nor a block stands."""
        if isinstance(node, Mapping):
            return reader.record(Restricted, node)
        name = self.text(node)
        tree = reader.yaml(name, Place(reader.file, node.line, node.column))
        if tree is None:
            return None
        with reader.within(name):
            return reader.record(Restricted, tree)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of a file's name or of the block."""
        return {"anyOf": [{"type": "string"}, {"$ref": "#/$defs/Restricted"}]}
