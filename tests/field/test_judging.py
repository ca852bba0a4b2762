"""Rounds, supersession, what is not used, decisions: each rule with the smallest rows that show it."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.field.rows import Decision
from tests.field.sheetrows import good, judged, row


def decide(kind: str, target: str, **others: str) -> Decision:
    """Return a decision with all its signatures."""
    known = {"reason": "seen on site", "name": "A. Owner", "role": "owner", "date": "2026-03-02", "reference": "L-1"}
    return Decision(kind=kind, target=target, order=10**9, **{**known, **others})  # type: ignore[arg-type]


def test_a_circuit_without_readings_is_not_tested(tmp_path: Path) -> None:
    """Silence is no verdict."""
    job = judged(tmp_path)
    assert {one.word for one in job.circuits} == {"not tested"}
    assert not job.complete


def test_ids_are_compared_without_case(tmp_path: Path) -> None:
    """A crew types as it likes."""
    assert judged(tmp_path, good(" 1a-a02 ")).by_id["1A-A02"].word == "pass"


def test_a_later_round_replaces_the_earlier_one_whole(tmp_path: Path) -> None:
    """A retest of the wire map alone leaves the length untested, because every pair was touched."""
    job = judged(tmp_path, good("1A-A02", wire_map="open"), row("1A-A02", attempt="2", wire_map="pass"))
    result = job.by_id["1A-A02"]
    assert (result.word, [c.test for c in result.missing]) == ("incomplete", ["length"])
    assert [each.word for each in result.history] == ["fail", "incomplete"]
    assert [each.current for each in result.history] == [False, True]


def test_a_house_may_replace_test_by_test(tmp_path: Path) -> None:
    """With `retest: by_test` the length of round 1 still counts."""
    rows = (good("1A-A02", wire_map="reversed"), row("1A-A02", attempt="2", wire_map="pass"))
    assert judged(tmp_path, *rows, rules=", retest: by_test").by_id["1A-A02"].word == "pass"


def test_rounds_win_over_dates_and_over_the_order_received(tmp_path: Path) -> None:
    """Round 2 counts though it was received first and carries the earlier date."""
    rows = (
        good("1A-A02", attempt="2", date="2026-03-01"),
        good("1A-A02", attempt="1", date="2026-03-05", wire_map="short"),
    )
    assert judged(tmp_path, *rows).by_id["1A-A02"].word == "pass"


@pytest.mark.parametrize(
    ("first", "second", "word"),
    [
        ({"date": "2026-03-01"}, {"date": "2026-03-02"}, "pass"),  # dates order them
        ({"date": "2026-03-02"}, {"date": "2026-03-01"}, "fail"),
        ({"date": "2026-03-01", "time": "10:00"}, {"date": "2026-03-01", "time": "14:00"}, "pass"),
        ({"date": "2026-03-01", "time": "14:00"}, {"date": "2026-03-01", "time": "10:00"}, "fail"),
        ({"date": "2026-03-01"}, {"date": "2026-03-01"}, "pass"),  # one day, one sheet: the lower row
        ({}, {}, "fail"),  # nothing orders them: the worse counts
        ({"date": "2026-03-01"}, {}, "fail"),
    ],
)
def test_without_rounds_dates_and_times_order(
    tmp_path: Path, first: dict[str, str], second: dict[str, str], word: str
) -> None:
    """The first row fails, the second passes: which counts is a matter of what orders them."""
    rows = (good("1A-A02", attempt="", wire_map="open", **first), good("1A-A02", attempt="", **second))
    assert judged(tmp_path, *rows).by_id["1A-A02"].word == word


def test_one_day_and_two_sheets_are_not_ordered(tmp_path: Path) -> None:
    """Two crews' sheets of the same day: the worse counts."""
    rows = (
        row("1A-A02", attempt="", batch="b1", wire_map="open", date="2026-03-01"),
        row("1A-A02", attempt="", batch="b2", wire_map="pass", length_12="50", date="2026-03-01"),
    )
    assert judged(tmp_path, *rows).by_id["1A-A02"].word == "fail"


