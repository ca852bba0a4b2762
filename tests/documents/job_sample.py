"""The invented library job, worked out once for the tests of its documents."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.takeoff import Takeoff, take_off

LIBRARY = Path(__file__).parents[2] / "specs" / "library" / "library.yaml"


@cache
def project() -> Project:
    """Return the library's project."""
    found = load(LIBRARY).project
    assert found is not None
    return found


@cache
def takeoff() -> Takeoff:
    """Return the library's takeoff."""
    return take_off(project())


@cache
def circuits() -> tuple[Criteria, ...]:
    """Return the criteria of the library's circuits in test order."""
    return criteria_for(project(), takeoff().footage)
