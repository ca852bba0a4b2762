"""The Word writer, read back by other programs' eyes: python-docx, docx2python, the bare archive."""

from __future__ import annotations

import io
import re
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import docx
import pytest
from docx2python import docx2python

from estimator.documents.description import Break, Column, Document, Facts, Paragraph, Section, Table
from estimator.documents.docx_writer import write_docx
from tests.documents.word_sample import results, sample

HEADINGS = [
    (1, "About this binder"),
    (1, "Open items"),
    (1, "Price"),
    (1, "Test results"),
    (1, "Ports"),
    (2, "Port map"),
    (1, "Power"),
    (1, "Safety"),
    (2, "Light in fibers"),
    (2, "Live Power over Ethernet"),
    (2, "Energized lines"),
    (2, "Ladders and lifts"),
    (2, "Batteries"),
    (2, "Notices before fire-alarm tests"),
    (1, "Procedures"),
    (2, "Fiber"),
    (2, "Voice lines"),
    (1, "Sign-off"),
]


@pytest.fixture(scope="module")
def made() -> bytes:
    return write_docx(sample())


@pytest.fixture(scope="module")
def word(made: bytes) -> docx.document.Document:
    return docx.Document(io.BytesIO(made))


def part(made: bytes, name: str) -> str:
    return zipfile.ZipFile(io.BytesIO(made)).read(name).decode()


