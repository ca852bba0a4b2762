"""Sheets about loudspeakers: their lines, networks and amplifiers, and each of them at its place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.speaker_line import (
    AMPLIFIER_SHARE,
    END_LOSS,
    LEAST_RATING,
    LOAD,
    LONGEST,
    LOSS,
    OVER_RATING,
    TAP_OHM,
    USES_RESERVE,
    WITHIN_RESERVE,
)
from estimator.calc.speaker_network import CABLE_SHARE, DAMPING, RESISTANCE_SHARE
from estimator.documents.common import (
    in_length,
    length_column,
    length_unit,
    live_words,
    number_column,
    rule_from,
    verdict,
)
from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Same, Section, Table
from estimator.documents.estimate_circuits import resistance_unit
from estimator.spec.model import Project
from estimator.takeoff.speaker_circuits import (
    ALL_WATTS,
    INVERSE,
    PARALLEL,
    SERIES,
    SpeakerLine,
    SpeakerNetwork,
    number,
    wire_m,
)
from estimator.takeoff.speakers import BEYOND_MOST, BEYOND_RATING, Speakers
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
_END_LEFT: Final[Mapping[str, Ref]] = {"limit": Same("limit_db"), "value": Same("end_db")}
_RATING: Final[Mapping[str, Ref]] = {"most_percent": Same("most")}
_OHMS: Final[Mapping[str, Ref]] = {"ohms": Matching("impedances", "ohm", "network", "network")}
_SIEMENS: Final[Mapping[str, Ref]] = {"siemens": Matching("impedances", "siemens", "network", "network")}
_RATED: Final = live_words(
    (BEYOND_RATING, OVER_RATING),
    (BEYOND_MOST, USES_RESERVE),
    otherwise=WITHIN_RESERVE,
)
_LENGTH: Final[Mapping[str, Ref]] = {"length_m": Same("length")}


def speakers_section(speakers: Speakers, project: Project) -> Section:
    """Return constant-voltage lines with their worst loudspeaker, networks, and the amplifiers."""
    text = (
        "The amplifier holds its line volts; each loudspeaker is a fixed impedance at its place. The loss with the "
        "whole load at the end stands beside the worst one, and the longest run with it. The home run is the cable "
        "to the first loudspeaker; below zero it is that much too long. Limit of the loss, where a circuit types none: "
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
        most = number(one.most)
        rows.append(
            (
                one.id,
                one.load_w,
                one.amplifier.power_w,
                one.share,
                most,
                MARGIN(limit=most, value=one.share),
                one.least_rating_w,
                one.tap_each_w,
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
            number_column("least_w", "Rating it asks for", "W", decimals=1, formula=LEAST_RATING, inputs=_RATING),
            number_column("tap_each", "Largest equal tap", "W", computed=True),
            Column(key="word", head="Against the rating", kind="verdict", words=_RATED),
        ),
        rows=rows,
        empty="No amplifier drives a constant-voltage line.",
    )


def _line_row(one: SpeakerLine, project: Project) -> tuple[Cell, ...]:
    worst, limit = one.worst_level, number(one.reach.limit)
    return (
        one.id,
        in_length(wire_m(one.spots), project),
        one.conductor.ohm_per_m / resistance_unit(project)[1],
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
        *_reach(one, project),
    )


def _lines(speakers: Speakers, project: Project) -> Table:
    unit, si = resistance_unit(project)
    unit_of = length_unit(project)[0]
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
            length_column(project, "longest", "Longest, all at the end", formula=LONGEST),
            number_column("home_run", "Home run may grow", unit_of, decimals=1, computed=True),
            Column(key="awg", head="Thinnest that works", kind="whole", unit="AWG", computed=True),
        ),
        rows=[_line_row(one, project) for one in speakers.lines],
        empty="No constant-voltage line is in this job.",
    )


def _reach(one: SpeakerLine | SpeakerNetwork, project: Project) -> tuple[Cell, ...]:
    """Return the longest run, what the home run may grow by where there is one, and the thinnest gauge."""
    reach = one.reach
    home_run = () if reach.home_run_m is None else (in_length(reach.home_run_m, project),)
    return (in_length(reach.longest_m, project), *home_run, reach.awg)


def _network_row(one: SpeakerNetwork, project: Project) -> tuple[Cell, ...]:
    series = one.circuit.wiring == "series"
    load: Cell = Formula(SERIES, one.load_ohm, _OHMS) if series else Formula(PARALLEL, one.load_ohm, _SIEMENS)
    if one.circuit.wiring == "series_parallel":
        load = one.load_ohm  # by strings: a stored value
    least = one.amplifier.least_ohm if one.amplifier else None
    return (
        one.id,
        in_length(wire_m(one.spots), project),
        one.conductor.ohm_per_m / resistance_unit(project)[1],
        len(one.ohms),
        load,
        least,
        one.loop_ohm,
        one.end_loss_db,
        number(one.reach.limit),
        MARGIN(limit=number(one.reach.limit), value=one.end_loss_db),
        one.cable_share,
        one.resistance_share,
        one.amplifier.damping if one.amplifier else None,
        one.damping,
        *_reach(one, project),
        one.circuit.wiring.replace("_", " "),
    )


def _networks(speakers: Speakers, project: Project) -> Table:
    unit, si = resistance_unit(project)
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
            number_column("limit_db", "Limit", "dB"),
            number_column("margin", "Margin", "dB", decimals=3, formula=MARGIN, inputs=_END_LEFT),
            number_column("share", "Watts in the cable", "%", decimals=1, formula=CABLE_SHARE),
            number_column("wire", "Wire to load", "%", decimals=1, formula=RESISTANCE_SHARE),
            number_column("amplifier_damping", "Damping of amplifier", "", decimals=0),
            number_column("damping", "Damping there", "", decimals=1, formula=DAMPING),
            length_column(project, "longest", "Longest", formula=LONGEST),
            Column(key="awg", head="Thinnest that works", kind="whole", unit="AWG", computed=True),
            Column(key="wiring", head="Wiring"),
        ),
        rows=[_network_row(one, project) for one in speakers.networks],
        empty="No low-impedance network is in this job.",
    )


def _spots(speakers: Speakers, project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for line in speakers.lines:
        for spot, level in zip(line.spots, line.levels, strict=True):
            tap = spot.tap_w
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
