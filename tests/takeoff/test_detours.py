"""A way around an overfull segment is named, clears it once typed, and changes nothing before."""

from __future__ import annotations

import random
import re
import time
from pathlib import Path

import pytest

from estimator.spec.ranges import expand
from estimator.takeoff.alerts import Alert
from estimator.takeoff.takeoff import Takeoff, alerts_of
from tests.takeoff.test_footage import FOOT, HEAD, taken

JOB = HEAD.replace('{id: n2, floor: "1"}', '{id: n2, floor: "1"}, {id: n3, floor: "1"}, {id: n4, floor: "1"}')
C1 = '  - {id: C1, from: 1A, to: n1, length: 40 ft, kind: conduit, trade_size: "1"}\n'
LONGER = """\
  - {id: C2, from: 1A, to: n3, length: 45 ft, kind: conduit, trade_size: "1"}
  - {id: T3, from: n3, to: n1, length: 9 ft, kind: tray, width: 12 in, depth: 4 in}
"""
LONGEST = """\
  - {id: C4, from: 1A, to: n4, length: 60 ft, kind: conduit, trade_size: 1-1/4}
  - {id: T5, from: n4, to: n1, length: 10 ft, kind: tray, width: 12 in, depth: 4 in}
"""


def drops(number: int, *, at: str = "n1", device: str = "data", first: int = 1) -> str:
    """Drops one a line, so that each can be sent its own way."""
    return "".join(f"  - {{id: A{n:02}, room: 1A, at: {at}, device: {device}}}\n" for n in range(first, first + number))


def ways(job: Takeoff) -> list[Alert]:
    return [alert for alert in alerts_of(job) if alert.kind == "way around"]


def kinds(job: Takeoff) -> set[str]:
    return {alert.kind for alert in alerts_of(job)}


def typed(text: str, alert: Alert) -> str:
    """The project file with what a suggestion asks for."""
    found = re.findall(r"`via: (\S+?|\[.*?\])` on ((?:[\w.-]+(?:, )?)+)", alert.advice)
    assert found, alert.advice
    for via, names in found:
        for name in (name for part in names.split(", ") if part for name in expand(part)):
            text, count = re.subn(rf"\{{id: {name}, ", f"{{id: {name}, via: {via}, ", text)
            assert count == 1, name
    return text


def feet_more(alert: Alert) -> float:
    found = re.search(r"stay for ([\d.]+) ft", alert.value)
    assert found, alert.value
    return float(found.group(1))


def feet(job: Takeoff) -> float:
    return sum(length.expected_m for length in job.footage.lengths) / FOOT


# Source: NFPA 70, Chapter 9, Tables 1 and 4: eight cables of 0.225 in are 36.8 % of a 1 in EMT, nine 41.4 %.
# By hand: 45 + 9 ft instead of 40 ft are 14 ft more; twelve cables less four are eight.
def test_the_suggestion_names_drops_via_and_feet(tmp_path: Path) -> None:
    job = taken(tmp_path, JOB + "pathways:\n" + C1 + LONGER + "drops:\n" + drops(12))

    (alert,) = ways(job)
    assert alert.subject == "C1"
    assert alert.text == "4 cables have a longer way around conduit C1"
    assert alert.value == "36.8% stay for 56.0 ft (17.1 m) more cable, 14.0 ft (4.3 m) at most on one"
    assert alert.limit == "40.0%"
    assert alert.advice == "type `via: C2` on A01..A04; no length changes until you do"


def test_typing_it_clears_the_warning_and_adds_the_feet(tmp_path: Path) -> None:
    text = JOB + "pathways:\n" + C1 + LONGER + "drops:\n" + drops(12)
    before = taken(tmp_path, text)
    (alert,) = ways(before)
    after = taken(tmp_path, typed(text, alert))

    assert "overfull" in kinds(before)
    assert not {"overfull", "way around"} & kinds(after)
    assert feet(after) - feet(before) == pytest.approx(feet_more(alert), abs=0.05)  # as printed


