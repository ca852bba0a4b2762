"""Field sheets: one sheet a medium, one row a circuit and round, one column a reading with its unit.

The one place that says which columns there are; the sheets that are written, the sheets that are
read and the judging all go by it. Strands and battery blocks have rows of their own.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from estimator.reference.lookup import table
from estimator.spec import quality
from estimator.units.table import FACTORS

Kind = Literal["number", "text", "choice", "date", "time", "round"]

MEDIA: Final = quality.MEDIA
"""The sheets, in the order in which a job is tested."""

PAIRS: Final = ("12", "36", "45", "78")
"""Positions of the pairs of a balanced-pair link, by their pins."""

CORD_PAIRS: Final = ("34", "25", "16")
"""Positions of the pairs of a six-position line, by their pins, the innermost first."""

OVER_FREQUENCY: Final[Mapping[str, str]] = {
    "insertion_loss": "Insertion loss",
    "next": "NEXT",
    "psnext": "PSNEXT",
    "acrf": "ACR-F",
    "psacrf": "PSACR-F",
    "return_loss": "Return loss",
}
"""Tests of a balanced pair over frequency, as people call them; each is read as its worst margin."""

WAVELENGTHS_NM: Final = (850, 1300, 1310, 1550)
"""Wavelengths that a fiber sheet has columns for."""

BEYOND: Final = ("OL", "O.L", "0L", "OPEN", "OVERLOAD", "OVER", "INF", "INFINITE", "∞")
"""What instruments show, and people write, for a value beyond range. ``OL`` is the spelling on sheets."""

ROOM_END, FAR_END = "room", "far end"
"""The two ends that a circuit can be tested from."""


WORD_LISTS: Final = "Lists"
"""Hidden worksheet of a field sheet's workbook that holds the words its cells accept."""

_GUIDING: Final = re.compile(
    r"expected \w+|readings needed|(limit|nvp|reference) to set|adapter to fit|.+, (at least|at most|good if)"
)


def guides(head: str) -> bool:
    """Return whether a head stands over what a sheet prints to guide the crew; nothing is read from there.

    >>> guides("Length, at most [ft]"), guides("Expected loop [ohm]"), guides("Length [ft]")
    (True, True, False)
    """
    return _GUIDING.fullmatch(head.partition("[")[0].strip().casefold()) is not None


_BOUNDED: Final = ("length", "loss")
"""Tests with a high limit alone, under which a zero or a gain would pass."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Column:
    """One column of a field sheet: what stands in its head, and which reading it holds.

    ``si`` is one typed unit in the unit that readings are kept in. ``given`` columns are filled in
    beforehand and only compared when a sheet comes back. A column without ``test`` says how the
    reading was taken. ``asked`` names a test: the column stands on a written sheet only where one of
    its circuits requires that test; a sheet that comes back may have it anyway.
    """

    key: str
    head: str
    kind: Kind = "text"
    unit: str = ""
    si: float = 1.0
    test: str = ""
    position: str = ""
    words: tuple[str, ...] = ()
    decimals: int = 1
    given: bool = False
    hint: str = ""
    asked: str = ""

    @property
    def title(self) -> str:
        """Return the head with its unit, as it stands on the sheet."""
        return f"{self.head} [{self.unit}]" if self.unit else self.head

    @property
    def reading(self) -> bool:
        """Return whether the column holds a reading."""
        return bool(self.test)

    @property
    def least(self) -> float | None:
        """Return the least number, as typed, that can be a reading; None where its criteria and sign say enough."""
        return table("reading_bounds").find(test=self.test).number("low") / self.si if self.test in _BOUNDED else None


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """The field sheet of one medium."""

    medium: str
    title: str
    columns: tuple[Column, ...]
    row_position: str = ""  # key of the column that names strand or block, or empty

    @property
    def readings(self) -> tuple[Column, ...]:
        """Return the columns that hold readings."""
        return tuple(column for column in self.columns if column.reading)

    def column(self, key: str) -> Column:
        """Return a column by key. Raises: KeyError where the sheet has none."""
        for column in self.columns:
            if column.key == key:
                return column
        raise KeyError(f"sheet {self.medium!r} has no column {key!r}")


WIRE_MAP_WORDS: Final = ("pass", "open", "short", "reversed", "crossed", "split", "fail")
CLEAR_WORDS: Final = ("clear", "short", "open", "ground fault")
POLARITY_WORDS: Final = ("correct", "reversed")
SPLIT_WORDS: Final = ("clear", "split")
POWERED_PAIRS: Final = ("1-2 and 3-6", "4-5 and 7-8", "all four")
"""Pairs that carry a device's power: alternatives A and B of the power standard, or both."""
FOUND_BY: Final = ("light", "switch table", "trace")
"""How the switch port at the end of a link was found."""
_STATES: Final = {
    "balanced_pair": ("remote unit", "open", "port live", "device on"),
    "coax": ("open", "shorted", "terminated", "bridging"),
    "conductors": ("open", "shorted", "end-of-line in", "device on"),
    "voice": ("open", "shorted", "port live", "device on"),
    "speaker": ("open", "shorted", "device on"),
    "battery": ("charger off", "charger on"),
    "fiber": ("open", "remote unit"),
    "bonding": ("disconnected", "connected"),
}
_TITLES: Final = {
    "balanced_pair": "Balanced pair",
    "coax": "Coax",
    "conductors": "Alarm and DC circuits",
    "voice": "Voice lines",
    "speaker": "Speakers",
    "battery": "Batteries",
    "fiber": "Fiber",
    "bonding": "Bonding",
}


