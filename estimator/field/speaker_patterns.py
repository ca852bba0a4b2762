"""Patterns of speaker lines: which tap, which speaker, which voltage makes a line's impedance what it is."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from estimator.calc.formula import Expression
from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.takeoff.speaker_circuits import line_volts, number, tap_on
from estimator.units.rounding import over, under

LOAD: Final = Expression("line_v ** 2 / impedance")
"""Watts that a line draws by its impedance."""

_SHORTED: Final = 0.1  # of the expected impedance: a short, not a load
_STEP: Final = 2.0  # taps of a transformer double from one to the next: 3 dB


def impedance(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A speaker line whose impedance tells a wrong tap, a missing, an extra or a shorted speaker."""
    failed, ohm = suspect.failed("impedance"), suspect.number("impedance")
    criterion = suspect.criteria.criterion("impedance")
    if failed is None or criterion is None or ohm is None or not criterion.expected:
        return
    share = ohm / criterion.expected
    evidence = f"{failed.shown}, expected {criterion.expected:.1f} ohm: {share:.2f} of it"
    if math.isinf(ohm):
        yield finding(suspect, "open line", "no speaker answers", evidence,
                      "the first splice and terminals at the head",
                      instead="no speaker connected yet")  # fmt: skip
    elif under(share, _SHORTED):
        yield finding(suspect, "shorted speaker", "shorted line or speaker", evidence,
                      "open the line speaker by speaker from the amplifier outward",
                      instead="a voice coil on the line without its transformer")  # fmt: skip
    else:
        text, look, instead = _told(suspect, site, share)
        yield finding(suspect, "speaker load", text, evidence, look, instead=instead)


def _told(suspect: Suspect, site: Site, share: float) -> tuple[str, str, str]:
    """Return what the load tells: the nearest of the slips that change it by a known step."""
    known = sorted(_slips(suspect, site), key=lambda slip: abs(slip[0] - 1 / share))
    if known and not over(abs(known[0][0] - 1 / share), sign("tap_off")):
        return known[0][1], known[0][2], known[1][1] if len(known) > 1 else ""
    if over(share, 1.0):
        return "too little load", "a speaker not connected, an open part of the way, or lower taps than planned", ""
    return "too much load", "higher taps than planned, a speaker without transformer, or a short at one", ""


def _slips(suspect: Suspect, site: Site) -> Iterable[tuple[float, str, str]]:
    """Yield the load that a slip makes, of the planned load, with its words and where to look."""
    circuit = site.project.circuits.get(suspect.criteria.circuit)
    line_v = line_volts(circuit, site.project) if circuit is not None else None
    if circuit is None or line_v is None:
        return
    taps = [(tap_on(site.project.devices[stop.device], number(line_v)), stop.count) for stop in circuit.stops]
    total = sum(tap * count for tap, count in taps)
    if total <= 0:
        return
    everywhere = "the tap of each speaker, and the amplifier's output"
    yield _STEP, "all taps one step too high", everywhere
    yield 1 / _STEP, "all taps one step too low, or 70 V speakers' 100 V taps", everywhere
    for tap in sorted({tap for tap, _ in taps}):
        one = f"the taps of the {tap:g} W speakers"
        yield 1 + tap / total, f"one {tap:g} W speaker one tap step too high", one
        yield 1 + 3 * tap / total, f"one {tap:g} W speaker two tap steps too high", one
        yield 1 - tap / _STEP / total, f"one {tap:g} W speaker one tap step too low", one
        if not over(tap, total / _STEP):
            yield 1 - tap / total, f"one {tap:g} W speaker not connected", "each speaker: does it play?"


SPEAKERS: Final[tuple[Pattern, ...]] = (impedance,)
