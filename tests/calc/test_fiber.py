"""Fiber: component limit by reference method, application budget, the tighter of both."""

from __future__ import annotations

from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc import fiber
from estimator.reference.lookup import TableError, table
from estimator.units.rounding import over, round_half_up
from tests.calc.refusals import Refused
from tests.published import Check


def _most(component: str) -> float:
    return table("fiber_component_limits").find(component=component).number("most_db")


def _limit(edition: str, kind: str, wavelength_nm: int, length_m: float, pairs: int, splices: int) -> float:
    row = table("fiber_attenuation").find(edition=edition, fiber=kind, wavelength_nm=wavelength_nm)
    return fiber.component_limit_db(
        length_m=length_m,
        db_per_km=row.number("db_per_km"),
        pairs=pairs,
        pair_db=_most("connector_pair"),
        splices=splices,
        splice_db=_most("splice"),
    )


def _owner(margin_db: float) -> dict[str, float]:
    """Return a sample budget: -18 dBm sent, -31 needed, two repair splices, two connector pairs of 0.5 dB."""
    penalties = fiber.set_aside_db(margin_db=margin_db, penalty_db=0.0, repair_splices=2, splice_db=_most("splice"))
    budget = fiber.power_budget_db(transmit_dbm=-18.0, receive_dbm=-31.0, set_aside_db=penalties)
    passive = fiber.component_limit_db(length_m=0, db_per_km=1.0, pairs=2, pair_db=0.5, splices=0, splice_db=0.3)
    return {
        "system gain": fiber.power_budget_db(transmit_dbm=-18.0, receive_dbm=-31.0),
        "penalties": penalties,
        "loss budget": budget,
        "passive loss": passive,
        "performance margin": budget - passive,
    }


def _loss(length_m: float, db_per_km: float, connections_db: float = 1.5) -> float:
    whole = fiber.application_loss_db(length_m=length_m, db_per_km=db_per_km, connections_db=connections_db)
    return round_half_up(whole, 1)


def _tabled(application: str, kind: str) -> float:
    return table("fiber_applications").find(application=application, fiber=kind).number("loss_db")


def _reach_km(db_per_km: float) -> float:
    row = table("fiber_applications").find(application="1000BASE-LX", fiber="single_mode")
    return fiber.reach_m(budget_db=row.number("loss_db"), connections_db=2.0, db_per_km=db_per_km) / 1000


GUIDE = "state university telecommunications design guide, sample link-loss budget; single"
TASK_FORCE = "IEEE 802.3 clause 52 and its task force: 3.5 dB/km and 1.5 dB of connections"
CONSORTIUM = "fiber consortium application page; single"

