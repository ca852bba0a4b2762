"""What the price file says that no single key can check: bases of factors, labor units, the bond's rates."""

from __future__ import annotations

from estimator.reference.lookup import Row, table
from estimator.spec.faults import Faults, known_words
from estimator.spec.model import Project
from estimator.spec.money import BuildUp, Factor, OtherLine, PriceItem
from estimator.units.rounding import over

BASES = {
    "factor": "factor",
    "height_m": "height",
    "repeats": "repeats",
    "overtime": "overtime",
    "published": "published",
}
"""Attributes of a difficulty factor that can give its figure, and their keys."""

LENGTH_UNITS = ("ft", "m", "kft")


def check_money(project: Project, faults: Faults) -> None:
    """Add a fault for each factor without one basis, each labor unit that doesn't fit, and a bond with two rates."""
    book = project.prices
    if book is None:
        return
    for factor in book.factors:
        _basis(factor, faults)
    for item in book.items:
        _labor_unit(item, faults)
    for line in book.lines:
        _share(line, faults)
    _bond(book.build_up, faults)


def _basis(factor: Factor, faults: Faults) -> None:
    typed = [key for attribute, key in BASES.items() if getattr(factor, attribute) is not None]
    if len(typed) != 1:
        faults.add(
            factor.source.at("id"),
            f"difficulty factor {factor.id!r} has {' and '.join(f'`{key}`' for key in typed) or 'no figure'}",
            f"one of {', '.join(f'`{key}:`' for key in BASES.values())}",
            "leave one of them" if typed else "add one of them",
        )
    steps = [row for row in table("labor_factors") if row.cells["factor"] == "ladder_height"]
    highest = max(steps, key=lambda row: row.number("above_m"))
    if factor.height_m is not None and over(factor.height_m, highest.number("above_m")):
        faults.add(
            factor.source.at("height"),
            f"{factor.source.typed('height')} is above the published steps",
            f"at most {highest.number('above_ft'):g} ft",
            "type your own `factor:`",
        )
    most = max(int(row.number("to_repeats")) for row in table("labor_factors") if row.cells["factor"] == "repetition")
    if factor.repeats is not None and factor.repeats > most:
        faults.add(
            factor.source.at("repeats"),
            f"{factor.repeats} repeats are beyond the published steps",
            f"at most {most}",
            "type your own `factor:`",
        )


def _labor_unit(item: PriceItem, faults: Faults) -> None:
    if item.labor_unit is None:
        return
    rows = [row for row in table("labor_units") if row.text("unit") != "share"]
    found = next((row for row in rows if row.text("id") == item.labor_unit), None)
    if found is None:
        known = known_words([row.text("id") for row in rows], 60)
        faults.add(item.source.at("labor_unit"), f"labor unit {item.labor_unit!r} is not published", f"one of {known}",
                   "mend the name, or type `hours:`")  # fmt: skip
    elif not _fits(item.unit, found):
        faults.add(
            item.source.at("labor_unit"),
            f"labor unit {item.labor_unit!r} is by the {found.text('unit')}, item {item.id!r} by the {item.unit}",
            "ft, m or kft" if found.text("unit") == "ft" else "each or lot",
            "mend `unit`, or type `hours:`",
        )


def _fits(unit: str, row: Row) -> bool:
    return unit in LENGTH_UNITS if row.text("unit") == "ft" else unit in ("each", "lot")


def _share(line: OtherLine, faults: Faults) -> None:
    if line.hours_share and line.hours:
        faults.add(
            line.source.at("hours_percent"),
            f"line {line.id!r} has `hours` and `hours_percent`",
            "hours of its own, or a share of the others'",
            "leave one of them",
        )


def _bond(typed: BuildUp, faults: Faults) -> None:
    keys = [key for key, given in (("bond_percent", typed.bond), ("bond_tiers", typed.bond_tiers)) if given]
    if typed.bond_rates == "published" and keys:
        faults.add(
            typed.source.at("bond_rates"),
            f"the bond has published rates and `{keys[0]}`",
            "published rates, or typed ones",
            "leave one of them",
        )
