"""Probable causes from patterns of readings, and faults put on the circuit's route."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from estimator.field.interpret import interpret
from estimator.field.locate import locate
from estimator.field.rows import ReadRow
from estimator.field.verdicts import Finding
from estimator.field.wiremap import SWAPPED_ENDS, classify, read_pins
from tests.acceptance.job import job
from tests.field.sheetrows import good, judged, row

LOOPS = ("12", "36", "45", "78")


def causes(folder: Path, one: ReadRow, circuit: str = "1A-A02", **others: str) -> list[Finding]:
    """Return the findings on one circuit; rows of these tests don't say who read them."""
    found = judged(folder, one, **others).by_id[circuit].findings
    return [each for each in found if each.kind != "no origin"]


def texts(found: list[Finding]) -> list[str]:
    """Return the findings' texts."""
    return [one.text for one in found]


@pytest.mark.parametrize(
    ("pins", "word", "pairs"),
    [
        # Source: published pin maps of the eight-position jack (reference pages on wire maps, confirmed).
        ("12345678", "pass", ()),
        ("21345678", "reversed", ("12",)),
        ("36145278", "crossed", ("12", "36")),
        ("12045678", "open", ("36",)),
        ("ss345678", "short", ("12",)),
        ("ss045678", "open", ("36",)),
        ("13245678", "fail", ("12", "36")),
    ],
)
def test_pins_tell_the_miswire(pins: str, word: str, pairs: tuple[str, ...]) -> None:
    """Open before short, then reversed, crossed, and whatever else."""
    found = classify(pins)
    assert (found.word, found.pairs) == (word, pairs)


def test_pins_are_read_with_spaces_and_signs() -> None:
    """As people type them."""
    assert read_pins("1 2 3 4 5 6 7 8") == "12345678"
    assert read_pins("12-45678") == "12045678"
    assert read_pins("123456789") is None


def test_both_schemes_on_one_link(tmp_path: Path) -> None:
    """T568A at one end and T568B at the other."""
    found = causes(tmp_path, row("1A-A02", pins=SWAPPED_ENDS, length="50"))
    assert texts(found) == ["crossed pairs on 1-2 and 3-6: T568A at one end and T568B at the other"]


@pytest.mark.parametrize("word", ["split", "reversed", "short"])
def test_words_alone_name_their_cause(tmp_path: Path, word: str) -> None:
    """A tester that shows only the word."""
    found = causes(tmp_path, good("1A-A02", wire_map=word, length_12="50"))
    assert word in found[0].text
    assert found[0].cause
    assert found[0].look


def test_an_open_is_put_on_the_route(tmp_path: Path) -> None:
    """42 m from room 1A: 30 m lie in T1, so 12 m past N1 in T2."""
    cells = {"pins": "02345678", "length_12": "42.0", "length_36": "50", "length_45": "50.1", "length_78": "50.2"}
    found = causes(tmp_path, row("1A-A02", **cells))[0]
    assert found.kind == "open"
    assert found.place == "42.0 m from room 1A: in segment T2, 12.0 m past N1, give or take 1.7 m"


def test_an_open_seen_from_the_far_end(tmp_path: Path) -> None:
    """The same place seen from the outlet is 8 m away."""
    cells = {"pins": "02345678", "length_12": "8.0", "length_36": "50", "length_45": "50.1", "tested_from": "far end"}
    found = causes(tmp_path, row("1A-A02", **cells))[0]
    assert found.place == "8.0 m from the far end: in segment T2, 12.0 m past N1, give or take 1.2 m"


def test_one_length_of_an_open_link_is_the_distance(tmp_path: Path) -> None:
    """A tester that shows one number."""
    found = causes(tmp_path, row("1A-A02", wire_map="open", length="29.0"))[0]
    # sqrt(0.3² + 0.5² + (0.015 x 29)²) x 1.96 by the assumed spreads of fault_place.json: beyond N1 at 30 m too.
    assert found.place == (
        "29.0 m from room 1A: in segment T1, 29.0 m past 1A, give or take 1.4 m; it may lie in segment T2 too"
    )


