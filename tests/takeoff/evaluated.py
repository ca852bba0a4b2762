"""Small projects typed in a test, and the one check that every family must pass."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest

from estimator.spec.faults import Faults
from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage, measure
from estimator.takeoff.worked import Family

HEAD = "dropledger: 1\nproject: {name: Test, lengths_in: m}\n"


def project_of(folder: Path, text: str) -> Project:
    """Return the project of a few lines of YAML; fails where they have a fault."""
    path = folder / "job.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    loaded = load(path)
    assert loaded.project is not None, "\n".join(str(fault) for fault in loaded.faults)
    return loaded.project


def measured(folder: Path, text: str) -> tuple[Project, Footage]:
    """Return a project and its footage."""
    project = project_of(folder, text)
    faults = Faults()
    footage = measure(project, faults)
    assert not faults.found
    return project, footage


def held(families: Iterable[Family]) -> Mapping[str, float]:
    """Return every figure by its id, after its printed formula gave it again on its printed inputs.

    The same doubles in the same order give the same double, so that nothing is tolerated.
    """
    figures: dict[str, float] = {}
    for family in families:
        assert len(family.subjects) == len(family.values)
        for index in range(len(family.values)):
            worked = family.worked(index)
            assert worked.id not in figures, worked.id
            assert math.isfinite(worked.value), worked.id
            figures[worked.id] = worked.value
            assert worked.unit or worked.meaning
            assert worked.source, worked.id
            assert all(one.origin for one in worked.inputs.values()), worked.id
            if worked.formula is None:
                assert worked.method, worked.id
                continue
            assert set(worked.inputs) == set(worked.formula.names), worked.id
            again = worked.formula(**{name: one.value for name, one in worked.inputs.items()})
            assert again == worked.value, worked.id
    return figures


def near(value: float, tolerance: float) -> object:
    """Return what equals a figure within half the last digit that its source prints."""
    return pytest.approx(value, rel=0.0, abs=tolerance)
