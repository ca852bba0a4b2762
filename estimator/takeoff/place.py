"""Place: which jacket lies in which space, what shares a segment, and which ports are left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from estimator.calc.formula import Expression
from estimator.calc.separation import Clause, RuleIndex, SharingRule, Within, index_rules, judge_jacket, judge_shared
from estimator.reference.lookup import table
from estimator.spec.faults import Place
from estimator.spec.model import Cable, Project, Run
from estimator.spec.plant import Segment
from estimator.spec.rules import code_year
from estimator.takeoff.alerts import Alert
from estimator.takeoff.fill import Fill, SegmentFill
from estimator.takeoff.neighbors import audio_alerts, neighbor_alerts, neighbors_of
from estimator.takeoff.worked import Family, Input

FREE_PORTS = Expression("ports - used")
"""Ports that a panel has left [ports]."""

PORTS_TAKEN = Expression("count(drop_ports) + strands")
"""Circuits and strands that end on a panel."""

PORTS = Expression("count(all_ports)")
"""Ports of a panel [ports]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PanelUse:
    """A patch panel and the ports that circuits take."""

    room: str
    panel: str
    kind: str
    ports: int
    used: tuple[tuple[int, str], ...]

    @property
    def free(self) -> int:
        """Ports left."""
        return int(FREE_PORTS(ports=self.ports, used=len(self.used)))


def panel_use(project: Project) -> tuple[PanelUse, ...]:
    """Return every patch panel with the circuits on its ports, in port order."""
    used: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for run in project.runs:
        if run.panel is not None and run.port is not None:
            used.setdefault((run.drop.room, run.panel), []).append((run.port, run.id))
    _strands(project, used)
    return tuple(
        PanelUse(
            room=room.id,
            panel=panel.id,
            kind=panel.kind,
            ports=panel.ports,
            used=tuple(sorted(used.get((room.id, panel.id), []))),
        )
        for room in project.rooms.values()
        for panel in room.patch_panels
    )


def _strands(project: Project, used: dict[tuple[str, str], list[tuple[int, str]]]) -> None:
    """Land backbone strands on the fiber panels of both rooms, one a port in the order they are typed."""
    for room in project.rooms.values():
        places = [
            (panel.id, port)
            for panel in room.patch_panels
            if panel.kind == "fiber"
            for port in range(1, panel.ports + 1)
        ]
        ends = [cable for cable in project.backbone.values() if room.id in (cable.start, cable.end)]
        strands = [f"{c.id}.{n}" for c in ends for n in range(1, project.cables[c.cable].strands + 1)]
        for (panel, port), strand in zip(places, strands, strict=False):
            used.setdefault((room.id, panel), []).append((port, strand))


def panel_families(panels: tuple[PanelUse, ...], project: Project) -> Iterable[Family]:
    """Yield the free ports of each panel."""
    places = {
        (room.id, panel.id): panel.source.at("ports") for room in project.rooms.values() for panel in room.patch_panels
    }

    def inputs(index: int) -> dict[str, Input]:
        use = panels[index]
        origin = f"panel, {places[use.room, use.panel]}"
        return {
            "ports": Input(float(use.ports), "ports", origin),
            "used": Input(float(len(use.used)), "ports", "circuits that end on it"),
        }

    if panels:
        yield Family(
            what="panel",
            name="free_ports",
            meaning="ports left on a patch panel",
            unit="ports",
            formula=FREE_PORTS,
            source="count of the circuits that end on it",
            subjects=[f"{use.room}-{use.panel}" for use in panels],
            values=[float(use.free) for use in panels],
            inputs=inputs,
        )


def _lands(run: Run) -> bool:
    """Return whether a run's room end belongs on a copper panel."""
    return run.cable.medium == "balanced_pair"


def panel_alerts(panels: tuple[PanelUse, ...], project: Project) -> Iterable[Alert]:
    """Yield a warning for a room whose copper panels have no port left, or too few."""
    for room in project.rooms.values():
        here = [use for use in panels if use.room == room.id and use.kind == "copper"]
        ports = sum(use.ports for use in here)
        without = sum(1 for run in project.runs if run.drop.room == room.id and run.panel is None and _lands(run))
        if here and without:
            first = next(r for r in project.runs if r.drop.room == room.id and r.panel is None and _lands(r))
            yield Alert(
                first.place,
                "no port",
                first.id,
                f"links of room {room.id} name no port of its panels, {first.id} first",
                f"{without} without a port",
                "a port each",
                "its patch panels as typed",
                "type `port:`, or an id such as room-panel-port",
            )
        taken = sum(len(use.used) for use in here) + without
        if here and taken >= ports:
            text = "has no ports left" if taken == ports else "has too few ports"
            yield Alert(
                room.source.at("patch_panels"),
                "no ports left",
                room.id,
                f"room {room.id} {text}",
                f"{taken} links",
                f"{ports} ports",
                "its patch panels as typed",
                "add a panel, and leave room to grow",
            )


def place_alerts(fill: Fill, project: Project) -> Iterable[Alert]:
    """Yield a warning for each jacket that a space doesn't permit and each pair that may not share."""
    yield from segment_alerts(fill.segments, project)
    yield from _last_legs(project)
    yield from neighbor_alerts(neighbors_of(fill, project), project)
    yield from audio_alerts(project)


def segment_alerts(filled: Iterable[SegmentFill], project: Project) -> Iterable[Alert]:
    """Yield the warnings of some segments, as they are filled."""
    edition = code_year(project.codes.electrical)
    for each in filled:
        yield from _jackets(each)
        yield from _shared(each, edition)


