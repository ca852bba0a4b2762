"""Good readings that don't fit their circuit: lengths and loops against what was expected."""

from __future__ import annotations

import math
from collections.abc import Iterable
from statistics import median_low
from typing import Final

from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.field.voice_coils import voice_coils
from estimator.reference.lookup import table
from estimator.units.rounding import over, under

OFF_EXPECTATION: Final = ("length against expectation", "thin conductor", "low resistance")
"""Kinds of findings on a good reading that doesn't fit its circuit."""

_LEADS_OHM: Final = 0.5
"""Leads, clips and terminals of a meter: no loop is compared more closely than that."""


def _cords_m(suspect: Suspect) -> float:
    """Return the cords that a channel's length and loop may have in them."""
    return table("link_lengths").find(link="cords").number("design_m") if suspect.criteria.link == "channel" else 0.0


def length_against_expectation(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A measured length that doesn't fit its circuit: the right result of the wrong cable."""
    rules, expected, length = site.project.rules, suspect.criteria.expected_m, suspect.number("length")
    if expected is None or length is None or not math.isfinite(length):
        return
    tolerance = max(rules.length_tolerance * expected, rules.length_tolerance_m)
    longest = expected + _cords_m(suspect)
    if not over(length, longest + tolerance) and not under(length, expected - tolerance):
        return
    way = "longer" if over(length, expected) else "shorter"
    evidence = f"measured {site.shown(length)}, expected {site.shown(expected)}, tolerance {site.shown(tolerance)}"
    look = "tone the cable out: it may be another circuit's, or run another way"
    yield finding(suspect, "length against expectation", f"{way} than its route", evidence, look, cause=False)


def length_against_marks(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A measured length that the footage marks on the jacket contradict: they need no velocity."""
    rules, length = site.project.rules, suspect.number("length")
    for said in suspect.said:
        near, far = said.numbers.get("mark_room"), said.numbers.get("mark_far")
        if near is None or far is None or length is None or not math.isfinite(length):
            continue
        marked = abs(near - far)
        if over(abs(length - marked), max(rules.length_tolerance * marked, rules.length_tolerance_m)):
            evidence = f"measured {site.shown(length)}, by the jacket {site.shown(marked)}"
            look = "the velocity set in the tester, then the marks: is it one cable?"
            yield finding(
                suspect, "length against jacket", "another length than its jacket says", evidence, look, cause=False
            )


def loop_against_expectation(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A loop resistance that copper of this gauge and length doesn't have."""
    expected, planned, length = (
        suspect.criteria.expected_loop_ohm,
        suspect.criteria.expected_m,
        suspect.number("length"),
    )
    if suspect.criteria.medium == "speaker":
        return  # a meter sees transformer primaries and voice coils there, not the cable alone
    loops = [one for one in suspect.readings if one.test == "resistance"]
    ohms = [one.value for one in loops if isinstance(one.value, float) and math.isfinite(one.value)]
    if not expected or not planned or not ohms:
        return
    if length is not None and math.isfinite(length) and length > 0:
        expected = expected * length / planned
    ohm, tolerance = median_low(ohms), site.project.rules.loop_tolerance
    longest = expected * (1 + _cords_m(suspect) / planned)
    evidence = f"{ohm:.2f} ohm, copper of this length has {expected:.2f} ohm"
    if over(ohm, longest * (1 + tolerance) + _LEADS_OHM):
        look = "a smaller gauge or copper-clad aluminum, or corroded terminations"
        yield finding(
            suspect,
            "thin conductor",
            "more resistance than its copper has",
            evidence,
            look,
            cause=any(one.failed for one in loops),
        )
    elif under(ohm, expected * (1 - tolerance) - _LEADS_OHM):
        look = "a short part of the way, a shorter cable than planned, or another circuit's"
        yield finding(suspect, "low resistance", "less resistance than its copper has", evidence, look, cause=False)


EXPECTED: Final[tuple[Pattern, ...]] = (
    length_against_expectation,
    length_against_marks,
    loop_against_expectation,
    voice_coils,
)
