"""Patterns of fiber readings: a bad reference, a dirty connector, a bend."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import Final

from estimator.acceptance.columns import FAR_END
from estimator.calc.formula import Expression
from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import CircuitResult, Finding, Reading
from estimator.reference.lookup import table
from estimator.units.rounding import over, under

BAD_REFERENCE: Final = "bad reference"

FLOOR: Final = Expression("scattering * length_km / wavelength_um ** exponent")
"""Least loss of the glass itself [dB]: Rayleigh scattering."""

_LEAST_STRANDS: Final = 4  # of one reference, from which "all alike" says something


def fiber_loss(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Too much or too little loss: less than glass has is a bad reference, more at the longer wave is a bend."""
    if suspect.criteria.medium != "fiber":
        return
    for said in suspect.said:
        gains = [one for one in said.readings if one.test == "loss" and one.number is not None and one.number < 0]
        if gains:
            yield _reference(
                suspect, f"{_with_db(gains[0].text)} at {nm_of(gains[0].position)} nm: a strand can't gain"
            )
            return
    losses = [one for one in suspect.readings if one.test == "loss" and isinstance(one.value, float)]
    known = sorted(
        ((nm_of(one.position), one, excess_db(one)) for one in losses if math.isfinite(float(one.value or 0))),
        key=lambda each: (each[0], each[1].position),
    )
    for nm, one, _ in known:
        least = _floor_db(nm, suspect.criteria.expected_m or 0.0)
        if isinstance(one.value, float) and under(one.value + (one.accuracy or 0.0), least):
            yield _reference(suspect, f"{one.shown} at {nm} nm, the glass alone has {least:.2f} dB")
            return
    if not any(one.failed for one in losses):
        return
    if known:
        yield _lossy(suspect, known)
    else:
        evidence = f"loss {losses[0].text}: no light arrives"
        look = "polarity and connectors, then a reflection trace: where does it end?"
        yield finding(suspect, "no light", "broken or not connected", evidence, look, instead="strands exchanged")


def _with_db(text: str) -> str:
    """Return a loss as typed with its unit, once."""
    return text if text.casefold().endswith("db") else f"{text} dB"


def _reference(suspect: Suspect, evidence: str) -> Finding:
    look = "clean the reference cords, set the reference again by the method of the plan, test its strands again"
    return finding(suspect, BAD_REFERENCE, "the reference is bad", evidence, look,
                   instead="another reference method than the one that is named")  # fmt: skip


def nm_of(position: str) -> int:
    """Return the wavelength of a loss's position, whichever direction it was read in [nm]."""
    return int(position.removesuffix(FAR_END).strip())


def excess_db(reading: Reading) -> float:
    """Return by how much a loss is over what its components may lose [dB]; below zero it is under it."""
    criterion = reading.criterion
    if criterion is None or not isinstance(reading.value, float):
        return 0.0
    component = next((bound.value for bound in criterion.bounds if bound.name == "component limit"), criterion.high)
    return reading.value - (component or 0.0)


def _floor_db(nm: int, length_m: float) -> float:
    facts = table("fiber_floor")
    return FLOOR(
        scattering=facts.find(name="scattering").number("value"),
        exponent=facts.find(name="exponent").number("value"),
        length_km=length_m / 1000,
        wavelength_um=nm / 1000,
    )


def _lossy(suspect: Suspect, known: Sequence[tuple[int, Reading, float]]) -> Finding:
    evidence = ", ".join(f"{one.shown} at {nm} nm" for nm, one, _ in known)
    shorter, longer = known[0], known[-1]
    if longer[0] > shorter[0] and over(longer[2] - shorter[2], sign("wavelengths_db")):
        look = "tight bends and ties, most of all at trays and boxes"
        instead = "a splice that is off center"
        return finding(suspect, "bend", "bent fiber", evidence, look, instead=instead)
    return finding(
        suspect,
        "connector loss",
        "dirty or bad connection",
        evidence,
        "inspect and clean both end faces and the reference cords, then test again",
        instead="a reference cord that is worn, where other strands of its reference are off too",
    )


def references(judged: Iterable[CircuitResult]) -> Iterable[Finding]:
    """Yield a bad reference where all strands of one reference are over their limits, and by about as much."""
    groups: dict[object, list[tuple[CircuitResult, Mapping[int, float]]]] = {}
    for one in judged:
        if one.criteria.medium != "fiber":
            continue
        losses = [each for each in one.readings if each.test == "loss" and isinstance(each.value, float)]
        if losses:
            row = losses[0].row
            key = (one.criteria.circuit, row.cells.get("instrument"), row.cells.get("date"), row.cells.get("person"))
            found = {nm_of(each.position): excess_db(each) for each in losses if math.isfinite(excess_db(each))}
            groups.setdefault(key, []).append((one, found))
    for members in groups.values():
        yield from _alike(members)


def _alike(members: Sequence[tuple[CircuitResult, Mapping[int, float]]]) -> Iterable[Finding]:
    if len(members) < _LEAST_STRANDS or not all(one.word == "fail" for one, _ in members):
        return
    waves = set.intersection(*(set(found) for _, found in members))
    for nm in sorted(waves):
        values = [found[nm] for _, found in members]
        middle = median(values)
        if not over(middle, 0.0) or over(max(abs(value - middle) for value in values), sign("one_strand_db")):
            continue
        for one, _ in members:
            yield Finding(
                kind=BAD_REFERENCE,
                circuit=one.id,
                text="all strands of one reference are off alike",
                evidence=f"{len(members)} strands, each about {middle:.2f} dB over what its components may lose "
                f"at {nm} nm",
                look="set the reference again with clean cords, and test its strands again",
                cause=True,
                instead="a panel whose couplers are all of one bad kind",
            )
        return


FIBER: Final[tuple[Pattern, ...]] = (fiber_loss,)