@pytest.mark.parametrize(
    ("distance", "words"),
    [
        (1.5, "1.5 m from room 1A, at its termination"),
        (49.0, "49.0 m from room 1A, at or near the far end"),
        (30.0, "30.0 m from room 1A: in segment T1, 30.0 m past 1A"),
        (30.1, "30.1 m from room 1A: in segment T2, 0.1 m past N1"),
    ],
)
def test_ends_and_nodes_are_boundaries(tmp_path: Path, distance: float, words: str) -> None:
    """Within 2 m of an end the termination is the first suspect."""
    project, footage, _ = job(tmp_path)
    assert locate(footage.by_id["1A-A02"], distance, False, footage, project) == words


def test_legs_and_loops_lie_at_their_ends(tmp_path: Path) -> None:
    """5 m of room leg come before the pathway, 3 m of last leg after it."""
    project, footage, _ = job(tmp_path)
    path = tmp_path / "clinic.yaml"
    path.write_text(path.read_text().replace("room_leg: 0 m, last_leg: 0 m", "room_leg: 5 m, last_leg: 3 m"))
    from estimator.spec.faults import Faults
    from estimator.spec.load import load
    from estimator.takeoff.footage import measure

    longer = load(path).project
    assert longer is not None
    measured = measure(longer, Faults())
    length = measured.by_id["1A-A02"]
    assert length.expected_m == pytest.approx(58.0)
    assert locate(length, 4.0, False, measured, longer).endswith("4.0 m past 1A")
    assert locate(length, 36.0, False, measured, longer).endswith("in segment T2, 1.0 m past N1")
    assert locate(length, 55.5, False, measured, longer).endswith("at the far end, 0.5 m past N2")
    assert project.rules.room_leg_m == 0 == footage.by_id["1A-A02"].room_leg_m


def test_over_length_says_by_how_much(tmp_path: Path) -> None:
    """The excess, and what was expected."""
    found = causes(tmp_path, good("1A-A02", length="101.5"))
    assert texts(found) == ["over length by 2.5 m", "longer than its route"]


def test_a_length_beyond_range_is_worded(tmp_path: Path) -> None:
    """What an instrument can't reach is no number of meters."""
    assert texts(causes(tmp_path, row("1A-A02", wire_map="pass", length="OL"))) == ["beyond the instrument's range"]


def test_a_length_that_does_not_fit_is_a_finding_and_no_failure(tmp_path: Path) -> None:
    """50 m expected, tolerance 5 m (10 %, the larger): 55.0 fits, 55.1 doesn't, both pass."""
    assert texts(causes(tmp_path, good("1A-A02", length="55.0"))) == []
    result = judged(tmp_path, good("1A-A02", length="55.1")).by_id["1A-A02"]
    assert (result.word, result.findings[0].kind) == ("pass", "length against expectation")


@pytest.mark.parametrize(
    ("length", "kinds"),
    # The cable's velocity is 70 %: 58.0 m at 80 % are 50.8 m, which fit; 70.0 m are 61.3 m, which don't.
    [("58.0", ["velocity"]), ("70.0", ["velocity", "length against expectation"])],
)
def test_a_length_of_a_wrong_velocity_is_set_right_before_it_is_called_odd(
    tmp_path: Path, length: str, kinds: list[str]
) -> None:
    """50 m are expected: nobody tones out a cable because the tester was set wrong."""
    found = judged(tmp_path, good("1A-A02", length=length, nvp="80")).by_id["1A-A02"].findings
    assert {one.kind for one in found} - {"no origin"} == set(kinds)
    assert f"{length} m raw, " in next(one.evidence for one in found if one.kind == "velocity")


def test_a_house_may_fail_what_does_not_fit(tmp_path: Path) -> None:
    """80 m where 50 m are expected: a finding, and a failure that the punch list names where a rule says so."""
    link = good("1A-A02", length="80")
    assert judged(tmp_path, link).by_id["1A-A02"].word == "pass"
    job = judged(tmp_path, link, rules=", off_expectation: fail")
    assert job.by_id["1A-A02"].word == "fail"
    assert "longer than its route: measured 80.0 m" in next(i.what for i in job.open_items if i.circuit == "1A-A02")


