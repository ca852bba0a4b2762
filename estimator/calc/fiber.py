"""Fiber links: the loss that the components allow, the application's budget, the tighter of both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.calc.checked import finite, not_negative, positive
from estimator.calc.formula import Expression
from estimator.units.rounding import over

COMPONENT_LIMIT: Final = Expression("length_m / 1000 * db_per_km + pairs * pair_db + splices * splice_db")
COUNTED_PAIRS: Final = Expression("inside_pairs + ends_counted")
REACH: Final = Expression("1000 * (budget_db - connections_db) / db_per_km")
FIBER_RATE: Final = Expression("1000 * (budget_db - connections_db) / length_m")
POWER_BUDGET: Final = Expression("transmit_dbm - receive_dbm - set_aside_db")
SET_ASIDE: Final = Expression("margin_db + penalty_db + repair_splices * splice_db")
MODAL_BANDWIDTH: Final = Expression("1000 * mhz_km / length_m")
APPLICATION_LOSS: Final = Expression("connections_db + db_per_km * length_m / 1000")

COMPONENTS: Final = "components"
APPLICATION: Final = "application"


@dataclass(frozen=True, kw_only=True, slots=True)
class Governing:
    """The limit that a measured loss is judged by."""

    limit_db: float
    by: str  # "components" or "application"


def counted_pairs(*, inside_pairs: int, ends_counted: int) -> int:
    """Return the mated pairs that a loss measurement includes [count].

    ``ends_counted`` is what the reference method adds: both ends with one reference cord, one
    with two, none with three.
    Source: ANSI/TIA-568.3-D, reference methods.
    Raises: ValueError if a count is below zero.

    >>> counted_pairs(inside_pairs=1, ends_counted=2)
    3
    """
    not_negative(inside_pairs=inside_pairs, ends_counted=ends_counted)
    return int(COUNTED_PAIRS(inside_pairs=inside_pairs, ends_counted=ends_counted))


def component_limit_db(
    *, length_m: float, db_per_km: float, pairs: int, pair_db: float, splices: int, splice_db: float
) -> float:
    """Return the loss that cable, mated pairs and splices allow together [dB].

    Source: ANSI/TIA-568.3-D, link attenuation.
    Raises: ValueError if a length, count or loss is below zero.

    >>> round(component_limit_db(length_m=300, db_per_km=3.0, pairs=2, pair_db=0.75, splices=0,
    ...     splice_db=0.3), 6)
    2.4
    """
    not_negative(length_m=length_m, db_per_km=db_per_km, pairs=pairs, pair_db=pair_db)
    not_negative(splices=splices, splice_db=splice_db)
    return COMPONENT_LIMIT(
        length_m=length_m,
        db_per_km=db_per_km,
        pairs=pairs,
        pair_db=pair_db,
        splices=splices,
        splice_db=splice_db,
    )


def governing(*, component_db: float, application_db: float | None) -> Governing:
    """Return the tighter of component limit and application budget [dB]; equals go to components.

    Source: ANSI/TIA-568.3-D and IEEE 802.3; both are reported, the tighter decides.
    Raises: ValueError if a limit is not a number.

    >>> governing(component_db=2.4, application_db=2.6)
    Governing(limit_db=2.4, by='components')
    """
    finite(component_db=component_db)
    if application_db is None:
        return Governing(limit_db=component_db, by=COMPONENTS)
    finite(application_db=application_db)
    if over(component_db, application_db):
        return Governing(limit_db=application_db, by=APPLICATION)
    return Governing(limit_db=component_db, by=COMPONENTS)


def reach_m(*, budget_db: float, connections_db: float, db_per_km: float) -> float:
    """Return how far a budget carries once its connections are paid [m]; zero if they take it all.

    Source: IEEE 802.3, channel insertion loss less the connection allowance.
    Raises: ValueError if the attenuation is not above zero.

    >>> reach_m(budget_db=4.5, connections_db=2.0, db_per_km=0.5)
    5000.0
    """
    positive(db_per_km=db_per_km)
    not_negative(budget_db=budget_db, connections_db=connections_db)
    return max(0.0, REACH(budget_db=budget_db, connections_db=connections_db, db_per_km=db_per_km))


def fiber_rate_db_per_km(*, budget_db: float, connections_db: float, length_m: float) -> float:
    """Return the attenuation that a budget leaves the fiber over a length [dB/km].

    Source: IEEE 802.3, channel insertion loss less the connection allowance.
    Raises: ValueError if the length is not above zero or a loss is below it.

    >>> fiber_rate_db_per_km(budget_db=11.0, connections_db=1.5, length_m=40_000)
    0.2375
    """
    positive(length_m=length_m)
    not_negative(budget_db=budget_db, connections_db=connections_db)
    return FIBER_RATE(budget_db=budget_db, connections_db=connections_db, length_m=length_m)


def application_loss_db(*, length_m: float, db_per_km: float, connections_db: float) -> float:
    """Return the channel loss behind an application's reach [dB].

    Source: IEEE 802.3 task forces, worst-case fiber plus the connection allowance.
    Raises: ValueError if a quantity is below zero.

    >>> round(application_loss_db(length_m=400, db_per_km=3.5, connections_db=1.5), 6)
    2.9
    """
    not_negative(length_m=length_m, db_per_km=db_per_km, connections_db=connections_db)
    return APPLICATION_LOSS(length_m=length_m, db_per_km=db_per_km, connections_db=connections_db)


def power_budget_db(*, transmit_dbm: float, receive_dbm: float, set_aside_db: float = 0.0) -> float:
    """Return the loss that transmitter and receiver can bear [dB], less what is set aside.

    ``set_aside_db`` holds operating margin, penalties and repair splices.
    Source: IEEE 802.3 interface powers; state university design guide for the set-asides.
    Raises: ValueError if the set-aside is below zero.

    >>> power_budget_db(transmit_dbm=-18, receive_dbm=-31, set_aside_db=2.5)
    10.5
    """
    finite(transmit_dbm=transmit_dbm, receive_dbm=receive_dbm)
    not_negative(set_aside_db=set_aside_db)
    return POWER_BUDGET(transmit_dbm=transmit_dbm, receive_dbm=receive_dbm, set_aside_db=set_aside_db)


def set_aside_db(*, margin_db: float, penalty_db: float, repair_splices: int, splice_db: float) -> float:
    """Return what a power budget keeps in hand before any fiber is lit [dB].

    ``margin_db`` is for operation, ``penalty_db`` the receiver's own, ``repair_splices`` those that
    later breaks will cost, each at ``splice_db``.
    Source: state university design guide, sample link-loss budget.
    Raises: ValueError if a quantity is below zero.

    >>> round(set_aside_db(margin_db=2.0, penalty_db=0.0, repair_splices=2, splice_db=0.3), 6)
    2.6
    """
    not_negative(margin_db=margin_db, penalty_db=penalty_db, repair_splices=repair_splices, splice_db=splice_db)
    return SET_ASIDE(margin_db=margin_db, penalty_db=penalty_db, repair_splices=repair_splices, splice_db=splice_db)


def modal_bandwidth_mhz(*, mhz_km: float, length_m: float) -> float:
    """Return the modal bandwidth that a length of multimode fiber leaves [MHz].

    ``mhz_km`` [MHz km] is the fiber's own at the wavelength.
    Source: ISO/IEC 11801 and the TIA-492 series; bandwidth goes with the inverse of the length.
    Raises: ValueError if bandwidth or length is not above zero.

    >>> modal_bandwidth_mhz(mhz_km=500, length_m=250)
    2000.0
    """
    positive(mhz_km=mhz_km, length_m=length_m)
    return MODAL_BANDWIDTH(mhz_km=mhz_km, length_m=length_m)
