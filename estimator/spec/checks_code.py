"""House rules and typed values against the adopted codes: tighter is allowed, looser is a fault."""

from __future__ import annotations

from collections.abc import Callable

from estimator.reference.lookup import table
from estimator.spec.backup import Ups
from estimator.spec.faults import Faults, Place
from estimator.spec.feeds import ControlUnit, PowerSupply
from estimator.spec.life_safety import LIFE_SAFETY, circuit_is_life_safety
from estimator.spec.model import Project
from estimator.spec.plant import Segment
from estimator.spec.rules import edition_row, nac_start
from estimator.units.quantity import in_unit, show
from estimator.units.rounding import over, under


def check_code(project: Project, faults: Faults) -> None:
    """Add a fault for every value that is looser than what an adopted code allows."""
    _rules(project, faults)
    for segment in project.segments.values():
        _fill(segment, faults)
    _starts(project, faults)
    _battery_margin(project, faults)
    _hours(project, faults)
    _one_hour(project, faults)


def _battery_margin(project: Project, faults: Faults) -> None:
    """A house's own margin on life-safety batteries may be larger than the edition's, never smaller."""
    rule, row = project.rules.ruled("battery_margin"), edition_row("battery_margin", project.codes.fire_alarm)
    least = row.number("factor")
    if rule.place is not None and under(project.rules.battery_margin, least):
        _looser(rule.place, f"`{rule.key}`", f"at least {least:g} ({row.source})", faults)


def _hours(project: Project, faults: Faults) -> None:
    """The hours that a unit names must be published for its kind of system."""
    rows = table("battery_durations").rows
    for unit in project.control_units.values():
        known = list(dict.fromkeys(row.text("system") for row in rows if row.cells["for"] == unit.system))
        if unit.hours_as and unit.hours_as not in known:
            faults.add(
                unit.source.at("hours_as"),
                f"control unit {unit.id!r} takes the hours of {unit.hours_as!r}",
                f"one of {', '.join(known)} for system {unit.system}",
                "pick one of them, or type `standby:` and `alarm:`",
            )


def _one_hour(project: Project, faults: Faults) -> None:
    """A one-hour capacity must give a rate (Peukert) exponent that a lead-acid battery can have."""
    rated_h = table("battery_facts").find(name="rated_hours").number("value")
    most = max(row.number("high") for row in table("peukert"))
    holders: list[ControlUnit | Ups] = [*project.control_units.values(), *project.ups.values()]
    for unit in holders:
        held = unit.battery
        if held is None or held.one_hour_ah is None:
            continue
        least_ah = held.capacity_ah * rated_h ** (1 / most - 1)
        if under(held.one_hour_ah, least_ah) or over(held.one_hour_ah, held.capacity_ah):
            faults.add(
                held.source.at("one_hour_capacity"),
                f"the battery of {unit.id!r} gives {held.one_hour_ah:g} Ah in one hour",
                f"from {least_ah:.3g} to {held.capacity_ah:g} Ah for a block of {held.capacity_ah:g} Ah",
                "take both capacities from the block's data sheet",
            )


def _rules(project: Project, faults: Faults) -> None:
    fill, tray = table("conduit_fill").find(rule="over_two"), table("tray_fill").find(tray="communications")
    link, hooks = table("link_lengths").find(link="permanent_link"), table("j_hooks").find(rule="spacing_max")
    limits = (
        ("max_fill_conduit", fill.number("share"), fill.source, _percent),
        ("max_fill_tray", tray.number("ultimate"), f"{tray.text('clause')}, ultimate fill", _percent),
        ("design_limit_m", link.number("design_m"), f"{link.source}, permanent link", _length(project)),
        ("hook_spacing_m", hooks.number("value"), hooks.source, _length(project)),
    )
    for attribute, limit, source, shown in limits:
        rule = project.rules.ruled(attribute)
        if rule.place is not None and isinstance(rule.value, float) and over(rule.value, limit):
            _looser(rule.place, f"`{rule.key}`", f"at most {shown(limit)} ({source})", faults)


def _looser(place: Place, what: str, limit: str, faults: Faults) -> None:
    faults.add(place, f"{what} is looser than the adopted code", limit, "tighten it or delete it")


def _percent(share: float) -> str:
    return f"{100 * share:g} percent"


def _length(project: Project) -> Callable[[float], str]:
    unit = project.header.lengths_in
    return lambda length_m: show(in_unit(length_m, "length", unit), unit, 6)


def _fill(segment: Segment, faults: Faults) -> None:
    """A segment's own fill may be lower than the code's, never higher."""
    if segment.max_fill is None or segment.kind not in ("conduit", "tray", "surface_raceway"):
        return
    if segment.kind == "tray":
        row = table("tray_fill").find(tray="communications")
        limit, source = row.number("ultimate"), f"{row.text('clause')}, ultimate fill"
    else:
        rule = "over_two" if segment.kind == "surface_raceway" else ("nipple" if segment.nipple else "one")
        row = table("conduit_fill").find(rule=rule)
        limit, source = row.number("share"), row.source
    if over(segment.max_fill, limit):
        what = f"`max_fill_percent` of {segment.id!r}"
        _looser(segment.source.at("max_fill_percent"), what, f"at most {_percent(limit)} ({source})", faults)


def _starts(project: Project, faults: Faults) -> None:
    """A notification circuit starts above the code's volts only where a listing says so."""
    for unit in project.control_units.values():
        if unit.system in LIFE_SAFETY and unit.start_v is not None:
            _start(unit.source.at("start_voltage"), f"control unit {unit.id!r}", unit.start_v, unit, faults)
    feeds: dict[str, ControlUnit | PowerSupply] = {**project.control_units, **project.supplies}
    for circuit in project.circuits.values():
        feed = feeds.get(circuit.feed)
        if feed is None or circuit.kind != "notification" or circuit.start_v is None:
            continue
        if circuit.cable in project.cables and circuit_is_life_safety(circuit, project):
            _start(circuit.source.at("start_voltage"), f"circuit {circuit.id!r}", circuit.start_v, feed, faults)


def _start(place: Place, what: str, start_v: float, feed: ControlUnit | PowerSupply, faults: Faults) -> None:
    control_unit = isinstance(feed, ControlUnit)
    usual_v, source = nac_start(feed.nominal_v if isinstance(feed, ControlUnit) else feed.volts)
    if over(start_v, usual_v) and not (isinstance(feed, ControlUnit) and feed.start_listing):
        listing = ", or `start_listing:` of the control unit naming the listing that allows more"
        faults.add(
            place,
            f"{what} starts at {start_v:g} V",
            f"{usual_v:g} V ({source})" + (listing if control_unit else ""),
            "add the listing or lower the voltage" if control_unit else "lower the voltage",
        )
