"""Factors on a battery's ampere-hours: which count, under which edition and house rule, and why."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.takeoff.battery_jobs import Job
from tests.takeoff.evaluated import near

QUARTER = "standby_current: 0.25 A, alarm_current: 1.5 A"  # 6.125 Ah, study guide
TWO_PACES = "standby_current: 0.25 A, alarm_current: 6 A"  # 6 Ah in 24 h and 0.5 Ah in 5 min


# Sources: NFPA 72-2019 a margin of 1.20, NFPA 72-2022 one of 1.25 (trade articles on the change);
# 6.5 Ah x 1.20 = 7.8 Ah, a block of 8; 6.5 Ah x 1.25 = 8.125 Ah, a block of 9.
def test_one_unit_under_two_editions_buys_two_batteries(tmp_path: Path) -> None:
    """The same file but for its edition; each figure tells the edition of its margin."""
    older, newer = (Job(tmp_path, TWO_PACES, f'codes: {{fire_alarm: "{year}"}}\n') for year in ("2019", "2022"))

    assert [job.sheet.factors[0].value for job in (older, newer)] == [1.2, 1.25]
    assert (older.figure("need"), newer.figure("need")) == (near(7.8, 1e-9), near(8.125, 1e-9))
    assert (older.figure("size"), newer.figure("size")) == (8.0, 9.0)
    for job, edition in ((older, "NFPA 72-2019, 10.6.7.2.1"), (newer, "NFPA 72-2022, 10.6.7.2.14")):
        assert job.worked("need").inputs["margin"].origin == f"edition's margin: {edition}"


# Source: IEEE Std 485 aging factor 1.25; it is not stacked on the edition's margin unless a house asks.
@pytest.mark.parametrize(
    ("rules", "edition", "names", "need"),
    [
        ("", "2019", ["margin"], 7.35),
        ("battery_factors: margin", "2019", ["margin"], 7.35),
        ("battery_factors: larger", "2019", ["aging"], 6.125 * 1.25),
        ("battery_factors: larger", "2022", ["margin"], 6.125 * 1.25),
        ("battery_factors: larger, battery_ageing: 1.1", "2019", ["margin"], 7.35),
        ("battery_factors: both", "2019", ["margin", "aging"], 6.125 * 1.5),
        ("battery_margin: 1.3", "2019", ["margin"], 6.125 * 1.3),
        ("battery_margin: 1.2", "2019", ["margin"], 7.35),
        ("battery_margin: 1.15", "2007", ["margin"], 6.125 * 1.15),
    ],
)
def test_house_rule_says_which_factors_count(
    tmp_path: Path, rules: str, edition: str, names: list[str], need: float
) -> None:
    """The edition's margin alone, the larger of the two, or both; never less than the edition's."""
    job = Job(tmp_path, QUARTER, f'codes: {{fire_alarm: "{edition}"}}\nrules: {{{rules}}}\n')

    assert [factor.name for factor in job.sheet.factors] == names
    assert job.figure("need") == near(need, 1e-9)
    assert job.kinds == []


def test_each_factor_tells_why_it_stands_there(tmp_path: Path) -> None:
    """A house's own number leads to its line in the file, and to what it replaces."""
    own = Job(tmp_path, QUARTER, "rules: {battery_margin: 1.3}\n").sheet.factors[0].origin
    both = Job(tmp_path, QUARTER, "rules: {battery_factors: both}\n").sheet.factors[1].origin
    larger = Job(tmp_path, QUARTER, "rules: {battery_factors: larger}\n").sheet.factors[0].origin

    assert own.startswith("rules.battery_margin, ")
    assert own.endswith("over 1.2 (edition's margin: NFPA 72-2019, 10.6.7.2.1)")
    assert ", on top of the margin: rules.battery_factors, " in both
    assert larger.endswith("larger than the margin of 1.2 (edition's margin: NFPA 72-2019, 10.6.7.2.1)")


