"""The Word writer: a description goes in, the bytes of a .docx come out.

It knows sections, tables and paragraphs, and nothing of drops or batteries. Word's own part of
the work is left to Word: fields count pages and tables, styles carry the look, and each field
stores what it shows, so that no reader is asked to update anything.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from estimator.documents import docx_blend, docx_styles, docx_tables
from estimator.documents.description import (
    Block,
    Break,
    Document,
    Fact,
    Facts,
    Paragraph,
    Picture,
    Section,
    Table,
)
from estimator.documents.docx_base import Base
from estimator.documents.docx_contents import contents
from estimator.documents.docx_pages import Page, Running, cover_end, page, running, section_end
from estimator.documents.docx_parts import Element, bookmark, paragraph, parse, run, word_field
from estimator.documents.docx_pictures import picture_caption, picture_paragraph
from estimator.documents.look import TONES
from estimator.documents.package import Properties, finish
from estimator.documents.shown import long_date

if TYPE_CHECKING:
    from docx.document import Document as WordDocument

_DEEPEST: Final = 3
_PLAIN: Final = {"body": "Normal", "lead": "Lead-in", "bullet": "List Bullet"}
_CALLS: Final = {
    "note": ("Note", "Note.", "Strong"),
    "caution": ("Caution", "Caution.", "CautionWord"),
    "warning": ("Warning", "Warning.", "WarningWord"),
}
_KEEPS_COUNT: Final = frozenset({"number", "bullet", "note", "caution", "warning"})
"""What may stand between two steps without the count starting over."""

_NEW_PAGE: Final = "<w:pageBreakBefore/>"
_BODY: Final = "word/document.xml"


def write_docx(document: Document, *, base: Base | None = None, paged: bool = False) -> bytes:
    """Return the document as a Word package; the same description always gives the same bytes.

    ``base`` is a company's own document, whose styles, paper and running lines come first.
    ``paged`` leaves a place for the page number in each line of the contents, for ``with_pages`` to fill in.
    """
    import docx

    if base is None:
        word = docx.Document()
        lists = docx_styles.install(word)
        drop_strays(word)
        upright, own = page(document.paper), None
    else:
        word = docx.Document(io.BytesIO(base.package))
        own = {key: word.part.related_parts[relation] for key, relation in base.running.items()}
        lists = docx_blend.install(word, list(own.values()))
        upright = base.page
    lines = running(word, document, upright, own)
    for relation in base.running.values() if base is not None else ():
        del word.part.rels[relation]  # what ours were copied from
    pen = _Pen(word, document, lists, upright, lines, paged)
    pen.cover()
    if document.contents:
        pen.contents_place()
    for section in document.sections:
        pen.section(section)
    pen.close()
    out = io.BytesIO()
    word.save(out)
    properties = Properties(
        title=document.title,
        subject=document.subject,
        author=document.author,
        shown_date=document.shown_date,
    )
    return finish(out.getvalue(), properties=properties, mended={_BODY: pen.held.put})


def drop_strays(word: WordDocument) -> None:
    """Take out what the library's starting document brings along: a picture, spare styles, fonts."""
    for holder in (word.part, word.part.package):
        for key, relation in list(holder.rels.items()):
            if relation.reltype.rsplit("/", 1)[-1] in _STRAYS:
                del holder.rels[key]


_STRAYS: Final = frozenset({"thumbnail", "customXml", "stylesWithEffects", "fontTable", "webSettings"})


