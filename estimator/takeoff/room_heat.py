"""Heat of the rooms: what switches, supplies and their other loads leave there.

Power that leaves by the ports is no heat of the room; what powered cables lose is shown apart, because
it arises along their way. A switch without its own consumption counts nothing, and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.heat import BTU_PER_H, TONS
from estimator.spec.model import Project
from estimator.takeoff.columns import column, filled
from estimator.takeoff.conductors import fact
from estimator.takeoff.poe import PoE
from estimator.takeoff.ups import Carried, UpsSheet
from estimator.takeoff.worked import Family, Input

SUM: Final = Expression("sum(watts)")
"""Watts of several things together [W]."""

EQUIPMENT: Final = Expression("switches_w + ups_w + loads_w")
"""Heat that equipment leaves in a room [W]."""

WITH_CABLES: Final = Expression("equipment_w + cables_w")
"""Heat of a room with the loss in its powered cables, which arises along their way [W]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class RoomHeat:
    """The heat that a room's switches and supplies leave in it."""

    room: str
    switches_w: float
    ups_w: float
    loads_w: float
    cables_w: float
    equipment_w: float
    total_w: float
    btu_per_h: float
    tons: float
    untyped: tuple[str, ...]

    @property
    def id(self) -> str:
        """Return the room's name."""
        return self.room


def work_out_heat(project: Project, poe: PoE, sheets: Sequence[UpsSheet]) -> tuple[RoomHeat, ...]:
    """Return the heat of every room in which a switch or a UPS stands."""
    per_w, per_ton = fact("btu_per_h_per_w", "ups_facts"), fact("btu_per_h_per_ton", "ups_facts")
    found = []
    for room in project.rooms:
        switches = [one for one in poe.switches if one.switch.room == room]
        supplies = [one for one in sheets if one.ups.room == room]
        if not switches and not supplies:
            continue
        parts = {
            "switches_w": SUM(watts=[one.loss_w or 0.0 for one in switches]),
            "ups_w": SUM(watts=[one.loss_w for one in supplies]),
            "loads_w": SUM(watts=[load.total_w for one in supplies for load in one.carried if stays(load)]),
        }
        cables_w = SUM(watts=[one.cable_loss_w for one in switches])
        equipment_w = EQUIPMENT(**parts)
        total_w = WITH_CABLES(equipment_w=equipment_w, cables_w=cables_w)
        heat = BTU_PER_H(lost_w=total_w, btu_per_h_per_w=per_w.number("value"))
        found.append(
            RoomHeat(
                room=room,
                **parts,
                cables_w=cables_w,
                equipment_w=equipment_w,
                total_w=total_w,
                btu_per_h=heat,
                tons=TONS(btu_per_h=heat, btu_per_h_per_ton=per_ton.number("value")),
                untyped=tuple(one.id for one in switches if one.loss_w is None),
            )
        )
    return tuple(found)


def stays(load: Carried) -> bool:
    """Return whether a load's heat stays in the room of its UPS; a switch counts in its own room."""
    return load.switch is None and not load.elsewhere


def heat_families(rooms: Sequence[RoomHeat]) -> Iterable[Family]:
    """Yield the heat of every room in watts, BTU an hour and tons of refrigeration."""
    yield from filled(_heat_families(rooms))


def _heat_families(rooms: Sequence[RoomHeat]) -> Iterable[Family]:
    energy = "conservation of energy"
    yield column(("room", "equipment_heat", "heat of switches and supplies", "W"), EQUIPMENT, energy, rooms,
                 lambda one: one.equipment_w, _equipment)  # fmt: skip
    yield column(("room", "heat", "heat with the loss in powered cables", "W"), WITH_CABLES, energy, rooms,
                 lambda one: one.total_w, _with_cables)  # fmt: skip
    yield column(("room", "cooling", "heat that cooling must take away", "BTU/h"), BTU_PER_H, "definition of the unit",
                 rooms, lambda one: one.btu_per_h,
                 lambda one: {"lost_w": Input(one.total_w, "W", f"room.{one.id}.heat"),
                              "btu_per_h_per_w": _unit("btu_per_h_per_w", "BTU/h per W")})  # fmt: skip
    yield column(("room", "cooling_tons", "the same in tons of refrigeration", "tons"), TONS, "definition of the unit",
                 rooms, lambda one: one.tons,
                 lambda one: {"btu_per_h": Input(one.btu_per_h, "BTU/h", f"room.{one.id}.cooling"),
                              "btu_per_h_per_ton": _unit("btu_per_h_per_ton", "BTU/h per ton")})  # fmt: skip


def _unit(name: str, unit: str) -> Input:
    row = fact(name, "ups_facts")
    return Input(row.number("value"), unit, row.source)


def _equipment(one: RoomHeat) -> Mapping[str, Input]:
    left_out = f"; {', '.join(one.untyped)} without `own_load:` count nothing" if one.untyped else ""
    return {
        "switches_w": Input(one.switches_w, "W", f"loss of the switches in the room{left_out}"),
        "ups_w": Input(one.ups_w, "W", "loss of the UPS in the room"),
        "loads_w": Input(one.loads_w, "W", "other loads of those UPS, all of it heat"),
    }


def _with_cables(one: RoomHeat) -> Mapping[str, Input]:
    return {
        "equipment_w": Input(one.equipment_w, "W", f"room.{one.id}.equipment_heat"),
        "cables_w": Input(one.cables_w, "W", "lost in the powered cables of its switches"),
    }
