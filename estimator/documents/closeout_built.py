"""Closeout tables of what was built: cables, ports, labels, pathways, what is left over, bid against built."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.documents import common
from estimator.documents.common import length_column
from estimator.documents.description import Cell, Column, Matching, Same, Table
from estimator.documents.job_words import counted, words_of
from estimator.documents.labels import cable_labels, form_line
from estimator.documents.remembered import remembered
from estimator.field.built import (
    DIFFERENCE,
    DIFFERENCE_SHARE,
    NOT_PASSED,
    BuiltCable,
    BuiltFootage,
    built_cables,
    built_footage,
    by_circuit,
    strands_of,
    worst_word,
)
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.spec.model import Project, Run
from estimator.takeoff.fill import SegmentFill
from estimator.takeoff.orders import COUNT, TOTAL
from estimator.takeoff.place import FREE_PORTS, PORTS, PanelUse
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.worked import MARGIN


@remembered
def cable_table(takeoff: Takeoff, job: Job) -> Table:
    """Return the as-built cable schedule: measured beside expected length, the difference live."""
    project = takeoff.project
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="cable", head="Cable"),
        Column(key="start", head="From"),
        Column(key="end", head="To"),
        Column(key="port", head="Port"),
        Column(key="path", head="Path"),
        length_column(project, "expected", "Expected", total="sum"),
        length_column(project, "measured", "Measured", total="sum"),
        length_column(project, "compared", "Expected of measured", total="sum"),
        length_column(project, "difference", "Difference", formula=DIFFERENCE),
        Column(key="share", head="Difference", kind="percent", decimals=1, formula=DIFFERENCE_SHARE),
        Column(key="method", head="Length by"),
        Column(key="verdict", head="Verdict", kind="verdict"),
    )
    return Table(
        name="cables",
        title="Cables as built",
        columns=columns,
        rows=[_cable_row(takeoff, one) for one in _cables(takeoff, job)],
        key="circuit",
        totals=True,
        caption="Measured lengths are readings of the last round; the expected length holds slack and service loops.",
    )


@remembered
def _cables(takeoff: Takeoff, job: Job) -> Sequence[BuiltCable]:
    return built_cables(takeoff, job)


def _cable_row(takeoff: Takeoff, one: BuiltCable) -> tuple[Cell, ...]:
    project, length = takeoff.project, one.length
    foot = common.length_unit(project)[1]
    expected = length.expected_m / foot
    compared: tuple[Cell, ...] = (None,) * 4
    if one.measured_m is not None:
        measured = one.measured_m / foot
        known = {"measured": measured, "expected": expected}
        compared = (measured, expected, DIFFERENCE(**known), DIFFERENCE_SHARE(**known))
    return (
        length.id,
        length.cable.id,
        length.room,
        one.far_end,
        _port(length.run),
        ", ".join(takeoff.footage.segments(length) or ()) or "no route",
        expected,
        *compared,
        length.method,
        common.verdict(one.word),
    )


def _port(run: Run | None) -> str:
    return f"{run.panel}-{run.port:02d}" if run and run.panel and run.port is not None else ""


@remembered
def built_table(takeoff: Takeoff, job: Job) -> Table:
    """Return footage by cable type: what was bid, expected, ordered and measured, live over the schedule."""
    project = takeoff.project
    was_bid = (
        Column(key="bid_runs", head="Runs bid", kind="whole", total="sum"),
        length_column(project, "bid", "Bid", decimals=0, total="sum"),
    )
    runs = {"lengths": Matching("cables", "expected", "cable", "cable")}
    compared = {"expected": Same("compared")}
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="name", head="Description"),
        *(was_bid if job.bid else ()),
        Column(key="runs", head="Runs", kind="whole", total="sum", formula=COUNT, inputs=runs),
        _live(project, "expected", "Expected"),
        length_column(project, "ordered", "Order", decimals=0, total="sum"),
        _live(project, "measured", "Measured"),
        _live(project, "compared", "Expected of measured"),
        length_column(project, "difference", "Difference", formula=DIFFERENCE, inputs=compared, total="sum"),
        Column(key="share", head="Difference", kind="percent", decimals=1, formula=DIFFERENCE_SHARE, inputs=compared),
    )
    bid = "The bid is that of the baseline file." if job.bid else "No baseline file is named: no bid stands beside."
    return Table(
        name="built",
        title="Bid against built",
        columns=columns,
        rows=[_built_row(one, project, with_bid=job.bid is not None) for one in built_footage(takeoff, job)],
        key="cable",
        totals=True,
        caption="The difference compares only circuits whose length was read. The order is whole boxes and reels. "
        + bid,
    )


def _live(project: Project, key: str, head: str) -> Column:
    """Return a column of the sums of the schedule's column of the same key."""
    inputs = {"lengths": Matching("cables", key, "cable", "cable")}
    return length_column(project, key, head, decimals=0, total="sum", formula=TOTAL, inputs=inputs)


