"""Speaker lines and networks, and the amplifiers that drive them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.formula import Expression
from estimator.calc.speaker_line import (
    LOAD,
    TAP_OHM,
    Level,
    Speaker,
    amplifier_share,
    amplifier_verdict,
    end_loss_db,
    line_levels,
    worst_level,
)
from estimator.spec.cabling import DeviceType
from estimator.spec.feeds import Amplifier, Circuit
from estimator.spec.life_safety import circuit_is_life_safety
from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductor, Conductors
from estimator.takeoff.dc_circuits import Unsolved
from estimator.takeoff.footage import Footage, Length, rule_origin
from estimator.takeoff.worked import Input

SERIES: Final = Expression("sum(ohms)")
"""Impedance of loudspeakers in series [ohm]."""

INVERSE: Final = Expression("1 / ohm")
"""The inverse of an impedance [S]."""

ALL_WATTS: Final = Expression("tap_w * quantity")
"""Watts of equal loudspeakers at one place [W]."""

PARALLEL: Final = Expression("1 / sum(siemens)")
"""Impedance of loudspeakers in parallel, from the inverse of each [ohm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Spot:
    """Equal loudspeakers at one place of a circuit."""

    device: DeviceType
    name: str
    count: int
    distance_m: float


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeakerLine:
    """A constant-voltage line: what each loudspeaker gets, and the whole load at the end beside it."""

    circuit: Circuit
    length: Length
    conductor: Conductor
    line_v: Input
    spots: tuple[Spot, ...]
    levels: tuple[Level, ...]
    worst: int
    load_w: float
    load_ohm: float
    loop_ohm: float
    end_loss_db: float

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.circuit.id

    @property
    def worst_level(self) -> Level:
        """Return what arrives at the worst loudspeaker."""
        return self.levels[self.worst]

    @property
    def volts(self) -> float:
        """Return the volts that the amplifier holds [V]."""
        assert not isinstance(self.line_v.value, tuple)
        return self.line_v.value


@dataclass(frozen=True, kw_only=True, slots=True)
class SpeakerNetwork:
    """Low-impedance loudspeakers in series or in parallel on one output."""

    circuit: Circuit
    length: Length
    conductor: Conductor
    amplifier: Amplifier | None
    spots: tuple[Spot, ...]
    ohms: tuple[float, ...]
    load_ohm: float
    loop_ohm: float
    end_loss_db: float

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.circuit.id


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
        _circuit(circuit, footage.by_id[circuit.id], project, known)
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


def _circuit(
    circuit: Circuit, length: Length, project: Project, known: Conductors
) -> SpeakerLine | SpeakerNetwork | Unsolved:
    wired = known.of(length.cable, circuit_is_life_safety(circuit, project))
    if wired is None:
        return Unsolved(
            id=circuit.id,
            place=length.place,
            missing=f"cable {length.cable.id} has no gauge",
            advice="type `gauge:` or `ohm_per_m:` for it",
        )
    spots = tuple(
        Spot(
            device=project.devices[stop.device],
            name=stop.id or stop.device,
            count=stop.count,
            distance_m=stop.distance_m,
        )
        for stop in circuit.stops
    )
    key = "tap_w" if circuit.kind == "speaker" else "impedance_ohm"
    for spot in spots:
        if not getattr(spot.device, key):
            word = "tap" if key == "tap_w" else "impedance"
            missing = f"device {spot.device.id} types no {word}"
            return Unsolved(
                id=circuit.id, place=spot.device.source.at("id"), missing=missing, advice=f"type its `{word}:`"
            )
    if circuit.kind == "low_impedance_speaker":
        return _network(circuit, length, wired, spots, project)
    line_v = _line_volts(circuit, project)
    if line_v is None:
        missing = f"{circuit.feed} types no line voltage"
        return Unsolved(
            id=circuit.id,
            place=circuit.source.at("source"),
            missing=missing,
            advice="type `line_voltage:` of the amplifier or `start_voltage:` of the circuit",
        )
    return _line(circuit, length, wired, spots, line_v)


def _line_volts(circuit: Circuit, project: Project) -> Input | None:
    feed = project.feed(circuit.feed)
    if circuit.start_v is not None:
        return Input(circuit.start_v, "V", f"circuit, {circuit.source.at('start_voltage')}")
    if isinstance(feed, Amplifier) and feed.line_v is not None:
        return Input(feed.line_v, "V", f"amplifier, {feed.source.at('line_voltage')}")
    return None


def _loop(spots: tuple[Spot, ...], wired: Conductor) -> float:
    return PAIR_LOOP(length_m=wire_m(spots), ohm_per_m=wired.ohm_per_m)


def wire_m(spots: tuple[Spot, ...]) -> float:
    """Return the one-way length to the last loudspeaker [m]."""
    return math.fsum(spot.distance_m for spot in spots)


def _line(circuit: Circuit, length: Length, wired: Conductor, spots: tuple[Spot, ...], line_v: Input) -> SpeakerLine:
    assert not isinstance(line_v.value, tuple)
    volts = line_v.value
    speakers = [
        Speaker(segment_m=spot.distance_m, ohm=TAP_OHM(line_v=volts, tap_w=spot.count * (spot.device.tap_w or 0.0)))
        for spot in spots
    ]
    levels = line_levels(line_v=volts, ohm_per_m=wired.ohm_per_m, speakers=speakers)
    load = LOAD(quantity=[float(one.count) for one in spots], tap_w=[one.device.tap_w or 0.0 for one in spots])
    load_ohm, loop = TAP_OHM(line_v=volts, tap_w=load), _loop(spots, wired)
    return SpeakerLine(
        circuit=circuit,
        length=length,
        conductor=wired,
        line_v=line_v,
        spots=spots,
        levels=levels,
        worst=worst_level(levels),
        load_w=load,
        load_ohm=load_ohm,
        loop_ohm=loop,
        end_loss_db=end_loss_db(load_ohm=load_ohm, loop_ohm=loop),
    )


def _network(
    circuit: Circuit, length: Length, wired: Conductor, spots: tuple[Spot, ...], project: Project
) -> SpeakerNetwork:
    ohms = tuple(spot.device.impedance_ohm or 0.0 for spot in spots for _ in range(spot.count))
    load = SERIES(ohms=ohms) if circuit.wiring == "series" else PARALLEL(siemens=siemens(ohms))
    feed, loop = project.feed(circuit.feed), _loop(spots, wired)
    return SpeakerNetwork(
        circuit=circuit,
        length=length,
        conductor=wired,
        amplifier=feed if isinstance(feed, Amplifier) else None,
        spots=spots,
        ohms=ohms,
        load_ohm=load,
        loop_ohm=loop,
        end_loss_db=end_loss_db(load_ohm=load, loop_ohm=loop),
    )


def siemens(ohms: tuple[float, ...]) -> tuple[float, ...]:
    """Return the inverse of each impedance [S]."""
    return tuple(1.0 / ohm for ohm in ohms)


def _amplifiers(lines: tuple[SpeakerLine, ...], project: Project) -> Iterable[AmplifierLoad]:
    for amplifier in project.amplifiers.values():
        own = tuple(line for line in lines if line.circuit.feed == amplifier.id)
        if not own:
            continue
        spots = [spot for line in own for spot in line.spots]
        quantity = tuple(float(spot.count) for spot in spots)
        taps = tuple(spot.device.tap_w or 0.0 for spot in spots)
        load, most = LOAD(quantity=quantity, tap_w=taps), _most(amplifier, project)
        assert not isinstance(most.value, tuple)
        yield AmplifierLoad(
            amplifier=amplifier,
            lines=own,
            quantity=quantity,
            tap_w=taps,
            load_w=load,
            share=amplifier_share(load_w=load, amplifier_w=amplifier.power_w),
            most=most,
            word=amplifier_verdict(load_w=load, amplifier_w=amplifier.power_w, most_percent=most.value),
        )


def _most(amplifier: Amplifier, project: Project) -> Input:
    if amplifier.load_max is not None:
        return Input(100 * amplifier.load_max, "%", f"amplifier, {amplifier.source.at('load_max_percent')}")
    return Input(100 * project.rules.amplifier_load_max, "%", rule_origin(project, "amplifier_load_max"))
