"""What an ohmmeter reads on loudspeakers: their voice coils, which lie below the nominal impedance.

The published band is wide. It tells a short, a missing loudspeaker or one of another impedance, and
never that a loudspeaker is sound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.takeoff.columns import column
from estimator.takeoff.speaker_circuits import SpeakerNetwork, string_siemens, strings_of
from estimator.takeoff.worked import Family, Input

LEAST: Final = Expression("1 / sum(coil_siemens)")
MOST: Final = Expression("1 / sum(coil_siemens) + loop_ohm")


@dataclass(frozen=True, kw_only=True, slots=True)
class CoilBand:
    """Between what an ohmmeter should read over loudspeakers that are connected."""

    least_ohm: float  # without the wire
    most_ohm: float  # with the whole wire
    source: str


def coil_of(rated_ohm: float) -> tuple[float, float, str]:
    """Return the least and the most resistance of a voice coil by its nominal impedance [ohm], and their source.

    An impedance that is not tabled takes the shares of the nominal that the same pages give.
    """
    rows = table("speaker_dc_resistance")
    if rows.has(nominal_ohm=rated_ohm):
        row = rows.find(nominal_ohm=rated_ohm)
        return row.number("low_ohm"), row.number("high_ohm"), row.source
    least, most = (table("speaker_facts").find(name=f"coil_{end}") for end in ("least", "most"))
    return rated_ohm * least.number("value") / 100, rated_ohm * most.number("value") / 100, least.source


def coil_band(strings: Sequence[Sequence[float]], loop_ohm: float) -> CoilBand:
    """Return the band of loudspeakers of these nominal impedances [ohm], by string, behind a loop of wire [ohm]."""
    least, most = _coils(strings, 0), _coils(strings, 1)
    return CoilBand(
        least_ohm=LEAST(coil_siemens=least),
        most_ohm=MOST(coil_siemens=most, loop_ohm=loop_ohm),
        source=coil_of(strings[0][0])[2],
    )


def _coils(strings: Sequence[Sequence[float]], end: int) -> tuple[float, ...]:
    """Return the inverse of what the coils of each string have at an end of their range [S]."""
    return string_siemens([[float(coil_of(ohm)[end]) for ohm in string] for string in strings])


def rated_ohms(circuit: Circuit, project: Project) -> tuple[float, ...]:
    """Return the nominal impedances of a low-impedance circuit's loudspeakers [ohm]; none where one isn't typed."""
    each = [(project.devices[stop.device].impedance_ohm, stop.count) for stop in circuit.stops]
    known = tuple(ohm for ohm, count in each if ohm for _ in range(count))
    return known if len(known) == sum(count for _, count in each) else ()


def coil_families(networks: Sequence[SpeakerNetwork]) -> Iterable[Family]:
    """Yield what an ohmmeter should read on each network, at least and at most."""
    source = "published ranges of voice coils; proves open, short and wrong impedance only"
    yield column(("network", "coil_least", "least that an ohmmeter should read, loudspeakers connected", "ohm"), LEAST,
                 source, networks, lambda one: _band(one).least_ohm, lambda one: _inputs(one, 0))  # fmt: skip
    yield column(("network", "coil_most", "most that an ohmmeter should read, loudspeakers connected", "ohm"), MOST,
                 source, networks, lambda one: _band(one).most_ohm,
                 lambda one: {**_inputs(one, 1), "loop_ohm": _loop(one)})  # fmt: skip


def _band(one: SpeakerNetwork) -> CoilBand:
    return coil_band(strings_of(one.ohms, one.circuit), one.loop_ohm)


def _loop(one: SpeakerNetwork) -> Input:
    return Input(one.loop_ohm, "ohm", f"network.{one.id}.wire_loop")


def _inputs(one: SpeakerNetwork, end: int) -> dict[str, Input]:
    strings = strings_of(one.ohms, one.circuit)
    return {"coil_siemens": Input(_coils(strings, end), "S", f"inverse of each string: {coil_of(one.ohms[0])[2]}")}
