"""An estimator changes a cell of the estimate: another program then gets what the core gets for that change.

Each case changes one cell of the demo's workbook, and the same figure in its project file. Every live
cell of the changed workbook, recalculated by LibreOffice, is held against the workbook that the core
writes for the changed project. What may stay behind hangs on stored values, and is named here.
"""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import openpyxl
import pytest
from openpyxl.cell import Cell
from openpyxl.workbook import Workbook

from estimator.documents.estimate_book import estimate_book
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import take_off
from tests.documents.recalculate import recalculated, same

DEMO: Final = Path(__file__).parents[2] / "specs" / "library"
SPEC, PRICES, DROPS = "library.yaml", "prices.yaml", "drops.csv"

Figure = tuple[str, str, str] | str
"""Where a figure stands: table, a text of its row, head; or the name of its cell."""

OPTIONS: Final = {
    "alternates": ("Price with it *", "Adds to the price [USD]"),
    "unit_prices": ("Price with one more *", "Add [USD]", "Price with one less *", "Deduct [USD]"),
}
"""Second builds of the price, stored: when the price has moved, their sheet calls them older."""

PLAN: Final = {
    "cuts": ("Changed by [ft]", "Cut [ft]", "Left in the box [ft]"),
    "boxes": ("Cut in all [ft]", "Left in the end [ft]"),
    "orders": ("Cut plan",),
    "verdict_counts": ("Good", "In doubt"),
}
"""The cut plan, stored: when a length has moved, sheets call it older."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A changed cell and the same change in a file of the project, which reads ``old`` before and ``new`` after.

    ``follow`` are figures that must have moved with it, ``stay`` ones that must not have; ``behind`` are heads by
    table whose live cells hang on stored values; ``said`` is what a labeled cell then says.
    """

    cell: Figure
    value: float
    file: str
    old: str
    new: str
    follow: tuple[Figure, ...]
    stay: tuple[Figure, ...] = ()
    behind: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    said: Mapping[str, str] = field(default_factory=dict)


NEWER_PRICE: Final = {"Alternates and unit prices": "older than the price"}

CASES: Final = {
    "a unit price": Case(
        cell=("materials", "jack-c6", "Unit cost"),
        value=7.35,
        file=PRICES,
        old="name: Category 6 jack, cost: 6.90",
        new="name: Category 6 jack, cost: 7.35",
        follow=("price", ("materials", "jack-c6", "Amount")),
        behind=OPTIONS,
        said=NEWER_PRICE,
    ),
    "the waste of the house": Case(
        cell="waste",
        value=0.35,
        file=SPEC,
        old="waste_percent: 8",
        new="waste_percent: 35",
        follow=("price", ("orders", "c6", "Boxes to order"), ("orders", "om4", "Ordered length [ft]")),
        behind=OPTIONS,
        said=NEWER_PRICE,
    ),
    "the waste of a cable": Case(
        cell=("orders", "c6", "Waste"),
        value=0.35,
        file=SPEC,
        old="{id: c6, type: cat6_utp_plenum,",
        new="{id: c6, type: cat6_utp_plenum, waste_percent: 35,",
        follow=("price", ("orders", "c6", "Boxes to order")),
        stay=(("orders", "c6-cam", "Boxes to order"),),
        behind=OPTIONS,
        said=NEWER_PRICE,
    ),
    "a standby current": Case(
        cell=("loads", "Fire-alarm control unit, children's wing", "Standby, each [A]"),
        value=0.32,
        file=SPEC,
        old="standby_current: 160 mA",
        new="standby_current: 320 mA",
        follow=(
            ("batteries", "FACU-1", "Need [Ah]"),
            ("batteries", "FACU-1", "Block to buy [Ah]"),
            ("batteries", "FACU-1", "Carries the need"),
        ),
        stay=("price",),
    ),
    "a typed length that leaves the box count": Case(
        cell=("drops", "1A-A19", "Typed, or return [ft]"),
        value=128.0,
        file=DROPS,
        old=",120 ft",
        new=",128 ft",
        follow=("price", "labor_hours", ("drops", "1A-A19", "Margin [ft]")),
        stay=(("orders", "c6", "Boxes to order"),),
        behind=OPTIONS | PLAN,
        said=NEWER_PRICE | {"Cut plan": "older than the lengths"},
    ),
    "a distance on a notification circuit": Case(
        cell=("stops", "NA-3", "From the one before [ft]"),
        value=61.0,
        file=SPEC,
        old="setting: 75cd, distance: 36 ft",
        new="setting: 75cd, distance: 61 ft",
        follow=(("dc_lines", "NAC-1", "Lowest [V]"), ("dc_lines", "NAC-1", "Margin [V]")),
        behind=OPTIONS | PLAN,
        said=NEWER_PRICE | {"Cut plan": "older than the lengths"},
    ),
    "an installed battery size": Case(
        cell=("batteries", "FACU-1", "Installed block [Ah]"),
        value=5.0,
        file=SPEC,
        old="battery: {capacity: 10 Ah, blocks: 2",
        new="battery: {capacity: 5 Ah, blocks: 2",
        follow=(
            ("batteries", "FACU-1", "Carries the need"),
            ("batteries", "FACU-1", "Spare"),
            ("batteries", "FACU-1", "Recharge [h]"),
        ),
        stay=("price",),
    ),
}


