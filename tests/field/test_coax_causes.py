"""Loss and return loss of coaxial lines at the plan's frequency: judged, and what a failure points at."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.field.verdicts import CircuitResult
from tests.field.sheetrows import judged, row

ASKED = "\n  cables: [{cable: RG6, frequency: 750 MHz, tests: loss return_loss}]"


def read(folder: Path, **cells: str) -> CircuitResult:
    """Return the analog line of 60 m with these readings."""
    return judged(folder, row("1A-V1", "coax", **cells), acceptance=ASKED).by_id["1A-V1"]


# At most 11.12 dB (ANSI/SCTE 74, memory) and at least 10 dB (common practice) over 60 m at 750 MHz.
@pytest.mark.parametrize(
    ("loss", "returned", "word", "causes"),
    [
        ("10.9", "18", "pass", []),
        ("14.2", "18", "fail", ["loses more than its cable"]),
        ("10.9", "6", "fail", ["sends too much back"]),
        ("14.2", "6", "fail", ["loses more than its cable", "sends too much back"]),
    ],
)
def test_a_failed_line_tells_where_to_look(
    tmp_path: Path, loss: str, returned: str, word: str, causes: list[str]
) -> None:
    """Both at once point at the connectors, loss alone at the cable, return alone at a mismatch."""
    found = read(tmp_path, loss=loss, return_loss=returned)

    told = [one for one in found.findings if one.kind in ("lossy line", "mismatch")]
    assert found.word == word
    assert [one.text for one in told] == causes
    if len(causes) == 2:
        assert "connectors" in told[0].look


def test_evidence_gives_expectation_and_standing_waves(tmp_path: Path) -> None:
    """10.63 dB are expected (model tables, single); 6 dB of return loss are 3.01 to 1 (transmission-line theory)."""
    lossy, mismatch = (one for one in read(tmp_path, loss="14.2", return_loss="6").findings if one.kind != "no origin")

    assert "expected 10.63 dB" in lossy.evidence
    assert "3.01 to 1" in mismatch.evidence


def test_the_way_to_a_short_is_no_length_to_learn_from(tmp_path: Path) -> None:
    """60 m of cable don't come out at 12 m because a staple joins them there."""
    lengths = {}
    for name, word in (("sound", "clear"), ("shorted", "short")):
        (tmp_path / name).mkdir()
        result = judged(tmp_path / name, row("1A-V1", "coax", open_short=word, length="12"))
        lengths[name] = [one.measured_m for one in result.learned.samples]
    assert lengths == {"sound": [12.0], "shorted": []}


@pytest.mark.parametrize(("word", "odd"), [("clear", True), ("short", False)])
def test_a_short_shows_the_way_to_itself(tmp_path: Path, word: str, odd: bool) -> None:
    """12 m of 60 m: another cable where it is sound, the place of the fault where it is shorted."""
    line = row("1A-V1", "coax", open_short=word, length="12", tested_from="room")
    found = judged(tmp_path, line).by_id["1A-V1"].findings
    assert ("length against expectation" in [one.kind for one in found]) == odd
    assert [one.place.startswith("12.0 m from room 1A") for one in found if one.cause] == [True] * (not odd)
