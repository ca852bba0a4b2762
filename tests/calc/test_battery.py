"""Batteries: ampere-hours with named factors, sizes, recharge, aging, life and float volts."""

from __future__ import annotations

import math
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc import battery
from estimator.reference.lookup import TableError, table
from estimator.units.rounding import over, under
from tests.calc.refusals import Refused
from tests.published import Check

HOUR = 3600.0
YEAR = 365.25 * 24 * HOUR


def fact(name: str) -> float:
    """Return one of the table's facts about batteries."""
    return table("battery_facts").find(name=name).number("value")


def _european_a() -> tuple[float, float]:
    """Return standby and alarm current of the European panel [A]."""
    standby_a = battery.total_a(quantity=[1, 4, 2, 2, 5, 1], each_a=[0.039, 0.0012, 0.0012, 0.001, 0.0001, 0.00005])
    # One of the five optical detectors is in alarm, the rest and the others stay in standby.
    alarm_a = battery.total_a(
        quantity=[1, 4, 2, 1, 4, 1, 2],
        each_a=[0.065, 0.0055, 0.007, 0.012, 0.0001, 0.00005, 0.001],
    )
    return standby_a, alarm_a


def _european_ah(standby_h: float) -> float:
    standby_a, alarm_a = _european_a()
    row = table("battery_durations").find(system="european_panel", edition="EN 54")
    return battery.need_ah(
        standby_a=standby_a,
        standby_s=standby_h * HOUR,
        alarm_a=alarm_a,
        alarm_s=row.number("alarm_min") * 60,
        factors={"margin": row.number("margin")},
    )


def _four_zone_a() -> tuple[float, float]:
    """Return standby and alarm current of the four-zone panel [A]; the manual's alarm leaves the board out."""
    standby_a = battery.total_a(quantity=[1, 4], each_a=[0.060, 0.0068])
    return standby_a, battery.total_a(quantity=[4, 4], each_a=[0.035, 0.2])


def _four_zone_ah() -> float:
    standby_a, alarm_a = _four_zone_a()
    return battery.need_ah(
        standby_a=standby_a,
        standby_s=48 * HOUR,
        alarm_a=alarm_a,
        alarm_s=HOUR,
        factors={"margin": table("battery_margin").find(edition="2013").number("factor")},
    )


def _raw_ah() -> float:
    row = table("battery_durations").find(system="protected_premises", edition="2013")
    return battery.need_ah(
        standby_a=0.25,
        standby_s=row.number("standby_h") * HOUR,
        alarm_a=1.5,
        alarm_s=row.number("alarm_min") * 60,
        factors={},
    )


def _need(alarm_h: float, edition: str) -> float:
    """Return what 0.25 A over 24 h and 1.5 A in alarm need under an edition [Ah]."""
    margin = table("battery_margin").find(edition=edition).number("factor")
    return battery.need_ah(
        standby_a=0.25, standby_s=24 * HOUR, alarm_a=1.5, alarm_s=alarm_h * HOUR, factors={"margin": margin}
    )


def _life_years(years: float, fahrenheit: float) -> float:
    return (
        battery.life_s(
            reference_life_s=years * YEAR,
            temperature_c=(fahrenheit - 32) / 1.8,
            reference_c=fact("reference_temperature"),
            halving_k=fact("life_halving"),
        )
        / YEAR
    )


def _float(temperature_c: float, cells: int = 1, cell_v: float = 2.30) -> float:
    return battery.float_v(
        reference_v=cell_v,
        per_k_v=fact("float_compensation"),
        temperature_c=temperature_c,
        reference_c=fact("reference_temperature"),
        cells=cells,
    )


def _floating(edge: str, blocks: int) -> float:
    """Return the float volts of blocks of six cells at 25 °C [V]."""
    row = table("battery_voltages").find(state="float")
    return _float(25, blocks * int(fact("cells_in_12_v")), row.number(edge))


