"""Wire gauge, copper at a temperature, and the three loops."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc import conductor
from estimator.reference.lookup import table
from tests.calc.copper import copper, gauge, nec, solid
from tests.calc.refusals import Refused
from tests.published import Check

WIRE_TABLES = "copper wire tables of a national standards bureau, handbook copy; confirmed"


def _ohm_per_kft(awg: int, temperature_c: float, factor: float = 1.0) -> float:
    return solid(awg, temperature_c, factor) * conductor.M_PER_KFT


def _ohm_per_km(awg: int, temperature_c: float) -> float:
    return 1000 * solid(awg, temperature_c)


def _inches(awg: int) -> float:
    return conductor.diameter_m(awg=awg, gauge=gauge()) / 0.0254


def _nec_at_20(awg: int) -> float:
    corrected = conductor.corrected_ohm_per_m(
        reference_ohm_per_m=nec(awg),
        temperature_c=20,
        reference_c=table("conductor_facts").find(name="nec_table_8_reference").number("value"),
        coefficient_per_k=table("conductor_facts").find(name="nec_table_8_coefficient").number("value"),
    )
    return corrected * conductor.M_PER_KFT


# Handbook tables of annealed copper at 20 °C, ohm per 1000 ft, with the last digit they print.
HANDBOOK = {
    10: 0.9989, 11: 1.26, 12: 1.588, 13: 2.003, 14: 2.525, 15: 3.184, 16: 4.016, 17: 5.064, 18: 6.385, 19: 8.051,
    20: 10.15, 21: 12.8, 22: 16.14, 23: 20.36, 24: 25.67, 25: 32.37, 26: 40.81,
}  # fmt: skip
# 11 and 21 AWG come out at 1.2601 and 12.802: the handbook's zeros at the end are left out.

# ASTM B258 nominal diameters in inches, to a hundredth of a mil.
DIAMETERS = {
    10: 0.10190, 11: 0.09074, 12: 0.08081, 13: 0.07196, 14: 0.06408, 15: 0.05707, 16: 0.05082, 17: 0.04526,
    18: 0.04030, 19: 0.03589, 20: 0.03196, 21: 0.02846, 22: 0.02535, 23: 0.02257, 24: 0.02010, 25: 0.01790,
    26: 0.01594,
}  # fmt: skip

# Data sheets of clad wire, ohm per 1000 ft at 20 °C, by gauge and class.
CLAD = {(14, 10): 3.91, (18, 10): 9.90, (20, 10): 15.7, (14, 15): 3.79, (18, 15): 9.61, (20, 15): 15.2}
CLAD_SHEETS = "wire data sheets after ASTM B566; single"


def _clad(awg: int, share: int) -> float:
    return _ohm_per_kft(awg, 20, table("metals").find(metal=f"copper_clad_aluminum_{share}").number("ratio_to_copper"))


CHECKS = [
    *(
        Check(
            discipline="conductors",
            what=f"{awg} AWG at 20 °C [ohm per 1000 ft]",
            source=WIRE_TABLES,
            expected=printed,
            tolerance=0.5 * 10 ** -len(repr(printed).split(".")[1]),
            obtained=partial(_ohm_per_kft, awg, 20),
        )
        for awg, printed in HANDBOOK.items()
    ),
    Check(
        discipline="conductors",
        what="22 AWG at 25 °C [ohm per 1000 ft]",
        source="line data page; single",
        expected=16.46,
        tolerance=0.005,
        obtained=partial(_ohm_per_kft, 22, 25),
    ),
    Check(
        discipline="conductors",
        what="18 AWG stranded at 25 °C [ohm per 1000 ft]",
        source="cable maker's table after ASTM B3 and B8; single",
        expected=6.669,
        tolerance=0.0134,
        why="the maker starts from stranded copper of another section: 0.2 % is the spread of the lay in Table 8",
        obtained=lambda: _ohm_per_kft(18, 25, nec(18, stranded=True) / nec(18)),
    ),
    *(
        Check(
            discipline="conductors",
            what=f"{awg} AWG copper-clad aluminum class {share}A at 20 °C [ohm per 1000 ft]",
            source=CLAD_SHEETS,
            expected=printed,
            tolerance=round(0.04 * printed, 4),
            why="computed with the least copper of the class; sheets print a ratio of 1.49 to 1.55, up to 4 % better",
            obtained=partial(_clad, awg, share),
        )
        for (awg, share), printed in CLAD.items()
    ),
    *(
        Check(
            discipline="conductors",
            what=f"{awg} AWG solid from 20 °C to 75 °C [ohm per 1000 ft]",
            source="NFPA 70, Chapter 9, Table 8; confirmed",
            expected=printed,
            tolerance=0.5 * 10**-digits,
            obtained=partial(_ohm_per_kft, awg, 75),
        )
        # 16 AWG is left out: the table starts from 2580 circular mils and prints 4.89 for 4.884.
        for awg, printed, digits in ((18, 7.77, 2), (14, 3.07, 2), (12, 1.93, 2), (10, 1.21, 2), (8, 0.764, 3))
    ),
    *(
        Check(
            discipline="conductors",
            what=f"{awg} AWG solid from 20 °C to 75 °C [ohm per km]",
            source="NFPA 70, Chapter 9, Table 8, metric columns; single",
            expected=printed,
            tolerance=0.5 * 10**-digits,
            obtained=partial(_ohm_per_km, awg, 75),
        )
        for awg, printed, digits in ((18, 25.5, 1), (16, 16.0, 1), (14, 10.1, 1), (12, 6.34, 2))
    ),
    Check(
        discipline="conductors",
        what="temperature coefficient of copper at 75 °C [1/K]",
        source="NFPA 70, Chapter 9, Table 8, note 2, as quoted in a public page; single",
        expected=0.00323,
        tolerance=5e-6,
        obtained=lambda: conductor.coefficient_at(
            temperature_c=75, reference_c=copper().reference_c, coefficient_per_k=copper().coefficient_per_k
        ),
    ),
    Check(
        discipline="conductors",
        what="18 AWG Table 8 taken back to 20 °C [ohm per 1000 ft]",
        source=WIRE_TABLES,
        expected=6.385,
        tolerance=0.007,
        why="the code prints three digits: 7.77 is known to 0.06 %, its coefficient to 0.15 % of the correction",
        obtained=partial(_nec_at_20, 18),
    ),
    *(
        Check(
            discipline="conductors",
            what=f"diameter of gauge {awg} [in]",
            source="ASTM B258; confirmed",
            expected=printed,
            tolerance=5e-5 if awg in (-3, 36) else 5e-6,
            obtained=partial(_inches, awg),
        )
        for awg, printed in ((-3, 0.4600), (36, 0.0050), *DIAMETERS.items())
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published resistance and diameter is reproduced."""
    check.hold()


