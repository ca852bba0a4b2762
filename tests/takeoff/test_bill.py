"""The bill counts what the job needs: cable as ordered, devices, boxes, hooks, and labor as installed."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bid_alerts import bid_alerts
from estimator.takeoff.bill import Line
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.footage import measure
from estimator.takeoff.labor_hours import Task
from estimator.takeoff.orders import order_cables
from estimator.takeoff.price_build import Bid, price_job
from tests.takeoff.evaluated import project_of

FT = 0.3048
BUILD_UP = "  crew: [{role: Technician, people: 1, wage: 40}]\n  build_up: {}\n"
PLANT = """\
rooms: [{id: 1A}, {id: 2A}]
nodes: [{id: n1}]
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, kind: open}]
cables:
  - {id: C6, type: cat6_utp_plenum, put_up: 1000 ft, waste_percent: 0, price: cable}
"""
CABLE = "    - {id: cable, name: Cable, unit: box, cost: 100}\n"


def bid_and_alerts(folder: Path, text: str) -> tuple[Bid, list[Alert]]:
    """Return the priced job of a text and its warnings."""
    project = project_of(folder, text)
    faults = Faults()
    footage = measure(project, faults)
    assert not faults.found
    bid = price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project))
    assert bid is not None
    return bid, list(bid_alerts(bid, project))


def bid_of(folder: Path, text: str) -> Bid:
    """Return the priced job of a text."""
    return bid_and_alerts(folder, text)[0]


def line_of(bid: Bid, name: str) -> Line:
    return next(line for line in bid.lines if line.id == name)


def task_of(bid: Bid, name: str) -> Task:
    return next(task for task in bid.labor.tasks if task.id == name)


def quantities(bid: Bid) -> dict[str, Decimal]:
    return {line.id: line.quantity for line in bid.lines}


def prices(items: str, more: str = "") -> str:
    return f"prices:\n  items:\n{CABLE}{items}{more}{BUILD_UP}"


def test_material_and_labor_count_a_device_once_however_many_cables_it_has(tmp_path: Path) -> None:
    """Two drops in a range, each a device with two cables: two devices, four jacks, four runs."""
    bid = bid_of(
        tmp_path,
        PLANT
        + """\
devices: [{id: duo, cable: [C6, C6], material: [jack, jack], labor: [fit]}]
drops: [{id: D-1..D-2, room: 1A, length: 100 ft, device: duo}]
"""
        + prices("    - {id: jack, name: Jack, cost: 5}\n    - {id: fit, name: Fit, hours: 0.5}\n"),
    )
    assert quantities(bid) == {"cable": 1, "jack": 4, "fit": 2}
    assert task_of(bid, "fit").hours == 1.0
    assert line_of(bid, "jack").origin == "duo: 2 devices on drops, 2 for each, D-1.1 to D-2.1"


def test_box_material_counts_a_shared_box_once(tmp_path: Path) -> None:
    """Three jacks of two device types in one box take one ring; another box on its own takes a second."""
    bid = bid_of(
        tmp_path,
        PLANT
        + """\
devices:
  - {id: data, cable: C6, box_material: [ring, plate], material: [jack]}
  - {id: phone, cable: C6, box_material: [ring], material: [jack]}
drops:
  - {id: D-1..D-2, room: 1A, length: 90 ft, device: data, outlet: W-1}
  - {id: D-3, room: 1A, length: 90 ft, device: phone, outlet: W-1}
  - {id: D-4, room: 1A, length: 90 ft, device: phone}
  - {id: D-5, room: 2A, length: 90 ft, device: phone, outlet: W-1}
