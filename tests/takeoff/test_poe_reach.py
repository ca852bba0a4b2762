"""How far power reaches, over which pins, and how warm its bundles may get."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.takeoff.alerts import Alert
from estimator.takeoff.poe import CANNOT, TOO_LOW, TOO_MUCH, WORKS, PoE, work_out_poe
from estimator.takeoff.poe_bundles import MARKED, OVER, UNJUDGED, WARM, WITHIN, bundle_families, hot_cables
from estimator.takeoff.poe_figures import poe_alerts, poe_families
from estimator.takeoff.poe_reach import gauge_that_works, power_pins, reversed_pins, way_out
from tests.takeoff.evaluated import held, measured, near

JOB = """
rooms: [{id: 1A}]
rules: {poe_cords: 0 m%(rules)s}
cables: [{id: C, type: cat5e_utp_riser, gauge: 26, ohm_per_m: 0.134%(cable)s}]
devices: [{id: D, cable: C, %(device)s}]
switches: [{id: S, room: 1A, ports: 24, poe_budget: 2 kW%(switch)s}]
drops: [{id: X, room: 1A, device: D, length: %(length)s, switch: S}]
"""


def job(
    folder: Path, device: str, length: str = "50 m", switch: str = ", poe_type: 4", cable: str = "", rules: str = ""
) -> tuple[PoE, list[Alert]]:
    """Return the power of a job with one device, and its warnings."""
    typed = {"device": device, "length": length, "switch": switch, "cable": cable, "rules": rules}
    project, footage = measured(folder, JOB % typed)
    poe = work_out_poe(project, footage)
    held(poe_families(poe, project))
    return poe, list(poe_alerts(poe, project))


# Source: closed form of IEEE 802.3 clause 33: 25.5 W at 50 V hold 42.5 V over 12.5 ohm, which is 93.28 m of a
# conductor of 0.134 ohm/m at 20 C, two of them each way.
def test_longest_run_is_where_the_class_just_holds(tmp_path: Path) -> None:
    rules = ", ambient: 20 C, bundle_rise_k: 0"
    poe, alerts = job(tmp_path, "poe_class: 4", "93.2 m", ", poe_type: 2", rules=rules)
    far, warned = job(tmp_path, "poe_class: 4", "93.3 m", ", poe_type: 2", rules=rules)

    assert poe.devices[0].longest_m == near(93.28, 0.005)
    assert (poe.devices[0].word, alerts) == (WORKS, [])
    assert (far.devices[0].word, [one.kind for one in warned]) == (TOO_LOW, ["volts too low"])
    assert warned[0].advice == "shorten the run to 93.3 m at the most, or pull a 24 AWG cable"


def test_cords_are_taken_off_the_longest_run(tmp_path: Path) -> None:
    """Cords take from the run what they are long; a load of nothing has no longest run."""

    def longest(cords: str, device: str = "poe_class: 4") -> float | None:
        typed = {"device": device, "length": "50 m", "switch": ", poe_type: 2", "cable": "", "rules": ""}
        project, footage = measured(tmp_path, (JOB % typed).replace("poe_cords: 0 m", f"poe_cords: {cords}"))
        return work_out_poe(project, footage).devices[0].longest_m

    bare = longest("0 m")
    assert bare is not None
    assert longest("10 m") == near(bare - 10, 1e-9)
    assert longest("100 m") == 0.0
    assert longest("0 m", "poe_class: 4, draw: 0 W") is None


@given(length_m=st.floats(1, 500), device_w=st.floats(1, 25.5), port_v=st.floats(50, 57))
def test_device_works_up_to_its_longest_run_and_no_further(
    length_m: float, device_w: float, port_v: float, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The word over the volts and the watts, and the length, are one and the same limit."""
    typed = f"poe_class: 4, draw: {device_w:.3f} W"
    switch = f", poe_type: 2, port_voltage: {port_v:.3f} V"
    poe, _ = job(tmp_path_factory.mktemp("job"), typed, f"{length_m:.3f} m", switch)
    one = poe.devices[0]

    assert one.longest_m is not None
    if abs(one.longest_m - one.length.expected_m) > 1e-6:
        assert (one.word == WORKS) == (one.longest_m > one.length.expected_m)


# Source: IEEE 802.3: a port need give a class 3 device no more than 15.4 W. At 57 V its 37 V would be reached
# only far beyond that: 12.95 W over 60 ohm draw 0.37 A and 21 W.
def test_port_need_not_give_more_than_the_class(tmp_path: Path) -> None:
    poe, alerts = job(tmp_path, "poe_class: 3", "350 m", ", poe_type: 2, port_voltage: 57 V")
    one = poe.devices[0]

    assert one.device_v is not None
    assert one.device_v > 37.0
    assert (one.word, [alert.kind for alert in alerts]) == (TOO_MUCH, [TOO_MUCH])
    assert alerts[0].limit == "15.4 W"


