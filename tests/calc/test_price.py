"""The price is built in the stated order, to the cent, and tells markup from margin."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from estimator.calc.price import (
    MARGIN,
    MARGIN_OF_MARKUP,
    MARKUP_FOR_MARGIN,
    Build,
    Terms,
    Tier,
    alternate,
    build_price,
    line,
    price_with_tiers,
    slices,
)
from estimator.reference.lookup import table
from estimator.units.rounding import cents
from tests.published import Check

SCHEDULE = tuple(
    Tier(up_to=Decimal(str(row.number("up_to"))), per_thousand=Decimal(str(row.number("per_thousand"))))
    for row in table("bond_schedule")
)


def money(text: str) -> Decimal:
    return Decimal(text)


def built(amount: str = "10000", **terms: object) -> Build:
    return build_price({"labor": money(amount)}, terms=Terms(**terms))  # type: ignore[arg-type]


def step(build: Build, name: str) -> Decimal:
    return next(step.amount for step in build.steps if step.name == name)


COURSE = {"overhead": 0.15, "contingency": 0.05, "profit": 0.10}
SURETY = "surety agency page with worked premiums (single)"
CHECKS = [
    # Source: electrical estimating course: direct 10,000, overhead 15, contingency 5, profit 10 %.
    Check(
        discipline="price",
        what="price by the course's order of steps",
        source="electrical estimating course, order of application (computed)",
        expected=13282.50,
        tolerance=0,
        obtained=lambda: float(built(**COURSE).price),
    ),
    Check(
        discipline="price",
        what="cost after overhead and contingency",
        source="electrical estimating course, order of application (computed)",
        expected=12075,
        tolerance=0,
        obtained=lambda: float(built(overhead=0.15, contingency=0.05).price),
    ),
    # Source: bond figured on the final price: 13,282.50 before bond, 1.5 %.
    Check(
        discipline="price",
        what="price with a bond of 1.5 % in it",
        source="surety agency page, premium on the contract price (computed)",
        expected=13484.77,
        tolerance=0,
        obtained=lambda: float(built(**COURSE, bond=0.015, bond_on="price_with_bond").price),
    ),
    Check(
        discipline="price",
        what="bond of 1.5 % on the price with itself in it",
        source="surety agency page, premium on the contract price (computed)",
        expected=202.27,
        tolerance=0,
        obtained=lambda: float(step(built(**COURSE, bond=0.015, bond_on="price_with_bond"), "bond")),
    ),
    # Source: surety agency page: 1,000,000 at 25, 15 and 10 per thousand; flat 30 per thousand.
    Check(
        discipline="price",
        what="tiered bond premium on 1,000,000",
        source=SURETY,
        expected=13500,
        tolerance=0,
        obtained=lambda: float(step(built("1000000", bond_tiers=SCHEDULE), "bond")),
    ),
    Check(
        discipline="price",
        what="flat bond premium on 1,000,000",
        source=SURETY,
        expected=30000,
        tolerance=0,
        obtained=lambda: float(step(built("1000000", bond=0.030), "bond")),
    ),
    # Source: course notes quoting a trade magazine: 1,000 + 2,000 + 500, overhead 1,000, profit 20 %.
    Check(
        discipline="price",
        what="bid with 20 % markup on all cost",
        source="course notes quoting an electrical trade magazine (computed)",
        expected=5400,
        tolerance=0,
        obtained=lambda: float(
            build_price(
                {"material": money("1000"), "labor": money("2000"), "fee": money("500")},
                terms=Terms(overhead=1000 / 3500, profit=0.20),
            ).price
        ),
    ),
    # Source: definition, printed to four places in estimating pages: markup and the margin it earns.
    *(
        Check(
            discipline="price",
            what=f"margin of a {markup:.2%} markup",
            source="markup and margin pairs of estimating pages (computed)",
            expected=margin,
            tolerance=5e-5,
            obtained=lambda markup=markup: MARGIN_OF_MARKUP(markup=markup),
        )
        for markup, margin in (
            (0.10, 0.0909),
            (0.15, 0.1304),
            (0.20, 0.1667),
            (0.25, 0.2000),
            (0.3333, 0.2500),
            (0.50, 0.3333),
            (1.00, 0.5000),
        )
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


@pytest.mark.parametrize(
    ("quantity", "unit_cost", "amount"),
    [
        (1, "2.675", "2.68"),
        (1, "1.005", "1.01"),
        (3, "1.335", "4.01"),
        (0, "99.99", "0.00"),
        (1000, "0.12345", "123.45"),
        (0.1, "0.05", "0.01"),
        (-2, "1.0025", "-2.01"),
        (123456, "789.125", "97422216.00"),
    ],
)
def test_a_line_is_rounded_to_the_cent_half_up(quantity: float, unit_cost: str, amount: str) -> None:
    assert line(quantity=quantity, unit_cost=money(unit_cost)) == money(amount)


def test_every_cent_agrees_with_exact_decimals() -> None:
    chance = random.Random(0)
    for _ in range(2000):
        quantity, cost = Decimal(chance.randint(0, 99999)) / 8, Decimal(chance.randint(0, 999999)) / 1000
        assert line(quantity=quantity, unit_cost=cost) == cents(quantity * cost)


def test_steps_stand_in_order_with_what_they_are_figured_on() -> None:
    build = built(**COURSE, bond=0.01)

    assert [(s.name, s.base, s.amount, s.total) for s in build.steps] == [
        ("overhead", money("10000.00"), money("1500.00"), money("11500.00")),
        ("contingency", money("11500.00"), money("575.00"), money("12075.00")),
        ("profit", money("12075.00"), money("1207.50"), money("13282.50")),
        ("bond", money("13282.50"), money("132.83"), money("13415.33")),
    ]
    assert build.price == money("13415.33")


def test_every_step_is_given_by_its_own_formula_and_inputs() -> None:
    build = build_price(
        {"material": money("1234.56"), "labor": money("987.65")},
        terms=Terms(**COURSE, profit_as="margin", tax=0.0825, bond_tiers=SCHEDULE, bond_on="price_with_bond"),
    )

    for each in build.steps:
        assert cents(each.formula(**each.inputs)) == each.amount
    assert build.price == build.lines + sum(each.amount for each in build.steps)


def test_tax_on_material_is_part_of_the_direct_cost() -> None:
    kinds = {"material": money("1000.00"), "labor": money("500.00")}

    build = build_price(kinds, terms=Terms(tax=0.08, overhead=0.10))
    assert (build.lines, build.direct, build.price) == (money("1500.00"), money("1580.00"), money("1738.00"))
    assert [each.name for each in build.steps] == ["sales tax on material", "overhead"]
    assert build_price(kinds, terms=Terms(tax=0.08), taxed=money("250.00")).price == money("1520.00")


def test_tax_on_the_whole_price_comes_last() -> None:
    build = built(**COURSE, tax=0.08, tax_on="price", bond=0.01)

    assert build.steps[-1].name == "sales tax on the price"
    assert build.steps[-1].base == money("13415.33")
    assert build.price == money("14488.56")


def test_an_exempt_job_pays_no_tax() -> None:
    assert built(tax=0.08, tax_on="exempt").price == money("10000.00")


def test_profit_as_margin_is_that_share_of_the_price() -> None:
    assert built(profit=0.20, profit_as="margin").price == money("12500.00")
    assert built(profit=0.20).price == money("12000.00")
    assert MARKUP_FOR_MARGIN(margin=0.20) == pytest.approx(0.25)


def test_every_kind_of_line_is_in_the_direct_cost() -> None:
    kinds = ("material", "labor", "equipment", "subcontract", "fee", "allowance", "removal")

    assert build_price(dict.fromkeys(kinds, money("1.01")), terms=Terms()).price == money("7.07")


def test_margin_is_to_the_cent() -> None:
    # 1,000 x 0.07 / 0.93 is 75.2688 (arithmetic).
    assert MARGIN(base=1000, rate=0.07) == 75.27


def test_another_order_is_followed() -> None:
    build = built("10000", overhead=0.10, contingency=0.10, profit=0.10, order=("profit", "contingency", "overhead"))

    assert [each.name for each in build.steps] == ["profit", "contingency", "overhead"]
    assert build.price == money("13310.00")
    swapped = built("10000", **COURSE, profit_as="margin", order=("profit", "overhead", "contingency"))
    assert step(swapped, "profit") == money("1111.11")


def test_a_price_without_steps_is_its_lines() -> None:
    assert build_price({}, terms=Terms()).price == money("0.00")
    assert built().steps == ()


# Source: surety agencies' schedule: 25 on the first 100,000, 15 on the next 400,000, 10 above.
@pytest.mark.parametrize(
    ("amount", "premium"),
    [
        ("0", "0.00"),
        ("100000", "2500.00"),
        ("100001", "2500.02"),
        ("500000", "8500.00"),
        ("2500000", "28500.00"),
        ("3500000", "38500.00"),
    ],
)
def test_tiers_at_their_limits_and_just_over(amount: str, premium: str) -> None:
    assert step(built(amount, bond_tiers=SCHEDULE), "bond") == money(premium)


@pytest.mark.parametrize("before", ["0", "50000", "97500", "97501", "491500", "700000", "9000000"])
def test_the_tiered_bond_in_the_price_is_the_premium_of_that_price(before: str) -> None:
    price = price_with_tiers(money(before), SCHEDULE)

    premium = sum(part * tier.per_thousand / 1000 for part, tier in zip(slices(price, SCHEDULE), SCHEDULE, strict=True))
    assert price == pytest.approx(money(before) + premium, rel=Decimal("1e-20"))


def test_a_tiered_bond_on_the_price_has_itself_in_the_price() -> None:
    # Source: the schedule above: 2.5 % of a price of 100,000 is 2,500.
    assert built("97500", bond_tiers=SCHEDULE, bond_on="price_with_bond").price == money("100000.00")
    assert built("97500", bond_tiers=SCHEDULE).price == money("99937.50")


def test_a_first_tier_may_be_free() -> None:
    tiers = [Tier(up_to=money("1000"), per_thousand=money("0")), Tier(up_to=money("9000"), per_thousand=money("100"))]

    assert price_with_tiers(money("1900"), tiers) == money("2000")
    with pytest.raises(ValueError, match="bond rate -1 per thousand"):
        price_with_tiers(money("1"), [Tier(up_to=money("9"), per_thousand=money("-1"))])


def test_alternates_are_differences_of_complete_builds() -> None:
    base, more, less = (built(amount, **COURSE).price for amount in ("10000", "11000", "9000"))

    assert alternate(base=base, changed=more) == money("1328.25")
    assert alternate(base=base, changed=less) == money("-1328.25")
    assert alternate(base=base, changed=less, deduct_share=0.9) == money("-1195.43")
    assert alternate(base=base, changed=more, deduct_share=0.9) == money("1328.25")
    assert alternate(base=base, changed=base, deduct_share=0.5) == money("0.00")


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: build_price({"misc": money("1")}, terms=Terms()), "no kind of line 'misc'"),
        (lambda: built(profit=1.0, profit_as="margin"), r"profit 1\.0 is not from 0 to below 1"),
        (lambda: built(overhead=-0.1), r"overhead -0\.1 is not from 0"),
        (lambda: built(order=("profit", "profit", "overhead")), "order profit, profit, overhead"),
        (lambda: alternate(base=money("1"), changed=money("0"), deduct_share=1.1), r"deduct share 1\.1"),
        (lambda: slices(money("1"), [SCHEDULE[1], SCHEDULE[0]]), "does not rise above"),
        (
            lambda: price_with_tiers(money("1"), [Tier(up_to=money("9"), per_thousand=money("1000"))]),
            "bond rate 1000 per thousand",
        ),
    ],
)
def test_impossible_terms_are_refused_with_their_value(wrong: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wrong()  # type: ignore[operator]