CHECKS = [
    *(
        Check(
            discipline="fiber",
            what=f"{what} with {margin_db} dB in hand [dB]",
            source=GUIDE,
            expected=printed,
            tolerance=0.05,
            obtained=lambda what=what, margin_db=margin_db: _owner(margin_db)[what],
        )
        for margin_db, column in (
            (
                2.0,
                (
                    ("system gain", 13.0),
                    ("penalties", 2.6),
                    ("loss budget", 10.4),
                    ("passive loss", 1.0),
                    ("performance margin", 9.4),
                ),
            ),
            (3.0, (("penalties", 3.6), ("loss budget", 9.4), ("performance margin", 8.4))),
        )
        for what, printed in column
    ),
    *(
        Check(
            discipline="fiber",
            what=f"10GBASE-SR channel loss at {length_m} m [dB]",
            source=f"{TASK_FORCE}; {confidence}",
            expected=printed,
            tolerance=0.0,
            obtained=partial(_loss, length_m, 3.5),
        )
        for length_m, printed, confidence in (
            (26, 1.6, "computed"),
            (33, 1.6, "computed"),
            (66, 1.7, "computed"),
            (82, 1.8, "computed"),
            (300, 2.6, "confirmed"),
            (400, 2.9, "single"),
        )
    ),
    *(
        Check(
            discipline="fiber",
            what=f"{application} channel loss at {length_m} m of {kind} [dB]",
            source=f"{clause}, 3.5 dB/km and {connections} dB of connections; {confidence}",
            expected=printed,
            tolerance=0.0,
            obtained=partial(_loss, length_m, 3.5, connections),
        )
        for application, kind, length_m, connections, printed, clause, confidence in (
            ("25GBASE-SR", "OM4", 100, 1.5, 1.9, "IEEE 802.3 clause 112, cabling trade table", "single"),
            ("40GBASE-SR4", "OM4", 150, 1.0, 1.5, "IEEE 802.3 clause 86, cabling trade table", "confirmed"),
            ("100GBASE-SR10", "OM4", 150, 1.0, 1.5, "IEEE 802.3 clause 86, cabling trade table", "confirmed"),
            ("40GBASE-SR4", "OM3", 100, 1.5, 1.9, "IEEE 802.3 clause 86", "computed"),
            ("100GBASE-SR4", "OM4", 100, 1.5, 1.9, "IEEE 802.3 clause 95", "computed"),
        )
    ),
    *(
        Check(
            discipline="fiber",
            what=f"{what} of 300 m OM3 with two pairs by {edition} [dB]",
            source="worked example after ANSI/TIA-568.3-D and 568-C.3; computed",
            expected=printed,
            tolerance=0.005,
            obtained=partial(_limit, edition, "OM3", 850, 300, pairs, 0),
        )
        for what, edition, pairs, printed in (
            ("fiber", "568.3-D", 0, 0.90),
            ("fiber and connectors", "568.3-D", 2, 2.40),
            ("fiber", "568-C.3", 0, 1.05),
            ("fiber and connectors", "568-C.3", 2, 2.55),
        )
    ),
    Check(
        discipline="fiber",
        what="1.5 km outside plant without connectors [dB]",
        source="ANSI/TIA-568.3-D outside-plant rate; computed",
        expected=0.75,
        tolerance=0.005,
        obtained=partial(_limit, "568.3-D", "single_mode_outside_plant", 1310, 1500, 0, 0),
    ),
    Check(
        discipline="fiber",
        what="40GBASE-LR4 reach at 0.4 dB/km [km]",
        source="fiber consortium application page, its budget carried on; computed",
        expected=11.75,
        tolerance=0.005,
        obtained=lambda: (
            fiber.reach_m(budget_db=_tabled("40GBASE-LR4", "single_mode"), connections_db=2.0, db_per_km=0.4) / 1000
        ),
    ),
    Check(
        discipline="fiber",
        what="10GBASE-LR between launch and receiver [dB]",
        source="IEEE 802.3 clause 52 powers in a telecom regulation; computed",
        expected=6.2,
        tolerance=0.05,
        obtained=partial(fiber.power_budget_db, transmit_dbm=-8.2, receive_dbm=-14.4),
    ),
    *(
        Check(
            discipline="fiber",
            what=f"400GBASE-SR4.2 channel loss at {length_m} m [dB]",
            source=CONSORTIUM,
            expected=printed,
            tolerance=0.0,
            obtained=partial(_loss, length_m, 3.0),
        )
        for length_m, printed in ((70, 1.7), (100, 1.8), (150, 2.0))
    ),
    *(
        Check(
            discipline="fiber",
            what=f"1000BASE-LX reach at {rate} dB/km [km]",
            source=CONSORTIUM,
            expected=km,
            tolerance=0.05,
            obtained=partial(_reach_km, rate),
        )
        for rate, km in ((1.0, 2.5), (0.5, 5.0))
    ),
    Check(
        discipline="fiber",
        what="fiber rate behind 10GBASE-ER at 40 km [dB/km]",
        source="IEEE 802.3 task-force reflector; single",
        expected=0.2375,
        tolerance=5e-5,
        obtained=lambda: fiber.fiber_rate_db_per_km(
            budget_db=table("fiber_applications").find(application="10GBASE-ER").number("loss_db"),
            connections_db=1.5,
            length_m=40_000,
        ),
    ),
    *(
        Check(
            discipline="fiber",
            what=f"{name} between launch and receiver [dB]",
            source=source,
            expected=printed,
            tolerance=0.05,
            obtained=partial(fiber.power_budget_db, transmit_dbm=transmit, receive_dbm=receive),
        )
        for name, transmit, receive, printed, source in (
            ("10BASE-FL on 62.5 um", -20, -32.5, 12.5, "IEEE 802.3 clause 18, media adapter manual; single"),
            ("10BASE-FL on 50 um", -25.7, -32.5, 6.8, "IEEE 802.3 clause 18, media adapter manual; single"),
            ("1000BASE-SX", -9.5, -17, 7.5, "IEEE 802.3 clause 38, equipment manual; single"),
            ("1000BASE-LX", -11, -19, 8.0, "IEEE 802.3 clause 38, equipment manual; single"),
        )
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published budget, loss and reach is reproduced."""
    check.hold()


# ANSI/TIA-568.3-D has 3.0 dB/km for OM3 at 850 nm, 568-C.3 had 3.5: 0.9 or 1.05 dB, and two pairs.
@pytest.mark.parametrize(("edition", "total_db"), [("568.3-D", 2.4), ("568-C.3", 2.55)])
def test_edition_decides_the_component_limit(edition: str, total_db: float) -> None:
    """300 m of OM3 and two pairs."""
    assert _limit(edition, "OM3", 850, 300, 2, 0) == pytest.approx(total_db)


def test_tighter_limit_governs() -> None:
    """Components at 2.4 dB are tighter than 10GBASE-SR's 2.6 dB; with four pairs they are not."""
    budget = table("fiber_applications").find(application="10GBASE-SR", fiber="OM3").number("loss_db")
    tight = fiber.governing(component_db=_limit("568.3-D", "OM3", 850, 300, 2, 0), application_db=budget)
    loose = fiber.governing(component_db=_limit("568.3-D", "OM3", 850, 300, 4, 0), application_db=budget)

    assert tight.by == fiber.COMPONENTS
    assert tight.limit_db == pytest.approx(2.4)
    assert (loose.by, loose.limit_db) == (fiber.APPLICATION, 2.6)


def test_equal_limits_and_no_application() -> None:
    """At the same figure, and without an application, the components are named."""
    assert fiber.governing(component_db=0.1 + 0.2, application_db=0.3).by == fiber.COMPONENTS
    assert fiber.governing(component_db=2.4, application_db=None).by == fiber.COMPONENTS


# Mated pairs at the ends: both with one reference cord, one with two, none with three.
@pytest.mark.parametrize(("method", "pairs"), [("one_cord", 3), ("two_cord", 2), ("three_cord", 1)])
def test_reference_method_counts_the_ends(method: str, pairs: int) -> None:
    """One pair inside the link, and what the method adds."""
    ends = int(table("fiber_reference_methods").find(method=method).number("ends_counted"))

    assert fiber.counted_pairs(inside_pairs=1, ends_counted=ends) == pairs


# IEEE 802.3 clause 38 as an equipment manual prints it: 7.5 dB between launch and receiver, of which
# penalties take 4.27, 4.29, 4.07 and 3.57 dB by fiber.
@pytest.mark.parametrize(
    ("kind", "penalty_db"),
    [("62.5 um 160 MHz.km", 4.27), ("OM1", 4.29), ("50 um 400 MHz.km", 4.07), ("OM2", 3.57)],
)
def test_channel_loss_and_penalties_fit_the_power_budget(kind: str, penalty_db: float) -> None:
    """What the channel may lose and the penalties stay within what the transceivers bear."""
    left = fiber.power_budget_db(transmit_dbm=-9.5, receive_dbm=-17, set_aside_db=penalty_db)

    assert not over(_tabled("1000BASE-SX", kind), left)


# The consortium's page: 6.7 dB of budget, 2.0 dB of it connections; reaches by cable in meters.
@pytest.mark.parametrize(("rate", "reach_m"), [(1.0, 4000), (0.5, 8000), (0.4, 10000)])
def test_published_reaches_of_40gbase_lr4_stay_within_its_budget(rate: float, reach_m: float) -> None:
    """They are rounded down to what the standard names, never beyond what the budget carries."""
    assert fiber.reach_m(budget_db=6.7, connections_db=2.0, db_per_km=rate) >= reach_m


def test_splices_add_to_the_limit() -> None:
    """Two splices of 0.3 dB on 1.5 km of outside plant at 0.5 dB/km are 1.35 dB."""
    assert _limit("568.3-D", "single_mode_outside_plant", 1310, 1500, 0, 2) == pytest.approx(1.35)


@given(
    st.floats(0, 5000), st.floats(0, 5000), st.integers(0, 6), st.integers(0, 6), st.sampled_from([0.5, 1.5, 3.0, 3.5])
)
@settings(max_examples=60)
def test_more_of_anything_never_lowers_the_limit(
    length_m: float, more_m: float, pairs: int, splices: int, rate: float
) -> None:
    """Length, pairs and splices each allow more loss; reach and limit are each other's inverse."""

    def limit(length: float, count: int, spliced: int) -> float:
        return fiber.component_limit_db(
            length_m=length, db_per_km=rate, pairs=count, pair_db=0.75, splices=spliced, splice_db=0.3
        )

    here = limit(length_m, pairs, splices)
    assert limit(length_m + more_m, pairs, splices) >= here
    assert limit(length_m, pairs + 1, splices) > here
    assert limit(length_m, pairs, splices + 1) > here
    connections = pairs * 0.75 + splices * 0.3
    reached = fiber.reach_m(budget_db=here, connections_db=connections, db_per_km=rate)
    assert reached == pytest.approx(length_m, abs=1e-6)


def test_twice_the_length_has_half_the_bandwidth() -> None:
    """OM1 at 850 nm has 200 MHz km: 200 MHz over a kilometer, 400 over half of it."""
    assert fiber.modal_bandwidth_mhz(mhz_km=200, length_m=1000) == 200
    assert fiber.modal_bandwidth_mhz(mhz_km=200, length_m=500) == 400


def test_link_of_nothing_allows_nothing() -> None:
    """No length, no pair, no splice: no loss is allowed, and a negative count is refused."""
    assert _limit("568.3-D", "OM4", 850, 0, 0, 0) == 0.0
    with pytest.raises(ValueError, match="inside_pairs must not be below zero, not -1"):
        fiber.counted_pairs(inside_pairs=-1, ends_counted=2)


def test_connections_that_take_the_budget_leave_no_reach() -> None:
    """A budget eaten by its connections reaches nowhere."""
    assert fiber.reach_m(budget_db=1.5, connections_db=2.0, db_per_km=0.4) == 0.0


def test_wavelength_that_is_not_tabled_is_refused() -> None:
    """The look-up says which wavelengths there are."""
    with pytest.raises(TableError, match="wavelength_nm: 850, 1300"):
        table("fiber_attenuation").find(edition="568.3-D", fiber="OM3", wavelength_nm=1311)


def test_the_tighter_limit_is_named_as_documents_print_it() -> None:
    """Equal limits go to the components."""
    named = [fiber.governing(component_db=2.0, application_db=db).by for db in (None, 1.9, 2.0, 2.1)]

    assert named == ["components", "application", "components", "components"]


def test_power_budget_with_nothing_set_aside() -> None:
    """-18 dBm sent and -31 dBm needed leave 13 dB (definition of the decibel)."""
    assert fiber.power_budget_db(transmit_dbm=-18, receive_dbm=-31) == 13.0


REFUSED = [
    Refused(
        possible=partial(fiber.counted_pairs, inside_pairs=1, ends_counted=2), zero_or_more="inside_pairs ends_counted"
    ),
    Refused(
        possible=partial(
            fiber.component_limit_db, length_m=300, db_per_km=3.0, pairs=2, pair_db=0.75, splices=0, splice_db=0.3
        ),
        zero_or_more="length_m db_per_km pairs pair_db splices splice_db",
    ),
    Refused(
        possible=partial(fiber.governing, component_db=2.4, application_db=2.6), number="component_db application_db"
    ),
    Refused(
        possible=partial(fiber.reach_m, budget_db=4.5, connections_db=2.0, db_per_km=0.5),
        above_zero="db_per_km",
        zero_or_more="budget_db connections_db",
    ),
    Refused(
        possible=partial(fiber.fiber_rate_db_per_km, budget_db=11.0, connections_db=1.5, length_m=40000),
        above_zero="length_m",
        zero_or_more="budget_db connections_db",
    ),
    Refused(
        possible=partial(fiber.set_aside_db, margin_db=2, penalty_db=0, repair_splices=2, splice_db=0.3),
        zero_or_more="margin_db penalty_db repair_splices splice_db",
    ),
    Refused(possible=partial(fiber.modal_bandwidth_mhz, mhz_km=500, length_m=250), above_zero="mhz_km length_m"),
    Refused(
        possible=partial(fiber.application_loss_db, length_m=400, db_per_km=3.5, connections_db=1.5),
        zero_or_more="length_m db_per_km connections_db",
    ),
    Refused(
        possible=partial(fiber.power_budget_db, transmit_dbm=-18, receive_dbm=-31, set_aside_db=2.5),
        zero_or_more="set_aside_db",
        number="transmit_dbm receive_dbm",
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
