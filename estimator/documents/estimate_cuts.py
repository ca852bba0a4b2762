"""The cut plan by pull: which run comes from which box, and what remains in the box after it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from estimator.calc.cutting import CUT_TO_ORDER, PIECE
from estimator.documents.common import SAME, in_length, length_column, length_unit, live_words, verdict
from estimator.documents.description import (
    Cell,
    Column,
    Fact,
    Facts,
    Formula,
    Lookup,
    Matching,
    Paragraph,
    Ref,
    Same,
    Section,
    Table,
    Whole,
    Words,
)
from estimator.takeoff.cuts import (
    CHANGED_BY,
    CUT_IN_ALL,
    HOLDS,
    LEFT,
    OLDER,
    OLDER_WORD,
    RUNS,
    boxes_of,
    cuts_by_pull,
)
from estimator.takeoff.takeoff import Takeoff

_NOW: Final[Mapping[str, Ref]] = {"figure": Lookup("drops", "expected", "id", "circuit")}
_REEL: Final[Mapping[str, Ref]] = {"length": Same("now"), "waste": Lookup("orders", "waste", "cable", "cable")}
_HELD: Final[Mapping[str, Ref]] = {"pieces": Matching("cuts", "held", "box", "box")}
_BY_BOX: Final[Mapping[str, Ref]] = {"pieces": Matching("cuts", "cut", "box", "box")}

NO_BOX = "none is long enough"
"""Stands where a run needs a reel cut to length."""


def cuts_section(takeoff: Takeoff) -> Section:
    """Return the cut plan in the order of the pulls."""
    text = (
        "A crew pulls many boxes at once, so runs stand together by pull. Each run is one piece without a splice, "
        "rounded up to the cutting step; boxes on hand are used first where they fit. Mark on each box what remains."
    )
    state = Fact(
        label="Cut plan",
        value=verdict(HOLDS),
        words=age_of_plan(Whole("cuts", "changed")),
        note="for the lengths that the sheet Drops has now; one that is older is made again from the project file",
    )
    states = (Facts(title="", rows=(state,)),) if takeoff.orders else ()
    return Section(title="Cut plan", blocks=(Paragraph(text), *states, _cuts(takeoff)))


def age_of_plan(changed: Ref) -> Words:
    """Return the live word that says whether lengths have changed since the cut plan was made."""
    return live_words((OLDER, OLDER_WORD), otherwise=HOLDS, inputs={"changed": changed})


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
            length_column(project, "length", "Planned for"),
            length_column(project, "now", "Length now", formula=SAME, inputs=_NOW),
            length_column(project, "changed", "Changed by", formula=CHANGED_BY),
            length_column(project, "held", "In the box before"),
            length_column(project, "cut", "Cut", formula=PIECE),
            length_column(project, "left", "Left in the box", formula=LEFT),
        ),
        rows=_rows(takeoff),
        empty="No cable is cut in this job.",
    )


def _reeled(takeoff: Takeoff) -> set[str]:
    """Return the cables of which every run is a reel of its own, cut to order."""
    return {order.cable.id for order in takeoff.orders if order.by_footage is None and not order.cable.stock_m}


def _rows(takeoff: Takeoff) -> list[tuple[Cell, ...]]:
    si = length_unit(takeoff.project)[1]
    reeled = _reeled(takeoff)
    rows: list[tuple[Cell, ...]] = []
    for cut in cuts_by_pull(takeoff.orders, takeoff.footage):
        length = cut.length
        held: Cell = None if cut.held_m is None else cut.held_m / si
        if cut.held_m is not None and length.cable.id in reeled:
            held = Formula(CUT_TO_ORDER, cut.held_m / si, _REEL)
        left = None if cut.left_m is None else cut.left_m / si
        expected = length.expected_m / si
        head = (length.pull, length.id, length.cable.id, cut.box or NO_BOX)
        rows.append((*head, expected, expected, 0.0, held, cut.piece_m / si, left))
    return rows


def _boxes(takeoff: Takeoff) -> Table:
    project = takeoff.project
    reeled = _reeled(takeoff)
    rows = [
        (
            box.name,
            box.cable,
            "on hand" if box.on_hand else "new",
            len(box.pieces_m),
            Formula(CUT_IN_ALL, in_length(box.held_m, project), _HELD)
            if box.cable in reeled
            else in_length(box.held_m, project),
            in_length(box.cut_m, project),
            in_length(box.left_m, project),
        )
        for box in boxes_of(takeoff.orders)
    ]
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
