"""Figures and warnings of power over balanced pairs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.heat import MAINS, SWITCH_LOSS
from estimator.calc.poe import BUDGET, CURRENT, DEVICE_VOLTS, HELD, LONGEST_RUN, SOURCE_WATTS, pairset_current_a
from estimator.reference.lookup import table
from estimator.spec.feeds import NetworkSwitch
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.poe import (
    CANNOT,
    COMPUTED_DRAW,
    HEAT,
    PORTS_FREE,
    PORTS_USED,
    SUPPLY_LOOP,
    TOO_LOW,
    TOO_MUCH,
    USABLE,
    USES_RESERVE,
    WITHIN_BUDGET,
    PoE,
    Powered,
    SwitchPower,
    budget_word,
    least_by_poe,
    mains_inputs,
    type_row,
)
from estimator.takeoff.poe_bundles import bundle_alerts, bundle_families, hot_cables
from estimator.takeoff.poe_reach import way_out
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.quantity import beside
from estimator.units.rounding import over, under

ALLOCATED: Final = Expression("class_w")
"""What a device's class reserves at the source, as the standard tables it [W]."""

DRAW: Final = Expression("draw_w")
"""What a device draws at its end: stated, else the most of its class [W]."""

CLASSES: Final = "IEEE 802.3 clauses 33 and 145"

ENERGY: Final = "conservation of energy"


def poe_families(poe: PoE, project: Project) -> Iterable[Family]:
    """Yield watts, loop, current and volts of every powered device, and the sums of every switch."""
    yield from filled((*_device_families(poe.devices, project), *_switch_families(poe.switches, project)))
    yield from bundle_families(hot_cables(poe, project), project)


def _device_families(devices: Sequence[Powered], project: Project) -> Iterable[Family]:
    load = f"{CLASSES}, load at constant power"
    yield column(("poe", "allocated", "power reserved by class", "W"), ALLOCATED, CLASSES, devices,
                 lambda one: one.allocated_w, lambda one: {"class_w": _class_input(one)})  # fmt: skip
    yield column(("poe", "draw", "power the device draws", "W"), DRAW, "device's data sheet, else the class", devices,
                 lambda one: one.draw_w, lambda one: {"draw_w": _draw_input(one)})  # fmt: skip
    yield column(("poe", "supply_loop", "loop of the powered pairs", "ohm"), SUPPLY_LOOP,
                 f"{CLASSES}, powered pairs; circuit theory", devices,
                 lambda one: one.loop_ohm, lambda one: _loop_inputs(one, project))  # fmt: skip
    yield column(("poe", "current", "current of all powered pairs", "A"), CURRENT, load, devices,
                 lambda one: one.current_a, _current_inputs)  # fmt: skip
    yield column(("poe", "device_volts", "volts at the device", "V"), DEVICE_VOLTS, load, devices,
                 lambda one: one.device_v, _volts_inputs, judge=_judged_volts)  # fmt: skip
    yield column(("poe", "held_volts", "volts under which it no longer works as promised", "V"), HELD,
                 f"{CLASSES}, class watts; circuit theory", devices, lambda one: one.held_v, _held_inputs)  # fmt: skip
    yield column(("poe", "longest_run", "longest expected length that works", "m"), LONGEST_RUN, load, devices,
                 lambda one: one.longest_m, lambda one: _longest_inputs(one, project),
                 judge=_judged_length)  # fmt: skip
    yield column(("poe", "source_watts", "power the port gives", "W"), SOURCE_WATTS, load, devices,
                 lambda one: None if one.current_a is None else one.source_w,
                 lambda one: {"source_v": _port_input(one), "current_a": _current(one)})  # fmt: skip


def _class_input(one: Powered) -> Input:
    typed = one.device.poe_class is not None
    place = one.device.source.at("poe_class" if typed else "draw")
    how = "typed" if typed else "first that covers its draw"
    return Input(one.allocated_w, "W", f"class {one.power_class.number} ({how}, {place}): {one.class_row.source}")


def _draw_input(one: Powered) -> Input:
    if one.device.draw_w is not None:
        return Input(one.draw_w, "W", f"device, {one.device.source.at('draw')}")
    return Input(one.draw_w, "W", f"most of class {one.power_class.number}: {one.class_row.source}")


def _loop_inputs(one: Powered, project: Project) -> Mapping[str, Input]:
    number = one.power_class.number
    return {
        "length_m": Input(one.length.expected_m, "m", f"{one.length.kind}.{one.id}.expected_length"),
        "cords_m": Input(one.cords_m, "m", rule_origin(project, "poe_cords_m")),
        "ohm_per_m": one.conductor.as_input(),
        "powered_pairs": Input(float(one.power_class.powered_pairs), "", f"class {number}: {one.class_row.source}"),
    }


