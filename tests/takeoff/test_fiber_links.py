"""Fiber backbone: component limit, application budget, which governs."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.takeoff.fiber_alerts import fiber_alerts
from estimator.takeoff.fiber_figures import fiber_families
from estimator.takeoff.fiber_links import FiberLinks, work_out_fiber
from tests.takeoff.evaluated import HEAD, held, measured, near


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


DROP = """
rooms: [{{id: 1A}}]
cables: [{{id: OF, put_up: 2 km, type: of_12_om4_ofnr, {cable}}}]
devices: [{{id: cam, system: video, cable: OF, {device}}}]
drops: [{{id: 1A-F1, room: 1A, device: cam, length: {length}, {drop}}}]
"""


def dropped(
    folder: Path, *, cable: str = "strands: 2", device: str = "end: jack", drop: str = "zone: a", length: str = "100 m"
) -> tuple[Mapping[str, float], list[str]]:
    """Return the figures and the kinds of warnings of one fiber drop."""
    project, footage = measured(folder, DROP.format(cable=cable, device=device, drop=drop, length=length))
    fiber = work_out_fiber(project, footage)
    return held(fiber_families(fiber)), [alert.kind for alert in fiber_alerts(fiber, project)]


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


# Source: IEEE 802.3 clauses 38 and 68: these applications need a mode-conditioning cord over multimode fiber.
@pytest.mark.parametrize(
    ("cable", "name", "kinds"),
    [
        (OM4, "1000BASE-LX", ["mode conditioning"]),
        ("type: of_12_om4_ofnr, fiber_class: OM2", "10GBASE-LRM", ["mode conditioning"]),
        (OM3, "10GBASE-LRM", []),
        (OS2, "1000BASE-LX", []),
    ],
)
def test_mode_conditioning_is_told(tmp_path: Path, cable: str, name: str, kinds: list[str]) -> None:
    assert worked(tmp_path, cable, f"length: 50 m, reference: one_cord, application: {name}")[2] == kinds


# Source: IEEE 802.3 clause 38: 1000BASE-SX reaches 220 m over 160 MHz km, 275 m over 200, 500 m over 400 and
# 550 m over 500; clause 52: 10GBASE-SR 26, 33, 66 and 82 m.
@pytest.mark.parametrize(
    ("fiber_class", "modal", "sx_m", "sr_m"),
    [("OM1", 160, 220, 26), ("OM1", 200, 275, 33), ("OM2", 400, 500, 66), ("OM2", 499, 500, 66), ("OM2", 500, 550, 82),
     ("OM1", None, 275, 33), ("OM1", 900, 275, 33)],
)  # fmt: skip
def test_modal_bandwidth_decides_the_reach(
    tmp_path: Path, fiber_class: str, modal: int | None, sx_m: int, sr_m: int
) -> None:
    """An older grade of the same core reaches less far; more than the class has doesn't reach farther."""
    typed = "" if modal is None else f", modal_bandwidth: {modal}"
    for name, reach_m in (("1000BASE-SX", sx_m), ("10GBASE-SR", sr_m)):
        _, figures, _ = worked(
            tmp_path,
            f"type: of_12_om4_ofnr, fiber_class: {fiber_class}{typed}",
            f"length: 20 m, reference: one_cord, application: {name}",
        )
        assert figures["fiber.B1.reach"] == reach_m


def test_bandwidth_left_over_the_length(tmp_path: Path) -> None:
    """ISO/IEC 11801: OM4 has 4,700 MHz km at 850 nm, so that 94 m leave 50 GHz; single mode has none to tell."""
    _, figures, _ = worked(tmp_path, OM4, "length: 94 m, reference: one_cord")
    assert figures["fiber.B1.modal_bandwidth_850"] == near(50_000, 1e-6)
    assert "fiber.B1.modal_bandwidth_850" not in worked(tmp_path, OS2, "length: 94 m, reference: one_cord")[1]


def test_a_fiber_below_every_grade_carries_no_tabled_application(tmp_path: Path) -> None:
    cable = "type: of_12_om4_ofnr, fiber_class: OM1, modal_bandwidth: 100"
    _, _, alerts = worked(tmp_path, cable, "length: 20 m, reference: one_cord, application: 1000BASE-SX")
    assert alerts == ["application not tabled"]


# Source: ANSI/TIA-568.3-D: 1.0 dB/km indoors, 0.5 dB/km indoor-outdoor and outside plant, for single mode.
@pytest.mark.parametrize(
    ("plant", "rate"),
    [("", 0.5), (", plant: indoor", 1.0), (", plant: indoor_outdoor", 0.5), (", plant: outside", 0.5)],
)
def test_the_plant_of_a_single_mode_cable_decides_its_rate(tmp_path: Path, plant: str, rate: float) -> None:
    _, figures, _ = worked(tmp_path, OS2 + plant, "length: 1 km, reference: three_cord")
    assert figures["fiber.B1.component_limit_1310"] == near(rate, 1e-9)


