"""Heat that equipment leaves in its room, and what cooling that asks for.

Power that a switch sends to devices elsewhere is no heat in its room; what it loses on the way there is.
"""

from __future__ import annotations

from typing import Final

from estimator.calc.checked import not_negative, positive
from estimator.calc.formula import Expression

MAINS: Final = Expression("own_w + given_w / efficiency")
SWITCH_LOSS: Final = Expression("own_w + given_w / efficiency - given_w")
SUPPLY_LOSS: Final = Expression("load_w / efficiency - load_w")
BTU_PER_H: Final = Expression("lost_w * btu_per_h_per_w")
TONS: Final = Expression("btu_per_h / btu_per_h_per_ton")


def mains_w(*, own_w: float, given_w: float, efficiency: float = 1.0) -> float:
    """Return what a switch takes from its outlet [W]: its own consumption and what its ports give.

    ``efficiency`` [unitless] is the share of the mains power for its ports that reaches them; at one,
    its own consumption is taken to hold that loss.
    Source: conservation of energy.
    Raises: ValueError if watts are below zero, or the efficiency is not above zero or is over one.

    >>> mains_w(own_w=50, given_w=180, efficiency=0.9)
    250.0
    """
    not_negative(own_w=own_w, given_w=given_w)
    _share(efficiency)
    return MAINS(own_w=own_w, given_w=given_w, efficiency=efficiency)


def switch_loss_w(*, own_w: float, given_w: float, efficiency: float = 1.0) -> float:
    """Return what a switch turns into heat [W]: all of its mains power that its ports don't give away.

    Source: conservation of energy.
    Raises: ValueError if watts are below zero, or the efficiency is not above zero or is over one.

    >>> switch_loss_w(own_w=50, given_w=180, efficiency=0.9)
    70.0
    """
    not_negative(own_w=own_w, given_w=given_w)
    _share(efficiency)
    return SWITCH_LOSS(own_w=own_w, given_w=given_w, efficiency=efficiency)


def supply_loss_w(*, load_w: float, efficiency: float) -> float:
    """Return what an uninterruptible supply turns into heat as it carries a load [W].

    Source: conservation of energy.
    Raises: ValueError if the load is below zero, or the efficiency is not above zero or is over one.

    >>> round(supply_loss_w(load_w=850, efficiency=0.85), 9)
    150.0
    """
    not_negative(load_w=load_w)
    _share(efficiency)
    return SUPPLY_LOSS(load_w=load_w, efficiency=efficiency)


def btu_per_h(*, lost_w: float, btu_per_h_per_w: float) -> float:
    """Return the heat that a room must shed [BTU/h].

    Source: definition of the unit.
    Raises: ValueError if the watts are below zero, or the unit's factor is not above zero.

    >>> btu_per_h(lost_w=1500, btu_per_h_per_w=3.412)
    5118.0
    """
    not_negative(lost_w=lost_w)
    positive(btu_per_h_per_w=btu_per_h_per_w)
    return BTU_PER_H(lost_w=lost_w, btu_per_h_per_w=btu_per_h_per_w)


def cooling_tons(*, btu_per_h: float, btu_per_h_per_ton: float) -> float:
    """Return the cooling that sheds a heat [tons of refrigeration].

    Source: definition of the unit.
    Raises: ValueError if the heat is below zero, or the unit's factor is not above zero.

    >>> cooling_tons(btu_per_h=24000, btu_per_h_per_ton=12000)
    2.0
    """
    not_negative(btu_per_h=btu_per_h)
    positive(btu_per_h_per_ton=btu_per_h_per_ton)
    return TONS(btu_per_h=btu_per_h, btu_per_h_per_ton=btu_per_h_per_ton)


def _share(efficiency: float) -> None:
    positive(efficiency=efficiency)
    if efficiency > 1.0:
        raise ValueError(f"efficiency must be at most 1, not {efficiency!r}")
