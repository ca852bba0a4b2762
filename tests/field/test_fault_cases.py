"""A table of faults: the readings that a fault leaves, and the verdict and first cause that come out.

Each case follows from physics or from a published definition, named beside it; what the trade does
and nobody published is marked "common practice, no published source".
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from estimator.field.rows import ReadRow
from tests.field.fault_job import judged_school
from tests.field.sheetrows import row

PRACTICE = "common practice, no published source"
PIN_MAP = "pins and pairs of the eight-position jack, ANSI/TIA-568-C.2; confirmed"
TIA_LIMITS = "permanent link: 90 m and 10 %, ANSI/TIA-1152; single"
OHM = "Ohm's law"
REFLECTION = "a reflection comes back after twice the distance over the velocity; physics"
CLEAN = {"wire_map": "pass", "length_36": "50.0"}
COPPER = "50 m of 23 AWG, both ways: 6.68 ohm, ASTM B258 and IEC 60028; confirmed"


@dataclass(frozen=True)
class Case:
    """One fault: the cells of each row, and what must come out. ``told`` stands in the first cause's words."""

    name: str
    circuit: str
    sheet: str
    cells: tuple[dict[str, str], ...]
    verdict: str
    cause: str
    source: str
    told: str = ""
    member: str = ""  # of a strand cable, where the result has another id


def link(name: str, verdict: str, cause: str, source: str, told: str = "", circuit: str = "D1", **cells: str) -> Case:
    """Return a case of a balanced pair."""
    return Case(name, circuit, "balanced_pair", (cells,), verdict, cause, source, told)


def pairs(key: str, *values: str) -> dict[str, str]:
    """Return a reading of each of the four pairs."""
    return {f"{key}_{pair}": value for pair, value in zip(("12", "36", "45", "78"), values, strict=False)}


NAC_GOOD = {"stray_volts": "0", "open_short": "clear", "ground_fault": "clear", "resistance": "4.2",
            "end_of_line": "10004", "polarity": "correct", "return_leg": "pass"}  # fmt: skip
RESTED = {"far_end": "charger off"}