"""
        + prices(
            "    - {id: jack, name: Jack, cost: 5}\n    - {id: ring, name: Ring, cost: 2, hours: 0.2}\n"
            "    - {id: plate, name: Plate, cost: 3}\n"
        ),
    )
    # The outlet W-1 of room 2A is another box than that of room 1A.
    assert quantities(bid) == {"cable": 1, "jack": 5, "ring": 3, "plate": 1}
    assert task_of(bid, "ring").quantity == 3


@pytest.mark.parametrize(
    ("unit", "bought", "installed"),
    [
        ("box", "2", 1.5),
        ("reel", "2", 1.5),
        ("ft", "2000", 1500.0),
        ("kft", "2", 1.5),
        ("m", "609.6", 457.2),
    ],
)
def test_cable_is_bought_as_ordered_and_pulled_as_expected(
    unit: str, bought: str, installed: float, tmp_path: Path
) -> None:
    """1,500 ft of runs, no waste: two boxes of 1,000 ft (304.8 m) are bought, 1,500 ft are pulled."""
    bid = bid_of(
        tmp_path,
        PLANT
        + "drops: [{id: D-1..D-5, room: 1A, length: 300 ft, cable: C6}]\n"
        + "prices:\n  items:\n"
        + f"    - {{id: cable, name: Cable, unit: {unit}, cost: 0.50, hours: 0.01}}\n"
        + BUILD_UP,
    )
    line = line_of(bid, "cable")
    assert line.quantity == Decimal(bought)
    assert line.amount == Decimal(bought) * Decimal("0.50")
    assert task_of(bid, "cable").quantity == pytest.approx(installed, rel=1e-12)
    assert task_of(bid, "cable").hours == pytest.approx(installed * 0.01, rel=1e-12)


def test_devices_on_circuits_count_by_stop_each_with_a_box(tmp_path: Path) -> None:
    """Two and one appliances; the cable belongs to the control unit's system."""
    bid = bid_of(
        tmp_path,
        PLANT
        + """\
devices: [{id: strobe, system: fire_alarm, material: [horn], box_material: [ring], labor: [mount],
           standby_current: 0 A, alarm_current: 0.1 A}]
control_units: [{id: F1, system: voice_evacuation, room: 1A, standby_current: 0.1 A, alarm_current: 0.2 A,
                 material: [panel, block, block], labor: [program]}]
circuits:
  - id: N1
    kind: notification
    source: F1
    cable: C6
    devices: [{device: strobe, distance: 100 ft, qty: 2}, {device: strobe, distance: 50 ft}]
"""
        + prices(
            "    - {id: horn, name: Horn, cost: 70}\n    - {id: ring, name: Ring, cost: 2}\n"
            "    - {id: mount, name: Mount, hours: 0.75}\n    - {id: panel, name: Panel, cost: 900}\n"
            "    - {id: block, name: Battery, cost: 40}\n    - {id: program, name: Program, hours: 8}\n"
        ),
    )
    assert quantities(bid) == {"cable": 1, "horn": 3, "ring": 3, "mount": 3, "panel": 1, "block": 2, "program": 1}
    assert task_of(bid, "mount").by_system == (("fire_alarm", 2.25),)
    assert task_of(bid, "program").by_system == (("fire_alarm", 8.0),)
    assert [part.system for part in line_of(bid, "cable").installed] == ["fire_alarm"]


def test_a_task_by_the_foot_takes_the_expected_footage(tmp_path: Path) -> None:
    """Three drops of 150 ft and a backbone of 200 ft: 450 and 200 ft, not what is ordered."""
    bid = bid_of(
        tmp_path,
        PLANT
        + """\
devices: [{id: data, cable: C6, labor: [pull]}]
drops: [{id: D-1..D-3, room: 1A, length: 150 ft, device: data}]
backbone: [{id: B1, from: 1A, to: 2A, cable: C6, length: 200 ft, labor: [pull], material: [lug]}]
"""
        + prices(
            "    - {id: pull, name: Pull, unit: kft, hours: 10}\n    - {id: lug, name: Lug, cost: 1}\n",
        ),
    )
    assert task_of(bid, "pull").hours == pytest.approx(6.5)
    assert dict(task_of(bid, "pull").by_system) == pytest.approx({"other": 4.5, "backbone": 2.0})
    assert line_of(bid, "lug").quantity == 1


