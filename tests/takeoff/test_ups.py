"""What each UPS carries, how long it lasts, and the heat of the rooms."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.takeoff.poe import work_out_poe
from estimator.takeoff.room_heat import heat_families, work_out_heat
from estimator.takeoff.ups import OVER, RESERVE, WITHIN, UpsSheet, work_out_ups
from estimator.takeoff.ups_figures import ups_alerts, ups_families
from estimator.takeoff.ups_runtime import ENERGY, IDLE, PEUKERT
from tests.takeoff.evaluated import held, measured, near

ROOM = "rooms: [{id: 1A}, {id: 1B}]\ncables: [{id: C6, type: cat6_utp_riser}]\n"
HOUR = 3600.0


def job(folder: Path, ups: str, rest: str = "") -> tuple[list[UpsSheet], Mapping[str, float], list[str]]:
    """Return the sheets, all figures and the kinds of warnings of a job with one UPS, ``ups`` its keys."""
    project, footage = measured(folder, f"{ROOM}ups: [{{id: U, room: 1A, {ups}}}]\n{rest}")
    poe = work_out_poe(project, footage)
    sheets = work_out_ups(project, poe)
    rooms = work_out_heat(project, poe, sheets)
    figures = held([*ups_families(sheets), *heat_families(rooms)])
    return list(sheets), figures, [alert.kind for alert in ups_alerts(sheets)]


def router(watts: float) -> str:
    """Return a load of so many watts and no growth, so that a test can give figures as they are published."""
    return f"growth_percent: 0, loads: [{{name: router, power: {watts} W}}]"


NEW = "rules: {battery_ageing: 1}\n"


# Source: supply maker's sizing guide: 5,000 VA at a power factor of 0.9 is 4,500 W.
def test_watts_of_a_load_stated_in_volt_amperes(tmp_path: Path) -> None:
    sheets, figures, alerts = job(
        tmp_path, "rating: 5 kW, loads: [{name: rack, apparent_power: 5 kVA, power_factor: 0.9}], growth_percent: 0"
    )

    assert figures["ups.U.load"] == 4500.0
    assert figures["ups.U.load_share"] == 0.9
    assert figures["ups.U.apparent_load"] == near(5000, 1e-9)
    assert (sheets[0].word, sheets[0].runtime_word, alerts) == (WITHIN, "", [])


# Source: industrial supplier's UPS sizing page: 7 Ah at 12 V, 300 W, 0.85: 14.28 min.
def test_runtime_by_energy_says_that_it_promises_too_much(tmp_path: Path) -> None:
    battery = "battery: {capacity: 7 Ah, blocks: 1}, efficiency_percent: 85"
    sheets, figures, alerts = job(tmp_path, f"rating: 400 W, runtime: 10 min, {battery}, {router(300)}", NEW)

    assert figures["ups.U.runtime"] / 60 == near(14.28, 0.005)
    assert sheets[0].runtime.way == ENERGY
    assert alerts == ["runtime promised too long"]
    assert job(tmp_path, f"rating: 400 W, runtime: 15 min, {battery}, {router(300)}", NEW)[2] == [
        "runtime too short",
        "runtime promised too long",
    ]


# Source: IEEE Std 1184 energy formula, published example: 24 V, 18 Ah, 300 W: 1.296 h at an efficiency of 0.9.
def test_runtime_by_energy_of_an_old_battery(tmp_path: Path) -> None:
    keys = f"rating: 400 W, battery: {{capacity: 18 Ah}}, efficiency_percent: 90, {router(300)}"

    assert job(tmp_path, keys, NEW)[1]["ups.U.runtime"] / HOUR == near(1.296, 0.0005)
    # Source: IEEE Std 485: replaced at four fifths of its capacity.
    assert job(tmp_path, keys)[1]["ups.U.runtime"] / HOUR == near(0.8 * 1.296, 0.0005)


# Source: sealed lead-acid sheet, 12 V 40 Ah: 24 Ah over one hour, an exponent of 1.206. 24 A at 10.5 V is 252 W.
@pytest.mark.parametrize(
    "key", ["battery: {capacity: 40 Ah, blocks: 1, one_hour_capacity: 24 Ah}", "PEUKERT"], ids=["sheet", "typed"]
)
def test_runtime_by_peukerts_law(key: str, tmp_path: Path) -> None:
    battery = key.replace("PEUKERT", "peukert_exponent: 1.206, battery: {capacity: 40 Ah, blocks: 1}")
    sheets, figures, alerts = job(tmp_path, f"rating: 400 W, efficiency_percent: 100, {battery}, {router(252)}", NEW)

    assert figures["ups.U.drain"] == near(24, 1e-9)
    # Three digits of exponent: half a one in the last moves the hour by 0.12 %.
    assert figures["ups.U.runtime"] / HOUR == near(1.0, 0.0012)
    assert (sheets[0].runtime.way, alerts) == (PEUKERT, [])


# Source: textbook pages on Peukert's law: 1.05 to 1.15 for absorbed glass mat.
def test_kind_of_battery_brings_the_worse_exponent(tmp_path: Path) -> None:
    battery = "efficiency_percent: 100, battery: {capacity: 40 Ah, blocks: 1}, battery_kind: agm"
    worse = job(tmp_path, f"rating: 400 W, {battery}, {router(252)}", NEW)[1]["ups.U.runtime"]
    typed = job(tmp_path, f"rating: 400 W, {battery}, peukert_exponent: 1.15, {router(252)}", NEW)[1]["ups.U.runtime"]

    assert worse == typed
    alerts = [job(tmp_path, f"rating: 400 W, {battery}, peukert_exponent: {k}, {router(252)}", NEW)[2]
              for k in (1.05, 1.15, 1.04, 1.16)]  # fmt: skip
    assert alerts == [[], [], ["unusual exponent"], ["unusual exponent"]]


SHEET = "runtime_curve: [{string_current: 2 A, time: 20 h}, {string_current: 6.8 A, time: 5 h}, " \
        "{string_current: 24 A, time: 1 h}]"  # fmt: skip


# Source: the same sheet: 3.72 A last 10 h; between 2 A for 20 h and 6.8 A for 5 h the line gives 9.90 h.
def test_runtime_by_the_table_of_the_battery(tmp_path: Path) -> None:
    battery = "efficiency_percent: 100, battery: {capacity: 40 Ah, blocks: 1}"
    _, figures, alerts = job(tmp_path, f"rating: 400 W, {battery}, {SHEET}, {router(3.72 * 10.5)}", NEW)

    assert figures["ups.U.drain"] == near(3.72, 1e-9)
    assert figures["ups.U.runtime"] / HOUR == near(9.90, 0.005)
    assert alerts == []
    two = battery.replace("blocks: 1", "blocks: 1, strings: 2")
    assert job(tmp_path, f"rating: 400 W, {two}, {SHEET}, {router(2 * 3.72 * 10.5)}", NEW)[1]["ups.U.runtime"] == near(
        figures["ups.U.runtime"], 1e-6
    )


CHART = "runtime_curve: [{load: 200 W, time: 40 min}, {load: 100 W, time: 100 min}, {load: 400 W, time: 12 min}]"


def test_chart_of_the_ups_is_read_at_the_load_of_an_old_battery(tmp_path: Path) -> None:
    """IEEE Std 485: at four fifths of its capacity a battery under 160 W is a new one under 200 W."""
    sheets, figures, _ = job(tmp_path, f"rating: 900 W, runtime: 40 min, {CHART}, {router(160)}")

    assert figures["ups.U.drain"] == near(200, 1e-9)
    assert figures["ups.U.runtime"] / 60 == near(40, 1e-9)
    assert sheets[0].runtime_word == "lasts"
    assert job(tmp_path, f"rating: 900 W, {CHART}, {router(200)}", NEW)[1]["ups.U.runtime"] / 60 == near(40, 1e-9)


def test_load_beside_the_chart_is_not_guessed(tmp_path: Path) -> None:
    """Beyond the heaviest point a runtime asked for is missed; under the lightest it lasts that long at least."""
    heavy, figures, alerts = job(tmp_path, f"rating: 900 W, runtime: 1 min, {CHART}, {router(321)}")

    assert "ups.U.runtime" not in figures
    assert (heavy[0].runtime.time_s, heavy[0].runtime_word, alerts) == (None, "too short", ["runtime too short"])

    light, figures, alerts = job(tmp_path, f"rating: 900 W, runtime: 2 h, {CHART}, {router(79)}")

    assert figures["ups.U.runtime"] == 6000.0
    assert (light[0].runtime.at_least, light[0].runtime_word, alerts) == (True, "not judged", ["runtime not known"])
    assert job(tmp_path, f"rating: 900 W, runtime: 100 min, {CHART}, {router(79)}")[2] == []


def test_table_of_block_power_counts_all_blocks(tmp_path: Path) -> None:
    """Four blocks share 170 W at 0.85: 50 W each (conservation of energy)."""
    curve = "runtime_curve: [{block_power: 50 W, time: 30 min}, {block_power: 100 W, time: 9 min}]"
    battery = "efficiency_percent: 85, battery: {capacity: 9 Ah, blocks: 2, strings: 2}"
    _, figures, _ = job(tmp_path, f"rating: 900 W, {battery}, {curve}, {router(170)}", NEW)

    assert figures["ups.U.drain"] == near(50, 1e-9)
    assert figures["ups.U.runtime"] / 60 == near(30, 1e-9)


# Source: petroleum-company engineering standard, filled battery sheet: 10 kVA at 0.8 for half an hour at 0.85,
# 108 cells to 1.75 V, 1.25 for age and 1.1 on top: 34.24 Ah. The tenth on top stands in the growth here.
def test_ampere_hours_for_the_runtime_asked_for(tmp_path: Path) -> None:
    _, figures, _ = job(
        tmp_path,
        "rating: 12 kW, runtime: 30 min, growth_percent: 10, efficiency_percent: 85, "
        "battery: {capacity: 50 Ah, blocks: 18}, loads: [{name: hall, apparent_power: 10 kVA, power_factor: 0.8}]",
    )

    assert figures["ups.U.battery_need"] == near(34.24, 0.005)


def test_growth_and_both_ratings_are_judged(tmp_path: Path) -> None:
    """Within with its growth, then by the reserve, then not even today; volt-amperes count as much as watts."""
    load = "loads: [{name: rack, qty: 4, power: 100 W}]"
    found = [job(tmp_path, f"rating: {watts} W, {load}") for watts in (500, 499, 400, 399)]

    # Source: sizing guides: a quarter of growth where none is typed, 0.9 for a load of unknown factor.
    assert [sheets[0].word for sheets, _, _ in found] == [WITHIN, RESERVE, RESERVE, OVER]
    assert [alerts for _, _, alerts in found] == [[], [RESERVE], [RESERVE], [OVER]]
    assert found[0][1]["ups.U.design_load"] == 500.0
    assert found[0][1]["ups.U.apparent_load"] == near(555.56, 0.005)
    assert job(tmp_path, f"rating: 600 W, apparent_rating: 556 VA, {load}")[0][0].word == WITHIN
    assert job(tmp_path, f"rating: 600 W, apparent_rating: 555 VA, {load}")[2] == [RESERVE]
    assert job(tmp_path, f"rating: 600 W, apparent_rating: 444 VA, {load}")[2] == [OVER]


SWITCH = """
devices: [{id: CAM, cable: C6, poe_class: 3, draw: 9 W}]
switches: [{id: S, room: 1B, ports: 24, poe_budget: 370 W, port_voltage: 54 V, ups: U%s}]
drops: [{id: D1..D4, room: 1B, device: CAM, length: 40 m, switch: S}]
"""


def test_switch_counts_with_what_its_ports_give(tmp_path: Path) -> None:
    """Own draw, four cameras and their cables, over the efficiency of the supply (conservation of energy)."""
    sheets, figures, alerts = job(tmp_path, "rating: 200 W", SWITCH % ", own_load: 30 W, poe_efficiency_percent: 90")
    given = figures["ups.U.load"] - 30

    # A sixth of an ampere over 50 m of 23 AWG, 3.4 ohm a pairset, loses 0.095 W (Joule's law), four times.
    assert given * 0.9 == near(36.38, 0.01)
    assert [load.name for load in sheets[0].carried] == ["switch S"]
    assert alerts == []
    assert job(tmp_path, "rating: 200 W", SWITCH % "")[2] == ["load not known"]


# Source: definitions of the units, 1 W is 3.412142 BTU/h and a ton of refrigeration 12,000 BTU/h.
def test_heat_of_each_room(tmp_path: Path) -> None:
    """The switch warms its own room, the UPS and what else it carries warm the other."""
    loads = "loads: [{name: router, power: 40 W}, {name: radio, power: 15 W, elsewhere: yes}], efficiency_percent: 85"
    _, figures, _ = job(tmp_path, f"rating: 200 W, {loads}", SWITCH % ", own_load: 30 W")
    carried = figures["ups.U.load"]

    assert figures["room.1B.equipment_heat"] == near(30, 1e-9)
    assert figures["room.1B.heat"] == near(30.38, 0.01)
    assert figures["room.1A.equipment_heat"] == near(40 + carried * (1 / 0.85 - 1), 1e-9)
    assert figures["room.1A.heat"] == figures["room.1A.equipment_heat"]
    assert figures["room.1A.cooling"] == near(3.412142 * figures["room.1A.heat"], 1e-9)
    assert figures["room.1A.cooling_tons"] == near(figures["room.1A.cooling"] / 12000, 1e-12)


def test_ups_that_carries_nothing_has_no_runtime(tmp_path: Path) -> None:
    """Nothing to carry is no warning, whatever is asked."""
    sheets, figures, alerts = job(tmp_path, "rating: 200 W, runtime: 9 min, battery: {capacity: 9 Ah}")

    assert (sheets[0].runtime.way, sheets[0].need_ah, alerts) == (IDLE, None, [])
    assert "ups.U.runtime" not in figures


def test_runtime_asked_for_without_a_battery_is_not_known(tmp_path: Path) -> None:
    """What nothing tells is said, not guessed."""
    assert job(tmp_path, f"rating: 200 W, runtime: 9 min, {router(50)}")[2] == ["runtime not known"]
    assert job(tmp_path, f"rating: 200 W, {router(50)}")[2] == []
