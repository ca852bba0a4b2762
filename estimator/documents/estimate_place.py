"""Sheet about place: which jackets lie in which spaces, what lies together, and how far from power."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from typing import Final

from estimator.calc.separation import CLEARANCE, TOGETHER, Within, judge_pair
from estimator.documents.common import Tone, diameter_unit, number_column, origin
from estimator.documents.description import Block, Cell, Column, Paragraph, Section, Table, Verdict
from estimator.reference.lookup import table
from estimator.spec.plant import SPACES
from estimator.spec.rules import code_year
from estimator.takeoff.neighbors import Neighbor, neighbors_of
from estimator.takeoff.place import (
    in_metal,
    jacket_word,
    sharing_clauses,
    sharing_rules,
    substitutes_of,
    within_of,
)
from estimator.takeoff.takeoff import Takeoff

_MOST_NAMED: Final = 6
_TONES: Final[Mapping[str, Tone]] = {
    "fits": "good",
    "substitute": "good",
    "in metal raceway": "good",
    "not judged": "poor",
    TOGETHER: "good",
    "apart": "bad",
    "within": "good",
    "too near": "bad",
}


def place_section(takeoff: Takeoff) -> Section:
    """Return jackets by space, circuits that lie together, and distances from power."""
    edition = code_year(takeoff.project.codes.electrical)
    blocks: list[Block] = [
        Paragraph(f"Judged by NFPA 70-{edition}. The authority having jurisdiction decides."),
        _jackets(takeoff),
        _together(takeoff, edition),
    ]
    neighbors = neighbors_of(takeoff.fill, takeoff.project)
    if neighbors:
        blocks.append(_near(neighbors, takeoff))
    return Section(title="Jackets and neighbors", blocks=tuple(blocks), landscape=True)


def _named(names: list[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more


def _jackets(takeoff: Takeoff) -> Table:
    found: dict[tuple[str, str, str, str | None], list[str]] = {}
    for one in takeoff.fill.segments:
        for cable, _ in one.counts:
            word, required = jacket_word(cable, one.segment.space)
            if word == "does not fit" and in_metal(one.segment):
                word = "in metal raceway"
            found.setdefault((one.segment.space, cable.id, word, required), []).append(one.id)
    rows: list[tuple[Cell, ...]] = []
    for (space, name, word, required), segments in sorted(found.items(), key=lambda item: SPACES.index(item[0][0])):
        tone = Verdict(word, _TONES.get(word, "bad"))
        asked = required or "its own listing"
        instead = ", ".join(substitutes_of(required)) or "none"
        rows.append((space, name, takeoff.project.cables[name].jacket, asked, instead, tone, _named(segments)))
    return Table(
        name="jackets",
        title="Jackets",
        caption=table("jacket_substitutions").source,
        columns=(
            Column(key="space", head="Space"),
            Column(key="cable", head="Cable"),
            Column(key="jacket", head="Jacket"),
            Column(key="required", head="Asked for"),
            Column(key="instead", head="Permitted instead", width=34),
            Column(key="word", head="How it stands", kind="verdict"),
            Column(key="segments", head="Segments", width=40),
        ),
        rows=rows,
        empty="No cable of this job has a route.",
    )


def _together(takeoff: Takeoff, edition: int) -> Table:
    found: dict[tuple[str, str, Within], list[str]] = {}
    for one in takeoff.fill.segments:
        classes = sorted({cable.circuit_class for cable, _ in one.lying})
        for a, b in combinations(classes, 2):
            found.setdefault((a, b, within_of(one.segment)), []).append(one.id)
    rows: list[tuple[Cell, ...]] = []
    rules, clauses, names = sharing_rules(), sharing_clauses(), table("circuit_classes")
    for (a, b, within), segments in sorted(found.items()):
        judged = judge_pair(
            a,
            b,
            within=within,
            rules=rules,
            clauses=clauses,
            edition=edition,
        )
        tone = Verdict(judged.verdict, _TONES.get(judged.verdict, "poor"))
        pair = [names.find(circuit_class=one).text("name") for one in (a, b)]
        rows.append((*pair, within, tone, judged.condition, judged.clause, _named(segments)))
    return Table(
        name="together",
        title="Circuits that lie together",
        columns=(
            Column(key="a", head="Circuits"),
            Column(key="b", head="With"),
            Column(key="within", head="Within"),
            Column(key="word", head="They may lie", kind="verdict"),
            Column(key="condition", head="Only if", width=34),
            Column(key="clause", head=f"NFPA 70-{edition}"),
            Column(key="segments", head="Segments", width=40),
        ),
        rows=rows,
        empty="No segment holds circuits of two classes.",
    )


def _near(neighbors: tuple[Neighbor, ...], takeoff: Takeoff) -> Table:
    project = takeoff.project
    unit, si = diameter_unit(project)
    rows: list[tuple[Cell, ...]] = []
    for one in neighbors:
        least = None if one.least_m is None else one.least_m / si
        clearance = None if one.least_m is None else CLEARANCE(distance=one.near.distance_m, least=one.least_m) / si
        tone = Verdict(one.word, _TONES.get(one.word, "poor"))
        what = one.near.what.replace("_", " ")
        rows.append(
            (one.segment.id, what, one.near.distance_m / si, least, clearance, tone, origin(one.source, project))
        )
    return Table(
        name="near_power",
        title="Distance from power",
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="what", head="Beside it"),
            number_column("distance", "Distance", unit, si=si),
            number_column("least", "At least", unit, si=si),
            number_column("clearance", "Left", unit, si=si, formula=CLEARANCE),
            Column(key="word", head="How it stands", kind="verdict"),
            Column(key="source", head="Distance set by", width=40),
        ),
        rows=rows,
    )
