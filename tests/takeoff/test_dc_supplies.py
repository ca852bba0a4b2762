"""Branches that come back, life-safety devices at a supply, locks that start and what they may lose."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_circuits import work_out_dc
from estimator.takeoff.dc_figures import dc_families
from tests.takeoff.evaluated import held, measured, near
from tests.takeoff.test_dc_circuits import FOOT, panel, worked


# By hand, 1 A each on 0.01 ohm a meter and conductor: opened at its first wire a branch of two devices is fed
# through its return alone, 24 - 2 x 30 x 0.01 x 2 = 22.8 V at the last and 0.2 V less at the first.
@pytest.mark.parametrize(("least", "kinds"), [("22.6 V", []), ("22.61 V", ["volts too low with a wire open"])])
def test_a_branch_that_comes_back_works_past_an_open(tmp_path: Path, least: str, kinds: list[str]) -> None:
    text = f"""
rooms: [{{id: 1A}}]
rules: {{dc_drop_percent: 20, ambient: 20 C}}
cables: [{{id: W, type: c18_2, ohm_per_m: 0.01}}]
devices: [{{id: LAMP, cable: W, current: 1 A, least_voltage: {least}}}, {{id: LAST, current: 1 A}}]
power_supplies: [{{id: S, room: 1A, voltage: 24 V, rating: 10 A}}]
circuits:
  - id: B1
    kind: dc
    class: A
    source: S
    cable: W
    return: 30 m
    devices: [{{device: LAMP, distance: 10 m}}, {{device: LAST, distance: 10 m}}]
"""
    project, footage = measured(tmp_path, text)
    dc = work_out_dc(project, footage)
    figures = held(dc_families(dc, project))
    alerts = list(dc_alerts(dc, project))

    assert figures["dc.B1.worst_volts"] == near(23.6, 1e-9)
    assert figures["dc.B1.opened_volts"] == near(22.6, 1e-9)
    assert [alert.kind for alert in alerts] == kinds
    if kinds:
        # The device that is worst with the wire open is held to its own minimum.
        assert (alerts[0].value, alerts[0].limit) == ("22.60 V with wire 1 open", "22.61 V")


def test_a_life_safety_device_on_its_own_cable_stands_on_the_codes_table(tmp_path: Path) -> None:
    """NFPA 70 Chapter 9 Table 8: 18 AWG solid uncoated 7.77 ohm per 1000 ft at 75 C; a lock's wire is cold copper."""
    dc, _, _, _ = worked(
        tmp_path,
        panel()
        + """
power_supplies: [{id: S, room: 1A, voltage: 12 V, rating: 5 A}]
drops:
  - {id: D1, room: 1A, device: BEAM, length: 10 m, supply: S}
  - {id: D2, room: 1A, device: PIR, length: 10 m, supply: S}
""",
    )
    ohm = {line.id: line.basis.conductor.ohm_per_m for line in dc.lines}

    assert ohm["D1"] == near(7.77 / 1000 / FOOT, 1e-9)
    assert ohm["D2"] == near(0.020948, 5e-7)


# By hand: 4 x 0.5 A last, 2 A each at inrush; one after another 2 + 1.5 A.
@pytest.mark.parametrize(
    ("rating", "advice"),
    [
        ("8 A", ""),
        ("7.9 A", "let them start one after another, which takes 3.500 A"),
        ("3.5 A", "let them start one after another, which takes 3.500 A"),
        ("3.4 A", "one after another they still take 3.500 A: use a larger supply"),
    ],
)
def test_locks_may_start_one_after_another(tmp_path: Path, rating: str, advice: str) -> None:
    _, figures, alerts, text = worked(
        tmp_path,
        f"""
power_supplies: [{{id: S, room: 1A, voltage: 12 V, rating: {rating}}}]
circuits: [{{id: L, kind: dc, source: S, cable: C18, devices: [{{device: STRIKE, qty: 4, distance: 1 m}}]}}]
""",
    )

    assert (figures["supply.S.load"], figures["supply.S.inrush"]) == (2.0, 8.0)
    assert figures["supply.S.staged_start"] == 3.5
    assert ("inrush over the rating" in alerts) == bool(advice)
    assert advice in text


def test_a_lamp_and_a_lock_on_one_line_are_held_to_the_locks_share(tmp_path: Path) -> None:
    """5 % of 12 V with a lock (lock maker's charts), 10 % without (camera charts), the house's where it types one."""
    text = """
power_supplies: [{id: S, room: 1A, voltage: 12 V, rating: 5 A}]
circuits:
  - {id: A, kind: dc, source: S, cable: C18, devices: [{device: PIR, distance: 1 m}, {device: MAG, distance: 1 m}]}
  - {id: B, kind: dc, source: S, cable: C18, devices: [{device: PIR, distance: 1 m}]}
"""
    shares = [line.basis.drop_limit for line in worked(tmp_path, text)[0].lines]
    assert shares == [0.05, 0.1]
    typed = worked(tmp_path, "rules: {dc_drop_percent: 7}\n" + text)[0].lines
    assert [line.basis.drop_limit for line in typed] == [0.07, 0.07]
    assert "rules.dc_drop_percent" in typed[0].basis.most_drop.origin


@pytest.mark.parametrize(
    ("lock", "kinds"),
    [
        ("fail: safe, release_on_alarm: yes", []),
        ("fail: secure, release_on_alarm: no", []),
        ("fail: secure, release_on_alarm: yes", ["release needs power"]),
        ("fail: safe", ["release not stated"]),
        ("fail: secure", ["release not stated"]),
    ],
)
def test_what_frees_a_lock_on_alarm(tmp_path: Path, lock: str, kinds: list[str]) -> None:
    """By definition a fail-secure lock opens only while it is powered, so a dead wire keeps the door shut."""
    text = f"""
rooms: [{{id: 1A}}]
cables: [{{id: W, type: c18_2}}]
devices: [{{id: LOCK, cable: W, current: 0.2 A, {lock}}}]
power_supplies: [{{id: S, room: 1A, voltage: 24 V, rating: 10 A}}]
drops: [{{id: D1, room: 1A, device: LOCK, length: 10 m, supply: S}}]
"""
    project, footage = measured(tmp_path, text)
    alerts = dc_alerts(work_out_dc(project, footage), project)
    assert [alert.kind for alert in alerts] == kinds