def test_one_round_may_stand_on_two_sheets(tmp_path: Path) -> None:
    """A wire map from one instrument and a length from another make one round."""
    job = judged(tmp_path, row("1A-A02", wire_map="pass"), row("1A-A02", batch="b2", length_12="50"))
    assert job.by_id["1A-A02"].word == "pass"
    assert len(job.by_id["1A-A02"].history) == 1


def test_twice_the_same_row_counts_once(tmp_path: Path) -> None:
    """Every field alike: one is kept, the other listed."""
    job = judged(tmp_path, good("1A-A02"), good("1A-A02"))
    assert len(job.by_id["1A-A02"].history[0].rows) == 1
    assert [one.kind for one in job.unplaced] == ["duplicate"]


def test_fiber_is_replaced_strand_by_strand(tmp_path: Path) -> None:
    """Cleaning strand 1 leaves strand 2 as it was."""
    first = [
        row("1A/1B-1", "fiber", strand=s, loss_850="3.1", loss_1300="1.1", length="300", polarity="correct")
        for s in ("1", "2")
    ]
    again = row(
        "1A/1B-1", "fiber", attempt="2", strand="1", loss_850="1.1", loss_1300="0.9", length="300", polarity="correct"
    )
    job = judged(tmp_path, *first, again)
    assert (job.by_id["1A/1B-1.1"].word, job.by_id["1A/1B-1.2"].word) == ("pass", "fail")


def test_the_shortest_sound_pair_is_the_length(tmp_path: Path) -> None:
    """99.0 m passes by the shortest pair though another measures 101 m."""
    job = judged(tmp_path, row("1A-A02", wire_map="pass", length_12="101.0", length_36="99.0", length_45="99.6"))
    length = job.by_id["1A-A02"].reading("length")
    assert length is not None
    assert (length.value, length.word) == (99.0, "pass")


def test_an_open_pair_reports_a_distance_and_no_length(tmp_path: Path) -> None:
    """Pair 1-2 ends at 12 m: the length is that of the whole pairs."""
    cells = {"wire_map": "open", "length_12": "12.0", "length_36": "50.2", "length_45": "50.6", "length_78": "51.0"}
    length = judged(tmp_path, row("1A-A02", **cells)).by_id["1A-A02"].reading("length")
    assert length is not None
    assert length.value == 50.2


def test_a_row_that_contradicts_itself_is_not_used(tmp_path: Path) -> None:
    """30 m in 483 ns would be 0.21 of light's speed: feet typed as meters, or another cable's delay."""
    job = judged(tmp_path, row("1A-A02", wire_map="pass", length_12="30.5", delay_12="483"))
    result = job.by_id["1A-A02"]
    assert result.word == "incomplete"
    assert {one.word for one in result.readings} == {"not judged"}
    assert "contradiction" in {finding.kind for finding in result.findings}


@pytest.mark.parametrize(("delay", "used"), [("556", True), ("557", False), ("370", True), ("369", False)])
def test_the_band_of_velocities_allows_for_rounding(tmp_path: Path, delay: str, used: bool) -> None:
    """100.0 m at 0.60 of light's speed takes 555.9 ns, at 0.90 370.6 ns; the last digit may be rounded."""
    job = judged(tmp_path, row("1A-A02", wire_map="pass", length_12="100.0", delay_12=delay))
    assert (job.by_id["1A-A02"].readings[0].why == "") is used


@pytest.mark.parametrize("cells", [{"length_12": "-5"}, {"resistance_12": "-0.1"}, {"skew": "99999"}])
def test_values_beyond_physics_are_not_used(tmp_path: Path, cells: dict[str, str]) -> None:
    """A slip of the pen makes no verdict."""
    assert judged(tmp_path, row("1A-A02", wire_map="pass", **cells)).by_id["1A-A02"].word == "incomplete"


def test_a_gain_in_fiber_is_a_bad_reference(tmp_path: Path) -> None:
    """A loss below nothing isn't used."""
    cells = {"strand": "1", "loss_850": "-0.1", "loss_1300": "0.9", "length": "300", "polarity": "correct"}
    assert judged(tmp_path, row("1A/1B-1", "fiber", **cells)).by_id["1A/1B-1.1"].word == "incomplete"


