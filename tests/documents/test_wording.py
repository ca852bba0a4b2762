"""Wording: the templates that come along, those of a user, and what a bad one is answered with."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from estimator.documents import wording
from estimator.documents.description import Paragraph, Section
from estimator.documents.wording import WordingError, render, sections

ROOT = Path(__file__).parents[2]
NAMES = {
    "binder_fire_alarm",
    "binder_incomplete",
    "binder_intro",
    "calc_cautions",
    "proposal_acceptance",
    "proposal_scope",
    "proposal_terms",
    "readings_status",
    "testplan_procedure_balanced_pair",
    "testplan_procedure_battery",
    "testplan_procedure_coax",
    "testplan_procedure_fiber",
    "testplan_procedure_speaker",
    "testplan_procedure_two_conductor",
    "testplan_procedure_voice_line",
    "testplan_safety",
    "testplan_stop",
}
FULL = {
    "job": "Harbor Street Library",
    "number": "26-0117",
    "client": "the library district",
    "site": "1200 Harbor Street",
    "revision": "B",
    "valid_days": 45,
    "authority": "the county fire marshal",
    "edition": "NFPA 72-2019",
    "currency": "US dollars",
}


def rendered(folder: Path, text: str, **context: object) -> list[Paragraph]:
    (folder / "own.j2").write_text(text, encoding="utf-8")
    return render("own", context, folder)


def refusal(folder: Path, text: str, **context: object) -> str:
    """Return what a template is refused with, its folder taken off."""
    with pytest.raises(WordingError) as caught:
        rendered(folder, text, **context)
    assert str(caught.value) == f"{caught.value.file}:{caught.value.line}: {caught.value.message}"
    return str(caught.value).removeprefix(f"{folder}/")


# --- the wording that comes along ----------------------------------------------------------------


def test_all_wording_is_there() -> None:
    assert set(wording.names()) >= NAMES


@pytest.mark.parametrize("name", wording.names())
@pytest.mark.parametrize("context", [{}, dict.fromkeys(FULL, ""), FULL], ids=["empty", "blank", "full"])
def test_every_template_renders_whatever_is_known(name: str, context: dict[str, object]) -> None:
    paragraphs = render(name, context)
    assert paragraphs
    for paragraph in paragraphs:
        assert "  " not in paragraph.text
        assert not any(sign in paragraph.text for sign in ("{", "}", " .", " ,", "\n", "\ue000", "\ue001"))
        assert paragraph.text[-1] in ".:" or paragraph.lead in ("bullet", "heading")


def test_values_find_their_place() -> None:
    said = " ".join(paragraph.text for paragraph in render("proposal_terms", FULL))
    assert "All amounts are in US dollars." in said
    assert "within 45 days of its date" in said


def test_every_testplan_procedure_is_numbered_steps() -> None:
    for name in sorted(NAMES):
        if name.startswith("testplan_procedure_"):
            assert sum(paragraph.lead == "number" for paragraph in render(name, {})) >= 6


def test_life_safety_wording_defers_to_the_authority() -> None:
    for name in ("binder_fire_alarm", "binder_intro", "calc_cautions", "proposal_scope", "testplan_safety"):
        assert any("authority having jurisdiction" in paragraph.text for paragraph in render(name, {}))


# --- how lines are read --------------------------------------------------------------------------


def test_marks_make_the_voices(tmp_path: Path) -> None:
    text = (
        "plain\ngoes on\n\n! care\nmore care\n!! danger\n> note\n"
        "* one\n* two\n1. first\n7. second\n: list:\n# Head\nbody\n"
    )
    assert rendered(tmp_path, text) == [
        Paragraph("plain goes on", "body"),
        Paragraph("care more care", "caution"),
        Paragraph("danger", "warning"),
        Paragraph("note", "note"),
        Paragraph("one", "bullet"),
        Paragraph("two", "bullet"),
        Paragraph("first", "number"),
        Paragraph("second", "number"),
        Paragraph("list:", "lead"),
        Paragraph("Head", "heading"),
        Paragraph("body", "body"),
    ]


def test_a_line_emptied_by_its_condition_does_not_part_a_paragraph(tmp_path: Path) -> None:
    text = (
        "Work\n{% if site is defined %}at {{ site }}{% endif %}\nfor you.\n"
        "{% if site is defined %}\n\nMore.\n{% endif %}\n"
    )
    assert rendered(tmp_path, text) == [Paragraph("Work for you.")]
    assert rendered(tmp_path, text, site="Pier 4") == [Paragraph("Work at Pier 4 for you."), Paragraph("More.")]


def test_a_backslash_makes_a_mark_plain_text(tmp_path: Path) -> None:
    assert rendered(tmp_path, "\\* stands for a footnote\n") == [Paragraph("* stands for a footnote")]


@pytest.mark.parametrize("value", ["! run", "# Top", "a\n\n! b", "1. x", "{{ 7 * 7 }}", "\ue000! y"])
def test_a_value_is_text_and_never_a_mark_or_a_line(tmp_path: Path, value: str) -> None:
    flat = " ".join(value.replace("\ue000", "").split())
    assert rendered(tmp_path, "{{ job }}\n", job=value) == [Paragraph(flat)]


def test_dates_are_written_as_us_letters_do(tmp_path: Path) -> None:
    assert rendered(tmp_path, "On {{ day }}.", day=date(2026, 3, 1)) == [Paragraph("On March 1, 2026.")]


def test_headings_part_the_wording_into_sections() -> None:
    said = [Paragraph("a"), Paragraph("Head", "heading"), Paragraph("b", "bullet")]
    assert sections(said, "Top", blocks=(Paragraph("z"),)) == (
        Section(title="Top", blocks=(Paragraph("a"), Paragraph("z"))),
        Section(title="Head", blocks=(Paragraph("b", "bullet"),), level=2),
    )


# --- a folder of the user's own ------------------------------------------------------------------


def test_a_user_s_file_comes_first_and_the_others_stay(tmp_path: Path) -> None:
    (tmp_path / "binder_intro.j2").write_text("Ours.\n", encoding="utf-8")
    assert render("binder_intro", {}, tmp_path) == [Paragraph("Ours.")]
    assert render("readings_status", {}, tmp_path) == render("readings_status", {})


def test_a_misspelt_file_is_found(tmp_path: Path) -> None:
    for name in ("binder_intro.j2", "bindr_intro.j2"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    assert wording.strays(tmp_path) == ("bindr_intro.j2",)


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(WordingError, match=r"nowhere:1: no such folder of templates$"):
        render("binder_intro", {}, tmp_path / "nowhere")


@pytest.mark.parametrize("name", ["../secret", "/etc/passwd", "a.j2", "", "A"])
def test_a_name_cannot_lead_out_of_the_folder(name: str) -> None:
    with pytest.raises(ValueError, match="not a name of a template"):
        render(name, {})


# --- what a bad template is answered with --------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Fine.\n{% if x %}\n", "own.j2:2: "),
        ("a\n\n!\n", 'own.j2:3: a mark "!" without text'),
        ("a\n  1.  \n", 'own.j2:2: a mark "1." without text'),
        ("a\nb {{ cleint }}\n", 'own.j2:2: no value "cleint"; values: client, job; ask first with "is defined"'),
        ("a\n\n\n{{ job / 2 }}\n", "own.j2:4: TypeError: unsupported operand type(s) for /: 'str' and 'int'"),
        ("{{ 1 / 0 }}", "own.j2:1: ZeroDivisionError: division by zero"),
        ("a\n{% include 'lost.j2' %}\n", 'own.j2:2: no template "lost.j2" to include'),
    ],
)
def test_a_fault_names_file_line_and_what_is_wrong(tmp_path: Path, text: str, said: str) -> None:
    answer = refusal(tmp_path, text, job="J", client="C")
    assert answer == said or (said.endswith(": ") and answer.startswith(said) and len(answer) > len(said))


def test_a_byte_that_is_not_utf_8_is_placed(tmp_path: Path) -> None:
    (tmp_path / "own.j2").write_bytes(b"one\ntwo caf\xe9\n")
    with pytest.raises(WordingError) as caught:
        render("own", {}, tmp_path)
    assert (caught.value.line, caught.value.message) == (2, "not UTF-8: byte 0xE9")


@pytest.mark.parametrize(
    "text",
    [
        "{{ job.__class__.__mro__ }}",
        "{{ job.upper.__globals__ }}",
        "{{ job.upper() }}",
        "{{ 'a' * 1000000000 }}",
        "{{ 9 ** 9 ** 9 }}",
        "{{ '%999999999d' % 1 }}",
        "{{ 'a' | center(999999999) }}",
        "{% for i in range(999999) %}x{% endfor %}",
        "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
        "{% include 'own.j2' %}",
    ],
)
def test_a_template_can_neither_reach_out_nor_grow_without_end(tmp_path: Path, text: str) -> None:
    assert refusal(tmp_path, f"fine\n{text}\n", job="J").startswith("own.j2:2: ")


# Text that grows without a loop: each of the filters makes it a hundred times as long.
GROWING = "{{ job" + "".join("|replace('J', '" + "J" * 100 + "')" for _ in range(5)) + " }}"
# A loop in a loop in a loop that writes nothing.
ENDLESS = (
    "{% set line = '" + "x" * 3000 + "' %}"
    "{% for a in line %}{% for b in line %}{% for c in line %}{% endfor %}{% endfor %}{% endfor %}"
)


@pytest.mark.parametrize(
    ("text", "said"),
    [(ENDLESS, "takes longer than 1 s"), (GROWING, "needs more memory than it may have")],
    ids=["endless", "growing"],
)
def test_a_template_that_takes_too_much_is_stopped_at_its_line(
    tmp_path: Path, text: str, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten seconds in earnest; one here, so that nobody waits."""
    pytest.importorskip("resource", reason="this system can't limit a process")
    monkeypatch.setattr("estimator.documents.wording_child.MOST_S", 1)
    assert refusal(tmp_path, f"fine\n\n{text}\n", job="J") == f"own.j2:3: {said}"


