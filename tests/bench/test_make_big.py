"""The benchmark job is what it says it is."""

from __future__ import annotations

from pathlib import Path

from estimator.acceptance.columns import sheet
from estimator.spec.load import load
from tests.bench import make_big, make_readings


def test_each_drop_is_as_long_as_promised() -> None:
    least, most = make_big.DROP_BYTES
    sizes = [len(typed.encode()) for typed in make_big.drop_texts()]
    assert len(sizes) == make_big.DROPS
    assert least <= min(sizes) <= max(sizes) <= most


def test_the_same_bytes_each_time() -> None:
    assert make_big.text() == make_big.text()


def test_the_job_loads_without_faults(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    assert make_big.main([str(path)]) == 0
    loaded = load(path)
    assert loaded.faults == ()
    project = loaded.project
    assert project is not None
    assert len(project.runs) == make_big.DROPS
    assert len(project.segments) == 2_000
    assert len(project.cables) == 5
    assert len(project.rooms) == 5
    powered = [run for run in project.runs if run.device is not None and run.device.poe_class is not None]
    assert len(powered) == make_big.POE_DEVICES
    assert project.prices is not None


def test_six_readings_a_circuit(tmp_path: Path) -> None:
    """Each of the 10,000 circuits has a row of six readings: 60,000 in all, the same each time."""
    path = tmp_path / "big.yaml"
    assert make_big.main([str(path)]) == 0
    made = make_readings.sheets_text(path)
    told = 0
    for medium, text in made.items():
        heads = text.splitlines()[0].split(",")
        titles = {column.title for column in sheet(medium, "ft").readings}
        told += sum(head in titles for head in heads) * (len(text.splitlines()) - 1)
    assert told == make_readings.READINGS_EACH * make_big.DROPS
    assert made == make_readings.sheets_text(path)
