"""One row's readings against their criteria, with what forbids judging them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Final

from estimator.acceptance.columns import CORD_PAIRS, FAR_END, PAIRS
from estimator.acceptance.compare import NOT_JUDGED, RANK, compare
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.acceptance.instruments import past_due
from estimator.calc.copper_link import corrected_length_m
from estimator.field.learned import Learned, Ratio
from estimator.field.said import Said, Typed
from estimator.field.verdicts import Reading
from estimator.spec.quality import Acceptance, Instrument
from estimator.spec.rules import Rules
from estimator.units.rounding import over, under

NO_CRITERION: Final = "recorded, no criterion of this circuit"
"""Why a reading that no criterion asks for isn't judged."""

NOT_SEEN: Final = "continuity alone doesn't rule out a split pair; nothing says that the instrument sees one"
"""Why split pairs stay unjudged by an instrument that only follows conductors from pin to pin."""

_WORTH: Final = 0.01  # share of a length below which nobody sets a velocity anew
_NVP_STEP: Final = 0.005  # half a percent point, the step in which instruments take it
_SHARES: Final = 1.5  # a velocity typed below this is a share, above it a percentage
_PLAIN: Final = re.compile(r"[^a-z0-9]+")
_CATEGORY: Final = re.compile(r"(?:cat|category)?(5e|6a|6|8|5|3)(?![0-9])")
_FIBER: Final = re.compile(r"(?<![a-z0-9])o[ms][1-5]a?(?![0-9])")
_LOOSE_LOOP: Final = ("open", "terminated", "bridging", "end-of-line in", "device on")
_LOAD_SHARE: Final = 0.9  # a load this much under the plan's tests something else


@dataclass(frozen=True)
class Bench:
    """What judging needs of a project: its acceptance, its rules and its instruments by name."""

    acceptance: Acceptance
    rules: Rules
    loads: Mapping[str, float]  # test load of a battery by circuit
    learned: Learned = field(default_factory=Learned)  # what the job's lengths say of its instruments
    on_cable: Mapping[str, str] = field(default_factory=dict)  # cable type by circuit

    @cached_property
    def ratios(self) -> Mapping[tuple[str, str], Ratio]:
        """Return how each instrument reads each cable."""
        return {(one.instrument, one.cable): one for one in self.learned.ratios}

    @cached_property
    def misread(self) -> Mapping[tuple[str, str], str]:
        """Return how much longer or shorter an instrument reads a cable, where that is worth a word."""
        found = {}
        for key, one in self.ratios.items():
            if one.off and not under(abs(one.value - 1), _WORTH):
                way = "longer" if one.value > 1 else "shorter"
                found[key] = f"reads this cable {abs(one.value - 1):.1%} {way} than {one.against}"
        return found

    def instrument(self, said: Said) -> Instrument | None:
        """Return the instrument that a row names, by id or serial number."""
        return named_instrument(said.word("instrument"), self.acceptance)


def named_instrument(named: str, acceptance: Acceptance) -> Instrument | None:
    """Return the listed instrument of an id or serial number in lower case, or None."""
    if not named:
        return None
    for one in acceptance.instruments:
        if named in (one.id.casefold(), one.serial.casefold()):
            return one
    return None


def set_velocity(said: Said) -> float | None:
    """Return the velocity that the instrument was set to, as a share of light's, or None."""
    typed = said.numbers.get("nvp")
    if typed is None or not 0 < typed <= 100:
        return None
    return typed if typed < _SHARES else typed / 100


def velocity_is_wrong(said: Said) -> bool:
    """Return whether the instrument's velocity isn't the one typed for the cable."""
    settings, own = said.criteria.settings, set_velocity(said)
    return (
        own is not None and settings.nvp is not None and settings.nvp_typed and over(abs(own - settings.nvp), _NVP_STEP)
    )


