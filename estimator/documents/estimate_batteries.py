"""Sheet about batteries: what each control unit draws, for how long, and the set that carries it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final

from estimator.calc.battery import RECHARGE, TOTAL, need_expression
from estimator.documents.common import SAME, changeable, live_words, number_column, origin, verdict
from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Same, Section, Table
from estimator.spec.model import Project
from estimator.takeoff.batteries import (
    BLOCK,
    CHOSEN_SET,
    INSTALLED,
    LEAST_BLOCK,
    NONE_FITS,
    SPARE,
    Batteries,
    BatterySheet,
    stocked_ah,
)
from estimator.takeoff.battery_figures import judged_installed
from estimator.takeoff.conductors import fact
from estimator.takeoff.worked import MARGIN_ABOVE, UNDER

_FACTORS: Final = ("margin", "aging", "temperature", "rate")
_IN_STANDBY: Final[Mapping[str, Ref]] = {
    "quantity": Matching("loads", "counted", "unit", "unit"),
    "each_a": Matching("loads", "standby_a", "unit", "unit"),
}
_IN_ALARM: Final[Mapping[str, Ref]] = {
    "quantity": Matching("loads", "counted", "unit", "unit"),
    "each_a": Matching("loads", "alarm_a", "unit", "unit"),
}
_SPARE_AH: Final[Mapping[str, Ref]] = {"value": Same("installed_ah"), "limit": Same("need_ah")}
_BLOCKS: Final = Matching(
    "battery_blocks", "block_ah", "unit", "unit", order="block_ah", side="from", order_key="least_ah"
)
_NO_LIMIT: Final = 1e9  # [Ah]: neither charger nor cabinet is limited
_FITS: Final = live_words((NONE_FITS, "none fits"), otherwise="fits")
_CARRIES: Final = live_words((UNDER, "too small"), otherwise="carries the need", inputs=_SPARE_AH)
_CHARGED: Final[Mapping[str, Ref]] = {"capacity_ah": Same("set_ah"), "standing_a": 0.0}

_amps = partial(number_column, unit="A", decimals=4)
_hours = partial(number_column, unit="Ah")


def batteries_section(batteries: Batteries) -> Section:
    """Return the need and the installed set of every control unit."""
    text = (
        "Ampere-hours needed are standby current by standby time and alarm current by alarm time, together by every "
        "factor in the row. The calculation sheets show the same with the origin of each figure."
    )
    caution = (
        "A figure here approves no design: local code, the authority having jurisdiction and a licensed professional "
        "decide. Batteries and chargers are for qualified people."
    )
    blocks = (Paragraph(text), Paragraph(caution, "caution"), _sheets(batteries))
    return Section(title="Batteries", blocks=blocks, landscape=True, pages_wide=2)


def blocks_section(batteries: Batteries) -> Section:
    """Return the blocks that each unit's battery may be made of, from which the sheet Batteries chooses."""
    table = Table(
        name="battery_blocks",
        title="Battery blocks",
        columns=(
            Column(key="unit", head="Unit"),
            _hours("block_ah", "Block", decimals=1, entry=changeable("A capacity")),
        ),
        rows=[(one.id, size) for one in batteries.sheets for size in sorted(stocked_ah(one.unit))],
        empty="No control unit is in this job.",
    )
    text = "The smallest of a unit's blocks that carries its need is chosen, where charger and cabinet take it."
    return Section(title="Battery blocks", blocks=(Paragraph(text), table))


def loads_section(batteries: Batteries, project: Project) -> Section:
    """Return every load behind the batteries, with the origin of its currents."""
    return Section(title="Battery loads", blocks=(_loads(batteries, project),), landscape=True)


def _sheets(batteries: Batteries) -> Table:
    columns = _columns()
    rows = [_row(one) for one in batteries.sheets]
    used = [at for at, one in enumerate(columns) if one.key not in _FACTORS or any(row[at] is not None for row in rows)]
    return Table(
        name="batteries",
        title="Control units",
        caption=_edition(batteries),
        key="unit",
        columns=tuple(columns[at] for at in used),
        rows=[tuple(row[at] for at in used) for row in rows],
        empty="No control unit is in this job.",
    )