def _number(
    key: str,
    head: str,
    unit: str,
    dimension: str,
    test: str = "",
    position: str = "",
    decimals: int = 1,
    hint: str = "",
    asked: str = "",
) -> Column:
    si = FACTORS[dimension][unit] if dimension else 1.0
    return Column(
        key=key,
        head=head,
        kind="number",
        unit=unit,
        si=si,
        test=test,
        position=position,
        decimals=decimals,
        hint=hint,
        asked=asked,
    )


def _choice(
    key: str,
    head: str,
    words: tuple[str, ...],
    test: str = "",
    position: str = "",
    hint: str = "",
    asked: str = "",
) -> Column:
    return Column(key=key, head=head, kind="choice", words=words, test=test, position=position, hint=hint, asked=asked)


def _pair(pair: str) -> str:
    return f"{pair[0]}-{pair[1]}"


def _balanced_pair(feet: str) -> Iterable[Column]:
    yield _choice("wire_map", "Wire map", WIRE_MAP_WORDS, "wire_map")
    yield Column(
        key="pins",
        head="Far-end pins",
        test="wire_map",
        position="pins",
        hint="far-end pin for near pins 1 to 8, such as 12345678; 0 open, s short",
    )
    split = "by crosstalk; a continuity tester can't tell"
    yield _choice("split_pair", "Split pairs", SPLIT_WORDS, "split_pair", hint=split, asked="split_pair")
    yield _number("length", "Length", feet, "length", "length", hint="where the tester shows one length only")
    for pair in PAIRS:
        yield _number(f"length_{pair}", f"Length {_pair(pair)}", feet, "length", "length", pair)
    for pair in PAIRS:
        yield _number(f"delay_{pair}", f"Delay {_pair(pair)}", "ns", "time", "delay", pair, 0)
    yield _number("skew", "Skew", "ns", "time", "skew", decimals=0)
    for pair in PAIRS:
        yield _number(f"resistance_{pair}", f"Loop {_pair(pair)}", "ohm", "resistance", "resistance", pair, 2)
    for test, name in OVER_FREQUENCY.items():
        yield from _over_frequency(test, name)
    yield from _live()


def _over_frequency(test: str, name: str) -> Iterable[Column]:
    """Yield what an instrument shows of a parameter: its worst margin, the value there and the frequency."""
    yield _number(test, f"{name} margin", "dB", "level", test, hint="the worst, below zero a failure", asked=test)
    yield _number(f"{test}_db", f"{name} value", "dB", "level", hint="where the margin is worst", asked=test)
    yield _number(f"{test}_mhz", f"{name} at", "MHz", "", hint="where the margin is worst", asked=test)


