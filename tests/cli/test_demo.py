"""The demo runs the whole job, and gives the same bytes wherever and whenever it runs."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.cli.main import main

ROOT = Path(__file__).parents[2]
DOCUMENTS = (
    "library-estimate.xlsx", "library-proposal.docx", "library-calculations.docx", "library-test-plan.docx",
    "library-field-sheets.xlsx", "library-field-page.html", "library-ids.csv", "library-closeout.xlsx",
    "library-binder.docx", "library-restricted.docx", "library-labels.xlsx",
    "library-labels.csv", "library-labels-wraps.docx", "library-labels-panel-strip.docx", "library-labels-plates.docx",
)  # fmt: skip


def hashes(folder: Path) -> dict[str, str]:
    """Return the hash of every file below a folder, by its name there."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def run(folder: Path, *, path: Path, code: str = "pass", **environment: str) -> None:
    """Run the demo as a process of its own in a folder, with the package found at a path."""
    given = {**os.environ, "PYTHONPATH": str(path), "PYTHONDONTWRITEBYTECODE": "1", **environment}
    start = f"import os, sys; {code}; from estimator.cli.main import main; sys.exit(main(['demo', '--out', 'demo']))"
    folder.mkdir(parents=True)
    done = subprocess.run(
        [sys.executable, "-c", start], cwd=folder, env=given, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_the_demo_writes_every_document_and_says_where(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each document is there and named; the numbers to check first follow."""
    monkeypatch.chdir(tmp_path)
    assert main(["demo"]) == 0
    shown = capsys.readouterr().out
    for name in DOCUMENTS:
        assert f"out/demo/{name}" in shown
        assert (tmp_path / "out" / "demo" / name).stat().st_size > 0
    assert "price: " in shown
    assert "the job is not complete" in shown


def test_the_demo_again_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Documents are replaced by the same bytes, and the readings folder stays as it was."""
    monkeypatch.chdir(tmp_path)
    assert main(["demo", "--out", "d"]) == 0
    before = hashes(tmp_path)
    assert main(["demo", "--out", "d"]) == 0
    assert hashes(tmp_path) == before


def test_an_edited_document_is_named_and_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is written over what a person changed, unless told to."""
    monkeypatch.chdir(tmp_path)
    assert main(["demo", "--out", "d"]) == 0
    edited = tmp_path / "d" / "library-proposal.docx"
    edited.write_bytes(edited.read_bytes() + b"mine")
    spec = "d/project/library.yaml"
    capsys.readouterr()
    assert main(["estimate", spec, "--out", "d"]) == 1
    assert "d/library-proposal.docx" in capsys.readouterr().err
    assert edited.read_bytes().endswith(b"mine")
    assert main(["estimate", spec, "--out", "d", "--replace"]) == 0
    assert not edited.read_bytes().endswith(b"mine")


def test_same_bytes_on_other_days_folders_and_machines(tmp_path: Path) -> None:
    """Other folder, time zone, order of hashes, locale and umask; a clock years ahead."""
    later = "import time; real = time.time; time.time = lambda: real() + 4e8; os.umask(0o077)"
    run(tmp_path / "a", path=ROOT)
    run(tmp_path / "elsewhere" / "b", path=ROOT, code=later, TZ="Asia/Tokyo", PYTHONHASHSEED="7", LC_ALL="C", LANG="C")
    assert hashes(tmp_path / "a") == hashes(tmp_path / "elsewhere" / "b")


def test_same_bytes_from_the_wheel_as_from_the_source(tmp_path: Path) -> None:
    """The wheel carries the templates, the tables and the demo, and nothing else decides."""
    source = tmp_path / "checkout"  # a copy, so that nothing left by an earlier build gets into the wheel
    for name in ("estimator", "templates", "specs"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source / name)
    build = [sys.executable, "-m", "pip", "wheel", str(source), "--no-deps", "--no-build-isolation", "-q", "-w"]
    subprocess.run([*build, str(tmp_path)], check=True, capture_output=True)
    (wheel,) = tmp_path.glob("dropledger-*.whl")
    installed = tmp_path / "installed"
    install = [sys.executable, "-m", "pip", "install", str(wheel), "--no-deps", "-q", "--target", str(installed)]
    subprocess.run(install, check=True, capture_output=True)
    run(tmp_path / "source", path=ROOT)
    run(tmp_path / "wheel", path=installed)
    assert hashes(tmp_path / "source") == hashes(tmp_path / "wheel")
