"""How much of the estimate is live: computed columns, verdicts, names that others link to, ranges of changed cells."""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from estimator.documents.description import Column, Document, Fact, Facts, Formula, Section, Table, Verdict
from estimator.documents.estimate_book import estimate_book
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.job_sample import takeoff as demo_takeoff

LEAST_LIVE = 0.6
SUBJECTS = {
    "price": ("Materials", "Labor", "Crew", "Other lines", "Price build-up", "Alternates and unit prices"),
    "battery": ("Batteries", "Battery loads", "Battery blocks"),
    "voltage drop": ("DC and notification", "DC devices", "DC supplies", "PoE devices", "Circuits"),
    "fill": ("Pathways", "Trays, surface raceways and cabinets", "J-hooks", "In the pathways", "Room left"),
    "footage": ("Drops", "Cable order", "Cut plan", "Boxes"),
}
"""The sheets of each subject that must be live for the greater part."""

COMPUTED = 20
"""At least so many computed cells a subject, so that the share says something."""


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo project."""
    return demo_takeoff()


@pytest.fixture(scope="module")
def book(demo: Takeoff) -> Document:
    """Return its estimate."""
    return estimate_book(demo, None)


@pytest.fixture(scope="module")
def written(book: Document) -> bytes:
    """Return it as a workbook."""
    return write_xlsx(book)


def _tables(sections: Iterator[Section]) -> Iterator[Table]:
    return (block for section in sections for block in section.blocks if isinstance(block, Table))


def _is_number(cell: object) -> bool:
    return isinstance(cell, int | float | Decimal | Formula) and not isinstance(cell, bool)


def _share(column: Column, cells: list[object]) -> tuple[int, int]:
    """Return how many numbers of a computed column are live, and how many there are; 0, 0 for one that is typed."""
    live = [isinstance(cell, Formula) or column.formula is not None for cell in cells if _is_number(cell)]
    return (sum(live), len(live)) if column.computed or any(live) else (0, 0)


@pytest.mark.parametrize("subject", SUBJECTS)
def test_most_of_what_is_computed_is_live(book: Document, subject: str) -> None:
    sections = [section for section in book.sections if section.title in SUBJECTS[subject]]
    counts = [
        _share(column, [row[at] for row in table.rows])
        for table in _tables(iter(sections))
        for at, column in enumerate(table.columns)
    ]
    live, computed = (sum(part) for part in zip(*counts, strict=True))

    assert {section.title for section in sections} == set(SUBJECTS[subject])
    assert computed >= COMPUTED
    assert live >= LEAST_LIVE * computed, f"{subject}: {live} of {computed} are live"


def test_a_stored_column_counts_as_computed_and_not_live() -> None:
    stored = Column(key="a", head="A", kind="number", computed=True)

    assert _share(stored, [1.0, 2.0, None]) == (0, 2)
    assert _share(Column(key="a", head="A", kind="number"), [1.0]) == (0, 0)


def test_every_verdict_against_a_limit_is_live(book: Document) -> None:
    """Words about jackets, neighbors and pulls are those of rules and ladders, which no cell holds."""
    dead = {
        (table.name, column.key)
        for table in _tables(iter(book.sections))
        for at, column in enumerate(table.columns)
        if column.words is None
        and any(isinstance(cell := row[at], Verdict) and cell.live is None for row in table.rows)
    }

    assert dead <= {
        ("jackets", "word"),
        ("together", "word"),
        ("near_power", "word"),
        ("bundles", "word"),
        ("ups_runtime", "word"),
        *((name, "word") for name in ("pulls", "pulls_both_ways", "hook_weights", "tray_weights")),
        *(("bends", key) for key in ("side_word", "radius_word")),
    }


def test_a_list_that_grows_with_the_job_has_a_sheet_of_its_own(book: Document, written: bytes) -> None:
    """Only sheets that are read as one page hold several tables."""
    together = {
        section.title for section in book.sections if sum(isinstance(block, Table) for block in section.blocks) > 1
    }
    opened = openpyxl.load_workbook(io.BytesIO(written))

    forms = {"Summary", "Pulls", "UPS", "Speakers", "Crew", "Price build-up", "Alternates and unit prices", "Basis"}
    assert together <= forms
    for tab in opened.worksheets:
        if len(tab.tables) == 1 and tab.title not in ("Price build-up",):
            (table,) = tab.tables.values()
            assert table.autoFilter.ref == table.ref
            assert tab.freeze_panes, tab.title
            assert tab.print_area
            assert tab.page_setup.fitToWidth
            assert "&P" in tab.oddFooter.right.text


def test_counts_of_verdicts_are_those_of_the_sheets(book: Document) -> None:
    (counts,) = [table for table in _tables(iter(book.sections)) if table.name == "verdict_counts"]
    found = {
        str(row[0]): [cell.value if isinstance(cell, Formula) else None for cell in row[2:]] for row in counts.rows
    }
    (drops,) = [table for table in _tables(iter(book.sections)) if table.name == "drops"]
    words = Counter(row[-1].word for row in drops.rows if isinstance(row[-1], Verdict))

    assert found["Circuits"] == [words["within"], None, words["over length"]]
    assert words["over length"] > 0
    assert len(found) >= 10


def test_names_that_others_link_to_hold_the_figures_of_the_core(written: bytes, demo: Takeoff) -> None:
    opened = openpyxl.load_workbook(io.BytesIO(written), data_only=True)
    named = {}
    for name, place in opened.defined_names.items():
        ((tab, at),) = place.destinations
        named[name] = opened[tab][at.replace("$", "")].value
    assert demo.bid is not None
    wanted = {
        "price": float(demo.bid.price),
        "direct_cost": float(demo.bid.build.direct),
        "boxes": sum(order.boxes for order in demo.orders),
        "footage": sum(length.expected_m for length in demo.footage.lengths) / 0.3048,
        "waste": demo.project.rules.waste,
    }
    wanted |= {f"boxes_{order.cable.id.replace('-', '_')}": order.boxes for order in demo.orders}
    wanted |= {f"battery_need_{one.id.replace('-', '_')}": one.need_ah for one in demo.power.batteries.sheets}
    wanted |= {f"switch_needs_{one.id.replace('-', '_')}": one.needed_w for one in demo.power.poe.switches}

    assert {name: named[name] for name in wanted} == pytest.approx(wanted)


def test_names_that_would_be_one_are_told_apart(tmp_path: Path) -> None:
    spec = tmp_path / "job.yaml"
    spec.write_text(
        """