def _live() -> Iterable[Column]:
    """Yield what a live port shows: power, link, which port it is, which marker hung at the far end."""
    yield _number("poe_volts", "PoE volts", "V", "voltage", "poe", "volts", hint="under load")
    yield _number("poe_watts", "PoE watts", "W", "power", "poe", "watts")
    yield _number("poe_unloaded", "PoE volts, no load", "V", "voltage", "poe", "unloaded", asked="poe")
    yield _number("poe_lowest", "PoE volts, lowest", "V", "voltage", "poe", "lowest", hint="while watched", asked="poe")
    yield _choice("poe_pairs", "Powered pairs", POWERED_PAIRS, "poe", "pairs", asked="poe")
    yield _choice("switch_port", "Switch port", ("link", "no link"), "switch_port")
    yield Column(key="port_found", head="Port found", test="port_found", hint="switch and port, as found")
    yield _choice("found_by", "Found by", FOUND_BY, hint="how the port was found")
    yield _number("link_speed", "Link speed", "Mb/s", "", "link_speed", decimals=0, asked="link_speed")
    yield _choice("duplex", "Duplex", ("full", "half"), "duplex", asked="link_speed")
    yield Column(key="marker", head="Far-end marker", test="marker", hint="number of the marker that was found")


def _coax(feet: str) -> Iterable[Column]:
    yield _choice("open_short", "Center to shield", CLEAR_WORDS, "open_short", hint="far end open")
    yield _number("length", "Length", feet, "length", "length")
    yield _number("resistance", "Loop resistance", "ohm", "resistance", "resistance", decimals=2)
    yield _number("video_level", "Video level", "V", "voltage", "video_level", decimals=2, hint="peak to peak")
    yield _number("loss", "Loss", "dB", "level", "loss", decimals=2, hint="at the frequency of the plan")
    yield _number("return_loss", "Return loss", "dB", "level", "return_loss", hint="at the frequency of the plan")


def _conductors(feet: str) -> Iterable[Column]:
    yield _number("stray_volts", "Stray voltage", "V", "voltage", "stray_volts")
    yield _choice("open_short", "Open or short", CLEAR_WORDS, "open_short", hint="far end open")
    yield _choice("ground_fault", "Ground fault", ("clear", "fault"), "insulation")
    yield _number(
        "insulation_ohm", "To ground", "ohm", "resistance", "insulation", "ohm", 0, "the lowest of all conductors"
    )
    yield _number("length", "Length", feet, "length", "length")
    yield _number("resistance", "Loop resistance", "ohm", "resistance", "resistance", decimals=2)
    yield _number("end_of_line", "With end-of-line", "ohm", "resistance", "end_of_line", decimals=0)
    yield _choice("polarity", "Polarity", POLARITY_WORDS, "polarity")
    returned = "works from both ends with the line opened"
    yield _choice("return_leg", "Class A return", ("pass", "fail"), "return_leg", hint=returned, asked="return_leg")
    yield _number("line_volts", "Volts at last device", "V", "voltage", "line_volts", hint="with the worst load on")


def _voice(feet: str) -> Iterable[Column]:
    yield _choice("wire_map", "Pin pairs", WIRE_MAP_WORDS, "wire_map")
    yield _choice("open_short", "Open or short", CLEAR_WORDS, "open_short", hint="far end open")
    yield _number("length", "Length", feet, "length", "length")
    yield _number("resistance", "Loop resistance", "ohm", "resistance", "resistance")
    for pair in CORD_PAIRS:
        yield _number(f"length_{pair}", f"Length {_pair(pair)}", feet, "length", "length", pair)
    for pair in CORD_PAIRS:
        yield _number(f"resistance_{pair}", f"Loop {_pair(pair)}", "ohm", "resistance", "resistance", pair, 2)
    yield _number("on_hook", "Volts on hook", "V", "voltage", "line_volts", "on_hook")
    yield _number("off_hook", "Volts off hook", "V", "voltage", "line_volts", "off_hook")
    yield _choice("polarity", "Polarity", POLARITY_WORDS, "polarity")


def _speaker(feet: str) -> Iterable[Column]:
    yield _choice("open_short", "Open or short", CLEAR_WORDS, "open_short", hint="a DC meter proves no more")
    yield _number("length", "Length", feet, "length", "length")
    yield _number("resistance", "DC resistance", "ohm", "resistance", "resistance", decimals=2)
    yield _number("impedance", "Impedance", "ohm", "resistance", "impedance", hint="at the frequency of the plan")
    yield _choice("polarity", "Polarity", POLARITY_WORDS, "polarity")
    yield Column(key="channel", head="Channel heard", test="channel", hint="of a program that names its channels")


