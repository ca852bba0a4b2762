"""Criteria of balanced-pair links: permanent link, channel, modular plug terminated link."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Final

from estimator.acceptance.basis import Basis, fire_alarm, length_criterion, limit_row, loop_bound, words
from estimator.acceptance.columns import PAIRS, SPLIT_WORDS
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.acceptance.over_frequency import limits_resistance, low_loss, margin_criteria
from estimator.calc.copper_link import field_limit_m
from estimator.reference.lookup import Row, table
from estimator.spec.cabling import DeviceType
from estimator.takeoff.footage import LINK_CATEGORIES, Length
from estimator.takeoff.link_lengths import application_of, reach_of
from estimator.takeoff.poe import class_of, least_by_poe, power_classes, takes_power

MEDIUM: Final = "balanced_pair"
LINK_WORDS: Final = {
    "permanent_link": "permanent link",
    "channel": "channel",
    "modular_plug_terminated_link": "modular plug terminated link",
}
_ADAPTERS: Final = {
    "permanent_link": "permanent link",
    "channel": "channel",
    "modular_plug_terminated_link": "plug",
}
_NS: Final = 1e-9


def pair_name(position: str) -> str:
    """Return a pair for people: ``3-6``."""
    return f"{position[0]}-{position[1]}"


def link_of(basis: Basis, length: Length) -> str:
    """Return how a link is tested: as typed, else by how the device end is terminated."""
    asked = basis.asked(length.cable)
    if asked and asked.link:
        return asked.link
    device = length.run.device if length.run else None
    return "modular_plug_terminated_link" if device and device.end == "plug" else "permanent_link"


def limit_name(edition: str, category: str, link: str) -> str:
    """Return the limit to enter, with its edition."""
    return f"ANSI/TIA-{edition} Category {category} {LINK_WORDS[link]}"


def pair_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what a balanced-pair circuit must show."""
    cable, run = length.cable, length.run
    asked = basis.asked(cable)
    category = basis.category(length)
    link = link_of(basis, length)
    edition = basis.project.codes.cabling
    limited = category in LINK_CATEGORIES
    settings = _settings(edition, category, link if limited else "", cable.nvp, "nvp" not in cable.typical)
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium=MEDIUM,
        link=link,
        category=category,
        room=length.room,
        system=run.device.system if run and run.device else "data",
        far_end=far_end,
        cable=cable.id,
        scheme=run.drop.wire_map if run else "T568B",
        expected_m=length.expected_m,
        expected_loop_ohm=basis.loop_ohm(length),
        settings=settings,
        life_safety=fire_alarm(length),
        criteria=_shared(basis, length, link, limited),
        low_loss=low_loss(asked) if limited else (),
    )


@cache
def _settings(edition: str, category: str, link: str, nvp: float | None, nvp_typed: bool) -> Settings:
    """Return what is entered before the test; ``link`` is empty where no limit is."""
    if not link:
        return Settings(nvp=nvp, nvp_typed=nvp_typed)
    limit = limit_name(edition, category, link)
    return Settings(limit=limit, adapter=_ADAPTERS[link], nvp=nvp, nvp_typed=nvp_typed)


def _shared(basis: Basis, length: Length, link: str, limited: bool) -> tuple[Criterion, ...]:
    """Return the criteria of a link; runs of one cable, device and length share them."""
    if length.run is None or length.circuit is not None:
        return tuple(_criteria(basis, length, link, limited))
    key = (*_kind(length), length.expected_m)
    if key not in basis.alike:
        basis.alike[key] = tuple(_criteria(basis, length, link, limited))
    return basis.alike[key]


def _kind(length: Length) -> tuple[str | bool, ...]:
    """Return what the criteria of a run hang on beside its length."""
    run = length.run
    assert run is not None
    return length.cable.id, run.device.id if run.device else "", run.first, run.drop.wire_map


def _criteria(basis: Basis, length: Length, link: str, limited: bool) -> Iterable[Criterion]:
    tests = basis.tests_of(length, MEDIUM)
    scheme = length.run.drop.wire_map if length.run else "T568B"
    standard = table("wire_map").source
    yield words("wire_map", f"Wire map, {scheme} at both ends", ("pass",), standard, "wire_map" in tests)
    yield length_criterion(basis, length, tests, *_length_bounds(link, limited), *_reach(length))
    if limited:
        yield from _timing(link, tests)
    yield from _loops(basis, length, link, limited, tests)
    yield from _rest(basis, length, link, limited, tests)


def _rest(basis: Basis, length: Length, link: str, limited: bool, tests: frozenset[str]) -> Iterable[Criterion]:
    """Return the criteria behind the loops, none of which hangs on the length."""
    if length.run is None or length.circuit is not None:
        return _whatever_its_length(basis, length, link, limited, tests)
    key = _kind(length)
    if key not in basis.alike:
        basis.alike[key] = tuple(_whatever_its_length(basis, length, link, limited, tests))
    return basis.alike[key]


def _whatever_its_length(
    basis: Basis, length: Length, link: str, limited: bool, tests: frozenset[str]
) -> Iterable[Criterion]:
    run = length.run
    if run is not None and run.device is not None and run.first and takes_power(run):
        yield from _power(run.device, tests)
    if "switch_port" in tests:
        yield words("switch_port", "Switch port", ("link",), "acceptance of the project", True)
    yield from _asked_for(length, tests)
    if limited:
        yield from margin_criteria(basis.category(length), link, tests)