def test_one_pair_that_resists_more(tmp_path: Path) -> None:
    """7 % between pairs is allowed (ANSI/TIA-568.2-D): of 6.7 and 9.0 ohm that is 1.1 ohm."""
    loops = {f"resistance_{pair}": "6.70" for pair in LOOPS}
    found = causes(tmp_path, good("1A-A02", **{**loops, "resistance_78": "9.00"}))
    assert texts(found) == ["high-resistance termination on 7-8"]
    assert texts(causes(tmp_path, good("1A-A02", **{**loops, "resistance_78": "7.60"}))) == []


def test_all_pairs_resist_more_than_copper(tmp_path: Path) -> None:
    """50 m of 23 AWG make 6.68 ohm; clad aluminum 1.6 times that."""
    found = causes(tmp_path, good("1A-A02", **{f"resistance_{pair}": "10.6" for pair in LOOPS}))
    assert texts(found) == ["copper-clad aluminum by its resistance"]
    assert "1.59 times, on all pairs alike" in found[0].evidence
    assert found[0].instead == "conductors two gauges thinner than planned"


def test_a_loop_that_is_too_low_belongs_to_another_cable(tmp_path: Path) -> None:
    """50 m of 23 AWG make 6.68 ohm; 15 % and half an ohm for the leads leave 5.18 ohm."""
    for ohm, said in (("5.18", []), ("5.17", ["less resistance than its copper has"])):
        assert texts(causes(tmp_path, good("1A-A02", **{f"resistance_{pair}": ohm for pair in LOOPS}))) == said


def test_a_channel_may_have_its_cords_on_top(tmp_path: Path) -> None:
    """50 m and 10 m of cords (ANSI/TIA-568.0), tolerance 5 m: 65.0 m fit and 65.1 m don't."""
    asked = "\n  cables: [{cable: C6, link: channel}]"
    assert texts(causes(tmp_path, good("1A-A02", length="65.0"), acceptance=asked)) == []
    assert texts(causes(tmp_path, good("1A-A02", length="65.1"), acceptance=asked)) == ["longer than its route"]


def test_jacket_marks_need_no_velocity(tmp_path: Path) -> None:
    """A length by the marks alone counts; one that they contradict is a finding."""
    marks = {"mark_room": "812", "mark_far": "862.4"}
    alone = judged(tmp_path, row("1A-A02", wire_map="pass", **marks)).by_id["1A-A02"]
    assert alone.reading("length").value == pytest.approx(50.4)  # type: ignore[union-attr]
    found = causes(tmp_path, good("1A-A02", length="54.9", mark_room="812", mark_far="860"))
    assert texts(found) == ["another length than its jacket says"]


def test_double_termination(tmp_path: Path) -> None:
    """Two loads on a 75 ohm line show two thirds of the level (matched-source model)."""
    asked = "\n  cables: [{cable: RG6, tests: video_level}]"
    low = row("1A-V1", "coax", video_level="0.62", far_end="terminated")
    assert texts(causes(tmp_path, low, "1A-V1", acceptance=asked)) == ["double termination"]
    high = row("1A-V1", "coax", video_level="1.85", far_end="terminated")
    assert texts(causes(tmp_path, high, "1A-V1", acceptance=asked)) == ["no termination"]


@pytest.mark.parametrize(
    ("ohm", "text"),
    [
        ("OL", "end-of-line resistor missing, or the line open"),
        ("3", "shorted before the end-of-line resistor"),
        ("5003", "two end-of-line resistors in parallel"),
        ("4700", "two end-of-line resistors in parallel"),
        ("15000", "end-of-line resistor of another value"),
    ],
)
def test_end_of_line(tmp_path: Path, ohm: str, text: str) -> None:
    """What a 10 kohm line shows when its resistor isn't right."""
    assert texts(causes(tmp_path, row("NAC-1", "conductors", end_of_line=ohm), "NAC-1")) == [text]


