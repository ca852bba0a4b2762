"""Bid against built: the length read on each cable beside the expected one, and what is left over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from estimator.acceptance.compare import NOT_JUDGED
from estimator.calc.formula import Expression
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.takeoff.footage import Length, end_of
from estimator.takeoff.orders import TOTAL, CableOrder
from estimator.takeoff.takeoff import Takeoff
from estimator.units.rounding import over

DIFFERENCE: Final = Expression("measured - expected")
"""How much longer a cable is than expected [m]."""

DIFFERENCE_SHARE: Final = Expression("(measured - expected) / expected")
"""The same as a share of what was expected [unitless]."""

NOT_PASSED: Final = Expression("strands - passed")
"""Strands of a fiber cable that have no pass."""


_WORST_FIRST: Final = (
    "fail",
    "incomplete",
    "not tested",
    "not reachable",
    "in service",
    "marginal pass",
    "waived",
    "not sampled",
    "pass",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class BuiltCable:
    """One cable as built: what was expected, what was read, and the results of its circuit or strands."""

    length: Length
    results: tuple[CircuitResult, ...]
    measured_m: float | None

    @property
    def word(self) -> str:
        """Return the word of the cable: the worst of its strands'."""
        return worst_word(self.results)

    @property
    def far_end(self) -> str:
        """Return where the cable leads."""
        return self.results[0].criteria.far_end if self.results else end_of(self.length) or ""


@dataclass(frozen=True, kw_only=True, slots=True)
class BuiltFootage:
    """One cable type: what is ordered, what was bid, and what was read on the cables that have a reading."""

    order: CableOrder
    bid: CableOrder | None
    measured_m: float
    compared_m: float
    read: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Strands:
    """The strands of one fiber cable, and how many passed."""

    cable: str
    strands: int
    passed: int


def by_circuit(results: Iterable[CircuitResult]) -> dict[str, list[CircuitResult]]:
    """Return the results by circuit: the strands of a fiber stand together."""
    found: dict[str, list[CircuitResult]] = {}
    for one in results:
        found.setdefault(one.criteria.circuit, []).append(one)
    return found


def worst_word(results: Iterable[CircuitResult]) -> str:
    """Return the word of what belongs together: the worst of its words."""
    words = [one.word for one in results]
    return min(words, key=_WORST_FIRST.index) if words else "not tested"


def measured_m(results: Iterable[CircuitResult]) -> float | None:
    """Return the length that was read on a cable, on its first strand with one [m].

    None where it isn't judged, such as one of a wrong velocity, and where a short shows the way to itself.
    """
    for one in results:
        reading, joined = one.reading("length"), one.reading("open_short")
        if reading is None or reading.word == NOT_JUDGED or (joined is not None and joined.value == "short"):
            continue
        if isinstance(reading.value, float) and over(reading.value, 0) and reading.value < float("inf"):
            return reading.value
    return None


def built_cables(takeoff: Takeoff, job: Job) -> tuple[BuiltCable, ...]:
    """Return the cables room by room and port by port, as people look them up."""
    results = by_circuit(job.result.circuits)
    order = {circuit: place for place, circuit in enumerate(results)}
    lengths = sorted(takeoff.footage.lengths, key=lambda length: order.get(length.id, len(order)))
    found = ((length, tuple(results.get(length.id, ()))) for length in lengths)
    return tuple(BuiltCable(length=length, results=own, measured_m=measured_m(own)) for length, own in found)


def built_footage(takeoff: Takeoff, job: Job) -> tuple[BuiltFootage, ...]:
    """Return the footage by cable type; only cables whose length was read are compared."""
    results = by_circuit(job.result.circuits)
    bid = {order.cable.id: order for order in job.bid.orders} if job.bid else {}
    found: list[BuiltFootage] = []
    for order in takeoff.orders:
        read = [
            (own, length) for length in order.lengths if (own := measured_m(results.get(length.id, ()))) is not None
        ]
        found.append(
            BuiltFootage(
                order=order,
                bid=bid.get(order.cable.id),
                measured_m=TOTAL(lengths=[own for own, _ in read]),
                compared_m=TOTAL(lengths=[length.expected_m for _, length in read]),
                read=len(read),
            )
        )
    return tuple(found)


def strands_of(job: Job) -> tuple[Strands, ...]:
    """Return the strands of every fiber cable."""
    fibers = by_circuit(one for one in job.result.circuits if one.criteria.medium == "fiber")
    return tuple(
        Strands(cable=cable, strands=len(own), passed=sum(one.word == "pass" for one in own))
        for cable, own in fibers.items()
    )
