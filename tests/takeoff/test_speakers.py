"""Speaker lines, low-impedance networks and amplifiers."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.takeoff.alerts import Alert
from estimator.takeoff.speaker_alerts import speaker_alerts
from estimator.takeoff.speaker_figures import speaker_families
from estimator.takeoff.speakers import Speakers, work_out_speakers
from estimator.takeoff.voice_coils import coil_of
from tests.takeoff.evaluated import HEAD, held, measured, near

FOOT = 0.3048
ROOM = """
rooms: [{id: 1A}]
cables:
  - {id: C18, type: c18_2, stranding: solid}
  - {id: PAIR, type: c18_2, ohm_per_m: 0.0213254593}
  - {id: FA18, type: c18_2, stranding: solid, class: pl_fire_alarm, jacket: FPLP}
devices:
  - {id: T1, cable: C18, tap: 1 W}
  - {id: T5, cable: C18, tap: 5 W}
  - {id: T6, cable: C18, tap: 6 W}
  - {id: T10, cable: C18, tap: 10 W}
  - {id: T30, cable: C18, tap: 30 W}
  - {id: T10V, cable: C18, tap: 10 W, tap_voltage: 100 V}
  - {id: OHM8, cable: C18, impedance: 8 ohm}
"""


def worked(folder: Path, text: str) -> tuple[Speakers, Mapping[str, float], list[str]]:
    """Return the speaker wiring, all figures and the kinds of warnings of a job."""
    project, footage = measured(folder, ROOM + text)
    speakers = work_out_speakers(project, footage)
    figures = held(speaker_families(speakers))
    return speakers, figures, [alert.kind for alert in speaker_alerts(speakers, project)]


def warned(folder: Path, text: str) -> list[Alert]:
    """Return the warnings of a job's speaker wiring."""
    project, footage = measured(folder, ROOM + text)
    return list(speaker_alerts(work_out_speakers(project, footage), project))


# Source: two listed fire-alarm audio manuals and the NFPA 72-2025 constant: 25 V, 30 W, 13.0 ohm per
# 1000 ft of pair (0.02133 ohm/m of conductor) is 0.5 dB at 94.95 ft.
@pytest.mark.parametrize(("feet", "kinds"), [(94.9, []), (95.0, ["speaker loss"])])
def test_25_volt_line_at_half_a_decibel(tmp_path: Path, feet: float, kinds: list[str]) -> None:
    _, figures, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 40 W, line_voltage: 25 V}}]
circuits:
  - {{id: S1, kind: speaker, source: A, cable: PAIR, devices: [{{device: T30, distance: {feet} ft}}]}}
""",
    )

    assert figures["speaker.S1.worst_loss"] == near(0.5, 0.0005)
    assert figures["speaker.S1.end_loss"] == near(figures["speaker.S1.worst_loss"], 1e-12)
    assert alerts == kinds


# Source: article quoting the EIA 70.7 V method: taps of 6, 10 and 10 W are 26 W; 4998.5/26 = 192.2 ohm.
def test_taps_add_up(tmp_path: Path) -> None:
    speakers, figures, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 32.5 W, line_voltage: 70.7 V}]
circuits:
  - id: S1
    kind: speaker
    source: A
    cable: C18
    devices: [{device: T6, distance: 30 ft}, {device: T10, qty: 2, distance: 20 ft}]
""",
    )

    assert figures["speaker.S1.load"] == 26.0
    assert figures["amplifier.A.load_share"] == near(80.0, 1e-9)
    assert figures["speaker.S1.line_impedance"] == near(4998.49 / 26, 1e-9)
    # The whole load at the end always loses more than each loudspeaker at its place.
    assert figures["speaker.S1.end_loss"] > figures["speaker.S1.worst_loss"] > 0
    assert speakers.lines[0].worst == 1
    assert alerts == []


# Source: amplifier maker's article on taps: 30 W carries four loudspeakers of 5 W within 80 %, the
# fifth makes 25 W; six are the rating, seven too many.
@pytest.mark.parametrize(
    ("count", "word", "kinds"),
    [
        (4, "within reserve", []),
        (5, "uses the reserve", ["uses the reserve"]),
        (6, "uses the reserve", ["uses the reserve"]),
        (7, "over rating", ["over rating"]),
    ],
)
def test_three_words_of_an_amplifier(tmp_path: Path, count: int, word: str, kinds: list[str]) -> None:
    speakers, _, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 30 W, line_voltage: 70.7 V}}]
circuits:
  - {{id: S1, kind: speaker, source: A, cable: C18, devices: [{{device: T5, qty: {count}, distance: 10 ft}}]}}