def wrong_limit(said: Said) -> str:
    """Return why a row was judged by another limit or adapter in the field; empty where it wasn't."""
    criteria = said.criteria
    named, adapter = said.word("limit"), said.word("adapter")
    if criteria.medium == "balanced_pair" and named and criteria.settings.limit and not _is_limit(named, criteria):
        return f"judged in the field by {said.row.cells['limit']!r}, the circuit's limit is {criteria.settings.limit}"
    if criteria.medium == "fiber" and _other_fiber(named, criteria.settings.limit.casefold()):
        return f"judged in the field by {said.row.cells['limit']!r}, the circuit's limit is {criteria.settings.limit}"
    if adapter and criteria.settings.adapter and adapter != criteria.settings.adapter:
        return f"tested with the {adapter} adapter, the circuit asks for {criteria.settings.adapter}"
    return ""


def _other_fiber(named: str, limit: str) -> bool:
    """Return whether a limit as typed names another class of fiber than the circuit's."""
    found = set(_FIBER.findall(named))
    return bool(found) and found.isdisjoint(_FIBER.findall(limit))


def _is_limit(named: str, criteria: Criteria) -> bool:
    """Return whether a limit as typed is the circuit's: its category and its kind of link."""
    plain = _PLAIN.sub("", named)
    if plain == _PLAIN.sub("", criteria.settings.limit.casefold()):
        return True
    words = set(_PLAIN.split(named))
    if "iso" in plain or "class" in plain or "en50173" in plain:
        return False
    edition = re.sub(r"(?:ansi)?tia(?:eia)?(?:568[0-9a-z]{0,2})?", "", plain)
    category = _CATEGORY.search(edition)
    links = {
        "permanent_link": "perm" in plain or "pl" in words,
        "channel": "chan" in plain or "ch" in words,
        "modular_plug_terminated_link": "mptl" in plain or "plug" in plain,
    }
    link = [name for name, hit in links.items() if hit]
    return category is not None and category.group(1) == criteria.category.casefold() and link == [criteria.link]


def judge_row(said: Said, bench: Bench) -> tuple[Reading, ...]:
    """Return every reading of a row, judged or with the reason why not."""
    forbidden = said.trouble or wrong_limit(said)
    instrument = bench.instrument(said)
    doubts = _doubts(said, instrument)
    own, true = set_velocity(said), said.criteria.settings.nvp
    wrong = (own, true) if own and true and velocity_is_wrong(said) else None
    row = _Row(said, bench, instrument, forbidden, doubts, wrong, _misread(said, bench, instrument))
    return tuple([_judge(typed, row) for typed in (*said.readings, *split_pairs(said, instrument))])


@dataclass(frozen=True, slots=True)
class _Row:
    """What all readings of a row share while they are judged."""

    said: Said
    bench: Bench
    instrument: Instrument | None
    forbidden: str
    doubts: tuple[str, ...]
    velocities: tuple[float, float] | None  # the one set and the cable's, where the one set is wrong
    misread: tuple[str, ...]  # how its instrument reads its cable, where that is off


def _misread(said: Said, bench: Bench, instrument: Instrument | None) -> tuple[str, ...]:
    """Return why the lengths of a row are believed less: a velocity that the job proves to be off."""
    if not bench.misread:
        return ()
    name = instrument.id if instrument else said.word("instrument")
    told = bench.misread.get((name, bench.on_cable.get(said.criteria.circuit, "")))
    return (f"{name or 'its instrument'} {told}",) if told else ()


def _doubts(said: Said, instrument: Instrument | None) -> tuple[str, ...]:
    """Return why all readings of a row are believed less: its instrument's calibration, its clock."""
    if instrument is not None and past_due(instrument, said.day):
        return (*said.doubts, f"{instrument.id} was due for calibration on {instrument.calibration_due}")
    return said.doubts


