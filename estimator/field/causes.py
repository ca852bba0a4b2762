"""Probable causes behind readings, each with its evidence and where to look first.

A cause is read from a pattern of a circuit's current readings; it says what to try, not what is
proven. Each pattern is a function of its own: a suspect in, findings out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from estimator.acceptance.columns import PAIRS
from estimator.acceptance.pairs import pair_name
from estimator.calc.copper_link import parallel_ohm, unbalance
from estimator.field.expectation import EXPECTED
from estimator.field.interpret import Said, faulty_pairs, pair_lengths, sound_lengths
from estimator.field.patterns import OTHERS
from estimator.field.readings import set_velocity, velocity_is_wrong, wrong_limit
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.field.wiremap import classify
from estimator.reference.lookup import Row, table
from estimator.units.rounding import under


def findings_for(suspect: Suspect, site: Site) -> tuple[Finding, ...]:
    """Return every finding on a circuit: probable causes first, then remarks."""
    found = [finding for pattern in (*LINKS, *OTHERS, *EXPECTED) for finding in pattern(suspect, site)]
    return tuple(sorted(found, key=lambda finding: not finding.cause))


_MAPPED: Final = {
    "open": ("open", "a conductor not seated in its contact, or a damaged cable"),
    "short": ("short", "two conductors touching in a contact, a staple or a crushed cable"),
    "reversed": ("reversed pair", "tip and ring exchanged at one end: compare both terminations with the scheme"),
    "crossed": ("crossed pairs", "pairs on each other's pins at one end: compare both terminations with the scheme"),
    "fail": ("miswire", "conductors on wrong pins: compare both terminations with the scheme"),
    "split": ("split pair", "one conductor of each of two pairs used as a pair: terminate both ends by colors"),
}


def wire_map_cause(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """Open, short, reversed, crossed or split pairs, with the distance on the route where there is one."""
    failed = suspect.failed("wire_map")
    for said in suspect.said:
        word = said.typed("wire_map")
        if word is None or not isinstance(word.value, str) or word.value not in _MAPPED:
            continue
        if failed is None and not said.trouble:
            continue
        kind, look = _MAPPED[word.value]
        pins = said.typed("wire_map", "pins")
        mapped = classify(pins.value) if pins and isinstance(pins.value, str) else None
        pairs = mapped.pairs if mapped and mapped.word == word.value else ()
        text = kind + (f" on {' and '.join(pair_name(pair) for pair in pairs)}" if pairs else "")
        if mapped and mapped.detail:
            text = f"{text}: {mapped.detail}"
        evidence = f"wire map {word.text}" + (f", far-end pins {pins.text}" if pins else "")
        place = _fault_place(said, suspect, site) if word.value in ("open", "short") else ""
        yield finding(suspect, kind, text, evidence, look, place=place)


def _fault_place(said: Said, suspect: Suspect, site: Site) -> str:
    """Return where a pair ends early, by the least distance that a faulty pair reports."""
    distance = fault_distance_m(said)
    if distance is None:
        return ""
    lengths, sound = pair_lengths(said.readings), sound_lengths(said.readings)
    whole = [number for pair in sound if (number := lengths[pair].number) is not None]
    return site.place(suspect, distance, said, min(whole, default=None))


def fault_distance_m(said: Said) -> float | None:
    """Return the distance to the nearest fault that a row reports [m], or None."""
    lengths = pair_lengths(said.readings)
    faulty = faulty_pairs(said.readings)
    sound = sound_lengths(said.readings)
    ended = [one.number for pair, one in lengths.items() if (pair in faulty if faulty else pair not in sound)]
    found = [number for number in ended if number is not None]
    if found:
        return min(found)
    own = said.typed("length")
    return own.distance if own is not None else None


def over_length(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A length, delay or skew over its limit."""
    failed = suspect.failed("length")
    length, expected = suspect.number("length"), suspect.criteria.expected_m
    if failed is not None and length is not None and failed.criterion and failed.criterion.high is not None:
        excess = length - failed.criterion.high
        text = f"over length by {site.shown(excess)}" if math.isfinite(excess) else "beyond the instrument's range"
        planned = f", expected {site.shown(expected)}" if expected else ""
        look = "a longer route or a coil than planned, another cable, or the velocity of another cable"
        yield finding(suspect, "over length", text, f"{failed.shown}{planned}", look)
    slow = [one for one in suspect.readings if one.test in ("delay", "skew") and one.failed]
    if slow and failed is None:
        named = ", ".join(f"{one.label} {one.shown}" for one in slow)
        yield finding(
            suspect,
            "wrong category",
            "too slow for its length",
            named,
            "cable of another category or insulation, or a limit of another link",
        )


