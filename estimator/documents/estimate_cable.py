"""Sheets about cable: every circuit with the parts of its length, and the order by cable type."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.calc.cutting import FOOTAGE_BOXES, ORDERED_LENGTH
from estimator.calc.routing import EXPECTED_LENGTH
from estimator.documents.common import (
    SAME,
    changeable,
    in_length,
    length_column,
    length_unit,
    live_words,
    rule_from,
    verdict,
)
from estimator.documents.description import (
    Cell,
    Column,
    Fact,
    Facts,
    Formula,
    Matching,
    Named,
    Paragraph,
    Ref,
    Same,
    Section,
    Table,
)
from estimator.documents.estimate_cuts import age_of_plan
from estimator.spec.model import Project
from estimator.takeoff.cuts import HOLDS
from estimator.takeoff.footage import (
    BACKBONE_LENGTH,
    CIRCUIT_LENGTH,
    SUMMED,
    TYPED,
    TYPED_LENGTH,
    Length,
    backbone_parts,
    design_word,
    limited,
)
from estimator.takeoff.orders import AS_CUT, BOUND_METHOD, COUNT, CUT_METHOD, ORDER_RULES, REELS, TOTAL, CableOrder
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.worked import MARGIN, OVER

_LIMITED: Final[Mapping[str, Ref]] = {"limit": Same("limit"), "value": Same("expected")}
_TYPED: Final[Mapping[str, Ref]] = {"length": Same("typed")}
_BACKBONE: Final[Mapping[str, Ref]] = {
    "leg_start": Same("room_leg"),
    "leg_end": Same("last_leg"),
    "slack_start": Same("slack_room"),
    "slack_end": Same("slack_device"),
}
_STOPS: Final[Mapping[str, Ref]] = {
    "distances": Matching("stops", "distance", "circuit", "id"),
    "back": Same("typed"),
}
_CHANGED: Final = Matching("cuts", "changed", "cable", "cable")
_WASTE: Final[Mapping[str, Ref]] = {"figure": Named("waste")}
_REELS: Final[Mapping[str, Ref]] = {"reels": Matching("cuts", "held", "cable", "cable")}
_BY_CABLE: Final[Mapping[str, Ref]] = {"lengths": Matching("drops", "expected", "cable", "cable")}

_PARTS: Final = ("route_m", "room_leg_m", "last_leg_m", "slack_room_m", "slack_device_m")
_NO_PARTS: Final = (None,) * 7


def drops_section(takeoff: Takeoff) -> Section:
    """Return one row a circuit: its parts, its expected length, the limit and the margin."""
    project = takeoff.project
    limit = project.rules.ruled("design_limit_m")
    text = (
        "Expected length is the permanent link without cords and without waste, unrounded: the sum of the parts in "
        f"its row. The design limit of copper links is {rule_from(project, 'design_limit_m')}. A backbone cable "
        "has its legs and slack at both rooms in the same columns; a circuit of several devices sums the distances "
        "on the sheet Circuits and adds a typed return."
    )
    assert limit.value
    return Section(title="Drops", blocks=(Paragraph(text), _drops(takeoff)), landscape=True)


def _drops(takeoff: Takeoff) -> Table:
    project = takeoff.project

    def part(key: str, head: str) -> Column:
        return length_column(project, key, head)

    return Table(
        name="drops",
        title="Circuits",
        key="id",
        totals=True,
        columns=(
            Column(key="id", head="Circuit", total="count"),
            Column(key="room", head="Room"),
            Column(key="device", head="Device"),
            Column(key="cable", head="Cable"),
            Column(key="pull", head="Pull"),
            Column(key="panel", head="Panel"),
            Column(key="port", head="Port", kind="whole"),
            Column(key="method", head="Method"),
            part("route", "Route"),
            part("room_leg", "Room leg"),
            part("last_leg", "Last leg"),
            part("slack_room", "Slack in room"),
            part("slack_device", "Slack at device"),
            Column(key="loops", head="Loops", kind="whole"),
            part("service_loop", "Service loop"),
            length_column(project, "typed", "Typed, or return", entry=changeable("A length")),
            length_column(project, "expected", "Expected length", formula=EXPECTED_LENGTH, total="sum"),
            part("limit", "Limit"),
            length_column(project, "margin", "Margin", formula=MARGIN, inputs=_LIMITED),
            Column(
                key="word",
                head="Against the limit",
                kind="verdict",
                words=live_words((OVER, "over length"), otherwise="within", inputs=_LIMITED),
            ),
        ),
        rows=_rows(takeoff),
        empty="No circuit is in this job.",
    )


def _rows(takeoff: Takeoff) -> list[tuple[Cell, ...]]:
    """Return a plain row a circuit: built without a lookup a row, because there may be ten thousand."""
    project = takeoff.project
    si = length_unit(project)[1]
    limit_m = project.rules.design_limit_m
    rows: list[tuple[Cell, ...]] = []
    for length in takeoff.footage.lengths:
        judged: tuple[Cell, ...] = (None, None, None)
        if limited(length):
            margin_m = MARGIN(limit=limit_m, value=length.expected_m)
            judged = (limit_m / si, margin_m / si, verdict(design_word(length, limit_m)))
        run = length.run
        rows.append(
            (
                length.id,
                length.room,
                run.device.id if run is not None and run.device is not None else length.kind,
                length.cable.id,
                length.pull,
                f"{length.room}/{run.panel}" if run is not None and run.panel else None,
                run.port if run is not None else None,
                length.method,
                *_lengths(length, project, si),
                *judged,
            )
        )
    return rows


def _lengths(length: Length, project: Project, si: float) -> tuple[Cell, ...]:
    """Return the parts of a length and its sum, each the live cell that its method asks for."""
    value = length.expected_m / si
    if length.method == TYPED:
        return (*_NO_PARTS, value, Formula(TYPED_LENGTH, value, _TYPED))
    if length.method == SUMMED:
        assert length.circuit is not None
        return (*_NO_PARTS, length.circuit.return_m / si, Formula(CIRCUIT_LENGTH, value, _STOPS))
    if length.backbone is not None:
        parts = backbone_parts(length, project)
        ends = ("leg_start", "leg_end", "slack_start", "slack_end")
        legs = [parts[name] / si for name in ends]
        return (length.route_m / si, *legs, None, None, None, Formula(BACKBONE_LENGTH, value, _BACKBONE))
    return (
        length.route_m / si,
        length.room_leg_m / si,
        length.last_leg_m / si,
        length.slack_room_m / si,
        length.slack_device_m / si,
        length.loops,
        length.service_loop_m / si,
        None,
        value,
    )


def order_section(takeoff: Takeoff) -> Section:
    """Return what to order of each cable type, by the cut plan and by footage, and the larger."""
    project = takeoff.project
    unit, si = length_unit(project)
    rule = project.rules.ruled("order_by")
    text = (
        "Two ways to count: the cut plan takes every run as one unspliced piece from a box, the footage takes the "
        f"total with waste over the put-up. Ordered by: {str(rule.value).replace('_', ' ')} "
        f"({rule_from(project, 'order_by')})."
    )
    cut_to = Fact(
        label="Pieces are cut up to a whole",
        value=in_length(project.rules.cut_to_m, project),
        unit=unit,
        kind="number",
        name="cut_to",
        si=si,
        note=rule_from(project, "cut_to_m"),
    )
    waste = Fact(
        label="Waste, where a cable types none",
        value=project.rules.waste,
        kind="percent",
        decimals=1,
        name="waste",
        entry=changeable("A waste", most=1.0),
        note=rule_from(project, "waste"),
    )
    figures = Facts(title="", rows=(cut_to, waste))
    blocks = (Paragraph(text), figures, _orders(takeoff), Paragraph(_method(takeoff), "note"))
    return Section(title="Cable order", blocks=blocks, landscape=True)


def _method(takeoff: Takeoff) -> str:
    waste = rule_from(takeoff.project, "waste")
    return (
        f"Cut plan: {CUT_METHOD.removeprefix('cut plan: ')}. No plan under: {BOUND_METHOD.removeprefix('bound: ')}. "
        f"Waste, where a cable types none: {waste}. A cable without a put-up is cut to order, a reel a run."
    )


def _orders(takeoff: Takeoff) -> Table:
    project = takeoff.project
    return Table(
        name="orders",
        title="Cable to order",
        key="cable",
        columns=(
            Column(key="cable", head="Cable"),
            Column(key="name", head="Description"),
            Column(key="circuits", head="Circuits", kind="whole", formula=COUNT, inputs=_BY_CABLE),
            length_column(project, "total", "Total length", formula=TOTAL, inputs=_BY_CABLE),
            Column(key="waste", head="Waste", kind="percent", decimals=1, entry=changeable("A waste", most=1.0)),
            length_column(project, "put_up", "Put-up", decimals=0),
            length_column(project, "on_hand", "On hand", decimals=0),
            Column(key="by_plan", head="Boxes by plan", kind="whole", computed=True),
            Column(key="least", head="No plan under", kind="whole", computed=True),
            Column(
                key="by_footage",
                head="Boxes by footage",
                kind="whole",
                formula=FOOTAGE_BOXES,
                inputs={"length": Same("total")},
            ),
            Column(key="boxes", head="Boxes to order", kind="whole", formula=ORDER_RULES[project.rules.order_by]),
            length_column(project, "cut_to_order", "Cut to order", decimals=0),
            length_column(project, "ordered", "Ordered length", formula=ORDERED_LENGTH, decimals=0),
            Column(key="plan", head="Cut plan", kind="verdict", words=age_of_plan(_CHANGED)),
        ),
        rows=[_order_row(order, project) for order in takeoff.orders],
        empty="No cable is in this job.",
    )


def _order_row(order: CableOrder, project: Project) -> tuple[Cell, ...]:
    reeled = order.by_footage is None
    ordered = in_length(order.ordered_m, project)
    cut_to_order: Cell = ordered if reeled else None
    if reeled and not order.cable.stock_m:
        cut_to_order = Formula(REELS, ordered, _REELS)
    return (
        order.cable.id,
        order.cable.name,
        len(order.lengths),
        in_length(order.total_m, project),
        order.waste if order.cable.waste is not None else Formula(SAME, order.waste, _WASTE),
        None if reeled else in_length(order.cable.put_up_m, project),
        in_length(order.on_hand_m, project),
        order.by_plan,
        order.plan.least_boxes,
        order.by_footage,
        Formula(ORDER_RULES["cut_plan"], float(order.boxes)) if reeled else order.boxes,
        cut_to_order,
        Formula(AS_CUT, ordered) if reeled else ordered,
        verdict(HOLDS),
    )
