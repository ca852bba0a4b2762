"""A row as read to what it says: round, moment, settings, readings as numbers and words.

Also whether the row contradicts itself: then none of its readings is used.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, time
from functools import cache, lru_cache
from itertools import chain
from typing import Final

from estimator.acceptance.columns import FAR_END, OVER_FREQUENCY, PAIRS, Column, sheet
from estimator.acceptance.criterion import Criteria
from estimator.calc.copper_link import skew_s, velocity
from estimator.field.margins import with_margins
from estimator.field.rows import ReadRow
from estimator.field.said import Said, Typed
from estimator.field.typed import NOTHING, bare, half_step, read_day, read_time, read_value
from estimator.field.wiremap import classify, read_pins
from estimator.reference.lookup import table
from estimator.spec.quality import Acceptance
from estimator.units.rounding import over, under

_SIGNED: Final = ("line_volts", "stray_volts")
"""Readings whose sign only says which lead was red."""

_WITH_LENGTH: Final = ("balanced_pair", "coax", "conductors", "voice", "speaker")
_FAULTY_MAPS: Final = ("open", "short")
_ROUND: Final = re.compile(r"(?:round\s*)?(\d{1,4})(?:\.0+|st|nd|rd|th)?")
_DIRECTED: Final = ("loss", "length")
"""Readings of a strand that belong to the direction in which it was tested."""


@dataclass(frozen=True, slots=True)
class _Parsed:
    """A row's cells as numbers and words, before anybody asks which circuit it is of."""

    typed: list[Typed]
    numbers: Mapping[str, float]
    unusable: list[str]
    round: int | None
    day: date | None
    clock: time | None
    unread: Mapping[str, str]
    remarks: list[str]


def interpret(row: ReadRow, criteria: Criteria, position: str, acceptance: Acceptance, lengths_in: str) -> Said:
    """Return what a row of a circuit says; ``position`` is the block of a battery set."""
    parsed = _parse(row, position, acceptance, lengths_in)
    typed = parsed.typed
    if criteria.medium in _WITH_LENGTH:
        typed = _with_length(typed, parsed.numbers, row)
    elif criteria.medium == "fiber" and bare(row.cells.get("tested_from", "")).casefold() == FAR_END:
        typed = [_backward(one) for one in typed]
    if criteria.medium == "balanced_pair":
        typed = with_margins(typed, parsed.numbers, criteria)
    readings = tuple(chain(typed, _derived(typed)))
    return Said(
        row=row,
        criteria=criteria,
        position=position,
        round=parsed.round,
        day=parsed.day,
        clock=parsed.clock,
        readings=readings,
        numbers=parsed.numbers,
        trouble=_contradiction(readings, criteria),
        notes=(*parsed.unusable, *parsed.unread.values(), *parsed.remarks),
        unread=parsed.unread,
    )


def _backward(one: Typed) -> Typed:
    """Return a strand's reading with the direction in its position, where it hangs on it."""
    return replace(one, position=f"{one.position} {FAR_END}".strip()) if one.test in _DIRECTED else one


def unusable(row: ReadRow, acceptance: Acceptance, lengths_in: str) -> Iterable[str]:
    """Yield what can't be used of a row as read, whichever circuit it is of: each cell with the reason."""
    parsed = _parse(row, "", acceptance, lengths_in)
    return (*parsed.unusable, *parsed.unread.values(), *parsed.remarks)


def _parse(row: ReadRow, position: str, acceptance: Acceptance, lengths_in: str) -> _Parsed:
    decimal, order, lengths = acceptance.decimal, acceptance.date_order, row.lengths
    stated = row.stated
    if stated:
        decimal = _stated(stated, ("decimals", "decimal"), ("point", "comma")) or decimal
        order = _stated(stated, ("dates", "date order", "date"), ("mdy", "dmy", "ymd")) or order
        lengths = lengths or _stated(stated, ("lengths", "lengths in"), ("ft", "m"))
    columns = _read_columns(row.sheet, lengths or lengths_in, tuple(row.cells))
    typed, numbers, bad = _cells(row, columns, position, decimal)
    day, clock, unread = _when(row, order)
    number, trouble = _round(row.round)
    remarks = []
    if number is None and trouble:
        unread = {"round": trouble, **unread}
    elif trouble:
        remarks.append(trouble)
    return _Parsed(typed, numbers, bad, number, day, clock, unread, remarks)