LINKS = [
    link("open pair", "fail", "open", PIN_MAP, "open on 1-2", pins="02345678", length="50"),
    link("open, one conductor", "fail", "open", PIN_MAP, "open on 4-5", pins="12305678", length="50"),
    link("open, seen as a word", "fail", "open", PIN_MAP, wire_map="open", length="21.5"),
    link("shorted pair", "fail", "short", PIN_MAP, "short on 3-6", pins="12s45s78"),
    link("reversed pair", "fail", "reversed pair", PIN_MAP, "1-2", pins="21345678"),
    link("two pairs crossed", "fail", "crossed pairs", PIN_MAP, "4-5 and 7-8", pins="12378645"),
    link("both schemes on one link", "fail", "wrong scheme", PIN_MAP, "T568A", pins="36145278"),
    # T568B holds orange on 1 and 2, green on 3 and 6; the telephone scheme orange on 3 and 6, green on 2 and 7,
    # brown on 1 and 8: near pins 1 to 8 arrive on 3, 6, 2, 4, 5, 7, 1 and 8.
    link(
        "the telephone scheme at one end",
        "fail",
        "wrong scheme",
        "47 CFR 68 registered jacks; confirmed",
        "the telephone scheme",
        pins="36245718",
    ),
    link("conductors of two pairs exchanged", "fail", "miswire", PIN_MAP, pins="13245678"),
    link("split pair as a word", "fail", "split pair", PIN_MAP, wire_map="split"),
    link(
        "split pair found by its crosstalk",
        "fail",
        "split pair",
        "split pairs: crosstalk only; definition",
        **CLEAN,
        split_pair="split",
    ),
    link(
        "split pair by the worst margin",
        "fail",
        "split pair",
        "limit lines, ANSI/TIA-568-C.2; " + PRACTICE,
        "by its crosstalk",
        **CLEAN,
        next="-16.0",
        next_mhz="20",
    ),
    link(
        "open beside sound pairs",
        "fail",
        "open",
        REFLECTION,
        "open on 7-8",
        pins="12345608",
        **pairs("length", "50.1", "50.0", "50.2", "12.0"),
    ),
    link(
        "no map, but a pair ends early",
        "pass",
        "cut or bad splice",
        REFLECTION,
        "pair 4-5 ends about 12.0 m",
        wire_map="pass",
        **pairs("length", "50.1", "50.3", "12.0", "50.2"),
    ),
    link(
        "high-resistance termination",
        "pass",
        "high-resistance termination",
        "7 % between pairs, ANSI/TIA-568.2-D; single",
        "on 7-8",
        **CLEAN,
        **pairs("resistance", *["6.7"] * 3, "8.6"),
    ),
    # Copper-clad aluminum of 10 % has 1.591 times the resistance of copper: ASTM B566, computed.
    link(
        "copper-clad aluminum",
        "pass",
        "copper-clad aluminum",
        COPPER + "; ASTM B566, class 10A; computed",
        "copper-clad aluminum",
        **CLEAN,
        **pairs("resistance", *["10.63"] * 4),
    ),
    link(
        "solid aluminum",
        "pass",
        "copper-clad aluminum",
        "61 % IACS, conductor handbook; confirmed",
        **CLEAN,
        **pairs("resistance", *["10.95"] * 4),
    ),
    # A step of gauge is 92 ** (2 / 39) = 1.261 in resistance: ASTM B258.
    link(
        "a gauge too thin",
        "pass",
        "thin conductor",
        "ASTM B258: a step of gauge is 1.261 times the resistance",
        "a gauge thinner",
        **CLEAN,
        **pairs("resistance", *["8.62"] * 4),
    ),
    link("another, shorter cable", "pass", "low resistance", COPPER, **CLEAN, **pairs("resistance", *["4.0"] * 4)),
    link("over length", "fail", "over length", TIA_LIMITS, wire_map="pass", length="101.0"),
    link(
        "past the design length",
        "pass",
        "past the design length",
        TIA_LIMITS,
        circuit="CAM",
        wire_map="pass",
        length="92.0",
    ),
    link(
        "longer than its route",
        "pass",
        "length against expectation",
        "10 %, a house rule of the job",
        wire_map="pass",
        length="62.0",
    ),
    link(
        "skew too large",
        "fail",
        "wrong category",
        "44 ns, ANSI/TIA-568-C.2 clause 6; memory",
        "too slow",
        **CLEAN,
        skew="52",
    ),
    link(
        "delay too long", "fail", "wrong category", "498 ns, ANSI/TIA-568-C.2 clause 6; memory", **CLEAN, delay_12="510"
    ),
    link(
        "another cable by its jacket",
        "pass",
        "length against jacket",
        "jacket marks count feet; definition",
        wire_map="pass",
        length="54.0",
        mark_room="100",
        mark_far="138",
    ),
    link(
        "velocity of another cable",
        "incomplete",
        "velocity",
        "length = velocity x delay; physics",
        wire_map="pass",
        length="53.6",
        nvp="75",
    ),
    link(
        "judged by another limit",
        "incomplete",
        "wrong limit",
        "the circuit is a permanent link of Category 6",
        "Channel",
        **CLEAN,
        limit="TIA Cat 6 Channel",
    ),
    link(
        "the wrong adapter",
        "incomplete",
        "wrong limit",
        "a plug-ended link needs the plug adapter",
        circuit="CAM",
        wire_map="pass",
        length="80",
        adapter="channel",
    ),
    link("a map against its own pins", "incomplete", "contradiction", PIN_MAP, wire_map="pass", pins="02345678"),
    link(
        "faster than light",
        "incomplete",
        "contradiction",
        "no signal outruns light; physics",
        wire_map="pass",
        length_12="60",
        delay_12="190",
    ),
    link(
        "a length of nothing", "incomplete", "contradiction", "copper has length; physics", wire_map="pass", length="0"
    ),
    link("a loop of nothing", "incomplete", "contradiction", COPPER, **CLEAN, resistance_12="0.00"),
    link(
        "continuity alone",
        "incomplete",
        "",
        "continuity can't tell a split pair; definition",
        circuit="D4",
        wire_map="pass",
        instrument="CT",
    ),
    link(
        "a crosstalk meter rules a split out",
        "pass",
        "",
        "crosstalk tells a split pair; definition",
        circuit="D4",
        wire_map="pass",
        instrument="CERT",
    ),
    link(
        "crosstalk near an end",
        "fail",
        "crosstalk",
        "limit lines, ANSI/TIA-568-C.2; " + PRACTICE,
        **CLEAN,
        next="-1.2",
        next_mhz="210",
    ),
    link("the link echoes", "fail", "echo", "an impedance step reflects; physics", **CLEAN, return_loss="-2.0"),
    link(
        "the link loses too much", "fail", "lossy link", "limit lines, ANSI/TIA-568-C.2", **CLEAN, insertion_loss="-1.5"
    ),
    # At 100 MHz a Category 6 permanent link must keep 41.8 dB of NEXT; 40.0 dB lack 1.8: ANSI/TIA-568-C.2.
    link(
        "a value judged at its own frequency",
        "fail",
        "crosstalk",
        "41.8 dB at 100 MHz, ANSI/TIA-568-C.2",
        **CLEAN,
        next_db="40.0",
        next_mhz="100",
    ),
]

