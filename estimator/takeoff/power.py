"""All power of a job: PoE, batteries, direct current, speakers, and fiber beside them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.batteries import Batteries, work_out_batteries
from estimator.takeoff.battery_alerts import battery_alerts
from estimator.takeoff.battery_figures import battery_families
from estimator.takeoff.conductors import Conductors, conductor_alerts, conductor_families
from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_circuits import DcCircuits, work_out_dc
from estimator.takeoff.dc_figures import dc_families
from estimator.takeoff.fiber_alerts import fiber_alerts
from estimator.takeoff.fiber_figures import fiber_families
from estimator.takeoff.fiber_links import FiberLinks, work_out_fiber
from estimator.takeoff.footage import Footage
from estimator.takeoff.loads import Fed
from estimator.takeoff.poe import PoE, work_out_poe
from estimator.takeoff.poe_figures import poe_alerts, poe_families
from estimator.takeoff.room_heat import RoomHeat, heat_families, work_out_heat
from estimator.takeoff.speaker_alerts import speaker_alerts
from estimator.takeoff.speaker_figures import speaker_families
from estimator.takeoff.speakers import Speakers, work_out_speakers
from estimator.takeoff.ups import UpsSheet, work_out_ups
from estimator.takeoff.ups_figures import ups_alerts, ups_families
from estimator.takeoff.worked import Family


@dataclass(frozen=True, kw_only=True, slots=True)
class Power:
    """What powers the job's devices, and the conductors that it was worked out with."""

    conductors: Conductors
    poe: PoE
    ups: tuple[UpsSheet, ...]
    heat: tuple[RoomHeat, ...]
    batteries: Batteries
    dc: DcCircuits
    speakers: Speakers
    fiber: FiberLinks


def work_out_power(project: Project, footage: Footage) -> Power:
    """Return PoE, batteries, direct current, speakers and fiber of a project."""
    conductors, fed = Conductors(project), Fed(project)
    poe = work_out_poe(project, footage, conductors)
    ups = work_out_ups(project, poe)
    return Power(
        conductors=conductors,
        poe=poe,
        ups=ups,
        heat=work_out_heat(project, poe, ups),
        batteries=work_out_batteries(project, fed),
        dc=work_out_dc(project, footage, conductors, fed),
        speakers=work_out_speakers(project, footage, conductors),
        fiber=work_out_fiber(project, footage),
    )


def power_families(power: Power, project: Project) -> Iterable[Family]:
    """Yield every family of figures about power and fiber."""
    yield from conductor_families(power.conductors)
    yield from poe_families(power.poe, project)
    yield from ups_families(power.ups)
    yield from heat_families(power.heat)
    yield from battery_families(power.batteries)
    yield from dc_families(power.dc, project)
    yield from speaker_families(power.speakers)
    yield from fiber_families(power.fiber)


def power_alerts(power: Power, project: Project) -> Iterable[Alert]:
    """Yield every warning about power and fiber."""
    yield from conductor_alerts(power.conductors)
    yield from poe_alerts(power.poe, project)
    yield from ups_alerts(power.ups)
    yield from battery_alerts(power.batteries, project)
    yield from dc_alerts(power.dc, project)
    yield from speaker_alerts(power.speakers, project)
    yield from fiber_alerts(power.fiber, project)
