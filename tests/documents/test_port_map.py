"""Panel faces and racks: in the order somebody before them sees, free ports and units included."""

from __future__ import annotations

from dataclasses import replace

from estimator.documents.closeout_built import port_words
from estimator.documents.description import Picture
from estimator.documents.drawing import Words
from estimator.documents.port_map import faces, rack_table
from estimator.documents.port_pictures import face_pictures, plant_sections, rack_pictures
from tests.documents.job_sample import FAILED, UNTESTED, job, project, takeoff


def said(picture: Picture) -> list[str]:
    return [mark.text for mark in picture.drawing.marks if isinstance(mark, Words)]


def test_ports_run_left_to_right_then_top_to_bottom() -> None:
    """Source: ANSI/TIA-606 as quoted in guides, ports left to right, then top to bottom; single."""
    face = faces(takeoff())[0]
    assert [[port.number for port in row] for row in face.rows] == [list(range(1, 25)), list(range(25, 49))]
    assert face.rows[0][4].circuit == "1A-A05"


def test_a_face_holds_every_port_and_knows_its_rack() -> None:
    for face, use in zip(faces(takeoff()), takeoff().panels, strict=True):
        assert sum(len(row) for row in face.rows) == use.ports
        taken = [(port.number, port.circuit) for row in face.rows for port in row if port.circuit]
        assert taken == list(use.used)
    assert faces(takeoff())[0].place == "rack R1, unit 39 to 40"


def test_what_has_not_passed_is_told_and_hatched() -> None:
    before, after = (face_pictures(faces(takeoff(), words)) for words in (None, port_words(job())))
    assert f"Not passed: {FAILED}" in after[0].alternative
    assert UNTESTED in after[0].alternative
    assert "Not passed" not in before[0].alternative
    assert len(after[0].drawing.marks) > len(before[0].drawing.marks)


def test_every_circuit_on_a_panel_stands_in_a_picture() -> None:
    shown = {text for picture in face_pictures(faces(takeoff())) for text in said(picture)}
    short = [circuit for use in takeoff().panels for _, circuit in use.used if "/" not in circuit]
    assert len(short) > 90
    assert set(short) <= shown


def test_a_rack_lists_its_units_without_a_gap() -> None:
    """Each unit of the rack's 45 stands in one row of its front."""
    rows = [row for row in rack_table(project()).rows if row[1] == "R1" and row[2] == "front"]
    units: list[int] = []
    for row in rows:
        high, _, low = str(row[3]).partition(" to ")
        units += range(int(high), int(low or high) - 1, -1)
    assert units == list(range(45, 0, -1))
    assert ("1A", "R1", "front", "35", "SW-1A", "network switch, 24 ports") in rows


def test_racks_are_drawn_with_what_they_hold() -> None:
    (picture,) = rack_pictures(project())
    assert "1A rack R1, front, 45 units: panel F in 44, panel X in 43" in picture.alternative
    assert {"1A, rack R1", "2A, rack R2"} <= set(said(picture))


def test_a_job_without_panels_and_racks_has_neither_part() -> None:
    bare = replace(project(), rooms={})
    assert plant_sections(replace(takeoff(), project=bare, panels=())) == ()