POWER = [
    link(
        "too few volts at the device",
        "fail",
        "low PoE",
        "42.5 V at a class 4 device, IEEE 802.3; confirmed",
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_volts="41.0",
        poe_watts="12.0",
    ),
    link(
        "too few watts",
        "fail",
        "low PoE",
        "the device's own draw, as typed",
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_volts="48",
        poe_watts="10",
    ),
    link(
        "a weak port",
        "fail",
        "weak port",
        "50 V at a port of type 2, IEEE 802.3; confirmed",
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_unloaded="47.0",
        poe_volts="44.0",
        poe_watts="12.5",
    ),
    # 54 - 41 V at 12.5 W / 41 V = 0.305 A: 42.6 ohm, where 80 m of two pairs have 5.3 ohm.
    link(
        "lost on the way",
        "fail",
        "resistance on the way",
        OHM,
        "lost on the way",
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_unloaded="54.0",
        poe_volts="41.0",
        poe_watts="12.5",
    ),
    link(
        "48.4 V and link on 1-2 and 3-6",
        "pass",
        "",
        PRACTICE,
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_volts="48.4",
        poe_watts="12.5",
        poe_pairs="1-2 and 3-6",
        switch_port="link",
    ),
    link(
        "a live reading that wanders",
        "pass",
        "wandering PoE",
        PRACTICE,
        "wander",
        circuit="CAM",
        wire_map="pass",
        length="80",
        poe_volts="48.4",
        poe_lowest="44.9",
        poe_watts="12.5",
    ),
    link("no link", "pass", "", "recorded where nobody asks for it", **CLEAN, switch_port="no link"),
    # 100 Mb/s runs on two pairs, 1,000 Mb/s on four: IEEE 802.3, confirmed.
    link(
        "fell back to two pairs",
        "fail",
        "slow link",
        "IEEE 802.3, 100BASE-TX; confirmed",
        "1-2 and 3-6",
        circuit="D3",
        **CLEAN,
        link_speed="100",
    ),
    link(
        "one end's speed set by hand",
        "fail",
        "half duplex",
        "IEEE 802.3, parallel detection; " + PRACTICE,
        circuit="D3",
        **CLEAN,
        link_speed="1000",
        duplex="half",
    ),
]

RECORDS = [
    link(
        "a switch port found by its blinking light",
        "pass",
        "",
        PRACTICE,
        **CLEAN,
        port_found="SW1 / 14",
        found_by="light",
    ),
    link("a marker carries a number", "pass", "", PRACTICE, **CLEAN, marker="7"),
    # One pass at the closet: three cables, three markers.
    Case(
        "markers name several cables in one pass",
        "D1",
        "balanced_pair",
        ({**CLEAN, "marker": "1"},),
        "pass",
        "",
        PRACTICE,
    ),
    # The default of 69 % gave 50.7 m, the cable's own 70 % gives 51.4 m: length depends on the velocity set.
    link(
        "the default velocity is replaced", "incomplete", "velocity", PRACTICE, wire_map="pass", length="50.7", nvp="69"
    ),
    link(
        "healthy, pair by pair",
        "pass",
        "",
        PRACTICE,
        wire_map="pass",
        **pairs("length", "50.1", "50.4", "50", "50.6"),
        **pairs("delay", "238", "240", "238", "241"),
        **pairs("resistance", "6.7", "6.8", "6.7", "6.8"),
    ),
]


def voice(name: str, verdict: str, cause: str, source: str, told: str = "", **cells: str) -> Case:
    """Return a case of a telephone line."""
    return Case(name, "P1", "voice", (cells,), verdict, cause, source, told)


