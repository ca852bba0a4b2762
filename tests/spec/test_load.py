"""From text to a project: ranges, files, catalog values, rules with their origin, checks."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from estimator.spec.load import load
from estimator.spec.model import Project
from estimator.spec.ranges import expand

HEAD = """\
dropledger: 1
project: {name: T}
rooms: [{id: 1A, patch_panels: [{id: A, ports: 24}]}]
nodes: [{id: n1}]
pathways: [{id: T1, from: 1A, to: n1, length: 40 ft, kind: open}]
cables: [{id: C6, type: cat6_utp_plenum}]
devices: [{id: data, cable: C6}]
"""


def project(folder: Path, text: str) -> Project:
    """Return the project of a text. Fails with its faults where it has any."""
    (folder / "t.yaml").write_text(text, encoding="utf-8")
    loaded = load(folder / "t.yaml")
    assert loaded.project is not None, [str(f) for f in loaded.faults]
    return loaded.project


def faults(folder: Path, text: str) -> list[str]:
    """Return the faults of a text, without the folder's name."""
    (folder / "t.yaml").write_text(text, encoding="utf-8")
    return [str(f).replace(folder.as_posix() + "/", "") for f in load(folder / "t.yaml").faults]


def test_a_range_makes_a_run_each_with_its_port(tmp_path: Path) -> None:
    """Source: ANSI/TIA-606 form floor and space, panel and port."""
    job = project(tmp_path, HEAD + "drops: [{id: 1A-A01..1A-A03, room: 1A, at: n1, device: data}]\n")
    assert [(run.id, run.panel, run.port) for run in job.runs] == [
        ("1A-A01", "A", 1),
        ("1A-A02", "A", 2),
        ("1A-A03", "A", 3),
    ]


@pytest.mark.parametrize("bad", ["A09..A02", "A01..B04", "A..B", "A1..A999999"])
def test_ranges_that_are_none_are_refused(bad: str) -> None:
    """Reversed, across letters, without numbers, absurdly long."""
    with pytest.raises(ValueError, match="range"):
        expand(bad)


def test_a_csv_list_has_the_same_words(tmp_path: Path) -> None:
    """Cells are read by the fields' types, and a fault names row and column."""
    (tmp_path / "d.csv").write_text(
        "id,room,at,device,note\n1A-A01,1A,n1,data,'=1+1\n1A-A02,1A,n1,nope,\n", encoding="utf-8"
    )
    found = faults(tmp_path, HEAD + "drops: [{from: d.csv}]\n")
    assert found == [
        "d.csv:3:14: device 'nope' is not declared; expected one of data; add it under `devices` or mend the name"
    ]
    (tmp_path / "d.csv").write_text("id,room,at,device,note\n1A-A01,1A,n1,data,'=1+1\n", encoding="utf-8")
    assert project(tmp_path, HEAD + "drops: [{from: d.csv}]\n").runs[0].drop.note == "=1+1"


@pytest.mark.parametrize("name", ["../secret.csv", "/etc/passwd", "missing.csv"])
def test_an_include_stays_in_the_projects_folder(name: str, tmp_path: Path) -> None:
    """No path leads out, and a missing file is a fault at its line."""
    found = faults(tmp_path, HEAD + f"drops: [{{from: {name}}}]\n")
    assert len(found) == 1
    assert found[0].startswith("t.yaml:8:16: ")


def test_typical_values_are_named_as_such(tmp_path: Path) -> None:
    """A typed diameter isn't typical any more; the rest of the catalog's values are."""
    text = HEAD.replace("type: cat6_utp_plenum", "type: cat6_utp_plenum, od: 0.24 in")
    cable = project(tmp_path, text).cables["C6"]
    assert cable.od_m == pytest.approx(0.24 * 0.0254)
    assert "od_m" not in cable.typical
    assert "put_up_m" in cable.typical


def test_a_rule_says_where_it_came_from(tmp_path: Path) -> None:
    """This file, with its place, or the default with its source."""
    rules = project(tmp_path, HEAD + "rules: {waste_percent: 8}\n").rules
    assert rules.waste == 0.08
    assert rules.ruled("waste").origin == "this file"
    assert rules.ruled("cut_to_m").origin == "default"
    assert rules.ruled("cut_to_m").source


