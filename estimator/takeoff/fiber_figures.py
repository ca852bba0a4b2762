"""Figures of fiber links: counted pairs, limits at each wavelength, power budgets, reach and bandwidth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.fiber import COMPONENT_LIMIT, COUNTED_PAIRS, MODAL_BANDWIDTH, POWER_BUDGET, SET_ASIDE
from estimator.calc.formula import Expression
from estimator.spec.cabling import OpticalEquipment
from estimator.takeoff.columns import column, filled
from estimator.takeoff.fiber_links import (
    COMPONENTS_ALONE,
    EQUIPPED,
    TIGHTER,
    TIGHTEST,
    FiberLink,
    FiberLinks,
    Wave,
    component,
    power_budget_of,
    set_aside_of,
)
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over

BUDGET: Final = Expression("budget_db")
"""Channel loss that an application bears, as tabled [dB]."""

REACH: Final = Expression("reach_m")
"""How far an application is tabled to reach over a grade of fiber [m]."""

GOVERNED: Final[Mapping[tuple[bool, bool], Expression]] = {
    (False, False): COMPONENTS_ALONE,
    (True, False): TIGHTER,
    (False, True): EQUIPPED,
    (True, True): TIGHTEST,
}
"""The formula of the limit that governs, by whether an application and equipment are named at the wavelength."""

GUIDE: Final = "state university design guide, sample link-loss budget"


@dataclass(frozen=True, slots=True)
class _At:
    """A link at one wavelength."""

    link: FiberLink
    wave: Wave

    @property
    def id(self) -> str:
        """Return the link's name."""
        return self.link.id

    @property
    def named(self) -> tuple[bool, bool]:
        """Return whether an application and equipment are named here."""
        return self.wave.application is not None, self.wave.equipment_db is not None


def fiber_families(fiber: FiberLinks) -> Iterable[Family]:
    """Yield counted pairs, reach, bandwidth and power budget, and at each wavelength the limits with what governs."""
    yield from filled(
        (
            column(("fiber", "mated_pairs", "mated pairs that the measurement counts", "pairs"), COUNTED_PAIRS,
                   "ANSI/TIA-568.3-D, reference methods", fiber.links, lambda one: float(one.pairs), _pair_inputs),
            column(("fiber", "reach", "how far its application reaches over its fiber", "m"), REACH,
                   "IEEE 802.3, by the fiber's modal bandwidth", fiber.links, lambda one: one.reach_m, _reach_input,
                   judge=judged_reach),
            column(("fiber", "modal_bandwidth_850", "modal bandwidth that its length leaves at 850 nm", "MHz"),
                   MODAL_BANDWIDTH, "bandwidth goes with the inverse of the length", fiber.links, _modal_mhz,
                   _modal_inputs),
            *_equipment_families([link for link in fiber.links if link.made.equipment is not None]),
        )
    )  # fmt: skip
    wavelengths = sorted({wave.nm for link in fiber.links for wave in link.waves})
    for nm in wavelengths:
        at = [_At(link, wave) for link in fiber.links for wave in link.waves if wave.nm == nm]
        yield from filled(_wave_families(nm, at))


def _wave_families(nm: int, at: list[_At]) -> Iterable[Family]:
    budgeted = [one for one in at if one.wave.application is not None]
    yield column(("fiber", f"component_limit_{nm}", f"loss its components allow at {nm} nm", "dB"), COMPONENT_LIMIT,
                 "ANSI/TIA-568 link attenuation", at, lambda one: one.wave.component_db, _component_inputs,
                 judge=_judged_components)  # fmt: skip
    yield column(("fiber", f"application_budget_{nm}", f"loss its application bears at {nm} nm", "dB"), BUDGET,
                 "IEEE 802.3, channel insertion loss", budgeted, _budget_of,
                 lambda one: {"budget_db": _budget(one)})  # fmt: skip
    for named, formula in GOVERNED.items():
        yield column(("fiber", f"limit_{nm}", f"limit that governs at {nm} nm", "dB"), formula,
                     "the tightest of what is named at this wavelength", [one for one in at if one.named == named],
                     lambda one: one.wave.governing.limit_db, _tighter_inputs)  # fmt: skip


def _equipment_families(equipped: list[FiberLink]) -> Iterable[Family]:
    yield column(("fiber", "set_aside", "what is kept in hand of its power budget", "dB"), SET_ASIDE, GUIDE, equipped,
                 lambda one: set_aside_of(_equipment(one)), _set_aside_inputs)  # fmt: skip
    yield column(("fiber", "power_budget", "loss that its equipment bears", "dB"), POWER_BUDGET, GUIDE, equipped,
                 lambda one: power_budget_of(_equipment(one)), _power_inputs)  # fmt: skip


def _equipment(one: FiberLink) -> OpticalEquipment:
    assert one.made.equipment is not None
    return one.made.equipment


