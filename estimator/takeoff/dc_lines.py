"""One direct-current line: devices at their places on a pair of conductors, and what reaches them.

A notification circuit starts at the volts that a listing guarantees at the end of standby. Its
verdict is the one of `nac_decides`; a loop of class A must also work with its worst wire open. A
DC branch is judged by each device's least volts and by the percent limit, and again at inrush.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.dc_circuit import (
    Opening,
    Tap,
    Voltages,
    class_a_worst,
    constant_power_v,
    end_of_line_v,
    percent_drop,
    point_to_point,
)
from estimator.calc.formula import Expression
from estimator.spec.cabling import DeviceType
from estimator.spec.rules import Rules
from estimator.takeoff.conductors import Conductor
from estimator.takeoff.footage import Length
from estimator.takeoff.loads import Amps
from estimator.takeoff.worked import Input
from estimator.units.rounding import over, under

NAC, BRANCH = "nac", "dc"

DRAWS: Final = Expression("quantity * each_a")
"""What the devices of one place draw together [A]."""

BEYOND: Final = Expression("sum(draws_a)")
"""What flows through the wire to a place: its own draw and that of all places behind it [A]."""

VOLTS_THERE: Final = Expression("source_v - total_a * source_ohm - sum(drops_v)")
"""Volts at a place of a line of constant currents: the start less every drop on the way [V]."""

WIRE: Final = Expression("sum(distances)")
"""One-way length to the last device of a line [m]."""

LEAST: Final = Expression("min(here)")
"""The least of what stands at the devices of a line: volts, or volts above a minimum [V]."""

AT_WORST: Final = Expression("minimum_v + margin")
"""Volts at the device with the least above its minimum [V]."""

UNFED: Final = Expression("lowest_v < 0.000001")
UNDER_MINIMUM: Final = Expression("round(margin, 9) < 0")
UNDER_OPENED: Final = Expression("round(opened_left, 9) < 0")
UNDER_AT_INRUSH: Final = Expression("round(inrush_left, 9) < 0")
END_UNDER: Final = Expression("end_v < max(minimums)")
OVER_DROP: Final = Expression("percent > most_drop")
"""What a line doesn't work by: no volts, a margin below zero at rest, with a wire open or at inrush, the drop."""

WORKS: Final = "works"
TOO_LOW: Final = "volts too low"
OPENED_TOO_LOW: Final = "volts too low with a wire open"
OVER_PERCENT: Final = "drop over the limit"
INRUSH_TOO_LOW: Final = "volts too low at inrush"
CANNOT: Final = "cannot be fed"

LADDER, BY_CURRENT, BY_POWER = "ladder", "current", "power"


@dataclass(frozen=True, kw_only=True, slots=True)
class AtPlace:
    """Equal devices at one place of a line; a constant-power load has watts and no current."""

    device: DeviceType
    name: str
    quantity: float
    distance_m: float
    each: Amps
    each_w: float
    minimum_v: float
    minimum_origin: str

    @property
    def current_a(self) -> float:
        """Return their constant current together [A]."""
        return 0.0 if self.each_w else self.each.amps * self.quantity

    @property
    def power_w(self) -> float:
        """Return their constant power together [W]."""
        return self.each_w * self.quantity

    def tap(self, *, inrush: bool = False) -> Tap:
        """Return the load as the ladder takes it, at rest or at inrush."""
        current, watts = self.current_a, self.power_w
        if inrush and self.device.inrush_a is not None:
            current, watts = self.device.inrush_a * self.quantity, 0.0
        return Tap(segment_m=self.distance_m, current_a=current, power_w=watts, minimum_v=self.minimum_v)


