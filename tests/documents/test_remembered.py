"""A table that two documents hold is made once, and anew for another job."""

from __future__ import annotations

from estimator.documents.remembered import remembered


def test_the_same_arguments_give_the_same_result_without_making_it_again() -> None:
    """What is made for a job is given again for that very job."""
    made: list[list[int]] = []

    @remembered
    def total(numbers: list[int]) -> int:
        made.append(numbers)
        return sum(numbers)

    job = [1, 2]

    assert (total(job), total(job)) == (3, 3)
    assert made == [job]


def test_equal_arguments_that_are_not_the_same_are_worked_out_anew() -> None:
    """Another job is another job, even where it looks alike; and the one before is forgotten."""
    first, second = [1, 2], [1, 2]
    identity = remembered(lambda job: job)

    assert identity(first) is first
    assert identity(second) is second
    assert identity(first) is first


def test_a_keyword_is_told_apart_from_another() -> None:
    """Arguments by name count with their names."""
    value = object()
    names = remembered(lambda **given: list(given))

    assert names(a=value) == ["a"]
    assert names(b=value) == ["b"]
