"""Hours in a price file: factors by height, repeats and overtime, published labor units, shares, benefits, quotes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bid_alerts import bid_alerts
from estimator.takeoff.bid_figures import bid_families
from estimator.takeoff.bill import hours_each
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.footage import measure
from estimator.takeoff.orders import order_cables
from estimator.takeoff.price_build import Bid, price_job
from tests.takeoff.evaluated import HEAD, held, near, project_of

JOB = """\
rooms: [{{id: 1A}}]
power_supplies:
  - {{id: P1, room: 1A, voltage: 24 V, rating: 2 A, material: [{material}], labor: [{labor}]}}
prices:
  items:
    - {{id: box, name: Box, cost: 10}}
    - {{id: fit, name: Fit, hours: 2, factors: {factors}}}
    - {{id: jack, name: Jack, labor_unit: jack_termination}}
    - {{id: pull, name: Pull, unit: kft, labor_unit: cable_4pair_open_ceiling}}
    - {{id: slow, name: Slow, hours: 3, labor_unit: jack_termination}}
  crew: [{crew}]
  factors:
    - {{id: none, factor: 1}}
    - {{id: high, height: 16 ft}}
    - {{id: again, repeats: 8}}
    - {{id: long, overtime: {{hours_a_week: {week}, loss_percent: {loss}}}}}
    - {{id: upstairs, published: higher_floors}}
  lines: [{lines}]
  build_up: {build_up}
  alternates: [{{id: A1, name: More, kind: add, items: [{{item: fit, qty: 5}}]}}]