@dataclass(frozen=True)
class Outcome:
    """The workbook before the change, as another program recalculates it after, and as the core writes it."""

    before: Workbook
    after: Workbook
    core: Workbook
    formulas: Workbook


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Outcome]:
    """Return what comes out of every case."""
    folder = tmp_path_factory.mktemp("what-if")
    base = _workbook(folder / "base", None)
    changed = {f"case{number}": _changed(base, case) for number, case in enumerate(CASES.values())}
    after = recalculated(changed, folder)
    found = {}
    for number, (name, case) in enumerate(CASES.items()):
        core = _workbook(folder / f"core{number}", case)
        found[name] = Outcome(_read(base), _read(after[f"case{number}"]), _read(core), _read(core, formulas=True))
    return found


def _workbook(folder: Path, case: Case | None) -> bytes:
    """Return the estimate of the demo, one drop of it with a typed length, with the case's change in its files."""
    shutil.copytree(DEMO, folder)
    head, *rows = (folder / DROPS).read_text(encoding="utf-8").splitlines()
    typed = [f"{row},{'120 ft' if row.startswith('1A-A19,') else ''}" for row in rows]
    (folder / DROPS).write_text("\n".join([f"{head},length", *typed, ""]), encoding="utf-8")
    if case is not None:
        text = (folder / case.file).read_text(encoding="utf-8")
        assert text.count(case.old) == 1, case.old
        (folder / case.file).write_text(text.replace(case.old, case.new), encoding="utf-8")
    found = load(folder / SPEC)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return write_xlsx(estimate_book(take_off(found.project), None))


def _changed(book: bytes, case: Case) -> bytes:
    """Return the workbook as somebody saves it who typed over one cell."""
    opened = _read(book, formulas=True)
    _cell(opened, case.cell).value = case.value
    out = io.BytesIO()
    opened.save(out)
    return out.getvalue()


def _read(book: bytes | Path, *, formulas: bool = False) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(book) if isinstance(book, bytes) else book, data_only=not formulas)


def _rows(book: Workbook) -> Iterator[tuple[str, list[str], list[tuple[Cell, ...]]]]:
    """Yield every table: its name, its heads, its rows."""
    for tab in book.worksheets:
        for table in tab.tables.values():
            head, *rows = tab[table.ref]
            yield table.name.removeprefix("Table_"), [str(cell.value) for cell in head], rows


def _cell(book: Workbook, figure: Figure) -> Cell:
    if isinstance(figure, str):
        ((tab, at),) = book.defined_names[figure].destinations
        return book[tab][at.replace("$", "")]
    name, text, head = figure
    (found,) = [(heads, rows) for table, heads, rows in _rows(book) if table == name]
    (row,) = [row for row in found[1] if any(cell.value == text for cell in row)]
    return row[found[0].index(head)]


def _values(book: Workbook) -> dict[tuple[str, int, str], object]:
    """Return every cell of every table by table, number of the row and head."""
    return {
        (name, number, head): cell.value
        for name, heads, rows in _rows(book)
        for number, row in enumerate(rows)
        for head, cell in zip(heads, row, strict=True)
    }


def _said(book: Workbook, label: str) -> object:
    """Return what stands beside a label."""
    sheets = [tab for tab in book.worksheets if tab.title != "Summary"]  # where it is the link to a sheet
    rows = [row for tab in sheets for row in tab.iter_rows(values_only=True) if row[0] == label]
    (found,) = [values[0] for row in rows if (values := [value for value in row[1:] if value is not None])]
    return found


@pytest.mark.parametrize("name", CASES)
def test_every_live_cell_gets_what_the_core_gets(outcomes: dict[str, Outcome], name: str) -> None:
    got, core = _values(outcomes[name].after), _values(outcomes[name].core)
    live = {at for at, value in _values(outcomes[name].formulas).items() if str(value).startswith("=")}

    assert len(live) > 1_500
    wrong = [(at, got[at], core[at]) for at in sorted(live) if not same(core[at], got[at])]
    assert [one for one in wrong if one[0][2] not in CASES[name].behind.get(one[0][0], ())] == []


@pytest.mark.parametrize("name", CASES)
def test_what_hangs_on_the_change_moves_and_nothing_else_does(outcomes: dict[str, Outcome], name: str) -> None:
    one, case = outcomes[name], CASES[name]

    for figure in case.follow:
        before, after, core = (_cell(book, figure).value for book in (one.before, one.after, one.core))
        assert not same(before, after), figure
        assert same(core, after), (figure, core, after)
    for figure in case.stay:
        assert same(_cell(one.before, figure).value, _cell(one.after, figure).value), figure


@pytest.mark.parametrize("name", CASES)
def test_stored_values_that_the_change_makes_older_are_called_so(outcomes: dict[str, Outcome], name: str) -> None:
    one, case = outcomes[name], CASES[name]

    for label in ("Cut plan", "Alternates and unit prices"):
        assert _said(one.before, label) == "holds"
        assert _said(one.after, label) == case.said.get(label, "holds")


def test_only_the_order_of_the_changed_cable_calls_its_plan_older(outcomes: dict[str, Outcome]) -> None:
    after = outcomes["a typed length that leaves the box count"].after
    (orders,) = [(heads, rows) for table, heads, rows in _rows(after) if table == "orders"]
    plans = {row[0].value: row[orders[0].index("Cut plan")].value for row in orders[1]}

    assert [cable for cable, word in plans.items() if word != "holds"] == ["c6"]
