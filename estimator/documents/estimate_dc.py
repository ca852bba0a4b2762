"""Sheets about direct current: each line with its worst device, each device, each supply."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.dc_circuit import END_OF_LINE, PERCENT_DROP
from estimator.calc.lock import powered_state
from estimator.documents.common import in_length, length_column, number_column, origin, rule_from, verdict
from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Same, Section, Table
from estimator.documents.estimate_circuits import conductor_column, resistance_unit
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits, SupplyLoad
from estimator.takeoff.dc_figures import inrush_v, judged_rating, judged_supply
from estimator.takeoff.dc_lines import NAC, DcLine
from estimator.takeoff.worked import MARGIN, MARGIN_ABOVE

_DRAWN: Final[Mapping[str, Ref]] = {
    "quantity": Matching("dc_places", "quantity", "line", "line"),
    "each_a": Matching("dc_places", "each_a", "line", "line"),
}
_SUPPLIED: Final[Mapping[str, Ref]] = {
    "quantity": Matching("dc_loads", "quantity", "supply", "supply"),
    "each_a": Matching("dc_loads", "each_a", "supply", "supply"),
}
_SURGE: Final[Mapping[str, Ref]] = {**_SUPPLIED, "each_a": Matching("dc_loads", "inrush_a", "supply", "supply")}
_LOWEST: Final[Mapping[str, Ref]] = {"end_v": Same("lowest_v")}
_VOLTS_LEFT: Final[Mapping[str, Ref]] = {"value": Same("volts"), "limit": Same("minimum_v")}
_WORST_LEFT: Final[Mapping[str, Ref]] = {"value": Same("worst_v"), "limit": Same("minimum_v")}
_AMPS_LEFT: Final[Mapping[str, Ref]] = {"value": Same("total_a"), "limit": Same("rating_a")}

_volts = partial(number_column, unit="V")
_amps = partial(number_column, unit="A", decimals=3)


def dc_section(dc: DcCircuits, project: Project) -> Section:
    """Return notification circuits, DC branches and devices at a supply, each with its worst device."""
    rules = project.rules
    text = (
        "Volts at each device are worked out as a ladder, the current of every device drawn at its own place; the "
        "result with all current at the far end and its percent stand beside it. A notification circuit is judged by "
        f"{rules.nac_decides.replace('_', ' ')} ({rule_from(project, 'nac_decides')}), a DC branch by each "
        f"device's minimum volts and the percent limit ({rule_from(project, 'dc_drop')}; a line with a lock on it "
        "by what lock charts allow where no rule is typed). The longest run keeps the devices' distances in "
        "proportion; it and the thinnest gauge are found by whatever judges the line."
    )
    caution = (
        "A figure here approves no design: of life-safety circuits local code, the authority having jurisdiction and a "
        "licensed professional decide."
    )
    blocks = (Paragraph(text), Paragraph(caution, "caution"), _lines(dc, project))
    return Section(title="DC and notification", blocks=blocks, landscape=True)


def dc_devices_section(dc: DcCircuits, project: Project) -> Section:
    """Return every device on a DC line with its volts."""
    return Section(title="DC devices", blocks=(_places(dc, project),), landscape=True)


def dc_supplies_section(dc: DcCircuits, project: Project) -> Section:
    """Return the rated supplies with everything on, and what each feeds."""
    return Section(title="DC supplies", blocks=(_supplies(dc, project), _loads(dc)), landscape=True)


def _lines(dc: DcCircuits, project: Project) -> Table:
    return Table(
        name="dc_lines",
        title="Lines",
        columns=(
            Column(key="line", head="Line"),
            Column(key="what", head="Kind"),
            Column(key="cable", head="Cable"),
            length_column(project, "length_m", "One way"),
            conductor_column(project),
            _volts("source_v", "Start"),
            Column(key="source_ohm", head="Sag of source", kind="number", unit="V/A", decimals=3),
            _amps("total_a", "Current"),
            _amps("rating_a", "Rating"),
            _amps("amps_left", "Current left", formula=MARGIN, inputs=_AMPS_LEFT),
            _volts("end_v", "All load at the end", formula=END_OF_LINE),
            _volts("lowest_v", "Lowest", computed=True),
            Column(key="percent", head="Drop", kind="number", unit="%", decimals=1, formula=PERCENT_DROP),
            Column(key="worst", head="Worst device"),
            _volts("worst_v", "Volts there", computed=True),
            _volts("minimum_v", "Its minimum"),
            _volts("margin", "Margin", formula=MARGIN_ABOVE, inputs=_WORST_LEFT),
            _volts("inrush_v", "At inrush", computed=True),
            _volts("opened_v", "Loop opened", computed=True),
            Column(key="word", head="Works", kind="verdict"),
            length_column(project, "longest", "Longest run that works"),
            Column(key="thinnest", head="Thinnest gauge that works", kind="whole", unit="AWG"),
        ),
        rows=[_line_row(line, project) for line in dc.lines],
        empty="No line of direct current is in this job.",
    )


def _line_row(line: DcLine, project: Project) -> tuple[Cell, ...]:
    basis, nac = line.basis, line.basis.what == NAC
    rated = judged_rating(line)
    total: Cell = Formula(TOTAL, line.total_a, _DRAWN) if nac else line.total_a
    percent: Cell = line.percent
    if not nac and line.percent is not None:
        percent = Formula(PERCENT_DROP, line.percent, _LOWEST)
    worst_v, least = line.worst_v, line.worst_place.minimum_v
    return (
        line.id,
        "notification" if nac else "DC",
        basis.length.cable.id,
        in_length(basis.wire_m, project),
        basis.conductor.ohm_per_m / resistance_unit(project)[1],
        basis.source_v,
        basis.source_ohm,
        total,
        None if rated is None else rated.limit,
        None if rated is None else rated.margin,
        line.end_v,
        min(line.volts, default=None),
        percent,
        line.worst_place.name,
        worst_v,
        least,
        None if worst_v is None else MARGIN_ABOVE(value=worst_v, limit=least),
        inrush_v(line),
        line.opened_v,
        verdict(line.word),
        None if line.reach.longest_m is None else in_length(line.reach.longest_m, project),
        line.reach.awg,
    )


def _place_row(line: DcLine, index: int, project: Project) -> tuple[Cell, ...]:
    place = line.basis.places[index]
    volts = line.volts[index] if line.volts else None
    return (
        line.id,
        place.name,
        place.device.id,
        place.quantity,
        in_length(place.distance_m, project),
        place.each.amps,
        place.each_w or None,
        volts,
        place.minimum_v,
        None if volts is None else MARGIN_ABOVE(value=volts, limit=place.minimum_v),
        line.inrush_v[index] if line.inrush_v else None,
        powered_state(fail=place.device.fail) if place.device.fail else "",
        origin(place.each.origin, project),
        origin(place.minimum_origin, project),
    )


def _places(dc: DcCircuits, project: Project) -> Table:
    return Table(
        name="dc_places",
        title="Devices on the lines",
        columns=(
            Column(key="line", head="Line"),
            Column(key="name", head="Device"),
            Column(key="type", head="Type"),
            Column(key="quantity", head="Pieces", kind="whole"),
            length_column(project, "distance", "From the one before"),
            _amps("each_a", "Current, each"),
            Column(key="each_w", head="Power, each", kind="number", unit="W"),
            _volts("volts", "Volts there", computed=True),
            _volts("minimum_v", "Minimum"),
            _volts("margin", "Margin", formula=MARGIN_ABOVE, inputs=_VOLTS_LEFT),
            _volts("inrush", "At inrush", computed=True),
            Column(key="powered", head="Needs power"),
            Column(key="amps_from", head="Current from"),
            Column(key="least_from", head="Minimum volts from"),
        ),
        rows=[_place_row(line, index, project) for line in dc.lines for index in range(len(line.basis.places))],
        empty="No line of direct current is in this job.",
    )


def _supplies(dc: DcCircuits, project: Project) -> Table:
    left: Mapping[str, Ref] = {"limit": Same("rating_a"), "value": Same("total_a")}

    def row(one: SupplyLoad) -> tuple[Cell, ...]:
        judged = judged_supply(one)
        held = (one.id, one.total_a, judged.limit, judged.margin, verdict(judged.word))
        return (*held, one.surge_a, one.staged_a, origin(judged.source, project))

    return Table(
        name="dc_supplies",
        title="Supplies with everything on",
        columns=(
            Column(key="supply", head="Supply"),
            _amps("total_a", "Lasting current", formula=TOTAL, inputs=_SUPPLIED),
            _amps("rating_a", "Rating"),
            _amps("margin", "Margin", formula=MARGIN, inputs=left),
            Column(key="word", head="Rating holds", kind="verdict"),
            _amps("surge_a", "All at inrush", formula=TOTAL, inputs=_SURGE),
            _amps("staged_a", "One after another"),
            Column(key="origin", head="Rating from"),
        ),
        rows=[row(one) for one in dc.supplies],
        empty="No supply with a rating is in this job.",
    )


def _loads(dc: DcCircuits) -> Table:
    return Table(
        name="dc_loads",
        title="What each supply feeds",
        columns=(
            Column(key="supply", head="Supply"),
            Column(key="name", head="Load"),
            Column(key="quantity", head="Pieces", kind="whole"),
            _amps("each_a", "Current, each"),
            _amps("inrush_a", "Inrush, each"),
        ),
        rows=[
            (one.id, name, quantity, each, surge)
            for one in dc.supplies
            for name, quantity, each, surge in zip(one.names, one.quantity, one.each_a, one.inrush_a, strict=True)
        ],
        empty="No supply with a rating is in this job.",
    )
