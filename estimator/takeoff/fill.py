"""Fill of every segment, from the circuits that really route there, and the hooks that carry them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.calc.formula import Expression
from estimator.calc.pathway import FILL, FillShares, allowed_share, circle_area, derated_share, jam
from estimator.calc.support import HOOK_LOAD, HOOKS, TRAY_FILL, hook_count
from estimator.reference.lookup import table
from estimator.spec.model import Cable, Project
from estimator.spec.plant import Segment
from estimator.spec.rules import code_year
from estimator.takeoff.alerts import Alert
from estimator.takeoff.footage import Footage, end_of, rule_origin, shown_length, via_of
from estimator.takeoff.worked import MARGIN, Family, Input, Inputs, Judge, Judged
from estimator.units.rounding import over, under

CABLES = Expression("sum(counts) + lies")
"""Cables in a segment: those of this job and those that lie in it already."""

FORMULAS = {
    "conduit": FILL,
    "sleeve": FILL,
    "tray": TRAY_FILL,
    "surface_raceway": TRAY_FILL,
    "j_hooks": HOOK_LOAD,
}
FILL_CIRCUITS = {"communications": "communications", "fiber": "fiber", "conductive_fiber": "fiber"}
"""Circuit classes that the code exempts from a raceway's fill."""

Lying = tuple[tuple[Cable, int], ...]
"""Cable types that lie in a segment, each with its number."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """The share that may be filled, and who says so."""

    share: float
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SegmentFill:
    """What lies in a segment, and how full it is."""

    segment: Segment
    counts: tuple[tuple[Cable, int], ...]
    existing: tuple[tuple[Cable, int], ...]
    share: float | None
    limit: Limit | None
    hooks: int
    jam_ratio: float | None
    jams: bool

    @property
    def cables(self) -> int:
        """Number of cables that the job lays in it."""
        return sum(count for _, count in self.counts)

    @property
    def lies(self) -> int:
        """Number of cables with those that lie in it already."""
        return self.cables + sum(count for _, count in self.existing)

    @property
    def existing_m2(self) -> float:
        """Area of the cables that lie in it already [m2]."""
        return sum(count * circle_area(cable.od_m) for cable, count in self.existing)

    @property
    def is_over(self) -> bool:
        """Whether it is filled over its limit."""
        return self.share is not None and self.limit is not None and over(self.share, self.limit.share)

    @property
    def word(self) -> str:
        """How it stands to its limit."""
        return "overfull" if self.is_over else "within"


@dataclass(frozen=True, kw_only=True, slots=True)
class Fill:
    """The fill of all segments; ``unrouted`` circuits have no route and aren't in it."""

    segments: tuple[SegmentFill, ...]
    unrouted: tuple[str, ...]


def fill_pathways(footage: Footage, project: Project) -> Fill:
    """Return the fill of every segment."""
    counts, unrouted = _counted(footage)
    shares = _shares()
    segments = tuple(
        _segment_fill(segment, counts.get(segment.id, {}), project, shares) for segment in project.segments.values()
    )
    return Fill(segments=segments, unrouted=tuple(unrouted))


def _counted(footage: Footage) -> tuple[dict[str, dict[str, int]], list[str]]:
    """Return cables by segment and cable type, added up one search tree at a time."""
    ends: dict[tuple[str, tuple[str, ...], str], dict[str, int]] = {}
    counts: dict[str, dict[str, int]] = {}
    unrouted = []
    for length in footage.lengths:
        if length.leaves is not None:
            _add(counts, dict.fromkeys(length.leaves.segments, 1), length.cable.id)
            continue
        end = end_of(length)
        if end is None or not footage.routes.tree(length.room, via_of(length)).reaches(end):
            unrouted.append(length.id)
            continue
        at = ends.setdefault((length.room, via_of(length), length.cable.id), {})
        at[end] = at.get(end, 0) + 1
    for (room, via, cable), nodes in ends.items():
        _add(counts, footage.routes.tree(room, via).loads(nodes), cable)
    return counts, unrouted


def _add(counts: dict[str, dict[str, int]], more: Mapping[str, int], cable: str) -> None:
    for segment, number in more.items():
        inside = counts.setdefault(segment, {})
        inside[cable] = inside.get(cable, 0) + number