"""
CREW = "{role: Tech, people: 1, wage: 40, burden_percent: 25}"
PLAIN = {
    "material": "",
    "labor": "fit",
    "factors": "none",
    "crew": CREW,
    "week": "50",
    "loss": "10",
    "lines": "",
    "build_up": "{tax_on: exempt}",
}


def job(folder: Path, head: str = "", **parts: str) -> tuple[Bid, Mapping[str, float], list[Alert]]:
    """Return a priced job, its figures and its warnings."""
    (folder / "job.yaml").write_text((head or HEAD) + JOB.format(**{**PLAIN, **parts}), encoding="utf-8")
    loaded = load(folder / "job.yaml")
    project = loaded.project
    assert project is not None, "\n".join(map(str, loaded.faults))
    footage = measure(project, Faults())
    bid = price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project))
    assert bid is not None
    return bid, held(bid_families(bid, project)), list(bid_alerts(bid, project))


# Source: electrical estimating handbook: 13 % more at 16 ft; a quarter less for the sixth to tenth time. Cost
# book: a quarter more on higher floors. Claims article: a fifth of 50 h lost leaves 40, so that hours grow by 1.25.
@pytest.mark.parametrize(
    ("factor", "loss", "hours"),
    [
        ("none", "10", 2.0),
        ("high", "10", 2.26),
        ("again", "10", 1.5),
        ("long", "20", 2.5),
        ("upstairs", "10", 2.5),
        ("high again", "10", 1.695),
    ],
)
def test_factors_take_their_published_steps(tmp_path: Path, factor: str, loss: str, hours: float) -> None:
    bid, figures, _ = job(tmp_path, factors=factor, loss=loss)

    assert figures["task.fit.hours"] == near(hours, 1e-9)
    assert bid.labor.hours == near(hours, 1e-9)


def test_benefits_by_the_hour_are_no_share_of_the_wage(tmp_path: Path) -> None:
    """By hand: 40 and a quarter are 50 an hour, and 7.50 of benefits on top."""
    bid, figures, _ = job(tmp_path, crew=CREW.replace("25}", "25, fringe: 7.50}"))

    assert figures["crew.tech.rate"] == 57.5
    assert bid.price == Decimal("115.00")


# Source: labor units of trade knowledge (memory): a jack 0.10 to 0.25 h, middle 0.175.
def test_an_item_can_take_the_middle_of_a_published_labor_unit(tmp_path: Path) -> None:
    bid, figures, alerts = job(tmp_path, labor="jack, jack, slow")

    assert figures["task.jack.hours"] == near(0.35, 1e-9)
    assert figures["task.slow.hours"] == 3.0
    [unusual] = [one for one in alerts if one.kind == "unusual"]
    assert (unusual.value, unusual.limit) == ("3 h for one each", "0.1 to 0.25 h")
    assert bid.labor.hours == near(3.35, 1e-9)


# Source: the same, a thousand feet of four-pair cable over an open ceiling 6 to 12 h, middle 9.
@pytest.mark.parametrize(("unit", "hours"), [("ft", 0.009), ("kft", 9.0), ("m", 9 / 304.8)])
def test_a_labor_unit_by_the_foot_is_told_in_the_items_unit(tmp_path: Path, unit: str, hours: float) -> None:
    text = JOB.format(**PLAIN).replace("unit: kft", f"unit: {unit}")
    book = project_of(tmp_path, text).prices
    assert book is not None
    assert hours_each(book.items[3]) == near(hours, 1e-12)


def test_a_share_of_all_other_hours_follows_them(tmp_path: Path) -> None:
    """Closeout as a tenth of 4 h is 0.4 h; with five more fittings of an alternate it is a tenth of 14."""
    closeout = "{id: closeout, name: Closeout, kind: labor, hours_percent: 10}"
    bid, figures, alerts = job(tmp_path, labor="fit, fit", lines=closeout)

    assert figures["task.closeout.installed"] == 4.0
    assert figures["task.closeout.hours"] == near(0.4, 1e-12)
    assert figures["labor.all.hours"] == near(4.4, 1e-12)
    assert bid.price == Decimal("220.00")
    # 50 an hour: five fittings of 2 h and a tenth of them
    assert bid.alternates[0].amount == Decimal("550.00")
    rebuilt = job(tmp_path, labor=", ".join(["fit"] * 7), lines=closeout)[0]
    assert bid.alternates[0].build.price == rebuilt.price
    assert alerts == []


# Source: estimating course and surety pages: overhead 10 to 25, contingency 2 to 10, profit 8 to 20, bond to 3 %.
@pytest.mark.parametrize(
    ("typed", "percent", "told"),
    [
        ("overhead_percent", 9, True),
        ("overhead_percent", 10, False),
        ("overhead_percent", 25, False),
        ("overhead_percent", 26, True),
        ("overhead_percent", 0, False),
        ("contingency_percent", 11, True),
        ("profit_percent", 7.9, True),
        ("profit_percent", 20, False),
        ("bond_percent", 3, False),
        ("bond_percent", 5, True),
    ],
)
def test_shares_outside_their_usual_range_are_told(tmp_path: Path, typed: str, percent: float, told: bool) -> None:
    _, _, alerts = job(tmp_path, build_up=f"{{{typed}: {percent}}}")
    assert bool([one for one in alerts if one.kind == "unusual"]) is told


@pytest.mark.parametrize(("burden", "told"), [(0, False), (19, True), (20, False), (55, False), (56, True)])
def test_a_burden_outside_its_usual_range_is_told(tmp_path: Path, burden: int, told: bool) -> None:
    """Source: worked burden tables: 20 to 55 % of the wage; a wage with its burden in it types none."""
    _, _, alerts = job(tmp_path, crew=CREW.replace("25}", f"{burden}}}"))
    assert [one.text for one in alerts] == (["burden of Tech is outside its usual range"] if told else [])


# Source: construction claims article: 5 to 35 % of a 50 h week is lost; at a fifth it gives no more than 40 h.
@pytest.mark.parametrize(
    ("week", "loss", "kinds"),
    [
        ("50", "4", ["unusual"]),
        ("50", "5", []),
        ("50", "19.9", []),
        ("50", "20", ["overtime does not pay"]),
        ("50", "35", ["overtime does not pay"]),
        ("50", "36", ["unusual", "overtime does not pay"]),
        ("60", "33", []),
        ("60", "34", ["overtime does not pay"]),
        ("45", "10", []),
        ("40", "10", ["no overtime"]),
    ],
)
def test_overtime_that_does_not_pay_is_told(tmp_path: Path, week: str, loss: str, kinds: list[str]) -> None:
    assert [one.kind for one in job(tmp_path, week=week, loss=loss)[2]] == kinds


# Source: surety agencies' schedule: 1,000,000 pay 13,500.
def test_published_bond_rates_are_those_of_the_schedule(tmp_path: Path) -> None:
    line = "{id: big, name: Big, kind: subcontract, cost: 999900}"
    bid, _, _ = job(tmp_path, lines=line, build_up="{bond_rates: published}")
    assert bid.build.steps[-1].amount == Decimal("13500.00")


@pytest.mark.parametrize(("bid_date", "told"), [("2026-02-01", False), ("2026-02-02", True)])
def test_a_subcontract_quote_runs_out_as_an_items_does(tmp_path: Path, bid_date: str, told: bool) -> None:
    line = (
        "{id: sub, name: Lift, kind: equipment, cost: 100, supplier: rental, quoted: 2026-01-05, expires: 2026-02-01}"
    )
    _, _, alerts = job(tmp_path, HEAD.replace("name: Test", f"name: Test, bid_date: {bid_date}"), lines=line)
    found = [(one.kind, one.text, one.value) for one in alerts]
    expired = ("quote expired", "quote for Lift from rental has run out", "valid to 2026-02-01 (quoted 2026-01-05)")
    assert found == ([expired] if told else [])


FAULTY = """\
prices:
  items:
    - {id: a, name: A, labor_unit: jack_terminaton}
    - {id: b, name: B, unit: ft, labor_unit: jack_termination}
  crew: []
  factors:
    - {id: f1, name: nothing}
    - {id: f2, factor: 1.1, height: 12 ft}
    - {id: f3, height: 21 ft}
    - {id: f4, repeats: 16}
  lines: [{id: c, name: C, kind: labor, hours: 2, hours_percent: 5}]
  build_up: {bond_rates: published, bond_percent: 2}
"""


def test_what_no_price_file_can_mean_is_a_fault(tmp_path: Path) -> None:
    """Each at its place: factors without one basis or off the published steps, unknown units, two rates of a bond."""
    (tmp_path / "job.yaml").write_text(HEAD + FAULTY, encoding="utf-8")
    found = [str(one).partition("job.yaml:")[2].split("; expected")[0] for one in load(tmp_path / "job.yaml").faults]
    assert found == [
        "5:36: labor unit 'jack_terminaton' is not published",
        "6:46: labor unit 'jack_termination' is by the each, item 'b' by the ft",
        "9:12: difficulty factor 'f1' has no figure",
        "10:12: difficulty factor 'f2' has `factor` and `height`",
        "11:24: 21 ft is above the published steps",
        "12:25: 16 repeats are beyond the published steps",
        "13:66: line 'c' has `hours` and `hours_percent`",
        "14:26: the bond has published rates and `bond_percent`",
    ]
