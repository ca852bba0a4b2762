"""Sheets of labels: a grid that doesn't fit its paper is a fault, in the unit of the job."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.labels import grid_of
from estimator.spec.load import load

JOB = """\
dropledger: 1
project: {{name: Test, lengths_in: {unit}}}
rooms: [{{id: 1A}}]
cables: [{{id: C6, type: cat6_utp_plenum}}]
labels: [{{id: L, {sheet}}}]
"""
MM = 0.001


def written(folder: Path, sheet: str, unit: str = "m") -> Path:
    path = folder / "job.yaml"
    path.write_text(JOB.format(sheet=sheet, unit=unit), encoding="utf-8")
    return path


def test_the_size_of_a_label_follows_from_paper_margins_and_gaps(tmp_path: Path) -> None:
    """By hand: A4 is 210 x 297 mm; (210 - 7 - 8 - 2 x 3) / 3 = 63 and (297 - 15 - 12 - 4 x 5) / 5 = 50 mm."""
    sheet = (
        "columns: 3, rows: 5, paper: A4, margin_left: 7 mm, margin_right: 8 mm, margin_top: 15 mm, "
        "margin_bottom: 12 mm, gap_across: 3 mm, gap_down: 5 mm"
    )
    project = load(written(tmp_path, sheet)).project
    assert project is not None
    grid = grid_of(project.labels[0], project.header.paper)
    assert (grid.label_width_m, grid.label_height_m) == pytest.approx((63 * MM, 50 * MM))


def test_inches_and_millimeters_give_the_same_grid(tmp_path: Path) -> None:
    """One inch is 25.4 mm."""
    grids = []
    for top, left in (("1 in", "0.5 in"), ("25.4 mm", "12.7 mm")):
        sheet = f"columns: 2, rows: 9, margin_top: {top}, margin_left: {left}"
        project = load(written(tmp_path, sheet)).project
        assert project is not None
        grids.append(grid_of(project.labels[0], project.header.paper))
    assert grids[0] == grids[1]


def test_a_grid_up_to_the_sides_of_the_paper_is_good(tmp_path: Path) -> None:
    """Three labels of 70 mm are as wide as A4."""
    sheet = "columns: 3, rows: 8, paper: A4, margin_left: 0 mm, margin_top: 0.5 mm, label_width: 70 mm, "
    assert load(written(tmp_path, f"{sheet}label_height: 36.9 mm")).faults == ()


@pytest.mark.parametrize(
    ("sheet", "unit", "fault"),
    [
        (
            "columns: 4, rows: 2, margin_top: 10 mm, margin_left: 8 mm, label_width: 60 mm",
            "m",
            "label sheet 'L' takes 248 mm across; expected at most 215.9 mm, its paper; ",
        ),
        (
            "columns: 3, rows: 11, margin_top: 0.5 in, margin_left: 0.2 in, label_height: 1 in",
            "ft",
            "label sheet 'L' takes 11.5 in down; expected at most 10.98 in, its paper; ",
        ),
        (
            "columns: 3, rows: 10, margin_top: 0 mm, margin_left: 8 mm, label_height: 25 mm",
            "m",
            "label sheet 'L' begins 0 mm below the edge; expected at least 0.5 mm; widen it",
        ),
        (
            "columns: 30, rows: 10, margin_top: 10 mm, margin_left: 8 mm, gap_across: 10 mm",
            "m",
            "label sheet 'L' leaves no room for a label; expected margins and gaps that leave some; mend them",
        ),
        (
            "columns: 3, rows: 10, margin_top: 10 mm, margin_left: 8 mm, print_height: 40 mm",
            "m",
            "label sheet 'L' has `print_height` 40 mm; expected at most the label's 25.94 mm; mend one of the two",
        ),
        (
            "columns: 3, rows: 10, margin_top: 10 mm, margin_left: 8 mm, start: 31",
            "m",
            "label sheet 'L' starts at label 31; expected 1 to 30; mend `start`",
        ),
        (
            "columns: 3, rows: 10, margin_top: 10 mm, margin_left: 8 mm, cables: C7",
            "m",
            "cable 'C7' is not declared; expected one of C6; ",
        ),
        (
            "columns: 3, rows: 10, margin_top: 10 mm, margin_left: 8 mm}, {id: l, columns: 1, rows: 1, "
            "margin_top: 10 mm, margin_left: 8 mm",
            "m",
            "label sheet 'l' is used twice; expected each id once; ",
        ),
    ],
)
def test_what_does_not_fit_is_a_fault(tmp_path: Path, sheet: str, unit: str, fault: str) -> None:
    found = [str(one) for one in load(written(tmp_path, sheet, unit)).faults]
    assert len(found) == 1
    assert f": {fault}" in found[0]
