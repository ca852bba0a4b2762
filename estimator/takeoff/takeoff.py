"""The whole takeoff of a project: routes, footage, fill, orders, power, labor and price."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.spec.faults import Fault, Faults
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.bid_alerts import bid_alerts
from estimator.takeoff.bid_figures import bid_families
from estimator.takeoff.coax_runs import CoaxRuns, coax_alerts, coax_families, work_out_coax
from estimator.takeoff.detours import detour_alerts
from estimator.takeoff.fill import Fill, fill_pathways
from estimator.takeoff.fill_figures import fill_alerts, fill_families
from estimator.takeoff.footage import Footage, length_alerts, length_families, measure
from estimator.takeoff.link_lengths import LinkLengths, link_alerts, link_families, work_out_links
from estimator.takeoff.neighbors import neighbor_families, neighbors_of
from estimator.takeoff.orders import CableOrder, order_alerts, order_cables, order_families
from estimator.takeoff.place import PanelUse, panel_alerts, panel_families, panel_use, place_alerts
from estimator.takeoff.plan_lengths import plan_alerts, plan_families
from estimator.takeoff.power import Power, power_alerts, power_families, work_out_power
from estimator.takeoff.price_build import Bid, price_job
from estimator.takeoff.pull_figures import pull_alerts, pull_families
from estimator.takeoff.pulls import Pull, pull_conduits
from estimator.takeoff.typed_lengths import typed_length_alerts
from estimator.takeoff.voice_lines import VoiceLines, voice_alerts, voice_families, work_out_voice
from estimator.takeoff.weights import Weight, weigh, weight_alerts, weight_families
from estimator.takeoff.worked import Family


@dataclass(frozen=True, kw_only=True, slots=True)
class Takeoff:
    """A project with all its numbers; ``faults`` are those that only the routes could show."""

    project: Project
    footage: Footage
    links: LinkLengths
    coax: CoaxRuns
    voice: VoiceLines
    fill: Fill
    pulls: tuple[Pull, ...]
    weights: tuple[Weight, ...]
    panels: tuple[PanelUse, ...]
    orders: tuple[CableOrder, ...]
    power: Power
    bid: Bid | None
    faults: tuple[Fault, ...]


def take_off(project: Project) -> Takeoff:
    """Return the takeoff of a project."""
    faults = Faults()
    footage = measure(project, faults)
    orders = order_cables(footage, project)
    fill = fill_pathways(footage, project)
    return Takeoff(
        project=project,
        footage=footage,
        links=work_out_links(project, footage),
        coax=work_out_coax(project, footage),
        voice=work_out_voice(project, footage),
        fill=fill,
        pulls=pull_conduits(fill, project),
        weights=weigh(fill, project),
        panels=panel_use(project),
        orders=orders,
        power=work_out_power(project, footage),
        bid=price_job(project, footage, fill, orders),
        faults=faults.sorted(project.folder),
    )


def families_of(takeoff: Takeoff) -> tuple[Family, ...]:
    """Return every family of figures."""
    project = takeoff.project
    return (
        *length_families(takeoff.footage, project),
        *plan_families(takeoff.footage, project),
        *link_families(takeoff.links, project),
        *coax_families(takeoff.coax, project),
        *voice_families(takeoff.voice),
        *order_families(takeoff.orders, project),
        *fill_families(takeoff.fill, project),
        *pull_families(takeoff.pulls),
        *weight_families(takeoff.weights, project),
        *neighbor_families(neighbors_of(takeoff.fill, project)),
        *panel_families(takeoff.panels, project),
        *power_families(takeoff.power, project),
        *(bid_families(takeoff.bid, project) if takeoff.bid else ()),
    )


def alerts_of(takeoff: Takeoff) -> tuple[Alert, ...]:
    """Return the trade's warnings, by place."""
    project = takeoff.project
    return tuple(
        sorted(
            {
                *length_alerts(takeoff.footage, project),
                *plan_alerts(takeoff.footage, project),
                *typed_length_alerts(project),
                *link_alerts(takeoff.links, project),
                *coax_alerts(takeoff.coax),
                *voice_alerts(takeoff.voice),
                *order_alerts(takeoff.orders, project),
                *fill_alerts(takeoff.fill, project),
                *pull_alerts(takeoff.pulls, project),
                *weight_alerts(takeoff.weights, project),
                *detour_alerts(takeoff.footage, takeoff.fill, project),
                *panel_alerts(takeoff.panels, project),
                *place_alerts(takeoff.fill, project),
                *power_alerts(takeoff.power, project),
                *(bid_alerts(takeoff.bid, project) if takeoff.bid else ()),
            }
        )
    )