# Source: EN 54 and BS 5839 practice in a panel manual: 24 h and 30 min with 1.25 (1 / 0.80).
def test_a_practice_with_a_margin_of_its_own_never_lowers_the_editions(tmp_path: Path) -> None:
    """Its own margin counts where it is the larger one."""
    for year, margin in (("2019", 1.25), ("2007", 1.25)):
        job = Job(tmp_path, f"{QUARTER}, hours_as: european_panel", f'codes: {{fire_alarm: "{year}"}}\n')
        assert job.figure("need") == near((6 + 0.75) * margin, 1e-9)
    assert job.sheet.factors[0].origin.startswith("margin of European practice: EN 54")
    ours = Job(tmp_path, f"{QUARTER}, hours_as: european_panel", "rules: {battery_margin: 1.4}\n")
    assert ours.figure("need") == near(6.75 * 1.4, 1e-9)


# Source: sealed-battery data sheet, 40 Ah over 20 h and 24 Ah over 1 h: 24 A for an hour need a block of 40 Ah.
def test_a_one_hour_capacity_gives_the_rate_factor(tmp_path: Path) -> None:
    """Found again: the block that the sheet was written for."""
    job = Job(
        tmp_path,
        "system: intrusion, voltage: 12 V, standby_current: 24 A, alarm_current: 0 A, standby: 1 h, alarm: 0 min, "
        "battery: {capacity: 40 Ah, one_hour_capacity: 24 Ah, blocks: 1}",
        "rules: {battery_ageing: 1}\n",
    )

    assert [factor.name for factor in job.sheet.factors] == ["aging", "rate"]
    assert job.figure("need") == near(40, 1e-9)
    assert job.figure("rate") == near(40 / 24, 1e-9)
    assert job.worked("rate").inputs["exponent"].value == pytest.approx(1.2056, abs=5e-5)
    assert job.worked("rate").inputs["exponent"].origin.endswith("40 Ah over 20 h and 24 Ah over one")


def test_rate_counts_where_typed_or_where_the_house_says_always(tmp_path: Path) -> None:
    """Without a data sheet the largest published exponent of its kind, 1.15; by default none."""
    plain = Job(tmp_path, TWO_PACES)
    always = Job(tmp_path, TWO_PACES, "rules: {battery_rate: always}\n")
    typed = Job(tmp_path, f"{TWO_PACES}, battery: {{capacity: 9 Ah, one_hour_capacity: 5.4 Ah}}")

    assert plain.figure("rate") is None
    assert always.worked("rate").inputs["exponent"].value == 1.15
    # By hand: C = 6 + 0.5 x (120 / C) ** 0.15 has its root at 6.7696 Ah; over 6.5 Ah that is 1.0415.
    assert always.figure("rate") == near(1.0415, 5e-5)
    assert [factor.name for factor in typed.sheet.factors] == ["margin", "rate"]
    assert typed.figure("rate") == pytest.approx(1.0614, abs=5e-5)  # a higher exponent, 1.206
    assert always.figure("need") == pytest.approx(6.5 * 1.2 * 1.0415, abs=5e-4)


@pytest.mark.parametrize(
    ("temperature", "factor", "kinds"),
    [
        ("50 F", 1.19, []), ("77 F", 1.0, []), ("25 F", 1.52, []), ("125 F", 1.0, []),
        ("24 F", 1.52, ["temperature outside the table"]), ("126 F", 1.0, ["temperature outside the table"]),
    ],
)  # fmt: skip
def test_a_typed_temperature_counts_and_warmth_gives_no_credit(
    tmp_path: Path, temperature: str, factor: float, kinds: list[str]
) -> None:
    """IEEE Std 485, Table 1, held at its ends."""
    job = Job(tmp_path, f"{QUARTER}, temperature: {temperature}")

    assert job.sheet.factors[1].value == near(factor, 0.005)
    assert job.kinds == kinds