# Source: state university design guide, sample budget: -18 and -31 dBm, 2.0 dB of margin and two repair splices
# leave 10.4 dB; 3.0 dB of margin leave 9.4.
@pytest.mark.parametrize(("margin", "budget"), [(2, 10.4), (3, 9.4)])
def test_power_budget_of_equipment(tmp_path: Path, margin: int, budget: float) -> None:
    equipment = f"{{transmit_dbm: -18, receive_dbm: -31, margin: {margin} dB, repair_splices: 2}}"
    fiber, figures, alerts = worked(tmp_path, OS2, f"length: 18 km, reference: one_cord, equipment: {equipment}")

    assert figures["fiber.B1.power_budget"] == near(budget, 1e-9)
    # 18 km at 0.5 dB/km and two pairs are 10.5 dB
    assert figures["fiber.B1.component_limit_1310"] == near(10.5, 1e-9)
    assert figures["fiber.B1.limit_1310"] == near(budget, 1e-9)
    assert fiber.links[0].waves[0].governing.by == "equipment"
    assert alerts == ["loss over the power budget"] * 2


def test_the_tightest_of_three_governs_at_its_wavelength(tmp_path: Path) -> None:
    """Equipment at one wavelength leaves the other to the components; an application may be the tightest."""
    equipment = "{transmit_dbm: %s, receive_dbm: -10, wavelength_nm: 860}"
    keys = f"length: 150 m, reference: one_cord, application: 40GBASE-SR4, equipment: {equipment}"
    fiber, figures, _ = worked(tmp_path, OM4, keys % -8.6)
    assert [wave.governing.by for wave in fiber.links[0].waves] == ["equipment", "components"]
    assert figures["fiber.B1.limit_850"] == near(1.4, 1e-9)
    fiber, figures, _ = worked(tmp_path, OM4, keys % -8)
    assert fiber.links[0].waves[0].governing.by == "application"
    assert figures["fiber.B1.limit_850"] == 1.5


def test_a_fiber_drop_is_worked_out_as_a_backbone_cable_is(tmp_path: Path) -> None:
    """OM4, 100 m: 0.3 dB of fiber; one cord counts both ends, two cords one, and a pair between them always."""
    figures, alerts = dropped(tmp_path, drop="reference: two_cord, connections: 3, splices: 1")
    assert figures["fiber.1A-F1.mated_pairs"] == 2
    assert figures["fiber.1A-F1.component_limit_850"] == near(0.3 + 1.5 + 0.3, 1e-9)
    assert alerts == []


def test_a_drop_takes_its_devices_application_and_its_cables_method(tmp_path: Path) -> None:
    figures, alerts = dropped(tmp_path, cable="reference: three_cord", device="application: 10GBASE-SR", length="401 m")
    assert figures["fiber.1A-F1.mated_pairs"] == 0
    assert figures["fiber.1A-F1.application_budget_850"] == 2.9
    assert alerts == ["beyond the reach"]
    own, _ = dropped(tmp_path, cable="reference: three_cord", drop="reference: one_cord")
    assert own["fiber.1A-F1.mated_pairs"] == 2


def test_a_fiber_link_without_a_method_is_a_fault(tmp_path: Path) -> None:
    """Drop or backbone; a method at the cable type serves both."""
    text = DROP.format(cable="strands: 2", device="end: jack", drop="zone: a", length="10 m")
    text = text.replace("rooms: [{id: 1A}]", "rooms: [{id: 1A}, {id: 2A}]")
    text += "backbone: [{id: B1, from: 1A, to: 2A, cable: OF, length: 9 m}]\n"
    (tmp_path / "job.yaml").write_text(HEAD + text, encoding="utf-8")
    found = [str(fault).split(": ", 1)[1] for fault in load(tmp_path / "job.yaml").faults]
    mend = "add it, here or at its cable type: it decides the mated pairs counted"
    assert found == [
        f"{what} has no reference method; expected `reference:` one_cord, two_cord or three_cord; {mend}"
        for what in ("fiber drop '1A-F1'", "fiber cable 'B1'")
    ]
    (tmp_path / "job.yaml").write_text(HEAD + text.replace("strands: 2", "reference: one_cord"), encoding="utf-8")
    assert not load(tmp_path / "job.yaml").faults


# 300 m is the tabled reach of 10GBASE-SR over OM3 (IEEE 802.3 clause 52); the same length in any unit is within it,
# and a tenth of a millimeter more is not.
@pytest.mark.parametrize("length", ["300 m", "0.3 km", "984.251968503937 ft", "30000 cm", "11811.0236220472 in"])
def test_the_unit_of_a_length_never_changes_a_verdict(tmp_path: Path, length: str) -> None:
    keys = "length: %s, reference: one_cord, application: 10GBASE-SR"
    _, figures, alerts = worked(tmp_path, OM3, keys % length)
    assert figures["fiber.B1.limit_850"] == near(2.4, 1e-9)
    assert alerts == []
    assert worked(tmp_path, OM3, keys % "300.0001 m")[2] == ["beyond the reach"]