@pytest.mark.parametrize(
    ("limit", "word"),
    [
        ("ANSI/TIA-568.2-D Category 6 permanent link", "pass"),
        ("TIA Cat 6 Perm. Link", "pass"),
        ("TIA-568-C.2 Cat6 PL", "pass"),
        ("TIA Cat 5e Perm. Link", "incomplete"),
        ("TIA Cat 6A Perm. Link", "incomplete"),
        ("TIA Cat 6 Channel", "incomplete"),
        ("ISO Class E permanent link", "incomplete"),
        ("my own", "incomplete"),
    ],
)
def test_another_limit_in_the_field_is_not_judged(tmp_path: Path, limit: str, word: str) -> None:
    """The tester's pass by another limit proves nothing about this circuit."""
    assert judged(tmp_path, good("1A-A02", limit=limit)).by_id["1A-A02"].word == word


def test_the_plug_adapter_belongs_to_a_plug_ended_link(tmp_path: Path) -> None:
    """A channel adapter doesn't see the plug."""
    job = judged(tmp_path, good("1A-A01", length="80", adapter="channel"), good("1A-A02", adapter="permanent link"))
    assert (job.by_id["1A-A01"].word, job.by_id["1A-A02"].word) == ("incomplete", "pass")


@pytest.mark.parametrize(
    ("limit", "word"), [("TIA 568.3-D OM4", "pass"), ("my backbone", "pass"), ("TIA OM3 1 cord", "incomplete")]
)
def test_a_loss_by_another_class_of_fiber_is_not_judged(tmp_path: Path, limit: str, word: str) -> None:
    """An OM3 limit says nothing about OM4; a name that tells no class is left to the reference method."""
    cells = {"length": "300", "loss_850": "1.5", "loss_1300": "1.0", "polarity": "correct", "limit": limit}
    assert judged(tmp_path, row("1A/1B-1", "fiber", strand="1", **cells)).by_id["1A/1B-1.1"].word == word


@pytest.mark.parametrize(
    ("rules", "value", "word"), [("", 98.0, "not judged"), (", velocity_correction: yes", 91.467, "pass")]
)
def test_a_wrong_velocity_is_corrected_or_not_judged(tmp_path: Path, rules: str, value: float, word: str) -> None:
    """Set to 75 %, the cable has 70 %: 98 m are 91.467 m."""
    length = judged(tmp_path, good("1A-A02", length="98.0", nvp="75"), rules=rules).by_id["1A-A02"].reading("length")
    assert length is not None
    assert length.value == pytest.approx(value, abs=5e-4)
    assert (length.raw, length.word) == (98.0, word)


@pytest.mark.parametrize(("rules", "count"), [("", 1), (", velocity_correction: yes", 4)])
def test_a_wrong_velocity_is_told_once_a_circuit(tmp_path: Path, rules: str, count: int) -> None:
    """Four pairs have one velocity; only where lengths are corrected does each say what was read."""
    pairs = {f"length_{pair}": f"{98 + n}" for n, pair in enumerate(("12", "45", "78"), start=1)}
    doubts = judged(tmp_path, good("1A-A02", length="98.0", nvp="75", **pairs), rules=rules).by_id["1A-A02"].doubts
    assert len(doubts) == count
    assert all("75%, the cable's is 70%" in doubt for doubt in doubts)


def test_unknown_circuits_are_kept_and_listed(tmp_path: Path) -> None:
    """Nothing is dropped in silence; the punch list asks for a decision."""
    job = judged(tmp_path, good("1A.A02"))
    assert job.unplaced[0].why == "no circuit '1A.A02' in the job; the nearest is '1A-A02'"
    assert "1A.A02" in [item.circuit for item in job.open_items]


def test_a_remapped_circuit_is_judged_under_its_id(tmp_path: Path) -> None:
    """A port that was moved keeps its readings."""
    remap = decide("remap", "1a-a03", to="1A-A02")
    assert judged(tmp_path, good("1A-A03"), decisions=(remap,)).by_id["1A-A02"].word == "pass"


