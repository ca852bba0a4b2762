"""Wording and base document of a company's own: what is taken, and what a bad one is answered with."""

from __future__ import annotations

import shutil
from pathlib import Path

import docx
import pikepdf
import pytest

from estimator.cli.main import main
from tests.documents.pages import LEFT_OUT
from tests.documents.recalculate import program

ROOT = Path(__file__).parents[2]
TEN = ROOT / "specs" / "small" / "ten.yaml"
LIBRARY = ROOT / "specs" / "library" / "library.yaml"


def texts(path: Path) -> list[str]:
    return [one.text for one in docx.Document(str(path)).paragraphs]


# --- wording -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("verb", "template", "document"),
    [
        ("estimate", "proposal_terms", "ten-proposal.docx"),
        ("estimate", "calc_cautions", "ten-calculations.docx"),
        ("criteria", "testplan_stop", "ten-test-plan.docx"),
        ("criteria", "phone_page", "ten-field-page.html"),
        ("closeout", "binder_intro", "ten-binder.docx"),
        ("closeout", "readings_status", "ten-binder.docx"),
    ],
)
def test_a_template_of_the_company_replaces_ours(verb: str, template: str, document: str, tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / f"{template}.j2").write_text("Words of the house of {{ job }}.\n", encoding="utf-8")
    assert main([verb, str(TEN), "--templates", str(own), "--out", str(tmp_path / "out")]) == 0
    made = tmp_path / "out" / document
    said = texts(made) if made.suffix == ".docx" else [made.read_text(encoding="utf-8")]
    assert any("Words of the house of Ten drops." in text for text in said)


def test_every_bad_template_is_named_at_once_and_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Files of other verbs too: a folder is mended in one go."""
    (tmp_path / "proposal_terms.j2").write_text("Fine.\n{% if job %}\n", encoding="utf-8")
    (tmp_path / "binder_intro.j2").write_text("a\n\n!\n", encoding="utf-8")
    assert main(["estimate", str(TEN), "--templates", str(tmp_path), "--out", str(tmp_path / "out")]) == 1
    own, mend = tmp_path.as_posix(), "mend it, or take the file away to have the program's own wording"
    first, second, last = capsys.readouterr().err.splitlines()
    assert first == f'{own}/binder_intro.j2:3: a mark "!" without text; {mend}'
    assert second.startswith(f"{own}/proposal_terms.j2:2: ")
    assert second.endswith(f"; {mend}")
    assert last == "2 faults in templates; nothing was written"
    assert not (tmp_path / "out").exists()


def test_a_value_that_is_not_there_is_named_with_those_that_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "proposal_terms.j2").write_text("Fine.\nFor {{ cleint }}.\n", encoding="utf-8")
    (tmp_path / "calc_cautions.j2").write_text("{{ 1 / 0 }}\n", encoding="utf-8")
    assert main(["estimate", str(TEN), "--templates", str(tmp_path), "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err.splitlines()
    assert said[0].startswith(f"{tmp_path.as_posix()}/calc_cautions.j2:1: ZeroDivisionError: division by zero; ")
    assert said[1].startswith(f'{tmp_path.as_posix()}/proposal_terms.j2:2: no value "cleint"; values: currency, ')
    assert said[2:] == ["2 faults in templates; nothing was written"]
    assert not (tmp_path / "out").exists()


def test_a_folder_that_is_not_there_is_a_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["criteria", str(TEN), "--templates", str(tmp_path / "nowhere"), "--out", str(tmp_path / "out")]) == 1
    assert capsys.readouterr().err.splitlines() == [
        f"{tmp_path.as_posix()}/nowhere:1: no such folder of templates; name the folder that holds your templates",
        "1 fault in templates; nothing was written",
    ]


def test_a_file_that_replaces_nothing_is_warned_of(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "proposal_terms.j2").write_text("Ours.\n{% include 'house.j2' %}\n", encoding="utf-8")
    (own / "house.j2").write_text("Included.\n", encoding="utf-8")
    (own / "proposal_term.j2").write_text("Never read.\n", encoding="utf-8")
    assert main(["estimate", str(TEN), "--templates", str(own), "--out", str(tmp_path / "out")]) == 0
    assert capsys.readouterr().err.splitlines() == [
        f"warning: {own.as_posix()}/proposal_term.j2: replaces no wording and is not used; "
        "did you mean proposal_terms.j2?"
    ]


# --- pages and PDFs ----------------------------------------------------------------------------------


@pytest.mark.parametrize("option", ["--pages", "--pdf"])
def test_without_libreoffice_it_says_so_and_writes_nothing(
    option: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("estimator.cli.finish.program", lambda: None)
    assert main(["estimate", str(TEN), option, "--out", str(tmp_path / "out")]) == 1
    assert capsys.readouterr().err == (
        f"dropledger: {option} needs LibreOffice, which was not found on this machine; "
        "install it, or run without --pages and --pdf; nothing was written\n"
    )
    assert not (tmp_path / "out").exists()


def test_a_libreoffice_that_makes_nothing_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    idle = shutil.which("true")
    if idle is None:
        pytest.skip("no program that does nothing on this machine")
    monkeypatch.setattr("estimator.documents.office.program", lambda: idle)
    monkeypatch.setattr("estimator.cli.finish.program", lambda: idle)
    assert main(["estimate", str(TEN), "--pdf", "--out", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err
    assert said.startswith("dropledger: LibreOffice made no PDF of ten-proposal.docx, ten-calculations.docx; try again")
    assert not (tmp_path / "out").exists()


def test_pages_and_pdfs_of_a_job(tmp_path: Path) -> None:
    """Contents carry the pages on which the PDF of the same document shows the headings."""
    program("soffice", LEFT_OUT)
    assert main(["estimate", str(LIBRARY), "--pages", "--pdf", "--out", str(tmp_path)]) == 0
    for name in ("library-proposal", "library-calculations"):
        word = docx.Document(str(tmp_path / f"{name}.docx"))
        lines = [
            one.text.split("\t") for one in word.paragraphs if one.style is not None and one.style.name[:3] == "toc"
        ]
        shown = pdf_headings(tmp_path / f"{name}.pdf")
        assert len(lines) > 10
        assert [(title, int(number)) for title, number in lines] == shown
        assert shown[0][1] == 3  # behind the cover and the contents
        assert shown[-1][1] > 5


def pdf_headings(pdf: Path) -> list[tuple[str, int]]:
    """Return the headings of a tagged PDF with their pages, by another reader than the program's own."""
    with pikepdf.open(pdf) as read:
        pages = {page.objgen: number for number, page in enumerate(read.pages, start=1)}
        marks: list[tuple[str, int]] = []
        with read.open_outline() as outline:
            stack = list(reversed(outline.root))
            while stack:
                item = stack.pop()
                assert item.destination is not None
                marks.append((item.title, pages[item.destination[0].objgen]))
                stack.extend(reversed(item.children))
        return marks
