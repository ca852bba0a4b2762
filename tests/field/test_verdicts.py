"""Verdicts of readings and circuits at their boundaries; waivers, acceptances, samples, progress."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from estimator.field.progress import NO_DAY, NOBODY, by_day, by_person, by_room, by_system, overall
from estimator.field.rows import Decision, ReadRow
from estimator.field.typed import read_day, read_value
from estimator.field.verdicts import CircuitResult
from tests.field.sheetrows import good, judged, row

LINK = "\n  cables: [{cable: C6, tests: wire_map length delay skew resistance}]"
SAMPLE = "\n  sampling: [{cable: C6, percent: 34, on_failure: %s}]"
DELAYS = {f"delay_{pair}": "300" for pair in ("12", "36", "45", "78")}
LOOPS = {f"resistance_{pair}": "6.80" for pair in ("12", "36", "45", "78")}
WHOLE = {"wire_map": "pass", "length": "50", "skew": "10", **DELAYS, **LOOPS}


def only(folder: Path, *rows: ReadRow, acceptance: str = LINK) -> CircuitResult:
    """Return the result of the link under test."""
    return judged(folder, *rows, acceptance=acceptance).by_id["1A-A02"]


@pytest.mark.parametrize(
    ("column", "at", "beyond"),
    [
        ("length", "99.0", "99.1"),  # ANSI/TIA-1152 clause 2.3.1 (single): 90 m and 10 %
        ("delay_45", "498", "499"),  # ANSI/TIA-568-C.2 clause 6 (memory)
        ("skew", "44", "45"),  # ANSI/TIA-568-C.2 clause 6 (memory)
        ("resistance_12", "21.00", "21.01"),  # ANSI/TIA-568.2-D (memory)
    ],
)
def test_a_link_passes_at_each_limit_and_fails_one_step_beyond(
    tmp_path: Path, column: str, at: str, beyond: str
) -> None:
    """One reading at a time, the others well inside."""
    assert only(tmp_path, row("1A-A02", **{**WHOLE, column: at})).word == "pass"
    assert only(tmp_path, row("1A-A02", **{**WHOLE, column: beyond})).word == "fail"


@pytest.mark.parametrize(
    ("watts", "volts", "word"),
    [("12.00", "42.5", "pass"), ("11.99", "42.5", "fail"), ("12.00", "42.4", "fail"), ("12.00", "57.1", "fail")],
)
def test_power_at_the_device(tmp_path: Path, watts: str, volts: str, word: str) -> None:
    """Class 4 device, 42.5 to 57 V (IEEE 802.3 clause 33, confirmed), and the 12 W that it draws."""
    asked = "\n  cables: [{cable: C6, tests: poe}]"
    job = judged(tmp_path, row("1A-A01", poe_volts=volts, poe_watts=watts), acceptance=asked)
    assert job.by_id["1A-A01"].word == word


@pytest.mark.parametrize(
    ("length", "reading", "circuit"),
    [
        ("98.0", "pass", "pass"),
        ("98.1", "marginal pass", "marginal pass"),
        ("99.0", "marginal pass", "marginal pass"),
        ("99.1", "marginal fail", "fail"),
        ("100.0", "fail", "fail"),
    ],
)
def test_the_instruments_accuracy_makes_the_marginal_band(
    tmp_path: Path, length: str, reading: str, circuit: str
) -> None:
    """Instrument T1 states 1 m; a marginal fail still fails its circuit."""
    result = judged(tmp_path, good("1A-A02", length=length, instrument="t1")).by_id["1A-A02"]
    found = result.reading("length")
    assert found is not None
    assert (found.word, result.word) == (reading, circuit)


def test_no_instrument_no_band_and_a_house_may_have_none(tmp_path: Path) -> None:
    """Without a stated accuracy, or with `marginal: none`, there is no marginal word."""
    assert judged(tmp_path, good("1A-A02", length="98.9")).by_id["1A-A02"].word == "pass"
    rows = good("1A-A02", length="98.9", instrument="T1")
    assert judged(tmp_path, rows, rules=", marginal: none").by_id["1A-A02"].word == "pass"


def test_a_required_reading_that_is_missing_leaves_a_circuit_incomplete(tmp_path: Path) -> None:
    """Three delays of four."""
    cells = {key: text for key, text in WHOLE.items() if key != "delay_78"}
    result = only(tmp_path, row("1A-A02", **cells))
    assert (result.word, result.why) == ("incomplete", "Delay, pair 7-8")


def test_a_failure_outweighs_what_is_missing(tmp_path: Path) -> None:
    """Fail before incomplete, incomplete before marginal."""
    assert only(tmp_path, row("1A-A02", wire_map="open")).word == "fail"
    asked = LINK + "\n  instruments: [{id: T1, kind: tester, length_accuracy: 1 m}]"
    near = row("1A-A02", wire_map="pass", length="98.5", instrument="T1")
    assert only(tmp_path, near, acceptance=asked).word == "incomplete"


def test_optional_readings_fail_a_circuit_too(tmp_path: Path) -> None:
    """Loop resistance isn't asked for here; a bad one still fails."""
    assert judged(tmp_path, good("1A-A02", resistance_12="30")).by_id["1A-A02"].word == "fail"


