"""An ohmmeter on connected loudspeakers: what their coils can't have is a finding, never a failure."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.criteria import criteria_for
from estimator.field.judging import judge
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.footage import measure
from tests.field.sheetrows import row

JOB = """\
dropledger: 1
project: {name: Hall, lengths_in: m}
rooms: [{id: 1A}]
cables: [{id: SPK, type: c14_2_speaker, class: audio_class_2}]
devices:
  - {id: box, system: audio, cable: SPK, impedance: 8 ohm}
  - {id: ceiling, system: audio, cable: SPK, tap: 5 W}
drops: [{id: 1A-S1, room: 1A, device: box, length: 10 m}]
amplifiers: [{id: AMP, room: 1A, power: 100 W, line_voltage: 70.7 V}]
circuits:
  - {id: LZ, kind: low_impedance_speaker, source: AMP, cable: SPK, devices: [{device: box, distance: 10 m, qty: 2}]}
  - {id: HZ, kind: speaker, source: AMP, cable: SPK, devices: [{device: ceiling, distance: 10 m}]}
"""


def texts(folder: Path, circuit: str, ohm: str, far_end: str = "device on") -> list[str]:
    """Return what is found about the coils in one reading."""
    path = folder / "hall.yaml"
    path.write_text(JOB, encoding="utf-8")
    project = load(path).project
    assert project is not None
    footage = measure(project, Faults())
    read = row(circuit, "speaker", resistance=ohm, far_end=far_end)
    result = judge(project, footage, criteria_for(project, footage), (read,), ()).by_id[circuit]
    found = [one for one in result.findings if one.kind == "voice coils"]
    assert not any(one.cause for one in found)
    return [one.text for one in found]


LESS, MORE = ["less than its voice coils have"], ["more than its voice coils have"]


# Source: driver maker's question page and a published table: a coil of 8 ohm has 5.1 to 8.0 ohm; two in parallel
# 2.55 to 4.0. 10 m of 14 AWG there and back add 0.17 ohm, and half an ohm is left to leads.
@pytest.mark.parametrize(
    ("circuit", "ohm", "expected"),
    [
        ("LZ", "2.4", LESS),
        ("LZ", "2.6", []),
        ("LZ", "4.6", []),
        ("LZ", "6.0", MORE),  # one of the two is off
        ("1A-S1", "5.0", LESS),
        ("1A-S1", "6.0", []),
        ("1A-S1", "9.0", MORE),
        ("HZ", "1.0", []),  # transformer primaries say nothing
    ],
)
def test_coils_that_cannot_be_are_a_finding(tmp_path: Path, circuit: str, ohm: str, expected: list[str]) -> None:
    """Below a short part of the way, above a loudspeaker that is missing."""
    assert texts(tmp_path, circuit, ohm) == expected


def test_a_line_with_its_far_end_shorted_says_nothing_of_coils(tmp_path: Path) -> None:
    """There the meter sees the wire."""
    assert texts(tmp_path, "LZ", "0.3", "shorted") == []
