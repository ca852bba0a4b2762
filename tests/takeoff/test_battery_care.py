"""What keeps a battery good: its charger, its age, its warmth, its float volts."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.takeoff.battery_jobs import HOUR, Job
from tests.takeoff.evaluated import near

SMALL = "standby_current: 0.25 A, alarm_current: 1.5 A"


# Sources: UL 864, charged within 48 h; sealed-cell maker's instructions, 1.1 times what was taken out.
def test_charger_that_fills_the_set_in_time(tmp_path: Path) -> None:
    """By hand: 18 Ah x 1.1 / 48 h = 0.4125 A; a charger of as much is in time."""
    job = Job(tmp_path, f"{SMALL}, charger_current: 0.4125 A, battery: {{capacity: 18 Ah}}")
    judged = job.worked("charger_needed").judged

    assert job.figure("charger_needed") == near(0.4125, 1e-12)
    assert judged is not None
    assert (judged.word, judged.limit) == ("within the charger", 0.4125)
    weak = Job(tmp_path, f"{SMALL}, charger_current: 0.412 A, battery: {{capacity: 18 Ah}}")
    found = weak.worked("charger_needed").judged
    assert found is not None
    assert found.word == "more than the charger gives"
    assert weak.kinds == ["recharge too slow"]


def test_charger_without_a_typed_current_is_told_what_it_needs(tmp_path: Path) -> None:
    """For the block to buy where none is installed; nothing is judged."""
    job = Job(tmp_path, SMALL)

    assert job.figure("charger_needed") == near(8 * 1.1 / 48, 1e-12)
    assert job.worked("charger_needed").judged is None
    assert job.figure("recharge_time") is None


# Source: NFPA 731-2008, 48 h to charge; burglar alarm practice names no time.
def test_other_systems_have_the_time_that_their_rule_names(tmp_path: Path) -> None:
    """None, where it names none."""
    text = f"system: intrusion, {SMALL}, charger_current: 0.1 A, battery: {{capacity: 9 Ah}}"
    plain, named = Job(tmp_path, text), Job(tmp_path, f"{text}, hours_as: premises_security")

    assert plain.figure("charger_needed") is None
    assert plain.kinds == []
    assert named.figure("charger_needed") == near(9 * 1.1 / 48, 1e-12)
    assert named.kinds == ["recharge too slow"]
    assert named.warnings[0].source == "NFPA 731-2008, 4.4.1.4"


# Source: sealed-cell maker's instructions: at most 0.3 of the capacity at first.
@pytest.mark.parametrize(("charger", "kinds"), [("2.4 A", []), ("2.5 A", ["charger too strong"])])
def test_charger_too_strong_for_its_set(tmp_path: Path, charger: str, kinds: list[str]) -> None:
    """8 Ah take 2.4 A."""
    job = Job(tmp_path, f"{SMALL}, charger_current: {charger}, battery: {{capacity: 8 Ah}}")

    assert job.kinds == kinds
    if kinds:
        assert job.warnings[0].limit == "2.4 A"


# Source: IEEE Std 485: 1.25 carries a load to 80 % of the rating; 1.20 to 83 %.
@pytest.mark.parametrize(
    ("edition", "share", "word"),
    [
        ("2022", 0.8, "still carries the load when due for replacement"),
        ("2019", 1 / 1.2, "no longer carries the load when due for replacement; 1.25 times the load would"),
    ],
)
def test_share_of_the_rating_to_which_a_set_may_age(tmp_path: Path, edition: str, share: float, word: str) -> None:
    """A set that is exactly as large as the need: 0.25 A for 24 h times the margin."""
    held = 6 * (1.25 if edition == "2022" else 1.2)
    job = Job(
        tmp_path,
        f"standby_current: 0.25 A, alarm_current: 0 A, battery: {{capacity: {held:g} Ah}}",
        f'codes: {{fire_alarm: "{edition}"}}\n',
    )
    judged = job.worked("carried_share").judged

    assert job.figure("carried_share") == near(share, 1e-12)
    assert judged is not None
    assert judged.word == word


# Sources: stationary-battery service note, half its life at 92 °F; battery textbook, 13.62 V at 35 °C for
# six cells of 2.30 V.
def test_warmth_costs_life_and_lowers_the_float_volts(tmp_path: Path) -> None:
    """At 25 °C and below nothing is lost; without a temperature the float volts are those at 25 °C."""
    text = f"{SMALL}, voltage: 12 V, battery: {{capacity: 18 Ah, blocks: 1}}"

    assert Job(tmp_path, f"{text}, temperature: 92 F").figure("life_share") == near(0.5, 1e-9)
    assert Job(tmp_path, f"{text}, temperature: 77 F").figure("life_share") is None
    warm, plain = Job(tmp_path, f"{text}, temperature: 35 C"), Job(tmp_path, text)
    assert warm.figure("float_high") == near(13.62, 0.005)
    assert (plain.figure("float_low"), plain.figure("float_high")) == (near(13.5, 0.05), near(13.8, 0.05))
    assert plain.figure("life_share") is None
    assert Job(tmp_path, SMALL).figure("float_low") is None


def test_the_shares_of_standby_and_alarm_make_the_need(tmp_path: Path) -> None:
    """Study guide: 6 Ah and 0.125 Ah, 6.125 Ah without a margin."""
    job = Job(tmp_path, SMALL, 'codes: {fire_alarm: "2007"}\n')

    assert (job.figure("standby_ah"), job.figure("alarm_ah")) == (near(6, 1e-12), near(0.125, 1e-12))
    assert job.figure("need") == near(6.125, 1e-12)


# Sources: UL 681 and UL 609 for banks; NFPA 72 10.6.7.3.1(2) beside a generator; UL 294 levels.
@pytest.mark.parametrize(
    ("unit", "hours", "minutes"),
    [
        ("system: intrusion, hours_as: bank_vault", 72, 0),
        ("system: intrusion, hours_as: mercantile_burglar", 4, 15),
        ("system: access, hours_as: access_level_II", 0.5, 0),
        ("hours_as: with_generator", 4, 5),
        ("system: voice_evacuation, hours_as: evacs_with_generator", 4, 15),
        ("system: voice_evacuation, hours_as: two_way_comm", 24, 240),
    ],
)
def test_hours_of_a_rule_by_name(tmp_path: Path, unit: str, hours: float, minutes: float) -> None:
    """Instead of those that the kind of system implies; no warning that they are short."""
    job = Job(tmp_path, f"{unit}, standby_current: 0.1 A, alarm_current: 0.1 A")
    sheet = job.sheet

    assert (sheet.standby.time_s / HOUR, sheet.alarm.time_s / 60) == (hours, minutes)
    assert sheet.standby.origin.startswith(f"implied by hours_as {unit.rpartition(' ')[2]}: ")
    assert job.kinds == []


@pytest.mark.parametrize(
    ("limits", "text", "limit", "way"),
    [
        ("charger_limit: 10 Ah", "charger stops it", "10 Ah of the charger", "fit a charger that the unit is listed"),
        ("cabinet_limit: 7 Ah", "cabinet stops it", "7 Ah of the cabinet", "or type 2 strings of 7 Ah in parallel"),
        (
            "charger_limit: 7 Ah, cabinet_limit: 8 Ah",
            "charger and cabinet stop it",
            "7 Ah of the charger and 8 Ah of the cabinet",
            "second supply or booster with a battery of its own",
        ),
        ("stocked_sizes: [4 Ah]", "stock stops it", "the largest stocked block", "or type 4 strings of 4 Ah"),
        ("stocked_sizes: [2 Ah]", "stock stops it", "the largest stocked block", "larger blocks in `stocked_sizes:`"),
    ],
)
def test_what_stops_every_block_is_named_with_a_way_out(
    tmp_path: Path, limits: str, text: str, limit: str, way: str
) -> None:
    """13.5 Ah are needed: 0.45 A for 24 h times 1.25."""
    job = Job(tmp_path, f"standby_current: 0.45 A, alarm_current: 0 A, {limits}", 'codes: {fire_alarm: "2022"}\n')

    assert job.kinds == ["no battery fits"]
    warning = job.warnings[0]
    assert warning.text == f"no stocked block fits P: {text}"
    assert warning.limit == limit
    assert way in warning.advice
