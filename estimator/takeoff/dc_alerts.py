"""Warnings of direct-current wiring."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.reference.lookup import table
from estimator.spec.cabling import DeviceType
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.conductors import fact
from estimator.takeoff.dc_circuits import DcCircuits, SupplyLoad
from estimator.takeoff.dc_figures import LUMPED, POINT_TO_POINT, inrush_v
from estimator.takeoff.dc_lines import (
    CANNOT,
    INRUSH_TOO_LOW,
    NAC,
    OPENED_TOO_LOW,
    OVER_PERCENT,
    WORKS,
    AtPlace,
    DcLine,
    number,
)
from estimator.takeoff.dc_reach import shown_reach
from estimator.takeoff.loop_alerts import loop_alerts
from estimator.units.quantity import beside
from estimator.units.rounding import over

_SHOWN_V: Final = 0.01  # two decimals of a volt


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
    yield from loop_alerts(dc.loops, project)
    for supply in dc.supplies:
        yield from _supply_alerts(supply)
    yield from _device_alerts(dc, project)


def _line_alert(line: DcLine, project: Project) -> Alert:
    value, limit, source, short = _shortfall(line, project)
    words = f", {wire_of(line)} is {short}" if short else ""
    return Alert(
        line.basis.length.place,
        line.word,
        line.id,
        f"{line.id}: {line.word}{words}",
        value,
        limit,
        source,
        line_advice(line, project),
    )


def _shortfall(line: DcLine, project: Project) -> tuple[str, str, str, str]:
    """Return value, limit and source of what makes a line fail, and by how much it does."""
    if line.word == CANNOT:
        watts = sum(one.power_w for one in line.basis.places)
        return f"{watts:g} W", "less than V\N{SUPERSCRIPT TWO}/4R", POINT_TO_POINT, ""
    if line.word == OVER_PERCENT and line.percent is not None:
        limit = 100 * line.basis.drop_limit
        over_by = f"{line.percent - limit:.1f} % of its volts over"
        return f"{beside(line.percent, limit, 1)} %", f"{limit:g} %", line.basis.most_drop.origin, over_by
    if line.word == OPENED_TOO_LOW and line.opening is not None:
        shown, least, source, short = _under(line.opened_v, line.opened_place)
        return f"{shown} with wire {line.opening.wire + 1} open", least, source, short
    if line.word == INRUSH_TOO_LOW:
        return _under(inrush_v(line), line.basis.places[line.inrush_worst or 0])
    if line.basis.what == NAC and project.rules.nac_decides == "end_of_line":
        highest = max(line.basis.places, key=lambda one: one.minimum_v)
        shown, least, _, short = _under(line.end_v, highest)
        return shown, least, LUMPED, short
    shown, least, source, short = _under(line.worst_v, line.worst_place)
    return f"{shown} at {line.worst_place.name}", least, source, short


def _under(volts: float | None, place: AtPlace) -> tuple[str, str, str, str]:
    limit, source = f"{place.minimum_v:g} V", f"{place.name}: {place.minimum_origin}"
    if volts is None:
        return "no volts", limit, source, ""
    missing = place.minimum_v - volts
    short = f"{missing:.2f} V short" if missing >= _SHOWN_V else f"less than {_SHOWN_V:g} V short"
    return f"{beside(volts, place.minimum_v, 2)} V", limit, source, short


def wire_of(line: DcLine) -> str:
    """Return a line's wire in words: its gauge, or its cable where none is known."""
    cable = line.basis.conductor.cable
    return f"{cable.awg} AWG" if cable.awg is not None and cable.ohm_per_m is None else cable.id


def line_advice(line: DcLine, project: Project) -> str:
    """Return which gauge would work and how far the present one reaches, by what decides the line."""
    reach, words = line.reach, []
    if reach.awg is not None:
        words.append(f"{reach.awg} AWG works")
    if reach.longest_m is not None:
        spaced = " with its distances in proportion" if len(line.basis.places) > 1 else ""
        words.append(f"{wire_of(line)} works up to {shown_reach(reach.longest_m, project)} one way{spaced}")
    if not words:
        return "no wire helps: raise the volts at its start, or choose a device that works with less"
    return f"{', or '.join(words)}; else split the circuit"


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
            f"{beside(line.total_a, number(rating), 3)} A",
            f"{number(rating):g} A",
            rating.origin,
            "split the circuit",
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
            f"{beside(one.total_a, rating, 3)} A",
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
            f"{beside(one.surge_a, rating, 3)} A",
            f"{rating:g} A",
            one.rating.origin,
            _staged(one, rating),
        )


def _staged(one: SupplyLoad, rating: float) -> str:
    """Return whether starting one after another mends an inrush."""
    if over(one.staged_a, rating):
        return f"one after another they still take {one.staged_a:.3f} A: use a larger supply"
    return f"let them start one after another, which takes {one.staged_a:.3f} A"


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
        yield from _release_alert(device)
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


def _release_alert(device: DeviceType) -> Iterable[Alert]:
    """Yield a lock that doesn't say who frees it, or that nothing frees once its power is gone."""
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
    elif device.fail == "secure" and device.release_on_alarm:
        yield Alert(
            device.source.at("release_on_alarm"),
            "release needs power",
            device.id,
            f"the fire alarm is to free lock {device.id}, which opens only while it is powered",
            "fail-secure",
            "a release that a loss of power can't prevent",
            "definition of fail-secure; egress on fire alarm; the authority decides",
            "take a fail-safe lock, or one that its inside lever opens without power",
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
