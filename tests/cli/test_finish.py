"""Wording and base document of a company's own: what is taken, and what a bad one is answered with."""

from __future__ import annotations

from pathlib import Path

import docx
import pytest

from estimator.cli.main import main

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