@pytest.mark.parametrize(
    ("block", "wrong"),
    [
        ("rules: {max_fill_conduit_percent: 45}\n", "`max_fill_conduit_percent` is looser than the adopted code"),
        ("rules: {design_limit: 100 m}\n", "`design_limit` is looser than the adopted code"),
        ("drops: [{id: X, room: 1A, device: data}]\n", "drop 'X' has no place and no length"),
        ("drops: [{id: X, room: 1B, at: n1, device: data}]\n", "room '1B' is not declared"),
        ("drops: [{id: X, room: 1A, at: n1, device: data, via: T9}]\n", "segment 'T9' is not declared"),
        ("drops: [{id: X, room: 1A, at: n1, device: data, port: A-25}]\n", "panel A of room 1A has no port 25"),
        ("drops: [{id: X, room: 1A, at: n1, device: data}, {id: x, room: 1A, at: n1, device: data}]\n",
         "circuit id 'x' is used twice"),
        ("drops: [{id: X, room: 1A, at: n1}]\n", "drop 'X' has no cable"),
        ("rooms: [{id: 1A}, {id: 1B}]\nbackbone: [{id: B, from: 1A, to: 1B, cable: of_12_om4_ofnp, length: 9 m}]\n",
         "fiber cable 'B' has no reference"),
        ("drops: [{from: empty.csv}]\n", "file 'empty.csv' has no rows below its head"),
        ("backbone: [{id: B, from: 1A, to: 1A, cable: cat6_utp_riser, length: 9 m}]\n", "ends where it starts"),
        ("readings: ../elsewhere\n", "readings folder '../elsewhere' leaves the project's folder"),
        ("power_supplies: [{id: P, room: 1A, voltage: 24 V, rating: 4 A, rating: 5 A}]\n", "key `rating` is repeated"),
        ("acceptance: {waivers: [{circuit: Q, reason: r, name: n, role: owner, date: 2026-01-02, reference: x}]}\n",
         "circuit 'Q' is not declared"),
    ],
)  # fmt: skip
def test_each_check_finds_its_fault(block: str, wrong: str, tmp_path: Path) -> None:
    """One small mistake, one fault that names it."""
    (tmp_path / "empty.csv").write_text("id,room,at,device\n", encoding="utf-8")
    head = HEAD.replace("rooms: [{id: 1A, patch_panels: [{id: A, ports: 24}]}]\n", "") if "rooms:" in block else HEAD
    found = faults(tmp_path, head + block)
    assert len(found) == 1, found
    assert wrong in found[0]


def test_another_format_is_refused_with_what_is_read(tmp_path: Path) -> None:
    """A future format is never half read."""
    found = faults(tmp_path, HEAD.replace("dropledger: 1", "dropledger: 2"))
    assert found == [
        "t.yaml:1:13: format version '2' is not known; expected `dropledger: 1`; this release reads format 1; "
        "write `dropledger: 1` on the first line"
    ]


def test_the_digest_is_of_all_files_read(tmp_path: Path) -> None:
    """Changing an included file changes it; changing nothing doesn't."""
    (tmp_path / "d.csv").write_text("id,room,at,device\n1A-A01,1A,n1,data\n", encoding="utf-8")
    text = HEAD + "drops: [{from: d.csv}]\n"
    first = project(tmp_path, text).digest
    assert project(tmp_path, text).digest == first
    (tmp_path / "d.csv").write_text("id,room,at,device\n1A-A02,1A,n1,data\n", encoding="utf-8")
    assert project(tmp_path, text).digest != first


def test_price_items_may_stand_in_a_csv_file(tmp_path: Path) -> None:
    """The same words as columns; a fault names row and column, and an id counts once over both."""
    (tmp_path / "i.csv").write_text(
        "id,name,unit,cost,hours,factors,expires\nj,Jack,each,6.90,,,2026-11-30\np,Pull,kft,,9,high old,\n",
        encoding="utf-8",
    )
    prices = (
        "prices:\n  items: [{from: i.csv}, {id: own, name: Own, cost: 2}]\n"
        "  factors: [{id: high, factor: 1.2}, {id: old, factor: 1.1}]\n  crew: []\n  build_up: {}\n"
    )
    book = project(tmp_path, HEAD + prices).prices
    assert book is not None
    assert [(item.id, str(item.cost), item.hours) for item in book.items] == [
        ("j", "6.90", 0.0), ("p", "0", 9.0), ("own", "2", 0.0),
    ]  # fmt: skip
    assert book.items[1].factors == ("high", "old")
    (tmp_path / "i.csv").write_text("id,name,unit,cost\nown,Jack,each,6.90\np,Pull,each,much\n", encoding="utf-8")
    assert faults(tmp_path, HEAD + prices) == [
        "i.csv:3:13: `cost`: 'much' is not an amount of money here; expected an amount such as 12.50; "
        "write digits and a point, no signs or thousands marks",
        "t.yaml:9:31: 'own' is used twice in this list; expected each id once; rename one; "
        "the first stands at i.csv:2:1",
    ]


@pytest.mark.parametrize("name", ["p.csv", "P.CSV", "p.xlsx"])
def test_a_table_is_no_price_file(name: str, tmp_path: Path) -> None:
    """A list of items has neither crew nor build-up: it says where it belongs, whether the file is there or not."""
    assert faults(tmp_path, HEAD + f"prices: {name}\n") == [
        f"t.yaml:8:9: `prices`: {name!r} is a table, and a price file has crew and build-up too; "
        "expected the name of a price file, or its keys; "
        f"make a YAML file of them and write `items: [{{from: {name}}}]` in it"
    ]


