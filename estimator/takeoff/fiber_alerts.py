"""Warnings of fiber links."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.calc.fiber import APPLICATION
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.fiber_links import EQUIPMENT, FiberLink, FiberLinks
from estimator.takeoff.footage import shown_length
from estimator.units.rounding import over


def fiber_alerts(fiber: FiberLinks, project: Project) -> Iterable[Alert]:
    """Yield links too long or too lossy for what they carry, and applications that no row tells of."""
    for link in fiber.links:
        yield from _application(link)
        yield from _reach(link, project)
        yield from _losses(link)


def _application(link: FiberLink) -> Iterable[Alert]:
    """An application that isn't tabled over this fiber, or that asks for a mode-conditioning cord."""
    name, rows = link.made.application, table("fiber_applications")
    if name is None:
        return
    cord = next((row for row in link.applications if row.cells.get("needs")), None)
    if cord is not None:
        yield Alert(
            link.made.application_place, "mode conditioning", link.id,
            f"{name} over {link.fiber_class} needs a cord at each end", f"{link.id} over {cord.text('fiber')}",
            cord.text("needs"), cord.source, "price the cords, or use single-mode fiber",
        )  # fmt: skip
    if link.applications or _of_another_cable(link):
        return
    known = sorted({row.text("application") for row in rows})
    yield Alert(
        link.made.application_place, "application not tabled", link.id,
        f"{link.id}: nothing is tabled for {name} over {link.fiber_class}", name, ", ".join(known), rows.source,
        "mend the name, or judge by the components alone",
    )  # fmt: skip


def _of_another_cable(link: FiberLink) -> bool:
    """Return whether a device of several cables may mean another one by its application."""
    device = link.length.run.device if link.length.run else None
    return device is not None and len(device.cables) > 1


def _reach(link: FiberLink, project: Project) -> Iterable[Alert]:
    reach = link.reach_m
    if reach is not None and over(link.length.expected_m, reach):
        yield Alert(
            link.length.place, "beyond the reach", link.id, f"{link.id} is longer than {link.made.application} reaches",
            shown_length(link.length.expected_m, project), shown_length(reach, project), link.applications[0].source,
            "use a better class of fiber or another application",
        )  # fmt: skip


def _losses(link: FiberLink) -> Iterable[Alert]:
    for wave in link.waves:
        if wave.governing.by == APPLICATION and wave.application is not None:
            yield Alert(
                link.length.place, "loss over the budget", link.id,
                f"{link.id} may lose more at {wave.nm} nm than {link.made.application} bears",
                f"{wave.component_db:.2f} dB", f"{wave.application.number('loss_db'):g} dB", wave.application.source,
                "fewer mated pairs or splices, or accept against the budget",
            )  # fmt: skip
        elif wave.governing.by == EQUIPMENT and link.made.equipment is not None:
            equipment = link.made.equipment
            yield Alert(
                link.length.place, "loss over the power budget", link.id,
                f"{link.id} may lose more at {wave.nm} nm than its equipment bears", f"{wave.component_db:.2f} dB",
                f"{wave.equipment_db:.2f} dB", f"equipment, {equipment.source.at()}",
                "fewer mated pairs or splices, stronger equipment, or less kept in hand",
            )  # fmt: skip
