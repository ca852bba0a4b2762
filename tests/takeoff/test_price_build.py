"""The price is built on the bill step by step, to the cent; options are differences of complete builds."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bid_alerts import bid_alerts
from estimator.takeoff.bid_figures import bid_families
from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.footage import measure
from estimator.takeoff.orders import order_cables
from estimator.takeoff.price_build import Bid, price_job
from tests.published import Check
from tests.takeoff.evaluated import HEAD, held, project_of

SCHEDULE = """\
    bond_tiers:
      - {up_to: 100000, per_thousand: 25}
      - {up_to: 500000, per_thousand: 15}
      - {up_to: 2500000, per_thousand: 10}
"""


def lines(*typed: str) -> str:
    """Return a price file of own lines, each typed as `kind cost`."""
    kinds = "".join(
        f"    - {{id: L{number}, name: Line, kind: {line.split()[0]}, cost: {line.split()[1]}}}\n"
        for number, line in enumerate(typed)
    )
    return f"prices:\n  items: []\n  crew: []\n  lines:\n{kinds}"


def build_up(**terms: object) -> str:
    typed = "".join(f"    {key}: {value}\n" for key, value in terms.items())
    return f"  build_up:\n{typed or '    tax_on: exempt' + chr(10)}"


def job(folder: Path, text: str) -> tuple[Bid, list[Alert]]:
    """Return the priced job of a text with its warnings, all its figures re-evaluated."""
    project = project_of(folder, text)
    footage = measure(project, Faults())
    bid = price_job(project, footage, fill_pathways(footage, project), order_cables(footage, project))
    assert bid is not None
    figures = held(bid_families(bid, project))
    assert figures["price.total.amount"] == float(bid.price)
    return bid, list(bid_alerts(bid, project))


def bid_of(folder: Path, text: str) -> Bid:
    """Return the priced job of a text."""
    return job(folder, text)[0]


def step(bid: Bid, name: str) -> Decimal:
    return next(step.amount for step in bid.build.steps if step.name == name)


COURSE = {"overhead_percent": 15, "contingency_percent": 5, "profit_percent": 10}
SURETY = "surety agency page with worked premiums; single"
PUBLISHED = [
    # Source: electrical estimating course: direct 10,000, overhead 15, contingency 5, profit 10 %.
    ("price in the course's order", "electrical estimating course; computed",
     lines("labor 10000") + build_up(**COURSE), "price", 13282.50),
    # Source: the same, with a bond of 1.5 % figured on the price that holds it.
    ("bond in the price", "electrical estimating course, bond on the final price; computed",
     lines("labor 10000") + build_up(**COURSE, bond_percent=1.5, bond_on="price_with_bond"), "bond", 202.27),
    ("price with its bond", "electrical estimating course, bond on the final price; computed",
     lines("labor 10000") + build_up(**COURSE, bond_percent=1.5, bond_on="price_with_bond"), "price", 13484.77),
    # Source: trade magazine's bid formula in course notes: 1,000 + 2,000 + 500 + 1,000 of overhead, 20 % on all.
    ("bid with a markup of 20 %", "trade magazine's bid formula; computed",
     lines("material 1000", "labor 2000", "equipment 500", "fee 1000") + build_up(profit_percent=20), "price", 5400),
    # Source: surety agency: 1,000,000 at 25, 15 and 10 per thousand is 13,500; at 30 flat 30,000.
    ("bond by tiers", SURETY, lines("labor 1000000") + build_up() + SCHEDULE, "bond", 13500),
    ("bond, flat", SURETY, lines("labor 1000000") + build_up(bond_percent=3), "bond", 30000),
]  # fmt: skip


def _check(what: str, source: str, text: str, figure: str, expected: float) -> Check:
    def obtained() -> float:
        with TemporaryDirectory() as folder:
            bid = bid_of(Path(folder), text)
        return float(bid.price if figure == "price" else step(bid, figure))

    # Money is exact: the published amounts are whole cents.
    return Check(discipline="price", what=what, source=source, expected=expected, tolerance=0, obtained=obtained)


CHECKS = [_check(*row) for row in PUBLISHED]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_prices_come_out_of_a_price_file(check: Check) -> None:
    """The worked examples that were found, typed as an estimator would."""
    check.hold()


def test_margin_is_of_the_price_and_markup_of_the_cost(tmp_path: Path) -> None:
    """A published pair: 25 % markup is a margin of 20 %; so 20 % as margin on 4,500 is 5,625."""
    marked = bid_of(tmp_path, lines("labor 4500") + build_up(profit_percent=25, profit_as="markup"))
    margin = bid_of(tmp_path, lines("labor 4500") + build_up(profit_percent=20, profit_as="margin"))
    assert marked.price == margin.price == Decimal("5625.00")


def test_a_total_is_the_sum_of_rounded_lines(tmp_path: Path) -> None:
    """By hand: three lines of 0.335 are 0.34 each, half up, 1.02 in all; unrounded they would be 1.01."""
    bid = bid_of(tmp_path, lines(*["material 0.335"] * 3) + build_up())
    assert [line.amount for line in bid.lines] == [Decimal("0.34")] * 3
    assert bid.price == Decimal("1.02")


@pytest.mark.parametrize(("tax_on", "price"), [("material", "3114.00"), ("price", "3276.72"), ("exempt", "3034.00")])
def test_tax_is_on_material_or_on_the_price(tax_on: str, price: str, tmp_path: Path) -> None:
    """By hand: 8 % of 1,000, or of 1,000 + 2,000 + 34, or nothing."""
    text = lines("material 1000", "labor 2000", "fee 34") + build_up(tax_percent=8, tax_on=tax_on)
    assert bid_of(tmp_path, text).price == Decimal(price)


def test_the_order_of_the_steps_is_the_files(tmp_path: Path) -> None:
    """By hand: profit as margin before contingency is another price than after it."""
    terms = {"contingency_percent": 10, "profit_percent": 20, "profit_as": "margin"}
    usual = bid_of(tmp_path, lines("labor 1000") + build_up(**terms))
    other = bid_of(tmp_path, lines("labor 1000") + build_up(**terms, order="overhead profit contingency"))
    assert [one.name for one in usual.build.steps] == ["contingency", "profit"]
    assert [one.amount for one in usual.build.steps] == [100, 275]
    assert [one.name for one in other.build.steps] == ["profit", "contingency"]
    assert [one.amount for one in other.build.steps] == [250, 125]


def test_a_tiered_bond_can_be_figured_on_the_price_that_holds_it(tmp_path: Path) -> None:
    """The premium on the final price is the premium that is in it, to the cent."""
    text = lines("labor 990000") + build_up(bond_on="price_with_bond") + SCHEDULE
    bid = bid_of(tmp_path, text)
    premium = Decimal(2500) + Decimal(6000) + (bid.price - 500000) / 100
    assert abs(step(bid, "bond") - premium) <= Decimal("0.005")
    assert bid.price == 990000 + step(bid, "bond")


HARDWARE = """\
rooms: [{{id: 1A}}]
power_supplies:
  - {{id: P1, room: 1A, voltage: 24 V, rating: 2 A, material: [{material}], labor: [{labor}]}}
