"""How a battery's volts fall through its standby and alarm time: the estimate beside the rule that decides."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.documents.calc_formulas import Formulas
from estimator.documents.common import origin
from estimator.documents.description import Cell, Column, Fact, Table
from estimator.spec.feeds import Circuit
from estimator.spec.model import Project
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.battery_figures import judged_start, standby_end_v
from estimator.takeoff.battery_run import METHOD
from estimator.takeoff.worked import MARGIN_ABOVE
from estimator.units.rounding import over


def discharge_table(one: BatterySheet) -> Table:
    """Return the moments of a set's discharge; its volts run straight between two of them."""
    return Table(
        name=f"discharge_{one.id}",
        title="Volts through standby and alarm, an estimate",
        caption=f"Method: {METHOD}.",
        columns=(
            Column(key="moment", head="Moment"),
            Column(key="time", head="After", kind="number", unit="h"),
            Column(key="amps", head="Current until then", kind="number", unit="A", decimals=4),
            Column(key="used", head="Used", kind="number", unit="Ah"),
            Column(key="left", head="Charge left", kind="percent", decimals=0),
            Column(key="volts", head="Set", kind="number", unit="V"),
        ),
        rows=list(_moments(one)),
        empty="No set is installed and no stocked block fits, so that nothing can be worked out.",
    )


def _moments(one: BatterySheet) -> Iterator[tuple[Cell, ...]]:
    if one.run is None:
        return
    standby_s = one.standby.time_s
    for place, moment in enumerate(one.run.moments):
        alarm = over(moment.time_s, standby_s)
        if place == 0:
            word, amps = "mains fails", None
        elif moment is one.run.alarm_end:
            word, amps = "alarm ends" if alarm else "standby ends", one.alarm_a if alarm else one.standby_a
        elif moment is one.run.moments[-1]:
            word, amps = "the set is empty", one.alarm_a if alarm else one.standby_a
        elif moment is one.run.standby_end:
            word, amps = "standby ends, alarm starts", one.standby_a
        else:
            word, amps = "alarm" if alarm else "standby", one.alarm_a if alarm else one.standby_a
        yield word, moment.time_s / 3600, amps, moment.used_ah, moment.left, moment.volts


def standby_end_fact(one: BatterySheet, project: Project) -> Fact:
    """Return the volts at the end of standby beside the start volts of the unit's notification circuits."""
    volts, judged = standby_end_v(one), judged_start(one)
    label = "Volts at the end of standby"
    if one.run is None:
        return Fact(label=label, value="no set")
    if volts is None:
        return Fact(label=label, value="empty before", note="an estimate")
    note = "an estimate"
    if judged is not None:
        note = f"an estimate; {judged.word}, {judged.limit:g} V, which decides ({origin(judged.source, project)})"
    return Fact(label=label, value=volts, unit="V", kind="number", note=note)


def circuit_start_facts(circuit: Circuit, start_v: float, formulas: Formulas) -> Iterator[Fact]:
    """Yield what a circuit's start would be by the battery of its unit alone; the start it is judged from decides."""
    worked = formulas.named("battery", circuit.feed, "standby_end_volts")
    if worked is None:
        return
    higher = MARGIN_ABOVE(value=worked.value, limit=start_v)
    side = "above" if higher >= 0.0 else "below"
    note = f"an estimate, {abs(higher):.2f} V {side} the start, which decides (sheet of {circuit.feed})"
    yield Fact(label="Battery at the end of standby", value=worked.value, unit="V", kind="number", note=note)
