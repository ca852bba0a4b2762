"""Cut plans against optima that an independent solver proves, and large ones against whole runs a box.

``python -m tests.bench.cuts`` prints the same cases one by one.
"""

from __future__ import annotations

import random
from functools import cache, partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.cut_bounds import least_new_boxes
from estimator.calc.cutting import CutPlan, cut_plan
from tests.calc.optimum import CASES, PUT_UP_FT, Optimum, drawn_case, fewest_boxes, tight_case
from tests.calc.refusals import Refused

LEAST_EQUAL = 0.97  # of the proven cases
MOST_OVER = 0.005  # of the bound, for ten thousand runs

REFUSED = [
    Refused(
        possible=partial(least_new_boxes, needs=[9, 6], put_up=10, stock=[3]),
        zero_or_more="put_up",
        wrong=(("needs", [9, -6]), ("stock", [3, -1])),
    )
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_steps_that_can_not_be_are_refused(refused: Refused) -> None:
    refused.hold()


def planned(runs: list[int]) -> CutPlan:
    return cut_plan(runs, put_up_m=PUT_UP_FT, cut_to_m=1)


@cache
def held_against_the_solver() -> list[tuple[int, int, Optimum]]:
    """Each drawn case: its number, our boxes, and what the solver found."""
    cases = []
    for case in range(CASES):
        runs = drawn_case(case)
        boxes = planned(runs).new_boxes
        cases.append((case, boxes, fewest_boxes(runs, most=boxes)))
    return cases


def test_no_plan_is_more_than_one_box_over_the_proven_optimum() -> None:
    assert [case for case, boxes, found in held_against_the_solver() if found.proven and boxes > found.boxes + 1] == []


def test_nearly_all_plans_are_the_proven_optimum() -> None:
    proven = [(boxes, found) for _, boxes, found in held_against_the_solver() if found.proven]
    unproven = [case for case, _, found in held_against_the_solver() if not found.proven]
    print(f"{len(proven)} of {CASES} proven; not proven within the time: {unproven or 'none'}")

    assert sum(boxes == found.boxes for boxes, found in proven) >= LEAST_EQUAL * len(proven)
    assert len(unproven) <= CASES // 20, "too few proven cases to say anything"


def test_plans_with_hardly_any_waste_are_the_proven_optimum() -> None:
    """What all length asks for proves most of these; the solver decides about the rest."""
    unproven, over, most_over = [], [], 0
    for case in range(CASES):
        runs = tight_case(case)
        boxes = planned(runs).new_boxes
        if boxes == -(-sum(runs) // PUT_UP_FT):
            continue
        found = fewest_boxes(runs, most=boxes, seconds=5)
        over += [case] * (found.boxes < boxes)
        most_over = max(most_over, boxes - found.boxes)
        unproven += [case] * (not found.proven)
    print(f"not proven within the time: {unproven or 'none'}")

    assert most_over <= 1
    assert len(over) <= (1 - LEAST_EQUAL) * CASES
    assert len(unproven) <= CASES // 20


@pytest.mark.parametrize("case", range(3))
def test_ten_thousand_runs_come_close_to_what_whole_runs_can_fill(case: int) -> None:
    chance = random.Random(f"many cuts {case}")
    runs = [chance.randint(60, 295) for _ in range(10_000)]
    plan = planned(runs)

    assert plan.least_boxes >= -(-sum(runs) // PUT_UP_FT)
    assert plan.least_boxes <= plan.new_boxes <= (1 + MOST_OVER) * plan.least_boxes


@pytest.mark.parametrize("case", range(3))
def test_two_hundred_pulls_cost_few_boxes_more_than_one(case: int) -> None:
    """What a pull leaves is stock for the next: 1 % over the bound, where best fit alone takes 1.3 %."""
    chance = random.Random(f"many cuts {case}")
    runs = [chance.randint(60, 295) for _ in range(10_000)]
    pulls = [f"P{chance.randrange(200)}" for _ in runs]
    plan = cut_plan(runs, put_up_m=PUT_UP_FT, cut_to_m=1, pulls=pulls)

    assert plan.new_boxes <= 1.01 * plan.least_boxes


def test_the_bound_counts_whole_runs() -> None:
    """Three runs of 295 ft come out of a box, not 3.39; two of a third and a foot, not 2.99."""
    assert least_new_boxes([295] * 10, 1000) == 4
    assert least_new_boxes([334] * 10, 1000) == 5
    assert least_new_boxes([600, 600, 401, 401], 1000) == 3
    assert least_new_boxes([295] * 10, 1000, stock=[884, 294]) == 3
    assert least_new_boxes([0, 0], 1000) == 0


def by_hand(needs: list[int], put_up: int, stock: list[int]) -> int:
    """The optimum by trying every box for every run."""
    runs = sorted((need for need in needs if 0 < need <= put_up), reverse=True)
    best = len(runs)

    def place(at: int, left: list[int], new: int) -> None:
        nonlocal best
        if new >= best:
            return
        if at == len(runs):
            best = new
            return
        for box in {size: place for place, size in enumerate(left) if size >= runs[at]}.values():
            place(at + 1, [*left[:box], left[box] - runs[at], *left[box + 1 :]], new)
        place(at + 1, [*left, put_up - runs[at]], new + 1)

    place(0, stock, 0)
    return best


SMALL = st.lists(st.integers(1, 30), min_size=1, max_size=7)
STOCK = st.lists(st.integers(0, 45), max_size=2)


@settings(max_examples=100, deadline=None)
@given(needs=SMALL, put_up=st.integers(8, 30), stock=STOCK)
def test_no_plan_is_below_the_bound(needs: list[int], put_up: int, stock: list[int]) -> None:
    assert least_new_boxes(needs, put_up, stock) <= by_hand(needs, put_up, stock)


@settings(max_examples=100, deadline=None)
@given(needs=SMALL, put_up=st.integers(8, 30), stock=STOCK)
def test_small_plans_from_partial_boxes_are_the_optimum(needs: list[int], put_up: int, stock: list[int]) -> None:
    runs = [float(need) for need in needs if need <= put_up]
    plan = cut_plan(runs, put_up_m=put_up, cut_to_m=1, on_hand_m=[float(held) for held in stock])

    assert plan.too_long == ()
    assert plan.new_boxes == by_hand(needs, put_up, stock)


@settings(max_examples=100, deadline=None)
@given(
    runs=st.lists(st.tuples(st.integers(1, 300), st.sampled_from("ABC")), min_size=1, max_size=40),
    stock=st.lists(st.integers(1, 400), max_size=4),
)
def test_pulls_share_boxes_and_lose_no_run(runs: list[tuple[int, str]], stock: list[int]) -> None:
    lengths, pulls = [float(n) for n, _ in runs], [pull for _, pull in runs]
    plan = cut_plan(lengths, put_up_m=300, cut_to_m=1, on_hand_m=[float(n) for n in stock], pulls=pulls)

    assert None not in plan.box_of
    for box, (held, left) in enumerate(zip(plan.box_m, plan.left_m, strict=True)):
        assert held - left == sum(plan.piece_m[run] for run in plan.runs_of(box))
        assert left >= 0
    assert plan.new_boxes >= plan.least_boxes
