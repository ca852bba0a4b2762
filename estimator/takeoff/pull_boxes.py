"""The box of an added pull point: by the standard's table, or by the code where its conductors are large."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.calc.pulling import angle_box_distance, box_width, straight_box_length
from estimator.reference.lookup import table
from estimator.spec.plant import Segment
from estimator.takeoff.fill import SegmentFill
from estimator.units.quantity import read_quantity
from estimator.units.rounding import over


@dataclass(frozen=True, kw_only=True, slots=True)
class PullBox:
    """The least box of a straight pull point for conduits side by side, and who says so.

    Width and depth are None where the standard has no row for the trade size; ``angle_m`` stands where
    the code binds: from the wall of the conduits to the opposite one, if a pull turns in the box.
    """

    length_m: float
    width_m: float | None
    depth_m: float | None
    angle_m: float | None
    conduits: int
    source: str


def trade_m(trade: str) -> float:
    """Return a trade size taken as a length [m], as the code's box rule takes it."""
    return read_quantity(f"{trade} in", "length")


def box_of(filled: SegmentFill, beside: Sequence[Segment]) -> PullBox:
    """Return the least box for a conduit and those that run beside it between the same two points."""
    sizes = sorted((trade_m(one.trade_size), one.trade_size) for one in beside if one.trade_size is not None)
    largest_m, trade = sizes[-1]
    boxes, code = table("pull_boxes_tia"), table("pull_boxes_code")
    straight_m = straight_box_length(largest_m=largest_m, multiple=code.find(rule="straight").number("multiple"))
    if _binds(filled):
        angle_m = angle_box_distance(
            rows_m=[[size_m for size_m, _ in sizes]], multiple=code.find(rule="angle").number("multiple")
        )
        source = f"{code.source}, for conductors of {_large_awg()} AWG and larger"
        return PullBox(
            length_m=straight_m, width_m=None, depth_m=None, angle_m=angle_m, conduits=len(sizes), source=source
        )
    if not boxes.has(trade=trade):
        source = f"{code.source}, straight pull, as good practice"
        return PullBox(
            length_m=straight_m, width_m=None, depth_m=None, angle_m=None, conduits=len(sizes), source=source
        )
    row = boxes.find(trade=trade)
    width_m = box_width(width_m=row.number("width_m"), more_width_m=row.number("more_width_m"), conduits=len(sizes))
    return PullBox(
        length_m=row.number("length_m"),
        width_m=width_m,
        depth_m=row.number("depth_m"),
        angle_m=None,
        conduits=len(sizes),
        source=boxes.source,
    )


def _large_awg() -> int:
    return int(table("pull_boxes_code").find(rule="straight").number("from_awg"))


def _binds(filled: SegmentFill) -> bool:
    """Return whether a conductor is as large as those that the code sizes boxes for."""
    return any(cable.awg is not None and not over(cable.awg, _large_awg()) for cable, _ in filled.lying)