@pytest.mark.parametrize(
    "other",
    [
        "",  # no other way
        '  - {id: C2, from: 1A, to: n1, length: 45 ft, kind: conduit, trade_size: "1/2"}\n',  # holds no four
        "  - {id: T2, from: 1A, to: n1, length: 300 ft, kind: tray, width: 12 in, depth: 4 in}\n",  # over 90 m
    ],
    ids=["none", "too small", "too long"],
)
def test_nothing_is_said_where_the_other_way_does_not_serve(other: str, tmp_path: Path) -> None:
    job = taken(tmp_path, JOB + "pathways:\n" + C1 + other + "drops:\n" + drops(12))

    assert "overfull" in kinds(job)
    assert ways(job) == []


@pytest.mark.parametrize(("circuit_class", "number"), [("communications", 1), ("power", 0)])
def test_what_must_be_kept_apart_is_not_sent_together(circuit_class: str, number: int, tmp_path: Path) -> None:
    other = f"{{id: OLD, type: c18_2, jacket: CMP, class: {circuit_class}, od: 0.2 in}}"
    head = JOB.replace("cables: [", f"cables: [{other}, ")
    tray = "  - {id: T2, from: 1A, to: n1, length: 45 ft, kind: tray, width: 12 in, depth: 4 in, "
    text = head + "pathways:\n" + C1 + tray + "existing: [{cable: OLD, qty: 1}]}\ndrops:\n" + drops(12)

    assert len(ways(taken(tmp_path, text))) == number


def test_a_jacket_that_the_other_way_forbids_is_not_sent_there(tmp_path: Path) -> None:
    head = JOB.replace("type: cat6_utp_plenum", "type: cat6_utp_riser")
    open_way = "  - {id: J2, from: 1A, to: n1, length: 45 ft, kind: j_hooks, space: SPACE}\n"
    for space, number in (("general", 1), ("plenum", 0)):
        text = head + "pathways:\n" + C1 + open_way.replace("SPACE", space) + "drops:\n" + drops(12)
        assert len(ways(taken(tmp_path, text))) == number


def test_where_the_nearest_way_fills_up_the_next_one_takes_the_rest(tmp_path: Path) -> None:
    """Eight in the second conduit, fourteen more than the two hold in the third."""
    text = JOB + "pathways:\n" + C1 + LONGER + LONGEST + "drops:\n" + drops(24)
    (alert,) = ways(taken(tmp_path, text))

    assert "`via: C2` on A01..A08, `via: C4` on A09..A16" in alert.advice
    assert not {"overfull", "way around"} & kinds(taken(tmp_path, typed(text, alert)))


def test_two_overfull_segments_in_a_row_are_cleared_by_one_suggestion(tmp_path: Path) -> None:
    row = C1.replace("to: n1", "to: n2") + C1.replace("C1", "C3").replace("from: 1A", "from: n2")
    around = LONGER.replace("45 ft", "95 ft")
    text = JOB + "pathways:\n" + row + around + "drops:\n" + drops(12)
    job = taken(tmp_path, text)

    assert [alert.kind for alert in alerts_of(job)].count("overfull") == 2
    (alert,) = ways(job)
    assert not {"overfull", "way around"} & kinds(taken(tmp_path, typed(text, alert)))


def test_a_drop_that_has_its_via_is_left_there(tmp_path: Path) -> None:
    forced = drops(12).replace("at: n1", "at: n1, via: C1")

    assert ways(taken(tmp_path, JOB + "pathways:\n" + C1 + LONGER + "drops:\n" + forced)) == []


def test_both_cables_of_a_drop_go_together(tmp_path: Path) -> None:
    """Six drops of two cables: two drops have to leave, with four cables."""
    head = JOB.replace("devices: [", "devices: [{id: pair, cable: [C6, C6]}, ")
    text = head + "pathways:\n" + C1 + LONGER + "drops:\n" + drops(6, device="pair")
    (alert,) = ways(taken(tmp_path, text))

    assert alert.text.startswith("4 cables")
    assert alert.value.startswith("36.8% stay for 56.0 ft")
    assert "on A01..A02;" in alert.advice
    assert not {"overfull", "way around"} & kinds(taken(tmp_path, typed(text, alert)))


