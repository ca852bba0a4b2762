"""Collecting survives whatever stops it: a batch is there whole or not at all, and the rerun completes it."""

from __future__ import annotations

import builtins
import errno
import io
import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from estimator.cli.main import main
from estimator.field.batches import read_folder
from estimator.field.collect import Report, collect, folder_of
from estimator.spec.load import load
from estimator.spec.model import Project
from tests.field.test_batches import state
from tests.field.test_collect import SPEC

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are forked and killed")

HEAD = "Circuit,Round,Wire map,Length 1-2 [ft],Evidence\n"
SHEETS = {"a.csv": "1A-A01,1,pass,118,x.dat 1\n1A-A02,1,pass,119,x.dat 2\n", "b.csv": "1A-A03,1,pass,120,\n"}
CALLS = (
    "open", "read", "write", "fsync", "close", "replace", "rename", "mkdir", "unlink", "remove", "rmdir", "stat",
    "lstat", "scandir", "listdir", "link", "truncate", "ftruncate", "utime", "chmod",
)  # fmt: skip
"""Every call of the operating system by which a program can change or look at a file."""


@cache
def two_jacks() -> Project:
    """Return the project of every job here; it is read once."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "two.yaml"
        path.write_text(SPEC)
        loaded = load(path)
    assert loaded.project is not None, loaded.faults
    return loaded.project


class Job:
    """A job in a folder of its own, with two sheets and a result file that came from the crew."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir()
        (folder / "two.yaml").write_text(SPEC)
        self.files = [folder / name for name in SHEETS]
        for path in self.files:
            path.write_text(HEAD + SHEETS[path.name])
        self.evidence = folder / "x.dat"
        self.evidence.write_bytes(b"result\n" * 2000)
        self.project = replace(two_jacks(), folder=folder.as_posix())

    def collect(self) -> Report:
        """Collect everything, as the verb does."""
        return collect(self.project, self.files, evidence=[self.evidence])

    def found(self) -> set[tuple[str, int]]:
        """Return the batches by file and rows; nothing of the folder may be damaged or half there."""
        stored = read_folder(folder_of(self.project))
        assert stored.faults == (), [str(fault) for fault in stored.faults]
        return {(batch.file, batch.rows) for batch in stored.batches}

    def whole(self) -> None:
        """Assert that everything is there, once, and that the rows are backed."""
        assert self.found() == {("a.csv", 2), ("b.csv", 1), ("", 0)}
        rows = read_folder(folder_of(self.project)).rows
        assert [row.circuit for row in sorted(rows, key=lambda row: row.circuit)] == ["1A-A01", "1A-A02", "1A-A03"]
        assert sum(bool(row.backing) for row in rows) == 3