def test_beyond_range_is_a_value(tmp_path: Path) -> None:
    """OL over a joined loop is open; OL across parted conductors is clear."""
    assert only(tmp_path, row("1A-A02", **{**WHOLE, "resistance_45": "OL"})).word == "fail"
    cells = {"open_short": "OL", "length": "60"}
    assert judged(tmp_path, row("1A-V1", "coax", **cells)).by_id["1A-V1"].word == "pass"


@pytest.mark.parametrize(("volts", "word"), [("1.0", "pass"), ("1.1", "fail")])
def test_stray_voltage_on_a_fire_alarm_circuit(tmp_path: Path, volts: str, word: str) -> None:
    """1 V at most (NFPA 72 test methods, memory)."""
    cells = {"stray_volts": volts, "open_short": "clear", "ground_fault": "clear", "resistance": "2.6",
             "end_of_line": "10003", "polarity": "correct"}  # fmt: skip
    assert judged(tmp_path, row("NAC-1", "conductors", **cells)).by_id["NAC-1"].word == word


@pytest.mark.parametrize(("ohm", "word"), [("8999", "fail"), ("9000", "pass"), ("11002", "pass"), ("11003", "fail")])
def test_end_of_line_resistor_within_its_tolerance(tmp_path: Path, ohm: str, word: str) -> None:
    """10 kohm and 10 % (common practice) with 2.6 ohm of wire on top: 9000 to 11002.6 ohm."""
    cells = {"stray_volts": "0", "open_short": "clear", "ground_fault": "clear", "resistance": "2.6",
             "end_of_line": ohm, "polarity": "correct"}  # fmt: skip
    assert judged(tmp_path, row("NAC-1", "conductors", **cells)).by_id["NAC-1"].word == word


@pytest.mark.parametrize(("loss", "word"), [("2.40", "pass"), ("2.41", "fail")])
def test_strand_loss_by_the_component_limit(tmp_path: Path, loss: str, word: str) -> None:
    """0.3 km x 3.0 dB/km and two mated pairs of 0.75 dB (ANSI/TIA-568.3-D): 2.40 dB."""
    cells = {"strand": "1", "loss_850": loss, "loss_1300": "1.0", "length": "300", "polarity": "correct"}
    one = row("1A/1B-1", "fiber", **cells)
    assert judged(tmp_path, one).by_id["1A/1B-1.1"].word == word


def test_a_loss_by_another_reference_method_is_not_judged(tmp_path: Path) -> None:
    """The method decides which connections are in the reading."""
    cells = {"strand": "1", "loss_850": "1.0", "loss_1300": "1.0", "length": "300", "polarity": "correct"}
    for named, why in (
        ({"reference": "three cord"}, "reference by three cord, the link asks for one cord"),
        ({"reference": ""}, "no reference method, one cord is asked for"),
    ):
        one = judged(tmp_path, row("1A/1B-1", "fiber", **named, **cells)).by_id["1A/1B-1.1"]
        assert one.word == "incomplete"
        assert {reading.why for reading in one.readings if reading.test == "loss"} == {why}


