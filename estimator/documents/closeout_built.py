"""Closeout tables of what was built: cables, ports, labels, pathways, what is left over, bid against built."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from estimator.calc.formula import Expression
from estimator.documents import common
from estimator.documents.description import Cell, Column, Formula, Matching, Table
from estimator.documents.job_readings import by_circuit, measured_m
from estimator.documents.job_words import words_of
from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.spec.model import Project
from estimator.takeoff.fill import SegmentFill
from estimator.takeoff.footage import Length, end_of
from estimator.takeoff.place import FREE_PORTS, PanelUse
from estimator.takeoff.takeoff import Takeoff

DIFFERENCE: Final = Expression("measured - expected")
"""How much longer a cable is than expected."""

DIFFERENCE_SHARE: Final = Expression("(measured - expected) / expected")
"""The same as a share of what was expected [unitless]."""

ALL_EXPECTED: Final = Expression("sum(lengths)")
SPARE_SHARE: Final = Expression("limit - share")
"""What a pathway may still be filled by [share of its area]."""

FREE_STRANDS: Final = Expression("strands - passed")


def cable_table(takeoff: Takeoff, job: Job) -> Table:
    """Return the as-built cable schedule: measured beside expected length, the difference live."""
    project = takeoff.project
    unit, foot = common.length_unit(project)
    results = by_circuit(job.result.circuits)
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="cable", head="Cable"),
        Column(key="start", head="From"),
        Column(key="end", head="To"),
        Column(key="port", head="Port"),
        Column(key="path", head="Path"),
        _length("expected", "Expected", unit),
        _length("measured", "Measured", unit),
        _length("compared", "Expected of measured", unit),
        Column(key="difference", head="Difference", kind="number", unit=unit, decimals=1, as_shown=True,
               formula=DIFFERENCE),
        Column(key="share", head="Difference", kind="percent", decimals=1, as_shown=True, formula=DIFFERENCE_SHARE),
        Column(key="method", head="Expected how"),
        Column(key="verdict", head="Verdict", kind="verdict"),
    )  # fmt: skip
    rows = [_cable_row(takeoff, length, results.get(length.id, []), foot) for length in _listed(takeoff, results)]
    return Table(
        name="cables", title="Cables as built", columns=columns, rows=rows, key="circuit", totals=True,
        caption="Measured lengths are readings of the last round; the expected length holds slack and service loops.",
    )  # fmt: skip


def _listed(takeoff: Takeoff, results: Mapping[str, Sequence[CircuitResult]]) -> list[Length]:
    """Return the cables in the order of the results, room by room and port by port, as people look them up."""
    order = {circuit: place for place, circuit in enumerate(results)}
    return sorted(takeoff.footage.lengths, key=lambda length: order.get(length.id, len(order)))


def _length(key: str, head: str, unit: str) -> Column:
    return Column(key=key, head=head, kind="number", unit=unit, decimals=1, total="sum")


def _cable_row(takeoff: Takeoff, length: Length, results: list[CircuitResult], foot: float) -> tuple[Cell, ...]:
    measured = measured_m(results)
    expected = length.expected_m / foot
    own = None if measured is None else measured / foot
    run = length.run
    path = ", ".join(takeoff.footage.segments(length) or ())
    return (
        length.id,
        length.cable.id,
        length.room,
        results[0].criteria.far_end if results else end_of(length) or "",
        f"{run.panel}-{run.port:02d}" if run and run.panel and run.port is not None else "",
        path or "no route",
        expected,
        own,
        expected if own is not None else None,
        None if own is None else DIFFERENCE(measured=own, expected=expected),
        None if own is None else DIFFERENCE_SHARE(measured=own, expected=expected),
        length.method,
        common.verdict(_worst(results)),
    )


def _worst(results: Iterable[CircuitResult]) -> str:
    """Return the word of a cable: its strands' word where they agree, else the first that isn't a pass."""
    words = [one.word for one in results]
    return next((word for word in words if word != "pass"), words[0] if words else "not tested")


def built_table(takeoff: Takeoff, job: Job) -> Table:
    """Return footage by cable type: what was expected, bought and measured, live over the schedule."""
    project = takeoff.project
    unit, foot = common.length_unit(project)
    results = by_circuit(job.result.circuits)
    bid = {order.cable.id: order for order in job.bid.orders} if job.bid else {}
    was_bid = (
        Column(key="bid_runs", head="Runs bid", kind="whole", total="sum"),
        Column(key="bid", head="Bid", kind="number", unit=unit, decimals=0, total="sum"),
    )
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="name", head="Description"),
        *(was_bid if job.bid else ()),
        Column(key="runs", head="Runs", kind="whole", total="sum", formula=Expression("count(lengths)"),
               inputs={"lengths": Matching("cables", "expected", "cable", "cable")}),
        _live("expected_all", "Expected", unit, "expected"),
        Column(key="ordered", head="Order", kind="number", unit=unit, decimals=0, total="sum"),
        _live("measured", "Measured", unit, "measured"),
        _live("expected", "Expected of measured", unit, "compared"),
        Column(key="difference", head="Difference", kind="number", unit=unit, decimals=1, as_shown=True,
               formula=DIFFERENCE, total="sum"),
        Column(key="share", head="Difference", kind="percent", decimals=1, as_shown=True, formula=DIFFERENCE_SHARE),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for order in takeoff.orders:
        lengths = [length.expected_m / foot for length in order.lengths]
        pairs = [(m, length.expected_m) for length in order.lengths if (m := measured_m(results.get(length.id, [])))]
        measured = ALL_EXPECTED(lengths=[own / foot for own, _ in pairs])
        compared = ALL_EXPECTED(lengths=[expected / foot for _, expected in pairs])
        known = {"measured": measured, "expected": compared}
        was = bid.get(order.cable.id)
        rows.append((
            order.cable.id, order.cable.name,
            *((len(was.lengths) if was else None, was.total_m / foot if was else None) if job.bid else ()),
            len(lengths), ALL_EXPECTED(lengths=lengths), order.ordered_m / foot,
            measured, compared, DIFFERENCE(**known) if pairs else None, DIFFERENCE_SHARE(**known) if pairs else None,
        ))  # fmt: skip
    return Table(
        name="built", title="Bid against built", columns=columns, rows=rows, key="cable", totals=True,
        caption="The difference compares only circuits whose length was read. The order is whole boxes and reels. "
        + ("The bid is that of the baseline file." if job.bid else "No baseline file is named: no bid stands beside."),
    )  # fmt: skip


def _live(key: str, head: str, unit: str, of: str) -> Column:
    return Column(
        key=key, head=head, kind="number", unit=unit, decimals=0, total="sum", as_shown=True, formula=ALL_EXPECTED,
        inputs={"lengths": Matching("cables", of, "cable", "cable")},
    )  # fmt: skip


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
            run = runs.get(circuit) if circuit else None
            rows.append((
                use.room, f"{use.room}-{use.panel}", port, circuit or "free", run.outlet if run else "",
                _other_end(own[0], use.room) if own else "", (run.drop.switch or "") if run else "",
                common.verdict(_worst(own)) if own else None,
            ))  # fmt: skip
    return Table(name="ports", title="Port map", columns=columns, rows=rows, empty="The job has no patch panel.")


def _other_end(one: CircuitResult, room: str) -> str:
    """Return where a circuit leads from a room; a strand is listed at both of its ends."""
    return one.criteria.room if one.criteria.far_end == room else one.criteria.far_end


def label_table(takeoff: Takeoff, job: Job) -> Table:
    """Return what stands on the label at each end, after ANSI/TIA-606."""
    results = by_circuit(job.result.circuits)
    columns = (
        Column(key="circuit", head="Identifier"),
        Column(key="near", head="Label at the room end"),
        Column(key="far", head="Label at the far end"),
        Column(key="outlet", head="Faceplate or device"),
        Column(key="start", head="Room"),
        Column(key="end", head="Far end"),
        Column(key="cable", head="Cable"),
    )
    rows: list[tuple[Cell, ...]] = []
    for length in _listed(takeoff, results):
        own = results.get(length.id, [])
        far_end = own[0].criteria.far_end if own else end_of(length) or ""
        outlet = length.run.outlet if length.run else ""
        rows.append((length.id, f"{length.id} to {far_end}" if length.backbone else length.id,
                     f"{length.id} to {length.room}" if length.backbone else length.id,
                     outlet if outlet != length.id else "", length.room, far_end, length.cable.id))  # fmt: skip
    edition = takeoff.project.codes.administration
    return Table(
        name="labels", title="Labels", columns=columns, rows=rows,
        caption=f"Identifiers after ANSI/TIA-{edition}: one identifier on both ends of a cable.",
    )  # fmt: skip


def spare_ports_table(takeoff: Takeoff) -> Table:
    """Return the free ports of each panel, live over the port map."""
    columns = (
        Column(key="panel", head="Panel"),
        Column(key="kind", head="Kind"),
        Column(key="ports", head="Ports", kind="whole", total="sum", formula=Expression("count(all_ports)"),
               inputs={"all_ports": Matching("ports", "port", "panel", "panel")}),
        Column(key="used", head="Used", kind="whole", total="sum"),
        Column(key="free", head="Free", kind="whole", total="sum", formula=FREE_PORTS),
    )  # fmt: skip
    rows = [_panel_row(use) for use in takeoff.panels]
    return Table(name="spare_ports", title="Spare ports", columns=columns, rows=rows, totals=True,
                 empty="The job has no patch panel.")  # fmt: skip


def _panel_row(use: PanelUse) -> tuple[Cell, ...]:
    return f"{use.room}-{use.panel}", use.kind, use.ports, len(use.used), use.free


def strand_table(project: Project, job: Job) -> Table:
    """Return the strands of each fiber cable, and how many passed."""
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="strands", head="Strands", kind="whole", total="sum"),
        Column(key="passed", head="Passed", kind="whole", total="sum"),
        Column(key="left", head="Not passed", kind="whole", total="sum", formula=FREE_STRANDS),
    )
    rows: list[tuple[Cell, ...]] = []
    for circuit, own in by_circuit(one for one in job.result.circuits if one.criteria.medium == "fiber").items():
        passed = sum(one.word == "pass" for one in own)
        rows.append((circuit, len(own), passed, FREE_STRANDS(strands=len(own), passed=passed)))
    return Table(name="strands", title="Strands", columns=columns, rows=rows, totals=True,
                 caption="Strands in use are not recorded here: count off those that are patched.",
                 empty="The job has no fiber cable.")  # fmt: skip


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
        Column(key="spare", head="Spare", kind="percent", decimals=1),
        Column(key="verdict", head="State", kind="verdict"),
        Column(key="source", head="Limit from"),
    )
    rows = [_segment_row(one) for one in takeoff.fill.segments]
    left_out = len(takeoff.fill.unrouted)
    caption = f"{left_out:,} circuits have no route and are not in it." if left_out else ""
    return Table(name="pathways", title="Pathways and fill", columns=columns, rows=rows, caption=caption,
                 empty="No pathway is drawn.")  # fmt: skip


def _segment_row(one: SegmentFill) -> tuple[Cell, ...]:
    segment, limit = one.segment, one.limit
    spare: Cell = None
    word: Cell = None
    if one.share is not None and limit is not None:
        spare = Formula(SPARE_SHARE, SPARE_SHARE(limit=limit.share, share=one.share))
        word = common.verdict("overfull" if one.is_over else "within")
    size = segment.trade_size or ""
    kind = f"{words_of(segment.kind)} {size}".strip()
    return (segment.id, kind, segment.start, segment.end, segment.space, one.lies, one.share,
            limit.share if limit else None, spare, word, limit.source if limit else "")  # fmt: skip
