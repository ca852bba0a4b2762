"""Cable orders: the cut plan by pull, the footage with waste, and the larger of the two."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from estimator.calc.cutting import (
    FOOTAGE_BOXES,
    ORDER_BOXES,
    ORDERED_LENGTH,
    CutPlan,
    cut_plan,
    cut_to_order,
    footage_boxes,
)
from estimator.calc.formula import Expression
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.footage import Footage, Length, rule_origin, shown_length
from estimator.takeoff.worked import Family, Input

TOTAL = Expression("sum(lengths)")
"""Total expected length of a cable type [m]."""

ALL_BOXES = Expression("sum(boxes)")
"""Boxes and reels to order of all cable types."""

COUNT = Expression("count(lengths)")
"""Circuits of a cable type."""

REELS = Expression("sum(reels)")
"""Length bought of a cable that is cut to order, a reel a run [m]."""

AS_CUT = Expression("cut_to_order")
"""Length bought where each run is cut to order, as it stands in its own column [m]."""

ORDER_RULES: Mapping[str, Expression] = {
    "larger": ORDER_BOXES,
    "cut_plan": Expression("by_plan"),
    "footage": Expression("by_footage"),
}
"""What decides the order quantity, by the house rule `order_by`."""


ONE_PIECE = "one unspliced piece a run"
CUT_METHOD = "cut plan: best-fit decreasing by pull, then box-by-box search, then all fillings of a few runs"
BOUND_METHOD = "bound: the most that whole runs fill of a box, and runs as whole parts of one"


@dataclass(frozen=True, kw_only=True, slots=True)
class CableOrder:
    """One cable type: its runs, its cut plan and what is ordered.

    A cable that is cut to order has a reel a run: ``by_footage`` is None, and ``boxes`` counts reels.
    """

    cable: Cable
    lengths: tuple[Length, ...]
    total_m: float
    waste: float
    plan: CutPlan
    by_plan: int
    by_footage: int | None
    boxes: int

    @property
    def on_hand_m(self) -> float:
        """Length in partial boxes on hand [m]."""
        return sum(self.cable.stock_m)

    @property
    def reels_m(self) -> tuple[float, ...]:
        """What is ordered reel by reel of a cable that is cut to order [m]."""
        return self.plan.box_m[self.plan.on_hand :]

    @property
    def ordered_m(self) -> float:
        """Length that is bought [m]."""
        if self.by_footage is None:
            return REELS(reels=self.reels_m)
        return ORDERED_LENGTH(boxes=self.boxes, put_up=self.cable.put_up_m)

    def box_name(self, box: int) -> str:
        """Return a box's name in the cut plan: partial boxes first, then new ones."""
        if box < self.plan.on_hand:
            return f"{self.cable.id} on hand {box + 1}"
        kind = "reel" if self.by_footage is None else "box"
        return f"{self.cable.id} {kind} {box - self.plan.on_hand + 1}"


def order_cables(footage: Footage, project: Project) -> tuple[CableOrder, ...]:
    """Return an order for every cable type that the job uses, in the order they are declared."""
    by_cable: dict[str, list[Length]] = {}
    for length in footage.lengths:
        by_cable.setdefault(length.cable.id, []).append(length)
    known = [name for name in project.cables if name in by_cable]
    return tuple(_order(project.cables[name], tuple(by_cable[name]), project) for name in known)


def _order(cable: Cable, lengths: tuple[Length, ...], project: Project) -> CableOrder:
    rules = project.rules
    waste = rules.waste if cable.waste is None else cable.waste
    expected = [length.expected_m for length in lengths]
    total, by_footage = TOTAL(lengths=expected), None
    if not cable.put_up_m:
        plan = cut_to_order(expected, cut_to_m=rules.cut_to_m, waste=waste, on_hand_m=cable.stock_m)
        boxes = plan.new_boxes
    else:
        plan = cut_plan(
            expected,
            put_up_m=cable.put_up_m,
            cut_to_m=rules.cut_to_m,
            on_hand_m=cable.stock_m,
            pulls=[length.pull for length in lengths],
            at_once=rules.pull_at_once,
        )
        on_hand_m = sum(cable.stock_m)
        by_footage = footage_boxes(length_m=total, waste=waste, put_up_m=cable.put_up_m, on_hand_m=on_hand_m)
        boxes = int(ORDER_RULES[rules.order_by](by_plan=plan.new_boxes, by_footage=by_footage))
    return CableOrder(
        cable=cable,
        lengths=lengths,
        total_m=total,
        waste=waste,
        plan=plan,
        by_plan=plan.new_boxes,
        by_footage=by_footage,
        boxes=boxes,
    )