def test_hooks_and_firestopped_sleeves_are_counted_where_the_price_file_has_them(tmp_path: Path) -> None:
    """By hand: 48 ft at 5 ft is 10 hooks; hooks that carry cables already, or none, count nothing."""
    text = """\
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}, {id: c}, {id: d}, {id: e}]
pathways:
  - {id: H1, from: 1A, to: a, length: 48 ft, kind: j_hooks, spacing: 5 ft}
  - {id: H2, from: a, to: b, length: 20 ft, kind: j_hooks, spacing: 5 ft, existing: [{cable: C6, qty: 4}]}
  - {id: S1, from: b, to: c, length: 1 ft, kind: sleeve, trade_size: "2",
     firestop: {system: listed, max_fill_percent: 40}}
  - {id: O1, from: c, to: d, length: 1 ft, kind: open}
  - {id: H3, from: d, to: e, length: 20 ft, kind: j_hooks, spacing: 5 ft}
cables: [{id: C6, type: cat6_utp_plenum, price: cable}]
drops: [{id: D-1..D-2, room: 1A, at: d, cable: C6}]
"""
    named = "    - {id: j_hook, name: Hook, cost: 4, hours: 0.2}\n    - {id: firestop_sleeve, name: Seal, cost: 30}\n"
    bid = bid_of(tmp_path, text + prices(named))
    assert quantities(bid) == {"cable": 1, "j_hook": 10, "firestop_sleeve": 1}
    assert line_of(bid, "j_hook").origin == "H1: 10 j-hooks"

    assert quantities(bid_of(tmp_path, text + prices("    - {id: hook, name: Hook, cost: 4}\n"))) == {"cable": 1}


def test_supports_and_pull_boxes_are_counted_where_the_price_file_has_them(tmp_path: Path) -> None:
    """By hand: 90 ft and 20 ft up of EMT are 12 supports and, over 100 ft and 180 degrees, one box."""
    text = """\
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}, {id: c}]
pathways:
  - {id: C1, from: 1A, to: a, length: 90 ft, rise: 20 ft, kind: conduit, trade_size: "1", bends: 270 deg}
  - {id: C2, from: a, to: b, length: 90 ft, kind: conduit, trade_size: "1", bends: 270 deg,
     existing: [{cable: C6, qty: 1}]}
  - {id: N1, from: b, to: c, length: 1 ft, kind: conduit, trade_size: "1", nipple: true}
cables: [{id: C6, type: cat6_utp_plenum, price: cable}]
drops: [{id: D-1..D-2, room: 1A, at: c, cable: C6}]
"""
    named = "    - {id: conduit_support, name: Strap, cost: 1}\n    - {id: pull_box, name: Pull box, cost: 60}\n"
    bid = bid_of(tmp_path, text + prices(named))
    assert quantities(bid) == {"cable": 1, "conduit_support": 12, "pull_box": 1}
    assert line_of(bid, "conduit_support").origin == "C1: 12 supports"
    assert line_of(bid, "pull_box").origin == "C1: 1 pull box"


def test_lines_of_the_file_stand_by_kind_with_their_own_tax(tmp_path: Path) -> None:
    """Removal keeps its labor with it; material is taxed unless it says no."""
    bid = bid_of(
        tmp_path,
        """\
prices:
  items: []
  crew: [{role: Technician, people: 1, wage: 50}]
  lines:
    - {id: rack, name: Rack, kind: material, qty: 2, cost: 300, hours: 1.5}
    - {id: loan, name: Owner's rack, kind: material, cost: 100, taxed: no}
    - {id: lift, name: Lift, kind: equipment, cost: 640, taxed: yes}
    - {id: out, name: Old cable, kind: removal, qty: 1000, unit: ft, cost: 0.02, hours: 0.006}
    - {id: papers, name: Binder, kind: labor, qty: 12, unit: hour}
    - {id: permit, name: Permit, kind: fee, cost: 85}
  build_up: {tax_percent: 10}
""",
    )
    kinds = {kind: amount for kind, amount in bid.build.kinds.items() if amount}
    # By hand: labor (2 x 1.5 + 12) h x 50; removal 20 + 6 h x 50; tax on 600 of racks and 640 of lift.
    assert kinds == {"material": 700, "labor": 750, "equipment": 640, "fee": 85, "removal": 320}
    assert bid.build.steps[0].amount == 124
    assert line_of(bid, "rack").hours_each == 1.5


