"""Patterns of coax, alarm, voice, speaker, battery and fiber readings, for the probable causes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from estimator.acceptance.columns import FAR_END
from estimator.calc.coax import nearest_state, video_level_vpp
from estimator.field.coax_patterns import coax_loss
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.reference.lookup import table
from estimator.units.rounding import over, under

_SHORT_SHARE: Final = 0.1  # far below the resistor: the conductors touch
_HALF: Final = (0.4, 0.6)  # about half the resistor: two of them in parallel


def video_level(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A low video level whose size tells the loads on the line."""
    for state in ("terminated", "bridging"):
        failed, criterion = suspect.failed("video_level", state), suspect.criteria.criterion("video_level", state)
        level = suspect.number("video_level", state)
        if failed is None or criterion is None or level is None or not level > 0 or not criterion.expected:
            continue
        levels = {row.text("state"): _level(row.text("state")) for row in table("video_levels")}
        scale = criterion.expected / levels[state]
        expected = {name: scale * volts for name, volts in levels.items() if name != "bridging"}
        nearest = nearest_state(level_vpp=level, expected_vpp=expected)
        evidence = f"{level:.2f} V, expected {criterion.expected:.2f} V; nearest is {nearest.replace('_', ' ')}"
        yield finding(suspect, "video level", *_video(nearest, state, evidence))


def _level(state: str) -> float:
    """Return the level of a state at the end of a line without loss [V peak to peak]."""
    facts = table("video_facts")
    ohm, emf = (facts.find(name=name).number("value") for name in ("impedance", "source_emf"))
    loads = int(table("video_levels").find(state=state).number("loads"))
    return video_level_vpp(emf_vpp=emf, source_ohm=ohm, loads=loads, load_ohm=ohm)


def _video(nearest: str, state: str, evidence: str) -> tuple[str, str, str]:
    if nearest in ("two_loads", "three_loads"):
        return ("double termination", evidence, "take out the second terminator: monitor, recorder or the meter's own")
    if nearest == "unterminated" and state == "terminated":
        return ("no termination", evidence, "the terminating resistor is missing or switched off")
    return ("weak or lossy line", evidence, "connectors, the camera's level, or a cable with a steel center")