VOICE = [
    # 26, 4 and no feet: 7.92 m, 1.22 m.
    voice(
        "cut cord, about 4 ft from one end",
        "fail",
        "cut or bad splice",
        PRACTICE,
        "pair 2-5 ends about 1.2 m",
        wire_map="open",
        length_34="7.92",
        length_25="1.22",
        length_16="OL",
        resistance_34="1.3",
        resistance_25="9.6",
        on_hook="48",
    ),
    voice(
        "healthy cord",
        "pass",
        "",
        PRACTICE,
        wire_map="pass",
        length_34="7.9",
        length_25="8.0",
        length_16="8.0",
        on_hook="48",
    ),
    voice(
        "no feed",
        "fail",
        "line volts",
        "48 V from the office, TIA-968; confirmed",
        "no feed",
        wire_map="pass",
        on_hook="0.2",
    ),
    voice(
        "fed by the site's own exchange",
        "fail",
        "line volts",
        "21 to 30 V, field practice; memory",
        "private exchange",
        wire_map="pass",
        on_hook="24",
    ),
    voice(
        "a set that draws nothing",
        "fail",
        "line volts",
        "5 to 12 V off hook; confirmed",
        "draws no current",
        wire_map="pass",
        on_hook="48",
        off_hook="46",
    ),
    voice(
        "tip and ring exchanged",
        "fail",
        "reversed polarity",
        "ring negative to tip, TIA-968",
        wire_map="pass",
        on_hook="48",
        polarity="reversed",
    ),
]


def coax(name: str, verdict: str, cause: str, source: str, told: str = "", **cells: str) -> Case:
    """Return a case of a camera's coax."""
    return Case(name, "X1", "coax", ({"open_short": "OL", "length": "60", **cells},), verdict, cause, source, told)


MATCHED = "a source behind its own 75 ohm: 2, 1 and 2/3 V by the loads; matched-source model"
COAX = [
    coax("bridging, 1.66 V on a live camera", "pass", "", PRACTICE, video_level="1.66", far_end="bridging"),
    coax("bridging, 1.1 V works", "pass", "", PRACTICE, video_level="1.10", far_end="bridging"),
    coax(
        "bridging, under 1 V",
        "fail",
        "video level",
        PRACTICE,
        "camera or its supply",
        video_level="0.80",
        far_end="bridging",
    ),
    coax("bridging, nothing", "fail", "video level", PRACTICE, "no picture", video_level="0.00", far_end="bridging"),
    coax(
        "double termination",
        "fail",
        "video level",
        MATCHED,
        "double termination",
        video_level="0.62",
        far_end="terminated",
    ),
    coax("no termination", "fail", "video level", MATCHED, "no termination", video_level="1.85", far_end="terminated"),
    coax(
        "shorted coax",
        "fail",
        "short",
        "center and shield are insulated; definition",
        open_short="short",
        video_level="1.66",
        far_end="bridging",
    ),
]


def nac(name: str, verdict: str, cause: str, source: str, told: str = "", **cells: str) -> Case:
    """Return a case of a notification circuit."""
    return Case(name, "NAC", "conductors", ({**NAC_GOOD, **cells},), verdict, cause, source, told)


WIRES = [
    nac("sound", "pass", "", "all readings inside"),
    nac("stray voltage", "fail", "stray voltage", "1 V, NFPA 72 test methods; memory", stray_volts="12"),
    nac("conductors touch", "fail", "short", OHM, open_short="short", resistance="1.1"),
    nac("open loop", "fail", "open", OHM, resistance="OL"),
    nac(
        "ground fault",
        "fail",
        "ground fault",
        "NFPA 72 test methods: isolated from ground; memory",
        ground_fault="fault",
    ),
    nac("missing end-of-line resistor", "fail", "missing end-of-line", OHM, end_of_line="OL"),
    # Two equal resistors side by side have half of one.
    nac("two end-of-line resistors", "fail", "two end-of-line", OHM, end_of_line="5002"),
    nac("resistor of another value", "fail", "wrong end-of-line", OHM, end_of_line="6800"),
    nac("shorted before the resistor", "fail", "short", OHM, end_of_line="12"),
    nac(
        "reversed at a device",
        "fail",
        "reversed polarity",
        "appliances are polarized; " + PRACTICE,
        polarity="reversed",
    ),
    nac("the class A return is open", "fail", "return leg", "class A works past one open, NFPA 72", return_leg="fail"),
    nac("damp box", "pass", "low insulation", PRACTICE, insulation_ohm="40000"),
    nac("too few volts at the last device", "fail", "low volts", "16 V, as typed for the device", line_volts="15.2"),
    nac(
        "a smaller gauge than drawn",
        "pass",
        "thin conductor",
        "ASTM B258: two steps are 1.590 times",
        "two gauges",
        resistance="6.7",
        length="160",
    ),
]


