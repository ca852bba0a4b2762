"""Sheets about pulling and holding cable: tension, bends, pull points, supports and weight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from estimator.calc.pulling import PULL_POINTS, SHARED_TENSION, SIDEWALL, WORST_TENSION
from estimator.calc.support import HOOK_WEIGHT, SUPPORTS
from estimator.documents.common import (
    diameter_unit,
    in_length,
    length_column,
    number_column,
    origin,
    verdict,
)
from estimator.documents.description import Block, Cell, Column, Paragraph, Ref, Section, Table, Verdict
from estimator.spec.model import Project
from estimator.takeoff.fill import SegmentFill, hook_spacing, support_row
from estimator.takeoff.pull_figures import may_stay, shown_box, sidewall_word
from estimator.takeoff.pulls import Pull, bend_rule, sidewall_limit
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.weights import Weight, rating_place
from estimator.units.table import FACTORS

_LBF: Final = FACTORS["force"]["lbf"]
_FOOT: Final = FACTORS["length"]["ft"]
_LB_PER_FT: Final = FACTORS["weight per length"]["lb/ft"]
_MOST_HOOKS: Final = 40  # segments without a rating that are listed
_POUND: Final = FACTORS["mass"]["lb"]


def _force(project: Project) -> tuple[str, float]:
    return ("N", 1.0) if project.header.lengths_in == "m" else ("lbf", _LBF)


def _pressure(project: Project) -> tuple[str, float]:
    return ("N/m", 1.0) if project.header.lengths_in == "m" else ("lbf/ft", _LBF / _FOOT)


def pulls_section(takeoff: Takeoff) -> Section:
    """Return every pull through conduit: what it takes, what its cables bear, its bends and pull points."""
    project = takeoff.project
    drawn = [pull for pull in takeoff.pulls if pull.tension is not None]
    plain = [pull for pull in drawn if not pull.segment.bends_at]
    placed = [pull for pull in drawn if pull.segment.bends_at]
    unweighed = list(dict.fromkeys(name for pull in takeoff.pulls for name in pull.unweighed))
    blocks: list[Block] = [Paragraph(_TEXT)]
    if unweighed:
        blocks.append(Paragraph(f"No tension where a cable has no weight: {', '.join(unweighed)}.", "caution"))
    if plain or not placed:
        blocks.append(_plain(plain, project))
    if placed:
        blocks.append(_placed(placed, project))
    bent = [pull for pull in takeoff.pulls if pull.turn is not None or pull.points]
    if bent:
        blocks.append(_bends(bent, project))
    return Section(title="Pulls", blocks=tuple(blocks), landscape=True)


_TEXT: Final = (
    "All cables of the job in a conduit are counted as one pull. Where its bends are not typed one by one, all of "
    "them count at the pulled end, the worst place; a rise counts as pulled upward. Each cable bears the pull by its "
    "weight. The cable maker's own limits govern."
)


def _judged_columns(project: Project) -> tuple[Column, ...]:
    force, si = _force(project)
    pressure, pressure_si = _pressure(project)
    return (
        Column(key="cable", head="Bears most"),
        number_column("cable_weight", "Weight of one", pressure, decimals=4, si=pressure_si),
        number_column("bears", "It bears", force, decimals=1, si=si, formula=SHARED_TENSION),
        number_column("bearable", "It may bear", force, decimals=0, si=si),
        Column(key="word", head="Against that", kind="verdict"),
        Column(key="source", head="Limit set by", width=36),
    )


def _judged(pull: Pull, project: Project) -> tuple[Cell, ...]:
    assert pull.tension is not None
    bearing = pull.tension.bearing
    if bearing is None:
        return ("", None, None, None, verdict(pull.word), "no limit is published for its cables")
    force, pressure = _force(project)[1], _pressure(project)[1]
    return (
        bearing.cable.id,
        bearing.weight_n_per_m / pressure,
        bearing.tension_n / force,
        bearing.limit.value / force,
        verdict(pull.word),
        origin(bearing.limit.source, project),
    )


def _plain(pulls: Sequence[Pull], project: Project) -> Table:
    force, si = _force(project)
    pressure, pressure_si = _pressure(project)
    rows: list[tuple[Cell, ...]] = []
    for pull in pulls:
        assert pull.tension is not None
        lengths = in_length(pull.extent_m, project), in_length(pull.segment.rise_m, project)
        weight, tension = pull.tension.weight_n_per_m / pressure_si, pull.tension.tension_n / si
        run = (*lengths, pull.segment.turns_deg, pull.friction.value, weight, tension)
        rows.append((pull.id, pull.filled.cables, *run, *_judged(pull, project)))
    return Table(
        name="pulls",
        title="Pulls through conduit",
        columns=(
            Column(key="segment", head="Conduit"),
            Column(key="cables", head="Cables", kind="whole"),
            length_column(project, "length", "Length"),
            length_column(project, "rise", "Rise in it"),
            number_column("bends_deg", "Bends", "deg", decimals=0),
            number_column("friction", "Friction", ""),
            number_column("weight", "Weight", pressure, decimals=3, si=pressure_si),
            number_column("tension", "Tension", force, decimals=1, si=si, formula=WORST_TENSION),
            *_judged_columns(project),
        ),
        rows=rows,
        empty="No cable of the job is pulled through a conduit.",
    )


def _placed(pulls: Sequence[Pull], project: Project) -> Table:
    force, si = _force(project)
    pressure, pressure_si = _pressure(project)
    rows: list[tuple[Cell, ...]] = []
    for pull in pulls:
        tension = pull.tension
        assert tension is not None
        other = None if tension.other_n is None else tension.other_n / si
        both = (tension.tension_n / si, other, tension.feed or "either end")
        run = (in_length(pull.extent_m, project), pull.segment.turns_deg, tension.weight_n_per_m / pressure_si)
        rows.append((pull.id, pull.filled.cables, *run, *both, *_judged(pull, project)))
    return Table(
        name="pulls_both_ways",
        title="Pulls with their bends one by one",
        caption="Worked out section by section from either end; the better end counts.",
        columns=(
            Column(key="segment", head="Conduit"),
            Column(key="cables", head="Cables", kind="whole"),
            length_column(project, "length", "Length"),
            number_column("bends_deg", "Bends", "deg", decimals=0),
            number_column("weight", "Weight", pressure, decimals=3, si=pressure_si),
            number_column("tension", "Tension", force, decimals=1, si=si, computed=True),
            number_column("other", "From the other end", force, decimals=1, si=si, computed=True),
            Column(key="feed", head="Feed it from"),
            *_judged_columns(project),
        ),
        rows=rows,
    )


def _bends(pulls: Sequence[Pull], project: Project) -> Table:
    pressure, pressure_si = _pressure(project)
    force, si = _force(project)
    across, across_si = diameter_unit(project)
    source = (
        f"Side walls: usual limit {sidewall_limit().value / pressure_si:.0f} {pressure}, {sidewall_limit().source}."
    )
    points: dict[str, Ref] = {"most_bends": bend_rule("tia_total_degrees"), "longest": bend_rule("tia_length")}
    return Table(
        name="bends",
        title="Bends and pull points",
        caption=f"{source} Pull points: none over 180 degrees or 100 ft between two (ANSI/TIA-569).",
        columns=(
            Column(key="segment", head="Conduit"),
            Column(key="cables", head="Cables", kind="whole"),
            length_column(project, "length", "Length"),
            number_column("bends", "Bends", "deg", decimals=0),
            number_column("tension", "At a bend", force, decimals=1, si=si, computed=True),
            number_column("radius", "Inside radius", across, decimals=2, si=across_si),
            number_column("side_wall", "Side wall", pressure, decimals=1, si=pressure_si, formula=SIDEWALL),
            Column(key="side_word", head="Against the usual", kind="verdict"),
            number_column("least", "Least by standard", across, decimals=2, si=across_si),
            Column(key="cable", head="Cable that asks most"),
            number_column("cable_least", "It asks for", across, decimals=2, si=across_si),
            Column(key="radius_word", head="Radius", kind="verdict"),
            Column(key="points", head="Pull points to add", kind="whole", formula=PULL_POINTS, inputs=points),
            Column(key="box", head="Least box", width=40),
        ),
        rows=[_bend_row(pull, project, (si, pressure_si, across_si)) for pull in pulls],
    )


def _bend_row(pull: Pull, project: Project, units: tuple[float, float, float]) -> tuple[Cell, ...]:
    force, pressure, across = units
    turn, wall = pull.turn, pull.sidewall_n_per_m
    at_bend = None if pull.tension is None or turn is None else pull.tension.at_bend_n / force
    walled: tuple[Cell, ...] = (
        None if turn is None else turn.radius_m / across,
        None if wall is None else wall / pressure,
        verdict(sidewall_word(pull)) if wall is not None else None,
    )
    asked: tuple[Cell, ...] = (None, "", None, None)
    if turn is not None:
        cable, least = ("", None) if turn.tightest is None else (turn.tightest[0].id, turn.tightest[1].value / across)
        word = Verdict(turn.word, "good" if turn.word == "within" else "bad")
        asked = (turn.least_m / across, cable, least, word)
    box = shown_box(pull, project) if pull.box is not None else ""
    stay = may_stay(pull)
    extent = in_length(pull.extent_m, project)
    run = (pull.id, pull.filled.cables, extent, pull.segment.turns_deg)
    return (*run, at_bend, *walled, *asked, pull.points, "; ".join(words for words in (box, stay) if words))


def supports_section(takeoff: Takeoff) -> Section:
    """Return the supports of conduit, and the weight on hooks and trays against what they are rated for."""
    project = takeoff.project
    held = [one for one in takeoff.fill.segments if one.supports is not None]
    hung = [one for one in takeoff.weights if one.segment.kind == "j_hooks"]
    hooks = _heaviest(hung)
    trays = [one for one in takeoff.weights if one.segment.kind == "tray"]
    blocks: list[Block] = [_supports(held, project)]
    if hooks:
        blocks.append(_hooks(hooks, len(hung) - len(hooks), project))
    if trays:
        blocks.append(_trays(trays, project))
    return Section(title="Supports", blocks=tuple(blocks), landscape=True)


def _supports(held: Sequence[SegmentFill], project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in held:
        segment = one.segment
        assert segment.trade_size is not None
        row = support_row(segment.material, segment.trade_size)
        assert row is not None
        length = in_length(segment.length_m + segment.rise_m, project)
        spaced = (in_length(row.number("spacing_m"), project), in_length(row.number("from_box_m"), project))
        kind = f"{segment.material.upper()} {segment.trade_size}"
        stands = "there already" if one.existing else ""
        rows.append((segment.id, kind, length, *spaced, one.supports, stands, f"NFPA 70 {row.text('clause')}"))
    return Table(
        name="supports",
        title="Supports of conduit",
        caption="The first and the last within reach of their boxes, the others by spacing.",
        totals=True,
        columns=(
            Column(key="segment", head="Conduit"),
            Column(key="kind", head="Kind, trade size"),
            length_column(project, "length", "Length with rise"),
            length_column(project, "spacing", "Spacing at most"),
            length_column(project, "from_box", "From a box at most"),
            Column(key="supports", head="Supports", kind="whole", formula=SUPPORTS, total="sum"),
            Column(key="existing", head="Remark"),
            Column(key="source", head="Spacing set by"),
        ),
        rows=rows,
        empty="No conduit of a kind whose supports are published.",
    )


def _weighed(one: Weight) -> str:
    return f"no weight of {', '.join(one.unweighed)}" if one.unweighed else ""


def _rated(one: Weight, si: float, project: Project) -> tuple[Cell, ...]:
    if one.rating is None:
        return (None, None, _weighed(one) or "no rating typed")
    return (one.rating / si, verdict(one.word), origin(rating_place(one.segment), project))


def _heaviest(hung: Sequence[Weight]) -> list[Weight]:
    """Return the hooks whose rating is typed, and of the others those that carry most."""
    unrated = sorted((one for one in hung if one.rating is None), key=lambda one: -(one.hook_kg or 0.0))
    kept = {one.id for one in unrated[:_MOST_HOOKS]}
    return [one for one in hung if one.rating is not None or one.id in kept]


def _hooks(hooks: Sequence[Weight], left_out: int, project: Project) -> Table:
    metric = project.header.lengths_in == "m"
    weight, weight_si = ("kg/m", 1.0) if metric else ("lb/ft", _LB_PER_FT)
    mass, mass_si = ("kg", 1.0) if metric else ("lb", _POUND)
    rows: list[tuple[Cell, ...]] = []
    for one in hooks:
        spacing = in_length(hook_spacing(one.segment, project)[0], project)
        per_m = None if one.kg_per_m is None else one.kg_per_m / weight_si
        each = None if one.hook_kg is None else one.hook_kg / mass_si
        rows.append((one.id, one.filled.lies, spacing, per_m, each, *_rated(one, mass_si, project)))
    return Table(
        name="hook_weights",
        title="Weight on hooks",
        caption=f"{left_out} segments with less on each hook and no rating are left out." if left_out else "",
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="cables", head="Cables", kind="whole"),
            length_column(project, "spacing", "Spacing"),
            number_column("weight", "Weight", weight, decimals=3, si=weight_si, computed=True),
            number_column("each", "On each hook", mass, si=mass_si, formula=HOOK_WEIGHT),
            number_column("rating", "Rated for", mass, decimals=1, si=mass_si),
            Column(key="word", head="Against that", kind="verdict"),
            Column(key="source", head="Rating typed at"),
        ),
        rows=rows,
    )


def _trays(trays: Sequence[Weight], project: Project) -> Table:
    weight, si = ("kg/m", 1.0) if project.header.lengths_in == "m" else ("lb/ft", _LB_PER_FT)
    unit, across = diameter_unit(project)
    rows: list[tuple[Cell, ...]] = []
    for one in trays:
        per_m = None if one.kg_per_m is None else one.kg_per_m / si
        sizes = (one.segment.width_m or 0.0) / across, (one.segment.depth_m or 0.0) / across
        rows.append((one.id, one.filled.lies, *sizes, per_m, *_rated(one, si, project)))
    return Table(
        name="tray_weights",
        title="Weight on trays",
        columns=(
            Column(key="segment", head="Segment"),
            Column(key="cables", head="Cables", kind="whole"),
            number_column("width", "Width", unit, decimals=1, si=across),
            number_column("depth", "Depth", unit, decimals=1, si=across),
            number_column("weight", "Weight", weight, decimals=3, si=si, computed=True),
            number_column("rating", "Rated for", weight, decimals=1, si=si),
            Column(key="word", head="Against that", kind="verdict"),
            Column(key="source", head="Rating typed at"),
        ),
        rows=rows,
    )
