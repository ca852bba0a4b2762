"""All speaker wiring of a job, and the amplifiers that drive it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.speaker_line import (
    LOAD,
    amplifier_share,
    amplifier_verdict,
    least_rating_w,
    rating_on_top_w,
    tap_each_w,
)
from estimator.reference.lookup import Row, table
from estimator.spec.feeds import Amplifier
from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductors
from estimator.takeoff.dc_circuits import Unsolved
from estimator.takeoff.footage import Footage, rule_origin
from estimator.takeoff.speaker_circuits import SpeakerLine, SpeakerNetwork, number, work_out_circuit
from estimator.takeoff.worked import Input

BEYOND_RATING: Final = Expression("share > 100")
BEYOND_MOST: Final = Expression("share > most")
"""Whether the load of an amplifier [%] is beyond its rating, or beyond what leaves the reserve alone."""


@dataclass(frozen=True, kw_only=True, slots=True)
class AmplifierLoad:
    """An amplifier and the taps of all its lines."""

    amplifier: Amplifier
    lines: tuple[SpeakerLine, ...]
    quantity: tuple[float, ...]
    tap_w: tuple[float, ...]
    load_w: float
    share: float  # of the rating, in percent
    most: Input  # in percent
    least_rating_w: float  # that keeps the reserve
    on_top_w: float  # by the other convention
    tap_each_w: float  # that all may have
    word: str

    @property
    def id(self) -> str:
        """Return the amplifier's name."""
        return self.amplifier.id


@dataclass(frozen=True, kw_only=True, slots=True)
class Speakers:
    """All speaker wiring of the job."""

    lines: tuple[SpeakerLine, ...]
    networks: tuple[SpeakerNetwork, ...]
    amplifiers: tuple[AmplifierLoad, ...]
    unsolved: tuple[Unsolved, ...]


def work_out_speakers(project: Project, footage: Footage, conductors: Conductors | None = None) -> Speakers:
    """Return every speaker line and network and every amplifier with its load."""
    known = conductors or Conductors(project)
    found = [
        work_out_circuit(circuit, footage.by_id[circuit.id], project, known)
        for circuit in project.circuits.values()
        if circuit.kind in ("speaker", "low_impedance_speaker") and circuit.stops
    ]
    lines = tuple(one for one in found if isinstance(one, SpeakerLine))
    return Speakers(
        lines=lines,
        networks=tuple(one for one in found if isinstance(one, SpeakerNetwork)),
        amplifiers=tuple(_amplifiers(lines, project)),
        unsolved=tuple(one for one in found if isinstance(one, Unsolved)),
    )


def _amplifiers(lines: tuple[SpeakerLine, ...], project: Project) -> Iterable[AmplifierLoad]:
    for amplifier in project.amplifiers.values():
        own = tuple(line for line in lines if line.circuit.feed == amplifier.id)
        if not own:
            continue
        spots = [spot for line in own for spot in line.spots]
        quantity = tuple(float(spot.count) for spot in spots)
        taps = tuple(spot.tap_w for spot in spots)
        load, most = LOAD(quantity=quantity, tap_w=taps), _most(amplifier, project)
        rating, most_percent = amplifier.power_w, number(most)
        yield AmplifierLoad(
            amplifier=amplifier,
            lines=own,
            quantity=quantity,
            tap_w=taps,
            load_w=load,
            share=amplifier_share(load_w=load, amplifier_w=rating),
            most=most,
            least_rating_w=least_rating_w(load_w=load, most_percent=most_percent),
            on_top_w=rating_on_top_w(load_w=load, times=on_top().number("value")),
            tap_each_w=tap_each_w(amplifier_w=rating, most_percent=most_percent, count=int(sum(quantity))),
            word=amplifier_verdict(load_w=load, amplifier_w=rating, most_percent=most_percent),
        )


def on_top() -> Row:
    """Return the convention of headroom that puts a reserve on top of the load."""
    return table("speaker_headroom").find(convention="load_times")


def _most(amplifier: Amplifier, project: Project) -> Input:
    if amplifier.load_max is not None:
        return Input(100 * amplifier.load_max, "%", f"amplifier, {amplifier.source.at('load_max_percent')}")
    return Input(100 * project.rules.amplifier_load_max, "%", rule_origin(project, "amplifier_load_max"))
