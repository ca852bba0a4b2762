"""Cable types with the generic catalog's typical values in every gap, each gap named."""

from __future__ import annotations

from typing import Any

from estimator.reference.lookup import Row, table
from estimator.spec.cabling import CableType
from estimator.spec.faults import Faults, known_words, nearest
from estimator.spec.model import NO_PLACE, Cable

_FILLED = (
    "medium",
    "category",
    "pairs",
    "conductors",
    "awg",
    "stranding",
    "jacket",
    "circuit_class",
    "od_m",
    "put_up_m",
    "nvp",
    "fiber_class",
    "strands",
    "coax_type",
)
_NEEDED = (
    ("medium", "medium"),
    ("od_m", "od"),
    ("put_up_m", "put_up"),
    ("jacket", "jacket"),
    ("circuit_class", "class"),
)
_PAIRED = ("balanced_pair", "voice")


def resolve_cable(cable: CableType | str, faults: Faults) -> Cable | None:
    """Return a cable type with every gap filled, or None (with faults) where too little is known.

    A text is a bare catalog name: all its values are typical ones.
    """
    typed = None if isinstance(cable, str) else cable
    name = cable if isinstance(cable, str) else cable.type
    row = _row(name, typed, faults)
    if row is None and (typed is None or name is not None):
        return None
    listed = _typical(row) if row is not None else {}
    values: dict[str, Any] = {}
    typical = []
    for attribute in _FILLED:
        value = getattr(typed, attribute) if typed else None
        if value is None and listed.get(attribute) is not None:
            value = listed[attribute]
            typical.append(attribute)
        values[attribute] = value
    if values["medium"] == "fiber" and values["put_up_m"] is None:
        values["put_up_m"] = 0.0  # fiber has no usual put-up: each run is ordered at its own length
    if typed is not None and not _complete(typed, values, faults):
        return None
    return _made(typed, name, str(listed.get("name") or ""), values, tuple(typical))


def _typical(row: Row) -> dict[str, Any]:
    """Return a catalog row in the words of a cable type."""
    cells = dict(row.cells)
    medium, name = cells.get("medium"), row.text("id")
    conductors = cells.get("conductors")
    if medium in ("conductors", "composite"):
        pair = "speaker" if name.endswith("_speaker") else "two_conductor"
        medium = pair if conductors == 2 or pair == "speaker" else "multi_conductor"
    stranding = cells.get("stranding")
    return cells | {
        "medium": str(medium).replace(" ", "_"),
        "stranding": None if stranding is None else ("solid" if stranding == "solid" else "stranded"),
        "strands": cells.get("fibers"),
        "coax_type": name.split("_")[0] if medium == "coax" else None,
    }


def _row(name: str | None, typed: CableType | None, faults: Faults) -> Row | None:
    if name is None:
        return None
    catalog = table("cable_catalog")
    if catalog.has(id=name):
        return catalog.find(id=name)
    if typed is not None:
        known = [row.text("id") for row in catalog]
        close = nearest(name, known)
        faults.add(
            typed.source.at("type"),
            f"catalog cable {name!r} is not known",
            f"one of {known_words(known, 60)}",
            f"write {close}" if close else "mend the name, or leave `type` out and type the values",
        )
    return None


def _complete(typed: CableType, values: dict[str, Any], faults: Faults) -> bool:
    missing = [key for attribute, key in _NEEDED if values[attribute] is None]
    medium = values["medium"]
    if medium in (*_PAIRED, "two_conductor", "multi_conductor", "speaker") and values["awg"] is None:
        missing.append("gauge")
    if medium == "balanced_pair" and values["category"] is None:
        missing.append("category")
    if medium == "fiber" and values["fiber_class"] is None:
        missing.append("fiber_class")
    for key in missing:
        if typed.source.typed(key) is not None:
            continue  # typed, and already a fault of its own
        faults.add(
            typed.source.at(),
            f"cable {typed.id!r} has no `{key}`",
            f"`{key}:`" if typed.type else f"`{key}:`, or `type:` of a catalog cable",
            "the catalog has none for it: add it" if typed.type else "add it",
        )
    return not missing


def _made(
    typed: CableType | None, name: str | None, listed: str, values: dict[str, Any], typical: tuple[str, ...]
) -> Cable:
    medium = values["medium"]
    pairs = values["pairs"] or (4 if medium == "balanced_pair" else 1)
    ident = typed.id if typed else (name or "")
    own = {attribute: values[attribute] for attribute in _FILLED}
    own |= {
        "pairs": pairs,
        "conductors": values["conductors"] or (2 * pairs if medium != "fiber" else 0),
        "strands": values["strands"] or 0,
        "stranding": values["stranding"] or "solid",
        "jacket": values["jacket"] or "",
        "circuit_class": values["circuit_class"] or "communications",
    }
    return Cable(
        id=ident,
        name=(typed.name if typed else "") or listed or ident,
        coated=typed.coated if typed else False,
        material=typed.material if typed else "copper",
        waste=typed.waste if typed else None,
        service_loop_m=typed.service_loop_m if typed else None,
        price=typed.price if typed else None,
        ohm_per_m=typed.ohm_per_m if typed else None,
        stock_m=typed.stock_m if typed else (),
        typical=typical,
        typed=typed,
        source=typed.source if typed else NO_PLACE,
        **own,
    )
