"""Calculation sheet of one control unit or booster: every current, the hours, the need, the battery."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from estimator.calc.battery import TOTAL
from estimator.documents.battery_words import OTHER_RULE, due_words, rule_words
from estimator.documents.calc_discharge import discharge_table, standby_end_fact
from estimator.documents.calc_formulas import Formulas, formulas_table
from estimator.documents.common import origin, verdict
from estimator.documents.description import Cell, Column, Fact, Facts, Section, Table
from estimator.documents.job_words import counted, sentence, words_of
from estimator.documents.picture_battery import battery_picture
from estimator.documents.picture_lines import unit_picture
from estimator.spec.model import Project
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.battery_care import charge_within
from estimator.takeoff.battery_service import battery_rules
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
            unit_picture(one, project),
            Facts(title="Limits, charge and care", rows=tuple(_limits(one, formulas, project))),
            _loads(one, project),
            Facts(title="Hours and factors", rows=tuple(_need(one, project))),
            discharge_table(one),
            *([volts] if (volts := battery_picture(one)) is not None else []),
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
    yield _edition(one, project)
    yield _ah("Needed", one.need_ah)
    word = verdict(installed_word(one, formulas))
    if unit.battery is not None:
        held = unit.battery
        parallel = ", for units that are listed for strings in parallel" if held.strings > 1 else ""
        note = (
            f"{counted(held.blocks, 'block')} of {held.block_v:g} V in series, {held.strings} in parallel{parallel}"
            f"{f', date code {held.date_code}' if held.date_code else ''}"
        )
        yield _ah("Installed set", one.installed_ah, note)
    yield Fact(label="The installed set", value=word)
    if one.spare is not None:
        yield Fact(label="Spare over the need", value=one.spare, kind="percent", decimals=0)
    yield _fits(one)
    share = formulas.named("battery", one.id, "carried_share")
    if share is not None and share.judged is not None:
        note = f"of its rating; {share.judged.word}, at {share.judged.limit:.0%} ({share.judged.source})"
        yield Fact(label="Carries the load down to", value=share.value, kind="percent", decimals=0, note=note)
    yield standby_end_fact(one, project)


def _edition(one: BatterySheet, project: Project) -> Fact:
    """Return the edition that a life-safety battery is sized under; others follow the hours of their kind."""
    if not one.life_safety:
        hours = f"hours: {one.hours.source}, {one.hours.text('title')}"
        return Fact(label="Edition", value="not under the fire-alarm code", note=hours)
    codes = project.codes
    adopted = "as adopted" if codes.source.typed("fire_alarm") is not None else "by default: none was typed"
    row = "" if one.edition in codes.fire_alarm else f"; the margin is that of {one.edition}"
    return Fact(label="Edition", value=f"NFPA 72-{codes.fire_alarm}", note=f"{adopted}{row}")


def _fits(one: BatterySheet) -> Fact:
    label, fits = "Smallest block that fits", "smallest stocked one at or above the need, within charger and cabinet"
    if one.size.size_ah is not None:
        return _ah(label, one.size.size_ah, fits, 1)
    other = one.other_strings
    way = f"{other[0]} strings of {other[1]:g} Ah would, where the unit is listed for them" if other else fits
    return Fact(label=label, value=f"none: stopped by {' and '.join(one.size.limits)}", note=way)


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
    yield from _charge(one, formulas, project)
    held = unit.battery
    safety = battery_rules(project.codes.fire_alarm) if one.life_safety else ()
    words = rule_words(safety, project.codes.fire_alarm) if safety else OTHER_RULE
    yield Fact(
        label="Replace by",
        value=due_words(held.date_code if held else "", _installed(one, project), safety),
        note=words,
    )


def _installed(one: BatterySheet, project: Project) -> str:
    """Return the month in which a unit's battery was or will be installed, where a test point types it."""
    points = (point for point in project.test_points.values() if point.control_unit == one.id)
    return next((point.installed for point in points if point.installed), "")


def _charge(one: BatterySheet, formulas: Formulas, project: Project) -> Iterator[Fact]:
    needed = formulas.named("battery", one.id, "charger_needed")
    low, high = (formulas.named("battery", one.id, f"float_{edge}") for edge in ("low", "high"))
    warm = formulas.named("battery", one.id, "life_share")
    if one.recharge_s is not None:
        judged = _judged(one, formulas, "recharge_time")
        note = "" if judged is None else f"{judged.word}: at most {judged.limit / 3600:g} h, {judged.source}"
        hours = one.recharge_s / 3600
        yield Fact(label="Recharge of the whole set", value=hours, unit="h", kind="number", decimals=1, note=note)
    if needed is not None:
        stated = f"; the charger gives {one.unit.charger_a:g} A" if one.unit.charger_a else "; no charger is typed"
        within = charge_within(one)
        note = f"to fill the set in {within[0] / 3600:g} h{stated}" if within is not None else ""
        yield Fact(label="Charging current needed", value=needed.value, unit="A", kind="number", decimals=3, note=note)
    if low is not None and high is not None:
        at = low.inputs["temperature_c"]
        note = f"at {at.value:g} \N{DEGREE SIGN}C ({origin(at.origin, project)}); {low.source}"
        yield Fact(label="Float volts of the set", value=f"{low.value:.1f} to {high.value:.1f} V", note=note)
    if warm is not None:
        reference = warm.inputs["reference_c"].value
        note = f"of its life at {reference:g} \N{DEGREE SIGN}C, where it stays as warm: {warm.source}"
        yield Fact(label="A warm battery keeps", value=warm.value, kind="percent", decimals=0, note=note)


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