def open_or_short(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """Conductors that touch or are parted, with the distance by loop resistance or reflection."""
    failed = suspect.failed("open_short")
    loop = suspect.failed("resistance")
    if failed is not None and failed.value in ("short", "open"):
        place = _by_resistance(suspect, site) if failed.value == "short" else ""
        look = "terminals and splices, then staples and damage" if failed.value == "short" else "the far end first"
        yield finding(
            suspect, str(failed.value), str(failed.value), f"between conductors: {failed.text}", look, place=place
        )
    elif suspect.criteria.medium != "balanced_pair" and loop is not None and loop.value == math.inf:
        yield finding(
            suspect,
            "open",
            "open loop",
            f"loop resistance {loop.shown} with the far end joined",
            "the join at the far end, then every terminal and splice between",
        )
    ground = suspect.failed("insulation")
    if ground is not None:
        yield finding(
            suspect,
            "ground fault",
            "a conductor touches ground",
            f"ground fault: {ground.text}",
            "open the circuit at its middle device and halve it until the fault is found",
        )


def _by_resistance(suspect: Suspect, site: Site) -> str:
    """Return where a short lies by the resistance up to it, both conductors counted."""
    criteria, ohm = suspect.criteria, suspect.number("resistance")
    if ohm is None or not criteria.expected_loop_ohm or not criteria.expected_m or not math.isfinite(ohm):
        return ""
    distance = ohm / criteria.expected_loop_ohm * criteria.expected_m
    if over(distance, criteria.expected_m):
        return ""
    from_far = any(said.word("tested_from") == FAR_END for said in suspect.said)
    return site.place_by_resistance(suspect, distance, from_far_end=from_far)


def end_of_line(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """An end-of-line resistor that is missing, shorted out or there twice."""
    failed, criterion = suspect.failed("end_of_line"), suspect.criteria.criterion("end_of_line")
    ohm = suspect.number("end_of_line")
    if failed is None or criterion is None or ohm is None or not criterion.expected:
        return
    evidence = f"{failed.shown}, expected {criterion.expected:.0f} ohm"
    share = ohm / criterion.expected
    if math.isinf(ohm) or over(share, 10.0):
        yield finding(
            suspect,
            "missing end-of-line",
            "end-of-line resistor missing, or the line open",
            evidence,
            "the last device's terminals: is the resistor there and fast?",
        )
    elif under(share, _SHORT_SHARE):
        yield finding(
            suspect,
            "short",
            "shorted before the end-of-line resistor",
            evidence,
            "open the line device by device from the panel outward",
        )
    elif not under(share, _HALF[0]) and not over(share, _HALF[1]):
        yield finding(
            suspect,
            "two end-of-line",
            "two end-of-line resistors in parallel",
            evidence,
            "a resistor left at an earlier device when the line was extended",
        )
    else:
        yield finding(
            suspect,
            "wrong end-of-line",
            "end-of-line resistor of another value",
            evidence,
            "read the resistor's color code against the panel's manual",
        )


def polarity(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Reversed polarity, and what it does on each medium."""
    failed = suspect.failed("polarity")
    if failed is None:
        return
    looks = {
        "speaker": (
            "reversed speaker",
            "exchange the conductors at this speaker; one color to plus everywhere",
        ),
        "fiber": ("strands exchanged", "exchange the two connectors at one end"),
    }
    text, look = looks.get(suspect.criteria.medium, ("reversed polarity", "exchange the two conductors at one end"))
    yield finding(suspect, "reversed polarity", text, f"polarity {failed.text}", look)


def line_volts(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Volts of a voice line or at a circuit's last device that don't fit."""
    idle, last = suspect.failed("line_volts", "on_hook"), suspect.failed("line_volts")
    volts = suspect.number("line_volts", "on_hook")
    if idle is not None and volts is not None:
        private = table("voice_facts").find(name="on_hook_private_exchange")
        if not under(volts, private.number("low")) and not over(volts, private.number("high")):
            text, look = (
                "feed of a private exchange",
                "a port of the site's own exchange, not a central office's",
            )
        elif under(volts, 1.0):
            text, look = "no feed", "an open pair, or the line isn't in service"
        else:
            text, look = "volts out of range", "a set off hook, a leak between the wires, or another line bridged to it"
        yield finding(suspect, "line volts", text, f"{idle.shown} on hook", look)
    if last is not None and last.criterion is not None:
        evidence = f"{last.shown}, {last.criterion.limit}"
        look = "the loop resistance, the load on the circuit, and the supply's own volts"
        yield finding(suspect, "low volts", "too few volts at the last device", evidence, look)


def impedance(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A speaker line whose impedance tells a wrong tap, a missing or an extra speaker."""
    failed, ohm = suspect.failed("impedance"), suspect.number("impedance")
    criterion = suspect.criteria.criterion("impedance")
    if failed is None or criterion is None or ohm is None or not criterion.expected:
        return
    evidence = f"{failed.shown}, expected {criterion.expected:.1f} ohm"
    if over(ohm, criterion.expected):
        text, look = (
            "too little load",
            "a speaker not connected, an open part of the way, or lower taps than planned",
        )
    else:
        text, look = "too much load", "higher taps than planned, a speaker without transformer, or a short at one"
    yield finding(suspect, "speaker load", text, evidence, look)


def battery(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A block that sags under load, or was never charged."""
    if suspect.criteria.medium != "battery":
        return
    for row in suspect.criteria.rows:
        load, rested = suspect.failed("load_volts", row), suspect.failed("open_circuit_volts", row)
        if load is not None:
            at_rest = suspect.reading("open_circuit_volts", row)
            evidence = f"{load.shown} under load" + (f", {at_rest.shown} at rest" if at_rest else "")
            look = "replace the whole set; look at its date code and the charger's volts"
            yield finding(suspect, "weak battery", f"block {row} is weak under load", evidence, look)
        elif rested is not None:
            yield finding(
                suspect,
                "discharged battery",
                f"block {row} isn't charged",
                f"{rested.shown} at rest",
                "the charger's output and fuse; charge and test again",
            )


def fiber_loss(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Loss that grows with the wavelength comes from a bend, loss at all of them from a connector."""
    if suspect.criteria.medium != "fiber":
        return
    losses = {int(one.position): one for one in suspect.readings if one.test == "loss" and isinstance(one.value, float)}
    failed = [one for one in losses.values() if one.failed]
    if not failed:
        return
    evidence = ", ".join(f"{one.shown} at {nm} nm" for nm, one in sorted(losses.items()))
    values = [one.value for _, one in sorted(losses.items()) if isinstance(one.value, float)]
    if len(values) > 1 and over(values[-1], values[0]):
        yield finding(suspect, "bend", "bent fiber", evidence, "tight bends and ties, most of all at trays and boxes")
    else:
        yield finding(
            suspect,
            "connector loss",
            "dirty or bad connection",
            evidence,
            "inspect and clean both end faces and the reference cords, then test again",
        )


OTHERS: Final[tuple[Pattern, ...]] = (
    video_level,
    coax_loss,
    open_or_short,
    end_of_line,
    polarity,
    line_volts,
    impedance,
    battery,
    fiber_loss,
)
