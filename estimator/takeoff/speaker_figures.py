"""Figures of speaker wiring."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.speaker_line import (
    AMPLIFIER_SHARE,
    END_LOSS,
    HOME_RUN,
    LEAST_RATING,
    LOAD,
    LONGEST,
    LOSS,
    RATING_ON_TOP,
    TAP_EACH,
    TAP_OHM,
)
from estimator.calc.speaker_network import CABLE_SHARE, DAMPING, RESISTANCE_SHARE
from estimator.reference.lookup import table
from estimator.takeoff.columns import column, filled
from estimator.takeoff.speaker_circuits import (
    PARALLEL,
    SERIES,
    SpeakerLine,
    SpeakerNetwork,
    Spot,
    number,
    siemens,
    string_siemens,
    strings_of,
    wire_m,
)
from estimator.takeoff.speakers import AmplifierLoad, Speakers, on_top
from estimator.takeoff.voice_coils import coil_families
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over, under

LINES: Final = "sound-system design manuals, constant-voltage lines"
FIXED: Final = "circuit theory; the amplifier holds its volts"
LONGEST_RUN: Final = "NFPA 72-2025 speaker-circuit guidance; listed fire-alarm audio manuals"


def speaker_families(speakers: Speakers) -> Iterable[Family]:
    """Yield the figures of amplifiers, constant-voltage lines and low-impedance networks."""
    return filled(
        (
            *_amplifier_families(speakers.amplifiers),
            *_line_families(speakers.lines),
            *_network_families(speakers.networks),
            *coil_families(speakers.networks),
        )
    )


def _amplifier_families(amplifiers: tuple[AmplifierLoad, ...]) -> Iterable[Family]:
    yield column(("amplifier", "load", "taps of all its lines", "W"), LOAD, LINES, amplifiers,
                 lambda one: one.load_w, _amplifier_inputs)  # fmt: skip
    yield column(("amplifier", "load_share", "load as a share of the rating", "%"), AMPLIFIER_SHARE,
                 "amplifier makers' articles on choosing taps", amplifiers, lambda one: one.share, _share_inputs,
                 judge=_judged_share)  # fmt: skip
    yield column(("amplifier", "least_rating", "smallest rating that keeps the reserve", "W"), LEAST_RATING,
                 "amplifier makers' articles on choosing taps", amplifiers, lambda one: one.least_rating_w,
                 lambda one: {"load_w": _load(one), "most_percent": one.most})  # fmt: skip
    yield column(("amplifier", "rating_on_top", "rating with the reserve put on top of the load", "W"), RATING_ON_TOP,
                 "the other convention of headroom, for comparison", amplifiers, lambda one: one.on_top_w,
                 lambda one: {"load_w": _load(one), "times": _times()})  # fmt: skip
    yield column(("amplifier", "tap_each", "largest equal tap that all its loudspeakers may have", "W"), TAP_EACH,
                 "loudspeaker supplier's note on constant-voltage systems", amplifiers, lambda one: one.tap_each_w,
                 _each_inputs)  # fmt: skip


def _load(one: AmplifierLoad) -> Input:
    return Input(one.load_w, "W", f"amplifier.{one.id}.load")


def _rating(one: AmplifierLoad) -> Input:
    return Input(one.amplifier.power_w, "W", f"amplifier, {one.amplifier.source.at('power')}")


def _times() -> Input:
    row = on_top()
    return Input(row.number("value"), "", row.source)


def _each_inputs(one: AmplifierLoad) -> Mapping[str, Input]:
    count = Input(sum(one.quantity), "pieces", f"loudspeakers of {', '.join(line.id for line in one.lines)}")
    return {"amplifier_w": _rating(one), "most_percent": one.most, "count": count}


def _line_families(lines: tuple[SpeakerLine, ...]) -> Iterable[Family]:
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
                 judge=judged_loss)  # fmt: skip
    yield column(("speaker", "end_loss", "loss with the whole load at the end", "dB"), END_LOSS, FIXED, lines,
                 lambda one: one.end_loss_db, _end_inputs)  # fmt: skip
    yield column(("speaker", "longest_run", "longest run with the whole load at the end", "m"), LONGEST, LONGEST_RUN,
                 lines, lambda one: one.reach.longest_m, _longest_inputs)  # fmt: skip
    yield column(("speaker", "seen_impedance", "line and cable as the amplifier sees them", "ohm"), None, FIXED, lines,
                 lambda one: one.reach.seen_ohm, _ladder_inputs,
                 method="line volts over the current of the solved ladder")  # fmt: skip
    yield column(("speaker", "home_run_left", "by which the cable to the first loudspeaker may grow", "m"), HOME_RUN,
                 FIXED, lines, lambda one: one.reach.home_run_m, _home_run_inputs)  # fmt: skip
    yield _gauge("speaker", lines)


def _network_families(networks: tuple[SpeakerNetwork, ...]) -> Iterable[Family]:
    figure = ("network", "impedance", "impedance of the loudspeakers together", "ohm")
    in_series = [one for one in networks if one.circuit.wiring == "series"]
    side_by_side = [one for one in networks if one.circuit.wiring == "parallel"]
    grids = [one for one in networks if one.circuit.wiring == "series_parallel"]
    yield column(figure, SERIES, "circuit theory, series", in_series, lambda one: one.load_ohm,
                 lambda one: {"ohms": _ohms(one)}, judge=judged_network)  # fmt: skip
    yield column(figure, PARALLEL, "circuit theory, parallel", side_by_side, lambda one: one.load_ohm,
                 lambda one: {"siemens": Input(siemens(one.ohms), "S", _ohms(one).origin)},
                 judge=judged_network)  # fmt: skip
    yield column(figure, PARALLEL, "circuit theory, strings in parallel", grids, lambda one: one.load_ohm,
                 _strings, judge=judged_network)  # fmt: skip
    yield column(("network", "wire_loop", "wire there and back", "ohm"), PAIR_LOOP, "circuit theory", networks,
                 lambda one: one.loop_ohm, _wire_inputs)  # fmt: skip
    yield column(("network", "end_loss", "loss with the whole load at the end", "dB"), END_LOSS, FIXED, networks,
                 lambda one: one.end_loss_db, _end_inputs,
                 judge=judged_loss)  # fmt: skip
    yield column(("network", "cable_share", "share of the watts that stays in the cable", "%"), CABLE_SHARE,
                 "circuit theory", networks, lambda one: one.cable_share, _end_inputs)  # fmt: skip
    yield column(("network", "resistance_share", "wire as a share of the load", "%"), RESISTANCE_SHARE,
                 "loudspeaker wiring articles", networks, lambda one: one.resistance_share, _end_inputs,
                 judge=_judged_wire)  # fmt: skip
    yield column(("network", "damping", "damping factor at the loudspeakers", ""), DAMPING,
                 "published loudspeaker cable length criteria", networks, lambda one: one.damping, _damping_inputs,
                 judge=judged_damping)  # fmt: skip
    yield column(("network", "longest_run", "longest run within the limit of loss", "m"), LONGEST, LONGEST_RUN,
                 networks, lambda one: one.reach.longest_m, _longest_inputs)  # fmt: skip
    yield _gauge("network", networks)


def _gauge(what: str, members: Sequence[SpeakerLine | SpeakerNetwork]) -> Family:
    return column(
        (what, "thinnest_gauge", "thinnest stocked gauge with which it keeps its limit", "AWG"), None, LONGEST_RUN,
        members, lambda one: one.reach.awg, lambda one: {"limit_db": one.reach.limit, **_wire_inputs(one)},
        method="the circuit solved again in each stocked gauge",
    )  # fmt: skip


def _taps(spots: tuple[Spot, ...]) -> str:
    return "; ".join(
        f"{spot.device.id}, {spot.device.source.at('tap')}"
        + (f", marked {spot.device.tap_w:g} W at {spot.device.tap_v:g} V" if spot.device.tap_v else "")
        for spot in spots
    )


def _amplifier_inputs(one: AmplifierLoad) -> Mapping[str, Input]:
    lines = ", ".join(line.id for line in one.lines)
    return {
        "quantity": Input(one.quantity, "pieces", f"loudspeakers of {lines}"),
        "tap_w": Input(one.tap_w, "W", "; ".join(_taps(line.spots) for line in one.lines)),
    }


def _share_inputs(one: AmplifierLoad) -> Mapping[str, Input]:
    return {"load_w": _load(one), "amplifier_w": _rating(one)}


def _judged_share(one: AmplifierLoad) -> Judged:
    most = number(one.most)
    return Judged(one.word, most - one.share, most, one.most.origin)


def _load_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    return {
        "quantity": Input(tuple(float(spot.count) for spot in one.spots), "pieces", f"loudspeakers of {one.id}"),
        "tap_w": Input(tuple(spot.tap_w for spot in one.spots), "W", _taps(one.spots)),
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


def judged_loss(one: SpeakerLine | SpeakerNetwork) -> Judged:
    """Return the loss of a circuit against its limit."""
    limit = number(one.reach.limit)
    word = "over the limit" if over(one.loss_db, limit) else "within"
    return Judged(word, limit - one.loss_db, limit, one.reach.limit.origin)


def _longest_inputs(one: SpeakerLine | SpeakerNetwork) -> Mapping[str, Input]:
    load = _end_inputs(one)["load_ohm"]
    return {"load_ohm": load, "limit_db": one.reach.limit, "ohm_per_m": one.conductor.as_input()}


def _home_run_inputs(one: SpeakerLine) -> Mapping[str, Input]:
    share = one.worst_level.volts / one.volts
    return {
        "line_ohm": Input(one.reach.seen_ohm, "ohm", f"speaker.{one.id}.seen_impedance"),
        "worst_share": Input(share, "", f"speaker.{one.id}.worst_volts over the line's volts"),
        "limit_db": one.reach.limit,
        "ohm_per_m": one.conductor.as_input(),
    }


def _damping_inputs(one: SpeakerNetwork) -> Mapping[str, Input]:
    assert one.amplifier is not None
    assert one.amplifier.damping is not None
    typed = Input(one.amplifier.damping, "", f"amplifier, {one.amplifier.source.at('damping_factor')}")
    return {**_end_inputs(one), "amplifier_damping": typed}


def _judged_wire(one: SpeakerNetwork) -> Judged:
    row = table("speaker_facts").find(name="cable_share")
    most = row.number("value")
    word = "over the usual share" if over(one.resistance_share, most) else "within"
    return Judged(word, most - one.resistance_share, most, row.source)


def judged_damping(one: SpeakerNetwork) -> Judged | None:
    """Return the damping at a network's loudspeakers against the least that is published, where it is known."""
    if one.damping is None:
        return None
    row = table("speaker_facts").find(name="damping_least")
    least = row.number("value")
    word = "low damping" if under(one.damping, least) else "within"
    return Judged(word, one.damping - least, least, row.source)


def _ohms(one: SpeakerNetwork) -> Input:
    origin = "; ".join(f"{spot.device.id}, {spot.device.source.at('impedance')}" for spot in one.spots)
    return Input(one.ohms, "ohm", origin)


def _strings(one: SpeakerNetwork) -> Mapping[str, Input]:
    strings = strings_of(one.ohms, one.circuit)
    origin = f"{len(strings)} strings, {one.circuit.source.at('strings')}: {_ohms(one).origin}"
    return {"siemens": Input(string_siemens(strings), "S", origin)}


def judged_network(one: SpeakerNetwork) -> Judged | None:
    """Return the impedance of a network against the least load of its amplifier, where that is typed."""
    if one.amplifier is None or one.amplifier.least_ohm is None:
        return None
    least = one.amplifier.least_ohm
    word = "below the least load" if under(one.load_ohm, least) else "within"
    return Judged(word, one.load_ohm - least, least, f"amplifier, {one.amplifier.source.at('least_load')}")
