"""What the lengths of a whole job say, as findings on its circuits."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.field.learned import Exchanged, Learned, Ratio
from estimator.field.verdicts import Finding
from estimator.spec.model import Project
from estimator.units.table import FACTORS

EXCHANGED: Final = "exchanged labels"
RATIO: Final = "lengths of an instrument"

_WORTH: Final = 0.01
"""Share of a length below which nobody sets a velocity anew."""


def length_findings(learned: Learned, project: Project) -> tuple[Finding, ...]:
    """Return the findings that only the lengths of many circuits together show."""
    unit = project.header.lengths_in
    return (*(one for pair in learned.exchanged for one in _exchanged(pair, unit)), *_ratios(learned))


def _exchanged(pair: Exchanged, unit: str) -> Iterable[Finding]:
    """Yield a finding on both circuits whose lengths fit each other's label."""
    foot = FACTORS["length"][unit]
    for one, other in ((pair.first, pair.second), (pair.second, pair.first)):
        evidence = (
            f"measured {one.measured_m / foot:.1f} {unit} where {one.expected_m / foot:.1f} are expected, and "
            f"{other.circuit} {other.measured_m / foot:.1f} where {other.expected_m / foot:.1f} are: each fits the "
            f"other; by scatter alone in {max(pair.chance, 1e-6):.1g} of jobs"
        )
        yield Finding(
            kind=EXCHANGED,
            circuit=one.circuit,
            text=f"its length fits {other.circuit}, and that one's fits here",
            evidence=evidence,
            look=f"tone {one.circuit} and {other.circuit} out at both ends before anything is relabeled",
        )


def _ratios(learned: Learned) -> Iterable[Finding]:
    """Yield one finding for each cable and group of instruments: the one farthest from right."""
    told: set[tuple[str, str]] = set()
    worst = sorted(learned.ratios, key=lambda one: -abs(_by_itself(one, learned) - 1))
    for one in worst:
        if (one.instrument, one.cable) in told or abs(one.value - 1) < _WORTH:
            continue
        if not (one.low > 1 or one.high < 1):
            continue
        told |= {(one.instrument, one.cable), *((name, one.cable) for name in one.against.split(", "))}
        yield _ratio(one, learned)


def _by_itself(one: Ratio, learned: Learned) -> float:
    level = learned.level(one.instrument, one.cable)
    return level.value if level else one.value


def _ratio(one: Ratio, learned: Learned) -> Finding:
    circuit = next(
        each.circuit for each in learned.samples if (each.instrument, each.cable) == (one.instrument, one.cable)
    )
    way = "longer" if one.value > 1 else "shorter"
    name = one.instrument or "an instrument that isn't named"
    shares = sorted(abs(value - 1) for value in (one.low, one.high))
    text = f"{name} reads {one.cable} {abs(one.value - 1):.1%} {way} than {one.against}"
    evidence = f"{one.count} lengths; {shares[0]:.1%} to {shares[1]:.1%} with 95 % confidence"
    if one.undecided:
        look = f"{one.undecided}; test a few circuits with the other instrument, or note the jacket's footage marks"
    else:
        look = "the velocity set for this cable; the jacket's footage marks at both ends of a few circuits decide"
    return Finding(kind=RATIO, circuit=circuit, text=text, evidence=evidence, look=look)
