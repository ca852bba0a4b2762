"""Warnings of direct-current wiring."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

from estimator.calc.dc_circuit import smallest_gauge
from estimator.reference.lookup import table
from estimator.spec.cabling import DeviceType
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.conductors import fact, work_out_conductor
from estimator.takeoff.dc_circuits import DcCircuits, SupplyLoad, WireLoop
from estimator.takeoff.dc_figures import LUMPED, POINT_TO_POINT, inrush_v, opened_v
from estimator.takeoff.dc_lines import (
    CANNOT,
    INRUSH_TOO_LOW,
    NAC,
    OPENED_TOO_LOW,
    OVER_PERCENT,
    WORKS,
    DcLine,
    number,
    solve_branch,
    solve_notification,
)
from estimator.takeoff.footage import rule_origin
from estimator.units.rounding import over


def dc_alerts(dc: DcCircuits, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with circuits, branches, loops, ratings and devices."""
    for missing in dict.fromkeys(dc.unsolved):
        yield Alert(
            missing.place,
            "not computed",
            missing.id,
            f"{missing.id} can't be computed",
            missing.missing,
            "a value from the data sheet",
            "volts need a resistance and a current",
            missing.advice,
        )
    for line in dc.lines:
        if line.word != WORKS:
            yield _line_alert(line, project)
        yield from _rating_alert(line)
    for circuit in project.circuits.values():
        if circuit.kind == "notification" and circuit.feed not in project.control_units:
            yield Alert(
                circuit.source.at("source"),
                "no standby power",
                circuit.id,
                f"notification circuit {circuit.id} hangs on {circuit.feed}, which has no battery",
                circuit.feed,
                "a listed control unit or booster",
                table("battery_durations").source,
                "name a control unit, or type the booster under `control_units:`",
            )
    for loop in dc.loops:
        yield from _loop_alert(loop)
    for supply in dc.supplies:
        yield from _supply_alerts(supply)
    yield from _device_alerts(dc, project)


def _line_alert(line: DcLine, project: Project) -> Alert:
    value, limit, source = _shortfall(line, project)
    return Alert(
        line.basis.length.place,
        line.word,
        line.id,
        f"{line.id}: {line.word}",
        value,
        limit,
        source,
        _advice(line, project),
    )


def _shortfall(line: DcLine, project: Project) -> tuple[str, str, str]:
    """Return value, limit and source of what makes a line fail."""
    place = line.worst_place
    source = f"{place.name}: {place.minimum_origin}"
    rules = project.rules
    if line.word == CANNOT:
        return f"{sum(one.power_w for one in line.basis.places):g} W", "less than V²/4R", POINT_TO_POINT
    if line.word == OVER_PERCENT:
        limit, rule = (rules.nac_drop, "nac_drop") if line.basis.what == NAC else (rules.dc_drop, "dc_drop")
        return f"{line.percent:.1f} %", f"{100 * limit:g} %", rule_origin(project, rule)
    if line.word == OPENED_TOO_LOW and line.opening is not None:
        wire, volts = line.opening.wire, opened_v(line)
        shown = "no volts" if volts is None else f"{volts:.2f} V"
        return f"{shown} with wire {wire + 1} open", f"{place.minimum_v:g} V", source
    if line.word == INRUSH_TOO_LOW:
        volts = inrush_v(line)
        return "no volts" if volts is None else f"{volts:.2f} V", f"{place.minimum_v:g} V", source
    if line.basis.what == NAC and rules.nac_decides == "end_of_line":
        highest = max(one.minimum_v for one in line.basis.places)
        return f"{line.end_v:.2f} V", f"{highest:g} V", LUMPED
    return f"{line.worst_v:.2f} V at {place.name}", f"{place.minimum_v:g} V", source


def _advice(line: DcLine, project: Project) -> str:
    heavier = heavier_awg(line, project)
    words = f"{heavier} AWG would work; else " if heavier is not None else ""
    return f"{words}shorten the circuit or split it"


def heavier_awg(line: DcLine, project: Project) -> int | None:
    """Return the thinnest heavier gauge with which a line works, or None where none tabled does."""
    basis = line.basis
    cable, life_safety = basis.conductor.cable, basis.conductor.life_safety
    if cable.awg is None or cable.ohm_per_m is not None:
        return None
    gauges = {int(row.number("awg")) for row in table("nec_table_8")}
    found = {}
    for awg in sorted(one for one in gauges if one < cable.awg):
        wired = work_out_conductor(dataclasses.replace(cable, awg=awg), life_safety, project)
        if wired is not None:
            found[awg] = wired.ohm_per_m
    solve = solve_notification if basis.what == NAC else solve_branch

    def works(ohm_per_m: float) -> bool:
        wired = dataclasses.replace(basis.conductor, ohm_per_m=ohm_per_m)
        return solve(dataclasses.replace(basis, conductor=wired), project.rules).word == WORKS

    return smallest_gauge(ohm_per_m=found, works=works)