# --- waivers, acceptances, statuses ------------------------------------------------------------

SIGNED = "reason: r, name: A. Owner, role: %s, date: 2026-03-01, reference: L-7"


def test_a_waived_circuit_is_complete(tmp_path: Path) -> None:
    """The owner may waive a circuit in the job's file."""
    result = judged(tmp_path, acceptance=f"\n  waivers: [{{circuit: 1A-A02, {SIGNED % 'owner'}}}]").by_id["1A-A02"]
    assert (result.word, result.complete) == ("waived", True)


def test_a_waiver_covers_what_is_missing_and_no_failure(tmp_path: Path) -> None:
    """An incomplete circuit is waived; one that fails stays failed."""
    asked = f"\n  waivers: [{{circuit: 1A-A02, {SIGNED % 'owner'}}}]"
    assert only(tmp_path, row("1A-A02", wire_map="pass"), acceptance=asked).word == "waived"
    assert only(tmp_path, row("1A-A02", wire_map="open"), acceptance=asked).word == "fail"


@pytest.mark.parametrize("role", ["own_lead", "Own Lead", "own-lead"])
def test_an_own_lead_signs_nothing_for_the_owner(tmp_path: Path, role: str) -> None:
    """Neither a waiver nor a marginal result."""
    waive = Decision(kind="waive", target="1A-A02", reason="r", name="A", role=role, date="2026-03-01", reference="L")
    job = judged(tmp_path, decisions=(waive,))
    assert job.problems == ("waiver of 1A-A02: an own lead can't sign for the owner",)
    assert job.by_id["1A-A02"].word == "not tested"


def test_an_accepted_marginal_completes_its_circuit(tmp_path: Path) -> None:
    """A marginal pass stays on the list until somebody signs for it."""
    near = good("1A-A02", length="98.9", instrument="T1")
    asked = "\n  instruments: [{id: T1, kind: tester, length_accuracy: 1 m}]"
    accepted = asked + f"\n  accepted: [{{circuit: 1A-A02, {SIGNED % 'engineer'}}}]"
    before, after = (only(tmp_path, near, acceptance=text) for text in (asked, accepted))
    assert (before.word, before.complete) == ("marginal pass", False)
    assert (after.word, after.complete) == ("marginal pass", True)


def test_nobody_accepts_a_marginal_life_safety_result(tmp_path: Path) -> None:
    """Not even the authority, by the file or by a decision."""
    accept = Decision(kind="accept", target="nac-1", reason="r", name="A", role="authority", date="2026-03-01",
                      reference="L")  # fmt: skip
    job = judged(tmp_path, decisions=(accept,))
    assert job.problems == ("acceptance of nac-1: nobody accepts a marginal life-safety result",)


def test_a_signature_without_reference_does_not_count(tmp_path: Path) -> None:
    """Name, role, date and reference, all four."""
    waive = Decision(kind="waive", target="1A-A02", reason="r", name="A", role="owner", date="2026-03-01")
    job = judged(tmp_path, decisions=(waive,))
    assert job.problems == ("waiver of 1A-A02: it has no reference",)
    assert job.by_id["1A-A02"].word == "not tested"


def test_one_test_may_be_waived(tmp_path: Path) -> None:
    """The link's length is waived, its wire map isn't."""
    waive = Decision(kind="waive", target="1A-A02", to="length", reason="r", name="A", role="owner",
                     date="2026-03-01", reference="L")  # fmt: skip
    job = judged(tmp_path, row("1A-A02", wire_map="pass"), decisions=(waive,))
    assert job.by_id["1A-A02"].word == "pass"


@pytest.mark.parametrize(("state", "word"), [("not_reachable", "not reachable"), ("in_service", "in service")])
def test_why_a_circuit_was_not_tested(tmp_path: Path, state: str, word: str) -> None:
    """The stated reason stands, and the circuit stays open."""
    asked = f"\n  not_tested: [{{circuit: 1A-A02, state: {state}, reason: locked}}]"
    result = judged(tmp_path, acceptance=asked).by_id["1A-A02"]
    assert (result.word, result.why, result.complete) == (word, "locked", False)


# --- samples: three C6 links, 34 % of them are 2 (1.02, rounded up) ----------------------------


