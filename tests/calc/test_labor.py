"""Hours, rates and crew days come out as worked labor tables print them."""

from __future__ import annotations

import pytest

from estimator.calc.labor import (
    EFFECTIVE_HOURS,
    SHARE_HOURS,
    LadderStep,
    Repetition,
    burdened_rate,
    combined_factor,
    crew_days,
    crew_rate,
    ladder_add,
    repetition_add,
    task_hours,
)
from estimator.reference.lookup import table
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


def open_shop_rate() -> float:
    shares = [13.2, 3.5, 1.45, 6.2, 3.7, 0.8, 10.0]
    return burdened_rate(wage=20.00, burdens=[share / 100 for share in shares], adders=[0.30])


def union_rate() -> float:
    adders = [1.3270, 0.0531, -0.0690, 0.6925, 0.0750, 0.0800, 0.0200, 0.7650, 0.7000, 1.5000, 0.2500]
    return burdened_rate(wage=10.00, burdens=[], adders=adders)


HANDBOOK = "electrical estimating handbook (computed)"
CHECKS = [
    # Source: contractor accounting help page: wage 20.00, seven shares and 0.30 an hour.
    Check(
        discipline="labor",
        what="burdened rate by shares of the wage",
        source="contractor accounting help page (single)",
        expected=28.07,
        tolerance=0.005,
        obtained=open_shop_rate,
    ),
    Check(
        discipline="labor",
        what="burden of that rate [%]",
        source="contractor accounting help page (single)",
        expected=40.35,
        tolerance=0.005,
        obtained=lambda: (open_shop_rate() / 20.00 - 1) * 100,
    ),
    # Source: construction staffing firm, 2009: wage 10.00 and eleven amounts an hour. The page prints
    # 15.4816 as their sum; its own lines add to 15.3936.
    Check(
        discipline="labor",
        what="burdened rate by amounts an hour",
        source="construction staffing firm's table, its lines added again (computed)",
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
            quantity=1, hours=10, factors=[1 + (ladder_add(height_m=16 * FT, steps=LADDER) or 0)]
        ),
    ),
    # Source: the same handbook: eight times a task of two hours, a quarter taken off.
    Check(
        discipline="labor",
        what="eight repeats of two hours [h]",
        source=HANDBOOK,
        expected=12.0,
        tolerance=0.05,
        obtained=lambda: task_hours(quantity=8, hours=2, factors=[1 + (repetition_add(repeats=8, steps=REPEATS) or 0)]),
    ),
    # Source: construction claims article: 50 hours with a loss of a fifth give 40.
    Check(
        discipline="labor",
        what="output of a 50 h week at 20 % loss [h]",
        source="construction claims article on overtime (single)",
        expected=40,
        tolerance=0.5,
        obtained=lambda: EFFECTIVE_HOURS(hours=50, loss=0.20),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


def test_hours_a_thousand_feet_are_shared_out() -> None:
    assert task_hours(quantity=2500, hours=9, per=1000) == 22.5
    assert task_hours(quantity=0, hours=9, per=1000) == 0.0
    assert SHARE_HOURS(share=0.05, hours=200) == 10.0


def test_factors_multiply() -> None:
    assert combined_factor([]) == 1.0
    assert combined_factor([1.13, 1.25]) == pytest.approx(1.4125)


@pytest.mark.parametrize(
    ("height_ft", "add"), [(0, 0.0), (11.99, 0.0), (12, 0.03), (15.5, 0.10), (20, 0.25), (20.1, None)]
)
def test_ladder_steps_at_and_over_their_heights(height_ft: float, add: float | None) -> None:
    assert ladder_add(height_m=height_ft * FT, steps=LADDER) == add


@pytest.mark.parametrize(
    ("repeats", "add"), [(1, 0.0), (2, 0.0), (3, -0.15), (10, -0.25), (15, -0.35), (16, None), (0, None)]
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


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: task_hours(quantity=1, hours=1, per=0), "quantity 1, hours 1 and per 0"),
        (lambda: task_hours(quantity=-1, hours=1), "quantity -1"),
        (lambda: combined_factor([1.0, 0.0]), r"difficulty factor 0\.0 is not above zero"),
        (lambda: burdened_rate(wage=-5.0, burdens=[]), r"wage -5\.0 is below zero"),
        (lambda: crew_rate(people=[0], rates=[50.0]), r"a crew of \[0\] has no people"),
        (lambda: crew_days(hours=1, people=0, hours_a_day=8), "a crew of 0 for 8 h a day"),
        (lambda: crew_days(hours=1, people=2, hours_a_day=0), "a crew of 2 for 0 h a day"),
        (lambda: task_hours(quantity=1, hours=-0.5), r"hours -0\.5"),
        (lambda: crew_rate(people=[2, -1], rates=[50.0, 40.0]), r"a crew of \[2, -1\] has no people"),
    ],
)
def test_impossible_work_is_refused_with_its_value(wrong: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wrong()  # type: ignore[operator]
