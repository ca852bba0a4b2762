"""A company's own document as the base: what is taken, what is left behind, what is refused."""

from __future__ import annotations

import io
import random
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import docx
import pytest
from docx.shared import RGBColor

from estimator.cli.main import main
from estimator.documents.docx_base import Base, BaseError, read_base
from estimator.documents.docx_writer import write_docx
from tests.documents.company_base import HYPERLINK, add, company, letterhead, packed, with_part
from tests.documents.validity import inner_faults, schema_faults
from tests.documents.word_sample import sample

TEN = Path(__file__).parents[2] / "specs" / "small" / "ten.yaml"


def base(content: bytes, folder: Path) -> Base:
    (folder / "company.docx").write_bytes(content)
    return read_base(folder / "company.docx")


def made(content: bytes, folder: Path) -> docx.document.Document:
    """Return the sample document on a base, read back."""
    return docx.Document(io.BytesIO(write_docx(sample(3), base=base(content, folder))))


def whole(word: docx.document.Document) -> str:
    """Return every part of a document as one text."""
    out = io.BytesIO()
    word.save(out)
    archive = zipfile.ZipFile(out)
    return "\n".join(archive.read(name).decode("utf-8", errors="replace") for name in archive.namelist())


def running(word: docx.document.Document, kind: str) -> list[list[str]]:
    """Return the lines along the head or foot of each section."""
    return [[one.text for one in getattr(section, kind).paragraphs] for section in word.sections]


# --- what is taken -------------------------------------------------------------------------------


def test_styles_of_the_company_come_first_and_ours_fill_in(tmp_path: Path) -> None:
    word = made(packed(company()), tmp_path)
    styles = word.styles
    assert styles["Heading 1"].font.color.rgb == RGBColor(0xC0, 0x30, 0x10)  # type: ignore[attr-defined]
    assert {"Table Text", "Note", "Lead-in", "Ledger Table", "Running Line"} <= {style.name for style in styles}


def test_every_style_in_use_is_defined_once(tmp_path: Path) -> None:
    for content in (packed(company()), packed(letterhead())):
        text = whole(made(content, tmp_path))
        defined = re.findall(r'w:styleId="([^"]+)"', text)
        assert len(defined) == len(set(defined))
        assert set(re.findall(r'<w:(?:pStyle|rStyle|tblStyle|basedOn) w:val="([^"]+)"', text)) <= set(defined)
        assert text.count('w:type="paragraph" w:default="1"') == 1


def test_a_style_with_another_identity_is_known_by_its_name(tmp_path: Path) -> None:
    word = made(packed(letterhead()), tmp_path)
    assert [one.style.name for one in word.paragraphs if one.text == "Sign-off"] == ["toc 1", "Heading 1"]
    assert "berschrift1" not in whole(word)


def test_paper_margins_and_what_runs_along_are_the_company_s(tmp_path: Path) -> None:
    word = made(packed(company()), tmp_path)
    first, second = word.sections[:2]
    assert (first.left_margin.inches, second.top_margin.inches) == (pytest.approx(1.1), pytest.approx(1.4))
    line = "Harbor Street Library, low-voltage package\tNo. 26-0117 · Revision B"
    heads = running(word, "header")
    assert heads[0] == ["\tExample Cabling Company"]
    assert heads[1:] == [["\tExample Cabling Company", line]] * (len(heads) - 1)
    assert running(word, "footer")[1] == ["12 Example Road, Anytown", "Turnover binder · March 1, 2026\tPage 1 of 1"]
    pictures = [name for name in part_names(word) if name.startswith("word/media/base")]
    assert len(pictures) == 1


def part_names(word: docx.document.Document) -> list[str]:
    return [str(part.partname).lstrip("/") for part in word.part.package.iter_parts()]  # type: ignore[union-attr]


def test_a_first_page_of_its_own_is_the_cover_and_pages_are_counted_once(tmp_path: Path) -> None:
    word = made(packed(letterhead()), tmp_path)
    assert running(word, "header")[0] == ["Only on the first page"]
    assert running(word, "header")[1][0] == "On all others"
    assert running(word, "footer")[1] == ["Seite ", "Turnover binder · March 1, 2026\t"]
    # Source: ISO 216, A4 is 210 mm by 297 mm; whole twips come within 0.02 mm.
    assert [round(section.page_width.mm) for section in word.sections] == [210, 210, 297, 210]


