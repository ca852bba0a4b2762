"""The judged job: criteria, what was collected, and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.field.batches import Stored, read_folder
from estimator.field.collect import folder_of
from estimator.field.judging import judge
from estimator.field.verdicts import JobResult
from estimator.takeoff.takeoff import Takeoff, take_off


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A job with its criteria, the readings folder as read, the verdicts, and the takeoff that was bid."""

    circuits: tuple[Criteria, ...]
    stored: Stored
    result: JobResult
    bid: Takeoff | None = None


def judge_job(takeoff: Takeoff) -> Job:
    """Return the job judged from everything collected so far, each time from the beginning."""
    project = takeoff.project
    circuits = criteria_for(project, takeoff.footage, takeoff.power.dc)
    stored = read_folder(folder_of(project))
    result = judge(project, takeoff.footage, circuits, stored.rows, stored.decisions)
    bid = take_off(project.baseline) if project.baseline is not None else None
    return Job(circuits=circuits, stored=stored, result=result, bid=bid)