@contextmanager
def hooked(hook: Callable[[str, Callable[[], Any]], Any]) -> Iterator[None]:
    """Hand every call of the operating system to a hook, which may make it or not."""
    kept = {name: getattr(os, name) for name in CALLS}
    opened = builtins.open

    def wrapped(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        return lambda *given, **named: hook(name, lambda: call(*given, **named))

    try:
        for name, call in kept.items():
            setattr(os, name, wrapped(name, call))
        builtins.open = io.open = wrapped("io.open", opened)  # type: ignore[assignment]
        yield
    finally:
        for name, call in kept.items():
            setattr(os, name, call)
        builtins.open = io.open = opened


def calls_of(work: Callable[[], object]) -> list[str]:
    """Return the names of the calls that a piece of work makes."""
    made: list[str] = []

    def note(name: str, call: Callable[[], Any]) -> Any:
        made.append(name)
        return call()

    with hooked(note):
        work()
    return made


def killed_after(number: int, work: Callable[[], object]) -> int:
    """Do a piece of work in a process that dies after so many calls, and return its status."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1]
    left = number

    def die(_name: str, call: Callable[[], Any]) -> Any:
        nonlocal left
        left -= 1
        try:
            return call()
        finally:
            if not left:
                os.kill(os.getpid(), signal.SIGKILL)

    try:
        with hooked(die):
            work()
    finally:
        os._exit(0)


def test_the_calls_are_all_seen(tmp_path: Path) -> None:
    """What a run does to the disk goes through the hook: else the next tests would enumerate too little."""
    made = calls_of(Job(tmp_path / "job").collect)
    assert made.count("replace") == 6  # two sheets, their batches, the evidence and its batch
    assert made.count("write") == 6
    assert made.count("fsync") == 12  # each file, and the folder that its name stands in
    assert made.count("mkdir") >= 3


def test_killed_after_each_call_it_leaves_whole_batches_and_the_rerun_completes_them(tmp_path: Path) -> None:
    """Every call of a run is enumerated; nothing but whole files counts, and nothing is taken twice."""
    calls = calls_of(Job(tmp_path / "counted").collect)
    seen = set()
    for number in range(1, len(calls) + 1):
        job = Job(tmp_path / f"job{number}")
        assert os.WIFSIGNALED(killed_after(number, job.collect)), f"call {number}, {calls[number - 1]}"
        left = job.found()
        assert left <= {("a.csv", 2), ("b.csv", 1), ("", 0)}, f"call {number}, {calls[number - 1]}"
        seen.add(frozenset(left))
        report = job.collect()
        assert (report.faults, report.aside, report.stopped) == ((), (), "")
        job.whole()
        if number % 20 == 0:
            before = state(folder_of(job.project))
            job.collect()
            assert state(folder_of(job.project)) == before
    assert len(seen) == 4  # nothing, one sheet, both, the evidence too: each batch came whole, one after the other


def test_killed_at_fifty_random_moments(tmp_path: Path) -> None:
    """Wherever the kill falls, also inside a call."""
    moments = random.Random(4)
    started = time.perf_counter()
    Job(tmp_path / "timed").collect()
    lasts_s = time.perf_counter() - started
    states = set()
    for number in range(50):
        job = Job(tmp_path / f"job{number}")
        child = os.fork()
        if not child:
            try:
                job.collect()
            finally:
                os._exit(0)
        time.sleep(moments.uniform(0, 1.2 * lasts_s))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        states.add(frozenset(job.found()))
        job.collect()
        job.whole()
    assert len(states) > 1, "every kill came too early or too late"


def test_two_at_once_both_land(tmp_path: Path) -> None:
    """Each with a sheet of its own and one that both have; twenty times, because nobody knows who is first."""
    for turn in range(20):
        job = Job(tmp_path / f"job{turn}")
        mine, theirs = [job.files[0], job.files[1]], [job.files[1]]
        children = []
        for files in (mine, theirs):
            child = os.fork()
            if not child:
                try:
                    collect(job.project, files, evidence=[job.evidence] if files is mine else [])
                finally:
                    os._exit(0)
            children.append(child)
        assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
        job.whole()


def test_a_full_disk_says_so_and_leaves_no_half_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At whichever byte the disk is full: one line, exit code 1, and the rerun takes what was missing."""
    for room in (0, 1, 60, 200, 400, 700, 1000, 1400):
        job = Job(tmp_path / f"job{room}")
        left = room
        plain = os.write

        def write(handle: int, data: bytes, plain: Callable[[int, bytes], int] = plain) -> int:
            nonlocal left
            if not left:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            done = plain(handle, bytes(data[:left]))
            left -= done
            return done

        command = [
            "collect",
            str(tmp_path / f"job{room}" / "two.yaml"),
            *map(str, job.files),
            "--evidence",
            str(job.evidence),
        ]
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(os, "write", write)
            code = main(command)
        shown = capsys.readouterr()
        assert code == 1
        assert "can't be written (No space left on device)" in shown.err
        assert "no half file is left; make room and run it again" in shown.err
        assert "Traceback" not in shown.err
        assert not list(folder_of(job.project).rglob("*.part"))
        job.found()
        assert main(command) == 0
        capsys.readouterr()
        job.whole()
