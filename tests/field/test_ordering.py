"""Which rows count, by rounds, dates, times and places; each rule on rows that say nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from estimator.acceptance.criterion import Criteria
from estimator.field.attempts import attempts, is_later, standing, twice
from estimator.field.ordering import believe, latest, newest, rounds, without_duplicates
from estimator.field.said import Said
from tests.field.sheetrows import row

LINK = Criteria(id="L1", circuit="L1", medium="balanced_pair", room="1A")
DAY = date(2026, 3, 1)
KEY = ("wire_map", "")


def said(
    text: str = "pass", *, number: int | None = None, day: date | None = None, clock: time | None = None,
    batch: str = "b1",
) -> Said:  # fmt: skip
    """Return a row that says one word; each one is received after the last, and stands below it."""
    read = row("L1", attempt=str(number or ""), batch=batch, wire_map=text)
    return Said(row=read, criteria=LINK, position="", round=number, day=day, clock=clock, readings=(), numbers={})


def told(rows: Sequence[Said]) -> Mapping[int, Mapping[tuple[str, str], str]]:
    """Return what each row says by its identity."""
    return {id(one): {KEY: one.row.cells["wire_map"]} if one.row.cells["wire_map"] else {} for one in rows}


def which(rows: Sequence[Said], chosen: Sequence[Said]) -> list[int]:
    """Return the places in ``rows`` of the chosen ones, in the order in which they were chosen."""
    return [next(place for place, one in enumerate(rows) if one is each) for each in chosen]


@pytest.mark.parametrize(("days", "believed"), [(366, True), (367, False), (-366, True), (-367, False)])
def test_a_clock_is_believed_up_to_a_year_off(days: int, believed: bool) -> None:
    """The middle of the job's dates decides; a leap year is a year."""
    rows = [said(day=DAY) for _ in range(2)] + [said(day=DAY + timedelta(days=days), clock=time(9, 30))]
    kept, flagged = believe(rows)

    assert len(kept) == 3
    assert len(flagged) == (0 if believed else 1)
    assert (kept[2].day is not None, kept[2].clock is not None) == (believed, believed)
    if flagged:
        assert flagged[0].why == f"date {rows[2].day} is over a year from the job's other readings"
        assert (flagged[0].said is kept[2], kept[2].notes) == (True, (flagged[0].why,))


def test_a_clock_is_doubted_from_three_dates_on() -> None:
    """Two dates don't say which of them is wrong; a row without a date is left as it is."""
    far = said(day=date(2019, 1, 1))
    noted = replace(said(day=date(2019, 1, 1)), notes=("typed by hand",))

    assert believe([far, said(day=DAY), said()])[1] == []
    kept, flagged = believe([noted, said(), said(day=DAY), said(day=DAY)])
    assert [one.said.notes[0] for one in flagged] == ["typed by hand"]
    assert [one.day for one in kept] == [None, None, DAY, DAY]


def test_rounds_go_before_dates_and_dates_before_the_order_received() -> None:
    """Tries stand earliest first; without a round each row is a try."""
    numbered = [said(number=2, day=DAY), said(number=1, day=DAY + timedelta(days=5))]
    dated = [said(day=DAY, clock=time(14)), said(day=DAY, clock=time(9)), said(day=DAY - timedelta(days=1))]
    bare = [said("open"), said("pass")]

    assert [which(numbered, each) for each in rounds(numbered, told(numbered))] == [[1], [0]]
    assert [which(dated, each) for each in rounds(dated, told(dated))] == [[2], [1], [0]]
    assert [which(bare, each) for each in rounds(bare, told(bare))] == [[0], [1]]


def test_dates_order_where_only_some_rows_have_a_round() -> None:
    """All dated: by date. One without a date: by round, no round before the first."""
    later, earlier = DAY + timedelta(days=1), DAY
    mixed = [said(number=1, day=later), said(day=earlier)]
    undated = [said(number=1), said(day=later)]

    assert [which(mixed, each) for each in rounds(mixed, told(mixed))] == [[1], [0]]
    assert [which(undated, each) for each in rounds(undated, told(undated))] == [[1], [0]]
    assert which(mixed, latest(mixed, told(mixed))) == [0]
    assert which(undated, latest(undated, told(undated))) == [0, 1]


def test_a_try_of_two_days_stands_by_its_last() -> None:
    """A round begun before and ended after another is the later one; of its last day the latest time counts."""
    agree = [said(number=7, day=DAY, clock=time(8)), said(number=7, day=DAY, clock=time(16))]
    between = said(day=DAY, clock=time(12))
    rows = [agree[1], agree[0], between]

    assert [which(rows, each) for each in rounds(rows, told(rows))] == [[2], [1, 0]]


def test_last_round_counts_with_what_nothing_orders() -> None:
    """Round 3 of three; a row without round and date stays beside it."""
    rows = [said(number=1), said(number=3), said(number=2), said()]

    assert which(rows, latest(rows[:3], told(rows))) == [1]
    assert which(rows, latest(rows, told(rows))) == [1, 3]
    assert latest([], {}) == []


