"""Collecting reports what became of every file and row, and decisions are told apart from mistakes."""

from __future__ import annotations

import io
import os
from dataclasses import replace
from pathlib import Path

import docx
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from estimator.field.batches import read_folder
from estimator.field.collect import collect, folder_of, ids_of
from estimator.field.decide import decide
from estimator.field.preview import media_of
from estimator.field.rows import Decision
from estimator.spec.faults import ProblemError
from estimator.spec.load import load
from estimator.spec.model import Project
from tests.acceptance.job import job
from tests.field.test_batches import state
from tests.field.workbooks import COAX, book, coax, whole_head

SPEC = """\
dropledger: 1
project: {name: Two cameras}
rooms: [{id: 1A, floor: "1"}]
cables: [{id: c6, type: cat6_utp_plenum}]
devices: [{id: jack, name: Jack, system: data, cable: c6}]
drops: [{id: 1A-A01..1A-A03, room: 1A, device: jack, length: 120 ft}]
"""


@pytest.fixture
def project(tmp_path: Path) -> Project:
    """Return a small job in a folder of its own."""
    (tmp_path / "job").mkdir()
    path = tmp_path / "job" / "two.yaml"
    path.write_text(SPEC)
    loaded = load(path)
    assert loaded.project is not None, loaded.faults
    return loaded.project


def written(tmp_path: Path, name: str, data: bytes) -> Path:
    """Return a file as it came from the crew."""
    path = tmp_path / name
    path.write_bytes(data)
    return path


def decision(kind: str = "void", target: str = "", **more: str) -> Decision:
    """Return a decision with everything said."""
    made = Decision(kind=kind, target=target, reason="wrong panel", name="A. Field", role="owner", date="2026-03-04")
    return replace(made, **more)  # type: ignore[arg-type]


def test_every_file_and_row_is_accounted_for(tmp_path: Path, project: Project) -> None:
    good = coax([["1a-a01", 1, "clear"], ["1A-A02", 1], ["1A-A99", 1, "short", 88], [None, 2, "clear"]])
    files = [
        written(tmp_path, "good.xlsx", good),
        written(tmp_path, "again.xlsx", good),
        written(tmp_path, "empty form.xlsx", coax([["1A-A01", 1]])),
        written(tmp_path, "photo.jpg", b"\xff\xd8"),
    ]
    report = collect(project, files)
    assert [(sheet.file, sheet.tab, sheet.medium, sheet.rows, sheet.untouched) for sheet in report.taken] == [
        ("good.xlsx", "Coax", "coax", 3, 1)
    ]
    assert [(known.file, known.batch) for known in report.known] == [("again.xlsx", report.taken[0].batch)]
    assert [aside.file for aside in report.aside] == ["empty form.xlsx", "photo.jpg"]
    assert [str(row) for row in report.no_circuit] == [
        "good.xlsx, sheet Coax, row 4: circuit '1A-A99' is not in the project, nearest is '1A-A03'; the row is kept",
        "good.xlsx, sheet Coax, row 5: the row names no circuit; it is kept",
    ]
    assert report.faults == ()
    stored = read_folder(folder_of(project))
    assert [row.circuit for row in stored.rows] == ["1a-a01", "1A-A99", ""]
    assert folder_of(project) == tmp_path / "job" / "two.readings"


def test_blank_sheets_of_a_form_are_one_short_line(tmp_path: Path, project: Project) -> None:
    """The form has a sheet a medium; a crew fills in what it tested."""

    def form(filled: bool) -> bytes:
        def fill(page: Worksheet) -> None:
            page.append(COAX)
            page.append(["1A-A01", 1, "clear" if filled else None])
            for medium in ("fiber", "bonding"):
                other = page.parent.create_sheet(medium.capitalize())
                other.append(whole_head(medium))

        return book(fill)

    report = collect(project, [written(tmp_path, "form.xlsx", form(True)), written(tmp_path, "no.xlsx", form(False))])
    assert [str(blank) for blank in report.not_filled] == ["form.xlsx: sheets Fiber, Bonding"]
    assert [str(aside) for aside in report.aside] == [
        "no.xlsx: no row of its 3 sheets holds a reading; expected at least one reading, note or evidence; "
        "fill the sheet in"
    ]


def test_strands_are_known_circuits(tmp_path: Path) -> None:
    """A strand may be typed with its cable, in any case."""
    path = tmp_path / "f.yaml"
    fiber = "{id: 1A/1B-1, from: 1A, to: 1B, cable: of_12_om4_ofnp, length: 9 m, reference: one_cord}"
    path.write_text(SPEC.replace('{id: 1A, floor: "1"}', "{id: 1A}, {id: 1B}") + f"backbone: [{fiber}]\n")
    loaded = load(path)
    assert loaded.project is not None, loaded.faults
    assert {"1A/1B-1", "1A/1B-1.1", "1A/1B-1.12"} <= set(ids_of(loaded.project))
    made = decide(loaded.project, decision("waive", "1a/1b-1.7", reference="L-1"))
    assert [one.target for one in read_folder(folder_of(loaded.project)).decisions] == ["1A/1B-1.7"]
    assert made.new


