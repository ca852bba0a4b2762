"""The readings folder survives kills, two collectors at once, damage and a second collecting."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import signal
import time
from pathlib import Path

import pytest

from estimator.field import batches
from estimator.field.batch_content import sheet_content
from estimator.field.batches import Stored, read_folder, received_name, store_decision, store_sheet, write_whole
from estimator.field.intake import read_data
from estimator.field.rows import Decision, points_at

HEAD = "Circuit,Round,Center to shield,Video level [V]\n"
FORK = multiprocessing.get_context("spawn")


def sheet_of(*circuits: str) -> bytes:
    """Return a coax sheet with a row for each circuit."""
    return (HEAD + "".join(f"{circuit},1,clear,0.98\n" for circuit in circuits)).encode()


def store(folder: Path, data: bytes, name: str = "s.csv") -> str:
    """Store a sheet and return its batch."""
    return store_sheet(folder, read_data(name, data)).batch


def decision(kind: str, target: str, **more: str) -> Decision:
    """Return a decision with everything said."""
    return Decision(kind=kind, target=target, reason="wrong panel", name="A. Field", role="own_lead",
                    date="2026-03-04", **more)  # fmt: skip


def state(folder: Path) -> dict[str, tuple[str, int]]:
    """Return the content and time of every file, and the time of every folder."""
    found = {}
    for path in sorted(folder.rglob("*")):
        digest = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
        found[path.relative_to(folder).as_posix()] = (digest, path.stat().st_mtime_ns)
    return found


def circuits(stored: Stored) -> list[str]:
    """Return the circuits of all rows in order."""
    return [row.circuit for row in stored.rows]


def test_a_sheet_is_kept_byte_for_byte_beside_its_rows(tmp_path: Path) -> None:
    data = sheet_of("1A-A01", "1A-A02")
    batch = store(tmp_path, data, "floor 2.csv")
    digest = hashlib.sha256(data).hexdigest()
    assert (tmp_path / "received" / f"{digest[:12]}-floor%202.csv").read_bytes() == data
    written = tmp_path / "batches" / f"000001-{batch}.json"
    assert hashlib.sha256(written.read_bytes()).hexdigest() == batch
    stored = read_folder(tmp_path)
    assert stored.faults == ()
    assert [(row.circuit, row.row, row.order, row.file) for row in stored.rows] == [
        ("1A-A01", 2, 0, "floor 2.csv"),
        ("1A-A02", 3, 1, "floor 2.csv"),
    ]
    assert stored.rows[0].cells == {"open_short": "clear", "video_level": "0.98"}
    assert stored.batches[0].digest == digest


def test_a_batch_is_canonical_and_holds_no_clock() -> None:
    intake = read_data("s.csv", sheet_of("1A-A01"))
    content = sheet_content(intake)
    text = content.decode()
    assert content == sheet_content(read_data("s.csv", sheet_of("1A-A01")))
    assert text == json.dumps(json.loads(text), sort_keys=True, ensure_ascii=False, separators=(",", ":")) + "\n"


def test_collecting_twice_changes_nothing_at_all(tmp_path: Path) -> None:
    first = store_sheet(tmp_path, read_data("s.csv", sheet_of("1A-A01")))
    before = state(tmp_path)
    again = store_sheet(tmp_path, read_data("s.csv", sheet_of("1A-A01")))
    renamed = store_sheet(tmp_path, read_data("copy of s.csv", sheet_of("1A-A01")))
    assert state(tmp_path) == before
    assert (first.new, again.new, renamed.new) == (True, False, False)
    assert first.batch == again.batch == renamed.batch


def test_the_same_rows_in_another_file_are_stored_too(tmp_path: Path) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    store(tmp_path, sheet_of("1A-A01").replace(b"\n", b"\r\n"))
    assert circuits(read_folder(tmp_path)) == ["1A-A01", "1A-A01"]


def test_batches_are_read_in_the_order_received(tmp_path: Path) -> None:
    wanted = [f"1A-A{number:02d}" for number in range(12, 0, -1)]
    for circuit in wanted:
        store(tmp_path, sheet_of(circuit))
    stored = read_folder(tmp_path)
    assert circuits(stored) == wanted
    assert [row.order for row in stored.rows] == list(range(12))


def test_merged_copies_of_a_folder_have_one_order(tmp_path: Path) -> None:
    for name, circuit in (("one", "1A-A01"), ("two", "1A-A02")):
        store(tmp_path / name, sheet_of("1A-A00"))
        store(tmp_path / name, sheet_of(circuit))
    for target, source in (("left", ("one", "two")), ("right", ("two", "one"))):
        for name in source:
            for path in sorted((tmp_path / name).rglob("*.*")):
                write_whole(tmp_path / target / path.relative_to(tmp_path / name), path.read_bytes())
    left, right = read_folder(tmp_path / "left"), read_folder(tmp_path / "right")
    assert left.rows == right.rows
    assert left.faults == ()
    assert sorted(circuits(left)) == ["1A-A00", "1A-A01", "1A-A02"]


def _collect_many(folder: str, names: list[str], gate: object) -> None:
    gate.wait()  # type: ignore[attr-defined]
    for name in names:
        store(Path(folder), sheet_of(name))


def test_two_collectors_at_once_lose_nothing(tmp_path: Path) -> None:
    gate = FORK.Barrier(2)
    mine = [f"1A-A{number:02d}" for number in range(20)]
    theirs = [f"1A-B{number:02d}" for number in range(10)] + mine[:10]
    others = [FORK.Process(target=_collect_many, args=(str(tmp_path), names, gate)) for names in (mine, theirs)]
    for process in others:
        process.start()
    for process in others:
        process.join(60)
    assert [process.exitcode for process in others] == [0, 0]
    stored = read_folder(tmp_path)
    assert stored.faults == ()
    assert sorted(circuits(stored)) == sorted({*mine, *theirs})
    assert not list(tmp_path.rglob("*.part"))


@pytest.mark.parametrize("fails_at", [1, 2])
def test_a_failure_between_writing_and_renaming_leaves_no_half_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fails_at: int
) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    calls = []

    def fail(source: object, target: object) -> None:
        calls.append(source)
        if len(calls) == fails_at:
            raise KeyboardInterrupt
        os.rename(source, target)  # type: ignore[arg-type]

    with monkeypatch.context() as patched:
        patched.setattr(batches.os, "replace", fail)
        with pytest.raises(KeyboardInterrupt):
            store(tmp_path, sheet_of("1A-A02"))
    stored = read_folder(tmp_path)
    assert circuits(stored) == ["1A-A01"]
    assert stored.faults == ()
    assert not list(tmp_path.rglob("*.part"))
    assert store_sheet(tmp_path, read_data("s.csv", sheet_of("1A-A02"))).new
    assert circuits(read_folder(tmp_path)) == ["1A-A01", "1A-A02"]


def _killed(folder: str, at: int) -> None:
    calls = []

    def die(source: str, target: str) -> None:
        calls.append(source)
        if len(calls) == at:
            os.kill(os.getpid(), signal.SIGKILL)
        os.rename(source, target)

    batches.os.replace = die  # type: ignore[assignment]
    store(Path(folder), sheet_of("1A-A02"))


@pytest.mark.skipif(os.name != "posix", reason="no SIGKILL on this system")
@pytest.mark.parametrize("at", [1, 2])
def test_a_kill_leaves_what_was_there_and_the_leftover_is_swept_when_old(tmp_path: Path, at: int) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    process = FORK.Process(target=_killed, args=(str(tmp_path), at))
    process.start()
    process.join(60)
    assert process.exitcode == -signal.SIGKILL
    (left,) = tmp_path.rglob(".*.part")
    stored = read_folder(tmp_path)
    assert (circuits(stored), stored.faults) == (["1A-A01"], ())

    store(tmp_path, sheet_of("1A-A02"))
    assert left.exists()  # it may be somebody's who is writing just now
    assert circuits(read_folder(tmp_path)) == ["1A-A01", "1A-A02"]
    os.utime(left, (time.time() - 100_000,) * 2)
    store(tmp_path, sheet_of("1A-A03"))
    assert not left.exists()


def test_a_damaged_batch_is_a_fault_and_loses_no_other(tmp_path: Path) -> None:
    for circuit in ("1A-A01", "1A-A02", "1A-A03"):
        store(tmp_path, sheet_of(circuit))
    damaged = sorted((tmp_path / "batches").iterdir())[1]
    content = damaged.read_bytes()
    damaged.write_bytes(content.replace(b"0.98", b"0.99"))
    stored = read_folder(tmp_path)
    assert circuits(stored) == ["1A-A01", "1A-A03"]
    (fault,) = stored.faults
    assert fault.place.file == damaged.as_posix()
    assert fault.wrong.startswith("the batch was changed or damaged")

    assert store_sheet(tmp_path, read_data("s.csv", sheet_of("1A-A02"))).new
    assert damaged.read_bytes() == content
    assert circuits(read_folder(tmp_path)) == ["1A-A01", "1A-A02", "1A-A03"]


def test_a_changed_or_missing_original_is_a_fault_but_its_rows_stay(tmp_path: Path) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    (received,) = (tmp_path / "received").iterdir()
    received.write_bytes(b"something else")
    stored = read_folder(tmp_path)
    assert circuits(stored) == ["1A-A01"]
    assert [fault.place.file for fault in stored.faults] == [received.as_posix()]
    store(tmp_path, sheet_of("1A-A01"))
    assert read_folder(tmp_path).faults == ()
    assert received.read_bytes() == b"something else"  # nothing received is ever overwritten


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'{"format":2,"sheets":[]}\n', "format 2, this release reads 1"),
        (b'{"format":1}\n', "neither rows nor a decision"),
        (b'{"format":1,"sheets":[{"tab":""}]}\n', "can't be understood"),
        (b'{"format":1,"decision":{"kind":"void","colour":"red"}}\n', "can't be understood"),
        (b"[" * 100_000, "can't be understood"),
        (b"\xff", "can't be understood"),
    ],
)
def test_a_batch_of_another_release_is_a_fault(tmp_path: Path, content: bytes, told: str) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    digest = hashlib.sha256(content).hexdigest()
    (tmp_path / "batches" / f"000002-{digest}.json").write_bytes(content)
    stored = read_folder(tmp_path)
    assert circuits(stored) == ["1A-A01"]
    assert told in stored.faults[0].wrong


def test_a_stranger_among_the_batches_is_named(tmp_path: Path) -> None:
    store(tmp_path, sheet_of("1A-A01"))
    (tmp_path / "batches" / "notes (1).json").write_text("{}")
    (tmp_path / "batches" / ".hidden.part").write_text("{}")
    stored = read_folder(tmp_path)
    assert [fault.wrong for fault in stored.faults] == ["the file is no batch"]


def test_no_folder_is_no_reading(tmp_path: Path) -> None:
    assert read_folder(tmp_path / "none") == Stored(rows=(), decisions=(), batches=(), faults=())


def test_an_unreadable_sheet_is_not_stored(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="nothing to store"):
        store_sheet(tmp_path / "new", read_data("s.csv", b"hello\n"))
    assert not (tmp_path / "new").exists()


def test_the_name_of_a_sheet_cannot_leave_the_folder() -> None:
    digest = "0" * 64
    assert received_name(digest, "../../etc/passwd") == f"{'0' * 12}-..%2F..%2Fetc%2Fpasswd"
    assert received_name(digest, "..\\x:y.csv") == f"{'0' * 12}-..%5Cx%3Ay.csv"
    assert len(received_name(digest, "é" * 500 + "." + "x" * 500)) < 120


def test_decisions_are_batches_in_order(tmp_path: Path) -> None:
    batch = store(tmp_path, sheet_of("1A-A01"))
    for kind in ("void", "restore", "void"):
        assert store_decision(tmp_path, decision(kind, batch[:12])).new
    before = state(tmp_path)
    assert not store_decision(tmp_path, decision("void", batch[:12])).new
    assert state(tmp_path) == before
    stored = read_folder(tmp_path)
    assert [made.kind for made in stored.decisions] == ["void", "restore", "void"]
    assert [made.order for made in stored.decisions] == [1, 2, 3]
    assert stored.decisions[0].reason == "wrong panel"
    assert len({made.batch for made in stored.decisions}) == 3
    assert circuits(stored) == ["1A-A01"]


def test_a_target_points_at_a_row_or_at_its_batch(tmp_path: Path) -> None:
    batch = store(tmp_path, sheet_of("1A-A01", "1A-A02"))
    first, second = read_folder(tmp_path).rows
    assert first.key == f"{batch[:12]}:2"
    assert [points_at(first.key, row) for row in (first, second)] == [True, False]
    assert [points_at(batch[:12], row) for row in (first, second)] == [True, True]


def test_a_file_where_the_readings_are_kept_is_a_fault(tmp_path: Path) -> None:
    """It is no empty folder: nothing would be judged, and nobody told."""
    (tmp_path / "readings").write_text("a list")
    stored = read_folder(tmp_path / "readings")
    assert [(fault.place.file, fault.wrong) for fault in stored.faults] == [
        ((tmp_path / "readings").as_posix(), "a file stands where the readings are kept")
    ]
    below = read_folder(tmp_path / "readings" / "job")
    assert [fault.wrong for fault in below.faults] == ["the readings can't be opened (Not a directory)"]


def test_readings_that_may_not_be_opened_are_a_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As for a user without the right to the folder; the owner of everything may open it all the same."""

    def refuse(_path: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "scandir", refuse)
    assert [fault.wrong for fault in read_folder(tmp_path).faults] == [
        "the readings can't be opened (Permission denied)"
    ]
