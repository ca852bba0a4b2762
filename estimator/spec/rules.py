"""House rules over code editions over published defaults, each value with its origin."""

from __future__ import annotations

import dataclasses
import re
from dataclasses import dataclass
from typing import Final

from estimator.reference.lookup import Row, table
from estimator.spec.faults import Place
from estimator.spec.fields import Declared, declared
from estimator.spec.project import HouseRules, Plan

PLAN_HEIGHT: Final = "ceiling height less outlet height of the plan"


@dataclass(frozen=True, kw_only=True, slots=True)
class Ruled:
    """One rule as it is used: its value, where it came from and what stands behind it."""

    key: str
    attribute: str
    value: float | str
    meaning: str
    origin: str
    place: Place | None
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Rules:
    """The rules of a job, each with a value; lengths in meters, shares as fractions."""

    room_leg_m: float
    last_leg_m: float
    drop_height_m: float
    slack_room_m: float
    slack_device_m: float
    slack_fiber_m: float
    service_loop_m: float
    loop_at: str
    waste: float
    cut_to_m: float
    pull_at_once: int
    order_by: str
    design_limit_m: float
    max_fill_conduit: float
    max_fill_tray: float
    bend_derating: float
    jam_allowance: float
    hook_spacing_m: float
    hook_cables: int
    plan_distance: str
    average_allowance: float
    straight_factor: float
    length_tolerance: float
    length_tolerance_m: float
    loop_tolerance: float
    poe_cords_m: float
    cord_gauge: str
    poe_budget_by: str
    poe_reserve: float
    ambient_c: float
    bundle_rise_c: float
    conductor_basis: str
    amplifier_load_max: float
    battery_ageing: float
    battery_factors: str
    battery_margin: float
    battery_rate: str
    dc_drop: float
    nac_decides: str
    nac_drop: float
    speaker_loss_db: float
    off_expectation: str
    marginal: str
    retest: str
    velocity_correction: str
    basis: tuple[Ruled, ...]

    def ruled(self, attribute: str) -> Ruled:
        """Return a rule with its origin. Raises: KeyError for a name that is no rule."""
        for rule in self.basis:
            if rule.attribute == attribute:
                return rule
        raise KeyError(attribute)


def resolve(house: HouseRules | None, plan: Plan | None = None, lengths_in: str = "ft") -> Rules:
    """Return the rules of a job: what its file says, and the default for all it leaves out."""
    defaults = {row.text("key"): row for row in table("house_defaults")}
    basis = [
        _ruled(field, house, plan, defaults[field.attribute], lengths_in) for field in declared(HouseRules).values()
    ]
    values = {rule.attribute: rule.value for rule in basis}
    missing = {f.name for f in dataclasses.fields(Rules)} - set(values) - {"basis"}
    assert not missing, missing
    return Rules(**values, basis=tuple(basis))  # type: ignore[arg-type]


def _ruled(field: Declared, house: HouseRules | None, plan: Plan | None, row: Row, lengths_in: str) -> Ruled:
    typed = getattr(house, field.attribute) if house else None
    place = house.source.at(field.key) if house is not None and typed is not None else None
    source = "house rule"
    if typed is None and field.attribute == "drop_height_m" and plan is not None:
        typed = height_of(plan)
        place, source = (plan.source.at("ceiling"), PLAN_HEIGHT) if typed is not None else (None, "")
    metric = lengths_in == "m" and row.cells.get("metric_value") is not None
    fallback = row.cells["metric_value" if metric else "value"]
    assert isinstance(fallback, str | float | int)
    if typed is None:
        source = row.text("metric_source") if metric else row.source
    return Ruled(
        key=field.key,
        attribute=field.attribute,
        value=fallback if typed is None else typed,
        meaning=field.help,
        origin="default" if typed is None else "this file",
        place=place,
        source=source,
    )


def height_of(plan: Plan) -> float | None:
    """Return how far a cable falls from the pathway to an outlet [m], where a plan types both heights."""
    if plan.ceiling_m is None or plan.outlet_m is None:
        return None
    return abs(plan.ceiling_m - plan.outlet_m)


def nac_start(nominal_v: float) -> tuple[float, str]:
    """Return the volts at which a notification circuit of a nominal voltage starts [V], and who says so."""
    rows = table("nac_start")
    known = rows.has(nominal_v=nominal_v)
    row = rows.find(nominal_v=nominal_v) if known else rows.rows[0]
    volts = row.number("start_v") if known else nominal_v * row.number("share")
    return volts, f"{100 * row.number('share'):g} % of {nominal_v:g} V: {row.source}"


def code_year(edition: str) -> int:
    """Return the year of an adopted edition of the electrical code; the latest tabled where none is told."""
    found = re.search(r"\d{4}", edition)
    return int(found.group()) if found else int(table("conduit_fill").edition)


def edition_row(name: str, adopted: str, system: str | None = None) -> Row:
    """Return a table's row of the adopted edition: the last one up to it, else the first there is."""
    rows = [row for row in table(name) if system is None or row.cells["system"] == system]
    dated = sorted((row for row in rows if row.text("edition").isdigit()), key=lambda row: row.text("edition"))
    year = re.search(r"\d{4}", adopted)
    if not dated or year is None:
        return dated[-1] if dated else rows[0]
    up_to = [row for row in dated if row.text("edition") <= year.group()]
    return up_to[-1] if up_to else dated[0]