dropledger: 1
project: {name: Two cables of one name}
rooms: [{id: 1A}]
cables: [{id: c-6, type: cat6_utp_riser}, {id: c_6, type: cat6_utp_riser}]
drops:
  - {id: 1A-A01, room: 1A, cable: c-6, length: 40 m}
  - {id: 1A-A02, room: 1A, cable: c_6, length: 95 m}
""",
        encoding="utf-8",
    )
    project = load(spec).project
    assert project is not None
    book = estimate_book(take_off(project), None)
    facts = [block for section in book.sections for block in section.blocks if isinstance(block, Facts)]
    names = [fact.name for one in facts for fact in one.rows if isinstance(fact, Fact) and fact.name]

    assert {"footage_c_6", "footage_c_6_2"} <= set(names)
    assert len(set(names)) == len(names)
    assert write_xlsx(book)


def test_cells_that_may_be_changed_refuse_what_they_cannot_be(written: bytes) -> None:
    opened = openpyxl.load_workbook(io.BytesIO(written))
    rules = {tab.title: tab.data_validations.dataValidation for tab in opened.worksheets}

    sheets = ("Materials", "Labor", "Crew", "Cable order", "Drops", "Batteries", "Battery loads", "Price build-up")
    for title in sheets:
        assert rules[title], title
        for rule in rules[title]:
            assert rule.showErrorMessage
            assert re.fullmatch(r"An? [a-z ]+ is a number, zero or more(, \d+ at most)?\.", rule.error)