def _length_doubt(typed: Typed, row: _Row) -> tuple[str, ...]:
    """Return why a length is believed less: another velocity than the cable's, set or proven by the job."""
    if typed.number is None or typed.text.startswith("marks"):
        return ()
    if row.velocities is None:
        return row.misread
    own, true = row.velocities
    if row.bench.rules.velocity_correction != "yes":
        return (f"velocity set to {own:.0%}, the cable's is {true:.0%}",)
    return (f"read as {typed.text} {typed.unit} with the velocity {own:.0%}, the cable's is {true:.0%}",)


def _judge(typed: Typed, row: _Row) -> Reading:
    said, bench, instrument, doubts = row.said, row.bench, row.instrument, row.doubts
    test, position = typed.test, typed.position
    backward = position.endswith(FAR_END)
    criterion = said.criteria.by_key.get((test, position)) if not backward else None
    if backward or test == "video_level":
        criterion = _criterion(typed, said)
    value, why = typed.value, typed.why or row.forbidden
    if test == "length":
        doubts += _length_doubt(typed, row)
        if not why and row.velocities is not None:
            value, why = _velocity(typed, row.velocities, bench)
    if not why and test in _STATEFUL:
        why = _state(typed, said, bench, criterion)
    if test == "split_pair":
        why = why or _unseen(instrument)
    accuracy = None if bench.rules.marginal == "none" else accuracy_of(instrument, typed, value)
    label = criterion.label if criterion else label_of(typed)
    found = None
    if criterion is None:
        why = why or NO_CRITERION
    if not why and criterion is not None and value is not None:
        found = compare(value, criterion, accuracy)
        why = found.why
    return Reading(
        test=test,
        position=criterion.position if criterion and not backward else position,
        label=f"{label}, from the far end" if backward and criterion else label,
        text=typed.text,
        value=value,
        raw=typed.number,
        criterion=criterion,
        word=found.word if found else NOT_JUDGED,
        margin=found.margin if found else None,
        accuracy=accuracy,
        why=why,
        row=said.row,
        unit=typed.unit,
        doubts=doubts,
    )


def split_pairs(said: Said, instrument: Instrument | None) -> Iterable[Typed]:
    """Yield what a wire map says of split pairs, where somebody asks for them and nobody typed it.

    Pins alone don't tell: only an instrument that measures crosstalk rules a split pair out.
    """
    asked = said.criteria.criterion("split_pair")
    if asked is None or not asked.required or said.typed("split_pair") is not None:
        return
    mapped = said.typed("wire_map")
    if mapped is None or mapped.value not in ("pass", "split"):
        return
    why = "" if mapped.value == "split" or (instrument is not None and instrument.sees_split_pairs) else NOT_SEEN
    value = None if why else ("split" if mapped.value == "split" else "clear")
    yield Typed(test="split_pair", position="", text=f"wire map {mapped.text}", value=value, why=why)


def _unseen(instrument: Instrument | None) -> str:
    """Return why an instrument can't tell split pairs; empty where it can, or nothing is known of it."""
    if instrument is None or instrument.sees_split_pairs:
        return ""
    continuity = "continuity" in instrument.kind.casefold()
    return NOT_SEEN if instrument.sees_split_pairs is False or continuity else ""


def label_of(typed: Typed) -> str:
    """Return a reading's name where it has no criterion."""
    return _label(typed.test, typed.position)


@lru_cache(maxsize=1024)
def _label(test: str, position: str) -> str:
    name = test.replace("_", " ").capitalize()
    if position in (*PAIRS, *CORD_PAIRS):
        return f"{name}, pair {'-'.join(position)}"
    return f"{name} {position}".strip()


def _criterion(typed: Typed, said: Said) -> Criterion | None:
    if typed.test == "video_level":
        return said.criteria.criterion("video_level", said.word("far_end"))
    return said.criteria.criterion(typed.test, typed.position.removesuffix(FAR_END).rstrip())


