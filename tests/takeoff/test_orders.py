"""Orders of a cable type: total length, waste, boxes by plan and by footage, and what decides."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.takeoff.orders import CableOrder, order_alerts, order_cables, order_families
from estimator.takeoff.worked import explain
from tests.takeoff.evaluated import held, measured

ROOM = "rooms: [{id: 1A}]\n"


def ordered(folder: Path, text: str) -> tuple[tuple[CableOrder, ...], dict[str, float]]:
    """Return the orders of a text and its figures; every printed formula gives its figure on its inputs."""
    project, footage = measured(folder, ROOM + text)
    orders = order_cables(footage, project)
    return orders, dict(held(order_families(orders, project)))


def test_order_figures_of_one_cable(tmp_path: Path) -> None:
    """By hand: 7 runs of 80 m are 560 m; 3 out of a box of 300 m, so 3 boxes; 560 x 1.1 / 300 is 3 boxes."""
    orders, figures = ordered(
        tmp_path,
        "cables: [{id: C6, type: cat6_utp_plenum, put_up: 300 m, waste_percent: 10}]\n"
        "drops: [{id: D1..D7, room: 1A, length: 80 m, cable: C6}]\n",
    )
    assert figures == {
        "order.C6.total_length": 560,
        "order.C6.boxes_by_plan": 3,
        "order.C6.boxes_at_least": 3,
        "order.C6.boxes_by_footage": 3,
        "order.C6.boxes": 3,
    }
    assert orders[0].ordered_m == 900
    assert orders[0].on_hand_m == 0


# By hand: 4 runs of 160 m, one out of a box of 300 m: 4 boxes by plan; 640 m are 3 boxes by footage.
@pytest.mark.parametrize(
    ("rules", "boxes", "source"),
    [
        ("", 4, "default order_by: "),
        ("rules: {order_by: cut_plan}\n", 4, "rules.order_by, "),
        ("rules: {order_by: footage}\n", 3, "rules.order_by, "),
    ],
)
def test_house_rule_decides_the_order(rules: str, boxes: int, source: str, tmp_path: Path) -> None:
    """The larger of both, or the one that the house goes by; both are printed."""
    text = (
        "cables: [{id: C6, type: cat6_utp_plenum, put_up: 300 m, waste_percent: 0}]\n"
        "drops: [{id: D1..D4, room: 1A, length: 160 m, cable: C6}]\n"
    )
    orders, figures = ordered(tmp_path, text + rules)
    project, _ = measured(tmp_path, ROOM + text + rules)
    worked = explain(order_families(orders, project), "order.C6.boxes")

    assert (figures["order.C6.boxes_by_plan"], figures["order.C6.boxes_by_footage"]) == (4, 3)
    assert figures["order.C6.boxes"] == boxes
    assert worked is not None
    assert worked.source.startswith(source)
    assert {one.unit for one in worked.inputs.values()} == {"boxes"}


def test_partial_boxes_come_first_and_have_names_of_their_own(tmp_path: Path) -> None:
    """100 and 90 m on hand give one run each; two more come out of a new box (by hand)."""
    orders, figures = ordered(
        tmp_path,
        "cables: [{id: C6, type: cat6_utp_plenum, put_up: 300 m, waste_percent: 0, on_hand: [100 m, 90 m]}]\n"
        "drops: [{id: D1..D4, room: 1A, length: 85 m, cable: C6}]\n",
    )
    order = orders[0]

    assert (order.on_hand_m, order.by_plan, order.by_footage) == (190, 1, 1)
    assert [order.box_name(box) for box in range(3)] == ["C6 on hand 1", "C6 on hand 2", "C6 box 1"]
    assert figures["order.C6.boxes"] == 1
    assert order.ordered_m == 300


def test_each_type_has_its_waste_and_the_rule_the_rest(tmp_path: Path) -> None:
    """Typed on the cable, else the house rule; orders stand as cables are declared; unused types need none."""
    text = (
        "cables:\n  - {id: A, type: cat6_utp_plenum, waste_percent: 10}\n  - {id: unused, type: cat6_utp_riser}\n"
        "  - {id: B, type: cat6_utp_riser}\nrules: {waste_percent: 7}\n"
        "drops:\n  - {id: D1, room: 1A, length: 50 m, cable: B}\n  - {id: D2, room: 1A, length: 40 m, cable: A}\n"
    )
    orders, _ = ordered(tmp_path, text)
    project, _ = measured(tmp_path, ROOM + text)
    origins = [
        explain(order_families(orders, project), f"order.{name}.boxes_by_footage").inputs  # type: ignore[union-attr]
        for name in ("A", "B")
    ]

    assert [(order.cable.id, order.waste, order.total_m) for order in orders] == [("A", 0.1, 40.0), ("B", 0.07, 50.0)]
    assert origins[0]["waste"].origin.startswith("cable, ")
    assert origins[1]["waste"].origin.startswith("rules.waste_percent, ")
    assert origins[0]["put_up"].origin.startswith("typical value of the catalog cable for A")
    assert [origins[0][name].unit for name in ("length", "waste", "put_up", "on_hand")] == ["m", "", "m", "m"]


def test_what_is_iterative_names_its_method(tmp_path: Path) -> None:
    """The cut plan is no formula; the other figures have one and name none."""
    text = (
        "cables: [{id: C6, type: cat6_utp_plenum, put_up: 300 m}]\ndrops: [{id: D, room: 1A, length: 9 m, cable: C6}]\n"
    )
    orders, _ = ordered(tmp_path, text)
    project, _ = measured(tmp_path, ROOM + text)
    families = {family.name: family for family in order_families(orders, project)}

    assert families["boxes_by_plan"].method.startswith("cut plan: best-fit decreasing")
    assert families["boxes_at_least"].method.startswith("bound: ")
    assert {family.method for name, family in families.items() if name not in ("boxes_by_plan", "boxes_at_least")} == {
        ""
    }
    assert {name: family.unit for name, family in families.items()} == {
        "total_length": "m", "boxes_by_plan": "boxes", "boxes_at_least": "boxes", "boxes_by_footage": "boxes",
        "boxes": "boxes",
    }  # fmt: skip


@pytest.mark.parametrize(("length", "told"), [("300 m", False), ("300.1 m", True)])
def test_a_run_too_long_for_a_box_is_told(length: str, told: bool, tmp_path: Path) -> None:
    """Exactly a box is one piece; a run beyond it asks for a reel cut to length."""
    text = (
        "cables: [{id: C6, type: cat6_utp_plenum, put_up: 300 m}]\nrules: {cut_to: 0.1 m}\n"
        f"drops: [{{id: D9, room: 1A, length: {length}, cable: C6}}]\n"
    )
    orders, _ = ordered(tmp_path, text)
    project, _ = measured(tmp_path, ROOM + text)
    alerts = list(order_alerts(orders, project))

    assert len(alerts) == told
    if told:
        assert str(alerts[0]).endswith(
            "job.yaml:6:14: too long for a box: D9 doesn't come out of one box: 300.1 m, limit 300.0 m "
            "(cable, job.yaml:4:50); order this run on a reel cut to length"
        )


# By hand, house waste 5 %, whole feet: 106 ft for 100.2 ft, 211 ft for 200.5 ft.
def test_fiber_without_a_put_up_is_cut_to_order(tmp_path: Path) -> None:
    orders, figures = ordered(
        tmp_path,
        "rules: {cut_to: 1 ft}\ncables: [{id: OF, type: of_12_om4_ofnp, reference: one_cord}]\n"
        "drops: [{id: D1, room: 1A, length: 100.2 ft, cable: OF}, {id: D2, room: 1A, length: 200.5 ft, cable: OF}]\n",
    )
    assert figures == pytest.approx(
        {"order.OF.total_length": 300.7 * 0.3048, "order.OF.ordered_length": 317 * 0.3048}, abs=1e-9
    )
    assert (orders[0].boxes, orders[0].by_footage) == (2, None)
    assert [orders[0].box_name(box) for box in (0, 1)] == ["OF reel 1", "OF reel 2"]


def test_fiber_with_a_put_up_comes_from_reels_of_that_length(tmp_path: Path) -> None:
    orders, _ = ordered(
        tmp_path,
        "cables: [{id: OF, type: of_12_om4_ofnp, reference: one_cord, put_up: 500 ft}]\n"
        "drops: [{id: D1..D4, room: 1A, length: 100 ft, cable: OF}]\n",
    )
    assert (orders[0].boxes, orders[0].by_footage) == (1, 1)
