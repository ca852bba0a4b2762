"""What each verb loads: start-up stays light, heavy libraries come late."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

LIBRARY = Path(__file__).parents[2] / "specs" / "library" / "library.yaml"
HEAVY = ("yaml", "jinja2", "openpyxl", "docx", "pint", "pypdf")


def loaded(*arguments: str) -> set[str]:
    """Return which heavy libraries a call of the command has loaded when it ends."""
    code = (
        "import sys\n"
        "from estimator.cli.main import main\n"
        f"main({list(arguments)!r})\n"
        f"print('LOADED', *[name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines()[-1].split()[1:])


@pytest.mark.parametrize("arguments", [("--help",), ("--version",), ("check", "--help"), ("schema",)])
def test_help_loads_no_heavy_library(arguments: tuple[str, ...]) -> None:
    """The first answer comes at once."""
    assert loaded(*arguments) == set()


@pytest.mark.parametrize("verb", ["check", "figures"])
def test_looking_at_a_project_loads_yaml_alone(verb: str) -> None:
    """Units come from the table; documents' libraries are not needed."""
    assert loaded(verb, str(LIBRARY)) == {"yaml"}
