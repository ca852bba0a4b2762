"""Speaker lines, low-impedance networks and amplifiers."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.takeoff.speaker_figures import speaker_alerts, speaker_families
from estimator.takeoff.speakers import Speakers, work_out_speakers
from tests.takeoff.evaluated import held, measured, near

FOOT = 0.3048
ROOM = """
rooms: [{id: 1A}]
cables:
  - {id: C18, type: c18_2, stranding: solid}
  - {id: PAIR, type: c18_2, ohm_per_m: 0.0213254593}
devices:
  - {id: T1, cable: C18, tap: 1 W}
  - {id: T5, cable: C18, tap: 5 W}
  - {id: T6, cable: C18, tap: 6 W}
  - {id: T10, cable: C18, tap: 10 W}
  - {id: T30, cable: C18, tap: 30 W}
  - {id: OHM8, cable: C18, impedance: 8 ohm}
"""


def worked(folder: Path, text: str) -> tuple[Speakers, Mapping[str, float], list[str]]:
    """Return the speaker wiring, all figures and the kinds of warnings of a job."""
    project, footage = measured(folder, ROOM + text)
    speakers = work_out_speakers(project, footage)
    figures = held(speaker_families(speakers, project))
    return speakers, figures, [alert.kind for alert in speaker_alerts(speakers, project)]


# Source: two listed fire-alarm audio manuals and the NFPA 72-2025 constant: 25 V, 30 W, 13.0 ohm per
# 1000 ft of pair (0.02133 ohm/m of conductor) is 0.5 dB at 94.95 ft.
@pytest.mark.parametrize(("feet", "kinds"), [(94.9, []), (95.0, ["speaker loss"])])
def test_25_volt_line_at_half_a_decibel(tmp_path: Path, feet: float, kinds: list[str]) -> None:
    _, figures, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 40 W, line_voltage: 25 V}}]
circuits:
  - {{id: S1, kind: speaker, source: A, cable: PAIR, devices: [{{device: T30, distance: {feet} ft}}]}}
""",
    )

    assert figures["speaker.S1.worst_loss"] == near(0.5, 0.0005)
    assert figures["speaker.S1.end_loss"] == near(figures["speaker.S1.worst_loss"], 1e-12)
    assert alerts == kinds


# Source: article quoting the EIA 70.7 V method: taps of 6, 10 and 10 W are 26 W; 4998.5/26 = 192.2 ohm.
def test_taps_add_up(tmp_path: Path) -> None:
    speakers, figures, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 32.5 W, line_voltage: 70.7 V}]
circuits:
  - id: S1
    kind: speaker
    source: A
    cable: C18
    devices: [{device: T6, distance: 30 ft}, {device: T10, qty: 2, distance: 20 ft}]
""",
    )

    assert figures["speaker.S1.load"] == 26.0
    assert figures["amplifier.A.load_share"] == near(80.0, 1e-9)
    assert figures["speaker.S1.line_impedance"] == near(4998.49 / 26, 1e-9)
    # The whole load at the end always loses more than each loudspeaker at its place.
    assert figures["speaker.S1.end_loss"] > figures["speaker.S1.worst_loss"] > 0
    assert speakers.lines[0].worst == 1
    assert alerts == []


# Source: amplifier maker's article on taps: 30 W carries four loudspeakers of 5 W within 80 %, the
# fifth makes 25 W; six are the rating, seven too many.
@pytest.mark.parametrize(
    ("count", "word", "kinds"),
    [
        (4, "within reserve", []),
        (5, "uses the reserve", ["uses the reserve"]),
        (6, "uses the reserve", ["uses the reserve"]),
        (7, "over rating", ["over rating"]),
    ],
)
def test_three_words_of_an_amplifier(tmp_path: Path, count: int, word: str, kinds: list[str]) -> None:
    speakers, _, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 30 W, line_voltage: 70.7 V}}]
circuits:
  - {{id: S1, kind: speaker, source: A, cable: C18, devices: [{{device: T5, qty: {count}, distance: 10 ft}}]}}
""",
    )

    assert speakers.amplifiers[0].word == word
    assert alerts == kinds


# Source: circuit theory: two 8 ohm in parallel are 4, in series 16, three in parallel 2.667 ohm.
@pytest.mark.parametrize(
    ("count", "wiring", "ohm", "kinds"),
    [(2, "parallel", 4.0, []), (2, "series", 16.0, []), (3, "parallel", 2.667, ["below the least load"])],
)
def test_low_impedance_network(tmp_path: Path, count: int, wiring: str, ohm: float, kinds: list[str]) -> None:
    _, figures, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 100 W, least_load: 4 ohm}}]
circuits:
  - id: S1
    kind: low_impedance_speaker
    source: A
    cable: C18
    wiring: {wiring}
    devices: [{{device: OHM8, qty: {count}, distance: 10 ft}}]
""",
    )

    assert figures["network.S1.impedance"] == near(ohm, 0.0005)
    assert alerts == kinds


# Source: loudspeaker maker's note: 40 ft of 18 AWG to 8 ohm is a loop of 0.5108 ohm and 0.538 dB.
def test_cable_of_a_single_loudspeaker(tmp_path: Path) -> None:
    _, figures, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 100 W}]
circuits:
  - {id: S1, kind: low_impedance_speaker, source: A, cable: C18, devices: [{device: OHM8, distance: 40 ft}]}
""",
    )

    assert figures["network.S1.wire_loop"] == near(0.5108, 0.00005)
    assert figures["network.S1.end_loss"] == near(0.538, 0.0005)
    assert alerts == ["speaker loss"]


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    speakers, _, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 100 W}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: T1, distance: 40 ft}]}
  - {id: S2, kind: speaker, source: A, cable: C18, devices: [{device: OHM8, distance: 40 ft}]}
""",
    )

    assert alerts == ["not computed", "not computed"]
    assert [one.missing for one in speakers.unsolved] == ["A types no line voltage", "device OHM8 types no tap"]
