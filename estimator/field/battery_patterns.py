"""Patterns of a battery set: one weak block, a set that is too small, empty, old, or badly charged."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.calc.formula import Expression
from estimator.field.signs import sign
from estimator.field.suspect import Pattern, Site, Suspect, finding
from estimator.field.verdicts import Finding, Reading
from estimator.reference.lookup import table
from estimator.takeoff.batteries import BatterySheet, work_out_batteries
from estimator.takeoff.battery_service import battery_rules, replace_by
from estimator.units.rounding import over, under

FLOAT_AT: Final = Expression("cells * (cell_v + per_kelvin * (temperature - reference))")
"""Volts at which a block is floated, by its temperature [V]."""

_CELL_V: Final = 2.0


def battery(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A block that sags under load by itself, a set that sags as a whole, or a block that isn't charged."""
    rows = suspect.criteria.rows
    sagging = [row for row in rows if suspect.failed("load_volts", row) is not None]
    empty = [row for row in rows if suspect.failed("open_circuit_volts", row) is not None or _flat(suspect, row)]
    for row in rows:
        load, rested = suspect.failed("load_volts", row), suspect.failed("open_circuit_volts", row)
        if load is not None:
            yield _sagging(suspect, site, load, whole=len(rows) > 1 and len(sagging) == len(rows), empty=row in empty)
        elif row in empty:
            shown = rested or suspect.reading("open_circuit_volts", row)
            yield _uncharged(suspect, row, f"{shown.shown} at rest" if shown else "flat at rest")


def _flat(suspect: Suspect, row: str) -> bool:
    """Return whether a block rests below the chart's half charge: it was empty before the test."""
    volts, block = suspect.number("open_circuit_volts", row), suspect.criteria.expected_volts
    if volts is None or not block:
        return False
    half = table("battery_open_circuit").find(charge_percent=50).number("sealed_low_v")
    return under(volts, half * block / 12.0)


def _uncharged(suspect: Suspect, row: str, evidence: str) -> Finding:
    return finding(suspect, "discharged battery", f"block {row} isn't charged", evidence,
                   "the charger's output and fuse; charge and test again",
                   instead="a cell that is shorted: it stays about two volts low after a charge")  # fmt: skip


def _sagging(suspect: Suspect, site: Site, load: Reading, *, whole: bool, empty: bool) -> Finding:
    row = load.position
    at_rest = suspect.reading("open_circuit_volts", row)
    evidence = f"{load.shown} under load" + (f", {at_rest.shown} at rest" if at_rest else "")
    if empty:
        return _uncharged(suspect, row, evidence)
    sheet = _sheet(suspect, site)
    if whole and sheet is not None and sheet.installed_ah is not None and over(sheet.need_ah, sheet.installed_ah):
        evidence += f"; the panel needs {sheet.need_ah:.1f} Ah, {sheet.installed_ah:g} Ah are installed"
        return finding(suspect, "undersized battery", "all blocks sag: the set is too small", evidence,
                       "the battery calculation; a larger set that the charger and cabinet bear",
                       instead="a set at the end of its life")  # fmt: skip
    look = "replace the whole set; look at its date code and the charger's volts"
    other = "a loose or corroded link between blocks" if not whole else "a test load larger than planned"
    return finding(suspect, "weak battery", f"block {row} is weak under load", evidence, look, instead=other)


def _sheet(suspect: Suspect, site: Site) -> BatterySheet | None:
    point = site.project.test_points.get(suspect.criteria.circuit)
    unit = point.control_unit if point is not None else None
    return next((one for one in work_out_batteries(site.project).sheets if one.id == unit), None)


def uneven_block(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """A block that passes and sags far more than its neighbors in the set: the next to fail."""
    loads = {row: volts for row in suspect.criteria.rows if (volts := suspect.number("load_volts", row)) is not None}
    if len(loads) < 2 or any(suspect.failed("load_volts", row) for row in loads):
        return
    worst = min(loads, key=lambda row: loads[row])
    best = max(loads.values())
    if over(best - loads[worst], sign("bad_block_v")):
        evidence = f"{loads[worst]:.2f} V under load, another block of the set {best:.2f} V"
        yield finding(suspect, "uneven set", f"block {worst} is far below its neighbors", evidence,
                      "its terminals first; then replace the set together", cause=False,
                      instead="a link between blocks that isn't tight")  # fmt: skip


def charging(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Float volts outside what sealed cells are charged at, at the temperature that was read."""
    cell = table("battery_voltages").find(state="float")
    facts = table("battery_facts")
    block = suspect.criteria.expected_volts
    for row in suspect.criteria.rows if block else ():
        one = suspect.reading("float_volts", row)
        if one is None or not isinstance(one.value, float) or one.why.startswith("read with"):
            continue
        warm = next((s.numbers["temperature"] for s in suspect.said if "temperature" in s.numbers), None)
        reference = facts.find(name="reference_temperature").number("value")
        low, high = (
            FLOAT_AT(
                cells=(block or 0.0) / _CELL_V,
                cell_v=cell.number(name),
                per_kelvin=facts.find(name="float_compensation").number("value"),
                temperature=reference if warm is None else warm,
                reference=reference,
            )
            for name in ("low_v", "high_v")
        )
        if under(one.value, low) or over(one.value, high):
            text = "charged too low" if under(one.value, low) else "charged too high"
            evidence = f"{one.shown} on the charger, {low:.2f} to {high:.2f} V at {warm or reference:g} C"
            yield finding(suspect, "charger", f"block {row} is {text}", evidence,
                          "the charger's set volts and its temperature probe", cause=False,
                          instead="a bad cell in this or a neighboring block")  # fmt: skip


def age(suspect: Suspect, site: Site) -> Iterable[Finding]:
    """A block past the date by which the adopted edition has it replaced."""
    codes = [(one.position, one.text) for one in suspect.readings if one.test == "date_code"]
    days = [said.day for said in suspect.said if said.day is not None]
    point = site.project.test_points.get(suspect.criteria.circuit)
    if not suspect.criteria.life_safety or point is None:
        return
    for row, code in codes:
        due = replace_by(code, point.installed, battery_rules(site.project.codes.fire_alarm))
        if due is not None and days and max(days).strftime("%Y-%m") > due:
            yield finding(suspect, "battery past its date", f"block {row} had to be replaced by {due}",
                          f"date code {code}, tested {max(days).isoformat()}", "replace the whole set",
                          cause=False)  # fmt: skip


BATTERIES: Final[tuple[Pattern, ...]] = (battery, uneven_block, charging, age)
