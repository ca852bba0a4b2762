"""Section numbers by edition: their titles, and numbers that mean other work in the job's edition."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.footage import measure
from estimator.takeoff.orders import order_cables
from estimator.takeoff.price_build import price_job
from estimator.takeoff.sections import section_alerts, section_title
from tests.published import Check
from tests.takeoff.evaluated import project_of

FIRE, THEFT = "28 31 00", "28 46 00"
JOB = """\
codes: {{sections: "{edition}"}}
rooms: [{{id: 1A}}]
devices:
  - {{id: smoke, system: fire_alarm, cable: fplp_16_2, labor: [fit-smoke], section: {fire}}}
  - {{id: motion, system: intrusion, cable: c22_4, labor: [fit-motion], section: {theft}}}
drops:
  - {{id: D1, room: 1A, device: smoke, length: 10 m}}
  - {{id: D2, room: 1A, device: motion, length: 10 m}}
prices:
  items: [{{id: fit-smoke, name: Detector, hours: 1}}, {{id: fit-motion, name: Motion, hours: 1}}]
  crew: []
  build_up: {{tax_on: exempt}}
"""


def number_of(edition: str) -> float:
    """Return the section of fire detection and alarm in an edition, its digits read as a number."""
    title = "Fire Detection and Alarm"
    found = [number for number in (FIRE, THEFT, "28 16 00") if section_title(number, edition) == title]
    return float(found[0].replace(" ", ""))


CHECKS = [
    Check(
        discipline="sections",
        what=f"fire detection and alarm in the edition of {edition} [section number]",
        source="published section lists of 2004 to 2014 and of 2016; confirmed",
        expected=number,
        tolerance=0,
        obtained=partial(number_of, edition),
        look_up=True,
    )
    for edition, number in (("2004", 283100), ("2016", 284600))
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_numbers(check: Check) -> None:
    check.hold()


# Source: published section lists: 28 31 00 is fire alarm before 2016 and intrusion detection from then on, when fire
# alarm is 28 46 00; intrusion was 28 16 00 before.
@pytest.mark.parametrize(
    ("edition", "fire", "theft", "told"),
    [
        ("2016", "28 46 00", "28 31 00", []),
        ("2016", "28 31 00", "28 31 00", [("28 31 00", "28 46 00")]),
        ("2004", "28 31 00", "28 16 00", []),
        ("2004", "28 46 00", "28 16 00", [("28 46 00", "28 31 00")]),
        ("2004", "28 31 00", "28 31 00", [("28 31 00", "28 16 00")]),
        ("2016", "28 46 00", "28 16 00", []),  # out of use, and nobody else's
    ],
)
def test_a_number_of_the_other_edition_is_told(
    tmp_path: Path, edition: str, fire: str, theft: str, told: list[tuple[str, str]]
) -> None:
    project = project_of(tmp_path, JOB.format(edition=edition, fire=fire, theft=theft))
    footage = measure(project, Faults())
    bid = price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project))
    assert bid is not None
    assert [(one.value, one.limit) for one in section_alerts(bid.lines, edition)] == told


def test_titles_are_those_of_the_edition() -> None:
    """Divisions 01 and 27 read alike in both; what isn't tabled has no title."""
    assert section_title(FIRE, "2016") == "Intrusion Detection"
    assert section_title("27 15 13", "2004") == section_title("27 15 13", "2016") != ""
    assert section_title("99 99 99", "2016") == ""
