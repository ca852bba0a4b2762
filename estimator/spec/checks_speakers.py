"""Low-impedance speaker circuits: strings of as many loudspeakers each."""

from __future__ import annotations

from estimator.spec.faults import Faults
from estimator.spec.model import Project


def check_speakers(project: Project, faults: Faults) -> None:
    """Add a fault where loudspeakers can't be shared out over their strings."""
    for circuit in project.circuits.values():
        count = sum(stop.count for stop in circuit.stops)
        if circuit.wiring == "series_parallel" and count % circuit.strings:
            faults.add(
                circuit.source.at("strings"),
                f"{count} loudspeakers don't make {circuit.strings} equal strings",
                f"a number of strings that divides {count}",
                "mend `strings`, or the loudspeakers",
            )
