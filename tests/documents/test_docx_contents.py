"""Page numbers in the contents: filled in where a layout shows the headings, refused where it doesn't."""

from __future__ import annotations

import io
from dataclasses import replace

import docx
import pytest

from estimator.documents.docx_contents import PagesError, with_pages
from estimator.documents.docx_writer import write_docx
from tests.documents.test_docx_writer import HEADINGS, part
from tests.documents.word_sample import sample

FOUND = [(title, 3 + place) for place, (_, title) in enumerate(HEADINGS)]


@pytest.fixture(scope="module")
def made() -> bytes:
    return write_docx(sample(3), paged=True)


def lines(made: bytes) -> list[str]:
    word = docx.Document(io.BytesIO(made))
    return [one.text for one in word.paragraphs if one.style is not None and one.style.name.startswith("toc ")]


def test_each_line_gets_the_page_of_its_heading_and_nothing_else_changes(made: bytes) -> None:
    done = with_pages(made, FOUND)
    assert lines(done) == [f"{title}\t{page}" for title, page in FOUND]
    assert part(done, "word/styles.xml") == part(made, "word/styles.xml")
    assert part(done, "word/document.xml").count("PAGEREF") == len(FOUND)


def test_a_number_in_front_and_other_spaces_don_t_matter(made: bytes) -> None:
    """A company's headings may be numbered by their style; a layout shows the numbers."""
    shown = [(f"{place}.\u00a0{title.replace(' ', '  ')}", page) for place, (title, page) in enumerate(FOUND)]
    assert lines(with_pages(made, shown)) == [f"{title}\t{page}" for title, page in FOUND]


def test_headings_of_the_base_in_between_are_passed_over(made: bytes) -> None:
    shown = [("Cover", 1), *FOUND[:4], ("Spacer", 6), *FOUND[4:]]
    assert lines(with_pages(made, shown)) == [f"{title}\t{page}" for title, page in FOUND]


def test_a_heading_that_the_layout_lacks_is_named(made: bytes) -> None:
    with pytest.raises(PagesError, match='does not show the heading "Ports"'):
        with_pages(made, [one for one in FOUND if one[0] != "Ports"])


def test_a_document_without_contents_stays_as_it_is() -> None:
    plain = write_docx(replace(sample(3), contents=False), paged=True)
    assert with_pages(plain, FOUND) == plain