def test_a_voided_row_is_out_until_it_is_restored(tmp_path: Path) -> None:
    """The last decision about a row counts."""
    bad = good("1A-A02", wire_map="open", attempt="2")
    void, restore = decide("void", bad.key), decide("restore", bad.batch)
    assert judged(tmp_path, good("1A-A02"), bad, decisions=(void,)).by_id["1A-A02"].word == "pass"
    assert judged(tmp_path, good("1A-A02"), bad, decisions=(void, restore)).by_id["1A-A02"].word == "fail"


def test_a_corrected_sheet_is_no_retest(tmp_path: Path) -> None:
    """It replaces the rows of the batch that it names, and leaves no second round."""
    wrong = row("1A-A02", batch="aaaaaaaaaaaa", wire_map="open", length_12="50")
    right = row("1A-A02", batch="cccc", stated={"corrects": "aaaaaaaaaaaa"}, wire_map="pass", length_12="50")
    job = judged(tmp_path, wrong, right)
    assert job.by_id["1A-A02"].word == "pass"
    assert [one.kind for one in job.unplaced] == ["corrected"]
    assert not any(item.cleared for item in job.punch)


def test_numbers_go_by_the_stated_decimal_sign(tmp_path: Path) -> None:
    """A comma is a decimal sign only where somebody said so."""
    said = {"decimals": "comma"}
    assert (
        judged(tmp_path, row("1A-A02", stated=said, wire_map="pass", length_12="50,5")).by_id["1A-A02"].word == "pass"
    )
    result = judged(tmp_path, row("1A-A02", wire_map="pass", length_12="1,050")).by_id["1A-A02"]
    assert result.word == "incomplete"


def test_a_clock_years_off_is_flagged_and_orders_nothing(tmp_path: Path) -> None:
    """The date of 2019 would put the failing row first; without it the worse counts."""
    others = [good(name, date="2026-03-01", length="80") for name in ("1A-A10", "1A-A01")]
    rows = (
        good("1A-A02", attempt="", date="2019-01-01", wire_map="open"),
        good("1A-A02", attempt="", date="2026-03-01"),
    )
    job = judged(tmp_path, *others, *rows)
    assert job.by_id["1A-A02"].word == "fail"
    assert "clock" in [finding.kind for finding in job.by_id["1A-A02"].findings]


def test_the_state_decides_the_video_level(tmp_path: Path) -> None:
    """1.9 V is right while bridging, twice too much when terminated, and nothing without a state."""
    asked = "\n  cables: [{cable: RG6, tests: video_level}]"

    def word(**cells: str) -> str:
        return judged(tmp_path, row("1A-V1", "coax", **cells), acceptance=asked).by_id["1A-V1"].word

    assert word(video_level="1.00", far_end="terminated") == "pass"
    assert word(video_level="1.90", far_end="terminated") == "fail"
    assert word(video_level="1.00") == "incomplete"
    # Bridging was not the state planned: it is judged and leaves the planned reading missing.
    assert word(video_level="1.90", far_end="bridging") == "incomplete"


def test_battery_counts_off_charge_and_under_the_planned_load(tmp_path: Path) -> None:
    """Volts read on charge or under half the load aren't judged."""

    def blocks(**cells: str) -> list[object]:
        known = {"open_circuit_volts": "12.9", "load_volts": "12.1", "load_amps": "3", "far_end": "charger off"}
        rows = [row("BAT-1", "battery", block=b, **{**known, **cells}) for b in ("1", "2")]
        result = judged(tmp_path, *rows).by_id["BAT-1"]
        return [result.word, len(result.missing)]

    assert blocks() == ["pass", 0]
    assert blocks(far_end="charger on") == ["incomplete", 2]
    assert blocks(load_amps="1.5") == ["incomplete", 2]
    assert blocks(load_volts="10.49") == ["fail", 0]


def test_one_block_retested_leaves_the_other(tmp_path: Path) -> None:
    """Block by block, as strand by strand."""
    known = {"open_circuit_volts": "12.9", "load_amps": "3", "far_end": "charger off"}
    rows = [row("BAT-1", "battery", block=b, load_volts=v, **known) for b, v in (("1", "9.0"), ("2", "12.1"))]
    again = row("BAT-1", "battery", attempt="2", block="1", load_volts="12.0", **known)
    assert judged(tmp_path, *rows, again).by_id["BAT-1"].word == "pass"


