"""Collecting, deciding and looking back, as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from estimator.cli.main import main

SPEC = """\
dropledger: 1
project: {name: Two jacks}
rooms: [{id: 1A}]
cables: [{id: c6, type: cat6_utp_plenum}]
devices: [{id: jack, system: data, cable: c6}]
drops: [{id: 1A-A01..1A-A03, room: 1A, device: jack, length: 120 ft}]
acceptance:
  date_order: mdy
  instruments: [{id: T1, kind: cable tester, length_accuracy: 1 ft}]
"""
HEAD = "Circuit,Round,Wire map,Length 1-2 [ft],Date,Instrument\n"
SIGNED = ("--reason", "as agreed", "--name", "A. Owner", "--date", "2026-03-06")


class Desk:
    """A job in a folder of its own, and what the command says there."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder, self.capsys = folder, capsys
        (folder / "two.yaml").write_text(SPEC)

    def file(self, name: str, text: str) -> str:
        """Write a file that came from the crew."""
        (self.folder / name).write_text(text)
        return str(self.folder / name)

    def run(self, verb: str, *arguments: str, code: int = 0) -> str:
        """Run a verb on the job and return what it printed; its exit code is held."""
        assert main([verb, str(self.folder / "two.yaml"), *arguments]) == code
        shown = self.capsys.readouterr()
        return (shown.out if code == 0 else shown.err).replace(f"{self.folder}/", "")


