"""Probable causes behind readings, each with its evidence and where to look first.

A cause is read from a pattern of a circuit's current readings; it says what to try, not what is
proven. Each pattern is a function of its own: a suspect in, findings out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from typing import Final

from estimator.acceptance.columns import PAIRS
from estimator.acceptance.pairs import pair_name
from estimator.calc.copper_link import corrected_length_m, parallel_ohm, unbalance
from estimator.field.expectation import EXPECTED
from estimator.field.interpret import faulty_pairs, pair_lengths, sound_lengths
from estimator.field.link_patterns import FAILED_LINKS, LIVE
from estimator.field.patterns import BY_MEDIUM, FAILURES
from estimator.field.readings import set_velocity, velocity_is_wrong, wrong_limit
from estimator.field.said import Said, Typed
from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.field.wiremap import classify
from estimator.reference.lookup import Row, table
from estimator.units.rounding import under


def findings_for(suspect: Suspect, site: Site) -> tuple[Finding, ...]:
    """Return every finding on a circuit: probable causes first, then remarks."""
    hurt = any(one.failed for one in suspect.readings) or any(said.trouble for said in suspect.said)
    patterns = _patterns(suspect.criteria.medium, hurt)
    found = [finding for pattern in patterns for finding in pattern(suspect, site)]
    return tuple(sorted(found, key=lambda finding: not finding.cause))


@cache
def _patterns(medium: str, hurt: bool) -> tuple[Pattern, ...]:
    """Return the patterns of a medium; without a failure or a contradiction those alone that need none."""
    links = LINKS if medium == "balanced_pair" else VOICE if medium == "voice" else ()
    every = (*links, *BY_MEDIUM.get(medium, ()), over_length, wrong_settings, *EXPECTED)
    return every if hurt else tuple(one for one in every if one not in ON_FAILURE)


_MAPPED: Final = {
    "open": (
        "open",
        "a conductor not seated in its contact, or a damaged cable",
        "a cord or a jack that is open, not the cable",
    ),
    "short": (
        "short",
        "two conductors touching in a contact, a staple or a crushed cable",
        "water in the cable, or something left connected at the far end",
    ),
    "reversed": (
        "reversed pair",
        "tip and ring exchanged at one end: compare both terminations with the scheme",
        "a cord that is wired so",
    ),
    "crossed": (
        "crossed pairs",
        "pairs on each other's pins at one end: compare both terminations with the scheme",
        "a crossover cord in the test",
    ),
    "fail": (
        "miswire",
        "conductors on wrong pins: compare both terminations with the scheme",
        "another scheme at one end",
    ),
    "split": (
        "split pair",
        "one conductor of each of two pairs used as a pair: terminate both ends by colors",
        "the telephone scheme at both ends",
    ),
}

SCHEME: Final = "wrong scheme"
CUT: Final = "cut or bad splice"


def wire_map_cause(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """Open, short, reversed, crossed or split pairs, with the distance on the route where there is one."""
    failed = suspect.failed("wire_map")
    cut = suspect.criteria.medium == "voice" and any(_ended(said) for said in suspect.said)
    for said in suspect.said if not cut else ():
        word = said.typed("wire_map")
        if word is None or not isinstance(word.value, str) or word.value not in _MAPPED:
            continue
        if failed is None and not said.trouble:
            continue
        kind, look, instead = _MAPPED[word.value]
        pins = said.typed("wire_map", "pins")
        mapped = classify(pins.value) if pins and isinstance(pins.value, str) else None
        pairs = mapped.pairs if mapped and mapped.word == word.value else ()
        text = kind + (f" on {' and '.join(pair_name(pair) for pair in pairs)}" if pairs else "")
        if mapped and mapped.detail:
            text = f"{text}: {mapped.detail}"
        evidence = f"wire map {word.text}" + (f", far-end pins {pins.text}" if pins else "")
        place = _fault_place(said, suspect, site) if word.value in ("open", "short") else ""
        if mapped and mapped.detail and mapped.scheme:
            kind, look = SCHEME, "look at the colors of both ends, and terminate one of them anew"
        yield finding(suspect, kind, text, evidence, look, place=place, instead=instead)


def ended_pairs(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """Pairs that end early beside pairs that don't: a cut or a bad splice at the shortest one's distance."""
    if suspect.criteria.medium == "balanced_pair" and suspect.failed("wire_map") is not None:
        return  # the map tells which pairs, and the finding on it where
    for said in suspect.said:
        ended = _ended(said)
        if not ended:
            continue
        lengths = pair_lengths(said.readings)
        shown = ", ".join(f"{pair_name(pair)} {one.text} {one.unit}" for pair, one in lengths.items())
        opens = [pair_name(one.position) for one in said.readings if one.test == "length" and one.value == math.inf]
        ohms = [f"{pair_name(one.position)} {one.text} ohm" for one in said.readings if one.test == "resistance"]
        evidence = f"lengths: {shown}" + (f"; open: {', '.join(opens)}" if opens else "")
        evidence += f"; {', '.join(ohms)}" if ohms else ""
        shortest = min(ended, key=lambda one: one.number or 0.0)
        near = site.shown(shortest.number or 0.0)
        end = said.word("tested_from") or "the end tested from"
        place = _fault_place(said, suspect, site) or f"about {near} from {end}"
        text = f"pair {pair_name(shortest.position)} ends about {near} from {end}"
        look = "open the cable there: a cut, a bad splice, a nail or a staple"
        yield finding(suspect, CUT, text, evidence, look, place=place,
                      instead="pairs of different cables behind one jack")  # fmt: skip


def _ended(said: Said) -> list[Typed]:
    """Return the pairs of a row that end well before its longest."""
    lengths = pair_lengths(said.readings)
    numbers = [one.number or 0.0 for one in lengths.values()]
    early = sign("short_pair") * max(numbers, default=0.0)
    if not numbers or not under(min(numbers), early):
        return []
    return [one for one in lengths.values() if under(one.number or 0.0, early)]


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
        instead = "the velocity of another cable set in the tester"
        yield finding(suspect, "over length", text, f"{failed.shown}{planned}", look, instead=instead)
    slow = [one for one in suspect.readings if one.test in ("delay", "skew") and one.failed]
    if slow and failed is None:
        named = ", ".join(f"{one.label} {one.shown}" for one in slow)
        yield finding(
            suspect,
            "wrong category",
            "too slow for its length",
            named,
            "cable of another category or insulation, or a limit of another link",
            instead="water or a crushed spot that slows one pair",
        )


def high_resistance(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """One pair that resists more than its neighbors, or all of them more than copper of this length."""
    if suspect.criteria.medium != "balanced_pair" or not any(one.test == "resistance" for one in suspect.readings):
        return
    loops = {pair: suspect.number("resistance", pair) for pair in PAIRS}
    known = {pair: ohm for pair, ohm in loops.items() if ohm is not None and math.isfinite(ohm)}
    if len(known) < 2:
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
            instead="a corroded contact in a jack or a cord",
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


def wrong_settings(suspect: Suspect, site: Site) -> Iterable[Finding]:
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
            yield finding(suspect, "velocity", text, _raw(said, site), look, cause=False)


def _raw(said: Said, site: Site) -> str:
    own, true = set_velocity(said), said.criteria.settings.nvp
    length = said.typed("length")
    if length is None or length.number is None or not own or not true:
        return said.row.place
    corrected = corrected_length_m(measured_m=length.number, set_nvp=own, true_nvp=true)
    return f"{site.shown(length.number)} raw, {site.shown(corrected)} corrected; {said.row.place}"


LINKS: Final[tuple[Pattern, ...]] = (wire_map_cause, ended_pairs, high_resistance, *LIVE)

ON_FAILURE: Final = frozenset((wire_map_cause, over_length, *FAILURES, *FAILED_LINKS))
"""Patterns that say nothing of a circuit on which nothing fails."""

VOICE: Final[tuple[Pattern, ...]] = (ended_pairs, wire_map_cause)
