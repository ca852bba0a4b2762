"""Write the benchmark job: 10,000 drops typed inline over 2,000 segments, the same bytes each time.

    python -m tests.bench.make_big big.yaml

Five telecom rooms, each with four tray spines of ten nodes and nine branches at every node; five
cable types; 3,000 devices that take power by PoE; a price block, so that the whole estimate runs.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from pathlib import Path

DROPS = 10_000
POE_DEVICES = 3_000
ROOMS = ("1A", "2A", "3A", "4A", "5A")
SPINES, STEPS, BRANCHES = 4, 10, 9
DROP_BYTES = (150, 170)
"""Least and most bytes of one typed drop, its line ends in them."""

_POWERED = ("camera", "wap", "wap_high")
_KINDS = (
    *("camera",) * 1_500, *("wap",) * 1_000, *("wap_high",) * 500,
    *("data_jack",) * 5_500, *("contact",) * 1_000, *("camera_coax",) * 500,
)  # fmt: skip

_HEAD = """\
dropledger: 1
project: {name: Benchmark job, number: B-10000, date: 2026-01-15, company: Quillfeather Cabling (fictional)}
rules: {waste_percent: 8, ambient: 30 C, bundle_rise_k: 5}
plan: {unit: 1 ft, floors: ["1", "2", "3", "4", "5"]}
cables:
  - {id: c6, type: cat6_utp_plenum, price: cable-c6}
  - {id: c6-cam, type: cat6_utp_plenum, name: "Category 6, cameras", price: cable-c6}
  - {id: c6a, type: cat6a_utp_plenum, price: cable-c6a}
  - {id: rg6, type: rg6, jacket: CMP, price: cable-rg6}
  - {id: 22-4, type: c22_4, jacket: CMP, price: cable-22-4}
devices:
  - {id: data_jack, system: data, cable: c6, material: [jack], box_material: [plate], labor: [term, test]}
  - {id: camera, system: video, cable: c6-cam, end: plug, poe_class: 3, draw: 9.6 W,
     material: [plug], labor: [term, test]}
  - {id: wap, system: wireless, cable: c6a, end: plug, poe_class: 4, draw: 21 W,
     material: [plug], labor: [term, test]}
  - {id: wap_high, system: wireless, cable: c6a, end: plug, poe_class: 6, draw: 44 W,
     material: [plug], labor: [term, test]}
  - {id: contact, system: intrusion, cable: 22-4, end: terminals, material: [contact], labor: [fit, test]}
  - {id: camera_coax, system: coax, cable: rg6, end: bnc, material: [bnc, bnc], labor: [term, test]}
prices:
  note: Invented figures.
  items:
    - {id: cable-c6, name: Category 6, unit: kft, cost: 338.00, hours: 9, section: 27 15 13, factors: ceiling}
    - {id: cable-c6a, name: Category 6A, unit: ft, cost: 0.61, hours: 0.011, section: 27 15 13, factors: ceiling}
    - {id: cable-rg6, name: RG-6, unit: ft, cost: 0.46, hours: 0.008, section: 28 23 00}
    - {id: cable-22-4, name: 22/4, unit: ft, cost: 0.24, hours: 0.007, section: 28 31 00}
    - {id: jack, name: Jack, cost: 6.90, section: 27 15 13}
    - {id: plate, name: Faceplate, cost: 2.85, section: 27 15 13}
    - {id: plug, name: Field plug, cost: 9.40, section: 27 15 13}
    - {id: bnc, name: BNC connector, cost: 2.30, section: 28 23 00}
    - {id: contact, name: Door contact, cost: 11.20, section: 28 31 00}
    - {id: term, name: Terminate and label, hours: 0.36, section: 27 15 13}
    - {id: fit, name: Fit a contact, hours: 0.75, section: 28 31 00}
    - {id: test, name: Test, hours: 0.1, section: 27 08 00}
  crew:
    - {role: Foreman, people: 1, wage: 46.00, burden_percent: 38}
    - {role: Technician, people: 3, wage: 38.50, burden_percent: 38}
  factors: [{id: ceiling, factor: 1.12, name: existing ceiling}]
  lines:
    - {id: permit, name: Permit, kind: fee, cost: 2400.00}
    - {id: records, name: Records and binder, kind: labor, qty: 160, unit: hour, hours: 1}
  build_up: {overhead_percent: 14, contingency_percent: 3, profit_percent: 10, tax_percent: 6.25}
