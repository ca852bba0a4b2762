"""Sheet about circuits that visit several devices: their wire, and each device in its order."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final

from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.loop_circuit import LEAST_READ, LOOP, MOST_READ, WITH_RESISTOR
from estimator.documents.common import SAME, changeable, in_length, length_column, live_words, number_column, verdict
from estimator.documents.description import Cell, Column, Lookup, Paragraph, Ref, Section, Table
from estimator.documents.job_words import kind_word
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits
from estimator.takeoff.loop_figures import judged_current, judged_devices, judged_loop
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.wire_loops import OVER_LISTING, WireLoop
from estimator.units.table import FOOT_M

_EXPECTED: Final[Mapping[str, Ref]] = {"figure": Lookup("drops", "expected", "id", "circuit")}
_HELD: Final = live_words(*((holds, "over") for holds in OVER_LISTING), otherwise="within")

_ohm = partial(number_column, unit="ohm")


def circuits_section(takeoff: Takeoff) -> Section:
    """Return every circuit of several devices with its wire, then each device in its order."""
    dc = takeoff.power.dc
    text = "Distances are one way, first from the source, and have the slack of each device in them."
    return Section(
        title="Circuits",
        blocks=(Paragraph(text), _loops(dc, takeoff.project), _metered(dc, takeoff.project), _stops(takeoff)),
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
    return Table(
        name="wire_loops",
        title="Wire of notification, signaling and initiating circuits",
        caption="The limit judges the conductor as hot as the design has it; a meter reads the building's temperature.",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="kind", head="Kind"),
            Column(key="class", head="Class"),
            Column(key="cable", head="Cable"),
            length_column(project, "length_m", "Length", formula=SAME, inputs=_EXPECTED),
            conductor_column(project),
            _ohm("wire_ohm", "Wire there and back", formula=PAIR_LOOP),
            _ohm("isolators_ohm", "Isolators"),
            _ohm("design_ohm", "Loop", formula=LOOP),
            _ohm("limit_ohm", "Largest loop", decimals=1),
            length_column(project, "longest", "Longest circuit"),
            Column(key="devices", head="Devices", kind="whole"),
            Column(key="most", head="Most devices", kind="whole"),
            number_column("current", "Current", "A", decimals=3),
            number_column("rating", "Rating", "A", decimals=3),
            Column(key="word", head="Listing holds", kind="verdict", words=_HELD),
        ),
        rows=[_loop_row(one, project) for one in dc.loops],
        empty="No such circuit is in this job.",
    )


def _loop_row(one: WireLoop, project: Project) -> tuple[Cell, ...]:
    judged = [found for found in (judged_loop(one), judged_devices(one), judged_current(one)) if found is not None]
    word = ("over" if any(found.word.startswith("over") for found in judged) else "within") if judged else ""
    loop, devices, rating = one.limit, one.device_limit, judged_current(one)
    return (
        one.id,
        kind_word(one.circuit.kind),
        one.circuit.circuit_class,
        one.length.cable.id,
        in_length(one.length.expected_m, project),
        one.conductor.ohm_per_m / resistance_unit(project)[1],
        one.wire_ohm,
        one.isolators_ohm,
        one.loop_ohm,
        None if loop is None or isinstance(loop.value, tuple) else loop.value,
        None if one.longest_m is None else in_length(one.longest_m, project),
        int(one.devices),
        None if devices is None or isinstance(devices.value, tuple) else int(devices.value),
        None if one.circuit.kind == "notification" else one.total_a,
        None if rating is None else rating.limit,
        verdict(word) if word else None,
    )


def _metered(dc: DcCircuits, project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for one in dc.loops:
        band, tolerance = one.band, one.tolerance
        share = None if tolerance is None or isinstance(tolerance.value, tuple) else tolerance.value
        expected = (None, None, None) if band is None else (band.expected_ohm, band.least_ohm, band.most_ohm)
        wire = (in_length(one.length.expected_m, project), one.metered.ohm_per_m / resistance_unit(project)[1])
        loop = (one.metered_wire_ohm, one.isolators_ohm, one.metered_ohm)
        rows.append((one.id, *wire, *loop, one.circuit.end_of_line_ohm, share, *expected))
    return Table(
        name="metered_loops",
        title="What a meter reads at the control unit",
        caption="Far end joined, then with the end-of-line resistor in place and its tolerance.",
        columns=(
            Column(key="circuit", head="Circuit"),
            length_column(project, "length_m", "Length", formula=SAME, inputs=_EXPECTED),
            conductor_column(project),
            _ohm("wire_ohm", "Wire there and back", formula=PAIR_LOOP),
            _ohm("isolators_ohm", "Isolators"),
            _ohm("loop_ohm", "Far end joined", formula=LOOP),
            _ohm("end_of_line_ohm", "End-of-line resistor", decimals=0),
            number_column("tolerance", "Its tolerance", "share"),
            _ohm("with_resistor", "With the resistor", decimals=1, formula=WITH_RESISTOR),
            _ohm("least", "At least", decimals=1, formula=LEAST_READ),
            _ohm("most", "At most", decimals=1, formula=MOST_READ),
        ),
        rows=rows,
        empty="No such circuit is in this job.",
    )


def stop_name(circuit: Circuit, number: int) -> str:
    """Return what a device of a circuit is called; numbers count from 1."""
    return circuit.stops[number - 1].id or f"{circuit.id} device {number}"


def _stops(takeoff: Takeoff) -> Table:
    project = takeoff.project
    rows: list[tuple[Cell, ...]] = []
    for circuit in project.circuits.values():
        for number, stop in enumerate(circuit.stops, start=1):
            name, setting = stop_name(circuit, number), stop.setting or ""
            distance = in_length(stop.distance_m, project)
            rows.append(
                (circuit.id, kind_word(circuit.kind), circuit.feed, name, stop.device, setting, stop.count, distance)
            )
    return Table(
        name="stops",
        title="Devices in order",
        key="id",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="kind", head="Kind"),
            Column(key="source", head="Source"),
            Column(key="id", head="Device"),
            Column(key="type", head="Type"),
            Column(key="setting", head="Setting"),
            Column(key="quantity", head="Pieces", kind="whole"),
            length_column(project, "distance", "From the one before", entry=changeable("A distance")),
        ),
        rows=rows,
        empty="No circuit of several devices is in this job.",
    )
