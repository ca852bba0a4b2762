"""The battery of each control unit: loads, times, factors, size, charger."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.spec.rules import edition_row
from estimator.takeoff.alerts import Alert
from estimator.takeoff.batteries import BatterySheet, work_out_batteries
from estimator.takeoff.battery_alerts import battery_alerts
from estimator.takeoff.battery_figures import battery_families
from tests.takeoff.battery_jobs import Job
from tests.takeoff.evaluated import held, near, project_of

ROOM = "rooms: [{id: 1A}]\ncables: [{id: F16, type: fplp_16_2}]\n"
HOUR = 3600.0


def _kinds(alerts: Iterable[Alert]) -> list[str]:
    """Return the kinds of warnings, less that these small jobs install no battery."""
    return [alert.kind for alert in alerts if alert.kind != "no battery"]


def worked(folder: Path, text: str) -> tuple[BatterySheet, Mapping[str, float], list[str]]:
    """Return the first unit's sheet, all figures and the kinds of warnings of a job."""
    project = project_of(folder, ROOM + text)
    batteries = work_out_batteries(project)
    figures = held(battery_families(batteries))
    return batteries.sheets[0], figures, _kinds(battery_alerts(batteries, project))


# Source: technician certification study guide: 0.25 A for 24 h and 1.5 A for 5 min are 6.125 Ah;
# with the margin of NFPA 72-2010 to 2019 7.35 Ah, with that of 2022 7.65625 Ah.
@pytest.mark.parametrize(
    ("edition", "need", "size"), [("2019", 7.35, 8.0), ("2022", 7.65625, 8.0), ("2007", 6.125, 7.0)]
)
def test_margin_follows_the_edition(tmp_path: Path, edition: str, need: float, size: float) -> None:
    sheet, figures, alerts = worked(
        tmp_path,
        f"""
codes: {{fire_alarm: "{edition}"}}
control_units:
  - {{id: P, system: fire_alarm, room: 1A, standby_current: 0.25 A, alarm_current: 1.5 A}}
""",
    )

    assert figures["battery.P.need"] == near(need, 1e-9)
    assert figures["battery.P.size"] == size
    assert (sheet.standby.time_s, sheet.alarm.time_s) == (24 * HOUR, 300.0)
    assert sheet.standby.implied
    assert alerts == (["no margin"] if edition == "2007" else [])


# Source: conventional panel manual, battery chapter: 0.060 A and four zones of 0.0068 A (0.035 A in
# alarm), four sounders of 0.2 A, 48 h and 1 h, margin 1.2: 0.0872 A, 0.94 A, 6.15072 Ah.
# The manual's own alarm current leaves the board out: 4 x 0.2 + 4 x 0.035 = 0.94 A.
def test_whole_system_of_a_four_zone_panel(tmp_path: Path) -> None:
    sheet, figures, _ = worked(
        tmp_path,
        """
devices: [{id: HORN, cable: F16, system: fire_alarm, alarm_current: 0.2 A, least_voltage: 16 V}]
control_units:
  - id: P
    system: fire_alarm
    room: 1A
    standby_current: 0.060 A
    alarm_current: 0 A
    standby: 48 h
    alarm: 1 h
    loads: [{name: zone, qty: 4, standby_current: 0.0068 A, alarm_current: 0.035 A}]
circuits:
  - {id: N1, kind: notification, source: P, cable: F16, devices: [{device: HORN, qty: 4, distance: 10 m}]}
""",
    )

    assert figures["battery.P.standby_current"] == near(0.0872, 1e-9)
    assert figures["battery.P.alarm_current"] == near(0.94, 1e-9)
    assert figures["battery.P.need"] == near(6.15072, 5e-6)
    assert not sheet.standby.implied


# Source: addressable panel manual, European practice, margin 1.25 and half an hour of alarm:
# 0.04875 A and 0.11545 A: 1.5347 Ah at 24 h. The same margin stands in NFPA 72-2022.
def test_itemised_panel_with_detectors_still_in_standby(tmp_path: Path) -> None:
    _, figures, _ = worked(
        tmp_path,
        """
codes: {fire_alarm: "2022"}
devices:
  - {id: BASE, cable: F16, standby_current: 1.2 mA, alarm_current: 5.5 mA}
  - {id: FLASH, cable: F16, standby_current: 1.2 mA, alarm_current: 7 mA}
  - {id: CALL, cable: F16, standby_current: 1.0 mA}
  - {id: OPT, cable: F16, standby_current: 0.1 mA}
  - {id: HIT, cable: F16, standby_current: 0.1 mA, alarm_current: 12 mA}
  - {id: HEAT, cable: F16, standby_current: 0.05 mA}
control_units:
  - {id: P, system: fire_alarm, room: 1A, standby_current: 39 mA, alarm_current: 65 mA, standby: 24 h, alarm: 30 min}
circuits:
  - id: L1
    kind: signaling
    source: P
    cable: F16
    devices:
      - {device: BASE, qty: 4, distance: 10 m}
      - {device: FLASH, qty: 2, distance: 10 m}
      - {device: CALL, qty: 2, distance: 10 m}
      - {device: OPT, qty: 4, distance: 10 m}
      - {device: HIT, distance: 10 m}
      - {device: HEAT, distance: 10 m}
""",
    )

    assert figures["battery.P.standby_current"] == near(0.04875, 1e-9)
    assert figures["battery.P.alarm_current"] == near(0.11545, 1e-9)
    assert figures["battery.P.need"] == near(1.5347, 0.00005)


