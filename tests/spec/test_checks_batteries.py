"""Batteries against the adopted code and their own data sheet: what is looser or cannot be is a fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.spec.test_load import HEAD, faults, project

UNIT = "control_units: [{id: P, room: 1A, standby_current: 0.1 A, alarm_current: 0.2 A, %s}]\n"


# Sources: NFPA 72-2019 1.20 and NFPA 72-2022 1.25; UL 294 and UL 681 hours; textbook range of Peukert's exponent.
@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("rules: {battery_margin: 1.19}\n",
         "`battery_margin` is looser than the adopted code; expected at least 1.2 (NFPA 72-2019, 10.6.7.2.1)"),
        ("codes: {fire_alarm: '2022'}\nrules: {battery_margin: 1.2}\n",
         "`battery_margin` is looser than the adopted code; expected at least 1.25 (NFPA 72-2022, 10.6.7.2.14)"),
        (UNIT % "system: fire_alarm, hours_as: access_level_I",
         "control unit 'P' takes the hours of 'access_level_I'; expected one of protected_premises, "),
        (UNIT % "system: access, hours_as: bank_vault",
         "expected one of access_level_I, access_level_II, access_level_III, access_level_IV for system access"),
        (UNIT % "system: access, battery: {capacity: 40 Ah, one_hour_capacity: 41 Ah}",
         "the battery of 'P' gives 41 Ah in one hour; expected from 13 to 40 Ah for a block of 40 Ah"),
        (UNIT % "system: access, battery: {capacity: 40 Ah, one_hour_capacity: 13.0 Ah}", "gives 13 Ah in one hour"),
    ],
)  # fmt: skip
def test_what_is_looser_or_cannot_be_is_a_fault(tmp_path: Path, text: str, fault: str) -> None:
    """With its place, what was expected and how to mend it."""
    found = faults(tmp_path, HEAD + text)

    assert len(found) == 1
    assert fault in found[0]
    assert found[0].startswith("t.yaml:")


@pytest.mark.parametrize(
    "text",
    [
        "rules: {battery_margin: 1.2}\n",
        "codes: {fire_alarm: '2007'}\nrules: {battery_margin: 1}\n",
        UNIT % "system: access, battery: {capacity: 40 Ah, one_hour_capacity: 40 Ah}",
        UNIT % "system: access, battery: {capacity: 40 Ah, one_hour_capacity: 13.1 Ah}",
        UNIT % "system: intrusion, hours_as: bank_vault",
    ],
)
def test_what_is_at_the_limit_is_none(tmp_path: Path, text: str) -> None:
    """The edition's own margin, and a data sheet's strongest and weakest block."""
    assert project(tmp_path, HEAD + text)