""",
    )

    assert speakers.amplifiers[0].word == word
    assert alerts == kinds


# Source: circuit theory: two 8 ohm in parallel are 4, in series 16, three in parallel 2.667 ohm.
@pytest.mark.parametrize(
    ("count", "wiring", "ohm", "kinds"),
    [(2, "parallel", 4.0, []), (2, "series", 16.0, []), (3, "parallel", 2.667, ["below the least load"])],
)
def test_low_impedance_network(tmp_path: Path, count: int, wiring: str, ohm: float, kinds: list[str]) -> None:
    _, figures, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 100 W, least_load: 4 ohm}}]
circuits:
  - id: S1
    kind: low_impedance_speaker
    source: A
    cable: C18
    wiring: {wiring}
    devices: [{{device: OHM8, qty: {count}, distance: 10 ft}}]
""",
    )

    assert figures["network.S1.impedance"] == near(ohm, 0.0005)
    assert alerts == kinds


# Source: loudspeaker maker's note: 40 ft of 18 AWG to 8 ohm is a loop of 0.5108 ohm and 0.538 dB.
def test_cable_of_a_single_loudspeaker(tmp_path: Path) -> None:
    _, figures, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 100 W}]
circuits:
  - {id: S1, kind: low_impedance_speaker, source: A, cable: C18, devices: [{device: OHM8, distance: 40 ft}]}
""",
    )

    assert figures["network.S1.wire_loop"] == near(0.5108, 0.00005)
    assert figures["network.S1.end_loss"] == near(0.538, 0.0005)
    assert alerts == ["speaker loss"]


def test_what_is_missing_is_said(tmp_path: Path) -> None:
    speakers, _, alerts = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 100 W}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: T1, distance: 40 ft}]}
  - {id: S2, kind: speaker, source: A, cable: C18, devices: [{device: OHM8, distance: 40 ft}]}
""",
    )

    assert alerts == ["not computed", "not computed"]
    assert [one.missing for one in speakers.unsolved] == ["A types no line voltage", "device OHM8 types no tap"]


# Source: the manuals' formula, 25 V and 30 W at 0.5 dB on 13.0 ohm a thousand feet: 94.95 ft, with the constant
# rounded to 0.05925.
def test_longest_run_and_thinnest_gauge_reach_the_user(tmp_path: Path) -> None:
    job = """
amplifiers: [{id: A, room: 1A, power: 40 W, line_voltage: 25 V}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: PAIR, devices: [{device: T30, distance: 100 ft}]}
  - {id: S2, kind: speaker, source: A, cable: C18, devices: [{device: T5, distance: 800 ft}]}
"""
    _, figures, _ = worked(tmp_path, job)

    assert figures["speaker.S1.longest_run"] == near(
        94.95 * FOOT, 0.01 * FOOT
    )  # the manuals round the constant to 0.05925
    assert figures["speaker.S1.home_run_left"] == near((94.95 - 100) * FOOT, 0.01 * FOOT)
    # A typed resistance is of no gauge; 5 W at 800 ft would do with the next heavier one.
    assert "speaker.S1.thinnest_gauge" not in figures
    assert figures["speaker.S2.thinnest_gauge"] == 16
    first, second = (one for one in warned(tmp_path, job) if one.kind == "speaker loss")
    assert first.advice == "bring the amplifier 1.5 m nearer, split the line or lower taps"
    assert second.advice.startswith("16 AWG would work; else bring the amplifier ")


def test_the_gauge_that_is_named_works_and_the_next_thinner_does_not(tmp_path: Path) -> None:
    """The advice is tried: the same line in the named gauge, and in the one before it."""
    job = """
cables:
  - {{id: W, type: c18_2, gauge: {awg}, stranding: solid}}
rooms: [{{id: 1A}}]
devices: [{{id: T10, cable: W, tap: 10 W}}]
amplifiers: [{{id: A, room: 1A, power: 300 W, line_voltage: 70.7 V}}]
circuits:
  - id: S1
    kind: speaker
    source: A
    cable: W
    devices: [{{device: T10, qty: 8, distance: 300 ft}}, {{device: T10, qty: 8, distance: 100 ft}}]
"""

    def of(awg: int) -> tuple[Speakers, list[str]]:
        project, footage = measured(tmp_path, job.format(awg=awg))
        speakers = work_out_speakers(project, footage)
        return speakers, [alert.kind for alert in speaker_alerts(speakers, project)]

    named = of(18)[0].lines[0].reach.awg
    assert named is not None
    assert of(18)[1] == ["speaker loss"]
    assert of(named)[1] == []
    assert of(named + 2)[1] == ["speaker loss"]


