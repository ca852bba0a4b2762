"""Two states of the demo against each other: what changed, and that the money of it adds up."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.takeoff.changes import Changes, compare, with_lengths
from estimator.takeoff.takeoff import Takeoff, take_off

DEMO = Path(__file__).parents[2] / "specs" / "library"
FOOT = 0.3048


def _takeoff(folder: Path, text: str) -> Takeoff:
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("pictures", "sheets"))
    (folder / "library.yaml").write_text(text, encoding="utf-8")
    loaded = load(folder / "library.yaml")
    assert loaded.project is not None, "\n".join(map(str, loaded.faults))
    return take_off(loaded.project)


@pytest.fixture(scope="module")
def typed() -> str:
    """Return the demo's project file."""
    return (DEMO / "library.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo as it stands."""
    project = load(DEMO / "library.yaml").project
    assert project is not None
    return take_off(project)


def _adds_up(changes: Changes) -> None:
    """Lines make the kinds, kinds and steps make the price: nothing is lost between the tables."""
    kinds = {one.name: one.amount for one in changes.steps if one.id.startswith("kind.")}
    for kind in {one.kind for one in (*changes.material, *changes.labor)}:
        of_kind = [one.amount for one in (*changes.material, *changes.labor) if one.kind == kind]
        assert sum(of_kind, Decimal(0)) == kinds.get(kind, Decimal(0)), kind
    assert sum((one.amount for one in changes.steps), Decimal(0)) == changes.price


def test_the_same_job_has_no_changes(demo: Takeoff) -> None:
    """Nothing is listed where nothing changed."""
    changes = compare(demo, demo)
    assert (changes.circuits, changes.cables, changes.material, changes.labor, changes.steps) == ((), (), (), (), ())
    assert changes.price == 0


def test_a_new_drop_brings_its_circuit_cable_device_and_labor(demo: Takeoff, typed: str, tmp_path: Path) -> None:
    """One drop of 300 ft more: one circuit, its footage, its jack and its hours; money adds up."""
    more = typed.replace("\ndrops:\n", "\ndrops:\n  - {id: EXTRA-1, room: 1A, length: 300 ft, device: data_jack}\n")
    assert more != typed
    changes = compare(demo, _takeoff(tmp_path / "more", more))
    assert [(one.id, one.state, one.before_m) for one in changes.circuits] == [("EXTRA-1", "added", None)]
    assert changes.circuits[0].after_m == pytest.approx(300 * FOOT, rel=1e-12)
    (cable,) = changes.cables
    assert cable.after_m - cable.before_m == pytest.approx(300 * FOOT, rel=1e-9)
    assert changes.material
    assert changes.labor
    assert all(one.state == "changed" for one in changes.labor)
    assert changes.price is not None
    assert changes.price > 0
    _adds_up(changes)


def test_there_and_back_is_the_same_with_other_signs(demo: Takeoff, typed: str, tmp_path: Path) -> None:
    """Every change of one direction is that of the other with its sign turned."""
    other = _takeoff(tmp_path / "other", typed.replace("length: 40 ft", "length: 55 ft"))
    there, back = compare(demo, other), compare(other, demo)
    assert there.circuits
    assert {one.id: one.amount for one in there.labor} == {one.id: -one.amount for one in back.labor}
    assert there.price is not None
    assert back.price == -there.price
    _adds_up(there)
    _adds_up(back)


def test_read_lengths_make_another_order_and_price(demo: Takeoff) -> None:
    """Every cable a third longer as built: footage by a third, more put-ups, a higher price; money adds up."""
    longer = with_lengths(demo, {one.id: one.expected_m * 4 / 3 for one in demo.footage.lengths})
    changes = compare(demo, longer)
    assert len(changes.circuits) == len(demo.footage.lengths)
    assert all(one.what == "length" for one in changes.circuits)
    for one in changes.cables:
        assert one.after_m == pytest.approx(one.before_m * 4 / 3, rel=1e-9)
        assert one.boxes_after >= one.boxes_before
    assert changes.price is not None
    assert changes.price > 0
    _adds_up(changes)


def test_a_circuit_that_is_not_read_keeps_its_expected_length(demo: Takeoff) -> None:
    """One length alone is replaced."""
    first = demo.footage.lengths[0]
    changes = compare(demo, with_lengths(demo, {first.id: first.expected_m + 1}))
    assert [(one.id, one.state) for one in changes.circuits] == [(first.id, "changed")]
