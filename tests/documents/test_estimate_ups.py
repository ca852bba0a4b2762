"""Every way of reckoning a runtime, and powered bundles, as live cells that another program recalculates."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.documents.description import Formula, Table, Verdict
from estimator.documents.estimate_book import estimate_book
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.recalculate import recalculate

JOB = """
dropledger: 1
project: {name: Supplies, lengths_in: m}
rules: {ambient: 45 C}
rooms: [{id: 1A}, {id: 1B}, {id: 1C}]
cables:
  - {id: plain, type: cat6a_utp_plenum}
  - {id: marked, type: cat6a_utp_plenum, limited_power: 0.5 A}
  - {id: tabled, type: cat6a_utp_plenum, bundle_ampacity: 0.5 A, temperature_rating: 75 C}
devices:
  - {id: D, cable: plain, poe_class: 8}
  - {id: E, cable: marked, poe_class: 8}
  - {id: F, cable: tabled, poe_class: 8}
switches:
  - {id: S1, room: 1A, ports: 24, poe_type: 4, poe_budget: 740 W, own_load: 60 W, poe_efficiency_percent: 90,
     ups: CHART}
  - {id: S2, room: 1B, ports: 24, poe_budget: 740 W, ups: BLOCKS}
drops:
  - {id: A1, room: 1A, device: D, length: 40 m, switch: S1}
  - {id: A2, room: 1A, device: E, length: 50 m, switch: S1}
  - {id: A3, room: 1A, device: F, length: 60 m, switch: S1}
ups:
  - {id: CHART, room: 1A, rating: 900 W, runtime: 5 min,
     runtime_curve: [{load: 300 W, time: 30 min}, {load: 900 W, time: 5 min}]}
  - {id: LIGHT, room: 1A, rating: 900 W, loads: [{name: router, power: 9 W}],
     runtime_curve: [{load: 300 W, time: 30 min}, {load: 900 W, time: 5 min}]}
  - {id: HEAVY, room: 1A, rating: 900 W, runtime: 1 min, loads: [{name: heater, power: 890 W}],
     runtime_curve: [{load: 300 W, time: 30 min}, {load: 900 W, time: 5 min}]}
  - {id: BLOCKS, room: 1B, rating: 900 W, battery: {capacity: 9 Ah}, loads: [{name: rack, qty: 3, power: 40 W}],
     runtime_curve: [{block_power: 50 W, time: 60 min}, {block_power: 200 W, time: 8 min}]}
  - {id: STRINGS, room: 1B, rating: 900 W, battery: {capacity: 9 Ah, strings: 2}, loads: [{name: rack, power: 150 W}],
     runtime_curve: [{string_current: 2 A, time: 180 min}, {string_current: 9 A, time: 25 min}]}
  - {id: LAW, room: 1B, rating: 900 W, battery: {capacity: 9 Ah}, battery_kind: gel, runtime: 10 min,
     loads: [{name: rack, apparent_power: 200 VA}]}
  - {id: ENERGY, room: 1C, rating: 900 W, battery: {capacity: 9 Ah}, loads: [{name: rack, power: 200 W}]}
  - {id: NOTHING, room: 1C, rating: 900 W}
"""


@pytest.fixture(scope="module")
def takeoff(tmp_path_factory: pytest.TempPathFactory) -> Takeoff:
    """Return a job with a UPS for each way of reckoning."""
    spec = tmp_path_factory.mktemp("supplies") / "job.yaml"
    spec.write_text(JOB, encoding="utf-8")
    found = load(spec)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return take_off(found.project)


def _rows(takeoff: Takeoff, name: str) -> dict[object, dict[str, object]]:
    sections = estimate_book(takeoff, None).sections
    table = next(block for one in sections for block in one.blocks if isinstance(block, Table) and block.name == name)
    heads = [column.key for column in table.columns]
    return {row[0]: dict(zip(heads, row, strict=True)) for row in table.rows}


def test_another_program_gets_every_runtime_and_current(takeoff: Takeoff, tmp_path: Path) -> None:
    """Curve, law and energy, each by its own formula over the cells of its row."""
    result = recalculate(write_xlsx(estimate_book(takeoff, None)), tmp_path)

    assert result.compared > 100
    assert result.differences == []


def test_each_way_is_named_and_live(takeoff: Takeoff) -> None:
    """A time that nothing tells stays empty; all others are formulas."""
    rows = _rows(takeoff, "ups_runtime")

    assert [row["way"] for row in rows.values()] == [
        "chart of the UPS",
        "chart of the UPS, at least",
        "chart of the UPS",
        "table of block power",
        "table of string current",
        "Peukert's law",
        "energy, which promises too much",
        "nothing is carried",
    ]
    live = {name for name, row in rows.items() if isinstance(row["time_s"], Formula)}
    assert live == {"CHART", "LIGHT", "BLOCKS", "STRINGS", "LAW", "ENERGY"}
    assert rows["HEAVY"]["word"] == Verdict("too short", "bad")
    assert rows["NOTHING"]["time_s"] is None


def test_bundle_is_held_to_its_own_way(takeoff: Takeoff) -> None:
    """A mark is held to the current itself, a table's ampacity to what to look for in it."""
    rows = _rows(takeoff, "bundles")

    words = {name: row["word"].word for name, row in rows.items() if isinstance(row["word"], Verdict)}
    assert words == {"plain": "not judged", "marked": "within its mark", "tabled": "over ampacity"}
    assert rows["plain"]["margin"] is None
    # Source: IEEE 802.3 and NFPA 70, Equation 310.15(B)(1): 0.4327 A; 0.5299 A for 75 C at 45 C.
    margins = {name: row["margin"].value for name, row in rows.items() if isinstance(row["margin"], Formula)}
    assert margins == {"marked": pytest.approx(0.0673, abs=5e-5), "tabled": pytest.approx(-0.0299, abs=5e-5)}


def test_room_says_which_switch_is_not_counted(takeoff: Takeoff) -> None:
    """A switch without its own draw warms the room by a figure that nobody knows."""
    rows = _rows(takeoff, "room_heat")

    assert {name: row["untyped"] for name, row in rows.items()} == {"1A": "", "1B": "S2", "1C": ""}
