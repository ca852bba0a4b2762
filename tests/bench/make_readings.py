"""Write the benchmark job's field sheets: a row of six readings for each of its 10,000 circuits.

    python -m tests.bench.make_readings big.yaml FOLDER

Four-pair links bring a wire map, the four lengths and the skew; alarm circuits and coaxial runs their
own six. About one circuit in fifty fails. The same bytes each time.
"""

from __future__ import annotations

import csv
import io
import random
import sys
from collections.abc import Mapping
from pathlib import Path

from estimator.acceptance.columns import PAIRS, sheet
from estimator.acceptance.criteria import sheet_of
from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.takeoff.footage import Length, measure
from estimator.units.table import FACTORS

READINGS_EACH = 6
_FOOT = FACTORS["length"]["ft"]
_BAD = 0.02
_DAYS = 20


def sheets_text(spec: Path) -> Mapping[str, str]:
    """Return the text of one CSV sheet for each medium of the benchmark job.

    Raises: ValueError for a project file with faults.
    """
    project = load(spec).project
    if project is None:
        raise ValueError(f"{spec} has faults")
    dice = random.Random(60_000)
    rows: dict[str, list[dict[str, str]]] = {}
    for place, length in enumerate(measure(project, Faults()).lengths):
        medium = sheet_of(length)
        who = {"instrument": f"T{place % 4}", "person": "A. Invented", "date": _day(place)}
        cells = {"circuit": length.id, "round": "1", **_READINGS[medium](length, dice), **who}
        rows.setdefault(medium, []).append(cells)
    return {medium: _csv(medium, listed) for medium, listed in rows.items()}


def _day(place: int) -> str:
    return f"2026-03-{1 + place * _DAYS // 10_000:02d}"


def _links(length: Length, dice: random.Random) -> dict[str, str]:
    bad = dice.random() < _BAD
    feet = length.expected_m / _FOOT * dice.gauss(1.0, 0.03)
    cells = {f"length_{pair}": f"{feet * dice.uniform(1.0, 1.02):.1f}" for pair in PAIRS}
    return {"wire_map": "crossed" if bad else "pass", **cells, "skew": f"{dice.randint(4, 30)}"}


def _conductors(length: Length, dice: random.Random) -> dict[str, str]:
    feet = length.expected_m / _FOOT * dice.gauss(1.0, 0.03)
    return {
        "stray_volts": "0.0",
        "open_short": "short" if dice.random() < _BAD else "clear",
        "ground_fault": "clear",
        "length": f"{feet:.1f}",
        "resistance": f"{0.0323 * feet:.2f}",
        "polarity": "correct",
    }


def _coax(length: Length, dice: random.Random) -> dict[str, str]:
    feet = length.expected_m / _FOOT * dice.gauss(1.0, 0.03)
    return {
        "open_short": "short" if dice.random() < _BAD else "clear",
        "length": f"{feet:.1f}",
        "resistance": f"{0.03 * feet:.2f}",
        "video_level": f"{dice.uniform(0.9, 1.05):.2f}",
        "loss": f"{0.01 * feet:.2f}",
        "return_loss": f"{dice.uniform(18, 26):.1f}",
    }


_READINGS = {"balanced_pair": _links, "conductors": _conductors, "coax": _coax}


def _csv(medium: str, rows: list[dict[str, str]]) -> str:
    columns = [column for column in sheet(medium, "ft").columns if column.key in rows[0]]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([column.title for column in columns])
    writer.writerows([row[column.key] for column in columns] for row in rows)
    return out.getvalue()


def main(arguments: list[str]) -> int:
    """Write the sheets of a project file into a folder."""
    if len(arguments) != 2:
        sys.stderr.write("usage: python -m tests.bench.make_readings SPEC FOLDER\n")
        return 2
    spec, folder = map(Path, arguments)
    for medium, text in sheets_text(spec).items():
        (folder / f"{medium}.csv").write_text(text, encoding="utf-8", newline="\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
