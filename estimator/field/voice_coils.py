"""What an ohmmeter says of low-impedance loudspeakers that are connected: too little, or too much for their coils."""

from __future__ import annotations

import math
from collections.abc import Iterable

from estimator.field.suspect import Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.takeoff.speaker_circuits import strings_of
from estimator.takeoff.voice_coils import coil_band, rated_ohms
from estimator.units.rounding import over, under

_LEADS_OHM = 0.5
"""What test leads and contacts may add [ohm]."""


def voice_coils(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A resistance with the loudspeakers connected that their voice coils and the wire can't have.

    A finding to look at, never a failure: the band is wide, and a sound loudspeaker isn't proven by it.
    """
    ohm = suspect.number("resistance")
    connected = any(said.word("far_end") == "device on" for said in suspect.said)
    if suspect.criteria.medium != "speaker" or not connected or ohm is None or not math.isfinite(ohm):
        return
    strings = _loudspeakers(suspect, site)
    if not strings:
        return
    band = coil_band(strings, suspect.criteria.expected_loop_ohm or 0.0)
    evidence = f"{ohm:.2f} ohm, coils and wire have {band.least_ohm:.2f} to {band.most_ohm:.2f} ohm"
    if under(ohm, band.least_ohm):
        look = "a short part of the way, one loudspeaker too many, or one of lower impedance"
        yield finding(suspect, "voice coils", "less than its voice coils have", evidence, look, cause=False)
    elif over(ohm, band.most_ohm + _LEADS_OHM):
        look = "a loudspeaker not connected, a poor contact, or one of higher impedance"
        yield finding(suspect, "voice coils", "more than its voice coils have", evidence, look, cause=False)


def _loudspeakers(suspect: Suspect, site: Site) -> tuple[tuple[float, ...], ...]:
    """Return the nominal impedances of the loudspeakers on a circuit or a drop, by string; none where it can't tell."""
    circuit = site.project.circuits.get(suspect.criteria.circuit)
    if circuit is not None:
        ohms = rated_ohms(circuit, site.project) if circuit.kind == "low_impedance_speaker" else ()
        return strings_of(ohms, circuit) if ohms else ()
    length = site.footage.by_id.get(suspect.criteria.circuit)
    device = length.run.device if length is not None and length.run is not None else None
    if device is None or device.impedance_ohm is None or device.tap_w is not None:
        return ()
    return ((device.impedance_ohm,),)
