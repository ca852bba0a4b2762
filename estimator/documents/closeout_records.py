"""Closeout tables of what people look up later: devices, batteries, instruments, punch list, rows kept aside."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.documents import common
from estimator.documents.battery_words import OTHER_RULE, due_words, rule_words
from estimator.documents.crew_plan import accuracy_words
from estimator.documents.description import Cell, Column, Table, Verdict
from estimator.documents.job_readings import Shown, shown_reading
from estimator.documents.job_words import counted, sentence, words_of
from estimator.field.instruments import InstrumentUse, instrument_use
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.spec.cabling import DeviceType
from estimator.spec.feeds import Circuit, Stop
from estimator.spec.model import Project, Run
from estimator.spec.turnover import Registered
from estimator.takeoff.battery_service import BatteryRule, battery_rules
from estimator.takeoff.conductors import LIFE_SAFETY


def device_table(project: Project) -> Table:
    """Return the register of devices; addresses and credentials stand only in the restricted copy."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="device", head="Device"),
        Column(key="system", head="System"),
        Column(key="place", head="Place"),
        Column(key="feed", head="Fed by"),
        Column(key="setting", head="Setting"),
        Column(key="serial", head="Serial number"),
        Column(key="mac", head="MAC"),
        Column(key="firmware", head="Firmware"),
    )
    entries = {one.circuit: one for one in project.closeout.registers}
    rows = [
        _run_row(run, run.device, _identity(entries.get(run.id)))
        for run in project.runs
        if run.device is not None and run.first and run.device.end != "jack"
    ]
    rows += [
        _stop_row(circuit, stop, project.devices[stop.device], _identity(entries.get(stop.id or "")))
        for circuit in project.circuits.values()
        for stop in circuit.stops
    ]
    return Table(
        name="devices",
        title="Device register",
        columns=columns,
        rows=rows,
        empty="The job has no device to register.",
        caption="Network addresses, credentials and camera views stand only in the restricted part.",
    )


def _identity(entry: Registered | None) -> tuple[str, str, str]:
    return (entry.serial, entry.mac, entry.firmware) if entry else ("", "", "")


def _run_row(run: Run, device: DeviceType, identity: tuple[str, str, str]) -> tuple[Cell, ...]:
    drop = run.drop
    fed = (drop.switch or drop.supply or "", drop.setting or "")
    return (run.id, device.name or device.id, words_of(device.system), _place(run), *fed, *identity)


def _stop_row(circuit: Circuit, stop: Stop, device: DeviceType, identity: tuple[str, str, str]) -> tuple[Cell, ...]:
    what = device.name or device.id
    known = (stop.id or f"{circuit.id}, {what}", what, words_of(device.system), circuit.name or circuit.id)
    return (*known, circuit.feed, stop.setting or "", *identity)


def _place(run: Run) -> str:
    drop = run.drop
    at = drop.at or (f"{drop.floor} at {drop.x:g}, {drop.y:g}" if drop.x is not None and drop.y is not None else "")
    return ", ".join(part for part in (drop.zone, at) if part)


def battery_table(project: Project, job: Job) -> Table:
    """Return the battery record: the set, its dates, its worst readings and when it must be replaced."""
    columns = (
        Column(key="circuit", head="Test point"),
        Column(key="unit", head="Control unit"),
        Column(key="set", head="Set"),
        Column(key="code", head="Date code"),
        Column(key="installed", head="Installed"),
        Column(key="rest", head="Lowest at rest", kind="number", unit="V"),
        Column(key="load", head="Lowest under load", kind="number", unit="V"),
        Column(key="verdict", head="Verdict", kind="verdict"),
        Column(key="replace", head="Replace by"),
        Column(key="rule", head="Rule"),
    )
    edition = project.codes.fire_alarm
    rules = battery_rules(edition)
    rows = [
        _battery_row(one, project, rules, edition) for one in job.result.circuits if one.criteria.medium == "battery"
    ]
    return Table(
        name="batteries",
        title="Battery record",
        columns=columns,
        rows=rows,
        empty="No battery is on the list.",
        caption="Holding a small test load shows that a battery responds, not that its capacity is proven.",
    )


def _battery_row(
    one: CircuitResult, project: Project, rules: tuple[BatteryRule, ...], edition: str
) -> tuple[Cell, ...]:
    point = project.test_points[one.criteria.circuit]
    unit = project.control_units.get(point.control_unit or "")
    battery = unit.battery if unit else None
    code = battery.date_code if battery else ""
    safety = unit is not None and unit.system in LIFE_SAFETY
    what = f"{battery.blocks * battery.strings} x {battery.block_v:g} V {battery.capacity_ah:g} Ah" if battery else ""
    return (
        one.id,
        (unit.name or unit.id) if unit else one.criteria.far_end,
        what,
        code,
        point.installed,
        _lowest(one, "open_circuit_volts"),
        _lowest(one, "load_volts"),
        common.verdict(one.word),
        due_words(code, point.installed, rules if safety else ()),
        rule_words(rules, edition) if safety else OTHER_RULE,
    )