def test_an_item_stands_in_its_own_section_else_in_its_devices(tmp_path: Path) -> None:
    """The tester's section is typed; the jack follows two devices into two sections, as two lines."""
    bid = bid_of(
        tmp_path,
        PLANT
        + """\
devices:
  - {id: data, cable: C6, section: 27 15 13, material: [jack], labor: [test]}
  - {id: camera, cable: C6, section: 28 23 00, material: [jack], labor: [test]}
drops:
  - {id: D-1..D-2, room: 1A, length: 90 ft, device: data}
  - {id: D-3, room: 1A, length: 90 ft, device: camera}
"""
        + prices("    - {id: jack, name: Jack, cost: 5}\n    - {id: test, name: Test, hours: 1, section: 27 08 00}\n"),
    )
    assert {line.id: (line.section, line.quantity) for line in bid.lines} == {
        "test": ("27 08 00", 3),
        "jack:27-15-13": ("27 15 13", 2),
        "jack:28-23-00": ("28 23 00", 1),
        "cable": ("", 1),
    }


# Source: electrical estimating handbook (single): 10 h at 16 ft take 13 % more; a task of 2.0 h
# done eight times takes 25 % off, 12.0 h in all.
@pytest.mark.parametrize(("quantity", "hours", "factor", "expected"), [(1, 10, 1.13, 11.3), (8, 2.0, 0.75, 12.0)])
def test_hours_take_the_named_factor(
    quantity: int, hours: float, factor: float, expected: float, tmp_path: Path
) -> None:
    """The published hours come out of a line with that factor."""
    bid = bid_of(
        tmp_path,
        f"""\
prices:
  items: []
  crew: []
  factors: [{{id: named, factor: {factor}}}]
  lines: [{{id: work, name: Work, kind: labor, qty: {quantity}, hours: {hours}, factors: named}}]
  build_up: {{}}
""",
    )
    assert bid.labor.hours == pytest.approx(expected, rel=1e-12)


def test_factors_multiply(tmp_path: Path) -> None:
    """By hand: 10 h x 1.5 x 1.2 = 18 h."""
    bid = bid_of(
        tmp_path,
        """\
prices:
  items: []
  crew: []
  factors: [{id: high, factor: 1.5}, {id: night, factor: 1.2}]
  lines: [{id: work, name: Work, kind: labor, qty: 10, hours: 1, factors: [high, night]}]
  build_up: {}
""",
    )
    assert bid.labor.hours == pytest.approx(18.0, rel=1e-12)


def test_crew_rate_is_the_mix_of_burdened_wages(tmp_path: Path) -> None:
    """Published burden on a wage; by hand, the mix with two apprentices, and days to a tenth."""
    bid = bid_of(
        tmp_path,
        """\
prices:
  items: []
  crew:
    - {role: Foreman, people: 1, wage: 20.00, burden_percent: 40.35}
    - {role: Apprentice, people: 2, wage: 10.00, burden_percent: 50}
  hours_a_day: 8
  lines: [{id: work, name: Work, kind: labor, qty: 100, unit: hour}]
  build_up: {}
""",
    )
    crew = bid.labor.crew
    assert crew is not None
    # Source: contractor accounting page (single): 20.00 with 40.35 % burden is 28.07 an hour.
    assert crew.rates[0] == pytest.approx(28.07, abs=0.005)
    # By hand: (28.07 + 2 x 15) / 3 an hour, 100 h / (3 x 8) = 4.1667 days.
    assert crew.rate == pytest.approx(58.07 / 3, rel=1e-12)
    assert bid.build.kinds["labor"] == Decimal("1935.67")
    assert bid.labor.days_shown == 4.2


