"""Keys that belong to another medium are faults at their place."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.load import load

HEAD = "dropledger: 1\nproject: {name: Test, lengths_in: m}\nrooms: [{id: 1A}]\n"
VOICE = "{id: V, medium: voice, pairs: 4, gauge: 24, jacket: CMP, class: communications, od: 4.6 mm, put_up: 300 m}"


def faults(folder: Path, text: str) -> list[str]:
    """Return the faults of a few lines of YAML, as they are printed."""
    path = folder / "job.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    return [str(fault).split("job.yaml:")[-1] for fault in load(path).faults]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("cables: [{id: C, type: cat6_utp_plenum, center: copper}]\n",
         "4:49: balanced pair cable 'C' has `center`; expected a cable of medium coax; "
         "delete it, or mend the medium"),
        ("cables: [{id: C, type: cat6_utp_plenum}]\nacceptance: {cables: [{cable: C, frequency: 750 MHz}]}\n",
         "5:45: balanced pair cable 'C' has `frequency`; expected a cable of medium coax; "
         "delete it, or mend the medium"),
        ("cables: [{id: C_1, type: cat6_utp_plenum}]\nacceptance: {cables: [{cable: C_1, low_loss: none next}]}\n",
         "5:46: `low_loss` of cable 'C_1' names none and something; expected parameters, or none; "
         "delete one of the two"),
        ("cables: [{id: R, type: rg6}]\nacceptance: {cables: [{cable: R, low_loss: none}]}\n",
         "5:44: coax cable 'R' has `low_loss`; expected a cable of medium balanced_pair; "
         "delete it, or mend the medium"),
        ("cables: [{id: R, type: rg6}]\ndrops: [{id: X, room: 1A, length: 9 m, cable: R, line: L1}]\n",
         "5:56: drop 'X' has `line` and lies in coax cable 'R'; expected a cable of medium voice; "
         "delete it, or give the drop a voice cable"),
        (f"cables: [{VOICE}]\ndevices: [{{id: bell, cable: V, ringers: 1, ringer_impedance: 7 kohm}}]\n",
         "5:62: device 'bell' has `ringers` and `ringer_impedance`; expected one of them; "
         "keep the load that is marked on it"),
    ],
)  # fmt: skip
def test_a_key_of_another_medium_is_a_fault(text: str, fault: str, tmp_path: Path) -> None:
    """Place, what is wrong, what was expected and how to mend it."""
    assert faults(tmp_path, text) == [fault]


def test_keys_at_their_own_medium_are_none(tmp_path: Path) -> None:
    """A coaxial center, a frequency, a telephone line and an exemption each where they belong."""
    text = f"cables: [{VOICE}, {{id: R, type: rg6, center: copper}}, {{id: C, type: cat6_utp_plenum}}]\n"
    text += "drops: [{id: X, room: 1A, length: 9 m, cable: V, line: L1, line_loop: 900 ohm}]\n"
    text += "acceptance: {cables: [{cable: R, frequency: 750 MHz}, {cable: C, low_loss: none}]}\n"
    assert faults(tmp_path, text) == []
