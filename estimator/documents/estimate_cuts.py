"""The cut plan by pull: which run comes from which box, and what remains in the box after it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from estimator.calc.cutting import PIECE
from estimator.calc.formula import Expression
from estimator.documents.common import in_length, length_column, length_unit
from estimator.documents.description import Cell, Column, Matching, Paragraph, Ref, Same, Section, Table
from estimator.takeoff.footage import Length
from estimator.takeoff.orders import CableOrder
from estimator.takeoff.takeoff import Takeoff

LEFT: Final = Expression("held - cut")
"""What remains in a box after a piece is cut from it [m]."""

CUT_IN_ALL: Final = Expression("sum(pieces)")
"""All that is cut from a box [m]."""

RUNS: Final = Expression("count(pieces)")
"""How many runs come from a box."""

_BY_BOX: Final[Mapping[str, Ref]] = {"pieces": Matching("cuts", "cut", "box", "box")}

NO_BOX = "none is long enough"
"""Stands where a run needs a reel cut to length."""


def cuts_section(takeoff: Takeoff) -> Section:
    """Return the cut plan in the order of the pulls."""
    text = (
        "A crew pulls many boxes at once, so runs stand together by pull. Each run is one piece without a splice, "
        "rounded up to the cutting step; boxes on hand are used first where they fit. Mark on each box what remains."
    )
    return Section(title="Cut plan", blocks=(Paragraph(text), _cuts(takeoff)))


def boxes_section(takeoff: Takeoff) -> Section:
    """Return every box and reel with what is cut from it and what is left in the end."""
    return Section(title="Boxes", blocks=(_boxes(takeoff),))


def _cuts(takeoff: Takeoff) -> Table:
    project = takeoff.project
    return Table(
        name="cuts",
        title="Runs by pull",
        columns=(
            Column(key="pull", head="Pull"),
            Column(key="circuit", head="Circuit"),
            Column(key="cable", head="Cable"),
            Column(key="box", head="Box"),
            length_column(project, "length", "Expected length"),
            length_column(project, "held", "In the box before"),
            length_column(project, "cut", "Cut", formula=PIECE),
            length_column(project, "left", "Left in the box", formula=LEFT),
        ),
        rows=_rows(takeoff),
        empty="No cable is cut in this job.",
    )


def _rows(takeoff: Takeoff) -> list[tuple[Cell, ...]]:
    si = length_unit(takeoff.project)[1]
    held = {id(order): list(order.plan.box_m) for order in takeoff.orders}
    rows: list[tuple[Cell, ...]] = []
    for order, index, length in _by_pull(takeoff):
        box, piece = order.plan.box_of[index], order.plan.piece_m[index]
        head = (length.pull, length.id, length.cable.id)
        if box is None:
            rows.append((*head, NO_BOX, length.expected_m / si, None, piece / si, None))
            continue
        before = held[id(order)][box]
        held[id(order)][box] = left = before - piece
        rows.append((*head, order.box_name(box), length.expected_m / si, before / si, piece / si, left / si))
    return rows


def _by_pull(takeoff: Takeoff) -> Iterator[tuple[CableOrder, int, Length]]:
    """Yield every run with its order, pull by pull as they come up, then by cable and box."""
    first: dict[str, int] = {}
    for length in takeoff.footage.lengths:
        first.setdefault(length.pull, len(first))
    keyed = []
    for place, order in enumerate(takeoff.orders):
        for index, length in enumerate(order.lengths):
            box = order.plan.box_of[index]
            keyed.append(((first[length.pull], place, -1 if box is None else box, index), order, length))
    keyed.sort(key=lambda one: one[0])
    for key, order, length in keyed:
        yield order, key[3], length


def _boxes(takeoff: Takeoff) -> Table:
    project = takeoff.project
    rows: list[tuple[Cell, ...]] = []
    for order in takeoff.orders:
        counts = [0] * len(order.plan.box_m)
        cut = [0.0] * len(order.plan.box_m)
        for box, piece in zip(order.plan.box_of, order.plan.piece_m, strict=True):
            if box is not None:
                counts[box] += 1
                cut[box] += piece
        rows.extend(
            (
                order.box_name(box),
                order.cable.id,
                "on hand" if box < order.plan.on_hand else "new",
                counts[box],
                in_length(held, project),
                in_length(cut[box], project),
                in_length(held - cut[box], project),
            )
            for box, held in enumerate(order.plan.box_m)
        )
    return Table(
        name="boxes",
        title="Boxes and reels",
        key="box",
        columns=(
            Column(key="box", head="Box"),
            Column(key="cable", head="Cable"),
            Column(key="stock", head="Stock"),
            Column(key="runs", head="Runs", kind="whole", formula=RUNS, inputs=_BY_BOX),
            length_column(project, "held", "Holds"),
            length_column(project, "cut", "Cut in all", formula=CUT_IN_ALL, inputs=_BY_BOX),
            length_column(project, "left", "Left in the end", formula=LEFT, inputs={"cut": Same("cut")}),
        ),
        rows=rows,
        empty="No box is opened.",
    )
