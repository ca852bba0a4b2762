"""Limits of balanced-pair links over frequency: criteria at any frequency, and the table of a test plan.

A limit is a line, not a number: what an instrument shows as its worst margin belongs to the frequency
beside it, and is judged by the line's own value there, unrounded. Where a pair loses little some
parameters are recorded and not judged; which ones is the project's choice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.acceptance.columns import OVER_FREQUENCY
from estimator.acceptance.compare import NOT_JUDGED, Outcome, compare
from estimator.acceptance.criterion import Criteria, Criterion, LowLoss
from estimator.calc.copper_link import delay_limit_s
from estimator.calc.formula import Expression
from estimator.calc.limit_line import MOST, LimitLine, expected_loss_db, judged_at, limit_db, limit_line
from estimator.reference.lookup import Row, table
from estimator.spec.quality import CableAcceptance
from estimator.units.rounding import over

LOSS: Final = "insertion_loss"
PARAMETERS: Final = OVER_FREQUENCY
"""Parameters with a limit line, as people call them."""

NO_EXEMPTION: Final = "none"
"""Word of the project file by which every point is judged, however little the pair loses there."""


_TRUST: Final = ("memory", "computed", "single", "confirmed")
"""How far a limit is known, the least first: a table is known no better than its weakest line."""


def line_from(row: Row) -> LimitLine:
    """Return the limit line that a row of a table holds."""
    return limit_line(
        low_mhz=row.numbers("low_mhz"),
        high_mhz=row.numbers("high_mhz"),
        expr=row.texts("expr"),
        sense=str(row.cells.get("sense", MOST)),
        cap_db=row.optional("cap_db"),
        floor_db=row.optional("floor_db"),
    )


@cache
def line_of(category: str, link: str, parameter: str) -> tuple[LimitLine, Row]:
    """Return the limit line of a link and the row it stands in.

    Raises: TableError where the category, the link or the parameter has none.
    """
    limits_of = table("link_models").find(link=link).text("limits_of")
    row = table("link_limits").find(category=category, link=limits_of, parameter=parameter)
    return line_from(row), row


@cache
def margin_criteria(category: str, link: str, tests: frozenset[str]) -> tuple[Criterion, ...]:
    """Return the criteria of the worst margins to the limit lines [dB], which every link of a kind shares."""
    found = []
    for parameter, name in PARAMETERS.items():
        _, row = line_of(category, link, parameter)
        margin = Criterion(
            test=parameter,
            label=f"{name}, worst margin",
            unit="dB",
            low=0.0,
            required=parameter in tests,
            source=row.source,
            confidence=row.confidence,
        )
        found.append(margin)
    return tuple(found)


@cache
def _component(part: str, category: str) -> LimitLine:
    return line_from(table("link_components").find(component=part, category=category, parameter=LOSS))


def low_loss(asked: CableAcceptance | None) -> tuple[LowLoss, ...]:
    """Return the parameters that are not judged where a pair loses little: as typed, else the defaults."""
    if asked is None or not asked.low_loss:
        return _exemptions((), "default")
    return _exemptions(asked.low_loss, f"acceptance, {asked.source.at('low_loss')}")


@cache
def _exemptions(typed: tuple[str, ...], origin: str) -> tuple[LowLoss, ...]:
    """Return the exemptions that thousands of circuits share."""
    return tuple(
        LowLoss(
            covers=row.texts("covers"),
            below_db=row.number("below_loss_db"),
            source=f"{origin}: {row.source}",
            confidence=row.confidence,
        )
        for row in table("not_judged_rules")
        if (row.text("parameter") in typed if typed else row.cells["default"])
    )


def limits_resistance(edition: str) -> bool:
    """Return whether an edition limits loop resistance and unbalance of a link: those before 568.2-D do not."""
    return edition != "568-C.2"


@dataclass(frozen=True, kw_only=True, slots=True)
class UnbalanceLimit:
    """How far two resistances may differ: the greater of a percentage of both together and a floor [ohm]."""

    between: str  # what is compared, in words
    percent: float
    floor_ohm: float
    source: str
    confidence: str


def unbalance_limits(link: str, edition: str) -> tuple[UnbalanceLimit, ...]:
    """Return how far the conductors of a pair, and the pairs of a link, may differ; nothing in older editions."""
    if not limits_resistance(edition):
        return ()
    row = table("link_resistance").find(link=link)
    words = {"within_pair": "the two conductors of a pair", "between_pairs": "two pairs, each side by side"}
    return tuple(
        UnbalanceLimit(
            between=between,
            percent=row.number(f"{name}_percent"),
            floor_ohm=row.number(f"{name}_floor_ohm"),
            source=row.source,
            confidence=str(row.cells.get(f"{name}_confidence", row.confidence)),
        )
        for name, between in words.items()
    )


def expected_db(*, category: str, link: str, length_m: float, frequency_mhz: float, factor: float = 1.0) -> float:
    """Return the insertion loss that a sound link of a length shows [dB].

    ``factor`` [unitless] is that of the cable's temperature; connections stay as they are.
    """
    connections = int(table("link_models").find(link=link).number("usual_connections"))
    return expected_loss_db(
        length_m=length_m,
        cable_db_per_100m=factor * limit_db(line=_component("cable_100_m", category), frequency_mhz=frequency_mhz),
        connections=connections,
        connection_db=limit_db(line=_component("connector", category), frequency_mhz=frequency_mhz),
    )


def criterion_at(one: Criteria, parameter: str, frequency_mhz: float, position: str = "") -> Criterion | None:
    """Return what a circuit's parameter must show at a frequency [MHz]; None where it has no limit there.

    ``position`` is a pair or a combination of pairs. The limit is unrounded, in dB.
    """
    if parameter not in PARAMETERS or not table("link_limits").has(category=one.category, parameter=parameter):
        return None
    line, row = line_of(one.category, one.link, parameter)
    if over(frequency_mhz, line.segments[-1].high_mhz) or over(line.segments[0].low_mhz, frequency_mhz):
        return None
    value = limit_db(line=line, frequency_mhz=frequency_mhz)
    at_most = line.sense == MOST
    expected = None
    if parameter == LOSS and one.expected_m is not None:
        expected = expected_db(
            category=one.category, link=one.link, length_m=one.expected_m, frequency_mhz=frequency_mhz
        )
    return Criterion(
        test=parameter,
        position=position,
        label=f"{PARAMETERS[parameter]} at {frequency_mhz:g} MHz",
        unit="dB",
        decimals=1,
        low=None if at_most else value,
        high=value if at_most else None,
        source=row.source,
        confidence=row.confidence,
        expected=expected,
    )


def judge_at(
    one: Criteria,
    parameter: str,
    measured_db: float,
    frequency_mhz: float,
    *,
    loss_db: float | None = None,
    accuracy_db: float | None = None,
) -> Outcome:
    """Return the verdict on a value with its frequency; ``loss_db`` is the pair's loss there, where known.

    The margin is the line's own at that frequency, whatever margin the instrument showed.
    """
    criterion = criterion_at(one, parameter, frequency_mhz)
    if criterion is None:
        return Outcome(NOT_JUDGED, why=f"no limit of {parameter.replace('_', ' ')} at {frequency_mhz:g} MHz")
    for rule in one.low_loss:
        if parameter in rule.covers and not judged_at(loss_db=loss_db, below_loss_db=rule.below_db):
            return Outcome(NOT_JUDGED, why=f"the pair loses {loss_db:g} dB, less than {rule.below_db:g} dB")
    return compare(measured_db, criterion, accuracy_db)


@dataclass(frozen=True, kw_only=True, slots=True)
class FrequencyLimits:
    """The limits of a category's link at the tabled frequencies, and what its longest circuit should lose."""

    category: str
    link: str
    longest_m: float
    factor: float  # what the heat multiplies the loss of the cable by
    parameters: tuple[str, ...]
    mhz: tuple[float, ...]
    limits_db: Mapping[str, tuple[float, ...]]
    senses: Mapping[str, str]
    expected_db: tuple[float, ...]
    delay_s: tuple[float, ...]
    source: str
    confidence: str
    low_loss: tuple[LowLoss, ...]
    cables: tuple[str, ...]