@dataclass(slots=True)
class _Pen:
    """Where the writing stands: the body, the counters, the page that is open."""

    word: WordDocument
    document: Document
    lists: docx_styles.Lists
    upright: Page
    running: Running
    paged: bool
    body: Element = field(init=False)
    end: Element = field(init=False)
    across: Page = field(init=False)
    landscape: bool = False
    break_due: bool = False
    fresh: bool = True
    tables: int = 0
    pictures: int = 0
    step_lists: int = 0
    stepping: bool = False
    headings: list[tuple[int, str, str]] = field(default_factory=list)
    contents_after: Element | None = None
    held: docx_tables.HeldRows = field(default_factory=docx_tables.HeldRows)

    def __post_init__(self) -> None:
        self.body = self.word.element.body
        self.end = self.body[-1]
        self.across = self.upright.turned()

    @property
    def width(self) -> int:
        """Width of the text on the open page [twips]."""
        return (self.across if self.landscape else self.upright).text_width

    def append(self, element: Element) -> None:
        """Add an element to the body; a page break that is due goes in front of it."""
        if self.break_due and not self.fresh:
            self.end.addprevious(parse(paragraph("SectionEnd", "", ahead=_NEW_PAGE)))
        self.break_due = False
        self.fresh = False
        self.end.addprevious(element)

    def write(self, style: str, inner: str, properties: str = "") -> None:
        """Add a paragraph; a page break that is due becomes its own."""
        ahead = _NEW_PAGE if self.break_due and not self.fresh else ""
        self.break_due = False
        self.append(parse(paragraph(style, inner, properties, ahead)))

    def cover(self) -> None:
        """Write the first page: what it is, for which job, how complete, and on what basis."""
        document = self.document
        self.write("Title", run(document.title))
        if document.subtitle:
            self.write("Subtitle", run(document.subtitle))
        if document.state:
            tone = TONES[document.state_tone]
            edges = "".join(
                f'<w:{side} w:val="single" w:sz="4" w:space="5" w:color="{tone.fill}"/>'
                for side in ("top", "left", "bottom", "right")
            )
            shade = f'<w:pBdr>{edges}</w:pBdr><w:shd w:val="clear" w:color="auto" w:fill="{tone.fill}"/>'
            self.write("State", run(document.state, f'<w:color w:val="{tone.ink}"/>'), shade)
        facts = Facts(title="", rows=(*_own_facts(document), *document.cover))
        if facts.rows:
            self.append(docx_tables.facts_table(facts, self.width))
        if document.basis:
            self.write("Basis", run(document.basis))
        self.append(cover_end(self.upright, self.running))
        self.fresh = True

    def contents_place(self) -> None:
        """Write the head of the contents; its lines follow once all headings are known."""
        self.contents_after = parse(paragraph("TOCHeading", run("Contents")))
        self.append(self.contents_after)
        self.break_due = True

    def section(self, section: Section) -> None:
        """Write a heading and what stands under it, on a page turned where the section asks."""
        if section.landscape != self.landscape and not self.fresh:
            self._turn()
        self.landscape = section.landscape
        self.break_due = self.break_due or section.new_page
        level = min(max(section.level, 1), _DEEPEST)
        if section.title:
            self._heading(section.title, level)
        for block in section.blocks:
            self._block(block, level)

    def _turn(self) -> None:
        last = self.end.getprevious()
        if last is not None and docx_tables.is_gap(last):
            # The gap below a table that fills its page would make a page of its own.
            self.body.remove(last)
        self.end.addprevious(section_end(self.across if self.landscape else self.upright, self.running))
        self.fresh = True
        self.break_due = False

    def _heading(self, title: str, level: int) -> None:
        number = len(self.headings) + 1
        anchor = f"_Toc{number:08d}"
        self.headings.append((level, title, anchor))
        self.stepping = False
        # On top of a page the distance above a heading would only look like a lower margin.
        on_top = '<w:spacing w:before="0"/>' if self.fresh or self.break_due else ""
        self.write(f"Heading{level}", bookmark(number, anchor, run(title)), on_top)

    def _block(self, block: Block, level: int) -> None:
        if isinstance(block, Paragraph):
            self._paragraph(block, level)
            return
        self.stepping = False
        if isinstance(block, Break):
            self.break_due = True
        elif isinstance(block, Table):
            docx_tables.add_table(self.append, _Caption(self, block), block, self.width, self.held)
        elif isinstance(block, Facts):
            docx_tables.add_facts(self.append, block, self.width)
        elif isinstance(block, Picture):
            self._picture(block)
        else:
            docx_tables.add_sign_off(self.append, block, self.width)

    def _picture(self, block: Picture) -> None:
        self.pictures += 1
        self.append(picture_paragraph(self.word, block, self.pictures, self.width))
        self.append(picture_caption(block, self.pictures))

    def _paragraph(self, block: Paragraph, level: int) -> None:
        if block.lead == "heading":
            self._heading(block.text, min(level + 1, _DEEPEST))
            return
        self.stepping = self.stepping and block.lead in _KEEPS_COUNT
        if block.lead == "number":
            self._step(block.text)
        elif block.lead in _CALLS:
            style, word, mark = _CALLS[block.lead]
            inner = run(f"{word} ", f'<w:rStyle w:val="{mark}"/>') + run(block.text)
            self.write(style, inner)
        else:
            self.write(docx_styles.style_id(_PLAIN[block.lead]), run(block.text))

    def _step(self, text: str) -> None:
        if not self.stepping:
            self.step_lists += 1
            self.stepping = True
        number = self.lists.steps + self.step_lists - 1
        counted = f'<w:numPr><w:ilvl w:val="0"/><w:numId w:val="{number}"/></w:numPr>'
        self.write("ListNumber", run(text), counted)

    def close(self) -> None:
        """Finish the lists, the contents and the last page."""
        if self.fresh:
            self.write("Normal", "")
        docx_styles.install_lists(self.word, self.lists, self.step_lists)
        if self.contents_after is not None:
            for element in reversed(contents(self.headings, self.upright.text_width, paged=self.paged)):
                self.contents_after.addnext(element)
        final = section_end(self.across if self.landscape else self.upright, self.running)[0][-1]
        self.body.remove(self.end)
        self.body.append(final)


@dataclass(slots=True)
class _Caption:
    """Captions of one table: the first carries its number, later parts point back at it."""

    pen: _Pen
    table: Table
    number: int = 0

    def __call__(self, part: str) -> Element:
        tail = f" ({part})" if part else ""
        if self.number == 0:
            self.pen.tables += 1
            self.number = self.pen.tables
            label = run("Table ", _STRONG) + word_field("SEQ Table \\* ARABIC", str(self.number), _STRONG)
            tail += f". {self.table.caption}" if self.table.caption else ""
        else:
            label = run(f"Table {self.number}, continued", _STRONG)
        title = f". {self.table.title}" if self.table.title else ""
        return parse(paragraph("Caption", label + run(title, _STRONG) + run(tail)))


_STRONG: Final = '<w:rStyle w:val="Strong"/>'


def _own_facts(document: Document) -> tuple[Fact, ...]:
    shown = (
        ("Job", document.job),
        ("Job number", document.number),
        ("Revision", document.revision),
        ("Date", long_date(document.shown_date) if document.shown_date else ""),
        ("Prepared by", document.author),
    )
    return tuple(Fact(label=label, value=value) for label, value in shown if value)
