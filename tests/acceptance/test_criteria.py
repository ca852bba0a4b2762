"""Criteria against published limits, in test order, and with the circuit's own numbers."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.acceptance.columns import MEDIA, sheet, sheets
from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.fiber_links import work_out_fiber
from estimator.takeoff.footage import measure
from tests.acceptance.job import job

NS = 1e-9


@pytest.fixture
def by_id(tmp_path: Path) -> dict[str, Criteria]:
    """Return the small job's criteria by id."""
    return {criteria.id: criteria for criteria in job(tmp_path)[2]}


def criterion(criteria: Criteria, test: str, position: str = "") -> Criterion:
    """Return a criterion that must be there."""
    found = criteria.criterion(test, position)
    assert found is not None, (criteria.id, test, position)
    return found


def test_order_is_room_medium_and_natural_id(tmp_path: Path) -> None:
    """The list runs as a crew walks: by room, then by medium, A02 before A10."""
    assert [criteria.id for criteria in job(tmp_path)[2]] == [
        "1A-A01", "1A-A02", "1A-A10", "1A-V1", "1A/1B-1.1", "1A/1B-1.2", "NAC-1", "SP-1", "BAT-1", "GND-1",
    ]  # fmt: skip


def test_plug_ended_devices_make_plug_terminated_links(by_id: dict[str, Criteria]) -> None:
    """A camera with a field plug is tested as such, an outlet as a permanent link."""
    assert by_id["1A-A01"].link == "modular_plug_terminated_link"
    assert by_id["1A-A02"].link == "permanent_link"
    assert by_id["1A-A01"].settings.adapter == "plug"
    assert by_id["1A-A02"].settings.limit == "ANSI/TIA-568.2-D Category 6 permanent link"


@pytest.mark.parametrize(
    ("test", "position", "high"),
    [
        ("length", "", 99.0),  # ANSI/TIA-1152 clause 2.3.1 (single): 90 m and 10 % for the velocity
        ("delay", "36", 498 * NS),  # ANSI/TIA-568-C.2 clause 6 (memory): permanent link at 10 MHz
        ("skew", "", 44 * NS),  # ANSI/TIA-568-C.2 clause 6 (memory)
        ("resistance", "78", 21.0),  # ANSI/TIA-568.2-D (memory): loop of a permanent link
    ],
)
def test_limits_of_a_permanent_link(by_id: dict[str, Criteria], test: str, position: str, high: float) -> None:
    """Limits come from the tables, each with its source."""
    found = criterion(by_id["1A-A02"], test, position)
    assert found.high == pytest.approx(high, rel=1e-12)
    assert "TIA" in found.source


def test_channel_has_its_own_limits(tmp_path: Path) -> None:
    """A channel: 555 ns and 50 ns (ANSI/TIA-568-C.2, single and confirmed), 110 m, 25 ohm (568.2-D, memory)."""
    asked = "\n  cables: [{cable: C6, link: channel, tests: wire_map length delay skew resistance}]"
    link = {criteria.id: criteria for criteria in job(tmp_path, asked)[2]}["1A-A02"]
    highs = {c.key: c.high for c in link.criteria}
    assert highs["delay", "12"] == pytest.approx(555 * NS)
    assert highs["skew", ""] == pytest.approx(50 * NS)
    assert highs["length", ""] == pytest.approx(110.0)
    assert highs["resistance", "45"] == pytest.approx(25.0)
    assert criterion(link, "delay", "12").required


def test_older_edition_limits_no_loop_resistance(tmp_path: Path) -> None:
    """568-C.2 has no loop limit; a loop must only be closed."""
    project, footage, _ = job(tmp_path)
    text = (tmp_path / "clinic.yaml").read_text().replace("rooms:", "codes: {cabling: 568-C.2}\nrooms:", 1)
    (tmp_path / "clinic.yaml").write_text(text)
    from estimator.acceptance.criteria import criteria_for
    from estimator.spec.load import load

    older = load(tmp_path / "clinic.yaml").project
    assert older is not None
    found = {criteria.id: criteria for criteria in criteria_for(older, footage)}["1A-A02"]
    assert criterion(found, "resistance", "12").high == 1000
    assert project.codes.cabling == "568.2-D"


