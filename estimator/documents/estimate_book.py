"""The estimate workbook: what the job costs, what is ordered, what worries, and how each figure is had."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from estimator.documents.common import document, header_facts
from estimator.documents.description import Document, Section
from estimator.documents.estimate_basis import basis_section
from estimator.documents.estimate_batteries import batteries_section
from estimator.documents.estimate_cable import drops_section, order_section
from estimator.documents.estimate_circuits import circuits_section, dc_section
from estimator.documents.estimate_cuts import cuts_section
from estimator.documents.estimate_front import summary_section, warnings_section
from estimator.documents.estimate_money import labor_section, lines_section, materials_section
from estimator.documents.estimate_paths import laid_section, paths_section, ports_section
from estimator.documents.estimate_poe import poe_section
from estimator.documents.estimate_price import options_section, price_section
from estimator.takeoff.takeoff import Takeoff, alerts_of


def estimate_book(takeoff: Takeoff, shown_date: date | None) -> Document:
    """Return the estimate as a workbook; the order of its sheets is the order an estimator reads in."""
    alerts = alerts_of(takeoff)
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
        sections=(summary_section(takeoff, alerts), warnings_section(alerts), *_sheets(takeoff)),
    )


def _sheets(takeoff: Takeoff) -> Iterator[Section]:
    project = takeoff.project
    yield drops_section(takeoff)
    yield order_section(takeoff)
    yield cuts_section(takeoff)
    yield paths_section(takeoff)
    yield laid_section(takeoff)
    yield ports_section(takeoff)
    yield circuits_section(takeoff)
    yield poe_section(takeoff.poe, project)
    yield dc_section(takeoff.dc, project)
    yield batteries_section(takeoff.batteries)
    if takeoff.bid is not None:
        currency = project.header.currency
        yield materials_section(takeoff.bid)
        yield labor_section(takeoff.bid)
        yield lines_section(takeoff.bid)
        yield price_section(takeoff.bid, currency)
        yield options_section(takeoff.bid, currency)
    yield basis_section(project)
