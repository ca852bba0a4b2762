"""Cut plans hold every run in one piece, and come close to the proven optimum."""

from __future__ import annotations

import math
import random
import time
from functools import partial

import numpy
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from estimator.calc.cutting import (
    CUT_TO_ORDER,
    ORDER_BOXES,
    ORDERED_LENGTH,
    PIECE,
    CutPlan,
    cut_plan,
    cut_to_order,
    footage_boxes,
)
from tests.calc.refusals import Refused
from tests.published import Check

FT = 0.3048
HARD = [510.0] * 6 + [270.0] * 6 + [260.0] * 6 + [230.0] * 12

CHECKS = [
    # Source: packing problem with a known optimum, agreed by several solvers; tight to the last foot.
    Check(
        discipline="cutting",
        what="boxes for thirty cuts that fill nine boxes to the end",
        source="known optimum of a packing problem, several solvers agree; computed",
        expected=9,
        tolerance=0,
        obtained=lambda: cut_plan(HARD, put_up_m=1000, cut_to_m=1).new_boxes,
    ),
    # Source: trade practice (memory): whole runs a box, floor(305 / 50) = 6, give 9 boxes for 50 drops of 50 m.
    Check(
        discipline="cutting",
        what="boxes for fifty drops of 50 m from 305 m boxes",
        source="trade practice of whole runs a box, floor of the box over the average run; memory",
        expected=9,
        tolerance=0,
        obtained=lambda: cut_plan([50.0] * 50, put_up_m=305, cut_to_m=0.1).new_boxes,
    ),
    # Source: contractor cost book: 5 % waste. 9,500 ft and 5 % are 9,975 ft: ten boxes of 1,000 ft.
    Check(
        discipline="cutting",
        what="boxes by footage for 9,500 ft with 5 % waste",
        source="contractor cost book, 5 % normal cable waste, on a footage of our own; computed",
        expected=10,
        tolerance=0,
        obtained=lambda: footage_boxes(length_m=9500 * FT, waste=0.05, put_up_m=1000 * FT),
    ),
    # Source: definition of the foot: a 1,000 ft box holds 304.8 m, so five boxes hold 1,524 m.
    Check(
        discipline="cutting",
        what="length in five 1,000 ft boxes [m]",
        source="definition of the foot; computed",
        expected=1524,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: ORDERED_LENGTH(boxes=5, put_up=1000 * FT),
    ),
    # Source: planning handbook of 1996 and trade usage (confirmed): a 1,000 ft pull box is printed as 305 m.
    Check(
        discipline="cutting",
        what="length in a 1,000 ft box, to the meter [m]",
        source="telecommunications planning handbook, packaging of four-pair cable; confirmed",
        expected=305,
        tolerance=0.5,
        obtained=lambda: ORDERED_LENGTH(boxes=1, put_up=1000 * FT),
        look_up=True,  # a change of units only
    ),
    # Source: a run of 165.2 ft is cut as 166 ft.
    Check(
        discipline="cutting",
        what="piece for a run of 165.2 ft [ft]",
        source="rounding up to the cutting step; computed",
        expected=166,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: PIECE(length=165.2 * FT, cut_to=FT) / FT,
    ),
    # Source: rounding up run by run: 100.2 and 200.5 ft with 5 % are 105.21 and 210.525, ordered as 106 and 211 ft.
    Check(
        discipline="cutting",
        what="two fiber runs cut to order with 5 % [ft]",
        source="rounding up to the cutting step; computed",
        expected=317,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: sum(cut_to_order([100.2 * FT, 200.5 * FT], cut_to_m=FT, waste=0.05).box_m) / FT,
    ),
    # Source: 412 ft of fiber and 3 % are 424.36 ft: 425 ft cut to order.
    Check(
        discipline="cutting",
        what="fiber cut to order for 412 ft with 3 % [ft]",
        source="rounding up to the cutting step; computed",
        expected=425,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: CUT_TO_ORDER(length=412 * FT, waste=0.03, cut_to=FT) / FT,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


def assert_sound(plan: CutPlan, lengths: list[float], cut_to: float) -> None:
    """Every run is one piece of a box, and no box gives more than it held."""
    taken = [0.0] * len(plan.box_m)
    for length, piece, box in zip(lengths, plan.piece_m, plan.box_of, strict=True):
        assert length - 1e-9 <= piece < length + cut_to + 1e-9
        if box is not None:
            taken[box] += piece
    for used, held, left in zip(taken, plan.box_m, plan.left_m, strict=True):
        assert left >= 0
        assert held - cut_to - 1e-6 < used + left <= held + 1e-6
    assert plan.new_boxes >= plan.least_boxes


def fewest_boxes(lengths: list[int], put_up: int, most: int) -> int:
    """The proven optimum, by mixed-integer programming."""
    runs = len(lengths)
    size = runs * most + most  # which run lies in which box, then which box is opened
    rows, low, high = [], [], []
    for run in range(runs):
        row = numpy.zeros(size)
        row[run * most : (run + 1) * most] = 1
        rows.append(row)
        low.append(1.0)
        high.append(1.0)
    for box in range(most):
        row = numpy.zeros(size)
        row[[run * most + box for run in range(runs)]] = lengths
        row[runs * most + box] = -put_up
        rows.append(row)
        low.append(-numpy.inf)
        high.append(0.0)
    cost = numpy.zeros(size)
    cost[runs * most :] = 1
    bounds = Bounds(numpy.zeros(size), numpy.ones(size))
    found = milp(
        cost,
        constraints=LinearConstraint(numpy.array(rows), low, high),
        bounds=bounds,
        integrality=numpy.ones(size),
        options={"time_limit": 20},
    )
    assert found.status == 0
    return round(found.fun)


@pytest.mark.parametrize("case", range(12))
def test_small_plans_reach_the_proven_optimum(case: int) -> None:
    chance = random.Random(case)
    lengths = [float(chance.randint(90, 520)) for _ in range(12)]

    plan = cut_plan(lengths, put_up_m=1000, cut_to_m=1)

    assert_sound(plan, lengths, 1)
    assert plan.new_boxes == fewest_boxes([int(m) for m in lengths], 1000, plan.new_boxes)


def test_the_hard_plan_is_proven_by_its_length() -> None:
    plan = cut_plan(HARD, put_up_m=1000, cut_to_m=1)

    assert_sound(plan, HARD, 1)
    assert (plan.new_boxes, plan.least_boxes) == (9, 9)
    assert set(plan.left_m) == {0.0}


def test_partial_boxes_are_used_before_a_new_one_is_opened() -> None:
    plan = cut_plan([100, 200, 50], put_up_m=1000, cut_to_m=1, on_hand_m=[210, 150])

    assert plan.box_of == (1, 0, 1)
    assert plan.left_m == (10.0, 0.0)
    assert (plan.on_hand, plan.new_boxes) == (2, 0)
    assert plan.runs_of(1) == (0, 2)


def test_a_run_exactly_as_long_as_the_box_fits() -> None:
    plan = cut_plan([304.8], put_up_m=304.8, cut_to_m=FT)

    assert (plan.new_boxes, plan.too_long, plan.left_m) == (1, (), (0.0,))


def test_a_run_longer_than_a_box_is_reported() -> None:
    plan = cut_plan([100.0, 304.9, 50.0], put_up_m=304.8, cut_to_m=FT)

    assert plan.too_long == (1,)
    assert plan.box_of == (0, None, 0)
    assert plan.new_boxes == 1


def test_a_long_run_comes_out_of_a_longer_partial_reel() -> None:
    plan = cut_plan([500.0, 500.0], put_up_m=304.8, cut_to_m=0.1, on_hand_m=[610.0])

    assert plan.too_long == (1,)
    assert plan.new_boxes == 0


@pytest.mark.parametrize(("length_ft", "piece_ft"), [(100.0, 100), (100.0000000001, 100), (100.001, 101), (0.0, 0)])
def test_pieces_are_rounded_up_but_not_by_float_noise(length_ft: float, piece_ft: int) -> None:
    plan = cut_plan([length_ft * FT], put_up_m=304.8, cut_to_m=FT)

    assert plan.piece_m[0] == pytest.approx(piece_ft * FT, abs=1e-9)
    assert plan.piece_m[0] == pytest.approx(PIECE(length=length_ft * FT, cut_to=FT), abs=1e-9)


def test_a_metric_box_gives_whole_feet_only() -> None:
    plan = cut_plan([1000 * FT], put_up_m=305.0, cut_to_m=FT)

    assert (plan.new_boxes, plan.left_m, plan.box_m) == (1, (0.0,), (305.0,))


def test_a_bundle_comes_from_different_boxes() -> None:
    lengths = [100.0] * 6
    plan = cut_plan(lengths, put_up_m=1000, cut_to_m=1, pulls=["A"] * 4 + ["B"] * 2, at_once=4)

    assert sorted(plan.box_of[:4]) == [0, 1, 2, 3]
    assert plan.box_of[4] != plan.box_of[5]
    assert plan.new_boxes == 4
    assert cut_plan(lengths, put_up_m=1000, cut_to_m=1).new_boxes == 1


def test_pulls_are_served_in_the_order_in_which_they_appear() -> None:
    plan = cut_plan([600, 700, 300, 400], put_up_m=1000, cut_to_m=1, pulls=["B", "A", "A", "B"])

    assert plan.box_of == (0, 1, 1, 0)


def test_no_runs_need_no_boxes() -> None:
    plan = cut_plan([], put_up_m=1000, cut_to_m=1)

    assert (plan.new_boxes, plan.least_boxes, plan.box_of) == (0, 0, ())


REFUSED = [
    Refused(
        possible=partial(cut_plan, lengths_m=[10.0], put_up_m=304.8, cut_to_m=FT),
        above_zero="put_up_m cut_to_m at_once",
        wrong=(("lengths_m", [10.0, -1.0]), ("lengths_m", [math.inf]), ("on_hand_m", [5.0, math.nan])),
    ),
    Refused(
        possible=partial(cut_to_order, lengths_m=[10.0], cut_to_m=FT, waste=0.05),
        above_zero="cut_to_m",
        zero_or_more="waste",
        wrong=(("lengths_m", [10.0, -1.0]), ("on_hand_m", [5.0, math.nan])),
    ),
    Refused(
        possible=partial(footage_boxes, length_m=100.0, waste=0.05, put_up_m=304.8),
        above_zero="put_up_m",
        zero_or_more="length_m waste on_hand_m",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_can_not_be_cut_is_refused(refused: Refused) -> None:
    refused.hold()


def test_each_run_has_a_pull_where_pulls_are_named() -> None:
    with pytest.raises(ValueError, match="2 pulls are named for 1 runs"):
        cut_plan([10.0], put_up_m=304.8, cut_to_m=FT, pulls=["A", "B"])


@pytest.mark.parametrize("at_once", [1, 3, 24])
@pytest.mark.parametrize("case", range(4))
def test_plans_of_many_pulls_are_sound(case: int, at_once: int) -> None:
    chance = random.Random(case)
    lengths = [chance.uniform(0, 110) for _ in range(300)]
    pulls = [f"P{chance.randrange(20)}" for _ in lengths]
    plan = cut_plan(lengths, put_up_m=304.8, cut_to_m=FT, on_hand_m=[12.3, 99.9], pulls=pulls, at_once=at_once)

    assert_sound(plan, lengths, FT)
    assert plan.too_long == ()
    for pull in set(pulls):
        runs = sorted((-plan.piece_m[i], i) for i, name in enumerate(pulls) if name == pull)
        for at in range(0, len(runs), at_once):
            boxes = [plan.box_of[run] for _, run in runs[at : at + at_once]]
            assert at_once == 1 or len(set(boxes)) == len(boxes)


def test_ten_thousand_runs_are_planned_in_a_blink() -> None:
    chance = random.Random(0)
    lengths = [chance.uniform(12, 90) for _ in range(10_000)]

    began = time.perf_counter()
    plan = cut_plan(lengths, put_up_m=304.8, cut_to_m=FT)
    took = time.perf_counter() - began

    assert_sound(plan, lengths, FT)
    assert plan.new_boxes <= 1.01 * plan.least_boxes
    assert took < 1.0  # about 0.04 s on an idle machine; the limit leaves room for a busy one


def test_the_order_is_the_larger_of_both_methods() -> None:
    assert ORDER_BOXES(by_plan=9, by_footage=10) == 10
    assert ORDER_BOXES(by_plan=11, by_footage=10) == 11


@pytest.mark.parametrize(
    ("length_ft", "on_hand_ft", "boxes"),
    [(0, 0, 0), (1000, 0, 1), (1000.01, 0, 2), (1500, 500, 1), (400, 500, 0)],
)
def test_footage_counts_whole_boxes_beyond_those_on_hand(length_ft: float, on_hand_ft: float, boxes: int) -> None:
    assert footage_boxes(length_m=length_ft * FT, waste=0, put_up_m=304.8, on_hand_m=on_hand_ft * FT) == boxes


@pytest.mark.parametrize(("average_m", "boxes"), [(160, 7), (152.4, 4), (101.6, 3), (50, 2)])
def test_runs_of_one_length_are_whole_runs_a_box(average_m: float, boxes: int) -> None:
    """Over half a box long, every run takes a box of its own."""
    assert cut_plan([average_m] * 7, put_up_m=304.8, cut_to_m=0.1).new_boxes == boxes


def test_waste_is_added_to_the_footage() -> None:
    """1,000 ft and 5 % don't come out of one box of 1,000 ft (computed)."""
    assert footage_boxes(length_m=1000 * FT, waste=0.05, put_up_m=304.8) == 2


def test_smallest_partial_box_that_gives_the_run_is_taken() -> None:
    """Whatever the order in which the boxes were typed."""
    plan = cut_plan([40, 140], put_up_m=1000, cut_to_m=1, on_hand_m=[300, 50, 150])

    assert plan.box_of == (1, 2)
    assert (plan.new_boxes, plan.least_boxes) == (0, 0)


def test_a_run_too_long_leaves_the_rest_of_its_bundle() -> None:
    """The longest is tried first; the other two still come from boxes of their own."""
    plan = cut_plan([400, 100, 90], put_up_m=300, cut_to_m=1, at_once=3)

    assert plan.box_of == (None, 0, 1)
    assert plan.too_long == (0,)


def test_runs_of_one_length_are_cut_in_the_order_they_were_handed_in() -> None:
    """Box by box too: the crew finds drop 1 on box 1."""
    plan = cut_plan(HARD, put_up_m=1000, cut_to_m=1)

    for length in set(HARD):
        boxes = [box for run, box in zip(HARD, plan.box_of, strict=True) if run == length and box is not None]
        assert boxes == sorted(boxes)


# The length alone asks for three boxes, so that no plan can do with fewer (computed).
@pytest.mark.parametrize(
    ("lengths", "on_hand", "pulls"),
    [
        ([9, 2, 10, 6, 4, 5], 7, None),  # 2 + 5 fill the partial box; longest first puts 6 into it
        ([3, 10, 2, 8, 6, 10], 9, ["B", "A", "A", "B", "B", "B"]),  # pull B ends with a run of a whole box
    ],
)
def test_boxes_are_filled_where_that_saves_one(lengths: list[float], on_hand: float, pulls: list[str] | None) -> None:
    """Partial boxes are filled too, and a run of a whole box gets its own."""
    plan = cut_plan(lengths, put_up_m=10, cut_to_m=1, on_hand_m=[on_hand], pulls=pulls)

    assert_sound(plan, lengths, 1)
    assert (plan.new_boxes, plan.least_boxes, plan.too_long) == (3, 3, ())


def test_a_put_up_shorter_than_a_cutting_step_gives_nothing() -> None:
    plan = cut_plan([10], put_up_m=0.5, cut_to_m=1)

    assert (plan.new_boxes, plan.least_boxes, plan.too_long) == (0, 0, (0,))


def test_length_bound_counts_full_boxes_and_what_is_on_hand() -> None:
    """A run of a whole box is one box; what partial boxes hold is never less than none."""
    assert cut_plan([300, 300], put_up_m=300, cut_to_m=1).least_boxes == 2
    assert cut_plan([300, 300], put_up_m=300, cut_to_m=1, on_hand_m=[300]).least_boxes == 1
    assert cut_plan([10], put_up_m=300, cut_to_m=1, on_hand_m=[300, 300]).least_boxes == 0


def test_a_run_cut_to_order_has_a_reel_of_its_own() -> None:
    plan = cut_to_order([100.0, 40.0, 60.0], cut_to_m=1, waste=0.10, on_hand_m=[65.0])

    assert plan.box_of == (1, 2, 0)
    assert plan.box_m == pytest.approx((65, 110, 44))
    assert plan.left_m == pytest.approx((5, 10, 4))
    assert (plan.on_hand, plan.new_boxes, plan.least_boxes, plan.too_long) == (1, 2, 2, ())
