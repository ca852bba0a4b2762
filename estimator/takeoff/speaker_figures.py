"""Figures and warnings of speaker wiring."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.speaker_line import AMPLIFIER_SHARE, END_LOSS, LOAD, LOSS, OVER_RATING, TAP_OHM, WITHIN_RESERVE
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.speakers import (
    PARALLEL,
    SERIES,
    AmplifierLoad,
    SpeakerLine,
    SpeakerNetwork,
    Speakers,
    Spot,
    siemens,
    wire_m,
)
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over, under

LINES: Final = "sound-system design manuals, constant-voltage lines"
FIXED: Final = "circuit theory; the amplifier holds its volts"


def speaker_families(speakers: Speakers, project: Project) -> Iterable[Family]:
    """Yield the figures of amplifiers, constant-voltage lines and low-impedance networks."""
    return filled(
        (
            *_amplifier_families(speakers.amplifiers),
            *_line_families(speakers.lines, project),
            *_network_families(speakers.networks, project),
        )
    )


def _amplifier_families(amplifiers: tuple[AmplifierLoad, ...]) -> Iterable[Family]:
    yield column(("amplifier", "load", "taps of all its lines", "W"), LOAD, LINES, amplifiers,
                 lambda one: one.load_w, _amplifier_inputs)  # fmt: skip
    yield column(("amplifier", "load_share", "load as a share of the rating", "%"), AMPLIFIER_SHARE,
                 "amplifier makers' articles on choosing taps", amplifiers, lambda one: one.share, _share_inputs,
                 judge=_judged_share)  # fmt: skip


def _line_families(lines: tuple[SpeakerLine, ...], project: Project) -> Iterable[Family]:
    yield column(("speaker", "load", "taps of the line", "W"), LOAD, LINES, lines, lambda one: one.load_w,
                 _load_inputs)  # fmt: skip
    yield column(("speaker", "line_impedance", "impedance of the whole line", "ohm"), TAP_OHM, LINES, lines,
                 lambda one: one.load_ohm, _impedance_inputs)  # fmt: skip
    yield column(("speaker", "wire_loop", "wire there and back", "ohm"), PAIR_LOOP, "circuit theory", lines,
                 lambda one: one.loop_ohm, _wire_inputs)  # fmt: skip
    yield column(("speaker", "worst_volts", "volts at the worst loudspeaker", "V"), None, FIXED, lines,
                 lambda one: one.worst_level.volts, _ladder_inputs,
                 method="ladder of fixed impedances, solved exactly")  # fmt: skip
    yield column(("speaker", "worst_loss", "loss at the worst loudspeaker", "dB"), LOSS, FIXED, lines,
                 lambda one: one.worst_level.loss_db, _loss_inputs,
                 judge=lambda one: _judged_loss(one.worst_level.loss_db, project))  # fmt: skip
    yield column(("speaker", "end_loss", "loss with the whole load at the end", "dB"), END_LOSS, FIXED, lines,
                 lambda one: one.end_loss_db, _end_inputs)  # fmt: skip


def _network_families(networks: tuple[SpeakerNetwork, ...], project: Project) -> Iterable[Family]:
    figure = ("network", "impedance", "impedance of the loudspeakers together", "ohm")
    in_series = [one for one in networks if one.circuit.wiring == "series"]
    side_by_side = [one for one in networks if one.circuit.wiring != "series"]
    yield column(figure, SERIES, "circuit theory, series", in_series, lambda one: one.load_ohm,
                 lambda one: {"ohms": _ohms(one)}, judge=_judged_network)  # fmt: skip
    yield column(figure, PARALLEL, "circuit theory, parallel", side_by_side, lambda one: one.load_ohm,
                 lambda one: {"siemens": Input(siemens(one.ohms), "S", _ohms(one).origin)},
                 judge=_judged_network)  # fmt: skip
    yield column(("network", "wire_loop", "wire there and back", "ohm"), PAIR_LOOP, "circuit theory", networks,
                 lambda one: one.loop_ohm, _wire_inputs)  # fmt: skip
    yield column(("network", "end_loss", "loss with the whole load at the end", "dB"), END_LOSS, FIXED, networks,
                 lambda one: one.end_loss_db, _end_inputs,
                 judge=lambda one: _judged_loss(one.end_loss_db, project))  # fmt: skip


def _taps(spots: tuple[Spot, ...]) -> str:
    return "; ".join(f"{spot.device.id}, {spot.device.source.at('tap')}" for spot in spots)


def _amplifier_inputs(one: AmplifierLoad) -> Mapping[str, Input]:
    lines = ", ".join(line.id for line in one.lines)
    return {
        "quantity": Input(one.quantity, "pieces", f"loudspeakers of {lines}"),
        "tap_w": Input(one.tap_w, "W", "; ".join(_taps(line.spots) for line in one.lines)),
    }


def _share_inputs(one: AmplifierLoad) -> Mapping[str, Input]:
    return {
        "load_w": Input(one.load_w, "W", f"amplifier.{one.id}.load"),
        "amplifier_w": Input(one.amplifier.power_w, "W", f"amplifier, {one.amplifier.source.at('power')}"),
    }


def _judged_share(one: AmplifierLoad) -> Judged:
    assert not isinstance(one.most.value, tuple)
    return Judged(one.word, one.most.value - one.share, one.most.value, one.most.origin)


def _load_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    return {
        "quantity": Input(tuple(float(spot.count) for spot in one.spots), "pieces", f"loudspeakers of {one.id}"),
        "tap_w": Input(tuple(spot.device.tap_w or 0.0 for spot in one.spots), "W", _taps(one.spots)),
    }


def _impedance_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    return {"line_v": one.line_v, "tap_w": Input(one.load_w, "W", f"speaker.{one.id}.load")}


def _wire_inputs(one: SpeakerLine | SpeakerNetwork) -> Mapping[str, Input]:
    length = Input(wire_m(one.spots), "m", "distances to the last loudspeaker")
    return {"length_m": length, "ohm_per_m": one.conductor.as_input()}


def _ladder_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    distances = tuple(spot.distance_m for spot in one.spots)
    return {
        "line_v": one.line_v,
        "ohm_per_m": one.conductor.as_input(),
        "distance_m": Input(distances, "m", f"one way to {', '.join(spot.name for spot in one.spots)}"),
        **_load_inputs(one),
    }


def _loss_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    volts = Input(one.worst_level.volts, "V", f"speaker.{one.id}.worst_volts, at {one.spots[one.worst].name}")
    return {"speaker_v": volts, "line_v": one.line_v}


def _end_inputs(one: SpeakerLine | SpeakerNetwork) -> Mapping[str, Input]:
    load = f"speaker.{one.id}.line_impedance" if isinstance(one, SpeakerLine) else f"network.{one.id}.impedance"
    what = "speaker" if isinstance(one, SpeakerLine) else "network"
    return {
        "load_ohm": Input(one.load_ohm, "ohm", load),
        "loop_ohm": Input(one.loop_ohm, "ohm", f"{what}.{one.id}.wire_loop"),
    }


def _judged_loss(loss_db: float, project: Project) -> Judged:
    limit = project.rules.speaker_loss_db
    word = "over the limit" if over(loss_db, limit) else "within"
    return Judged(word, limit - loss_db, limit, rule_origin(project, "speaker_loss_db"))


def _ohms(one: SpeakerNetwork) -> Input:
    origin = "; ".join(f"{spot.device.id}, {spot.device.source.at('impedance')}" for spot in one.spots)
    return Input(one.ohms, "ohm", origin)


def _judged_network(one: SpeakerNetwork) -> Judged | None:
    if one.amplifier is None or one.amplifier.least_ohm is None:
        return None
    least = one.amplifier.least_ohm
    word = "below the least load" if under(one.load_ohm, least) else "within"
    return Judged(word, one.load_ohm - least, least, f"amplifier, {one.amplifier.source.at('least_load')}")


def speaker_alerts(speakers: Speakers, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with amplifiers, lines and networks."""
    for missing in speakers.unsolved:
        yield Alert(
            missing.place, "not computed", missing.id, f"{missing.id} can't be computed", missing.missing,
            "a value from the data sheet", "a line needs volts, taps and a resistance", missing.advice,
        )  # fmt: skip
    for one in speakers.amplifiers:
        if one.word != WITHIN_RESERVE:
            rating = one.amplifier.power_w
            limit = f"{rating:g} W" if one.word == OVER_RATING else f"{one.most.value:g} % of {rating:g} W"
            yield Alert(
                one.amplifier.source.at("power"), one.word, one.id, f"amplifier {one.id}: {one.word}",
                f"{one.load_w:g} W", limit, one.most.origin, "lower taps, or a larger or second amplifier",
            )  # fmt: skip
    losses: list[tuple[SpeakerLine | SpeakerNetwork, float, str]] = [
        (line, line.worst_level.loss_db, line.spots[line.worst].name) for line in speakers.lines
    ]
    losses.extend((network, network.end_loss_db, network.spots[-1].name) for network in speakers.networks)
    for circuit, loss, name in losses:
        if over(loss, project.rules.speaker_loss_db):
            yield Alert(
                circuit.length.place, "speaker loss", circuit.id, f"{circuit.id} loses too much at {name}",
                f"{loss:.2f} dB", f"{project.rules.speaker_loss_db:g} dB", rule_origin(project, "speaker_loss_db"),
                "use a heavier conductor, split the line or lower taps",
            )  # fmt: skip
    for network in speakers.networks:
        judged = _judged_network(network)
        if judged is not None and under(network.load_ohm, judged.limit):
            yield Alert(
                network.length.place, "below the least load", network.id, f"{network.id} loads its amplifier too much",
                f"{network.load_ohm:.2f} ohm", f"{judged.limit:g} ohm", judged.source, "join loudspeakers in series",
            )  # fmt: skip