def test_a_mistake_is_told_once(tmp_path: Path) -> None:
    """A segment or a cable with a fault of its own still counts as declared, and still joins its nodes."""
    text = HEAD.replace("length: 40 ft", "length: 40").replace("cat6_utp_plenum", "cat6_upt_plenum")
    found = faults(tmp_path, text + "drops: [{id: 1A-A01..1A-A09, room: 1A, at: n1, device: data}]\n")
    assert [line.split(": ")[1].split(";")[0] for line in found] == [
        "`length`",
        "catalog cable 'cat6_upt_plenum' is not known",
    ]


def test_a_range_limit_is_told_in_the_unit_that_was_typed(tmp_path: Path) -> None:
    """Feet are answered with feet."""
    found = faults(tmp_path, HEAD.replace("length: 40 ft", "length: 90000 ft"))
    assert "expected more than 0 ft and at most 16404.2 ft" in found[0]


def test_an_escape_cannot_hide_a_control_character(tmp_path: Path) -> None:
    """What can't live in a document is refused where it is typed."""
    found = faults(tmp_path, HEAD.replace("name: T", 'name: "T\\u0007"'))
    assert "an escape hides control character U+0007" in found[0]


@pytest.mark.parametrize(("start", "what"), [(b"PK\x03\x04", "a packed file"), (b"%PDF-1.7", "a PDF")])
def test_another_kind_of_file_is_named(start: bytes, what: str, tmp_path: Path) -> None:
    """A workbook handed in as project file is told apart from a badly saved text."""
    (tmp_path / "t.yaml").write_bytes(start + b"\x00" * 40)
    (only,) = load(tmp_path / "t.yaml").faults
    assert what in only.wrong


def test_what_never_ends_is_not_read(tmp_path: Path) -> None:
    """A pipe or a link in a circle is a fault, not a hang or a crash."""
    (tmp_path / "loop.csv").symlink_to(tmp_path / "loop.csv")
    assert "can't be read" in faults(tmp_path, HEAD + "drops: [{from: loop.csv}]\n")[0]
    os.mkfifo(tmp_path / "pipe.csv")
    assert "can't be read" in faults(tmp_path, HEAD + "drops: [{from: pipe.csv}]\n")[0]
    (only,) = load(tmp_path / "pipe.csv").faults
    assert "is not a regular file" in only.wrong


def test_a_baseline_is_loaded_or_is_a_fault_at_its_name(tmp_path: Path) -> None:
    """The project that was bid stands beside the job; what can't be read as one is told."""
    (tmp_path / "bid.yaml").write_text(HEAD.replace("name: T", "name: Bid"), encoding="utf-8")
    (tmp_path / "bad.yaml").write_text("dropledger: 1\n", encoding="utf-8")
    bid = project(tmp_path, HEAD + "baseline: bid.yaml\n").baseline
    assert bid is not None
    assert bid.header.name == "Bid"
    assert "file 'gone.yaml' can't be read" in faults(tmp_path, HEAD + "baseline: gone.yaml\n")[0]
    assert "can't be used: key `project` is missing" in faults(tmp_path, HEAD + "baseline: bad.yaml\n")[0]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_a_list_may_be_parted_as_the_spreadsheet_saved_it(sign: str, tmp_path: Path) -> None:
    """Spreadsheets with a decimal comma save semicolons."""
    rows = (("id", "room", "at", "device"), ("1A-A01", "1A", "n1", "data"))
    (tmp_path / "d.csv").write_text("".join(sign.join(row) + "\n" for row in rows), encoding="utf-8")
    assert [run.id for run in project(tmp_path, HEAD + "drops: [{from: d.csv}]\n").runs] == ["1A-A01"]


def test_where_a_file_breaks_off_nothing_after_it_is_missed(tmp_path: Path) -> None:
    """One break is one fault, not a list of keys that stand below it."""
    found = faults(tmp_path, "dropledger: 1\n\tproject: {name: T}\n")
    assert len(found) == 1
    assert found[0].startswith("t.yaml:2:1: this stops being YAML here")


@pytest.mark.parametrize("nothing", ["null", "~", "NULL"])
def test_a_word_for_no_value_is_a_fault(tmp_path: Path, nothing: str) -> None:
    """Such a word would otherwise be printed as the client's name."""
    said = faults(tmp_path, f"dropledger: 1\nproject: {{name: T, client: {nothing}}}\n")
    assert said == [
        f"t.yaml:2:28: `client`: {nothing} says no value; expected text; write the value, or leave the key out"
    ]