# Source: definition; alarm current typed as what alarm adds to standby, 110 candela at 0.150 A.
def test_setting_and_added_current(tmp_path: Path) -> None:
    text = """
devices:
  - id: HS
    cable: F16
    standby_current: 1 mA
    alarm_current_is: added
    settings: {15cd: 60 mA, 110cd: 150 mA}
control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0 A, alarm_current: 0 A}]
circuits:
  - {id: N1, kind: notification, source: P, cable: F16, devices: [{device: HS, %sdistance: 10 m}]}
"""
    assert worked(tmp_path, text % "setting: 15cd, ")[1]["battery.P.alarm_current"] == near(0.061, 1e-12)
    assert worked(tmp_path, text % "setting: 110cd, ")[1]["battery.P.alarm_current"] == near(0.151, 1e-12)
    # Without a setting the largest counts.
    assert worked(tmp_path, text % "")[1]["battery.P.alarm_current"] == near(0.151, 1e-12)


def test_shed_loads_locks_and_drops(tmp_path: Path) -> None:
    sheet, figures, _ = worked(
        tmp_path,
        """
devices:
  - {id: MAG, cable: F16, current: 0.5 A, fail: safe, release_on_alarm: yes}
  - {id: STRIKE, cable: F16, current: 0.3 A, fail: secure, release_on_alarm: yes}
  - {id: KEYPAD, cable: F16, standby_current: 0.1 A, alarm_current: 0.12 A}
control_units:
  - id: P
    system: fire_alarm
    room: 1A
    standby_current: 0.2 A
    alarm_current: 0.3 A
    loads:
      - {name: door holders, qty: 4, standby_current: 20 mA, alarm_current: 0 A, shed: yes}
      - {name: communicator, standby_current: 40 mA, alarm_current: 90 mA}
drops:
  - {id: M1, room: 1A, device: MAG, length: 20 m, supply: P}
  - {id: S1, room: 1A, device: STRIKE, length: 20 m, supply: P}
  - {id: K1, room: 1A, device: KEYPAD, length: 20 m, supply: P}
""",
    )

    # Source: sum of all loads: 0.2 + 0.04 + 0.5 + 0.1 standby; 0.3 + 0.09 + 0.3 (strike) + 0.12 in alarm.
    assert figures["battery.P.standby_current"] == near(0.84, 1e-12)
    assert figures["battery.P.alarm_current"] == near(0.81, 1e-12)
    assert len(sheet.loads) == 6
    assert len(sheet.carried) == 5


# Source: IEEE Std 485: aging 1.25 (replaced at 80 %), factor 1.19 at 10 C; 0.1 A for 4 h and 1 A
# for 15 min are 0.65 Ah (burglar alarm training article for the times).
def test_aging_and_temperature_outside_life_safety(tmp_path: Path) -> None:
    text = """
control_units:
  - {id: P, system: intrusion, room: 1A, voltage: 12 V, standby_current: 0.1 A, alarm_current: 1 A%s}
"""
    sheet, figures, alerts = worked(tmp_path, text % "")

    assert [factor.name for factor in sheet.factors] == ["aging"]
    assert figures["battery.P.need"] == near(0.65 * 1.25, 1e-12)
    assert worked(tmp_path, text % ", temperature: 10 C")[1]["battery.P.need"] == near(0.65 * 1.25 * 1.19, 1e-9)
    # No credit for warmth.
    assert worked(tmp_path, text % ", temperature: 40 C")[1]["battery.P.need"] == near(0.65 * 1.25, 1e-12)
    assert alerts == []
    assert worked(tmp_path, text % ", temperature: 60 C")[2] == ["temperature outside the table"]


