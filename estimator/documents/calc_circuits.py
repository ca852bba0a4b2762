"""Calculation sheets of circuits: conductors, start, every device with its volts, the worst, ratings."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.documents.calc_discharge import circuit_start_facts
from estimator.documents.calc_formulas import Formulas, formulas_table
from estimator.documents.common import in_length, length_column, length_unit, origin, rule_from, verdict
from estimator.documents.description import Cell, Column, Fact, Facts, Section, Table
from estimator.documents.estimate_circuits import resistance_unit
from estimator.documents.job_words import kind_word, sentence, words_of
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.takeoff.conductors import Conductor, other_basis
from estimator.takeoff.dc_alerts import wire_of
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.dc_figures import inrush_v
from estimator.takeoff.dc_lines import DcLine


def circuit_lines(dc: DcCircuits) -> list[DcLine]:
    """Return the lines that are circuits of several devices."""
    return [line for line in dc.lines if line.basis.length.circuit is not None]


def line_section(line: DcLine, dc: DcCircuits, formulas: Formulas, project: Project) -> Section:
    """Return the sheet of a circuit: result first, then its wire, its devices, the formulas."""
    circuit = line.basis.length.circuit
    assert circuit is not None
    name = f": {circuit.name}" if circuit.name else ""
    return Section(
        title=f"Circuit {line.id}{name}",
        blocks=(
            Facts(title="Result", rows=tuple(_result(line, circuit, dc, formulas, project))),
            Facts(title="Wire and source", rows=tuple(_wire(line, circuit, formulas, project))),
            _devices(line, circuit, project),
            formulas_table(line.id, [*formulas.of("nac", line.id), *formulas.of("dc", line.id)], project),
        ),
        landscape=True,
        new_page=True,
    )


def _volts(label: str, value: float | None, note: str = "") -> Fact:
    return Fact(label=label, value=value, unit="V", kind="number", note=note)


def _result(line: DcLine, circuit: Circuit, dc: DcCircuits, formulas: Formulas, project: Project) -> Iterator[Fact]:
    place = line.worst_place
    yield Fact(label="The circuit", value=verdict(line.word), note=_decided(line, circuit, project))
    if line.worst_v is not None:
        least = f"its minimum is {place.minimum_v:g} V ({origin(place.minimum_origin, project)})"
        yield _volts(f"Worst device, {place.name}", line.worst_v, least)
    if line.end_v is not None:
        yield _volts("With all current at the end", line.end_v, "lumped-load method, beside it")
    if line.percent is not None:
        yield Fact(label="Drop", value=line.percent, unit="%", kind="number", decimals=1, note="of the start volts")
    if line.inrush_v is not None:
        yield _volts("Worst device at inrush", inrush_v(line), "everything switched on at once")
    if line.opening is not None:
        wire = f"class {circuit.circuit_class}: wire {line.opening.wire} open, the worst of all"
        yield _volts("Worst device, loop opened", line.opened_v, wire)
    yield from _reach(line, project)
    yield from _ratings(line, circuit, dc, formulas, project)


def _reach(line: DcLine, project: Project) -> Iterator[Fact]:
    reach = line.reach
    if reach.longest_m is not None:
        note = f"one way on {wire_of(line)}" + (", distances in proportion" if len(line.basis.places) > 1 else "")
        unit = length_unit(project)[0]
        longest = in_length(reach.longest_m, project)
        yield Fact(label="Longest run that works", value=longest, unit=unit, kind="number", decimals=1, note=note)
    if reach.awg is not None:
        note = "of the stocked gauges, same stranding and temperature"
        yield Fact(label="Thinnest gauge that works", value=reach.awg, unit="AWG", kind="whole", note=note)


def _decided(line: DcLine, circuit: Circuit, project: Project) -> str:
    if circuit.kind == "notification":
        by = words_of(project.rules.nac_decides)
        return f"judged by {by} ({rule_from(project, 'nac_decides')})"
    limit = f"{100 * line.basis.drop_limit:g} %: {origin(line.basis.most_drop.origin, project)}"
    return f"judged by each device's minimum volts and the percent limit ({limit})"


def _ratings(line: DcLine, circuit: Circuit, dc: DcCircuits, formulas: Formulas, project: Project) -> Iterator[Fact]:
    kind = line.basis.what
    worked = formulas.named(kind, line.id, "current")
    judged = None if worked is None else worked.judged
    note = (
        "no rating is typed"
        if judged is None
        else f"{judged.word}: {judged.limit:g} A, {origin(judged.source, project)}"
    )
    yield Fact(label="Circuit current", value=line.total_a, unit="A", kind="number", decimals=3, note=note)
    supply = next((one for one in dc.supplies if one.id == circuit.feed), None)
    if supply is None:
        yield Fact(label=f"Supply {circuit.feed}", value="no rating is typed")
        return
    worked = formulas.named("supply", supply.id, "load")
    judged = None if worked is None else worked.judged
    note = "" if judged is None else f"{judged.word}: {judged.limit:g} A, {origin(judged.source, project)}"
    yield Fact(
        label=f"All that {supply.id} feeds", value=supply.total_a, unit="A", kind="number", decimals=3, note=note
    )


def _wire(line: DcLine, circuit: Circuit, formulas: Formulas, project: Project) -> Iterator[Fact]:
    basis = line.basis
    cable = basis.length.cable
    yield Fact(label="Kind", value=sentence(kind_word(circuit.kind)), note=f"fed by {circuit.feed}")
    yield Fact(label="Class", value=circuit.circuit_class)
    gauge = f"{cable.awg} AWG" if cable.awg is not None else "gauge not typed"
    metal = "" if cable.material == "copper" else ", copper-clad aluminum"
    yield Fact(label="Cable", value=f"{cable.id}, {gauge}, {cable.stranding}{metal}", note=cable.name)
    yield from _conductor(basis.conductor, project)
    unit = length_unit(project)[0]
    yield Fact(
        label="One way to the last device",
        value=in_length(basis.wire_m, project),
        unit=unit,
        kind="number",
        decimals=1,
    )
    if basis.return_m:
        yield Fact(
            label="Return to the source",
            value=in_length(basis.return_m, project),
            unit=unit,
            kind="number",
            decimals=1,
        )
    yield _volts("Start", basis.source_v, origin(basis.source.origin, project))
    yield from circuit_start_facts(circuit, basis.source_v, formulas)
    yield Fact(
        label="Sag of the source",
        value=basis.source_ohm,
        unit="V/A",
        kind="number",
        decimals=3,
        note=origin(basis.sag.origin, project),
    )
    if circuit.end_of_line_ohm is not None:
        yield Fact(label="End-of-line resistor", value=circuit.end_of_line_ohm, unit="ohm", kind="number", decimals=0)


def _conductor(conductor: Conductor, project: Project) -> Iterator[Fact]:
    unit, si = resistance_unit(project)
    yield Fact(
        label="One conductor",
        value=conductor.ohm_per_m / si,
        unit=unit,
        kind="number",
        decimals=3,
        note=origin(conductor.source, project),
    )
    other = other_basis(conductor)
    if other is not None:
        note = f"for comparison: {origin(other.source, project)}"
        yield Fact(
            label="By the other basis", value=other.ohm_per_m / si, unit=unit, kind="number", decimals=3, note=note
        )
    warm = conductor.inputs.get("temperature_c")
    if warm is not None and not isinstance(warm.value, tuple):
        yield Fact(
            label="At",
            value=warm.value,
            unit="\N{DEGREE SIGN}C",
            kind="number",
            decimals=0,
            note=origin(warm.origin, project),
        )


def _devices(line: DcLine, circuit: Circuit, project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for index, (place, stop) in enumerate(zip(line.basis.places, circuit.stops, strict=True)):
        volts = line.volts[index] if line.volts else None
        word = ("worst" if index == line.worst else "") if volts is not None else "cannot be fed"
        rows.append(
            (
                place.name,
                place.device.name or place.device.id,
                stop.setting or "",
                place.quantity,
                in_length(place.distance_m, project),
                place.each.amps,
                volts,
                place.minimum_v,
                None if volts is None else volts - place.minimum_v,
                word,
                origin(place.each.origin, project),
            )
        )
    return Table(
        name=f"devices_{line.id}",
        title="Devices, first from the source",
        caption="Volts are worked out as a ladder: every device draws its current at its own place.",
        columns=(
            Column(key="name", head="Device"),
            Column(key="type", head="Type"),
            Column(key="setting", head="Setting"),
            Column(key="count", head="Pieces", kind="whole"),
            length_column(project, "distance", "From the one before"),
            Column(key="amps", head="Each", kind="number", unit="A", decimals=3),
            Column(key="volts", head="Volts there", kind="number", unit="V"),
            Column(key="least", head="Minimum", kind="number", unit="V", decimals=1),
            Column(key="margin", head="Margin", kind="number", unit="V"),
            Column(key="worst", head="Note"),
            Column(key="from", head="Current from"),
        ),
        rows=rows,
    )
