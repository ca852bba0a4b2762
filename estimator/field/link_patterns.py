"""Patterns of a balanced pair that is live or measured over frequency: power, link, crosstalk, echoes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from typing import Final

from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding, Reading
from estimator.reference.lookup import table
from estimator.units.rounding import over, under


def low_power(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A powered device that gets too few volts or watts: the port, the way to it, or the budget."""
    bad = suspect.failed("poe", "volts") or suspect.failed("poe", "lowest") or suspect.failed("poe", "watts")
    port = suspect.failed("poe", "unloaded")
    if port is not None and port.criterion is not None and _below(port):
        evidence = f"{port.shown} without load, {port.criterion.limit}"
        look = "another port of the switch; a midspan or a switch of a lower type"
        instead = "a link that isn't plugged into the port that is planned"
        yield finding(
            suspect, "weak port", "the port gives too few volts without load", evidence, look, instead=instead
        )
    elif bad is not None and bad.criterion is not None and _below(bad):
        yield _starved(suspect, bad, bad.criterion.limit)


def _below(reading: Reading) -> bool:
    low = reading.criterion.low if reading.criterion else None
    return isinstance(reading.value, float) and low is not None and under(reading.value, low)


def _starved(suspect: Suspect, bad: Reading, limit: str) -> Finding:
    ohm, expected = _way_ohm(suspect), _expected_way(suspect)
    evidence = f"{bad.shown}, {limit}"
    if ohm is not None and expected is not None:
        evidence += f"; the way takes {ohm:.1f} ohm, its copper {expected:.1f} ohm"
        if over(ohm, expected * (1 + 2 * sign("metal_off")) + 1.0):
            look = "the pair that resists most: terminations, patch cords, a long thin cord"
            return finding(suspect, "resistance on the way", f"{bad.label} too low, lost on the way", evidence, look,
                           instead="copper-clad aluminum, or cords thinner than the plan's")  # fmt: skip
    resist = [one for one in suspect.readings if one.test == "resistance" and one.failed]
    look = "the pair that resists most" if resist else "the switch port's power class and budget, then the cable's loop"
    return finding(suspect, "low PoE", f"{bad.label} too low", evidence, look,
                   instead="a cable longer than planned, or a device that draws more than its class")  # fmt: skip


def _way_ohm(suspect: Suspect) -> float | None:
    """Return what the way to the device resists by volts without and with load [ohm], or None."""
    idle, loaded = suspect.number("poe", "unloaded"), suspect.number("poe", "volts")
    watts = suspect.number("poe", "watts")
    if idle is None or loaded is None or watts is None or not loaded > 0 or not watts > 0 or not idle > loaded:
        return None
    return (idle - loaded) / (watts / loaded)


def _expected_way(suspect: Suspect) -> float | None:
    """Return what its copper resists: both wires of each pair side by side, so half a pair's loop, or a quarter."""
    loop, pairs = suspect.criteria.expected_loop_ohm, suspect.reading("poe", "pairs")
    if not loop:
        return None
    return loop / (4 if pairs is not None and pairs.value == "all four" else 2)


