"""Fills a company's templates in, in a process of its own that can use up neither machine nor patience.

The parent hands over the text of every template and the values; the child opens nothing. On
systems that can limit a process it has 10 s of processor time, 512 MB, and no file to open; on all
of them the parent waits only so long and takes only so much.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from types import FrameType
from typing import Final

from estimator.documents import wording_sandbox
from estimator.documents.wording_sandbox import Templates, TooLongError, WordingError

MOST_S: Final = 10
MOST_MEMORY: Final = 512_000_000
MOST_OUT: Final = 10_000_000
"""Processor time [s], memory [bytes] and answer [bytes] that templates may take."""

_PATIENCE_S: Final = 60
_DATE: Final = "date"


def checked_apart(names: Iterable[str], templates: Templates) -> list[WordingError]:
    """Return what is wrong with the syntax of templates, as a child process finds it."""
    wanted = list(names)
    answer = _asked({"check": wanted, "templates": templates}, templates[wanted[0]][1]) if wanted else {}
    return _faults(answer)


def filled_apart(name: str, templates: Templates, context: Mapping[str, object]) -> str:
    """Return a template's text with its values, as a child process makes it.

    Raises: WordingError with file and line where the template is wrong, or takes too much.
    """
    values = {key: {_DATE: value.isoformat()} if isinstance(value, date) else value for key, value in context.items()}
    answer = _asked({"fill": name, "templates": templates, "context": values}, templates[name][1])
    for fault in _faults(answer):
        raise fault
    return str(answer["text"])


def _faults(answer: Mapping[str, object]) -> list[WordingError]:
    faults = answer.get("faults", [])
    return [WordingError(*one) for one in faults] if isinstance(faults, list) else []


def _asked(request: Mapping[str, object], file: str) -> dict[str, object]:
    """Return the child's answer. Raises: WordingError at the file where there is none."""
    root = Path(__file__).resolve().parents[2]
    environment = {"PYTHONPATH": str(root), "PYTHONIOENCODING": "utf-8"}
    environment |= {key: os.environ[key] for key in ("SYSTEMROOT", "PATH") if key in os.environ}
    command = [sys.executable, "-P", "-m", "estimator.documents.wording_child"]
    try:
        done = subprocess.run(
            command,
            input=json.dumps({**request, "seconds": MOST_S, "bytes": MOST_MEMORY}).encode(),
            capture_output=True,
            timeout=_PATIENCE_S,
            env=environment,
            check=False,
        )
    except subprocess.TimeoutExpired as wrong:
        raise WordingError(file, 1, f"was not filled in within {_PATIENCE_S} s") from wrong
    if done.returncode or len(done.stdout) > MOST_OUT:
        raise WordingError(
            file, 1, f"takes more than {MOST_S} s, {MOST_MEMORY // 10**6} MB or {MOST_OUT // 10**6} MB of text"
        )
    answer = json.loads(done.stdout)
    assert isinstance(answer, dict)
    return answer


def _limit(seconds: int, memory: int) -> None:
    """Take away what a template doesn't need, where the system can."""
    # A sound template and a bad one are filled in first: what they load can't be loaded later.
    for text in ("{% macro m() %}{{ x }}{% endmacro %}{{ m() | upper }}", "{{ y }}", "{% include 'z' %}", "{% if %}"):
        with contextlib.suppress(WordingError):
            wording_sandbox.filled("first.j2", {"first.j2": (text, "first.j2")}, {"x": date(2000, 1, 1)})
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource
        import signal

        def stop(_signal: int, _frame: FrameType | None) -> None:
            raise TooLongError(f"takes longer than {seconds} s")

        signal.signal(signal.SIGXCPU, stop)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 2))
        resource.setrlimit(resource.RLIMIT_NOFILE, (0, 0))
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))


def _value(value: object) -> object:
    return date.fromisoformat(value[_DATE]) if isinstance(value, dict) else value


def main() -> None:
    """Read one request, answer it."""
    request = json.loads(sys.stdin.buffer.read())
    templates = {name: (text, file) for name, (text, file) in request["templates"].items()}
    _limit(int(request["seconds"]), int(request["bytes"]))
    answer: dict[str, object] = {}
    try:
        if "fill" in request:
            context = {key: _value(value) for key, value in request["context"].items()}
            answer["text"] = wording_sandbox.filled(request["fill"], templates, context)
        faults = wording_sandbox.checked(request.get("check", []), templates)
    except WordingError as wrong:
        faults = [wrong]
    answer["faults"] = [[one.file, one.line, one.message] for one in faults]
    sys.stdout.write(json.dumps(answer))


if __name__ == "__main__":
    main()
