"""The test plan's limits over frequency: a table for every kind of balanced-pair link of the job."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from estimator.acceptance.criterion import Criteria
from estimator.acceptance.over_frequency import PARAMETERS, FrequencyLimits, frequency_limits, unbalance_limits
from estimator.documents import common
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.job_words import sentence, source_with_trust, words_of
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff

_NS: Final = 1e-9
_AT: Final = {"max": "at most", "min": "at least"}


def frequency_sections(takeoff: Takeoff, circuits: Sequence[Criteria]) -> Iterable[Section]:
    """Yield the limits over frequency, a table for every category and kind of link; nothing without one."""
    found = frequency_limits(circuits, {name: one.factor for name, one in takeoff.links.warm.items()})
    if not found:
        return
    text = (
        "Loss at most, everything else at least the value at its frequency; between the rows the limit follows its "
        "line. Values are rounded to 0.1 dB for reading: the unrounded line judges. The worst margin and the worst "
        "value may lie at different frequencies: write down the margin with its own. What is expected is the loss of "
        "the longest circuit, with panel and outlet, as warm as the job is."
    )
    blocks: list[Paragraph | Table] = [Paragraph(text)]
    for number, one in enumerate(found):
        blocks += [_table(number, one, takeoff.project), Paragraph(_exempt(one), "note")]
        blocks += [Paragraph(text, "note") for text in _unbalance(one, takeoff.project.codes.cabling)]
    yield Section(title="Limits over frequency", blocks=tuple(blocks), level=2, landscape=True)


def _table(number: int, one: FrequencyLimits, project: Project) -> Table:
    unit, foot = common.length_unit(project)
    columns = [Column(key="mhz", head="Frequency", kind="number", unit="MHz", decimals=2)]
    for name in one.parameters:
        head = f"{PARAMETERS[name]}, {_AT[one.senses[name]]}"
        columns.append(Column(key=name, head=head, kind="number", unit="dB", decimals=1))
    columns.append(Column(key="delay", head="Delay, at most", kind="number", unit="ns", decimals=0))
    head = f"Loss expected over {one.longest_m / foot:.0f} {unit}"
    columns.append(Column(key="expected", head=head, kind="number", unit="dB", decimals=1))
    rows: list[tuple[Cell, ...]] = [
        (mhz, *(one.limits_db[name][at] for name in one.parameters), one.delay_s[at] / _NS, one.expected_db[at])
        for at, mhz in enumerate(one.mhz)
    ]
    title = f"Category {one.category} {words_of(one.link)}: {', '.join(one.cables)}"
    return Table(name=f"frequency_{number}", title=title, columns=tuple(columns), rows=rows)


def _exempt(one: FrequencyLimits) -> str:
    """Return in words where the limits come from and what is not judged where a pair loses little."""
    source = sentence(source_with_trust(one.source, one.confidence))
    if not one.low_loss:
        return f"{source}. Every point is judged, however little the pair loses there."
    rules = "; ".join(
        f"{' and '.join(PARAMETERS[name] for name in rule.covers)} where the pair loses less than {rule.below_db:g} dB "
        f"({source_with_trust(common.without_place(rule.source), rule.confidence)})"
        for rule in one.low_loss
    )
    return f"{source}. Recorded, not judged: {rules}."


def _unbalance(one: FrequencyLimits, edition: str) -> Iterable[str]:
    """Yield in words how far resistances of a link may differ, where the edition says so."""
    found = unbalance_limits(one.link, edition)
    if found:
        limits = "; ".join(
            f"{limit.between} at most {limit.percent:g} % of both together or {limit.floor_ohm:g} ohm, the greater "
            f"({source_with_trust(limit.source, limit.confidence)})"
            for limit in found
        )
        yield f"Resistance unbalance: {limits}."