def test_a_tighter_typed_limit_wins_and_both_are_shown(tmp_path: Path) -> None:
    """The tightest bound judges; every bound considered stays listed."""
    asked = "\n  cables: [{cable: C6, length_max: 70 m, loop_max: 12 ohm}]"
    link = {criteria.id: criteria for criteria in job(tmp_path, asked)[2]}["1A-A02"]
    length = criterion(link, "length")
    assert length.high == 70.0
    assert [bound.name for bound in length.bounds] == ["field limit", "project limit"]
    assert criterion(link, "resistance", "12").high == 12.0


def test_expected_loop_follows_the_circuits_length(by_id: dict[str, Criteria]) -> None:
    """23 AWG: 13.3571 ohm a 100 m loop (ASTM B258 and IEC 60028), so 50 m and 80 m."""
    assert by_id["1A-A02"].expected_loop_ohm == pytest.approx(13.3571 * 0.5, abs=1e-4)
    assert by_id["1A-A01"].expected_loop_ohm == pytest.approx(13.3571 * 0.8, abs=1e-4)
    assert by_id["1A-A02"].expected_m == pytest.approx(50.0)


def test_expected_delay_follows_from_length_and_velocity(by_id: dict[str, Criteria]) -> None:
    """50 m at 0.70 of light's speed are 238.3 ns (definition of the velocity); a speaker line has no velocity."""
    assert by_id["1A-A02"].expected_delay_s == pytest.approx(238.26e-9, abs=5e-12)
    assert by_id["SP-1"].expected_delay_s is None


def test_powered_device_sets_volts_and_watts(by_id: dict[str, Criteria]) -> None:
    """Class 4: 42.5 V at the device (IEEE 802.3 clause 33, confirmed); the typed draw sets the watts."""
    assert criterion(by_id["1A-A01"], "poe", "volts").low == 42.5
    assert criterion(by_id["1A-A01"], "poe", "volts").high == 57
    assert criterion(by_id["1A-A01"], "poe", "watts").low == 12.0
    assert by_id["1A-A02"].criterion("poe", "volts") is None


def test_fiber_is_judged_by_the_tighter_of_components_and_application(by_id: dict[str, Criteria]) -> None:
    """300 m with two pairs: 0.9 + 1.5 = 2.4 dB (568.3-D, 3.0 dB/km); 10GBASE-SR on OM4 2.9 dB (clause 52)."""
    loss = criterion(by_id["1A/1B-1.1"], "loss", "850")
    assert loss.high == pytest.approx(2.4)
    assert [(bound.name, round(bound.value, 6)) for bound in loss.bounds] == [
        ("component limit", 2.4), ("application budget, 10GBASE-SR", 2.9),
    ]  # fmt: skip
    # 1300 nm: 1.5 dB/km, so 0.45 + 1.5.
    assert criterion(by_id["1A/1B-1.2"], "loss", "1300").high == pytest.approx(1.95)
    assert by_id["1A/1B-1.2"].row == "2"


def test_fiber_criteria_and_estimate_have_one_limit(tmp_path: Path) -> None:
    """1000BASE-LX is tabled at 1310 nm and tested over multimode at 1300 nm: 2.35 dB, 550 m (IEEE 802.3 clause 38)."""
    job(tmp_path)
    path = tmp_path / "clinic.yaml"
    path.write_text(path.read_text().replace("10GBASE-SR", "1000BASE-LX").replace("one_cord", "two_cord, splices: 4"))
    project = load(path).project
    assert project is not None
    footage = measure(project, Faults())
    strand = {one.id: one for one in criteria_for(project, footage)}["1A/1B-1.1"]
    assert criterion(strand, "length").high == 550.0
    for wave in work_out_fiber(project, footage).links[0].waves:
        assert criterion(strand, "loss", str(wave.nm)).high == wave.governing.limit_db
    # 0.3 km at 1.5 dB/km, one pair counted, four splices: 0.45 + 0.75 + 1.2 dB is over the budget of 2.35 dB.
    assert criterion(strand, "loss", "1300").high == 2.35


