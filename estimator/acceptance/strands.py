"""Criteria of fiber: one a strand, the loss by wavelength from components and application."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from estimator.acceptance.basis import Basis, length_criterion, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.acceptance.lines import system_of
from estimator.reference.lookup import table
from estimator.takeoff.fiber_links import FiberLink, Wave, fiber_link
from estimator.takeoff.footage import Length
from estimator.takeoff.needs import counted

MEDIUM: Final = "fiber"


def strand_criteria(basis: Basis, length: Length, far_end: str) -> Iterable[Criteria]:
    """Yield what each strand of a fiber cable must show."""
    cable = length.cable
    link = fiber_link(length, basis.project)
    edition = basis.project.codes.fiber
    tests = basis.tests_of(length, MEDIUM)
    found = tuple(_criteria(basis, length, link, tests))
    application = link.made.application if link.applications or length.backbone is not None else None
    settings = Settings(
        limit=", ".join(filter(None, (f"ANSI/TIA-{edition} {cable.fiber_class}", application))),
        reference=link.made.reference.replace("_", " "),
    )
    whole = Criteria(
        id=length.id,
        circuit=length.id,
        medium=MEDIUM,
        system=system_of(length, "backbone"),
        room=length.room,
        far_end=far_end,
        cable=cable.id,
        expected_m=length.expected_m,
        settings=settings,
        criteria=found,
    )
    for number in range(1, max(cable.strands, 1) + 1):
        yield replace(whole, id=f"{length.id}.{number}", row=str(number))


def _criteria(basis: Basis, length: Length, link: FiberLink, tests: frozenset[str]) -> Iterable[Criterion]:
    for wave in link.waves:
        yield _loss(basis, length, link, wave, tests)
    yield length_criterion(basis, length, tests, *_reach(link))
    source = table("fiber_test_wavelengths").source
    yield words("polarity", "Polarity end to end", ("correct",), source, "polarity" in tests)


def _loss(basis: Basis, length: Length, link: FiberLink, wave: Wave, tests: frozenset[str]) -> Criterion:
    """Return the criterion of the loss at a wavelength: the tightest of component limit,
    application budget and what the project file types.
    """
    bounds = list(_bounds(link, wave))
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


def _bounds(link: FiberLink, wave: Wave) -> Iterable[Bound]:
    pairs, splices = counted(link.pairs, "mated pair"), counted(link.made.splices, "splice")
    made = f"{pairs}, {splices}, {link.made.reference.replace('_', ' ')}"
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
    equipment = link.made.equipment
    if wave.equipment_db is not None and equipment is not None:
        said = f"equipment, {equipment.source.at()}"
        yield Bound(name="power budget of the equipment", value=wave.equipment_db, source=said)


def _reach(link: FiberLink) -> Iterable[Bound]:
    for row in link.applications:
        name = f"reach of {row.text('application')}"
        yield Bound(name=name, value=row.number("reach_m"), source=row.source, confidence=row.confidence)