def _battery(_feet: str) -> Iterable[Column]:
    yield Column(key="block", head="Block", given=True, hint="1 for the first block of the set")
    yield _number("float_volts", "Float volts", "V", "voltage", "float_volts", decimals=2, hint="charger on")
    yield _number(
        "open_circuit_volts",
        "Open-circuit volts",
        "V",
        "voltage",
        "open_circuit_volts",
        decimals=2,
        hint="charger off, rested",
    )
    yield _number("load_volts", "Volts under load", "V", "voltage", "load_volts", decimals=2, hint="the lowest")
    yield _number("load_amps", "Test load", "A", "current", decimals=2)
    yield _number("temperature", "Temperature", "C", "temperature", decimals=0)
    yield Column(key="date_code", head="Date code", test="date_code", hint="year and month, such as 2026-03")


def _fiber(feet: str) -> Iterable[Column]:
    yield Column(key="strand", head="Strand", given=True)
    yield _number("length", "Length", feet, "length", "length")
    for nm in WAVELENGTHS_NM:
        yield _number(f"loss_{nm}", f"Loss {nm} nm", "dB", "level", "loss", str(nm), 2)
    yield _choice("polarity", "Polarity", POLARITY_WORDS, "polarity")
    yield Column(key="reference", head="Reference method", kind="choice", words=("one cord", "two cord", "three cord"))


def _bonding(_feet: str) -> Iterable[Column]:
    yield _number("bonding", "Resistance", "ohm", "resistance", "bonding", decimals=3)


_OWN: Final = {
    "balanced_pair": _balanced_pair,
    "coax": _coax,
    "conductors": _conductors,
    "voice": _voice,
    "speaker": _speaker,
    "battery": _battery,
    "fiber": _fiber,
    "bonding": _bonding,
}
ADAPTERS: Final = ("permanent link", "channel", "plug")
_MARKED: Final = ("balanced_pair", "coax", "conductors", "voice", "speaker")
_TIMED: Final = ("balanced_pair", "coax")


def _leading() -> Iterable[Column]:
    yield Column(key="circuit", head="Circuit", given=True)
    yield Column(key="round", head="Round", kind="round", hint="1 for the first test, 2 for the retest")
    yield Column(key="start", head="From", given=True)
    yield Column(key="end", head="To", given=True)


def _trailing(medium: str, feet: str) -> Iterable[Column]:
    if medium in _MARKED:
        yield _number("mark_room", "Jacket mark, room", feet, "length", hint="footage printed on the jacket")
        yield _number("mark_far", "Jacket mark, far end", feet, "length", hint="footage printed on the jacket")
    yield _choice("tested_from", "Tested from", (ROOM_END, FAR_END))
    yield _choice("far_end", "State" if medium == "battery" else "Far end", _STATES[medium])
    if medium in _TIMED:
        yield _number("nvp", "NVP set", "%", "", decimals=0)
    if medium in ("balanced_pair", "fiber"):
        yield Column(key="limit", head="Limit used", hint="the limit's name as the tester shows it")
    if medium == "balanced_pair":
        yield _choice("adapter", "Adapter", ADAPTERS)
    yield Column(key="instrument", head="Instrument")
    yield Column(key="person", head="Tested by")
    yield Column(key="date", head="Date", kind="date")
    yield Column(key="time", head="Time", kind="time", hint="24 hours, such as 14:05")
    yield Column(key="evidence", head="Evidence", hint="file and record of the instrument")
    yield Column(key="note", head="Note")


@cache
def sheet(medium: str, lengths_in: str = "ft") -> Sheet:
    """Return the field sheet of a medium, lengths in ``ft`` or ``m``.

    Raises: KeyError for a medium without a sheet.

    >>> sheet("balanced_pair").column("length_12").title
    'Length 1-2 [ft]'
    """
    own = tuple(_OWN[medium](lengths_in))
    position = next((column.key for column in own if column.given), "")
    columns = (*_leading(), *own, *_trailing(medium, lengths_in))
    return Sheet(medium=medium, title=_TITLES[medium], columns=columns, row_position=position)


def sheets(lengths_in: str = "ft") -> tuple[Sheet, ...]:
    """Return every field sheet, lengths in ``ft`` or ``m``."""
    return tuple(sheet(medium, lengths_in) for medium in MEDIA)


@cache
def listed_words() -> frozenset[str]:
    """Return every word that a field sheet's cells are chosen from."""
    return frozenset((BEYOND[0], *(word for one in sheets() for column in one.columns for word in column.words)))