@cache
def sharing_rules() -> RuleIndex:
    """Return the code's rules on what may share a pathway, by pair and kind of pathway."""
    return index_rules(
        SharingRule(
            a=r.text("a"),
            b=r.text("b"),
            within=r.text("within"),
            verdict=r.text("verdict"),
            condition=str(r.cells["condition"]),
            rule=r.text("rule"),
        )
        for r in table("separation_rules")
    )


@cache
def sharing_clauses() -> tuple[Clause, ...]:
    """Return where each rule stands, by edition."""
    return tuple(
        Clause(rule=r.text("rule"), since=int(r.number("since")), clause=r.text("clause"))
        for r in table("separation_clauses")
    )


def jacket_word(cable: Cable, space: str) -> tuple[str, str | None]:
    """Return how a cable's jacket stands to a space, and what the space asks for."""
    return _jacket_word(cable.circuit_class, cable.jacket, space, coax=cable.medium == "coax")


@cache
def _jacket_word(circuit_class: str, jacket: str, space: str, *, coax: bool) -> tuple[str, str | None]:
    spaces, jackets = table("spaces"), table("jackets")
    family = table("circuit_classes").find(circuit_class=circuit_class).cells.get("family")
    if coax and jackets.has(jacket=jacket, family="catv"):
        family = "catv"  # a coax cable listed as CATV is judged by its own article
    required = (
        spaces.find(space=space, family=family).text("required") if spaces.has(space=space, family=family) else None
    )
    known = {r.text("jacket") for r in jackets}
    return judge_jacket(jacket, required=required, replaced_by=substitutes_of(required), known=known), required


def substitutes_of(required: str | None) -> tuple[str, ...]:
    """Return the jackets that may be installed instead of one."""
    replaced = table("jacket_substitutions")
    return replaced.find(jacket=required).texts("may_be_replaced_by") if replaced.has(jacket=required) else ()


def in_metal(segment: Segment) -> bool:
    """Return whether a segment is a metal raceway, in which the jacket does not decide."""
    return segment.kind == "conduit" and table("metal_raceways").has(kind=segment.material)


def _jackets(filled: SegmentFill) -> Iterable[Alert]:
    segment = filled.segment
    if in_metal(segment):
        return
    for cable, count in filled.counts:
        yield from _jacket(
            cable,
            segment.space,
            f"{count} of {cable.id} in {segment.kind.replace('_', ' ')} {segment.id}",
            segment.source.at("space"),
            segment.id,
        )


def _jacket(cable: Cable, space: str, what: str, place: Place, subject: str) -> Iterable[Alert]:
    word, required = jacket_word(cable, space)
    source = table("jacket_substitutions").source
    if word == "does not fit":
        yield Alert(
            place,
            "jacket",
            subject,
            f"{what}, a {space} space",
            f"jacket {cable.jacket}",
            f"{required} or a permitted substitute",
            source,
            f"order {required} cable, or run it in a complete metal raceway",
        )
    elif word == "unknown jacket":
        yield Alert(
            place,
            "jacket",
            subject,
            f"{what}, a {space} space",
            f"jacket {cable.jacket or 'not typed'}",
            f"{required or 'a listed jacket'}",
            source,
            "type the jacket's listing mark",
        )
    elif space in ("outdoor", "wet") and cable.jacket != "OSP":
        yield Alert(
            place,
            "jacket",
            subject,
            f"{what}, a {space} space",
            f"jacket {cable.jacket}",
            "a listing for that place",
            "NFPA 70 300.11 and the cable's own listing",
            "check that the cable is listed for wet or outdoor places",
        )


def _last_legs(project: Project) -> Iterable[Alert]:
    done: set[tuple[str, int]] = set()
    for run in project.runs:
        space = run.drop.space
        if space is not None and (run.cable.id, id(run.drop)) not in done:
            done.add((run.cable.id, id(run.drop)))
            yield from _jacket(run.cable, space, f"last leg of {run.drop.id}", run.drop.source.at("space"), run.id)


def within_of(segment: Segment) -> Within:
    """Return how closely the cables of a segment lie together, for the sharing rules."""
    found = table("kinds_of_pathway").find(kind=segment.kind).text("within")
    words: dict[str, Within] = {"raceway": "raceway", "tray": "tray", "open": "open"}
    return words[found]


def _shared(filled: SegmentFill, edition: int) -> Iterable[Alert]:
    classes = {cable.circuit_class for cable, _ in (*filled.counts, *filled.existing)}
    if len(classes) < 2:
        return
    segment = filled.segment
    judged = judge_shared(
        classes, within=within_of(segment), rules=sharing_rules(), clauses=sharing_clauses(), edition=edition
    )
    for pair in judged:
        names = f"{pair.a.replace('_', ' ')} with {pair.b.replace('_', ' ')}"
        source = f"NFPA 70-{edition}, {pair.clause}" if pair.clause else table("separation_rules").source
        limit = {"apart": "kept apart", "if": f"only if {pair.condition}"}.get(
            pair.verdict, pair.condition or pair.verdict
        )
        yield Alert(
            segment.source.at("id"),
            "separation",
            segment.id,
            f"{segment.kind.replace('_', ' ')} {segment.id} is shared",
            names,
            limit,
            source,
            "send one of them another way, or ask the authority having jurisdiction",
        )