def _port_input(one: Powered) -> Input:
    if one.switch is None:
        origin = f"no switch is named; least of class {one.power_class.number}: {one.class_row.source}"
    elif one.switch.port_v is not None:
        origin = f"switch {one.switch.id}, {one.switch.source.at('port_voltage')}"
    else:
        origin = f"switch {one.switch.id}, least of type {one.switch.poe_type}: {type_row(one.switch.poe_type).source}"
    return Input(one.port_v, "V", origin)


def _loop(one: Powered) -> Input:
    return Input(one.loop_ohm, "ohm", f"poe.{one.id}.supply_loop")


def _current(one: Powered) -> Input:
    return Input(one.current_a or 0.0, "A", f"poe.{one.id}.current")


def _current_inputs(one: Powered) -> Mapping[str, Input]:
    draw = Input(one.draw_w, "W", f"poe.{one.id}.draw")
    return {"source_v": _port_input(one), "loop_ohm": _loop(one), "device_w": draw}


def _volts_inputs(one: Powered) -> Mapping[str, Input]:
    return {"source_v": _port_input(one), "current_a": _current(one), "loop_ohm": _loop(one)}


def _held_inputs(one: Powered) -> Mapping[str, Input]:
    return {
        "device_min_v": Input(one.least_v, "V", _least_source(one)),
        "source_v": _port_input(one),
        "device_w": Input(one.draw_w, "W", f"poe.{one.id}.draw"),
        "source_w": Input(one.allocated_w, "W", f"poe.{one.id}.allocated"),
    }


def _longest_inputs(one: Powered, project: Project) -> Mapping[str, Input]:
    loop = _loop_inputs(one, project)
    return {
        "source_v": _port_input(one),
        "held_v": Input(one.held_v, "V", f"poe.{one.id}.held_volts"),
        "device_w": Input(one.draw_w, "W", f"poe.{one.id}.draw"),
        **{name: loop[name] for name in ("powered_pairs", "ohm_per_m", "cords_m")},
    }


def _judged_length(one: Powered) -> Judged | None:
    if one.longest_m is None:
        return None
    expected = f"{one.length.kind}.{one.id}.expected_length"
    return Judged(one.word, one.longest_m - one.length.expected_m, one.length.expected_m, expected)


def _least_source(one: Powered) -> str:
    if least_by_poe(one.device) is not None:
        return f"device, {one.device.source.at('least_voltage')}"
    return f"class {one.power_class.number}: {one.class_row.source}"


def _judged_volts(one: Powered) -> Judged:
    assert one.device_v is not None
    return Judged(one.word, one.device_v - one.least_v, one.least_v, _least_source(one))


def _switch_families(switches: Sequence[SwitchPower], project: Project) -> Iterable[Family]:
    by = project.rules.poe_budget_by
    counted = "count of the drops that name the switch"

    def judge(one: SwitchPower) -> Judged:
        limit = rule_origin(project, "poe_budget_by")
        return Judged(budget_word(one), one.usable_w - one.needed_w, one.usable_w, limit)

    yield column(("switch", "ports_used", "ports that cables end at", "ports"), PORTS_USED, counted, switches,
                 lambda one: float(one.ports_used), _port_counts)  # fmt: skip
    yield column(("switch", "ports_free", "ports left over", "ports"), PORTS_FREE, counted, switches,
                 lambda one: float(one.switch.ports - one.ports_used), _free_ports)  # fmt: skip
    yield column(("switch", "allocated", "power reserved by class", "W"), BUDGET, f"{CLASSES}, allocation by class",
                 switches, lambda one: one.allocated_w, _budget_inputs,
                 judge=judge if by == "class" else None)  # fmt: skip
    yield column(("switch", "computed_draw", "power really given", "W"), COMPUTED_DRAW, "sum over its devices",
                 switches, lambda one: one.computed_w, lambda one: {"source_w": _watts_of(one)},
                 judge=judge if by == "draw" else None)  # fmt: skip
    yield column(("switch", "usable_power", "power for devices, less the reserve", "W"), USABLE,
                 rule_origin(project, "poe_reserve"), switches, lambda one: one.usable_w,
                 lambda one: _usable_inputs(one, project))  # fmt: skip
    yield column(("switch", "mains", "power the switch takes from its outlet", "W"), MAINS, ENERGY, switches,
                 lambda one: one.mains_w, _mains_inputs)  # fmt: skip
    yield column(("switch", "loss", "power that the switch turns into heat", "W"), SWITCH_LOSS, ENERGY, switches,
                 lambda one: one.loss_w, _mains_inputs)  # fmt: skip
    yield column(("switch", "heat", "heat of the switch and its powered cables", "BTU/h"), HEAT,
                 "definition of the unit", switches, lambda one: one.heat_btu_per_h, _heat_inputs)  # fmt: skip


