"""Speaker circuits: constant-voltage lines and low-impedance networks, each with how far it reaches."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.dc_circuit import smallest_gauge
from estimator.calc.formula import Expression
from estimator.calc.speaker_line import (
    HOME_RUN,
    LOAD,
    LONGEST,
    TAP_AT,
    TAP_OHM,
    Level,
    Speaker,
    end_loss_db,
    line_levels,
    seen_ohm,
    worst_level,
)
from estimator.calc.speaker_network import DAMPING, cable_share, resistance_share
from estimator.reference.lookup import table
from estimator.spec.cabling import DeviceType
from estimator.spec.feeds import Amplifier, Circuit
from estimator.spec.life_safety import circuit_is_life_safety
from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductor, Conductors
from estimator.takeoff.dc_circuits import Unsolved
from estimator.takeoff.footage import Length, rule_origin
from estimator.takeoff.worked import Input
from estimator.units.rounding import over

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
    tap_w: float = 0.0  # on the line's volts


@dataclass(frozen=True, kw_only=True, slots=True)
class LineReach:
    """How far a speaker circuit reaches within its limit of loss, and on which wire."""

    limit: Input  # in decibels
    longest_m: float  # with the whole load at the end
    home_run_m: float | None  # by which the cable to the first loudspeaker may grow
    seen_ohm: float  # load and cable, as the amplifier sees them
    awg: int | None  # the thinnest stocked gauge that works


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
    reach: LineReach

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.circuit.id

    @property
    def loss_db(self) -> float:
        """Return the loss at the worst loudspeaker, which is judged [dB]."""
        return self.worst_level.loss_db

    @property
    def worst_name(self) -> str:
        """Return the name of the worst loudspeaker."""
        return self.spots[self.worst].name

    @property
    def worst_level(self) -> Level:
        """Return what arrives at the worst loudspeaker."""
        return self.levels[self.worst]

    @property
    def volts(self) -> float:
        """Return the volts that the amplifier holds [V]."""
        return number(self.line_v)


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
    cable_share: float  # of the watts, in percent
    resistance_share: float  # of the load, in percent
    damping: float | None
    reach: LineReach

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.circuit.id

    @property
    def loss_db(self) -> float:
        """Return the loss with all loudspeakers at the end, which is judged [dB]."""
        return self.end_loss_db

    @property
    def worst_name(self) -> str:
        """Return the name of the last loudspeaker."""
        return self.spots[-1].name


def work_out_circuit(
    circuit: Circuit, length: Length, project: Project, known: Conductors
) -> SpeakerLine | SpeakerNetwork | Unsolved:
    """Return a speaker circuit worked out, or what its description lacks."""
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
    stocked = known.stocked(length.cable, circuit_is_life_safety(circuit, project))
    if circuit.kind == "low_impedance_speaker":
        return _network(circuit, length, wired, spots, project, stocked)
    line_v = line_volts(circuit, project)
    if line_v is None:
        missing = f"{circuit.feed} types no line voltage"
        return Unsolved(
            id=circuit.id,
            place=circuit.source.at("source"),
            missing=missing,
            advice="type `line_voltage:` of the amplifier or `start_voltage:` of the circuit",
        )
    return _line(circuit, length, wired, spots, line_v, limit_of(circuit, project), stocked)


def line_volts(circuit: Circuit, project: Project) -> Input | None:
    """Return the volts that a constant-voltage line is held at [V], or None where nothing types them."""
    feed = project.feed(circuit.feed)
    if circuit.start_v is not None:
        return Input(circuit.start_v, "V", f"circuit, {circuit.source.at('start_voltage')}")
    if isinstance(feed, Amplifier) and feed.line_v is not None:
        return Input(feed.line_v, "V", f"amplifier, {feed.source.at('line_voltage')}")
    return None


def number(one: Input) -> float:
    """Return an input that is a single number."""
    assert not isinstance(one.value, tuple)
    return one.value


def _loop(spots: tuple[Spot, ...], wired: Conductor) -> float:
    return PAIR_LOOP(length_m=wire_m(spots), ohm_per_m=wired.ohm_per_m)


def wire_m(spots: tuple[Spot, ...]) -> float:
    """Return the one-way length to the last loudspeaker [m]."""
    return math.fsum(spot.distance_m for spot in spots)


def limit_of(circuit: Circuit, project: Project) -> Input:
    """Return the largest loss of a speaker circuit [dB]: its own or the rule's, in life safety never the looser."""
    own = circuit.loss_max_db
    value = project.rules.speaker_loss_db if own is None else own
    origin = rule_origin(project, "speaker_loss_db") if own is None else f"circuit, {circuit.source.at('loss_limit')}"
    row = table("speaker_loss_limits").find(use="voice_evacuation")
    if circuit_is_life_safety(circuit, project) and over(value, row.number("limit_db")):
        return Input(row.number("limit_db"), "dB", f"{row.source}; {value:g} dB of {origin} is looser")
    return Input(value, "dB", origin)


def tap_on(device: DeviceType, line_v: float) -> float:
    """Return what a loudspeaker's tap takes on a line [W]: as marked, or by the volts it is marked for."""
    if device.tap_v is None or device.tap_w is None:
        return device.tap_w or 0.0
    return TAP_AT(marked_w=device.tap_w, marked_v=device.tap_v, line_v=line_v)


