"""The estimate workbook: what the job costs, what is ordered, what worries, and how each figure is had."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Final

from estimator.documents.common import document, header_facts
from estimator.documents.description import Block, Document, Paragraph, Section, Table
from estimator.documents.drawn import pathways_drawn
from estimator.documents.estimate_basis import basis_section, reference_section, typical_section
from estimator.documents.estimate_batteries import batteries_section, blocks_section, loads_section
from estimator.documents.estimate_cable import drops_section, order_section
from estimator.documents.estimate_circuits import circuits_section
from estimator.documents.estimate_counts import verdicts_section
from estimator.documents.estimate_cuts import boxes_section, cuts_section
from estimator.documents.estimate_dc import dc_devices_section, dc_section, dc_supplies_section
from estimator.documents.estimate_front import summary_section, warnings_section
from estimator.documents.estimate_lines import lines_sheet
from estimator.documents.estimate_money import crew_section, labor_section, lines_section, materials_section
from estimator.documents.estimate_named import named_section
from estimator.documents.estimate_paths import laid_section, paths_section, ports_section
from estimator.documents.estimate_place import place_section
from estimator.documents.estimate_poe import poe_devices_section, poe_section
from estimator.documents.estimate_price import options_section, price_section
from estimator.documents.estimate_pulls import pulls_section, supports_section
from estimator.documents.estimate_room import room_section
from estimator.documents.estimate_signal import fiber_section
from estimator.documents.estimate_speakers import speaker_places_section, speakers_section
from estimator.documents.estimate_ups import heat_section, runtime_section, ups_section
from estimator.takeoff.price_build import Bid
from estimator.takeoff.takeoff import Takeoff, alerts_of


def estimate_book(takeoff: Takeoff, shown_date: date | None) -> Document:
    """Return the estimate as a workbook; the order of its sheets is the order an estimator reads in."""
    alerts = alerts_of(takeoff)
    sheets = tuple(_sheets(takeoff))
    warned = f"{len(alerts)} warnings: read them before the price goes out." if alerts else "No warnings."
    return document(
        takeoff.project,
        shown_date,
        title="Estimate",
        subject="Takeoff, orders, power, labor and price",
        cover=header_facts(takeoff.project),
        state=warned,
        state_tone="poor" if alerts else "good",
        contents=True,
        sections=(
            summary_section(takeoff, alerts),
            warnings_section(alerts, takeoff.project),
            verdicts_section(sheets),
            *sheets,
        ),
    )


def _sheets(takeoff: Takeoff) -> Iterator[Section]:
    project = takeoff.project
    yield drops_section(takeoff)
    yield order_section(takeoff)
    yield cuts_section(takeoff)
    yield boxes_section(takeoff)
    yield from apart(paths_section(takeoff))
    yield laid_section(takeoff)
    yield from pathways_drawn(takeoff)
    yield room_section(takeoff)
    yield pulls_section(takeoff)
    yield from apart(supports_section(takeoff))
    yield from apart(place_section(takeoff))
    yield ports_section(takeoff)
    yield from apart(circuits_section(takeoff))
    yield from apart(poe_section(takeoff.power.poe, project))
    yield poe_devices_section(takeoff.power.poe, project)
    yield ups_section(takeoff.power, project)
    yield runtime_section(takeoff.power, project)
    yield heat_section(takeoff.power)
    yield dc_section(takeoff.power.dc, project)
    yield dc_devices_section(takeoff.power.dc, project)
    yield from apart(dc_supplies_section(takeoff.power.dc, project))
    yield batteries_section(takeoff.power.batteries)
    yield loads_section(takeoff.power.batteries, project)
    yield blocks_section(takeoff.power.batteries)
    yield speakers_section(takeoff.power.speakers, project)
    yield from apart(speaker_places_section(takeoff.power.speakers, project))
    yield fiber_section(takeoff.power.fiber, project)
    yield from apart(lines_sheet(takeoff))
    if takeoff.bid is not None:
        yield from _money(takeoff.bid, takeoff)
    yield named_section(takeoff)
    yield basis_section(project)
    yield typical_section(project)
    yield reference_section()


def apart(section: Section) -> Iterator[Section]:
    """Yield a section table by table: a list that grows with the job has a sheet of its own, its head in sight.

    What stands before a table goes with it, facts go with the one before them. The first keeps the section's title;
    a further table without a row has no sheet.
    """
    groups: list[list[Block]] = [[]]
    for block in section.blocks:
        if isinstance(block, Paragraph | Table) and any(isinstance(one, Table) for one in groups[-1]):
            groups.append([])
        groups[-1].append(block)
    for number, group in enumerate(groups):
        table = next((block for block in group if isinstance(block, Table)), None)
        wide = section.landscape and table is not None and len(table.columns) > _UPRIGHT_MOST
        own = replace(section, blocks=tuple(group), landscape=wide, pages_wide=section.pages_wide if wide else 1)
        if number == 0:
            yield own
        elif table is not None and table.rows:
            yield replace(own, title=table.title, sheet=_SHEETS.get(table.title, ""))


_UPRIGHT_MOST: Final = 9  # columns that fit an upright page

_SHEETS: Final = {
    "Trays, surface raceways and cabinets": "Trays and raceways",
    "Open cable without a support that has a limit": "Open cable",
    "Wire of notification, signaling and initiating circuits": "Circuit wire",
    "What a meter reads at the control unit": "What a meter reads",
    "Loudspeakers of low-impedance networks": "Low-impedance speakers",
}
"""Names of sheets whose title is longer than a tab holds."""


def _money(bid: Bid, takeoff: Takeoff) -> Iterator[Section]:
    currency, edition = takeoff.project.header.currency, takeoff.project.codes.sections
    cables = {order.cable.id: order for order in takeoff.orders}
    yield materials_section(bid, cables)
    yield labor_section(bid, cables)
    yield crew_section(bid)
    yield lines_section(bid)
    yield price_section(bid, currency, edition)
    yield options_section(bid, currency)
