"""Which share of a segment may be filled, and who says so: the count, the bends, a listing, a house rule."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.pathway import FillShares, allowed_share, derated_share
from estimator.reference.lookup import table
from estimator.spec.model import Cable, Project
from estimator.spec.plant import Segment
from estimator.spec.rules import code_year
from estimator.takeoff.footage import rule_origin
from estimator.units.rounding import under

FILL_CIRCUITS: Final = {
    "communications": "communications",
    "fiber": "fiber",
    "conductive_fiber": "fiber",
    "class_1": "class_1",
    "audio_class_1": "class_1",
    "npl_fire_alarm": "npl_fire_alarm",
}
"""Circuit classes whose fill the code speaks of in a place of their own."""

LISTED: Final = ("surface_raceway", "cabinet")
"""Kinds whose own listing, where typed, says how far they may be filled."""

Lying = tuple[tuple[Cable, int], ...]
"""Cable types that lie in a segment, each with its number."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """The share that may be filled, and who says so."""

    share: float
    source: str


@cache
def code_shares() -> FillShares:
    """Return what the code and the standard let one, two and more cables fill."""
    rows = table("conduit_fill")
    return FillShares(
        one=rows.find(rule="one").number("share"),
        two=rows.find(rule="two").number("share"),
        more=rows.find(rule="over_two").number("share"),
    )


def number_in(lying: Lying) -> int:
    """Return how many cables lie in a segment."""
    return sum(count for _, count in lying)


def shares_of(segment: Segment, lying: Lying, project: Project) -> FillShares:
    """Return the share that one, two and more cables may fill in this segment."""
    one, two, more = (_share(segment, count, lying, project) for count in (1, 2, 3))
    return FillShares(one=one, two=two, more=more)


def limit_of(segment: Segment, lying: Lying, shares: FillShares, project: Project) -> Limit:
    """Return the limit that holds for what lies in a segment now, with its source."""
    share = allowed_share(number_in(lying), shares)
    own = segment.max_fill
    if own is not None and under(own, _usual(segment, number_in(lying), lying, project)):
        return Limit(share=share, source=f"segment, {segment.source.at('max_fill_percent')}")
    return Limit(share=share, source=_source(segment, lying, project))


def _share(segment: Segment, count: int, lying: Lying, project: Project) -> float:
    """Return the limit of its kind, or the segment's own where that is lower."""
    usual, own = _usual(segment, count, lying, project), segment.max_fill
    return own if own is not None and under(own, usual) else usual


def _usual(segment: Segment, count: int, lying: Lying, project: Project) -> float:
    rules = project.rules
    if segment.kind == "j_hooks":
        return 1.0
    if segment.kind == "sleeve" and segment.firestop is not None:
        return segment.firestop.max_fill
    if segment.kind in LISTED and segment.listed_fill is not None:
        return segment.listed_fill
    if segment.kind == "tray":
        bottom = _code_bottom(segment, lying, project)
        return rules.max_fill_tray if bottom is None else bottom.share
    if segment.kind == "conduit" and segment.nipple:
        return table("conduit_fill").find(rule="nipple").number("share")
    shares = code_shares()
    share = allowed_share(count, shares) if count <= 2 else min(shares.more, rules.max_fill_conduit)
    if segment.kind in LISTED:
        share = rules.max_fill_conduit
    return derated_share(share=share, reduction=rules.bend_derating, bends_deg=segment.turns_deg)


def _code_bottom(segment: Segment, lying: Lying, project: Project) -> Limit | None:
    """Return the code's limit for a tray of that bottom, where it binds a cable in it and is the lower one."""
    if segment.bottom is None or all(
        FILL_CIRCUITS.get(c.circuit_class) in ("communications", "fiber") for c, _ in lying
    ):
        return None
    row = table("tray_fill").find(tray=segment.bottom)
    share = row.number("ultimate")
    return Limit(share=share, source=row.text("clause")) if under(share, project.rules.max_fill_tray) else None


def _source(segment: Segment, lying: Lying, project: Project) -> str:
    at = segment.source.at
    if segment.kind == "j_hooks":
        return (
            f"segment, {at('hook_cables')}" if segment.hook_cables is not None else rule_origin(project, "hook_cables")
        )
    if segment.kind == "sleeve" and segment.firestop is not None:
        return f"firestop system {segment.firestop.system}, its listing"
    if segment.kind in LISTED and segment.listed_fill is not None:
        return f"its own listing, {at('listed_fill_percent')}"
    if segment.kind == "tray":
        bottom = _code_bottom(segment, lying, project)
        return rule_origin(project, "max_fill_tray") if bottom is None else bottom.source
    if segment.kind == "conduit" and segment.nipple:
        return f"{table('conduit_fill').find(rule='nipple').source}, nipple"
    typed = project.rules.ruled("max_fill_conduit").place
    if typed and (number_in(lying) > 2 or segment.kind in LISTED):
        return f"house rule, {typed}"
    return fill_authority((cable.circuit_class for cable, _ in lying), project.codes.electrical)


def fill_authority(classes: Iterable[str], edition: str) -> str:
    """Return in words who asks for a raceway's fill: the code, and for communications a standard in its place."""
    return _authority(tuple(dict.fromkeys(classes)), code_year(edition))


@cache
def _authority(classes: tuple[str, ...], year: int) -> str:
    found: dict[str, None] = {}
    for circuit_class in classes:
        kind = FILL_CIRCUITS.get(circuit_class, "class_2_3_fire_alarm")
        rows = [row for row in table("fill_authority") if row.cells["circuit"] == kind]
        dated = [row for row in rows if row.number("since") <= year] or rows[:1]
        row = max(dated, key=lambda one: one.number("since"))
        exempt = "" if row.cells["binding"] else f" for {kind} cable (exempt by NFPA 70 {row.text('clause')})"
        found[f"{row.text('authority')}{exempt or ' ' + row.text('clause')}"] = None
    return "; ".join((*found, table("conduit_fill").source))
