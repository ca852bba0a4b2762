"""Calculation sheets of what needs one line each: wire loops, devices at a supply, speaker lines."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.documents.common import in_length, length_column, verdict
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.estimate_circuits import resistance_unit
from estimator.documents.job_words import kind_word, words_of
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.dc_lines import DcLine


def loops_section(dc: DcCircuits, project: Project) -> Iterator[Section]:
    """Yield the wire of every fire-alarm circuit, as a meter reads it from the source."""
    if not dc.loops:
        return
    unit, si = resistance_unit(project)
    rows: list[tuple[Cell, ...]] = []
    for one in dc.loops:
        band, limit = one.band, one.limit
        cable = one.length.cable
        rows.append(
            (
                one.id,
                kind_word(one.circuit.kind),
                one.circuit.circuit_class,
                f"{cable.awg} AWG {cable.stranding}",
                in_length(one.length.expected_m, project),
                one.conductor.ohm_per_m / si,
                one.loop_ohm,
                None if limit is None or isinstance(limit.value, tuple) else limit.value,
                one.metered_ohm,
                None if band is None else band.expected_ohm,
                None if band is None else band.least_ohm,
                None if band is None else band.most_ohm,
            )
        )
    table = Table(
        name="loops",
        title="Wire there and back",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="kind", head="Kind"),
            Column(key="class", head="Class"),
            Column(key="cable", head="Cable"),
            length_column(project, "length", "Length"),
            Column(key="ohm_per_m", head="Conductor", kind="number", unit=unit, decimals=3),
            Column(key="loop", head="Loop", kind="number", unit="ohm"),
            Column(key="limit", head="Maximum", kind="number", unit="ohm"),
            Column(key="metered", head="A meter reads", kind="number", unit="ohm"),
            Column(key="both", head="With resistor", kind="number", unit="ohm", decimals=0),
            Column(key="least", head="At least", kind="number", unit="ohm", decimals=0),
            Column(key="most", head="At most", kind="number", unit="ohm", decimals=0),
        ),
        rows=rows,
    )
    yield Section(title="Wire of fire-alarm circuits", blocks=(table,), new_page=True)


def fed_section(dc: DcCircuits) -> Iterator[Section]:
    """Yield the devices on cables of their own, one line a supply: how many, and the worst of them."""
    by_supply: dict[str, list[DcLine]] = {}
    for line in dc.lines:
        run = line.basis.length.run
        if run is not None:
            by_supply.setdefault(run.drop.supply or "", []).append(line)
    if not by_supply:
        return
    rows: list[tuple[Cell, ...]] = []
    for supply, lines in by_supply.items():
        worst = min(lines, key=_margin)
        words = [line.word for line in lines if line.word != "works"]
        word = words[0] if words else "works"
        rows.append(
            (
                supply,
                len(lines),
                worst.id,
                _type(worst),
                worst.worst_v,
                worst.worst_place.minimum_v,
                len(words),
                verdict(word),
            )
        )
    table = Table(
        name="fed",
        title="Worst device at each supply",
        columns=(
            Column(key="supply", head="Supply"),
            Column(key="count", head="Devices", kind="whole"),
            Column(key="worst", head="Worst"),
            Column(key="type", head="Type"),
            Column(key="volts", head="Volts there", kind="number", unit="V"),
            Column(key="least", head="Its minimum", kind="number", unit="V", decimals=1),
            Column(key="wrong", head="Not working", kind="whole"),
            Column(key="word", head="The devices", kind="verdict"),
        ),
        rows=rows,
    )
    text = "Every device is worked out; all of them stand in the estimate workbook, sheet DC and notification."
    yield Section(title="Devices on cables of their own", blocks=(Paragraph(text), table))


def _type(line: DcLine) -> str:
    device = line.worst_place.device
    return device.name or words_of(device.id)


def _margin(line: DcLine) -> float:
    return float("-inf") if line.worst_v is None else line.worst_v - line.worst_place.minimum_v
