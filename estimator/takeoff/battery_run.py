"""How a unit's battery empties: volts and charge through standby and alarm, an estimate.

The rule of 85 % of the nominal volts decides the start of a notification circuit; what stands here
is shown beside it. A new set is taken, at its temperature where one is typed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.discharge import Moment, discharge_curve
from estimator.reference.lookup import table
from estimator.spec.feeds import ControlUnit
from estimator.takeoff.battery_factors import Steps, exponent_of, rated_hours, temperature_of
from estimator.takeoff.conductors import fact
from estimator.takeoff.worked import Input

METHOD: Final = (
    "charge taken at the pace of Peukert's law; the volts of the charge left lie between published ones; "
    "an estimate for a new set, without the step of the volts when the alarm current starts"
)
"""How the volts of a discharge are found."""

_TABLED_V: Final = 12.0  # the block that the table of volts speaks of


@dataclass(frozen=True, kw_only=True, slots=True)
class Discharge:
    """A set through its standby and alarm time; between two moments its volts run straight.

    ``standby_end`` and ``alarm_end`` are None where the set is empty before.
    """

    capacity: Input
    exponent: Input
    rated: Input
    steps: Steps
    moments: tuple[Moment, ...]
    standby_end: Moment | None
    alarm_end: Moment | None
    source: str

    @property
    def empty_s(self) -> float | None:
        """Return when the set is empty [s], or None where it lasts through the alarm."""
        return self.moments[-1].time_s if self.alarm_end is None else None


def cells_of(block_v: float, blocks: float) -> float:
    """Return the cells in series of so many blocks."""
    return fact("cells_in_12_v", "battery_facts").number("value") * block_v / _TABLED_V * blocks


def rest_volts(set_v: float) -> tuple[tuple[float, float], ...]:
    """Return the volts of a set by its share of charge [V]: rested ones at their low edge, when empty the end volts."""
    end_v = table("battery_voltages").find(state="end_of_discharge").number("low_v") * cells_of(set_v, 1.0)
    rows = [row for row in table("battery_open_circuit") if row.number("charge_percent") > 0.0]
    rested = sorted((row.number("charge_percent") / 100, row.number("sealed_low_v")) for row in rows)
    return ((0.0, end_v), *((share, volts * set_v / _TABLED_V) for share, volts in rested))


def work_out_run(unit: ControlUnit, set_ah: float, steps: Steps) -> Discharge:
    """Return how a set empties through its steps of current: the installed one, else one of the unit's volts."""
    held = unit.battery
    set_v = unit.nominal_v if held is None else held.block_v * held.blocks
    warm, origin = temperature_of(unit.temperature_c) if unit.temperature_c is not None else (1.0, "")
    cold = f", divided by {warm:.3g} at {unit.temperature_c:g} C: {origin}" if origin else ""
    capacity = Input(set_ah / warm, "Ah", f"new set of {set_ah:g} Ah{cold}")
    exponent, hours = exponent_of(unit.battery), rated_hours()
    assert not isinstance(exponent.value, tuple)
    given = {"capacity_ah": set_ah / warm, "rated_h": hours.number("value"), "exponent": exponent.value}
    moments = discharge_curve(steps=steps, volts=rest_volts(set_v), **given)
    standby_s = steps[0][1]
    whole_s = sum(time_s for _, time_s in steps)
    last = moments[-1]
    through = last.time_s >= whole_s
    standby_end = next((one for one in moments if one.time_s >= standby_s), None)
    return Discharge(
        capacity=capacity,
        exponent=exponent,
        rated=Input(hours.number("value"), "h", hours.source),
        steps=tuple(steps),
        moments=moments,
        standby_end=standby_end,
        alarm_end=last if through else None,
        source=f"{table('battery_open_circuit').source}; {table('battery_voltages').rows[0].source}; "
        f"{table('peukert').source}",
    )