def test_a_short_is_found_by_its_resistance(tmp_path: Path) -> None:
    """2.635 ohm a 100 m loop of 16 AWG: 1.6 ohm is 60.7 m out, past the first appliance."""
    found = causes(tmp_path, row("NAC-1", "conductors", open_short="short", resistance="1.60"), "NAC-1")
    assert found[0].place == (
        "60.7 m from room 1B: in between horn 1 and horn 2, 10.7 m past horn 1, give or take 3.7 m"
    )


def test_a_weak_battery(tmp_path: Path) -> None:
    """Good at rest, weak under load."""
    cells = {"open_circuit_volts": "12.9", "load_amps": "3", "far_end": "charger off"}
    rows = [row("BAT-1", "battery", block=b, load_volts=v, **cells) for b, v in (("1", "12.1"), ("2", "9.8"))]
    found = judged(tmp_path, *rows).by_id["BAT-1"].findings
    assert [one.text for one in found if one.cause] == ["block 2 is weak under load"]
    assert found[0].evidence == "9.8 V under load, 12.9 V at rest"


def test_a_block_that_is_empty_at_rest_is_a_finding_without_a_load(tmp_path: Path) -> None:
    """12.2 V at rest is half charge of a sealed block (published charts): 11.6 V isn't charged, 12.9 V is."""
    rows = [
        row("BAT-1", "battery", block=b, open_circuit_volts=v, far_end="charger off")
        for b, v in (("1", "12.9"), ("2", "11.6"))
    ]
    found = judged(tmp_path, *rows).by_id["BAT-1"].findings
    assert [(one.text, one.evidence) for one in found if one.cause] == [("block 2 isn't charged", "11.6 V at rest")]


def test_speaker_polarity_and_load(tmp_path: Path) -> None:
    """Reversed, and a line that shows more or less than its taps."""
    found = causes(tmp_path, row("SP-1", "speaker", polarity="reversed", impedance="150"), "SP-1")
    assert texts(found) == ["reversed speaker", "too little load"]
    assert texts(causes(tmp_path, row("SP-1", "speaker", impedance="60"), "SP-1")) == ["too much load"]


@pytest.mark.parametrize(("at_1300", "text"), [("2.2", "dirty or bad connection"), ("3.0", "bent fiber")])
def test_fiber_loss_by_wavelength(tmp_path: Path, at_1300: str, text: str) -> None:
    """A bend loses more at the longer wavelength."""
    cells = {"loss_850": "2.8", "loss_1300": at_1300, "length": "300"}
    strand = row("1A/1B-1", "fiber", strand="1", **cells)
    assert texts(causes(tmp_path, strand, "1A/1B-1.1")) == [text]


def test_wrong_limit_and_wrong_velocity_are_findings(tmp_path: Path) -> None:
    """They concern the instrument, not the cable."""
    found = causes(tmp_path, good("1A-A02", limit="TIA Cat 5e Channel", nvp="75"))
    assert [one.kind for one in found] == ["wrong limit", "velocity"]


def test_one_link_under_two_names(tmp_path: Path) -> None:
    """Four readings alike to the last digit are no chance; two with few digits are."""
    cells = {"length_12": "50.3", "length_36": "50.8", "resistance_12": "6.71", "resistance_36": "6.84"}
    rows = [row(name, wire_map="pass", **cells) for name in ("1A-A02", "1A-A10")]
    result = judged(tmp_path, *rows)
    twice = {one.circuit: one.text for one in result.findings if one.kind == "one link under two names"}
    assert twice.keys() == {"1A-A02", "1A-A10"}
    assert "1A-A02" in twice["1A-A10"]
    few = [row(name, wire_map="pass", length_12="50", skew="9", length_36="50") for name in ("1A-A02", "1A-A10")]
    assert {one.kind for one in judged(tmp_path, *few).findings} == {"no origin"}