def _velocity(typed: Typed, velocities: tuple[float, float], bench: Bench) -> tuple[float | str | None, str]:
    """Return a length corrected for a wrong velocity, the one set and the cable's, or why it isn't judged."""
    own, true = velocities
    if typed.number is None or typed.text.startswith("marks"):
        return typed.value, ""
    if bench.rules.velocity_correction == "yes":
        return corrected_length_m(measured_m=typed.number, set_nvp=own, true_nvp=true), ""
    return typed.value, f"velocity set to {own:.0%}, the cable's is {true:.0%}"


_STATEFUL: Final = frozenset(
    (
        "video_level",
        "open_circuit_volts",
        "float_volts",
        "load_volts",
        "resistance",
        "end_of_line",
        "open_short",
        "loss",
    )
)
"""Tests that hang on the state in which they were taken."""


def _state(typed: Typed, said: Said, bench: Bench, criterion: Criterion | None) -> str:
    """Return why the state in which a reading was taken forbids judging it; empty where it doesn't."""
    state, test = said.word("far_end"), typed.test
    if test == "video_level" and criterion is None:
        return "terminated or bridging isn't stated" if not state else f"far end {state}: no level is expected"
    if test == "open_circuit_volts" and state == "charger on":
        return "read with the charger on"
    if test == "resistance" and said.criteria.medium != "balanced_pair" and state in _LOOSE_LOOP:
        return f"far end {state}: no loop"
    if test == "end_of_line" and state in ("open", "shorted"):
        return f"far end {state}: the resistor isn't in"
    if test == "open_short" and state == "shorted" and typed.value == "short":
        return "far end shorted: the short is the join itself"
    if test == "float_volts" and state == "charger off":
        return "read with the charger off"
    if test == "loss" and said.criteria.medium == "fiber":
        return _reference(said)
    planned, used = bench.loads.get(said.criteria.circuit), said.numbers.get("load_amps")
    if test == "load_volts" and planned is not None and used is not None and under(used, _LOAD_SHARE * planned):
        return f"test load {used:g} A, the plan says {planned:g} A"
    return ""


def _reference(said: Said) -> str:
    named, asked = said.word("reference"), said.criteria.settings.reference
    if not asked or named == asked:
        return ""
    return f"reference by {named}, the link asks for {asked}" if named else f"no reference method, {asked} is asked for"


_Stated = Callable[[Instrument], tuple[float | None, float]]
_ACCURACY: Final[Mapping[str, _Stated]] = {
    "length": lambda i: (i.length_accuracy, i.length_accuracy_m),
    **dict.fromkeys(
        ("resistance", "end_of_line", "impedance", "bonding"),
        lambda i: (i.resistance_accuracy, i.resistance_accuracy_ohm),
    ),
    **dict.fromkeys(
        ("poe", "line_volts", "stray_volts", "video_level", "open_circuit_volts", "load_volts", "float_volts"),
        lambda i: (i.volts_accuracy, i.volts_accuracy_v),
    ),
    **dict.fromkeys(("delay", "skew"), lambda i: (None, i.delay_accuracy_s or 0.0)),
    "loss": lambda i: (None, i.loss_accuracy_db or 0.0),
}


def accuracy_of(instrument: Instrument | None, typed: Typed, value: float | str | None) -> float | None:
    """Return the accuracy that an instrument states for a value, in SI, or None where it states none."""
    stated = None if typed.position == "watts" else _ACCURACY.get(typed.test)
    if instrument is None or stated is None or not isinstance(value, float) or not math.isfinite(value):
        return None
    share, fixed = stated(instrument)
    accuracy = (share or 0.0) * abs(value) + fixed
    return accuracy if accuracy > 0 else None


def worst(readings: Iterable[Reading]) -> Reading:
    """Return the worse of readings that nothing orders; one that can't be judged gives way to one that can."""
    listed = readings if isinstance(readings, list) else list(readings)
    if len(listed) == 1:
        return listed[0]
    judged = [one for one in listed if one.word != NOT_JUDGED] or listed
    return max(judged, key=lambda one: (RANK[one.word], -(one.margin if one.margin is not None else math.inf)))