"""


def text() -> str:
    """Return the benchmark job as a project file."""
    return "".join(_lines())


def drop_texts() -> list[str]:
    """Return each drop as it is typed."""
    dice = random.Random(10_000)
    kinds = list(_KINDS)
    dice.shuffle(kinds)
    return [_drop(number, device, dice) for number, device in enumerate(kinds)]


def segment_texts() -> list[str]:
    """Return each segment as it is typed: the spine of trays first, then its branches."""
    dice = random.Random(2_000)
    return [line for room in ROOMS for spine in range(SPINES) for line in _spine(room, spine, dice)]


def _lines() -> Iterator[str]:
    yield _HEAD
    yield "rooms:\n"
    for room in ROOMS:
        yield f'  - {{id: {room}, name: Telecom room {room}, floor: "{room[0]}", x: 0, y: 0}}\n'
    yield "switches:\n"
    for room in ROOMS:
        yield f"  - {{id: SW-{room}, room: {room}, ports: 800, poe_type: 3, poe_budget: 20 kW}}\n"
    yield "nodes:\n"
    for room in ROOMS:
        for spine in range(SPINES):
            yield from _nodes(room, spine)
    yield "pathways:\n"
    yield from segment_texts()
    yield "drops:\n"
    yield from drop_texts()


def _nodes(room: str, spine: int) -> Iterator[str]:
    along_x, along_y = ((1, 0), (0, 1), (-1, 0), (0, -1))[spine]
    for step in range(STEPS):
        x, y = 16 * (step + 1) * along_x, 16 * (step + 1) * along_y
        yield f'  - {{id: {room}-{spine}{step}, floor: "{room[0]}", x: {x}, y: {y}}}\n'
        for branch in range(BRANCHES):
            side = (branch - 4) * 5
            yield f'  - {{id: {room}-{spine}{step}{branch}, floor: "{room[0]}", x: {x + side}, y: {y - side}}}\n'


def _spine(room: str, spine: int, dice: random.Random) -> Iterator[str]:
    before = room
    for step in range(STEPS):
        node = f"{room}-{spine}{step}"
        yield (f"  - {{id: T-{node}, from: {before}, to: {node}, length: 16 ft, kind: tray, width: 24 in, "
               "depth: 6 in}\n")  # fmt: skip
        before = node
    for step in range(STEPS):
        for branch in range(BRANCHES):
            start, end = f"{room}-{spine}{step}", f"{room}-{spine}{step}{branch}"
            length = dice.randint(6, 24)
            kind = (
                "kind: conduit, trade_size: 1-1/4, bends: 180 deg"
                if branch % 3 == 2
                else "kind: j_hooks, space: plenum"
            )
            yield f"  - {{id: B-{end}, from: {start}, to: {end}, length: {length} ft, {kind}}}\n"


def _drop(number: int, device: str, dice: random.Random) -> str:
    room = ROOMS[number % len(ROOMS)]
    spine, step, branch = dice.randrange(SPINES), dice.randrange(STEPS), dice.randrange(BRANCHES)
    belongs = f"switch: SW-{room}" if device in _POWERED else f"pull: {room}-P{spine}{step}"
    return (
        f"  - id: {room}-D{number:05d}\n"
        f"    room: {room}\n"
        f"    device: {device}\n"
        f"    at: {room}-{spine}{step}{branch}\n"
        f"    last_leg: {dice.randint(10, 34)} ft\n"
        f"    outlet: {room}-W{number:05d}-{spine}{step}\n"
        f"    {belongs}\n"
        f"    zone: level {room[0]} {('north', 'east', 'south', 'west')[spine]} area\n"
    )


def main(arguments: list[str]) -> int:
    """Write the benchmark job to the path given."""
    if len(arguments) != 1:
        sys.stderr.write("usage: python -m tests.bench.make_big FILE\n")
        return 2
    Path(arguments[0]).write_text(text(), encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
