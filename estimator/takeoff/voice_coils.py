"""What an ohmmeter reads on loudspeakers: their voice coils, which lie below the nominal impedance.

The published band is wide. It tells a short, a missing loudspeaker or one of another impedance, and
never that a loudspeaker is sound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.speaker_network import parallel_ohm, series_ohm
from estimator.reference.lookup import table
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.takeoff.columns import column
from estimator.takeoff.speaker_circuits import SpeakerNetwork, siemens
from estimator.takeoff.worked import Family, Input

LEAST: Final = Expression("1 / sum(coil_siemens)")
LEAST_SERIES: Final = Expression("sum(coil_ohms)")
MOST: Final = Expression("1 / sum(coil_siemens) + loop_ohm")
MOST_SERIES: Final = Expression("sum(coil_ohms) + loop_ohm")


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


def coil_band(ohms: Sequence[float], wiring: str, loop_ohm: float) -> CoilBand:
    """Return the band of loudspeakers of these nominal impedances [ohm] behind a loop of wire [ohm]."""
    coils = [coil_of(ohm) for ohm in ohms]
    together = series_ohm if wiring == "series" else parallel_ohm
    least, most = together([coil[0] for coil in coils]), together([coil[1] for coil in coils])
    return CoilBand(least_ohm=least, most_ohm=most + loop_ohm, source=coils[0][2])


def rated_ohms(circuit: Circuit, project: Project) -> tuple[float, ...]:
    """Return the nominal impedances of a low-impedance circuit's loudspeakers [ohm]; none where one isn't typed."""
    each = [(project.devices[stop.device].impedance_ohm, stop.count) for stop in circuit.stops]
    known = tuple(ohm for ohm, count in each if ohm for _ in range(count))
    return known if len(known) == sum(count for _, count in each) else ()


def coil_families(networks: Iterable[SpeakerNetwork]) -> Iterable[Family]:
    """Yield what an ohmmeter should read on each network, at least and at most."""
    by_wiring: dict[bool, list[SpeakerNetwork]] = {True: [], False: []}
    for one in networks:
        by_wiring[one.circuit.wiring == "series"].append(one)
    least = ("network", "coil_least", "least that an ohmmeter should read, loudspeakers connected", "ohm")
    most = ("network", "coil_most", "most that an ohmmeter should read, loudspeakers connected", "ohm")
    source = "published ranges of voice coils; proves open, short and wrong impedance only"
    for series, found in by_wiring.items():
        yield column(least, LEAST_SERIES if series else LEAST, source, found, lambda one: _band(one).least_ohm,
                     lambda one: _coils(one, 0))  # fmt: skip
        yield column(most, MOST_SERIES if series else MOST, source, found, lambda one: _band(one).most_ohm,
                     lambda one: {**_coils(one, 1), "loop_ohm": _loop(one)})  # fmt: skip


def _band(one: SpeakerNetwork) -> CoilBand:
    return coil_band(one.ohms, one.circuit.wiring, one.loop_ohm)


def _loop(one: SpeakerNetwork) -> Input:
    return Input(one.loop_ohm, "ohm", f"network.{one.id}.wire_loop")


def _coils(one: SpeakerNetwork, end: int) -> dict[str, Input]:
    coils = [coil_of(ohm) for ohm in one.ohms]
    ohms, source = tuple(float(coil[end]) for coil in coils), coils[0][2]
    if one.circuit.wiring == "series":
        return {"coil_ohms": Input(ohms, "ohm", source)}
    return {"coil_siemens": Input(siemens(ohms), "S", f"inverse of each coil: {source}")}
