"""The price is built in the stated order, to the cent, and tells markup from margin."""

from __future__ import annotations

import dataclasses
import random
import re
from decimal import Decimal
from fractions import Fraction
from functools import partial
from typing import get_args, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.price import (
    ALTERNATE,
    KINDS,
    MARGIN,
    MARGIN_OF_MARKUP,
    MARKUP_FOR_MARGIN,
    USUAL_ORDER,
    Build,
    Step,
    StepName,
    Terms,
    Tier,
    alternate,
    build_price,
    line,
    price_with_tiers,
    slices,
)
from estimator.reference.lookup import table
from estimator.spec.fields import Choice, declared
from estimator.spec.money import STEPS, BuildUp
from estimator.units.rounding import cents
from tests.calc.refusals import Refused
from tests.published import Check

SCHEDULE = tuple(
    Tier(up_to=Decimal(int(row.number("up_to"))), per_thousand=Decimal(int(row.number("per_thousand"))))
    for row in table("bond_schedule")
)


def money(text: str) -> Decimal:
    return Decimal(text)


def built(amount: str = "10000", **terms: object) -> Build:
    return build_price({"labor": money(amount)}, terms=Terms(**terms))  # type: ignore[arg-type]


def step(build: Build, name: str) -> Decimal:
    return next(step.amount for step in build.steps if step.name == name)


def bid_cost(profit: float = 0.0, order: tuple[str, ...] = ("overhead", "contingency", "profit")) -> Build:
    """Return the formula's bid: 3,500 of direct cost, 1,000 of overhead, a profit on what stands before it."""
    before = 3500 if order[0] == "overhead" else 3500 * (1 + profit)
    kinds = {"material": money("1000"), "labor": money("2000"), "fee": money("500")}
    return build_price(kinds, terms=Terms(overhead=1000 / before, profit=profit, order=order))  # type: ignore[arg-type]