def _rating_alert(line: DcLine) -> Iterable[Alert]:
    rating = line.basis.rating
    if rating is None and line.basis.what == NAC:
        yield Alert(
            line.basis.length.place,
            "no rating",
            line.id,
            f"no rating is typed for notification circuit {line.id}",
            f"{line.total_a:.3f} A",
            "the circuit's rating",
            "listing of the control unit",
            "type `rating:` here, or `circuit_rating:` of its control unit",
        )
    if rating is not None and over(line.total_a, number(rating)):
        yield Alert(
            line.basis.length.place,
            "over the circuit's rating",
            line.id,
            f"{line.id} draws too much",
            f"{line.total_a:.3f} A",
            f"{number(rating):g} A",
            rating.origin,
            "split the circuit",
        )


def _loop_alert(loop: WireLoop) -> Iterable[Alert]:
    limit = loop.circuit.loop_max_ohm
    if limit is not None and over(loop.wire_ohm, limit):
        yield Alert(
            loop.circuit.source.at("loop_limit"),
            "loop resistance",
            loop.id,
            f"the wire of {loop.id} resists too much",
            f"{loop.wire_ohm:.1f} ohm",
            f"{limit:g} ohm",
            "limit as typed",
            "use a heavier conductor or split it",
        )


def _supply_alerts(one: SupplyLoad) -> Iterable[Alert]:
    rating = number(one.rating)
    key = "rating" if one.feed.source.typed("rating") else "supply_rating"
    if over(one.total_a, rating):
        yield Alert(
            one.feed.source.at(key),
            "over the supply's rating",
            one.id,
            f"{one.id} feeds too much",
            f"{one.total_a:.3f} A",
            f"{rating:g} A",
            one.rating.origin,
            "move circuits to another supply or booster",
        )
    elif over(one.surge_a, rating):
        yield Alert(
            one.feed.source.at(key),
            "inrush over the rating",
            one.id,
            f"{one.id} can't start everything at once",
            f"{one.surge_a:.3f} A",
            f"{rating:g} A",
            one.rating.origin,
            "let the locks start one after another",
        )


def _device_alerts(dc: DcCircuits, project: Project) -> Iterable[Alert]:
    """Yield each device type's trouble once, however often it is used."""
    seen: set[tuple[str, float]] = set()
    for line in dc.lines:
        for place in line.basis.places:
            key = (place.device.id, line.basis.source_v)
            if key not in seen:
                seen.add(key)
                yield from _voltage_alert(place.device, line)
    used = {place.device.id: place.device for line in dc.lines for place in line.basis.places}
    for device in used.values():
        if device.fail is not None and device.release_on_alarm is None:
            yield Alert(
                device.source.at("fail"),
                "release not stated",
                device.id,
                f"lock {device.id} doesn't say who frees it",
                f"fail-{device.fail}",
                "`release_on_alarm:` yes or no",
                "egress on fire alarm; the authority decides",
                "type `release_on_alarm:`",
            )
    yield from _unfed(project)
    for circuit in project.circuits.values():
        for stop in circuit.stops:
            device = project.devices[stop.device]
            if circuit.kind == "notification" and device.settings and not stop.setting and device.alarm_a is None:
                yield Alert(
                    stop.source.at("device"),
                    "setting not typed",
                    circuit.id,
                    f"{device.id} on {circuit.id} has no setting",
                    "largest current taken",
                    "a setting",
                    "current hangs on candela and tone",
                    "type `setting:` as it will be set in the field",
                )


def _voltage_alert(device: DeviceType, line: DcLine) -> Iterable[Alert]:
    """Yield a warning where a source is above what a charged battery of the device's volts holds."""
    if device.volts is None:
        return
    cell = table("battery_voltages").find(state="float")
    cells = fact("cells_in_12_v", "battery_facts").number("value")
    most = device.volts / 12.0 * cells * cell.number("high_v")
    if over(line.basis.source_v, most):
        yield Alert(
            device.source.at("voltage"),
            "wrong voltage",
            device.id,
            f"{device.id} is fed with too many volts",
            f"{line.basis.source_v:g} V at {line.id}",
            f"{most:g} V for a {device.volts:g} V device",
            f"float of a battery: {cell.source}",
            "use another supply or a converter",
        )


def _unfed(project: Project) -> Iterable[Alert]:
    """Yield a warning for each drop whose device runs on DC and that names no supply."""
    seen: set[int] = set()
    for run in project.runs:
        device, drop = run.device, run.drop
        if device is None or device.volts is None or device.poe_class is not None or id(drop) in seen:
            continue
        seen.add(id(drop))
        if drop.supply is None:
            yield Alert(
                drop.source.at("device"),
                "no supply",
                run.id,
                f"device {device.id} of {drop.id} names no supply",
                f"{device.volts:g} V needed",
                "a supply or control unit",
                "the drop as typed",
                "type `supply:`, or wire it on a circuit",
            )
