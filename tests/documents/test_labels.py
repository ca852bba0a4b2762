"""Labels: both ends of each cable, on the grid of the paper, never outside their label, with a code that reads."""

from __future__ import annotations

import csv
import io
import subprocess
import zipfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.cli.labels import label_files
from estimator.cli.main import main
from estimator.documents.label_fit import SMALLEST_PT, fitted, width_pt
from estimator.documents.label_sheets import LabelError, write_labels
from estimator.documents.labels import HEADS, Label, all_labels, form_line, label_list, labels_for
from estimator.spec.labels import LabelSheet, grid_of
from estimator.spec.load import load
from tests.documents.job_sample import circuits, project, takeoff
from tests.documents.pages import LEFT_OUT, Page, Word, printed
from tests.documents.recalculate import program

PT_M = 0.0254 / 72
DRIFT_PT = 0.5  # edges are rounded to a twentieth of a point; letters have some air at their sides


def known() -> tuple[Label, ...]:
    return all_labels(takeoff(), circuits())


def sheet(name: str) -> LabelSheet:
    return next(one for one in project().labels if one.id == name)


# --- what stands on them -------------------------------------------------------------------------


def test_every_cable_has_a_label_at_each_end() -> None:
    """ANSI/TIA-606: both ends carry the same identifier; each says where the other is."""
    ends = Counter((one.identifier, one.end) for one in known() if one.kind == "cable")
    wanted = {(length.id, end) for length in takeoff().footage.lengths for end in ("room end", "far end")}
    assert ends == Counter(wanted)
    assert all(one.to for one in known() if one.kind == "cable")


@pytest.mark.parametrize(
    ("identifier", "near", "far"),
    [
        ("1A-A01", "to 1-E-01", "to 1A panel A"),
        ("1A-B06", "to reading room", "to 1A panel B"),
        ("NAC-1", "to NA-6", "to 1A FACU-1"),
        ("1A/2A-1", "to 2A", "to 1A"),
    ],
)
def test_each_end_names_the_other(identifier: str, near: str, far: str) -> None:
    own = [one.line("to") for one in known() if one.kind == "cable" and one.identifier == identifier]
    assert own == [near, far]


def test_every_taken_port_and_every_jack_has_a_label() -> None:
    ports = [one.here for one in known() if one.kind == "port"]
    assert ports == [f"{use.room}-{use.panel}{port:02d}" for use in takeoff().panels for port, _ in use.used]
    jacks = {run.id for run in project().runs if run.device and run.device.end == "jack"}
    assert {one.identifier for one in known() if one.kind == "outlet"} == jacks


def test_it_says_how_many_links_have_the_form_of_the_standard() -> None:
    """Source: ANSI/TIA-606-A, horizontal link fs-an, example 1A-B24; confirmed."""
    line = form_line(takeoff())
    links = sum(run.cable.medium == "balanced_pair" for run in project().runs)
    assert f"{links} of {links} links are named fs-an, as ANSI/TIA-606-C lets them be." in line
    other = [replace(run, id=run.id.replace("1A-", "Z")) for run in project().runs]
    renamed = replace(takeoff(), project=replace(project(), runs=tuple(other)))
    assert "the others keep the names of the project" in form_line(renamed)


def test_the_list_is_csv_that_no_spreadsheet_evaluates() -> None:
    one = replace(known()[0], to="=1+1", here="@x")
    (head, row) = csv.reader(io.StringIO(label_list([one])))
    assert tuple(head) == HEADS
    assert row[1:4] == [one.identifier, "'=1+1", "'@x"]


# --- they fit ------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(
    texts=st.lists(st.text(alphabet="AB-1. /wWi", min_size=1, max_size=40), min_size=1, max_size=3),
    width=st.floats(20, 300),
    height=st.floats(6, 100),
)
def test_no_line_is_ever_wider_or_higher_than_its_label(texts: list[str], width: float, height: float) -> None:
    lines = fitted(texts, (width, height))
    if lines is None:
        return
    assert sum(line.height_pt for line in lines) <= height
    assert all(width_pt(line.text, line.size_pt, bold=line.bold) <= width for line in lines)
    assert all(line.size_pt >= SMALLEST_PT for line in lines)
    identifier = "".join(next((text for text in texts if text), "").split())
    assert "".join("".join(line.text for line in lines if line.bold).split()) == identifier


def test_a_long_text_wraps_before_it_shrinks_out_of_sight() -> None:
    lines = fitted(["1A-A01", "to the children's reading room"], (60.0, 40.0))
    assert lines is not None
    assert lines[0].text == "1A-A01"
    assert len(lines) > 2
    assert min(line.size_pt for line in lines) > SMALLEST_PT


def test_what_follows_the_identifier_gives_way_and_the_identifier_never_does() -> None:
    lines = fitted(["1A-A01", "x" * 400], (40.0, 12.0))
    assert lines is not None
    assert [line.text for line in lines] == ["1A-A01"]
    assert fitted(["1A-A01-with-a-very-long-name"], (10.0, 6.0)) is None


def test_a_label_too_small_for_its_identifier_is_a_fault_at_its_sheet() -> None:
    tiny = replace(sheet("wraps"), columns=60, rows=90, label_width_m=0.003, label_height_m=0.002, gap_across_m=0.0,
                   print_height_m=None)  # fmt: skip
    with pytest.raises(LabelError, match="too small for '1A-A01'; expected room for the identifier in letters of 4 pt"):
        write_labels(project(), tiny, known()[:2])


