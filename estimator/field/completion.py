"""How complete a job is, and everything that is missing, part by part."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.field.job import Job
from estimator.field.verdicts import CircuitResult
from estimator.spec.cabling import DeviceType
from estimator.spec.model import Project
from estimator.spec.turnover import Closeout

_SUBMITTAL_DONE: Final = ("approved", "approved_as_noted")


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that keeps the job from being complete: the part it belongs to, and what it is."""

    part: str
    what: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Completion:
    """How many circuits are left to do, and what is missing."""

    circuits_left: int
    circuits: int
    missing: tuple[Missing, ...]

    @property
    def complete(self) -> bool:
        """Return whether nothing is left to do and nothing is missing."""
        return not self.circuits_left and not self.missing

    @property
    def records_missing(self) -> int:
        """Return how many of the things that are missing are records, and no tests."""
        return sum(one.part != TESTS for one in self.missing)


TESTS: Final = "Tests"
"""The part that open circuits belong to."""


def completion(project: Project, job: Job) -> Completion:
    """Return how complete a job is, by its tests and by what its file promises to hand over."""
    left = [one for one in job.result.circuits if not one.complete]
    tests = [Missing(TESTS, f"{one.id}: {_open_words(one)}") for one in left]
    tests += [Missing(TESTS, f"signature that does not count: {problem}") for problem in job.result.problems]
    papers = [found for part in project.closeout.must_hold for found in _PARTS[part](project, job)]
    pending = [
        Missing("Change log", f"{one.number}, {one.name}: pending")
        for one in project.closeout.changes
        if one.state == "pending"
    ]
    return Completion(circuits_left=len(left), circuits=len(job.result.circuits), missing=(*tests, *papers, *pending))


def _open_words(one: CircuitResult) -> str:
    return f"{one.word}, {one.why}" if one.why else one.word


Finder = Callable[[Project, Job], Iterable[Missing]]


def _listed(part: str, of: Callable[[Closeout], object]) -> Finder:
    """Return a finder for a part of which only its being empty is wrong."""

    def find(project: Project, _job: Job) -> Iterable[Missing]:
        if not of(project.closeout):
            yield Missing(part, "nothing is recorded")

    return find


def _submittals(project: Project, _job: Job) -> Iterable[Missing]:
    if not project.closeout.submittals:
        yield Missing("Submittals", "nothing is recorded")
    for one in project.closeout.submittals:
        if one.state not in _SUBMITTAL_DONE:
            yield Missing("Submittals", f"{one.number}, {one.name}: {one.state.replace('_', ' ')}")


def _lacks(part: str, name: str, needs: Mapping[str, object]) -> Iterable[Missing]:
    """Yield what an entry lacks of what it needs, in one line."""
    lacking = [what for what, value in needs.items() if value is None or value == ""]
    if lacking:
        yield Missing(part, f"{name}: no {' and no '.join(lacking)}")


def _drawings(project: Project, _job: Job) -> Iterable[Missing]:
    if not project.closeout.drawings:
        yield Missing("As-built drawings", "nothing is recorded")
    for one in project.closeout.drawings:
        needs = {"revision": one.revision, "date": one.day}
        yield from _lacks("As-built drawings", f"{one.number}, {one.name}", needs)


def _warranties(project: Project, _job: Job) -> Iterable[Missing]:
    if not project.closeout.warranties:
        yield Missing("Warranties", "nothing is recorded")
    for one in project.closeout.warranties:
        yield from _lacks("Warranties", one.name, {"start": one.start, "end": one.end})


def _training(project: Project, _job: Job) -> Iterable[Missing]:
    if not project.closeout.training:
        yield Missing("Training", "nothing is recorded")
    for one in project.closeout.training:
        yield from _lacks("Training", one.name, {"date": one.day, "attendance": one.attended})


def _firestop(project: Project, _job: Job) -> Iterable[Missing]:
    logged = {one.segment: one for one in project.closeout.firestop}
    for segment in project.segments.values():
        if segment.kind == "sleeve" and segment.firestop is not None:
            entry = logged.get(segment.id)
            if entry is None:
                yield Missing("Firestop log", f"sleeve {segment.id}: no entry")
            elif entry.day is None:
                yield Missing("Firestop log", f"sleeve {segment.id}: no date")


def _certificates(project: Project, _job: Job) -> Iterable[Missing]:
    if not project.acceptance.instruments:
        yield Missing("Instrument certificates", "no instrument is named")
    for one in project.acceptance.instruments:
        needs = {"certificate": one.certificate, "calibration date": one.calibrated}
        yield from _lacks("Instrument certificates", f"{one.id}, {one.kind}", needs)


def _registers(project: Project, _job: Job) -> Iterable[Missing]:
    entered = {one.circuit for one in project.closeout.registers}
    open_ones = [run.id for run in project.runs if _powered(run.device) and run.first and run.id not in entered]
    if open_ones:
        known = ", ".join(open_ones[:6]) + (f" and {len(open_ones) - 6:,} more" if len(open_ones) > 6 else "")
        what = f"{len(open_ones):,} powered device{'' if len(open_ones) == 1 else 's'}"
        yield Missing("Device register", f"{what} without an entry: {known}")


def _powered(device: DeviceType | None) -> bool:
    return device is not None and device.poe_class is not None


def _bonding(project: Project, job: Job) -> Iterable[Missing]:
    points = [one for one in job.result.circuits if one.criteria.medium == "bonding"]
    if not points:
        yield Missing("Bonding", "no bonding point is on the list")
    for one in points:
        if not one.tested:
            yield Missing("Bonding", f"{one.id}: {one.word}, no reading")


_PARTS: Final[Mapping[str, Finder]] = {
    "directory": _listed("Directory", lambda closeout: closeout.directory),
    "permits": _listed("Permits and inspections", lambda closeout: closeout.permits),
    "submittals": _submittals,
    "drawings": _drawings,
    "warranties": _warranties,
    "manuals": _listed("O&M sheets", lambda closeout: closeout.manuals),
    "training": _training,
    "spares": _listed("Spare parts", lambda closeout: closeout.spares),
    "firestop": _firestop,
    "certificates": _certificates,
    "registers": _registers,
    "bonding": _bonding,
    "sign_offs": _listed("Sign-offs", lambda closeout: closeout.signers),
}
"""What makes each promised part of the binder incomplete."""
