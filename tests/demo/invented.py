"""Invented readings of sound circuits: what each should read, scattered as real cable and hands scatter it.

Nothing here was measured. A generator started by the circuit's id scatters each circuit, and only
``Random.random`` is used, because Python promises that sequence for all of its releases.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from random import Random

from estimator.acceptance.columns import PAIRS
from estimator.acceptance.criterion import Criteria
from estimator.calc.copper_link import LIGHT_M_PER_S
from estimator.units.table import FACTORS

Cell = str | float | None
Row = dict[str, Cell]

FOOT_M = FACTORS["length"]["ft"]

# Pairs of one cable are laid at different rates: 4-5 the shortest, 3-6 the longest, and by how much.
LAYS = {"12": 1.012, "36": 1.028, "45": 1.0, "78": 1.02}

# What the testers call the limits; the sheet's reader must know them for those of the test plan.
SHORT_NAMES = {"permanent_link": "Perm. Link", "modular_plug_terminated_link": "MPTL"}
ADAPTERS = {"permanent_link": "permanent link", "modular_plug_terminated_link": "plug"}

SENT_V = {"wireless": 52.6, "video": 52.9}  # volts that the switches give under these loads


def near(random: Random, value: float, share: float) -> float:
    """Return a value scattered evenly by at most a share of itself."""
    return value * (1 + share * (2 * random.random() - 1))


def feet(one: Criteria) -> float:
    """Return the expected length [ft]."""
    assert one.expected_m is not None, one.id
    return one.expected_m / FOOT_M


def pair_rows(one: Criteria, random: Random, length_ft: float | None = None) -> list[Row]:
    """Return a row of a sound balanced-pair link; a given length replaces the scattered one."""
    shortest = length_ft or near(random, feet(one), 0.025)
    nvp = one.settings.nvp
    assert nvp is not None, one.id
    assert one.expected_loop_ohm is not None, one.id
    row: Row = {"wire_map": "pass", "pins": "12345678"}
    delays = {}
    for pair in PAIRS:
        long = round(shortest * near(random, LAYS[pair], 0.002), 1)
        delays[pair] = round(long * FOOT_M / (nvp * LIGHT_M_PER_S) * 1e9)
        row[f"length_{pair}"], row[f"delay_{pair}"] = long, delays[pair]
        # A tenth of an ohm stays in contacts and in the tester's own plug.
        row[f"resistance_{pair}"] = round(near(random, one.expected_loop_ohm * long / feet(one), 0.006) + 0.1, 2)
    row["skew"] = max(delays.values()) - min(delays.values())
    if one.criterion("switch_port"):
        row |= _power(one, random)
    limit = f"TIA Cat {one.category} {SHORT_NAMES[one.link]}"
    row |= {"tested_from": "room", "far_end": "remote unit", "nvp": round(100 * nvp), "limit": limit}
    return [{**row, "adapter": ADAPTERS[one.link], "instrument": "CT-1"}]


def _power(one: Criteria, random: Random) -> Row:
    """Return volts under the device's load, and watts a little over its draw."""
    watts = one.criterion("poe", "watts")
    assert watts is not None, one.id
    assert watts.low is not None, one.id
    assert one.expected_loop_ohm is not None, one.id
    sent = SENT_V[one.system]
    # Two pairs in parallel each way make one pair's loop of half; good enough to invent volts by.
    volts = sent - watts.low / sent * one.expected_loop_ohm / 2
    return {
        "poe_volts": round(near(random, volts, 0.003), 1),
        "poe_watts": round(near(random, 1.1 * watts.low, 0.02), 1),
        "switch_port": "link",
    }


def coax_rows(one: Criteria, random: Random) -> list[Row]:
    """Return two rows of a sound coax line: far end shorted for its loop, terminated for its picture."""
    level = one.criterion("video_level", "terminated")
    assert level is not None, one.id
    assert level.expected is not None, one.id
    long = near(random, feet(one), 0.02)
    shorted: Row = {
        "open_short": "clear",
        # About 20 ohm over 1,000 ft of center and shield together.
        "resistance": round(0.02 * long + 0.3, 1),
        **marks(random, long),
        "far_end": "shorted",
    }
    picture: Row = {"video_level": round(near(random, level.expected, 0.03), 2), "far_end": "terminated"}
    return [{**row, "tested_from": "room", "instrument": "DMM-1"} for row in (shorted, picture)]


