"""What is restricted stands in the restricted part alone, which says so on every page and is signed for."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from html import unescape
from pathlib import Path

import docx
import pytest

from estimator.cli.labels import label_files
from estimator.cli.write import closeout_files, criteria_files, estimate_files
from estimator.documents.docx_writer import write_docx
from estimator.documents.restricted_copy import MARKING, restricted_copy
from estimator.spec.load import load
from estimator.spec.restricted import Restricted
from tests.documents.job_sample import job, project, takeoff

DAY = date(2026, 9, 18)
RESTRICTED = "library-restricted.docx"


def held() -> Restricted:
    found = project().closeout.restricted
    assert found is not None
    return found


def values() -> tuple[str, ...]:
    """Return every text of the demo that only the restricted part may hold."""
    texts = [text for one in held().addresses for text in (one.address, one.gateway, one.name)]
    texts += [text for one in held().credentials for text in (one.user, one.secret)]
    texts += [text for one in held().views for text in (one.covers, one.masked)]
    return tuple(dict.fromkeys(text for text in texts if len(text) > 5))


def parts(name: str, content: bytes) -> Iterator[tuple[str, str]]:
    """Yield every part of an archive as text, those of archives in it too; a plain file is its own part."""
    if not content.startswith(b"PK"):
        yield name, unescape(content.decode("utf-8"))
        return
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for entry in archive.namelist():
            inner = archive.read(entry)
            yield from (
                parts(f"{name}/{entry}", inner)
                if inner.startswith(b"PK")
                else ((f"{name}/{entry}", unescape(inner.decode("utf-8", errors="ignore"))),)
            )


Made = Mapping[str, Callable[[], bytes]]


@pytest.fixture(scope="module")
def documents() -> dict[str, bytes]:
    """Return every document that the demo writes."""
    made: list[Made] = [estimate_files(takeoff(), DAY), criteria_files(takeoff(), DAY), label_files(takeoff(), DAY)]
    made.append(closeout_files(takeoff(), DAY, job()))
    return {name: make() for makers in made for name, make in makers.items()}


def test_nothing_restricted_stands_in_any_other_document(documents: dict[str, bytes]) -> None:
    """All parts are searched: shared texts, hidden sheets, comments, properties."""
    searched = 0
    for name, content in documents.items():
        if name == RESTRICTED:
            continue
        for part, text in parts(name, content):
            searched += 1
            assert [value for value in values() if value in text] == [], part
    assert searched > 100


def test_the_search_finds_what_it_looks_for(documents: dict[str, bytes]) -> None:
    """All of it stands in the restricted part, so the same search would have found it elsewhere."""
    text = "".join(text for _, text in parts(RESTRICTED, documents[RESTRICTED]))
    assert len(values()) > 20
    assert [value for value in values() if value not in text] == []


def test_every_page_is_marked(documents: dict[str, bytes]) -> None:
    """The cover's section and all later ones have a head with the marking."""
    word = docx.Document(io.BytesIO(documents[RESTRICTED]))
    assert len(word.sections) > 2
    for section in word.sections:
        assert MARKING in [one.text for one in section.header.paragraphs]
        assert not section.header.is_linked_to_previous


def test_a_general_copy_has_no_marking(documents: dict[str, bytes]) -> None:
    for name in ("library-binder.docx", "library-closeout.xlsx"):
        assert all("RESTRICTED" not in text for _, text in parts(name, documents[name]))


def test_it_is_signed_for_copy_by_copy() -> None:
    word = docx.Document(io.BytesIO(write_docx(restricted_copy(project(), held(), DAY))))
    roles = [row.cells[0].text for row in word.tables[-1].rows]
    assert roles == [
        "Role",
        "Handed over by",
        "Copy 1: Owner's representative",
        "Copy 2: Owner's network administrator",
    ]


def test_same_job_same_bytes() -> None:
    first, second = (write_docx(restricted_copy(project(), held(), DAY)) for _ in range(2))
    assert first == second


JOB = """\
dropledger: 1
project: {name: T}
rooms: [{id: 1A}]
cables: [{id: C6, type: cat6_utp_plenum}]
drops: [{id: D-1, room: 1A, length: 40 ft, cable: C6}]
closeout: {restricted: CODES}
"""


def test_without_a_restricted_block_nothing_is_written(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB.replace("closeout: {restricted: CODES}", ""), encoding="utf-8")
    found = load(path).project
    assert found is not None
    assert found.closeout.restricted is None


@pytest.mark.parametrize(
    ("block", "fault"),
    [
        ("{addresses: [{circuit: D-9, address: 192.0.2.1}]}", "circuit 'D-9' is not declared"),
        ("{views: [{circuit: D-2, covers: lobby}]}", "circuit 'D-2' is not declared"),
        ("missing.yaml", "file 'missing.yaml' can't be read"),
        ("[a]", "`restricted`: a list stands here"),
    ],
)
def test_what_is_not_of_the_job_is_a_fault(tmp_path: Path, block: str, fault: str) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(JOB.replace("CODES", block), encoding="utf-8")
    assert [one.wrong for one in load(path).faults] == [fault]