def _set_aside_inputs(one: FiberLink) -> Mapping[str, Input]:
    equipment, splice = _equipment(one), component("splice")
    at = equipment.source.at
    return {
        "margin_db": Input(equipment.margin_db, "dB", f"equipment, {at('margin')}"),
        "penalty_db": Input(equipment.penalty_db, "dB", f"equipment, {at('penalty')}"),
        "repair_splices": Input(float(equipment.repair_splices), "splices", f"equipment, {at('repair_splices')}"),
        "splice_db": Input(splice.number("most_db"), "dB", splice.source),
    }


def _power_inputs(one: FiberLink) -> Mapping[str, Input]:
    equipment = _equipment(one)
    at = equipment.source.at
    return {
        "transmit_dbm": Input(equipment.transmit_dbm, "dBm", f"equipment, {at('transmit_dbm')}"),
        "receive_dbm": Input(equipment.receive_dbm, "dBm", f"equipment, {at('receive_dbm')}"),
        "set_aside_db": Input(set_aside_of(equipment), "dB", f"fiber.{one.id}.set_aside"),
    }


def _pair_inputs(one: FiberLink) -> Mapping[str, Input]:
    made = one.made
    return {
        "inside_pairs": Input(float(one.inside_pairs), "pairs", f"between the ends, {made.connections_at}"),
        "ends_counted": Input(float(one.ends_counted), "pairs", f"{made.reference}, {made.reference_at}"),
    }


def _reach_input(one: FiberLink) -> Mapping[str, Input]:
    row = min(one.applications, key=lambda row: row.number("reach_m"))
    origin = f"{row.text('application')} over {row.text('fiber')}: {row.source}"
    return {"reach_m": Input(row.number("reach_m"), "m", origin)}


def judged_reach(one: FiberLink) -> Judged | None:
    """Return a link's length against its application's reach, where one is tabled."""
    reach, length_m = one.reach_m, one.length.expected_m
    if reach is None:
        return None
    word = "beyond the reach" if over(length_m, reach) else "within"
    return Judged(word, reach - length_m, reach, one.applications[0].source)


def _modal_mhz(one: FiberLink) -> float | None:
    mhz_km, length_m = one.modal_mhz_km, one.length.expected_m
    return None if mhz_km is None or length_m <= 0 else MODAL_BANDWIDTH(mhz_km=mhz_km, length_m=length_m)


def _modal_inputs(one: FiberLink) -> Mapping[str, Input]:
    typed = one.length.cable.typed
    if typed is not None and typed.modal_mhz_km is not None:
        origin = f"cable {typed.id}, {typed.source.at('modal_bandwidth')}"
    else:
        origin = f"{one.fiber_class}: {one.grade.source if one.grade else ''}"
    return {"mhz_km": Input(one.modal_mhz_km or 0.0, "MHz km", origin), "length_m": _length(one)}


def _length(one: FiberLink) -> Input:
    return Input(one.length.expected_m, "m", f"{one.length.kind}.{one.id}.expected_length")


def _component_inputs(one: _At) -> Mapping[str, Input]:
    pair, splice, made = component("connector_pair"), component("splice"), one.link.made
    rate = f"{one.link.fiber_class}: {one.wave.rate.source}"
    return {
        "length_m": _length(one.link),
        "db_per_km": Input(one.wave.rate.number("db_per_km"), "dB/km", rate),
        "pairs": Input(float(one.link.pairs), "pairs", f"fiber.{one.id}.mated_pairs"),
        "pair_db": Input(pair.number("most_db"), "dB", pair.source),
        "splices": Input(float(made.splices), "splices", f"strand, {made.splices_at}"),
        "splice_db": Input(splice.number("most_db"), "dB", splice.source),
    }


def _judged_components(one: _At) -> Judged | None:
    row = one.wave.application
    if row is None:
        return None
    limit = row.number("loss_db")
    word = "over the budget" if over(one.wave.component_db, limit) else "within"
    return Judged(word, limit - one.wave.component_db, limit, row.source)


def _budget_of(one: _At) -> float | None:
    return None if one.wave.application is None else one.wave.application.number("loss_db")


def _budget(one: _At) -> Input:
    row = one.wave.application
    assert row is not None
    return Input(row.number("loss_db"), "dB", f"{row.text('application')} over {row.text('fiber')}: {row.source}")


def _tighter_inputs(one: _At) -> Mapping[str, Input]:
    found = {"component_db": Input(one.wave.component_db, "dB", f"fiber.{one.id}.component_limit_{one.wave.nm}")}
    if one.wave.application is not None:
        found["application_db"] = _budget(one)
    if one.wave.equipment_db is not None:
        found["equipment_db"] = Input(one.wave.equipment_db, "dB", f"fiber.{one.id}.power_budget")
    return found