def order_families(orders: tuple[CableOrder, ...], project: Project) -> Iterable[Family]:
    """Yield total length, boxes by plan, boxes by footage and boxes to order, by cable type."""
    boxed = tuple(order for order in orders if order.by_footage is not None)
    reeled = tuple(order for order in orders if order.by_footage is None)
    whole, cut, loose = _Inputs(orders, project), _Inputs(boxed, project), _Inputs(reeled, project)
    rule = ORDER_RULES[project.rules.order_by]
    for of, name, meaning, unit, values, formula, source, inputs in (
        (orders, "total_length", "total expected length", "m", [o.total_m for o in orders], TOTAL,
         "sum of the circuits", whole.lengths),
        (boxed, "boxes_by_plan", "new boxes of the cut plan", "boxes", [o.by_plan for o in boxed], None, ONE_PIECE,
         cut.lengths),
        (boxed, "boxes_at_least", "boxes that no cut plan can do without", "boxes",
         [o.plan.least_boxes for o in boxed], None, ONE_PIECE, cut.lengths),
        (boxed, "boxes_by_footage", "boxes by footage and waste", "boxes", [o.by_footage or 0 for o in boxed],
         FOOTAGE_BOXES, "footage method", cut.footage),
        (boxed, "boxes", "boxes to order", "boxes", [o.boxes for o in boxed], rule,
         rule_origin(project, "order_by"), cut.boxes),
        (reeled, "ordered_length", "length ordered, each run cut to order with its waste", "m",
         [o.ordered_m for o in reeled], REELS, "each reel is the run and its waste, rounded up to the cutting step",
         loose.reels),
    ):  # fmt: skip
        if of:
            yield Family(
                what="order",
                name=name,
                meaning=meaning,
                unit=unit,
                formula=formula,
                method="" if formula else BOUND_METHOD if name == "boxes_at_least" else CUT_METHOD,
                source=source,
                subjects=[order.cable.id for order in of],
                values=[float(value) for value in values],
                inputs=inputs,
            )


class _Inputs:
    """The inputs of some orders' figures, each with its origin."""

    def __init__(self, orders: tuple[CableOrder, ...], project: Project) -> None:
        self.orders, self.project = orders, project

    def lengths(self, index: int) -> Mapping[str, Input]:
        """Return the lengths of its circuits."""
        values = tuple(length.expected_m for length in self.orders[index].lengths)
        return {"lengths": Input(values, "m", f"expected lengths of its {len(values)} circuits")}

    def footage(self, index: int) -> Mapping[str, Input]:
        """Return what the footage method takes."""
        order = self.orders[index]
        own = order.cable.waste is not None and order.cable.typed is not None
        waste = f"cable, {order.cable.source.at('waste_percent')}" if own else rule_origin(self.project, "waste")
        return {
            "length": Input(order.total_m, "m", f"order.{order.cable.id}.total_length"),
            "waste": Input(order.waste, "", waste),
            "put_up": Input(order.cable.put_up_m, "m", cable_origin(order.cable, "put_up_m", "put_up")),
            "on_hand": Input(order.on_hand_m, "m", "partial boxes on hand"),
        }

    def boxes(self, index: int) -> Mapping[str, Input]:
        """Return boxes by plan and by footage, as far as the house's rule takes them."""
        order = self.orders[index]
        both = {
            "by_plan": Input(float(order.by_plan), "boxes", f"order.{order.cable.id}.boxes_by_plan"),
            "by_footage": Input(float(order.by_footage or 0), "boxes", f"order.{order.cable.id}.boxes_by_footage"),
        }
        return {name: both[name] for name in ORDER_RULES[self.project.rules.order_by].names}

    def reels(self, index: int) -> Mapping[str, Input]:
        """Return the reels of a cable that is cut to order."""
        reels_m = self.orders[index].reels_m
        return {"reels": Input(reels_m, "m", f"its {len(reels_m)} runs with their waste, rounded up")}


def cable_origin(cable: Cable, attribute: str, key: str) -> str:
    """Return in words where a cable's value came from: typed, or typical of the catalog."""
    if attribute in cable.typical or cable.typed is None:
        return f"typical value of the catalog cable for {cable.id} (replace it with the data sheet's)"
    return f"cable, {cable.typed.source.at(key)}"


def order_alerts(orders: tuple[CableOrder, ...], project: Project) -> Iterable[Alert]:
    """Yield a warning for every run that no box gives in one piece."""
    for order in orders:
        for index in order.plan.too_long:
            length = order.lengths[index]
            yield Alert(
                length.place,
                "too long for a box",
                length.id,
                f"{length.id} doesn't come out of one box",
                shown_length(length.expected_m, project),
                shown_length(order.cable.put_up_m, project),
                cable_origin(order.cable, "put_up_m", "put_up"),
                "order this run on a reel cut to length",
            )