def test_video_level_has_a_state_and_loses_the_line(by_id: dict[str, Criteria]) -> None:
    """About 1 V terminated and twice that bridging; the low end lies under the band by the line's loss."""
    terminated = criterion(by_id["1A-V1"], "video_level", "terminated")
    bridging = criterion(by_id["1A-V1"], "video_level", "bridging")
    # 60 m of series 6 at 3.58 MHz: 0.37 dB per 100 ft, 0.73 dB in all.
    assert terminated.low == pytest.approx(0.85 * 10 ** (-0.73 / 20), abs=0.002)
    assert terminated.high == 1.15
    assert bridging.expected == pytest.approx(2 * (terminated.expected or 0))


def test_alarm_circuit_has_life_safety_tests(by_id: dict[str, Criteria]) -> None:
    """Stray voltage, ground fault, short, loop and end of line are required on fire-alarm conductors."""
    nac = by_id["NAC-1"]
    assert nac.life_safety
    assert {"stray_volts", "insulation", "open_short", "resistance", "end_of_line"} <= {c.test for c in nac.required}
    end = criterion(nac, "end_of_line")
    # 16 AWG: 13.1745 ohm/km a conductor (ASTM B258), so 2.635 ohm over 100 m and back.
    assert nac.expected_loop_ohm == pytest.approx(2.6349, abs=1e-4)
    assert (end.low, end.high) == (9000.0, pytest.approx(11002.635, abs=1e-3))
    assert criterion(nac, "line_volts").low == 16.0


def test_speaker_line_has_the_impedance_of_its_taps(by_id: dict[str, Criteria]) -> None:
    """Ten taps of 5 W at 70.7 V: 4998.49 / 50 = 99.97 ohm (sound-system manuals, Z = V2/P), 20 % either way."""
    line = criterion(by_id["SP-1"], "impedance")
    assert line.expected == pytest.approx(99.97, abs=0.005)
    assert (line.low, line.high) == (pytest.approx(79.976, abs=0.005), pytest.approx(119.964, abs=0.005))


def test_battery_blocks_are_positions(by_id: dict[str, Criteria]) -> None:
    """1.75 V a cell (IEEE Std 485, confirmed) is 10.5 V a block, under the stated load."""
    battery = by_id["BAT-1"]
    assert battery.rows == ("1", "2")
    assert criterion(battery, "load_volts", "2").low == pytest.approx(10.5)
    assert "under 3 A" in criterion(battery, "load_volts", "1").label


def test_a_battery_without_a_control_unit_is_listed_too(tmp_path: Path) -> None:
    """A test point is never left out; without volts of its set only typed limits judge it."""
    job(tmp_path)
    path = tmp_path / "clinic.yaml"
    path.write_text(path.read_text().replace("test_points:", "test_points:\n  - {id: BAT-9, kind: battery, load: 1 A}"))
    project = load(path).project
    assert project is not None
    found = {one.id: one for one in criteria_for(project, measure(project, Faults()))}["BAT-9"]
    assert criterion(found, "load_volts", "1").limit == "recorded"


def test_limits_read_as_sentences(by_id: dict[str, Criteria]) -> None:
    """Limits for people are in the unit of the sheet."""
    assert criterion(by_id["1A-A02"], "length").limit == "at most 99.0 m"
    assert criterion(by_id["1A-A02"], "delay", "12").limit == "at most 498 ns"
    assert criterion(by_id["GND-1"], "bonding").limit == "at most 0.100 ohm"
    assert criterion(by_id["1A-A02"], "wire_map").limit == "pass"


def test_every_sheet_has_unique_columns_and_units_fixed_by_its_head() -> None:
    """No two columns share a key or a head; feet and meters differ in the factor alone."""
    for feet in ("ft", "m"):
        for one in sheets(feet):
            assert len({c.key for c in one.columns}) == len(one.columns)
            assert len({c.title for c in one.columns}) == len(one.columns)
    assert sheet("coax", "ft").column("length").si == 0.3048
    assert sheet("coax", "m").column("length").si == 1.0
    assert [one.medium for one in sheets()] == list(MEDIA)