def _shares() -> FillShares:
    rows = table("conduit_fill")
    return FillShares(
        one=rows.find(rule="one").number("share"),
        two=rows.find(rule="two").number("share"),
        more=rows.find(rule="over_two").number("share"),
    )


def _segment_fill(segment: Segment, counts: Mapping[str, int], project: Project, shares: FillShares) -> SegmentFill:
    order = {name: position for position, name in enumerate(project.cables)}
    laid = tuple((project.cables[name], counts[name]) for name in sorted(counts, key=order.__getitem__))
    existing = tuple((project.cables[item.cable], item.count) for item in segment.laid)
    hooks = _hooks(segment, project) if segment.kind == "j_hooks" else 0
    formula = FORMULAS.get(segment.kind)
    bare = SegmentFill(
        segment=segment, counts=laid, existing=existing, share=None, limit=None, hooks=hooks, jam_ratio=None, jams=False
    )
    if formula is None:
        return bare
    inputs = {name: item.value for name, item in fill_inputs(bare, project).items()}
    ratio, jams = _jam(segment, project, (*laid, *existing)) if segment.kind == "conduit" else (None, False)
    return SegmentFill(
        segment=segment,
        counts=laid,
        existing=existing,
        share=formula(**inputs),
        limit=_limit(segment, (*laid, *existing), project, shares),
        hooks=hooks,
        jam_ratio=ratio,
        jams=jams,
    )


def filled_with(segment: Segment, counts: Mapping[str, int], project: Project) -> SegmentFill:
    """Return how full a segment would be if the job laid so many cables of each type in it."""
    return _segment_fill(segment, counts, project, _shares())


def inside_diameter(segment: Segment) -> float:
    """Return the tabled inside diameter of a conduit or sleeve [m]."""
    assert segment.trade_size is not None
    return table("conduit_table_4").find(kind=segment.material, trade=segment.trade_size).number("id_m")


def _hook_spacing(segment: Segment, project: Project) -> tuple[float, str]:
    if segment.spacing_m is not None:
        return segment.spacing_m, f"segment, {segment.source.at('spacing')}"
    return project.rules.hook_spacing_m, rule_origin(project, "hook_spacing_m")


def _hooks(segment: Segment, project: Project) -> int:
    return hook_count(
        length_m=segment.length_m,
        spacing_m=_hook_spacing(segment, project)[0],
        starts_at_room=segment.start in project.rooms,
    )


def fill_inputs(filled: SegmentFill, project: Project) -> dict[str, Input]:
    """Return the inputs of a segment's fill, each with its origin."""
    segment = filled.segment
    at = segment.source.at
    if segment.kind == "j_hooks":
        own = segment.hook_cables is not None
        capacity = float(segment.hook_cables if segment.hook_cables is not None else project.rules.hook_cables)
        origin = f"segment, {at('hook_cables')}" if own else rule_origin(project, "hook_cables")
        return {
            "cables": Input(float(filled.lies), "cables", "circuits routed here and what lies in it"),
            "capacity": Input(capacity, "cables", origin),
        }
    names = ", ".join(cable.id for cable, _ in filled.counts)
    inputs = {
        "counts": Input(
            tuple(float(n) for _, n in filled.counts), "cables", f"circuits routed here: {names or 'none'}"
        ),
        "areas": Input(
            tuple(circle_area(c.od_m) for c, _ in filled.counts), "m2", f"outside diameters of {names or 'none'}"
        ),
        "existing": Input(filled.existing_m2, "m2", f"existing, {at('existing')}"),
    }
    if segment.kind in ("conduit", "sleeve"):
        area = circle_area(inside_diameter(segment))
        source = table("conduit_table_4").find(kind=segment.material, trade=segment.trade_size).source
        inputs["inside_area"] = Input(area, "m2", f"{segment.material} {segment.trade_size}: {source}")
        return inputs
    assert segment.width_m is not None
    assert segment.depth_m is not None
    inputs["width"] = Input(segment.width_m, "m", f"segment, {at('width')}")
    inputs["depth"] = Input(segment.depth_m, "m", f"segment, {at('depth')}")
    counted = table("tray_fill").find(tray="communications").number("depth_m")
    source = "ANSI/TIA-569, depth counted"
    if segment.kind == "surface_raceway":
        counted, source = segment.depth_m, "its whole depth"
    inputs["depth_counted"] = Input(counted, "m", source)
    return inputs


