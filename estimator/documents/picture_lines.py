"""One-line diagrams: a control unit with its supply, battery and circuits; a switch with what it powers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.documents.common import in_length, length_unit
from estimator.documents.description import Picture
from estimator.documents.drawing import (
    DASHED,
    PLAIN,
    THIN,
    Disc,
    Drawing,
    Mark,
    arrow,
    bar,
    cut,
    hatched,
    label,
    line,
    moved,
    quiet,
    wrapped,
)
from estimator.documents.job_words import counted, kind_word, sentence, words_of
from estimator.documents.shown import shown
from estimator.spec.feeds import Circuit, ControlUnit, Stop
from estimator.spec.model import Project, Run
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.loads import Fed
from estimator.takeoff.poe import Powered, SwitchPower, budget_word

MOST_CIRCUITS: Final = 7
MOST_STOPS: Final = 9
MOST_GROUPS: Final = 8
MOST_SWITCHES: Final = 12
_WIDTH_MM: Final = 178.0
_BOX: Final = (4.0, 40.0)  # left and right of the unit's box [mm]
_FIRST_STOP_MM, _STOP_STEP_MM = 62.0, 12.6
_ROW_MM: Final = 15.0
_LINE_END_MM: Final = 174.0
_SOURCES_MM: Final = 23.0  # height of what feeds the unit, above it
_DEVICE_MM: Final = 3.2


@dataclass(frozen=True, kw_only=True, slots=True)
class _Branch:
    """One line out of a unit: what stands above it, its devices, and how it ends."""

    head: str
    under: str
    devices: tuple[tuple[str, int], ...]
    more: int
    ending: str
    back: str  # what stands at the return to the source; empty where there is none


def unit_picture(one: BatterySheet, project: Project) -> Picture:
    """Return the one-line diagram of a control unit: what feeds it, and every circuit it feeds."""
    unit, fed = one.unit, Fed(project)
    circuits = fed.circuits.get(unit.id, [])
    branches = [_circuit(circuit, project) for circuit in circuits]
    branches += _singles(fed.runs.get(unit.id, []), project)
    kept, left_out = branches[:MOST_CIRCUITS], len(branches) - MOST_CIRCUITS
    height = _SOURCES_MM + max(len(kept), 1) * _ROW_MM + (6.0 if left_out > 0 else 2.0)
    marks = [*_unit(one, height, bool(kept)), *_sources(one)]
    for row, branch in enumerate(kept):
        marks += moved(_branch(branch), 0.0, _SOURCES_MM + row * _ROW_MM)
    if left_out > 0:
        marks.append(quiet((_BOX[1] + 4.0, height - 2.0), f"{left_out} more"))
    told = " ".join(_branch_told(branch) for branch in branches)
    return Picture(
        name=f"one_line_{one.id}",
        title=f"One-line diagram of {one.id}",
        alternative=f"{one.id}, {_unit_words(unit)}, fed by mains and by {_battery_words(one)}. {told}",
        drawing=Drawing(width_mm=_WIDTH_MM, height_mm=height, marks=tuple(marks)),
        caption="Not to scale. A square is a device, a number in it how many at that place"
        f"{'; a dashed line is the return of a class A circuit' if any(branch.back for branch in kept) else ''}.",
    )


def _unit_words(unit: ControlUnit) -> str:
    return f"{unit.name or sentence(words_of(unit.system))}, {unit.nominal_v:g} V, room {unit.room}"


def _battery_words(one: BatterySheet) -> str:
    if one.installed_ah is None:
        return "a battery that is not typed"
    return f"a set of {one.installed_ah:g} Ah, {one.installed_v or one.unit.nominal_v:g} V"


def _unit(one: BatterySheet, height: float, feeds: bool) -> Iterator[Mark]:
    left, right = _BOX
    high = height - _SOURCES_MM - (2.0 if feeds else 4.0)
    yield bar(left, _SOURCES_MM, right - left, high, "hair")
    lines = [one.id, *wrapped(one.unit.name or sentence(words_of(one.unit.system)), 7.0, right - left - 3.0, 2)]
    lines.append(f"room {one.unit.room}")
    for row, text in enumerate(lines[: int((high - 2.0) // 3.4)]):
        words = cut(text, 8.0 if row == 0 else 7.0, right - left - 3.0, bold=row == 0)
        yield label((left + 2.0, _SOURCES_MM + 4.0 + row * 3.4), words, 8.0 if row == 0 else 7.0, bold=row == 0)


def _sources(one: BatterySheet) -> Iterator[Mark]:
    """Yield the supply and the battery above the unit, each with its figures beside it."""
    rating = f"{one.unit.supply_a:g} A" if one.unit.supply_a is not None else "rating not typed"
    for x, name in ((10.0, "mains"), (30.0, "battery")):
        yield bar(x - 4.0, 8.0, 8.0, 6.0, "paper")
        yield quiet((x, 6.5), name, align="center")
        yield from arrow((x, 14.0), (x, _SOURCES_MM))
    yield line((7.5, 12.5), (9.0, 9.5), (11.0, 12.5), (12.5, 9.5))
    for x, reach in ((28.0, 2.0), (29.4, 1.1), (30.8, 2.0), (32.2, 1.1)):
        yield line((x, 11.0 - reach), (x, 11.0 + reach))
    texts = (
        f"Supply: {one.unit.nominal_v:g} V, {rating}",
        f"Battery: {_battery_words(one).removeprefix('a set of ').removeprefix('a battery that is ')}; "
        f"needed {shown(one.need_ah, 'number', 2)} Ah",
        f"Standby {shown(one.standby_a, 'number', 3)} A for {one.standby.time_s / 3600:g} h, "
        f"alarm {shown(one.alarm_a, 'number', 3)} A for {one.alarm.time_s / 60:g} min",
    )
    for row, text in enumerate(texts):
        yield label((46.0, 8.5 + row * 4.0), text)


def _circuit(circuit: Circuit, project: Project) -> _Branch:
    stops = circuit.stops[:MOST_STOPS]
    unit = length_unit(project)[0]
    wire_m = sum(stop.distance_m for stop in circuit.stops)
    ending = f"end of line {circuit.end_of_line_ohm:,.10g} ohm" if circuit.end_of_line_ohm is not None else ""
    back = f"return {shown(in_length(circuit.return_m, project), 'number', 0)} {unit}" if circuit.return_m else ""
    return _Branch(
        head=f"{circuit.id}  {kind_word(circuit.kind)}, class {circuit.circuit_class}",
        under=f"{circuit.cable}, {shown(in_length(wire_m, project), 'number', 0)} {unit}",
        devices=tuple((_device(stop, number, circuit), stop.count) for number, stop in enumerate(stops, start=1)),
        more=len(circuit.stops) - len(stops),
        ending=ending,
        back=back,
    )


def _device(stop: Stop, number: int, circuit: Circuit) -> str:
    name = stop.id or f"{stop.device}"
    return name.removeprefix(f"{circuit.id}-") or str(number)


def _singles(runs: Sequence[Run], project: Project) -> list[_Branch]:
    """Return the devices with a run of their own, one line a type."""
    kinds: dict[str, list[Run]] = {}
    for run in runs:
        kinds.setdefault(run.drop.device or "device", []).append(run)
    found = []
    for kind, own in kinds.items():
        device = project.devices.get(kind)
        name = device.name if device is not None and device.name else words_of(kind)
        found.append(
            _Branch(
                head=sentence(name),
                under=f"{counted(len(own), 'run')} of {own[0].cable.id}",
                devices=(("", len(own)),),
                more=0,
                ending="each on a run of its own",
                back="",
            )
        )
    return found


def _branch(branch: _Branch) -> Iterator[Mark]:
    """Yield a line out of the unit, 7 mm below the top of its row."""
    start, y = _BOX[1], 8.0
    yield label((start + 3.0, y - 2.6), cut(branch.head, 7.0, 70.0, bold=True), bold=True)
    stops = [_FIRST_STOP_MM + _STOP_STEP_MM * number for number in range(len(branch.devices))]
    last = stops[-1] if stops else _FIRST_STOP_MM
    more = 8.0 if branch.more else 0.0
    yield quiet((start + 3.0, y + 3.4), cut(branch.under, 6.5, _FIRST_STOP_MM - _DEVICE_MM - start - 3.0))
    yield line((start, y), (last + more, y), stroke=PLAIN)
    for x, (name, count) in zip(stops, branch.devices, strict=True):
        yield bar(x - _DEVICE_MM / 2, y - _DEVICE_MM / 2, _DEVICE_MM, _DEVICE_MM, "paper")
        if count > 1:
            yield label((x, y + 0.9), f"{count}" if count < 100 else "+", 6.0, align="center")
        yield quiet((x, y + 4.6), cut(name, 6.0, _STOP_STEP_MM - 0.8), 6.0, align="center")
    if branch.more:
        yield quiet((last + 2.4, y - 1.2), f"+ {branch.more}")
    yield from _ending(branch, last + (more or _DEVICE_MM / 2), y)


def _ending(branch: _Branch, last: float, y: float) -> Iterator[Mark]:
    if branch.back:
        low, right = y + 6.0, min(last + 5.0, _LINE_END_MM)
        yield line((last, y), (right, y), (right, low), stroke=DASHED)
        yield line((right, low), (_BOX[1] + 1.8, low), stroke=DASHED)
        yield from arrow((_BOX[1] + 1.8, low), (_BOX[1], low))
        if right + 26.0 < _WIDTH_MM:
            yield quiet((right + 1.2, y + 0.8), branch.back)
    elif branch.ending:
        room = _WIDTH_MM - last - 8.0
        if branch.ending.startswith("end of line"):
            yield line((last, y), (last + 5.0, y))
            yield bar(last + 5.0, y - 0.8, 3.2, 1.6, "ink")
        text = cut(branch.ending, 6.5, room - 2.0)
        yield quiet((last + 9.5, y + 0.8), text)


def _branch_told(branch: _Branch) -> str:
    names = ": " + ", ".join(f"{count} x {name}" if count > 1 else name for name, count in branch.devices)
    names = names if branch.devices[0][0] else ""
    more = f" and {branch.more} more" if branch.more else ""
    tail = f"; {branch.back or branch.ending}" if branch.back or branch.ending else ""
    return f"{branch.head.replace('  ', ', ')} on {branch.under}{names}{more}{tail}."


# --- switches ----------------------------------------------------------------------------------


def switch_pictures(switches: Sequence[SwitchPower]) -> list[Picture]:
    """Return the diagrams of the switches that power a device, the first dozen of them."""
    powering = [one for one in switches if one.devices]
    pictures = [picture for one in powering[:MOST_SWITCHES] if (picture := switch_picture(one)) is not None]
    if len(powering) > MOST_SWITCHES:
        more = f" The other {len(powering) - MOST_SWITCHES} are in the table only."
        pictures[-1] = replace(pictures[-1], caption=pictures[-1].caption + more)
    return pictures


def switch_picture(one: SwitchPower) -> Picture | None:
    """Return the one-line diagram of a switch: its budget, and the devices it powers by type; None without any."""
    groups: dict[tuple[str, int], list[Powered]] = {}
    for device in one.devices:
        groups.setdefault((device.device.id, device.power_class.number), []).append(device)
    if not groups:
        return None
    kept = list(groups.items())[:MOST_GROUPS]
    left_out = sum(len(own) for _, own in list(groups.items())[MOST_GROUPS:])
    height = 20.0 + len(kept) * 9.0 + (5.0 if left_out else 0.0)
    marks = [*_switch(one, height), *_budget(one)]
    for row, (key, own) in enumerate(kept):
        marks += moved(_group(key, own), 0.0, 20.0 + row * 9.0)
    if left_out:
        marks.append(quiet((64.0, height - 2.0), f"{left_out} more"))
    told = " ".join(f"{_group_words(key, own)}." for key, own in groups.items())
    return Picture(
        name=f"one_line_{one.switch.id}",
        title=f"One-line diagram of {one.switch.id}",
        alternative=f"{one.switch.id}, room {one.switch.room}, {one.switch.ports} ports: {_budget_words(one)}. {told}",
        drawing=Drawing(width_mm=_WIDTH_MM, height_mm=height, marks=tuple(marks)),
        caption="Not to scale. The bar shows what the ports set aside for their devices against the budget.",
    )


def _switch(one: SwitchPower, height: float) -> Iterator[Mark]:
    left, right = _BOX
    yield bar(left, 18.0, right - left, height - 20.0, "hair")
    texts = [one.switch.id, f"room {one.switch.room}, {one.switch.ports} ports"]
    texts += [f"on UPS {one.switch.ups}"] if one.switch.ups else []
    for row, text in enumerate(texts[: max(1, int((height - 22.0) // 3.6))]):
        words = cut(text, 8.0 if row == 0 else 7.0, right - left - 3.0, bold=row == 0)
        yield label((left + 2.0, 22.0 + row * 3.6), words, 8.0 if row == 0 else 7.0, bold=row == 0)


def _budget_words(one: SwitchPower) -> str:
    allocated, budget = (shown(watts, "number", 1) for watts in (one.allocated_w, one.switch.budget_w))
    return f"{allocated} W set aside of a budget of {budget} W, {budget_word(one)}"


def _budget(one: SwitchPower) -> Iterator[Mark]:
    """Yield the bar of the budget: what is set aside is hatched, the usable share and the whole are marked."""
    left, wide, top, high = 46.0, 124.0, 5.5, 5.0
    most = max(one.switch.budget_w, one.allocated_w, 1e-9)
    yield label((left, 3.6), cut(f"Power: {_budget_words(one)}", 7.0, wide, bold=True), bold=True)
    yield bar(left, top, wide * one.switch.budget_w / most, high, "paper")
    taken = wide * one.allocated_w / most
    yield bar(left, top, taken, high, "hair")
    yield from hatched(left, top, taken, high, "rising")
    usable = left + wide * min(one.usable_w / most, 1.0)
    yield line((usable, top - 0.8), (usable, top + high + 1.6), stroke=DASHED)
    text = f"{shown(one.usable_w, 'number', 0)} W without the reserve"
    near_end = usable > left + wide / 2
    yield quiet((usable + (-1.0 if near_end else 1.0), top + high + 3.2), text, align="right" if near_end else "left")


def _group_words(key: tuple[str, int], own: Sequence[Powered]) -> str:
    name = own[0].device.name or words_of(key[0])
    watts = shown(own[0].draw_w, "number", 1)
    low = [one.device_v for one in own if one.device_v is not None]
    volts = f", at least {min(low):.1f} V there" if low else ""
    return f"{counted(len(own), 'port')} to {name}: class {key[1]}, {watts} W each{volts}"


def _group(key: tuple[str, int], own: Sequence[Powered]) -> Iterator[Mark]:
    y = 3.0
    yield line((_BOX[1], y), (61.0, y))
    yield line((49.0, y + 1.4), (51.0, y - 1.4), stroke=THIN)
    yield quiet((50.0, y - 1.9), f"{len(own)}", align="center")
    yield Disc(center=(62.6, y), radius_mm=1.6)
    yield label((67.0, y + 0.9), cut(_group_words(key, own), 7.0, 106.0))