COURSE = {"overhead": 0.15, "contingency": 0.05, "profit": 0.10}
SURETY = "surety agency page with worked premiums; single"
BID_FORM = "course notes quoting an electrical trade magazine; computed"
LAST = ("profit", "contingency", "overhead")
CHECKS = [
    # Source: electrical estimating course: direct 10,000, overhead 15, contingency 5, profit 10 %.
    Check(
        discipline="price",
        what="price by the course's order of steps",
        source="electrical estimating course, order of application; computed",
        expected=13282.50,
        tolerance=0,
        obtained=lambda: float(built(**COURSE).price),
    ),
    Check(
        discipline="price",
        what="cost after overhead and contingency",
        source="electrical estimating course, order of application; computed",
        expected=12075,
        tolerance=0,
        obtained=lambda: float(built(overhead=0.15, contingency=0.05).price),
    ),
    # Source: bond figured on the final price: 13,282.50 before bond, 1.5 %.
    Check(
        discipline="price",
        what="price with a bond of 1.5 % in it",
        source="surety agency page, premium on the contract price; computed",
        expected=13484.77,
        tolerance=0,
        obtained=lambda: float(built(**COURSE, bond=0.015, bond_on="price_with_bond").price),
    ),
    Check(
        discipline="price",
        what="bond of 1.5 % on the price with itself in it",
        source="surety agency page, premium on the contract price; computed",
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
    Check(
        discipline="price",
        what="cost after overhead",
        source="electrical estimating course, order of application; computed",
        expected=11500,
        tolerance=0,
        obtained=lambda: float(built(overhead=0.15).price),
    ),
    *(
        Check(
            discipline="price",
            what=f"{what} premium as a share of 1,000,000 [%]",
            source=SURETY,
            expected=percent,
            tolerance=0.005,
            obtained=lambda terms=terms: float(step(built("1000000", **terms), "bond")) / 1e6 * 100,
        )
        for what, percent, terms in (
            ("tiered", 1.35, {"bond_tiers": SCHEDULE}),
            ("flat", 3.00, {"bond": 0.030}),
        )
    ),
    # Source: course notes quoting a trade magazine: 1,000 + 2,000 + 500, overhead 1,000, profit 20 %.
    *(
        Check(discipline="price", what=what, source=BID_FORM, expected=expected, tolerance=tolerance, obtained=obtained)
        for what, expected, tolerance, obtained in (
            ("bid with 20 % markup on all cost", 5400, 0, lambda: float(bid_cost(0.20).price)),
            ("cost of that bid", 4500, 0, lambda: float(bid_cost().price)),
            ("margin of that bid", 0.1667, 5e-5, lambda: float(1 - bid_cost().price / bid_cost(0.20).price)),
            ("bid with the overhead added last", 5200, 0, lambda: float(bid_cost(0.20, LAST).price)),
            ("what it falls short", 200, 0, lambda: float(bid_cost(0.20).price - bid_cost(0.20, LAST).price)),
        )
    ),
    # Source: definition, printed to four places in estimating pages: markup and the margin it earns.
    *(
        Check(
            discipline="price",
            what=f"margin of a {markup:.2%} markup",
            source="markup and margin pairs of estimating pages; computed",
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


# An engine of its own: fractions all the way, rounded half up where a step ends; a bond that holds
# itself is found by going round until it settles, as surety pages describe it.


def _half_up(amount: Fraction) -> Fraction:
    return Fraction((amount * 100 + Fraction(1, 2)).__floor__(), 100)


def _premium(amount: Fraction, tiers: tuple[Tier, ...]) -> Fraction:
    lower, premium = Fraction(0), Fraction(0)
    for place, tier in enumerate(tiers):
        upper = amount if place == len(tiers) - 1 else min(amount, Fraction(tier.up_to))
        premium += max(Fraction(0), upper - lower) * Fraction(tier.per_thousand) / 1000
        lower = Fraction(tier.up_to)
    return premium


def _settled(before: Fraction, tiers: tuple[Tier, ...]) -> Fraction:
    price = before
    for _ in range(40):
        price = (before + _premium(price, tiers)).limit_denominator(10**30)
    return price


def _exact_price(kinds: dict[str, Decimal], terms: Terms) -> Fraction:
    def share(rate: float) -> Fraction:
        return Fraction(str(rate))

    total = sum((Fraction(amount) for amount in kinds.values()), Fraction(0))
    if terms.tax_on == "material":
        total += _half_up(Fraction(kinds.get("material", Decimal(0))) * share(terms.tax))
    rates = {"overhead": terms.overhead, "contingency": terms.contingency, "profit": terms.profit}
    for name in terms.order:
        rate = share(rates[name])
        inside = name == "profit" and terms.profit_as == "margin"
        total += _half_up(total * rate / (1 - rate) if inside else total * rate)
    inside, rate = terms.bond_on == "price_with_bond", share(terms.bond)
    if terms.bond_tiers:
        total += _half_up(_premium(_half_up(_settled(total, terms.bond_tiers)) if inside else total, terms.bond_tiers))
    else:
        total += _half_up(total * rate / (1 - rate) if inside else total * rate)
    return total + (_half_up(total * share(terms.tax)) if terms.tax_on == "price" else 0)


AMOUNTS = st.decimals(min_value=0, max_value=900_000, places=2)
RATES = st.decimals(min_value=0, max_value=Decimal("0.35"), places=4).map(float)
TIERS_OF = st.lists(
    st.tuples(st.integers(1, 400_000), st.decimals(min_value=0, max_value=60, places=2)), min_size=1, max_size=4
).map(
    lambda parts: tuple(
        Tier(up_to=Decimal(sum(width for width, _ in parts[: place + 1])), per_thousand=rate)
        for place, (_, rate) in enumerate(parts)
    )
)
TERMS = st.builds(
    Terms,
    overhead=RATES,
    contingency=RATES,
    profit=RATES,
    profit_as=st.sampled_from(["markup", "margin"]),
    tax=RATES,
    tax_on=st.sampled_from(["material", "price", "exempt"]),
    bond=st.sampled_from([0.0, 0.015, 0.0275]),
    bond_tiers=st.one_of(st.just(()), TIERS_OF),
    bond_on=st.sampled_from(["price", "price_with_bond"]),
    order=st.permutations(("overhead", "contingency", "profit")).map(tuple),
)


@given(st.dictionaries(st.sampled_from(KINDS), AMOUNTS), TERMS)
@settings(max_examples=100)
def test_money_adds_up_and_agrees_with_exact_fractions(kinds: dict[str, Decimal], terms: Terms) -> None:
    """Lines, steps and price fit to the cent, and to the cent they are what fractions give."""
    build = build_price(kinds, terms=terms)

    assert build.lines == sum(build.kinds.values())
    assert build.price == build.lines + sum(each.amount for each in build.steps)
    running = build.lines
    for each in build.steps:
        running += each.amount
        assert each.total == running
        assert each.amount == cents(each.formula(**each.inputs)) >= 0
    assert Fraction(build.price) == _exact_price(kinds, terms)


@given(st.decimals(min_value=-5000, max_value=5000, places=3), st.decimals(min_value=0, max_value=9999, places=4))
@settings(max_examples=100)
def test_a_line_agrees_with_exact_fractions(quantity: Decimal, unit_cost: Decimal) -> None:
    """Half a cent goes away from zero."""
    exact = Fraction(quantity) * Fraction(unit_cost)
    expected = _half_up(exact) if exact >= 0 else -_half_up(-exact)

    assert Fraction(line(quantity=quantity, unit_cost=unit_cost)) == expected


@given(AMOUNTS, AMOUNTS, AMOUNTS, st.decimals(min_value=0, max_value=1, places=2).map(float))
@settings(max_examples=80)
def test_the_parts_of_an_alternate_add(base: Decimal, first: Decimal, both: Decimal, share: float) -> None:
    """One change after the other is both at once; a deduct never credits more than it takes out."""
    whole = alternate(base=base, changed=both)
    assert alternate(base=base, changed=first) + alternate(base=first, changed=both) == whole == both - base
    credited = alternate(base=base, changed=both, deduct_share=share)
    assert credited == whole if both >= base else whole <= credited <= 0


@given(AMOUNTS, AMOUNTS, TIERS_OF)
@settings(max_examples=80)
def test_a_higher_price_never_has_a_lower_premium(before: Decimal, more: Decimal, tiers: tuple[Tier, ...]) -> None:
    """Slices make up the amount; the price that holds its premium rises with what stands before it."""
    assert sum(slices(before, tiers)) == before
    assert price_with_tiers(before + more, tiers) - more >= price_with_tiers(before, tiers) >= before


@pytest.mark.parametrize("amount", ["0.00", "99.99", "100.00", "100.01", "499.99", "500.00", "500.01", "9000.00"])
def test_slices_at_their_limits(amount: str) -> None:
    """Each tier holds up to and with its upper end; the last one all that is above."""
    tiers = [Tier(up_to=money("100"), per_thousand=money("25")), Tier(up_to=money("500"), per_thousand=money("15"))]
    first = min(money(amount), money("100"))

    assert slices(money(amount), tiers) == (first, money(amount) - first)
    assert slices(money(amount), []) == ()
    assert price_with_tiers(money(amount), ()) == money(amount)


def test_steps_round_half_a_cent_up() -> None:
    """By hand: 10 % of 0.05 is 0.005; 50 % of 0.01 likewise; a quarter of a cent is nothing."""
    assert step(built("0.05", overhead=0.10), "overhead") == money("0.01")
    assert step(built("0.01", profit=0.5), "profit") == money("0.01")
    assert step(built("0.01", profit=0.25), "profit") == money("0.00")
    # 0.01 x 1/3 / (1 - 1/3) is half a cent as margin, a third of one as markup
    assert step(built("0.01", profit=1 / 3, profit_as="margin"), "profit") == money("0.01")
    assert step(built("0.01", profit=1 / 3), "profit") == money("0.00")
    # 1.5 per thousand of 10.00 is 0.015
    assert step(built("10", bond_tiers=(Tier(up_to=money("5"), per_thousand=money("1.5")),)), "bond") == money("0.02")
    assert alternate(base=money("0.01"), changed=money("0.00"), deduct_share=0.5) == money("-0.01")
    assert alternate(base=money("0.01"), changed=money("0.00"), deduct_share=0.0) == money("0.00")


def test_amounts_of_kinds_are_cents() -> None:
    """What is handed in with more decimals is rounded before anything is built on it."""
    build = build_price({"material": money("1.005"), "fee": money("2.004")}, terms=Terms())

    assert (build.kinds["material"], build.kinds["fee"], build.kinds["labor"]) == (
        money("1.01"),
        money("2.00"),
        money("0.00"),
    )
    assert list(build.kinds) == list(KINDS)
    assert build.price == build.direct == build.lines == money("3.01")


def test_each_step_says_what_it_is_figured_on() -> None:
    """Tax on material on what is taxed, the bond in the price on the total before it or the price it solves."""
    kinds = {"material": money("1000.00"), "labor": money("500.00")}
    tax = build_price(kinds, terms=Terms(tax=0.08), taxed=money("250.00")).steps[0]
    assert (tax.base, tax.amount, tax.total) == (money("250.00"), money("20.00"), money("1520.00"))
    assert dict(tax.inputs) == {"rate": 0.08, "base": 250.0}
    margin = built("900", profit=0.10, profit_as="margin").steps[0]
    assert (margin.base, margin.amount, margin.formula) == (money("900.00"), money("100.00"), MARGIN)
    flat = built("900", bond=0.10, bond_on="price_with_bond").steps[0]
    assert (flat.name, flat.base, flat.amount) == ("bond", money("900.00"), money("100.00"))
    tiers = (Tier(up_to=money("500"), per_thousand=money("100")), Tier(up_to=money("600"), per_thousand=money("0")))
    held = built("900", bond_tiers=tiers, bond_on="price_with_bond").steps[0]
    assert (held.base, held.amount) == (money("950.00"), money("50.00"))
    assert dict(held.inputs) == {"per_thousand": (100.0, 0.0), "slices": (500.0, 450.0)}
    # tiers come before a flat rate where both are named
    assert built("900", bond=0.10, bond_tiers=tiers).steps[0].amount == money("50.00")


def test_rates_at_their_bounds() -> None:
    """A share may be up to ten times the cost, a margin anything under the whole price; nothing is left out."""
    assert built("1", overhead=9.99).price == money("10.99")
    assert built("1", profit=0.99, profit_as="margin").price == money("100.00")
    assert built("1", overhead=0.0, contingency=0.0, profit=0.0).steps == ()
    tiers = (Tier(up_to=money("9"), per_thousand=money("999")),)
    assert price_with_tiers(money("1"), tiers) == money("1000")


def _refusals() -> list[tuple[str, object]]:
    first, second = SCHEDULE[0], SCHEDULE[1]
    nothing = Tier(up_to=money("0"), per_thousand=money("1"))
    odd = ("profit", "profit", "overhead")
    return [
        (
            "no kind of line 'misc'; there is material, labor, equipment, subcontract, fee, allowance, removal",
            lambda: build_price({"misc": money("1"), "odd": money("1")}, terms=Terms()),
        ),
        ("profit 1.0 is not from 0 to below 1", lambda: built(profit=1.0, profit_as="margin")),
        ("bond 1.0 is not from 0 to below 1", lambda: built(bond=1.0, bond_on="price_with_bond")),
        ("overhead -0.1 is not from 0 to below 10", lambda: built(overhead=-0.1)),
        (
            "deduct_share must be from 0 to 1, not 2",
            lambda: alternate(base=money("2"), changed=money("1"), deduct_share=2),
        ),
        ("overhead 10 is not from 0 to below 10", lambda: built(overhead=10)),
        ("bond -0.1 is not from 0 to below 10", lambda: built(bond=-0.1)),
        ("sales tax on material -0.1 is not from 0 to below 10", lambda: built(tax=-0.1)),
        (
            "order profit, profit, overhead does not name each of overhead, contingency, profit once",
            lambda: built(order=odd),
        ),
        (
            "bond tier up to 100000 does not rise above 500000",
            lambda: slices(money("1"), [second, first]),
        ),
        ("bond tier up to 100000 does not rise above 100000", lambda: slices(money("1"), [first, first])),
        ("bond tier up to 0 does not rise above 0", lambda: slices(money("1"), [nothing])),
        (
            "bond rate 1000 per thousand is not from 0 to below 1000",
            lambda: price_with_tiers(money("1"), [Tier(up_to=money("9"), per_thousand=money("1000"))]),
        ),
        (
            "bond tier up to 100000 does not rise above 500000",
            lambda: price_with_tiers(money("1"), [second, first]),
        ),
    ]


@pytest.mark.parametrize(("message", "wrong"), _refusals())
def test_impossible_terms_are_refused_in_whole_sentences(message: str, wrong: object) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(message)}$"):
        wrong()  # type: ignore[operator]


def test_words_of_the_terms_are_those_that_a_price_file_may_say() -> None:
    """Each choice of a key is a word that the arithmetic knows, and the other way round."""
    hints, keys = get_type_hints(Terms), {field.attribute: field for field in declared(BuildUp).values()}
    for name in ("profit_as", "tax_on", "bond_on"):
        kind = keys[name].kind
        assert isinstance(kind, Choice)
        assert get_args(hints[name]) == tuple(kind.words)
        assert getattr(Terms(), name) == keys[name].default
    assert get_args(StepName) == USUAL_ORDER == STEPS


@pytest.mark.parametrize("record", [Tier, Terms, Step, Build])
def test_records_only_hold(record: type) -> None:
    """They can't be changed, take no positional values and have room for nothing else."""
    assert record.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert "__slots__" in vars(record)
    assert all(field.kw_only for field in dataclasses.fields(record))


def test_an_alternate_is_rounded_to_the_cent_in_the_formula_itself() -> None:
    """A workbook has the formula alone: 90 % of 5 cents less, and 15 mills more, half up."""
    assert ALTERNATE(changed=100.0, base=100.05, deduct_share=0.9) == -0.05  # -0.045
    assert ALTERNATE(changed=100.015, base=100.0, deduct_share=0.9) == 0.02  # 0.015


REFUSED = [
    Refused(possible=partial(line, quantity=3, unit_cost=1.335), number="quantity unit_cost"),
    Refused(
        possible=partial(alternate, base=money("1"), changed=money("0"), deduct_share=0.9),
        wrong=(("deduct_share", 1.1), ("deduct_share", -0.1)),
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    refused.hold()