def test_wide_tables_keep_to_the_margins_of_the_company(tmp_path: Path) -> None:
    word = made(packed(company()), tmp_path)
    [ports] = [table for table in word.tables if len(table.columns) == 16]
    widths = sum(int(column.w.twips) for column in ports._tbl.tblGrid.gridCol_lst)
    assert widths == 15840 - 2 * 1584  # US Letter on its side less 1.1 in on both sides [twips]


def test_lists_of_both_live_side_by_side(tmp_path: Path) -> None:
    content = packed(company())
    before = docx.Document(io.BytesIO(content)).part.numbering_part.element
    after = made(content, tmp_path).part.numbering_part.element
    assert len(after.xpath("./w:num")) > len(before.xpath("./w:num"))
    for numbers in (after.xpath("./w:num/@w:numId"), after.xpath("./w:abstractNum/@w:abstractNumId")):
        assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize("make", [company, letterhead])
def test_documents_on_a_base_keep_to_the_schemas(make: Callable[[], docx.document.Document], tmp_path: Path) -> None:
    path = tmp_path / "made.docx"
    path.write_bytes(write_docx(sample(3), base=base(packed(make()), tmp_path)))
    assert schema_faults(path) == []
    assert inner_faults(path) == []


def test_same_base_same_bytes(tmp_path: Path) -> None:
    content = packed(company())
    assert write_docx(sample(3), base=base(content, tmp_path)) == write_docx(sample(3), base=base(content, tmp_path))


def test_a_template_of_word_s_own_is_a_base_too(tmp_path: Path) -> None:
    kinds = b"wordprocessingml.document.main+xml", b"wordprocessingml.template.main+xml"
    content = with_part(packed(company()), "[Content_Types].xml", lambda part: part.replace(*kinds))
    assert running(made(content, tmp_path), "header")[0] == ["\tExample Cabling Company"]


def test_a_base_without_running_lines_gets_ours(tmp_path: Path) -> None:
    word = made(packed(docx.Document()), tmp_path)
    assert running(word, "footer")[1] == ["Turnover binder · March 1, 2026\tPage 1 of 1"]


# --- what is left behind -------------------------------------------------------------------------


def test_text_links_changes_and_comments_stay_behind(tmp_path: Path) -> None:
    word = company()
    header = word.sections[0].header
    add(header, '<w:ins {} w:id="9" w:author="A"><w:r><w:t>accepted</w:t></w:r></w:ins>')
    add(header, '<w:del {} w:id="10" w:author="A"><w:r><w:delText>taken back</w:delText></w:r></w:del>')
    link = header.part.relate_to("https://tracker.invalid/x", HYPERLINK, is_external=True)
    add(header, f'<w:hyperlink {{}} r:id="{link}"><w:r><w:t>our page</w:t></w:r></w:hyperlink>')
    add(header, '<w:r {}><w:object><w:control r:id="rId77"/></w:object></w:r>')
    done = made(packed(word), tmp_path)
    assert running(done, "header")[0] == ["\tExample Cabling Companyacceptedour page"]
    text = whole(done)
    for left in ("Dear client", "tracker.invalid", "taken back", "w:author", "w:control", "TargetMode", "customXml"):
        assert left not in text


def test_a_picture_from_outside_is_left_out(tmp_path: Path) -> None:
    word = company()
    header = word.sections[0].header
    image = HYPERLINK.replace("hyperlink", "image")
    outside = header.part.relate_to("file:///server/logo.png", image, is_external=True)
    for blip in header._element.xpath(".//a:blip"):
        blip.set("{http://schemas.openxmlformats.org/officeDocument/2006/relationships}embed", outside)
    done = made(packed(word), tmp_path)
    assert "logo.png" not in whole(done)
    assert not done.sections[0].header._element.xpath(".//w:drawing")


# --- what is refused -----------------------------------------------------------------------------


def macro(content: bytes) -> bytes:
    return with_part(content, "word/vbaProject.bin", lambda _: b"x")


def macro_kind(content: bytes) -> bytes:
    kinds = (
        b"vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml",
        b"vnd.ms-word.document.macroEnabled.main+xml",
    )
    return with_part(content, "[Content_Types].xml", lambda part: part.replace(*kinds))


def entities(content: bytes) -> bytes:
    bomb = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaa"><!ENTITY b "&a;&a;&a;">]><w:styles'
    return with_part(content, "word/styles.xml", lambda part: part.replace(b"<w:styles", bomb, 1))


