"""Nine mistakes of nine kinds over two files: nine faults with their places, and nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.cli.main import main

SPEC = """\
dropledger: 1
project: {name: Nine mistakes}
rooms:
  - id: 1A
    patch_panels: [{id: A, ports: 24}]
nodes:
  - {id: n1}
  - {id: far}
pathways:
  - {id: T1, from: 1A, to: n1, length: 40, kind: open}
  - {id: T2, from: 1A, to: n1, length: 40 W, kind: open}
  - {id: T3, from: 1A, to: n1, length: 40 ft, kind: open, colour: blue}
  - {id: T4, from: 1A, to: n1, length: 40 ft, kind: open, length: 50 ft}
cables:
  - {id: C6P, type: cat6_utp_plenum}
devices:
  - {id: data, system: data, cable: C6P}
drops:
  - {id: 1A-A01, room: 1A, at: n1, cable: C6E}
  - {id: 1A-A09..1A-A02, room: 1A, at: n1, device: data}
  - {id: 1A-A11, room: 1A, at: n1, device: data}
  - {id: X-2, room: 1A, at: n1, device: data, port: A-11}
  - {id: 1A-A12, room: 1A, at: far, device: data}
  - from: drops.csv
"""

DROPS = """\
id,room,at,device,last_leg
1A-A13,1A,n1,data,12 ft
1A-A14,1A,n1,data,twelve feet
"""

FAULTS = """\
drops.csv:3:19: `last_leg`: 'twelve feet' is not a quantity; expected a length with its unit, such as 15 ft; \
retype the number and its unit
nine.yaml:10:40: `length`: '40' has no unit; expected a length with its unit, such as 15 ft; \
add the unit, for example 40 ft
nine.yaml:11:40: `length`: '40 W' is a power; expected a length with its unit, such as 15 ft; give a length
nine.yaml:12:59: key `colour` is not known here; expected one of id, from, to, length, rise, kind, material, \
trade_size, width, depth, spacing, hook_cables, hook_load, load, bottom, space, bends, bends_at, bend_radius, \
friction, nipple, firestop, existing, max_fill_percent, listed_fill_percent, near_power, items, note; \
delete it or mend the name
nine.yaml:13:59: key `length` is repeated; expected each key once in a block; delete one; the first stands at line 13
nine.yaml:19:43: cable 'C6E' is not declared; expected one of C6P; write C6P, or add 'C6E' under `cables`
nine.yaml:20:10: `id`: range '1A-A09..1A-A02' is reversed; expected a range such as 1A-A01..1A-A24, \
the smaller number first; write 1A-A02..1A-A09
nine.yaml:22:53: port A-11 of room 1A is used by '1A-A11' and 'X-2'; expected each port once; \
give one of them another port; the first stands at nine.yaml:21:10
nine.yaml:23:32: no pathway leads from room '1A' to node 'far'; expected a node that segments join to the room; \
add the missing segment or type a `length:`
9 faults; warnings follow once they are mended
"""


def test_nine_mistakes_are_nine_faults_with_their_places(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each mistake is told with its place and its mend, all at once; the exit code is 1."""
    (tmp_path / "nine.yaml").write_text(SPEC, encoding="utf-8")
    (tmp_path / "drops.csv").write_text(DROPS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    before = sorted(p.name for p in tmp_path.rglob("*"))

    code = main(["check", "nine.yaml"])

    shown = capsys.readouterr()
    assert shown.out == FAULTS
    assert shown.err == ""
    assert code == 1
    assert sorted(p.name for p in tmp_path.rglob("*")) == before


@pytest.mark.parametrize("verb", ["estimate", "criteria", "closeout"])
def test_a_faulty_project_writes_nothing(
    verb: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The verbs that write show the same faults and leave the folder as it was."""
    (tmp_path / "nine.yaml").write_text(SPEC, encoding="utf-8")
    (tmp_path / "drops.csv").write_text(DROPS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)

    code = main([verb, "nine.yaml"])

    assert code == 1
    assert "9 faults; nothing was written" in capsys.readouterr().err
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["drops.csv", "nine.yaml"]