def frequency_limits(
    circuits: Sequence[Criteria], factors: Mapping[str, float] | None = None
) -> tuple[FrequencyLimits, ...]:
    """Return the limits over frequency of every kind of link among these circuits, in their order.

    ``factors`` [unitless] is what the heat multiplies a cable type's loss by; nothing is warm without.
    """
    groups: dict[tuple[str, str, tuple[LowLoss, ...]], list[Criteria]] = {}
    limits = table("link_limits")
    for one in circuits:
        if one.category and limits.has(category=one.category):
            groups.setdefault((one.category, one.link, one.low_loss), []).append(one)
    return tuple(_limits(key, members, factors or {}) for key, members in groups.items())


def _limits(
    key: tuple[str, str, tuple[LowLoss, ...]], members: Sequence[Criteria], factors: Mapping[str, float]
) -> FrequencyLimits:
    category, link, rules = key
    lines = {parameter: line_of(category, link, parameter) for parameter in PARAMETERS}
    top = lines[LOSS][0].segments[-1].high_mhz
    mhz = tuple(row.number("mhz") for row in table("link_frequencies") if not over(row.number("mhz"), top))
    longest_m = max((one.expected_m or 0.0 for one in members), default=0.0)
    factor = max(factors.get(one.cable, 1.0) for one in members)
    delay = Expression(table("link_delay").find(link=link).text("expr"))
    rows = [row for _, row in lines.values()]
    return FrequencyLimits(
        category=category,
        link=link,
        longest_m=longest_m,
        factor=factor,
        parameters=tuple(PARAMETERS),
        mhz=mhz,
        limits_db={
            name: tuple(limit_db(line=line, frequency_mhz=at) for at in mhz) for name, (line, _) in lines.items()
        },
        senses={name: line.sense for name, (line, _) in lines.items()},
        expected_db=tuple(
            expected_db(category=category, link=link, length_m=longest_m, frequency_mhz=at, factor=factor) for at in mhz
        ),
        delay_s=tuple(delay_limit_s(expression=delay, frequency_mhz=at) for at in mhz),
        source=min((row.source for row in rows), key=len),
        confidence=min((row.confidence for row in rows), key=_TRUST.index),
        low_loss=rules,
        cables=tuple(dict.fromkeys(one.cable for one in members)),
    )
