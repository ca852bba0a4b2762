"""Sheets about signal: loudspeakers on their lines and amplifiers, fiber links with both their limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.fiber import COMPONENT_LIMIT, COUNTED_PAIRS
from estimator.calc.speaker_line import AMPLIFIER_SHARE, END_LOSS, LOAD, LOSS, TAP_OHM
from estimator.documents.common import in_length, length_column, number_column, rule_from, verdict
from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Same, Section, Table
from estimator.documents.estimate_circuits import resistance_unit
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.fiber_links import COMPONENTS_ALONE, TIGHTER, FiberLink, FiberLinks, Wave
from estimator.takeoff.speakers import ALL_WATTS, INVERSE, PARALLEL, SERIES, SpeakerNetwork, Speakers, wire_m
from estimator.takeoff.worked import MARGIN

_TAPS: Final[Mapping[str, Ref]] = {
    "quantity": Matching("speakers", "quantity", "line", "line"),
    "tap_w": Matching("speakers", "tap_w", "line", "line"),
}
_AMPLIFIED: Final[Mapping[str, Ref]] = {
    "quantity": Matching("speakers", "quantity", "amplifier", "amplifier"),
    "tap_w": Matching("speakers", "tap_w", "amplifier", "amplifier"),
}
_LOAD_OHM: Final[Mapping[str, Ref]] = {"tap_w": Same("load_w")}
_LEFT: Final[Mapping[str, Ref]] = {"limit": Same("limit_db"), "value": Same("worst_db")}
_REST: Final[Mapping[str, Ref]] = {"limit": Same("most"), "value": Same("share")}
_OHMS: Final[Mapping[str, Ref]] = {"ohms": Matching("impedances", "ohm", "network", "network")}
_SIEMENS: Final[Mapping[str, Ref]] = {"siemens": Matching("impedances", "siemens", "network", "network")}
_LENGTH: Final[Mapping[str, Ref]] = {"length_m": Same("length")}


def speakers_section(speakers: Speakers, project: Project) -> Section:
    """Return constant-voltage lines with their worst loudspeaker, networks, and the amplifiers."""
    text = (
        "The amplifier holds its line volts; each loudspeaker is a fixed impedance at its place. The loss with the "
        f"whole load at the end stands beside the worst one. Limit of the loss: "
        f"{rule_from(project, 'speaker_loss_db')}."
    )
    blocks = (Paragraph(text), _amplifiers(speakers), _lines(speakers, project), _networks(speakers, project))
    return Section(title="Speakers", blocks=blocks, landscape=True)


def speaker_places_section(speakers: Speakers, project: Project) -> Section:
    """Return every loudspeaker with what arrives at it, and the impedances of networks."""
    return Section(title="Speaker places", blocks=(_spots(speakers, project), _impedances(speakers)), landscape=True)


def _amplifiers(speakers: Speakers) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in speakers.amplifiers:
        most = one.most.value
        assert not isinstance(most, tuple)
        rows.append(
            (
                one.id,
                one.load_w,
                one.amplifier.power_w,
                one.share,
                most,
                MARGIN(limit=most, value=one.share),
                verdict(one.word),
            )
        )
    return Table(
        name="amplifiers",
        title="Amplifiers",
        columns=(
            Column(key="amplifier", head="Amplifier"),
            number_column("load_w", "Taps of all its lines", "W", decimals=1, formula=LOAD, inputs=_AMPLIFIED),
            number_column("amplifier_w", "Rating", "W", decimals=1),
            number_column("share", "Loaded", "%", decimals=1, formula=AMPLIFIER_SHARE),
            number_column("most", "Maximum", "%", decimals=1),
            number_column("margin", "Margin", "%", decimals=1, formula=MARGIN, inputs=_REST),
            Column(key="word", head="Against the rating", kind="verdict"),
        ),
        rows=rows,
        empty="No amplifier drives a constant-voltage line.",
    )


def _lines(speakers: Speakers, project: Project) -> Table:
    unit, si = resistance_unit(project)
    limit = project.rules.speaker_loss_db
    rows: list[tuple[Cell, ...]] = []
    for one in speakers.lines:
        worst = one.worst_level
        rows.append(
            (
                one.id,
                in_length(wire_m(one.spots), project),
                one.conductor.ohm_per_m / si,
                one.volts,
                one.load_w,
                one.load_ohm,
                one.loop_ohm,
                one.end_loss_db,
                one.spots[one.worst].name,
                worst.volts,
                worst.loss_db,
                limit,
                MARGIN(limit=limit, value=worst.loss_db),
            )
        )
    return Table(
        name="speaker_lines",
        title="Constant-voltage lines",
        columns=(
            Column(key="line", head="Line"),
            length_column(project, "length", "One way"),
            number_column("ohm_per_m", "Conductor", unit, decimals=3, si=si),
            number_column("line_v", "Line", "V", decimals=1),
            number_column("load_w", "Taps", "W", decimals=1, formula=LOAD, inputs=_TAPS),
            number_column("load_ohm", "Load", "ohm", decimals=1, formula=TAP_OHM, inputs=_LOAD_OHM),
            number_column("loop_ohm", "Loop", "ohm", formula=PAIR_LOOP, inputs=_LENGTH),
            number_column("end_db", "All load at the end", "dB", decimals=3, formula=END_LOSS),
            Column(key="worst", head="Worst"),
            number_column("speaker_v", "Volts there", "V", computed=True),
            number_column("worst_db", "Loss there", "dB", decimals=3, formula=LOSS),
            number_column("limit_db", "Limit", "dB", decimals=2),
            number_column("margin", "Margin", "dB", decimals=3, formula=MARGIN, inputs=_LEFT),
        ),
        rows=rows,
        empty="No constant-voltage line is in this job.",
    )


def _networks(speakers: Speakers, project: Project) -> Table:
    unit, si = resistance_unit(project)

    def row(one: SpeakerNetwork) -> tuple[Cell, ...]:
        series = one.circuit.wiring == "series"
        load = Formula(SERIES, one.load_ohm, _OHMS) if series else Formula(PARALLEL, one.load_ohm, _SIEMENS)
        least = one.amplifier.least_ohm if one.amplifier else None
        return (
            one.id,
            in_length(wire_m(one.spots), project),
            one.conductor.ohm_per_m / si,
            len(one.ohms),
            load,
            least,
            one.loop_ohm,
            one.end_loss_db,
            one.circuit.wiring,
        )

    return Table(
        name="networks",
        title="Low-impedance networks",
        columns=(
            Column(key="network", head="Network"),
            length_column(project, "length", "One way"),
            number_column("ohm_per_m", "Conductor", unit, decimals=3, si=si),
            Column(key="count", head="Speakers", kind="whole"),
            number_column("load_ohm", "Load", "ohm"),
            number_column("least_ohm", "Minimum of amplifier", "ohm"),
            number_column("loop_ohm", "Loop", "ohm", formula=PAIR_LOOP, inputs=_LENGTH),
            number_column("end_db", "Loss", "dB", decimals=3, formula=END_LOSS),
            Column(key="wiring", head="Wiring"),
        ),
        rows=[row(one) for one in speakers.networks],
        empty="No low-impedance network is in this job.",
    )


def _spots(speakers: Speakers, project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for line in speakers.lines:
        for spot, level in zip(line.spots, line.levels, strict=True):
            tap = spot.device.tap_w or 0.0
            distance = in_length(spot.distance_m, project)
            rows.append(
                (
                    line.id,
                    line.circuit.feed,
                    spot.name,
                    spot.count,
                    distance,
                    tap,
                    tap * spot.count,
                    line.volts,
                    level.volts,
                    level.loss_db,
                )
            )
    return Table(
        name="speakers",
        title="Loudspeakers on constant-voltage lines",
        columns=(
            Column(key="line", head="Line"),
            Column(key="amplifier", head="Amplifier"),
            Column(key="name", head="Speaker"),
            Column(key="quantity", head="Pieces", kind="whole"),
            length_column(project, "distance", "From the one before"),
            number_column("tap_w", "Tap", "W", decimals=1),
            number_column("watts", "Watts", "W", decimals=1, formula=ALL_WATTS),
            number_column("line_v", "Line", "V", decimals=1),
            number_column("speaker_v", "Volts there", "V", computed=True),
            number_column("loss", "Loss", "dB", decimals=3, formula=LOSS),
        ),
        rows=rows,
        empty="No constant-voltage line is in this job.",
    )


def _impedances(speakers: Speakers) -> Table:
    return Table(
        name="impedances",
        title="Loudspeakers of low-impedance networks",
        columns=(
            Column(key="network", head="Network"),
            Column(key="number", head="Speaker", kind="whole"),
            number_column("ohm", "Impedance", "ohm"),
            number_column("siemens", "Inverse", "S", decimals=4, formula=INVERSE),
        ),
        rows=[
            (one.id, number, ohm, 1 / ohm) for one in speakers.networks for number, ohm in enumerate(one.ohms, start=1)
        ],
        empty="No low-impedance network is in this job.",
    )


def fiber_section(fiber: FiberLinks, project: Project) -> Section:
    """Return every fiber link at each wavelength: what components allow, what the application bears."""
    text = (
        "Two limits stand side by side: what the components allow, and what the application bears over the channel. "
        "The tighter governs. Mated pairs count as the reference method of the test sees them."
    )
    return Section(title="Fiber", blocks=(Paragraph(text), _links(fiber, project)), landscape=True)


def _links(fiber: FiberLinks, project: Project) -> Table:
    return Table(
        name="fiber",
        title="Fiber links",
        columns=(
            Column(key="link", head="Link"),
            Column(key="class", head="Fiber"),
            Column(key="method", head="Reference"),
            length_column(project, "length_m", "Length"),
            number_column("nm", "Wavelength", "nm", decimals=0),
            number_column("db_per_km", "Fiber", "dB/km"),
            Column(key="inside_pairs", head="Pairs between", kind="whole"),
            Column(key="ends_counted", head="Ends counted", kind="whole"),
            Column(key="pairs", head="Mated pairs", kind="whole", formula=COUNTED_PAIRS),
            number_column("pair_db", "Each pair", "dB"),
            Column(key="splices", head="Splices", kind="whole"),
            number_column("splice_db", "Each splice", "dB"),
            number_column("component_db", "Components", "dB", formula=COMPONENT_LIMIT),
            Column(key="application", head="Application"),
            number_column("application_db", "Application allows", "dB"),
            number_column("limit_db", "Limit", "dB"),
            Column(key="by", head="Governed by"),
        ),
        rows=[_wave(link, wave, project) for link in fiber.links for wave in link.waves],
        empty="No fiber backbone is in this job.",
    )


def _wave(link: FiberLink, wave: Wave, project: Project) -> tuple[Cell, ...]:
    parts = table("fiber_component_limits")
    pair, splice = (parts.find(component=name).number("most_db") for name in ("connector_pair", "splice"))
    row = wave.application
    bears = None if row is None else row.number("loss_db")
    limit = Formula(COMPONENTS_ALONE if row is None else TIGHTER, wave.governing.limit_db)
    return (
        link.id,
        link.fiber_class,
        (link.backbone.reference or "").replace("_", " "),
        in_length(link.length.expected_m, project),
        wave.nm,
        wave.rate.number("db_per_km"),
        link.inside_pairs,
        link.ends_counted,
        link.pairs,
        pair,
        link.backbone.splices,
        splice,
        wave.component_db,
        link.backbone.application or "none named",
        bears,
        limit,
        wave.governing.by,
    )
