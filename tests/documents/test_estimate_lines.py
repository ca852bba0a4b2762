"""The estimate's sheet about copper links, coaxial runs and telephone lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.documents.description import Column, Section, Table
from estimator.documents.estimate_lines import lines_sheet
from estimator.takeoff.takeoff import take_off
from tests.documents.job_sample import takeoff
from tests.takeoff.evaluated import project_of

FOOT = 0.3048


def tables(section: Section) -> dict[str, Table]:
    """Return the tables of a sheet by name."""
    return {block.name: block for block in section.blocks if isinstance(block, Table)}


def row(table: Table, first: str) -> dict[str, object]:
    """Return one row by the keys of its columns."""
    return dict(
        zip((column.key for column in table.columns), next(r for r in table.rows if r[0] == first), strict=True)
    )


def column(table: Table, key: str) -> Column:
    """Return a column by its key."""
    return next(one for one in table.columns if one.key == key)


def test_links_show_their_length_in_the_heat() -> None:
    """30 °C and 5 K of bundle: 90 m over 1.06 (ANSI/TIA-568-C.2 clause 6.4.7), live in the workbook."""
    links = tables(lines_sheet(takeoff()))["link_lengths"]
    shown = row(links, "c6")

    assert shown["factor"] == pytest.approx(1.06)
    assert shown["warm"] == pytest.approx(90 / 1.06 / FOOT)
    assert shown["cords"] == pytest.approx(90 / FOOT)
    assert column(links, "warm").formula is not None


def test_coax_shows_loop_and_loss() -> None:
    """Every coaxial run of the job, with the largest loop and the loss of its line as live formulas."""
    coax = tables(lines_sheet(takeoff()))["coax_runs"]
    own = {run.id: run for run in takeoff().coax.runs}

    assert [one[0] for one in coax.rows] == list(own)
    for name, run in own.items():
        shown = row(coax, name)
        live = column(coax, "most")
        inputs = {key: shown[key] for key in ("tolerance", "leads_ohm")}
        si = column(coax, "most_ohm_per_m").si
        assert live.formula is not None
        assert live.formula(
            length_m=run.length.expected_m, most_ohm_per_m=float(str(shown["most_ohm_per_m"])) * si, **inputs
        ) == pytest.approx(run.most_loop_ohm)
        assert shown["loss"] == run.loss_db


def test_telephone_lines_show_what_is_typed(tmp_path: Path) -> None:
    """Ringers where a set types them, current where the line's loop is typed, else no such table."""
    job = """\
rooms: [{id: 1A}]
cables:
  - {id: V, medium: voice, pairs: 4, gauge: 24, jacket: CMP, class: communications, od: 4.6 mm, put_up: 300 m}
devices: [{id: set, system: voice, cable: V%s}]
drops: [{id: V1, room: 1A, length: 50 m, device: set%s}]
"""
    plain = tables(lines_sheet(take_off(project_of(tmp_path, job % ("", "")))))
    typed = tables(lines_sheet(take_off(project_of(tmp_path, job % (", ringers: 2", ", line_loop: 900 ohm")))))

    assert set(plain) == {"link_lengths"}
    assert row(typed["ringers"], "V1")["total"] == 2.0
    # 48 V over 400, 908.4 and 200 ohm: 31.8 mA (Ohm's law).
    assert row(typed["voice_runs"], "V1")["current"] == pytest.approx(31.8, abs=0.05)