@dataclass(frozen=True, kw_only=True, slots=True)
class Basis:
    """What a line is made of, before anything is computed."""

    id: str
    what: str  # NAC or BRANCH
    length: Length
    conductor: Conductor
    source: Input
    sag: Input
    places: tuple[AtPlace, ...]
    return_m: float
    rating: Input | None
    most_drop: Input  # largest drop as a share of the source's volts

    @property
    def wire_m(self) -> float:
        """Return the one-way length to the last device [m]."""
        return math.fsum(place.distance_m for place in self.places)

    @property
    def source_v(self) -> float:
        """Return the volts at its start [V]."""
        return number(self.source)

    @property
    def source_ohm(self) -> float:
        """Return the sag of its source [V/A]."""
        return number(self.sag)

    @property
    def drop_limit(self) -> float:
        """Return its largest drop as a share of the source's volts."""
        return number(self.most_drop)

    @property
    def constant(self) -> bool:
        """Return whether every load holds its current, so that the volts are sums along the wire."""
        return not any(place.each_w for place in self.places)

    @property
    def how(self) -> str:
        """Return how its volts are found: a formula for a single device, else a ladder."""
        if self.what == NAC or len(self.places) > 1 or self.return_m:
            return LADDER
        if not self.places[0].each_w:
            return BY_CURRENT
        return LADDER if self.source_ohm else BY_POWER


@dataclass(frozen=True, kw_only=True, slots=True)
class Reach:
    """How far a line could go on its wire, and how thin its wire could be.

    ``largest_ohm_per_m`` is None where it works on no wire, infinite where it works on any;
    ``longest_m`` and ``awg`` are None where there is no such length or stocked gauge.
    """

    largest_ohm_per_m: float | None
    longest_m: float | None
    awg: int | None


NOWHERE: Final = Reach(largest_ohm_per_m=None, longest_m=None, awg=None)
"""The reach of a line that was not asked for it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class DcLine:
    """A line with its state; ``volts`` is empty where its loads cannot be fed."""

    basis: Basis
    volts: tuple[float, ...]
    worst: int
    total_a: float
    end_v: float | None
    percent: float | None
    opening: Opening | None
    inrush_v: tuple[float, ...] | None
    word: str
    reach: Reach = NOWHERE

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.basis.id

    @property
    def worst_v(self) -> float | None:
        """Return the volts at the device with the least above its minimum [V]."""
        return self.volts[self.worst] if self.volts else None

    @property
    def worst_place(self) -> AtPlace:
        """Return the place of the device with the least volts above its minimum."""
        return self.basis.places[self.worst]

    @property
    def opened_place(self) -> AtPlace:
        """Return the place of the device with the least volts above its minimum, a loop opened at its worst."""
        opened = self.opening.voltages if self.opening is not None else None
        return self.worst_place if opened is None else self.basis.places[opened.worst]

    @property
    def opened_v(self) -> float | None:
        """Return the volts there [V], or None where there is no loop or it can't be fed."""
        opened = self.opening.voltages if self.opening is not None else None
        return None if opened is None else opened.places[opened.worst].volts

    @property
    def inrush_worst(self) -> int | None:
        """Return the device with the least volts above its minimum at inrush, or None where none is fed."""
        if not self.inrush_v:
            return None
        margins = [volts - place.minimum_v for volts, place in zip(self.inrush_v, self.basis.places, strict=True)]
        return min(range(len(margins)), key=margins.__getitem__)

    @property
    def loop_ohm(self) -> float:
        """Return both conductors of the wire to the last device [ohm]."""
        return PAIR_LOOP(length_m=self.basis.wire_m, ohm_per_m=self.basis.conductor.ohm_per_m)


def number(item: Input) -> float:
    """Return an input that is a single number."""
    assert not isinstance(item.value, tuple)
    return item.value


def solve_notification(basis: Basis, rules: Rules) -> DcLine:
    """Return a notification circuit: point to point, end of line, percent, and opened if class A."""
    taps = [place.tap() for place in basis.places]
    state = _ladder(basis, taps)
    total = TOTAL(quantity=[one.quantity for one in basis.places], each_a=[one.each.amps for one in basis.places])
    ohm = basis.conductor.ohm_per_m
    end = end_of_line_v(
        source_v=basis.source_v, total_a=total, length_m=basis.wire_m, ohm_per_m=ohm, source_ohm=basis.source_ohm
    )
    opening = _opened(basis, taps)
    percent = percent_drop(source_v=basis.source_v, end_v=end)
    volts = () if state is None else tuple(place.volts for place in state.places)
    word = _notification_word(basis, volts, end, percent, opening, rules)
    return DcLine(
        basis=basis,
        volts=volts,
        worst=state.worst if state else 0,
        total_a=total,
        end_v=end,
        percent=percent,
        opening=opening,
        inrush_v=None,
        word=word,
    )


