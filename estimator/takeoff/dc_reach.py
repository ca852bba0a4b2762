"""How far a direct-current line reaches on its wire, and the thinnest gauge with which it works.

Volts hang on the product of a conductor's resistance with the length, so that the largest resistance
with which a line works tells both. A line of one device has it by a formula; one of several is worked
out again as the estimate does, its distances in proportion, by whatever decides it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from estimator.calc.dc_circuit import greatest_loop_ohm, largest_ohm_per_m, longest_run_m, smallest_gauge
from estimator.spec.model import Project
from estimator.spec.rules import Rules
from estimator.takeoff.dc_lines import LADDER, NOWHERE, WORKS, Basis, DcLine, Reach, solve_line
from estimator.takeoff.footage import shown_length
from estimator.units.rounding import over, round_down
from estimator.units.table import FOOT_M


def with_reach(line: DcLine, rules: Rules, stocked: Mapping[int, float]) -> DcLine:
    """Return a line with its reach; ``stocked`` [ohm/m] is its conductor in each stocked gauge."""
    return replace(line, reach=reach_of(line, rules, stocked))


def reach_of(line: DcLine, rules: Rules, stocked: Mapping[int, float]) -> Reach:
    """Return how far a line reaches and the thinnest gauge with which it works.

    Method: a formula for a single device, else doubling and halving of the conductor's resistance.
    """
    basis = line.basis
    largest = _searched(basis, rules) if basis.how == LADDER else _single(basis)
    if largest is None or basis.wire_m == 0.0:
        return NOWHERE if largest is None else replace(NOWHERE, largest_ohm_per_m=largest)
    longest = None
    if 0.0 < largest < math.inf:
        longest = longest_run_m(length_m=basis.wire_m, ohm_per_m=basis.conductor.ohm_per_m, largest_ohm_per_m=largest)
    return Reach(
        largest_ohm_per_m=largest,
        longest_m=longest,
        awg=smallest_gauge(ohm_per_m=stocked, works=lambda ohm: not over(ohm, largest)),
    )


def shown_reach(length_m: float, project: Project) -> str:
    """Return a longest length in the project's unit, its decimals cut: what is printed works."""
    unit_m = 1.0 if project.header.lengths_in == "m" else FOOT_M
    return shown_length(round_down(length_m / unit_m * 10) / 10 * unit_m, project)


def _searched(basis: Basis, rules: Rules) -> float | None:
    def works(ohm_per_m: float) -> bool:
        wire = replace(basis.conductor, ohm_per_m=ohm_per_m)
        return solve_line(replace(basis, conductor=wire), rules).word == WORKS

    return largest_ohm_per_m(works=works, start_ohm_per_m=basis.conductor.ohm_per_m)


def _single(basis: Basis) -> float | None:
    """Return the largest resistance for a single device: by its minimum, the percent limit and its inrush."""
    place, source_v = basis.places[0], basis.source_v
    allowed_v = max(place.minimum_v, source_v * (1.0 - basis.drop_limit))
    loops = [
        greatest_loop_ohm(
            source_v=source_v,
            minimum_v=allowed_v,
            current_a=place.current_a,
            power_w=place.power_w,
            source_ohm=basis.source_ohm,
        )
    ]
    if place.device.inrush_a:
        surge_a = place.device.inrush_a * place.quantity
        loops.append(
            greatest_loop_ohm(
                source_v=source_v, minimum_v=place.minimum_v, current_a=surge_a, source_ohm=basis.source_ohm
            )
        )
    least = min(loops)
    if least <= 0.0:
        return None
    return math.inf if basis.wire_m == 0.0 else least / (2.0 * basis.wire_m)