def test_a_code_too_fine_to_read_is_a_fault() -> None:
    """A code of 21 squares with a border of 4 on each side has 29 squares (ISO/IEC 18004, version 1)."""
    fine = replace(sheet("plates"), rows=40, columns=3)
    with pytest.raises(LabelError, match=r"has squares of 0\.1\d mm; expected at least 0\.25 mm"):
        write_labels(project(), fine, [one for one in known() if one.kind == "outlet"])


# --- on paper ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder with the labels of the demo."""
    folder = tmp_path_factory.mktemp("labels")
    for name, make in label_files(takeoff(), None).items():
        (folder / name).write_bytes(make())
    return folder


@pytest.fixture(scope="module")
def on_paper(written: Path) -> dict[str, list[Page]]:
    program("soffice", LEFT_OUT)
    program("pdftotext", LEFT_OUT)
    return printed(sorted(written.glob("*.docx")), written)


def box(one: LabelSheet, place: int) -> Word:
    """Return the print area of a label on its page [pt], by hand from the grid."""
    grid = grid_of(one, project().header.paper)
    row, column = divmod(place % (one.rows * one.columns), one.columns)
    left = one.margin_left_m + column * (grid.label_width_m + one.gap_across_m)
    top = one.margin_top_m + row * (grid.label_height_m + one.gap_down_m)
    sides = (left, top, left + grid.print_width_m, top + grid.print_height_m)
    return Word("", *(side / PT_M for side in sides))


@pytest.mark.parametrize("name", ["wraps", "panel-strip", "plates"])
def test_every_word_stands_inside_its_own_label(on_paper: dict[str, list[Page]], name: str) -> None:
    """Measured on the page that LibreOffice lays out; first and last label of each page are held like all others."""
    one, pages = sheet(name), on_paper[f"library-labels-{name}.docx"]
    own = labels_for(one, known())
    places = one.rows * one.columns
    assert len(pages) == -(-(len(own) + one.start - 1) // places)
    found: Counter[int] = Counter()
    for page in pages:
        for word in page.words:
            held = [
                place
                for place in range(places)
                if (area := box(one, place)).left - DRIFT_PT <= word.left
                and word.right <= area.right + DRIFT_PT
                and area.top - DRIFT_PT <= word.top
                and word.bottom <= area.bottom + DRIFT_PT
            ]
            assert len(held) == 1, (page.number, word)
            label = own[(page.number - 1) * places + held[0] - (one.start - 1)]
            said = " ".join(label.line(key) for key in one.lines)
            assert word.text in said, (page.number, word, said)
            found[(page.number - 1) * places + held[0]] += 1
    assert sorted(found) == list(range(one.start - 1, one.start - 1 + len(own)))


def test_codes_read_as_the_identifiers(written: Path, on_paper: dict[str, list[Page]], tmp_path: Path) -> None:
    """Reference: ZXing's reader, on the page as an office printer prints it, 300 dots an inch."""
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    assert on_paper["library-labels-plates.docx"]
    subprocess.run(
        [
            program("pdftoppm", LEFT_OUT),
            "-r",
            "300",
            "-gray",
            str(written / "library-labels-plates.pdf"),
            tmp_path / "p",
        ],
        check=True,
        timeout=120,
    )
    read: list[str] = []
    for picture in sorted(tmp_path.glob("*.pgm")):
        with image.open(picture) as page:
            read += [code.text for code in zxingcpp.read_barcodes(page)]
    assert Counter(read) == Counter(one.identifier for one in known() if one.kind == "outlet")


def test_every_code_tells_what_it_holds(written: Path) -> None:
    with zipfile.ZipFile(written / "library-labels-plates.docx") as archive:
        main_part = archive.read("word/document.xml").decode("utf-8")
    assert main_part.count("<w:drawing>") == main_part.count('descr="QR code of ') / 2 > 50


def test_same_labels_same_bytes(written: Path) -> None:
    for name, make in label_files(takeoff(), None).items():
        assert make() == (written / name).read_bytes(), name


# --- the verb ------------------------------------------------------------------------------------

JOB = """\
dropledger: 1
project: {name: T}
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_plenum}]
drops: [{id: DOOR-0001, room: 1A, length: 40 ft, cable: C6}]
"""


def test_without_a_sheet_only_the_lists_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    assert main(["labels", str(tmp_path / "job.yaml"), "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr()
    assert "no `labels:` block names a sheet of labels; only the lists are written" in told.err
    assert [Path(line).name for line in told.out.split()] == ["job-labels.xlsx", "job-labels.csv"]


def test_a_label_too_small_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    grid = "labels: [{id: L, columns: 60, rows: 100, margin_top: 10 mm, margin_left: 3 mm}]\n"
    (tmp_path / "job.yaml").write_text(JOB + grid, encoding="utf-8")
    assert load(tmp_path / "job.yaml").faults == ()
    assert main(["labels", str(tmp_path / "job.yaml"), "--out", str(tmp_path / "out")]) == 1
    assert "a label of sheet 'L' is too small for 'DOOR-0001'" in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