def _built_row(one: BuiltFootage, project: Project, *, with_bid: bool) -> tuple[Cell, ...]:
    foot = common.length_unit(project)[1]
    order, bid = one.order, one.bid
    was = (len(bid.lengths), bid.total_m / foot) if bid else (None, None)
    measured, compared = one.measured_m / foot, one.compared_m / foot
    known = {"measured": measured, "expected": compared}
    return (
        order.cable.id,
        order.cable.name,
        *(was if with_bid else ()),
        len(order.lengths),
        order.total_m / foot,
        order.ordered_m / foot,
        measured,
        compared,
        *((DIFFERENCE(**known), DIFFERENCE_SHARE(**known)) if one.read else (None, None)),
    )


@remembered
def port_table(takeoff: Takeoff, job: Job) -> Table:
    """Return every port of every panel with the circuit or strand that ends on it, or that it is free."""
    results = {**{one.id: [one] for one in job.result.circuits}, **by_circuit(job.result.circuits)}
    columns = (
        Column(key="room", head="Room"),
        Column(key="panel", head="Panel"),
        Column(key="port", head="Port", kind="whole"),
        Column(key="circuit", head="Circuit"),
        Column(key="outlet", head="Outlet"),
        Column(key="end", head="Far end"),
        Column(key="switch", head="Switch"),
        Column(key="verdict", head="Verdict", kind="verdict"),
    )
    runs = {run.id: run for run in takeoff.project.runs}
    rows: list[tuple[Cell, ...]] = []
    for use in takeoff.panels:
        taken = dict(use.used)
        for port in range(1, use.ports + 1):
            circuit = taken.get(port)
            own = results.get(circuit, []) if circuit else []
            rows.append(_port_row(use, port, circuit, runs.get(circuit or ""), own))
    return Table(name="ports", title="Port map", columns=columns, rows=rows, empty="The job has no patch panel.")


def _port_row(
    use: PanelUse, port: int, circuit: str | None, run: Run | None, own: list[CircuitResult]
) -> tuple[Cell, ...]:
    return (
        use.room,
        f"{use.room}-{use.panel}",
        port,
        circuit or "free",
        run.outlet if run else "",
        _other_end(own[0], use.room) if own else "",
        (run.drop.switch or "") if run else "",
        common.verdict(worst_word(own)) if own else None,
    )


def _other_end(one: CircuitResult, room: str) -> str:
    """Return where a circuit leads from a room; a strand is listed at both of its ends."""
    return one.criteria.room if one.criteria.far_end == room else one.criteria.far_end


@remembered
def port_words(job: Job) -> dict[str, str]:
    """Return the verdict of everything that can end on a port: circuits, and strands one by one."""
    results = {**{one.id: [one] for one in job.result.circuits}, **by_circuit(job.result.circuits)}
    return {circuit: worst_word(own) for circuit, own in results.items()}


