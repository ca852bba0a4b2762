"""Distance from power by the adopted code and by the withdrawn table, and the class of speaker lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.neighbors import Neighbor, audio_alerts, neighbor_alerts, neighbor_families, neighbors_of
from tests.takeoff.evaluated import held, measured, project_of

PLANT = """\
rooms: [{id: 1A}]
nodes: [{id: a}]
cables:
  - {id: C6, type: cat6_utp_plenum}
  - {id: FA, type: fplp_14_2, put_up: 300 m}
  - {id: OF, type: of_12_om4_ofnp, put_up: 300 m, reference: one_cord}
"""
TRAY = "kind: tray, width: 4 in, depth: 4 in"
EMT = 'kind: conduit, trade_size: "1"'


def beside(
    folder: Path, segment: str, near: str, cables: str = "C6", edition: str = "2023"
) -> tuple[Neighbor, list[str]]:
    """Return what runs beside the one segment, and the warnings of it."""
    drops = "".join(f"  - {{id: D{i}, room: 1A, at: a, cable: {c}}}\n" for i, c in enumerate(cables.split()))
    text = (
        f'{PLANT}codes: {{electrical: "{edition}"}}\n'
        f"pathways: [{{id: S, from: 1A, to: a, length: 9 m, {segment}, near_power: {{{near}}}}}]\ndrops:\n{drops}"
    )
    project, footage = measured(folder, text)
    neighbors = neighbors_of(fill_pathways(footage, project), project)
    held(neighbor_families(neighbors))
    (one,) = neighbors
    return one, [str(alert).split(": ", 1)[1] for alert in neighbor_alerts(neighbors, project)]


# Source: NFPA 70 725.136(I), 760.136, 800.133 (confirmed, single): 50 mm (2 in) from power in the open.
@pytest.mark.parametrize(
    ("cables", "edition", "clause"),
    [
        ("C6", "2017", "800.133(A)(2)"),
        ("C6", "2020", "800.133 and 805.133"),
        ("FA", "2005", "760.55"),
        ("FA", "2023", "760.136"),
        ("C6 FA", "2023", "800.133 and 805.133, 760.136"),
    ],
)
def test_the_code_asks_for_a_distance_by_class_and_edition(
    cables: str, edition: str, clause: str, tmp_path: Path
) -> None:
    """At 50 mm itself nothing is too near."""
    one, alerts = beside(tmp_path, TRAY, "distance: 49 mm", cables, edition)
    assert one.word == "too near"
    assert one.source == f"NFPA 70-{edition}, {clause}: 50 mm (2 in)"
    assert alerts == [
        f"separation: tray S lies near wiring: 49 mm, limit 50 mm or more ({one.source}); "
        "move one of them, put one in a raceway, or a continuous barrier between them"
    ]
    assert beside(tmp_path, TRAY, "distance: 50 mm", cables, edition)[0].word == "within"


@pytest.mark.parametrize(
    ("segment", "near", "cables"),
    [
        (EMT, "distance: 1 mm", "C6"),  # one side in a raceway
        (TRAY, "distance: 1 mm, what: wiring_in_metal", "C6"),
        (TRAY, "distance: 1 mm, what: motors", "C6"),  # the code speaks of wiring
        (TRAY, "distance: 1 mm", "OF"),  # glass without metal
    ],
)
def test_the_code_asks_for_none_where_an_exception_holds(segment: str, near: str, cables: str, tmp_path: Path) -> None:
    """Nothing is judged, and nothing is warned of."""
    one, alerts = beside(tmp_path, segment, near, cables)
    assert (one.least_m, one.word, alerts) == (None, "not judged", [])


def test_inside_a_cabinet_a_quarter_inch_is_asked_for(tmp_path: Path) -> None:
    """Source: NFPA 70 725.136(D)(1), 800.133(A)(1)(c) Exception 2 (confirmed): 6 mm where power feeds the equipment."""
    one, _ = beside(tmp_path, "kind: cabinet, width: 6 in, depth: 6 in", "distance: 5 mm")
    assert (one.least_m, one.word) == (0.006, "too near")


# Source: EIA/TIA-569 (1990) 10.4, withdrawn (confirmed), in inches: columns under 2, 2 to 5 and over 5 kVA.
@pytest.mark.parametrize(
    ("segment", "near", "inches"),
    [
        (TRAY, "load: 1.99 kVA", 5),
        (TRAY, "load: 2 kVA", 12),
        (TRAY, "load: 5 kVA", 12),
        (TRAY, "load: 5.01 kVA", 24),
        ('kind: conduit, material: pvc40, trade_size: "1"', "load: 1 kVA", 5),
        (EMT, "load: 1 kVA", 2.5),
        (EMT, "load: 3 kVA", 6),
        (EMT, "load: 6 kVA", 12),
        (EMT, "load: 3 kVA, what: wiring_in_metal", 6),
        (EMT, "load: 6 kVA, what: wiring_in_metal", 12),
        (EMT, "load: 1 kVA, what: wiring_in_metal", None),
        (TRAY, "load: 3 kVA, what: wiring_in_metal", None),
        (TRAY, "what: motors", 40),
        (TRAY, "what: fluorescent", 12),
    ],
)
def test_the_withdrawn_table_stands_where_an_owner_asks(
    segment: str, near: str, inches: float | None, tmp_path: Path
) -> None:
    """It is named as withdrawn; what it leaves empty is not judged."""
    one, _ = beside(tmp_path, segment, f"distance: 12 in, rule: tia_1990, {near}")
    assert one.least_m == (None if inches is None else pytest.approx(inches * 0.0254, rel=1e-9))
    assert one.word == ("not judged" if inches is None else "too near" if inches > 12 else "within")
    assert inches is None or one.source.endswith("withdrawn")


AUDIO = """\
rooms: [{id: 1A}]
devices: [{id: spk, system: audio, tap: 5 W}]
"""


def warned(folder: Path, amplifier: str, cable: str) -> list[tuple[str, str]]:
    """Return what the cable is and what the line needs, for each warning."""
    text = (
        f"{AUDIO}cables: [{{id: K, type: c14_2_speaker, jacket: CL3P, put_up: 300 m, class: {cable}}}]\n"
        f"amplifiers: [{{id: AMP, room: 1A, {amplifier}}}]\n"
        "circuits: [{id: L, kind: speaker, source: AMP, cable: K, devices: [{device: spk, distance: 9 m}]}]\n"
    )
    return [(alert.value, alert.limit) for alert in audio_alerts(project_of(folder, text))]


# Source: low-voltage wiring handbook on 640.9(C) (single): 25 V Class 2, 70.7 V Class 3, to 100 W; else Class 1.
@pytest.mark.parametrize(
    ("amplifier", "cable", "needed"),
    [
        ("line_voltage: 70.7 V, power: 100 W", "audio_class_3", None),
        ("line_voltage: 70.7 V, power: 100 W", "audio_class_1", None),
        ("line_voltage: 70.7 V, power: 100 W", "audio_class_2", "audio class 3"),
        ("line_voltage: 70.7 V, power: 120 W", "audio_class_3", "audio class 1"),
        ("line_voltage: 25 V, power: 60 W", "audio_class_2", None),
        ("line_voltage: 25 V, power: 60 W", "class_2", "audio class 2"),
        ("line_voltage: 100 V, power: 60 W", "audio_class_3", "audio class 1"),
        ("line_voltage: 100 V, power: 60 W, wiring_class: audio_class_3", "audio_class_3", None),
        ("line_voltage: 70.7 V, power: 60 W, wiring_class: audio_class_1", "audio_class_3", "audio class 1"),
        ("line_voltage: 70.7 V, power: 120 W", "pl_fire_alarm", None),  # a fire alarm's own line
        ("least_load: 4 ohm, power: 120 W", "class_2", None),  # no constant-voltage line
    ],
)
def test_a_speaker_line_is_of_the_class_its_amplifier_makes_it(
    amplifier: str, cable: str, needed: str | None, tmp_path: Path
) -> None:
    """The amplifier's marking governs; a harder class may stand in for an easier one."""
    found = warned(tmp_path, amplifier, cable)
    assert found == ([] if needed is None else [(cable.replace("_", " "), needed)])
