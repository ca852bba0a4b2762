"""The published values as a whole: enough of them, in every discipline, each with its source."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

from tests import checks
from tests.published import LISTED_ONLY, PUBLISHED

DISCIPLINES = (
    "battery", "coax", "conductors", "copper_link", "cutting", "dc_circuit", "fiber", "labor", "pathway", "poe",
    "price", "pulling", "routing", "separation", "speaker_line", "ups", "voice_line",
)  # fmt: skip
LEAST_COUNTED, MOST_LOOK_UPS = 250, 60


def test_enough_published_values_and_few_look_ups() -> None:
    """At least 250 published ones, at most 60 of them only read from a table, three a discipline."""
    counted = [check for check in checks.all_checks() if check.counted]
    look_ups = sum(check.look_up for check in counted)
    assert look_ups <= MOST_LOOK_UPS
    assert len(counted) >= LEAST_COUNTED
    by_discipline = Counter(check.discipline for check in checks.all_checks())
    assert {name: by_discipline[name] for name in DISCIPLINES if by_discipline[name] < 3} == {}


def test_every_value_names_its_source_and_its_trust() -> None:
    """A value without a source, or with a word of trust of its own, is no check."""
    known = PUBLISHED | LISTED_ONLY
    assert [str(check) for check in checks.all_checks() if check.trust not in known] == []
    assert [str(check) for check in checks.all_checks() if not check.source.removesuffix(check.trust).strip("; ")] == []


def test_no_tolerance_is_wider_than_printed_without_a_reason() -> None:
    """Half the last printed digit, else the reason stands beside it."""
    wide = [
        f"{check}: {check.tolerance}"
        for check in checks.all_checks()
        if check.tolerance > check.printed_tolerance * 1.000001 and not check.why
    ]
    assert wide == []


def test_no_value_is_listed_twice() -> None:
    """The same figure under the same name counts once."""
    names = Counter((check.discipline, check.what, check.source) for check in checks.all_checks())
    assert [name for name, times in names.items() if times > 1] == []


def test_the_table_lists_them_all(tmp_path: Path) -> None:
    """One line a check, with source, expected, obtained and tolerance, readable by another program."""
    target = tmp_path / "checks.tsv"
    checks.write(target)
    with target.open(encoding="utf-8", newline="") as file:
        listed = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    assert len(listed) == sum(1 for _ in checks.all_checks())
    assert all(row["source"] and row["discipline"] for row in listed)
    off = [
        row["what"]
        for row in listed
        if abs(float(row["obtained"]) - float(row["expected"])) > float(row["tolerance"]) * 1.000001
    ]
    assert off == []