def test_draw_above_the_class_is_told_once(tmp_path: Path) -> None:
    """The type of device is wrong, not each of its cables."""
    poe, alerts = job(tmp_path, "poe_class: 3, draw: 16 W", "20 m", ", poe_type: 2, port_voltage: 57 V")

    assert poe.devices[0].word == TOO_MUCH
    assert [alert.kind for alert in alerts] == ["draw above the class"]


def test_next_gauge_that_works_is_named(tmp_path: Path) -> None:
    """26 AWG resists 1.59, 2.01 and 2.53 times as much as 24, 23 and 22 (ASTM B258, ratio 92 over 39 steps)."""
    rules = ", ambient: 20 C, bundle_rise_k: 0"
    found = {}
    for meters in (94, 147, 150, 186, 190, 235, 240):
        poe, _ = job(tmp_path, "poe_class: 4", f"{meters} m", ", poe_type: 2", rules=rules)
        found[meters] = gauge_that_works(poe.devices[0])

    assert found == {94: 24, 147: 24, 150: 23, 186: 23, 190: 22, 235: 22, 240: None}


def test_way_out_of_a_port_with_too_few_volts(tmp_path: Path) -> None:
    """Where the port has no more than the device needs, no cable helps."""
    poe, alerts = job(tmp_path, "poe_class: 3, least_voltage: 44 V", "20 m", ", poe_type: 1, port_voltage: 44 V")
    project, _ = measured(tmp_path, "rooms: [{id: 1A}]\n")

    assert [alert.kind for alert in alerts] == ["volts too low"]
    assert gauge_that_works(poe.devices[0]) is None
    assert way_out(poe.devices[0], project).startswith("no gauge of data cable carries it")
    assert gauge_that_works(replace(poe.devices[0], draw_w=0.0, least_v=0.0)) is None


def test_load_without_a_solution_is_told_its_way_out(tmp_path: Path) -> None:
    poe, alerts = job(tmp_path, "poe_class: 4", "250 m", ", poe_type: 2")

    assert (poe.devices[0].word, poe.devices[0].current_a) == (CANNOT, None)
    assert alerts[0].advice.startswith("shorten the run to ")


# Source: IEEE 802.3, interface volts: 44 to 57 V of type 1, 50 to 57 V of type 2.
@pytest.mark.parametrize(
    ("kind", "volts", "warned"),
    [(1, 44, []), (1, 43.9, ["port volts"]), (2, 50, []), (2, 49.9, ["port volts"]), (2, 57, []),
     (2, 57.1, ["port volts"])],
)  # fmt: skip
def test_port_volts_are_held_to_the_type(kind: int, volts: float, warned: list[str], tmp_path: Path) -> None:
    _, alerts = job(tmp_path, "poe_class: 1", "20 m", f", poe_type: {kind}, port_voltage: {volts} V")

    assert [alert.kind for alert in alerts] == warned


# Source: IEEE 802.3: 0.35 A a pairset of type 1. A 36 V port drives 12.95 W with 0.37 A over a short cable.
def test_low_port_volts_ask_for_too_much_current(tmp_path: Path) -> None:
    _, alerts = job(tmp_path, "poe_class: 3, least_voltage: 30 V", "5 m", ", poe_type: 1, port_voltage: 36 V")

    assert [alert.kind for alert in alerts] == ["current above the type", "port volts"]
    _, alerts = job(tmp_path, "poe_class: 3, least_voltage: 30 V", "5 m", ", poe_type: 2, port_voltage: 36 V")

    assert [alert.kind for alert in alerts] == ["port volts"]


# Source: IEEE 802.3: type 1 runs over category 3, the others ask for category 5 or better.
@pytest.mark.parametrize(
    ("category", "number", "warned"),
    [("3", 3, []), ("3", 4, ["cabling below the type"]), ("5e", 4, []), ("6A", 8, ["ampacity of bundles"])],
)
def test_cabling_is_held_to_the_type(category: str, number: int, warned: list[str], tmp_path: Path) -> None:
    _, alerts = job(tmp_path, f"poe_class: {number}", "20 m", cable=f", category: {category}")

    assert [alert.kind for alert in alerts] == warned