def marks(random: Random, long_ft: float) -> dict[str, int]:
    """Return the jacket's footage marks at both ends."""
    start = 40 + round(400 * random.random())
    return {"mark_room": start + round(long_ft), "mark_far": start}


def loop(one: Criteria, random: Random) -> float:
    """Return the loop of a pair with its far end joined, leads and joint included [ohm]."""
    assert one.expected_loop_ohm is not None, one.id
    return round(near(random, one.expected_loop_ohm, 0.02) + 0.1, 2)


def conductor_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row of a sound alarm or DC circuit; where it was also read complete, no one state holds for it."""
    row: Row = {
        "stray_volts": round(0.2 * random.random(), 1),
        "open_short": "clear",
        "ground_fault": "clear",
        **marks(random, near(random, feet(one), 0.02)),
        "resistance": loop(one, random),
        "far_end": "shorted",
    }
    complete: Row = {}
    resistor, volts = one.criterion("end_of_line"), one.criterion("line_volts")
    if resistor is not None and resistor.expected is not None:
        complete |= {"end_of_line": round(near(random, resistor.expected, 0.01))}
    if one.life_safety:
        complete |= {"polarity": "correct"}
    if volts is not None and volts.low is not None:
        nominal = 22.4 if volts.low >= 10 else 11.8
        complete |= {"line_volts": round(near(random, nominal, 0.01), 1)}
    if complete:
        row |= {**complete, "far_end": None, "note": "loop with the far end joined, the rest with all devices on"}
    return [{**row, "tested_from": "room", "instrument": "DMM-1"}]


def voice_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row of a sound voice line; a backbone without a feed has no line volts."""
    jacket = marks(random, near(random, feet(one), 0.02))
    row: Row = {
        "open_short": "clear",
        **jacket,
        "length": jacket["mark_room"] - jacket["mark_far"],
        "resistance": round(loop(one, random), 1),
        "tested_from": "room",
        "far_end": "shorted",
        "instrument": "DMM-1",
    }
    volts = one.criterion("line_volts", "on_hook")
    if volts is not None and volts.required:
        row |= {"wire_map": "pass", "on_hook": round(near(random, 49.5, 0.02), 1), "polarity": "correct"}
    return [row]


def speaker_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row of a sound speaker line: joined for its loop, then with the speakers on."""
    load = one.criterion("impedance")
    assert load is not None, one.id
    assert load.expected is not None, one.id
    impedance = round(near(random, 0.97 * load.expected, 0.02), 1)
    row: Row = {"open_short": "clear", "resistance": loop(one, random), "impedance": impedance}
    row |= {"polarity": "correct", "note": "loop with the far end joined, impedance with the speakers on"}
    return [{**row, "tested_from": "room", "instrument": "DMM-1"}]


def battery_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row for each block of a sound battery set; the load stands in the project file."""
    rows = []
    for block in one.rows:
        rested, sagged = round(near(random, 12.86, 0.004), 2), round(near(random, 12.15, 0.008), 2)
        row: Row = {"block": block, "open_circuit_volts": rested, "load_volts": sagged}
        row |= {"temperature": 23, "date_code": "2026-05", "far_end": "charger off", "instrument": "BT-1"}
        rows.append(row)
    return rows


def strand_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row of a sound multimode strand: two mated pairs and two splices."""
    loss = near(random, 0.78, 0.25)
    row: Row = {"strand": one.row, "length": round(near(random, feet(one), 0.03), 1)}
    row |= {"loss_850": round(loss, 2), "loss_1300": round(loss - 0.05, 2), "polarity": "correct"}
    row |= {"reference": "one cord", "tested_from": "room", "far_end": "remote unit"}
    return [{**row, "limit": "TIA OM4 10GBASE-SR", "instrument": "FL-1"}]


def bonding_rows(one: Criteria, random: Random) -> list[Row]:
    """Return a row of a sound bonding point."""
    return [{"bonding": round(near(random, 0.021, 0.3), 3), "far_end": "connected", "instrument": "GR-1"}]


SOUND: Mapping[str, Callable[[Criteria, Random], Sequence[Row]]] = {
    "balanced_pair": pair_rows,
    "coax": coax_rows,
    "conductors": conductor_rows,
    "voice": voice_rows,
    "speaker": speaker_rows,
    "battery": battery_rows,
    "fiber": strand_rows,
    "bonding": bonding_rows,
}
