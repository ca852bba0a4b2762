"""Calculation sheet of one control unit or booster: every current, the hours, the need, the battery."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from estimator.calc.battery import TOTAL
from estimator.documents.calc_formulas import Formulas, formulas_table
from estimator.documents.common import origin, verdict
from estimator.documents.description import Cell, Column, Fact, Facts, Section, Table
from estimator.documents.job_words import counted, sentence, words_of
from estimator.spec.model import Project
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.loads import Drawn
from estimator.takeoff.worked import Judged

NO_BATTERY = "no battery is typed"
"""Stands where a unit names no installed battery."""


def battery_section(one: BatterySheet, formulas: Formulas, project: Project) -> Section:
    """Return the sheet of a unit: result first, then loads, hours and factors, formulas."""
    name = f": {one.unit.name}" if one.unit.name else ""
    return Section(
        title=f"Battery of {one.id}{name}",
        blocks=(
            Facts(title="Result", rows=tuple(_result(one, formulas, project))),
            _loads(one, project),
            Facts(title="Hours and factors", rows=tuple(_need(one, project))),
            formulas_table(f"battery_{one.id}", list(formulas.of("battery", one.id)), project),
        ),
        landscape=True,
        new_page=True,
    )


def installed_word(one: BatterySheet, formulas: Formulas) -> str:
    """Return how the installed set stands to the need."""
    worked = formulas.named("battery", one.id, "installed")
    return NO_BATTERY if worked is None or worked.judged is None else worked.judged.word


def _judged(one: BatterySheet, formulas: Formulas, name: str) -> Judged | None:
    worked = formulas.named("battery", one.id, name)
    return None if worked is None else worked.judged


def _ah(label: str, value: Cell, note: str = "", decimals: int = 2) -> Fact:
    return Fact(label=label, value=value, unit="Ah", kind="number", decimals=decimals, note=note)


def _result(one: BatterySheet, formulas: Formulas, project: Project) -> Iterator[Fact]:
    unit = one.unit
    yield Fact(label="System", value=sentence(words_of(unit.system)), note=f"room {unit.room}, {unit.nominal_v:g} V")
    yield _ah("Needed", one.need_ah)
    word = verdict(installed_word(one, formulas))
    if unit.battery is not None:
        held = unit.battery
        note = (
            f"{counted(held.blocks, 'block')} of {held.block_v:g} V in series, {held.strings} in parallel"
            f"{f', date code {held.date_code}' if held.date_code else ''}"
        )
        yield _ah("Installed set", one.installed_ah, note)
    yield Fact(label="The installed set", value=word)
    if one.spare is not None:
        yield Fact(label="Spare over the need", value=one.spare, kind="percent", decimals=0)
    fits = "smallest stocked one at or above the need, within charger and cabinet"
    if one.size.size_ah is not None:
        yield _ah("Smallest block that fits", one.size.size_ah, fits, 1)
    else:
        yield Fact(
            label="Smallest block that fits", value=f"none: stopped by {' and '.join(one.size.limits)}", note=fits
        )
    yield from _limits(one, formulas, project)


def _limits(one: BatterySheet, formulas: Formulas, project: Project) -> Iterator[Fact]:
    unit = one.unit
    for label, limit, key in (
        ("Charger takes a set up to", unit.charger_max_ah, "charger_limit"),
        ("Cabinet holds a block up to", unit.cabinet_max_ah, "cabinet_limit"),
    ):
        if limit is None:
            yield Fact(label=label, value="not typed", note="check the equipment's data sheet")
        else:
            yield _ah(label, limit, f"control unit, {origin(str(unit.source.at(key)), project)}", 1)
    if one.recharge_s is not None:
        judged = _judged(one, formulas, "recharge_time")
        note = "" if judged is None else f"{judged.word}: at most {judged.limit / 3600:g} h, {judged.source}"
        yield Fact(
            label="Recharge of the whole set",
            value=one.recharge_s / 3600,
            unit="h",
            kind="number",
            decimals=1,
            note=note,
        )


def _grouped(one: BatterySheet) -> list[tuple[Drawn, float]]:
    """Return the loads with equal ones on the same circuit together, and how many pieces they are."""
    found: dict[tuple[str, str, bool, float, float], tuple[Drawn, float]] = {}
    for load in one.loads:
        key = (load.name, load.where, load.shed, load.standby.amps, load.alarm.amps)
        first, pieces = found.get(key, (load, 0.0))
        found[key] = (first, pieces + load.quantity)
    return list(found.values())


def _loads(one: BatterySheet, project: Project) -> Table:
    def row(load: Drawn, pieces: float) -> tuple[Cell, ...]:
        carried = 0.0 if load.shed else pieces
        return (
            words_of(load.name),
            load.where,
            "off" if load.shed else "counts",
            pieces,
            load.standby.amps,
            TOTAL(quantity=[carried], each_a=[load.standby.amps]),
            load.alarm.amps,
            TOTAL(quantity=[carried], each_a=[load.alarm.amps]),
            _both(load, project),
        )

    def amps(key: str, head: str) -> Column:
        return Column(key=key, head=head, kind="number", unit="A", decimals=5)

    return Table(
        name=f"loads_{one.id}",
        title="Currents: pieces by each",
        caption="A load that is switched off on loss of mains does not count.",
        columns=(
            Column(key="name", head="Load"),
            Column(key="where", head="Where"),
            Column(key="state", head="Without mains"),
            Column(key="pieces", head="Pieces", kind="whole"),
            amps("standby", "Each in standby"),
            replace(amps("standby_all", "All in standby"), total="sum"),
            amps("alarm", "Each in alarm"),
            replace(amps("alarm_all", "All in alarm"), total="sum"),
            Column(key="from", head="Currents from"),
        ),
        rows=[row(load, pieces) for load, pieces in _grouped(one)],
        totals=True,
    )


def _both(load: Drawn, project: Project) -> str:
    standby, alarm = (origin(amps.origin, project) for amps in (load.standby, load.alarm))
    return standby if standby == alarm else f"standby: {standby}; alarm: {alarm}"


def _need(one: BatterySheet, project: Project) -> Iterator[Fact]:
    yield Fact(
        label="Standby current", value=one.standby_a, unit="A", kind="number", decimals=4, note="sum of the table above"
    )
    yield Fact(
        label="Standby for",
        value=one.standby.time_s / 3600,
        unit="h",
        kind="number",
        decimals=2,
        note=_typed(origin(one.standby.origin, project), implied=one.standby.implied),
    )
    yield Fact(
        label="Alarm current", value=one.alarm_a, unit="A", kind="number", decimals=4, note="sum of the table above"
    )
    yield Fact(
        label="Alarm for",
        value=one.alarm.time_s / 60,
        unit="min",
        kind="number",
        decimals=1,
        note=_typed(origin(one.alarm.origin, project), implied=one.alarm.implied),
    )
    for factor in one.factors:
        yield Fact(
            label=f"Factor: {factor.name}",
            value=factor.value,
            kind="number",
            decimals=3,
            note=origin(factor.origin, project),
        )
    yield _ah("Need", one.need_ah, "currents by hours, together by every factor")


def _typed(text: str, *, implied: bool) -> str:
    return text if implied else f"typed: {text}"
