"""The trade's units and their SI factors; a test compares each of them with pint."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

FACTORS: Final[Mapping[str, Mapping[str, float]]] = {
    "length": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "ft": 0.3048, "in": 0.0254, "yd": 0.9144},
    "area": {"m2": 1.0, "mm2": 1e-6, "cm2": 1e-4, "ft2": 0.09290304, "in2": 0.00064516},
    "current": {"A": 1.0, "mA": 1e-3, "uA": 1e-6},
    "power": {"W": 1.0, "mW": 1e-3, "kW": 1e3},
    "apparent power": {"VA": 1.0, "kVA": 1e3},
    "voltage": {"V": 1.0, "mV": 1e-3, "kV": 1e3},
    "resistance": {"ohm": 1.0, "mohm": 1e-3, "kohm": 1e3, "Mohm": 1e6},
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9, "min": 60.0, "h": 3600.0, "day": 86400.0},
    "capacity": {"Ah": 1.0, "mAh": 1e-3},
    "energy": {"J": 1.0, "Wh": 3600.0, "kWh": 3.6e6},
    "frequency": {"Hz": 1.0, "kHz": 1e3, "MHz": 1e6},
    "mass": {"kg": 1.0, "g": 1e-3, "lb": 0.45359237, "oz": 0.028349523125},
    "weight per length": {"kg/m": 1.0, "kg/km": 1e-3, "lb/ft": 0.45359237 / 0.3048, "lb/kft": 0.45359237 / 304.8},
    "force": {"N": 1.0, "kN": 1e3, "lbf": 4.4482216152605},
    "angle": {"deg": 1.0},
    "level": {"dB": 1.0},
    "temperature": {"C": 1.0, "K": 1.0, "F": 5 / 9},
}
"""Factor from each unit to the unit a field holds. Battery capacity stays in ampere-hours,
angles in degrees, temperatures in degrees Celsius, as the trade prints them."""

FOOT_M: Final = FACTORS["length"]["ft"]
INCH_M: Final = FACTORS["length"]["in"]
HOUR_S: Final = FACTORS["time"]["h"]
"""Length of a foot and of an inch [m], and of an hour [s]."""

OFFSETS: Final[Mapping[str, float]] = {"C": 0.0, "K": -273.15, "F": -160 / 9}
"""What is added, after the factor, to reach degrees Celsius."""

SPELLINGS: Final[Mapping[str, str]] = {
    "feet": "ft", "foot": "ft", "'": "ft", "inch": "in", "inches": "in", '"': "in",
    "meter": "m", "meters": "m", "metre": "m", "metres": "m", "yard": "yd", "yards": "yd",
    "amp": "A", "amps": "A", "a": "A", "ma": "mA", "\u00b5A": "uA", "\u03bcA": "uA", "ua": "uA",
    "watt": "W", "watts": "W", "w": "W", "kw": "kW", "va": "VA", "kva": "kVA",
    "volt": "V", "volts": "V", "v": "V", "Vdc": "V",
    "ohms": "ohm", "\u2126": "ohm", "\u03a9": "ohm", "k\u2126": "kohm", "k\u03a9": "kohm", "k": "kohm",
    "sec": "s", "second": "s", "seconds": "s", "minute": "min", "minutes": "min",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "days": "day", "\u00b5s": "us", "\u03bcs": "us",
    "AH": "Ah", "ah": "Ah", "lbs": "lb", "degC": "C", "degF": "F", "°C": "C", "°F": "F",
    "db": "dB", "degrees": "deg", "°": "deg", "sqft": "ft2", "sqin": "in2",
}  # fmt: skip
"""Other ways people write the same unit."""

ARTICLES: Final[Mapping[str, str]] = {
    "area": "an area",
    "energy": "an energy",
    "apparent power": "an apparent power",
    "angle": "an angle",
}


def with_article(dimension: str) -> str:
    """Return the dimension's name with its article: ``a length``, ``an area``."""
    return ARTICLES.get(dimension, f"a {dimension}")


def dimension_of(unit: str) -> str | None:
    """Return the dimension that a unit measures, or None where the table has no such unit."""
    for dimension, units in FACTORS.items():
        if unit in units:
            return dimension
    return None
