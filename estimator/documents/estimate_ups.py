"""Sheets about uninterruptible supplies, how long they last, and the heat of the rooms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

from estimator.calc.heat import BTU_PER_H, SUPPLY_LOSS, TONS
from estimator.calc.ups import APPARENT, DESIGN, WATTS
from estimator.documents.common import SAME, live_words, number_column, origin, rule_from, verdict
from estimator.documents.description import (
    At,
    Cell,
    Column,
    Fact,
    Facts,
    Formula,
    Matching,
    Paragraph,
    Ref,
    Same,
    Section,
    Table,
)
from estimator.spec.model import Project
from estimator.takeoff.conductors import fact
from estimator.takeoff.power import Power
from estimator.takeoff.room_heat import EQUIPMENT, SUM, WITH_CABLES, RoomHeat
from estimator.takeoff.ups import (
    BEYOND_RATING,
    CARRIED,
    GROWN_BEYOND_RATING,
    OVER,
    RESERVE,
    SHARE,
    WITHIN,
    Carried,
    UpsSheet,
)
from estimator.takeoff.ups_runtime import Runtime
from estimator.takeoff.worked import MARGIN_ABOVE

MINUTE_S: Final = 60.0
_ONE_PAGE_MOST: Final = 16  # columns that are still read on one page

_LOADS: Final[Mapping[str, Ref]] = {
    "quantity": Matching("ups_loads", "quantity", "ups", "ups"),
    "watts": Matching("ups_loads", "watts", "ups", "ups"),
}
_OF_DESIGN: Final[Mapping[str, Ref]] = {"load_w": Same("design_w")}
_RATED: Final = live_words(
    *((holds, OVER) for holds in BEYOND_RATING),
    *((holds, RESERVE) for holds in GROWN_BEYOND_RATING),
    otherwise=WITHIN,
)
_MARGIN: Final[Mapping[str, Ref]] = {"value": Same("time_s"), "limit": Same("asked_s")}

_watts = partial(number_column, unit="W", decimals=1)
_minutes = partial(number_column, unit="min", decimals=1, si=MINUTE_S)


def ups_section(power: Power, project: Project) -> Section:
    """Return what every UPS carries, and its rating."""
    text = (
        "A switch counts with its mains power, power for its devices in it. The rating is judged with the growth of "
        "the load, in watts and in volt-amperes where both are stated."
    )
    blocks = (Paragraph(text), _supplies(power.ups), _loads(power.ups, project))
    return Section(title="UPS", blocks=blocks, landscape=True)


def runtime_section(power: Power, project: Project) -> Section:
    """Return how long the battery of every UPS lasts, and what that comes from."""
    text = (
        f"The battery is an old one ({rule_from(project, 'battery_ageing')}) under the load with its growth. Between "
        "two points of a curve the line is straight on log-log paper; beyond the heaviest nothing is guessed, and "
        "under the lightest the time is that point's at least."
    )
    table = _runtimes(power.ups)
    pages = 2 if len(table.columns) > _ONE_PAGE_MOST else 1
    return Section(title="UPS runtime", blocks=(Paragraph(text), table), landscape=True, pages_wide=pages)


def heat_section(power: Power) -> Section:
    """Return the heat of every room with a switch or a UPS."""
    text = (
        "Power that leaves by the ports warms other rooms. What powered cables lose arises along their way and is "
        "counted apart. A switch without its own draw counts nothing."
    )
    units = Facts(
        title="",
        rows=tuple(
            Fact(label=label, value=row.number("value"), unit="BTU/h", kind="number", decimals=decimals, name=name,
                 note=row.source)
            for name, label, decimals in _UNITS
            for row in (fact(name, "ups_facts"),)
        ),
    )  # fmt: skip
    return Section(title="Room heat", blocks=(Paragraph(text), _rooms(power.heat), units), landscape=True)


_UNITS: Final = (
    ("btu_per_h_per_w", "Heat of one watt", 4),
    ("btu_per_h_per_ton", "Heat that a ton of refrigeration sheds", 0),
)
"""Named cells of this sheet, which that of the switches reads as well."""


def _supplies(sheets: Sequence[UpsSheet]) -> Table:
    return Table(
        name="ups",
        title="Load and rating",
        key="ups",
        columns=(
            Column(key="ups", head="UPS"),
            Column(key="room", head="Room"),
            _watts("load_w", "Load", formula=CARRIED, inputs=_LOADS),
            Column(key="growth", head="Growth", kind="percent", decimals=0),
            _watts("design_w", "With growth", formula=DESIGN),
            _watts("rating_w", "Rating", decimals=0),
            Column(key="share", head="Loaded today", kind="percent", decimals=0, formula=SHARE),
            Column(key="power_factor", head="Power factor", kind="number", decimals=2),
            number_column("design_va", "With growth", "VA", decimals=0, formula=APPARENT, inputs=_OF_DESIGN),
            number_column("rating_va", "Rating", "VA", decimals=0),
            Column(key="word", head="Rating holds", kind="verdict", words=_RATED),
            Column(key="efficiency", head="Efficiency", kind="percent", decimals=0),
            _watts("loss_w", "Its heat", formula=SUPPLY_LOSS),
        ),
        rows=[_supply_row(one) for one in sheets],
        empty="No UPS is in this job.",
    )


def _supply_row(one: UpsSheet) -> tuple[Cell, ...]:
    return (
        one.id,
        one.ups.room,
        one.load_w,
        _number(one.growth.value),
        one.design_w,
        one.ups.rating_w,
        one.share,
        _number(one.power_factor.value),
        one.design_va,
        one.ups.rating_va,
        verdict(one.word),
        _number(one.efficiency.value),
        one.loss_w,
    )


def _number(value: float | tuple[float, ...]) -> float:
    assert isinstance(value, float | int)
    return float(value)


_INPUTS: Final = (
    ("battery_v", "Battery", "V", 1),
    ("capacity_ah", "Capacity", "Ah", 1),
    ("rated_h", "Rated over", "h", 0),
    ("exponent", "Exponent", "", 3),
    ("cell_end_v", "Cell at the end", "V", 2),
    ("cells", "Cells", "", 0),
    ("strings", "Strings", "", 0),
    ("blocks", "Blocks", "", 0),
    ("lower", "Point below", "W or A", 2),
    ("higher", "Point above", "W or A", 2),
)
"""Columns of what a runtime comes from: key, head, unit and decimals; only those that a row fills are shown."""

_ALWAYS: Final = ("ups", "way", "load_w", "time_s", "asked_s", "margin_s", "word")
"""Columns that stand there whatever is typed."""

_TIMES: Final = (("lower_s", "Time below"), ("higher_s", "Time above"))


def _runtimes(sheets: Sequence[UpsSheet]) -> Table:
    columns = (
        Column(key="ups", head="UPS"),
        Column(key="way", head="Reckoned by"),
        _watts("load_w", "Load with growth"),
        Column(key="efficiency", head="Efficiency", kind="percent", decimals=0),
        Column(key="aging", head="Capacity left", kind="percent", decimals=0),
        *(number_column(key, head, unit, decimals=decimals) for key, head, unit, decimals in _INPUTS),
        *(_minutes(key, head) for key, head in _TIMES),
        number_column("drain", "To look for", "W or A", decimals=2),
        _minutes("today_s", "Today's load", computed=True),
        _minutes("time_s", "Lasts"),
        _minutes("asked_s", "Asked for"),
        _minutes("margin_s", "Margin", formula=MARGIN_ABOVE, inputs=_MARGIN),
        Column(key="word", head="Runtime", kind="verdict"),
        number_column("need_ah", "Needed, at that rate", "Ah", decimals=1, computed=True),
    )
    rows = [_runtime_row(one) for one in sheets]
    used = [
        at for at, column in enumerate(columns) if column.key in _ALWAYS or any(row[at] is not None for row in rows)
    ]
    return Table(
        name="ups_runtime",
        title="Runtime",
        caption="What a way of reckoning does not use stays empty. An empty time is beyond the curve, or not known.",
        columns=tuple(columns[at] for at in used),
        rows=[tuple(row[at] for at in used) for row in rows],
        empty="No UPS is in this job.",
    )


def _runtime_row(one: UpsSheet) -> tuple[Cell, ...]:
    found, asked = one.runtime, one.ups.runtime_s
    known = {**found.drain_inputs, **found.inputs}
    cells = {name: _number(item.value) for name, item in known.items()}
    margin: Cell = None
    if asked is not None and found.time_s is not None:
        margin = (found.time_s - asked) / MINUTE_S
    return (
        one.id,
        f"{found.way}, at least" if found.at_least else found.way,
        Formula(SAME, one.design_w, {"figure": At("ups", one.id, "design_w")}),
        cells.get("efficiency"),
        cells.get("aging"),
        *(cells.get(key) for key, *_ in _INPUTS),
        *(cells[key] / MINUTE_S if key in cells else None for key, _ in _TIMES),
        _drain(found),
        None if one.today.time_s is None else one.today.time_s / MINUTE_S,
        _lasts(found),
        None if asked is None else asked / MINUTE_S,
        margin,
        verdict(one.runtime_word) if one.runtime_word else None,
        one.need_ah,
    )


def _drain(found: Runtime) -> Cell:
    if found.drain is None or found.drain_formula is None:
        return None
    return Formula(found.drain_formula, found.drain)


def _lasts(found: Runtime) -> Cell:
    if found.time_s is None or found.formula is None:
        return None
    inputs: dict[str, Ref] = {}
    if "load" in found.inputs:
        inputs["load"] = Same("lower") if found.at_least else Same("drain")
    if "current_a" in found.inputs:
        inputs["current_a"] = Same("drain")
    return Formula(found.formula, found.time_s / MINUTE_S, inputs)


def _loads(sheets: Sequence[UpsSheet], project: Project) -> Table:
    return Table(
        name="ups_loads",
        title="What each UPS carries",
        columns=(
            Column(key="ups", head="UPS"),
            Column(key="name", head="Load"),
            Column(key="quantity", head="Pieces", kind="whole"),
            number_column("apparent_va", "Each", "VA", decimals=1),
            Column(key="power_factor", head="Power factor", kind="number", decimals=2),
            _watts("watts", "Each"),
            Column(key="from", head="From"),
        ),
        rows=[_load_row(one, load, project) for one in sheets for load in one.carried],
        empty="No UPS carries anything that is known.",
    )


def _load_row(one: UpsSheet, load: Carried, project: Project) -> tuple[Cell, ...]:
    watts: Cell = load.each_w
    if load.switch is not None:
        watts = Formula(SAME, load.each_w, {"figure": At("switches", load.switch, "mains_w")})
    elif load.formula == WATTS:
        watts = Formula(WATTS, load.each_w)
    stated = {name: _number(item.value) for name, item in load.inputs.items()}
    first = next(iter(load.inputs.values()))
    return (
        one.id,
        load.name,
        load.quantity,
        stated.get("apparent_va"),
        stated.get("power_factor"),
        watts,
        "its mains power, sheet PoE" if load.switch else origin(first.origin, project),
    )


def _rooms(rooms: Sequence[RoomHeat]) -> Table:
    switches: Mapping[str, Ref] = {"watts": Matching("switches", "loss_w", "room", "room")}
    cables: Mapping[str, Ref] = {"watts": Matching("switches", "cable_loss_w", "room", "room")}
    supplies: Mapping[str, Ref] = {"watts": Matching("ups", "loss_w", "room", "room")}
    return Table(
        name="room_heat",
        title="Heat of each room",
        columns=(
            Column(key="room", head="Room"),
            _watts("switches_w", "Switches", formula=SUM, inputs=switches),
            _watts("ups_w", "UPS", formula=SUM, inputs=supplies),
            _watts("loads_w", "Other loads"),
            _watts("equipment_w", "Equipment", formula=EQUIPMENT),
            _watts("cables_w", "Lost in cables", formula=SUM, inputs=cables),
            _watts("lost_w", "Together", formula=WITH_CABLES),
            number_column("btu_per_h", "Cooling", "BTU/h", decimals=0, formula=BTU_PER_H),
            number_column("tons", "Cooling", "tons", decimals=2, formula=TONS),
            Column(key="untyped", head="Not counted"),
        ),
        rows=[
            (
                one.room,
                one.switches_w,
                one.ups_w,
                one.loads_w,
                one.equipment_w,
                one.cables_w,
                one.total_w,
                one.btu_per_h,
                one.tons,
                ", ".join(one.untyped),
            )
            for one in rooms
        ],
        empty="No switch and no UPS is in this job.",
    )
