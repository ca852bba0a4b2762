"""Sheet about batteries: what each control unit draws, for how long, and the set that carries it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final

from estimator.calc.battery import RECHARGE, TOTAL, need_expression
from estimator.documents.common import number_column, origin, verdict
from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Same, Section, Table
from estimator.spec.model import Project
from estimator.takeoff.batteries import INSTALLED, SPARE, Batteries, BatterySheet
from estimator.takeoff.battery_figures import judged_installed
from estimator.takeoff.conductors import fact
from estimator.takeoff.worked import MARGIN_ABOVE

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
    return Section(title="Batteries", blocks=blocks, landscape=True)


def loads_section(batteries: Batteries, project: Project) -> Section:
    """Return every load behind the batteries, with the origin of its currents."""
    return Section(title="Battery loads", blocks=(_loads(batteries, project),), landscape=True)


def _sheets(batteries: Batteries) -> Table:
    return Table(
        name="batteries",
        title="Control units",
        caption=_edition(batteries),
        key="unit",
        columns=(
            Column(key="unit", head="Unit"),
            Column(key="system", head="System"),
            _amps("standby_a", "Standby", formula=TOTAL, inputs=_IN_STANDBY),
            Column(key="standby_s", head="Standby for", kind="number", unit="h", decimals=1, si=3600.0),
            _amps("alarm_a", "Alarm", formula=TOTAL, inputs=_IN_ALARM),
            Column(key="alarm_s", head="Alarm for", kind="number", unit="min", decimals=1, si=60.0),
            *(Column(key=name, head=name.capitalize(), kind="number", decimals=3) for name in _FACTORS),
            _hours("need_ah", "Need"),
            Column(key="size_ah", head="Block to buy", kind="number", unit="Ah", decimals=1, computed=True),
            Column(key="capacity_ah", head="Installed block", kind="number", unit="Ah", decimals=1),
            Column(key="strings", head="Strings", kind="whole"),
            _hours("installed_ah", "Installed set", formula=INSTALLED),
            _hours("margin_ah", "Margin", formula=MARGIN_ABOVE, inputs=_SPARE_AH),
            Column(key="spare", head="Spare", kind="percent", decimals=0, formula=SPARE),
            Column(key="word", head="Carries the need", kind="verdict"),
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
        ),
        rows=[_row(one) for one in batteries.sheets],
        empty="No control unit is in this job.",
    )


def _edition(batteries: Batteries) -> str:
    """Return the edition that life-safety batteries are sized under, where there is one."""
    editions = dict.fromkeys(one.edition for one in batteries.sheets if one.life_safety)
    return f"Life-safety units by NFPA 72-{', '.join(editions)}." if editions else ""


def _row(one: BatterySheet) -> tuple[Cell, ...]:
    factors = {factor.name: factor.value for factor in one.factors}
    battery = one.unit.battery
    installed: tuple[Cell, ...] = (None,) * 6
    judged = judged_installed(one)
    if battery is not None and judged is not None:
        held = (battery.capacity_ah, battery.strings, one.installed_ah)
        installed = (*held, judged.margin, one.spare, verdict(judged.word))
    charged: tuple[Cell, ...] = (None,) * 4
    if one.recharge_s is not None:
        acceptance = fact("charge_acceptance", "battery_facts").number("value")
        charged = (one.set_ah, one.unit.charger_a, acceptance, one.recharge_s / 3600)
    return (
        one.id,
        one.unit.system.replace("_", " "),
        one.standby_a,
        one.standby.time_s / 3600,
        one.alarm_a,
        one.alarm.time_s / 60,
        *(factors.get(name) for name in _FACTORS),
        Formula(need_expression(tuple(factors)), one.need_ah),
        one.size.size_ah,
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
            Column(key="counted", head="Counted", kind="whole"),
            _amps("standby_a", "Standby, each"),
            _amps("alarm_a", "Alarm, each"),
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
