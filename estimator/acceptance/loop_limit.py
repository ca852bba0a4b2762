"""The largest loop at which a circuit's worst device still works, as the design has it.

A meter tells how much the whole loop resists and not where. What it has over the plan may lie before
the first device, where all of the current flows; so the line is worked out again as the estimate does,
with more and more resistance at its start, until a device gets less than its least volts. The house's
percent limit of a DC branch is a rule of design and not of a device, so that it doesn't count here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from estimator.acceptance.criterion import Bound
from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.dc_circuit import longest_m
from estimator.spec.model import Project
from estimator.spec.rules import Rules
from estimator.takeoff.dc_circuits import DcCircuits, work_out_dc
from estimator.takeoff.dc_lines import BY_CURRENT, NAC, WORKS, AtPlace, DcLine, number, solve_line
from estimator.takeoff.dc_lines import Basis as Line
from estimator.takeoff.footage import Footage, Length
from estimator.takeoff.wire_loops import loop_limit

NAME = "loop at which the worst device still works"
"""Name of the bound that the design gives."""

LISTED = "largest loop that its source allows"
"""Name of the bound that the listing gives."""

_MOST_OHM = 2.0**20  # a line that works through this draws no current worth a limit
_HALVINGS = 40  # leaves a millionth of a millionth
_WHOLE = 1.0  # all of the source's volts: no percent limit


@dataclass(frozen=True)
class LoopLimits:
    """The job's notification circuits, DC branches and supply-fed devices.

    They are the takeoff's where it is at hand, else worked out when first asked for.
    """

    project: Project
    footage: Footage
    dc: DcCircuits | None = None
    _single: dict[object, float | None] = field(default_factory=dict)

    @cached_property
    def lines(self) -> Mapping[str, DcLine]:
        """Return the lines of the design by circuit."""
        dc = self.dc or work_out_dc(self.project, self.footage)
        return {line.id: line for line in dc.lines}

    def bounds(self, length: Length) -> Iterable[Bound]:
        """Yield the largest loops [ohm]: by the listing of its source, and by the volts and currents known."""
        circuit = length.circuit
        listed = None if circuit is None else loop_limit(circuit, self.project.feed(circuit.feed))
        if listed is not None:
            yield Bound(name=LISTED, value=number(listed), source=listed.origin)
        line = self.lines.get(length.id)
        if line is None or not any(place.minimum_v for place in line.basis.places):
            return
        ohm = self._largest(line)
        if ohm is not None:
            yield Bound(name=NAME, value=ohm, source=_source(line))

    def _largest(self, line: DcLine) -> float | None:
        basis = line.basis
        if len(basis.places) > 1 or basis.return_m:
            return _largest_ohm(basis, self.project.rules)
        place = basis.places[0]
        # A single device's loop hangs on no length: thousands of equal drops share one answer.
        key = (
            basis.what,
            basis.source_v,
            basis.source_ohm,
            place.minimum_v,
            place.current_a,
            place.power_w,
            place.device.inrush_a,
        )
        if key not in self._single:
            self._single[key] = _largest_ohm(basis, self.project.rules)
        return self._single[key]


def _largest_ohm(basis: Line, rules: Rules) -> float | None:
    """Return the largest loop [ohm], or None where no loop makes a difference.

    Method: a formula where one device draws a constant current, or the planned line doesn't work
    itself; else doubling and halving of what may be added to the planned loop.
    """
    more = None if basis.how == BY_CURRENT else _most_ohm(lambda ohm: _works(basis, rules, ohm))
    if more is not None:
        planned = PAIR_LOOP(length_m=basis.length.expected_m, ohm_per_m=basis.conductor.ohm_per_m)
        return None if more > _MOST_OHM else planned + more
    ohm_per_m = basis.conductor.ohm_per_m
    least_v = max(place.minimum_v for place in basis.places)
    longest = longest_m(
        source_v=basis.source_v,
        minimum_v=least_v,
        total_a=_most_a(basis.places),
        ohm_per_m=ohm_per_m,
        source_ohm=basis.source_ohm,
    )
    return PAIR_LOOP(length_m=longest, ohm_per_m=ohm_per_m) if 0.0 < longest < math.inf else None


def _most_a(places: Sequence[AtPlace]) -> float:
    """Return the largest current [A] of a line's devices together, at rest or at inrush."""
    steady = math.fsum(place.each.amps * place.quantity for place in places)
    return max(steady, math.fsum((p.device.inrush_a or p.each.amps) * p.quantity for p in places))


def _works(basis: Line, rules: Rules, more_ohm: float) -> bool:
    weaker = replace(basis, sag=replace(basis.sag, value=basis.source_ohm + more_ohm))
    if basis.what != NAC:
        weaker = replace(weaker, most_drop=replace(weaker.most_drop, value=_WHOLE))
    return solve_line(weaker, rules).word == WORKS


def _most_ohm(works: Callable[[float], bool]) -> float | None:
    """Return how much may be added [ohm], over `_MOST_OHM` where nothing is too much; None where it fails as it is."""
    if not works(0.0):
        return None
    low, high = 0.0, 1.0
    while works(high):
        low, high = high, 2 * high
        if high > _MOST_OHM:
            return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if works(middle) else (low, middle)
    return low


def _source(line: DcLine) -> str:
    basis = line.basis
    most = max(line.total_a, _most_a(basis.places))
    least = max(basis.places, key=lambda place: place.minimum_v)
    start, low = f"{basis.source_v:g} V ({basis.source.origin})", f"{least.minimum_v:g} V ({least.minimum_origin})"
    return f"{start} at the start, at least {low} at the device, {most:.3g} A in all"
