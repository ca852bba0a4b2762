"""Ladders against exact fractions, a grid solver and a root finder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from power_grid_model import (
    ComponentType,
    LoadGenType,
    PowerGridModel,
    initialize_array,
)
from scipy.optimize import brentq

from estimator.calc.ladder import Load, Place, solve
from tests.calc.refusals import Refused

SOURCE_V = 24.0


def grid_volts(branches: Sequence[Sequence[Load]]) -> list[list[float]]:
    """Solve the same circuit with a grid solver: line-to-line volts stand for the DC volts."""
    loads = [load for branch in branches for load in branch]
    count = len(loads)
    node = initialize_array("input", ComponentType.node, count + 1)
    node["id"], node["u_rated"] = np.arange(count + 1), SOURCE_V
    line = initialize_array("input", ComponentType.line, count)
    line["id"], line["to_node"] = np.arange(count) + 1000, np.arange(count) + 1
    starts = [0 if place == 0 else None for branch in branches for place in range(len(branch))]
    line["from_node"] = [i if start is None else start for i, start in enumerate(starts)]
    line["from_status"] = line["to_status"] = 1
    line["r1"], line["x1"] = [load.loop_ohm for load in loads], 0.0
    line["c1"] = line["tan1"] = 0.0
    drawn = initialize_array("input", ComponentType.sym_load, 3 * count)
    drawn["id"], drawn["node"] = np.arange(3 * count) + 2000, np.tile(np.arange(count) + 1, 3)
    drawn["status"], drawn["q_specified"] = 1, 0.0
    kinds = (LoadGenType.const_power, LoadGenType.const_current, LoadGenType.const_impedance)
    drawn["type"] = np.repeat(kinds, count)
    drawn["p_specified"] = [
        *(load.power_w for load in loads),
        *(load.current_a * SOURCE_V for load in loads),
        *(load.conductance_s * SOURCE_V**2 for load in loads),
    ]
    source = initialize_array("input", ComponentType.source, 1)
    source["id"], source["node"], source["status"], source["u_ref"], source["sk"] = 9000, 0, 1, 1.0, 1e25
    model = PowerGridModel({"node": node, "line": line, "sym_load": drawn, "source": source})
    solved = model.calculate_power_flow(symmetric=True, error_tolerance=1e-12, max_iterations=100)
    volts = [float(v) for v in solved["node"]["u"][1:]]
    split: list[list[float]] = []
    for branch in branches:
        split.append(volts[: len(branch)])
        volts = volts[len(branch) :]
    return split


LOADS = st.builds(
    Load,
    loop_ohm=st.floats(0.01, 0.6),
    current_a=st.floats(0, 0.3),
    power_w=st.floats(0, 2.5),
    conductance_s=st.floats(0, 0.01),
)


@settings(max_examples=30, deadline=None)
@given(branches=st.lists(st.lists(LOADS, min_size=1, max_size=6), min_size=1, max_size=2))
def test_ladder_agrees_with_a_grid_solver(branches: list[list[Load]]) -> None:
    """Constant current, power and impedance in one circuit come out as a grid solver has them."""
    solution = solve(source_v=SOURCE_V, branches=branches)

    assert solution is not None
    for places, volts in zip(solution, grid_volts(branches), strict=True):
        assert [place.volts for place in places] == pytest.approx(volts, rel=1e-8)


@given(
    taps=st.lists(
        st.tuples(st.integers(0, 900), st.integers(0, 900)).map(
            lambda pair: (Fraction(pair[0], 1000), Fraction(pair[1], 1000))
        ),
        min_size=1,
        max_size=12,
    )
)
def test_constant_currents_are_exact(taps: list[tuple[Fraction, Fraction]]) -> None:
    """A ladder of constant currents equals the sum in exact fractions."""
    loads = [Load(loop_ohm=float(ohm), current_a=float(amperes)) for ohm, amperes in taps]
    solution = solve(source_v=SOURCE_V, branches=[loads])

    volts = Fraction(SOURCE_V)
    assert solution is not None
    for index, (ohm, _) in enumerate(taps):
        volts -= ohm * sum(amperes for _, amperes in taps[index:])
        assert solution[0][index].volts == pytest.approx(float(volts), abs=1e-11)


@given(share=st.floats(0.01, 0.995), sag=st.floats(0.0, 2.0))
def test_single_power_load_agrees_with_a_root_finder(share: float, sag: float) -> None:
    """One constant-power load behind a sagging source lands on the upper root."""
    power_w = share * SOURCE_V**2 / (4 * (3.0 + sag))
    solution = solve(source_v=SOURCE_V, branches=[[Load(loop_ohm=3.0, power_w=power_w)]], source_ohm=sag)

    root = brentq(lambda v: v + (3.0 + sag) * power_w / v - SOURCE_V, SOURCE_V / 2, SOURCE_V, xtol=1e-13)
    assert solution is not None
    assert solution[0][0].volts == pytest.approx(root, rel=1e-9)


def test_largest_load_is_fed_and_more_is_not() -> None:
    """V²/4R is the last load with a solution (circuit theory): 24 V and 3 ohm carry 48 W."""
    fed = solve(source_v=24, branches=[[Load(loop_ohm=3, power_w=48)]])

    assert fed is not None
    # At the edge the volts hang on the square root of the last digit, so six digits are kept.
    assert fed[0][0].volts == pytest.approx(12, rel=1e-6)
    assert solve(source_v=24, branches=[[Load(loop_ohm=3, power_w=48.01)]]) is None
    assert solve(source_v=24, branches=[[Load(loop_ohm=3, power_w=5000)]]) is None


def test_two_devices_at_one_place_share_their_volts() -> None:
    """A wire of no length is allowed."""
    solution = solve(source_v=24, branches=[[Load(loop_ohm=1, power_w=5), Load(loop_ohm=0, current_a=0.2)]])

    assert solution is not None
    assert solution[0][0].volts == solution[0][1].volts
    assert solution[0][0].wire_a == pytest.approx(solution[0][0].load_a + 0.2)


def test_empty_branch_is_no_load() -> None:
    """A branch without a load draws nothing."""
    assert solve(source_v=24, branches=[[], []], source_ohm=1) == ((), ())


def test_conductance_draws_what_its_volts_drive() -> None:
    """24 V over 2 ohm of wire and 2 ohm of load: 12 V and 6 A (Ohm's law)."""
    solution = solve(source_v=24, branches=[[Load(loop_ohm=2, conductance_s=0.5)]])

    assert solution is not None
    assert solution[0][0] == Place(volts=12.0, load_a=6.0, wire_a=6.0)


def test_all_volts_may_be_lost_on_the_way() -> None:
    """A constant current of 1 A over 24 ohm leaves nothing of 24 V, and is still that current."""
    solution = solve(source_v=24, branches=[[Load(loop_ohm=24, current_a=1)]])

    assert solution is not None
    assert solution[0][0] == Place(volts=0.0, load_a=1.0, wire_a=1.0)


def test_half_a_milliwatt_is_a_load() -> None:
    """0.0005 W at 1 V, next to no wire: half a milliampere."""
    solution = solve(source_v=1, branches=[[Load(loop_ohm=0, power_w=0.0005)]])

    assert solution is not None
    assert solution[0][0].load_a == pytest.approx(0.0005, rel=1e-12)


def test_device_that_never_moves_does_not_end_the_search() -> None:
    """At the source's terminals nothing changes; the other branch is 18 V, root of v² - 24 v + 108 = 0."""
    solution = solve(source_v=24, branches=[[Load(loop_ohm=0, current_a=0.1)], [Load(loop_ohm=3, power_w=36)]])

    assert solution is not None
    assert solution[1][0].volts == pytest.approx(18, rel=1e-12)


def test_edge_of_what_can_be_fed_behind_a_sagging_source() -> None:
    """Sag counts like wire: 1 and 2 ohm carry 48 W at 12 V, with an empty branch beside it."""
    load = Load(loop_ohm=2, power_w=48)
    fed = solve(source_v=24, branches=[[load], []], source_ohm=1)

    assert fed is not None
    # At the edge the volts hang on the square root of the last digit, so six digits are kept.
    assert fed[0][0].volts == pytest.approx(12, rel=1e-6)
    assert solve(source_v=24, branches=[[load], []], source_ohm=1.01) is None


def test_every_branch_sags_the_source() -> None:
    """By hand: 1 A and 2 A behind 0.5 ohm leave 22.5 V; 1 ohm to the one and 0.25 ohm to the other."""
    branches = [[Load(loop_ohm=1, current_a=1)], [Load(loop_ohm=0.25, current_a=2)]]
    solution = solve(source_v=24, branches=branches, source_ohm=0.5)

    assert solution is not None
    assert [branch[0].volts for branch in solution] == [21.5, 22.0]


def test_conductances_of_every_branch_sag_the_source() -> None:
    """Ohm's law: 2 ohm and 3 ohm of load at the terminals are 1.2 ohm, which share 24 V with 1.2 ohm of sag."""
    branches = [[Load(loop_ohm=0, conductance_s=1 / 2)], [Load(loop_ohm=0, conductance_s=1 / 3)]]
    solution = solve(source_v=24, branches=branches, source_ohm=1.2)

    assert solution is not None
    assert [branch[0].volts for branch in solution] == pytest.approx([12, 12], rel=1e-12)


@pytest.mark.parametrize("name", ["loop_ohm", "current_a", "power_w", "conductance_s"])
def test_load_that_cannot_be_is_refused(name: str) -> None:
    """Each quantity of a load is named with its value, wherever it stands."""
    wrong = replace(Load(loop_ohm=1), **{name: -0.5})
    with pytest.raises(ValueError, match=f"{name} must not be below zero, not -0.5"):
        solve(source_v=24, branches=[[Load(loop_ohm=1)], [Load(loop_ohm=1), wrong]])


REFUSED = [
    Refused(
        possible=partial(solve, source_v=24, branches=[[Load(loop_ohm=1, current_a=1)] * 2]),
        above_zero="source_v",
        zero_or_more="source_ohm",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
