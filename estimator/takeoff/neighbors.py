"""What runs beside a segment or feeds a line: distance from power, and the wiring class of speaker lines."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.separation import CLEARANCE, AudioClass, Clause, audio_class, clause_of, too_near
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.spec.plant import NearPower, Segment
from estimator.spec.rules import code_year
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.fill import Fill, SegmentFill
from estimator.takeoff.footage import shown_length
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.quantity import in_unit
from estimator.units.rounding import over, under

APART: Final = {
    "communications": "communications_apart",
    "class_2": "class_2_3_apart",
    "class_3": "class_2_3_apart",
    "audio_class_2": "class_2_3_apart",
    "audio_class_3": "class_2_3_apart",
    "pl_fire_alarm": "fire_alarm_apart",
}
"""Classes that the code keeps at a distance from power, each with the rule that says so."""

_ENCLOSED: Final = ("conduit", "surface_raceway", "sleeve")
_BANDS: Final = ((2000.0, "under_2_kva"), (5000.0, "2_to_5_kva"))  # names of the rows of the 1990 table
_HARDER: Final = ("audio_class_2", "audio_class_3", "audio_class_1")
_LIMITED_FIRE: Final = ("pl_fire_alarm", "npl_fire_alarm")


@dataclass(frozen=True, kw_only=True, slots=True)
class Neighbor:
    """Power wiring beside a segment, and how far from it the segment must lie."""

    id: str
    segment: Segment
    near: NearPower
    least_m: float | None  # None where nothing is published for the two
    source: str

    @property
    def word(self) -> str:
        """How it stands to the distance asked for."""
        if self.least_m is None:
            return "not judged"
        return "too near" if too_near(distance_m=self.near.distance_m, least_m=self.least_m) else "within"


def neighbors_of(fill: Fill, project: Project) -> tuple[Neighbor, ...]:
    """Return what runs beside the segments, in the order typed."""
    edition = code_year(project.codes.electrical)
    found = []
    for one in fill.segments:
        for place, near in enumerate(one.segment.near_power, 1):
            least = _legacy(one.segment, near) if near.rule == "tia_1990" else _by_code(one, near, edition)
            least_m, source = least if least else (None, "no distance is published for it")
            found.append(
                Neighbor(id=f"{one.id}.power{place}", segment=one.segment, near=near, least_m=least_m, source=source)
            )
    return tuple(found)


def _by_code(one: SegmentFill, near: NearPower, edition: int) -> tuple[float, str] | None:
    """Return the code's distance: none where either side is in a raceway, or nothing in it must keep away."""
    rules = list(dict.fromkeys(APART[c.circuit_class] for c, _ in one.lying if c.circuit_class in APART))
    if near.what != "wiring" or one.segment.kind in _ENCLOSED or not rules:
        return None
    clauses = [
        Clause(rule=row.text("rule"), since=int(row.number("since")), clause=row.text("clause"))
        for row in table("separation_clauses")
    ]
    row = table("separation_distances").find(rule="inside_enclosure" if one.segment.kind == "cabinet" else "open")
    named = ", ".join(filter(None, (clause_of(rule, edition=edition, clauses=clauses) for rule in rules)))
    return row.number("distance_m"), f"NFPA 70-{edition}, {named}: {row.text('printed')}"


def _legacy(segment: Segment, near: NearPower) -> tuple[float, str] | None:
    """Return the distance of the withdrawn table, by what lies there and by its load."""
    metal = segment.kind == "conduit" and table("metal_raceways").has(kind=segment.material)
    kind = {"motors": "motors", "fluorescent": "fluorescent"}.get(near.what)
    if kind is None:
        if near.what == "wiring_in_metal" and not metal:
            return None
        kind = "metal_to_metal" if near.what == "wiring_in_metal" else ("near_metal" if metal else "open")
    row = table("separation_distances").find(rule=f"legacy_{kind}_{_band(near.load_va or 0.0)}")
    least_m = row.optional("distance_m")
    return None if least_m is None else (least_m, row.source)


