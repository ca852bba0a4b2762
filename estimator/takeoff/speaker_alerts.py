"""Warnings of speaker wiring."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.calc.speaker_line import OVER_RATING, WITHIN_RESERVE
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.footage import shown_length
from estimator.takeoff.speaker_circuits import SpeakerLine, SpeakerNetwork, number
from estimator.takeoff.speaker_figures import judged_damping, judged_loss, judged_network
from estimator.takeoff.speakers import AmplifierLoad, Speakers
from estimator.units.rounding import over, significant, under

_NEAR: Final = 0.02
"""Share of a nominal line voltage within which another figure is a slip of the pen."""


def speaker_alerts(speakers: Speakers, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with amplifiers, lines and networks."""
    for missing in speakers.unsolved:
        yield Alert(
            missing.place, "not computed", missing.id, f"{missing.id} can't be computed", missing.missing,
            "a value from the data sheet", "a line needs volts, taps and a resistance", missing.advice,
        )  # fmt: skip
    for one in speakers.amplifiers:
        yield from _overloaded(one)
    for line in speakers.lines:
        yield from _too_lossy(line, project)
    for network in speakers.networks:
        yield from _too_lossy(network, project)
        yield from _network(network)
    yield from _outputs(speakers, project)
    yield from _line_volts(project)


def _overloaded(one: AmplifierLoad) -> Iterable[Alert]:
    if one.word == WITHIN_RESERVE:
        return
    rating = one.amplifier.power_w
    limit = f"{rating:g} W" if one.word == OVER_RATING else f"{number(one.most):g} % of {rating:g} W"
    yield Alert(
        one.amplifier.source.at("power"), one.word, one.id, f"amplifier {one.id}: {one.word}", f"{one.load_w:g} W",
        limit, one.most.origin,
        f"taps of at most {significant(one.tap_each_w, 3):g} W each, an amplifier of {one.least_rating_w:.0f} W "
        "or more, or a second one",
    )  # fmt: skip


def _too_lossy(circuit: SpeakerLine | SpeakerNetwork, project: Project) -> Iterable[Alert]:
    judged = judged_loss(circuit)
    if over(circuit.loss_db, judged.limit):
        yield Alert(
            circuit.length.place, "speaker loss", circuit.id, f"{circuit.id} loses too much at {circuit.worst_name}",
            f"{circuit.loss_db:.2f} dB", f"{judged.limit:g} dB", judged.source, _heavier(circuit, project),
        )  # fmt: skip


def _heavier(circuit: SpeakerLine | SpeakerNetwork, project: Project) -> str:
    """Return what would help: a gauge that works, how much nearer the amplifier must be, or a shorter run."""
    awg, home_run = circuit.reach.awg, circuit.reach.home_run_m
    gauge = f"{awg} AWG would work; else " if awg is not None else ""
    if home_run is not None:
        way = f"bring the amplifier {shown_length(-home_run, project)} nearer, split the line or lower taps"
        first = circuit.spots[0].distance_m
        return gauge + (way if not over(-home_run, first) else "split the line or lower taps")
    return f"{gauge}keep the run within {shown_length(circuit.reach.longest_m, project)}"


def _network(network: SpeakerNetwork) -> Iterable[Alert]:
    judged, damped = judged_network(network), judged_damping(network)
    if judged is not None and under(network.load_ohm, judged.limit):
        yield Alert(
            network.length.place, "below the least load", network.id, f"{network.id} loads its amplifier too much",
            f"{network.load_ohm:.2f} ohm", f"{judged.limit:g} ohm", judged.source, "join loudspeakers in series",
        )  # fmt: skip
    if damped is not None and under(damped.margin, 0.0):
        yield Alert(
            network.length.place, "low damping", network.id, f"{network.id} damps its loudspeakers too little",
            f"damping factor {network.damping:.1f}", f"{damped.limit:g}", damped.source,
            "use a heavier conductor, or put the amplifier nearer",
        )  # fmt: skip


def _outputs(speakers: Speakers, project: Project) -> Iterable[Alert]:
    """Low-impedance circuits that share an output: in parallel they load it more than each alone."""
    for amplifier in project.amplifiers.values():
        own = [one for one in speakers.networks if one.circuit.feed == amplifier.id]
        if len(own) > amplifier.outputs:
            yield Alert(
                own[-1].length.place, "more circuits than outputs", amplifier.id,
                f"{amplifier.id} drives {', '.join(one.id for one in own)}", f"{len(own)} low-impedance circuits",
                f"{amplifier.outputs}", f"amplifier, {amplifier.source.at('outputs')}",
                "type its `outputs:`, or join the loudspeakers of an output in one circuit",
            )  # fmt: skip


def _line_volts(project: Project) -> Iterable[Alert]:
    """Line volts a hair off a nominal one: 70 V typed for 70.7 V is 2 % off in every tap."""
    rows = table("speaker_lines")
    nominal = [row.number("line_v") for row in rows]
    for amplifier in project.amplifiers.values():
        typed = amplifier.line_v
        if typed is None or typed in nominal:
            continue
        near = [volts for volts in nominal if not over(abs(typed - volts), _NEAR * volts)]
        if near:
            yield Alert(
                amplifier.source.at("line_voltage"), "line volts", amplifier.id,
                f"amplifier {amplifier.id} has nearly a nominal line voltage", f"{typed:g} V", f"{near[0]:g} V",
                rows.source, f"type {near[0]:g} V, unless its data sheet says {typed:g} V",
            )  # fmt: skip