# Source: IEEE 802.3, Tables 33-2 and 145-3.
@pytest.mark.parametrize(
    ("device", "switch", "sets"),
    [
        ("poe_class: 3", "", [("A or B", "1, 2", "3, 6"), ("A or B", "4, 5", "7, 8")]),
        ("poe_class: 3", ", poe_pairs: A", [("A", "1, 2", "3, 6")]),
        ("poe_class: 4", ", poe_pairs: B", [("B", "4, 5", "7, 8")]),
        ("poe_class: 5", ", poe_pairs: B", [("A and B", "1, 2", "3, 6"), ("A and B", "4, 5", "7, 8")]),
    ],
)
def test_pins_that_carry_power(device: str, switch: str, sets: list[tuple[str, str, str]], tmp_path: Path) -> None:
    poe, _ = job(tmp_path, device, "20 m", f", poe_type: 3{switch}")
    found = list(power_pins(poe.devices))

    assert [(one.alternatives, *one.pins) for one in found] == sets
    assert all(one.circuits == ("X",) and reversed_pins(one) for one in found)


# Source: NFPA 70-2023, Equation 310.15(B)(1) on 90 W, 52 V and four pairs at 45 C: 0.4327 A a conductor,
# 0.6119 A in a table of 60 C cable at 30 C, 0.5299 A in one of 75 C cable.
@pytest.mark.parametrize(
    ("cable", "table_a", "word"),
    [
        ("", 0.6119, UNJUDGED),
        (", temperature_rating: 75 C", 0.5299, UNJUDGED),
        (", bundle_ampacity: 0.612 A", 0.6119, WITHIN),
        (", bundle_ampacity: 0.611 A", 0.6119, OVER),
        (", temperature_rating: 75 C, bundle_ampacity: 0.53 A", 0.5299, WITHIN),
        (", limited_power: 0.433 A", 0.6119, MARKED),
        (", limited_power: 0.432 A", 0.6119, OVER),
        (", limited_power: 0.432 A, bundle_ampacity: 0.63 A", 0.6119, WITHIN),
        (", limited_power: 0.5 A, bundle_ampacity: 0.5 A", 0.6119, MARKED),
    ],
)
def test_current_to_look_for_in_the_codes_table(cable: str, table_a: float, word: str, tmp_path: Path) -> None:
    project, footage = measured(
        tmp_path,
        JOB % {"device": "poe_class: 8", "length": "20 m", "switch": ", poe_type: 4", "cable": cable,
               "rules": ", ambient: 45 C"},
    )  # fmt: skip
    poe = work_out_poe(project, footage)
    hot = hot_cables(poe, project)
    figures = held(bundle_families(hot, project))

    assert figures["bundle.C-class-8.conductor_current"] == near(0.4327, 0.00005)
    assert figures["bundle.C-class-8.table_current"] == near(table_a, 0.00005)
    assert hot[0].word == word
    kinds = {UNJUDGED: ["ampacity of bundles"], OVER: ["over ampacity"]}.get(word, [])
    assert [alert.kind for alert in poe_alerts(poe, project)] == kinds
    judged = [family.judge(0) for family in bundle_families(hot, project) if family.judge is not None]
    margins = [one.margin for one in judged if one is not None]
    assert [margin < 0 for margin in margins] == {UNJUDGED: [], OVER: [True]}.get(word, [False])


def test_code_asks_for_an_ampacity_above_sixty_watts_only(tmp_path: Path) -> None:
    """NFPA 70, 725.144: class 6 gives just 60 W; class 7 is above, whatever its device draws."""
    found = []
    for number, draw in ((6, 51), (7, 20)):
        folder = tmp_path / str(number)
        folder.mkdir()
        poe, _ = job(folder, f"poe_class: {number}, draw: {draw} W", "5 m")
        project, _ = measured(folder, "rooms: [{id: 1A}]\n")
        found.append([one.number for one in hot_cables(poe, project)])

    assert found == [[], [7]]


def test_surroundings_as_warm_as_the_jacket_leave_no_ampacity(tmp_path: Path) -> None:
    poe, alerts = job(tmp_path, "poe_class: 8", "20 m", rules=", ambient: 60 C")
    project, _ = measured(tmp_path, "rooms: [{id: 1A}]\nrules: {ambient: 60 C}\n")
    hot = hot_cables(poe, project)

    assert (hot[0].word, hot[0].table_a, hot[0].judged_a) == (WARM, None, None)
    assert [alert.kind for alert in alerts] == ["over ampacity"]
    assert alerts[0].limit == "surroundings under 60 C"


# Source: TIA TSB-184-A: 45 C around a bundle and 15 K in it reach the usual 60 C of a jacket.
def test_jacket_gets_as_warm_as_ambient_and_rise(tmp_path: Path) -> None:
    device, length = "poe_class: 3", "20 m"
    kinds = [
        [alert.kind for alert in job(tmp_path, device, length, ", poe_type: 2", cable, rules)[1]]
        for cable, rules in (
            ("", ", ambient: 45 C, bundle_rise_k: 15"),
            ("", ", ambient: 45.5 C, bundle_rise_k: 15"),
            (", temperature_rating: 75 C", ", ambient: 45.5 C, bundle_rise_k: 15"),
        )
    ]

    assert kinds == [[], ["jacket too warm"], []]
