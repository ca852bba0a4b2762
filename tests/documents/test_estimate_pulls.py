"""The workbook's sheets about room left, pulls and supports: what they say, and that it is recalculated."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.documents.common import document
from estimator.documents.description import Table, Verdict
from estimator.documents.estimate_paths import laid_section, paths_section
from estimator.documents.estimate_pulls import pulls_section, supports_section
from estimator.documents.estimate_room import room_section
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.recalculate import recalculate

JOB = """\
dropledger: 1
project: {name: Pulls, lengths_in: UNIT}
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}, {id: c}, {id: d}, {id: e}, {id: f}]
cables:
  - {id: C6, type: cat6_utp_plenum, weight: 27 lb/kft}
  - {id: BARE, medium: two_conductor, gauge: 18, conductors: 2, jacket: CL2P, class: class_2, od: 4 mm, put_up: 300 m}
pathways:
  - {id: P, from: 1A, to: a, length: 90 ft, rise: 20 ft, kind: conduit, trade_size: "1", bends: 270 deg}
  - {id: Q, from: a, to: b, length: 32 m, kind: conduit, trade_size: "1", bends_at: [{at: 30 m, angle: 90 deg}]}
  - {id: H, from: 1A, to: c, length: 9 m, kind: j_hooks, hook_load: 1 lb}
  - {id: T, from: c, to: d, length: 9 m, kind: tray, width: 4 in, depth: 1 in, load: 25 lb/ft}
  - {id: U, from: 1A, to: e, length: 9 m, kind: conduit, material: ent, trade_size: "1"}
  - {id: V, from: e, to: f, length: 9 m, kind: conduit, trade_size: "1", bends: 270 deg}
drops:
  - {id: D1..D9, room: 1A, at: b, cable: C6}
  - {id: E1..E20, room: 1A, at: d, cable: C6}
  - {id: F1, room: 1A, at: e, cable: BARE}
"""


@pytest.fixture(params=["ft", "m"])
def taken(request: pytest.FixtureRequest, tmp_path: Path) -> Takeoff:
    """Return the takeoff of the job, shown in feet and in meters."""
    spec = tmp_path / "job.yaml"
    spec.write_text(JOB.replace("UNIT", request.param), encoding="utf-8")
    found = load(spec)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return take_off(found.project)


def _tables(takeoff: Takeoff) -> Mapping[str, Table]:
    sections = (room_section(takeoff), pulls_section(takeoff), supports_section(takeoff))
    return {block.name: block for section in sections for block in section.blocks if isinstance(block, Table)}


def _row(table: Table, segment: str) -> dict[str, object]:
    keys = [column.key for column in table.columns]
    (row,) = [row for row in table.rows if row[0] == segment]
    shown = [cell.word if isinstance(cell, Verdict) else cell for cell in row]
    return dict(zip(keys, shown, strict=True))


def test_another_program_gets_every_figure(taken: Takeoff, tmp_path: Path) -> None:
    """Spare cables, tensions, side walls, pull points, supports and hook weights are live."""
    # What lies in each segment stands on a sheet of its own, which the room left is worked out from; fill has the rest.
    sheets = (paths_section, laid_section, room_section, pulls_section, supports_section)
    sections = tuple(section(taken) for section in sheets)
    book = document(taken.project, None, title="Pulls", subject="pulls", sections=sections)
    result = recalculate(write_xlsx(book), tmp_path)

    assert result.compared >= 18
    assert result.differences == []


def test_pulls_are_told_by_the_way_their_bends_are_known(taken: Takeoff) -> None:
    """One table with all bends at the pulled end, one with both ends; what has no weight is named."""
    tables = _tables(taken)
    assert [row[0] for row in tables["pulls"].rows] == ["P"]
    assert _row(tables["pulls"], "P")["word"] == "within"
    both = _row(tables["pulls_both_ways"], "Q")
    assert both["feed"] == "b"
    assert float(str(both["tension"])) < float(str(both["other"]))
    said = [getattr(block, "text", "") for block in pulls_section(taken).blocks]
    assert "No tension where a cable has no weight: BARE." in said


def test_bends_name_pull_points_and_their_box(taken: Takeoff) -> None:
    """270 degrees over 110 ft need one box; the other run is long without many bends."""
    row = _row(_tables(taken)["bends"], "P")
    box = "4 x 16 x 3 in" if taken.project.header.lengths_in == "ft" else "101.6 x 406.4 x 76.2 mm"
    assert row["points"] == 1
    assert str(row["box"]).startswith(f"{box} (TIA/EIA-569-A")
    assert _row(_tables(taken)["bends"], "Q")["points"] == 1
    short = _row(_tables(taken)["bends"], "V")
    assert str(short["box"]).endswith("; the third bend may stay, as the run is short")


def test_room_left_names_the_size_that_holds_it_all(taken: Takeoff) -> None:
    """Nine cables of 0.225 in fill 1 in EMT to 41.4 %: nothing is left, and 1-1/4 holds them (by hand)."""
    table = _tables(taken)["room"]
    assert (_row(table, "P")["spare"], _row(table, "P")["smallest"]) == (0, "EMT 1-1/4")
    assert _row(table, "U")["smallest"] == "ENT 1/2"
    assert _row(table, "T")["smallest"] == ""
    assert [row[0] for row in table.rows] == ["P", "Q", "T", "U"]


def test_supports_and_weights(taken: Takeoff) -> None:
    """110 ft of EMT: 12 supports; 20 cables of 27 lb/kft: 0.54 lb/ft, 2.7 lb on a hook 5 ft from the next (by hand)."""
    tables = _tables(taken)
    assert _row(tables["supports"], "P")["supports"] == 12
    assert _row(tables["hook_weights"], "H")["word"] == "over rating"
    assert _row(tables["tray_weights"], "T")["word"] == "within rating"
    if taken.project.header.lengths_in == "ft":
        assert _row(tables["hook_weights"], "H")["each"] == pytest.approx(2.7, rel=1e-9)
        assert _row(tables["tray_weights"], "T")["weight"] == pytest.approx(0.54, rel=1e-9)


def test_of_many_hooks_without_a_rating_the_heaviest_are_listed(tmp_path: Path) -> None:
    """Forty of them, and each that is rated; the rest are counted."""
    names = [f"n{number}" for number in range(45)]
    nodes = ", ".join(f"{{id: {name}}}" for name in names)
    hooks = "".join(
        f"  - {{id: H{n}, from: 1A, to: {name}, length: 9 m, kind: j_hooks{', hook_load: 5 kg' if n == 0 else ''}}}\n"
        for n, name in enumerate(names)
    )
    drops = "".join(
        f"  - {{id: D{n}-1..D{n}-{n + 1}, room: 1A, at: {name}, cable: C6}}\n" for n, name in enumerate(names)
    )
    spec = tmp_path / "job.yaml"
    spec.write_text(
        "dropledger: 1\nproject: {name: Hooks}\nrooms: [{id: 1A}]\ncables: [{id: C6, type: cat6_utp_plenum}]\n"
        f"nodes: [{nodes}]\npathways:\n{hooks}drops:\n{drops}",
        encoding="utf-8",
    )
    project = load(spec).project
    assert project is not None
    table = _tables(take_off(project))["hook_weights"]
    assert [row[0] for row in table.rows] == ["H0", *(f"H{number}" for number in range(5, 45))]
    assert table.caption == "4 segments with less on each hook and no rating are left out."
