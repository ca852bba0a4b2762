"""Damaged project files: every damage ends in faults with places, never in a mistake of the program."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from estimator.cli.main import main

SPECS = Path(__file__).parents[2] / "specs"
NASTY = (
    "", "0", "-1", "1e308 ft", "nan", "null", "~", "[]", "{}", "[[[[]]]]", "&a x", "*a", "!!int 3", "'", '"', "=1+1",
    "A" * 3000, "1A-A01..1A-A99999999", "..", "../../etc/passwd", "\u202e", "\U0001f50c", "010", "1:12", "no", "#12",
)  # fmt: skip


def damaged(text: str, pick: random.Random) -> str:
    """Return a text with one to three damages: a value replaced, a line lost, doubled, moved or cut."""
    lines = text.splitlines()
    for _ in range(pick.randint(1, 3)):
        at = pick.randrange(len(lines))
        how = pick.randrange(6)
        if how == 0 and ": " in lines[at]:
            key, _, value = lines[at].partition(": ")
            lines[at] = f"{key}: {pick.choice(NASTY)}" + ("}" if value.endswith("}") else "")
        elif how == 1:
            lines.pop(at)
        elif how == 2:
            lines.insert(at, lines[at])
        elif how == 3:
            lines[at] = lines[at][: pick.randrange(len(lines[at]) + 1)]
        elif how == 4:
            lines[at] = lines[at].replace(pick.choice("abcdeft0123456789:-,"), pick.choice("xyz9:,{}[]\t"), 1)
        else:
            lines.insert(pick.randrange(len(lines) + 1), lines.pop(at))
        lines = lines or [""]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("number", range(300))
def test_a_damaged_job_ends_in_faults_not_in_a_crash(
    number: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 0 or 1, each fault in one line with its place."""
    pick = random.Random(number)
    job = tmp_path / "job.yaml"
    job.write_text(damaged((SPECS / "small" / "ten.yaml").read_text(encoding="utf-8"), pick), encoding="utf-8")
    code = main(["check", str(job)])
    shown = capsys.readouterr()
    assert "mistake of the program" not in shown.err, shown.err
    assert code in (0, 1)
    for line in shown.out.splitlines()[:-1]:
        assert line.startswith(("warning: ", f"{tmp_path.as_posix()}/job.yaml:")), line


@pytest.mark.parametrize("number", range(40))
def test_the_damaged_demo_ends_in_faults_not_in_a_crash(
    number: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same for every block of the project file and its price file."""
    pick = random.Random(1000 + number)
    for name in ("library.yaml", "prices.yaml", "drops.csv"):
        text = (SPECS / "library" / name).read_text(encoding="utf-8")
        (tmp_path / name).write_text(damaged(text, pick), encoding="utf-8")
    assert main(["figures", str(tmp_path / "library.yaml")]) in (0, 1)
    assert "mistake of the program" not in capsys.readouterr().err
