"""How long a balanced-pair link of this job may be: the warm cable, its cords, its application.

The design limit is one length for all. A warm cable loses more, longer cords lose more than cable,
and an application may reach less far than the link: each has a length of its own, and a warning.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.copper_link import HORIZONTAL, WARM_LENGTH
from estimator.calc.limit_line import WARM_FACTOR
from estimator.reference.lookup import Row, table
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column
from estimator.takeoff.footage import Footage, Length, limited, rule_origin, shown_length
from estimator.takeoff.worked import Family, Input
from estimator.units.rounding import over

UNSCREENED: Final = "U/UTP"
"""What the catalog calls a cable without a screen; a cable of which nothing is known counts as one."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WarmCable:
    """A cable type at the temperature of this job: what its loss is multiplied by, how long it may be."""

    cable: Cable
    temperature_c: float
    rates: Row
    factor: float
    most_m: float

    @property
    def id(self) -> str:
        """Return the cable's name."""
        return self.cable.id


@dataclass(frozen=True, kw_only=True, slots=True)
class LinkLengths:
    """The lengths that a job's links are held to beside the design limit."""

    warm: Mapping[str, WarmCable]
    cords_most_m: float
    links: tuple[Length, ...]


def work_out_links(project: Project, footage: Footage) -> LinkLengths:
    """Return the longest links of a job by cable type, and by the cords of its channels."""
    links = tuple(length for length in footage.lengths if limited(length))
    cables = {length.cable.id: length.cable for length in links}
    warm = {name: _warm(cable, project) for name, cable in cables.items()}
    return LinkLengths(warm=warm, cords_most_m=HORIZONTAL(**_values(_cord_inputs(project))), links=links)


def _values(inputs: Mapping[str, Input]) -> dict[str, float]:
    found = {}
    for name, one in inputs.items():
        assert not isinstance(one.value, tuple)
        found[name] = one.value
    return found


def _warm(cable: Cable, project: Project) -> WarmCable:
    rates = table("cable_temperature").find(cable=_screen(cable))
    temperature_c = project.rules.ambient_c + project.rules.bundle_rise_c
    factor = WARM_FACTOR(**_values(_factor_inputs(rates, temperature_c, project)))
    most_m = WARM_LENGTH(length_m=_link("permanent_link").number("design_m"), factor=factor)
    return WarmCable(cable=cable, temperature_c=temperature_c, rates=rates, factor=factor, most_m=most_m)


def _screen(cable: Cable) -> str:
    name = cable.typed.type if cable.typed is not None else cable.id
    catalog = table("cable_catalog")
    known = name is not None and catalog.has(id=name)
    shield = catalog.find(id=name).cells.get("shield", UNSCREENED) if known else UNSCREENED
    return "unscreened" if shield == UNSCREENED else "screened"


def _link(name: str) -> Row:
    return table("link_lengths").find(link=name)


def _factor_inputs(rates: Row, temperature_c: float, project: Project) -> Mapping[str, Input]:
    origin = f"{rule_origin(project, 'ambient_c')}, with {rule_origin(project, 'bundle_rise_c')}"
    units = {"reference_c": "C", "knee_c": "C", "low_per_k": "1/K", "high_per_k": "1/K"}
    tabled = {name: Input(rates.number(name), unit, rates.source) for name, unit in units.items()}
    return {"temperature_c": Input(temperature_c, "C", origin), **tabled}


def _cord_row(project: Project) -> Row:
    gauge = int(project.rules.cord_gauge)
    rows = table("cord_tradeoff")
    return next(row for row in rows if row.cells["cord_awg"] == gauge and "edition" not in row.cells)


def _cord_inputs(project: Project) -> Mapping[str, Input]:
    row, whole = _cord_row(project), _link("channel")
    return {
        "cords_m": Input(project.rules.poe_cords_m, "m", rule_origin(project, "poe_cords_m")),
        "base_m": Input(row.number("base_m"), "m", row.source),
        "derating": Input(row.number("derating"), "", f"{row.source}; {rule_origin(project, 'cord_gauge')}"),
        "whole_m": Input(whole.number("design_m"), "m", whole.source),
    }


def link_families(links: LinkLengths, project: Project) -> Iterable[Family]:
    """Yield the longest warm link of every cable type, and the longest that the cords leave room for."""
    warm = tuple(links.warm.values())
    if not warm:
        return
    source = table("cable_temperature").source
    figure = ("cable", "warm_factor", "loss of the cable at its temperature over that at 20 °C", "")
    yield column(
        figure, WARM_FACTOR, source, warm, lambda one: one.factor,
        lambda one: _factor_inputs(one.rates, one.temperature_c, project),
    )  # fmt: skip
    figure = ("cable", "warm_length", "longest link whose loss in the warm stays inside its limit", "m")
    yield column(figure, WARM_LENGTH, source, warm, lambda one: one.most_m, _warm_inputs)
    yield Family(
        what="link",
        name="longest_cable",
        meaning="longest horizontal cable that the cords of a channel leave room for",
        unit="m",
        formula=HORIZONTAL,
        source=_cord_row(project).source,
        subjects=["cords"],
        values=[links.cords_most_m],
        inputs=lambda _: _cord_inputs(project),
    )


