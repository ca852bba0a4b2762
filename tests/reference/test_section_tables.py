"""Section numbers go with their edition, and the labor and allowance tables hold together."""

from __future__ import annotations

import pytest

from estimator.reference.lookup import table


# Source: published section lists of 2004-2014 and of 2016 (confirmed for fire alarm, else single).
@pytest.mark.parametrize(
    ("number", "before", "after"),
    [
        ("28 31 00", "Fire Detection and Alarm", "Intrusion Detection"),
        ("28 46 00", "Electronic Detention Monitoring and Control Systems", "Fire Detection and Alarm"),
        ("28 16 00", "Intrusion Detection", "Access Control Interfaces"),
        (
            "28 05 13",
            "Conductors and Cables for Electronic Safety and Security",
            "Servers, Workstations and Storage for Electronic Safety and Security",
        ),
    ],
)
def test_a_number_means_another_thing_before_2016(number: str, before: str, after: str) -> None:
    assert table("sections").find(edition="2004", number=number).text("title") == before
    assert table("sections").find(edition="2016", number=number).text("title") == after


def test_the_fire_alarm_section_moved_in_2016() -> None:
    row = table("section_changes").find(subject="fire alarm")

    assert (row.text("before"), row.text("after")) == ("28 31 00", "28 46 00")


def test_each_section_stands_once_in_its_edition() -> None:
    keys = [(row.text("edition"), row.text("number")) for row in table("sections")]

    assert len(set(keys)) == len(keys)
    assert {number[:2] for _, number in keys} == {"01", "27", "28"}


def test_labor_hours_lie_in_their_range() -> None:
    for row in table("labor_units"):
        assert 0 < row.number("low") <= row.number("hours") <= row.number("high")
        assert row.number("per") > 0


def test_ladder_work_costs_more_the_higher_it_is() -> None:
    steps = [row for row in table("labor_factors") if row.cells["factor"] == "ladder_height"]
    adds = [row.number("add") for row in steps]

    assert adds == sorted(adds)
    # Source: electrical estimating handbook (single): 3 % at 12 ft, 25 % at 20 ft.
    assert (adds[0], adds[-1]) == (0.03, 0.25)


def test_allowances_are_ranges() -> None:
    for row in table("estimate_allowances"):
        assert 0 < row.number("low") <= row.number("high") < 1