# Closed form of the definition with 1/58 ohm mm2/m; three engines agree to the digits shown.
@pytest.mark.parametrize(
    ("awg", "ohm_per_km"),
    [(24, 84.2151), (12, 5.2108), (14, 8.2855), (16, 13.1745), (18, 20.9482)],
)
def test_solid_copper_follows_the_definition(awg: int, ohm_per_km: float) -> None:
    """Resistance comes from the exact diameter, not from a rounded table."""
    assert solid(awg) * 1000 == pytest.approx(ohm_per_km, abs=5e-5)


# Same closed form: 100 m of one pair, both conductors.
@pytest.mark.parametrize(("awg", "loop_ohm"), [(22, 10.5927), (23, 13.3571), (24, 16.8430), (26, 26.7814)])
def test_a_hundred_meters_of_one_pair(awg: int, loop_ohm: float) -> None:
    """The loop of a pair counts both conductors."""
    assert conductor.pair_loop_ohm(length_m=100, ohm_per_m=solid(awg)) == pytest.approx(loop_ohm, abs=5e-5)


def test_diameter_agrees_with_exact_fractions() -> None:
    """Thirty-nine steps span exactly the ratio of 92."""
    small, large = (conductor.diameter_m(awg=awg, gauge=gauge()) for awg in (36, -3))

    assert Fraction(large).limit_denominator(10**9) / Fraction(small).limit_denominator(10**9) == 92


def test_the_three_loops_differ_by_two() -> None:
    """A pair, a pairset and four pairs are 4, 2 and 1 parts of resistance."""
    run = {"length_m": 90.0, "ohm_per_m": solid(24)}

    pair = conductor.pair_loop_ohm(**run)
    assert conductor.pairset_loop_ohm(**run) == pytest.approx(pair / 2)
    assert conductor.four_pair_loop_ohm(**run) == pytest.approx(pair / 4)