def document(*sections: Section, **changes: object) -> Document:
    plain = Document(
        title="Title",
        subtitle="",
        job="Job",
        number="7",
        revision="A",
        shown_date=None,
        author="",
        subject="",
        sections=sections,
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def body(*blocks: object, **changes: object) -> docx.document.Document:
    """Return the written document of one section with these blocks, read back."""
    section = Section(title="Part", blocks=blocks)  # type: ignore[arg-type]
    return docx.Document(io.BytesIO(write_docx(document(section, **changes))))


def styled(word: docx.document.Document, prefix: str) -> list[tuple[str, str]]:
    return [(one.style.name, one.text) for one in word.paragraphs if one.style.name.startswith(prefix)]


# --- headings and contents -----------------------------------------------------------------------


def test_headings_have_the_levels_of_their_sections(word: docx.document.Document) -> None:
    assert styled(word, "Heading") == [(f"Heading {level}", title) for level, title in HEADINGS]


def test_contents_repeat_all_headings_in_order(word: docx.document.Document) -> None:
    assert styled(word, "toc ") == [(f"toc {level}", title) for level, title in HEADINGS]


def test_every_line_of_the_contents_leads_to_its_heading(made: bytes) -> None:
    main = part(made, "word/document.xml")
    marks = dict(re.findall(r'<w:bookmarkStart w:id="\d+" w:name="(\w+)"/><w:r><w:t[^>]*>([^<]+)<', main))
    links = re.findall(r'<w:hyperlink w:anchor="(\w+)"[^>]*><w:r><w:t[^>]*>([^<]+)<', main)
    assert [(marks[anchor], text) for anchor, text in links] == [(title, title) for _, title in HEADINGS]


def test_an_independent_reader_sees_headings_and_links(made: bytes) -> None:
    with docx2python(io.BytesIO(made)) as read:
        text = read.text
    for _, title in HEADINGS:
        assert text.count(title) >= 2


def test_contents_field_is_filled_and_asks_nothing(made: bytes) -> None:
    main, settings = part(made, "word/document.xml"), part(made, "word/settings.xml")
    assert main.count("TOC \\o") == 1
    assert "w:dirty" not in main
    assert "updateFields" not in settings


def test_document_without_contents_has_no_field() -> None:
    assert "TOC" not in part(write_docx(document(Section(title="Part", blocks=()))), "word/document.xml")


# --- tables --------------------------------------------------------------------------------------


def test_long_table_is_parted_into_hundreds_with_a_head_each(word: docx.document.Document) -> None:
    tables = [table for table in word.tables if table.rows[0].cells[0].text == "Circuit"][:3]
    assert [len(table._tbl.tr_lst) for table in tables] == [101, 101, 32]  # a head each, a total at the end
    for table in tables:
        properties = table._tbl.tr_lst[0].trPr
        assert {child.tag.rsplit("}")[-1] for child in properties} == {"cantSplit", "tblHeader"}


def test_captions_count_tables_and_say_what_is_continued(word: docx.document.Document) -> None:
    assert [text for _, text in styled(word, "Caption")] == [
        "Table 1. Punch list",
        "Table 2. Waived items",
        "Table 3. Price by system",
        "Table 4. Test results by circuit (rows 1 to 100 of 230)",
        "Table 4, continued. Test results by circuit (rows 101 to 200 of 230)",
        "Table 4, continued. Test results by circuit (rows 201 to 230 of 230)",
        "Table 5. Ports and what they feed. Draw at the device, voltage at its input.",
    ]


def test_caption_number_is_a_field_with_its_stored_number(made: bytes) -> None:
    main = part(made, "word/document.xml")
    field = r"SEQ Table \\\* ARABIC </w:instrText></w:r>.*?separate.*?<w:t[^>]*>(\d+)</w:t>"
    assert re.findall(field, main, re.DOTALL) == ["1", "2", "3", "4", "5"]


def test_no_row_breaks_across_pages(word: docx.document.Document) -> None:
    rows = [row for table in word.tables for row in table._tbl.tr_lst]
    assert len(rows) > 250
    assert all(any(child.tag.endswith("}cantSplit") for child in row.trPr) for row in rows)


def test_columns_fill_the_width_between_the_margins(word: docx.document.Document) -> None:
    upright, across = 12240 - 2 * 1224, 15840 - 2 * 1224  # US Letter less the margins [twips]
    widths = {
        table.rows[0].cells[0].text: sum(int(column.w.twips) for column in table._tbl.tblGrid.gridCol_lst)
        for table in word.tables
    }
    assert widths["Item"] == widths["System"] == widths["Role"] == upright
    ports = [sum(int(c.w.twips) for c in t._tbl.tblGrid.gridCol_lst) for t in word.tables if len(t.columns) == 16]
    assert ports == [across]


def test_numbers_stand_right_with_the_unit_in_the_head() -> None:
    columns = (Column(key="id", head="Circuit"), Column(key="l", head="Length", kind="number", unit="ft"))
    table = body(Table(name="t", title="T", columns=columns, rows=[("A", 1234.565)])).tables[-1]
    head, row = table.rows[0].cells, table.rows[1].cells
    assert [cell.text for cell in (*head, *row)] == ["Circuit", "Length [ft]", "A", "1,234.57"]
    assert [cell.paragraphs[0].style.name for cell in (*head, *row)] == [
        "Table Head",
        "Table Head Number",
        "Table Text",
        "Table Number",
    ]


def test_total_row_adds_what_asks_for_it() -> None:
    table = body(results(3)).tables[-1]
    # 82.4 + 83.1 + 83.8 ft of the made-up circuits.
    assert [cell.text for cell in table.rows[-1].cells] == ["Total", "", "", "249.3", "", "", "", ""]


def test_empty_table_says_so_in_words() -> None:
    columns = (Column(key="id", head="Circuit"),)
    word = body(Table(name="t", title="Waived", columns=columns, rows=(), empty="Nothing was waived."))
    assert [one.text for one in word.paragraphs][-3:] == ["Part", "Table 1. Waived", "Nothing was waived."]


def test_verdicts_are_words_with_a_light_fill() -> None:
    table = body(results(7)).tables[-1]
    fills = {
        row.cells[6].text: (row.cells[6]._tc.xpath("./w:tcPr/w:shd/@w:fill") or [""])[0] for row in table.rows[1:-1]
    }
    assert set(fills) == {"pass", "marginal pass", "fail", "not tested"}
    assert fills["not tested"] == ""
    assert len({fills["pass"], fills["marginal pass"], fills["fail"]}) == 3


def test_too_many_columns_become_two_tables_that_both_start_with_the_first() -> None:
    columns = tuple(Column(key=f"c{place}", head=f"Column {place}") for place in range(40))
    word = body(Table(name="t", title="Wide", columns=columns, rows=[[f"value-{n:05d}" for n in range(40)]]))
    heads = [[cell.text for cell in table.rows[0].cells] for table in word.tables[1:]]
    assert len(heads) > 1
    assert all(head[0] == "Column 0" for head in heads)
    assert [text for head in heads for text in head[1:]] == [f"Column {place}" for place in range(1, 40)]


def test_two_thousand_rows_take_about_a_second() -> None:
    table = results(2000)
    started = time.process_time()
    write_docx(document(Section(title="Part", blocks=(table,))))
    # A second is the aim; three leave room for a machine under load, and a slow way takes minutes.
    assert time.process_time() - started < 3


# --- pages ---------------------------------------------------------------------------------------


def test_a_wide_section_lies_on_its_side_and_the_next_stands_again(word: docx.document.Document) -> None:
    assert [section.page_width > section.page_height for section in word.sections] == [False, False, True, False]


def test_cover_has_no_running_lines_and_all_others_do(word: docx.document.Document) -> None:
    heads = [section.header.paragraphs[0].text if section.header.paragraphs else "" for section in word.sections]
    line = "Harbor Street Library, low-voltage package\tNo. 26-0117 · Revision B"
    assert heads == ["", line, line, line]


def test_footer_counts_pages(made: bytes) -> None:
    footers = [name for name in zipfile.ZipFile(io.BytesIO(made)).namelist() if "footer" in name]
    assert len(footers) == 2
    for name in footers:
        text = part(made, name)
        assert " PAGE " in text
        assert " NUMPAGES " in text


def test_a4_where_asked() -> None:
    page = body(paper="a4").sections[-1]
    # Source: ISO 216, A4 is 210 mm by 297 mm; whole twips come within 0.02 mm.
    assert (page.page_width.mm, page.page_height.mm) == (pytest.approx(210, abs=0.02), pytest.approx(297, abs=0.02))


def test_a_break_at_the_very_end_makes_no_page() -> None:
    word = body(Paragraph("text"), Break.PAGE)
    assert "pageBreakBefore" not in word.element.xml
    assert "w:br " not in word.element.xml


def test_a_break_moves_what_follows_to_a_new_page() -> None:
    word = body(Paragraph("first"), Break.PAGE, Paragraph("second"))
    moved = [one.text for one in word.paragraphs if one.paragraph_format.page_break_before]
    assert moved == ["second"]


# --- voices --------------------------------------------------------------------------------------


def test_each_voice_has_a_style_and_a_word() -> None:
    leads = ("body", "lead", "note", "caution", "warning", "bullet", "number", "heading")
    word = body(*(Paragraph("text", lead) for lead in leads))  # type: ignore[arg-type]
    assert [(one.style.name, one.text) for one in word.paragraphs[-len(leads) :]] == [
        ("Normal", "text"),
        ("Lead-in", "text"),
        ("Note", "Note. text"),
        ("Caution", "Caution. text"),
        ("Warning", "Warning. text"),
        ("List Bullet", "text"),
        ("List Number", "text"),
        ("Heading 2", "text"),
    ]


def test_steps_count_on_over_a_caution_and_anew_after_text() -> None:
    leads = ("number", "caution", "number", "body", "number")
    word = body(*(Paragraph("text", lead) for lead in leads))  # type: ignore[arg-type]
    lists = [one._p.pPr.numPr.numId.val for one in word.paragraphs if one.style.name == "List Number"]
    assert lists[0] == lists[1] != lists[2]


def test_text_of_a_job_stays_text() -> None:
    nasty = 'a < b & "c" <w:br/> \x07\n=1+1'
    columns = (Column(key="a", head=nasty),)
    word = body(Paragraph(nasty), Table(name="t", title=nasty, columns=columns, rows=[(nasty,)]))
    shown = 'a < b & "c" <w:br/> \N{REPLACEMENT CHARACTER}\n=1+1'
    assert word.paragraphs[-3].text == shown
    assert [row.cells[0].text for row in word.tables[-1].rows] == [shown, shown]


def test_facts_without_rows_say_none() -> None:
    assert body(Facts(title="Batteries", rows=())).paragraphs[-1].text == "None."


# --- the package ---------------------------------------------------------------------------------


def test_same_input_same_bytes(made: bytes) -> None:
    assert write_docx(sample()) == made


def test_properties_are_the_document_s_own(word: docx.document.Document) -> None:
    core = word.core_properties
    assert (core.title, core.subject, core.author, core.last_modified_by, core.comments) == (
        "Turnover binder",
        "Closeout of the low-voltage package",
        "Northgate Low Voltage",
        "Northgate Low Voltage",
        "",
    )
    assert core.created.date() == core.modified.date() == date(2026, 3, 1)


def test_nothing_is_left_of_the_library_s_starting_document() -> None:
    archive = zipfile.ZipFile(io.BytesIO(write_docx(document())))
    names = archive.namelist()
    assert not [name for name in names if re.search("thumbnail|customXml|stylesWithEffects|fontTable", name)]
    everything = b"".join(archive.read(name) for name in names)
    for trace in (b"python-docx", b"2013-12-23", b"Macintosh", b"ja-JP", b"rsid"):
        assert trace not in everything


def test_styles_are_ours_and_in_us_english(made: bytes) -> None:
    styles = part(made, "word/styles.xml")
    assert 'w:lang w:val="en-US"' in styles
    assert "Theme=" not in styles
    assert set(re.findall(r'w:type="table"[^>]*w:styleId="(\w+)"', styles)) == {
        "TableNormal",
        "LedgerTable",
        "LedgerFacts",
        "LedgerSignOff",
    }


def used(made: bytes) -> Iterator[str]:
    for name in zipfile.ZipFile(io.BytesIO(made)).namelist():
        if re.fullmatch(r"word/(document|header\d|footer\d)\.xml", name):
            yield from re.findall(r'<w:(?:p|r|tbl)Style w:val="(\w+)"', part(made, name))


def test_every_style_in_use_is_defined(made: bytes) -> None:
    defined = set(re.findall(r'w:styleId="(\w+)"', part(made, "word/styles.xml")))
    assert set(used(made)) <= defined


def test_the_library_is_loaded_only_when_something_is_written() -> None:
    asked = "import sys, estimator.documents.docx_writer, estimator.documents.wording; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout.split()
    assert not {"docx", "lxml", "jinja2"} & set(loaded)


def test_no_gap_stands_between_a_table_and_the_end_of_its_section() -> None:
    """A gap below a table that fills its page would make an empty page of its own."""
    table = Table(name="t", title="T", columns=(Column(key="a", head="A"),), rows=[("x",)])
    sections = (Section(title="One", blocks=(table,)), Section(title="Two", blocks=(table,), landscape=True))
    word = docx.Document(io.BytesIO(write_docx(document(*sections))))
    ends = word.element.body.xpath("./w:p[w:pPr/w:sectPr]")
    assert ends
    assert not any(end.getprevious().xpath('./w:pPr/w:pStyle[@w:val="TableGap"]') for end in ends)


def test_room_goes_to_the_column_that_makes_the_table_shortest() -> None:
    """Beside a long text, one that is wrapped already needs no more room than keeps it as high."""
    columns = tuple(Column(key=key, head=key) for key in ("id", "short", "long"))
    long, short = "a reading of the meter " * 30, "words that take two or three lines " * 3
    word = body(Table(name="t", title="T", columns=columns, rows=[(f"C-{n}", short, long) for n in range(30)]))
    [_, brief, wide] = [int(column.w.twips) for column in word.tables[-1]._tbl.tblGrid.gridCol_lst]
    assert wide > 2.5 * brief
