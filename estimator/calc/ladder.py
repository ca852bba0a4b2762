"""Direct-current ladders: one source, and branches of loads one behind the other.

Constant currents and fixed conductances are solved exactly by one elimination from the far end.
Constant-power loads are linearized at the volts found so far and the elimination is repeated
(Newton's method). Started at the source's volts it comes down onto the highest solution, which
is the one a circuit that is switched on settles at.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import not_negative, positive

_ROUNDS: Final = 200
_SETTLED: Final = 1e-13  # of the source's volts
_SINGULAR: Final = 1e-12


@dataclass(frozen=True, kw_only=True, slots=True)
class Load:
    """A load and the wire that leads to it from the place before."""

    loop_ohm: float  # both conductors of that wire, and whatever stands in series with it
    current_a: float = 0.0
    power_w: float = 0.0
    conductance_s: float = 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """The electrical state at one load."""

    volts: float
    load_a: float
    wire_a: float  # in the wire that leads to it


Branch = Sequence[Load]
Solution = tuple[tuple[Place, ...], ...]
_Volts = list[list[float]]
_Row = tuple[float, float, float]


def solve(*, source_v: float, branches: Sequence[Branch], source_ohm: float = 0.0) -> Solution | None:
    """Return the state at each load of each branch, or None where the loads cannot be fed.

    ``source_ohm`` is the sag of the source in volts per ampere. Method: elimination from the
    far end, repeated with constant-power loads linearized (Newton).
    Source: circuit theory, Kirchhoff's laws.
    Raises: ValueError if volts, resistance, current, watts or conductance are impossible.

    >>> ((near, far),) = solve(source_v=24, branches=[[Load(loop_ohm=1, current_a=1)] * 2])
    >>> near.volts, far.volts
    (22.0, 21.0)
    """
    positive(source_v=source_v)
    not_negative(source_ohm=source_ohm)
    for load in (one for branch in branches for one in branch):
        not_negative(
            loop_ohm=load.loop_ohm,
            current_a=load.current_a,
            power_w=load.power_w,
            conductance_s=load.conductance_s,
        )
    volts = [[source_v] * len(branch) for branch in branches]
    powered = any(load.power_w > 0.0 for branch in branches for load in branch)
    for _ in range(_ROUNDS):
        found = _eliminated(source_v, source_ohm, branches, volts)
        if found is None or (powered and any(v <= 0.0 for at in found for v in at)):
            break
        moved_v, volts = _moved(found, volts), found
        if not powered or moved_v <= _SETTLED * source_v:
            return _places(branches, volts)
    # At the very edge of what can be fed, the elimination becomes singular on the solution itself.
    return _places(branches, volts) if _balanced(source_v, source_ohm, branches, volts) else None


def _moved(found: _Volts, before: _Volts) -> float:
    pairs = (zip(new, old, strict=True) for new, old in zip(found, before, strict=True))
    return max((abs(new - old) for branch in pairs for new, old in branch), default=0.0)


def _eliminated(source_v: float, source_ohm: float, branches: Sequence[Branch], volts: _Volts) -> _Volts | None:
    eliminated: list[list[_Row]] = []
    drawn_a = drawn_s = 0.0
    for branch, at in zip(branches, volts, strict=True):
        rows = _branch_rows(branch, at)
        if rows is None:
            return None
        eliminated.append(rows)
        if rows:
            first_a, first_s, share = rows[0]
            drawn_a += first_a / share
            drawn_s += first_s / share
    share = 1.0 + source_ohm * drawn_s
    if share <= _SINGULAR:
        return None
    start_v = (source_v - source_ohm * drawn_a) / share
    return [_walked(start_v, branch, rows) for branch, rows in zip(branches, eliminated, strict=True)]


def _branch_rows(branch: Branch, at: Sequence[float]) -> list[_Row] | None:
    """Return, for each load, what flows to it and beyond as ``a + s * volts``, and the divider."""
    rows: list[_Row] = []
    beyond_a = beyond_s = 0.0
    for load, volts in zip(reversed(branch), reversed(at), strict=True):
        flow_a = load.current_a + 2.0 * load.power_w / volts + beyond_a
        flow_s = load.conductance_s - load.power_w / volts**2 + beyond_s
        share = 1.0 + load.loop_ohm * flow_s
        if share <= _SINGULAR:
            return None
        rows.append((flow_a, flow_s, share))
        beyond_a, beyond_s = flow_a / share, flow_s / share
    rows.reverse()
    return rows


def _walked(start_v: float, branch: Branch, rows: Sequence[_Row]) -> list[float]:
    walked: list[float] = []
    before = start_v
    for load, (flow_a, _, share) in zip(branch, rows, strict=True):
        before = (before - load.loop_ohm * flow_a) / share
        walked.append(before)
    return walked


def _drawn(load: Load, volts: float) -> float:
    power_a = load.power_w / volts if load.power_w > 0.0 else 0.0
    return load.current_a + power_a + load.conductance_s * volts


def _places(branches: Sequence[Branch], volts: _Volts) -> Solution:
    solution: list[tuple[Place, ...]] = []
    for branch, at in zip(branches, volts, strict=True):
        wire_a = 0.0
        places: list[Place] = []
        for load, here in zip(reversed(branch), reversed(at), strict=True):
            load_a = _drawn(load, here)
            wire_a += load_a
            places.append(Place(volts=here, load_a=load_a, wire_a=wire_a))
        solution.append(tuple(reversed(places)))
    return tuple(solution)


def _balanced(source_v: float, source_ohm: float, branches: Sequence[Branch], volts: _Volts) -> bool:
    """Return whether volts and currents fit each other, for loads at the very edge of what can be fed."""
    places = _places(branches, volts)
    start_v = source_v - source_ohm * math.fsum(one[0].wire_a for one in places if one)
    for branch, at in zip(branches, places, strict=True):
        before = start_v
        for load, place in zip(branch, at, strict=True):
            if abs(before - load.loop_ohm * place.wire_a - place.volts) > _SINGULAR * source_v:
                return False
            before = place.volts
    return True