PANEL = "panel instruction manual, battery page: currents and formula printed; single"
FOUR_ZONES = "conventional panel manual, battery chapter; single"
TEXTBOOK = "battery textbook page; confirmed"
LIFE_NOTE = "stationary-battery service note; confirmed"
FLOAT_RANGE = "sealed-cell maker's instructions, control-unit manual and textbook pages; confirmed"
WORKSHEET = "study guide's raw figure, worksheet's hours and the editions' margins; computed"

CHECKS = [
    Check(
        discipline="battery",
        what="0.25 A over 24 h and 1.5 A over 5 min, no margin [Ah]",
        source="technician certification study guide; single",
        expected=6.125,
        tolerance=5e-4,
        obtained=_raw_ah,
    ),
    *(
        Check(
            discipline="battery",
            what=f"0.25 A over 24 h and 1.5 A over {words}, margin of {edition} [Ah]",
            source=WORKSHEET,
            expected=expected,
            tolerance=tolerance,
            obtained=partial(_need, alarm_h, edition),
        )
        for words, alarm_h, edition, expected, tolerance in (
            ("5 min", 5 / 60, "2013", 7.35, 5e-3),
            ("5 min", 5 / 60, "2022", 7.65625, 5e-6),
            ("0.084 h", 0.084, "2013", 7.3512, 5e-5),
        )
    ),
    *(
        Check(
            discipline="battery",
            what=f"four-zone panel: {what}",
            source=FOUR_ZONES,
            expected=expected,
            tolerance=tolerance,
            obtained=obtained,
        )
        for what, expected, tolerance, obtained in (
            ("standby current [A]", 0.0872, 5e-5, lambda: _four_zone_a()[0]),
            ("alarm current [A]", 0.94, 5e-3, lambda: _four_zone_a()[1]),
            (
                "standby share over 48 h [Ah]",
                4.1856,
                5e-5,
                lambda: battery.ampere_hours(current_a=_four_zone_a()[0], time_s=48 * HOUR),
            ),
            (
                "alarm share over 1 h [Ah]",
                0.94,
                5e-3,
                lambda: battery.ampere_hours(current_a=_four_zone_a()[1], time_s=HOUR),
            ),
            ("48 h and 1 h, margin 1.2 [Ah]", 6.15072, 5e-6, _four_zone_ah),
        )
    ),
    *(
        Check(
            discipline="battery",
            what=f"European panel: {what}",
            source=PANEL,
            expected=expected,
            tolerance=tolerance,
            obtained=obtained,
        )
        for what, expected, tolerance, obtained in (
            ("standby current [A]", 0.04875, 5e-6, lambda: _european_a()[0]),
            ("alarm current [A]", 0.11545, 5e-6, lambda: _european_a()[1]),
            ("need at 24 h [Ah]", 1.5347, 5e-5, partial(_european_ah, 24)),
            ("need at 48 h [Ah]", 2.9972, 5e-5, partial(_european_ah, 48)),
            ("need at 72 h [Ah]", 4.4597, 5e-5, partial(_european_ah, 72)),
        )
    ),
    *(
        Check(
            discipline="battery",
            what=f"life of a {years} year battery at 92 °F [years]",
            source=LIFE_NOTE,
            expected=expected,
            tolerance=0.05,
            obtained=partial(_life_years, years, 92),
        )
        for years, expected in ((5, 2.5), (10, 5.0))
    ),
    *(
        Check(
            discipline="battery",
            what=f"float at {celsius} °C, {cells} cells [V]",
            source=TEXTBOOK,
            expected=volts,
            tolerance=0.005,
            obtained=partial(_float, celsius, cells),
        )
        for celsius, cells, volts in ((15, 1, 2.33), (35, 1, 2.27), (15, 6, 13.98), (35, 6, 13.62))
    ),
    *(
        Check(
            discipline="battery",
            what=f"{words} float volts of {blocks} blocks at 25 °C [V]",
            source=FLOAT_RANGE,
            expected=volts,
            tolerance=0.05,
            obtained=partial(_floating, edge, blocks),
        )
        for words, edge, blocks, volts in (
            ("least", "low_v", 1, 13.5),
            ("most", "high_v", 1, 13.8),
            ("least", "low_v", 2, 27.0),
            ("most", "high_v", 2, 27.6),
        )
    ),
    Check(
        discipline="battery",
        what="factor that carries a load to 80 % of the rating",
        source="IEEE Std 485 as printed in an engineering standard; single",
        expected=1.25,
        tolerance=0.005,
        obtained=lambda: battery.aging_factor(end_of_life_share=fact("end_of_life") / 100),
    ),
    Check(
        discipline="battery",
        what="share of the rating to which a margin of 1.2 carries the load",
        source="reason given for the margin of the 2022 edition; computed",
        expected=0.83,
        tolerance=0.005,
        obtained=lambda: battery.carried_share(need_ah=7.35, reserve=1.2, installed_ah=7.35),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published ampere-hour, volt and hour is reproduced."""
    check.hold()


# NFPA 72: 1.20 since 2010, 1.25 since 2022; 6.125 Ah before it (study guide).
@pytest.mark.parametrize(("edition", "need"), [("2013", 7.35), ("2022", 7.65625), ("2007", 6.125)])
def test_edition_decides_the_margin(edition: str, need: float) -> None:
    """The same load needs more under a later edition."""
    margin = table("battery_margin").find(edition=edition).number("factor")

    assert _raw_ah() * margin == pytest.approx(need)


# Printed worksheets of two makers: 0.084 h for 5 min, 0.168 h for 10 min; 15 and 30 min are exact.
@pytest.mark.parametrize(("minutes", "printed_h", "more"), [(5, 0.084, 0.008), (10, 0.168, 0.008), (15, 0.25, 0.0)])
def test_worksheets_that_round_the_alarm_time_ask_for_a_little_more(
    minutes: int, printed_h: float, more: float
) -> None:
    """The exact fraction of an hour is what counts here; a worksheet's figure is up to 0.8 % of the alarm over it."""
    exact = battery.ampere_hours(current_a=1.5, time_s=minutes * 60)

    assert battery.ampere_hours(current_a=1.5, time_s=printed_h * HOUR) / exact - 1 == pytest.approx(more, abs=1e-12)


def test_a_slip_of_the_service_note_is_not_copied() -> None:
    """The note prints 1.25 to 1.5 years at 106 °F for 10 years at 77 °F; its own rule of 15 °F gives 2.6."""
    assert _life_years(10, 106) == pytest.approx(10 * 0.5 ** (29 / 15))
    assert _life_years(10, 107) == pytest.approx(2.5)


def test_every_factor_is_named_in_the_formula() -> None:
    """The printed formula lists what was multiplied, and gives the same figure."""
    formula = battery.need_expression(("margin", "temperature"))
    inputs = {"standby_a": 0.1, "standby_s": 86400.0, "alarm_a": 1.0, "alarm_s": 300.0}

    assert formula.names[-2:] == ("margin", "temperature")
    assert formula(**inputs, margin=1.2, temperature=1.1) == pytest.approx(
        battery.need_ah(**inputs, factors={"margin": 1.2, "temperature": 1.1})
    )


# NFPA 72 durations; each system and edition its own row.
@pytest.mark.parametrize(
    ("system", "edition", "standby_h", "alarm_min"),
    [
        ("protected_premises", "2022", 24, 5),
        ("evacs", "2013", 24, 15),
        ("household", "2007", 24, 4),
        ("with_generator", "2013", 4, 5),
        ("remote_auxiliary", "1999", 60, 5),
        ("two_way_comm", "2022", 24, 240),
        ("mercantile_burglar", "UL 681", 4, 15),
    ],
)
def test_durations_by_system_and_edition(system: str, edition: str, standby_h: float, alarm_min: float) -> None:
    """Hours and minutes hang on both."""
    row = table("battery_durations").find(system=system, edition=edition)

    assert (row.number("standby_h"), row.number("alarm_min")) == (standby_h, alarm_min)


def test_unknown_edition_says_what_there_is() -> None:
    """A margin is never guessed for an edition that isn't in the table."""
    with pytest.raises(TableError, match="edition: 1999, 2002"):
        table("battery_margin").find(edition="2028")


SIZES = (4.0, 7.0, 8.0, 12.0, 18.0)


def test_need_of_exactly_a_size_takes_that_size() -> None:
    """95 mA for 24 h and 2.64 A for 5 min, times 1.2, is 3 Ah and not a hair over."""
    need = battery.need_ah(standby_a=0.095, standby_s=24 * HOUR, alarm_a=2.64, alarm_s=300, factors={"margin": 1.2})

    assert battery.standard_size(need_ah=need, sizes_ah=(3.0, 4.0)).size_ah == 3.0
    assert battery.standard_size(need_ah=3.001, sizes_ah=(3.0, 4.0)).size_ah == 4.0


@pytest.mark.parametrize(
    ("need", "charger", "cabinet", "size", "limit"),
    [
        (7.35, math.inf, math.inf, 8.0, ""),
        (0.0, math.inf, math.inf, 4.0, ""),
        (12.0, 12.0, 12.0, 12.0, ""),
        (12.1, 12.0, math.inf, None, "charger"),
        (12.1, 26.0, 12.0, None, "cabinet"),
        (12.1, 12.0, 12.0, None, "charger and cabinet"),
        (12.1, 18.0, 18.0, 18.0, ""),
        (12.1, 17.9, 18.0, None, "charger"),
        (18.1, math.inf, math.inf, None, "stock"),
    ],
)
def test_size_within_charger_and_cabinet(
    need: float, charger: float, cabinet: float, size: float | None, limit: str
) -> None:
    """A block must carry the need and be allowed by both; the reason is named."""
    found = battery.standard_size(need_ah=need, sizes_ah=SIZES, charger_max_ah=charger, cabinet_max_ah=cabinet)

    assert (found.size_ah, " and ".join(found.limits)) == (size, limit)


def test_parallel_strings_share_the_need() -> None:
    """Two strings of 12 Ah carry 20 Ah; the charger sees 24."""
    found = battery.standard_size(need_ah=20, sizes_ah=SIZES, parallel=2, charger_max_ah=20)

    assert (found.first_ah, found.size_ah, found.limits) == (12.0, None, ("charger",))
    assert battery.bank(block_v=12, block_ah=12, series=2, parallel=2) == battery.Bank(
        volts=24, capacity_ah=24, blocks=4
    )


def test_smallest_size_is_found_in_a_list_out_of_order() -> None:
    """A stock list is typed as it comes; the first that carries the need is not the smallest."""
    assert battery.standard_size(need_ah=6.5, sizes_ah=(18.0, 8.0, 7.0, 12.0)).size_ah == 7.0


def test_cabinet_holds_every_string() -> None:
    """Two strings of 12 Ah are 24 Ah in the cabinet."""
    found = battery.standard_size(need_ah=20, sizes_ah=SIZES, parallel=2, cabinet_max_ah=20)

    assert (found.first_ah, found.limits) == (12.0, ("cabinet",))


def test_life_halves_with_every_step_and_not_below_it() -> None:
    """Stationary-battery service note: 8.33 kelvins over 25 °C halve it, twice as many quarter it."""
    years = {
        kelvins: battery.life_s(reference_life_s=10, temperature_c=25 + kelvins, reference_c=25, halving_k=8.33)
        for kelvins in (0, 8.33, 16.66)
    }

    assert years == pytest.approx({0: 10, 8.33: 5, 16.66: 2.5})


def test_recharge_without_a_standing_load() -> None:
    """18 Ah times 1.1 at 1 A are 19.8 h (definition of the ampere-hour)."""
    assert battery.recharge_s(capacity_ah=18, charger_a=1, acceptance=1.1) == pytest.approx(19.8 * HOUR, rel=1e-12)


def test_charger_without_a_standing_load_and_one_cell() -> None:
    """Where nothing more is said: 18 Ah times 1.1 over 48 h, and the textbook's 2.27 V of one cell at 35 °C."""
    assert battery.charger_a(capacity_ah=18, recharge_s=48 * HOUR, acceptance=1.1) == pytest.approx(0.4125, rel=1e-12)
    cell = battery.float_v(reference_v=2.30, per_k_v=-0.003, temperature_c=35, reference_c=25)
    assert cell == pytest.approx(2.27, rel=1e-12)


def test_recharge_counts_acceptance_and_the_standing_load() -> None:
    """Time and charger current are each other's inverse; no spare current never charges."""
    acceptance = fact("charge_acceptance")
    time_s = battery.recharge_s(capacity_ah=26, charger_a=1.5, acceptance=acceptance, standing_a=0.4)

    assert time_s == pytest.approx(26 * 1.1 / 1.1 * HOUR)
    assert battery.charger_a(capacity_ah=26, recharge_s=time_s, acceptance=acceptance, standing_a=0.4) == pytest.approx(
        1.5
    )
    assert battery.recharge_s(capacity_ah=26, charger_a=0.4, acceptance=acceptance, standing_a=0.4) == math.inf


def test_cold_battery_is_interpolated_between_rows() -> None:
    """IEEE Std 485 rows at 10.0 °C (1.19) and 12.8 °C (1.15): halfway is 1.17; outside is refused."""
    points = [(row.number("temperature_c"), row.number("factor")) for row in table("battery_temperature")]

    assert battery.temperature_factor(points=points, temperature_c=11.4) == pytest.approx(1.17)
    assert battery.temperature_factor(points=points, temperature_c=25) == pytest.approx(1.0)
    assert battery.temperature_factor(points=points, temperature_c=-3.9) == pytest.approx(1.52)
    with pytest.raises(ValueError, match=r"-10 is outside the table, which spans -3.9 to 51.7"):
        battery.temperature_factor(points=points, temperature_c=-10)


def test_aging_is_the_inverse_of_end_of_life() -> None:
    """Replacement at 80 % is a factor of 1.25 (IEEE Std 485)."""
    share = fact("end_of_life") / 100

    assert battery.aging_factor(end_of_life_share=share) == pytest.approx(fact("aging_factor"))
    with pytest.raises(ValueError, match=r"at most 1, not 1.2"):
        battery.aging_factor(end_of_life_share=1.2)


def test_a_cold_block_is_no_credit_and_a_table_of_one_row_is_one() -> None:
    """Exactly at a row its factor counts; what lies between two rows lies between their factors."""
    points = [(row.number("temperature_c"), row.number("factor")) for row in table("battery_temperature")]
    found = [battery.temperature_factor(points=points, temperature_c=degrees) for degrees, _ in points]

    assert found == [factor for _, factor in points]
    assert sorted(found, reverse=True) == found


@given(
    amps=st.floats(0, 10),
    more=st.floats(0, 10),
    hours=st.floats(0, 72),
    longer=st.floats(0, 72),
    factor=st.floats(1, 2),
)
@settings(max_examples=60, deadline=None)
def test_more_current_or_time_never_needs_less(
    amps: float, more: float, hours: float, longer: float, factor: float
) -> None:
    """Standby and alarm alike."""

    def need(current: float, time_h: float) -> float:
        factors = {"margin": factor}
        return battery.need_ah(
            standby_a=current, standby_s=time_h * HOUR, alarm_a=2 * current, alarm_s=300, factors=factors
        )

    assert need(amps + more, hours) >= need(amps, hours)
    assert need(amps, hours + longer) >= need(amps, hours)


@given(
    need=st.floats(0, 120),
    sizes=st.lists(st.sampled_from([1.3, 4.0, 7.0, 7.2, 8.0, 12.0, 18.0, 26.0, 40.0]), min_size=1, unique=True),
    charger=st.floats(1, 120),
    cabinet=st.floats(1, 120),
    strings=st.integers(1, 4),
)
@settings(max_examples=100, deadline=None)
def test_the_block_is_the_smallest_that_keeps_every_limit(
    need: float, sizes: list[float], charger: float, cabinet: float, strings: int
) -> None:
    """Held against a plain search; none is left out that would do, and none is taken that does not."""
    found = battery.standard_size(
        need_ah=need, sizes_ah=sizes, charger_max_ah=charger, cabinet_max_ah=cabinet, parallel=strings
    )
    good = [
        size for size in sizes if not under(size * strings, need) and not over(size * strings, min(charger, cabinet))
    ]

    assert found.size_ah == min(good, default=None)
    assert bool(found.limits) == (not good)
    assert found.need_ah == need


@given(need=st.floats(0.1, 100), more=st.floats(0, 20))
@settings(max_examples=60, deadline=None)
def test_a_larger_need_never_takes_a_smaller_block(need: float, more: float) -> None:
    """Sizes rise with the need."""
    small, large = (battery.standard_size(need_ah=ah, sizes_ah=SIZES).size_ah for ah in (need, need + more))

    assert large is None or (small is not None and small <= large)


REFUSED = [
    Refused(
        possible=partial(battery.total_a, quantity=[1, 4], each_a=[0.06, 0.0068]),
        wrong=(
            ("quantity", [1, -4.0]),
            ("each_a", [0.06, -0.0068]),
            ("each_a", [0.06, math.nan]),
            ("each_a", [0.06, math.inf]),
        ),
    ),
    Refused(
        possible=partial(battery.temperature_factor, points=[(21.1, 1.04), (25.0, 1.0)], temperature_c=23.0),
        number="temperature_c",
        wrong=(
            ("points", [(21.1, 1.04), (25.0, 0.0)]),
            ("points", [(21.1, 1.04), (25.0, -1.0)]),
            ("points", [(21.1, 1.04), (25.0, math.inf)]),
            ("points", [(21.1, 1.04), (math.inf, 1.0)]),
        ),
    ),
    Refused(
        possible=partial(battery.carried_share, need_ah=10, reserve=1.25, installed_ah=10),
        above_zero="reserve installed_ah",
        zero_or_more="need_ah",
    ),
    Refused(possible=partial(battery.ampere_hours, current_a=0.25, time_s=24 * 3600), zero_or_more="current_a time_s"),
    Refused(
        possible=partial(
            battery.need_ah, standby_a=0.25, standby_s=86400, alarm_a=1.5, alarm_s=300, factors={"margin": 1.2}
        ),
        zero_or_more="standby_a standby_s alarm_a alarm_s",
        wrong=(
            ("factors", {"margin": 0.0}),
            ("factors", {"margin": 1.2, "aging": -1.0}),
            ("factors", {"margin": math.nan}),
            ("factors", {"margin": math.inf}),
        ),
    ),
    Refused(possible=partial(battery.aging_factor, end_of_life_share=0.8), above_zero="end_of_life_share"),
    Refused(
        possible=partial(battery.standard_size, need_ah=7.35, sizes_ah=[7, 8, 12]),
        zero_or_more="need_ah",
        wrong=(
            ("sizes_ah", [7, 0.0]),
            ("charger_max_ah", 0.0),
            ("charger_max_ah", math.nan),
            ("cabinet_max_ah", -1.0),
            ("cabinet_max_ah", math.nan),
            ("parallel", 0),
        ),
    ),
    Refused(
        possible=partial(battery.bank, block_v=12, block_ah=18, series=2, parallel=1),
        above_zero="block_v block_ah series parallel",
    ),
    Refused(
        possible=partial(battery.recharge_s, capacity_ah=18, charger_a=1.0, acceptance=1.1, standing_a=0.45),
        above_zero="capacity_ah acceptance",
        zero_or_more="charger_a standing_a",
    ),
    Refused(
        possible=partial(battery.charger_a, capacity_ah=18, recharge_s=48 * 3600, acceptance=1.1),
        above_zero="capacity_ah recharge_s acceptance",
        zero_or_more="standing_a",
    ),
    Refused(
        possible=partial(battery.life_s, reference_life_s=5, temperature_c=35, reference_c=25, halving_k=10),
        above_zero="reference_life_s halving_k",
        number="temperature_c reference_c",
    ),
    Refused(
        possible=partial(battery.float_v, reference_v=2.3, per_k_v=-0.003, temperature_c=35, reference_c=25),
        above_zero="reference_v cells",
        number="per_k_v temperature_c reference_c",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
