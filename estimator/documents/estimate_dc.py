"""Sheets about direct current: each line with its worst device, each device, each supply."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from functools import partial
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.dc_circuit import DROP, END_OF_LINE, PERCENT_DROP
from estimator.calc.lock import powered_state
from estimator.documents.common import (
    SAME,
    changeable,
    in_length,
    length_column,
    live_words,
    number_column,
    origin,
    rule_from,
    verdict,
)
from estimator.documents.description import (
    At,
    Cell,
    Column,
    Formula,
    Lookup,
    Matching,
    Paragraph,
    Ref,
    Same,
    Section,
    Table,
    Verdict,
)
from estimator.documents.estimate_circuits import conductor_column, resistance_unit, stop_name
from estimator.spec.model import Project
from estimator.takeoff.dc_circuits import DcCircuits, SupplyLoad
from estimator.takeoff.dc_figures import inrush_v, judged_rating, judged_supply
from estimator.takeoff.dc_lines import (
    AT_WORST,
    BEYOND,
    CANNOT,
    DRAWS,
    END_UNDER,
    INRUSH_TOO_LOW,
    LEAST,
    NAC,
    OPENED_TOO_LOW,
    OVER_DROP,
    OVER_PERCENT,
    TOO_LOW,
    UNDER_AT_INRUSH,
    UNDER_MINIMUM,
    UNDER_OPENED,
    UNFED,
    VOLTS_THERE,
    WIRE,
    WORKS,
    Basis,
    DcLine,
)
from estimator.takeoff.worked import MARGIN, MARGIN_ABOVE, OVER

_DRAWN: Final[Mapping[str, Ref]] = {
    "quantity": Matching("dc_places", "quantity", "line", "line"),
    "each_a": Matching("dc_places", "each_a", "line", "line"),
}
_SUPPLIED: Final[Mapping[str, Ref]] = {
    "quantity": Matching("dc_loads", "quantity", "supply", "supply"),
    "each_a": Matching("dc_loads", "each_a", "supply", "supply"),
}
_SURGE: Final[Mapping[str, Ref]] = {**_SUPPLIED, "each_a": Matching("dc_loads", "inrush_a", "supply", "supply")}
_EXPECTED: Final[Mapping[str, Ref]] = {"figure": Lookup("drops", "expected", "id", "line")}
_ALONG: Final[Mapping[str, Ref]] = {"distances": Matching("dc_places", "distance", "line", "line")}
_BEHIND: Final[Mapping[str, Ref]] = {
    "draws_a": Matching("dc_places", "draws_a", "line", "line", order="number", side="from")
}
_DROPPED: Final[Mapping[str, Ref]] = {
    "length_m": Same("distance"),
    "ohm_per_m": Lookup("dc_lines", "ohm_per_m", "line", "line"),
    "current_a": Same("beyond_a"),
}
_THERE: Final[Mapping[str, Ref]] = {
    "source_v": Lookup("dc_lines", "source_v", "line", "line"),
    "source_ohm": Lookup("dc_lines", "source_ohm", "line", "line"),
    "total_a": Lookup("dc_lines", "total_a", "line", "line"),
    "drops_v": Matching("dc_places", "drop_v", "line", "line", order="number"),
}
_LOWEST_V: Final[Mapping[str, Ref]] = {"here": Matching("dc_places", "volts", "line", "line")}
_LEAST_MARGIN: Final[Mapping[str, Ref]] = {"here": Matching("dc_places", "margin", "line", "line")}
_RATED: Final[Mapping[str, Ref]] = {"value": Same("total_a"), "limit": Same("rating_a")}
_LOWEST: Final[Mapping[str, Ref]] = {"end_v": Same("lowest_v")}
_VOLTS_LEFT: Final[Mapping[str, Ref]] = {"value": Same("volts"), "limit": Same("minimum_v")}
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
    return Section(title="DC and notification", blocks=blocks, landscape=True, pages_wide=2)


def dc_devices_section(dc: DcCircuits, project: Project) -> Section:
    """Return every device on a DC line with its volts."""
    return Section(title="DC devices", blocks=(_places(dc, project),), landscape=True, pages_wide=2)


def dc_supplies_section(dc: DcCircuits, project: Project) -> Section:
    """Return the rated supplies with everything on, and what each feeds."""
    return Section(title="DC supplies", blocks=(_supplies(dc, project), _loads(dc)), landscape=True)


def _lines(dc: DcCircuits, project: Project) -> Table:
    varying = any(not line.basis.constant for line in dc.lines)
    columns = (
        Column(key="line", head="Line"),
        Column(key="what", head="Kind"),
        Column(key="cable", head="Cable"),
        length_column(project, "length_m", "One way", formula=WIRE, inputs=_ALONG),
        conductor_column(project),
        _volts("source_v", "Start", entry=changeable("A voltage")),
        Column(key="source_ohm", head="Sag of source", kind="number", unit="V/A", decimals=3),
        _amps("total_a", "Current", computed=varying),
        _amps("rating_a", "Rating"),
        _amps("amps_left", "Current left", formula=MARGIN, inputs=_AMPS_LEFT),
        _volts("end_v", "All load at the end", formula=END_OF_LINE),
        _volts("lowest_v", "Lowest", formula=LEAST, inputs=_LOWEST_V),
        Column(key="percent", head="Drop", kind="number", unit="%", decimals=1, formula=PERCENT_DROP),
        Column(key="most_drop", head="Largest drop", kind="number", unit="%", decimals=1),
        Column(key="worst", head="Worst device", computed=True),
        _volts("worst_v", "Volts there", formula=AT_WORST),
        _volts("minimum_v", "Its minimum"),
        _volts("margin", "Margin", formula=LEAST, inputs=_LEAST_MARGIN),
        _volts("inrush_v", "At inrush", computed=True),
        _volts("inrush_left", "Margin at inrush", computed=True),
        _volts("opened_v", "Loop opened", computed=True),
        _volts("opened_left", "Margin opened", computed=True),
        Column(key="word", head="Works", kind="verdict"),
        length_column(project, "longest", "Longest run that works", computed=True),
        Column(key="thinnest", head="Thinnest gauge that works", kind="whole", unit="AWG", computed=True),
    )
    rows = [_line_row(line, project) for line in dc.lines]
    used = [at for at, one in enumerate(columns) if one.key not in _RARE or any(row[at] is not None for row in rows)]
    return Table(
        name="dc_lines",
        title="Lines",
        key="line",
        columns=tuple(columns[at] for at in used),
        rows=[tuple(row[at] for at in used) for row in rows],
        empty="No line of direct current is in this job.",
    )


_RARE: Final = ("each_w", "inrush", "rating_a", "amps_left", "inrush_v", "inrush_left", "opened_v", "opened_left")
"""Columns that stand there only where a line fills them."""


def _line_row(line: DcLine, project: Project) -> tuple[Cell, ...]:
    basis, nac = line.basis, line.basis.what == NAC
    rated = judged_rating(line)
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
        Formula(TOTAL, line.total_a, _DRAWN) if nac or basis.constant else line.total_a,
        None if rated is None else rated.limit,
        None if rated is None else rated.margin,
        line.end_v,
        min(line.volts, default=None),
        percent,
        100 * basis.drop_limit,
        line.worst_place.name,
        worst_v,
        least,
        None if worst_v is None else MARGIN_ABOVE(value=worst_v, limit=least),
        *_inrush(line),
        *_opened(line),
        _line_word(line, project),
        None if line.reach.longest_m is None else in_length(line.reach.longest_m, project),
        line.reach.awg,
    )


def _inrush(line: DcLine) -> tuple[Cell, Cell]:
    """Return the volts of the worst device at inrush, and its margin; what can't be fed has none of its minimum."""
    volts, worst = inrush_v(line), line.inrush_worst
    if line.inrush_v is None:
        return None, None
    if volts is None or worst is None:
        return None, -max(place.minimum_v for place in line.basis.places)
    return volts, MARGIN_ABOVE(value=volts, limit=line.basis.places[worst].minimum_v)


