"""Criteria of fiber strands on drops, and with typed equipment."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.footage import measure

JOB = """\
dropledger: 1
project: {{name: Yard, lengths_in: m}}
rooms: [{{id: 1A}}, {{id: 2A}}]
cables: [{{id: OM4, type: of_12_om4_ofnp, strands: 2, put_up: 1 km, reference: two_cord}}]
devices: [{{id: cam, system: video, cable: OM4, application: 1000BASE-LX}}]
drops: [{{id: 1A-F1, room: 1A, device: cam, length: {length} m, connections: 3, splices: 1}}]
backbone: [{{id: 1A/2A-1, from: 1A, to: 2A, cable: OM4, length: 100 m, {backbone}}}]
"""


def criteria(folder: Path, length: int = 100, backbone: str = "splices: 0") -> dict[str, Criteria]:
    """Return the criteria of a fiber drop and a fiber backbone cable by their ids."""
    (folder / "yard.yaml").write_text(JOB.format(length=length, backbone=backbone), encoding="utf-8")
    loaded = load(folder / "yard.yaml")
    assert loaded.project is not None, "\n".join(map(str, loaded.faults))
    return {one.id: one for one in criteria_for(loaded.project, measure(loaded.project, Faults()))}


# Source: ANSI/TIA-568.3-D: 3.0 dB/km at 850 nm, 0.75 dB a pair, 0.3 dB a splice; two cords count one end, and the
# pair between counts always. IEEE 802.3 clause 38: 1000BASE-LX over multimode bears 2.35 dB, tested at 1300 nm.
def test_a_drops_strands_are_judged_by_its_own_method_and_application(tmp_path: Path) -> None:
    strand = criteria(tmp_path)["1A-F1.2"]

    at_850, at_1300 = strand.criterion("loss", "850"), strand.criterion("loss", "1300")
    assert at_850 is not None
    assert at_1300 is not None
    assert at_850.high == pytest.approx(0.3 + 2 * 0.75 + 0.3)
    assert at_1300.high == pytest.approx(0.15 + 2 * 0.75 + 0.3)
    assert "2 mated pairs, 1 splice, two cord" in at_850.source
    assert [bound.name for bound in at_1300.bounds] == ["component limit", "application budget, 1000BASE-LX"]
    assert (strand.system, strand.settings.reference) == ("video", "two cord")
    assert strand.settings.limit.endswith("OM4, 1000BASE-LX")


# At 400 m the components allow 0.6 + 1.5 + 0.3 = 2.4 dB, more than the application bears.
def test_the_applications_budget_is_the_tighter_on_a_long_drop(tmp_path: Path) -> None:
    found = criteria(tmp_path, length=400)["1A-F1.1"].criterion("loss", "1300")
    assert found is not None
    assert found.high == 2.35
    assert found.source.startswith("application budget, 1000BASE-LX")


# By hand: -20 and -31 dBm with 10.2 dB kept leave 0.8 dB, under the 0.3 + 0.75 dB of the components.
def test_the_power_budget_of_equipment_bounds_every_strand(tmp_path: Path) -> None:
    equipment = "equipment: {transmit_dbm: -20, receive_dbm: -31, margin: 10.2 dB}"
    found = criteria(tmp_path, backbone=equipment)["1A/2A-1.1"].criterion("loss", "850")
    assert found is not None
    assert found.high == pytest.approx(0.8)
    assert found.source.startswith("power budget of the equipment: equipment, yard.yaml:")