def test_no_length_has_no_resistance() -> None:
    """A cable of zero length is allowed and resists nothing."""
    assert conductor.pair_loop_ohm(length_m=0.0, ohm_per_m=solid(24)) == 0.0


def test_heat_raises_resistance_by_the_printed_factor() -> None:
    """45 °C multiplies by 1.09825 (IEC 60028 coefficient)."""
    assert solid(24, 45) / solid(24, 20) == pytest.approx(1.09825, abs=5e-6)


def test_the_codes_coefficient_is_the_same_line() -> None:
    """NEC Chapter 9 Table 8 note 2 prints 0.00323 for 75 °C, IEC 60028 has 0.00393 at 20 °C."""
    metal = copper()
    at_75 = conductor.coefficient_at(
        temperature_c=75, reference_c=metal.reference_c, coefficient_per_k=metal.coefficient_per_k
    )

    printed = table("conductor_facts").find(name="nec_table_8_coefficient").number("value")
    assert at_75 == pytest.approx(printed, abs=5e-6)


# NFPA 70, Chapter 9, Table 8: stranded over solid, 1.018 to 1.026.
@pytest.mark.parametrize("awg", [18, 16, 14, 12, 10, 8])
def test_stranding_costs_about_two_percent(awg: int) -> None:
    """Each tabled gauge shows the lay factor."""
    assert 1.017 < nec(awg, stranded=True) / nec(awg) < 1.027


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"length_m": -1.0, "ohm_per_m": 0.1}, r"length_m must not be below zero, not -1.0"),
        ({"length_m": 1.0, "ohm_per_m": float("nan")}, r"ohm_per_m must not be below zero, not nan"),
    ],
)
def test_impossible_cable_is_refused(wrong: dict[str, float], message: str) -> None:
    """A negative length and a resistance that is no number are named with their value."""
    with pytest.raises(ValueError, match=message):
        conductor.pair_loop_ohm(**wrong)


def test_temperature_beyond_the_law_is_refused() -> None:
    """The straight line ends where it would give no resistance at all."""
    with pytest.raises(ValueError, match="temperature_c -300"):
        solid(24, -300)


def test_factor_multiplies_a_tabled_resistance() -> None:
    """Another lay or metal raises the resistance as it raises that of a solid wire."""
    plain = conductor.corrected_ohm_per_m(
        reference_ohm_per_m=0.02, temperature_c=40, reference_c=20, coefficient_per_k=0.004
    )
    laid = conductor.corrected_ohm_per_m(
        reference_ohm_per_m=0.02, temperature_c=40, reference_c=20, coefficient_per_k=0.004, factor=1.25
    )

    assert plain == pytest.approx(0.02 * 1.08)
    assert laid == pytest.approx(0.025 * 1.08)


@pytest.mark.parametrize("wrong", ["anchor_m", "ratio", "steps"])
def test_gauge_of_no_size_is_refused(wrong: str) -> None:
    """The definition's own quantities are named."""
    with pytest.raises(ValueError, match=f"{wrong} must be above zero, not 0"):
        conductor.diameter_m(awg=24, gauge=replace(gauge(), **{wrong: 0}))


def test_a_wire_is_solid_copper_where_no_factor_is_given() -> None:
    """By diameter and by gauge: 1/58 ohm mm2/m (IEC 60028) over its section."""
    section = conductor.area_m2(diameter_m=conductor.diameter_m(awg=24, gauge=gauge()))
    by_section = conductor.solid_ohm_per_m(area_m2=section, metal=copper(), temperature_c=20)
    by_gauge = conductor.gauge_ohm_per_m(awg=24, gauge=gauge(), metal=copper(), temperature_c=20)

    assert by_section == by_gauge == pytest.approx(1e-6 / 58 / section, rel=1e-12)


def test_a_gauge_without_an_anchor_is_refused() -> None:
    """The anchor's own number is one."""
    with pytest.raises(ValueError, match="anchor_awg must be a finite number, not nan"):
        conductor.diameter_m(awg=24, gauge=replace(gauge(), anchor_awg=float("nan")))


def test_metal_without_resistivity_is_refused() -> None:
    """The metal's own quantity is named."""
    with pytest.raises(ValueError, match="resistivity_ohm_m must be above zero, not 0"):
        conductor.solid_ohm_per_m(area_m2=1e-6, metal=replace(copper(), resistivity_ohm_m=0), temperature_c=20)