def _stated(stated: Mapping[str, str], keys: Iterable[str], words: tuple[str, ...]) -> str:
    for key in keys:
        found = stated.get(key, "").strip().casefold()
        if found in words:
            return found
    return ""


@lru_cache(maxsize=1024)
def _round(text: str) -> tuple[int | None, str]:
    """Return a round's number, and what is to be said about it."""
    typed = bare(text).casefold()
    if not typed:
        return None, ""
    found = _ROUND.fullmatch(typed)
    if found is None:
        return None, f"round {text!r} is no number; the row has no round"
    number = int(found[1])
    return number, "" if typed.removesuffix(".0") == found[1] else f"round {text!r} is read as {number}"


def _when(row: ReadRow, order: str) -> tuple[date | None, time | None, dict[str, str]]:
    unread = {}
    day = clock = None
    typed = row.cells.get("date", "")
    if bare(typed).casefold() not in NOTHING:
        try:
            day = _day(typed, order)
        except ValueError as wrong:
            unread["date"] = f"date {wrong}; the row has no date"
    for text in (row.cells.get("time", ""), typed if ":" in typed else ""):
        if clock is None and bare(text).casefold() not in NOTHING:
            try:
                clock = _time(text)
            except ValueError as wrong:
                unread["time"] = f"time {wrong}; the row has no time"
    return day, clock, unread


_day = lru_cache(maxsize=4096)(read_day)  # a job has few days and many rows
_time = lru_cache(maxsize=4096)(read_time)


@lru_cache(maxsize=1024)  # the rows of a job fill few sets of columns
def _read_columns(name: str, lengths: str, keys: tuple[str, ...]) -> tuple[Column, ...]:
    """Return the columns of a sheet that hold readings or numbers, in its order, among those that a row fills."""
    have = frozenset(keys)
    return tuple(c for c in sheet(name, lengths).columns if c.key in have and (c.test or c.kind == "number"))


def _cells(
    row: ReadRow, columns: Iterable[Column], position: str, decimal: str
) -> tuple[list[Typed], dict[str, float], list[str]]:
    """Return readings, numbers that say how they were taken, and the cells that are neither."""
    typed: list[Typed] = []
    numbers: dict[str, float] = {}
    bad: list[str] = []
    cells = row.cells
    for column in columns:
        text = cells[column.key]
        plain = bare(text)
        if plain.casefold() in NOTHING:
            continue
        if column.kind != "number":
            typed.append(_worded(column, text, position))
            bad.extend(f"{column.head}: {one.why}" for one in typed[-1:] if one.why)
            continue
        try:
            sign = "point" if column.key in row.numbers else decimal
            value, why = read_value(text, column.unit, column.si, sign), ""
        except ValueError as wrong:
            value, why = math.nan, str(wrong)
            bad.append(f"{column.head}: {why}")
        if column.test:
            place = column.position or position
            signed = abs(value) if column.test in _SIGNED else value
            known = signed if math.isfinite(signed) else None
            typed.append(
                Typed(
                    test=column.test,
                    position=place,
                    text=plain,
                    value=None if why else signed,
                    si=column.si,
                    unit=column.unit,
                    why=why,
                    number=known,
                )
            )
        elif not why:
            numbers[column.key] = value
    return typed, numbers, bad


def _worded(column: Column, text: str, position: str) -> Typed:
    word = bare(text).casefold()
    if column.key == "pins":
        return Typed(
            test=column.test,
            position=column.position,
            text=bare(text),
            value=read_pins(word),
            why="" if read_pins(word) else f"{text!r} is not eight pins such as 3 6 1 2 4 5 7 8",
        )
    beyond = column.test == "open_short" and word == "ol"
    known = not column.words or word in column.words or beyond
    why = "" if known else f"{text!r} is none of {', '.join(column.words)}"
    return Typed(
        test=column.test,
        position=column.position or position,
        text=bare(text),
        why=why,
        value=("OL" if beyond else word) if known else None,
    )


def _at(readings: Iterable[Typed], test: str, position: str) -> Typed | None:
    """Return a reading by test and position, or None; of two alike the last."""
    found = None
    for one in readings:
        if one.test == test and one.position == position:
            found = one
    return found


