"""The estimate workbook of the demo project: its figures hold when another program recalculates them."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.documents.description import Formula, Table
from estimator.documents.estimate_book import estimate_book
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, alerts_of, take_off
from tests.documents.recalculate import recalculate

DEMO = Path(__file__).parents[2] / "specs" / "library" / "library.yaml"

LIVE = {
    "drops": ("expected", "margin"),
    "orders": ("circuits", "total", "by_footage", "boxes", "ordered"),
    "cuts": ("cut", "left"),
    "boxes": ("runs", "cut", "left"),
    "conduits": ("cables", "fill", "margin"),
    "trays": ("cables", "fill", "margin"),
    "hooks": ("hooks", "cables", "fill", "margin"),
    "ports": ("used", "free"),
    "switches": (
        "ports_used",
        "allocated_w",
        "computed_w",
        "usable_w",
        "needed_w",
        "margin",
        "mains_w",
        "loss_w",
        "heat",
    ),
    "poe": ("loop_ohm", "current_a", "device_v", "margin", "held_v", "longest", "source_w"),
    "ups": ("load_w", "design_w", "share", "design_va", "loss_w"),
    "ups_runtime": ("drain", "time_s", "margin_s"),
    "ups_loads": ("watts",),
    "room_heat": ("switches_w", "ups_w", "equipment_w", "cables_w", "lost_w", "btu_per_h", "tons"),
    "dc_lines": ("total_a", "end_v", "percent", "margin"),
    "batteries": ("standby_a", "alarm_a", "need_ah", "installed_ah", "margin_ah", "spare", "recharge"),
    "amplifiers": ("load_w", "share", "margin", "least_w"),
    "speaker_lines": ("load_w", "load_ohm", "loop_ohm", "end_db", "worst_db", "margin", "longest"),
    "networks": ("load_ohm", "loop_ohm", "end_db", "margin", "share", "wire", "longest"),
    "fiber": ("pairs", "component_db", "limit_db"),
    "materials": ("amount", "taxed"),
    "tasks": ("hours", "amount"),
    "other_lines": ("amount",),
    "kinds": ("amount",),
    "steps": ("base", "amount", "total"),
    "tiers": ("slice",),
    "alternates": ("amount",),
    "unit_prices": ("add", "deduct"),
}
"""What a person would check, and so must be live."""


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo project."""
    project = load(DEMO).project
    assert project is not None
    return take_off(project)


@pytest.fixture(scope="module")
def written(demo: Takeoff) -> bytes:
    """Return its estimate workbook."""
    return write_xlsx(estimate_book(demo, None))


def _job(text: str, folder: Path) -> Takeoff:
    spec = folder / "job.yaml"
    spec.write_text(text, encoding="utf-8")
    found = load(spec)
    assert found.project is not None, [str(fault) for fault in found.faults]
    return take_off(found.project)


def _tables(takeoff: Takeoff) -> dict[str, Table]:
    book = estimate_book(takeoff, None)
    return {block.name: block for section in book.sections for block in section.blocks if isinstance(block, Table)}


def _planted(book: bytes, sheet: Worksheet, formula: str) -> bytes:
    """Return the workbook with one tenth more stored beside the first formula that reads so."""
    out = io.BytesIO()
    found = False
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            if name.startswith("xl/worksheets/sheet") and not found:
                text = part.decode("utf-8")
                at = re.search(re.escape(f"<f>{formula}</f><v>") + r"([^<]+)", text)
                if at:
                    found = True
                    text = text[: at.start(1)] + repr(float(at[1]) * 1.1) + text[at.end(1) :]
                part = text.encode("utf-8")
            new.writestr(name, part)
    assert found, (sheet.title, formula)
    return out.getvalue()


def test_another_program_gets_every_figure(written: bytes, tmp_path: Path) -> None:
    result = recalculate(written, tmp_path)

    assert result.compared >= 1_000
    assert result.differences == []


def test_a_planted_wrong_value_is_found(written: bytes, tmp_path: Path) -> None:
    price = openpyxl.load_workbook(io.BytesIO(written))["Price build-up"]
    cell = next(cell for row in price.iter_rows() for cell in row if cell.data_type == "f")
    wrong = _planted(written, price, str(cell.value).removeprefix("="))

    result = recalculate(wrong, tmp_path)

    assert [difference.cell for difference in result.differences] == [f"Price build-up!{cell.coordinate}"]


