"""Conductors of a job: each beside the other basis, each in every stocked gauge, and clad wire."""

from __future__ import annotations

from pathlib import Path

from estimator.reference.lookup import table
from estimator.takeoff.conductors import Conductors, conductor_alerts, conductor_families, other_basis
from tests.takeoff.evaluated import held, near, project_of

FOOT = 0.3048
JOB = """
rules: {ambient: 20 C}
cables:
  - {id: S16, type: fplp_16_2, stranding: stranded}
  - {id: C24, type: c22_4, gauge: 24}
  - {id: CCA, type: cat6_utp_plenum, material: cca}
  - {id: TYPED, type: c18_2, ohm_per_m: 0.02}
"""


def test_each_conductor_stands_beside_the_other_basis_at_its_temperature(tmp_path: Path) -> None:
    """NEC Chapter 9 Table 8 for 16 AWG of seven strands: 4.99 ohm per 1000 ft at 75 C.

    By diameter 4.016 at 20 C (handbook), times 1.21615 for 75 C and 1.02 for the strands; the table
    taken back from 75 C to 20 C by its own 0.00323: 4.99 x 0.82235.
    """
    project = project_of(tmp_path, JOB)
    known = Conductors(project)
    for cable, safety in (("S16", True), ("S16", False), ("C24", False), ("TYPED", False)):
        assert known.of(project.cables[cable], safety) is not None
    kft = {name: 1000 * FOOT * ohm for name, ohm in held(conductor_families(known)).items()}

    assert kft["cable.S16.life_safety_conductor"] == near(4.99, 1e-9)
    assert kft["cable.S16.life_safety_conductor_beside"] == near(4.016 * 1.21615 * 1.02, 0.001)
    assert kft["cable.S16.conductor"] == near(4.016 * 1.02, 0.001)
    assert kft["cable.S16.conductor_beside"] == near(4.99 * (1 - 0.00323 * 55), 1e-9)
    # The table starts at 18 AWG, and what is typed is like nothing else.
    assert {"cable.C24.conductor_beside", "cable.TYPED.conductor_beside"}.isdisjoint(kft)


def test_a_typed_resistance_has_no_other_basis_and_no_gauge(tmp_path: Path) -> None:
    """Whoever types it knows it."""
    project = project_of(tmp_path, JOB)
    known = Conductors(project)
    typed = known.of(project.cables["TYPED"])

    assert typed is not None
    assert other_basis(typed) is None
    assert known.stocked(project.cables["TYPED"]) == {}


def test_stocked_gauges_have_the_cables_metal_lay_and_temperature(tmp_path: Path) -> None:
    """Table 8 for life safety, by diameter and 2 % for strands elsewhere; heavier is always less."""
    project = project_of(tmp_path, JOB)
    known, cable = Conductors(project), project.cables["S16"]
    alarm, plain = known.stocked(cable, True), known.stocked(cable)

    assert list(plain) == [int(row.number("awg")) for row in table("wire_sizes")]
    assert list(alarm) == [18, 16, 14, 12, 10, 8]  # the gauges of Table 8
    # NEC Chapter 9 Table 8, seven strands: 7.95 and 0.778 ohm per 1000 ft; handbook 6.385 at 20 C.
    assert alarm[18] * 1000 * FOOT == near(7.95, 1e-9)
    assert alarm[8] * 1000 * FOOT == near(0.778, 1e-9)
    assert plain[18] * 1000 * FOOT == near(6.385 * 1.02, 0.001)
    for ohms in (alarm, plain):
        assert list(ohms.values()) == sorted(ohms.values(), reverse=True)
    assert known.used() == ()  # asking what a gauge would be is no use of it


def test_clad_aluminum_is_warned_of_once_on_balanced_pairs(tmp_path: Path) -> None:
    """TIA-568 balanced cabling is copper; class 10A has at least 1.591 times copper's resistance (ASTM B566)."""
    project = project_of(tmp_path, JOB)
    known = Conductors(project)
    clad, copper = known.of(project.cables["CCA"]), Conductors(project_of(tmp_path, JOB.replace(", material: cca", "")))
    known.of(project.cables["CCA"], True)
    plain = copper.of(copper.project.cables["CCA"])

    assert clad is not None
    assert plain is not None
    assert clad.ohm_per_m / plain.ohm_per_m == near(1.591, 1e-9)
    assert [alert.kind for alert in conductor_alerts(known)] == ["clad conductor"]
    assert list(conductor_alerts(copper)) == []
