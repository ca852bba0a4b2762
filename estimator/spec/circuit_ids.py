"""The ids that a job's circuits and strands answer to."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.spec.model import Project


class CircuitIds:
    """Every id that a circuit of the job answers to, compared without regard to case.

    A strand of a fiber cable is its cable's id, a point and its number: ``1A/2A-1.7``.
    """

    def __init__(self, project: Project) -> None:
        """Gather the ids of runs, circuits, backbone cables and test points, and who carries strands."""
        self._ids = {run.id.lower(): run.cable.id for run in project.runs}
        self._ids |= {circuit.id.lower(): circuit.cable for circuit in project.circuits.values()}
        self._ids |= {backbone.id.lower(): backbone.cable for backbone in project.backbone.values()}
        self._ids |= {point.id.lower(): "" for point in project.test_points.values()}
        fiber = {name: cable.strands for name, cable in project.cables.items() if cable.medium == "fiber"}
        self._strands = {name: max(fiber[cable], 1) for name, cable in self._ids.items() if cable in fiber}

    def cable_of(self, name: str) -> str | None:
        """Return the cable type of a circuit or strand (empty for a test point), or None for no circuit."""
        lowered = name.lower()
        if lowered in self._ids:
            return self._ids[lowered]
        head = self.strand_of(lowered)
        return None if head is None else self._ids[head]

    def strand_of(self, name: str) -> str | None:
        """Return the fiber cable that an id names a strand of, in lower case, or None."""
        head, _, number = name.lower().rpartition(".")
        most = self._strands.get(head)
        if most is None or not (number.isascii() and number.isdigit() and len(number) < 5):
            return None
        return head if number == str(int(number)) and 1 <= int(number) <= most else None

    def strands(self) -> Iterator[str]:
        """Yield the id of every strand, in lower case."""
        for name, most in self._strands.items():
            yield from (f"{name}.{number}" for number in range(1, most + 1))

    def __iter__(self) -> Iterator[str]:
        return iter(self._ids)
