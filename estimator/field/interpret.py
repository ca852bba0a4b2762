"""A row as read to what it says: round, moment, settings, readings as numbers and words.

Also whether the row contradicts itself: then none of its readings is used.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import cache
from itertools import chain
from typing import Final

from estimator.acceptance.columns import PAIRS, Column, Sheet, sheet
from estimator.acceptance.criterion import Criteria
from estimator.calc.copper_link import velocity
from estimator.field.rows import ReadRow
from estimator.field.typed import NOTHING, bare, half_step, read_day, read_time, read_value
from estimator.field.wiremap import classify, read_pins
from estimator.reference.lookup import table
from estimator.spec.quality import Acceptance
from estimator.units.rounding import over, under

_SIGNED: Final = ("line_volts", "stray_volts")
"""Readings whose sign only says which lead was red."""

_WITH_LENGTH: Final = ("balanced_pair", "coax", "conductors", "voice", "speaker")
_WORKBOOK: Final = (".xlsx", ".xlsm")
_FAULTY_MAPS: Final = ("open", "short")
_SOUND_SHARE: Final = 0.9
"""Pairs of a cable differ by their lay, by a few percent: one shorter than this share of the longest ends early."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Typed:
    """One reading as typed: a number in SI or a word; None with ``why`` where it can't be read."""

    test: str
    position: str
    text: str
    value: float | str | None
    si: float = 1.0
    unit: str = ""  # as typed, from the column's head
    why: str = ""
    number: float | None = None  # the value, where it is a finite number
    distance: float | None = None  # what a faulty link's length is: the distance to its fault [m]

    @property
    def key(self) -> tuple[str, str]:
        """Return test and position."""
        return self.test, self.position


@dataclass(frozen=True, kw_only=True, slots=True)
class Said:
    """What one row says. ``trouble`` says why none of its readings is used; empty where they are."""

    row: ReadRow
    criteria: Criteria
    position: str
    round: int | None
    day: date | None
    clock: time | None
    readings: tuple[Typed, ...]
    numbers: Mapping[str, float]  # of columns that say how a reading was taken
    trouble: str = ""
    notes: tuple[str, ...] = ()

    @property
    def moment(self) -> datetime | None:
        """Return date and time together, where both are known."""
        return datetime.combine(self.day, self.clock) if self.day and self.clock else None

    def word(self, key: str) -> str:
        """Return the text of a column in lower case, or nothing."""
        return bare(self.row.cells.get(key, "")).casefold()

    def typed(self, test: str, position: str = "") -> Typed | None:
        """Return a reading as typed, or None."""
        return next((one for one in self.readings if one.key == (test, position)), None)


def interpret(row: ReadRow, criteria: Criteria, position: str, acceptance: Acceptance, lengths_in: str) -> Said:
    """Return what a row of a circuit says; ``position`` is the block of a battery set."""
    stated = row.stated
    decimal = _stated(stated, ("decimals", "decimal"), ("point", "comma")) or acceptance.decimal
    order = _stated(stated, ("dates", "date order", "date"), ("mdy", "dmy", "ymd")) or acceptance.date_order
    lengths = row.lengths or _stated(stated, ("lengths", "lengths in"), ("ft", "m")) or lengths_in
    form = sheet(criteria.medium, lengths)
    typed, numbers, notes = _cells(row, form, position, decimal)
    day, clock, troubles = _when(row, order)
    number, trouble = _round(row.round)
    if criteria.medium in _WITH_LENGTH:
        typed = _with_length(typed, numbers, row)
    readings = tuple(chain(typed, _derived(typed)))
    return Said(
        row=row, criteria=criteria, position=position, round=number, day=day, clock=clock, readings=readings,
        numbers=numbers, trouble=_contradiction(readings), notes=tuple(filter(None, (*notes, *troubles, trouble))),
    )  # fmt: skip


def _stated(stated: Mapping[str, str], keys: Iterable[str], words: tuple[str, ...]) -> str:
    for key in keys:
        found = stated.get(key, "").strip().casefold()
        if found in words:
            return found
    return ""