def test_a_row_that_cannot_be_judged_gives_way_to_one_that_can(tmp_path: Path) -> None:
    """Nothing orders the two; the one by another limit says nothing about the link."""
    rows = (good("1A-A02", attempt="", limit="TIA Cat 5e Channel"), good("1A-A02", attempt=""))
    assert judged(tmp_path, *rows).by_id["1A-A02"].word == "pass"


def test_a_correction_replaces_only_what_came_before_it(tmp_path: Path) -> None:
    """The sheet that is named, received later, is no older version of this one."""
    right = row("1A-A02", batch="cccc", stated={"corrects": "aaaaaaaaaaaa"}, wire_map="pass", length_12="50")
    later = row("1A-A02", batch="aaaaaaaaaaaa", wire_map="open", length_12="50")
    job = judged(tmp_path, right, later)
    assert (job.by_id["1A-A02"].word, job.unplaced) == ("fail", ())


def test_what_is_signed_for_a_cable_holds_for_its_strands(tmp_path: Path) -> None:
    """The loss limit is 2.4 dB, 2.38 lies within 0.05 dB of it (the instrument's statement)."""
    meter = "\n  instruments: [{id: L1, kind: light source and meter, loss_accuracy: 0.05 dB}]"
    cells = {"length": "300", "loss_850": "2.38", "loss_1300": "1.0", "polarity": "correct", "instrument": "L1"}
    rows = [row("1A/1B-1", "fiber", strand=strand, **cells) for strand in ("1", "2")]

    def complete(*decisions: Decision) -> list[bool]:
        found = judged(tmp_path, *rows, decisions=decisions, acceptance=meter).by_id
        assert {found[name].word for name in ("1A/1B-1.1", "1A/1B-1.2")} == {"marginal pass"}
        return [found[name].complete for name in ("1A/1B-1.1", "1A/1B-1.2")]

    assert complete() == [False, False]
    assert complete(decide("accept", "1a/1b-1")) == [True, True]
    assert complete(decide("accept", "1A/1B-1.2")) == [False, True]


def test_an_acceptance_of_one_test_leaves_the_other_open(tmp_path: Path) -> None:
    """Length and skew are both marginal: each wants its signature, or one signs for the circuit."""
    tester = "\n  instruments: [{id: T1, kind: tester, length_accuracy: 1 m, delay_accuracy: 5 ns}]"
    link = good("1A-A02", length="98.5", skew="42", instrument="T1")

    def complete(*decisions: Decision) -> bool:
        return judged(tmp_path, link, decisions=decisions, acceptance=tester).by_id["1A-A02"].complete

    length, skew = decide("accept", "1A-A02", to="length"), decide("accept", "1A-A02", to="skew")
    assert [complete(length), complete(skew), complete(length, skew), complete(decide("accept", "1A-A02"))] == [
        False, False, True, True,
    ]  # fmt: skip


def test_a_failed_round_typed_over_stays_in_the_history(tmp_path: Path) -> None:
    """Two sheets say round 1: both attempts stand, the earlier one cleared by the later."""
    job = judged(
        tmp_path,
        row("1A-A02", batch="b1", file="f0.xlsx", wire_map="open", length="12", date="2026-11-18"),
        row("1A-A02", batch="b2", file="f1.xlsx", wire_map="pass", length="50", date="2026-11-19"),
    )
    result = job.by_id["1A-A02"]
    assert result.word == "pass"
    assert [(each.name, each.word, each.current) for each in result.history] == [
        ("round 1, 2026-11-18", "fail", False),
        ("round 1, 2026-11-19", "pass", True),
    ]
    assert [[one.file for one in each.rows] for each in result.history] == [["f0.xlsx"], ["f1.xlsx"]]
    assert [(item.found, item.cleared) for item in job.punch if item.circuit == "1A-A02"] == [
        ("round 1, 2026-11-18", "round 1, 2026-11-19")
    ]
    found = [one.text for one in result.findings if one.kind == "one round twice"]
    assert found == ["two different sheets say round 1; the later one counts"]