def test_a_template_that_leads_out_of_its_folder_is_refused(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (tmp_path / "secret.txt").write_text("secret", encoding="utf-8")
    (own / "binder_intro.j2").symlink_to(tmp_path / "secret.txt")
    with pytest.raises(WordingError, match=r"binder_intro.j2:1: is a link that leads out of its folder$"):
        render("binder_intro", {}, own)
    (own / "binder_intro.j2").unlink()
    (own / "binder_intro.j2").write_text("{% include '../secret.txt' %}\n", encoding="utf-8")
    with pytest.raises(WordingError, match=r'binder_intro.j2:1: no template "../secret.txt" to include$'):
        render("binder_intro", {}, own)


def test_a_template_may_not_be_huge(tmp_path: Path) -> None:
    assert refusal(tmp_path, "x" * 200_001) == "own.j2:1: longer than 200,000 bytes"


# --- the installed package -----------------------------------------------------------------------


def test_every_room_and_the_wording_are_in_the_wheel() -> None:
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    rooms = {".".join(path.parent.relative_to(ROOT).parts) for path in ROOT.glob("estimator/**/__init__.py")}
    assert set(setup["packages"]) == rooms | {"estimator.wording", "estimator.demo"}
    assert setup["package-dir"] == {"estimator.wording": "templates", "estimator.demo": "specs/library"}
    assert setup["package-data"]["estimator.wording"] == ["*.j2"]
