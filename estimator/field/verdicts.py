"""What judging gives: readings, tries, circuits and the whole job, with everything kept that was read."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final, Literal

from estimator.acceptance.compare import FAIL, MARGINAL_FAIL, MARGINAL_PASS, NOT_JUDGED, PASS, Word
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.field.learned import Learned
from estimator.field.rows import ReadRow

CircuitWord = Literal[
    "pass", "marginal pass", "fail", "incomplete", "not tested", "not reachable", "in service", "not sampled", "waived"
]
_LONGEST: Final = 14
INCOMPLETE: Final = "incomplete"
NOT_TESTED: Final = "not tested"
NOT_SAMPLED: Final = "not sampled"
WAIVED: Final = "waived"
_FAILING: Final = frozenset((FAIL, MARGINAL_FAIL))


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One reading against its criterion.

    ``value`` is what was judged, in SI or as a word; ``raw`` is the number as read, where a wrong
    velocity made them differ. ``doubts`` say why it is believed less though it counts: an instrument out
    of calibration, a clock years off, a velocity that isn't the cable's.
    """

    test: str
    position: str
    label: str
    text: str
    value: float | str | None
    raw: float | None
    criterion: Criterion | None
    word: Word
    margin: float | None
    accuracy: float | None
    why: str
    row: ReadRow
    unit: str = ""  # in which the text was typed
    doubts: tuple[str, ...] = ()

    @property
    def shown(self) -> str:
        """Return the reading as typed, with the unit of its column where it is a number."""
        text = self.text
        if len(text) > _LONGEST and isinstance(self.value, float) and math.isfinite(self.value) and "." in text:
            # A workbook keeps every digit of a float: nobody typed the seventeenth.
            text = f"{float(text):.12g}" if text.replace(".", "", 1).isdecimal() else text
        return f"{text} {self.unit}" if self.unit and text[-1:].isdigit() else text

    @property
    def key(self) -> tuple[str, str]:
        """Return test and position."""
        return self.test, self.position

    @property
    def failed(self) -> bool:
        """Return whether it makes its circuit fail."""
        return self.word in _FAILING

    @property
    def evidence(self) -> str:
        """Return the instrument's own file and record behind it; empty where it was only reported."""
        return self.row.backing


@dataclass(frozen=True, kw_only=True, slots=True)
class Try:
    """One round of a circuit: its rows, readings and verdict. ``current`` rounds make the verdict."""

    round: int | None
    moment: datetime | None
    day: date | None
    rows: tuple[ReadRow, ...]
    readings: tuple[Reading, ...]
    word: CircuitWord
    current: bool

    @property
    def name(self) -> str:
        """Return the round for people."""
        number = f"round {self.round}" if self.round is not None else "no round"
        return f"{number}, {self.day.isoformat()}" if self.day else number


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """Something that the numbers say beside their verdict, with evidence and where to look.

    ``cause`` tells a probable cause of a failure from a remark; ``place`` is where a fault lies on
    the circuit's route; ``instead`` is what else would look alike.
    """

    kind: str
    circuit: str
    text: str
    evidence: str
    look: str
    cause: bool = False
    place: str = ""
    instead: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class SignedOff:
    """Who accepted or waived something, in which role, when and by which paper."""

    reason: str
    name: str
    role: str
    day: str
    reference: str
    test: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class CircuitResult:
    """One circuit judged: verdict, current readings, what is missing, all tries, findings."""

    criteria: Criteria
    word: CircuitWord
    why: str
    readings: tuple[Reading, ...] = ()
    missing: tuple[Criterion, ...] = ()
    history: tuple[Try, ...] = ()
    findings: tuple[Finding, ...] = ()
    accepted: SignedOff | None = None
    waived: SignedOff | None = None

    @property
    def id(self) -> str:
        """Return the circuit's id."""
        return self.criteria.id

    @property
    def tested(self) -> bool:
        """Return whether there is any reading."""
        return bool(self.history)

    @property
    def complete(self) -> bool:
        """Return whether nothing is left to do on it."""
        if self.word == MARGINAL_PASS:
            return self.accepted is not None
        return self.word in (PASS, WAIVED, NOT_SAMPLED)

    @property
    def backed(self) -> bool:
        """Return whether every current reading has an instrument's own record behind it."""
        return bool(self.readings) and all(reading.evidence for reading in self.readings)

    @property
    def doubts(self) -> tuple[str, ...]:
        """Return why its current readings are believed less, each reason once."""
        return tuple(dict.fromkeys(doubt for one in self.readings for doubt in one.doubts))

    @property
    def causes(self) -> tuple[Finding, ...]:
        """Return the probable causes of its failure."""
        return tuple(finding for finding in self.findings if finding.cause)

    def reading(self, test: str, position: str = "") -> Reading | None:
        """Return a current reading, or None."""
        return next((one for one in self.readings if one.key == (test, position)), None)


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A row that is kept and not used, and why: no such circuit, another sheet, voided, twice the same."""

    row: ReadRow
    kind: Literal["unknown circuit", "other sheet", "voided", "corrected", "duplicate", "unknown position"]
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class PunchItem:
    """One line of the punch list, open or cleared."""

    circuit: str
    room: str
    what: str
    look: str
    found: str
    cleared: str = ""

    @property
    def open(self) -> bool:
        """Return whether it is still to be done."""
        return not self.cleared


@dataclass(frozen=True, kw_only=True, slots=True)
class SampleResult:
    """A stated sample: how many must be tested, how many were, and whether it failed."""

    cable: str
    circuits: int
    needed: int
    tested: int
    failed: tuple[str, ...]
    rule: str


@dataclass(frozen=True, kw_only=True, slots=True)
class JobResult:
    """The whole job judged, in test order, with everything that could not be used."""

    circuits: tuple[CircuitResult, ...]
    by_id: Mapping[str, CircuitResult]
    unplaced: tuple[Unplaced, ...]
    samples: tuple[SampleResult, ...]
    findings: tuple[Finding, ...]
    punch: tuple[PunchItem, ...]
    problems: tuple[str, ...]
    learned: Learned = field(default_factory=Learned)

    @property
    def complete(self) -> bool:
        """Return whether every circuit passes, is accepted or waived, or lies outside the sample."""
        return all(circuit.complete for circuit in self.circuits)

    @property
    def open_items(self) -> tuple[PunchItem, ...]:
        """Return the punch list's open lines."""
        return tuple(item for item in self.punch if item.open)


def judged_keys(readings: Iterable[Reading]) -> set[tuple[str, str]]:
    """Return the criteria that readings answer, by test and position: in whichever direction they were read."""
    told = [one.criterion or one for one in readings if one.word != NOT_JUDGED]
    return {(one.test, one.position) for one in told}


def circuit_word(readings: tuple[Reading, ...], required: tuple[Criterion, ...]) -> tuple[CircuitWord, str]:
    """Return the verdict that readings give a circuit, and why.

    Fail where a usable reading fails, even marginally; else incomplete where a required one is
    missing or not judged; else marginal pass; else pass.
    """
    failed = [one.label for one in readings if one.word in _FAILING]
    if failed:
        return "fail", ", ".join(failed)
    judged = judged_keys(readings)
    lacking = [one.label for one in required if (one.test, one.position) not in judged]
    if lacking:
        return "incomplete", ", ".join(lacking)
    near = [one.label for one in readings if one.word == MARGINAL_PASS]
    return ("marginal pass", ", ".join(near)) if near else ("pass", "")