@pytest.fixture
def desk(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Desk:
    """Return a job with one sheet: a fail, a marginal pass, and a stranger."""
    made = Desk(tmp_path, capsys)
    rows = "1A-A01,1,open,118,3/4/2026,T1\n1A-A02,1,pass,324.5,3/4/2026,T1\n1A-A09,1,pass,119,3/4/2026,T1\n"
    out = made.run("collect", made.file("a.csv", HEAD + rows))
    assert "no circuit: a.csv, row 4: circuit '1A-A09' is not in the project, nearest is '1A-A03'" in out
    return made


def test_a_retest_tells_what_it_supersedes_and_what_is_not_used(desk: Desk) -> None:
    """The first round stays in the history, the row that says it again counts once."""
    rows = "1A-A01,2,pass,118,3/5/2026,T1\n1A-A01,1,open,118,3/4/2026,T1\n"
    out = desk.run("collect", desk.file("b.csv", HEAD + rows)).splitlines()
    assert (
        "superseded: a.csv, row 2: 1A-A01: round 1, 2026-03-04 (fail) is history, round 2, 2026-03-05 (pass) stands"
        in out
    )
    assert "not used: b.csv, row 3: duplicate: the same as a.csv, row 2; the row is kept and not used" in out
    batch = json.loads(desk.run("readings", "--format", "json"))["batches"][0]["batch"][:12]
    more = HEAD + "1A-A01,1,open,118,3/4/2026,T1\n1A-A03,1,pass,118,3/4/2026,T1\n"
    again = desk.run("collect", desk.file("a.csv", more))
    assert f"not used: a.csv, row 2: duplicate: the same as a.csv, row 2, batch {batch}; the row" in again
    late = desk.run("collect", desk.file("c.csv", HEAD + "1A-A01,1,short,118,3/3/2026,T1\n"))
    assert "not used: c.csv, row 2: 1A-A01: round 1, 2026-03-03 is kept as history, round 2, 2026-03-05 stands" in late


def test_decisions_are_made_shown_and_undone(desk: Desk) -> None:
    """A batch or a row is void until it is restored, and the history says so."""
    batch = json.loads(desk.run("readings", "--format", "json"))["batches"][0]["batch"][:12]
    lead = (*SIGNED, "--role", "own lead")
    voided = desk.run("collect", "--void", f"{batch}:2", *lead)
    assert voided.startswith(f"decided: void {batch}:2: as agreed (A. Owner")
    assert voided.endswith("\nnow: 1A-A01: not tested\n")
    shown = desk.run("readings", "1A-A01")
    assert f"not used: a.csv, row 2; row {batch}:2: voided, as agreed (A. Owner, 2026-03-06)" in shown
    assert desk.run("collect", "--restore", f"{batch}:2", *lead).endswith("\nnow: 1A-A01: fail\n")
    assert desk.run("readings", "1A-A01").startswith("1A-A01: fail")
    assert desk.run("collect", "--void", batch, *lead).splitlines()[1:] == [
        "now: 1A-A01: not tested",
        "now: 1A-A02: not tested",
    ]
    assert f"known: a.csv was collected before, byte for byte; nothing changed; batch {batch} was voided" in desk.run(
        "collect", str(desk.folder / "a.csv")
    )
    assert f"batch {batch}: a.csv, 3 rows; void" in desk.run("readings")
    assert "decided: void" in desk.run("readings", "1A-A01")


def test_one_round_twice_says_which_row_stands(desk: Desk) -> None:
    """Round and date alone would say the same of both."""
    rows = "1A-A03,1,pass,118,3/4/2026,T1\n1A-A03,1,short,118,3/4/2026,T1\n"
    both = desk.run("collect", desk.file("e.csv", HEAD + rows))
    assert (
        "not used: e.csv, row 2: 1A-A03: round 1, 2026-03-04 is kept as history, the one of e.csv, row 3 stands" in both
    )


def test_a_table_with_other_heads_is_told_of_mappings_and_joined_in_one_line(desk: Desk) -> None:
    """An instrument's table has a row for each pair: a line for each would drown what matters."""
    table = desk.file("long.csv", "Id,Pair,Len\n" + "".join(f"1A-A0{n},{p},30\n" for n in (1, 2) for p in (12, 36)))
    assert main(["collect", str(desk.folder / "two.yaml"), table]) == 1
    assert "comes in by a mapping file (--mapping)" in desk.capsys.readouterr().out
    cases = "{'12': length_12, '36': length_36}"
    mapping = desk.file(
        "long.yaml",
        "mapping: 1\nmedium: balanced_pair\ncircuit: {heads: [Id]}\n"
        f"columns: [{{head: Len, by: Pair, cases: {cases}, unit: m}}]\n",
    )
    notes = [line for line in desk.run("collect", table, "--mapping", mapping).splitlines() if "join" in line]
    assert notes == [
        "note: long.csv: 4 rows of the table are 2 rows: those of one circuit, round and moment are joined"
    ]


def test_a_circuit_is_remapped(desk: Desk) -> None:
    """The row as typed stays; it counts for the circuit it belongs to."""
    desk.run("collect", "--remap", "1a-a09", "1a-a03", *SIGNED, "--role", "own_lead")
    shown = desk.run("readings", "1A-A03").splitlines()
    assert shown[0] == "1A-A03: pass"
    assert shown[-1].startswith("  decided: remap 1a-a09 to 1A-A03: as agreed (A. Owner, own lead, 2026-03-06); batch ")


def test_a_marginal_result_is_accepted_by_the_clients_side_alone(desk: Desk) -> None:
    """Refusals are one line each: what is wrong, what was expected, how to mend it."""
    accept = ("--accept", "1a-a02", *SIGNED)
    assert desk.run("collect", *accept, "--role", "owner", code=1) == (
        "the decision has no reference; expected a reference; say it: others will ask\n"
    )
    paper = ("--reference", "letter 7")
    assert desk.run("collect", *accept, *paper, "--role", "own_lead", code=1) == (
        "circuit '1A-A02' is decided by our own lead; expected the client's side; "
        "let owner, engineer, authority or general contractor decide\n"
    )
    assert desk.run("collect", *accept, *paper, "--role", "owner", "--test", "lenght", code=1).startswith(
        "test 'lenght' is not known; expected one of wire_map, length"
    )
    assert desk.run("readings", "1A-A02").startswith("1A-A02: marginal pass")
    said = desk.run("collect", *accept, *paper, "--role", "Owner", "--test", "length")
    assert said.endswith("now: 1A-A02: marginal pass, accepted\n")
    first = desk.run("readings", "1A-A02").splitlines()[0]
    assert first.endswith("accepted by A. Owner, 2026-03-06")
    batch = said.splitlines()[0].rpartition(" ")[2]
    withdrawn = desk.run("collect", "--void", batch, *SIGNED, "--role", "owner")
    assert withdrawn.endswith("\nnow: 1A-A02: marginal pass\n")
    shown = desk.run("readings", "1A-A02")
    assert "accepted by" not in shown.splitlines()[0]
    assert (
        f"  withdrawn: accept 1A-A02, length alone: as agreed (A. Owner, owner, 2026-03-06, letter 7); batch {batch}"
        in shown
    )
    assert desk.run("collect", "--accept", "1A-A03", *SIGNED, *paper, "--role", "owner").endswith(
        "now: 1A-A03: not tested; there is nothing to accept yet\n"
    )
    assert "a waiver covers what was not tested" in desk.run(
        "collect", "--waive", "1A-A01", *SIGNED, *paper, "--role", "owner"
    )
    desk.run("collect", "--waive", "1A-A03", *SIGNED, *paper, "--role", "engineer")
    assert desk.run("readings", "1A-A03").startswith("1A-A03: waived, as agreed")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "collect: name a sheet"),
        (("--void", "a", "--restore", "b"), "--void and --restore: one decision at a time"),
        (("--void", "a", "x.csv"), "--void stands alone"),
        (("x.csv", "--reason", "y"), "--reason belongs to a decision"),
        (("x.csv", "--mapping", "m.yaml", "--lengths", "ft"), "--lengths: the mapping names the unit"),
        (("x.csv", "--colour", "red"), "unrecognized arguments: --colour red"),
    ],
)
def test_wrong_usage_is_exit_code_two(desk: Desk, arguments: tuple[str, ...], told: str) -> None:
    """Before anything is opened."""
    assert told in desk.run("collect", *arguments, code=2)