# By hand: 0.5108 ohm of wire (maker's note) take 0.5108/8.5108 = 6.0 % of the watts, are 6.4 % of 8 ohm, and
# leave 8/(8/400 + 0.5108) = 15.07 of a damping of 400, under the published least of 25.
def test_what_the_cable_takes_of_a_network(tmp_path: Path) -> None:
    job = """
amplifiers: [{id: A, room: 1A, power: 100 W, damping_factor: 400}]
circuits:
  - {id: S1, kind: low_impedance_speaker, source: A, cable: C18, devices: [{device: OHM8, distance: 40 ft}]}
"""
    _, figures, kinds = worked(tmp_path, job)

    assert figures["network.S1.cable_share"] == near(6.0, 0.05)
    assert figures["network.S1.resistance_share"] == near(6.4, 0.05)
    assert figures["network.S1.damping"] == near(15.07, 0.005)
    assert figures["network.S1.thinnest_gauge"] == 16
    assert kinds == ["speaker loss", "low damping"]
    loss = warned(tmp_path, job)[0]
    assert loss.advice == "16 AWG would work; else keep the run within 11.3 m"


@pytest.mark.parametrize(
    ("keys", "kinds"),
    [("", ["more circuits than outputs"]), (", outputs: 2", []), (", outputs: 1", ["more circuits than outputs"])],
)
def test_two_networks_need_two_outputs(tmp_path: Path, keys: str, kinds: list[str]) -> None:
    """Two circuits on one output are in parallel, whatever each of them is."""
    _, _, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 100 W, least_load: 4 ohm{keys}}}]
circuits:
  - {{id: S1, kind: low_impedance_speaker, source: A, cable: C18, devices: [{{device: OHM8, distance: 10 ft}}]}}
  - {{id: S2, kind: low_impedance_speaker, source: A, cable: C18, devices: [{{device: OHM8, distance: 10 ft}}]}}
""",
    )

    assert alerts == kinds


# Source: data sheets and contracting practice: a tap for 100 V takes half its watts on 70.7 V.
def test_a_tap_marked_for_another_line(tmp_path: Path) -> None:
    speakers, figures, _ = worked(
        tmp_path,
        """
amplifiers: [{id: A, room: 1A, power: 30 W, line_voltage: 70.7 V}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: T10V, qty: 2, distance: 10 ft}]}
""",
    )

    assert figures["speaker.S1.load"] == near(10.0, 0.005)
    assert figures["amplifier.A.load"] == figures["speaker.S1.load"]
    assert speakers.lines[0].spots[0].tap_w == near(5.0, 0.0025)


# Source: loudspeaker maker's manual: 90 W ask for 108 W with a fifth on top; amplifier maker's article: 24 W
# are 80 % of 30 W; supplier's note: ten loudspeakers on 50 W.
def test_ratings_and_taps_that_an_amplifier_asks_for(tmp_path: Path) -> None:
    job = """
amplifiers: [{id: A, room: 1A, power: 100 W, line_voltage: 70.7 V}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: T30, qty: 3, distance: 5 ft}]}
"""
    _, figures, _ = worked(tmp_path, job)

    assert figures["amplifier.A.rating_on_top"] == near(108, 1e-9)
    assert figures["amplifier.A.least_rating"] == near(112.5, 1e-9)
    assert figures["amplifier.A.tap_each"] == near(80 / 3, 1e-9)
    [one] = warned(tmp_path, job)
    assert one.advice == "taps of at most 26.7 W each, an amplifier of 112 W or more, or a second one"


def test_life_safety_keeps_half_a_decibel(tmp_path: Path) -> None:
    """A looser rule or circuit limit holds for paging, never for a voice circuit of the fire alarm."""
    job = """
rules: {speaker_loss: 3 dB}
amplifiers: [{id: A, room: 1A, power: 40 W, line_voltage: 25 V}]
circuits:
  - {id: S1, kind: speaker, source: A, cable: C18, devices: [{device: T30, distance: 150 ft}]}
  - {id: S2, kind: speaker, source: A, cable: FA18, devices: [{device: T30, distance: 150 ft}]}
  - {id: S3, kind: speaker, source: A, cable: C18, loss_limit: 0.5 dB, devices: [{device: T30, distance: 150 ft}]}
  - {id: S4, kind: speaker, source: A, cable: FA18, loss_limit: 0.2 dB, devices: [{device: T30, distance: 150 ft}]}
"""
    lossy = [(one.subject, one.limit) for one in warned(tmp_path, job) if one.kind == "speaker loss"]

    assert lossy == [("S2", "0.5 dB"), ("S3", "0.5 dB"), ("S4", "0.2 dB")]


# Source: technical notes on constant-voltage lines: 70.7 V, not 70, is the nominal; 70 V is 2 % off in the watts.
@pytest.mark.parametrize(
    ("volts", "kinds"),
    [("70 V", ["line volts"]), ("70.7 V", []), ("25.2 V", ["line volts"]), ("50 V", []), ("100 V", [])],
)
def test_a_hair_off_a_nominal_line_is_told(tmp_path: Path, volts: str, kinds: list[str]) -> None:
    _, _, alerts = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 40 W, line_voltage: {volts}}}]
circuits:
  - {{id: S1, kind: speaker, source: A, cable: C18, devices: [{{device: T1, distance: 10 ft}}]}}
""",
    )

    assert alerts == kinds