def _round(text: str) -> tuple[int | None, str]:
    typed = bare(text).casefold().removeprefix("round").strip()
    if not typed:
        return None, ""
    number = typed.removesuffix(".0")
    return (int(number), "") if number.isdecimal() and len(number) < 5 else (None, f"round {text!r} is no number")


def _when(row: ReadRow, order: str) -> tuple[date | None, time | None, list[str]]:
    notes = []
    day = clock = None
    typed = row.cells.get("date", "")
    if bare(typed).casefold() not in NOTHING:
        try:
            day = read_day(typed, order)
        except ValueError as wrong:
            notes.append(str(wrong))
    for text in (row.cells.get("time", ""), typed if ":" in typed else ""):
        if clock is None and bare(text).casefold() not in NOTHING:
            try:
                clock = read_time(text)
            except ValueError as wrong:
                notes.append(str(wrong))
    return day, clock, notes


def _cells(row: ReadRow, form: Sheet, position: str, decimal: str) -> tuple[list[Typed], dict[str, float], list[str]]:
    typed: list[Typed] = []
    numbers: dict[str, float] = {}
    notes: list[str] = []
    plain = row.file.casefold().endswith(_WORKBOOK)
    for column in form.columns:
        text = row.cells.get(column.key, "")
        if not text or bare(text).casefold() in NOTHING or (not column.test and column.kind != "number"):
            continue
        if column.kind != "number":
            typed.append(_worded(column, text, position))
            continue
        try:
            value, why = read_value(text, column.unit, column.si, decimal, plain), ""
        except ValueError as wrong:
            value, why = math.nan, str(wrong)
        if column.test:
            place = column.position or position
            signed = abs(value) if column.test in _SIGNED else value
            known = signed if math.isfinite(signed) else None
            typed.append(Typed(test=column.test, position=place, text=bare(text), value=None if why else signed,
                               si=column.si, unit=column.unit, why=why, number=known))  # fmt: skip
        elif why:
            notes.append(f"{column.head}: {why}")
        else:
            numbers[column.key] = value
    return typed, numbers, notes


def _worded(column: Column, text: str, position: str) -> Typed:
    word = bare(text).casefold()
    if column.key == "pins":
        return Typed(test=column.test, position=column.position, text=bare(text), value=read_pins(word),
                     why="" if read_pins(word) else f"{text!r} is not eight pins")  # fmt: skip
    beyond = column.test == "open_short" and word == "ol"
    known = not column.words or word in column.words or beyond
    why = "" if known else f"{text!r} is none of {', '.join(column.words)}"
    return Typed(test=column.test, position=column.position or position, text=bare(text), why=why,
                 value=("OL" if beyond else word) if known else None)  # fmt: skip


def _derived(typed: list[Typed]) -> Iterable[Typed]:
    """Yield readings that others imply: a wire map from pins, skew from delays."""
    have = {one.key: one for one in typed}
    pins = have.get(("wire_map", "pins"))
    if pins and isinstance(pins.value, str) and ("wire_map", "") not in have:
        yield Typed(test="wire_map", position="", text=pins.text, value=classify(pins.value).word)
    delays = [one.number for one in typed if one.test == "delay" and one.number is not None]
    if ("skew", "") not in have and len(delays) == len(PAIRS):
        skew = max(delays) - min(delays)
        yield Typed(test="skew", position="", text="from delays", value=skew, si=1e-9, number=skew)


def faulty_pairs(readings: Iterable[Typed]) -> tuple[str, ...] | None:
    """Return the pairs that are open or shorted by the pins; None where the map is bad and tells none."""
    have = {one.key: one for one in readings}
    pins = have.get(("wire_map", "pins"))
    if pins and isinstance(pins.value, str):
        found = classify(pins.value)
        return found.pairs if found.word in _FAULTY_MAPS else ()
    word = have.get(("wire_map", ""))
    return None if word is not None and word.value in _FAULTY_MAPS else ()


def pair_lengths(readings: Iterable[Typed]) -> dict[str, Typed]:
    """Return the lengths of single pairs."""
    return {one.position: one for one in readings if one.test == "length" and one.position and one.number is not None}