prices:
  items:
    - {{id: box, name: Box, cost: 33.335, hours: 0.4, factors: high}}
    - {{id: lamp, name: Lamp, cost: 12.10}}
    - {{id: fit, name: Fit, hours: 1.25}}
  factors: [{{id: high, factor: 1.3}}]
  crew:
    - {{role: Foreman, people: 1, wage: 46, burden_percent: 38}}
    - {{role: Apprentice, people: 2, wage: 24.5, burden_percent: 31}}
  build_up:
    overhead_percent: 14
    contingency_percent: 3
    profit_percent: 11
    profit_as: margin
    tax_percent: 6.25
    bond_on: price_with_bond
    deduct_share_percent: {share}
    bond_tiers: [{{up_to: 500, per_thousand: 25}}, {{up_to: 900, per_thousand: 15}}]
"""


def hardware(material: str, labor: str, more: str = "", share: int = 100) -> str:
    return HARDWARE.format(material=material, labor=labor, share=share) + more


def test_an_alternate_is_the_difference_of_two_complete_builds(tmp_path: Path) -> None:
    """The same change typed into the job itself gives the price that the alternate adds to."""
    change = """\
  alternates:
    - {id: A1, name: More, kind: add, items: [{item: box, qty: 2}, {item: lamp, qty: 1}, {item: fit, qty: 1}]}
    - {id: A2, name: Less, kind: deduct, items: [{item: box, qty: -1}, {item: fit, qty: -1}]}
"""
    bid = bid_of(tmp_path, hardware("box, box, box", "fit, fit", change))
    more = bid_of(tmp_path, hardware("box, box, box, box, box, lamp", "fit, fit, fit"))
    less = bid_of(tmp_path, hardware("box, box", "fit"))
    assert [option.build.price for option in bid.alternates] == [more.price, less.price]
    assert [option.amount for option in bid.alternates] == [more.price - bid.price, less.price - bid.price]


def test_unit_prices_add_and_deduct_apart(tmp_path: Path) -> None:
    """One more is the whole difference; one less credits the share of it that the file names."""
    change = "  unit_prices: [{id: U1, name: One box, items: [{item: box, qty: 1}]}]\n"
    bid = bid_of(tmp_path, hardware("box, box, box", "fit", change, share=80))
    more = bid_of(tmp_path, hardware("box, box, box, box", "fit"))
    less = bid_of(tmp_path, hardware("box, box", "fit"))
    (unit,) = bid.unit_prices
    assert unit.add.amount == more.price - bid.price
    credit = (less.price - bid.price) * Decimal("0.8")
    assert abs(unit.deduct.amount - credit) <= Decimal("0.005")
    assert unit.add.amount > -unit.deduct.amount > 0


def test_an_item_that_the_bill_lacks_can_be_an_option(tmp_path: Path) -> None:
    """Its whole price is the option's; one less of nothing is a credit all the same."""
    change = "  unit_prices: [{id: U1, name: Lamp, items: [{item: lamp, qty: 1}]}]\n"
    bid = bid_of(tmp_path, hardware("box", "fit", change))
    assert bid.unit_prices[0].add.amount == bid_of(tmp_path, hardware("box, lamp", "fit")).price - bid.price
    assert bid.unit_prices[0].deduct.amount < 0