def _opened(line: DcLine) -> tuple[Cell, Cell]:
    """Return the volts of the worst device with the loop opened, and its margin."""
    if line.opening is None:
        return None, None
    least = line.opened_place.minimum_v
    volts = line.opened_v
    return volts, -least if volts is None else MARGIN_ABOVE(value=volts, limit=least)


_UNFED: Final = (UNFED, CANNOT)
_LOW: Final = (UNDER_MINIMUM, TOO_LOW)
_FAR: Final = (OVER_DROP, OVER_PERCENT)
_END_LOW: Final = (END_UNDER, TOO_LOW)
_OPEN_LOW: Final = (UNDER_OPENED, OPENED_TOO_LOW)
_SURGE_LOW: Final = (UNDER_AT_INRUSH, INRUSH_TOO_LOW)
_MINIMUMS: Final[Mapping[str, Ref]] = {"minimums": Matching("dc_places", "minimum_v", "line", "line")}
_DECIDES: Final = {"point_to_point": _LOW, "end_of_line": _END_LOW, "percent": _FAR}


def _line_word(line: DcLine, project: Project) -> Verdict:
    """Return how a line works, live by what decides it."""
    steps = [_UNFED]
    steps += [_DECIDES[project.rules.nac_decides]] if line.basis.what == NAC else [_LOW, _FAR]
    steps += [_OPEN_LOW] if line.opening is not None else []
    steps += [_SURGE_LOW] if line.inrush_v is not None else []
    word = verdict(line.word)
    return Verdict(word.word, word.tone, live_words(*steps, otherwise=WORKS, inputs=_MINIMUMS))


