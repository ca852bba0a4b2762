"""Links of balanced pairs that are too long for their heat, their cords or their application."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.footage import length_alerts, measure
from estimator.takeoff.link_lengths import link_alerts, link_families, work_out_links
from tests.takeoff.evaluated import held, project_of

JOB = """\
rooms: [{id: 1A}, {id: 1B}]
cables:
  - {id: C6, type: cat6_utp_plenum}
  - {id: C6S, type: cat6_futp_plenum}
  - {id: C3, medium: balanced_pair, category: "3", pairs: 25, gauge: 24, jacket: CMR, class: communications,
     od: 10 mm, put_up: 300 m}
devices:
  - {id: data, cable: C6}
  - {id: fast, cable: C6, application: 10GBASE-T}
  - {id: odd, cable: C6, application: 10GBASE-Q}
  - {id: shield, cable: C6S}
rules: {%s}
drops:
  - {id: D84, room: 1A, length: 84 m, device: data}
  - {id: D88, room: 1A, length: 88 m, device: data}
  - {id: D91, room: 1A, length: 91 m, device: data}
  - {id: S88, room: 1A, length: 88 m, device: shield}
  - {id: F55, room: 1A, length: 55 m, device: fast}
  - {id: F56, room: 1A, length: 56 m, device: fast}
  - {id: Q20, room: 1A, length: 20 m, device: odd}
backbone:
  - {id: B95, from: 1A, to: 1B, cable: C6, length: 95 m}
  - {id: V95, from: 1A, to: 1B, cable: C3, length: 95 m}
"""


def warnings(folder: Path, rules: str) -> tuple[Project, list[Alert]]:
    """Return a job under these rules and its warnings about links."""
    project = project_of(folder, JOB % rules)
    footage = measure(project, Faults())
    return project, [*length_alerts(footage, project), *link_alerts(work_out_links(project, footage), project)]


def told(alerts: list[Alert], kind: str) -> list[tuple[str, str]]:
    """Return subject and limit of the warnings of a kind."""
    return [(one.subject, one.limit) for one in alerts if one.kind == kind]


def test_a_copper_backbone_is_held_to_the_design_limit(tmp_path: Path) -> None:
    """Category 6 over 90 m is too long (ANSI/TIA-568); a voice riser of Category 3 has no such limit."""
    found = warnings(tmp_path, "ambient: 20 C")[1]

    assert [subject for subject, _ in told(found, "over length")] == ["D91", "B95"]
    advice = {one.subject: one.advice for one in found if one.kind == "over length"}
    assert "fiber" in advice["B95"]


# ANSI/TIA-568-C.2 clause 6.4.7: 0.4 % a kelvin, 0.2 % screened; 90 m over 1.06 is 84.9 m, over 1.03 87.4 m.
def test_a_warm_link_is_shortened(tmp_path: Path) -> None:
    """Above 20 °C the loss of 90 m is reached earlier; what is over the design limit isn't told twice."""
    found = warnings(tmp_path, "ambient: 30 C, bundle_rise_k: 5")[1]

    limits = dict(told(found, "long for its heat"))
    assert set(limits) == {"D88", "S88"}
    assert "84.9 m" in limits["D88"]
    assert "87.4 m" in limits["S88"]
    assert told(warnings(tmp_path, "ambient: 20 C")[1], "long for its heat") == []


# ANSI/TIA-568-C.1, open office: 102 less 1.2 times the cords; 26 AWG cords 1.5 times.
@pytest.mark.parametrize(
    ("rules", "subjects"),
    [
        ("poe_cords: 10 m", []),
        ("poe_cords: 12 m", ["D88"]),
        ('poe_cords: 10 m, cord_gauge: "26"', ["D88"]),
        ("poe_cords: 16 m", ["D84", "D88", "S88"]),
    ],
)
def test_long_or_thin_cords_shorten_the_cable(tmp_path: Path, rules: str, subjects: list[str]) -> None:
    """Cords beyond 10 m take more from the cable than they are long; a backbone has none."""
    found = told(warnings(tmp_path, rules)[1], "long for its cords")

    assert sorted(subject for subject, _ in found if subject in subjects) == subjects
    assert bool(found) == bool(subjects)


def test_an_application_reaches_less_far_than_the_link(tmp_path: Path) -> None:
    """10GBASE-T over Category 6: 55 m (TIA TSB-155, IEEE 802.3an); at it is within. An unknown one is told once."""
    found = warnings(tmp_path, "ambient: 20 C")[1]

    assert [subject for subject, _ in told(found, "beyond the reach")] == ["F56"]
    assert [subject for subject, _ in told(found, "application not tabled")] == ["odd"]


def test_every_figure_follows_from_its_inputs(tmp_path: Path) -> None:
    """The factor, the warm length and the length beside the cords, each by its printed formula."""
    project = project_of(tmp_path, JOB % "ambient: 45 C, poe_cords: 15 m")
    links = work_out_links(project, measure(project, Faults()))

    # Computed from clause 6.4.7 (0.6 % beyond 40 °C): 1.11, and 81.1 m; 102 - 18 m of cords.
    figures = held(link_families(links, project))
    assert figures["cable.C6.warm_factor"] == pytest.approx(1.11)
    assert figures["cable.C6.warm_length"] == pytest.approx(81.1, abs=0.05)
    assert figures["link.cords.longest_cable"] == pytest.approx(84.0)


def test_a_job_without_copper_links_has_no_figure(tmp_path: Path) -> None:
    """Nothing is worked out where nothing is held to it."""
    project = project_of(tmp_path, "rooms: [{id: 1A}]\n")
    links = work_out_links(project, measure(project, Faults()))

    assert list(link_families(links, project)) == []
    assert list(link_alerts(links, project)) == []
