"""Patterns of coax, alarm, voice, speaker, battery and fiber readings, for the probable causes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Final

from estimator.acceptance.columns import FAR_END
from estimator.calc.coax import nearest_state, video_level_vpp
from estimator.field.battery_patterns import BATTERIES
from estimator.field.coax_patterns import coax_loss
from estimator.field.fiber_patterns import FIBER
from estimator.field.signs import sign
from estimator.field.speaker_patterns import SPEAKERS
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
        if failed is None or criterion is None or level is None or not criterion.expected:
            continue
        if not level > 0:
            yield finding(suspect, "video level", "no picture", f"{failed.shown} {state}",
                          "the camera's supply volts, then the camera", instead="an open center conductor")  # fmt: skip
            continue
        levels = {row.text("state"): _level(row.text("state")) for row in table("video_levels")}
        scale = criterion.expected / levels[state]
        expected = {name: scale * volts for name, volts in levels.items() if name != "bridging"}
        nearest = nearest_state(level_vpp=level, expected_vpp=expected)
        evidence = f"{level:.2f} V, expected {criterion.expected:.2f} V; nearest is {nearest.replace('_', ' ')}"
        text, look, instead = _video(nearest, state, level)
        yield finding(suspect, "video level", text, evidence, look, instead=instead)


def _level(state: str) -> float:
    """Return the level of a state at the end of a line without loss [V peak to peak]."""
    facts = table("video_facts")
    ohm, emf = (facts.find(name=name).number("value") for name in ("impedance", "source_emf"))
    loads = int(table("video_levels").find(state=state).number("loads"))
    return video_level_vpp(emf_vpp=emf, source_ohm=ohm, loads=loads, load_ohm=ohm)


def _video(nearest: str, state: str, level_vpp: float) -> tuple[str, str, str]:
    """Return what a level tells, where to look and what else it may be."""
    if state == "bridging":
        if under(level_vpp, sign("picture_vpp")):
            return ("camera or its supply", "the camera's supply volts at the camera, then the camera",
                    "a terminator on the line, so that it isn't bridging at all")  # fmt: skip
        return ("weak or lossy line", "connectors and the cable's center", "a camera at the end of its life")
    if nearest in ("two_loads", "three_loads"):
        return ("double termination", "take out the second terminator: monitor, recorder or the meter's own",
                "a weak camera: the level stays low with one load alone")  # fmt: skip
    if nearest == "unterminated":
        return ("no termination", "the terminating resistor is missing or switched off",
                "a meter that bridges the line: state it so")  # fmt: skip
    return ("weak or lossy line", "connectors, the camera's level, or a cable with a steel center",
            "a terminator of another value than the cable's")  # fmt: skip


def open_or_short(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """Conductors that touch or are parted, with the distance by loop resistance or reflection."""
    failed = suspect.failed("open_short")
    loop = suspect.failed("resistance")
    if failed is not None and failed.value in ("short", "open"):
        place = _of_short(suspect, site) if failed.value == "short" else ""
        look = "terminals and splices, then staples and damage" if failed.value == "short" else "the far end first"
        yield finding(
            suspect,
            str(failed.value),
            str(failed.value),
            f"between conductors: {failed.text}",
            look,
            place=place,
            instead="the far end joined, or a device left on" if failed.value == "short" else "a splice not made up",
        )
    elif suspect.criteria.medium != "balanced_pair" and loop is not None and loop.value == math.inf:
        yield finding(
            suspect,
            "open",
            "open loop",
            f"loop resistance {loop.shown} with the far end joined",
            "the join at the far end, then every terminal and splice between",
            instead="a far end that nobody joined",
        )
    ground = suspect.failed("insulation")
    if ground is not None:
        yield finding(
            suspect,
            "ground fault",
            "a conductor touches ground",
            f"ground fault: {ground.text}",
            "open the circuit at its middle device and halve it until the fault is found",
            instead="a shield or a device's case that touches a box",
        )


def _of_short(suspect: Suspect, site: Site) -> str:
    """Return where a short lies: by reflection on a coaxial line that a tester saw, else by its resistance."""
    if suspect.criteria.medium == "coax":
        for said in suspect.said:
            typed = said.typed("length")
            number = None if typed is None or typed.text.startswith("marks") else typed.number
            if number is not None and math.isfinite(number) and number > 0:
                return site.place(suspect, number, said)
    return _by_resistance(suspect, site)


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
            instead="a conductor that is open before the last device",
        )
    elif under(share, _SHORT_SHARE):
        yield finding(
            suspect,
            "short",
            "shorted before the end-of-line resistor",
            evidence,
            "open the line device by device from the panel outward",
            instead="a device's terminals bridged by a stray strand",
        )
    elif not under(share, _HALF[0]) and not over(share, _HALF[1]):
        yield finding(
            suspect,
            "two end-of-line",
            "two end-of-line resistors in parallel",
            evidence,
            "a resistor left at an earlier device when the line was extended",
            instead="a resistor of half the value",
        )
    else:
        yield finding(
            suspect,
            "wrong end-of-line",
            "end-of-line resistor of another value",
            evidence,
            "read the resistor's color code against the panel's manual",
            instead="resistance at a terminal, or a leak between the conductors",
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
    instead = "colors that change at a splice on the way"
    yield finding(suspect, "reversed polarity", text, f"polarity {failed.text}", look, instead=instead)


def line_volts(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Volts of a voice line or at a circuit's last device that don't fit."""
    idle, last = suspect.failed("line_volts", "on_hook"), suspect.failed("line_volts")
    busy = suspect.failed("line_volts", "off_hook")
    if busy is not None and idle is None and busy.criterion is not None and isinstance(busy.value, float):
        high = busy.criterion.high is not None and over(busy.value, busy.criterion.high)
        text = "the set draws no current" if high else "too much is lost before the set"
        look = "an open in the set or its cord" if high else "the loop's resistance; two sets off hook at once"
        yield finding(suspect, "line volts", text, f"{busy.shown} off hook", look, instead="another feed than planned")
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
        instead = "a meter that loads the line, or the wrong pair"
        yield finding(suspect, "line volts", text, f"{idle.shown} on hook", look, instead=instead)
    if last is not None and last.criterion is not None:
        evidence = f"{last.shown}, {last.criterion.limit}"
        look = "the loop resistance, the load on the circuit, and the supply's own volts"
        instead = "a smaller gauge than planned, or more devices than drawn"
        yield finding(suspect, "low volts", "too few volts at the last device", evidence, look, instead=instead)