def _band(load_va: float) -> str:
    """Return the column of the 1990 table: under 2 kVA, 2 to 5 kVA, over 5 kVA."""
    (low, under_low), (high, between) = _BANDS
    if under(load_va, low):
        return under_low
    return "over_5_kva" if over(load_va, high) else between


def neighbor_families(neighbors: tuple[Neighbor, ...]) -> Iterable[Family]:
    """Yield how much farther apart each lies than it must."""
    return filled(
        (
            column(
                ("segment", "clearance", "distance from power beyond what is asked for", "m"),
                CLEARANCE,
                "distance typed, less the distance asked for",
                neighbors,
                _clearance,
                _inputs,
                judge=lambda one: Judged(one.word, _clearance(one) or 0.0, one.least_m or 0.0, one.source),
            ),
        )
    )


def _clearance(one: Neighbor) -> float | None:
    return None if one.least_m is None else CLEARANCE(distance=one.near.distance_m, least=one.least_m)


def _inputs(one: Neighbor) -> Mapping[str, Input]:
    assert one.least_m is not None
    return {
        "distance": Input(one.near.distance_m, "m", f"near_power, {one.near.source.at('distance')}"),
        "least": Input(one.least_m, "m", one.source),
    }


def neighbor_alerts(neighbors: tuple[Neighbor, ...], project: Project) -> Iterable[Alert]:
    """Yield a warning for every segment that lies nearer to power than it may."""
    for one in neighbors:
        if one.word == "too near" and one.least_m is not None:
            yield Alert(
                one.near.source.at("distance"),
                "separation",
                one.segment.id,
                f"{one.segment.kind.replace('_', ' ')} {one.segment.id} lies near {one.near.what.replace('_', ' ')}",
                _shown(one.near.distance_m, project),
                f"{_shown(one.least_m, project)} or more",
                one.source,
                "move one of them, put one in a raceway, or a continuous barrier between them",
            )


def _shown(value_m: float, project: Project) -> str:
    if under(value_m, 1.0):
        unit = "mm" if project.header.lengths_in == "m" else "in"
        return f"{in_unit(value_m, 'length', unit):.3g} {unit}"
    return shown_length(value_m, project)


def line_class(circuit: Circuit, project: Project) -> tuple[str, str] | None:
    """Return the wiring class of a speaker line and who says so; None where it is no constant-voltage line."""
    amplifier = project.amplifiers.get(circuit.feed)
    if amplifier is None or amplifier.line_v is None:
        return None
    if amplifier.wiring_class is not None:
        return amplifier.wiring_class, f"marked on the amplifier, {amplifier.source.at('wiring_class')}"
    rows = table("audio_classes")
    classes = [
        AudioClass(
            circuit_class=row.text("circuit_class"),
            volts_max=row.optional("volts_max"),
            watts_max=row.optional("watts_max"),
        )
        for row in rows
    ]
    return audio_class(volts=amplifier.line_v, watts=amplifier.power_w, classes=classes), rows.source


def audio_alerts(project: Project) -> Iterable[Alert]:
    """Yield a warning for every speaker line whose cable is of an easier class than its amplifier makes it."""
    for circuit in project.circuits.values():
        found, cable = line_class(circuit, project), project.cables[circuit.cable]
        if found is None or cable.circuit_class in _LIMITED_FIRE:
            continue
        needed, source = found
        typed = cable.circuit_class
        if typed in _HARDER and _HARDER.index(typed) >= _HARDER.index(needed):
            continue
        amplifier = project.amplifiers[circuit.feed]
        yield Alert(
            circuit.source.at("cable"),
            "wiring class",
            circuit.id,
            f"speaker line {circuit.id} of {amplifier.id}, {amplifier.line_v:g} V and {amplifier.power_w:g} W, "
            f"is wired with {cable.id}",
            typed.replace("_", " "),
            needed.replace("_", " "),
            source,
            "type the cable's `class:`, a smaller amplifier, or the amplifier's `wiring_class:` as it is marked",
        )