def test_columns_find_their_criterion(by_id: dict[str, Criteria]) -> None:
    """A sheet's column leads to the criterion that its verdict is computed from."""
    pairs = sheet("balanced_pair", "m")
    link = by_id["1A-A02"]
    assert link.for_column(pairs.column("delay_45")) is criterion(link, "delay", "45")
    assert link.for_column(pairs.column("length")) is criterion(link, "length")
    assert link.for_column(pairs.column("length_12")) is None
    assert link.for_column(pairs.column("note")) is None
    battery = by_id["BAT-1"]
    assert battery.for_column(sheet("battery").column("load_volts"), "2") is criterion(battery, "load_volts", "2")


def test_devices_and_circuits_add_tests_to_their_cables(tmp_path: Path) -> None:
    """A camera's own tests come to those of its cable; another device on that cable has them not."""
    job(tmp_path, "\n  cables: [{cable: C6, tests: wire_map length}]")
    path = tmp_path / "clinic.yaml"
    text = path.read_text().replace("end: plug, poe_class: 4", "end: plug, tests: poe delay, poe_class: 4")
    path.write_text(text.replace("kind: speaker,", "kind: speaker, tests: resistance,"))
    project = load(path).project
    assert project is not None
    found = {one.id: one for one in criteria_for(project, measure(project, Faults()))}

    camera, outlet = ({one.test for one in found[name].required} for name in ("1A-A01", "1A-A02"))
    assert camera == {"wire_map", "length", "poe", "delay"}
    assert outlet == {"wire_map", "length"}
    assert criterion(found["SP-1"], "resistance").required


def test_an_application_bounds_the_length_of_its_link(tmp_path: Path) -> None:
    """10GBASE-T over Category 6: 55 m (TIA TSB-155, IEEE 802.3an, confirmed), under the field limit of 99 m."""
    job(tmp_path)
    path = tmp_path / "clinic.yaml"
    path.write_text(path.read_text().replace("{id: outlet, system: data", "{id: outlet, application: 10GBASE-T"))
    project = load(path).project
    assert project is not None
    found = {one.id: one for one in criteria_for(project, measure(project, Faults()))}

    length = criterion(found["1A-A02"], "length")
    assert length.high == 55.0
    assert [bound.name for bound in length.bounds] == ["field limit", "reach of 10GBASE-T"]
    assert criterion(found["1A-A01"], "length").high == pytest.approx(99.0)


def test_least_volts_of_a_supply_are_none_of_poe(tmp_path: Path) -> None:
    """A camera that also takes 12 V DC keeps its class's volts by PoE; one with a draw alone is tested like a class."""
    job(tmp_path)
    text = (tmp_path / "clinic.yaml").read_text()
    cameras = (
        "  - {id: both, cable: C6, end: plug, poe_class: 3, voltage: 12 V, least_voltage: 10 V}\n"
        "  - {id: drawn, cable: [C6, C6], end: plug, draw: 9 W}\n"
    )
    drops = "  - {id: B1, room: 1A, device: both, length: 9 m}\n  - {id: B2, room: 1A, device: drawn, length: 9 m}\n"
    text = text.replace("  - {id: analog,", f"{cameras}  - {{id: analog,", 1).replace("drops:\n", f"drops:\n{drops}", 1)
    (tmp_path / "clinic.yaml").write_text(text)
    loaded = load(tmp_path / "clinic.yaml").project
    assert loaded is not None
    found = {one.id: one for one in criteria_for(loaded, measure(loaded, Faults()))}

    # Source: IEEE 802.3, class 3: 37 V and 12.95 W at the device.
    assert criterion(found["B1"], "poe", "volts").low == 37.0
    assert criterion(found["B2.1"], "poe", "volts").low == 37.0
    assert criterion(found["B2.1"], "poe", "watts").low == 9.0
    assert found["B2.2"].criterion("poe", "volts") is None