def test_a_later_attempt_of_a_round_replaces_the_earlier_one_whole(tmp_path: Path) -> None:
    """Readings of two files aren't mixed: the earlier length isn't the later attempt's."""
    job = judged(
        tmp_path,
        row("1A-A02", batch="b1", wire_map="open", length_12="50", date="2026-11-18"),
        row("1A-A02", batch="b2", wire_map="pass", date="2026-11-19"),
    )
    assert (job.by_id["1A-A02"].word, job.by_id["1A-A02"].why) == ("incomplete", "Length")


@pytest.mark.parametrize("day", ["", "2026-11-18"])
def test_attempts_that_nothing_orders_leave_the_worse(tmp_path: Path, day: str) -> None:
    """Two sheets of one round, undated or of one day: both stand, and the finding says so."""
    dated: dict[str, str] = {"date": day} if day else {}
    job = judged(
        tmp_path,
        row("1A-A02", batch="b1", wire_map="open", length="12", **dated),
        row("1A-A02", batch="b2", wire_map="pass", length="50", **dated),
    )
    result = job.by_id["1A-A02"]
    assert (result.word, [each.current for each in result.history]) == ("fail", [True, True])
    found = [one.text for one in result.findings if one.kind == "one round twice"]
    assert found == ["two different sheets say round 1; nothing orders them, so the worse counts"]


def test_a_round_typed_over_with_a_failure_fails(tmp_path: Path) -> None:
    """The later attempt counts also where it is the worse."""
    job = judged(
        tmp_path,
        row("1A-A02", batch="b2", wire_map="pass", length="50", date="2026-11-18"),
        row("1A-A02", batch="b1", wire_map="open", length="12", date="2026-11-19"),
    )
    assert job.by_id["1A-A02"].word == "fail"
    assert [each.current for each in job.by_id["1A-A02"].history] == [False, True]


def test_a_row_filled_in_further_is_no_second_attempt(tmp_path: Path) -> None:
    """The same sheet sent again with the length added says nothing else than before."""
    first = row("1A-A02", batch="b1", wire_map="pass")
    job = judged(tmp_path, first, row("1A-A02", batch="b2", wire_map="pass", length="50"))
    result = job.by_id["1A-A02"]
    assert (result.word, len(result.history)) == ("pass", 1)
    assert not [one for one in result.findings if one.kind == "one round twice"]


def test_two_states_of_a_video_line_are_one_attempt(tmp_path: Path) -> None:
    """Bridging and terminated levels stand in one column and don't contradict each other."""
    job = judged(
        tmp_path,
        row("1A-V1", "coax", open_short="clear", length="60", video_level="1.00", far_end="terminated"),
        row("1A-V1", "coax", video_level="1.98", far_end="bridging"),
        row("1A-V1", "coax", open_short="clear", resistance="OL", far_end="open"),
        row("1A-V1", "coax", resistance="2.4", far_end="shorted"),
    )
    assert len(job.by_id["1A-V1"].history) == 1


def test_an_unusable_second_sheet_of_a_round_is_an_attempt_too(tmp_path: Path) -> None:
    """A later sheet that contradicts itself doesn't leave the earlier pass standing."""
    job = judged(
        tmp_path,
        row("1A-A02", batch="b1", wire_map="pass", length="50", date="2026-11-18"),
        row("1A-A02", batch="b2", wire_map="pass", pins="21345678", length="50", date="2026-11-19"),
    )
    result = job.by_id["1A-A02"]
    assert (result.word, [each.current for each in result.history]) == ("incomplete", [False, True])


# By hand: two appliances of 0.1 A on 50 m each; 20.4 V less 16 V over 0.2 A are 22 ohm lumped.
def test_a_loop_at_which_the_appliances_fail_fails(tmp_path: Path) -> None:
    """900 ohm is a closed loop to a meter, and a dead circuit."""
    cells = {"stray_volts": "0", "open_short": "clear", "ground_fault": "clear", "polarity": "correct"}
    job = judged(tmp_path, row("NAC-1", "conductors", resistance="900", end_of_line="10000", **cells))
    assert (job.by_id["NAC-1"].word, job.by_id["NAC-1"].why) == ("fail", "Loop resistance")