def _places(dc: DcCircuits, project: Project) -> Table:
    once = _stops_once(project)
    varying = any(not line.basis.constant for line in dc.lines)
    rows = [row for line in dc.lines for row in _place_rows(line, project, once)]
    columns = _place_columns(project, varying)
    used = [at for at, one in enumerate(columns) if one.key not in _RARE or any(row[at] is not None for row in rows)]
    return Table(
        name="dc_places",
        title="Devices on the lines",
        caption="Volts of a line with devices of constant power are found by iteration." if varying else "",
        columns=tuple(columns[at] for at in used),
        rows=[tuple(row[at] for at in used) for row in rows],
        empty="No line of direct current is in this job.",
    )


def _place_columns(project: Project, varying: bool) -> tuple[Column, ...]:
    return (
        Column(key="line", head="Line"),
        Column(key="number", head="Place", kind="whole"),
        Column(key="name", head="Device"),
        Column(key="type", head="Type"),
        Column(key="quantity", head="Pieces", kind="whole", entry=changeable("A number of pieces")),
        length_column(project, "distance", "From the one before"),
        _amps("each_a", "Current, each", entry=changeable("A current")),
        Column(key="each_w", head="Power, each", kind="number", unit="W"),
        _amps("draws_a", "Draws", formula=DRAWS),
        _amps("beyond_a", "In its wire", formula=BEYOND, inputs=_BEHIND),
        _volts("drop_v", "Lost in it", decimals=3, formula=DROP, inputs=_DROPPED),
        _volts("volts", "Volts there", computed=varying),
        _volts("minimum_v", "Minimum"),
        _volts("margin", "Margin", formula=MARGIN_ABOVE, inputs=_VOLTS_LEFT),
        _volts("inrush", "At inrush", computed=True),
        Column(key="powered", head="Needs power"),
        Column(key="amps_from", head="Current from"),
        Column(key="least_from", head="Minimum volts from"),
    )


def _stops_once(project: Project) -> frozenset[str]:
    """Return the names of devices on circuits that no other has."""
    names = Counter(
        stop_name(circuit, at) for circuit in project.circuits.values() for at in range(1, len(circuit.stops) + 1)
    )
    return frozenset(name for name, count in names.items() if count == 1)


def _distance(basis: Basis, index: int, project: Project, once: frozenset[str]) -> Cell:
    """Return the wire to a place: of a drop its expected length, of a circuit what its sheet has."""
    shown = in_length(basis.places[index].distance_m, project)
    if basis.length.run is not None:
        return Formula(SAME, shown, _EXPECTED)
    circuit = basis.length.circuit
    if circuit is None or stop_name(circuit, index + 1) not in once:
        return shown
    return Formula(SAME, shown, {"figure": At("stops", stop_name(circuit, index + 1), "distance")})


def _place_rows(line: DcLine, project: Project, once: frozenset[str]) -> list[tuple[Cell, ...]]:
    """Return a row a place: what flows to it and is lost on the way, the current summed from the far end."""
    basis = line.basis
    live = basis.constant and bool(line.volts)
    draws = [place.current_a for place in basis.places]
    rows: list[tuple[Cell, ...]] = []
    for index, place in enumerate(basis.places):
        volts = line.volts[index] if line.volts else None
        beyond = BEYOND(draws_a=draws[index:])
        lost = DROP(length_m=place.distance_m, ohm_per_m=basis.conductor.ohm_per_m, current_a=beyond)
        rows.append(
            (
                line.id,
                index + 1,
                place.name,
                place.device.id,
                place.quantity,
                _distance(basis, index, project, once),
                place.each.amps,
                place.each_w or None,
                *((draws[index], beyond, lost) if basis.constant else (None, None, None)),
                Formula(VOLTS_THERE, volts, _THERE) if live and volts is not None else volts,
                place.minimum_v,
                None if volts is None else MARGIN_ABOVE(value=volts, limit=place.minimum_v),
                line.inrush_v[index] if line.inrush_v else None,
                powered_state(fail=place.device.fail) if place.device.fail else "",
                origin(place.each.origin, project),
                origin(place.minimum_origin, project),
            )
        )
    return rows


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
            Column(
                key="word",
                head="Rating holds",
                kind="verdict",
                words=live_words((OVER, "over rating"), otherwise="within rating", inputs=_RATED),
            ),
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
            _amps("each_a", "Current, each", entry=changeable("A current")),
            _amps("inrush_a", "Inrush, each"),
        ),
        rows=[
            (one.id, name, quantity, each, surge)
            for one in dc.supplies
            for name, quantity, each, surge in zip(one.names, one.quantity, one.each_a, one.inrush_a, strict=True)
        ],
        empty="No supply with a rating is in this job.",
    )