def _limit(segment: Segment, lying: Lying, project: Project, shares: FillShares) -> Limit:
    """Return the limit that holds: the one of its kind, or the segment's own where that is lower."""
    usual = _usual_limit(segment, lying, project, shares)
    if segment.max_fill is not None and under(segment.max_fill, usual.share):
        return Limit(share=segment.max_fill, source=f"segment, {segment.source.at('max_fill_percent')}")
    return usual


def _usual_limit(segment: Segment, lying: Lying, project: Project, shares: FillShares) -> Limit:
    rules, lies = project.rules, sum(count for _, count in lying)
    if segment.kind == "j_hooks":
        return Limit(share=1.0, source=fill_hook_source(segment, project))
    if segment.kind == "sleeve" and segment.firestop is not None:
        system = segment.firestop.system
        return Limit(share=segment.firestop.max_fill, source=f"firestop system {system}, its listing")
    if segment.kind == "tray":
        return Limit(share=rules.max_fill_tray, source=rule_origin(project, "max_fill_tray"))
    if segment.kind == "conduit" and segment.nipple:
        row = table("conduit_fill").find(rule="nipple")
        return Limit(share=row.number("share"), source=f"{row.source}, nipple")
    share = allowed_share(lies, shares) if lies <= 2 else min(shares.more, rules.max_fill_conduit)
    if segment.kind == "surface_raceway":
        share = rules.max_fill_conduit
    share = derated_share(share=share, reduction=rules.bend_derating, bends_deg=segment.bends_deg)
    typed = project.rules.ruled("max_fill_conduit").place
    source = f"house rule, {typed}" if typed and lies > 2 else fill_authority(lying, project.codes.electrical)
    return Limit(share=share, source=source)


def fill_authority(lying: Lying, edition: str) -> str:
    """Return in words who asks for a raceway's fill: the code, and for communications a standard in its place."""
    year = code_year(edition)
    found: dict[str, None] = {}
    for cable, _ in lying:
        kind = FILL_CIRCUITS.get(cable.circuit_class, "class_2_3_fire_alarm")
        rows = [row for row in table("fill_authority") if row.cells["circuit"] == kind]
        dated = [row for row in rows if row.number("since") <= year] or rows[:1]
        row = max(dated, key=lambda one: one.number("since"))
        exempt = "" if row.cells["binding"] else f" for {kind} cable (exempt by NFPA 70 {row.text('clause')})"
        found[f"{row.text('authority')}{exempt or ' ' + row.text('clause')}"] = None
    return "; ".join((*found, table("conduit_fill").source))


def fill_hook_source(segment: Segment, project: Project) -> str:
    """Return in words who limits the cables on a hook."""
    if segment.hook_cables is not None:
        return f"segment, {segment.source.at('hook_cables')}"
    return rule_origin(project, "hook_cables")


def _jam(segment: Segment, project: Project, lying: Lying) -> tuple[float | None, bool]:
    diameters = [cable.od_m for cable, count in lying for _ in range(min(count, 4))]
    if sum(count for _, count in lying) != 3:
        return None, False
    zone = table("jam_ratio").find(rule="zone")
    found = jam(
        diameters_m=diameters,
        inside_m=inside_diameter(segment),
        low=zone.number("low"),
        high=zone.number("high"),
        allowance=project.rules.jam_allowance,
    )
    return (found.ratio, found.in_zone) if found else (None, False)