def _columns() -> tuple[Column, ...]:
    return (
        Column(key="unit", head="Unit"),
        Column(key="system", head="System"),
        _amps("standby_a", "Standby", formula=TOTAL, inputs=_IN_STANDBY),
        number_column("standby_s", "Standby for", "h", decimals=1, si=3600.0, entry=changeable("A time")),
        _amps("alarm_a", "Alarm", formula=TOTAL, inputs=_IN_ALARM),
        number_column("alarm_s", "Alarm for", "min", decimals=1, si=60.0, entry=changeable("A time")),
        *(
            Column(key=name, head=name.capitalize(), kind="number", decimals=3, computed=name == "rate")
            for name in _FACTORS
        ),
        _hours("need_ah", "Need"),
        Column(key="strings", head="Strings", kind="whole"),
        _hours("least_ah", "Block at least", formula=LEAST_BLOCK),
        _hours("most_ah", "Block at most"),
        _hours("size_ah", "Block to buy", decimals=1),
        Column(key="fits", head="Block", kind="verdict", words=_FITS),
        _hours("capacity_ah", "Installed block", decimals=1, entry=changeable("A capacity")),
        _hours("installed_ah", "Installed set", formula=INSTALLED),
        _hours("margin_ah", "Margin", formula=MARGIN_ABOVE, inputs=_SPARE_AH),
        Column(key="spare", head="Spare", kind="percent", decimals=0, formula=SPARE),
        Column(key="word", head="Carries the need", kind="verdict", words=_CARRIES),
        _hours("set_ah", "Set charged"),
        _amps("charger_a", "Charger"),
        Column(key="acceptance", head="Recharge factor", kind="number", decimals=2),
        Column(
            key="recharge",
            head="Recharge",
            kind="number",
            unit="h",
            decimals=1,
            si=3600.0,
            formula=RECHARGE,
            inputs=_CHARGED,
        ),
    )


def _edition(batteries: Batteries) -> str:
    """Return the edition that life-safety batteries are sized under, and what a rate factor holds for."""
    editions = dict.fromkeys(one.edition for one in batteries.sheets if one.life_safety)
    by = [f"Life-safety units by NFPA 72-{', '.join(editions)}."] if editions else []
    rated = any(factor.name == "rate" for one in batteries.sheets for factor in one.factors)
    by += ["A rate factor is that of the currents in the project file."] if rated else []
    return " ".join(by)


def _row(one: BatterySheet) -> tuple[Cell, ...]:
    factors = {factor.name: factor.value for factor in one.factors}
    battery, size, most = one.unit.battery, one.size.size_ah or 0.0, one.most_block_ah
    installed: tuple[Cell, ...] = (None,) * 5
    judged = judged_installed(one)
    if battery is not None and judged is not None:
        held = (battery.capacity_ah, one.installed_ah)
        installed = (*held, judged.margin, one.spare, verdict(judged.word))
    charged: tuple[Cell, ...] = (None,) * 4
    if one.recharge_s is not None:
        acceptance = fact("charge_acceptance", "battery_facts").number("value")
        assert one.set_ah is not None
        chosen = Formula(CHOSEN_SET, one.set_ah)
        of_installed = Formula(SAME, one.set_ah, {"figure": Same("installed_ah")})
        charged = (chosen if battery is None else of_installed, one.unit.charger_a, acceptance, one.recharge_s / 3600)
    return (
        one.id,
        one.unit.system.replace("_", " "),
        one.standby_a,
        one.standby.time_s / 3600,
        one.alarm_a,
        one.alarm.time_s / 60,
        *(factors.get(name) for name in _FACTORS),
        Formula(need_expression(tuple(factors)), one.need_ah),
        one.strings,
        LEAST_BLOCK(need_ah=one.need_ah, strings=float(one.strings)),
        most,
        Formula(BLOCK, size, {"blocks": _BLOCKS, "most": _NO_LIMIT if most is None else Same("most_ah")}),
        verdict("fits" if size else "none fits"),
        *installed,
        *charged,
    )


def _loads(batteries: Batteries, project: Project) -> Table:
    return Table(
        name="loads",
        title="Loads",
        caption="A load that is switched off on loss of mains counts no pieces.",
        columns=(
            Column(key="unit", head="Unit"),
            Column(key="name", head="Load"),
            Column(key="where", head="Where"),
            Column(key="quantity", head="Pieces", kind="whole"),
            Column(key="counted", head="Counted", kind="whole", entry=changeable("A number of pieces")),
            _amps("standby_a", "Standby, each", entry=changeable("A current")),
            _amps("alarm_a", "Alarm, each", entry=changeable("A current")),
            Column(key="standby_from", head="Standby current from"),
            Column(key="alarm_from", head="Alarm current from"),
        ),
        rows=[
            (
                one.id,
                load.name,
                load.where,
                load.quantity,
                0 if load.shed else load.quantity,
                load.standby.amps,
                load.alarm.amps,
                origin(load.standby.origin, project),
                origin(load.alarm.origin, project),
            )
            for one in batteries.sheets
            for load in one.loads
        ],
        empty="No control unit is in this job.",
    )
