"""Sheet about circuits that visit several devices: their wire, and each device in its order."""

from __future__ import annotations

from functools import partial

from estimator.calc.conductor import PAIR_LOOP
from estimator.documents.common import in_length, length_column, number_column
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.job_words import kind_word
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.dc_figures import WITH_RESISTOR
from estimator.takeoff.takeoff import Takeoff
from estimator.units.table import FOOT_M

_ohm = partial(number_column, unit="ohm")


def circuits_section(takeoff: Takeoff) -> Section:
    """Return every circuit of several devices with its wire, then each device in its order."""
    text = "Distances are one way, first from the source, and have the slack of each device in them."
    return Section(
        title="Circuits",
        blocks=(Paragraph(text), _loops(takeoff.power.dc, takeoff.project), _stops(takeoff)),
        landscape=True,
    )


def resistance_unit(project: Project) -> tuple[str, float]:
    """Return the unit that conductors are shown in, and its size [ohm/m]."""
    if project.header.lengths_in == "ft":
        return "ohm/1,000 ft", 1 / (1000 * FOOT_M)
    return "ohm/km", 0.001


def conductor_column(project: Project) -> Column:
    """Return the column of conductors' resistance, in the formulas' name for it."""
    unit, si = resistance_unit(project)
    return number_column("ohm_per_m", "Conductor", unit, decimals=3, si=si)


def _loops(dc: DcCircuits, project: Project) -> Table:
    si = resistance_unit(project)[1]
    return Table(
        name="wire_loops",
        title="Wire of notification, signaling and initiating circuits",
        caption="What a meter reads from the source with the far end joined, and with the resistor in place.",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="kind", head="Kind"),
            Column(key="class", head="Class"),
            Column(key="cable", head="Cable"),
            length_column(project, "length_m", "Length"),
            conductor_column(project),
            _ohm("wire_ohm", "Wire there and back", formula=PAIR_LOOP),
            _ohm("end_of_line_ohm", "End-of-line resistor", decimals=0),
            _ohm("with_resistor", "With the resistor", decimals=1, formula=WITH_RESISTOR),
        ),
        rows=[
            (
                one.id,
                kind_word(one.circuit.kind),
                one.circuit.circuit_class,
                one.length.cable.id,
                in_length(one.length.expected_m, project),
                one.conductor.ohm_per_m / si,
                one.wire_ohm,
                one.circuit.end_of_line_ohm,
                None
                if one.circuit.end_of_line_ohm is None
                else WITH_RESISTOR(wire_ohm=one.wire_ohm, end_of_line_ohm=one.circuit.end_of_line_ohm),
            )
            for one in dc.loops
        ],
        empty="No such circuit is in this job.",
    )


def _stops(takeoff: Takeoff) -> Table:
    project = takeoff.project
    rows: list[tuple[Cell, ...]] = []
    for circuit in project.circuits.values():
        for number, stop in enumerate(circuit.stops, start=1):
            name, setting = stop.id or f"{circuit.id} device {number}", stop.setting or ""
            distance = in_length(stop.distance_m, project)
            rows.append(
                (circuit.id, kind_word(circuit.kind), circuit.feed, name, stop.device, setting, stop.count, distance)
            )
    return Table(
        name="stops",
        title="Devices in order",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="kind", head="Kind"),
            Column(key="source", head="Source"),
            Column(key="id", head="Device"),
            Column(key="type", head="Type"),
            Column(key="setting", head="Setting"),
            Column(key="quantity", head="Pieces", kind="whole"),
            length_column(project, "distance", "From the one before"),
        ),
        rows=rows,
        empty="No circuit of several devices is in this job.",
    )
