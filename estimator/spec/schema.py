"""The JSON Schema and the key table of the project file, made from the declared fields."""

from __future__ import annotations

from typing import Any

from estimator.spec.cabling import Drop
from estimator.spec.fields import Block, Kind, ListOf, Pairs, declared, schema_of
from estimator.spec.listing import FromFile
from estimator.spec.model import ProjectFile
from estimator.spec.money import PriceBook


def project_schema() -> dict[str, Any]:
    """Return the JSON Schema of a project file as a YAML parser delivers it."""
    return schema_of(ProjectFile, "Dropledger project file", also=(Drop, FromFile, PriceBook))


def key_table() -> tuple[tuple[str, str, str, str, bool], ...]:
    """Return a line for each key: its block, its name, what it takes, what it means, whether it must be typed."""
    lines: list[tuple[str, str, str, str, bool]] = []
    seen: set[type] = set()

    def visit(cls: type, block: str) -> None:
        if cls in seen:
            return
        seen.add(cls)
        fields = declared(cls)
        lines.extend((block, f.key, f.kind.label(), f.help, f.required) for f in fields.values())
        for field in fields.values():
            inner = _inner(field.kind)
            if inner is not None:
                visit(inner, f"{block}.{field.key}" if block else field.key)

    visit(ProjectFile, "")
    visit(Drop, "drops")
    visit(PriceBook, "prices")
    return tuple(lines)


def _inner(kind: Kind) -> type | None:
    while isinstance(kind, ListOf | Pairs):
        kind = kind.kind
    return kind.cls if isinstance(kind, Block) else None
