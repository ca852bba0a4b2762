"""Criteria of fiber: one a strand, the loss by wavelength from components and application."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from estimator.acceptance.basis import Basis, length_criterion, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.reference.lookup import table
from estimator.takeoff.fiber_links import Strand, Wave, strand_of
from estimator.takeoff.footage import Length

MEDIUM: Final = "fiber"


def strand_criteria(basis: Basis, length: Length, far_end: str) -> Iterable[Criteria]:
    """Yield what each strand of a fiber cable must show."""
    cable, backbone = length.cable, length.backbone
    strand = strand_of(length, basis.project)
    edition = basis.project.codes.fiber
    tests = basis.tests_of(length, MEDIUM)
    found = tuple(_criteria(basis, length, strand, tests))
    application = backbone.application if backbone and backbone.application else ""
    settings = Settings(
        limit=", ".join(filter(None, (f"ANSI/TIA-{edition} {cable.fiber_class}", application))),
        reference=strand.reference.replace("_", " "),
    )
    whole = Criteria(
        id=length.id,
        circuit=length.id,
        medium=MEDIUM,
        system="backbone",
        room=length.room,
        far_end=far_end,
        cable=cable.id,
        expected_m=length.expected_m,
        settings=settings,
        criteria=found,
    )
    for number in range(1, max(cable.strands, 1) + 1):
        yield replace(whole, id=f"{length.id}.{number}", row=str(number))


def _criteria(basis: Basis, length: Length, strand: Strand, tests: frozenset[str]) -> Iterable[Criterion]:
    for wave in strand.waves:
        yield _loss(basis, length, strand, wave, tests)
    yield length_criterion(basis, length, tests, *_reach(strand))
    source = table("fiber_test_wavelengths").source
    yield words("polarity", "Polarity end to end", ("correct",), source, "polarity" in tests)


def _loss(basis: Basis, length: Length, strand: Strand, wave: Wave, tests: frozenset[str]) -> Criterion:
    """Return the criterion of the loss at a wavelength: the tightest of component limit,
    application budget and what the project file types.
    """
    bounds = list(_bounds(strand, wave))
    asked = basis.asked(length.cable)
    if asked and asked.loss_max_db is not None:
        bounds.append(Bound(name="project limit", value=asked.loss_max_db, source=f"acceptance, {asked.source.at()}"))
    least = min(bounds, key=lambda bound: bound.value)
    return Criterion(
        test="loss",
        position=str(wave.nm),
        label=f"Loss at {wave.nm} nm",
        unit="dB",
        decimals=2,
        high=least.value,
        required="loss" in tests,
        bounds=tuple(bounds),
        source=f"{least.name}: {least.source}",
        confidence=least.confidence,
    )


def _bounds(strand: Strand, wave: Wave) -> Iterable[Bound]:
    made = f"{strand.pairs} mated pairs, {strand.splices} splices, {strand.reference.replace('_', ' ')}"
    yield Bound(
        name="component limit",
        value=wave.component_db,
        source=f"{wave.rate.source}: {made}",
        confidence=wave.rate.confidence,
    )
    row = wave.application
    if row is not None:
        name = f"application budget, {row.text('application')}"
        yield Bound(name=name, value=row.number("loss_db"), source=row.source, confidence=row.confidence)


def _reach(strand: Strand) -> Iterable[Bound]:
    for row in strand.applications:
        name = f"reach of {row.text('application')}"
        yield Bound(name=name, value=row.number("reach_m"), source=row.source, confidence=row.confidence)
