"""Racks: words alone stay good; units are taken once, by what is there."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.load import load

JOB = """\
dropledger: 1
project: {{name: Test}}
rooms:
  - id: 1A
    patch_panels: [{{id: A, ports: 24}}, {{id: B, ports: 24}}]
    racks: {racks}
  - {{id: 2A}}
switches: [{{id: SW-1, room: 1A, ports: 24}}, {{id: SW-2, room: 2A, ports: 24}}]
"""


def written(folder: Path, racks: str) -> Path:
    path = folder / "job.yaml"
    path.write_text(JOB.format(racks=racks), encoding="utf-8")
    return path


def test_words_alone_and_racks_with_units_stand_side_by_side(tmp_path: Path) -> None:
    """A rack in words has no units; one with units holds things by their lowest unit."""
    racks = "[wall panel, {id: R1, units: 42, holds: [{at: 40, panel: A}, {at: 10, height: 2, equipment: SW-1}]}]"
    project = load(written(tmp_path, racks)).project
    assert project is not None
    words, rack = project.rooms["1A"].racks
    assert (words.shown, words.units, words.holds) == ("wall panel", 0, ())
    assert [(item.at, item.top, item.shown) for item in rack.holds] == [(40, 40, "panel A"), (10, 11, "SW-1")]


def test_front_and_rear_share_a_unit(tmp_path: Path) -> None:
    racks = "[{id: R1, units: 42, holds: [{at: 1, panel: A}, {at: 1, side: rear, what: power strip}]}]"
    assert load(written(tmp_path, racks)).faults == ()


@pytest.mark.parametrize(
    ("holds", "fault"),
    [
        (
            "{at: 5, height: 2, panel: A}, {at: 6, panel: B}",
            "panel B takes unit 6 of rack 'R1', where panel A is; expected a unit for one thing on each side; "
            "move one of them; the other stands at job.yaml:6:46",
        ),
        (
            "{at: 5, side: both, panel: A}, {at: 5, side: rear, what: tray}",
            "tray takes unit 5 of rack 'R1', where panel A is; expected a unit for one thing on each side; ",
        ),
        (
            "{at: 12, height: 2, panel: A}",
            "panel A takes unit 13 of rack 'R1'; expected units 1 to 12; mend `at` or `height`, or the rack's `units`",
        ),
        (
            "{at: 1}",
            "an entry of rack 'R1' doesn't say what stands there; expected `panel:`, `equipment:` or `what:`; ",
        ),
        ("{at: 1, panel: A, equipment: SW-1}", "an entry of rack 'R1' names panel 'A' and equipment 'SW-1'; expected "),
        ("{at: 1, panel: C}", "panel 'C' is not declared; expected one of A, B; add it under `patch_panels` or"),
        ("{at: 1, panel: A}, {at: 2, panel: A}", "panel 'A' stands in two places; expected each in one place; "),
        ("{at: 1, equipment: SW-9}", "equipment 'SW-9' is not declared; expected one of SW-1, SW-2; write SW-2, or "),
        (
            "{at: 1, equipment: SW-2}",
            "'SW-2' stands in room '2A', the rack in '1A'; expected one of SW-1; mend the room of one of them",
        ),
    ],
)
def test_what_cannot_stand_there_is_a_fault(tmp_path: Path, holds: str, fault: str) -> None:
    found = [str(one) for one in load(written(tmp_path, f"[{{id: R1, units: 12, holds: [{holds}]}}]")).faults]
    assert len(found) == 1
    assert f": {fault}" in found[0].replace(f"{tmp_path.as_posix()}/", "")


def test_a_rack_stands_once_in_its_room(tmp_path: Path) -> None:
    (fault,) = load(written(tmp_path, "[{id: R1, units: 9}, {id: r1, units: 9}]")).faults
    assert fault.wrong == "rack 'r1' of room '1A' is used twice"