def _warm_inputs(one: WarmCable) -> Mapping[str, Input]:
    design = _link("permanent_link")
    return {
        "length_m": Input(design.number("design_m"), "m", design.source),
        "factor": Input(one.factor, "", f"cable.{one.id}.warm_factor"),
    }


def link_alerts(links: LinkLengths, project: Project) -> Iterable[Alert]:
    """Yield a warning for every link inside the design limit that is too long for something else."""
    design_m = project.rules.design_limit_m
    least = {name: min(one.most_m, links.cords_most_m) for name, one in links.warm.items()}
    for length in links.links:
        # Nearly all links of a job are shorter than every limit, which a plain comparison shows.
        if length.expected_m > least[length.cable.id] and not over(length.expected_m, design_m):
            yield from _warm_alert(length, links.warm[length.cable.id], project)
            yield from _cord_alert(length, links.cords_most_m, project)
    named = [length for length in links.links if application_of(length) is not None]
    for length in named:
        yield from _reach_alert(length, project)
    yield from _unknown_applications(named)


def _warm_alert(length: Length, warm: WarmCable, project: Project) -> Iterable[Alert]:
    if over(length.expected_m, warm.most_m):
        yield Alert(
            length.place, "long for its heat", length.id,
            f"{length.id} is expected to be long for a cable at {warm.temperature_c:g} °C",
            shown_length(length.expected_m, project, warm.most_m),
            shown_length(warm.most_m, project, length.expected_m),
            f"{warm.rates.source}: the loss of 90 m at 20 °C",
            "shorten the route, keep it out of the heat, or use a screened cable",
        )  # fmt: skip


def _cord_alert(length: Length, most_m: float, project: Project) -> Iterable[Alert]:
    if length.kind == "drop" and over(length.expected_m, most_m):
        cords = shown_length(project.rules.poe_cords_m, project)
        yield Alert(
            length.place, "long for its cords", length.id,
            f"{length.id} is expected to be long for {cords} of {project.rules.cord_gauge} AWG cords",
            shown_length(length.expected_m, project, most_m), shown_length(most_m, project, length.expected_m),
            _cord_row(project).source,
            "shorten the cords or the route",
        )  # fmt: skip


def application_of(length: Length) -> str | None:
    """Return the application that must run over a link: its device's, or the backbone cable's own."""
    device = length.run.device if length.run else None
    if device is not None:
        return device.application
    return length.backbone.application if length.backbone else None


def reach_of(length: Length) -> Row | None:
    """Return the tabled reach of a link's application over its category, or None where nothing is tabled."""
    name, reaches = application_of(length), table("copper_applications")
    key = {"application": name, "category": length.cable.category}
    return reaches.find(**key) if name is not None and reaches.has(**key) else None


def _reach_alert(length: Length, project: Project) -> Iterable[Alert]:
    row = reach_of(length)
    if row is not None and over(length.expected_m, row.number("reach_m")):
        name, category = row.text("application"), row.text("category")
        yield Alert(
            length.place, "beyond the reach", length.id,
            f"{length.id} is longer than {name} reaches over Category {category}",
            shown_length(length.expected_m, project), shown_length(row.number("reach_m"), project), row.source,
            "use a better category, or a nearer room",
        )  # fmt: skip


def _unknown_applications(named: Iterable[Length]) -> Iterable[Alert]:
    """Yield a warning for each application of which nothing is tabled, once where it was typed."""
    reaches = table("copper_applications")
    known = ", ".join(f"{row.text('application')} over {row.text('category')}" for row in reaches)
    seen: set[tuple[str, str | None, str]] = set()
    for length in named:
        name = application_of(length)
        typed = (length.run.device if length.run else None) or length.backbone
        key = (name or "", length.cable.category, typed.id if typed else "")
        if name is None or typed is None or key in seen or reach_of(length) is not None:
            continue
        seen.add(key)
        yield Alert(
            typed.source.at("application"), "application not tabled", typed.id,
            f"{typed.id}: nothing is tabled for {name} over Category {length.cable.category}", name, known,
            reaches.source, "mend the name or the category, or hold the length to the link's own limit",
        )  # fmt: skip
