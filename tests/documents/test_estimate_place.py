"""The workbook's sheet about jackets, circuits that lie together and power beside them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from estimator.documents.common import document
from estimator.documents.description import Table, Verdict
from estimator.documents.estimate_place import place_section
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.recalculate import recalculate

JOB = """\
dropledger: 1
project: {name: Place}
codes: {electrical: "2020"}
rooms: [{id: 1A}]
nodes: [{id: a}, {id: b}, {id: c}]
cables:
  - {id: P, type: cat6_utp_plenum}
  - {id: R, type: cat6_utp_riser}
  - {id: FA, type: fplp_14_2, put_up: 300 m}
  - {id: OUT, medium: two_conductor, gauge: 18, conductors: 2, jacket: OSP, class: class_2, od: 4 mm, put_up: 300 m}
  - {id: PWR, medium: two_conductor, gauge: 12, conductors: 2, jacket: NM, class: power, od: 9 mm, put_up: 300 m}
pathways:
  - {id: T, from: 1A, to: a, length: 9 m, kind: tray, width: 4 in, depth: 4 in, space: riser,
     existing: [{cable: PWR, qty: 1}], near_power: [{distance: 1 in}, {distance: 3 in}]}
  - {id: E, from: a, to: b, length: 9 m, kind: conduit, trade_size: "1", space: plenum}
  - {id: O, from: 1A, to: c, length: 9 m, kind: open, space: outdoor}
drops:
  - {id: D1, room: 1A, at: b, cable: P}
  - {id: D2, room: 1A, at: b, cable: R}
  - {id: D3, room: 1A, at: b, cable: FA}
  - {id: D4, room: 1A, at: c, cable: OUT}
"""


@pytest.fixture
def taken(tmp_path: Path) -> Takeoff:
    """Return the takeoff of the job."""
    spec = tmp_path / "job.yaml"
    spec.write_text(JOB, encoding="utf-8")
    found = load(spec)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return take_off(found.project)


def _rows(takeoff: Takeoff, name: str) -> Sequence[tuple[object, ...]]:
    (table,) = [block for block in place_section(takeoff).blocks if isinstance(block, Table) and block.name == name]
    return [tuple(cell.word if isinstance(cell, Verdict) else cell for cell in row) for row in table.rows]


def test_jackets_stand_by_space_with_what_may_replace_them(taken: Takeoff) -> None:
    """Source: NFPA 70 substitution tables (memory): CMR by CMP, FPLR by CMP, FPLP and CMR."""
    assert _rows(taken, "jackets") == [
        ("plenum", "P", "CMP", "CMP", "none", "fits", "E"),
        ("plenum", "R", "CMR", "CMP", "none", "in metal raceway", "E"),
        ("plenum", "FA", "FPLP", "FPLP", "CMP", "fits", "E"),
        ("riser", "P", "CMP", "CMR", "CMP", "substitute", "T"),
        ("riser", "R", "CMR", "CMR", "CMP", "fits", "T"),
        ("riser", "FA", "FPLP", "FPLR", "CMP, FPLP, CMR", "substitute", "T"),
        ("outdoor", "OUT", "OSP", "its own listing", "none", "not judged", "O"),
    ]


def test_circuits_that_lie_together_stand_with_the_clause_of_the_edition(taken: Takeoff) -> None:
    """What lies there already counts; the clause is that of 2020."""
    rows = {(row[0], row[1], row[2]): (row[3], row[5], row[6]) for row in _rows(taken, "together")}
    assert rows == {
        ("communications", "power-limited fire alarm", "tray"): ("together", "800.133 and 805.133", "T"),
        ("communications", "light and power", "tray"): ("apart", "800.133 and 805.133", "T"),
        ("power-limited fire alarm", "light and power", "tray"): ("apart", "760.136", "T"),
        ("communications", "power-limited fire alarm", "raceway"): ("together", "800.133 and 805.133", "E"),
    }


def test_distances_from_power_are_live(taken: Takeoff, tmp_path: Path) -> None:
    """2 in less is asked for in metric, 50 mm: 1 in is too near, 3 in is not."""
    assert [(row[0], row[5]) for row in _rows(taken, "near_power")] == [("T", "too near"), ("T", "within")]
    book = document(taken.project, None, title="Place", subject="place", sections=(place_section(taken),))
    result = recalculate(write_xlsx(book), tmp_path)
    assert result.compared >= 2
    assert result.differences == []


def test_without_power_beside_it_there_is_no_such_table(taken: Takeoff, tmp_path: Path) -> None:
    """A job that types none has two tables."""
    spec = tmp_path / "other.yaml"
    spec.write_text(JOB.replace(", near_power: [{distance: 1 in}, {distance: 3 in}]", ""), encoding="utf-8")
    project = load(spec).project
    assert project is not None
    names = [block.name for block in place_section(take_off(project)).blocks if isinstance(block, Table)]
    assert names == ["jackets", "together"]