def stray_volts(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A voltage on conductors that should be dead."""
    failed = suspect.failed("stray_volts")
    if failed is not None and failed.criterion is not None:
        yield finding(suspect, "stray voltage", "a voltage on dead conductors",
                      f"{failed.shown}, {failed.criterion.limit}",
                      "stop; find what feeds it: another circuit in the same box, a line-voltage cable alongside",
                      instead="a voltage that is only induced: it falls away under a small load")  # fmt: skip


def return_leg(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A class A circuit that doesn't work past an open: its way back is no way."""
    failed = suspect.failed("return_leg")
    if failed is not None:
        yield finding(suspect, "return leg", "the class A return doesn't carry the circuit",
                      "with the line opened: fail",
                      "the return's terminals at the panel and at the last device, then its loop resistance",
                      instead="out and return exchanged at the panel")  # fmt: skip


def low_insulation(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A resistance to ground that a dry conductor doesn't have, though the panel shows no fault yet."""
    ohm = suspect.number("insulation", "ohm")
    if ohm is not None and under(ohm, sign("insulation_ohm")) and suspect.failed("insulation") is None:
        yield finding(suspect, "low insulation", "little resistance to ground", f"{ohm:,.0f} ohm to ground",
                      "damp boxes and nicked insulation; before the next rain", cause=False,
                      instead="a device or a surge arrester that leads to ground")  # fmt: skip


def bonding(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A bond that resists too much, or is none."""
    failed = suspect.failed("bonding")
    if failed is None or failed.criterion is None or not isinstance(failed.value, float):
        return
    evidence = f"{failed.shown}, {failed.criterion.limit}"
    if math.isinf(failed.value):
        yield finding(suspect, "open bond", "no bond", evidence, "is the conductor there, and at both ends?",
                      instead="a lead of the meter that doesn't touch metal")  # fmt: skip
    else:
        yield finding(suspect, "poor bond", "the bond resists too much", evidence,
                      "paint or oxide under the lug, a loose screw, more lugs than one on a stud",
                      instead="a thinner or longer conductor than planned; the leads in the reading")  # fmt: skip


WIRES: Final[tuple[Pattern, ...]] = (
    stray_volts,
    open_or_short,
    return_leg,
    low_insulation,
    end_of_line,
    polarity,
    line_volts,
)

BY_MEDIUM: Final[Mapping[str, tuple[Pattern, ...]]] = {
    "coax": (video_level, coax_loss, open_or_short, polarity),
    "conductors": WIRES,
    "voice": (open_or_short, polarity, line_volts),
    "speaker": (open_or_short, polarity, *SPEAKERS),
    "battery": BATTERIES,
    "fiber": (*FIBER, polarity),
    "bonding": (bonding,),
    "balanced_pair": (),
}
"""What a medium's readings are looked at for, beside what all media share."""

FAILURES: Final = (video_level, open_or_short, end_of_line, polarity, line_volts, stray_volts, return_leg, bonding)
"""Those of them that need a failure."""
