"""The verb that tells how far the testing is: by room, system, day and person."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from typing import Final

from estimator.cli.show import columns, count, dump, worked_out
from estimator.field.job import judge_job
from estimator.field.progress import Effort, Progress, by_day, by_person, by_room, by_system, overall
from estimator.field.verdicts import JobResult

STATES: Final[dict[str, Callable[[JobResult], tuple[Progress, ...]]]] = {"room": by_room, "system": by_system}
EFFORTS: Final[dict[str, Callable[[JobResult], tuple[Effort, ...]]]] = {"day": by_day, "person": by_person}
GROUPS: Final = (*STATES, *EFFORTS)
_COUNTS: Final = ("circuits", "tested", "passed", "marginal", "failed", "incomplete", "left")
_BROUGHT: Final = ("circuits", "again", "passed", "marginal", "failed", "incomplete")
_HEADS: Final = {"room": _COUNTS, "system": _COUNTS, "day": (*_BROUGHT, "left"), "person": _BROUGHT}


def progress(chosen: Namespace) -> int:
    """Print what is tested, passed, failed and left, and each reason why not."""
    takeoff = worked_out(chosen.spec, "no progress until they are mended")
    if takeoff is None:
        return 1
    job = judge_job(takeoff).result
    groups = (chosen.by,) if chosen.by else GROUPS
    if chosen.format == "json":
        listed = {f"by_{name}": [asdict(one) for one in _of(name, job)] for name in groups}
        print(dump({"job": asdict(overall(job)), "complete": job.complete, **listed}))
        return 0
    print("\n".join(_text(job, groups)))
    return 0


def _of(name: str, job: JobResult) -> Sequence[Progress | Effort]:
    return STATES[name](job) if name in STATES else EFFORTS[name](job)


def _text(job: JobResult, groups: Iterable[str]) -> Iterable[str]:
    whole = overall(job)
    yield (
        f"{count(whole.circuits, 'circuit')}: {whole.passed} passed, {whole.marginal} marginal, "
        f"{whole.failed} failed, {whole.incomplete} incomplete, {whole.left} left"
    )
    yield from _reasons(whole)
    for name in groups:
        yield ""
        yield from _table(name, _of(name, job))


def _reasons(whole: Progress) -> Iterable[str]:
    """Yield why circuits have no usable verdict, the commonest first."""
    for word, number in sorted(whole.why_not.items(), key=lambda item: (-item[1], item[0])):
        yield f"  {number} {word}"


def _table(name: str, listed: Sequence[Progress | Effort]) -> Iterable[str]:
    """Yield one group as a table: names at the left, counts under their heads, reasons behind."""
    if not listed:
        yield f"by {name}: nothing read so far"
        return
    heads = _HEADS[name]
    rows = [[one.name, *(_count(getattr(one, head)) for head in heads), _reasons_of(one)] for one in listed]
    yield from columns((f"by {name}", *heads, ""), rows)


def _reasons_of(one: Progress | Effort) -> str:
    words = one.why_not.items() if isinstance(one, Progress) else ()
    return ", ".join(f"{number} {word}" for word, number in words)


def _count(number: int | None) -> str:
    return "" if number is None else str(number)