def test_hours_without_a_crew_or_a_section(tmp_path: Path) -> None:
    """No people: hours stand, days don't, and cost nothing; what has no section or system is general."""
    text = """\
prices:
  items: []
  crew: [%s]
  lines:
    - {id: work, name: Work, kind: labor, qty: 12, unit: hour}
    - {id: fee, name: Permit, kind: fee, cost: 85}
  build_up: {}
"""
    bid = bid_of(tmp_path, text % "")
    [task] = bid.labor.tasks
    assert (bid.labor.hours, bid.labor.days, bid.labor.days_shown, task.amount) == (12, None, None, 0)
    assert (task.section, task.by_system, list(bid.labor.by_section)) == ("general", (("general", 12.0),), ["general"])

    # By hand: 12 h over one person's 8 h are 1.5 days.
    paid = bid_of(tmp_path, text % "{role: Technician, people: 1, wage: 50}")
    assert (paid.labor.days, paid.labor.days_shown, paid.labor.tasks[0].amount) == (1.5, 1.5, 600)


def test_what_has_no_price_is_told(tmp_path: Path) -> None:
    """A cable without an item, a device that brings nothing, a bare drop, a forgotten cost, hours without a crew."""
    bid, alerts = bid_and_alerts(
        tmp_path,
        """\
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_plenum}]
devices: [{id: data, cable: C6}, {id: camera, cable: C6, material: [dome], labor: [fit]}]
drops:
  - {id: D-1, room: 1A, length: 90 ft, device: data}
  - {id: D-2..D-3, room: 1A, length: 90 ft, cable: C6}
  - {id: D-4, room: 1A, length: 90 ft, device: camera}
prices:
  crew: []
  items: [{id: dome, name: Dome, hours: 1}, {id: fit, name: Fit, hours: 1}]
  lines: [{id: lift, name: Lift, kind: equipment}, {id: free, name: On loan, kind: equipment, cost: 0}]
  build_up: {}
""",
    )
    assert {(alert.kind, alert.subject) for alert in alerts} == {
        ("no price", name) for name in ("C6", "data", "D-2", "dome", "lift", "crew")
    }
    assert bid.labor.hours == 2
    assert bid.price == 0
    told = next(str(alert) for alert in alerts if alert.subject == "C6")
    assert told.endswith(
        "job.yaml:4:15: no price: cable C6 has no price item: 1 box to order, limit every part of the job priced "
        "(price file); add `price:` with an item of the price file"
    )


@pytest.mark.parametrize(
    ("dates", "told"),
    [
        ("bid_date: 2026-05-02", True),
        ("bid_date: 2026-05-01", False),  # the last day of a quote is a day on which it holds
        ("date: 2026-05-02", True),
        ("date: 2026-05-02, bid_date: 2026-04-01", False),
        ("number: none", False),
    ],
)
def test_a_quote_that_ran_out_before_the_bid_is_told(dates: str, told: bool, tmp_path: Path) -> None:
    """The bid date decides, else the project's date; an item that the job doesn't use is left alone."""
    text = PLANT + "drops: [{id: D-1, room: 1A, length: 90 ft, cable: C6}]\n" + prices("")
    text = text.replace("cost: 100}", "cost: 100, supplier: distributor, quoted: 2026-04-01, expires: 2026-05-01}")
    text = text.replace(BUILD_UP, "    - {id: spare, name: Spare, cost: 5, expires: 2020-01-01}\n" + BUILD_UP)
    (tmp_path / "job.yaml").write_text(f"dropledger: 1\nproject: {{name: Dated, {dates}}}\n{text}", encoding="utf-8")
    project = load(tmp_path / "job.yaml").project
    assert project is not None
    footage = measure(project, Faults())
    bid = price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project))
    assert bid is not None
    found = [alert for alert in bid_alerts(bid, project) if alert.kind == "quote expired"]
    assert [alert.subject for alert in found] == (["cable"] if told else [])
    if told:
        assert found[0].value == "valid to 2026-05-01 (quoted 2026-04-01)"