def solve_line(basis: Basis, rules: Rules) -> DcLine:
    """Return a line worked out as its kind is: a notification circuit or a DC branch."""
    return solve_notification(basis, rules) if basis.what == NAC else solve_branch(basis)


def solve_branch(basis: Basis) -> DcLine:
    """Return a DC branch: each device at its place, at rest and at inrush, and the percent drop."""
    taps = [place.tap() for place in basis.places]
    state, opening = _ladder(basis, taps), _opened(basis, taps)
    volts = () if state is None else tuple(place.volts for place in state.places)
    if state is not None and basis.how != LADDER:
        volts = _single(basis)
    surge = None
    if any(place.device.inrush_a is not None for place in basis.places):
        surged = _ladder(basis, [place.tap(inrush=True) for place in basis.places])
        surge = () if surged is None else tuple(place.volts for place in surged.places)
    percent = percent_drop(source_v=basis.source_v, end_v=min(volts)) if volts else None
    return DcLine(
        basis=basis,
        volts=volts,
        worst=state.worst if state else 0,
        total_a=_drawn(basis, state),
        end_v=None,
        percent=percent,
        opening=opening,
        inrush_v=surge,
        word=_branch_word(basis, volts, percent, opening, surge),
    )


def _ladder(basis: Basis, taps: Sequence[Tap]) -> Voltages | None:
    return point_to_point(
        source_v=basis.source_v, ohm_per_m=basis.conductor.ohm_per_m, taps=taps, source_ohm=basis.source_ohm
    )


def _opened(basis: Basis, taps: Sequence[Tap]) -> Opening | None:
    """Return a loop with its worst wire open, or None where the wire doesn't come back."""
    if not basis.return_m:
        return None
    return class_a_worst(
        source_v=basis.source_v,
        ohm_per_m=basis.conductor.ohm_per_m,
        taps=taps,
        return_m=basis.return_m,
        source_ohm=basis.source_ohm,
    )


def _single(basis: Basis) -> tuple[float, ...]:
    """Return the volts of a single device by the formula that is printed."""
    place, ohm = basis.places[0], basis.conductor.ohm_per_m
    if basis.how == BY_CURRENT:
        volts: float | None = end_of_line_v(
            source_v=basis.source_v,
            total_a=place.current_a,
            length_m=basis.wire_m,
            ohm_per_m=ohm,
            source_ohm=basis.source_ohm,
        )
    else:
        loop = PAIR_LOOP(length_m=basis.wire_m, ohm_per_m=ohm)
        volts = constant_power_v(source_v=basis.source_v, loop_ohm=loop, power_w=place.power_w)
    return () if volts is None else (volts,)


def _drawn(basis: Basis, state: Voltages | None) -> float:
    if state is not None:
        return state.total_a
    return math.fsum(place.each.amps * place.quantity for place in basis.places)


def _low(basis: Basis, volts: Sequence[float]) -> bool:
    return any(under(here, place.minimum_v) for here, place in zip(volts, basis.places, strict=True))


def _notification_word(
    basis: Basis, volts: Sequence[float], end_v: float, percent: float, opening: Opening | None, rules: Rules
) -> str:
    if not volts:
        return CANNOT
    if rules.nac_decides == "point_to_point" and _low(basis, volts):
        return TOO_LOW
    if rules.nac_decides == "end_of_line" and under(end_v, max(place.minimum_v for place in basis.places)):
        return TOO_LOW
    if rules.nac_decides == "percent" and over(percent, 100 * basis.drop_limit):
        return OVER_PERCENT
    return OPENED_TOO_LOW if _opened_low(basis, opening) else WORKS


def _branch_word(
    basis: Basis,
    volts: Sequence[float],
    percent: float | None,
    opening: Opening | None,
    surge: Sequence[float] | None,
) -> str:
    if not volts or percent is None:
        return CANNOT
    if _low(basis, volts):
        return TOO_LOW
    if over(percent, 100 * basis.drop_limit):
        return OVER_PERCENT
    if _opened_low(basis, opening):
        return OPENED_TOO_LOW
    if surge is not None and (not surge or _low(basis, surge)):
        return INRUSH_TOO_LOW
    return WORKS


def _opened_low(basis: Basis, opening: Opening | None) -> bool:
    if opening is None:
        return False
    return opening.voltages is None or _low(basis, [place.volts for place in opening.voltages.places])
