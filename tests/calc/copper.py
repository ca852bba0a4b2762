"""Copper from the published tables, for the tests of every discipline that runs on it."""

from __future__ import annotations

from estimator.calc.conductor import Gauge, Metal, gauge_ohm_per_m, ohm_per_m_from_kft
from estimator.reference.lookup import table

FOOT = 0.3048


def gauge() -> Gauge:
    """Return the wire gauge as the table defines it."""
    row = table("awg_definition").find(anchor_awg=36)
    return Gauge(
        anchor_awg=row.number("anchor_awg"),
        anchor_m=row.number("anchor_m"),
        ratio=row.number("ratio"),
        steps=row.number("steps"),
    )


def copper() -> Metal:
    """Return copper as the table gives it."""
    row = table("metals").find(metal="copper")
    return Metal(
        resistivity_ohm_m=row.number("resistivity_ohm_m"),
        coefficient_per_k=row.number("coefficient_per_k"),
        reference_c=row.number("reference_c"),
    )


def solid(awg: int, temperature_c: float = 20.0, factor: float = 1.0) -> float:
    """Return the resistance of one solid copper conductor [ohm/m]."""
    return gauge_ohm_per_m(awg=awg, gauge=gauge(), metal=copper(), temperature_c=temperature_c, factor=factor)


def nec(awg: int, *, coated: bool = False, stranded: bool = False) -> float:
    """Return the tabled resistance of one conductor at 75 °C [ohm/m]."""
    row = table("nec_table_8").find(awg=awg, coated=coated, stranded=stranded)
    return ohm_per_m_from_kft(ohm_per_kft=row.number("ohm_per_kft"))
