"""How far power reaches: the way out for a device that doesn't work, and the pins that carry power."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.conductor import Gauge, diameter_m
from estimator.calc.poe import FOUR_PAIRS, most_loop_ohm, most_ohm_per_m
from estimator.reference.lookup import Row, table
from estimator.spec.model import Project
from estimator.takeoff.conductors import fact
from estimator.takeoff.footage import shown_length
from estimator.takeoff.poe import Powered
from estimator.units.rounding import over

BOTH: Final = "A and B"
"""Alternatives of four-pair power."""


def gauge_that_works(one: Powered) -> int | None:
    """Return the next thicker gauge of data cable over which a device works, None where none does or is known."""
    own, held = one.conductor.cable.awg, one.held_v
    if own is None or one.draw_w == 0.0 or not over(one.port_v, held):
        return None
    most_loop = most_loop_ohm(source_v=one.port_v, device_w=one.draw_w, device_min_v=held)
    length_m = one.length.expected_m + one.cords_m
    most = most_ohm_per_m(most_loop_ohm=most_loop, length_m=length_m, powered_pairs=one.power_class.powered_pairs)
    row = table("awg_definition").rows[0]
    gauge = Gauge(**{name: row.number(name) for name in ("anchor_awg", "anchor_m", "ratio", "steps")})
    now = diameter_m(awg=own, gauge=gauge)
    for awg in (int(each) for each in fact("pair_gauges", "poe_facts").numbers("gauges")):
        ohm_per_m = one.conductor.ohm_per_m * (now / diameter_m(awg=awg, gauge=gauge)) ** 2
        if awg < own and not over(ohm_per_m, most):
            return awg
    return None


def way_out(one: Powered, project: Project) -> str:
    """Return what mends a device that its cable doesn't carry: a length, a gauge, or another supply."""
    longest, awg = one.longest_m, gauge_that_works(one)
    ways = []
    if longest:
        ways.append(f"shorten the run to {shown_length(longest, project)} at the most")
    if awg is not None:
        ways.append(f"pull a {awg} AWG cable")
    return (
        ", or ".join(ways)
        if ways
        else "no gauge of data cable carries it: take a higher port voltage or feed it nearby"
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class PowerPins:
    """Circuits that carry power over the same pairs, and the pins of one alternative among those."""

    alternatives: str  # "A", "B", "A or B" where the switch decides, "A and B" for four pairs
    circuits: tuple[str, ...]
    classes: tuple[int, ...]
    row: Row

    @property
    def pins(self) -> tuple[str, str]:
        """Return the positive and the negative pins."""
        positive, negative = (self.row.numbers(side) for side in ("positive", "negative"))
        return ", ".join(f"{pin:g}" for pin in positive), ", ".join(f"{pin:g}" for pin in negative)


def alternatives_of(one: Powered) -> str:
    """Return the alternatives over which a device takes its power."""
    if one.power_class.powered_pairs == FOUR_PAIRS:
        return BOTH
    typed = one.switch.poe_pairs if one.switch is not None else None
    return typed or "A or B"


def power_pins(devices: Sequence[Powered]) -> Iterable[PowerPins]:
    """Yield the pins that carry power, with the circuits, by alternative and in the standard's usual polarity."""
    groups: dict[str, list[Powered]] = {}
    for one in devices:
        groups.setdefault(alternatives_of(one), []).append(one)
    for alternatives, members in sorted(groups.items()):
        for row in table("poe_pins"):
            if row.text("alternative") in alternatives.split():
                yield PowerPins(
                    alternatives=alternatives,
                    circuits=tuple(one.id for one in members),
                    classes=tuple(sorted({one.power_class.number for one in members})),
                    row=row,
                )


def reversed_pins(pins: PowerPins) -> bool:
    """Return whether the standard also knows the opposite polarity of an alternative."""
    return table("poe_pins").has(alternative=f"{pins.row.text('alternative')}_x")