@pytest.mark.parametrize(
    ("kind", "role", "wrong"),
    [("accept", "owner", "a marginal result of life-safety circuit 'NAC-1'"), ("waive", "own_lead", "our own lead")],
)
def test_signatures_that_never_count_are_refused(kind: str, role: str, wrong: str, tmp_path: Path) -> None:
    """An own lead can't sign for the owner, and nobody accepts a marginal life-safety result."""
    project = job(tmp_path)[0]
    with pytest.raises(ProblemError, match=wrong):
        decide(project, decision(kind, "nac-1", role=role, reference="L-1"))
    assert decide(project, decision("waive", "nac-1", reference="L-1")).new


def test_collecting_again_changes_nothing(tmp_path: Path, project: Project) -> None:
    files = [written(tmp_path, f"{n}.xlsx", coax([[f"1A-A0{n}", 1, "clear"]])) for n in (1, 2)]
    first = collect(project, files)
    before = state(folder_of(project))
    again = collect(project, list(reversed(files)))
    assert state(folder_of(project)) == before
    assert (len(first.taken), len(first.known)) == (2, 0)
    assert (len(again.taken), len(again.known)) == (0, 2)


def test_remarks_carry_their_place(tmp_path: Path, project: Project) -> None:
    head = [*COAX, "Mood"]
    report = collect(project, [written(tmp_path, "s.xlsx", coax([["1A-A01", 1, "=B2", 88]], head))])
    assert [str(note) for note in report.notes] == [
        "s.xlsx, sheet Coax, row 1: column H: head 'Mood' is not known, its cells are not judged",
        "s.xlsx, sheet Coax, row 2: column C: a formula stands in a column for readings, no value is stored",
    ]


def test_known_circuits_can_be_handed_in(tmp_path: Path, project: Project) -> None:
    path = written(tmp_path, "s.xlsx", coax([["1A/2A-1.3", 1, "clear"]]))
    assert collect(project, [path], ["1A/2A-1.3"]).no_circuit == ()
    assert ids_of(project) == ("1A-A01", "1A-A02", "1A-A03")


def test_a_damaged_batch_is_in_the_report(tmp_path: Path, project: Project) -> None:
    path = written(tmp_path, "s.xlsx", coax([["1A-A01", 1, "clear"]]))
    collect(project, [path])
    (batch,) = (folder_of(project) / "batches").iterdir()
    batch.write_bytes(b"{}")
    other = written(tmp_path, "t.xlsx", coax([["1A-A02", 1, "clear"]]))
    report = collect(project, [other])
    assert report.rows == 1
    assert [fault.place.file for fault in report.faults] == [batch.as_posix()]


def test_a_decision_is_stored_with_its_target_written_out(tmp_path: Path, project: Project) -> None:
    batch = collect(project, [written(tmp_path, "s.xlsx", coax([["1A-A09", 1, "clear"]]))]).taken[0].batch
    decide(project, decision("void", batch[:6].upper()))
    decide(project, decision("restore", f"{batch[:8]}:Coax:2"))
    decide(project, decision("remap", "1a-a09", to="1a-a03"))
    decide(project, decision("accept", "1a-a02", reference="letter 7"))
    made = read_folder(folder_of(project)).decisions
    assert [(one.kind, one.target, one.to) for one in made] == [
        ("void", batch[:12], ""),
        ("restore", f"{batch[:12]}:Coax:2", ""),
        ("remap", "1a-a09", "1A-A03"),
        ("accept", "1A-A02", ""),
    ]
    again = written(tmp_path, "t.xlsx", coax([["1A-A09", 2, "clear"]]))
    assert collect(project, [again]).no_circuit == ()  # the re-mapping speaks for it


@pytest.mark.parametrize(
    ("made", "told"),
    [
        (decision("undo", "x"), "a decision can't be 'undo'"),
        (decision("void", "abcdef"), "'abcdef' points at no batch"),
        (decision("void", "*"), "'*' points at no batch"),
        (decision("void", ""), "the decision has no target"),
        (decision("void", "abcdef", reason=" "), "the decision has no reason"),
        (decision("void", "abcdef", role="boss"), "role 'boss' is not known"),
        (decision("void", "abcdef", date="3/4/26"), "'3/4/26' is no date"),
        (decision("remap", "1A-A01"), "the decision has no to"),
        (decision("accept", "1A-A01"), "the decision has no reference"),
        (decision("waive", "1A-A77", reference="letter 7"), "circuit '1A-A77' is not in the project"),
    ],
)
def test_a_decision_that_lacks_something_is_refused(project: Project, made: Decision, told: str) -> None:
    with pytest.raises(ProblemError) as refused:
        decide(project, made)
    assert refused.value.wrong == told
    assert not folder_of(project).exists()