def speaker(name: str, verdict: str, cause: str, source: str, told: str = "", **cells: str) -> Case:
    """Return a case of a line of four 5 W speakers: 249.9 ohm at 70.7 V."""
    return Case(name, "SPL", "speaker", ({"open_short": "clear", "polarity": "correct", **cells},), verdict, cause,
                source, told)  # fmt: skip


TAP = "70.7 V: a tap is 4,998.5 / W ohm; each step doubles; loudspeaker data sheets"
SPEAKERS = [
    # 20 W planned; 40 W: 125.0 ohm, 25 W: 199.9 ohm just inside 20 %, 35 W: 142.8 ohm, 10 W: 499.8, 15 W: 333.2 ohm.
    speaker("all taps one step up", "fail", "speaker load", TAP, "all taps one step too high", impedance="125"),
    speaker("one speaker two steps up", "fail", "speaker load", TAP, "two tap steps too high", impedance="142.8"),
    speaker("all taps one step down", "fail", "speaker load", TAP, "all taps one step too low", impedance="500"),
    speaker("one speaker missing", "fail", "speaker load", TAP, "not connected", impedance="333"),
    speaker("a shorted speaker", "fail", "shorted speaker", OHM, impedance="6"),
    speaker("nobody answers", "fail", "open line", OHM, impedance="OL"),
    speaker("reversed speaker", "fail", "reversed polarity", "polarity test by a cell; confirmed", polarity="reversed"),
]


def strand(name: str, verdict: str, cause: str, source: str, told: str = "", **cells: str) -> Case:
    """Return a case of one strand, 300 m of OM4 with two mated pairs."""
    good = {"strand": "1", "length": "300", "polarity": "correct", "loss_1300": "1.2"}
    return Case(name, "FB", "fiber", ({**good, **cells},), verdict, cause, source, told, "FB.1")


COMPONENTS = "3.0 and 1.5 dB/km, 0.75 dB a mated pair, ANSI/TIA-568.3-D: 2.40 and 1.95 dB"
FIBER = [
    strand("sound strand", "pass", "", COMPONENTS, loss_850="1.6"),
    strand("dirty connector, both waves alike", "fail", "connector loss", COMPONENTS, loss_850="3.3", loss_1300="2.8"),
    strand("bend, the longer wave loses more", "fail", "bend", "mode field grows with the wavelength; physics",
           loss_850="2.5", loss_1300="3.4"),
    strand("a gain", "incomplete", "bad reference", "a passive strand can't gain; physics", loss_850="-0.3"),
    # Rayleigh scattering alone takes 0.7 / 0.85 ** 4 = 1.34 dB/km: 0.40 dB over 300 m.
    strand("less than glass has", "pass", "bad reference", "Rayleigh scattering, 0.7 dB/km at 1 um; memory",
           loss_850="0.15"),
    strand("another reference method", "incomplete", "", "mated pairs counted by method, ANSI/TIA-526; definition",
           loss_850="1.6", reference="three cord"),
    strand("no reference method", "incomplete", "", "mated pairs counted by method; definition", loss_850="1.6",
           reference=""),
    strand("strands exchanged", "fail", "reversed polarity", "polarity end to end, ANSI/TIA-568.3-D",
           loss_850="1.6", polarity="reversed"),
    strand("no light", "fail", "no light", "an open fiber carries none", loss_850="OL", loss_1300="OL"),
    Case("all strands of one reference alike", "FB", "fiber",
         tuple({"strand": str(n), "length": "300", "polarity": "correct", "loss_850": f"{3.0 + n / 50:.2f}",
                "loss_1300": "1.2", "instrument": "L1", "date": "2026-03-02"} for n in range(1, 7)),
         "fail", "bad reference", "one reference stands in every reading that it was set for; definition",
         "all strands of one reference", "FB.3"),
    Case("one strand alone", "FB", "fiber",
         tuple({"strand": str(n), "length": "300", "polarity": "correct", "loss_850": "3.1" if n == 3 else "1.5",
                "loss_1300": "2.6" if n == 3 else "1.2", "instrument": "L1", "date": "2026-03-02"}
               for n in range(1, 7)),
         "fail", "connector loss", "what is wrong with one strand stands in its own reading alone; definition",
         "dirty", "FB.3"),
]  # fmt: skip