def test_without_a_price_file_there_is_no_bid(tmp_path: Path) -> None:
    """The job is measured all the same."""
    project = project_of(tmp_path, PLANT + "drops: [{id: D-1, room: 1A, length: 90 ft, cable: C6}]\n")
    footage = measure(project, Faults())
    assert price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project)) is None


def test_panels_switches_and_pathways_bring_what_they_name(tmp_path: Path) -> None:
    """By hand: one panel, one switch, and 40 ft of tray with 8 ft of rise priced by the foot."""
    bid = bid_of(
        tmp_path,
        """\
rooms: [{id: 1A, patch_panels: [{id: A, ports: 24, material: panel, labor: mount}]}]
nodes: [{id: n1}]
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, rise: 8 ft, kind: open, items: tray hang}]
switches: [{id: S1, room: 1A, ports: 24, material: switch}]
prices:
  items:
    - {id: panel, name: Panel, cost: 90}
    - {id: mount, name: Mount a panel, hours: 0.5}
    - {id: switch, name: Switch, cost: 400}
    - {id: tray, name: Tray, unit: ft, cost: 7.50}
    - {id: hang, name: Hang tray, unit: ft, hours: 0.1}
"""
        + BUILD_UP,
    )
    assert {line.id: (float(line.quantity), line.kind) for line in bid.lines} == {
        "panel": (1, "material"),
        "mount": (1, "labor"),
        "switch": (1, "material"),
        "tray": (48, "material"),
        "hang": (48, "labor"),
    }
    assert line_of(bid, "tray").amount == Decimal("360.00")
    assert bid.labor.hours == pytest.approx(0.5 + 4.8)


def test_units_hooks_and_sleeves_without_a_price_are_told(tmp_path: Path) -> None:
    """What the job needs and no line holds is a warning, not a silence."""
    text = PLANT.replace("kind: open", "kind: j_hooks, space: plenum").replace(", price: cable", ", price: cable")
    _, alerts = bid_and_alerts(
        tmp_path,
        text
        + """\
power_supplies: [{id: PS, room: 1A, voltage: 24 V, rating: 4 A}]
drops: [{id: D1, room: 1A, at: n1, cable: C6}]
prices:
  items:
"""
        + CABLE.replace("unit: box", "unit: each")
        + BUILD_UP,
    )
    told = {alert.subject: alert.value for alert in alerts if alert.kind == "no price"}
    assert told["PS"] == "nothing"
    assert told["j_hook"] == "8 j-hooks"
    assert "each taken as one each" in told["cable"]


# By hand: 200 ft and 5 % are 210 ft; the same reel by the foot and by the piece.
@pytest.mark.parametrize(("unit", "quantity"), [("ft", 210), ("each", 1)])
def test_fiber_cut_to_order_is_bought_as_it_is_cut(unit: str, quantity: int, tmp_path: Path) -> None:
    fiber = "  - {id: OF, type: of_12_om4_ofnp, reference: one_cord, price: fiber}\n"
    text = "rules: {cut_to: 1 ft}\n" + PLANT.replace("cables:\n", f"cables:\n{fiber}")
    text += "drops: [{id: D-1, room: 1A, length: 200 ft, cable: OF}]\n"
    item = f"    - {{id: fiber, name: Fiber, unit: {unit}, cost: 1}}\n"
    line = line_of(bid_of(tmp_path, text + prices(item)), "fiber")

    assert line.quantity == quantity
    assert "1 reel cut to order, 210 ft (order.OF.ordered_length)" in line.origin
