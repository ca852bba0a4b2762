"""Every factor of the trade's table against pint, which knows the units' definitions."""

from __future__ import annotations

import math
from functools import cache

import pint
import pytest

from estimator.units.quantity import QuantityError, in_unit, read_number, read_quantity
from estimator.units.table import FACTORS, OFFSETS

PINT = {
    "length": "meter", "area": "meter**2", "current": "ampere", "power": "watt", "voltage": "volt",
    "resistance": "ohm", "time": "second", "capacity": "ampere*hour", "energy": "joule",
    "frequency": "hertz", "mass": "kilogram", "force": "newton", "angle": "degree",
}  # fmt: skip
NAMES = {"m2": "m**2", "mm2": "mm**2", "cm2": "cm**2", "ft2": "ft**2", "in2": "inch**2", "in": "inch",
         "Mohm": "megaohm", "Ah": "ampere*hour", "mAh": "milliampere*hour", "lbf": "force_pound",
         "min": "minute", "h": "hour", "us": "microsecond", "uA": "microampere", "deg": "degree"}  # fmt: skip


@cache
def _registry() -> pint.UnitRegistry[float]:
    """Return pint's definitions, which take a tenth of a second to load, once for all units."""
    return pint.UnitRegistry()


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d in PINT for u in FACTORS[d]])
def test_every_factor_is_pints(dimension: str, unit: str) -> None:
    """Source: the unit definitions of the pint library (SI and NIST Handbook 44 factors)."""
    registry = _registry()
    expected = registry.Quantity(1.0, registry.parse_units(NAMES.get(unit, unit))).to(PINT[dimension]).magnitude
    assert FACTORS[dimension][unit] == pytest.approx(expected, rel=1e-12)


# Source: definition of the Fahrenheit scale; freezing and boiling point of water.
@pytest.mark.parametrize(("text", "celsius"), [("32 F", 0.0), ("212 F", 100.0), ("77 F", 25.0), ("273.15 K", 0.0)])
def test_temperatures_have_an_offset(text: str, celsius: float) -> None:
    """A temperature is not just scaled."""
    assert read_quantity(text, "temperature") == pytest.approx(celsius, abs=1e-9)
    assert set(OFFSETS) == set(FACTORS["temperature"])


# Source: 1 ft = 0.3048 m and 1 in = 0.0254 m exactly (international foot, 1959).
@pytest.mark.parametrize(
    ("text", "meters"),
    [
        ("12 ft 6 in", 3.81),
        ("12' 6\"", 3.81),
        ("12'-6\"", 3.81),
        ("12'", 3.6576),
        ("12' 6-1/2\"", 3.8227),
        ("1-1/2 in", 0.0381),
        ("1 1/2 in", 0.0381),
        ("3/4 in", 0.01905),
        ("3.5 m", 3.5),
        ("15ft", 4.572),
        ("2.5e2 mm", 0.25),
        ("10 yd", 9.144),
        ("0 ft", 0.0),
    ],
)
def test_trade_lengths_read_as_they_are_meant(text: str, meters: float) -> None:
    """Feet and inches, mixed fractions and metric lengths."""
    assert read_quantity(text, "length") == pytest.approx(meters, rel=1e-12, abs=1e-15)


@pytest.mark.parametrize(
    "text",
    ["15", "", "ft", "15 W", "1,000 ft", "12 ft 13 in", "1e308 ft", "nan ft", "inf ft", "9**9 ft",
     "1/0 in", "5 quux", "--5 ft", "5 ft ft", "1_000 ft", "0x10 ft", "5 ft; drop"],
)  # fmt: skip
def test_what_is_no_length_is_refused(text: str) -> None:
    """Bare numbers, other dimensions, arithmetic and absurd values: each with a way to mend it."""
    with pytest.raises(QuantityError) as refused:
        read_quantity(text, "length")
    assert refused.value.wrong
    assert refused.value.mend


def test_a_bare_number_names_the_unit_to_add() -> None:
    """The message tells what to type."""
    with pytest.raises(QuantityError, match="'15' has no unit; expected a length with its unit, such as 15 ft"):
        read_quantity("15", "length")


def test_another_dimension_is_named() -> None:
    """A power where a length belongs is told apart from a typing slip."""
    with pytest.raises(QuantityError, match="'15 W' is a power"):
        read_quantity("15 W", "length")


def test_a_unit_outside_the_table_comes_from_pint() -> None:
    """Source: pint's definition of the US survey-free fathom, 6 ft."""
    assert read_quantity("2 fathom", "length") == pytest.approx(12 * 0.3048, rel=1e-5)


@pytest.mark.parametrize("text", ["1e400", "nan", "1,5", "", "1/0", "1e10"])
def test_absurd_numbers_are_refused(text: str) -> None:
    """No infinities reach the house."""
    with pytest.raises(QuantityError):
        read_number(text)


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d in FACTORS for u in FACTORS[d]])
def test_a_value_shown_and_read_again_is_the_same(dimension: str, unit: str) -> None:
    """Showing undoes reading."""
    value = read_quantity(f"12.5 {unit}", dimension)
    assert math.isclose(in_unit(value, dimension, unit), 12.5, rel_tol=1e-12)
