"""Telephone lines: the ringers on each, and what current and volts its loop leaves at a set off hook.

A line is known by its name; drops of one name are bridged. Its loop up to the room is the carrier's,
so that current and volts are told only where the project file types it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.formula import Expression
from estimator.calc.voice_line import (
    LOOP_CURRENT,
    REACH,
    RINGERS,
    SET_VOLTS,
    loop_current_a,
    reach_m,
    ringer_equivalence,
    ringer_total,
    set_v,
)
from estimator.reference.lookup import Row, table
from estimator.spec.cabling import DeviceType
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.conductors import Conductor, Conductors
from estimator.takeoff.footage import Footage, Length
from estimator.takeoff.worked import MARGIN, MARGIN_ABOVE, Family, Input, Judged
from estimator.units.rounding import over, under

WHOLE_LOOP: Final = Expression("line_ohm + cable_ohm")
"""Loop of a telephone line: up to the room and from there to the set [ohm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class VoiceRun:
    """One voice run and the loop of its whole line, where the line's own is typed."""

    length: Length
    conductor: Conductor
    line: str
    line_ohm: float | None
    loop_ohm: float | None
    current_a: float | None
    volts_v: float | None

    @property
    def id(self) -> str:
        """Return the run's circuit."""
        return self.length.id

    @property
    def cable_ohm(self) -> float:
        """Return the loop of its own cable [ohm]."""
        return 2 * self.conductor.ohm_per_m * self.length.expected_m


@dataclass(frozen=True, kw_only=True, slots=True)
class VoiceLine:
    """A telephone line with the ringers of all that is bridged to it."""

    id: str
    ringers: tuple[float, ...]
    origins: tuple[str, ...]
    total: float
    first: Length


@dataclass(frozen=True, kw_only=True, slots=True)
class VoiceCable:
    """A voice cable type and how far it reaches within the loop of the design."""

    cable: Cable
    conductor: Conductor
    reach_m: float

    @property
    def id(self) -> str:
        """Return the cable's name."""
        return self.cable.id


@dataclass(frozen=True, kw_only=True, slots=True)
class VoiceLines:
    """The telephone lines of a job."""

    cables: tuple[VoiceCable, ...]
    runs: tuple[VoiceRun, ...]
    lines: tuple[VoiceLine, ...]


def fact(name: str) -> Row:
    """Return one fact about telephone lines."""
    return table("voice_facts").find(name=name)


def _value(name: str) -> float:
    return fact(name).number("value")


def work_out_voice(project: Project, footage: Footage) -> VoiceLines:
    """Return loops, currents and ringers of every telephone line."""
    conductors = Conductors(project, measured=True)
    lengths = [length for length in footage.lengths if length.cable.medium == "voice"]
    runs = tuple(_run(length, found) for length in lengths if (found := conductors.of(length.cable)) is not None)
    known = {run.conductor.cable.id: run.conductor for run in runs}
    cables = tuple(
        VoiceCable(
            cable=one.cable, conductor=one, reach_m=reach_m(loop_ohm=_value("design_loop"), ohm_per_m=one.ohm_per_m)
        )
        for one in known.values()
    )
    return VoiceLines(cables=cables, runs=runs, lines=tuple(_lines(runs)))


def _run(length: Length, conductor: Conductor) -> VoiceRun:
    drop = length.run.drop if length.run else None
    line_ohm = drop.line_loop_ohm if drop else None
    loop = current = volts = None
    if line_ohm is not None:
        loop = line_ohm + 2 * conductor.ohm_per_m * length.expected_m
        office = {"battery_v": _value("on_hook"), "feed_ohm": _value("feed_resistance")}
        set_ohm = _value("set_resistance")
        current = loop_current_a(**office, loop_ohm=loop, set_ohm=set_ohm)
        volts = set_v(**office, loop_ohm=loop, set_ohm=set_ohm)
    return VoiceRun(
        length=length,
        conductor=conductor,
        line=(drop.line if drop else None) or length.id,
        line_ohm=line_ohm,
        loop_ohm=loop,
        current_a=current,
        volts_v=volts,
    )


def _lines(runs: Iterable[VoiceRun]) -> Iterable[VoiceLine]:
    groups: dict[str, list[VoiceRun]] = {}
    for run in runs:
        groups.setdefault(run.line, []).append(run)
    for name, members in groups.items():
        devices = [one.length.run.device for one in members if one.length.run and one.length.run.first]
        loads = [load for device in devices if device is not None and (load := ringer_load(device)) is not None]
        if loads:
            amounts = tuple(amount for amount, _ in loads)
            yield VoiceLine(
                id=name,
                ringers=amounts,
                origins=tuple(dict.fromkeys(origin for _, origin in loads)),
                total=ringer_total(ringers=amounts),
                first=members[0].length,
            )


def ringer_load(device: DeviceType) -> tuple[float, str] | None:
    """Return a device's ringer load [REN] and its origin; None where neither load nor impedance is typed."""
    if device.ringers is not None:
        return device.ringers, f"device {device.id}, {device.source.at('ringers')}"
    if device.ringer_ohm is None:
        return None
    row = table("voice_ringers").find(ringer="A_20_hz")
    load = ringer_equivalence(limit_ohm=row.number("limit_ohm"), least_ohm=device.ringer_ohm, scale=row.number("scale"))
    return load, f"impedance of device {device.id}, {device.source.at('ringer_impedance')}, by {row.source}"


def voice_families(voice: VoiceLines) -> Iterable[Family]:
    """Yield reach, loop, current, volts and ringers of the telephone lines."""
    typed = tuple(run for run in voice.runs if run.loop_ohm is not None)
    design, current, ringers = fact("design_loop"), fact("loop_current_least"), fact("ringer_total_most")
    return filled(
        (
            column(
                ("cable", "voice_reach", "length at which the cable alone comes to the loop of the design", "m"),
                REACH, design.source, voice.cables, lambda one: one.reach_m, _reach_inputs,
            ),
            column(
                ("voice", "cable_loop", "loop of the run's own cable", "ohm"), PAIR_LOOP,
                "circuit theory, both conductors", typed, lambda one: one.cable_ohm, _cable_inputs,
            ),
            column(
                ("voice", "line_loop", "loop of the whole line, up to the set", "ohm"), WHOLE_LOOP, design.source,
                typed, lambda one: one.loop_ohm, _loop_inputs, judge=_judged_loop,
            ),
            column(
                ("voice", "line_current", "current of the line off hook", "A"), LOOP_CURRENT, current.source, typed,
                lambda one: one.current_a, _office_inputs, judge=_judged_current,
            ),
            column(
                ("voice", "set_volts", "volts at the set off hook", "V"), SET_VOLTS, fact("off_hook").source, typed,
                lambda one: one.volts_v, _office_inputs,
            ),
            column(
                ("line", "ringers", "ringers on the line together", "REN"), RINGERS, ringers.source, voice.lines,
                lambda one: one.total, _ringer_inputs, judge=_judged_ringers,
            ),
        )
    )  # fmt: skip


def _reach_inputs(one: VoiceCable) -> Mapping[str, Input]:
    design = fact("design_loop")
    return {
        "loop_ohm": Input(design.number("value"), "ohm", design.source),
        "ohm_per_m": Input(one.conductor.ohm_per_m, "ohm/m", one.conductor.source),
    }


def _cable_inputs(one: VoiceRun) -> Mapping[str, Input]:
    return {
        "length_m": Input(one.length.expected_m, "m", f"{one.length.kind}.{one.id}.expected_length"),
        "ohm_per_m": Input(one.conductor.ohm_per_m, "ohm/m", one.conductor.source),
    }


def _loop_inputs(one: VoiceRun) -> Mapping[str, Input]:
    assert one.line_ohm is not None
    assert one.length.run is not None
    return {
        "line_ohm": Input(one.line_ohm, "ohm", f"drop, {one.length.run.drop.source.at('line_loop')}"),
        "cable_ohm": Input(one.cable_ohm, "ohm", f"voice.{one.id}.cable_loop"),
    }


def _office_inputs(one: VoiceRun) -> Mapping[str, Input]:
    assert one.loop_ohm is not None
    names = {
        "battery_v": ("on_hook", "V"),
        "feed_ohm": ("feed_resistance", "ohm"),
        "set_ohm": ("set_resistance", "ohm"),
    }
    office = {name: Input(_value(key), unit, fact(key).source) for name, (key, unit) in names.items()}
    return {**office, "loop_ohm": Input(one.loop_ohm, "ohm", f"voice.{one.id}.line_loop")}


def _ringer_inputs(one: VoiceLine) -> Mapping[str, Input]:
    return {"ringers": Input(one.ringers, "REN", "; ".join(one.origins))}


def _judged_loop(one: VoiceRun) -> Judged:
    row = fact("design_loop")
    limit, loop = row.number("value"), one.loop_ohm or math.inf
    return Judged(
        "over the design" if over(loop, limit) else "within", MARGIN(limit=limit, value=loop), limit, row.source
    )


def _judged_current(one: VoiceRun) -> Judged:
    row = fact("loop_current_least")
    limit, current = row.number("value"), one.current_a or 0.0
    word = "too little" if under(current, limit) else "enough"
    return Judged(word, MARGIN_ABOVE(limit=limit, value=current), limit, row.source)


def _judged_ringers(one: VoiceLine) -> Judged:
    row = fact("ringer_total_most")
    limit = row.number("value")
    word = "too many" if over(one.total, limit) else "within"
    return Judged(word, MARGIN(limit=limit, value=one.total), limit, row.source)


def voice_alerts(voice: VoiceLines) -> Iterable[Alert]:
    """Yield lines with too many ringers, and lines whose loop is too long for the design or for a set."""
    for line in voice.lines:
        judged = _judged_ringers(line)
        if over(line.total, judged.limit):
            yield Alert(
                line.first.place, "ringer load", line.id, f"line {line.id} has too many ringers",
                f"{line.total:g} REN", f"{judged.limit:g} REN", judged.source,
                "take a set off the line, or switch its ringer off",
            )  # fmt: skip
    for run in voice.runs:
        if run.loop_ohm is None or run.current_a is None:
            continue
        loop, current = _judged_loop(run), _judged_current(run)
        if over(run.loop_ohm, loop.limit):
            yield Alert(
                run.length.place, "long line", run.id, f"{run.id}: the loop of the line is over the design",
                f"{run.loop_ohm:.0f} ohm", f"{loop.limit:g} ohm", loop.source,
                "ask the carrier, or use a thicker gauge",
            )  # fmt: skip
        if under(run.current_a, current.limit):
            yield Alert(
                run.length.place, "little line current", run.id, f"{run.id}: a set off hook gets too little current",
                f"{1000 * run.current_a:.1f} mA", f"{1000 * current.limit:g} mA", current.source,
                "ask the carrier for a range extender, or use a thicker gauge",
            )  # fmt: skip