# Source: driver maker's question page and a published table: a coil of 8 ohm has 5.1 to 8.0 ohm, one of 4 ohm
# 2.1 to 4.0; by the same pages any coil has 52 to 100 % of its nominal.
@pytest.mark.parametrize(("wiring", "least", "most"), [("parallel", 2.55, 4.0), ("series", 10.2, 16.0)])
def test_what_an_ohmmeter_reads_on_two_coils(tmp_path: Path, wiring: str, least: float, most: float) -> None:
    _, figures, _ = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 100 W}}]
circuits:
  - id: S1
    kind: low_impedance_speaker
    source: A
    cable: C18
    wiring: {wiring}
    devices: [{{device: OHM8, qty: 2, distance: 10 ft}}]
""",
    )

    assert figures["network.S1.coil_least"] == near(least, 1e-9)
    assert figures["network.S1.coil_most"] == near(most + figures["network.S1.wire_loop"], 1e-9)


# Source: circuit theory and loudspeaker wiring articles: four of 8 ohm, two by two, are 8 ohm; six in two strings 12.
@pytest.mark.parametrize(
    ("count", "strings", "ohm", "coil"), [(4, 2, 8.0, 5.1), (6, 2, 12.0, 7.65), (6, 3, 16 / 3, 3.4), (3, 3, 8 / 3, 1.7)]
)
def test_strings_of_loudspeakers(tmp_path: Path, count: int, strings: int, ohm: float, coil: float) -> None:
    _, figures, _ = worked(
        tmp_path,
        f"""
amplifiers: [{{id: A, room: 1A, power: 100 W}}]
circuits:
  - id: S1
    kind: low_impedance_speaker
    source: A
    cable: C18
    wiring: series_parallel
    strings: {strings}
    devices: [{{device: OHM8, qty: {count}, distance: 10 ft}}]
""",
    )

    assert figures["network.S1.impedance"] == near(ohm, 1e-9)
    assert figures["network.S1.coil_least"] == near(coil, 1e-9)


def test_loudspeakers_that_strings_cannot_share_are_a_fault(tmp_path: Path) -> None:
    text = """
amplifiers: [{id: A, room: 1A, power: 100 W}]
circuits:
  - {id: S1, kind: low_impedance_speaker, source: A, cable: C18, wiring: series_parallel, strings: 2,
     devices: [{device: OHM8, qty: 3, distance: 10 ft}]}
"""
    (tmp_path / "job.yaml").write_text(HEAD + ROOM + text, encoding="utf-8")
    [fault] = load(tmp_path / "job.yaml").faults
    assert "3 loudspeakers don't make 2 equal strings" in str(fault)


def test_a_coil_that_is_not_tabled_takes_the_shares() -> None:
    assert coil_of(8)[:2] == (5.1, 8.0)
    assert coil_of(5)[:2] == (2.6, 5.0)


# 24 W are 80 % of 30 W (amplifier maker's article); 0.5 dB of 625/30 ohm are 1.2345 ohm of loop, 1.2345/2 of which
# a resistance of 0.0213254593 ohm/m reaches in 28.943 m.
@pytest.mark.parametrize(
    ("power", "tap", "distance"),
    [("30 W", "6 W", "28.94 m"), ("0.03 kW", "6000 mW", "94.947506562 ft"), ("30000 mW", "0.006 kW", "2894 cm")],
)
def test_units_never_change_a_verdict(tmp_path: Path, power: str, tap: str, distance: str) -> None:
    job = ROOM.replace("{id: T6, cable: C18, tap: 6 W}", f"{{id: T6, cable: PAIR, tap: {tap}}}")
    text = f"""
amplifiers:
  - {{id: A, room: 1A, power: {power}, line_voltage: 25 V}}
  - {{id: B, room: 1A, power: 100 W, line_voltage: 25 V}}
circuits:
  - {{id: S1, kind: speaker, source: A, cable: PAIR, devices: [{{device: T6, qty: 4, distance: 1 m}}]}}
  - {{id: S2, kind: speaker, source: B, cable: PAIR, devices: [{{device: T30, distance: {distance}}}]}}
"""
    project, footage = measured(tmp_path, job + text)
    speakers = work_out_speakers(project, footage)

    assert speakers.amplifiers[0].word == "within reserve"
    assert list(speaker_alerts(speakers, project)) == []
    assert speakers.lines[1].loss_db == near(0.49995, 0.00002)