def test_linear_law_ends_where_the_resistance_does() -> None:
    """With 0.004 per kelvin it ends 250 kelvins below the reference, for each formula that uses it."""
    law = {"reference_c": 20, "coefficient_per_k": 0.004}

    assert conductor.temperature_factor(temperature_c=-229.9, **law) == pytest.approx(0.0004)
    for formula in (
        conductor.temperature_factor,
        conductor.coefficient_at,
        partial(conductor.corrected_ohm_per_m, reference_ohm_per_m=0.02),
    ):
        with pytest.raises(ValueError, match="temperature_c -230 is outside the linear law"):
            formula(temperature_c=-230, **law)


@settings(max_examples=50, deadline=None)
@given(
    awg=st.integers(-3, 40),
    thinner=st.integers(0, 10),
    cold_c=st.floats(-40, 90),
    rise_c=st.floats(0, 60),
    parts_m=st.lists(st.floats(0, 500), min_size=1, max_size=5),
)
def test_thinner_warmer_and_longer_resist_more(
    awg: int, thinner: int, cold_c: float, rise_c: float, parts_m: list[float]
) -> None:
    """Never less for a thinner gauge, more heat or more length; a run in pieces resists what it does whole."""
    here = solid(awg, cold_c)
    assert solid(awg + thinner, cold_c) >= here
    assert solid(awg, cold_c + rise_c) >= here
    for loop in (conductor.pair_loop_ohm, conductor.pairset_loop_ohm, conductor.four_pair_loop_ohm):
        pieces = [loop(length_m=part, ohm_per_m=here) for part in parts_m]
        whole = loop(length_m=sum(parts_m), ohm_per_m=here)
        assert whole == pytest.approx(sum(pieces), rel=1e-12)
        assert whole >= max(pieces) * (1 - 1e-12)


@pytest.mark.parametrize("awg", [36, 24, 18, 10, -3])
def test_gauges_agree_with_the_root_of_92(awg: int) -> None:
    """Fifty digits of the definition in ASTM B258, from which the doubles may only round."""
    with localcontext() as context:
        context.prec = 50
        ratio = Decimal(92) ** (Decimal(36 - awg) / 39)
        exact = Decimal("0.000127") * ratio
    assert conductor.diameter_m(awg=awg, gauge=gauge()) == pytest.approx(float(exact), rel=1e-14)


REFUSED = [
    Refused(possible=partial(conductor.diameter_m, awg=24, gauge=gauge()), number="awg"),
    Refused(
        possible=partial(conductor.coefficient_at, temperature_c=75, reference_c=20, coefficient_per_k=0.00393),
        number="temperature_c reference_c coefficient_per_k",
    ),
    Refused(
        possible=partial(conductor.gauge_ohm_per_m, awg=24, gauge=gauge(), metal=copper(), temperature_c=20),
        number="awg temperature_c",
        above_zero="factor",
    ),
    Refused(possible=partial(conductor.area_m2, diameter_m=0.001), above_zero="diameter_m"),
    Refused(
        possible=partial(conductor.temperature_factor, temperature_c=45, reference_c=20, coefficient_per_k=0.00393),
        number="temperature_c reference_c coefficient_per_k",
    ),
    Refused(
        possible=partial(conductor.solid_ohm_per_m, area_m2=1e-06, metal=copper(), temperature_c=20),
        above_zero="area_m2 factor",
        number="temperature_c",
    ),
    Refused(possible=partial(conductor.ohm_per_m_from_kft, ohm_per_kft=3.048), above_zero="ohm_per_kft"),
    Refused(
        possible=partial(
            conductor.corrected_ohm_per_m,
            reference_ohm_per_m=0.0255,
            temperature_c=20,
            reference_c=75,
            coefficient_per_k=0.00323,
        ),
        above_zero="reference_ohm_per_m factor",
        number="temperature_c reference_c coefficient_per_k",
    ),
    Refused(
        possible=partial(conductor.pair_loop_ohm, length_m=100, ohm_per_m=0.0842151), zero_or_more="length_m ohm_per_m"
    ),
    Refused(
        possible=partial(conductor.pairset_loop_ohm, length_m=100, ohm_per_m=0.0842151),
        zero_or_more="length_m ohm_per_m",
    ),
    Refused(
        possible=partial(conductor.four_pair_loop_ohm, length_m=100, ohm_per_m=0.0842151),
        zero_or_more="length_m ohm_per_m",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
