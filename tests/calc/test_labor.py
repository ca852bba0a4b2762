"""Hours, rates and crew days come out as worked labor tables print them."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.labor import (
    ADDED_FACTOR,
    LadderStep,
    Repetition,
    break_even_loss,
    burdened_rate,
    combined_factor,
    crew_days,
    crew_rate,
    effective_hours,
    ladder_add,
    overtime_factor,
    repetition_add,
    task_hours,
)
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check

FT = 0.3048
LADDER = [
    LadderStep(above_m=row.number("above_m"), add=row.number("add"))
    for row in table("labor_factors")
    if row.cells["factor"] == "ladder_height"
]
REPEATS = [
    Repetition(
        from_repeats=int(row.number("from_repeats")),
        to_repeats=int(row.number("to_repeats")),
        add=row.number("add"),
    )
    for row in table("labor_factors")
    if row.cells["factor"] == "repetition"
]


def eight_repeats() -> float:
    return ADDED_FACTOR(add=repetition_add(repeats=8, steps=REPEATS) or 0)


def open_shop_rate() -> float:
    shares = [13.2, 3.5, 1.45, 6.2, 3.7, 0.8, 10.0]
    return burdened_rate(wage=20.00, burdens=[share / 100 for share in shares], adders=[0.30])


def union_rate() -> float:
    adders = [1.3270, 0.0531, -0.0690, 0.6925, 0.0750, 0.0800, 0.0200, 0.7650, 0.7000, 1.5000, 0.2500]
    return burdened_rate(wage=10.00, burdens=[], adders=adders)


HANDBOOK = "electrical estimating handbook; computed"
CHECKS = [
    # Source: contractor accounting help page: wage 20.00, seven shares and 0.30 an hour.
    Check(
        discipline="labor",
        what="burdened rate by shares of the wage",
        source="contractor accounting help page; single",
        expected=28.07,
        tolerance=0.005,
        obtained=open_shop_rate,
    ),
    Check(
        discipline="labor",
        what="burden of that rate [%]",
        source="contractor accounting help page; single",
        expected=40.35,
        tolerance=0.005,
        obtained=lambda: (open_shop_rate() / 20.00 - 1) * 100,
    ),
    # Source: construction staffing firm, 2009: wage 10.00 and eleven amounts an hour. The page prints
    # 15.4816 as their sum; its own lines add to 15.3936.
    Check(
        discipline="labor",
        what="burden by amounts an hour [%]",
        source="construction staffing firm's table, its lines added again; computed",
        expected=53.9,
        tolerance=0.05,
        obtained=lambda: (union_rate() / 10.00 - 1) * 100,
    ),
    Check(
        discipline="labor",
        what="burdened rate by amounts an hour",
        source="construction staffing firm's table, its lines added again; computed",
        expected=15.3936,
        tolerance=5e-5,
        obtained=union_rate,
    ),
    # Source: electrical estimating handbook: ten hours at 16 ft, 13 % added.
    Check(
        discipline="labor",
        what="ten hours on a ladder at 16 ft [h]",
        source=HANDBOOK,
        expected=11.3,
        tolerance=0.05,
        obtained=lambda: task_hours(
            quantity=1, hours=10, factors=[ADDED_FACTOR(add=ladder_add(height_m=16 * FT, steps=LADDER) or 0)]
        ),
    ),
    # Source: the same handbook: eight times a task of two hours, a quarter taken off.
    Check(
        discipline="labor",
        what="eight repeats of two hours [h]",
        source=HANDBOOK,
        expected=12.0,
        tolerance=0.05,
        obtained=lambda: task_hours(quantity=8, hours=2, factors=[eight_repeats()]),
    ),
    Check(
        discipline="labor",
        what="factor of eight repeats [unitless]",
        source=HANDBOOK,
        expected=0.75,
        tolerance=0.005,
        obtained=eight_repeats,
    ),
    # Source: construction claims article: 50 hours with a loss of a fifth give 40.
    Check(
        discipline="labor",
        what="output of a 50 h week at 20 % loss [h]",
        source="construction claims article on overtime; single",
        expected=40,
        tolerance=0.5,
        obtained=partial(effective_hours, hours=50, loss=0.20),
    ),
    Check(
        discipline="labor",
        what="loss at which 50 h give no more than 40 [unitless]",
        source="construction claims article on overtime; single",
        expected=0.20,
        tolerance=0.005,
        why="printed as about 20 percent",
        obtained=partial(break_even_loss, hours=50, usual_hours=40),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


def test_hours_a_thousand_feet_are_shared_out() -> None:
    assert task_hours(quantity=2500, hours=9, per=1000) == 22.5
    assert task_hours(quantity=0, hours=9, per=1000) == 0.0
    assert task_hours(quantity=200, hours=0.05) == 10.0  # a share of 200 other hours


def test_factors_multiply() -> None:
    assert combined_factor([]) == 1.0
    assert combined_factor([1.13, 1.25]) == pytest.approx(1.4125)


@pytest.mark.parametrize(
    ("height_ft", "add"), [(0, 0.0), (11.99, 0.0), (12, 0.03), (15.5, 0.10), (20, 0.25), (20.1, None)]
)
def test_ladder_steps_at_and_over_their_heights(height_ft: float, add: float | None) -> None:
    assert ladder_add(height_m=height_ft * FT, steps=LADDER) == add


@pytest.mark.parametrize(
    ("repeats", "add"),
    [(1, 0.0), (2, 0.0), (3, -0.15), (5, -0.15), (6, -0.25), (10, -0.25), (11, -0.35), (15, -0.35), (16, None)],
)
def test_repetition_ends_with_its_table(repeats: int, add: float | None) -> None:
    assert repetition_add(repeats=repeats, steps=REPEATS) == add


def test_a_crew_of_one_has_its_own_rate() -> None:
    assert crew_rate(people=[1], rates=[61.25]) == 61.25
    assert crew_rate(people=[2, 0.5], rates=[50.0, 75.0]) == 55.0


def test_nothing_and_part_of_one_are_possible() -> None:
    """A task that takes no or half an hour, a volunteer, a trade that is not in today's crew, one person half a day."""
    assert task_hours(quantity=8, hours=0) == 0.0
    assert task_hours(quantity=8, hours=0.5) == 4.0
    assert burdened_rate(wage=0, burdens=[0.3], adders=[2.0]) == 2.0
    assert burdened_rate(wage=0.5, burdens=[]) == 0.5
    assert crew_rate(people=[2, 0], rates=[50.0, 75.0]) == 50.0
    assert crew_days(hours=1, people=0.5, hours_a_day=1) == 2.0
    assert crew_days(hours=1, people=1, hours_a_day=0.5) == 2.0