def high_resistance(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """One pair that resists more than its neighbors, or all of them more than copper of this length."""
    loops = {pair: suspect.number("resistance", pair) for pair in PAIRS}
    known = {pair: ohm for pair, ohm in loops.items() if ohm is not None and math.isfinite(ohm)}
    if suspect.criteria.medium != "balanced_pair" or len(known) < 2:
        return
    row = table("link_resistance").find(link=suspect.criteria.link or "permanent_link")
    worst = max(known, key=lambda pair: known[pair])
    others = sorted(ohm for pair, ohm in known.items() if pair != worst)
    middle = others[len(others) // 2]
    if known[worst] > 0 and middle > 0 and not _alike(known[worst], middle, row):
        evidence = f"{known[worst]:.2f} ohm against {middle:.2f} ohm of the other pairs ({row.source})"
        yield finding(
            suspect,
            "high-resistance termination",
            f"high-resistance termination on {pair_name(worst)}",
            evidence,
            "re-terminate this pair at both ends; look for a nicked conductor",
        )


def _alike(first_ohm: float, second_ohm: float, row: Row) -> bool:
    """Return whether two loops differ no more than the standard lets pairs differ.

    It compares pairs by their two conductors side by side; a loop is taken as two like ones in series.
    """
    first, second = (parallel_ohm(first_ohm=ohm / 2, second_ohm=ohm / 2) for ohm in (first_ohm, second_ohm))
    return unbalance(
        first_ohm=first,
        second_ohm=second,
        percent=row.number("between_pairs_percent"),
        floor_ohm=row.number("between_pairs_floor_ohm"),
    ).within


def wrong_settings(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A limit, an adapter or a velocity that isn't the circuit's."""
    for said in suspect.said:
        wrong = wrong_limit(said)
        if wrong:
            yield finding(
                suspect,
                "wrong limit",
                wrong,
                said.row.place,
                "set the tester as the test plan says and test again",
                cause=True,
            )
        if said.trouble:
            yield finding(
                suspect,
                "contradiction",
                said.trouble,
                said.row.place,
                "look at the instrument's own record; test again where it can't be cleared up",
                cause=False,
            )
        own, true = set_velocity(said), said.criteria.settings.nvp
        if velocity_is_wrong(said) and own and true:
            text, look = f"velocity set to {own:.0%}, the cable's is {true:.0%}", "set the velocity of this cable"
            yield finding(suspect, "velocity", text, _raw(said), look, cause=False)


def _raw(said: Said) -> str:
    own, true = set_velocity(said), said.criteria.settings.nvp
    length = said.typed("length")
    if length is None or length.number is None or not own or not true:
        return said.row.place
    unit = f"{length.number:.2f} m raw, {length.number * true / own:.2f} m corrected"
    return f"{unit}; {said.row.place}"


def power_too_low(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A powered device that gets too few volts or watts."""
    volts, watts = suspect.failed("poe", "volts"), suspect.failed("poe", "watts")
    bad = volts or watts
    if bad is None or bad.criterion is None:
        return
    value = bad.value if isinstance(bad.value, float) else math.nan
    if not under(value, bad.criterion.low or 0.0):
        return
    resist = [one for one in suspect.readings if one.test == "resistance" and one.failed]
    look = "the pair that resists most" if resist else "the switch port's power class and budget, then the cable's loop"
    yield finding(suspect, "low PoE", f"{bad.label} too low", f"{bad.shown}, {bad.criterion.limit}", look)


LINKS: Final[tuple[Pattern, ...]] = (
    wire_map_cause,
    over_length,
    high_resistance,
    power_too_low,
    wrong_settings,
)
