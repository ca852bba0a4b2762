"""Closeout tables of what the lengths of a job teach: bias, spread, rules that would have fitted, instruments."""

from __future__ import annotations

from estimator.documents import common
from estimator.documents.common import length_column
from estimator.documents.description import Cell, Column, Table
from estimator.field.job import Job
from estimator.field.lessons import Fitted, fitted_rules, spreads
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff


def spread_table(project: Project, job: Job) -> Table:
    """Return how lengths came out against what was expected, by room, cable and method."""
    foot = common.length_unit(project)[1]
    columns = (
        Column(key="by", head="By"),
        Column(key="name", head="Group"),
        Column(key="lengths", head="Lengths", kind="whole"),
        length_column(project, "off", "Off"),
        length_column(project, "spread", "Spread"),
        Column(key="off_share", head="Off", kind="percent", decimals=1),
        Column(key="spread_share", head="Spread", kind="percent", decimals=1),
    )
    rows: list[tuple[Cell, ...]] = [
        (one.by, one.name, one.count, one.off_m / foot, one.spread_m / foot, one.off_share, one.spread_share)
        for one in spreads(job.result.learned)
    ]
    return Table(
        name="spreads",
        title="Measured against expected",
        columns=columns,
        rows=rows,
        empty="No length was read by velocity.",
        caption="Off is the median of measured less expected, spread the standard deviation that the median absolute "
        "deviation stands for; a few wild lengths move neither.",
    )


def fitted_table(takeoff: Takeoff, job: Job) -> Table:
    """Return slack and waste as used, and as they would have fitted this job."""
    project = takeoff.project
    columns = (
        Column(key="rule", head="Rule"),
        Column(key="cable", head="Cable"),
        Column(key="unit", head="Unit"),
        Column(key="used", head="Used", kind="number", decimals=1),
        Column(key="fitted", head="Would have fitted", kind="number", decimals=1),
        Column(key="low", head="At least", kind="number", decimals=1),
        Column(key="high", head="At most", kind="number", decimals=1),
        Column(key="lengths", head="Lengths", kind="whole"),
    )
    rows = [_fitted(one, project) for one in fitted_rules(job.result.learned, takeoff.footage, project)]
    return Table(
        name="fitted",
        title="Rules that would have fitted",
        columns=columns,
        rows=rows,
        empty="Too few lengths were read.",
        caption="Slack counts both ends and the service loops of a run, between the ends of its 95 % interval. Waste "
        "is what cables came out longer than expected; what a box leaves over is the cut plan's.",
    )


def _fitted(one: Fitted, project: Project) -> tuple[Cell, ...]:
    unit, foot = common.length_unit(project)
    scale, shown = (0.01, "%") if one.unit == "share" else (foot, unit)
    ends = (None if end is None else end / scale for end in (one.low, one.high))
    return (one.rule, one.cable, shown, one.used / scale, one.fitted / scale, *ends, one.count)


def ratio_table(job: Job) -> Table:
    """Return how each instrument reads each cable, and against what that is known."""
    columns = (
        Column(key="instrument", head="Instrument"),
        Column(key="cable", head="Cable"),
        Column(key="reads", head="Reads", kind="percent", decimals=1),
        Column(key="low", head="At least", kind="percent", decimals=1),
        Column(key="high", head="At most", kind="percent", decimals=1),
        Column(key="against", head="Against"),
        Column(key="lengths", head="Lengths", kind="whole"),
        Column(key="note", head="Note"),
    )
    rows: list[tuple[Cell, ...]] = [
        (one.instrument, one.cable, one.value - 1, one.low - 1, one.high - 1, one.against, one.count, one.undecided)
        for one in job.result.learned.ratios
    ]
    return Table(
        name="ratios",
        title="Lengths by instrument",
        columns=columns,
        rows=rows,
        empty="Too few lengths were read.",
        caption="How much longer (below zero: shorter) an instrument reads, between the ends of its 95 % interval. A "
        "velocity set too high reads longer.",
    )