def test_a_good_sample_leaves_the_rest_outside(tmp_path: Path) -> None:
    """Two of three tested: the third isn't sampled and nothing is left to do."""
    rows = (good("1A-A02"), good("1A-A10"))
    job = judged(tmp_path, *rows, acceptance=SAMPLE % "test_all")
    assert job.samples[0].needed == 2
    assert (job.by_id["1A-A01"].word, job.by_id["1A-A01"].complete) == ("not sampled", True)


def test_a_short_sample_leaves_the_rest_to_be_tested(tmp_path: Path) -> None:
    """One of two."""
    job = judged(tmp_path, good("1A-A02"), acceptance=SAMPLE % "test_all")
    assert job.by_id["1A-A01"].word == "not tested"
    assert job.by_id["1A-A01"].why.startswith("sample: 1 of 2 tested")


def test_a_failed_sample_triggers_the_rest_even_when_mended(tmp_path: Path) -> None:
    """A failure in round 1 fails the sample; round 2 mends the link, not the sample."""
    rows = (good("1A-A02"), good("1A-A10", wire_map="open"), good("1A-A10", attempt="2"))
    job = judged(tmp_path, *rows, acceptance=SAMPLE % "test_all")
    assert (job.samples[0].failed, job.samples[0].needed) == (("1A-A10",), 3)
    assert job.by_id["1A-A01"].word == "not tested"
    doubled = judged(tmp_path, *rows, acceptance=SAMPLE % "double")
    assert doubled.samples[0].needed == 3  # 68 % of 3 is 2.04


# --- punch list, progress ----------------------------------------------------------------------


def test_the_punch_list_keeps_what_was_cleared(tmp_path: Path) -> None:
    """Open items first seen and cleared ones side by side."""
    job = judged(tmp_path, good("1A-A02", wire_map="open"), good("1A-A02", attempt="2"), good("1A-A10", length="99.5"))
    cleared = [item for item in job.punch if item.circuit == "1A-A02"]
    assert [(item.what, item.cleared) for item in cleared] == [("Wire map, T568B at both ends: open", "round 2")]
    failing = next(item for item in job.open_items if item.circuit == "1A-A10")
    assert failing.what == "Length: 99.5 m, fail (at most 99.0 m)"
    assert "over length by 0.5 m" in failing.look


@pytest.mark.parametrize(
    ("cells", "what", "look"),
    [
        ({"length": ""}, "incomplete, to be tested: Length", "test what is missing"),
        (
            {"length": "47,3"},
            "incomplete, to be tested: Length ('47,3' is no number with a decimal point)",
            "ask who wrote it and collect the sheet mended, with `corrects:` above its head, or test again",
        ),
        (
            {"nvp": "80"},
            "incomplete, to be tested: Length (velocity set to 80%, the cable's is 70%)",
            "set the velocity of this cable; test again",
        ),
    ],
)
def test_what_is_incomplete_says_how_to_complete_it(
    tmp_path: Path, cells: dict[str, str], what: str, look: str
) -> None:
    """What nobody read, what was typed so that nobody can read it, and what was read by a wrong setting."""
    job = judged(tmp_path, good("1A-A02", **cells))
    assert [(one.what, one.look) for one in job.open_items if one.circuit == "1A-A02"] == [(what, look)]


def test_what_failed_again_is_not_cleared(tmp_path: Path) -> None:
    """Two failing rounds make one open line."""
    job = judged(tmp_path, good("1A-A02", wire_map="open"), good("1A-A02", attempt="2", wire_map="short"))
    assert [item.open for item in job.punch if item.circuit == "1A-A02"] == [True]


def test_progress_by_room_and_system(tmp_path: Path) -> None:
    """Every circuit is counted once, and what is left says why."""
    job = judged(tmp_path, good("1A-A02"), good("1A-A10", wire_map="open"))
    rooms = {one.name: one for one in by_room(job)}
    assert (rooms["1A"].circuits, rooms["1A"].tested, rooms["1A"].passed, rooms["1A"].failed) == (6, 2, 1, 1)
    assert rooms["1A"].left == 5
    assert rooms["1A"].why_not == {"not tested": 4}
    assert sum(one.circuits for one in by_system(job)) == overall(job).circuits == len(job.circuits)