def test_instruments_out_of_calibration_or_unknown(tmp_path: Path) -> None:
    """A reading after the due date, and a name that is not in the list."""
    asked = "\n  instruments: [{id: T1, kind: tester, calibration_due: 2026-02-01}]"
    late = causes(tmp_path, good("1A-A02", instrument="T1", date="2026-03-01"), acceptance=asked)
    assert texts(late) == ["instrument T1 was due for calibration on 2026-02-01"]
    assert causes(tmp_path, good("1A-A02", instrument="T1", date="2026-02-01"), acceptance=asked) == []
    other = causes(tmp_path, good("1A-A02", instrument="T9"), acceptance=asked)
    assert texts(other) == ["instrument 'T9' is not in the job's list"]


@pytest.mark.parametrize(
    ("attempt", "text"),
    [
        ("second", "round 'second' is no number; the row has no round"),
        ("-1", "round '-1' is no number; the row has no round"),
        ("1.5", "round '1.5' is no number; the row has no round"),
    ],
)
def test_a_round_that_cannot_be_read_is_a_finding(tmp_path: Path, attempt: str, text: str) -> None:
    """The row is used without a round, and the circuit says so."""
    result = judged(tmp_path, good("1A-A02", attempt=attempt)).by_id["1A-A02"]
    assert [one.text for one in result.findings if one.kind == "unread round"] == [text]


@pytest.mark.parametrize("attempt", ["2nd", "round 2", "Round 2.0"])
def test_an_ordinal_is_a_round(tmp_path: Path, attempt: str) -> None:
    """What anybody reads as 2 is 2: it replaces round 1."""
    job = judged(tmp_path, good("1A-A02", wire_map="open"), good("1A-A02", attempt=attempt))
    assert [(each.round, each.word) for each in job.by_id["1A-A02"].history] == [(1, "fail"), (2, "pass")]


@pytest.mark.parametrize("day", ["19.11.2026", "11/31/2026"])
def test_a_date_that_cannot_be_read_is_a_finding(tmp_path: Path, day: str) -> None:
    """Month, day, year is the job's order, and November has 30 days."""
    result = judged(tmp_path, good("1A-A02", date=day)).by_id["1A-A02"]
    found = [one.text for one in result.findings if one.kind == "unread date"]
    assert found == [f"date {day!r} is no date with the order mdy; the row has no date"]


def test_rows_that_hide_their_origin_are_a_finding(tmp_path: Path) -> None:
    """One a sheet at its first circuit, naming what is lacking; a circuit that tells all has none."""
    signed = {"date": "2026-03-01", "person": "J. D."}
    job = judged(
        tmp_path, good("1A-A02"), good("1A-A10"), row("GND-1", "bonding", bonding="0.05", instrument="-", **signed),
        good("1A-A01", instrument="T1", **signed),
    )  # fmt: skip
    found = {one.circuit: one.text for one in job.findings if one.kind == "no origin"}
    assert found == {
        "1A-A02": "no person, date or instrument on 2 rows of the sheet",
        "GND-1": "no instrument on the row",
    }


@pytest.mark.parametrize(("column", "value"), [("length", "0"), ("resistance_12", "0"), ("resistance_12", "0.00")])
def test_nothing_is_no_length_and_no_loop(tmp_path: Path, column: str, value: str) -> None:
    """50 m of copper resist: a zero is a slip, and the row isn't used."""
    result = judged(tmp_path, row("1A-A02", **{"wire_map": "pass", "length": "50", column: value})).by_id["1A-A02"]
    assert result.word == "incomplete"
    assert [one.text.partition(",")[0] for one in result.findings if one.kind == "contradiction"] == [
        f"{value!r} is no possible {column.partition('_')[0]}"
    ]


@pytest.mark.parametrize(("loop_ohm", "possible"), [(0.5, True), (0.51, False)])
def test_a_loop_that_rounds_down_to_nothing_is_possible(tmp_path: Path, loop_ohm: float, possible: bool) -> None:
    """A meter that shows whole ohms shows 0 for half an ohm."""
    project, _, circuits = job(tmp_path)
    speaker = next(one for one in circuits if one.id == "SP-1")
    said = interpret(row("SP-1", "speaker", resistance="0"), replace(speaker, expected_loop_ohm=loop_ohm), "",
                     project.acceptance, "m")  # fmt: skip
    assert (not said.trouble) is possible
