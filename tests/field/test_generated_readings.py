"""Readings made up around every limit of a job: accuracy is a bound, and no verdict says more than it allows."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from estimator.acceptance.columns import Column, sheet
from estimator.acceptance.compare import FAIL, MARGINAL_FAIL, MARGINAL_PASS, PASS
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.field.interpret import interpret
from estimator.field.readings import Bench, judge_row
from tests.field.fault_job import school
from tests.field.sheetrows import row

READINGS = 5_000
BAD = (FAIL, MARGINAL_FAIL)
GOOD = (PASS, MARGINAL_PASS)

# What the instrument ALL of the job states: a share of the reading, and a fixed part in SI units.
STATED = {
    "length": (0.02, 0.3),
    "delay": (0.0, 5e-9),
    "skew": (0.0, 5e-9),
    "loss": (0.0, 0.1),
    **dict.fromkeys(("resistance", "end_of_line", "impedance", "bonding"), (0.01, 0.02)),
    **dict.fromkeys(("poe", "video_level", "stray_volts", "line_volts", "load_volts"), (0.005, 0.02)),
}
STATES = {"terminated": "terminated", "bridging": "bridging"}


@dataclass(frozen=True)
class Judged:
    """One made-up reading: how far its true value lies inside the limit, how sharp it is, and its verdict."""

    test: str
    inside: float
    accuracy: float
    word: str
    why: str


def _judgeable() -> list[tuple[Criteria, Criterion, Column]]:
    """Return every limit of the job that the instrument states an accuracy for, with the column it is typed in."""
    found = []
    for one in school()[2]:
        columns = sheet(one.medium, "m").columns
        for criterion in one.criteria:
            limited = criterion.low is not None or criterion.high is not None
            if not limited or criterion.test not in STATED or criterion.position == "watts":
                continue
            loose = one.rows or criterion.test == "video_level"
            column = next(
                c for c in columns if c.test == criterion.test and (loose or c.position == criterion.position)
            )
            found.append((one, criterion, column))
    return found


def _accuracy(test: str, value: float) -> float:
    share, fixed = STATED[test]
    return share * abs(value) + fixed


def _made(dice: random.Random) -> Iterator[Judged]:
    project = school()[0]
    bench = Bench(project.acceptance, project.rules, {})
    listed = _judgeable()
    while True:
        one, criterion, column = dice.choice(listed)
        limit = dice.choice([value for value in (criterion.low, criterion.high) if value is not None])
        read = limit + dice.uniform(-4, 4) * _accuracy(criterion.test, limit)
        if read <= 0:
            continue
        accuracy = _accuracy(criterion.test, read)
        true = read + dice.uniform(-1, 1) * accuracy
        inside = min(
            true - criterion.low if criterion.low is not None else float("inf"),
            criterion.high - true if criterion.high is not None else float("inf"),
        )
        cells = {column.key: repr(read / column.si), "instrument": "ALL"}
        cells |= {"far_end": criterion.position} if criterion.test == "video_level" else {}
        cells |= {"block": criterion.position, "load_amps": "3"} if one.rows else {}
        block = criterion.position if one.rows else ""
        said = interpret(row(one.circuit, one.medium, **cells), one, block, project.acceptance, "m")
        reading = next(each for each in judge_row(said, bench) if each.criterion is criterion)
        yield Judged(criterion.test, inside, accuracy, reading.word, reading.why)


def test_no_verdict_says_more_than_the_accuracy_allows() -> None:
    """Inside its limit by more than the accuracy nothing fails, and outside by more than it nothing passes.

    Noise is uniform within the accuracy, which is a bound; the readings go through the sheet's own
    units and every step of judging.
    """
    maker = _made(random.Random(20_260_301))
    made = [next(maker) for _ in range(READINGS)]
    assert [one for one in made if one.word not in (*BAD, *GOOD)] == []
    assert [one for one in made if one.inside > one.accuracy and one.word in BAD] == []
    assert [one for one in made if -one.inside > one.accuracy and one.word in GOOD] == []
    words = Counter(one.word for one in made)
    assert min(words[word] for word in (*BAD, *GOOD)) > READINGS / 50
    assert {one.test for one in made} == set(STATED)