# Source: UL 864 recharge within 48 h; 18 Ah x 1.1 / 0.4125 A = 48 h exactly, 0.41 A is slower.
@pytest.mark.parametrize(("charger", "kinds"), [("0.4125 A", []), ("0.41 A", ["recharge too slow"])])
def test_recharge_within_48_hours(tmp_path: Path, charger: str, kinds: list[str]) -> None:
    _, figures, alerts = worked(
        tmp_path,
        f"""
control_units:
  - id: P
    system: fire_alarm
    room: 1A
    standby_current: 0.25 A
    alarm_current: 1.5 A
    charger_current: {charger}
    battery: {{capacity: 18 Ah, blocks: 2}}
""",
    )

    assert alerts == kinds
    assert figures["battery.P.volts"] == 24.0
    assert figures["battery.P.spare"] == near(18 / 7.35 - 1, 1e-12)
    if not kinds:
        assert figures["battery.P.recharge_time"] == near(48 * HOUR, 1e-6)


@pytest.mark.parametrize(
    ("more", "kinds"),
    [
        ("battery: {capacity: 7 Ah}", ["battery too small"]),
        ("battery: {capacity: 4 Ah, strings: 2}", []),
        ("battery: {capacity: 12 Ah, blocks: 1}", ["wrong battery volts"]),
        ("charger_limit: 7 Ah", ["no battery fits"]),
        ("cabinet_limit: 7 Ah", ["no battery fits"]),
        ("stocked_sizes: [5 Ah, 7 Ah]", ["no battery fits"]),
        ("charger_limit: 10 Ah\n    battery: {capacity: 12 Ah}", ["battery over the charger"]),
        ("alarm: 4 min", ["time below the code"]),
    ],
)
def test_what_warns(tmp_path: Path, more: str, kinds: list[str]) -> None:
    _, _, alerts = worked(
        tmp_path,
        f"""
control_units:
  - id: P
    system: fire_alarm
    room: 1A
    standby_current: 0.25 A
    alarm_current: 1.5 A
    {more}
""",
    )

    assert alerts == kinds


def test_hours_of_each_system(tmp_path: Path) -> None:
    # Source: NFPA 72 10.6.7.2.1 and chapter 29; burglar alarm practice; UL 294 level IV.
    hours = {
        "fire_alarm": (24, 5),
        "voice_evacuation": (24, 15),
        "household_fire": (24, 4),
        "intrusion": (4, 15),
        "access": (4, 0),
    }
    for system, (standby, alarm) in hours.items():
        sheet, _, _ = worked(
            tmp_path,
            f"control_units: [{{id: P, system: {system}, room: 1A, standby_current: 1 mA, alarm_current: 1 mA}}]",
        )
        assert (sheet.standby.time_s / HOUR, sheet.alarm.time_s / 60) == (standby, alarm), system
        assert "implied by system" in sheet.standby.origin


def test_a_current_says_whether_it_is_the_total_or_added(tmp_path: Path) -> None:
    """0.01 A standby and 0.005 A in alarm: 0.015 A where that is added, 0.005 A where it is the total."""
    text = """
rooms: [{id: 1A}]
cables: [{id: FA, type: fplp_16_2}]
devices: [{id: d, standby_current: 10 mA, alarm_current: 5 mA, alarm_current_is: %s}]
control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0 A, alarm_current: 0 A}]
circuits: [{id: S, kind: signaling, source: P, cable: FA, devices: [{device: d, distance: 1 m}]}]
"""
    found = []
    for word in ("added", "total"):
        load = work_out_batteries(project_of(tmp_path, text % word)).sheets[0].loads[-1]
        found.append((load.alarm.amps, load.alarm.origin.rpartition(", ")[2]))
    assert found == [(pytest.approx(0.015), "added to standby"), (0.005, "total in alarm")]


# NFPA 72: 1.20 since 2010, 1.25 since 2022; before 2010 there is no margin.
@pytest.mark.parametrize(
    ("adopted", "edition"),
    [
        ("1999", "1999"),
        ("2011", "2010"),
        ("2019", "2019"),
        ("NFPA 72-2022 with amendments", "2022"),
        ("as adopted", "2025"),
    ],
)
def test_edition_up_to_the_adopted_one_counts(adopted: str, edition: str) -> None:
    """Text around the year is left out; without a year the latest edition counts."""
    assert edition_row("battery_margin", adopted).text("edition") == edition


def test_tables_by_other_names_than_a_year() -> None:
    """What is listed under a standard's name alone has one row; a year is never compared with that name."""
    assert edition_row("battery_durations", "2022", "access_level_IV").text("edition") == "UL 294"
    assert edition_row("battery_durations", "1990", "household").text("edition") == "2007"


def test_a_time_that_a_system_leaves_open_says_so(tmp_path: Path) -> None:
    """Access control has hours of standby (UL 294 level IV) and no alarm."""
    sheet, _, _ = worked(
        tmp_path, "control_units: [{id: P, system: access, room: 1A, standby_current: 1 mA, alarm_current: 1 mA}]"
    )
    assert sheet.alarm.origin.endswith(", which names no such time")
    assert "names no such time" not in sheet.standby.origin