@remembered
def label_table(takeoff: Takeoff, job: Job) -> Table:
    """Return what stands on the label at each end, after ANSI/TIA-606."""
    columns = (
        Column(key="circuit", head="Identifier"),
        Column(key="near", head="Label at the room end"),
        Column(key="far", head="Label at the far end"),
        Column(key="outlet", head="Faceplate or device"),
        Column(key="start", head="Room"),
        Column(key="end", head="Far end"),
        Column(key="cable", head="Cable"),
    )
    said: dict[str, list[str]] = {}
    for one in cable_labels(takeoff, job.circuits):
        said.setdefault(one.identifier, []).append(f"{one.identifier} {one.line('to')}".strip())
    return Table(
        name="labels",
        title="Labels",
        columns=columns,
        rows=[_label_row(one, said[one.length.id]) for one in _cables(takeoff, job)],
        caption=form_line(takeoff),
    )


def _label_row(one: BuiltCable, said: Sequence[str]) -> tuple[Cell, ...]:
    length = one.length
    outlet = length.run.outlet if length.run and length.run.outlet != length.id else ""
    return (length.id, *said, outlet, length.room, one.far_end, length.cable.id)


def spare_ports_table(takeoff: Takeoff) -> Table:
    """Return the free ports of each panel, live over the port map."""
    ports = {"all_ports": Matching("ports", "port", "panel", "panel")}
    columns = (
        Column(key="panel", head="Panel"),
        Column(key="kind", head="Kind"),
        Column(key="ports", head="Ports", kind="whole", total="sum", formula=PORTS, inputs=ports),
        Column(key="used", head="Used", kind="whole", total="sum"),
        Column(key="free", head="Free", kind="whole", total="sum", formula=FREE_PORTS),
    )
    return Table(
        name="spare_ports",
        title="Spare ports",
        columns=columns,
        rows=[_panel_row(use) for use in takeoff.panels],
        totals=True,
        empty="The job has no patch panel.",
    )


def _panel_row(use: PanelUse) -> tuple[Cell, ...]:
    return f"{use.room}-{use.panel}", use.kind, use.ports, len(use.used), use.free


def strand_table(job: Job) -> Table:
    """Return the strands of each fiber cable, and how many passed."""
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="strands", head="Strands", kind="whole", total="sum"),
        Column(key="passed", head="Passed", kind="whole", total="sum"),
        Column(key="left", head="Not passed", kind="whole", total="sum", formula=NOT_PASSED),
    )
    return Table(
        name="strands",
        title="Strands",
        columns=columns,
        rows=[
            (one.cable, one.strands, one.passed, NOT_PASSED(strands=one.strands, passed=one.passed))
            for one in strands_of(job)
        ],
        totals=True,
        caption="Strands in use are not recorded here: count off those that are patched.",
        empty="The job has no fiber cable.",
    )


@remembered
def pathway_table(takeoff: Takeoff) -> Table:
    """Return every segment with its cables, its fill and what may still lie in it."""
    columns = (
        Column(key="segment", head="Segment"),
        Column(key="kind", head="Kind"),
        Column(key="start", head="From"),
        Column(key="end", head="To"),
        Column(key="space", head="Space"),
        Column(key="laid", head="Cables", kind="whole"),
        Column(key="share", head="Fill", kind="percent", decimals=1),
        Column(key="limit", head="Limit", kind="percent", decimals=0),
        Column(key="spare", head="Spare", kind="percent", decimals=1, formula=MARGIN, inputs={"value": Same("share")}),
        Column(key="verdict", head="State", kind="verdict"),
        Column(key="source", head="Limit from"),
    )
    left_out = len(takeoff.fill.unrouted)
    return Table(
        name="pathways",
        title="Pathways and fill",
        columns=columns,
        rows=[_segment_row(one) for one in takeoff.fill.segments],
        caption=f"Without a route, and not in it: {counted(left_out, 'circuit')}." if left_out else "",
        empty="No pathway is drawn.",
    )


def _segment_row(one: SegmentFill) -> tuple[Cell, ...]:
    segment, limit = one.segment, one.limit
    judged: tuple[Cell, ...] = (limit.share if limit else None, None, None)
    if one.share is not None and limit is not None:
        spare = MARGIN(limit=limit.share, value=one.share)
        judged = (limit.share, spare, common.verdict(one.word))
    kind = f"{words_of(segment.kind)} {segment.trade_size or ''}".strip()
    lies = (segment.id, kind, segment.start, segment.end, segment.space, one.lies, one.share)
    return (*lies, *judged, limit.source if limit else "")
