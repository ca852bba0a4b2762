"""House rules over code editions over published defaults, each value with its origin."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from estimator.reference.lookup import table
from estimator.spec.faults import Place
from estimator.spec.fields import declared
from estimator.spec.project import HouseRules


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
    order_by: str
    design_limit_m: float
    max_fill_conduit: float
    max_fill_tray: float
    bend_derating: float
    hook_spacing_m: float
    hook_cables: int
    plan_distance: str
    straight_factor: float
    length_tolerance: float
    length_tolerance_m: float
    loop_tolerance: float
    poe_cords_m: float
    poe_budget_by: str
    poe_reserve: float
    ambient_c: float
    bundle_rise_c: float
    amplifier_load_max: float
    battery_ageing: float
    dc_drop: float
    nac_decides: str
    nac_drop: float
    speaker_loss_db: float
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


def resolve(house: HouseRules | None) -> Rules:
    """Return the rules of a job: what its file says, and the default for all it leaves out."""
    defaults = {row.text("key"): row for row in table("house_defaults")}
    basis = []
    for field in declared(HouseRules).values():
        row = defaults[field.attribute]
        typed = getattr(house, field.attribute) if house else None
        fallback = row.cells["value"]
        assert isinstance(fallback, str | float | int)
        basis.append(
            Ruled(
                key=field.key,
                attribute=field.attribute,
                value=fallback if typed is None else typed,
                meaning=field.help,
                origin="default" if typed is None else "this file",
                place=None if typed is None or house is None else house.source.at(field.key),
                source=row.source if typed is None else "house rule",
            )
        )
    values = {rule.attribute: rule.value for rule in basis}
    missing = {f.name for f in dataclasses.fields(Rules)} - set(values) - {"basis"}
    assert not missing, missing
    return Rules(**values, basis=tuple(basis))  # type: ignore[arg-type]