def test_strings_in_parallel_share_the_need_and_are_recharged_together(tmp_path: Path) -> None:
    """By hand: 0.5 A for 24 h is 12 Ah, times 1.25 15 Ah: two strings of 8 Ah. 16 Ah times 1.1 at 1 A are 17.6 h."""
    sheet, figures, _ = worked(
        tmp_path,
        """
codes: {fire_alarm: "2022"}
control_units:
  - {id: P, system: fire_alarm, room: 1A, standby_current: 0.5 A, alarm_current: 0 A, charger_current: 1 A,
     battery: {capacity: 8 Ah, blocks: 2, strings: 2}}
""",
    )
    assert (sheet.strings, sheet.size.size_ah, sheet.installed_ah, sheet.installed_v) == (2, 8.0, 16.0, 24.0)
    assert figures["battery.P.need"] == near(15.0, 1e-12)
    assert sheet.recharge_s == pytest.approx(17.6 * HOUR)


def test_without_a_battery_the_chosen_block_is_recharged(tmp_path: Path) -> None:
    """By hand: 7.5 Ah needed, 8 Ah chosen; 8 Ah times 1.1 at 0.5 A are 17.6 h."""
    sheet, _, _ = worked(
        tmp_path,
        """
codes: {fire_alarm: "2022"}
control_units:
  - {id: P, system: fire_alarm, room: 1A, standby_current: 0.25 A, alarm_current: 0 A, charger_current: 0.5 A}
""",
    )
    assert (sheet.strings, sheet.size.size_ah, sheet.installed_ah) == (1, 8.0, None)
    assert sheet.recharge_s == pytest.approx(17.6 * HOUR)


def test_a_battery_just_too_small_shows_by_how_much(tmp_path: Path) -> None:
    """24 h of 242.95 mA and 5 min of 0.04 A, margin 1.2: 7.0010 Ah (by hand), which isn't 7 Ah."""
    job = Job(tmp_path, "standby_current: 242.95 mA, alarm_current: 40 mA, battery: {capacity: 7 Ah, blocks: 2}")
    (small,) = (alert for alert in job.warnings if alert.kind == "battery too small")
    assert (small.value, small.limit) == ("7 Ah", "7.001 Ah")


# Sources: NFPA 72-2007 Table 10.4.4, five years from manufacture; the label of 2022, four years from installation
# (trade articles); 2019 goes by capacity and names no month.
@pytest.mark.parametrize(
    ("edition", "made", "installed", "due"),
    [
        ("2016", "2021-04", "", "2026-04"),
        ("2016", "2021-05", "", None),
        ("2022", "2021-04", "2022-04", "2026-04"),
        ("2022", "2021-04", "2022-05", None),
        ("2022", "2020-01", "", None),
        ("2019", "2015-01", "2015-02", None),
    ],
)
def test_a_battery_kept_past_its_month_is_told(
    tmp_path: Path, edition: str, made: str, installed: str, due: str | None
) -> None:
    """Against the date of the job, 2026-05; in that month itself it may still be in service."""
    point = f", installed: {installed}" if installed else ""
    text = (
        f'dropledger: 1\nproject: {{name: T, date: 2026-05-04}}\ncodes: {{fire_alarm: "{edition}"}}\n{ROOM}'
        "control_units: [{id: P, room: 1A, system: fire_alarm, standby_current: 100 mA, alarm_current: 1 A,"
        f" battery: {{capacity: 7 Ah, date_code: {made}}}}}]\n"
        f"test_points: [{{id: TB, kind: battery, control_unit: P{point}}}]\n"
    )
    (tmp_path / "aged.yaml").write_text(text, encoding="utf-8")
    project = load(tmp_path / "aged.yaml").project
    assert project is not None
    found = [alert for alert in battery_alerts(work_out_batteries(project), project) if "past" in alert.kind]
    assert [alert.value for alert in found] == ([] if due is None else [due])
    assert [alert.limit for alert in found] == ["not before 2026-05"] * len(found)


def test_a_time_under_an_hour_is_shown_in_minutes(tmp_path: Path) -> None:
    """The edition of 2019 asks for 24 h and 5 min (NFPA 72-2019, 10.6.7.2.1)."""
    job = Job(tmp_path, "standby_current: 0.1 A, alarm_current: 1 A, standby: 4 h, alarm: 4 min")
    short = [(alert.value, alert.limit) for alert in job.warnings if alert.kind == "time below the code"]
    assert sorted(short) == [("4 h", "24 h"), ("4 min", "5 min")]
