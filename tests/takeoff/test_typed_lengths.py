"""What stands beside a typed length and isn't added to it is told, once for all drops alike."""

from __future__ import annotations

from pathlib import Path

from estimator.takeoff.typed_lengths import typed_length_alerts
from tests.takeoff.evaluated import measured

JOB = """\
rooms: [{id: 1A}]
nodes: [{id: a}]
pathways: [{id: T, from: 1A, to: a, length: 9 m, kind: open}]
cables: [{id: C6, type: cat6_utp_plenum}]
drops:
  - {id: D1..D3, room: 1A, cable: C6, length: 50 m, service_loop: 3 m, last_leg: 0 m}
  - {id: D4, room: 1A, cable: C6, length: 50 m, service_loop: 0 m}
  - {id: D5, room: 1A, cable: C6, at: a, service_loop: 3 m}
  - {id: D6, room: 1A, cable: C6, length: 50 m, slack_room: 2 m, service_loop: 1 m}
  - {id: D7, room: 1A, cable: C6, length: 50 m}
"""


def test_parts_beside_a_typed_length_are_told_once(tmp_path: Path) -> None:
    """Nothing of them is in the expected length; zero and a routed drop have nothing to tell."""
    project, footage = measured(tmp_path, JOB)
    alerts = list(typed_length_alerts(project))

    assert [length.expected_m for length in footage.lengths if length.id == "D1"] == [50.0]
    assert [(alert.subject, alert.value) for alert in alerts] == [
        ("D1", "`service_loop`"),
        ("D6", "`slack_room`, `service_loop`"),
    ]
    assert alerts[0].text == "the length of D1 and 2 more is typed in, so nothing is added to it"
    assert str(alerts[1].place).endswith("job.yaml:11:61")
