"""Calculation sheets of speakers: constant-voltage lines and low-impedance networks against their limits."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.documents.common import in_length, length_column, rule_from
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.spec.model import Project
from estimator.takeoff.speaker_circuits import SpeakerLine, SpeakerNetwork, number
from estimator.takeoff.speakers import Speakers


def speakers_section(speakers: Speakers, project: Project) -> Iterator[Section]:
    """Yield constant-voltage lines, each with the worst of its loudspeakers and how far it reaches."""
    if not speakers.lines:
        return

    def row(one: SpeakerLine) -> tuple[Cell, ...]:
        worst, limit = one.worst_level, number(one.reach.limit)
        return (
            one.id,
            one.circuit.feed,
            _wire(one),
            one.load_w,
            one.spots[one.worst].name,
            worst.volts,
            worst.loss_db,
            one.end_loss_db,
            limit,
            limit - worst.loss_db,
            in_length(one.reach.longest_m, project),
            one.reach.awg,
        )

    table = Table(
        name="speaker_lines",
        title="Loss at the worst loudspeaker",
        columns=(
            Column(key="line", head="Line"),
            Column(key="amplifier", head="Amplifier"),
            Column(key="cable", head="Cable"),
            Column(key="load", head="Taps", kind="number", unit="W", decimals=1),
            Column(key="worst", head="Worst"),
            Column(key="volts", head="Volts there", kind="number", unit="V"),
            Column(key="loss", head="Loss there", kind="number", unit="dB", decimals=3),
            Column(key="end", head="All at the end", kind="number", unit="dB", decimals=3),
            Column(key="limit", head="Limit", kind="number", unit="dB"),
            Column(key="margin", head="Margin", kind="number", unit="dB", decimals=3),
            length_column(project, "longest", "Longest run"),
            Column(key="awg", head="Thinnest", kind="whole", unit="AWG"),
        ),
        rows=[row(one) for one in speakers.lines],
    )
    text = (
        "The amplifier holds its line volts and each loudspeaker is a fixed impedance at its place. "
        "The longest run is that of the whole load at the end; the thinnest wire is the stocked one that keeps the "
        f"limit with the loudspeakers at their places. Limit, where a line types none: "
        f"{rule_from(project, 'speaker_loss_db')}."
    )
    yield Section(title="Speaker lines", blocks=(Paragraph(text), table))


def networks_section(speakers: Speakers, project: Project) -> Iterator[Section]:
    """Yield low-impedance networks: their load against the amplifier's least, and what the cable takes."""
    if not speakers.networks:
        return

    def row(one: SpeakerNetwork) -> tuple[Cell, ...]:
        limit = number(one.reach.limit)
        return (
            one.id,
            one.circuit.feed,
            f"{len(one.ohms)} in {one.circuit.wiring.replace('_', ' ')}",
            _wire(one),
            one.load_ohm,
            one.amplifier.least_ohm if one.amplifier else None,
            one.loop_ohm,
            one.cable_share,
            one.damping,
            one.end_loss_db,
            limit,
            limit - one.end_loss_db,
        )

    table = Table(
        name="networks",
        title="Load of the amplifier, and what the cable takes",
        columns=(
            Column(key="network", head="Network"),
            Column(key="amplifier", head="Amplifier"),
            Column(key="speakers", head="Speakers"),
            Column(key="cable", head="Cable"),
            Column(key="load", head="Load", kind="number", unit="ohm"),
            Column(key="least", head="Least load", kind="number", unit="ohm"),
            Column(key="loop", head="Wire", kind="number", unit="ohm"),
            Column(key="share", head="Watts in the cable", kind="number", unit="%", decimals=1),
            Column(key="damping", head="Damping", kind="number", decimals=1),
            Column(key="loss", head="Loss", kind="number", unit="dB", decimals=3),
            Column(key="limit", head="Limit", kind="number", unit="dB"),
            Column(key="margin", head="Margin", kind="number", unit="dB", decimals=3),
        ),
        rows=[row(one) for one in speakers.networks],
    )
    text = "The amplifier holds its volts into the network's nominal impedance, with the whole load at the end."
    yield Section(title="Low-impedance speakers", blocks=(Paragraph(text), table))


def _wire(one: SpeakerLine | SpeakerNetwork) -> str:
    cable = one.length.cable
    return f"{cable.awg} AWG {cable.stranding}" if cable.awg is not None else cable.id
