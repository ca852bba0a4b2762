"""Coaxial runs: the loop that a sound cable can show, the loss of its line, and steel under video."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.model import Project
from estimator.takeoff.coax_runs import CoaxRuns, coax_alerts, coax_families, listed_loss_db, work_out_coax
from estimator.takeoff.footage import measure
from tests.takeoff.evaluated import held, project_of

FOOT = 0.3048
JOB = """\
rooms: [{id: 1A}]
cables:
  - {id: R59, type: rg59, center: copper}
  - {id: R59S, type: rg59, center: copper_clad_steel}
  - {id: R6, type: rg6}
  - {id: R6S, type: rg6, center: copper_clad_steel}
  - {id: R11, type: rg11, center: copper}
  - {id: OWN, type: rg6, ohm_per_m: 0.021, shield_ohm_per_m: 0.009}
devices: [{id: cam, system: coax, video_level: 1 V}, {id: tap, system: coax}]
rules: {ambient: %s}
drops:
  - {id: A, room: 1A, length: 100 ft, device: cam, cable: R59}
  - {id: B, room: 1A, length: 100 ft, device: cam, cable: R59S}
  - {id: C, room: 1A, length: 200 ft, device: tap, cable: R6}
  - {id: D, room: 1A, length: 100 ft, device: tap, cable: R6S}
  - {id: E, room: 1A, length: 100 ft, device: tap, cable: R11}
  - {id: F, room: 1A, length: 100 m, device: tap, cable: OWN}
acceptance: {cables: [{cable: R6, frequency: 750 MHz}]}
"""


def worked(folder: Path, ambient: str = "20 C") -> tuple[Project, CoaxRuns]:
    """Return the job and its coaxial runs at a temperature."""
    project = project_of(folder, JOB % ambient)
    return project, work_out_coax(project, measure(project, Faults()))


# Model tables (single): 102.7, 20, 11.0 and 7.3 ohm per 1000 ft; a steel center of 18 AWG 30.4 (computed)
# with a shield of at most 9.0 (memory).
@pytest.mark.parametrize(
    ("cable", "ohm_per_kft"),
    [("R59", 20.0), ("R59S", 102.7), ("R6", 39.4), ("R6S", 39.4), ("R11", 7.3), ("OWN", 9.144)],
)
def test_center_and_shield_by_family_and_metal(tmp_path: Path, cable: str, ohm_per_kft: float) -> None:
    """As typed; else as tabled; where the metal of the center isn't typed, the worse one."""
    found = worked(tmp_path)[1].cables[cable]

    assert found.most_ohm_per_m * 1000 * FOOT == pytest.approx(ohm_per_kft, abs=0.05)


def test_what_is_not_known_has_a_range(tmp_path: Path) -> None:
    """A typed pair of resistances is one value, an untyped center spans copper to steel."""
    cables = worked(tmp_path)[1].cables

    assert cables["OWN"].least_ohm_per_m == cables["OWN"].most_ohm_per_m
    assert cables["R6"].least_ohm_per_m * 1000 * FOOT == pytest.approx(11.0)
    assert cables["R6"].least_ohm_per_m < cables["R6S"].least_ohm_per_m < cables["R6"].most_ohm_per_m


def test_figures_follow_from_their_inputs(tmp_path: Path) -> None:
    """Loop with its tolerance and leads; loss at the plan's frequency, else at the color subcarrier."""
    project, coax = worked(tmp_path)
    figures = held(coax_families(coax, project))

    # 100 ft at 20 ohm per 1000 ft is 2.0 ohm; 15 % and 0.5 ohm of leads on top (house rules).
    assert figures["coax.A.most_loop"] == pytest.approx(2.8)
    assert figures["coax.F.most_loop"] == pytest.approx(3.0 * 1.15 + 0.5)
    # 2 * (0.195292 * sqrt(750) + 0.000071 * 750) dB (model tables, single).
    assert figures["coax.C.line_loss"] == pytest.approx(10.80, abs=0.005)
    # 0.319915 * sqrt(3.579545) + 0.001754 * 3.579545 dB (model tables, confirmed).
    assert figures["coax.A.line_loss"] == pytest.approx(0.612, abs=0.0005)


def test_heat_adds_to_loop_and_loss(tmp_path: Path) -> None:
    """0.393 % a kelvin on copper (IEC 60028), 0.198 % on the loss (cable television tip, single)."""
    cold, warm = (worked(tmp_path, ambient)[1] for ambient in ("20 C", "40 C"))

    assert warm.cables["R59"].most_ohm_per_m / cold.cables["R59"].most_ohm_per_m == pytest.approx(1.0786)
    assert warm.runs[0].loss_db / cold.runs[0].loss_db == pytest.approx(1.0396)


def test_largest_listed_loss_is_of_the_series_alone(tmp_path: Path) -> None:
    """Series 6 at 750 MHz: 5.65 dB per 100 ft (ANSI/SCTE 74, memory); beyond the list, and for RG-59, none."""
    project, _ = worked(tmp_path)
    listed = listed_loss_db(project.cables["R6"], 750.0)

    assert listed is not None
    assert listed[0] == pytest.approx(5.65)
    assert listed_loss_db(project.cables["R6"], 1500.0) is None
    assert listed_loss_db(project.cables["R59"], 750.0) is None


def test_steel_under_baseband_video_is_warned(tmp_path: Path) -> None:
    """A clad center is copper above some 5 MHz only; radio-frequency taps may have it."""
    assert [alert.subject for alert in coax_alerts(worked(tmp_path)[1])] == ["R59S"]


def test_a_job_without_coax_has_no_figure(tmp_path: Path) -> None:
    """Nothing is worked out where there is nothing."""
    project = project_of(tmp_path, "rooms: [{id: 1A}]\n")
    coax = work_out_coax(project, measure(project, Faults()))

    assert (list(coax_families(coax, project)), list(coax_alerts(coax))) == ([], [])