def test_a_task_that_the_bill_lacks_brings_its_own_hours(tmp_path: Path) -> None:
    """No hour more than the job itself would have with it."""
    change = "  alternates: [{id: A1, name: Fitted, kind: add, items: [{item: fit, qty: 40}]}]\n"
    bid = bid_of(tmp_path, hardware("box", "", change))
    fitted = bid_of(tmp_path, hardware("box", ", ".join(["fit"] * 40)))
    assert bid.labor.hours < fitted.labor.hours
    assert bid.alternates[0].build.price == fitted.price


def test_options_that_go_the_wrong_way_are_told(tmp_path: Path) -> None:
    """An add that lowers the price, a deduct of more than there is."""
    change = """\
  alternates:
    - {id: A1, name: Odd, kind: add, items: [{item: box, qty: -1}]}
    - {id: A2, name: Much, kind: deduct, items: [{item: box, qty: -1}, {item: box, qty: -3}]}
    - {id: A3, name: Fine, kind: deduct, items: [{item: box, qty: -3}]}
"""
    _, alerts = job(tmp_path, hardware("box, box, box", "fit", change))
    assert [(alert.subject, alert.text) for alert in alerts] == [
        ("A1", "add alternate A1 lowers the price"),
        ("A2", "alternate A2 leaves out more box than the bill holds"),
    ]
    assert (alerts[1].value, alerts[1].limit) == ("-4", "3")


def test_every_step_and_option_has_a_figure_of_its_own(tmp_path: Path) -> None:
    """The figures are the bid's own amounts; `job` has evaluated each formula on its inputs."""
    change = """\
  alternates: [{id: A1, name: More, kind: add, items: [{item: box, qty: 2}]}]
  unit_prices: [{id: U1, name: One box, items: [{item: box, qty: 1}]}]
"""
    text = hardware("box, box, lamp", "fit", change)
    bid = bid_of(tmp_path, text)
    project = project_of(tmp_path, text)
    figures = held(bid_families(bid, project))
    build, crew = bid.build, bid.labor.crew
    assert crew is not None
    expected = {f"price.{one.name.replace(' ', '_')}.amount": float(one.amount) for one in build.steps}
    expected |= {f"price.{kind}.amount": float(amount) for kind, amount in build.kinds.items() if amount}
    expected |= {f"line.{line.id}.amount": float(line.amount) for line in bid.lines}
    expected |= {f"task.{task.id}.hours": task.hours for task in bid.labor.tasks}
    expected |= {
        "price.lines.amount": float(build.lines),
        "price.direct.amount": float(build.direct),
        "price.bond.total": float(build.price),
        "alternate.A1.amount": float(bid.alternates[0].amount),
        "alternate.A1.changed_price": float(bid.alternates[0].build.price),
        "unit_price.U1.add": float(bid.unit_prices[0].add.amount),
        "unit_price.U1.deduct": float(bid.unit_prices[0].deduct.amount),
        "crew.mix.hour": crew.rate,
        "labor.all.hours": bid.labor.hours,
    }
    assert expected.items() <= figures.items()
    # Hours by section and by system each come to all hours.
    for what in ("section", "system"):
        shares = [value for name, value in figures.items() if name.startswith(f"{what}.") and name.endswith(".hours")]
        assert sum(shares) == pytest.approx(bid.labor.hours, rel=1e-12)


def test_the_same_files_give_the_same_bid(tmp_path: Path) -> None:
    """Nothing in the price hangs on the order of a set or on the clock."""
    project = project_of(tmp_path, hardware("box, lamp, box", "fit"))
    first, second = (held(bid_families(bid_of(tmp_path, hardware("box, lamp, box", "fit")), project)) for _ in "ab")
    assert list(first.items()) == list(second.items())


FAULTY = """\
prices:
  items: [{id: jack, name: Jack, cost: 5}, {id: JACK, name: Other, cost: 6}]
  crew: []
  build_up:
    order: overhead profit
    bond_tiers: [{up_to: 500, per_thousand: 25}, {up_to: 500, per_thousand: 15}]
"""


def test_a_price_file_that_cannot_be_built_on_is_a_fault(tmp_path: Path) -> None:
    """Repeated ids, an order that leaves a step out, tiers that don't rise: each at its place."""
    (tmp_path / "job.yaml").write_text(HEAD + FAULTY, encoding="utf-8")
    loaded = load(tmp_path / "job.yaml")
    here = f"{tmp_path.as_posix()}/job.yaml"
    assert [str(fault).removeprefix(f"{here}:") for fault in loaded.faults] == [
        "4:49: 'JACK' is used twice in this list; expected each id once; rename one; the first stands at job.yaml:4:16",
        "7:12: `order`: 'overhead, profit' does not name each step once; expected overhead, contingency, profit in "
        "the order they are added; name all three",
        "8:17: `bond_tiers`: the tier up to 500 does not rise above 500; expected tiers from the lowest up; "
        "put them in order",
    ]