@pytest.mark.parametrize(
    ("rows", "chosen"),
    [
        ([said(day=DAY), said(day=DAY + timedelta(days=1)), said(day=DAY)], [1]),
        ([said(day=DAY, clock=time(9)), said(day=DAY, clock=time(8))], [0]),
        ([said(day=DAY, clock=time(9)), said(day=DAY)], [1]),  # one without a time: the lower row of the sheet
        ([said(day=DAY), said(day=DAY, batch="b2")], [0, 1]),  # two sheets of one day
        ([said(day=DAY), said()], [0, 1]),
        ([said()], [0]),
        ([], []),
    ],
)
def test_newest_by_day_then_time_then_place_in_the_sheet(rows: list[Said], chosen: list[int]) -> None:
    """What nothing orders stands together, and the worse of it counts."""
    assert which(rows, newest(rows)) == chosen


def test_a_repeat_is_the_same_in_every_field() -> None:
    """Another cell, round, sheet or position makes another row; the first is kept."""
    first = said("pass", number=1)
    others = [
        said("open", number=1),
        said("pass", number=2),
        replace(said("pass", number=1), position="2"),
        replace(said("pass", number=1), row=replace(first.row, sheet="coax")),
        replace(said("pass", number=1), criteria=replace(LINK, id="L2")),
    ]
    again = said("pass", number=1)
    kept, repeats = without_duplicates([first, *others, again])

    assert [id(one) for one in kept] == [id(one) for one in (first, *others)]
    assert [(repeat is again, of is first) for repeat, of in repeats] == [(True, True)]


def test_attempts_go_by_time_and_part_where_rows_disagree() -> None:
    """Pass, pass, open, pass received out of order are three runs of rows that agree."""
    times = (time(11), time(9), time(10), time(8))
    rows = [
        said(text, number=1, day=DAY, clock=at)
        for text, at in zip(("pass", "pass", "open", "pass"), times, strict=True)
    ]
    undated = [said("open", number=1), said("pass", number=1, day=DAY)]

    assert [which(rows, each) for each in attempts(rows, told(rows))] == [[3, 1], [2], [0]]
    assert [which(undated, each) for each in attempts(undated, told(undated))] == [[0], [1]]
    assert attempts([], {}) == []


def test_attempt_that_nothing_orders_before_the_last_stands() -> None:
    """A later day or time replaces, so does a lower row of the same sheet; another sheet's row doesn't."""
    later = said("pass", number=1, day=DAY + timedelta(days=1))
    for rows, stands in (
        ([said("open", number=1, day=DAY), later], [1]),
        ([said("open", number=1, day=DAY), said("pass", number=1, day=DAY)], [1]),
        ([said("open", number=1, day=DAY), said("pass", number=1, day=DAY, batch="b2")], [0, 1]),
        ([said("open", number=1), said("pass", number=1)], [0, 1]),
        ([said("", number=1), later], [0, 1]),  # says nothing, so that nothing replaces it
    ):
        groups = [[one] for one in rows]
        assert which(rows, [one for group in standing(groups, told(rows)) for one in group]) == stands


def test_later_is_by_date_then_time_then_row_of_one_sheet() -> None:
    """Where a date is missing nothing is later."""
    noon, morning = said(day=DAY, clock=time(12)), said(day=DAY, clock=time(8))  # received in this order
    upper, lower = said(day=DAY), said(day=DAY)

    assert (is_later(noon, morning), is_later(morning, noon), is_later(noon, noon)) == (True, False, False)
    assert (is_later(lower, upper), is_later(upper, lower)) == (True, False)
    assert (is_later(upper, noon), is_later(noon, upper)) == (True, False)  # one without a time: by the row
    assert is_later(said(day=DAY + timedelta(days=1)), noon)
    assert not is_later(said(day=DAY - timedelta(days=1)), noon)
    assert not is_later(said(), upper)
    assert not is_later(said(day=DAY + timedelta(days=1)), said())
    assert not is_later(said(day=DAY, batch="b2"), upper)


def test_a_round_number_used_twice_is_told_with_its_rows() -> None:
    """The whole finding: how many, of one sheet or several, which counts, and the first four rows."""
    one_sheet = [[said(text, number=1, day=DAY)] for text in ("open", "short", "pass")]
    [found] = twice(one_sheet, {id(one_sheet[2][0])})
    places = [f"sheet.csv, row {group[0].row.row} of 2026-03-01" for group in one_sheet]
    assert found.text == "3 different rows of one sheet say round 1; the later one counts"
    assert (found.kind, found.circuit, found.evidence) == ("one round twice", "L1", "; ".join(places))

    sheets = [[said("open", number=2), said("open", number=2)], [said("pass", number=2, batch="b2") for _ in range(3)]]
    rows = [one for group in sheets for one in group]
    [found] = twice([*sheets, [said()]], {id(one) for one in rows})
    assert found.text == "two different sheets say round 2; nothing orders them, so the worse counts"
    assert found.evidence == "; ".join(f"sheet.csv, row {one.row.row}" for one in rows[:4]) + "; and 1 more"

    assert [each.text for each in twice(sheets, {id(rows[0])})] == [
        "two different sheets say round 2; the later one counts"
    ]  # an attempt counts where one of its rows does
    assert [each.evidence.count("more") for each in twice([rows[:2], rows[2:4]], set())] == [0]
    assert [each.text for each in twice([rows[:2], rows[2:4]], set())] == ["two different sheets say round 2"]
    assert list(twice([[said(number=1)], [said(number=2)], [said()], [said()]], set())) == []