def _levels(spots: tuple[Spot, ...], volts: float, ohm_per_m: float) -> tuple[Level, ...]:
    speakers = [
        Speaker(segment_m=spot.distance_m, ohm=TAP_OHM(line_v=volts, tap_w=spot.count * spot.tap_w)) for spot in spots
    ]
    return line_levels(line_v=volts, ohm_per_m=ohm_per_m, speakers=speakers)


def _line(
    circuit: Circuit,
    length: Length,
    wired: Conductor,
    spots: tuple[Spot, ...],
    line_v: Input,
    limit: Input,
    stocked: Mapping[int, float],
) -> SpeakerLine:
    volts = number(line_v)
    spots = tuple(replace(spot, tap_w=tap_on(spot.device, volts)) for spot in spots)
    levels = _levels(spots, volts, wired.ohm_per_m)
    worst = worst_level(levels)
    load = LOAD(quantity=[float(one.count) for one in spots], tap_w=[one.tap_w for one in spots])
    load_ohm, loop = TAP_OHM(line_v=volts, tap_w=load), _loop(spots, wired)
    seen, most_db, per_m = seen_ohm(line_v=volts, levels=levels), number(limit), wired.ohm_per_m

    def works(ohm_per_m: float) -> bool:
        tried = _levels(spots, volts, ohm_per_m)
        return not over(tried[worst_level(tried)].loss_db, most_db)

    share = levels[worst].volts / volts
    reach = LineReach(
        limit=limit,
        longest_m=LONGEST(load_ohm=load_ohm, limit_db=most_db, ohm_per_m=per_m),
        home_run_m=HOME_RUN(line_ohm=seen, worst_share=share, limit_db=most_db, ohm_per_m=per_m),
        seen_ohm=seen,
        awg=smallest_gauge(ohm_per_m=stocked, works=works),
    )
    return SpeakerLine(
        circuit=circuit,
        length=length,
        conductor=wired,
        line_v=line_v,
        spots=spots,
        levels=levels,
        worst=worst,
        load_w=load,
        load_ohm=load_ohm,
        loop_ohm=loop,
        end_loss_db=end_loss_db(load_ohm=load_ohm, loop_ohm=loop),
        reach=reach,
    )


def _network(
    circuit: Circuit,
    length: Length,
    wired: Conductor,
    spots: tuple[Spot, ...],
    project: Project,
    stocked: Mapping[int, float],
) -> SpeakerNetwork:
    ohms = tuple(spot.device.impedance_ohm or 0.0 for spot in spots for _ in range(spot.count))
    load = network_ohm(ohms, circuit)
    feed, loop, limit = project.feed(circuit.feed), _loop(spots, wired), limit_of(circuit, project)
    amplifier = feed if isinstance(feed, Amplifier) else None
    most_db = number(limit)

    def works(ohm_per_m: float) -> bool:
        tried = PAIR_LOOP(length_m=wire_m(spots), ohm_per_m=ohm_per_m)
        return not over(end_loss_db(load_ohm=load, loop_ohm=tried), most_db)

    damped = amplifier.damping if amplifier else None
    return SpeakerNetwork(
        circuit=circuit,
        length=length,
        conductor=wired,
        amplifier=amplifier,
        spots=spots,
        ohms=ohms,
        load_ohm=load,
        loop_ohm=loop,
        end_loss_db=end_loss_db(load_ohm=load, loop_ohm=loop),
        cable_share=cable_share(load_ohm=load, loop_ohm=loop),
        resistance_share=resistance_share(load_ohm=load, loop_ohm=loop),
        damping=None if damped is None else DAMPING(load_ohm=load, amplifier_damping=damped, loop_ohm=loop),
        reach=LineReach(
            limit=limit,
            longest_m=LONGEST(load_ohm=load, limit_db=most_db, ohm_per_m=wired.ohm_per_m),
            home_run_m=None,
            seen_ohm=load + loop,
            awg=smallest_gauge(ohm_per_m=stocked, works=works),
        ),
    )


def strings_of(ohms: Sequence[float], circuit: Circuit) -> tuple[tuple[float, ...], ...]:
    """Return the loudspeakers of each string in parallel [ohm]: one string, one of each, or equal ones in order."""
    if circuit.wiring == "series":
        return (tuple(ohms),)
    each = len(ohms) // circuit.strings if circuit.wiring == "series_parallel" else 1
    return tuple(tuple(ohms[start : start + each]) for start in range(0, len(ohms), each))


def network_ohm(ohms: Sequence[float], circuit: Circuit) -> float:
    """Return the impedance of a circuit's loudspeakers together [ohm]."""
    if circuit.wiring == "series":
        return SERIES(ohms=ohms)
    return PARALLEL(siemens=string_siemens(strings_of(ohms, circuit)))


def string_siemens(strings: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """Return the inverse of each string's impedance [S]."""
    return siemens(tuple(SERIES(ohms=string) for string in strings))


def siemens(ohms: tuple[float, ...]) -> tuple[float, ...]:
    """Return the inverse of each impedance [S]."""
    return tuple(1.0 / ohm for ohm in ohms)
