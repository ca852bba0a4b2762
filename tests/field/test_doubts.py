"""Readings that count and are believed less, margins by the circuit's own line, directions, rows nothing orders."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.field.verdicts import Reading
from estimator.field.wiremap import SWAPPED_ENDS, classify, schemes
from tests.field.fault_job import judged_school
from tests.field.sheetrows import good, judged, row

CLEAN = {"wire_map": "pass", "length_36": "50"}


def reading(test: str, circuit: str = "D1", sheet: str = "balanced_pair", **cells: str) -> Reading:
    """Return one reading of a row, judged."""
    found = judged_school(row(circuit, sheet, **cells)).by_id[circuit].reading(test)
    assert found is not None
    return found


def test_calibration_taints_every_reading_of_its_row() -> None:
    """OLD fell due on 2026-01-31: the day after, its readings pass and are in doubt."""
    late = judged_school(row("D1", instrument="OLD", date="2026-02-01", **CLEAN)).by_id["D1"]
    assert late.word == "pass"
    assert late.doubts == ("OLD was due for calibration on 2026-01-31",)
    assert all(one.doubts == late.doubts for one in late.readings)
    in_time = judged_school(row("D1", instrument="OLD", date="2026-01-31", **CLEAN)).by_id["D1"]
    assert in_time.doubts == ()


def test_a_clock_years_off_taints_its_reading() -> None:
    """Three circuits of one spring and one of another decade."""
    days = ("2026-03-01", "2026-03-02", "2026-03-02")
    rows = [row(name, date=day, **CLEAN) for name, day in zip(("D2", "D3", "D4"), days, strict=True)]
    found = judged_school(row("D1", date="2009-01-01", **CLEAN), *rows).by_id["D1"]
    assert found.doubts == ("date 2009-01-01 is over a year from the job's other readings",)


def test_a_corrected_velocity_shows_on_the_length(tmp_path: Path) -> None:
    """53.6 m at 75 % are 50.0 m at 70 %: judged corrected where the house says so, and told."""
    one = judged(tmp_path, good("1A-A02", length="53.6", nvp="75"), rules=", velocity_correction: yes").by_id["1A-A02"]
    length = one.reading("length")
    assert length is not None
    assert (one.word, length.value) == ("pass", pytest.approx(50.03, abs=0.01))
    assert "75%" in " ".join(one.doubts)


@pytest.mark.parametrize(
    ("cells", "word", "why"),
    [
        ({"next": "0.0", "next_mhz": "100"}, "pass", ""),
        ({"next": "-0.1", "next_mhz": "100"}, "fail", ""),
        # NEXT of a Category 6 permanent link at 100 MHz: 41.8 dB, ANSI/TIA-568-C.2 (confirmed).
        ({"next_db": "41.9", "next_mhz": "100"}, "pass", ""),
        ({"next_db": "41.7", "next_mhz": "100"}, "fail", ""),
        ({"next": "3.2", "next_db": "45.0", "next_mhz": "100"}, "pass", ""),
        ({"next": "6.0", "next_db": "45.0", "next_mhz": "100"}, "not judged", "isn't by the circuit's limit"),
        ({"next_db": "45.0", "next_mhz": "400"}, "not judged", "has no limit at 400 MHz"),
        # Return loss isn't judged where the pair loses less than 3 dB: ANSI/TIA-568-C.2 (confirmed).
        (
            {"return_loss_db": "5", "return_loss_mhz": "4", "insertion_loss_db": "2", "insertion_loss_mhz": "4"},
            "not judged",
            "less than 3 dB",
        ),
    ],
)
def test_a_margin_belongs_to_the_circuits_own_line(cells: dict[str, str], word: str, why: str) -> None:
    """As shown, or by value and frequency; one that another limit gave isn't judged."""
    test = "return_loss" if "return_loss_db" in cells else "next"
    found = reading(test, **CLEAN, **cells)
    assert found.word == word
    assert why in found.why


def test_a_strand_is_judged_in_each_direction() -> None:
    """Rows from both ends stand side by side in one round; either way a bad one fails the strand."""
    cells = {"strand": "1", "length": "300", "polarity": "correct", "loss_1300": "1.2"}
    ahead = row("FB", "fiber", loss_850="1.6", tested_from="room", **cells)
    for loss, word in (("2.4", "pass"), ("2.5", "fail")):
        back = row("FB", "fiber", loss_850=loss, tested_from="far end", **cells)
        found = judged_school(ahead, back).by_id["FB.1"]
        assert found.word == word
        labels = [one.label for one in found.readings if one.test == "loss"]
        assert "Loss at 850 nm" in labels
        assert "Loss at 850 nm, from the far end" in labels
        assert judged_school(back).by_id["FB.1"].word == word  # one direction answers what is required


def test_a_row_without_round_and_date_beside_a_round_is_told(tmp_path: Path) -> None:
    """Nothing orders the two, the worse counts, and a finding says so; a row that agrees needs none."""
    second = good("1A-A02", attempt="2")
    loose = good("1A-A02", attempt="", length="101")
    result = judged(tmp_path, second, loose).by_id["1A-A02"]
    assert result.word == "fail"
    assert [one.text for one in result.findings if one.kind == "no order"] == [
        "a row without a round beside round 2: nothing orders them, so the worse counts"
    ]
    dated = judged(tmp_path, good("1A-A02", attempt="2", date="2026-03-02"),
                   good("1A-A02", attempt="", length="101", date="2026-03-01")).by_id["1A-A02"]  # fmt: skip
    assert (dated.word, [one for one in dated.findings if one.kind == "no order"]) == ("pass", [])
    alike = judged(tmp_path, second, good("1A-A02", attempt="")).by_id["1A-A02"]
    assert [one for one in alike.findings if one.kind == "no order"] == []


def test_two_schemes_are_told_by_their_pins() -> None:
    """Each conductor keeps its pair; the schemes' pins are those of ANSI/TIA-568-C.2 and 47 CFR 68 (confirmed)."""
    assert schemes()[SWAPPED_ENDS] == "T568A at one end and T568B at the other"
    telephone = {pins: text for pins, text in schemes().items() if "telephone" in text}
    assert len(telephone) == 4
    assert all(classify(pins).scheme for pins in telephone)
    assert all(sorted(pins) == list("12345678") for pins in schemes())


def test_records_are_kept_and_fail_nothing() -> None:
    """A port found by its light, a marker's number: on the record, judged by nothing."""
    found = judged_school(row("D1", port_found="SW1 / 14", found_by="light", marker="7", **CLEAN)).by_id["D1"]
    assert found.word == "pass"
    kept = {one.label: one.text for one in found.readings if one.test in ("port_found", "marker")}
    assert kept == {"Port found": "SW1 / 14", "Marker": "7"}
