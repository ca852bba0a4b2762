"""The JSON Schema and the key table of the project file, made from the declared fields."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from estimator.reference.lookup import table
from estimator.spec.cabling import Drop
from estimator.spec.fields import Block, Declared, Kind, ListOf, Pairs, declared, schema_of
from estimator.spec.listing import FromFile
from estimator.spec.model import ProjectFile
from estimator.spec.money import PriceBook
from estimator.spec.project import HouseRules
from estimator.spec.restricted import Restricted


@dataclass(frozen=True, slots=True)
class KeyLine:
    """A line of the key table: what a key takes, what it means, and what holds where it is left out."""

    block: str
    key: str
    takes: str
    meaning: str
    otherwise: str


def project_schema() -> dict[str, Any]:
    """Return the JSON Schema of a project file as a YAML parser delivers it."""
    return schema_of(ProjectFile, "Dropledger project file", also=(Drop, FromFile, PriceBook, Restricted))


def key_table() -> tuple[KeyLine, ...]:
    """Return a line for each key, block by block in the order they are declared."""
    lines: list[KeyLine] = []
    seen: set[type] = set()

    def visit(cls: type, block: str) -> None:
        if cls in seen:
            return
        seen.add(cls)
        fields = declared(cls)
        lines.extend(KeyLine(block, f.key, _takes(f.kind), f.help, _otherwise(cls, f)) for f in fields.values())
        for field in fields.values():
            inner = _inner(field.kind)
            if inner is not None:
                visit(inner, f"{block}.{field.key}" if block else field.key)

    visit(ProjectFile, "")
    visit(Drop, "drops")
    visit(PriceBook, "prices")
    visit(Restricted, "closeout.restricted")
    return tuple(lines)


def catalog_cables() -> Iterator[tuple[str, str]]:
    """Yield the generic cables of the catalog: name and description."""
    for row in table("cable_catalog"):
        yield row.text("id"), row.text("name")


def _takes(kind: Kind) -> str:
    """Return what a key takes; a block's own keys follow under its name."""
    if isinstance(kind, ListOf):
        return f"a list: {_takes(kind.kind)}"
    return "keys of its own, below" if _inner(kind) is not None else kind.label()


def _otherwise(cls: type, field: Declared) -> str:
    """Return what holds where a key is left out."""
    if field.required:
        return "must be typed"
    if cls is HouseRules:
        cells = table("house_defaults").find(key=field.attribute).cells
        return f"default {field.kind.typed(cells['value'])}"
    if field.default in (None, "", ()):
        return "may be left out"
    return f"default {field.kind.typed(field.default)}"


def _inner(kind: Kind) -> type | None:
    while isinstance(kind, ListOf | Pairs):
        kind = kind.kind
    return kind.cls if isinstance(kind, Block) else None