def test_what_a_person_would_check_is_live(demo: Takeoff) -> None:
    tables = _tables(demo)

    for name, keys in LIVE.items():
        columns = {column.key: place for place, column in enumerate(tables[name].columns)}
        for key in keys:
            cells = [row[columns[key]] for row in tables[name].rows]
            live = tables[name].columns[columns[key]].formula is not None
            assert any(isinstance(cell, Formula) or (live and cell is not None) for cell in cells), (name, key)


def test_no_number_is_lost_on_the_way(demo: Takeoff) -> None:
    tables = _tables(demo)

    assert len(tables["drops"].rows) == len(demo.footage.lengths)
    assert len(tables["cuts"].rows) == len(demo.footage.lengths)
    assert len(tables["warnings"].rows) == len(alerts_of(demo))
    places = [c.key for c in tables["orders"].columns]
    boxes = [row[places.index("boxes")] for row in tables["orders"].rows]
    assert [cell.value if isinstance(cell, Formula) else cell for cell in boxes] == [o.boxes for o in demo.orders]


def test_what_remains_in_a_box_follows_the_order_of_the_pulls(demo: Takeoff) -> None:
    last: dict[object, object] = {}
    cuts = _tables(demo)["cuts"]
    keys = [column.key for column in cuts.columns]
    for row in cuts.rows:
        box, held, cut, left = (row[keys.index(key)] for key in ("box", "held", "cut", "left"))
        held = held.value if isinstance(held, Formula) else held
        assert held == last.get(box, held)
        assert isinstance(held, float)
        assert isinstance(cut, float)
        assert left == held - cut or left == pytest.approx(held - cut)
        last[box] = left
    ends = {order.box_name(box): left for order in demo.orders for box, left in enumerate(order.plan.left_m)}
    assert {box: left for box, left in last.items() if box in ends} == {
        box: pytest.approx(ends[str(box)] / 0.3048, abs=1e-6) for box in last
    }


def test_the_first_sheet_has_price_order_and_worries(written: bytes, demo: Takeoff) -> None:
    at = openpyxl.load_workbook(io.BytesIO(written), data_only=True)["Summary"]
    words = {cell.value for row in at.iter_rows() for cell in row}

    assert demo.bid is not None
    assert float(demo.bid.price) in words
    assert {order.cable.id for order in demo.orders} <= words
    assert {"over length", "overfull", "jacket"} <= words


def test_rules_show_their_value_and_where_it_came_from(demo: Takeoff) -> None:
    rows = {row[0]: row[2:5] for row in _tables(demo)["rules"].rows}

    assert rows["waste_percent"][0] == "8 %"
    assert re.search(r"library\.yaml:\d+:\d+$", str(rows["waste_percent"][1]))
    assert rows["service_loop"][:2] == ("0.00 ft", "default")
    assert set(rows) == {rule.key for rule in demo.project.rules.basis}


def test_nothing_names_the_folder_that_the_file_lies_in(written: bytes, demo: Takeoff) -> None:
    with zipfile.ZipFile(io.BytesIO(written)) as parts:
        assert not [name for name in parts.namelist() if demo.project.folder.encode() in parts.read(name)]


def test_a_job_without_prices_and_power_is_a_workbook_too(tmp_path: Path) -> None:
    takeoff = _job(
        """
dropledger: 1
project: {name: Two drops, lengths_in: m}
rooms: [{id: 1A}]
cables: [{id: c6, type: cat6_utp_riser}]
drops:
  - {id: 1A-A01, room: 1A, cable: c6, length: 40 m}
  - {id: 1A-A02, room: 1A, cable: c6, length: 95 m}
""",
        tmp_path,
    )

    result = recalculate(write_xlsx(estimate_book(takeoff, None)), tmp_path)

    assert result.compared > 10
    assert result.differences == []
    margin = [row[-2] for row in _tables(takeoff)["drops"].rows]
    assert margin == [50.0, -5.0]


def test_the_same_job_gives_the_same_workbook(demo: Takeoff, written: bytes) -> None:
    assert write_xlsx(estimate_book(demo, None)) == written