def test_progress_by_day_and_person(tmp_path: Path) -> None:
    """A retest counts on its own day; what is left goes down by what stands at that day's end."""
    job = judged(
        tmp_path,
        good("1A-A02", wire_map="open", date="2026-05-04", person="Crew 1"),
        good("1A-A02", attempt="2", date="2026-05-06", person="Crew 2"),
        good("1A-A10", date="2026-05-05", person="Crew 1"),
        good("1A-A01", wire_map="open"),
    )
    days = [(one.name, one.circuits, one.again, one.passed, one.failed, one.left) for one in by_day(job)]
    all_left = len(job.circuits)
    assert days == [
        ("2026-05-04", 1, 0, 0, 1, all_left),
        ("2026-05-05", 1, 0, 1, 0, all_left - 1),
        ("2026-05-06", 1, 1, 1, 0, all_left - 2),
        (NO_DAY, 1, 0, 0, 1, None),
    ]
    people = {one.name: (one.circuits, one.again, one.passed, one.failed, one.left) for one in by_person(job)}
    assert people == {"Crew 1": (2, 0, 1, 1, None), "Crew 2": (1, 1, 1, 0, None), NOBODY: (1, 0, 0, 1, None)}


def test_judging_twice_gives_the_same(tmp_path: Path) -> None:
    """No clock and no random order."""
    rows = [good("1A-A02", wire_map="open"), good("1A-A10")]
    assert judged(tmp_path, *rows) == judged(tmp_path, *rows)


# --- numbers and dates as typed ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("03/04/2026", "mdy", date(2026, 3, 4)),
        ("03/04/2026", "dmy", date(2026, 4, 3)),
        ("26-03-04", "ymd", date(2026, 3, 4)),
        ("2026-03-04", "dmy", date(2026, 3, 4)),
    ],
)
def test_dates_go_by_the_stated_order(text: str, order: str, day: date) -> None:
    """The same signs are two days."""
    assert read_day(text, order) == day


@pytest.mark.parametrize(
    ("text", "order"), [("14/3/2026", "mdy"), ("3/14/2026", "dmy"), ("2/30/2026", "mdy"), ("March 4", "mdy")]
)
def test_a_date_that_does_not_fit_is_not_guessed(text: str, order: str) -> None:
    """No swapping of day and month to make it fit."""
    with pytest.raises(ValueError, match=r"is no date"):
        read_day(text, order)


@pytest.mark.parametrize(
    ("text", "decimal"),
    [("1,050", "point"), ("1.050,5", "comma"), ("1 050", "point"), ("abc", "point"), ("1e999", "point")],
)
def test_a_number_with_another_sign_is_refused(text: str, decimal: str) -> None:
    """Neither thousands signs nor the other decimal sign."""
    with pytest.raises(ValueError, match=r"is no"):
        read_value(text, "m", 1.0, decimal)


def test_a_unit_typed_behind_the_number_wins() -> None:
    """A length in meters in a column of feet is a length in meters."""
    assert read_value("87.5 m", "ft", 0.3048, "point") == 87.5
    assert read_value("100 ft", "ft", 0.3048, "point") == pytest.approx(30.48)
    with pytest.raises(ValueError, match="is no unit of length"):
        read_value("12 ohm", "ft", 0.3048, "point")


@pytest.mark.parametrize("typed", ["118' 6\"", "118 ft 6 in", "118\u2032 6\u2033", "118'-6\"", "118 FT 6 IN"])
def test_lengths_may_be_typed_in_feet_and_inches(typed: str) -> None:
    """118.5 ft, whichever way a trade length is written."""
    assert read_value(typed, "ft", 0.3048, "point") == pytest.approx(118.5 * 0.3048, abs=1e-12)


@pytest.mark.parametrize("typed", ["118' 14\"", "one eighteen", ">325", "1,118"])
def test_what_is_no_length_says_so(typed: str) -> None:
    """Nothing is guessed."""
    with pytest.raises(ValueError, match="is no "):
        read_value(typed, "ft", 0.3048, "point")
