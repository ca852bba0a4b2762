"""Good readings that don't fit their circuit: lengths and loops against what was expected."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from statistics import median_low
from typing import Final

from estimator.calc.copper_link import corrected_length_m
from estimator.calc.formula import Expression
from estimator.field.readings import set_velocity, velocity_is_wrong
from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding
from estimator.field.voice_coils import voice_coils
from estimator.reference.lookup import table
from estimator.units.rounding import over, under

CLAD: Final = "copper-clad aluminum"
OFF_EXPECTATION: Final = ("length against expectation", "thin conductor", CLAD, "low resistance")
"""Kinds of findings on a good reading that doesn't fit its circuit."""

GAUGE_STEP: Final = Expression("92 ** (2 * steps / 39)")
"""By how much the resistance of a wire grows with the steps of its gauge; ASTM B258."""

_LEADS_OHM: Final = 0.5
"""Leads, clips and terminals of a meter: no loop is compared more closely than that."""


def _cords_m(suspect: Suspect) -> float:
    """Return the cords that a channel's length and loop may have in them."""
    return table("link_lengths").find(link="cords").number("design_m") if suspect.criteria.link == "channel" else 0.0


def _own_length_m(suspect: Suspect) -> float | None:
    """Return the length that a cable has by its own velocity; None where a short shows the way to itself."""
    read, joined = suspect.reading("length"), suspect.reading("open_short")
    if read is None or not isinstance(read.value, float) or not math.isfinite(read.value):
        return None
    if joined is not None and joined.value == "short":
        return None
    if read.value != read.raw or read.text.startswith("marks"):
        return read.value  # corrected already, or by the jacket
    wrong = [one for one in suspect.said if one.row is read.row and velocity_is_wrong(one)]
    own, true = (set_velocity(wrong[0]), wrong[0].criteria.settings.nvp) if wrong else (None, None)
    if not own or not true:
        return read.value  # by its own velocity
    return corrected_length_m(measured_m=read.value, set_nvp=own, true_nvp=true)


def length_against_expectation(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A measured length that doesn't fit its circuit: the right result of the wrong cable."""
    rules, expected, length = site.project.rules, suspect.criteria.expected_m, _own_length_m(suspect)
    if expected is None or length is None:
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
        yield _thin(suspect, ohm / expected, ohms, evidence, cause=any(one.failed for one in loops))
    elif under(ohm, expected * (1 - tolerance) - _LEADS_OHM):
        look = "a short part of the way, a shorter cable than planned, or another circuit's"
        yield finding(suspect, "low resistance", "less resistance than its copper has", evidence, look, cause=False)


def _thin(suspect: Suspect, ratio: float, ohms: Sequence[float], evidence: str, *, cause: bool) -> Finding:
    """Return what a conductor is that resists more than copper of its gauge: another metal, a thinner gauge.

    Clad aluminum and copper two gauges thinner differ by little; a four-pair cable is first the one,
    a cable whose gauge is chosen on site the other.
    """
    alike = max(ohms) - min(ohms) <= sign("pairs_alike") * max(ohms)
    evidence += f": {ratio:.2f} times" + (", on all pairs alike" if len(ohms) > 1 and alike else "")
    clad = [row.number("ratio_to_copper") for row in table("metals") if "aluminum" in row.text("metal")]
    steps = {count: GAUGE_STEP(steps=count) for count in (1, 2)}
    near = 1 + sign("metal_off")
    as_clad = not under(ratio, min(clad) / near) and not over(ratio, max(clad) * near)
    gauge = next((count for count, own in steps.items() if not over(max(ratio / own, own / ratio), near)), None)
    thinner = f"conductors {'a gauge' if gauge == 1 else 'two gauges'} thinner than planned"
    if as_clad and alike and suspect.criteria.medium == "balanced_pair":
        text, look = "copper-clad aluminum by its resistance", "scrape a conductor: is it white under its copper?"
        return finding(suspect, CLAD, text, evidence, look, cause=cause, instead=thinner if gauge else "")
    if gauge is not None and suspect.criteria.medium != "coax":
        look = "the gauge printed on the jacket"
        instead = "copper-clad aluminum" if as_clad else "corroded terminations"
        return finding(suspect, "thin conductor", thinner, evidence, look, cause=cause, instead=instead)
    look = "a smaller gauge or copper-clad aluminum, or corroded terminations"
    return finding(suspect, "thin conductor", "more resistance than its copper has", evidence, look, cause=cause,
                   instead="a longer way than planned")  # fmt: skip


EXPECTED: Final[tuple[Pattern, ...]] = (
    length_against_expectation,
    length_against_marks,
    loop_against_expectation,
    voice_coils,
)
