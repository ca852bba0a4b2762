"""Sheet about power over balanced pairs: every device at the end of its cable, every switch with its budget."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

from estimator.calc.heat import MAINS, SWITCH_LOSS
from estimator.calc.poe import (
    BUDGET,
    CABLE_LOSS,
    CURRENT,
    DEVICE_VOLTS,
    HELD,
    LONGEST_RUN,
    SOURCE_WATTS,
    TABLE_CURRENT,
)
from estimator.documents.common import SAME, in_length, length_column, live_words, number_column, rule_from, verdict
from estimator.documents.description import (
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
)
from estimator.documents.estimate_circuits import resistance_unit
from estimator.spec.model import Project
from estimator.takeoff.conductors import fact
from estimator.takeoff.poe import (
    BEYOND_BUDGET,
    BEYOND_USABLE,
    CANNOT,
    COMPUTED_DRAW,
    GIVEN,
    HEAT,
    LOST,
    NEEDED,
    NOT_FED,
    OVER_BUDGET,
    OVER_CLASS,
    PORTS_FREE,
    PORTS_USED,
    SUPPLY_LOOP,
    TOO_LOW,
    TOO_MUCH,
    UNDER_LEAST,
    USABLE,
    USES_RESERVE,
    WITHIN_BUDGET,
    WORKS,
    PoE,
    Powered,
    SwitchPower,
    budget_word,
    mains_inputs,
)
from estimator.takeoff.poe_bundles import CONDUCTOR, Hot, hot_cables
from estimator.takeoff.worked import MARGIN, MARGIN_ABOVE

_HELD: Final[Mapping[str, Ref]] = {"device_min_v": Same("least_v"), "source_w": Same("allocated_w")}
_MARGIN_V: Final[Mapping[str, Ref]] = {"value": Same("device_v"), "limit": Same("least_v")}
_GIVEN_W: Final[Mapping[str, Ref]] = {"given_w": Same("computed_w")}
_AT_CLASS: Final[Mapping[str, Ref]] = {"class_w": Same("allocated_w")}
_CLASSES: Final[Mapping[str, Ref]] = {
    "ports": Matching("poe_classes", "ports", "switch", "switch"),
    "watts": Matching("poe_classes", "watts", "switch", "switch"),
}

_EXPECTED: Final[Mapping[str, Ref]] = {"figure": Lookup("drops", "expected", "id", "id")}
_WORKS: Final = live_words(
    (NOT_FED, CANNOT),
    (UNDER_LEAST, TOO_LOW),
    (OVER_CLASS, TOO_MUCH),
    otherwise=WORKS,
)
_BUDGET: Final = live_words(
    (BEYOND_BUDGET, OVER_BUDGET),
    (BEYOND_USABLE, USES_RESERVE),
    otherwise=WITHIN_BUDGET,
)

_watts = partial(number_column, unit="W", decimals=1)


def poe_section(poe: PoE, project: Project) -> Section:
    """Return the ports and the budget of every switch."""
    by = "the classes of its devices" if project.rules.poe_budget_by == "class" else "the draw of its devices"
    text = (
        f"Volts hold for the expected length with cords ({rule_from(project, 'poe_cords_m')}) and warm conductors. "
        f"A switch's budget is judged by {by} ({rule_from(project, 'poe_budget_by')}), after a reserve "
        f"({rule_from(project, 'poe_reserve')})."
    )
    blocks = (
        Paragraph(text),
        _switches(poe, project),
        _classes(poe),
        *_bundles(hot_cables(poe, project)),
    )
    return Section(title="PoE", blocks=blocks, landscape=True, pages_wide=2)


def poe_devices_section(poe: PoE, project: Project) -> Section:
    """Return the loop, current and volts of every powered device."""
    text = (
        "A device works where it has its minimum, half the port's volts and the share that its class's watts leave; "
        "the longest run is the one at which it just has them, cords taken off. Pull no longer one without a new sum."
    )
    blocks = (Paragraph(text), _devices(poe, project))
    return Section(title="PoE devices", blocks=blocks, landscape=True, pages_wide=2)


def _switches(poe: PoE, project: Project) -> Table:
    used: Mapping[str, Ref] = {"used": Same("ports_used")}
    margin: Mapping[str, Ref] = {"limit": Same("usable_w"), "value": Same("needed_w")}
    draw: Mapping[str, Ref] = {"source_w": Matching("poe", "source_w", "switch", "switch")}
    lost: Mapping[str, Ref] = {"cable_loss_w": Matching("poe", "cable_loss_w", "switch", "switch")}
    return Table(
        name="switches",
        title="Switches",
        key="switch",
        columns=(
            Column(key="switch", head="Switch"),
            Column(key="room", head="Room"),
            Column(key="powered", head="Powered", kind="whole"),
            Column(key="unpowered", head="Other", kind="whole"),
            Column(key="ports_used", head="Ports taken", kind="whole", formula=PORTS_USED),
            Column(key="ports", head="Ports", kind="whole"),
            Column(key="free", head="Free", kind="whole", formula=PORTS_FREE, inputs=used),
            _watts("allocated_w", "By class", formula=BUDGET, inputs=_CLASSES),
            _watts("computed_w", "By draw", formula=COMPUTED_DRAW, inputs=draw),
            _watts("budget_w", "Budget"),
            Column(key="reserve", head="Reserve", kind="percent", decimals=0),
            _watts("usable_w", "Usable", formula=USABLE),
            _watts("needed_w", "Needed", formula=NEEDED[project.rules.poe_budget_by]),
            _watts("margin", "Margin", formula=MARGIN, inputs=margin),
            Column(key="word", head="Budget holds", kind="verdict", words=_BUDGET),
            _watts("own_w", "Own draw"),
            Column(key="efficiency", head="PoE efficiency", kind="percent", decimals=0),
            _watts("mains_w", "From the mains", formula=MAINS, inputs=_GIVEN_W),
            _watts("loss_w", "Its heat", formula=SWITCH_LOSS, inputs=_GIVEN_W),
            _watts("cable_loss_w", "Lost in cables", formula=LOST, inputs=lost),
            Column(key="heat", head="Heat", kind="number", unit="BTU/h", decimals=0, formula=HEAT),
        ),
        rows=[_switch_row(one, project) for one in poe.switches],
        empty="No switch is named.",
    )


def _switch_row(one: SwitchPower, project: Project) -> tuple[Cell, ...]:
    taken = mains_inputs(one.switch, one.computed_w)
    return (
        one.id,
        one.switch.room,
        len(one.devices),
        one.unpowered,
        one.ports_used,
        one.switch.ports,
        PORTS_FREE(ports=one.switch.ports, used=one.ports_used),
        one.allocated_w,
        one.computed_w,
        one.switch.budget_w,
        project.rules.poe_reserve,
        one.usable_w,
        one.needed_w,
        MARGIN(limit=one.usable_w, value=one.needed_w),
        verdict(budget_word(one)),
        taken["own_w"],
        taken["efficiency"],
        one.mains_w,
        one.loss_w,
        one.cable_loss_w,
        one.heat_btu_per_h,
    )


def _classes(poe: PoE) -> Table:
    return Table(
        name="poe_classes",
        title="Devices of each class by switch",
        columns=(
            Column(key="switch", head="Switch"),
            Column(key="class", head="Class", kind="whole"),
            Column(key="ports", head="Devices", kind="whole"),
            _watts("watts", "Reserved, each"),
        ),
        rows=[
            (one.id, number, count, watts)
            for one in poe.switches
            for number, count, watts in zip(one.classes, one.class_ports, one.class_w, strict=True)
        ],
        empty="No powered device names a switch.",
    )


def _bundles(hot: Sequence[Hot]) -> tuple[Paragraph, Table]:
    above = f"{fact('code_table_above_w', 'poe_facts').number('value'):g} W"
    text = (
        f"Above {above} a cable the electrical code asks for conductors within its ampacity table for the bundle's "
        "size, or within the amperes of a limited-power mark. That table is not part of this program: look for the "
        "current below in the adopted edition and type what it allows. The rise of a bundle's temperature is typed too."
    )
    return Paragraph(text), _hot_table(hot, above)


def _hot_table(hot: Sequence[Hot], above: str) -> Table:
    amps = partial(number_column, unit="A", decimals=3)
    return Table(
        name="bundles",
        title=f"Cables above {above}",
        columns=(
            Column(key="cable", head="Cable"),
            Column(key="class", head="Class", kind="whole"),
            Column(key="count", head="Cables", kind="whole"),
            _watts("source_w", "Port gives, most"),
            number_column("source_v", "Least volts", "V", decimals=1),
            Column(key="powered_pairs", head="Pairs", kind="whole"),
            amps("conductor_a", "Conductor", formula=CONDUCTOR),
            number_column("rated_c", "Jacket rated", "C", decimals=0),
            number_column("ambient_c", "Surroundings", "C", decimals=1),
            number_column("table_ambient_c", "Code table at", "C", decimals=0),
            amps("table_a", "To look for", formula=TABLE_CURRENT),
            amps("allowed_a", "Allowed"),
            amps("margin", "Margin"),
            Column(key="word", head="Ampacity", kind="verdict"),
        ),
        rows=[_bundle_row(one) for one in hot],
        empty=f"No cable carries more than {above}.",
    )


def _bundle_row(one: Hot) -> tuple[Cell, ...]:
    margin: Cell = None
    if one.allowed_a is not None and one.judged_a is not None:
        held: Mapping[str, Ref] = {
            "limit": Same("allowed_a"),
            "value": Same("conductor_a" if one.by_mark else "table_a"),
        }
        margin = Formula(MARGIN, MARGIN(limit=one.allowed_a, value=one.judged_a), held)
    return (
        one.cable.id,
        one.number,
        one.count,
        one.source_w,
        one.source_v,
        one.powered_pairs,
        one.conductor_a,
        one.rated_c,
        one.ambient_c,
        one.table_ambient.number("value"),
        one.table_a,
        one.allowed_a,
        margin,
        verdict(one.word),
    )


def _devices(poe: PoE, project: Project) -> Table:
    resistance = resistance_unit(project)
    return Table(
        name="poe",
        title="Powered devices",
        columns=(
            Column(key="id", head="Circuit"),
            Column(key="device", head="Device"),
            Column(key="switch", head="Switch"),
            Column(key="class", head="Class", kind="whole"),
            _watts("allocated_w", "Reserved"),
            _watts("device_w", "Draw"),
            length_column(project, "length_m", "Length", formula=SAME, inputs=_EXPECTED),
            length_column(project, "cords_m", "Cords"),
            Column(key="ohm_per_m", head="Conductor", kind="number", unit=resistance[0], si=resistance[1]),
            Column(key="powered_pairs", head="Pairs", kind="whole"),
            Column(key="loop_ohm", head="Loop", kind="number", unit="ohm", formula=SUPPLY_LOOP),
            Column(key="source_v", head="Port", kind="number", unit="V", decimals=1),
            Column(key="current_a", head="Current", kind="number", unit="A", decimals=3, formula=CURRENT),
            Column(key="device_v", head="Device", kind="number", unit="V", formula=DEVICE_VOLTS),
            Column(key="least_v", head="Minimum", kind="number", unit="V", decimals=1),
            Column(key="margin", head="Margin", kind="number", unit="V", formula=MARGIN_ABOVE, inputs=_MARGIN_V),
            Column(key="held_v", head="To hold", kind="number", unit="V", formula=HELD, inputs=_HELD),
            length_column(project, "longest", "Longest run", formula=LONGEST_RUN),
            _watts("source_w", "Port gives", formula=SOURCE_WATTS),
            _watts("cable_loss_w", "Lost in cable", formula=CABLE_LOSS),
            Column(key="word", head="Device works", kind="verdict", words=_WORKS),
        ),
        rows=[_device_row(one, project, resistance[1]) for one in poe.devices],
        empty="No device takes power over its data cable.",
    )


def _device_row(one: Powered, project: Project, ohm_si: float) -> tuple[Cell, ...]:
    fed = one.current_a is not None
    return (
        one.id,
        one.device.id,
        one.switch.id if one.switch else "none named",
        one.power_class.number,
        one.allocated_w,
        one.draw_w,
        in_length(one.length.expected_m, project),
        in_length(one.cords_m, project),
        one.conductor.ohm_per_m / ohm_si,
        one.power_class.powered_pairs,
        one.loop_ohm,
        one.port_v,
        one.current_a,
        one.device_v,
        one.least_v,
        None if one.device_v is None else MARGIN_ABOVE(value=one.device_v, limit=one.least_v),
        one.held_v,
        None if one.longest_m is None else in_length(one.longest_m, project),
        one.source_w if fed else Formula(GIVEN, one.source_w, _AT_CLASS),
        one.cable_loss_w if fed else None,
        verdict(one.word),
    )
