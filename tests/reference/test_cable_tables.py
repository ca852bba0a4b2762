"""The cable catalog, its allowances and the conduit tables hold together."""

from __future__ import annotations

import pytest

from estimator.reference.lookup import Row, table

CABLES = list(table("cable_catalog"))
FT = 0.3048


@pytest.mark.parametrize("cable", CABLES, ids=lambda row: str(row.cells["id"]))
def test_a_catalog_cable_is_whole(cable: Row) -> None:
    assert cable.number("od_low_m") <= cable.number("od_m") <= cable.number("od_high_m")
    assert cable.text("jacket") in cable.texts("jackets")
    assert all(table("jackets").has(jacket=jacket) for jacket in cable.texts("jackets"))
    assert cable.cells["circuit_class"] is None or table("circuit_classes").has(
        circuit_class=cable.cells["circuit_class"]
    )
    assert cable.number("weight_kg_per_m") == pytest.approx(
        cable.number("weight_lb_per_kft") * 0.45359237 / 304.8, rel=1e-3
    )
    put_up = cable.optional("put_up_ft")
    assert cable.optional("put_up_m") == (None if put_up is None else pytest.approx(put_up * FT))


def test_catalog_names_are_unique() -> None:
    names = [row.text("id") for row in CABLES]

    assert len(set(names)) == len(names)


# Source: TIA/EIA-568-B.2 4.3.3.4 (6.35 mm; screened Category 6 could not meet it, so unscreened only)
# and ANSI/TIA-568-C.2 (9.0 mm for 6A); single.
@pytest.mark.parametrize(("category", "largest_m"), [("5e", 0.00635), ("6", 0.00635), ("6A", 0.0090)])
def test_unscreened_pairs_keep_within_the_standard_diameter(category: str, largest_m: float) -> None:
    found = [row for row in CABLES if row.cells.get("category") == category and row.cells["shield"] == "U/UTP"]

    assert found
    assert all(row.number("od_high_m") <= largest_m for row in found)


# Source: supplier's fill page (single): 0.189, 0.180 and 0.340 in lie inside the ranges.
@pytest.mark.parametrize(
    ("cable", "od_in"), [("cat5e_utp_riser", 0.189), ("cat5e_utp_plenum", 0.180), ("cat6a_utp_riser", 0.340)]
)
def test_a_diameter_read_lies_in_its_range(cable: str, od_in: float) -> None:
    row = table("cable_catalog").find(id=cable)

    assert row.number("od_low_m") <= od_in * 0.0254 <= row.number("od_high_m")


def test_slack_is_that_of_the_handbook() -> None:
    # Source: cabling handbook (confirmed): 3 m or 10 ft in the room, 0.3 m or 1 ft at the outlet.
    room = table("slack_allowances").find(where="room", kind="commercial")
    outlet = table("slack_allowances").find(where="outlet", media="balanced pair", kind="commercial")

    assert (room.number("length_m"), room.number("length_ft")) == (3.0, 10)
    assert (outlet.number("length_m"), outlet.number("length_ft")) == (0.3, 1)


# Source: NFPA 70-2023, Chapter 9, Table 4: corners of the table.
@pytest.mark.parametrize(
    ("kind", "trade", "id_in", "total_in2"),
    [
        ("emt", "1/2", 0.622, 0.304),
        ("emt", "4", 4.334, 14.753),
        ("rmc", "6", 6.093, 29.158),
        ("pvc80", "6", 5.709, 25.598),
        ("lfnc_a", "3/8", 0.495, 0.192),
    ],
)
def test_conduit_table_corners(kind: str, trade: str, id_in: float, total_in2: float) -> None:
    row = table("conduit_table_4").find(kind=kind, trade=trade)

    assert (row.number("id_in"), row.number("total_in2")) == (id_in, total_in2)


def test_every_conduit_kind_is_there_with_its_sizes() -> None:
    counted: dict[str, int] = {}
    for row in table("conduit_table_4"):
        counted[row.text("kind")] = counted.get(row.text("kind"), 0) + 1

    assert set(counted) == {"emt", "ent", "fmc", "imc", "rmc", "pvc40", "pvc80", "lfnc_a", "lfnc_b", "lfmc"}
    assert min(counted.values()) >= 6


def test_a_fill_row_is_handed_out_with_its_source() -> None:
    row = table("conduit_fill").find(rule="over_two")

    assert "Chapter 9, Table 1" in row.source
    assert row.confidence == "confirmed"
