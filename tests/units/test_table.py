"""Every factor of the trade's table against pint, which knows the units' definitions."""

from __future__ import annotations

import math
from functools import cache

import pint
import pytest

from estimator.units.quantity import QuantityError, beside, example, in_unit, read_number, read_quantity
from estimator.units.table import FACTORS, OFFSETS, SPELLINGS

PINT = {
    "length": "meter", "area": "meter**2", "current": "ampere", "power": "watt", "voltage": "volt",
    "apparent power": "watt",
    "resistance": "ohm", "time": "second", "capacity": "ampere*hour", "energy": "joule",
    "frequency": "hertz", "mass": "kilogram", "weight per length": "kilogram/meter",
    "force": "newton", "angle": "degree",
}  # fmt: skip
NAMES = {"m2": "m**2", "mm2": "mm**2", "cm2": "cm**2", "ft2": "ft**2", "in2": "inch**2", "in": "inch",
         "Mohm": "megaohm", "Ah": "ampere*hour", "mAh": "milliampere*hour", "lbf": "force_pound",
         "lb/kft": "pound/kilofoot", "VA": "volt*ampere", "kVA": "kilovolt*ampere",
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
@pytest.mark.parametrize(
    ("text", "celsius"),
    [("32 F", 0.0), ("212 F", 100.0), ("77 F", 25.0), ("273.15 K", 0.0), ("25 C", 25.0), ("-40 F", -40.0)],
)
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
        ("0' 6\"", 0.1524),
        ("0 ft 11-1/2 in", 0.2921),
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
    with pytest.raises(QuantityError) as refused:
        read_quantity("15", "length")
    assert str(refused.value) == (
        "'15' has no unit; expected a length with its unit, such as 15 ft; add the unit, for example 15 ft"
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("1,000 ft", "'1,000 ft' is not a quantity; expected a length with its unit, such as 15 ft; "
                     "leave out thousands signs and arithmetic"),
        ("12_000 ft", "'12_000 ft' is not a quantity; expected a length with its unit, such as 15 ft; "
                      "leave out thousands signs and arithmetic"),
        ("3*4 ft", "'3*4 ft' is not a quantity; expected a length with its unit, such as 15 ft; "
                   "leave out thousands signs and arithmetic"),
        ("ft", "'ft' is not a quantity; expected a length with its unit, such as 15 ft; "
               "retype the number and its unit"),
        ("12 ft 12 in", "'12 ft 12 in' has 12 inches; expected less than 12 inches after the feet; retype it"),
        ("5 quux", "'5 quux' has no unit known for a length; expected a length with its unit, such as 15 ft; "
                   "use one of m, mm, cm, km, ft, in, yd"),
        ("5 in2", "'5 in2' is an area; expected a length with its unit, such as 15 ft; give a length"),
        ("5 Wh", "'5 Wh' is an energy; expected a length with its unit, such as 15 ft; give a length"),
    ],
)  # fmt: skip
def test_each_refusal_says_what_to_type(text: str, message: str) -> None:
    """The whole message, because it is what a user sees."""
    with pytest.raises(QuantityError) as refused:
        read_quantity(text, "length")
    assert str(refused.value) == message


def test_largest_believable_length() -> None:
    """A million kilometers are still read, a hair more is a slip."""
    assert read_quantity("1e9 m", "length") == read_number("1e9") == 1e9
    for text in ("1000000001 m", "-1000000001 m"):
        with pytest.raises(QuantityError, match="beyond anything on a job"):
            read_quantity(text, "length")


@pytest.mark.parametrize("dimension", FACTORS)
def test_the_example_of_a_dimension_is_read_as_one(dimension: str) -> None:
    """What a message tells to type is what the reader takes."""
    assert read_quantity(example(dimension), dimension) > 0


# The words that a project file may use for one unit, the one that is shown first.
SAME_UNIT = (
    ("length", "m meter meters metre metres"), ("length", "mm"), ("length", "cm"), ("length", "km"),
    ("length", "ft feet foot '"), ("length", 'in inch inches "'), ("length", "yd yard yards"),
    ("area", "m2"), ("area", "mm2"), ("area", "cm2"), ("area", "ft2 sqft"), ("area", "in2 sqin"),
    ("current", "A amp amps a"), ("current", "mA ma"), ("current", "uA \u00b5A \u03bcA ua"),
    ("power", "W watt watts w"), ("power", "mW"), ("power", "kW kw"),
    ("apparent power", "VA va"), ("apparent power", "kVA kva"),
    ("voltage", "V volt volts v Vdc"), ("voltage", "mV"), ("voltage", "kV"),
    ("resistance", "ohm ohms \u2126 \u03a9"), ("resistance", "mohm"), ("resistance", "kohm k\u2126 k\u03a9 k"),
    ("resistance", "Mohm"), ("time", "s sec second seconds"), ("time", "ms"), ("time", "us \u00b5s \u03bcs"),
    ("time", "ns"), ("time", "min minute minutes"), ("time", "h hr hrs hour hours"), ("time", "day days"),
    ("capacity", "Ah AH ah"), ("capacity", "mAh"), ("energy", "J"), ("energy", "Wh"), ("energy", "kWh"),
    ("frequency", "Hz"), ("frequency", "kHz"), ("frequency", "MHz"), ("mass", "kg"), ("mass", "g"),
    ("mass", "lb lbs"), ("mass", "oz"), ("weight per length", "kg/m"), ("weight per length", "kg/km"),
    ("weight per length", "lb/ft"), ("weight per length", "lb/kft"), ("force", "N"), ("force", "kN"), ("force", "lbf"),
    ("angle", "deg degrees \u00b0"), ("level", "dB db"), ("temperature", "C degC \u00b0C"), ("temperature", "K"),
    ("temperature", "F degF \u00b0F"),
)  # fmt: skip