def sound_lengths(readings: Iterable[Typed]) -> dict[str, Typed]:
    """Return the lengths of pairs that are neither open nor shorted: the others report a distance."""
    listed = list(readings)
    pairs, faulty = pair_lengths(listed), faulty_pairs(listed)
    if faulty is not None:
        return {pair: one for pair, one in pairs.items() if pair not in faulty}
    longest = max((one.number or 0.0 for one in pairs.values()), default=0.0)
    reached = {pair: one for pair, one in pairs.items() if (one.number or 0.0) > _SOUND_SHARE * longest}
    # Where all pairs end at about the same place, nothing says that any of them is whole.
    return reached if len(reached) < len(pairs) else {}


def _with_length(typed: list[Typed], numbers: Mapping[str, float], row: ReadRow) -> list[Typed]:
    """Return the readings with the one length of the link: its shortest sound pair, else as typed,
    else by the jacket's marks. A link with a fault and no sound pair has a distance and no length.
    """
    own = [one for one in typed if one.key == ("length", "")]
    others = [one for one in typed if one.key != ("length", "")]
    sound, first, second = sound_lengths(typed), numbers.get("mark_room"), numbers.get("mark_far")
    if sound:
        least = min(sound.values(), key=lambda one: one.number or 0.0)
        return [*others, replace(least, position="")]
    if pair_lengths(typed) or (own and faulty_pairs(typed) != ()):
        text, distance, unit = (own[0].text, own[0].number, own[0].unit) if own else ("", None, "")
        why = "no pair is known to be sound"
        return [
            *others,
            Typed(test="length", position="", text=text, value=None, unit=unit, why=why, distance=distance),
        ]
    if not own and first is not None and second is not None:
        text = f"marks {row.cells.get('mark_room', '')} and {row.cells.get('mark_far', '')}"
        marked = abs(first - second)
        return [*others, Typed(test="length", position="", text=text, value=marked, number=marked)]
    return typed


@cache
def _bounds() -> Mapping[str, tuple[float, float]]:
    return {row.text("test"): (row.number("low"), row.number("high")) for row in table("reading_bounds")}


@cache
def _velocities() -> tuple[float, float]:
    band = table("nvp_typical").find(insulation="any")
    return band.number("low"), band.number("high")


def _contradiction(readings: tuple[Typed, ...]) -> str:
    """Return why a row can't be true: a value beyond physics, or readings that exclude each other."""
    for one in readings:
        low, high = _bounds().get(one.test, (-math.inf, math.inf))
        number = one.number
        if number is None or low <= number <= high:
            continue
        if under(number, low) or over(number, high):
            return f"{one.text or number!r} is no possible {one.test.replace('_', ' ')}"
    return _map_against_pins(readings) or _length_against_delay(readings)


def _map_against_pins(readings: tuple[Typed, ...]) -> str:
    have = {one.key: one for one in readings}
    word, pins = have.get(("wire_map", "")), have.get(("wire_map", "pins"))
    if word and pins and isinstance(pins.value, str):
        found = classify(pins.value).word
        # A split pair shows sound pins, so that only these two words exclude each other.
        if (word.value == "pass") != (found == "pass") and word.value != "split":
            return f"the wire map says {word.value}, the pins {pins.text} say {found}"
    return ""


def _length_against_delay(readings: tuple[Typed, ...]) -> str:
    delays = {one.position: one for one in readings if one.test == "delay" and one.number}
    if not delays:
        return ""
    low, high = _velocities()
    for pair, length in pair_lengths(readings).items():
        delay = delays.get(pair)
        if delay is None or not length.number or not delay.number:
            continue
        if low < velocity(length_m=length.number, delay_s=delay.number) < high:
            continue
        loose_m, loose_s = half_step(length.text, length.si), half_step(delay.text, delay.si)
        slowest = velocity(length_m=max(length.number - loose_m, 1e-9), delay_s=delay.number + loose_s)
        fastest = velocity(length_m=length.number + loose_m, delay_s=max(delay.number - loose_s, 1e-12))
        if over(slowest, high) or under(fastest, low):
            shown = velocity(length_m=length.number, delay_s=delay.number)
            return f"pair {pair}: its length and delay make {shown:.2f} of light's speed, no cable has that"
    return ""
