"""Jobs of one control unit, and what comes out of them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from estimator.takeoff.alerts import Alert
from estimator.takeoff.batteries import BatterySheet, work_out_batteries
from estimator.takeoff.battery_alerts import battery_alerts
from estimator.takeoff.battery_figures import battery_families
from estimator.takeoff.worked import Worked, explain
from tests.takeoff.evaluated import held, project_of

ROOM = "rooms: [{id: 1A}]\ncables: [{id: F16, type: fplp_16_2}]\n"
HOUR = 3600.0


class Job:
    """The first unit of a job: its sheet, its figures by name, its warnings but the one of no battery."""

    def __init__(self, folder: Path, unit: str, head: str = "") -> None:
        """Work out a unit called P, of a fire alarm unless it says otherwise; ``head`` is codes and rules."""
        system = "" if "system:" in unit else "system: fire_alarm, "
        self.project = project_of(folder, f"{head}{ROOM}control_units: [{{id: P, room: 1A, {system}{unit}}}]\n")
        self.batteries = work_out_batteries(self.project)
        self.all_figures: Mapping[str, float] = held(battery_families(self.batteries))
        self.warnings: list[Alert] = [
            alert for alert in battery_alerts(self.batteries, self.project) if alert.kind != "no battery"
        ]

    @property
    def sheet(self) -> BatterySheet:
        """Return the unit's sheet."""
        return self.batteries.sheets[0]

    @property
    def kinds(self) -> list[str]:
        """Return the kinds of warnings."""
        return [alert.kind for alert in self.warnings]

    def figure(self, name: str) -> float | None:
        """Return a figure of the unit, or None where it has none of that name."""
        return self.all_figures.get(f"battery.P.{name}")

    def worked(self, name: str) -> Worked:
        """Return a figure with its inputs; fails where there is none."""
        found = explain(battery_families(self.batteries), f"battery.P.{name}")
        assert found is not None
        return found
