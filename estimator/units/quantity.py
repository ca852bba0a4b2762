"""Text with a unit to a float, and a float back to text: the only reader of lengths and units.

Numbers are strict: ``12.5``, ``1/2``, ``1-1/2``, ``3e-3``; no thousands signs, no arithmetic.
Lengths may be in feet and inches: ``12 ft 6 in``, ``12' 6"``, ``12'-6 1/2"``.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Final

from estimator.units.table import FACTORS, OFFSETS, SPELLINGS, dimension_of, with_article

_NUMBER: Final = r"[-+]?(?:\d+(?:[ -]\d+/\d+)|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
_QUANTITY: Final = re.compile(rf"({_NUMBER})\s*((?![\d.,_*+/()]).*)", re.S)
_FEET_INCHES: Final = re.compile(rf"({_NUMBER})\s*(?:ft|feet|foot|')\s*-?\s*({_NUMBER})\s*(?:in|inch|inches|\"|'')")
_UNIT: Final = re.compile(r"[A-Za-z\u00b5\u03bc\u00b0\u2126\u03a9]{1,20}[23]?|['\"\u00b0]")
_EXAMPLES: Final = {
    "length": "15 ft",
    "area": "20 in2",
    "current": "120 mA",
    "power": "12.95 W",
    "apparent power": "1500 VA",
    "voltage": "24 V",
    "resistance": "10 kohm",
    "time": "24 h",
    "capacity": "7 Ah",
    "energy": "400 Wh",
    "frequency": "100 MHz",
    "mass": "30 lb",
    "weight per length": "27 lb/kft",
    "force": "25 lbf",
    "angle": "90 deg",
    "level": "0.3 dB",
    "temperature": "25 C",
}
_ABSURD: Final = 1e9


class QuantityError(ValueError):
    """Text that is not the quantity wanted: what is wrong, what was expected, how to mend it."""

    def __init__(self, wrong: str, expected: str, mend: str) -> None:
        super().__init__(f"{wrong}; expected {expected}; {mend}")
        self.wrong, self.expected, self.mend = wrong, expected, mend


def example(dimension: str) -> str:
    """Return a quantity of the dimension as somebody would type it."""
    return _EXAMPLES[dimension]


def _expected(dimension: str) -> str:
    return f"{with_article(dimension)} with its unit, such as {example(dimension)}"


def read_number(text: str) -> float:
    """Return a plain number. Raises: QuantityError if the text is anything else."""
    match = re.fullmatch(_NUMBER, text.strip())
    value = _number(match.group()) if match else math.nan
    if not math.isfinite(value) or abs(value) > _ABSURD:
        raise QuantityError(f"{text!r} is not a usable number", "a number such as 12 or 2.5", "retype it")
    return value


def _number(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    whole, _, fraction = text.lstrip("+-").replace(" ", "-").rpartition("-")
    if "/" in fraction:
        above, _, below = fraction.partition("/")
        if float(below) == 0:
            return math.nan
        return sign * ((float(whole) if whole else 0.0) + float(above) / float(below))
    return float(text)


@lru_cache(maxsize=65536)
def read_quantity(text: str, dimension: str) -> float:
    """Return a quantity in the unit that fields of its dimension hold (SI; Ah, deg and C as they are).

    Raises: QuantityError for a bare number, another dimension, an unknown unit or an absurd value.

    >>> read_quantity("12 ft 6 in", "length"), read_quantity("24 h", "time")
    (3.81, 86400.0)
    """
    text = text.strip()
    if dimension == "length" and (both := _FEET_INCHES.fullmatch(text)):
        feet, inches = _number(both.group(1)), _number(both.group(2))
        if 0 <= inches < 12 and feet >= 0:
            return _believable((feet * 12 + inches) * FACTORS["length"]["in"], text, dimension)
        raise QuantityError(f"{text!r} has {inches:g} inches", "less than 12 inches after the feet", "retype it")
    match = _QUANTITY.fullmatch(text)
    if not match:
        signs = any(sign in text for sign in ",_*+/()")
        mend = "leave out thousands signs and arithmetic" if signs else "retype the number and its unit"
        raise QuantityError(f"{text!r} is not a quantity", _expected(dimension), mend)
    amount, written = _number(match.group(1)), match.group(2).strip()
    if not written:
        mend = f"add the unit, for example {text} {example(dimension).split()[-1]}"
        raise QuantityError(f"{text!r} has no unit", _expected(dimension), mend)
    return _believable(_convert(amount, written, dimension, text), text, dimension)


def _believable(value: float, text: str, dimension: str) -> float:
    if not math.isfinite(value) or abs(value) > _ABSURD:
        raise QuantityError(f"{text!r} is beyond anything on a job", _expected(dimension), "retype it")
    return value


def _convert(amount: float, written: str, dimension: str, text: str) -> float:
    units = FACTORS[dimension]
    unit = written if written in units else SPELLINGS.get(written, written)
    if unit in units:
        value = amount * units[unit]
        return value + OFFSETS[unit] if dimension == "temperature" else value
    other = dimension_of(unit)
    if other:
        wrong = f"{text!r} is {with_article(other)}"
        raise QuantityError(wrong, _expected(dimension), f"give {with_article(dimension)}")
    factor = _pint_factor(unit, dimension) if _UNIT.fullmatch(unit) else None
    if factor is None:
        known = ", ".join(units)
        raise QuantityError(
            f"{text!r} has no unit known for {with_article(dimension)}", _expected(dimension), f"use one of {known}"
        )
    return amount * factor


_PINT_BASE: Final = {
    "length": "meter",
    "area": "meter**2",
    "current": "ampere",
    "power": "watt",
    "voltage": "volt",
    "resistance": "ohm",
    "time": "second",
    "capacity": "ampere*hour",
    "energy": "joule",
    "frequency": "hertz",
    "mass": "kilogram",
    "force": "newton",
}


@lru_cache(maxsize=256)
def _pint_factor(unit: str, dimension: str) -> float | None:
    """Return the factor of a unit outside the trade table, or None; the one place that loads pint."""
    base = _PINT_BASE.get(dimension)
    if base is None:
        return None
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    try:
        return float(registry.Quantity(1.0, registry.Unit(unit)).to(base).magnitude)
    except (pint.PintError, AttributeError, ValueError, TypeError):
        return None


def in_unit(value: float, dimension: str, unit: str) -> float:
    """Return a field's value in a display unit of its dimension.

    >>> round(in_unit(3.81, "length", "ft"), 6)
    12.5
    """
    if dimension == "temperature":
        return (value - OFFSETS[unit]) / FACTORS[dimension][unit]
    return value / FACTORS[dimension][unit]


def show(value: float, unit: str, digits: int = 12) -> str:
    """Return a number with its unit for people: at most so many significant digits, no exponent noise.

    >>> show(0.30000000000000004, "V"), show(1200.0, "ohm")
    ('0.3 V', '1200 ohm')
    """
    text = f"{value:.{digits}g}"
    return f"{text} {unit}".strip()


_MOST_PLACES = 9  # decimals at which 12 significant digits of a common value end


def beside(value: float, other: float, places: int) -> str:
    """Return a value with so many decimals, or with as many more as tell it from the other [its own unit].

    >>> beside(90.0074, 90.0, 1), beside(91.4, 90.0, 1)
    ('90.01', '91.4')
    """
    for more in range(places, _MOST_PLACES + 1):
        text = f"{value:.{more}f}"
        if text != f"{other:.{more}f}":
            return text
    return f"{value:.{places}f}"
