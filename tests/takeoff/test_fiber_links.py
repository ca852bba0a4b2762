"""Fiber backbone: component limit, application budget, which governs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.takeoff.fiber_links import FiberLinks, fiber_alerts, fiber_families, work_out_fiber
from tests.takeoff.evaluated import held, measured, near


def worked(folder: Path, cable: str, keys: str, codes: str = "") -> tuple[FiberLinks, Mapping[str, float], list[str]]:
    """Return the links, all figures and the kinds of warnings of one backbone cable."""
    project, footage = measured(
        folder,
        f"""
{codes}
rooms: [{{id: 1A}}, {{id: 2A}}]
cables: [{{id: OF, put_up: 2 km, {cable}}}]
backbone: [{{id: B1, from: 1A, to: 2A, cable: OF, {keys}}}]
""",
    )
    fiber = work_out_fiber(project, footage)
    figures = held(fiber_families(fiber))
    return fiber, figures, [alert.kind for alert in fiber_alerts(fiber, project)]


OM3 = "type: of_12_om4_ofnr, fiber_class: OM3"
OM4 = "type: of_12_om4_ofnr"
OS2 = "type: of_12_os2_ofnp"


# Source: worked example after ANSI/TIA-568.3-D: OM3, 300 m, two pairs: 0.9 + 1.5 = 2.4 dB at 850 nm;
# 10GBASE-SR bears 2.6 dB, so that the components govern; 2.55 dB by 568-C.3 (3.5 dB/km).
@pytest.mark.parametrize(("codes", "limit"), [("", 2.4), ("codes: {fiber: 568-C.3}", 2.55)])
def test_om3_at_300_meters(tmp_path: Path, codes: str, limit: float) -> None:
    fiber, figures, alerts = worked(tmp_path, OM3, "length: 300 m, reference: one_cord, application: 10gbase-sr", codes)

    assert figures["fiber.B1.component_limit_850"] == near(limit, 1e-9)
    assert figures["fiber.B1.application_budget_850"] == 2.6
    assert figures["fiber.B1.limit_850"] == near(limit, 1e-9)
    assert fiber.links[0].waves[0].governing.by == "components"
    assert "fiber.B1.application_budget_1300" not in figures
    # Source: the same standard, 1.5 dB/km at 1300 nm: 0.45 + 1.5 dB.
    assert figures["fiber.B1.limit_1300"] == near(1.95, 1e-9)
    assert alerts == []


# Source: ANSI/TIA-568.3-D: both end pairs count with one reference cord, one with two, none with three.
@pytest.mark.parametrize(("method", "pairs"), [("one_cord", 3), ("two_cord", 2), ("three_cord", 1)])
def test_reference_method_counts_pairs(tmp_path: Path, method: str, pairs: int) -> None:
    _, figures, _ = worked(tmp_path, OM4, f"length: 100 m, reference: {method}, connections: 3, splices: 2")

    assert figures["fiber.B1.mated_pairs"] == pairs
    assert figures["fiber.B1.component_limit_850"] == near(0.3 + pairs * 0.75 + 2 * 0.3, 1e-9)


# Source: IEEE 802.3 clause 86: 40GBASE-SR4 reaches 150 m of OM4 with 1.5 dB in all, fewer than two
# pairs and the fiber may lose.
def test_longer_reach_comes_with_the_smaller_budget(tmp_path: Path) -> None:
    keys = "length: %s, reference: one_cord, application: 40GBASE-SR4"
    fiber, figures, alerts = worked(tmp_path, OM4, keys % "150 m")

    assert figures["fiber.B1.limit_850"] == 1.5
    assert fiber.links[0].waves[0].governing.by == "application"
    assert alerts == ["loss over the budget"]
    assert worked(tmp_path, OM4, keys % "150.1 m")[2] == ["beyond the reach", "loss over the budget"]


# Source: TIA outside-plant limit 0.5 dB/km: 1.5 km without pairs or splices are 0.75 dB.
def test_single_mode_outside(tmp_path: Path) -> None:
    _, figures, alerts = worked(
        tmp_path, OS2, "length: 1.5 km, reference: three_cord, connections: 2, application: 10GBASE-LR"
    )

    assert figures["fiber.B1.limit_1310"] == near(0.75, 1e-9)
    assert figures["fiber.B1.limit_1550"] == near(0.75, 1e-9)
    assert figures["fiber.B1.application_budget_1310"] == 6.2
    assert alerts == []


def test_application_without_a_row_warns(tmp_path: Path) -> None:
    _, figures, alerts = worked(tmp_path, OM4, "length: 100 m, reference: one_cord, application: 10GBASE-LR")

    assert alerts == ["application not tabled"]
    assert figures["fiber.B1.limit_850"] == figures["fiber.B1.component_limit_850"]


# Source: IEEE 802.3 clause 38: 1000BASE-LX over multimode, 550 m and 2.35 dB, is tested at 1300 nm.
def test_1310_nm_over_multimode_is_judged_at_1300(tmp_path: Path) -> None:
    _, figures, _ = worked(tmp_path, OM4, "length: 100 m, reference: one_cord, application: 1000BASE-LX")

    assert figures["fiber.B1.application_budget_1300"] == 2.35
