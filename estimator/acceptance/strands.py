"""Criteria of fiber: one a strand, the loss by wavelength from components and application."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from estimator.acceptance.basis import Basis, length_criterion, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.calc.fiber import component_limit_db, counted_pairs
from estimator.reference.lookup import Row, table
from estimator.takeoff.footage import Length

MEDIUM: Final = "fiber"
_SINGLE_MODE: Final = {"OS1a": "single_mode_indoor", "OS2": "single_mode_outside_plant"}
_END_PAIRS: Final = 2
PREFERRED: Final = "one_cord"
"""Reference method where none is typed: the one that the standard prefers."""


def strand_criteria(basis: Basis, length: Length, far_end: str) -> Iterable[Criteria]:
    """Yield what each strand of a fiber cable must show."""
    cable, backbone = length.cable, length.backbone
    reference = reference_of(length)
    edition = basis.project.codes.fiber
    tests = basis.required(cable, MEDIUM)
    found = tuple(_criteria(basis, length, tests))
    application = backbone.application if backbone and backbone.application else ""
    settings = Settings(
        limit=", ".join(filter(None, (f"ANSI/TIA-{edition} {cable.fiber_class}", application))),
        reference=reference.replace("_", " "),
    )
    whole = Criteria(
        id=length.id, circuit=length.id, medium=MEDIUM, system="backbone", room=length.room, far_end=far_end,
        cable=cable.id, expected_m=length.expected_m, settings=settings, criteria=found,
    )  # fmt: skip
    for strand in range(1, max(cable.strands, 1) + 1):
        yield replace(whole, id=f"{length.id}.{strand}", row=str(strand))


def reference_of(length: Length) -> str:
    """Return the reference method: as typed for a backbone cable, one cord for a drop."""
    return (length.backbone.reference if length.backbone else None) or PREFERRED


def _criteria(basis: Basis, length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    mode = "single_mode" if length.cable.fiber_class in _SINGLE_MODE else "multimode"
    listed = table("fiber_test_wavelengths").find(mode=mode).numbers("wavelengths_nm")
    for wavelength in listed:
        yield loss_criterion(basis, length, int(wavelength), tests)
    yield length_criterion(basis, length, tests, *_reach(length))
    source = table("fiber_test_wavelengths").source
    yield words("polarity", "Polarity end to end", ("correct",), source, "polarity" in tests)


def loss_criterion(basis: Basis, length: Length, nm: int, tests: frozenset[str]) -> Criterion:
    """Return the criterion of the loss at a wavelength: the tightest of component limit,
    application budget and what the project file types.
    """
    bounds = [*_component(basis, length, nm), *_application(length, nm)]
    asked = basis.asked(length.cable)
    if asked and asked.loss_max_db is not None:
        bounds.append(Bound(name="project limit", value=asked.loss_max_db, source=f"acceptance, {asked.source.at()}"))
    least = min(bounds, key=lambda bound: bound.value) if bounds else None
    return Criterion(
        test="loss", position=str(nm), label=f"Loss at {nm} nm", unit="dB", decimals=2,
        high=least.value if least else None, required="loss" in tests, bounds=tuple(bounds),
        source=f"{least.name}: {least.source}" if least else "no limit: no attenuation is tabled for this fiber",
        confidence=least.confidence if least else "",
    )  # fmt: skip


def _component(basis: Basis, length: Length, nm: int) -> Iterable[Bound]:
    backbone, reference = length.backbone, reference_of(length)
    fiber = _SINGLE_MODE.get(length.cable.fiber_class or "", length.cable.fiber_class)
    rates = table("fiber_attenuation")
    edition = basis.project.codes.fiber
    key = {"edition": edition, "fiber": fiber, "wavelength_nm": nm}
    if not rates.has(**key):
        return
    rate = rates.find(**key)
    parts = table("fiber_component_limits")
    pair, splice = parts.find(component="connector_pair"), parts.find(component="splice")
    ends = int(table("fiber_reference_methods").find(method=reference).number("ends_counted"))
    connections, splices = (backbone.connections, backbone.splices) if backbone else (_END_PAIRS, 0)
    pairs = counted_pairs(inside_pairs=max(connections - _END_PAIRS, 0), ends_counted=ends)
    limit = component_limit_db(
        length_m=length.expected_m, db_per_km=rate.number("db_per_km"), pairs=pairs, pair_db=pair.number("most_db"),
        splices=splices, splice_db=splice.number("most_db"),
    )  # fmt: skip
    words_ = f"{rate.source}: {pairs} mated pairs, {splices} splices, {reference.replace('_', ' ')}"
    yield Bound(name="component limit", value=limit, source=words_, confidence=rate.confidence)


def _application(length: Length, nm: int) -> Iterable[Bound]:
    for row in _budgets(length):
        if int(row.number("wavelength_nm")) == nm:
            name = f"application budget, {row.text('application')}"
            yield Bound(name=name, value=row.number("loss_db"), source=row.source, confidence=row.confidence)


def _reach(length: Length) -> Iterable[Bound]:
    for row in _budgets(length):
        name = f"reach of {row.text('application')}"
        yield Bound(name=name, value=row.number("reach_m"), source=row.source, confidence=row.confidence)


def _budgets(length: Length) -> list[Row]:
    application = length.backbone.application if length.backbone else None
    if not application:
        return []
    own = length.cable.fiber_class
    kinds = (own, "single_mode" if own in _SINGLE_MODE else "multimode")
    named = application.casefold()
    return [
        row
        for row in table("fiber_applications")
        if row.text("application").casefold() == named and row.cells.get("fiber") in kinds
    ]