def test_drops_on_the_plan_are_sent_around_too(tmp_path: Path) -> None:
    head = JOB
    for place, x in (("1A", 0), ("n1", 40), ("n2", 80)):
        head = head.replace(f'{{id: {place}, floor: "1"}}', f'{{id: {place}, floor: "1", x: {x}, y: 0}}')
    tray = "  - {id: T6, from: n1, to: n2, length: 40 ft, kind: tray, width: 12 in, depth: 4 in}\n"
    placed = "".join(f"  - {{id: A{n:02}, room: 1A, x: {44 + n}, y: 5, device: data}}\n" for n in range(1, 13))
    text = head + "plan: {unit: 1 ft}\npathways:\n" + C1 + LONGER + tray + "drops:\n" + placed
    before = taken(tmp_path, text)
    (alert,) = ways(before)
    after = taken(tmp_path, typed(text, alert))

    assert not {"overfull", "way around"} & kinds(after)
    assert feet(after) - feet(before) == pytest.approx(feet_more(alert), abs=0.05)  # as printed


def random_job(case: int) -> str:
    """A grid of small conduits with more drops than the short ways hold."""
    chance = random.Random(f"detours {case}")
    side = 4
    names = [f"g{x}{y}" for x in range(side) for y in range(side)]
    pairs = [(f"g{x}{y}", f"g{a}{b}") for x in range(side) for y in range(side)
             for a, b in ((x + 1, y), (x, y + 1)) if a < side and b < side]  # fmt: skip
    text = JOB.replace(
        '{id: n1, floor: "1"}', ", ".join(f"{{id: {name}}}" for name in names) + ', {id: n1, floor: "1"}'
    )
    text += "pathways:\n  - {id: R, from: 1A, to: g00, length: 5 ft, kind: open}\n"
    for number, (start, end) in enumerate(pairs):
        size = chance.choice(["3/4", "1", "1-1/4", "2"])
        length = chance.randint(8, 30)
        text += f"  - {{id: G{number:02}, from: {start}, to: {end}, length: {length} ft, "
        text += f'kind: conduit, trade_size: "{size}"}}\n'
    text += "drops:\n"
    for number in range(1, 31):
        text += f"  - {{id: A{number:02}, room: 1A, at: {chance.choice(names[5:])}, device: data}}\n"
    return text


@pytest.mark.parametrize("case", range(12))
def test_every_suggestion_of_a_random_job_holds_once_all_are_typed(case: int, tmp_path: Path) -> None:
    text = random_job(case)
    before = taken(tmp_path, text)
    suggested = ways(before)
    for alert in suggested:
        text = typed(text, alert)
    after = taken(tmp_path, text)

    full = {alert.subject for alert in alerts_of(before) if alert.kind == "overfull"}
    still = {alert.subject for alert in alerts_of(after) if alert.kind == "overfull"}
    assert still <= full - {alert.subject for alert in suggested}
    assert kinds(after) <= kinds(before)
    assert feet(after) - feet(before) == pytest.approx(sum(map(feet_more, suggested)), abs=0.05 * len(suggested) + 1e-6)


def test_random_jobs_do_have_suggestions(tmp_path: Path) -> None:
    """Else the test above would hold for want of any."""
    assert sum(len(ways(taken(tmp_path, random_job(case)))) for case in range(12)) >= 8


def test_many_overfull_segments_hold_nobody_up(tmp_path: Path) -> None:
    text = JOB + "pathways:\n"
    for number in range(60):
        text += C1.replace("C1", f"C{number}").replace("from: 1A", f"from: {'1A' if not number else f'm{number - 1}'}")
        text = text.replace("to: n1,", f"to: m{number},")
    text = text.replace("nodes: [", "nodes: [" + "".join(f"{{id: m{n}}}, " for n in range(60)))
    text += "  - {id: L, from: 1A, to: m59, length: 2600 ft, kind: tray, width: 12 in, depth: 4 in}\ndrops:\n"
    text += "".join(f"  - {{id: D{n:04}, room: 1A, at: m{n % 60}, device: data}}\n" for n in range(2000))
    job = taken(tmp_path, text)

    began = time.perf_counter()
    ways(job)
    assert time.perf_counter() - began < 5  # about 0.5 s on an idle machine