def test_crew_days_are_not_rounded() -> None:
    assert crew_days(hours=100, people=3, hours_a_day=8) == pytest.approx(4.1666667)
    assert crew_days(hours=0, people=3, hours_a_day=8) == 0.0


def test_a_slip_in_a_printed_sum_is_not_copied() -> None:
    """The staffing firm's page prints 15.4816 as the sum of its own lines, and 5.33 as their share."""
    assert union_rate() != pytest.approx(15.4816, abs=5e-4)


@given(st.floats(0, 1000), st.floats(0, 1000), st.lists(st.floats(0.1, 4), max_size=4))
@settings(max_examples=60)
def test_hours_grow_with_what_is_installed(quantity: float, more: float, factors: list[float]) -> None:
    """More is never less work; in parts it is the same work; the order of factors is nothing."""

    def hours(of: float) -> float:
        return task_hours(quantity=of, hours=0.35, factors=factors)

    assert hours(quantity + more) >= hours(quantity)
    assert hours(quantity) + hours(more) == pytest.approx(hours(quantity + more))
    backwards = task_hours(quantity=quantity, hours=0.35, factors=factors[::-1])
    assert backwards == pytest.approx(hours(quantity))


@given(st.floats(0, 0.95), st.floats(1, 80))
@settings(max_examples=60)
def test_overtime_makes_up_for_its_loss(loss: float, hours: float) -> None:
    """As many more hours as the factor says give the output that was wanted."""
    assert effective_hours(hours=hours * overtime_factor(loss=loss), loss=loss) == pytest.approx(hours)


def test_overtime_without_loss_costs_no_hours() -> None:
    assert overtime_factor(loss=0) == 1.0
    assert effective_hours(hours=50, loss=0) == 50
    # the loss of the break-even week leaves the usual week's output
    assert effective_hours(hours=60, loss=break_even_loss(hours=60, usual_hours=40)) == pytest.approx(40)


REFUSED = [
    Refused(possible=partial(combined_factor, factors=[1.0, 1.2]), wrong=(("factors", [1.0, 0.0]),)),
    Refused(
        possible=partial(task_hours, quantity=8, hours=2.0, per=1.0, factors=[0.75]),
        above_zero="per",
        zero_or_more="quantity hours",
        wrong=(("factors", [1.2, -1.0]),),
    ),
    Refused(possible=partial(ladder_add, height_m=4.0, steps=LADDER), zero_or_more="height_m"),
    Refused(possible=partial(repetition_add, repeats=8, steps=REPEATS), above_zero="repeats"),
    Refused(
        possible=partial(burdened_rate, wage=20, burdens=[0.3], adders=[0.5]),
        zero_or_more="wage",
        wrong=(("burdens", [0.1, -0.2]), ("adders", [0.1, float("nan")])),
    ),
    Refused(
        possible=partial(crew_rate, people=[1, 3], rates=[60.0, 40.0]),
        wrong=(("people", [2, -1]), ("people", [0, 0]), ("rates", [60.0, -40.0])),
    ),
    Refused(
        possible=partial(crew_days, hours=96, people=2, hours_a_day=8),
        above_zero="people hours_a_day",
        zero_or_more="hours",
    ),
    Refused(
        possible=partial(effective_hours, hours=50, loss=0.2),
        zero_or_more="hours",
        wrong=(("loss", 1), ("loss", -0.1)),
    ),
    Refused(possible=partial(overtime_factor, loss=0.2), wrong=(("loss", 1.0), ("loss", -0.1))),
    Refused(
        possible=partial(break_even_loss, hours=50, usual_hours=40),
        above_zero="hours usual_hours",
        wrong=(("hours", 40),),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    refused.hold()