def test_a_mapping_brings_an_instruments_table(desk: Desk) -> None:
    """A fault of the mapping is told with its place and nothing is taken; the same table read otherwise is refused."""
    table = desk.file("t.csv", "Label;Verdict;m\n1A-A03;OK;35,5\n")
    columns = "columns: [{head: Verdict, is: wire_map, words: {pass: [OK]}}, {head: m, is: length, unit: m}]\n"
    text = "mapping: 1\nmedium: balanced_pair\ndecimals: comma\ncircuit: {heads: [Label]}\n" + columns
    wrong = desk.file("w.yaml", text.replace("medium", "medum"))
    told = desk.run("collect", table, "--mapping", wrong, code=1)
    assert "w.yaml:2:1: key `medum` is not known here" in told
    assert told.endswith("2 faults in the mapping; nothing was taken\n")
    desk.run("collect", table, "--mapping", desk.file("m.yaml", text))
    assert "Length: 35,5 m: pass" in desk.run("readings", "1A-A03")
    other = desk.file("o.yaml", text + "ignore: [x]\n")
    assert main(["collect", str(desk.folder / "two.yaml"), table, "--mapping", other]) == 1
    assert "the file was collected before and read in another way, as batch" in desk.capsys.readouterr().out


def test_a_wrong_correction_is_not_silent(desk: Desk) -> None:
    """It replaces nothing, and both verbs say so until it is mended."""
    typed = f"corrects: {{}}\n{HEAD}1A-A01,1,pass,118,3/4/2026,T1\n"
    told = desk.run("collect", desk.file("w.csv", typed.format("b.csv")))
    assert "note: w.csv: `corrects: b.csv` names no sheet collected before" in told
    assert "`corrects: b.csv` names no sheet collected before" in desk.run("readings")
    right = desk.run("collect", desk.file("r.csv", typed.format("a.csv")))
    assert "names no sheet" not in right
    assert "not used: a.csv, row 2; row " in desk.run("readings", "1A-A01")


def test_history_of_a_stranger_and_of_nothing(desk: Desk) -> None:
    """A circuit without readings says so; one that isn't in the job is refused with the nearest."""
    assert desk.run("readings", "1A-A03") == "1A-A03: not tested\n  nothing was read or decided\n"
    assert desk.run("readings", "1A-A1", code=1) == (
        "circuit '1A-A1' is not in the job; expected the id of a circuit; write 1A-A01\n"
    )
    whole = desk.run("readings").splitlines()
    assert whole[0] == "1A-A01: fail; 1 round"
    assert whole[2].startswith("not used: a.csv, row 4; row ")
    assert whole[-1] == "2 circuits of 3 with readings or decisions"