@pytest.mark.parametrize(("dimension", "words"), SAME_UNIT)
def test_every_spelling_is_the_unit_that_people_mean(dimension: str, words: str) -> None:
    """Dropping or bending a word would break project files; the first is the table's own."""
    unit, *others = words.split()

    assert unit in FACTORS[dimension]
    for word in others:
        assert read_quantity(f"12.5 {word}", dimension) == read_quantity(f"12.5 {unit}", dimension)


def test_no_word_for_a_unit_goes_untested() -> None:
    """A unit or spelling that is added gets its line above."""
    listed = {word for _, words in SAME_UNIT for word in words.split()}

    assert listed == {unit for units in FACTORS.values() for unit in units} | set(SPELLINGS)


def test_what_the_trade_prints_is_held_as_printed() -> None:
    """Decibels, degrees and ampere-hours have no factor; the field's own unit is one."""
    assert [read_quantity(*typed) for typed in (("0.3 dB", "level"), ("90 deg", "angle"), ("7 Ah", "capacity"))] == [
        0.3,
        90.0,
        7.0,
    ]
    with pytest.raises(QuantityError, match="'90 deg' is an angle"):
        read_quantity("90 deg", "length")


def test_another_dimension_is_named() -> None:
    """A power where a length belongs is told apart from a typing slip."""
    with pytest.raises(QuantityError, match="'15 W' is a power"):
        read_quantity("15 W", "length")


def test_a_unit_outside_the_table_comes_from_pint() -> None:
    """Source: pint's definition of the US survey-free fathom, 6 ft."""
    assert read_quantity("2 fathom", "length") == pytest.approx(12 * 0.3048, rel=1e-5)


# Source: SI prefixes and NIST Special Publication 811, Appendix B: horsepower, Btu (IT), ton, kilogram-force.
@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("2 hectare", "area", 20000.0),
        ("2 kiloampere", "current", 2000.0),
        ("1 horsepower", "power", 745.6999),
        ("2 megavolt", "voltage", 2e6),
        ("2 microohm", "resistance", 2e-6),
        ("2 week", "time", 1209600.0),
        ("3600 coulomb", "capacity", 1.0),
        ("1 Btu", "energy", 1055.056),
        ("0.5 gigahertz", "frequency", 5e8),
        ("1 ton", "mass", 907.1847),
        ("1 kgf", "force", 9.80665),
    ],
)
def test_each_dimension_knows_units_outside_the_table(text: str, dimension: str, value: float) -> None:
    """Read in the unit that the field holds; another dimension's unit is refused."""
    assert read_quantity(text, dimension) == pytest.approx(value, rel=1e-6)
    with pytest.raises(QuantityError, match="has no unit known for a level"):
        read_quantity(text, "level")


@pytest.mark.parametrize("text", ["1e400", "nan", "1,5", "", "1/0", "1e10", "-1e10"])
def test_absurd_numbers_are_refused(text: str) -> None:
    """No infinities reach the house."""
    with pytest.raises(QuantityError):
        read_number(text)


@pytest.mark.parametrize(("dimension", "unit"), [(d, u) for d in FACTORS for u in FACTORS[d]])
def test_a_value_shown_and_read_again_is_the_same(dimension: str, unit: str) -> None:
    """Showing undoes reading."""
    value = read_quantity(f"12.5 {unit}", dimension)
    assert math.isclose(in_unit(value, dimension, unit), 12.5, rel_tol=1e-12)


# By hand: the first number of decimals at which the two texts differ; beyond nine they count as the same.
@pytest.mark.parametrize(
    ("value", "other", "places", "text"),
    [
        (90.00744, 90.0, 1, "90.01"),
        (90.0, 90.00744, 1, "90.00"),
        (91.4, 90.0, 1, "91.4"),
        (7.0004, 7.0, 2, "7.0004"),
        (7.0, 7.0, 2, "7.00"),
        (5.0, math.inf, 1, "5.0"),
        (1.00000000001, 1.0, 2, "1.00"),
    ],
)
def test_a_value_is_told_from_the_limit_beside_it(value: float, other: float, places: int, text: str) -> None:
    """A warning never reads as if the value were its limit."""
    assert beside(value, other, places) == text