def _port_counts(one: SwitchPower) -> Mapping[str, Input]:
    return {
        "powered": Input(float(len(one.devices)), "ports", "drops of powered devices that name it"),
        "unpowered": Input(float(one.unpowered), "ports", "other drops that name it"),
    }


def _free_ports(one: SwitchPower) -> Mapping[str, Input]:
    return {
        "ports": Input(float(one.switch.ports), "ports", f"switch, {one.switch.source.at('ports')}"),
        "used": Input(float(one.ports_used), "ports", f"switch.{one.switch.id}.ports_used"),
    }


def _budget_inputs(one: SwitchPower) -> Mapping[str, Input]:
    names = ", ".join(str(number) for number in one.classes) or "none"
    return {
        "ports": Input(one.class_ports, "ports", f"devices of classes {names}"),
        "watts": Input(one.class_w, "W", f"watts of classes {names}: {CLASSES}"),
    }


def _watts_of(one: SwitchPower) -> Input:
    values = tuple(device.source_w for device in one.devices)
    lost = sum(device.current_a is None for device in one.devices)
    tail = f"; {lost} that can't be fed count their class" if lost else ""
    return Input(values, "W", f"source_watts of its {len(values)} devices{tail}")


def _usable_inputs(one: SwitchPower, project: Project) -> Mapping[str, Input]:
    return {
        "budget_w": Input(one.switch.budget_w, "W", f"switch, {one.switch.source.at('poe_budget')}"),
        "reserve": Input(project.rules.poe_reserve, "", rule_origin(project, "poe_reserve")),
    }


def _mains_inputs(one: SwitchPower) -> Mapping[str, Input]:
    switch, values = one.switch, mains_inputs(one.switch, one.computed_w)
    own, efficiency = "not typed, counts nothing", "not typed, its own consumption is taken to hold that loss"
    if switch.load_w is not None:
        own = f"switch, {switch.source.at('own_load')}"
    if switch.poe_efficiency is not None:
        efficiency = f"switch, {switch.source.at('poe_efficiency_percent')}"
    return {
        "own_w": Input(values["own_w"], "W", own),
        "given_w": Input(values["given_w"], "W", f"switch.{one.id}.computed_draw"),
        "efficiency": Input(values["efficiency"], "", efficiency),
    }


def _heat_inputs(one: SwitchPower) -> Mapping[str, Input]:
    row = table("ups_facts").find(name="btu_per_h_per_w")
    return {
        "loss_w": Input(one.loss_w or 0.0, "W", f"switch.{one.id}.loss"),
        "cable_loss_w": Input(one.cable_loss_w, "W", "lost in its powered cables"),
        "btu_per_h_per_w": Input(row.number("value"), "BTU/h per W", row.source),
    }


def poe_alerts(poe: PoE, project: Project) -> Iterable[Alert]:
    """Yield what is wrong with powered devices and with the switches that power them."""
    yield from _unassigned(poe)
    for one in poe.devices:
        yield from _device_alerts(one, project)
    yield from _type_alerts(poe)
    for switch in poe.switches:
        yield from _switch_alerts(switch, project)
    yield from bundle_alerts(hot_cables(poe, project), poe, project)


def _unassigned(poe: PoE) -> Iterable[Alert]:
    """Yield one warning a drop, however many circuits its range names."""
    found: dict[int, list[Powered]] = {}
    for one in poe.devices:
        if one.switch is None and one.length.run is not None:
            found.setdefault(id(one.length.run.drop), []).append(one)
    for devices in found.values():
        first, last = devices[0], devices[-1]
        subject = first.id if first is last else f"{first.id}..{last.id}"
        watts = sum(one.allocated_w for one in devices)
        yield Alert(
            first.length.place, "no switch", subject, f"{subject} takes PoE and names no switch",
            f"{len(devices)} of class {first.power_class.number}, {watts:g} W", "a switch with that much power",
            first.class_row.source, "name its `switch:`, so that the budget counts it",
        )  # fmt: skip