def wandering_power(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Volts that move while somebody watches: what a device does that drops out now and then."""
    volts, lowest = suspect.number("poe", "volts"), suspect.number("poe", "lowest")
    if volts is None or lowest is None or not over(volts - lowest, sign("wander")):
        return
    evidence = f"{volts:.1f} V, down to {lowest:.1f} V while watched"
    look = "a loose plug or contact; then the switch's budget while its other ports draw"
    instead = "a device that starts again and again by itself"
    yield finding(suspect, "wandering PoE", "the volts wander", evidence, look, instead=instead)


def link_state(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """No link, a slower link than the application needs, or one that was set by hand at one end."""
    if suspect.failed("switch_port") is not None and suspect.failed("wire_map") is None:
        look = "the port's state and patch cord; which port the light, the switch's table or a trace finds"
        yield finding(suspect, "no link", "no link at the switch", "switch port: no link", look,
                      instead="a device without power, or another port than planned")  # fmt: skip
    slow = suspect.failed("link_speed")
    if slow is not None and slow.criterion is not None and isinstance(slow.value, float):
        two = [row for row in table("link_speeds") if row.number("mbps") == slow.value and len(row.texts("pairs")) == 2]
        text = "fell back to the two pairs 1-2 and 3-6" if two else "a slower link than its application needs"
        look = "pairs 4-5 and 7-8 at both ends" if two else "margins over frequency, and what the switch and device can"
        yield finding(suspect, "slow link", text, f"{slow.shown}, {slow.criterion.limit}", look,
                      instead="a port or a device that is set to this speed")  # fmt: skip
    if suspect.failed("duplex") is not None:
        yield finding(suspect, "half duplex", "one end's speed is set by hand", "half duplex",
                      "set both ends to negotiate", instead="an old device that knows no full duplex")  # fmt: skip


_OVER_FREQUENCY: Final = {
    "return_loss": (
        "echo",
        "the link echoes",
        "kinks, tight bends and ties; plugs and jacks that don't belong to the cable",
        "water in the cable, or a cord of another impedance",
    ),
    "insertion_loss": (
        "lossy link",
        "it loses more than its limit",
        "its length, then its loop resistance; where it runs hot",
        "cable of a lower category or of copper-clad aluminum",
    ),
}


def over_frequency(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Margins below zero: crosstalk at a termination or a split pair, an echo, loss."""
    for test in ("next", "psnext", "acrf", "psacrf"):
        failed = suspect.failed(test)
        if failed is not None and isinstance(failed.value, float):
            yield _crosstalk(suspect, failed, failed.value)
            break
    for test, words in _OVER_FREQUENCY.items():
        failed = suspect.failed(test)
        if failed is not None and suspect.criteria.medium == "balanced_pair":
            kind, text, look, instead = words
            yield finding(suspect, kind, text, f"{failed.label} {failed.shown}", look, instead=instead)


def _crosstalk(suspect: Suspect, failed: Reading, margin_db: float) -> Finding:
    evidence = f"{failed.label} {failed.shown}: {margin_db:.1f} dB"
    if under(margin_db, -sign("split_db")):
        return finding(suspect, "split pair", "split pair, by its crosstalk", evidence,
                       "colors against the scheme at both ends: pins alone look right",
                       instead="a coupler or an untwisted joint on the way")  # fmt: skip
    return finding(suspect, "crosstalk", "crosstalk near a termination", evidence,
                   "re-terminate with the twist kept up to the contacts, this end first",
                   instead="cable or jack of a lower category, or a crushed spot")  # fmt: skip


def split_pairs(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A split pair that an instrument found beside a sound wire map."""
    failed = suspect.failed("split_pair")
    if failed is not None and suspect.failed("wire_map") is None:
        yield finding(suspect, "split pair", "split pair", f"split pairs: {failed.text}",
                      "terminate both ends by colors: pins look right in a map",
                      instead="the telephone scheme at both ends")  # fmt: skip


def past_design(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A length that passes and is longer than the link is designed: its place is in the as-built record."""
    length, reading = suspect.number("length"), suspect.reading("length")
    if suspect.criteria.medium != "balanced_pair" or length is None or reading is None or reading.failed:
        return
    design_m = _design_m(suspect.criteria.link)
    if design_m is None or not math.isfinite(length):
        return
    if over(length, design_m) and reading.criterion is not None:
        evidence = f"measured {site.shown(length)}, designed for {site.shown(design_m)}, {reading.criterion.limit}"
        look = "nothing to mend: note it in the as-built record, and let no cord grow"
        yield finding(suspect, PAST_DESIGN, "past the design length, inside the propagation allowance", evidence, look,
                      cause=False)  # fmt: skip


@cache
def _design_m(link: str) -> float | None:
    """Return how long a kind of link is designed [m], or None where none is tabled."""
    lengths = table("link_lengths")
    return lengths.find(link=link).number("design_m") if link and lengths.has(link=link) else None


PAST_DESIGN: Final = "past the design length"

LIVE: Final[tuple[Pattern, ...]] = (
    low_power,
    wandering_power,
    link_state,
    split_pairs,
    over_frequency,
    past_design,
)

FAILED_LINKS: Final = (low_power, link_state, split_pairs, over_frequency)
"""Those of them that need a failure."""
