"""What a cable weighs, and what it bears while it is pulled: as typed, by its catalog row, or by its kind."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.conductor import Gauge, diameter_m
from estimator.calc.pulling import cable_radius, copper_tension
from estimator.reference.lookup import Row, table
from estimator.spec.model import Cable
from estimator.units.table import INCH_M

_SMALL_FIBER: Final = 4  # strands; the published rows part there
_FOUR_PAIRS: Final = 4


@dataclass(frozen=True, kw_only=True, slots=True)
class Bound:
    """A limit of a cable: its value in SI, and who says so."""

    value: float
    source: str


def weight_of(cable: Cable) -> Bound | None:
    """Return what a cable weighs [kg/m]; None where neither the project nor the catalog says."""
    if cable.typed is not None and cable.typed.weight_kg_per_m is not None:
        return Bound(value=cable.typed.weight_kg_per_m, source=f"cable, {cable.source.at('weight')}")
    row = _row(cable)
    kg_per_m = row.optional("weight_kg_per_m") if row else None
    if row is None or kg_per_m is None:
        return None
    return Bound(value=kg_per_m, source=f"typical weight of {row.text('id')} ({row.cells.get('weight_confidence')})")


def tension_of(cable: Cable) -> Bound | None:
    """Return the largest pulling tension of a cable [N]: typed, of its kind, or by its copper."""
    if cable.typed is not None and cable.typed.pull_tension_n is not None:
        return Bound(value=cable.typed.pull_tension_n, source=f"cable, {cable.source.at('pull_tension')}")
    row = _row(cable)
    kind = str((row.cells.get("tension") if row else None) or _tension_kind(cable) or "")
    if kind:
        published = table("pulling_tension").find(cable=kind)
        return Bound(value=published.number("tension_n"), source=f"{published.source}, {kind.replace('_', ' ')}")
    return _by_copper(cable)


def grip() -> Bound:
    """Return the tension that one basket grip may take [N]."""
    row = table("pulling_tension").find(cable="basket_grip")
    return Bound(value=row.number("tension_n"), source=f"{row.source}, {row.text('printed')}")


def _tension_kind(cable: Cable) -> str | None:
    if cable.medium == "fiber":
        if cable.jacket == "OSP":
            return "fiber_outside_plant"
        return "fiber_2_4" if 0 < cable.strands <= _SMALL_FIBER else "fiber_indoor"
    four_pairs = cable.medium in ("balanced_pair", "voice") and cable.pairs == _FOUR_PAIRS
    return "four_pair" if four_pairs else None


def _by_copper(cable: Cable) -> Bound | None:
    """Return what the conductors of a cable bear by their area; a coaxial cable has its center alone."""
    if cable.awg is None:
        return None
    row = table("awg_definition").rows[0]
    gauge = Gauge(**{name: row.number(name) for name in ("anchor_awg", "anchor_m", "ratio", "steps")})
    mils = diameter_m(awg=cable.awg, gauge=gauge) / (INCH_M / 1000)
    conductors = 1 if cable.medium == "coax" else cable.conductors
    factor = table("pulling_factors").find(factor="copper_tension")
    tension_n = copper_tension(cmil=mils**2, conductors=conductors, tension_per_cmil_n=factor.number("value"))
    counted = "its center conductor" if cable.medium == "coax" else f"{conductors} conductors"
    return Bound(value=tension_n, source=f"{counted} of {cable.awg} AWG at {factor.text('printed')} ({factor.source})")


def radius_of(cable: Cable) -> tuple[Bound, float] | None:
    """Return the least bend radius of a cable while it is pulled [m], and the multiple that gives it.

    The multiple is 0 where a length is published or typed; None where nothing is published for its kind.
    """
    if cable.typed is not None and cable.typed.bend_radius_m is not None:
        return Bound(value=cable.typed.bend_radius_m, source=f"cable, {cable.source.at('bend_radius')}"), 0.0
    row = _row(cable)
    kind = str((row.cells.get("bend") if row else None) or _bend_kind(cable) or "")
    if not kind:
        return None
    published = table("cable_bend_radius").find(cable=kind)
    words = f"{published.source}, {kind.replace('_', ' ')}"
    length_m = published.optional("under_load_m") or published.optional("no_load_m")
    if length_m is not None:
        return Bound(value=length_m, source=words), 0.0
    multiple = published.optional("under_load") or published.number("no_load")
    return Bound(value=cable_radius(diameter_m=cable.od_m, multiple=multiple), source=words), multiple


def _bend_kind(cable: Cable) -> str | None:
    if cable.medium == "fiber":
        return "fiber_2_4" if 0 < cable.strands <= _SMALL_FIBER else "fiber"
    if cable.medium == "voice" and cable.pairs > _FOUR_PAIRS:
        return "multipair_backbone"
    return {"balanced_pair": "four_pair", "voice": "four_pair", "coax": "coax"}.get(cable.medium)


def _row(cable: Cable) -> Row | None:
    """Return the catalog's row of a cable type."""
    name = cable.id if cable.typed is None else cable.typed.type
    catalog = table("cable_catalog")
    return catalog.find(id=name) if name is not None and catalog.has(id=name) else None