def _device_alerts(one: Powered, project: Project) -> Iterable[Alert]:
    if one.word == CANNOT:
        yield Alert(
            one.length.place, "cannot be fed", one.id, f"{one.id} can't be fed over its cable",
            f"{one.draw_w:g} W over {one.loop_ohm:.2f} ohm", f"{one.port_v**2 / (4 * one.loop_ohm):.2f} W at the most",
            CLASSES, way_out(one, project),
        )  # fmt: skip
    elif one.word == TOO_LOW and one.device_v is not None:
        yield Alert(
            one.length.place, "volts too low", one.id, f"{one.id} gets too few volts",
            f"{beside(one.device_v, one.least_v, 2)} V", f"{one.least_v:g} V", _least_source(one),
            way_out(one, project),
        )  # fmt: skip
    elif one.word == TOO_MUCH and not over(one.draw_w, one.power_class.device_w):
        yield Alert(
            one.length.place, TOO_MUCH, one.id,
            f"{one.id} and its cable take more than a port need give class {one.power_class.number}",
            f"{one.source_w:.2f} W", f"{one.allocated_w:g} W", one.class_row.source, way_out(one, project),
        )  # fmt: skip
    elif one.current_a is not None:
        yield from _pairset(one)
    if one.switch is not None and one.class_row.number("lowest_type") > one.switch.poe_type:
        need = int(one.class_row.number("lowest_type"))
        yield Alert(
            one.length.place, "class above the switch", one.id, f"{one.id} is of class {one.power_class.number}",
            f"type {need} port", f"type {one.switch.poe_type} of switch {one.switch.id}", one.class_row.source,
            "use a switch of that type or an injector",
        )  # fmt: skip


def _pairset(one: Powered) -> Iterable[Alert]:
    """Yield a warning where a port's low volts ask for more current than its type allows a pairset."""
    row = type_row(one.switch.poe_type if one.switch else int(one.class_row.number("lowest_type")))
    pairset_a = pairset_current_a(current_a=one.current_a or 0.0, powered_pairs=one.power_class.powered_pairs)
    if over(pairset_a, row.number("pairset_max_a")):
        yield Alert(
            one.length.place, "current above the type", one.id, f"{one.id} asks for too much current",
            f"{pairset_a:.3f} A in two pairs", f"{row.number('pairset_max_a'):g} A, type {row.number('type'):g}",
            row.source, "take a port of a higher voltage",
        )  # fmt: skip


def _type_alerts(poe: PoE) -> Iterable[Alert]:
    kinds = {one.device.id: one for one in poe.devices}
    for one in kinds.values():
        most = one.power_class.device_w
        if over(one.draw_w, most):
            yield Alert(
                one.device.source.at("draw"), "draw above the class", one.device.id,
                f"{one.device.id} draws more than class {one.power_class.number} allows", f"{one.draw_w:g} W",
                f"{most:g} W", one.class_row.source, "type the class that its data sheet states",
            )  # fmt: skip
    for one in {(one.device.id, one.conductor.cable.id): one for one in poe.devices}.values():
        row, cable = type_row(int(one.class_row.number("lowest_type"))), one.conductor.cable
        if cable.category is not None and _grade(cable.category) < _grade(row.text("cabling")):
            yield Alert(
                cable.source.at(), "cabling below the type", cable.id,
                f"{one.device.id} takes class {one.power_class.number} over {cable.id}", f"category {cable.category}",
                row.text("cabling"), row.source, "pull a cable of that category or better",
            )  # fmt: skip


def _grade(category: str) -> int:
    """Return the number in a category's name, by which categories rank."""
    return int("".join(sign for sign in category if sign.isdigit()))


def _port_volts(switch: NetworkSwitch) -> Iterable[Alert]:
    row = type_row(switch.poe_type)
    low, high = row.number("source_min_v"), row.number("source_max_v")
    if switch.port_v is not None and (under(switch.port_v, low) or over(switch.port_v, high)):
        yield Alert(
            switch.source.at("port_voltage"), "port volts", switch.id,
            f"ports of switch {switch.id} have no volts of type {switch.poe_type}", f"{switch.port_v:g} V",
            f"{low:g} to {high:g} V", row.source, "compare with its data sheet; other volts follow no standard",
        )  # fmt: skip


def _switch_alerts(one: SwitchPower, project: Project) -> Iterable[Alert]:
    switch, word = one.switch, budget_word(one)
    yield from _port_volts(switch)
    if word != WITHIN_BUDGET:
        by, reserve_only = project.rules.poe_budget_by, word == USES_RESERVE
        what = f"uses the reserve of its {switch.budget_w:g} W" if reserve_only else "lacks power"
        rule = "poe_reserve" if reserve_only else "poe_budget_by"
        yield Alert(
            switch.source.at("poe_budget"), word, switch.id, f"switch {switch.id} {what} (by {by})",
            f"{beside(one.needed_w, one.usable_w, 1)} W", f"{beside(one.usable_w, one.needed_w, 1)} W",
            rule_origin(project, rule),
            "move devices to another switch or take a larger supply",
        )  # fmt: skip
    for used, there, what in (
        (one.ports_used, switch.ports, "ports"),
        (len(one.devices), one.poe_ports, "PoE ports"),
    ):
        if used > there:
            key = "ports" if what == "ports" or switch.poe_ports is None else "poe_ports"
            yield Alert(
                switch.source.at(key), "too few ports", switch.id, f"switch {switch.id} has too few {what}",
                f"{used} {what}", f"{there} {what}", "count of the drops that name the switch", "add a switch",
            )  # fmt: skip