def _derived(typed: list[Typed]) -> Iterable[Typed]:
    """Yield readings that others imply: a wire map from pins, skew from delays."""
    pins = _at(typed, "wire_map", "pins")
    if pins and isinstance(pins.value, str) and _at(typed, "wire_map", "") is None:
        yield Typed(test="wire_map", position="", text=pins.text, value=classify(pins.value).word)
    delays = [one.number for one in typed if one.test == "delay" and one.number is not None]
    if len(delays) == len(PAIRS) and _at(typed, "skew", "") is None:
        skew = skew_s(delays_s=delays)
        yield Typed(test="skew", position="", text="from delays", value=skew, si=1e-9, number=skew)


def faulty_pairs(readings: Iterable[Typed]) -> tuple[str, ...] | None:
    """Return the pairs that are open or shorted by the pins; None where the map is bad and tells none."""
    listed = list(readings)
    pins = _at(listed, "wire_map", "pins")
    if pins and isinstance(pins.value, str):
        found = classify(pins.value)
        return found.pairs if found.word in _FAULTY_MAPS else ()
    word = _at(listed, "wire_map", "")
    return None if word is not None and word.value in _FAULTY_MAPS else ()


def pair_lengths(readings: Iterable[Typed]) -> dict[str, Typed]:
    """Return the lengths of single pairs."""
    return {one.position: one for one in readings if one.test == "length" and one.position and one.number is not None}


def sound_lengths(readings: Iterable[Typed]) -> dict[str, Typed]:
    """Return the lengths of pairs that are neither open nor shorted: the others report a distance."""
    listed = list(readings)
    pairs = pair_lengths(listed)
    if not pairs:
        return {}
    faulty = faulty_pairs(listed)
    known = {pair: one for pair, one in pairs.items() if pair not in (faulty or ())}
    least = _short_share() * max([one.number or 0.0 for one in known.values()], default=0.0)
    reached = {pair: one for pair, one in known.items() if (one.number or 0.0) > least}
    if faulty is not None:
        return reached
    # Where all pairs end at about the same place, nothing says that any of them is whole.
    return reached if len(reached) < len(pairs) else {}


@cache
def _short_share() -> float:
    return table("reading_signs").find(name="short_pair").number("value")


def _with_length(typed: list[Typed], numbers: Mapping[str, float], row: ReadRow) -> list[Typed]:
    """Return the readings with the one length of the link: its shortest sound pair, else as typed,
    else by the jacket's marks. A link with a fault and no sound pair has a distance and no length.
    """
    own: list[Typed] = []
    others: list[Typed] = []
    for one in typed:
        (others if one.test != "length" or one.position else own).append(one)
    sound, first, second = sound_lengths(typed), numbers.get("mark_room"), numbers.get("mark_far")
    if sound:
        least = min(sound.values(), key=lambda one: one.number or 0.0)
        return [*others, _of_link(least)]
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


def _of_link(pair: Typed) -> Typed:
    """Return the length of a pair as that of its link."""
    return Typed(
        test=pair.test,
        position="",
        text=pair.text,
        value=pair.value,
        si=pair.si,
        unit=pair.unit,
        why=pair.why,
        number=pair.number,
        distance=pair.distance,
    )


@cache
def _bounds() -> Mapping[str, tuple[float, float]]:
    return {row.text("test"): (row.number("low"), row.number("high")) for row in table("reading_bounds")}


@cache
def _velocities() -> tuple[float, float]:
    band = table("nvp_typical").find(insulation="any")
    return band.number("low"), band.number("high")


def _contradiction(readings: tuple[Typed, ...], criteria: Criteria) -> str:
    """Return why a row can't be true: a value beyond physics, or readings that exclude each other.

    No meter rounds the circuit's own copper down to nothing.
    """
    loop_ohm, margins = criteria.expected_loop_ohm, criteria.medium == "balanced_pair"
    bounds = _bounds()
    for one in readings:
        number, bound = one.number, bounds.get(one.test)
        if number is None or bound is None:
            continue
        low, high = bound
        if low <= number <= high or (margins and one.test in OVER_FREQUENCY):
            continue
        if under(number, low) or over(number, high):
            return f"{one.text or number!r} is no possible {one.test.replace('_', ' ')}"
    for one in readings:
        if one.test == "resistance" and one.number == 0 and loop_ohm and over(loop_ohm, half_step(one.text, one.si)):
            return f"{one.text!r} is no possible resistance, the circuit's copper has {loop_ohm:.2f} ohm"
    return _map_against_pins(readings) or _length_against_delay(readings)


def _map_against_pins(readings: tuple[Typed, ...]) -> str:
    pins = _at(readings, "wire_map", "pins")
    word = _at(readings, "wire_map", "") if pins else None
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