def fill_families(fill: Fill, project: Project) -> Iterable[Family]:
    """Yield the fill of each kind of segment, and the hooks of j-hook segments."""
    for kind, formula in FORMULAS.items():
        chosen = [filled for filled in fill.segments if filled.segment.kind == kind]
        if not chosen:
            continue
        meaning = "cables on a hook against its capacity" if kind == "j_hooks" else "share filled"
        yield Family(
            what="segment",
            name="fill",
            meaning=f"{kind.replace('_', '-')}: {meaning}; "
            f"{len(fill.unrouted)} circuits have no route and aren't in it",
            unit="",
            formula=formula,
            source="cables routed through it over its inside",
            subjects=[f.segment.id for f in chosen],
            values=[f.share or 0.0 for f in chosen],
            inputs=_inputs(chosen, project),
            judge=_judge(chosen),
        )
    hooked = [filled for filled in fill.segments if filled.segment.kind == "j_hooks"]
    if hooked:
        yield Family(
            what="segment",
            name="hooks",
            meaning="j-hooks on the segment",
            unit="pieces",
            formula=HOOKS,
            source="takeoff practice; spacing after ANSI/TIA-569",
            subjects=[f.segment.id for f in hooked],
            values=[float(f.hooks) for f in hooked],
            inputs=_hook_inputs(hooked, project),
        )


def _inputs(chosen: list[SegmentFill], project: Project) -> Inputs:
    def inputs(index: int) -> Mapping[str, Input]:
        return fill_inputs(chosen[index], project)

    return inputs


def _judge(chosen: list[SegmentFill]) -> Judge:
    def judge(index: int) -> Judged | None:
        filled = chosen[index]
        if filled.share is None or filled.limit is None:
            return None
        margin = MARGIN(limit=filled.limit.share, value=filled.share)
        return Judged(filled.word, margin, filled.limit.share, filled.limit.source)

    return judge


def _hook_inputs(hooked: list[SegmentFill], project: Project) -> Inputs:
    def inputs(index: int) -> Mapping[str, Input]:
        segment = hooked[index].segment
        spacing, origin = _hook_spacing(segment, project)
        first = 0.0 if segment.start in project.rooms else 1.0
        return {
            "length": Input(segment.length_m, "m", f"segment, {segment.source.at('length')}"),
            "spacing": Input(spacing, "m", origin),
            "first": Input(first, "pieces", "one at its start unless that is a room"),
        }

    return inputs


def fill_alerts(fill: Fill, project: Project) -> Iterable[Alert]:
    """Yield a warning for every overfull segment, jam, long pull and bend."""
    bends, zone = table("bend_rules"), table("jam_ratio").find(rule="zone")
    for filled in fill.segments:
        segment = filled.segment
        place = segment.source.at("id")
        if filled.is_over and filled.share is not None and filled.limit is not None:
            yield Alert(
                place,
                "overfull",
                segment.id,
                f"{segment.kind.replace('_', ' ')} {segment.id} holds {filled.lies} cables",
                f"{filled.share:.1%}",
                f"{filled.limit.share:.1%}",
                filled.limit.source,
                "use a larger size, a second one, or send circuits `via` another way",
            )
        if filled.jams and filled.jam_ratio is not None:
            yield Alert(
                place,
                "may jam",
                segment.id,
                f"three equal cables in conduit {segment.id}",
                f"ratio {filled.jam_ratio:.2f}",
                f"outside {zone.number('low'):g} to {zone.number('high'):g}",
                table("jam_ratio").source,
                "use the next size, or pull them one at a time",
            )
        if segment.kind == "conduit" and not segment.nipple:
            yield from _pull_alerts(segment, bends.source, project)


def _pull_alerts(segment: Segment, source: str, project: Project) -> Iterable[Alert]:
    rules = {row.text("rule"): row for row in table("bend_rules")}
    most_deg, longest_m = rules["tia_total_degrees"].number("value"), rules["tia_length"].number("value")
    place = segment.source.at("id")
    if over(segment.bends_deg, most_deg):
        yield Alert(
            place,
            "pull point",
            segment.id,
            f"conduit {segment.id} bends between pull points",
            f"{segment.bends_deg:g} deg",
            f"{most_deg:g} deg",
            source,
            "add a pull box",
        )
    length = segment.length_m + segment.rise_m
    if over(length, longest_m):
        yield Alert(
            place,
            "pull point",
            segment.id,
            f"conduit {segment.id} is long between pull points",
            shown_length(length, project),
            shown_length(longest_m, project),
            source,
            "add a pull box",
        )