def test_a_row_that_is_not_there_cannot_be_voided(tmp_path: Path, project: Project) -> None:
    batch = collect(project, [written(tmp_path, "s.xlsx", coax([["1A-A01", 1, "clear"]]))]).taken[0].batch
    with pytest.raises(ProblemError) as refused:
        decide(project, decision("void", f"{batch[:12]}:Coax:3"))
    assert refused.value.wrong == f"'{batch[:12]}:Coax:3' points at no row"
    assert refused.value.mend == f"write {batch[:12]}:Coax:2"


def csv(tmp_path: Path, name: str, *lines: str) -> Path:
    """Return a sheet typed by hand."""
    return written(tmp_path, name, "\n".join(lines).encode())


def test_cells_of_no_use_are_named_with_their_place(tmp_path: Path, project: Project) -> None:
    """Judging will not use them: the crew hears of it while it is still on site."""
    sheet = csv(
        tmp_path, "a.csv", "Circuit,Round,Wire map,Length 1-2 [ft],Date",
        "1A-A01,one,passed,one eighteen,19.11.2026", '1A-A02,2nd,pass,"118\' 6""",11/19/2026',
    )  # fmt: skip
    assert [str(note) for note in collect(project, [sheet]).notes] == [
        "a.csv, row 2: Wire map: 'passed' is none of pass, open, short, reversed, crossed, split, fail",
        "a.csv, row 2: Length 1-2: 'one eighteen' is no number with a decimal point",
        "a.csv, row 2: round 'one' is no number; the row has no round",
        "a.csv, row 2: date '19.11.2026' is no date with the order mdy; the row has no date",
        "a.csv, row 3: round '2nd' is read as 2",
    ]


def test_many_cells_alike_are_counted(tmp_path: Path, project: Project) -> None:
    """A whole sheet of dates in the other order is no page of notes."""
    rows = [f"1A-A01,{number},pass,31.12.2026" for number in range(1, 31)]
    notes = collect(project, [csv(tmp_path, "a.csv", "Circuit,Round,Wire map,Length 1-2 [ft]", "", *rows)]).notes
    assert len(notes) == 11
    assert str(notes[-1]) == "a.csv, row 32: Length 1-2: 20 more cells down to here can't be used"


def test_rows_that_were_collected_before_are_counted(tmp_path: Path, project: Project) -> None:
    """A sheet saved again with one row added says so."""
    head, one, two = "Circuit,Round,Wire map,Length 1-2 [ft]", "1A-A01,1,pass,118", "1A-A02,1,pass,119"
    first = collect(project, [csv(tmp_path, "a.csv", head, one)])
    again = collect(project, [csv(tmp_path, "b.csv", head, one, two)])
    assert [(sheet.rows, sheet.repeats) for sheet in (*first.taken, *again.taken)] == [(1, 0), (2, 1)]


def test_circuits_tell_the_medium_where_the_heads_do_not(tmp_path: Path, project: Project) -> None:
    """Wire map and length fit links and voice lines; these circuits are links."""
    head = "Circuit,Round,Wire map,Length [ft]"
    report = collect(project, [csv(tmp_path, "a.csv", head, "1a-a01,1,pass,118", "1A-A99,1,pass,118")])
    assert [sheet.medium for sheet in report.taken] == ["balanced_pair"]
    strangers = collect(project, [csv(tmp_path, "b.csv", head, "1A-A98,1,pass,118")])
    assert [aside.wrong for aside in strangers.aside] == ["the heads fit 2 field sheets (balanced_pair, voice)"]


def test_every_circuit_of_a_job_has_its_medium(tmp_path: Path) -> None:
    """The preview's table and the criteria say the same."""
    project, _, criteria = job(tmp_path)
    media = media_of(project)
    assert {one.circuit.casefold(): one.medium for one in criteria} == media


def test_only_regular_files_are_opened(tmp_path: Path, project: Project) -> None:
    """A pipe would be waited for, a device never ends."""
    os.mkfifo(tmp_path / "pipe.csv")
    report = collect(project, [tmp_path / "pipe.csv", Path("/dev/zero"), tmp_path, Path(".")])
    assert [(aside.file, aside.wrong) for aside in report.aside] == [
        ("pipe.csv", "it is not a regular file"),
        ("zero", "it is not a regular file"),
        (tmp_path.name, "it is a folder"),
        (".", "it is a folder"),
    ]


def test_a_letter_is_no_field_sheet(tmp_path: Path, project: Project) -> None:
    """A Word document with the ending of a workbook is named for what it is."""
    made = io.BytesIO()
    docx.Document().save(made)
    report = collect(project, [written(tmp_path, "letter.xlsx", made.getvalue())])
    assert [aside.wrong for aside in report.aside] == ["the archive holds a Word document"]
    assert report.taken == ()