def _lowest(one: CircuitResult, test: str) -> float | None:
    shown: list[Shown] = [shown_reading(reading, "ft") for reading in one.readings if reading.test == test]
    return min((each.number for each in shown if each.number is not None), default=None)


def instrument_table(project: Project, job: Job) -> Table:
    """Return the instruments with certificates, and what they were used on after their calibration."""
    columns = (
        Column(key="id", head="Instrument"),
        Column(key="kind", head="Kind"),
        Column(key="serial", head="Serial number"),
        Column(key="accuracy", head="Stated accuracy"),
        Column(key="calibrated", head="Calibrated", kind="date"),
        Column(key="due", head="Due", kind="date"),
        Column(key="certificate", head="Certificate"),
        Column(key="rows", head="Rows", kind="whole", total="sum"),
        Column(key="last", head="Last used", kind="date"),
        Column(key="state", head="State", kind="verdict"),
    )
    uses, strangers = instrument_use(project, job)
    rows = [_instrument_row(one) for one in uses]
    rows += [
        (one.name, "not in the project file", "", "", None, None, "", one.rows, None, Verdict("unknown", "poor"))
        for one in strangers
    ]
    return Table(
        name="instruments",
        title="Instruments and certificates",
        columns=columns,
        rows=rows,
        totals=True,
        empty="No instrument is named.",
    )


def _instrument_row(one: InstrumentUse) -> tuple[Cell, ...]:
    known = one.instrument
    dated = known.calibration_due is not None
    word = Verdict("in date", "good") if dated else Verdict("no due date", "poor")
    if one.late:
        word = Verdict(f"past due at {counted(one.late, 'row')}", "bad")
    named = (known.id, known.kind, known.serial, accuracy_words(known))
    return (*named, known.calibrated, known.calibration_due, known.certificate, one.rows, one.last, word)


def punch_table(job: Job) -> Table:
    """Return the punch list: what is open with its probable cause and where to look, and what was cleared."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="room", head="Room"),
        Column(key="state", head="State", kind="verdict"),
        Column(key="what", head="What is wrong"),
        Column(key="look", head="Probable cause and where to look"),
        Column(key="found", head="Found in"),
        Column(key="cleared", head="Cleared in"),
    )
    rows = [
        (
            item.circuit,
            item.room,
            Verdict("open", "bad") if item.open else Verdict("cleared", "good"),
            item.what,
            item.look,
            item.found,
            item.cleared,
        )
        for item in (*job.result.open_items, *(one for one in job.result.punch if not one.open))
    ]
    return Table(name="punch", title="Punch list", columns=columns, rows=rows, empty="Nothing is open.")


def finding_table(job: Job) -> Table:
    """Return what the numbers say beside their verdict, with the evidence for it."""
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="kind", head="Kind"),
        Column(key="text", head="Finding"),
        Column(key="evidence", head="Evidence"),
        Column(key="instead", head="Or else"),
        Column(key="look", head="Where to look"),
        Column(key="place", head="Place"),
    )
    rows = [
        (one.circuit, sentence(one.kind), one.text, one.evidence, one.instead, one.look, one.place)
        for one in job.result.findings
    ]
    return Table(name="findings", title="Findings", columns=columns, rows=rows, empty="Nothing is remarkable.")


def aside_table(job: Job) -> Table:
    """Return the rows that were kept and not used, and the files and signatures that don't count."""
    columns = (
        Column(key="circuit", head="Circuit as typed"),
        Column(key="kind", head="Kind"),
        Column(key="why", head="Why it is not used"),
        Column(key="place", head="File and row"),
        Column(key="key", head="Row"),
    )
    rows: list[tuple[Cell, ...]] = [
        (one.row.circuit, sentence(one.kind), one.why, one.row.place, one.row.key) for one in job.result.unplaced
    ]
    rows += _problems(job)
    return Table(name="aside", title="Kept aside", columns=columns, rows=rows, empty="Every row was used.")


def _problems(job: Job) -> Iterable[tuple[Cell, ...]]:
    for problem in job.result.problems:
        yield "", "Signature", problem, "", ""
    for fault in job.stored.faults:
        yield "", "File", f"{fault.wrong}; {fault.mend}", str(fault.place), ""