def _asked_for(length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    """Yield split pairs, the speed of the link, and records that the project file asks for."""
    crosstalk = "crosstalk between pairs; continuity can't tell a split pair"
    yield words("split_pair", "Split pairs", SPLIT_WORDS[:1], crosstalk, "split_pair" in tests)
    name, speeds = application_of(length), table("link_speeds")
    if name is not None and speeds.has(application=name):
        row = speeds.find(application=name)
        yield Criterion(
            test="link_speed",
            label=f"Link speed, {name}",
            unit="Mb/s",
            decimals=0,
            low=row.number("mbps"),
            required="link_speed" in tests,
            source=f"{row.source}, {name}",
            confidence=row.confidence,
        )
        yield words("duplex", "Duplex", ("full",), f"{row.source}, {name}", False)
    for test, label in (("port_found", "Switch port as found"), ("marker", "Far-end marker")):
        if test in tests:
            yield Criterion(test=test, label=label, required=True, source="a record, asked for by the project file")


@cache
def _length_bounds(link: str, limited: bool) -> tuple[Bound, ...]:
    if not limited:
        return ()
    row = table("link_lengths").find(link=link)
    value = field_limit_m(design_m=row.number("design_m"), field_allowance=row.number("field_allowance"))
    source, trust = row.text("field_source"), row.text("field_confidence")
    return (Bound(name="field limit", value=value, source=f"{row.source}; {source}", confidence=trust),)


def _reach(length: Length) -> Iterable[Bound]:
    """Yield how far the application of the circuit's device, or of the backbone cable, is tabled to reach."""
    row = reach_of(length)
    if row is not None:
        name = f"reach of {row.text('application')}"
        yield Bound(name=name, value=row.number("reach_m"), source=row.source, confidence=row.confidence)


@cache
def _timing(link: str, tests: frozenset[str]) -> tuple[Criterion, ...]:
    """Return the criteria of delay and skew, which every circuit of a kind shares."""
    row = table("link_delay").find(link=link)
    delays = [
        Criterion(
            test="delay",
            position=position,
            label=f"Delay, pair {pair_name(position)}",
            unit="ns",
            si=_NS,
            decimals=0,
            high=row.number("delay_ns") * _NS,
            required="delay" in tests,
            source=row.source,
            confidence=row.text("delay_confidence"),
        )
        for position in PAIRS
    ]
    skew = Criterion(
        test="skew",
        label="Delay skew",
        unit="ns",
        si=_NS,
        decimals=0,
        high=row.number("skew_ns") * _NS,
        required="skew" in tests,
        source=row.source,
        confidence=row.text("skew_confidence"),
    )
    return (*delays, skew)


def _loops(basis: Basis, length: Length, link: str, limited: bool, tests: frozenset[str]) -> Iterable[Criterion]:
    bounds = loop_bound(basis, length.cable)
    if limited and limits_resistance(basis.project.codes.cabling):
        bounds = (*bounds, _link_limit(link))
    bounds = bounds or (_closed_loop(),)
    expected = basis.loop_ohm(length)
    least = min(bounds, key=lambda bound: bound.value)
    for position in PAIRS:
        yield Criterion(
            test="resistance",
            position=position,
            label=f"Loop resistance, pair {pair_name(position)}",
            unit="ohm",
            decimals=2,
            high=least.value,
            required="resistance" in tests,
            bounds=bounds,
            confidence=least.confidence,
            source=f"{least.name}: {least.source}",
            expected=expected,
        )


@cache
def _link_limit(link: str) -> Bound:
    row = table("link_resistance").find(link=link)
    return Bound(name="link limit", value=row.number("loop_ohm"), source=row.source, confidence=row.confidence)


@cache
def _closed_loop() -> Bound:
    closed = limit_row("closed_loop")
    return Bound(name="closed loop", value=closed.number("high"), source=closed.source)


def _power(device: DeviceType, tests: frozenset[str]) -> Iterable[Criterion]:
    number = device.poe_class
    if number is None:
        number = class_of(device, power_classes())[0].number
    row: Row = table("poe_classes").find(**{"class": number})
    ceiling = table("poe_types").find(type=int(row.number("lowest_type")))
    typed, tabled = f"device {device.id}, {device.source.at()}", f"{row.source}, class {number}"
    own_v = least_by_poe(device)
    volts = row.number("device_min_v") if own_v is None else own_v
    watts = device.draw_w if device.draw_w is not None else row.number("device_w")
    yield Criterion(
        test="poe",
        position="volts",
        label="PoE volts at the device",
        unit="V",
        low=volts,
        high=ceiling.number("device_max_v"),
        required="poe" in tests,
        source=tabled if own_v is None else typed,
        confidence=row.text("device_min_confidence") if own_v is None else "",
    )
    yield Criterion(
        test="poe",
        position="watts",
        label="PoE watts at the device",
        unit="W",
        decimals=2,
        low=watts,
        required="poe" in tests,
        source=tabled if device.draw_w is None else typed,
        confidence=row.confidence if device.draw_w is None else "",
    )
    yield from _other_volts(volts, row, ceiling, tabled)


def _other_volts(least_v: float, row: Row, ceiling: Row, tabled: str) -> Iterable[Criterion]:
    """Yield the volts of the port without load, and the lowest seen under load."""
    yield Criterion(
        test="poe",
        position="unloaded",
        label="PoE volts without load",
        unit="V",
        low=ceiling.number("source_min_v"),
        high=ceiling.number("source_max_v"),
        source=f"{ceiling.source}, the least volts of a port of type {row.number('lowest_type'):g}",
        confidence=ceiling.confidence,
    )
    yield Criterion(
        test="poe", position="lowest", label="Lowest PoE volts while watched", unit="V", low=least_v, source=tabled
    )