def bomb(content: bytes) -> bytes:
    return with_part(content, "word/media/zeros.bin", lambda _: bytes(150_000_000))


def strict(content: bytes) -> bytes:
    spaces = (
        b"http://schemas.openxmlformats.org/wordprocessingml/2006/main",
        b"http://purl.oclc.org/ooxml/wordprocessingml/main",
    )
    return with_part(content, "word/document.xml", lambda part: part.replace(*spaces))


def tight(content: bytes) -> bytes:
    return with_part(content, "word/document.xml", lambda part: re.sub(rb'w:left="\d+"', b'w:left="9000"', part))


def reaching(content: bytes) -> bytes:
    word = docx.Document(io.BytesIO(content))
    for piece in ("INCLUDE", 'TEXT "/etc/passwd"'):
        add(word.sections[0].footer, f"<w:r {{}}><w:instrText>{piece}</w:instrText></w:r>")
    return packed(word)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda _: b"", "is not a whole Word document; open it in Word"),
        (lambda _: b"\xd0\xcf\x11\xe0" + bytes(600), "is an old .doc file, or has a password; open it in Word"),
        (lambda content: content[:-400], "is not a whole Word document; open it in Word"),
        (macro, "holds macros; open it in Word and save it as Word document (.docx), which has none"),
        (macro_kind, "holds macros; open it in Word"),
        (entities, "declares a document type in word/styles.xml; don't trust this file"),
        (bomb, "unpacks to 150,"),
        (strict, "is saved as Strict Open XML; open it in Word"),
        (tight, "leaves too little room between its margins (paper of 8.5 in by 11.0 in); make them smaller"),
        (reaching, "has a field INCLUDETEXT in its header or footer; take it out; it reaches outside"),
        (lambda content: with_part(content, "word/styles.xml", lambda part: part[:-9]), "has a damaged part, word/st"),
        (lambda content: with_part(content, "word/document.xml", lambda _: b"<x/>")[:0] + b"PK", "is not a whole Word"),
    ],
)
def test_a_base_that_is_none_or_acts_is_refused(spoil: Callable[[bytes], bytes], said: str, tmp_path: Path) -> None:
    with pytest.raises(BaseError) as caught:
        base(spoil(packed(company())), tmp_path)
    assert str(caught.value).startswith(said)


@pytest.mark.parametrize("number", range(40))
def test_a_damaged_base_is_refused_or_taken_and_never_a_crash(number: int, tmp_path: Path) -> None:
    """Damages inside the parts, where an archive's own check sums don't see them."""
    pick = random.Random(number)
    content = packed(letterhead() if number % 2 else company())
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = [name for name in archive.namelist() if name.startswith("word/") or name.endswith(".rels")]
    for _ in range(3):
        content = with_part(content, pick.choice(parts), lambda part: damaged(part, pick))
    try:
        taken = base(content, tmp_path)
    except BaseError:
        return
    assert docx.Document(io.BytesIO(write_docx(sample(1), base=taken))).paragraphs


def damaged(part: bytes, pick: random.Random) -> bytes:
    """Return a part with a value, an element's name or a stretch of it changed."""
    how = pick.randrange(4)
    if how == 0:
        return part[: pick.randrange(len(part) + 1)]
    marks = list(re.finditer(rb'="([^"]*)"' if how < 3 else rb"<w:(\w+)", part))
    if not marks:
        return part
    at = pick.choice(marks)
    return (
        part[: at.start(1)]
        + pick.choice((b"", b"-1", b"99999999999", b"x", b"../../x", b"Heading1"))
        + part[at.end(1) :]
    )


def test_the_command_names_the_file_and_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lost = tmp_path / "lost.docx"
    for verb in ("estimate", "criteria", "closeout"):
        assert main([verb, str(TEN), "--base", str(lost), "--out", str(tmp_path / "out")]) == 1
        assert capsys.readouterr().err == (
            f"{lost.as_posix()}: can't be read: No such file or directory; "
            "name a Word document (.docx); nothing was written\n"
        )
    assert not (tmp_path / "out").exists()


def test_the_command_takes_a_base(tmp_path: Path) -> None:
    (tmp_path / "company.docx").write_bytes(packed(company()))
    assert main(["estimate", str(TEN), "--base", str(tmp_path / "company.docx"), "--out", str(tmp_path)]) == 0
    for name in ("ten-proposal.docx", "ten-calculations.docx"):
        word = docx.Document(str(tmp_path / name))
        assert running(word, "header")[0] == ["\tExample Cabling Company"]
