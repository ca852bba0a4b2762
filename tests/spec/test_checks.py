"""Checks across records: identity in the whole job, adopted codes, acceptance and what circuits need."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.spec.test_load import HEAD, faults, project

ALARM = """\
control_units: [{id: P, system: fire_alarm, room: 1A, standby_current: 0.1 A, alarm_current: 0.2 A%(unit)s}]
devices: [{id: data, cable: C6}, {id: horn, system: fire_alarm, settings: {15cd: 66 mA}}]
circuits: [{id: C1, kind: notification, source: P, cable: fplp_14_2, devices: [{device: horn, distance: 9 m}]%(more)s}]
"""
PLAIN = HEAD.replace("devices: [{id: data, cable: C6}]\n", "")
FIBER = "backbone: [{id: 1A/1B-1, from: 1A, to: 1B, cable: of_12_om4_ofnp, length: 9 m, reference: one_cord}]\n"
SIGNED = "reason: r, name: n, role: owner, date: 2026-01-02, reference: x"


def alarm(unit: str = "", more: str = "", rest: str = "") -> str:
    """Return a job with a notification circuit; ``unit`` and ``more`` are further keys of unit and circuit."""
    return PLAIN + ALARM % {"unit": unit, "more": more} + rest


def fiber(rest: str) -> str:
    """Return a job with a fiber cable of twelve strands between two rooms."""
    return HEAD.replace("rooms: [", "rooms: [{id: 1B}, ") + FIBER + rest


def accepted(listed: str, circuit: str) -> str:
    """Return an acceptance block with one signed entry."""
    return f"acceptance: {{{listed}: [{{circuit: {circuit}, {SIGNED}}}]}}\n"


IDENTITY = [
    (alarm(rest="test_points: [{id: c1, kind: bonding}]\n"), "test point 'c1' has the id of circuit 'C1'"),
    (alarm(rest="power_supplies: [{id: p, room: 1A, voltage: 24 V, rating: 4 A}]\n"),
     "power supply 'p' has the id of control unit 'P'"),
    (HEAD.replace("{id: n1}", "{id: n1}, {id: 1a}"), "node '1a' has the id of room '1A'"),
    (fiber("test_points: [{id: 1A/1B-1.12, kind: bonding}]\n"), "is named like a strand of fiber cable '1a/1b-1'"),
]  # fmt: skip

CODES = [  # sources of the limits: conduit_fill, tray_fill, j_hooks and nac_start of the reference tables
    (HEAD + "rules: {max_fill_conduit_percent: 65}\n", "is looser than the adopted code; expected at most 40 percent"),
    (HEAD + "rules: {max_fill_tray_percent: 55}\n", "is looser than the adopted code; expected at most 50 percent"),
    (HEAD + "rules: {hook_spacing: 6 ft}\n", "`hook_spacing` is looser than the adopted code; expected at most 5 ft"),
    (HEAD.replace("kind: open", "kind: conduit, trade_size: '1', max_fill_percent: 54"), "at most 53 percent"),
    (HEAD.replace("kind: open", "kind: tray, width: 6 in, depth: 2 in, max_fill_percent: 51"), "at most 50 percent"),
    (alarm(more=", start_voltage: 24 V"), "circuit 'C1' starts at 24 V; expected 20.4 V (85 % of 24 V"),
    (alarm(unit=", start_voltage: 21 V"), "control unit 'P' starts at 21 V"),
    (alarm(unit=", voltage: 12 V, start_voltage: 10.3 V"), "expected 10.2 V"),
]  # fmt: skip

SIGNATURES = [
    (alarm(rest=accepted("accepted", "c1")), "a marginal result of life-safety circuit 'c1' is accepted"),
    (fiber(accepted("waivers", "1A/1B-1.13")), "circuit '1A/1B-1.13' is not declared"),
    (fiber(accepted("waivers", "1A/1B-1.07")), "circuit '1A/1B-1.07' is not declared"),
    (fiber("acceptance: {not_tested: [{circuit: 1A/1B-1.3, state: not_sampled}]}\n"), "a sample that nothing states"),
    (HEAD + "acceptance: {sampling: [{cable: C7, percent: 10}]}\n", "cable 'C7' is not declared"),
    (HEAD + "acceptance: {cables: [{cable: C6, tests: length}, {cable: C6, tests: skew}]}\n", "is named twice"),
    (HEAD + "acceptance: {instruments: [{id: M, kind: meter, media: two_conductor}]}\n",
     "'two_conductor' is none of the words known here; expected one of balanced_pair, coax, conductors"),
    (HEAD + "closeout: {registers: [{circuit: Q9}]}\n", "circuit 'Q9' is not declared"),
    (HEAD + "closeout: {firestop: [{segment: S9, system: FS}]}\n", "segment 'S9' is not declared"),
]  # fmt: skip

CIRCUITS = [
    (HEAD.replace("{id: n1}", '{id: n1, floor: "3"}') + 'plan: {floors: ["1", "2"]}\n', "floor '3' is not declared"),
    (HEAD + "drops: [{id: X1..X3, room: 1A, x: 4, y: 2, device: data}]\n", "nothing says how long a unit of them is"),
    (alarm(more=", class: X"), "class X circuit 'C1' has no return"),
    (alarm(more=", return: 9 m"), "class B circuit 'C1' has a return"),
    (alarm(more=", via: T1"), "`via` leads to no place"),
    (alarm(more=", at: n2").replace("{id: n1}", "{id: n1}, {id: n2}"), "no pathway leads from room '1A' to node 'n2'"),
    (alarm().replace("devices: [{device: horn, distance: 9 m}]", "devices: []"), "the list is empty"),
    (alarm().replace("[{device: horn,", "[{id: H1, device: horn, distance: 9 m}, {id: h1, device: horn,"),
     "circuit 'C1' has the device 'h1' twice"),
    (HEAD + "drops: [{id: X, room: 1A, at: n1, device: data, setting: 75cd}]\n", "device 'data' has no setting '75cd'"),
    (HEAD + "switches: [{id: S, room: 1A, ports: 8, ups: U}]\n", "UPS 'U' is not declared"),
    (HEAD.replace("40 ft, kind: open", "20 in, rise: 5 in, kind: conduit, trade_size: '2', nipple: yes"),
     "nipple 'T1' is 25 in long"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "wrong"), [*IDENTITY, *CODES, *SIGNATURES, *CIRCUITS])
def test_each_mistake_is_one_fault(text: str, wrong: str, tmp_path: Path) -> None:
    """One mistake, one line that names it."""
    found = faults(tmp_path, text)
    assert len(found) == 1, found
    assert wrong in found[0]


@pytest.mark.parametrize(
    "text",
    [
        fiber(accepted("waivers", "1a/1b-1.12")),
        fiber(accepted("accepted", "1A/1B-1.1")),
        fiber("acceptance: {sampling: [{cable: of_12_om4_ofnp, percent: 50}],"
              " not_tested: [{circuit: 1A/1B-1.2, state: not_sampled}]}\n"),
        HEAD + "drops: [{id: X, room: 1A, at: n1, device: data}]\n" + accepted("accepted", "x"),
        alarm(rest=accepted("waivers", "c1")),
        alarm(unit=", start_voltage: 22 V, start_listing: control unit's own", more=", start_voltage: 22 V"),
        alarm(more=", class: A, return: 9 m, at: n1, via: T1"),
    ],
)  # fmt: skip
def test_what_is_right_has_no_fault(text: str, tmp_path: Path) -> None:
    """Strands and ids in another case are known; a listing allows a higher start; a waiver is no acceptance."""
    project(tmp_path, text)


def test_rules_of_a_metric_job_and_heights_of_the_plan(tmp_path: Path) -> None:
    """Cuts go by 0.1 m; ceiling less outlet is the vertical leg, unless a rule types it."""
    feet = project(tmp_path, HEAD + "plan: {ceiling: 10 ft, outlet_height: 18 in}\n").rules
    assert (feet.cut_to_m, feet.drop_height_m) == (0.3048, pytest.approx(8.5 * 0.3048))
    assert "ceiling height less outlet height" in feet.ruled("drop_height_m").source
    meters = project(tmp_path, HEAD.replace("{name: T}", "{name: T, lengths_in: m}")).rules
    assert (meters.cut_to_m, meters.drop_height_m) == (0.1, 3.048)
    both = HEAD + "plan: {ceiling: 10 ft, outlet_height: 18 in}\nrules: {drop_height: 7 ft, cut_to: 2 ft}\n"
    typed = project(tmp_path, both).rules
    assert (typed.cut_to_m, typed.drop_height_m) == pytest.approx((0.6096, 7 * 0.3048))