def blocks(name: str, verdict: str, cause: str, source: str, told: str, rested: str, *loads: str) -> Case:
    """Return a case of the panel's two blocks under 3 A."""
    cells = tuple({"block": str(n), "open_circuit_volts": rested, "load_volts": volts, "load_amps": "3", **RESTED}
                  for n, volts in enumerate(loads, start=1))  # fmt: skip
    return Case(name, "BAT", "battery", cells, verdict, cause, source, told)


def alarm(name: str, verdict: str, cause: str, told: str = "", **cells: str) -> Case:
    """Return a case of a 12 V alarm battery under a load of 250 mA."""
    return Case(name, "ALARM", "battery", ({"block": "1", "load_amps": "0.25", **RESTED, **cells},), verdict, cause,
                PRACTICE, told)  # fmt: skip


CUT_OFF = "1.75 V a cell, IEEE Std 485; confirmed"
BATTERIES = [
    alarm("holds near its voltage under 250 mA", "pass", "", open_circuit_volts="12.9", load_volts="12.7"),
    alarm("sags to about 8 V", "fail", "weak battery", "weak under load", open_circuit_volts="12.8", load_volts="8.1"),
    blocks("one weak block", "fail", "weak battery", CUT_OFF, "block 2", "12.9", "12.1", "9.8"),
    # 24 h x 0.3 A and 5 min x 2 A are 7.4 Ah and the edition's margin on top, where 7 Ah stand.
    blocks("undersized set: all sag", "fail", "undersized battery", CUT_OFF + "; NFPA 72, 24 h and 5 min", "too small",
           "12.8", "10.1", "10.0"),
    blocks("not charged", "fail", "discharged battery", "12.2 V is half charge, published charts; confirmed",
           "isn't charged", "11.9", "10.2", "10.1"),
    blocks("one block far below its neighbor", "pass", "uneven set", PRACTICE, "block 2", "12.9", "12.4", "11.2"),
    Case("charged too high", "ALARM", "battery",
         ({"block": "1", "float_volts": "14.6", "open_circuit_volts": "12.9", "load_volts": "12.6"},), "pass",
         "charger", "2.25 to 2.30 V a cell, maker's instructions; confirmed", "too high"),
    Case("past its date", "BAT", "battery",
         tuple({"block": n, "open_circuit_volts": "12.9", "load_volts": "12.2", "date_code": "2020-01",
                "date": "2029-05-02", "load_amps": "3", **RESTED} for n in ("1", "2")), "pass",
         "battery past its date", "replacement dates, NFPA 72-2022; single"),
]  # fmt: skip

BONDS = [
    Case("painted lug", "GND", "bonding", ({"bonding": "0.6"},), "fail", "poor bond", "limit as typed; " + PRACTICE),
    Case("no bond", "GND", "bonding", ({"bonding": "OL"},), "fail", "open bond", OHM),
]

CASES = [*LINKS, *POWER, *RECORDS, *VOICE, *COAX, *WIRES, *SPEAKERS, *FIBER, *BATTERIES, *BONDS]


def test_the_table_is_as_long_as_promised() -> None:
    """At least 60 faults, each with a source and a name of its own."""
    assert len(CASES) >= 60
    assert len({case.name for case in CASES}) == len(CASES)
    assert all(case.source for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_fault_leaves_its_verdict_and_its_first_cause(case: Case) -> None:
    """Readings in, verdict and first cause out; a cause says what else it may be and where to look."""
    rows: list[ReadRow] = [row(case.circuit, case.sheet, **cells) for cells in case.cells]
    result = judged_school(*rows).by_id[case.member or case.circuit]
    found = [one for one in result.findings if one.kind not in ("no origin", "unknown instrument")]
    first = (*result.causes, *found)[:1]
    assert (result.word, first[0].kind if first else "") == (case.verdict, case.cause)
    if first:
        assert case.told in f"{first[0].text} {first[0].evidence}"
        assert first[0].evidence
        assert first[0].look
