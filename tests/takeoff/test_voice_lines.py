"""Telephone lines: ringers of bridged sets, loop, current and volts where the line's own loop is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.takeoff.footage import measure
from estimator.takeoff.voice_lines import VoiceLines, voice_alerts, voice_families, work_out_voice
from estimator.takeoff.worked import explain
from tests.takeoff.evaluated import held, project_of

JOB = """\
rooms: [{id: 1A}]
cables:
  - {id: V, medium: voice, pairs: 4, gauge: 24, jacket: CMP, class: communications, od: 4.6 mm, put_up: 300 m}
devices:
  - {id: set, system: voice, cable: V, ringers: 1.0}
  - {id: bell, system: voice, cable: V, ringer_impedance: 3.5 kohm}
  - {id: quiet, system: voice, cable: V}
drops:
  - {id: V1, room: 1A, length: 50 m, device: set, line: L1, line_loop: %s}
  - {id: V2, room: 1A, length: 30 m, device: set, line: L1}
  - {id: V3, room: 1A, length: 30 m, device: bell, line: L1}
  - {id: V4, room: 1A, length: 30 m, device: %s, line: L1}
  - {id: V5, room: 1A, length: 30 m, device: quiet}
"""


def worked(folder: Path, line_loop: str = "900 ohm", fourth: str = "quiet") -> VoiceLines:
    """Return the lines of a job; the first run's line has this loop up to the room."""
    project = project_of(folder, JOB % (line_loop, fourth))
    return work_out_voice(project, measure(project, Faults()))


def test_ringers_of_a_line_add_up(tmp_path: Path) -> None:
    """Two sets of one and a bell of 3.5 kohm, which is two (TIA-968-A, Table 6: 5 x 1400 ohm over it): four of five."""
    voice = worked(tmp_path)

    assert [(line.id, line.total) for line in voice.lines] == [("L1", pytest.approx(4.0))]
    assert voice_alerts_of(voice) == []


def test_the_sixth_ringer_is_one_too_many(tmp_path: Path) -> None:
    """Five are within (47 CFR 68), six are not; a run without a set of its own adds nothing."""
    assert voice_alerts_of(worked(tmp_path, fourth="set")) == []
    assert voice_alerts_of(worked(tmp_path, fourth="bell")) == ["ringer load"]


def voice_alerts_of(voice: VoiceLines) -> list[str]:
    """Return the kinds of a job's warnings."""
    return [alert.kind for alert in voice_alerts(voice)]


def test_current_and_volts_of_a_typed_line(tmp_path: Path) -> None:
    """900 ohm and 50 m of 24 AWG (8.42 ohm): 48 V over 1,508.4 ohm is 31.8 mA, 6.36 V at the set (closed form)."""
    figures = held(voice_families(worked(tmp_path)))

    assert figures["voice.V1.line_loop"] == pytest.approx(908.42, abs=0.005)
    assert figures["voice.V1.line_current"] == pytest.approx(0.0318, abs=5e-5)
    assert figures["voice.V1.set_volts"] == pytest.approx(6.36, abs=0.005)
    assert "voice.V2.line_loop" not in figures
    # 1,300 ohm over twice 84.2151 ohm/km (ASTM B258, IEC 60028).
    assert figures["cable.V.voice_reach"] == pytest.approx(7718, abs=1)


# 1,300 ohm is the design (confirmed), 20 mA the least of a set (confirmed): 1,800 ohm with 400 and 200 ohm.
@pytest.mark.parametrize(
    ("line_loop", "kinds"),
    [("1291 ohm", []), ("1292 ohm", ["long line"]), ("1800 ohm", ["long line", "little line current"])],
)
def test_a_long_line_is_warned(tmp_path: Path, line_loop: str, kinds: list[str]) -> None:
    """Over the design first, then too little current."""
    voice = worked(tmp_path, line_loop)

    assert voice_alerts_of(voice) == kinds
    judged = explain(voice_families(voice), "voice.V1.line_loop")
    assert judged is not None
    assert judged.judged is not None
    assert judged.judged.word == ("over the design" if kinds else "within")


def test_a_job_without_telephones_has_no_figure(tmp_path: Path) -> None:
    """Nothing is worked out where there is nothing."""
    project = project_of(tmp_path, "rooms: [{id: 1A}]\n")
    voice = work_out_voice(project, measure(project, Faults()))

    assert (list(voice_families(voice)), list(voice_alerts(voice))) == ([], [])
