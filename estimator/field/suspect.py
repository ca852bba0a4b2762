"""A circuit under suspicion: its current rows and readings, and where its cable lies."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from estimator.acceptance.columns import FAR_END
from estimator.acceptance.criterion import Criteria
from estimator.field.lengths import instrument_of
from estimator.field.locate import locate
from estimator.field.said import Said
from estimator.field.sight import Sights, assumed
from estimator.field.verdicts import Finding, Reading
from estimator.spec.model import Project
from estimator.takeoff.footage import Footage
from estimator.units.table import FACTORS


@dataclass(frozen=True, slots=True)
class Suspect:
    """A circuit with its current rows and readings."""

    criteria: Criteria
    said: tuple[Said, ...]
    readings: tuple[Reading, ...]
    by_key: Mapping[tuple[str, str], Reading]

    def reading(self, test: str, position: str = "") -> Reading | None:
        """Return a current reading, or None."""
        found = self.by_key.get((test, position))
        if found is not None or self.criteria.medium != "fiber":
            return found
        return self.by_key.get((test, f"{position} {FAR_END}".strip()))

    def number(self, test: str, position: str = "") -> float | None:
        """Return a reading's value as judged, infinite where it is beyond range, or None."""
        one = self.reading(test, position)
        return one.value if one and isinstance(one.value, float) else None

    def failed(self, test: str, position: str = "") -> Reading | None:
        """Return a reading if it fails, or None."""
        one = self.reading(test, position)
        return one if one and one.failed else None


@dataclass(frozen=True, slots=True)
class Site:
    """Where the circuit lies, and how sharply its distances are seen."""

    project: Project
    footage: Footage
    sights: Sights

    def place(self, suspect: Suspect, distance_m: float, said: Said, sound_m: float | None = None) -> str:
        """Return where a distance by reflection lies on the circuit's route; empty where it has no cable.

        ``sound_m`` is the whole length of the circuit as the same row read it, where a pair is sound [m].
        """
        length = self.footage.by_id.get(suspect.criteria.circuit)
        if length is None:
            return ""
        known = {"expected_m": suspect.criteria.expected_m, "sound_m": sound_m}
        sight = self.sights.of(instrument_of(said, self.project.acceptance), length.cable.id, **known)
        return locate(length, distance_m, said.word("tested_from") == FAR_END, self.footage, self.project, sight)

    def place_by_resistance(self, suspect: Suspect, distance_m: float, *, from_far_end: bool) -> str:
        """Return where a distance by resistance lies on the circuit's route; empty where it has no cable."""
        length = self.footage.by_id.get(suspect.criteria.circuit)
        if length is None:
            return ""
        return locate(length, distance_m, from_far_end, self.footage, self.project, assumed("resistance"))

    def shown(self, length_m: float) -> str:
        """Return a length in the project's unit."""
        unit = self.project.header.lengths_in
        return f"{length_m / FACTORS['length'][unit]:.1f} {unit}"


Pattern = Callable[[Suspect, Site], Iterable[Finding]]


def finding(
    suspect: Suspect,
    kind: str,
    text: str,
    evidence: str,
    look: str,
    *,
    place: str = "",
    cause: bool = True,
    instead: str = "",
) -> Finding:
    """Return a finding on a suspect."""
    return Finding(
        kind=kind,
        circuit=suspect.criteria.id,
        text=text,
        evidence=evidence,
        look=look,
        cause=cause,
        place=place,
        instead=instead,
    )
